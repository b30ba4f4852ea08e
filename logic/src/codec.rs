//! Settings and retained state as bytes: versioned, of fixed length, closed by a CRC.
//!
//! Layout: one byte of kind and version, the fields in order (little endian),
//! and a CRC-32 (the one of ISO-HDLC) over all bytes before it. What cannot be
//! read is refused whole; nothing is guessed.
//!
//! Settings have had two layouts. The first lacks the confirmation of the heat ceiling and
//! the grace after a defrost: those are then the defaults.

use crate::alarm::AlarmLimit;
use crate::call::Mode;
use crate::coefficients::Coefficients;
use crate::conversion::i32_from_i64;
use crate::curve::{Curve, CustomCurve};
use crate::defrost::DefrostPlan;
use crate::fallback::{Cycle, Fallback};
use crate::field::Field;
use crate::guard::{MOST_STARTS, StartsLimit};
use crate::lockout::{Cause, RepeatLimit};
use crate::probe::FrozenCheck;
use crate::record::{CHECKSUM_LEN, Reader, Writer};
use crate::retained::{Retained, Switch};
use crate::settings::{Draft, Load, Scale, Settings};
use crate::time::Duration;
use crate::units::Temperature;
pub use crate::unreadable::Unreadable;

/// The layouts of settings; the last is the one that is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Layout {
    First,
    Second,
}

impl Layout {
    const fn kind(self) -> u8 {
        match self {
            Self::First => 0x11,
            Self::Second => 0x12,
        }
    }

    /// The layout of records of this length.
    const fn of_length(length: usize) -> Result<Self, Unreadable> {
        match length {
            FIRST_SETTINGS_LEN => Ok(Self::First),
            SETTINGS_LEN => Ok(Self::Second),
            _ => Err(Unreadable::Length),
        }
    }
}

const RETAINED_KIND: u8 = 0x22;

/// Records of the first layout may hold a higher limit than is accepted any more: of
/// setpoints, up to 105 °C, and of heat, up to 115 °C. They are read as the highest that is:
/// a lower limit than was asked for harms nobody.
const HIGHEST_SETPOINT: Temperature = highest(Field::HighestSetpoint);
const HIGHEST_CEILING: Temperature = highest(Field::HeatCeiling);

const fn highest(field: Field) -> Temperature {
    Temperature::from_millicelsius(i32_from_i64(field.about().highest))
}

/// Bytes of encoded [`Settings`].
pub const SETTINGS_LEN: usize = 140;

/// Bytes of settings in the first layout.
const FIRST_SETTINGS_LEN: usize = 132;

/// Bytes of encoded [`Retained`].
pub const RETAINED_LEN: usize = 1 + 1 + 1 + 4 + 8 + 8 + 1 + 3 * MOST_STARTS + CHECKSUM_LEN;

/// `settings` as bytes.
#[must_use]
pub fn settings_to_bytes(settings: &Settings) -> [u8; SETTINGS_LEN] {
    let mut record = [0; SETTINGS_LEN];
    write_settings(settings, &mut record);
    record
}

/// Writes `settings` into `record`.
#[inline(never)]
pub fn write_settings(settings: &Settings, record: &mut [u8; SETTINGS_LEN]) {
    let draft = settings.draft();
    let mut out = Writer::new(record, Layout::Second.kind());
    out.byte(match draft.mode {
        Mode::Cool => 0,
        Mode::Heat => 1,
    });
    out.byte(match draft.load {
        Load::Compressor => 0,
        Load::Other => 1,
    });
    out.point(draft.setpoint);
    out.distance(draft.differential);
    out.point(draft.lowest_setpoint);
    out.point(draft.highest_setpoint);
    out.length(draft.minimum_off_time);
    out.length(draft.minimum_on_time);
    out.byte(match draft.starts_per_hour {
        StartsLimit::Unlimited => 0,
        StartsLimit::PerHour(starts) => starts,
    });
    out.length(draft.power_up_stagger);
    write_curve(&mut out, &draft.curve);
    out.word(draft.fixed_resistor_ohms);
    out.distance(draft.probe_offset);
    out.length(draft.probe_fault_delay);
    out.length(draft.probe_recovery_time);
    out.length(match draft.probe_frozen {
        FrozenCheck::Off => Duration::ZERO,
        FrozenCheck::After(still) => still,
    });
    let (fallback, cycle) = match draft.fallback {
        Fallback::Open => (0, NO_CYCLE),
        Fallback::Closed => (1, NO_CYCLE),
        Fallback::TimedCycle(cycle) => (2, cycle),
        Fallback::MeasuredDuty(cycle) => (3, cycle),
    };
    out.byte(fallback);
    out.length(cycle.on);
    out.length(cycle.off);
    let (count, window) = match draft.probe_fault_lockout {
        RepeatLimit::Unlimited => (0, Duration::ZERO),
        RepeatLimit::Faults { count, window } => (count, window),
    };
    out.byte(count);
    out.length(window);
    out.point(draft.heat_ceiling);
    out.length(draft.heat_ceiling_confirmation);
    write_alarm(&mut out, draft.high_alarm);
    write_alarm(&mut out, draft.low_alarm);
    out.length(draft.pull_down_grace);
    out.length(draft.grace_after_defrost);
    let (interval, length) = match draft.defrost {
        DefrostPlan::Off => (Duration::ZERO, Duration::ZERO),
        DefrostPlan::Every { interval, length } => (interval, length),
    };
    out.length(interval);
    out.length(length);
    out.byte(match draft.scale {
        Scale::Celsius => 0,
        Scale::Fahrenheit => 1,
    });
    out.confirmation(draft.short_off_time);
    out.confirmation(draft.heat_without_probe);
    out.close();
}

/// The settings that `bytes` hold, checked as a whole.
///
/// # Errors
/// What is wrong with the bytes, or with the settings they hold.
pub fn settings_from_bytes(bytes: &[u8]) -> Result<Settings, Unreadable> {
    let mut settings = Settings::DEFAULT;
    read_settings(bytes, &mut settings).map(|()| settings)
}

/// Makes `settings` those that `bytes` hold, checked as a whole.
///
/// # Errors
/// What is wrong with the bytes, or with the settings they hold; `settings` are
/// then [`Settings::DEFAULT`], or what they were if the bytes are no record.
#[inline(never)]
pub fn read_settings(bytes: &[u8], settings: &mut Settings) -> Result<(), Unreadable> {
    let layout = Layout::of_length(bytes.len())?;
    let mut input = Reader::opened(bytes, bytes.len(), layout.kind())?;
    settings.refill(|draft| read_draft(&mut input, layout, draft))
}

fn read_draft(input: &mut Reader<'_>, layout: Layout, draft: &mut Draft) -> Result<(), Unreadable> {
    draft.mode = input.choice([Mode::Cool, Mode::Heat])?;
    draft.load = input.choice([Load::Compressor, Load::Other])?;
    draft.setpoint = input.point();
    draft.differential = input.distance();
    draft.lowest_setpoint = input.point();
    draft.highest_setpoint = input.point();
    draft.minimum_off_time = input.length();
    draft.minimum_on_time = input.length();
    draft.starts_per_hour = match input.byte() {
        0 => StartsLimit::Unlimited,
        starts => StartsLimit::PerHour(starts),
    };
    draft.power_up_stagger = input.length();
    read_curve(input, &mut draft.curve)?;
    draft.fixed_resistor_ohms = input.word();
    draft.probe_offset = input.distance();
    draft.probe_fault_delay = input.length();
    draft.probe_recovery_time = input.length();
    draft.probe_frozen = match input.length() {
        Duration::ZERO => FrozenCheck::Off,
        still => FrozenCheck::After(still),
    };
    let fallback = input.byte();
    let cycle = Cycle {
        on: input.length(),
        off: input.length(),
    };
    draft.fallback = match fallback {
        0 => Fallback::Open,
        1 => Fallback::Closed,
        2 => Fallback::TimedCycle(cycle),
        3 => Fallback::MeasuredDuty(cycle),
        _ => return Err(Unreadable::Choice),
    };
    draft.probe_fault_lockout = match (input.byte(), input.length()) {
        (0, _) => RepeatLimit::Unlimited,
        (count, window) => RepeatLimit::Faults { count, window },
    };
    draft.heat_ceiling = input.point();
    draft.heat_ceiling_confirmation = match layout {
        Layout::First => Draft::COOLING.heat_ceiling_confirmation,
        Layout::Second => input.length(),
    };
    draft.high_alarm = read_alarm(input)?;
    draft.low_alarm = read_alarm(input)?;
    draft.pull_down_grace = input.length();
    draft.grace_after_defrost = match layout {
        Layout::First => Draft::COOLING.grace_after_defrost,
        Layout::Second => input.length(),
    };
    draft.defrost = match (input.length(), input.length()) {
        (Duration::ZERO, _) => DefrostPlan::Off,
        (interval, length) => DefrostPlan::Every { interval, length },
    };
    draft.scale = input.choice([Scale::Celsius, Scale::Fahrenheit])?;
    draft.short_off_time = input.confirmation()?;
    draft.heat_without_probe = input.confirmation()?;
    match layout {
        Layout::First => {
            draft.highest_setpoint = draft.highest_setpoint.min(HIGHEST_SETPOINT);
            draft.heat_ceiling = draft.heat_ceiling.min(HIGHEST_CEILING);
        }
        Layout::Second => {}
    }
    Ok(())
}

/// `retained` as bytes.
#[must_use]
pub fn retained_to_bytes(retained: &Retained) -> [u8; RETAINED_LEN] {
    let mut record = [0; RETAINED_LEN];
    write_retained(retained, &mut record);
    record
}

/// Writes `retained` into `record`.
#[inline(never)]
pub fn write_retained(retained: &Retained, record: &mut [u8; RETAINED_LEN]) {
    let mut out = Writer::new(record, RETAINED_KIND);
    out.byte(match retained.switch {
        Switch::On => 0,
        Switch::Off => 1,
    });
    out.byte(match retained.lockout {
        None => 0,
        Some(Cause::HeatCeiling) => 1,
        Some(Cause::RepeatedProbeFaults) => 2,
        Some(Cause::WeldedContact) => 3,
        Some(Cause::UnreadableSettings) => 4,
    });
    out.word(retained.totals.starts);
    out.bytes(&retained.totals.run.millis().to_le_bytes());
    out.bytes(&retained.totals.longest_run.millis().to_le_bytes());
    // At most MOST_STARTS, which fits a byte.
    out.byte(u8::try_from(retained.recent_starts.len()).unwrap_or(u8::MAX));
    for ago in &retained.recent_starts {
        // Less than an hour ago, which three bytes hold to the millisecond.
        let [low, middle, high, ..] = ago.millis().to_le_bytes();
        out.bytes(&[low, middle, high]);
    }
    out.close();
}

/// The retained state that `bytes` hold.
///
/// # Errors
/// What is wrong with the bytes.
pub fn retained_from_bytes(bytes: &[u8]) -> Result<Retained, Unreadable> {
    let mut retained = Retained::default();
    read_retained(bytes, &mut retained).map(|()| retained)
}

/// Makes `retained` the state that `bytes` hold.
///
/// # Errors
/// What is wrong with the bytes; `retained` is then what it was, or the state
/// of a control that has never run.
#[inline(never)]
pub fn read_retained(bytes: &[u8], retained: &mut Retained) -> Result<(), Unreadable> {
    let mut input = Reader::opened(bytes, RETAINED_LEN, RETAINED_KIND)?;
    let read = read_retained_fields(&mut input, retained);
    if read.is_err() {
        *retained = Retained::default();
    }
    read
}

fn read_retained_fields(input: &mut Reader<'_>, retained: &mut Retained) -> Result<(), Unreadable> {
    retained.switch = input.choice([Switch::On, Switch::Off])?;
    retained.lockout = input.choice([
        None,
        Some(Cause::HeatCeiling),
        Some(Cause::RepeatedProbeFaults),
        Some(Cause::WeldedContact),
        Some(Cause::UnreadableSettings),
    ])?;
    retained.totals.starts = input.word();
    retained.totals.run = Duration::from_millis(input.double_word());
    retained.totals.longest_run = Duration::from_millis(input.double_word());
    retained.recent_starts.clear();
    for _ in 0..input.byte() {
        let ago = Duration::from_millis(u64::from(input.three_bytes()));
        retained
            .recent_starts
            .push(ago)
            .map_err(|_| Unreadable::Length)?;
    }
    Ok(())
}

const NO_CYCLE: Cycle = Cycle {
    on: Duration::ZERO,
    off: Duration::ZERO,
};

fn write_curve(out: &mut Writer<'_>, curve: &Curve) {
    out.byte(match curve {
        Curve::Custom(_) => 0,
        Curve::TypeII => 1,
        Curve::TypeIII => 2,
        Curve::R2k2 => 3,
        Curve::R3k => 4,
        Curve::R5k => 5,
        Curve::R100k => 6,
    });
    let coefficients = curve.coefficients();
    for femto in [
        coefficients.a_femto(),
        coefficients.b_femto(),
        coefficients.c_femto(),
    ] {
        out.bytes(&femto.to_le_bytes());
    }
}

#[inline(never)]
fn read_curve(input: &mut Reader<'_>, curve: &mut Curve) -> Result<(), Unreadable> {
    let choice = input.byte();
    let [a, b, c] = [(); 3].map(|()| input.double_word().cast_signed());
    *curve = match choice {
        0 => Curve::Custom(
            CustomCurve::new(Coefficients::new(a, b, c)).map_err(|_| Unreadable::Coefficients)?,
        ),
        1 => Curve::TypeII,
        2 => Curve::TypeIII,
        3 => Curve::R2k2,
        4 => Curve::R3k,
        5 => Curve::R5k,
        6 => Curve::R100k,
        _ => return Err(Unreadable::Choice),
    };
    Ok(())
}

#[inline(never)]
fn write_alarm(out: &mut Writer<'_>, alarm: AlarmLimit) {
    let (choice, limit, delay) = match alarm {
        AlarmLimit::Off => (0, Temperature::from_millicelsius(0), Duration::ZERO),
        AlarmLimit::Beyond { limit, delay } => (1, limit, delay),
    };
    out.byte(choice);
    out.point(limit);
    out.length(delay);
}

#[inline(never)]
fn read_alarm(input: &mut Reader<'_>) -> Result<AlarmLimit, Unreadable> {
    match (input.byte(), input.point(), input.length()) {
        (0, _, _) => Ok(AlarmLimit::Off),
        (1, limit, delay) => Ok(AlarmLimit::Beyond { limit, delay }),
        (2.., _, _) => Err(Unreadable::Choice),
    }
}

#[cfg(test)]
mod tests {
    use crate::checksum::checksum;
    use crate::counters::Totals;
    use crate::settings::Confirmation;

    use super::*;

    fn unusual() -> Settings {
        let mut draft = Draft::HEATING;
        draft.curve = Curve::Custom(CustomCurve::new(Coefficients::TYPE_III).unwrap());
        draft.starts_per_hour = StartsLimit::PerHour(7);
        draft.heat_without_probe = Confirmation::Given;
        draft.fallback = Fallback::MeasuredDuty(Cycle {
            on: Duration::from_minutes(4),
            off: Duration::from_minutes(6),
        });
        draft.high_alarm = AlarmLimit::Beyond {
            limit: Temperature::from_millicelsius(70_000),
            delay: Duration::from_hours(24),
        };
        draft.heat_ceiling_confirmation = Duration::from_seconds(299);
        draft.pull_down_grace = Duration::from_hours(48);
        draft.grace_after_defrost = Duration::from_minutes(119);
        draft.scale = Scale::Fahrenheit;
        draft.check().unwrap()
    }

    #[test]
    fn settings_come_back_as_they_went() {
        for settings in [Settings::DEFAULT, unusual()] {
            let bytes = settings_to_bytes(&settings);
            assert_eq!(settings_from_bytes(&bytes), Ok(settings));
        }
    }

    #[test]
    fn every_curve_and_every_fallback_comes_back_as_it_went() {
        let cycle = Cycle {
            on: Duration::from_minutes(4),
            off: Duration::from_minutes(6),
        };
        for curve in Curve::PUBLISHED {
            for fallback in [
                Fallback::Open,
                Fallback::Closed,
                Fallback::TimedCycle(cycle),
                Fallback::MeasuredDuty(cycle),
            ] {
                let settings = Draft {
                    curve,
                    fallback,
                    ..Draft::COOLING
                };
                let settings = settings.check().unwrap();
                let bytes = settings_to_bytes(&settings);
                assert_eq!(settings_from_bytes(&bytes), Ok(settings));
            }
        }
    }

    #[test]
    fn memories_in_use_know_these_kinds_and_lengths() {
        assert_eq!(settings_to_bytes(&Settings::DEFAULT)[0], 0x12);
        assert_eq!(Layout::First.kind(), 0x11);
        assert_eq!(Layout::of_length(132), Ok(Layout::First));
        assert_eq!(Layout::of_length(140), Ok(Layout::Second));
        assert_eq!(Layout::of_length(136), Err(Unreadable::Length));
        assert_eq!(RETAINED_LEN, 118);
    }

    #[test]
    fn records_are_as_long_as_their_fields() {
        let bytes = settings_to_bytes(&unusual());
        let last_field = bytes[SETTINGS_LEN - CHECKSUM_LEN - 1];
        assert_eq!(last_field, 1, "the confirmation is the last field");
    }

    #[test]
    fn every_flipped_bit_is_found() {
        let bytes = settings_to_bytes(&unusual());
        for bit in 0..8 * SETTINGS_LEN {
            let mut torn = bytes;
            torn[bit / 8] ^= 1 << (bit % 8);
            assert_eq!(settings_from_bytes(&torn), Err(Unreadable::Checksum));
        }
        assert_eq!(settings_from_bytes(&bytes[1..]), Err(Unreadable::Length));
        assert_eq!(settings_from_bytes(&[]), Err(Unreadable::Length));
    }

    #[test]
    fn another_version_and_impossible_settings_are_refused() {
        let close = |mut bytes: [u8; SETTINGS_LEN]| {
            let sum = checksum(&bytes[..SETTINGS_LEN - 4]);
            bytes[SETTINGS_LEN - 4..].copy_from_slice(&sum.to_le_bytes());
            settings_from_bytes(&bytes)
        };
        let whole = settings_to_bytes(&Settings::DEFAULT);
        let mut other = whole;
        for kind in [0x11, 0x13] {
            other[0] = kind;
            assert_eq!(close(other), Err(Unreadable::Kind));
        }
        let mut other = whole;
        other[1] = 2;
        assert_eq!(close(other), Err(Unreadable::Choice));
        let mut other = whole;
        other[3..7].copy_from_slice(&200_000_i32.to_le_bytes());
        assert!(matches!(close(other), Err(Unreadable::Refused(_))));
    }

    #[test]
    fn retained_state_comes_back_as_it_went() {
        let mut retained = Retained::default();
        assert_eq!(
            retained_from_bytes(&retained_to_bytes(&retained)),
            Ok(retained.clone())
        );
        retained.switch = Switch::Off;
        retained.lockout = Some(Cause::WeldedContact);
        retained.totals = Totals {
            starts: 41_000,
            run: Duration::from_millis(u64::from(u32::MAX) * 9),
            longest_run: Duration::from_hours(7),
        };
        while retained
            .recent_starts
            .push(Duration::from_minutes(59))
            .is_ok()
        {}
        assert_eq!(
            retained_from_bytes(&retained_to_bytes(&retained)),
            Ok(retained)
        );
    }
}
