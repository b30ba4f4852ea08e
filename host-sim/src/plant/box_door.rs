//! The door of a refrigerated box: what comes in while it is open.
//!
//! All the heat of the exchanged air, latent too, is counted into the air of the
//! box. Strip curtains and air curtains keep back a part of it.

use super::door::{DoorTable, Doorway};
use super::moist_air::{MoistAir, MoistAirError, RelativeHumidity, SEA_LEVEL_PA};
use super::surroundings::Surroundings;

/// The outside is taken anew when it has moved this far: at 20 K difference, about 1 % of the heat.
const MOVED_K: f64 = 0.1;
const MOVED_HUMIDITY: f64 = 0.005;

/// Ambient temperatures beyond these count as these.
const COLDEST_C: f64 = -60.0;
const HOTTEST_C: f64 = 60.0;

/// A door, and the outside it last looked at.
#[derive(Debug, Clone)]
pub struct BoxDoor {
    table: DoorTable,
    passes: f64,
    seen: Option<(f64, f64)>,
}

impl BoxDoor {
    /// A doorway between air of this relative humidity inside and the world; of the
    /// established flow the fraction `passes` comes in.
    pub fn new(
        doorway: Doorway,
        inside: RelativeHumidity,
        passes: f64,
    ) -> Result<Self, MoistAirError> {
        let outside = MoistAir::from_relative_humidity(25.0, inside, SEA_LEVEL_PA)?;
        Ok(Self {
            table: DoorTable::new(doorway, inside, &outside)?,
            passes,
            seen: None,
        })
    }

    /// Looks outside; cheap unless the weather has changed.
    pub fn face(&mut self, surroundings: &Surroundings) {
        let (ambient_c, ambient_rh) = (surroundings.ambient_c, surroundings.ambient_rh);
        if self.seen.is_some_and(|(seen_c, seen_rh)| {
            (seen_c - ambient_c).abs() < MOVED_K && (seen_rh - ambient_rh).abs() < MOVED_HUMIDITY
        }) {
            return;
        }
        let outside = RelativeHumidity::from_fraction(ambient_rh.clamp(0.0, 1.0)).and_then(|rh| {
            MoistAir::from_relative_humidity(
                ambient_c.clamp(COLDEST_C, HOTTEST_C),
                rh,
                SEA_LEVEL_PA,
            )
        });
        // Only a reading that is no number is refused; the last outside then stands.
        if let Ok(outside) = outside {
            self.table.set_outside(&outside);
            self.seen = Some((ambient_c, ambient_rh));
        }
    }

    /// Heat that comes into air of this temperature from the outside last faced, W.
    #[must_use]
    pub fn heat_w(&self, air_c: f64) -> f64 {
        self.passes * self.table.heat_w(air_c)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn door(passes: f64) -> BoxDoor {
        let inside = RelativeHumidity::from_percent(85.0).unwrap();
        BoxDoor::new(Doorway::new(0.9, 2.0).unwrap(), inside, passes).unwrap()
    }

    #[test]
    fn a_change_of_weather_is_followed_and_a_tremor_is_not() {
        let mut door = door(1.0);
        let mut around = Surroundings::default();
        door.face(&around);
        let mild_w = door.heat_w(3.0);
        around.ambient_c += 0.09;
        door.face(&around);
        assert_eq!(door.heat_w(3.0), mild_w);
        around.ambient_c += 10.0;
        door.face(&around);
        assert!(door.heat_w(3.0) > 1.5 * mild_w);
        let dry_w = door.heat_w(3.0);
        around.ambient_rh = 0.8;
        door.face(&around);
        assert!(door.heat_w(3.0) > dry_w, "humid air brings more");
    }

    #[test]
    fn a_strip_curtain_lets_its_part_through() {
        let around = Surroundings::default();
        let (mut bare, mut curtained) = (door(1.0), door(0.25));
        bare.face(&around);
        curtained.face(&around);
        assert_eq!(curtained.heat_w(2.0), 0.25 * bare.heat_w(2.0));
    }

    #[test]
    fn weather_that_is_no_number_leaves_the_last_outside() {
        let mut door = door(1.0);
        door.face(&Surroundings::default());
        let before_w = door.heat_w(3.0);
        for wrong in [f64::NAN, f64::INFINITY, -1e300] {
            door.face(&Surroundings {
                ambient_c: wrong,
                ..Surroundings::default()
            });
            assert!(door.heat_w(3.0).is_finite());
        }
        door.face(&Surroundings::default());
        assert_eq!(door.heat_w(3.0), before_w);
    }
}
