//! The settings of a control: a draft is checked once as a whole, then trusted.

use core::fmt;

use crate::alarm::{AlarmLimit, AlarmPlan};
use crate::call::{Band, Mode};
use crate::curve::Curve;
use crate::defrost::DefrostPlan;
use crate::divider::Divider;
use crate::fallback::{Cycle, Fallback};
use crate::field::Field;
use crate::guard::{Limits, StartsLimit};
use crate::lockout::RepeatLimit;
use crate::probe::{FrozenCheck, Qualification};
use crate::time::Duration;
use crate::units::{Difference, Temperature};

/// What the relay switches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Load {
    /// A compressor, directly or through a contactor or a liquid-line valve.
    Compressor,
    /// Anything that may start again at once: a heater, a fan, a pump, a valve.
    Other,
}

/// Degrees shown to people. The control itself always works in Celsius.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Scale {
    /// Degrees Celsius.
    Celsius,
    /// Degrees Fahrenheit.
    Fahrenheit,
}

/// Whether a person has taken responsibility for an unusual choice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Confirmation {
    /// Nobody has.
    NotGiven,
    /// A person has confirmed it.
    Given,
}

/// Settings as a person gives them; not yet known to make sense together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Draft {
    /// Cool or heat.
    pub mode: Mode,
    /// What the relay switches.
    pub load: Load,
    /// The space is satisfied here. −40 to +105 °C and within the user's limits.
    pub setpoint: Temperature,
    /// From the setpoint to the cut-in. 0.3 to 17 K.
    pub differential: Difference,
    /// Lowest setpoint a user may choose.
    pub lowest_setpoint: Temperature,
    /// Highest setpoint a user may choose.
    pub highest_setpoint: Temperature,
    /// Shortest rest. 0 to 15 min; at least 3 for a compressor unless confirmed.
    pub minimum_off_time: Duration,
    /// Shortest run. 0 to 10 min.
    pub minimum_on_time: Duration,
    /// Starts in any sliding hour.
    pub starts_per_hour: StartsLimit,
    /// Added to the rest after power-up. 0 to 120 s.
    pub power_up_stagger: Duration,
    /// Which thermistor.
    pub curve: Curve,
    /// Resistance of the fixed resistor above the thermistor, in ohms.
    pub fixed_resistor_ohms: u32,
    /// Added to what the probe reads. ±5 K.
    pub probe_offset: Difference,
    /// Bad spell until a fault is declared. 0 to 10 min.
    pub probe_fault_delay: Duration,
    /// Good spell until it is withdrawn. 0 to 60 min.
    pub probe_recovery_time: Duration,
    /// Still spell that counts as bad. 5 min to 24 h, or off.
    pub probe_frozen: FrozenCheck,
    /// What the relay does while a probe fault is declared.
    pub fallback: Fallback,
    /// Declared probe faults that lock the load out.
    pub probe_fault_lockout: RepeatLimit,
    /// Temperature that locks heating out. Above the setpoint, up to 115 °C.
    pub heat_ceiling: Temperature,
    /// High temperature alarm.
    pub high_alarm: AlarmLimit,
    /// Low temperature alarm.
    pub low_alarm: AlarmLimit,
    /// How long the alarm on the load's side waits after power-up, a change of mode or a defrost.
    pub pull_down_grace: Duration,
    /// Off-cycle defrost. Cool only.
    pub defrost: DefrostPlan,
    /// Degrees for people.
    pub scale: Scale,
    /// A compressor may rest for less than three minutes.
    pub short_off_time: Confirmation,
    /// Heat may cycle while the probe is not believed.
    pub heat_without_probe: Confirmation,
}

/// Settings that make sense together. There is no other way to have any.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Settings {
    draft: Draft,
    divider: Divider,
    band: Band,
}

/// Why a draft was refused: which setting, and what is wrong with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Refused {
    /// The setting to change.
    pub field: Field,
    /// What is wrong with it.
    pub reason: Reason,
}

/// What is wrong with a setting.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Reason {
    /// Outside its range; [`Field::about`] tells the range.
    OutOfRange,
    /// The lowest setpoint lies above the highest.
    LimitsCrossed,
    /// The setpoint lies outside the limits set for users.
    OutsideUserLimits,
    /// The cut-in lies beyond what a probe can be believed, −50 to +120 °C.
    CutInBeyondProbe,
    /// A compressor needs three minutes of rest unless a person confirms less.
    ShortOffTimeUnconfirmed,
    /// The curve and the fixed resistor do not fit together from −40 to +100 °C.
    CurveDoesNotFitResistor,
    /// Heat must not be kept on without a probe.
    ClosedFallbackInHeat,
    /// Heat that cycles without a probe needs a person's confirmation.
    HeatCycleUnconfirmed,
    /// Heat that cycles without a probe must be off for at least as long as it is on.
    HeatCycleOverHalf,
    /// A fallback run shorter than the minimum on-time.
    RunShorterThanMinimum,
    /// A fallback rest shorter than the minimum off-time.
    RestShorterThanMinimum,
    /// In heat mode a reading that never moves must not be believed for ever.
    StillReadingInHeat,
    /// The ceiling must lie above the setpoint in heat mode.
    CeilingNotAboveSetpoint,
    /// The low alarm lies at or above the high alarm.
    AlarmsCrossed,
    /// Off-cycle defrost is for cooling.
    DefrostInHeat,
    /// The defrost is as long as its interval, or longer.
    DefrostLongerThanInterval,
}

impl Reason {
    /// The reason as a sentence that says what to do.
    #[must_use]
    pub const fn sentence(self) -> &'static str {
        match self {
            Self::OutOfRange => "The value lies outside its range.",
            Self::LimitsCrossed => "The lowest setpoint must not lie above the highest.",
            Self::OutsideUserLimits => {
                "The setpoint must lie between the lowest and the highest setpoint."
            }
            Self::CutInBeyondProbe => {
                "Setpoint and differential put the cut-in beyond -50 to +120 °C, where no probe is believed; choose a smaller differential."
            }
            Self::ShortOffTimeUnconfirmed => {
                "A compressor needs at least 3 min of rest; choose more, or confirm the short off-time."
            }
            Self::CurveDoesNotFitResistor => {
                "With this fixed resistor the probe would read as open or shorted between -40 and +100 °C; choose a resistor near the probe's resistance at 25 °C."
            }
            Self::ClosedFallbackInHeat => {
                "Heat must not stay on without a probe; choose open, or a timed cycle and confirm it."
            }
            Self::HeatCycleUnconfirmed => {
                "Heat that cycles without a probe needs a person's confirmation."
            }
            Self::HeatCycleOverHalf => {
                "Heat that cycles without a probe must be off for at least as long as it is on."
            }
            Self::RunShorterThanMinimum => {
                "The fallback's run must not be shorter than the minimum on-time."
            }
            Self::RestShorterThanMinimum => {
                "The fallback's rest must not be shorter than the minimum off-time."
            }
            Self::StillReadingInHeat => {
                "Heat on a reading that never moves has no end; set a time, or confirm heat without a probe."
            }
            Self::CeilingNotAboveSetpoint => "The heat ceiling must lie above the setpoint.",
            Self::AlarmsCrossed => "The low alarm must lie below the high alarm.",
            Self::DefrostInHeat => "Off-cycle defrost is for cooling; switch it off in heat mode.",
            Self::DefrostLongerThanInterval => "The defrost must be shorter than its interval.",
        }
    }
}

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.field.about().name, self.reason.sentence())
    }
}

impl core::error::Error for Refused {}

const fn celsius(degrees: i32) -> Temperature {
    Temperature::from_millicelsius(degrees.saturating_mul(1_000))
}

/// The rest that a compressor needs unless a person confirms less (common practice).
pub const COMPRESSOR_REST: Duration = Duration::from_minutes(3);

impl Draft {
    /// A cooler at 2 °C: the defaults of cool mode.
    pub const COOLING: Self = Self {
        mode: Mode::Cool,
        load: Load::Compressor,
        setpoint: celsius(2),
        differential: Difference::from_millikelvin(2_000),
        lowest_setpoint: celsius(-40),
        highest_setpoint: celsius(105),
        minimum_off_time: Duration::from_minutes(5),
        minimum_on_time: Duration::from_minutes(1),
        starts_per_hour: StartsLimit::Unlimited,
        power_up_stagger: Duration::ZERO,
        curve: Curve::TypeII,
        fixed_resistor_ohms: 10_000,
        probe_offset: Difference::from_millikelvin(0),
        probe_fault_delay: Duration::from_seconds(30),
        probe_recovery_time: Duration::from_minutes(2),
        probe_frozen: FrozenCheck::After(Duration::from_hours(4)),
        fallback: Fallback::Open,
        probe_fault_lockout: RepeatLimit::Faults {
            count: 5,
            window: Duration::from_hours(1),
        },
        heat_ceiling: celsius(90),
        high_alarm: AlarmLimit::Off,
        low_alarm: AlarmLimit::Off,
        pull_down_grace: Duration::from_hours(2),
        defrost: DefrostPlan::Off,
        scale: Scale::Celsius,
        short_off_time: Confirmation::NotGiven,
        heat_without_probe: Confirmation::NotGiven,
    };

    /// A tank at 55 °C: the defaults of heat mode.
    pub const HEATING: Self = Self {
        mode: Mode::Heat,
        load: Load::Other,
        setpoint: celsius(55),
        differential: Difference::from_millikelvin(3_000),
        ..Self::COOLING
    };

    /// The settings, if they make sense together.
    ///
    /// # Errors
    /// The first setting that does not, in the order of [`Field::ALL`] where
    /// ranges are concerned, then what does not go together.
    pub fn check(self) -> Result<Settings, Refused> {
        self.check_ranges()?;
        self.check_temperatures()?;
        self.check_fallback()?;
        self.check_defrost()?;
        if self.mode == Mode::Heat
            && self.probe_frozen == FrozenCheck::Off
            && self.heat_without_probe == Confirmation::NotGiven
        {
            return refuse(Field::ProbeFrozenAfter, Reason::StillReadingInHeat);
        }
        if self.load == Load::Compressor
            && self.minimum_off_time < COMPRESSOR_REST
            && self.short_off_time == Confirmation::NotGiven
        {
            return refuse(Field::MinimumOffTime, Reason::ShortOffTimeUnconfirmed);
        }
        let divider = Divider::new(self.fixed_resistor_ohms).map_err(|_| Refused {
            field: Field::FixedResistor,
            reason: Reason::OutOfRange,
        })?;
        if self.curve.suits(divider).is_err() {
            return refuse(Field::FixedResistor, Reason::CurveDoesNotFitResistor);
        }
        Ok(Settings {
            draft: self,
            divider,
            band: self.band(),
        })
    }

    fn check_ranges(&self) -> Result<(), Refused> {
        in_range(Field::Setpoint, point(self.setpoint))?;
        in_range(Field::Differential, distance(self.differential))?;
        in_range(Field::LowestSetpoint, point(self.lowest_setpoint))?;
        in_range(Field::HighestSetpoint, point(self.highest_setpoint))?;
        in_range(Field::MinimumOffTime, length(self.minimum_off_time))?;
        in_range(Field::MinimumOnTime, length(self.minimum_on_time))?;
        if let StartsLimit::PerHour(starts) = self.starts_per_hour {
            in_range(Field::StartsPerHour, i64::from(starts))?;
        }
        in_range(Field::PowerUpStagger, length(self.power_up_stagger))?;
        in_range(Field::FixedResistor, i64::from(self.fixed_resistor_ohms))?;
        in_range(Field::ProbeOffset, distance(self.probe_offset))?;
        in_range(Field::ProbeFaultDelay, length(self.probe_fault_delay))?;
        in_range(Field::ProbeRecoveryTime, length(self.probe_recovery_time))?;
        if let FrozenCheck::After(still) = self.probe_frozen {
            in_range(Field::ProbeFrozenAfter, length(still))?;
        }
        if let RepeatLimit::Faults { count, window } = self.probe_fault_lockout {
            in_range(Field::ProbeFaultsToLockout, i64::from(count))?;
            in_range(Field::ProbeFaultWindow, length(window))?;
        }
        in_range(Field::HeatCeiling, point(self.heat_ceiling))?;
        if let AlarmLimit::Beyond { limit, delay } = self.high_alarm {
            in_range(Field::HighAlarm, point(limit))?;
            in_range(Field::HighAlarmDelay, length(delay))?;
        }
        if let AlarmLimit::Beyond { limit, delay } = self.low_alarm {
            in_range(Field::LowAlarm, point(limit))?;
            in_range(Field::LowAlarmDelay, length(delay))?;
        }
        in_range(Field::PullDownGrace, length(self.pull_down_grace))
    }

    fn check_temperatures(&self) -> Result<(), Refused> {
        if self.lowest_setpoint > self.highest_setpoint {
            return refuse(Field::LowestSetpoint, Reason::LimitsCrossed);
        }
        if self.setpoint < self.lowest_setpoint || self.setpoint > self.highest_setpoint {
            return refuse(Field::Setpoint, Reason::OutsideUserLimits);
        }
        let cut_in = self.band().cut_in;
        if cut_in < crate::curve::COLDEST || cut_in > crate::curve::HOTTEST {
            return refuse(Field::Differential, Reason::CutInBeyondProbe);
        }
        if self.mode == Mode::Heat && self.heat_ceiling <= self.setpoint {
            return refuse(Field::HeatCeiling, Reason::CeilingNotAboveSetpoint);
        }
        if let (AlarmLimit::Beyond { limit: high, .. }, AlarmLimit::Beyond { limit: low, .. }) =
            (self.high_alarm, self.low_alarm)
            && low >= high
        {
            return refuse(Field::LowAlarm, Reason::AlarmsCrossed);
        }
        Ok(())
    }

    fn check_fallback(&self) -> Result<(), Refused> {
        let cycle = match (self.fallback, self.mode) {
            (Fallback::Open, _) | (Fallback::Closed, Mode::Cool) => return Ok(()),
            (Fallback::Closed, Mode::Heat) => {
                return refuse(Field::Fallback, Reason::ClosedFallbackInHeat);
            }
            (Fallback::TimedCycle(cycle) | Fallback::MeasuredDuty(cycle), _) => cycle,
        };
        let Cycle { on, off } = cycle;
        in_range(Field::FallbackOn, length(on))?;
        in_range(Field::FallbackOff, length(off))?;
        if on < self.minimum_on_time {
            return refuse(Field::FallbackOn, Reason::RunShorterThanMinimum);
        }
        if off < self.minimum_off_time {
            return refuse(Field::FallbackOff, Reason::RestShorterThanMinimum);
        }
        match self.mode {
            Mode::Cool => Ok(()),
            Mode::Heat if self.heat_without_probe == Confirmation::NotGiven => {
                refuse(Field::Fallback, Reason::HeatCycleUnconfirmed)
            }
            Mode::Heat if on > off => refuse(Field::FallbackOn, Reason::HeatCycleOverHalf),
            Mode::Heat => Ok(()),
        }
    }

    fn check_defrost(&self) -> Result<(), Refused> {
        let DefrostPlan::Every {
            interval,
            length: rest,
        } = self.defrost
        else {
            return Ok(());
        };
        if self.mode == Mode::Heat {
            return refuse(Field::DefrostInterval, Reason::DefrostInHeat);
        }
        in_range(Field::DefrostInterval, length(interval))?;
        in_range(Field::DefrostLength, length(rest))?;
        if rest >= interval {
            return refuse(Field::DefrostLength, Reason::DefrostLongerThanInterval);
        }
        Ok(())
    }

    const fn band(&self) -> Band {
        Band {
            mode: self.mode,
            cut_in: match self.mode {
                Mode::Cool => self.setpoint.raised_by(self.differential),
                Mode::Heat => self.setpoint.lowered_by(self.differential),
            },
            cut_out: self.setpoint,
        }
    }
}

impl Settings {
    /// Safe defaults: [`Draft::COOLING`] as checked.
    pub const DEFAULT: Self = Self {
        draft: Draft::COOLING,
        divider: match Divider::new(Draft::COOLING.fixed_resistor_ohms) {
            Ok(divider) => divider,
            Err(_) => panic!("the default fixed resistor must be one"),
        },
        band: Draft::COOLING.band(),
    };

    /// What these settings say, to read or to draft others from.
    #[must_use]
    pub const fn draft(&self) -> &Draft {
        &self.draft
    }

    /// The divider the probe is read through.
    #[must_use]
    pub const fn divider(&self) -> Divider {
        self.divider
    }

    /// Where the call begins and ends.
    #[must_use]
    pub const fn band(&self) -> Band {
        self.band
    }

    /// What the guard enforces.
    #[must_use]
    pub const fn limits(&self) -> Limits {
        Limits {
            minimum_off_time: self.draft.minimum_off_time,
            minimum_on_time: self.draft.minimum_on_time,
            starts: self.draft.starts_per_hour,
            power_up_stagger: self.draft.power_up_stagger,
        }
    }

    /// Whether a sample means the same temperature under both.
    #[must_use]
    pub fn read_the_probe_as(&self, other: &Self) -> bool {
        self.divider == other.divider
            && self.draft.curve == other.draft.curve
            && self.draft.probe_offset == other.draft.probe_offset
    }

    /// What the alarms watch for.
    #[must_use]
    pub const fn alarms(&self) -> AlarmPlan {
        AlarmPlan {
            mode: self.draft.mode,
            high: self.draft.high_alarm,
            low: self.draft.low_alarm,
            grace: self.draft.pull_down_grace,
        }
    }

    /// How probe samples are qualified.
    #[must_use]
    pub const fn qualification(&self) -> Qualification {
        Qualification {
            fault_delay: self.draft.probe_fault_delay,
            recovery_time: self.draft.probe_recovery_time,
            frozen: self.draft.probe_frozen,
        }
    }
}

fn refuse<T>(field: Field, reason: Reason) -> Result<T, Refused> {
    Err(Refused { field, reason })
}

fn in_range(field: Field, value: i64) -> Result<(), Refused> {
    let about = field.about();
    if value < about.lowest || value > about.highest {
        return refuse(field, Reason::OutOfRange);
    }
    Ok(())
}

fn point(temperature: Temperature) -> i64 {
    i64::from(temperature.millicelsius())
}

fn distance(difference: Difference) -> i64 {
    i64::from(difference.millikelvin())
}

fn length(duration: Duration) -> i64 {
    i64::try_from(duration.millis()).unwrap_or(i64::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn defaults_make_sense() {
        assert_eq!(Draft::COOLING.check(), Ok(Settings::DEFAULT));
        assert!(Draft::HEATING.check().is_ok());
    }

    fn refused(change: impl FnOnce(&mut Draft), draft: Draft) -> Option<(Field, Reason)> {
        let mut draft = draft;
        change(&mut draft);
        draft
            .check()
            .err()
            .map(|refused| (refused.field, refused.reason))
    }

    const CYCLE: Cycle = Cycle {
        on: Duration::from_minutes(10),
        off: Duration::from_minutes(10),
    };

    #[test]
    fn cooling_that_makes_no_sense_is_refused_with_the_reason() {
        type Change = fn(&mut Draft);
        let cases: [(Change, Field, Reason); 14] = [
            (
                |d| d.setpoint = celsius(106),
                Field::Setpoint,
                Reason::OutOfRange,
            ),
            (
                |d| d.differential = Difference::from_millikelvin(299),
                Field::Differential,
                Reason::OutOfRange,
            ),
            (
                |d| d.lowest_setpoint = celsius(5),
                Field::Setpoint,
                Reason::OutsideUserLimits,
            ),
            (
                |d| (d.lowest_setpoint, d.highest_setpoint) = (celsius(5), celsius(4)),
                Field::LowestSetpoint,
                Reason::LimitsCrossed,
            ),
            (
                |d| {
                    (d.setpoint, d.differential) =
                        (celsius(105), Difference::from_millikelvin(16_000))
                },
                Field::Differential,
                Reason::CutInBeyondProbe,
            ),
            (
                |d| d.minimum_off_time = Duration::from_seconds(179),
                Field::MinimumOffTime,
                Reason::ShortOffTimeUnconfirmed,
            ),
            (
                |d| d.starts_per_hour = StartsLimit::PerHour(0),
                Field::StartsPerHour,
                Reason::OutOfRange,
            ),
            (
                |d| d.starts_per_hour = StartsLimit::PerHour(31),
                Field::StartsPerHour,
                Reason::OutOfRange,
            ),
            (
                |d| d.fixed_resistor_ohms = 1,
                Field::FixedResistor,
                Reason::OutOfRange,
            ),
            (
                |d| d.fixed_resistor_ohms = 1_000_000,
                Field::FixedResistor,
                Reason::CurveDoesNotFitResistor,
            ),
            (
                |d| {
                    d.minimum_on_time = Duration::from_minutes(10);
                    d.fallback = Fallback::TimedCycle(Cycle {
                        on: Duration::from_minutes(9),
                        ..CYCLE
                    });
                },
                Field::FallbackOn,
                Reason::RunShorterThanMinimum,
            ),
            (
                |d| {
                    d.fallback = Fallback::TimedCycle(Cycle {
                        off: Duration::from_minutes(4),
                        ..CYCLE
                    })
                },
                Field::FallbackOff,
                Reason::RestShorterThanMinimum,
            ),
            (
                |d| {
                    let delay = Duration::ZERO;
                    d.high_alarm = AlarmLimit::Beyond {
                        limit: celsius(4),
                        delay,
                    };
                    d.low_alarm = AlarmLimit::Beyond {
                        limit: celsius(4),
                        delay,
                    };
                },
                Field::LowAlarm,
                Reason::AlarmsCrossed,
            ),
            (
                |d| {
                    let (interval, length) = (Duration::from_hours(1), Duration::from_minutes(60));
                    d.defrost = DefrostPlan::Every { interval, length };
                },
                Field::DefrostLength,
                Reason::DefrostLongerThanInterval,
            ),
        ];
        for (change, field, reason) in cases {
            assert_eq!(refused(change, Draft::COOLING), Some((field, reason)));
        }
    }

    #[test]
    fn heating_that_makes_no_sense_is_refused_with_the_reason() {
        type Change = fn(&mut Draft);
        let cases: [(Change, Field, Reason); 6] = [
            (
                |d| d.fallback = Fallback::Closed,
                Field::Fallback,
                Reason::ClosedFallbackInHeat,
            ),
            (
                |d| d.fallback = Fallback::TimedCycle(CYCLE),
                Field::Fallback,
                Reason::HeatCycleUnconfirmed,
            ),
            (
                |d| {
                    d.heat_without_probe = Confirmation::Given;
                    d.fallback = Fallback::MeasuredDuty(Cycle {
                        on: Duration::from_minutes(11),
                        ..CYCLE
                    });
                },
                Field::FallbackOn,
                Reason::HeatCycleOverHalf,
            ),
            (
                |d| d.heat_ceiling = celsius(55),
                Field::HeatCeiling,
                Reason::CeilingNotAboveSetpoint,
            ),
            (
                |d| d.probe_frozen = FrozenCheck::Off,
                Field::ProbeFrozenAfter,
                Reason::StillReadingInHeat,
            ),
            (
                |d| {
                    let (interval, length) = (Duration::from_hours(6), Duration::from_minutes(30));
                    d.defrost = DefrostPlan::Every { interval, length };
                },
                Field::DefrostInterval,
                Reason::DefrostInHeat,
            ),
        ];
        for (change, field, reason) in cases {
            assert_eq!(refused(change, Draft::HEATING), Some((field, reason)));
        }
    }

    #[test]
    fn a_confirmed_short_rest_and_a_confirmed_heat_cycle_are_accepted() {
        let mut draft = Draft::COOLING;
        draft.minimum_off_time = Duration::ZERO;
        draft.short_off_time = Confirmation::Given;
        assert!(draft.check().is_ok());
        let mut draft = Draft::HEATING;
        draft.heat_without_probe = Confirmation::Given;
        draft.fallback = Fallback::TimedCycle(CYCLE);
        assert!(draft.check().is_ok());
    }
}
