//! The settings of a control: a draft is checked once as a whole, then trusted.
//!
//! What makes sense together is in `settings_check.rs`. A default in brackets waits for the
//! setting that it belongs to: an alarm, a defrost, a fallback that cycles.
//!
#![doc = include_str!("settings_table.md")]

use crate::alarm::{AlarmLimit, AlarmPlan};
use crate::call::{Band, Mode};
use crate::curve::Curve;
use crate::defrost::DefrostPlan;
use crate::divider::Divider;
use crate::fallback::Fallback;
use crate::guard::{Limits, StartsLimit};
use crate::lockout::RepeatLimit;
use crate::probe::{FrozenCheck, Qualification};
pub use crate::refusal::{Reason, Refused};
use crate::time::Duration;
use crate::units::{Difference, Temperature};

/// The rest that a compressor needs unless a person confirms less (common practice).
pub const COMPRESSOR_REST: Duration = Duration::from_minutes(3);

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
///
/// Unit, range and default of each stand in the table of [this module](self).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Draft {
    /// Cool or heat.
    pub mode: Mode,
    /// What the relay switches.
    pub load: Load,
    /// The space is satisfied here. Within the user's limits.
    pub setpoint: Temperature,
    /// From the setpoint to the cut-in.
    pub differential: Difference,
    /// Lowest setpoint a user may choose.
    pub lowest_setpoint: Temperature,
    /// Highest setpoint a user may choose.
    pub highest_setpoint: Temperature,
    /// Shortest rest. At least [`COMPRESSOR_REST`] for a compressor unless confirmed.
    pub minimum_off_time: Duration,
    /// Shortest run.
    pub minimum_on_time: Duration,
    /// Starts in any sliding hour.
    pub starts_per_hour: StartsLimit,
    /// Added to the rest after power-up.
    pub power_up_stagger: Duration,
    /// Which thermistor.
    pub curve: Curve,
    /// Resistance of the fixed resistor above the thermistor, in ohms.
    pub fixed_resistor_ohms: u32,
    /// Added to what the probe reads.
    pub probe_offset: Difference,
    /// Surplus of bad time over good at which a fault is declared.
    pub probe_fault_delay: Duration,
    /// Good spell until it is withdrawn.
    pub probe_recovery_time: Duration,
    /// Still spell that counts as bad, or off.
    pub probe_frozen: FrozenCheck,
    /// What the relay does while a probe fault is declared.
    pub fallback: Fallback,
    /// Declared probe faults that lock the load out.
    pub probe_fault_lockout: RepeatLimit,
    /// Temperature that locks heating out. Above the setpoint by more than the differential.
    pub heat_ceiling: Temperature,
    /// How long it must be at the ceiling to lock out; the relay opens at once.
    pub heat_ceiling_confirmation: Duration,
    /// High temperature alarm.
    pub high_alarm: AlarmLimit,
    /// Low temperature alarm.
    pub low_alarm: AlarmLimit,
    /// How long the alarm on the load's side waits after power-up or a change of mode.
    pub pull_down_grace: Duration,
    /// How long the high alarm waits after a defrost. Shorter than the interval from
    /// defrost to defrost.
    pub grace_after_defrost: Duration,
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

const fn celsius(degrees: i32) -> Temperature {
    Temperature::from_millicelsius(degrees.saturating_mul(1_000))
}

impl Draft {
    /// A cooler at 2 °C: the defaults of cool mode.
    pub const COOLING: Self = Self {
        mode: Mode::Cool,
        load: Load::Compressor,
        setpoint: celsius(2),
        differential: Difference::from_millikelvin(2_000),
        lowest_setpoint: celsius(-40),
        highest_setpoint: celsius(100),
        minimum_off_time: Duration::from_minutes(5),
        // Source: "Selection and application guidelines, scroll compressors", no.
        // FRCC.PC.007.B5.02, cycle rate limit, p. 27: a run of 2 min at least, for the
        // motor to cool after its start and for oil to return.
        minimum_on_time: Duration::from_minutes(2),
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
        heat_ceiling_confirmation: Duration::from_seconds(30),
        high_alarm: AlarmLimit::Off,
        low_alarm: AlarmLimit::Off,
        pull_down_grace: Duration::from_hours(2),
        grace_after_defrost: Duration::from_minutes(30),
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

    pub(crate) const fn band(&self) -> Band {
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
    /// Makes these the settings that `fill` writes over the draft, once they are checked.
    ///
    /// In place: a whole set of settings is large for a short stack.
    ///
    /// # Errors
    ///
    /// What `fill` or the check refuses; these are then [`Settings::DEFAULT`].
    pub(crate) fn refill<E: From<Refused>>(
        &mut self,
        fill: impl FnOnce(&mut Draft) -> Result<(), E>,
    ) -> Result<(), E> {
        let filled = match fill(&mut self.draft) {
            Ok(()) => self.draft.divider_of_sensible().map_err(E::from),
            Err(refusal) => Err(refusal),
        };
        match filled {
            Ok(divider) => {
                self.divider = divider;
                self.band = self.draft.band();
                Ok(())
            }
            Err(refusal) => {
                self.forget();
                Err(refusal)
            }
        }
    }

    #[inline(never)]
    fn forget(&mut self) {
        *self = Self::DEFAULT;
    }

    /// The one way to settings besides [`Settings::DEFAULT`]: only [`Draft::check`] takes it.
    pub(crate) const fn of_checked(draft: Draft, divider: Divider) -> Self {
        Self {
            draft,
            divider,
            band: draft.band(),
        }
    }

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
    pub const fn alarms(&self) -> AlarmPlan<'_> {
        AlarmPlan {
            mode: self.draft.mode,
            high: &self.draft.high_alarm,
            low: &self.draft.low_alarm,
            pull_down_grace: self.draft.pull_down_grace,
            grace_after_defrost: self.draft.grace_after_defrost,
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_defaults_of_heat_are_a_tank_at_55_degrees() {
        let tank = Draft::HEATING;
        assert_eq!((tank.mode, tank.load), (Mode::Heat, Load::Other));
        assert_eq!(tank.setpoint, celsius(55));
        assert_eq!(tank.differential, Difference::from_millikelvin(3_000));
        assert_eq!(
            tank.band(),
            Band {
                mode: Mode::Heat,
                cut_in: celsius(52),
                cut_out: celsius(55),
            }
        );
    }

    #[test]
    fn curve_resistor_and_offset_say_how_a_probe_is_read_and_nothing_else_does() {
        let alike = |change: fn(&mut Draft)| {
            let mut draft = Draft::COOLING;
            change(&mut draft);
            let changed = draft.check().unwrap();
            let there = Settings::DEFAULT.read_the_probe_as(&changed);
            assert_eq!(there, changed.read_the_probe_as(&Settings::DEFAULT));
            there
        };
        assert!(alike(|_| ()));
        assert!(alike(|draft| draft.setpoint = celsius(4)));
        assert!(alike(|draft| draft.mode = Mode::Heat));
        assert!(!alike(|draft| draft.curve = Curve::TypeIII));
        assert!(!alike(|draft| draft.fixed_resistor_ohms = 10_001));
        assert!(!alike(
            |draft| draft.probe_offset = Difference::from_millikelvin(1)
        ));
    }

    #[test]
    fn settings_that_cannot_be_refilled_are_the_defaults() {
        let mut draft = Draft::COOLING;
        draft.setpoint = celsius(4);
        let other = draft.check().unwrap();
        let mut settings = other;
        let nonsense = |draft: &mut Draft| {
            draft.lowest_setpoint = celsius(5);
            Ok(())
        };
        assert!(settings.refill::<Refused>(nonsense).is_err());
        assert_eq!(settings, Settings::DEFAULT);
        let mut settings = other;
        let unread = Refused {
            field: crate::field::Field::Setpoint,
            reason: Reason::OutOfRange,
        };
        assert_eq!(settings.refill(|_| Err(unread)), Err(unread));
        assert_eq!(settings, Settings::DEFAULT);
        let mut settings = Settings::DEFAULT;
        let sense = |draft: &mut Draft| {
            draft.setpoint = celsius(4);
            Ok(())
        };
        assert_eq!(settings.refill::<Refused>(sense), Ok(()));
        assert_eq!(settings, other);
    }
}
