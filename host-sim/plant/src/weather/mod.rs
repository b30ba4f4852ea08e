//! A year of hourly weather, read from the open formats.
//!
//! | format | published in |
//! | --- | --- |
//! | EPW | EnergyPlus Auxiliary Programs, "EnergyPlus Weather File (EPW) Data Dictionary" |
//! | TMY3 | Wilcox and Marion, Users Manual for TMY3 Data Sets, NREL/TP-581-43156, 2008 |
//! | TMY2 | Marion and Urban, User's Manual for TMY2s, NREL, 1995 |
//!
//! The format is told from the content, not from the name of the file. Every
//! file must hold one whole year in order, so that one cut short is noticed.

mod calendar;
mod epw;
mod fault;
mod format;
mod gaps;
mod observation;
mod quantity;
mod text;
mod tmy2;
mod tmy3;

pub use fault::{Fault, WeatherError};
pub use format::{LARGEST_FILE_BYTES, WeatherFormat};
pub use observation::{Station, WeatherHour};

use super::moist_air::SEA_LEVEL_PA;
use calendar::Calendar;
use observation::Observation;
use text::Line;

impl WeatherFormat {
    fn of(lines: &[Line<'_>]) -> Option<Self> {
        if lines.first().is_some_and(epw::is_first_line) {
            Some(Self::Epw)
        } else if lines.get(1).is_some_and(tmy3::is_second_line) {
            Some(Self::Tmy3)
        } else if lines.first().is_some_and(tmy2::is_first_line) {
            Some(Self::Tmy2)
        } else {
            None
        }
    }
}

/// A whole year of weather, hour by hour in local standard time.
#[derive(Debug, Clone, PartialEq)]
pub struct WeatherYear {
    format: WeatherFormat,
    station: Station,
    hours: Vec<WeatherHour>,
    filled_hours: usize,
    mean_pressure_pa: f64,
}

impl WeatherYear {
    /// Reads the content of a file; `name` is for messages.
    ///
    /// # Errors
    /// It is larger than [`LARGEST_FILE_BYTES`], or isn't a whole year in one of the formats.
    pub fn parse(content: &[u8], name: &str) -> Result<Self, WeatherError> {
        if content.len() as u64 > LARGEST_FILE_BYTES {
            return Err(WeatherError::TooLarge {
                file: name.to_owned(),
            });
        }
        let content = String::from_utf8_lossy(content);
        let lines = text::lines(&content);
        let Some(format) = WeatherFormat::of(&lines) else {
            return Err(WeatherError::UnknownFormat {
                file: name.to_owned(),
            });
        };
        Self::assemble(format, &lines).map_err(|fault| WeatherError::Content {
            file: name.to_owned(),
            format,
            fault,
        })
    }

    fn assemble(format: WeatherFormat, lines: &[Line<'_>]) -> Result<Self, Fault> {
        let mut calendar = Calendar::new();
        let (station, observations) = match format {
            WeatherFormat::Epw => epw::read(lines, &mut calendar)?,
            WeatherFormat::Tmy3 => tmy3::read(lines, &mut calendar)?,
            WeatherFormat::Tmy2 => tmy2::read(lines, &mut calendar)?,
        };
        calendar.finish(lines)?;
        let (hours, filled_hours) = gaps::fill(&observations)?;
        let mean_pressure_pa = mean_pressure_pa(&observations, station.elevation_m);
        Ok(Self {
            format,
            station,
            hours,
            filled_hours,
            mean_pressure_pa,
        })
    }

    /// The format the file was in.
    pub fn format(&self) -> WeatherFormat {
        self.format
    }

    /// Where the weather was observed.
    pub fn station(&self) -> &Station {
        &self.station
    }

    /// The hours in order: 8,760 of them, or 8,784 where the year has a 29 February.
    ///
    /// The first is that of 1 January, 01:00; the last that of 31 December, 24:00.
    pub fn hours(&self) -> &[WeatherHour] {
        &self.hours
    }

    /// How many hours had a missing value that was filled in from their neighbours.
    pub fn filled_hours(&self) -> usize {
        self.filled_hours
    }

    /// Mean station pressure, Pa; of the standard atmosphere at that elevation if the file has none.
    pub fn mean_pressure_pa(&self) -> f64 {
        self.mean_pressure_pa
    }
}

fn mean_pressure_pa(observations: &[Observation], elevation_m: f64) -> f64 {
    let known = observations.iter().filter_map(|hour| hour.pressure_pa);
    let (sum, count) = known.fold((0.0, 0.0), |(sum, count), pressure_pa| {
        (sum + pressure_pa, count + 1.0)
    });
    if count > 0.0 {
        sum / count
    } else {
        // ISO 2533, troposphere.
        SEA_LEVEL_PA * (1.0 - 2.255_77e-5 * elevation_m).powf(5.2559)
    }
}
