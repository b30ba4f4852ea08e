//! One setting with the value that a file gives it.

use hysteron_logic::call::Mode;
use hysteron_logic::curve::Curve;
use hysteron_logic::field::Field;
use hysteron_logic::guard::StartsLimit;
use hysteron_logic::probe::FrozenCheck;
use hysteron_logic::settings::{Confirmation, Draft, Load, Scale};
use hysteron_logic::time::Duration;
use hysteron_logic::units::{Difference, Temperature};

use super::dormant::{Dormant, FallbackKind};

/// A setting and its value; none where a word switches it off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Setting {
    /// [`Field::Mode`].
    Mode(Mode),
    /// [`Field::Load`].
    Load(Load),
    /// [`Field::Setpoint`].
    Setpoint(Temperature),
    /// [`Field::Differential`].
    Differential(Difference),
    /// [`Field::LowestSetpoint`].
    LowestSetpoint(Temperature),
    /// [`Field::HighestSetpoint`].
    HighestSetpoint(Temperature),
    /// [`Field::MinimumOffTime`].
    MinimumOffTime(Duration),
    /// [`Field::MinimumOnTime`].
    MinimumOnTime(Duration),
    /// [`Field::StartsPerHour`].
    StartsPerHour(StartsLimit),
    /// [`Field::PowerUpStagger`].
    PowerUpStagger(Duration),
    /// [`Field::Curve`].
    Curve(Curve),
    /// [`Field::FixedResistor`], in ohms.
    FixedResistor(u32),
    /// [`Field::ProbeOffset`].
    ProbeOffset(Difference),
    /// [`Field::ProbeFaultDelay`].
    ProbeFaultDelay(Duration),
    /// [`Field::ProbeRecoveryTime`].
    ProbeRecoveryTime(Duration),
    /// [`Field::ProbeFrozenAfter`].
    ProbeFrozenAfter(FrozenCheck),
    /// [`Field::Fallback`].
    Fallback(FallbackKind),
    /// [`Field::FallbackOn`].
    FallbackOn(Duration),
    /// [`Field::FallbackOff`].
    FallbackOff(Duration),
    /// [`Field::ProbeFaultsToLockout`].
    ProbeFaultsToLockout(Option<u8>),
    /// [`Field::ProbeFaultWindow`].
    ProbeFaultWindow(Duration),
    /// [`Field::HeatCeiling`].
    HeatCeiling(Temperature),
    /// [`Field::HeatCeilingConfirmation`].
    HeatCeilingConfirmation(Duration),
    /// [`Field::HighAlarm`].
    HighAlarm(Option<Temperature>),
    /// [`Field::HighAlarmDelay`].
    HighAlarmDelay(Duration),
    /// [`Field::LowAlarm`].
    LowAlarm(Option<Temperature>),
    /// [`Field::LowAlarmDelay`].
    LowAlarmDelay(Duration),
    /// [`Field::PullDownGrace`].
    PullDownGrace(Duration),
    /// [`Field::GraceAfterDefrost`].
    GraceAfterDefrost(Duration),
    /// [`Field::DefrostInterval`].
    DefrostInterval(Option<Duration>),
    /// [`Field::DefrostLength`].
    DefrostLength(Duration),
    /// [`Field::Scale`].
    Scale(Scale),
    /// That an unusually short rest is meant.
    ShortOffTime(Confirmation),
    /// That heating without a probe is meant.
    HeatWithoutProbe(Confirmation),
}

impl Setting {
    /// Gives the setting this value, whether or not anything uses it yet.
    pub const fn give(self, draft: &mut Draft, dormant: &mut Dormant) {
        match self {
            Self::Mode(mode) => draft.mode = mode,
            Self::Load(load) => draft.load = load,
            Self::Setpoint(point) => draft.setpoint = point,
            Self::Differential(difference) => draft.differential = difference,
            Self::LowestSetpoint(point) => draft.lowest_setpoint = point,
            Self::HighestSetpoint(point) => draft.highest_setpoint = point,
            Self::MinimumOffTime(time) => draft.minimum_off_time = time,
            Self::MinimumOnTime(time) => draft.minimum_on_time = time,
            Self::StartsPerHour(limit) => draft.starts_per_hour = limit,
            Self::PowerUpStagger(time) => draft.power_up_stagger = time,
            Self::Curve(curve) => draft.curve = curve,
            Self::FixedResistor(ohms) => draft.fixed_resistor_ohms = ohms,
            Self::ProbeOffset(difference) => draft.probe_offset = difference,
            Self::ProbeFaultDelay(time) => draft.probe_fault_delay = time,
            Self::ProbeRecoveryTime(time) => draft.probe_recovery_time = time,
            Self::ProbeFrozenAfter(check) => draft.probe_frozen = check,
            Self::Fallback(kind) => dormant.fallback = kind,
            Self::FallbackOn(time) => dormant.cycle.on = time,
            Self::FallbackOff(time) => dormant.cycle.off = time,
            Self::ProbeFaultsToLockout(count) => dormant.faults = count,
            Self::ProbeFaultWindow(time) => dormant.fault_window = time,
            Self::HeatCeiling(point) => draft.heat_ceiling = point,
            Self::HeatCeilingConfirmation(time) => draft.heat_ceiling_confirmation = time,
            Self::HighAlarm(limit) => dormant.high = limit,
            Self::HighAlarmDelay(time) => dormant.high_delay = time,
            Self::LowAlarm(limit) => dormant.low = limit,
            Self::LowAlarmDelay(time) => dormant.low_delay = time,
            Self::PullDownGrace(time) => draft.pull_down_grace = time,
            Self::GraceAfterDefrost(time) => draft.grace_after_defrost = time,
            Self::DefrostInterval(interval) => dormant.defrost = interval,
            Self::DefrostLength(length) => dormant.defrost_length = length,
            Self::Scale(scale) => draft.scale = scale,
            Self::ShortOffTime(confirmation) => draft.short_off_time = confirmation,
            Self::HeatWithoutProbe(confirmation) => draft.heat_without_probe = confirmation,
        }
    }

    /// What the control calls it; none for a confirmation.
    pub const fn field(self) -> Option<Field> {
        Some(match self {
            Self::Mode(_) => Field::Mode,
            Self::Load(_) => Field::Load,
            Self::Setpoint(_) => Field::Setpoint,
            Self::Differential(_) => Field::Differential,
            Self::LowestSetpoint(_) => Field::LowestSetpoint,
            Self::HighestSetpoint(_) => Field::HighestSetpoint,
            Self::MinimumOffTime(_) => Field::MinimumOffTime,
            Self::MinimumOnTime(_) => Field::MinimumOnTime,
            Self::StartsPerHour(_) => Field::StartsPerHour,
            Self::PowerUpStagger(_) => Field::PowerUpStagger,
            Self::Curve(_) => Field::Curve,
            Self::FixedResistor(_) => Field::FixedResistor,
            Self::ProbeOffset(_) => Field::ProbeOffset,
            Self::ProbeFaultDelay(_) => Field::ProbeFaultDelay,
            Self::ProbeRecoveryTime(_) => Field::ProbeRecoveryTime,
            Self::ProbeFrozenAfter(_) => Field::ProbeFrozenAfter,
            Self::Fallback(_) => Field::Fallback,
            Self::FallbackOn(_) => Field::FallbackOn,
            Self::FallbackOff(_) => Field::FallbackOff,
            Self::ProbeFaultsToLockout(_) => Field::ProbeFaultsToLockout,
            Self::ProbeFaultWindow(_) => Field::ProbeFaultWindow,
            Self::HeatCeiling(_) => Field::HeatCeiling,
            Self::HeatCeilingConfirmation(_) => Field::HeatCeilingConfirmation,
            Self::HighAlarm(_) => Field::HighAlarm,
            Self::HighAlarmDelay(_) => Field::HighAlarmDelay,
            Self::LowAlarm(_) => Field::LowAlarm,
            Self::LowAlarmDelay(_) => Field::LowAlarmDelay,
            Self::PullDownGrace(_) => Field::PullDownGrace,
            Self::GraceAfterDefrost(_) => Field::GraceAfterDefrost,
            Self::DefrostInterval(_) => Field::DefrostInterval,
            Self::DefrostLength(_) => Field::DefrostLength,
            Self::Scale(_) => Field::Scale,
            Self::ShortOffTime(_) | Self::HeatWithoutProbe(_) => return None,
        })
    }
}
