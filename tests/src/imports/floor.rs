//! Rooms on floors: what stands above may use what stands below, never the other way.

use super::Import;

/// Files that belong together, on one floor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Room {
    /// What the room is called.
    pub name: &'static str,
    /// Its floor, from the ground up.
    pub floor: u8,
    /// Its files, and its folders with a `/` at the end.
    pub holds: &'static [&'static str],
}

impl Room {
    /// The length of the longest name of this room that `file` bears; a folder's files may lie in another room.
    fn claim(&self, file: &str) -> Option<usize> {
        let bears = |&&held: &&&str| match held.strip_suffix('/') {
            Some(_) => file.starts_with(held),
            None => file == held,
        };
        self.holds.iter().filter(bears).map(|held| held.len()).max()
    }
}

/// Every import that goes up, or aside into another room of the same floor, and every file that is in no room.
#[must_use]
pub fn climbs(imports: &[Import], rooms: &[Room]) -> Vec<String> {
    let room_of = |file: &str| {
        let claims = rooms
            .iter()
            .filter_map(|room| Some((room.claim(file)?, room)));
        claims
            .max_by_key(|(length, _)| *length)
            .map(|(_, room)| room)
    };
    let mut climbs = Vec::new();
    for import in imports {
        match (room_of(&import.from), room_of(&import.to)) {
            (Some(from), Some(to)) if from == to || from.floor > to.floor => {}
            (Some(from), Some(to)) => climbs.push(format!(
                "{import}: {} (floor {}) may not use {} (floor {})",
                from.name, from.floor, to.name, to.floor
            )),
            (None, _) => climbs.push(format!("{} is in no room", import.from)),
            (_, None) => climbs.push(format!("{} is in no room", import.to)),
        }
    }
    climbs.dedup();
    climbs
}
