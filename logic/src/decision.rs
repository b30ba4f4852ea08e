//! What a step answers: where the relay must be, and why.

use core::fmt;

use crate::alarm::Alarm;
use crate::call::Call;
use crate::contact::Contact;
use crate::event::Events;
use crate::guard::{Holds, Relay, Wish};
use crate::input::CommandRefused;
use crate::lockout::Cause;
use crate::probe::Trust;
use crate::time::Instant;

/// Why the relay is where it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Reason {
    /// Closed: the space calls.
    Calling,
    /// Closed: the fallback runs the load.
    FallbackRun,
    /// Closed: it would open, but the minimum on-time has not run.
    MinimumOnTime,
    /// Open: the space is satisfied.
    Satisfied,
    /// Open: no sample has been good since power-up.
    NoReading,
    /// Open: the fallback rests the load.
    FallbackRest,
    /// Open: a probe fault is declared and the fallback is "open".
    FallbackOpen,
    /// Open: heat is at its ceiling, which is not confirmed yet.
    HeatCeiling,
    /// Open: off-cycle defrost.
    Defrost,
    /// Open: the mode was changed while the load ran.
    ModeChanged,
    /// Open: it would close, but the board cannot know how long the load has rested.
    PowerUpHold,
    /// Open: it would close, but the minimum off-time has not run.
    MinimumOffTime,
    /// Open: it would close, but no start is left in this hour.
    StartsPerHour,
    /// Open: the load lost its voltage while the relay was closed, and rests.
    VoltageLost,
    /// Open: a person switched the control off.
    SwitchedOff,
    /// Open: locked out.
    LockedOut(Cause),
}

impl Reason {
    /// Every reason.
    pub const ALL: [Self; 19] = [
        Self::Calling,
        Self::FallbackRun,
        Self::MinimumOnTime,
        Self::Satisfied,
        Self::NoReading,
        Self::FallbackRest,
        Self::FallbackOpen,
        Self::HeatCeiling,
        Self::Defrost,
        Self::ModeChanged,
        Self::PowerUpHold,
        Self::MinimumOffTime,
        Self::StartsPerHour,
        Self::VoltageLost,
        Self::SwitchedOff,
        Self::LockedOut(Cause::HeatCeiling),
        Self::LockedOut(Cause::RepeatedProbeFaults),
        Self::LockedOut(Cause::WeldedContact),
        Self::LockedOut(Cause::UnreadableSettings),
    ];

    /// Why the relay is where it is, given what was wished and `wished` for that.
    pub(crate) const fn standing(relay: Relay, wish: Wish, wished: Self, holds: Holds) -> Self {
        match (relay, wish) {
            (Relay::Closed, Wish::Open | Wish::OpenAtOnce) => Self::MinimumOnTime,
            (Relay::Open, Wish::Close) if !holds.power_up.is_zero() => Self::PowerUpHold,
            (Relay::Open, Wish::Close) if !holds.off_time.is_zero() => Self::MinimumOffTime,
            (Relay::Open, Wish::Close) => Self::StartsPerHour,
            (Relay::Closed, Wish::Close) | (Relay::Open, Wish::Open | Wish::OpenAtOnce) => wished,
        }
    }

    /// The reason in words.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::Calling => "calling",
            Self::FallbackRun => "fallback run",
            Self::MinimumOnTime => "minimum on-time",
            Self::Satisfied => "satisfied",
            Self::NoReading => "no reading yet",
            Self::FallbackRest => "fallback rest",
            Self::FallbackOpen => "probe fault",
            Self::HeatCeiling => "heat ceiling",
            Self::Defrost => "defrost",
            Self::ModeChanged => "mode changed",
            Self::PowerUpHold => "power-up hold",
            Self::MinimumOffTime => "minimum off-time",
            Self::StartsPerHour => "starts per hour",
            Self::VoltageLost => "load lost its voltage",
            Self::SwitchedOff => "switched off",
            Self::LockedOut(Cause::HeatCeiling) => "locked out: heat ceiling",
            Self::LockedOut(Cause::RepeatedProbeFaults) => "locked out: repeated probe faults",
            Self::LockedOut(Cause::WeldedContact) => "locked out: welded contact",
            Self::LockedOut(Cause::UnreadableSettings) => "locked out: unreadable settings",
        }
    }
}

/// As [`Reason::text`].
impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.text())
    }
}

/// What the control has decided, and why.
#[must_use]
#[derive(Debug, Clone, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Decision {
    /// What the relay's coil must be driven to now.
    pub relay: Relay,
    /// Why.
    pub reason: Reason,
    /// Time left of each hold.
    pub holds: Holds,
    /// When the control wants to be called next: strictly ahead, by a sample period at most.
    pub wake: Instant,
    /// The probe.
    pub trust: Trust,
    /// The call; its last answer while the probe is not believed.
    pub call: Call,
    /// High temperature alarm.
    pub high_alarm: Alarm,
    /// Low temperature alarm.
    pub low_alarm: Alarm,
    /// Whole hours of good running that the measured duty is known for; it is used from 24 on.
    pub known_duty_hours: u8,
    /// The contact, as far as feedback proves it.
    pub contact: Contact,
    /// What happened to the command, if there was one.
    pub answer: Option<Result<(), CommandRefused>>,
    /// What changed in this step.
    pub events: Events,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::time::Duration;

    fn standing(relay: Relay, wish: Wish, hold: impl FnOnce(&mut Holds)) -> Reason {
        let mut holds = Holds::default();
        hold(&mut holds);
        Reason::standing(relay, wish, Reason::Defrost, holds)
    }

    #[test]
    fn what_is_wished_and_done_is_told_as_wished() {
        for (relay, wish) in [
            (Relay::Closed, Wish::Close),
            (Relay::Open, Wish::Open),
            (Relay::Open, Wish::OpenAtOnce),
        ] {
            assert_eq!(standing(relay, wish, |_| ()), Reason::Defrost);
        }
    }

    #[test]
    fn what_is_held_is_told_by_its_hold_the_rest_first() {
        const SOME: Duration = Duration::from_seconds(1);
        let held = |hold: fn(&mut Holds)| standing(Relay::Open, Wish::Close, hold);
        assert_eq!(held(|holds| holds.power_up = SOME), Reason::PowerUpHold);
        assert_eq!(held(|holds| holds.off_time = SOME), Reason::MinimumOffTime);
        assert_eq!(held(|holds| holds.starts = SOME), Reason::StartsPerHour);
        let rested = |holds: &mut Holds| (holds.power_up, holds.starts) = (SOME, SOME);
        assert_eq!(held(rested), Reason::PowerUpHold);
        let rested = |holds: &mut Holds| (holds.off_time, holds.starts) = (SOME, SOME);
        assert_eq!(held(rested), Reason::MinimumOffTime);
        for wish in [Wish::Open, Wish::OpenAtOnce] {
            let running = standing(Relay::Closed, wish, |holds| holds.on_time = SOME);
            assert_eq!(running, Reason::MinimumOnTime);
        }
    }

    #[test]
    fn every_reason_has_words_of_its_own() {
        for (place, reason) in Reason::ALL.into_iter().enumerate() {
            assert!(reason.text().len() >= 6, "{reason:?}");
            assert_eq!(reason.to_string(), reason.text());
            for other in &Reason::ALL[..place] {
                assert_ne!(reason.text(), other.text());
            }
        }
    }
}
