//! What is the temperature, and may it be believed?
//!
//! ```text
//!              bad sample                bad for the whole delay
//!   Good -----------------> Suspect ------------------------------> Fault
//!     ^                        |                                      |
//!     +------ good sample -----+                                      |
//!     +------------- good for the whole recovery time ----------------+
//! ```
//!
//! While a sample is suspect the last good value holds. A declared fault is
//! withdrawn only after a steady good spell.

use crate::time::{Duration, Instant};
use crate::units::{Difference, Temperature};

/// One sample, as far as the curve can read it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Measurement {
    /// The input reads as if nothing were connected.
    Open,
    /// The input reads as if the probe's wires touched.
    Shorted,
    /// A resistance the curve has, but colder or hotter than any probe of this kind.
    OutOfRange,
    /// A temperature.
    At(Temperature),
}

/// Why a probe is not believed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum ProbeFault {
    /// Nothing connected: a broken wire or element.
    Open,
    /// The wires touch.
    Shorted,
    /// Colder or hotter than the curve's believable range.
    OutOfRange,
    /// Moved faster than any probe can.
    ImplausibleJump,
    /// Has not moved at all for as long as no real reading stays still.
    Frozen,
}

/// How far the present reading may be trusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Trust {
    /// The temperature, believed.
    Good(Temperature),
    /// A bad sample, not yet declared: the last good value, if there ever was one, holds.
    Suspect(Option<Temperature>),
    /// A declared fault.
    Fault(ProbeFault),
}

/// Whether a reading that never moves is taken for a fault.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum FrozenCheck {
    /// A still reading is no fault; for coarse recordings and noiseless simulations.
    Off,
    /// A reading still for this long is a bad sample.
    After(Duration),
}

/// How probe samples are qualified.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Qualification {
    /// A fault is declared after a bad spell this long.
    pub fault_delay: Duration,
    /// A fault is withdrawn after a good spell this long.
    pub recovery_time: Duration,
    /// When a still reading counts as bad.
    pub frozen: FrozenCheck,
}

/// A change this large is plausible however short the time.
pub const JUMP_ALLOWANCE: Difference = Difference::from_millikelvin(3_000);

/// Beyond the allowance a reading may move a quarter of a kelvin a second:
/// one millikelvin in four milliseconds, so that a shift does the division.
const JUMP_SHIFT: u32 = 2;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Seen {
    temperature: Temperature,
    at: Instant,
}

/// Where the probe stands between good and declared fault.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Standing {
    Good,
    Bad {
        since: Instant,
    },
    Declared {
        fault: ProbeFault,
        good_since: Option<Instant>,
    },
}

/// Qualifies samples.
#[derive(Debug, Clone)]
pub struct Probe {
    standing: Standing,
    /// The last sample that was believed.
    trusted: Option<Seen>,
    /// The last sample with a temperature, believed or not.
    sampled: Option<Seen>,
    /// When the temperature last differed from the one before.
    moved: Instant,
}

impl Probe {
    /// A probe of which nothing is known yet.
    #[must_use]
    pub const fn at_power_up(now: Instant) -> Self {
        Self {
            standing: Standing::Good,
            trusted: None,
            sampled: None,
            moved: now,
        }
    }

    /// Forgets every temperature, because samples mean others from `now` on;
    /// a bad spell and a declared fault stand.
    pub const fn forget_readings(&mut self, now: Instant) {
        self.trusted = None;
        self.sampled = None;
        self.moved = now;
    }

    /// Takes a temperature of which nothing needs to be judged: the probe is good, and the
    /// reading has moved no further than is plausible in any time. Otherwise it touches
    /// nothing and says so. Whether it has stood still for too long is not looked at, see
    /// [`Self::frozen_at`].
    #[inline]
    pub(crate) fn takes_plainly(&mut self, now: Instant, temperature: Temperature) -> bool {
        let (Standing::Good, Some(trusted), Some(sampled)) =
            (self.standing, self.trusted, self.sampled)
        else {
            return false;
        };
        let moved = (temperature.millicelsius()).abs_diff(trusted.temperature.millicelsius());
        if moved > JUMP_ALLOWANCE.millikelvin().unsigned_abs() {
            return false;
        }
        if sampled.temperature != temperature {
            self.moved = now;
        }
        let seen = Some(Seen {
            temperature,
            at: now,
        });
        (self.trusted, self.sampled) = (seen, seen);
        true
    }

    /// From when on the reading counts as frozen if it never moves again.
    pub(crate) fn frozen_at(&self, check: FrozenCheck) -> Instant {
        match check {
            FrozenCheck::Off => Instant::from_millis(u64::MAX),
            FrozenCheck::After(limit) => self.moved.after(limit),
        }
    }

    /// Takes a sample and says how far the probe may be trusted now.
    #[inline]
    pub fn judge(&mut self, now: Instant, sample: Measurement, rules: Qualification) -> Trust {
        match self.examine(now, sample, rules.frozen) {
            Ok(temperature) => self.take_good(now, temperature, rules.recovery_time),
            Err(fault) => self.take_bad(now, fault, rules.fault_delay),
        }
    }

    /// Takes note of a sample: its temperature if it is good, or what is wrong with it.
    #[inline]
    fn examine(
        &mut self,
        now: Instant,
        sample: Measurement,
        frozen: FrozenCheck,
    ) -> Result<Temperature, ProbeFault> {
        let before = self.sampled.take();
        let temperature = match sample {
            Measurement::Open => return Err(ProbeFault::Open),
            Measurement::Shorted => return Err(ProbeFault::Shorted),
            Measurement::OutOfRange => return Err(ProbeFault::OutOfRange),
            Measurement::At(temperature) => temperature,
        };
        self.sampled = Some(Seen {
            temperature,
            at: now,
        });
        let still = before.is_some_and(|seen| seen.temperature == temperature);
        if !still {
            self.moved = now;
        }
        // A declared probe is compared with its last sample, so that one that
        // has truly moved elsewhere can become good again.
        let reference = match self.standing {
            Standing::Good | Standing::Bad { .. } => self.trusted,
            Standing::Declared { .. } => before,
        };
        if reference.is_some_and(|seen| jumped(seen, temperature, now)) {
            return Err(ProbeFault::ImplausibleJump);
        }
        match frozen {
            FrozenCheck::After(limit) if still && now.since(self.moved) >= limit => {
                Err(ProbeFault::Frozen)
            }
            FrozenCheck::After(_) | FrozenCheck::Off => Ok(temperature),
        }
    }

    fn take_good(&mut self, now: Instant, temperature: Temperature, recovery: Duration) -> Trust {
        if let Standing::Declared { fault, good_since } = self.standing {
            let good_since = good_since.unwrap_or(now);
            if now.since(good_since) < recovery {
                self.standing = Standing::Declared {
                    fault,
                    good_since: Some(good_since),
                };
                return Trust::Fault(fault);
            }
        }
        self.standing = Standing::Good;
        self.trusted = Some(Seen {
            temperature,
            at: now,
        });
        Trust::Good(temperature)
    }

    fn take_bad(&mut self, now: Instant, fault: ProbeFault, delay: Duration) -> Trust {
        let (since, declared) = match self.standing {
            Standing::Good => (now, None),
            Standing::Bad { since } => (since, None),
            Standing::Declared { fault, .. } => (now, Some(fault)),
        };
        if let Some(fault) = declared.or((now.since(since) >= delay).then_some(fault)) {
            self.standing = Standing::Declared {
                fault,
                good_since: None,
            };
            return Trust::Fault(fault);
        }
        self.standing = Standing::Bad { since };
        Trust::Suspect(self.trusted.map(|seen| seen.temperature))
    }
}

fn jumped(from: Seen, to: Temperature, now: Instant) -> bool {
    let moved = (to.millicelsius()).abs_diff(from.temperature.millicelsius());
    let Some(beyond) = moved.checked_sub(JUMP_ALLOWANCE.millikelvin().unsigned_abs()) else {
        return false;
    };
    u64::from(beyond) > now.since(from.at).millis() >> JUMP_SHIFT
}

#[cfg(test)]
mod tests {
    use super::*;

    const RULES: Qualification = Qualification {
        fault_delay: Duration::from_seconds(20),
        recovery_time: Duration::from_seconds(60),
        frozen: FrozenCheck::After(Duration::from_minutes(30)),
    };

    fn at(seconds: u32) -> Instant {
        Instant::POWER_UP.after(Duration::from_seconds(seconds))
    }

    fn good(millicelsius: i32) -> Measurement {
        Measurement::At(Temperature::from_millicelsius(millicelsius))
    }

    fn held(millicelsius: i32) -> Trust {
        Trust::Suspect(Some(Temperature::from_millicelsius(millicelsius)))
    }

    fn trusted(millicelsius: i32) -> Trust {
        Trust::Good(Temperature::from_millicelsius(millicelsius))
    }

    fn fed(samples: &[(u32, Measurement)]) -> (Probe, Trust) {
        let mut probe = Probe::at_power_up(Instant::POWER_UP);
        let mut trust = Trust::Suspect(None);
        for &(seconds, sample) in samples {
            trust = probe.judge(at(seconds), sample, RULES);
        }
        (probe, trust)
    }

    #[test]
    fn a_short_bad_spell_holds_the_last_good_value() {
        for sample in [
            Measurement::Open,
            Measurement::Shorted,
            Measurement::OutOfRange,
        ] {
            let (mut probe, trust) = fed(&[(0, good(3_000)), (1, sample), (20, sample)]);
            assert_eq!(trust, held(3_000));
            assert_eq!(probe.judge(at(21), good(3_100), RULES), trusted(3_100));
        }
    }

    #[test]
    fn a_long_bad_spell_is_declared_after_the_delay_and_withdrawn_after_recovery() {
        for (sample, fault) in [
            (Measurement::Open, ProbeFault::Open),
            (Measurement::Shorted, ProbeFault::Shorted),
            (Measurement::OutOfRange, ProbeFault::OutOfRange),
        ] {
            let (mut probe, trust) = fed(&[(0, good(3_000)), (1, sample), (21, sample)]);
            assert_eq!(trust, Trust::Fault(fault));
            assert_eq!(probe.judge(at(22), good(3_100), RULES), Trust::Fault(fault));
            assert_eq!(probe.judge(at(81), good(3_101), RULES), Trust::Fault(fault));
            assert_eq!(probe.judge(at(82), good(3_102), RULES), trusted(3_102));
        }
    }

    #[test]
    fn a_bad_sample_restarts_the_recovery() {
        let (mut probe, _) = fed(&[(0, Measurement::Open), (20, Measurement::Open)]);
        probe.judge(at(30), good(3_000), RULES);
        probe.judge(at(80), Measurement::Open, RULES);
        probe.judge(at(81), good(3_010), RULES);
        assert!(matches!(
            probe.judge(at(140), good(3_000), RULES),
            Trust::Fault(_)
        ));
        assert_eq!(probe.judge(at(141), good(3_010), RULES), trusted(3_010));
    }

    #[test]
    fn a_jump_is_held_then_declared_then_accepted_where_it_stays() {
        let (mut probe, trust) = fed(&[(0, good(3_000)), (1, good(40_000))]);
        assert_eq!(trust, held(3_000));
        for second in 2..21 {
            assert_eq!(probe.judge(at(second), good(40_000), RULES), held(3_000));
        }
        assert_eq!(
            probe.judge(at(21), good(40_000), RULES),
            Trust::Fault(ProbeFault::ImplausibleJump)
        );
        probe.judge(at(22), good(40_010), RULES);
        assert_eq!(probe.judge(at(82), good(40_000), RULES), trusted(40_000));
    }

    #[test]
    fn what_a_changed_curve_reads_is_no_jump() {
        let (mut probe, _) = fed(&[(0, good(3_000))]);
        probe.forget_readings(at(1));
        assert_eq!(probe.judge(at(1), good(40_000), RULES), trusted(40_000));
        let (mut probe, _) = fed(&[(0, Measurement::Open), (20, Measurement::Open)]);
        probe.forget_readings(at(21));
        assert!(matches!(
            probe.judge(at(21), good(40_000), RULES),
            Trust::Fault(_)
        ));
    }

    #[test]
    fn a_change_a_door_makes_is_no_jump() {
        let (_, trust) = fed(&[(0, good(3_000)), (10, good(8_400))]);
        assert_eq!(trust, trusted(8_400));
        let (_, trust) = fed(&[(0, good(3_000)), (10, good(8_600))]);
        assert_eq!(trust, held(3_000));
    }

    #[test]
    fn a_still_reading_freezes_and_a_moving_one_does_not() {
        let mut probe = Probe::at_power_up(Instant::POWER_UP);
        for minute in 0..30 {
            let trust = probe.judge(at(60 * minute), good(3_000), RULES);
            assert_eq!(trust, trusted(3_000));
        }
        assert_eq!(probe.judge(at(1_800), good(3_000), RULES), held(3_000));
        assert_eq!(
            probe.judge(at(1_820), good(3_000), RULES),
            Trust::Fault(ProbeFault::Frozen)
        );
        let still = Qualification {
            frozen: FrozenCheck::Off,
            ..RULES
        };
        let mut probe = Probe::at_power_up(Instant::POWER_UP);
        for minute in 0..600 {
            let trust = probe.judge(at(60 * minute), good(3_000), still);
            assert_eq!(trust, trusted(3_000));
        }
    }

    #[test]
    fn nothing_is_known_before_the_first_good_sample() {
        let (_, trust) = fed(&[(0, Measurement::Open), (1, Measurement::Shorted)]);
        assert_eq!(trust, Trust::Suspect(None));
    }
}
