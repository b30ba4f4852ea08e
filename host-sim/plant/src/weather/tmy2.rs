//! TMY2: fixed columns, one line for the station and one an hour.
//!
//! After the User's Manual for TMY2s, NREL (1995), tables 3-1 and 3-2. Column
//! numbers here are the manual's, from 1.

use super::calendar::{Calendar, HourOfYear};
use super::fault::Fault;
use super::observation::{Observation, Station};
use super::quantity::{ELEVATION, LATITUDE, LONGITUDE, Missing, Quantity, TIME_ZONE};
use super::text::{Cell, Line};

const LATITUDE_SIDE: usize = 38;
const LONGITUDE_SIDE: usize = 46;

const DRY_BULB: Quantity =
    Quantity::tenths_of_celsius("dry-bulb temperature", Missing::AtLeast(9999.0));
const DEW_POINT: Quantity =
    Quantity::tenths_of_celsius("dew-point temperature", Missing::AtLeast(9999.0));
const HUMIDITY: Quantity = Quantity::humidity_percent(Missing::AtLeast(999.0));
const PRESSURE: Quantity = Quantity::millibar(Missing::AtLeast(9999.0));

pub(super) fn is_first_line(line: &Line<'_>) -> bool {
    matches!(line.byte_at(LATITUDE_SIDE), Some(b'N' | b'S'))
        && matches!(line.byte_at(LONGITUDE_SIDE), Some(b'E' | b'W'))
}

pub(super) fn read(
    lines: &[Line<'_>],
    calendar: &mut Calendar,
) -> Result<(Station, Vec<Observation>), Fault> {
    let Some((first, data)) = lines.split_first() else {
        return Err(Fault::new(1, 1, "", "a station and hours".to_owned()));
    };
    let station = read_station(first)?;
    let observations: Result<_, _> = data.iter().map(|line| read_hour(line, calendar)).collect();
    Ok((station, observations?))
}

fn read_station(line: &Line<'_>) -> Result<Station, Fault> {
    let latitude_deg = degrees(&line.columns(40, 41), &line.columns(43, 44), &LATITUDE)?;
    let longitude_deg = degrees(&line.columns(48, 50), &line.columns(52, 53), &LONGITUDE)?;
    let south = line.byte_at(LATITUDE_SIDE) == Some(b'S');
    let west = line.byte_at(LONGITUDE_SIDE) == Some(b'W');
    Ok(Station {
        name: format!(
            "{}, {}",
            line.columns(8, 29).text,
            line.columns(31, 32).text
        ),
        latitude_deg: if south { -latitude_deg } else { latitude_deg },
        longitude_deg: if west { -longitude_deg } else { longitude_deg },
        time_zone_h: line.columns(34, 36).number(&TIME_ZONE)?,
        elevation_m: line.columns(56, 59).number(&ELEVATION)?,
    })
}

fn degrees(whole: &Cell<'_>, minutes: &Cell<'_>, quantity: &Quantity) -> Result<f64, Fault> {
    let minutes = minutes.date_part("minutes of arc, 0 to 59")?;
    Ok(whole.number(quantity)? + f64::from(minutes) / 60.0)
}

fn read_hour(line: &Line<'_>, calendar: &mut Calendar) -> Result<Observation, Fault> {
    let hour = HourOfYear {
        month: line
            .columns(4, 5)
            .date_part("a month, 1 to 12, in columns 4 and 5")?,
        day: line
            .columns(6, 7)
            .date_part("a day of the month in columns 6 and 7")?,
        hour: line
            .columns(8, 9)
            .date_part("an hour, 1 to 24, in columns 8 and 9")?,
    };
    calendar.accept(hour, &line.columns(2, 9))?;
    let measured = |first, last, quantity: &Quantity| {
        let cell = line.columns(first, last);
        if cell.text.is_empty() {
            return Err(cell.fault(format!(
                "{}, in columns {first} to {last}",
                quantity.description()
            )));
        }
        cell.measured(quantity)
    };
    Ok(Observation {
        line: line.number,
        dry_bulb_c: measured(68, 71, &DRY_BULB)?,
        dew_point_c: measured(74, 77, &DEW_POINT)?,
        humidity_percent: measured(80, 82, &HUMIDITY)?,
        pressure_pa: measured(85, 88, &PRESSURE)?,
    })
}
