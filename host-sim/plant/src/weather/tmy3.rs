//! TMY3: a line for the station, a line of column names, then one line an hour.
//!
//! After the Users Manual for TMY3 Data Sets, NREL/TP-581-43156 (2008),
//! tables 1-1 to 1-3. Columns are found by name, since their number differs
//! between editions.

use super::calendar::{Calendar, HourOfYear};
use super::fault::Fault;
use super::observation::{Observation, Station};
use super::quantity::{ELEVATION, LATITUDE, LONGITUDE, Missing, Quantity, TIME_ZONE};
use super::text::{Cell, Line};

const DATE: &str = "Date (MM/DD/YYYY)";
const TIME: &str = "Time (HH:MM)";

const MISSING: f64 = -9900.0;
const DRY_BULB: Quantity = Quantity::celsius("dry-bulb temperature", Missing::AtMost(MISSING));
const DEW_POINT: Quantity = Quantity::celsius("dew-point temperature", Missing::AtMost(MISSING));
const HUMIDITY: Quantity = Quantity::humidity_percent(Missing::AtMost(MISSING));
const PRESSURE: Quantity = Quantity::millibar(Missing::AtMost(MISSING));

pub(super) fn is_second_line(line: &Line<'_>) -> bool {
    line.begins_with(DATE)
}

/// Where the columns that are used stand, counted from 0.
struct Columns {
    time: usize,
    dry_bulb: usize,
    dew_point: usize,
    humidity: usize,
    pressure: usize,
}

pub(super) fn read(
    lines: &[Line<'_>],
    calendar: &mut Calendar,
) -> Result<(Station, Vec<Observation>), Fault> {
    let [first, second, data @ ..] = lines else {
        return Err(Fault::new(
            1,
            1,
            "",
            "a station, column names and hours".to_owned(),
        ));
    };
    let station = read_station(first)?;
    let columns = read_columns(second)?;
    let observations: Result<_, _> = (data.iter())
        .map(|line| read_hour(line, &columns, calendar))
        .collect();
    Ok((station, observations?))
}

fn read_station(line: &Line<'_>) -> Result<Station, Fault> {
    let cells = line.cells();
    let [
        _,
        name,
        state,
        time_zone,
        latitude,
        longitude,
        elevation,
        ..,
    ] = cells.as_slice()
    else {
        return Err(line.end().fault(
            "seven fields: number, name, state, time zone, latitude, longitude, elevation",
        ));
    };
    Ok(Station {
        name: format!("{}, {}", name.text, state.text),
        latitude_deg: latitude.number(&LATITUDE)?,
        longitude_deg: longitude.number(&LONGITUDE)?,
        time_zone_h: time_zone.number(&TIME_ZONE)?,
        elevation_m: elevation.number(&ELEVATION)?,
    })
}

fn read_columns(line: &Line<'_>) -> Result<Columns, Fault> {
    let cells = line.cells();
    let position = |name: &str| {
        cells
            .iter()
            .position(|cell| cell.text.eq_ignore_ascii_case(name))
            .ok_or_else(|| line.end().fault(format!("a column named {name}")))
    };
    Ok(Columns {
        time: position(TIME)?,
        dry_bulb: position("Dry-bulb (C)")?,
        dew_point: position("Dew-point (C)")?,
        humidity: position("RHum (%)")?,
        pressure: position("Pressure (mbar)")?,
    })
}

fn read_hour(
    line: &Line<'_>,
    columns: &Columns,
    calendar: &mut Calendar,
) -> Result<Observation, Fault> {
    let cells = line.cells();
    let cell =
        |index: usize, expected: &str| (cells.get(index)).ok_or_else(|| line.end().fault(expected));
    let date = cell(0, DATE)?;
    let time = cell(columns.time, TIME)?;
    let hour = hour_of(date, time)?;
    calendar.accept(hour, date)?;
    let measured =
        |index, quantity: &Quantity| cell(index, &quantity.description())?.measured(quantity);
    Ok(Observation {
        line: line.number,
        dry_bulb_c: measured(columns.dry_bulb, &DRY_BULB)?,
        dew_point_c: measured(columns.dew_point, &DEW_POINT)?,
        humidity_percent: measured(columns.humidity, &HUMIDITY)?,
        pressure_pa: measured(columns.pressure, &PRESSURE)?,
    })
}

fn hour_of(date: &Cell<'_>, time: &Cell<'_>) -> Result<HourOfYear, Fault> {
    let month_and_day = || {
        let mut parts = date.text.split('/');
        Some((parts.next()?.parse().ok()?, parts.next()?.parse().ok()?))
    };
    let whole_hour = || time.text.strip_suffix(":00")?.parse().ok();
    let (month, day) = month_and_day().ok_or_else(|| date.fault("a date as MM/DD/YYYY"))?;
    let hour = whole_hour().ok_or_else(|| time.fault("a time from 01:00 to 24:00"))?;
    Ok(HourOfYear { month, day, hour })
}
