//! The air around, as `[ambient]` gives it.

use std::error::Error;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use hysteron_logic::time::Duration;

use super::measure::{Measure, Moment};
use super::search_paths::{Files, SearchPaths};
use hysteron_plant::ambient::{Ambient, AmbientClock};
use hysteron_plant::moist_air::RelativeHumidity;
use hysteron_plant::weather::{LARGEST_FILE_BYTES, WeatherError, WeatherYear};
use hysteron_source::entry::{Defaulted, Optional, Reads, Required, Text, Whole, Words};
use hysteron_source::form::{Case, Shape};
use hysteron_source::item::Item;
use hysteron_source::table::Table;
use hysteron_source::text::Problem;

/// The air around the plant in the course of the scenario.
#[derive(Debug, Clone, PartialEq)]
pub enum AmbientPlan {
    /// The same throughout.
    Constant {
        /// Temperature, °C.
        temperature_c: f64,
        /// Relative humidity, 0 to 1.
        humidity: f64,
    },
    /// Every day the same swing between two temperatures, as a cosine.
    Daily {
        /// Temperature at the coldest time, half a day from the warmest, °C.
        coldest_c: f64,
        /// Temperature at the warmest time, °C.
        warmest_c: f64,
        /// The warmest time of day, counted from midnight.
        warmest_at: Duration,
        /// Relative humidity, 0 to 1.
        humidity: f64,
    },
    /// A year of observed weather, from this day on; it begins anew when it ends.
    Weather {
        /// The file, in one of the open hourly formats.
        file: PathBuf,
        /// Day of the year that is day 1 of the scenario, from 1.
        first_day: u16,
    },
}

impl Default for AmbientPlan {
    /// 25 °C at half humidity.
    fn default() -> Self {
        Self::Constant {
            temperature_c: 25.0,
            humidity: 0.5,
        }
    }
}

#[derive(Debug, Clone, Copy)]
enum Kind {
    Constant,
    Daily,
    Weather,
}

const KIND: Required<Words<Kind>> = Required {
    key: "kind",
    example: "\"constant\"",
    form: Words(&[
        ("constant", Kind::Constant),
        ("daily", Kind::Daily),
        ("weather", Kind::Weather),
    ]),
    sentence: "How the air around changes.",
};

/// The temperature of air that people and plants are found in.
pub const AIR: Measure = Measure {
    unit: "°C",
    example: "35 °C",
    range: Some(("-60 °C", "60 °C")),
};

const TEMPERATURE: Required<Measure> = Required {
    key: "temperature",
    example: "\"25 °C\"",
    form: AIR,
    sentence: "The temperature throughout.",
};

const COLDEST: Required<Measure> = Required {
    key: "coldest",
    example: "\"22 °C\"",
    form: AIR,
    sentence: "The temperature at the coldest time, half a day from the warmest.",
};

const WARMEST: Required<Measure> = Required {
    key: "warmest",
    example: "\"35 °C\"",
    form: AIR,
    sentence: "The temperature at the warmest time.",
};

/// The warmest hour of a clear day is about three hours after noon (common practice).
const WARMEST_AT: Defaulted<Moment> = Defaulted {
    key: "warmest_at",
    default: "\"15:00\"",
    form: Moment { example: "15:00" },
    sentence: "The warmest time of day.",
};

const HUMIDITY: Defaulted<Measure> = Defaulted {
    key: "humidity",
    default: "\"50 %\"",
    form: Measure {
        unit: "",
        example: "50 %",
        range: Some(("0 %", "100 %")),
    },
    sentence: "Relative humidity.",
};

const FILE: Optional<Text> = Optional {
    key: "file",
    form: Text,
    sentence: "The weather file (EPW, TMY3 or TMY2), beside the scenario; without it the command line names one, `--weather FILE`.",
};

const FIRST_DAY: Defaulted<Whole> = Defaulted {
    key: "first_day",
    default: "1",
    form: Whole {
        least: 1,
        most: 366,
    },
    sentence: "The day of the year that is day 1 of the scenario.",
};

/// What `[ambient]` may hold.
pub fn shape() -> Shape {
    let case = |(word, kind): &(&'static str, Kind)| {
        let (sentence, rows) = match kind {
            Kind::Constant => (
                "The same air throughout.",
                vec![TEMPERATURE.row(), HUMIDITY.row()],
            ),
            Kind::Daily => (
                "Every day the same swing between two temperatures.",
                vec![
                    COLDEST.row(),
                    WARMEST.row(),
                    WARMEST_AT.row(),
                    HUMIDITY.row(),
                ],
            ),
            Kind::Weather => (
                "A year of observed weather, which begins anew when it ends.",
                vec![FILE.row(), FIRST_DAY.row()],
            ),
        };
        Case::says(KIND.key, word, sentence, rows)
    };
    Shape {
        name: "ambient",
        sentence: "The air around the plant.",
        rows: vec![KIND.row()],
        cases: KIND.form.0.iter().map(case).collect(),
    }
}

/// Reads `[ambient]`.
pub fn read_ambient(item: &Item<'_>, search_paths: &SearchPaths) -> Option<AmbientPlan> {
    let mut table = item.table("[ambient]")?;
    let kind = KIND.item(&mut table)?;
    let plan = match KIND.form.read(&kind)? {
        Kind::Constant => read_constant(&mut table),
        Kind::Daily => read_daily(&mut table),
        Kind::Weather => read_weather(&mut table, search_paths, kind.span()),
    };
    table.finish();
    plan
}

fn read_constant(table: &mut Table<'_>) -> Option<AmbientPlan> {
    let temperature = TEMPERATURE.read(table);
    let humidity = HUMIDITY.read(table);
    Some(AmbientPlan::Constant {
        temperature_c: temperature?,
        humidity: humidity?,
    })
}

fn read_daily(table: &mut Table<'_>) -> Option<AmbientPlan> {
    let coldest_item = COLDEST.item(table);
    let warmest_item = WARMEST.item(table);
    let coldest = coldest_item.as_ref().map(|item| AIR.read(item));
    let warmest = warmest_item.as_ref().map(|item| AIR.read(item));
    let warmest_at = match table.optional(WARMEST_AT.key) {
        Some(item) => WARMEST_AT.form.read(&item).and_then(|moment| {
            if moment < Duration::from_hours(24) {
                return Some(moment);
            }
            item.note(Problem::at(item.span(), "this is no time of day").expected("before 24:00"));
            None
        }),
        None => WARMEST_AT.otherwise(),
    };
    let humidity = HUMIDITY.read(table);
    let (coldest_c, warmest_c) = (coldest??, warmest??);
    if coldest_c > warmest_c {
        table.problems().add(
            Problem::at(
                coldest_item?.span(),
                "the coldest time is warmer than the warmest",
            )
            .because_of(warmest_item?.span(), "the warmest time")
            .remedy("exchange the two"),
        );
        return None;
    }
    Some(AmbientPlan::Daily {
        coldest_c,
        warmest_c,
        warmest_at: warmest_at?,
        humidity: humidity?,
    })
}

fn read_weather(
    table: &mut Table<'_>,
    search_paths: &SearchPaths,
    kind: std::ops::Range<usize>,
) -> Option<AmbientPlan> {
    let named = FILE.item(table).map(|item| FILE.form.read(&item));
    let first_day = FIRST_DAY
        .read(table)
        .and_then(|day| u16::try_from(day).ok());
    let file = match (&search_paths.weather, named) {
        (Some(given), _) => given.clone(),
        (None, Some(named)) => search_paths.folder.join(named?),
        (None, None) => {
            table.problems().add(
                Problem::at(kind, "no weather file is named")
                    .remedy("give one on the command line, `--weather FILE` (EPW, TMY3 or TMY2), or add `file = \"...\"`"),
            );
            return None;
        }
    };
    Some(AmbientPlan::Weather {
        file,
        first_day: first_day?,
    })
}

impl AmbientPlan {
    /// The air at the beginning of the scenario, ready to be followed through it; weather is read
    /// from `files`.
    ///
    /// # Errors
    /// A weather file that cannot be read; everything else was checked with the plan.
    pub fn build(&self, files: &dyn Files) -> Result<AmbientClock, Box<dyn Error + Send + Sync>> {
        let humid = |fraction: f64| RelativeHumidity::from_fraction(fraction);
        let (ambient, start_s) = match self {
            Self::Constant {
                temperature_c,
                humidity,
            } => (Ambient::constant(*temperature_c, humid(*humidity)?)?, 0.0),
            Self::Daily {
                coldest_c,
                warmest_c,
                warmest_at,
                humidity,
            } => {
                let hour = warmest_at.millis() as f64 / 3.6e6;
                let mean_c = 0.5 * (coldest_c + warmest_c);
                let swing_k = warmest_c - coldest_c;
                let daily = Ambient::daily(mean_c, swing_k, hour, humid(*humidity)?)?;
                (daily, 0.0)
            }
            Self::Weather { file, first_day } => {
                let year = read_year(files, file)?;
                let days = f64::from(first_day.saturating_sub(1));
                (Ambient::weather(Arc::new(year)), 86_400.0 * days)
            }
        };
        Ok(AmbientClock::new(ambient, start_s))
    }
}

fn read_year(files: &dyn Files, path: &Path) -> Result<WeatherYear, WeatherError> {
    let name = path.display().to_string();
    match files.read(path, LARGEST_FILE_BYTES + 1) {
        Ok(content) => WeatherYear::parse(&content, &name),
        Err(error) => Err(WeatherError::Unreadable {
            file: name,
            reason: error.to_string(),
        }),
    }
}
