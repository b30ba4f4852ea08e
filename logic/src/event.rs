//! Edges: what changed in this step. Numbers are stable and are never used twice.

use crate::lockout::Cause;
use crate::probe::ProbeFault;

/// Room for the edges of one step.
pub const MOST_EVENTS: usize = 16;

/// The edges of one step, in the order in which they were decided.
pub type Events = heapless::Vec<Event, MOST_EVENTS>;

/// Something that began or ended in this step.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Event {
    /// The relay was closed.
    RelayClosed,
    /// The relay was opened.
    RelayOpened,
    /// The space began to call.
    CallBegan,
    /// The space was satisfied.
    CallEnded,
    /// A probe fault was declared.
    ProbeFailed(ProbeFault),
    /// The probe is believed again.
    ProbeRecovered,
    /// A day of duty is not known at a probe fault: the timed cycle stands in for it.
    DutyNotKnown,
    /// The load was locked out.
    LockedOut(Cause),
    /// A person released the lockout.
    LockoutReleased,
    /// A setting other than the mode was changed.
    SettingsChanged,
    /// The mode was changed.
    ModeChanged,
    /// A person switched the control off.
    SwitchedOff,
    /// A person switched the control on.
    SwitchedOn,
    /// A command was refused.
    CommandRefused,
    /// An off-cycle defrost began.
    DefrostBegan,
    /// An off-cycle defrost ended.
    DefrostEnded,
    /// The temperature lay above the high limit for too long.
    HighAlarmRaised,
    /// The high alarm ended.
    HighAlarmEnded,
    /// The temperature lay below the low limit for too long.
    LowAlarmRaised,
    /// The low alarm ended.
    LowAlarmEnded,
    /// The clock went back, or ahead further than can be believed.
    ClockDoubted,
    /// The contact was proven closed while the relay was released.
    ContactWelded,
    /// Twice in a row the load had no voltage after the contact was closed.
    ContactBurnt,
    /// The contact follows the coil again.
    ContactSound,
    /// The load lost its voltage while the relay was closed, or had none after a closing.
    VoltageLost,
}

impl Event {
    /// Every event, in the order of their numbers.
    pub const ALL: [Self; 32] = [
        Self::RelayClosed,
        Self::RelayOpened,
        Self::CallBegan,
        Self::CallEnded,
        Self::ProbeFailed(ProbeFault::Open),
        Self::ProbeFailed(ProbeFault::Shorted),
        Self::ProbeFailed(ProbeFault::OutOfRange),
        Self::ProbeFailed(ProbeFault::ImplausibleJump),
        Self::ProbeFailed(ProbeFault::Frozen),
        Self::ProbeRecovered,
        Self::DutyNotKnown,
        Self::LockedOut(Cause::HeatCeiling),
        Self::LockedOut(Cause::RepeatedProbeFaults),
        Self::LockedOut(Cause::WeldedContact),
        Self::LockedOut(Cause::UnreadableSettings),
        Self::LockoutReleased,
        Self::SettingsChanged,
        Self::ModeChanged,
        Self::SwitchedOff,
        Self::SwitchedOn,
        Self::CommandRefused,
        Self::DefrostBegan,
        Self::DefrostEnded,
        Self::HighAlarmRaised,
        Self::HighAlarmEnded,
        Self::LowAlarmRaised,
        Self::LowAlarmEnded,
        Self::ClockDoubted,
        Self::ContactWelded,
        Self::ContactBurnt,
        Self::ContactSound,
        Self::VoltageLost,
    ];

    /// The stable number of this event.
    #[must_use]
    pub const fn number(self) -> u8 {
        self.entry().0
    }

    /// What happened, in words.
    #[must_use]
    pub const fn text(self) -> &'static str {
        self.entry().1
    }

    const fn entry(self) -> (u8, &'static str) {
        match self {
            Self::RelayClosed => (1, "relay closed"),
            Self::RelayOpened => (2, "relay opened"),
            Self::CallBegan => (3, "call began"),
            Self::CallEnded => (4, "satisfied"),
            Self::ProbeFailed(ProbeFault::Open) => (10, "probe open"),
            Self::ProbeFailed(ProbeFault::Shorted) => (11, "probe shorted"),
            Self::ProbeFailed(ProbeFault::OutOfRange) => (12, "probe out of range"),
            Self::ProbeFailed(ProbeFault::ImplausibleJump) => (13, "probe jumped"),
            Self::ProbeFailed(ProbeFault::Frozen) => (14, "probe frozen"),
            Self::ProbeRecovered => (15, "probe recovered"),
            Self::DutyNotKnown => (16, "duty not known for a day: timed cycle"),
            Self::LockedOut(Cause::HeatCeiling) => (20, "locked out: heat ceiling"),
            Self::LockedOut(Cause::RepeatedProbeFaults) => {
                (21, "locked out: repeated probe faults")
            }
            Self::LockedOut(Cause::WeldedContact) => (22, "locked out: welded contact"),
            Self::LockedOut(Cause::UnreadableSettings) => (23, "locked out: unreadable settings"),
            Self::LockoutReleased => (24, "lockout released"),
            Self::SettingsChanged => (30, "settings changed"),
            Self::ModeChanged => (31, "mode changed"),
            Self::SwitchedOff => (32, "switched off"),
            Self::SwitchedOn => (33, "switched on"),
            Self::CommandRefused => (34, "command refused"),
            Self::DefrostBegan => (40, "defrost began"),
            Self::DefrostEnded => (41, "defrost ended"),
            Self::HighAlarmRaised => (50, "high temperature alarm"),
            Self::HighAlarmEnded => (51, "high temperature alarm ended"),
            Self::LowAlarmRaised => (52, "low temperature alarm"),
            Self::LowAlarmEnded => (53, "low temperature alarm ended"),
            Self::ClockDoubted => (60, "clock doubted"),
            Self::ContactWelded => (70, "contact welded"),
            Self::ContactBurnt => (71, "contact burnt open"),
            Self::ContactSound => (72, "contact sound again"),
            Self::VoltageLost => (73, "load lost its voltage"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_rise_and_texts_differ() {
        for pair in Event::ALL.windows(2) {
            assert!(pair[0].number() < pair[1].number(), "{pair:?}");
            assert_ne!(pair[0].text(), pair[1].text());
        }
        assert!(
            Event::ALL
                .iter()
                .all(|event| event.number() > 0 && !event.text().is_empty())
        );
    }
}
