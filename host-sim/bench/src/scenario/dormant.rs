//! Parts of settings that a word may switch off.

use hysteron_logic::alarm::AlarmLimit;
use hysteron_logic::defrost::DefrostPlan;
use hysteron_logic::fallback::{Cycle, Fallback};
use hysteron_logic::lockout::RepeatLimit;
use hysteron_logic::settings::Draft;
use hysteron_logic::time::Duration;
use hysteron_logic::units::Temperature;

/// Settings while a file gives them, those included that nothing uses yet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drafted {
    /// What the control would check; parts that may be switched off wait beside it.
    pub draft: Draft,
    /// What a setting that is switched off would use, were it on.
    pub dormant: Dormant,
}

impl Default for Drafted {
    /// Cooling as the control comes.
    fn default() -> Self {
        Self {
            draft: Draft::COOLING,
            dormant: Dormant::DEFAULT,
        }
    }
}

/// Parts of settings that may be switched off, kept for when they are switched on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dormant {
    /// Which fallback.
    pub fallback: FallbackKind,
    /// Runs and rests of a fallback that cycles.
    pub cycle: Cycle,
    /// Declared faults that lock out.
    pub faults: Option<u8>,
    /// The window they are counted in.
    pub fault_window: Duration,
    /// High alarm limit.
    pub high: Option<Temperature>,
    /// Its delay.
    pub high_delay: Duration,
    /// Low alarm limit.
    pub low: Option<Temperature>,
    /// Its delay.
    pub low_delay: Duration,
    /// From defrost to defrost.
    pub defrost: Option<Duration>,
    /// Length of a defrost.
    pub defrost_length: Duration,
}

/// A fallback without its cycle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FallbackKind {
    /// Open the relay.
    Open,
    /// Keep it closed.
    Closed,
    /// Runs and rests of fixed length.
    TimedCycle,
    /// The duty of good running.
    MeasuredDuty,
}

impl Dormant {
    /// As a control comes.
    pub const DEFAULT: Self = Self {
        fallback: FallbackKind::Open,
        cycle: Cycle {
            on: Duration::from_minutes(10),
            off: Duration::from_minutes(10),
        },
        faults: Some(5),
        fault_window: Duration::from_hours(1),
        high: None,
        high_delay: Duration::from_minutes(30),
        low: None,
        low_delay: Duration::from_minutes(30),
        defrost: None,
        defrost_length: Duration::from_minutes(20),
    };

    /// Gives the draft what these make of it.
    pub fn wake(self, draft: &mut Draft) {
        draft.fallback = match self.fallback {
            FallbackKind::Open => Fallback::Open,
            FallbackKind::Closed => Fallback::Closed,
            FallbackKind::TimedCycle => Fallback::TimedCycle(self.cycle),
            FallbackKind::MeasuredDuty => Fallback::MeasuredDuty(self.cycle),
        };
        draft.probe_fault_lockout = match self.faults {
            Some(count) => RepeatLimit::Faults {
                count,
                window: self.fault_window,
            },
            None => RepeatLimit::Unlimited,
        };
        let alarm = |limit: Option<Temperature>, delay| match limit {
            Some(limit) => AlarmLimit::Beyond { limit, delay },
            None => AlarmLimit::Off,
        };
        draft.high_alarm = alarm(self.high, self.high_delay);
        draft.low_alarm = alarm(self.low, self.low_delay);
        draft.defrost = match self.defrost {
            Some(interval) => DefrostPlan::Every {
                interval,
                length: self.defrost_length,
            },
            None => DefrostPlan::Off,
        };
    }
}
