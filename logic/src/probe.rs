//! What is the temperature, and may it be believed?
//!
//! ```text
//!              bad sample              surplus of bad time reaches the delay
//!   Good -----------------> Suspect --------------------------------------> Fault
//!     ^                        |                                              |
//!     +------ good sample -----+                                              |
//!     +----------------- good for the whole recovery time --------------------+
//! ```
//!
//! While a sample is suspect the last good value holds. Bad time is weighed against
//! good: each lasts from its sample to the next, bad time adds to a surplus, good time
//! takes as much away again, down to nothing. So a fault that lasts is declared after
//! the delay, and a probe that is bad most of the time after a while, however its bad
//! spells are broken up. A declared fault is withdrawn only after a steady good spell,
//! and nothing of the surplus is left then.
//!
//! The same temperature again within [`SAME_SAMPLE`] is the same sample, and is judged as
//! it was. Of several samples at one moment a bad one counts until the next moment.

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
    /// A fault is declared when bad time outweighs good by this much.
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

/// A temperature repeated within less than this is no sample of its own, so that a
/// control that is stepped more often than it needs judges as one that is not.
pub const SAME_SAMPLE: Duration = Duration::from_seconds(1);

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Seen {
    temperature: Temperature,
    at: Instant,
}

/// Where the probe stands between good and declared fault.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Standing {
    Good {
        /// When good time will have made up for all the bad time before.
        clear_at: Instant,
    },
    Bad {
        /// When it would have turned bad without a break for this much surplus.
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
    /// What was wrong with that one.
    found: Option<ProbeFault>,
    /// When the last bad sample was taken.
    bad_at: Option<Instant>,
    /// When the temperature last differed from the one before.
    moved: Instant,
}

impl Probe {
    /// A probe of which nothing is known yet.
    #[must_use]
    pub const fn at_power_up(now: Instant) -> Self {
        Self {
            standing: Standing::Good { clear_at: now },
            trusted: None,
            sampled: None,
            found: None,
            bad_at: None,
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
        let (Standing::Good { .. }, Some(trusted), Some(sampled)) =
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
        } else if sampled.is_still(now) {
            return true;
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
        let found = match sample {
            Measurement::At(temperature) => self.examine(now, temperature, rules.frozen),
            Measurement::Open => self.unread(ProbeFault::Open),
            Measurement::Shorted => self.unread(ProbeFault::Shorted),
            Measurement::OutOfRange => self.unread(ProbeFault::OutOfRange),
        };
        self.found = found.err();
        match found {
            Ok(temperature) => self.take_good(now, temperature, rules.recovery_time),
            Err(fault) => self.take_bad(now, fault, rules.fault_delay),
        }
    }

    /// Takes note of a sample without a temperature.
    const fn unread(&mut self, fault: ProbeFault) -> Result<Temperature, ProbeFault> {
        self.sampled = None;
        Err(fault)
    }

    /// Takes note of a temperature: itself if it is good, or what is wrong with it.
    #[inline]
    fn examine(
        &mut self,
        now: Instant,
        temperature: Temperature,
        frozen: FrozenCheck,
    ) -> Result<Temperature, ProbeFault> {
        let before = self.sampled;
        let still = before.is_some_and(|seen| seen.temperature == temperature);
        if still && before.is_some_and(|seen| seen.is_still(now)) {
            return self.found.map_or(Ok(temperature), Err);
        }
        self.sampled = Some(Seen {
            temperature,
            at: now,
        });
        if !still {
            self.moved = now;
        }
        // A declared probe is compared with its last sample, so that one that
        // has truly moved elsewhere can become good again.
        let reference = match self.standing {
            Standing::Good { .. } | Standing::Bad { .. } => self.trusted.as_ref(),
            Standing::Declared { .. } => before.as_ref(),
        };
        if reference.is_some_and(|seen| jumped(seen, temperature, now)) {
            return Err(ProbeFault::ImplausibleJump);
        }
        match frozen {
            FrozenCheck::After(limit) if still && now.is_past(self.moved, limit) => {
                Err(ProbeFault::Frozen)
            }
            FrozenCheck::After(_) | FrozenCheck::Off => Ok(temperature),
        }
    }

    fn take_good(&mut self, now: Instant, temperature: Temperature, recovery: Duration) -> Trust {
        let bad_now = self.bad_at == Some(now);
        match self.standing {
            Standing::Good { .. } => {}
            Standing::Bad { .. } if bad_now => {}
            Standing::Bad { since } => {
                let clear_at = now.after(now.since(since));
                self.standing = Standing::Good { clear_at };
            }
            Standing::Declared { fault, good_since } => {
                let good_since = (!bad_now).then_some(good_since.unwrap_or(now));
                if good_since.is_none_or(|since| !now.is_past(since, recovery)) {
                    self.standing = Standing::Declared { fault, good_since };
                    return Trust::Fault(fault);
                }
                self.standing = Standing::Good { clear_at: now };
            }
        }
        // As it was sampled: a repeated sample keeps its age.
        self.trusted = self.sampled;
        Trust::Good(temperature)
    }

    fn take_bad(&mut self, now: Instant, fault: ProbeFault, delay: Duration) -> Trust {
        self.bad_at = Some(now);
        let since = match &mut self.standing {
            Standing::Good { clear_at } => now.before(clear_at.since(now)),
            Standing::Bad { since } => *since,
            Standing::Declared { fault, good_since } => {
                *good_since = None;
                return Trust::Fault(*fault);
            }
        };
        if now.is_past(since, delay) {
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

impl Seen {
    /// Whether this is the sample of `now` still, if it reads the same.
    fn is_still(self, now: Instant) -> bool {
        !now.is_past(self.at, SAME_SAMPLE)
    }
}

fn jumped(from: &Seen, to: Temperature, now: Instant) -> bool {
    let moved = (to.millicelsius()).abs_diff(from.temperature.millicelsius());
    let Some(beyond) = moved.checked_sub(JUMP_ALLOWANCE.millikelvin().unsigned_abs()) else {
        return false;
    };
    // What 32 bits of milliseconds do not hold is long enough for any reading.
    u32::try_from(now.since(from.at).millis()).is_ok_and(|millis| beyond > millis >> JUMP_SHIFT)
}

#[cfg(test)]
mod tests;
