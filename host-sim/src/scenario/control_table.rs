//! The keys of the control's settings: in `[control]`, in a variant, in a change.

use std::ops::Range;

use hysteron_logic::call::Mode;
use hysteron_logic::coefficients::Coefficients;
use hysteron_logic::curve::{Curve, CustomCurve};
use hysteron_logic::field::Field;
use hysteron_logic::guard::StartsLimit;
use hysteron_logic::probe::FrozenCheck;
use hysteron_logic::settings::{Confirmation, Draft, Load, Scale};
use hysteron_logic::time::Duration;
use hysteron_logic::units::Temperature;

use super::quantity_text::{read_difference, read_duration, read_quantity, read_temperature};
use super::unit::Dimension;
use super::written_settings::{Dormant, FallbackKind};
use crate::source_item::Item;
use crate::source_table::Table;
use crate::source_text::Misread;

/// Reads every setting that a table gives, and notes where.
pub fn read_settings(
    table: &mut Table<'_>,
    draft: &mut Draft,
    dormant: &mut Dormant,
    places: &mut Vec<(Field, Range<usize>)>,
) {
    let mut reader = Reader { table, places };
    reader.read_plain(draft);
    reader.read_probe(draft);
    reader.read_dormant(dormant);
}

struct Reader<'t, 'd> {
    table: &'t mut Table<'d>,
    places: &'t mut Vec<(Field, Range<usize>)>,
}

impl<'d> Reader<'_, 'd> {
    fn given(&mut self, field: Field, key: &'static str) -> Option<Item<'d>> {
        let item = self.table.optional(key)?;
        self.places.push((field, item.span()));
        Some(item)
    }

    fn set<T>(
        &mut self,
        field: Field,
        key: &'static str,
        target: &mut T,
        read: impl FnOnce(&Item<'d>) -> Option<T>,
    ) {
        if let Some(value) = self.given(field, key).and_then(|item| read(&item)) {
            *target = value;
        }
    }

    fn time(&mut self, field: Field, key: &'static str, target: &mut Duration) {
        self.set(field, key, target, |item| {
            read(item, "5 min", read_duration)
        });
    }

    fn temperature(&mut self, field: Field, key: &'static str, target: &mut Temperature) {
        self.set(field, key, target, |item| {
            read(item, "2 °C", read_temperature)
        });
    }

    fn confirmation(&mut self, key: &'static str, target: &mut Confirmation) {
        if let Some(flag) = self.table.optional(key).and_then(|item| item.flag()) {
            *target = if flag.into_inner() {
                Confirmation::Given
            } else {
                Confirmation::NotGiven
            };
        }
    }

    fn read_plain(&mut self, draft: &mut Draft) {
        self.set(Field::Mode, "mode", &mut draft.mode, |item| {
            choose(item, &[("cool", Mode::Cool), ("heat", Mode::Heat)])
        });
        self.set(Field::Load, "load", &mut draft.load, |item| {
            choose(
                item,
                &[("compressor", Load::Compressor), ("other", Load::Other)],
            )
        });
        self.temperature(Field::Setpoint, "setpoint", &mut draft.setpoint);
        self.set(
            Field::Differential,
            "differential",
            &mut draft.differential,
            |item| read(item, "2 K", read_difference),
        );
        self.temperature(
            Field::LowestSetpoint,
            "lowest_setpoint",
            &mut draft.lowest_setpoint,
        );
        self.temperature(
            Field::HighestSetpoint,
            "highest_setpoint",
            &mut draft.highest_setpoint,
        );
        self.time(
            Field::MinimumOffTime,
            "minimum_off_time",
            &mut draft.minimum_off_time,
        );
        self.time(
            Field::MinimumOnTime,
            "minimum_on_time",
            &mut draft.minimum_on_time,
        );
        self.set(
            Field::StartsPerHour,
            "starts_per_hour",
            &mut draft.starts_per_hour,
            |item| {
                if item.is_word("no limit") {
                    return Some(StartsLimit::Unlimited);
                }
                count(item, "no limit").map(StartsLimit::PerHour)
            },
        );
        self.time(
            Field::PowerUpStagger,
            "power_up_stagger",
            &mut draft.power_up_stagger,
        );
        self.temperature(Field::HeatCeiling, "heat_ceiling", &mut draft.heat_ceiling);
        self.time(
            Field::PullDownGrace,
            "pull_down_grace",
            &mut draft.pull_down_grace,
        );
        self.set(Field::Scale, "scale", &mut draft.scale, |item| {
            choose(
                item,
                &[
                    ("celsius", Scale::Celsius),
                    ("fahrenheit", Scale::Fahrenheit),
                ],
            )
        });
        self.confirmation("confirm_short_off_time", &mut draft.short_off_time);
        self.confirmation("confirm_heat_without_probe", &mut draft.heat_without_probe);
    }

    fn read_probe(&mut self, draft: &mut Draft) {
        self.set(Field::Curve, "probe_curve", &mut draft.curve, read_curve);
        self.set(
            Field::FixedResistor,
            "fixed_resistor",
            &mut draft.fixed_resistor_ohms,
            |item| {
                let ohms = read(item, "10 kΩ", |text| {
                    read_quantity(text, Dimension::Resistance)
                })?;
                Some(ohms.round() as u32)
            },
        );
        self.set(
            Field::ProbeOffset,
            "probe_offset",
            &mut draft.probe_offset,
            |item| read(item, "0.5 K", read_difference),
        );
        self.time(
            Field::ProbeFaultDelay,
            "probe_fault_delay",
            &mut draft.probe_fault_delay,
        );
        self.time(
            Field::ProbeRecoveryTime,
            "probe_recovery_time",
            &mut draft.probe_recovery_time,
        );
        self.set(
            Field::ProbeFrozenAfter,
            "probe_frozen_after",
            &mut draft.probe_frozen,
            |item| {
                let after = word_or(item, "never", "4 h", read_duration)?;
                Some(after.map_or(FrozenCheck::Off, FrozenCheck::After))
            },
        );
    }

    fn read_dormant(&mut self, dormant: &mut Dormant) {
        self.set(Field::Fallback, "fallback", &mut dormant.fallback, |item| {
            choose(
                item,
                &[
                    ("open", FallbackKind::Open),
                    ("keep closed", FallbackKind::Closed),
                    ("timed cycle", FallbackKind::TimedCycle),
                    ("measured duty", FallbackKind::MeasuredDuty),
                ],
            )
        });
        self.time(Field::FallbackOn, "fallback_on", &mut dormant.cycle.on);
        self.time(Field::FallbackOff, "fallback_off", &mut dormant.cycle.off);
        self.set(
            Field::ProbeFaultsToLockout,
            "probe_faults_to_lockout",
            &mut dormant.faults,
            |item| {
                if item.is_word("never") {
                    return Some(None);
                }
                count(item, "never").map(Some)
            },
        );
        self.time(
            Field::ProbeFaultWindow,
            "probe_fault_window",
            &mut dormant.fault_window,
        );
        self.set(Field::HighAlarm, "high_alarm", &mut dormant.high, |item| {
            word_or(item, "off", "8 °C", read_temperature)
        });
        self.time(
            Field::HighAlarmDelay,
            "high_alarm_delay",
            &mut dormant.high_delay,
        );
        self.set(Field::LowAlarm, "low_alarm", &mut dormant.low, |item| {
            word_or(item, "off", "-1 °C", read_temperature)
        });
        self.time(
            Field::LowAlarmDelay,
            "low_alarm_delay",
            &mut dormant.low_delay,
        );
        self.set(
            Field::DefrostInterval,
            "defrost_interval",
            &mut dormant.defrost,
            |item| word_or(item, "off", "6 h", read_duration),
        );
        self.time(
            Field::DefrostLength,
            "defrost_length",
            &mut dormant.defrost_length,
        );
    }
}

fn read<T>(
    item: &Item<'_>,
    example: &str,
    reader: impl FnOnce(&str) -> Result<T, Misread>,
) -> Option<T> {
    item.read(example, reader).map(toml::Spanned::into_inner)
}

fn choose<T: Copy>(item: &Item<'_>, choices: &[(&'static str, T)]) -> Option<T> {
    item.one_of(choices).map(toml::Spanned::into_inner)
}

/// A quantity, or the word that switches it off.
fn word_or<T>(
    item: &Item<'_>,
    word: &str,
    example: &str,
    reader: impl FnOnce(&str) -> Result<T, Misread>,
) -> Option<Option<T>> {
    if item.is_word(word) {
        return Some(None);
    }
    read(item, example, |text| {
        reader(text).map_err(|misread| Misread {
            expected: format!("{}, or \"{word}\"", misread.expected),
            ..misread
        })
    })
    .map(Some)
}

/// A small number; the control judges its range.
fn count(item: &Item<'_>, word: &str) -> Option<u8> {
    if item.is_text() {
        return item.wrong_kind(&format!("a whole number without quotes, or \"{word}\""));
    }
    item.whole(0, 255)
        .and_then(|number| u8::try_from(number.into_inner()).ok())
}

/// A published curve by its name, or `{ a = …, b = …, c = … }`.
fn read_curve(item: &Item<'_>) -> Option<Curve> {
    if item.is_text() {
        let named: Vec<(&'static str, Curve)> = Curve::PUBLISHED
            .into_iter()
            .zip(Curve::NAMES)
            .map(|(curve, name)| (name, curve))
            .collect();
        return choose(item, &named);
    }
    let mut table = item.table("probe_curve")?;
    let mut coefficient = |key| {
        let number = table
            .required(key, "1.129241e-3")?
            .number(-0.01, 0.01)?
            .into_inner();
        Some((number * 1e15).round() as i64)
    };
    let (a, b, c) = (coefficient("a"), coefficient("b"), coefficient("c"));
    table.finish();
    match CustomCurve::new(Coefficients::new(a?, b?, c?)) {
        Ok(custom) => Some(Curve::Custom(custom)),
        Err(refused) => item.refuse(Misread {
            what: refused.to_string(),
            expected: "Steinhart-Hart coefficients of an NTC thermistor in ohms and kelvins"
                .to_owned(),
            remedy: None,
        }),
    }
}
