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

/// Ambient temperatures beyond these count as these; for air inside, the last segment goes on.
const COLDEST_C: f64 = -60.0;
const HOTTEST_C: f64 = 60.0;

/// Width of a segment: the curve leaves its chord by less than a ten-thousandth of the heat.
const SEGMENT_K: f64 = 0.25;

/// A door, and the outside it last looked at.
#[derive(Debug, Clone)]
pub struct BoxDoor {
    table: DoorTable,
    passes: f64,
    seen: Option<(f64, f64)>,
    segment: Option<Segment>,
    balance_c: f64,
}

/// A straight piece of the curve of heat over air temperature; air stays in one for many steps.
#[derive(Debug, Clone, Copy)]
struct Segment {
    from_c: f64,
    from_w: f64,
    slope_w_k: f64,
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
            segment: None,
            balance_c: 25.0,
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
            self.balance_c = self.table.balance_c();
            self.seen = Some((ambient_c, ambient_rh));
            self.segment = None;
        }
    }

    /// Temperature of air inside that the outside last faced neither warms nor cools, °C.
    pub const fn balance_c(&self) -> f64 {
        self.balance_c
    }

    /// Heat that comes into air of this temperature from the outside last faced, W,
    /// and how it changes with that temperature, W/K.
    pub fn heat(&mut self, air_c: f64) -> (f64, f64) {
        let segment = match self.segment {
            Some(segment) if (0.0..SEGMENT_K).contains(&(air_c - segment.from_c)) => segment,
            Some(_) | None => {
                let within_c = air_c.clamp(COLDEST_C, HOTTEST_C - SEGMENT_K);
                let from_c = (within_c / SEGMENT_K).floor() * SEGMENT_K;
                let from_w = self.passes * self.table.heat_w(from_c);
                let to_w = self.passes * self.table.heat_w(from_c + SEGMENT_K);
                let mut slope_w_k = (to_w - from_w) / SEGMENT_K;
                if within_c != air_c {
                    // Beyond the table nothing may climb without end.
                    slope_w_k = slope_w_k.min(0.0);
                }
                let segment = Segment {
                    from_c,
                    from_w,
                    slope_w_k,
                };
                self.segment = Some(segment);
                segment
            }
        };
        let warmer_k = air_c - segment.from_c;
        (
            segment.from_w + segment.slope_w_k * warmer_k,
            segment.slope_w_k,
        )
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
        let mild_w = door.heat(3.0).0;
        around.ambient_c += 0.09;
        door.face(&around);
        assert_eq!(door.heat(3.0).0, mild_w);
        around.ambient_c += 10.0;
        door.face(&around);
        assert!(door.heat(3.0).0 > 1.5 * mild_w);
        let dry_w = door.heat(3.0).0;
        around.ambient_rh = 0.8;
        door.face(&around);
        assert!(door.heat(3.0).0 > dry_w, "humid air brings more");
    }

    #[test]
    fn segments_lie_on_the_curve_and_their_slope_is_its_slope() {
        let mut door = door(1.0);
        door.face(&Surroundings::default());
        for hundredth in -2_000..1_300 {
            let air_c = f64::from(hundredth) * 0.01;
            let (heat_w, slope_w_k) = door.heat(air_c);
            let table_w = door.table.heat_w(air_c);
            assert!((heat_w / table_w - 1.0).abs() < 1e-4, "{air_c}");
            let across_w = door.table.heat_w(air_c + 1.0) - door.table.heat_w(air_c - 1.0);
            assert!((slope_w_k / (0.5 * across_w) - 1.0).abs() < 0.05, "{air_c}");
        }
    }

    #[test]
    fn a_strip_curtain_lets_its_part_through() {
        let around = Surroundings::default();
        let (mut bare, mut curtained) = (door(1.0), door(0.25));
        bare.face(&around);
        curtained.face(&around);
        assert_eq!(curtained.heat(2.0).0, 0.25 * bare.heat(2.0).0);
    }

    #[test]
    fn weather_that_is_no_number_leaves_the_last_outside() {
        let mut door = door(1.0);
        door.face(&Surroundings::default());
        let before_w = door.heat(3.0).0;
        for wrong in [f64::NAN, f64::INFINITY, -1e300] {
            door.face(&Surroundings {
                ambient_c: wrong,
                ..Surroundings::default()
            });
            assert!(door.heat(3.0).0.is_finite());
        }
        door.face(&Surroundings::default());
        assert_eq!(door.heat(3.0).0, before_w);
    }
}
