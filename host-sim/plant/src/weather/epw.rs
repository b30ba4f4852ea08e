//! EPW: eight lines of header, then 35 comma-separated fields an hour.
//!
//! After the EnergyPlus Auxiliary Programs, "EnergyPlus Weather File (EPW)
//! Data Dictionary", which also gives the codes for missing values.

use super::calendar::{Calendar, HourOfYear};
use super::fault::Fault;
use super::observation::{Observation, Station};
use super::quantity::{ELEVATION, LATITUDE, LONGITUDE, Missing, Quantity, TIME_ZONE};
use super::text::{Cell, Line};

const FIRST_WORD: &str = "LOCATION,";
const LAST_HEADER: &str = "DATA PERIODS,";
/// The dictionary has eight; a long comment may have been broken into more.
const MOST_HEADER_LINES: usize = 32;

const DRY_BULB: Quantity = Quantity::celsius("dry-bulb temperature", Missing::AtLeast(99.9));
const DEW_POINT: Quantity = Quantity::celsius("dew-point temperature", Missing::AtLeast(99.9));
const HUMIDITY: Quantity = Quantity::humidity_percent(Missing::AtLeast(999.0));
const PRESSURE: Quantity = Quantity::pascal(Missing::AtLeast(999_999.0));

pub(super) fn is_first_line(line: &Line<'_>) -> bool {
    line.begins_with(FIRST_WORD)
}

pub(super) fn read(
    lines: &[Line<'_>],
    calendar: &mut Calendar,
) -> Result<(Station, Vec<Observation>), Fault> {
    let mut station = None;
    let mut header_lines = 0;
    for line in lines.iter().take(MOST_HEADER_LINES) {
        header_lines += 1;
        if line.begins_with(FIRST_WORD) {
            station = Some(read_station(line)?);
        }
        if line.begins_with(LAST_HEADER) {
            check_interval(line)?;
            break;
        }
    }
    let (header, data) = lines.split_at(header_lines);
    match (station, header.last()) {
        (Some(station), Some(last)) if last.begins_with(LAST_HEADER) => {
            let observations: Result<_, _> =
                data.iter().map(|line| read_hour(line, calendar)).collect();
            Ok((station, observations?))
        }
        _ => Err(Fault::new(
            header_lines + 1,
            1,
            "",
            "a header that ends with DATA PERIODS".to_owned(),
        )),
    }
}

fn read_station(line: &Line<'_>) -> Result<Station, Fault> {
    let cells = line.cells();
    let name = (cells.iter().skip(1).take(3))
        .map(|cell| cell.text)
        .filter(|part| !part.is_empty() && *part != "-")
        .collect::<Vec<_>>()
        .join(", ");
    let number = |index, quantity| field(line, &cells, index, quantity)?.number(quantity);
    Ok(Station {
        name,
        latitude_deg: number(6, &LATITUDE)?,
        longitude_deg: number(7, &LONGITUDE)?,
        time_zone_h: number(8, &TIME_ZONE)?,
        elevation_m: number(9, &ELEVATION)?,
    })
}

/// More than one record an hour is legal EPW, but not hourly weather.
fn check_interval(line: &Line<'_>) -> Result<(), Fault> {
    for (index, what) in [(1, "one data period"), (2, "one record an hour")] {
        let cells = line.cells();
        match cells.get(index) {
            Some(cell) if cell.text == "1" => {}
            Some(cell) => return Err(cell.fault(format!("1, for {what}"))),
            None => return Err(line.whole().fault(format!("1, for {what}"))),
        }
    }
    Ok(())
}

fn read_hour(line: &Line<'_>, calendar: &mut Calendar) -> Result<Observation, Fault> {
    let cells = line.cells();
    let date = |index: usize, what| match cells.get(index) {
        Some(cell) => cell.date_part(what),
        None => Err(line
            .whole()
            .fault("year,month,day,hour,minute and 30 more fields")),
    };
    let hour = HourOfYear {
        month: date(1, "a month, 1 to 12")?,
        day: date(2, "a day of the month")?,
        hour: date(3, "an hour, 1 to 24")?,
    };
    calendar.accept(hour, &line.whole())?;
    let measured = |index, quantity| field(line, &cells, index, quantity)?.measured(quantity);
    Ok(Observation {
        line: line.number,
        dry_bulb_c: measured(6, &DRY_BULB)?,
        dew_point_c: measured(7, &DEW_POINT)?,
        humidity_percent: measured(8, &HUMIDITY)?,
        pressure_pa: measured(9, &PRESSURE)?,
    })
}

fn field<'c, 'a>(
    line: &Line<'a>,
    cells: &'c [Cell<'a>],
    index: usize,
    quantity: &Quantity,
) -> Result<&'c Cell<'a>, Fault> {
    cells.get(index).ok_or_else(|| {
        let expected = format!(
            "field {} of the line: {}",
            index + 1,
            quantity.description()
        );
        line.end().fault(expected)
    })
}
