//! Layers on floors: what stands above may use what stands below, never the other way.

use super::Import;

/// Files that belong together, on one floor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Layer {
    /// What the layer is called.
    pub name: &'static str,
    /// Its floor, from the ground up.
    pub floor: u8,
    /// Its files, and its folders with a `/` at the end.
    pub holds: &'static [&'static str],
}

impl Layer {
    /// The length of the longest name of this layer that `file` bears; a folder's files may lie in another layer.
    fn claim(&self, file: &str) -> Option<usize> {
        let bears = |&&held: &&&str| match held.strip_suffix('/') {
            Some(_) => file.starts_with(held),
            None => file == held,
        };
        self.holds.iter().filter(bears).map(|held| held.len()).max()
    }
}

/// Every import that goes up, or aside into another layer of the same floor, and every file that is in no layer.
#[must_use]
pub fn climbs(imports: &[Import], layers: &[Layer]) -> Vec<String> {
    let layer_of = |file: &str| {
        let claims = layers
            .iter()
            .filter_map(|layer| Some((layer.claim(file)?, layer)));
        claims
            .max_by_key(|(length, _)| *length)
            .map(|(_, layer)| layer)
    };
    let mut climbs = Vec::new();
    for import in imports {
        match (layer_of(&import.from), layer_of(&import.to)) {
            (Some(from), Some(to)) if from == to || from.floor > to.floor => {}
            (Some(from), Some(to)) => climbs.push(format!(
                "{import}: {} (floor {}) may not use {} (floor {})",
                from.name, from.floor, to.name, to.floor
            )),
            (None, _) => climbs.push(format!("{} is in no layer", import.from)),
            (_, None) => climbs.push(format!("{} is in no layer", import.to)),
        }
    }
    climbs.dedup();
    climbs
}
