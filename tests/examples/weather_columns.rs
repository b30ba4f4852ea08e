//! Prints the columns of a weather file as the bench reads them, for a comparison with another reader.
//!
//! Usage: `weather_columns FILE`. The first line names the station's values, the
//! rest are hours; numbers are written so that they read back exactly.

use std::fs;
use std::io::{self, BufWriter, Write};
use std::path::PathBuf;
use std::process::ExitCode;

use hysteron_plant::weather::{WeatherError, WeatherYear};

enum Failure {
    Usage,
    Weather(WeatherError),
    Output(io::Error),
}

impl From<WeatherError> for Failure {
    fn from(error: WeatherError) -> Self {
        Self::Weather(error)
    }
}

impl From<io::Error> for Failure {
    fn from(error: io::Error) -> Self {
        Self::Output(error)
    }
}

fn print_columns() -> Result<(), Failure> {
    let path: PathBuf = std::env::args_os().nth(1).ok_or(Failure::Usage)?.into();
    let year = WeatherYear::parse(&fs::read(&path)?, &path.display().to_string())?;
    let station = year.station();
    let mut out = BufWriter::new(io::stdout().lock());
    writeln!(
        out,
        "{},{},{},{},{}",
        year.format().name(),
        station.latitude_deg,
        station.longitude_deg,
        station.elevation_m,
        year.filled_hours()
    )?;
    for hour in year.hours() {
        writeln!(out, "{},{}", hour.dry_bulb_c, hour.humidity.percent())?;
    }
    Ok(out.flush()?)
}

fn main() -> ExitCode {
    let reason = match print_columns() {
        Ok(()) => return ExitCode::SUCCESS,
        Err(Failure::Usage) => "expected a weather file, as in: weather_columns FILE".to_owned(),
        Err(Failure::Weather(error)) => error.to_string(),
        Err(Failure::Output(error)) => error.to_string(),
    };
    let _ = writeln!(io::stderr(), "{reason}");
    ExitCode::FAILURE
}
