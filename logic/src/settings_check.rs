//! Whether a draft of settings makes sense as a whole.

use core::ops::RangeInclusive;

use crate::alarm::AlarmLimit;
use crate::call::Mode;
use crate::conversion::i32_from_i64;
use crate::curve::suit;
use crate::defrost::DefrostPlan;
use crate::divider::Divider;
use crate::fallback::{Cycle, Fallback};
use crate::field::Field;
use crate::guard::StartsLimit;
use crate::lockout::RepeatLimit;
use crate::probe::FrozenCheck;
use crate::refusal::{Reason, Refused};
use crate::settings::{COMPRESSOR_REST, Confirmation, Draft, Load, Settings};
use crate::time::Duration;
use crate::units::{Difference, Temperature};

/// So far beyond an alarm or a ceiling the probe must still be read: nearer to its end a
/// temperature that rises passes into a probe fault before anything can come of it.
const SOUNDING: Difference = Difference::from_millikelvin(1_000);

impl Draft {
    /// The settings, if they make sense together.
    ///
    /// # Errors
    /// The first setting that does not, in the order of [`Field::ALL`] where
    /// ranges are concerned, then what does not go together.
    pub fn check(self) -> Result<Settings, Refused> {
        let divider = self.divider_of_sensible()?;
        Ok(Settings::of_checked(self, divider))
    }

    /// What [`Draft::check`] checks; the divider is what it takes to trust the draft.
    pub(crate) fn divider_of_sensible(&self) -> Result<Divider, Refused> {
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
        let readable = self.curve.readable(divider);
        if suit(&readable).is_err() {
            return refuse(Field::FixedResistor, Reason::CurveDoesNotFitResistor);
        }
        self.check_reach(&readable)?;
        Ok(divider)
    }

    fn check_ranges(&self) -> Result<(), Refused> {
        in_range(Field::Setpoint, point(self.setpoint))?;
        in_range(Field::Differential, distance(self.differential))?;
        in_range(Field::LowestSetpoint, point(self.lowest_setpoint))?;
        in_range(Field::HighestSetpoint, point(self.highest_setpoint))?;
        in_range(Field::MinimumOffTime, length(self.minimum_off_time))?;
        in_range(Field::MinimumOnTime, length(self.minimum_on_time))?;
        if let StartsLimit::PerHour(starts) = self.starts_per_hour {
            in_range(Field::StartsPerHour, i32::from(starts))?;
        }
        in_range(Field::PowerUpStagger, length(self.power_up_stagger))?;
        in_range(
            Field::FixedResistor,
            i32::try_from(self.fixed_resistor_ohms).unwrap_or(i32::MAX),
        )?;
        in_range(Field::ProbeOffset, distance(self.probe_offset))?;
        in_range(Field::ProbeFaultDelay, length(self.probe_fault_delay))?;
        in_range(Field::ProbeRecoveryTime, length(self.probe_recovery_time))?;
        if let FrozenCheck::After(still) = self.probe_frozen {
            in_range(Field::ProbeFrozenAfter, length(still))?;
        }
        if let RepeatLimit::Faults { count, window } = self.probe_fault_lockout {
            in_range(Field::ProbeFaultsToLockout, i32::from(count))?;
            in_range(Field::ProbeFaultWindow, length(window))?;
        }
        in_range(Field::HeatCeiling, point(self.heat_ceiling))?;
        in_range(
            Field::HeatCeilingConfirmation,
            length(self.heat_ceiling_confirmation),
        )?;
        if let AlarmLimit::Beyond { limit, delay } = self.high_alarm {
            in_range(Field::HighAlarm, point(limit))?;
            in_range(Field::HighAlarmDelay, length(delay))?;
        }
        if let AlarmLimit::Beyond { limit, delay } = self.low_alarm {
            in_range(Field::LowAlarm, point(limit))?;
            in_range(Field::LowAlarmDelay, length(delay))?;
        }
        in_range(Field::PullDownGrace, length(self.pull_down_grace))?;
        in_range(Field::GraceAfterDefrost, length(self.grace_after_defrost))
    }

    fn check_temperatures(&self) -> Result<(), Refused> {
        if self.lowest_setpoint > self.highest_setpoint {
            return refuse(Field::LowestSetpoint, Reason::LimitsCrossed);
        }
        if self.setpoint < self.lowest_setpoint || self.setpoint > self.highest_setpoint {
            return refuse(Field::Setpoint, Reason::OutsideUserLimits);
        }
        let nearest_ceiling = self.setpoint.raised_by(self.differential);
        if self.mode == Mode::Heat && self.heat_ceiling <= nearest_ceiling {
            return refuse(Field::HeatCeiling, Reason::CeilingWithinDifferential);
        }
        if let AlarmLimit::Beyond { limit, .. } = self.high_alarm
            && limit <= self.setpoint
        {
            return refuse(Field::HighAlarm, Reason::AlarmOnWrongSide);
        }
        if let AlarmLimit::Beyond { limit, .. } = self.low_alarm
            && limit >= self.setpoint
        {
            return refuse(Field::LowAlarm, Reason::AlarmOnWrongSide);
        }
        Ok(())
    }

    /// What is to be acted on must be read: with this probe, resistor and offset, the
    /// cut-in itself, and a little beyond the ceiling and the alarms.
    fn check_reach(&self, readable: &RangeInclusive<Temperature>) -> Result<(), Refused> {
        if !self.reads(readable, self.band().cut_in) {
            return refuse(Field::Differential, Reason::CutInBeyondProbe);
        }
        let beyond_ceiling = self.heat_ceiling.raised_by(SOUNDING);
        if self.mode == Mode::Heat && !self.reads(readable, beyond_ceiling) {
            return refuse(Field::HeatCeiling, Reason::CeilingBeyondProbe);
        }
        if let AlarmLimit::Beyond { limit, .. } = self.high_alarm
            && !self.reads(readable, limit.raised_by(SOUNDING))
        {
            return refuse(Field::HighAlarm, Reason::AlarmBeyondProbe);
        }
        if let AlarmLimit::Beyond { limit, .. } = self.low_alarm
            && !self.reads(readable, limit.lowered_by(SOUNDING))
        {
            return refuse(Field::LowAlarm, Reason::AlarmBeyondProbe);
        }
        Ok(())
    }

    /// Whether the probe can be read as `temperature`, its offset included.
    fn reads(&self, readable: &RangeInclusive<Temperature>, temperature: Temperature) -> bool {
        readable.contains(&temperature.raised_by(self.probe_offset.reversed()))
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
        if self.grace_after_defrost >= interval {
            return refuse(Field::GraceAfterDefrost, Reason::GraceFillsInterval);
        }
        Ok(())
    }
}

fn refuse<T>(field: Field, reason: Reason) -> Result<T, Refused> {
    Err(Refused { field, reason })
}

/// Every range fits 32 bits, and so does every value that may lie in one.
#[inline(always)]
fn in_range(field: Field, value: i32) -> Result<(), Refused> {
    let about = field.about();
    if is_within(
        value,
        i32_from_i64(about.lowest),
        i32_from_i64(about.highest),
    ) {
        Ok(())
    } else {
        refuse(field, Reason::OutOfRange)
    }
}

/// On its own, so that a check of thirty settings stays small.
#[inline(never)]
const fn is_within(value: i32, lowest: i32, highest: i32) -> bool {
    lowest <= value && value <= highest
}

const fn point(temperature: Temperature) -> i32 {
    temperature.millicelsius()
}

const fn distance(difference: Difference) -> i32 {
    difference.millikelvin()
}

#[inline(never)]
fn length(duration: Duration) -> i32 {
    i32::try_from(duration.millis()).unwrap_or(i32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_range_fits_32_bits() {
        for field in Field::ALL {
            let about = field.about();
            for end in [about.lowest, about.highest] {
                assert!(
                    i32::try_from(end).is_ok_and(|end| end < i32::MAX),
                    "{field:?}"
                );
            }
        }
    }
}
