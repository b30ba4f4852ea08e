//! The air around, as `[ambient]` gives it.

use std::error::Error;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use hysteron_logic::time::Duration;

use super::quantity_text::{read_moment, read_quantity};
use super::unit::Dimension;
use super::whereabouts::{Files, Whereabouts};
use hysteron_plant::ambient::{Ambient, AmbientClock};
use hysteron_plant::moist_air::RelativeHumidity;
use hysteron_plant::weather::{LARGEST_FILE_BYTES, WeatherError, WeatherYear};
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

const KINDS: [(&str, Kind); 3] = [
    ("constant", Kind::Constant),
    ("daily", Kind::Daily),
    ("weather", Kind::Weather),
];

/// Reads `[ambient]`.
pub fn read_ambient(item: &Item<'_>, whereabouts: &Whereabouts) -> Option<AmbientPlan> {
    let mut table = item.table("[ambient]")?;
    let kind = table.required("kind", "\"constant\"")?.one_of(&KINDS)?;
    let plan = match *kind.get_ref() {
        Kind::Constant => read_constant(&mut table),
        Kind::Daily => read_daily(&mut table),
        Kind::Weather => read_weather(&mut table, whereabouts, kind.span()),
    };
    table.finish();
    plan
}

fn read_constant(table: &mut Table<'_>) -> Option<AmbientPlan> {
    let temperature = table
        .required("temperature", "\"25 °C\"")
        .map(|item| read_air(&item));
    let humidity = read_humidity(table);
    Some(AmbientPlan::Constant {
        temperature_c: temperature??,
        humidity: humidity?,
    })
}

fn read_daily(table: &mut Table<'_>) -> Option<AmbientPlan> {
    let coldest_item = table.required("coldest", "\"22 °C\"");
    let warmest_item = table.required("warmest", "\"35 °C\"");
    let coldest = coldest_item.as_ref().map(read_air);
    let warmest = warmest_item.as_ref().map(read_air);
    let warmest_at = match table.optional("warmest_at") {
        Some(item) => item.read("15:00", read_moment).and_then(|moment| {
            if *moment.get_ref() < Duration::from_hours(24) {
                return Some(moment.into_inner());
            }
            item.note(
                Problem::at(moment.span(), "this is no time of day").expected("before 24:00"),
            );
            None
        }),
        // The warmest hour of a clear day is about three hours after noon (common practice).
        None => Some(Duration::from_hours(15)),
    };
    let humidity = read_humidity(table);
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
    whereabouts: &Whereabouts,
    kind: std::ops::Range<usize>,
) -> Option<AmbientPlan> {
    let named = table.optional("file").map(|item| item.text());
    let first_day = match table.optional("first_day") {
        Some(item) => item
            .whole(1, 366)
            .and_then(|day| u16::try_from(day.into_inner()).ok()),
        None => Some(1),
    };
    let file = match (&whereabouts.weather, named) {
        (Some(given), _) => given.clone(),
        (None, Some(named)) => whereabouts.folder.join(named?.into_inner()),
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

/// The temperature of air that people and plants are found in.
pub fn read_air(item: &Item<'_>) -> Option<f64> {
    let celsius = item.read("35 °C", |text| read_quantity(text, Dimension::Temperature))?;
    item.within(celsius, -60.0..=60.0, "-60 °C to 60 °C")
}

fn read_humidity(table: &mut Table<'_>) -> Option<f64> {
    let Some(item) = table.optional("humidity") else {
        return Some(0.5);
    };
    let share = item.read("50 %", |text| read_quantity(text, Dimension::Share))?;
    item.within(share, 0.0..=1.0, "0 % to 100 %")
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
