//! Is the load side of the contact live? Judged over whole half-waves of the mains.
//!
//! An optocoupler conducts while the mains' voltage lies beyond its threshold. It pulls
//! the input down once in a period, or twice with two diodes or a bridge, and lets it up
//! in between: for up to 13 ms of 20. Passes begin ten times a second, in step with a grid
//! of 50 or 60 Hz, so the level at one moment of a pass could look dead for as long as the
//! grid's phase takes to drift past: 12 s on a grid 0.05 Hz off. So each fall of the input
//! is noted when it comes, and a pass asks how many came lately. Two within
//! [`WINDOW_MICROS`] are mains of 45 Hz or more, one diode or two.
//!
//! An input that is held down is live as well, for detectors with a steady output. One
//! that is stuck so is found when the relay opens: the contact then counts as welded.

use core::mem;

use crate::ports::LoadSide;

/// Mains at 45 Hz fall twice within this however they lie: 44.4 ms.
pub const WINDOW_MICROS: u32 = 50_000;

/// Falls closer than this are bounces of one: mains at 65 Hz fall 7.7 ms apart.
const APART_MICROS: u32 = 4_000;

/// More falls between two looks are no mains, but noise that could keep the processor busy.
///
/// Mains at 65 Hz fall 13 times in a tenth of a second.
pub const MOST_FALLS: u8 = 100;

/// The input at one moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// Held down.
    Low,
    /// Pulled up.
    High,
}

/// Whether more falls are to be noted before the next look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Noting {
    /// They are.
    GoesOn,
    /// There were too many.
    Pauses,
}

/// The falls of the input, and what they were last taken for. Times are those of a
/// counter of microseconds that may wrap.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HalfWaves {
    last: Option<u32>,
    before: Option<u32>,
    falls: u8,
    answer: LoadSide,
}

impl HalfWaves {
    /// Nothing has been seen.
    pub const NONE: Self = Self {
        last: None,
        before: None,
        falls: 0,
        answer: LoadSide::Dead,
    };

    /// The input has fallen at `micros`.
    pub fn note(&mut self, micros: u32) -> Noting {
        if self
            .last
            .is_none_or(|last| micros.wrapping_sub(last) >= APART_MICROS)
        {
            self.before = self.last;
            self.last = Some(micros);
        }
        self.falls = self.falls.saturating_add(1);
        if self.falls < MOST_FALLS {
            Noting::GoesOn
        } else {
            Noting::Pauses
        }
    }

    /// What the input says at `micros`; it is looked at at least once in ten minutes.
    ///
    /// One fall alone, of a contact that has just moved or of a disturbance, leaves the last
    /// answer standing.
    pub fn look(&mut self, micros: u32, level: Level) -> LoadSide {
        let falls = mem::take(&mut self.falls);
        let lately = |fall: &u32| micros.wrapping_sub(*fall) <= WINDOW_MICROS;
        self.last = self.last.filter(lately);
        self.before = self.before.filter(lately);
        if falls >= MOST_FALLS {
            return LoadSide::Unknown;
        }
        self.answer = match (level, self.last, self.before) {
            (Level::Low, _, _) | (Level::High, Some(_), Some(_)) => LoadSide::Live,
            (Level::High, None, _) => LoadSide::Dead,
            (Level::High, Some(_), None) => self.answer,
        };
        self.answer
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Mains of a frequency on one diode or two, of which the input sees what is above a
    /// share of the peak.
    #[derive(Debug, Clone, Copy)]
    struct Mains {
        hertz: f64,
        diodes: f64,
        threshold: f64,
    }

    impl Mains {
        const fn period_us(self) -> f64 {
            1e6 / self.hertz / self.diodes
        }

        fn lit_us(self) -> f64 {
            let dark = self.threshold.asin() / std::f64::consts::PI / self.hertz * 1e6;
            0.5e6 / self.hertz - dark
        }

        fn level(self, at_us: f64) -> Level {
            if at_us.rem_euclid(self.period_us()) < self.lit_us() {
                Level::Low
            } else {
                Level::High
            }
        }

        fn falls(self, from_us: f64, to_us: f64) -> impl Iterator<Item = f64> {
            let first = (from_us / self.period_us()).ceil() as u64;
            (first..)
                .map(move |number| number as f64 * self.period_us())
                .take_while(move |at| *at < to_us)
        }
    }

    fn all_mains() -> impl Iterator<Item = Mains> {
        // Steps that drift slowly against passes, and those that don't.
        let near = (-20..=20).map(|step| f64::from(step) * 0.01);
        let near = near.flat_map(|off| [50.0 + off, 60.0 + off]);
        let hertz = near.chain((450..=650).map(|tenths| f64::from(tenths) / 10.0));
        hertz.flat_map(|hertz| {
            [0.05, 0.3, 0.5, 0.75]
                .into_iter()
                .flat_map(move |threshold| {
                    [1.0, 2.0].map(|diodes| Mains {
                        hertz,
                        diodes,
                        threshold,
                    })
                })
        })
    }

    /// Looks a tenth of a second apart, while the load side is live from one time to
    /// another; the counter wraps on the way.
    fn looks(mains: Mains, live: std::ops::Range<f64>, count: u32) -> Vec<LoadSide> {
        let wrapped = |us: f64| (us as u64).wrapping_add(u64::from(u32::MAX) - 3_000_000) as u32;
        let mut half_waves = HalfWaves::NONE;
        (1..=count)
            .map(|pass| {
                let now = f64::from(pass) * 1e5;
                for fall in mains.falls((now - 1e5).max(live.start), now.min(live.end)) {
                    assert_eq!(half_waves.note(wrapped(fall)), Noting::GoesOn);
                }
                let level = if live.contains(&now) {
                    mains.level(now)
                } else {
                    Level::High
                };
                half_waves.look(wrapped(now), level)
            })
            .collect()
    }

    #[test]
    fn live_mains_are_live_in_every_pass_and_dead_ones_dead() {
        let mut looked_dead_at_a_glance = 0;
        for mains in all_mains() {
            let seen = looks(mains, 0.0..f64::INFINITY, 400);
            assert!(seen.iter().all(|look| *look == LoadSide::Live), "{mains:?}");
            let dark = |pass: &u32| mains.level(f64::from(*pass) * 1e5) == Level::High;
            looked_dead_at_a_glance += (1..=400).filter(dark).count();
            let seen = looks(mains, 0.0..0.0, 40);
            assert!(seen.iter().all(|look| *look == LoadSide::Dead));
        }
        assert!(
            looked_dead_at_a_glance > 100_000,
            "{looked_dead_at_a_glance}"
        );
    }

    #[test]
    fn mains_that_come_or_go_are_told_by_the_second_look() {
        for mains in all_mains().filter(|mains| mains.hertz.fract() == 0.0) {
            for part in 0..100 {
                let moved = 2e5 + 1.0 + f64::from(part) * 1e3;
                let came = looks(mains, moved..f64::INFINITY, 5);
                assert_eq!(came[..2], [LoadSide::Dead; 2], "{mains:?} {part}");
                assert_eq!(came[3..], [LoadSide::Live; 2], "{mains:?} {part}");
                let went = looks(mains, 0.0..moved, 5);
                assert_eq!(went[..2], [LoadSide::Live; 2], "{mains:?} {part}");
                assert_eq!(went[3..], [LoadSide::Dead; 2], "{mains:?} {part}");
            }
        }
    }

    #[test]
    fn a_contact_that_bounces_for_a_moment_is_not_live() {
        let mut half_waves = HalfWaves::NONE;
        for pass in 1..100_u32 {
            for bounce in [0, 200, 900, 3_000] {
                half_waves.note(pass * 100_000 - 20_000 + bounce);
            }
            assert_eq!(half_waves.look(pass * 100_000, Level::High), LoadSide::Dead);
        }
    }

    #[test]
    fn an_input_that_is_held_down_is_live() {
        let mut half_waves = HalfWaves::NONE;
        assert_eq!(half_waves.look(100_000, Level::Low), LoadSide::Live);
        assert_eq!(half_waves.look(200_000, Level::High), LoadSide::Dead);
    }

    #[test]
    fn noise_is_not_followed_and_says_nothing() {
        let mut half_waves = HalfWaves::NONE;
        let noted = (0..1_000).take_while(|n| half_waves.note(n * 50) == Noting::GoesOn);
        assert_eq!(noted.count(), usize::from(MOST_FALLS) - 1);
        assert_eq!(half_waves.look(50_000, Level::High), LoadSide::Unknown);
        assert_eq!(half_waves.look(150_000, Level::High), LoadSide::Dead);
    }

    #[test]
    fn a_fall_is_forgotten_before_the_counter_comes_round() {
        let mut half_waves = HalfWaves::NONE;
        half_waves.note(1_000);
        half_waves.note(21_000);
        assert_eq!(half_waves.look(22_000, Level::High), LoadSide::Live);
        assert_eq!(half_waves.look(600_000_000, Level::High), LoadSide::Dead);
        assert_eq!(half_waves.look(22_000, Level::High), LoadSide::Dead);
    }
}
