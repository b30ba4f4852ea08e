//! The keys of the control's settings: in `[control]`, in a variant, in a change.

use std::ops::Range;

use hysteron_logic::call::Mode;
use hysteron_logic::coefficients::Coefficients;
use hysteron_logic::curve::{Curve, CustomCurve};
use hysteron_logic::guard::StartsLimit;
use hysteron_logic::probe::FrozenCheck;
use hysteron_logic::settings::{Confirmation, Load, Scale};
use hysteron_logic::time::Duration;
use hysteron_logic::units::Temperature;

use super::dormant::FallbackKind;
use super::quantity_text::{read_difference, read_duration, read_quantity, read_temperature};
use super::setting::Setting;
use super::unit::Dimension;
use hysteron_source::item::Item;
use hysteron_source::table::Table;
use hysteron_source::text::Misread;

/// What a table says of the settings.
#[derive(Debug, Clone, PartialEq)]
pub struct SettingsTable {
    /// Each setting that it gives, and where.
    pub given: Vec<(Setting, Range<usize>)>,
    /// Where the table stands.
    pub place: Range<usize>,
}

impl SettingsTable {
    /// Reads a table, which messages call `name`.
    pub fn read(item: &Item<'_>, name: &str) -> Option<Self> {
        let mut table = item.table(name)?;
        let mut reader = Reader {
            table: &mut table,
            given: Vec::new(),
        };
        reader.read_call();
        reader.read_guard();
        reader.read_probe();
        reader.read_fallback();
        reader.read_alarms_and_defrost();
        let given = reader.given;
        let place = table.span();
        table.finish();
        Some(Self { given, place })
    }
}

struct Reader<'t, 'd> {
    table: &'t mut Table<'d>,
    given: Vec<(Setting, Range<usize>)>,
}

impl<'d> Reader<'_, 'd> {
    fn give<T>(
        &mut self,
        key: &'static str,
        setting: fn(T) -> Setting,
        read: impl FnOnce(&Item<'d>) -> Option<T>,
    ) {
        if let Some(item) = self.table.optional(key)
            && let Some(value) = read(&item)
        {
            self.given.push((setting(value), item.span()));
        }
    }

    fn time(&mut self, key: &'static str, setting: fn(Duration) -> Setting) {
        self.give(key, setting, |item| read(item, "5 min", read_duration));
    }

    fn temperature(&mut self, key: &'static str, setting: fn(Temperature) -> Setting) {
        self.give(key, setting, |item| read(item, "2 °C", read_temperature));
    }

    fn confirmation(&mut self, key: &'static str, setting: fn(Confirmation) -> Setting) {
        self.give(key, setting, |item| {
            Some(if item.flag()?.into_inner() {
                Confirmation::Given
            } else {
                Confirmation::NotGiven
            })
        });
    }

    fn read_call(&mut self) {
        self.give("mode", Setting::Mode, |item| {
            choose(
                item,
                &[Mode::Cool, Mode::Heat].map(|mode| (mode_word(mode), mode)),
            )
        });
        self.give("load", Setting::Load, |item| {
            choose(
                item,
                &[("compressor", Load::Compressor), ("other", Load::Other)],
            )
        });
        self.temperature("setpoint", Setting::Setpoint);
        self.give("differential", Setting::Differential, |item| {
            read(item, "2 K", read_difference)
        });
        self.temperature("lowest_setpoint", Setting::LowestSetpoint);
        self.temperature("highest_setpoint", Setting::HighestSetpoint);
        self.temperature("heat_ceiling", Setting::HeatCeiling);
        self.time(
            "heat_ceiling_confirmation",
            Setting::HeatCeilingConfirmation,
        );
        self.give("scale", Setting::Scale, |item| {
            choose(
                item,
                &[
                    ("celsius", Scale::Celsius),
                    ("fahrenheit", Scale::Fahrenheit),
                ],
            )
        });
    }

    fn read_guard(&mut self) {
        self.time("minimum_off_time", Setting::MinimumOffTime);
        self.time("minimum_on_time", Setting::MinimumOnTime);
        self.give("starts_per_hour", Setting::StartsPerHour, |item| {
            if item.is_word("no limit") {
                return Some(StartsLimit::Unlimited);
            }
            count(item, "no limit").map(StartsLimit::PerHour)
        });
        self.time("power_up_stagger", Setting::PowerUpStagger);
        self.confirmation("confirm_short_off_time", Setting::ShortOffTime);
    }

    fn read_probe(&mut self) {
        self.give("probe_curve", Setting::Curve, read_curve);
        self.give("fixed_resistor", Setting::FixedResistor, |item| {
            let ohms = read(item, "10 kΩ", |text| {
                read_quantity(text, Dimension::Resistance)
            })?;
            Some(ohms.round() as u32)
        });
        self.give("probe_offset", Setting::ProbeOffset, |item| {
            read(item, "0.5 K", read_difference)
        });
        self.time("probe_fault_delay", Setting::ProbeFaultDelay);
        self.time("probe_recovery_time", Setting::ProbeRecoveryTime);
        self.give("probe_frozen_after", Setting::ProbeFrozenAfter, |item| {
            let after = word_or(item, "never", "4 h", read_duration)?;
            Some(after.map_or(FrozenCheck::Off, FrozenCheck::After))
        });
    }

    fn read_fallback(&mut self) {
        self.give("fallback", Setting::Fallback, |item| {
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
        self.time("fallback_on", Setting::FallbackOn);
        self.time("fallback_off", Setting::FallbackOff);
        self.confirmation("confirm_heat_without_probe", Setting::HeatWithoutProbe);
        self.give(
            "probe_faults_to_lockout",
            Setting::ProbeFaultsToLockout,
            |item| {
                if item.is_word("never") {
                    return Some(None);
                }
                count(item, "never").map(Some)
            },
        );
        self.time("probe_fault_window", Setting::ProbeFaultWindow);
    }

    fn read_alarms_and_defrost(&mut self) {
        self.give("high_alarm", Setting::HighAlarm, |item| {
            word_or(item, "off", "8 °C", read_temperature)
        });
        self.time("high_alarm_delay", Setting::HighAlarmDelay);
        self.give("low_alarm", Setting::LowAlarm, |item| {
            word_or(item, "off", "-1 °C", read_temperature)
        });
        self.time("low_alarm_delay", Setting::LowAlarmDelay);
        self.time("pull_down_grace", Setting::PullDownGrace);
        self.time("grace_after_defrost", Setting::GraceAfterDefrost);
        self.give("defrost_interval", Setting::DefrostInterval, |item| {
            word_or(item, "off", "6 h", read_duration)
        });
        self.time("defrost_length", Setting::DefrostLength);
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

/// What a file calls a mode.
pub const fn mode_word(mode: Mode) -> &'static str {
    match mode {
        Mode::Cool => "cool",
        Mode::Heat => "heat",
    }
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
