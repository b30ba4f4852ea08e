//! Quantities as people write them: a number and a unit in one text.
//!
//! A temperature ("36 °F") and a temperature difference ("4 °F") are read by
//! different functions into different types, because only the first is shifted
//! when its scale changes.

use hysteron_logic::time::Duration;
use hysteron_logic::units::{Difference, Temperature};

use super::unit::{Dimension, Unit};
use hysteron_source::text::{Misread, nearest};

/// A quantity of `dimension`, in that dimension's base unit.
///
/// # Errors
/// When the number, the unit or the dimension is not right.
pub fn read_quantity(text: &str, dimension: Dimension) -> Result<f64, Misread> {
    let (number, symbol) = leading_number(text.trim(), dimension)?;
    Ok(known_unit(symbol, dimension)?.to_base(number))
}

/// A quantity in the unit of this symbol, such as "W/K"; "" is a share.
///
/// # Errors
/// As [`read_quantity`]; a symbol that is no unit measures nothing and refuses every text.
pub fn read_in_unit(text: &str, symbol: &str) -> Result<f64, Misread> {
    let Some(unit) = Unit::all_written(symbol).next() else {
        return Err(misread(
            format!("nothing is measured in {symbol}"),
            "another entry",
        ));
    };
    Ok(unit.from_base(read_quantity(text, unit.dimension)?))
}

/// A point on the temperature scale: "2 °C", "36 °F".
///
/// # Errors
/// When it is none, or a difference.
pub fn read_temperature(text: &str) -> Result<Temperature, Misread> {
    let celsius = read_quantity(text, Dimension::Temperature)?;
    thousandths(
        celsius,
        "a temperature from -273.15 °C to 1000 °C",
        -273.15..=1_000.0,
    )
    .map(Temperature::from_millicelsius)
}

/// A distance between two temperatures: "4 K", "4 °F".
///
/// # Errors
/// When it is none.
pub fn read_difference(text: &str) -> Result<Difference, Misread> {
    let kelvin = read_quantity(text, Dimension::TemperatureDifference)?;
    thousandths(
        kelvin,
        "a difference from -1000 K to 1000 K",
        -1_000.0..=1_000.0,
    )
    .map(Difference::from_millikelvin)
}

/// A length of time: "5 min", "1 h 30 min".
///
/// # Errors
/// When it is none, or longer than ten years.
pub fn read_duration(text: &str) -> Result<Duration, Misread> {
    const LONGEST_S: f64 = 10.0 * 366.0 * 86_400.0;
    let mut seconds = 0.0;
    let mut rest = text.trim();
    loop {
        let (number, after) = leading_number(rest, Dimension::Time)?;
        let end = after
            .find(|c: char| !(c.is_alphabetic() || c.is_whitespace()))
            .unwrap_or(after.len());
        let (symbol, later) = after.split_at(end);
        seconds += known_unit(symbol.trim(), Dimension::Time)?.to_base(number);
        rest = later.trim_start();
        if rest.is_empty() {
            break;
        }
    }
    if (0.0..=LONGEST_S).contains(&seconds) {
        Ok(Duration::from_millis((seconds * 1_000.0).round() as u64))
    } else {
        Err(misread(
            format!("\"{text}\" is too long, or below zero"),
            "0 s to 10 years",
        ))
    }
}

/// A moment, as the time since the scenario began (at midnight, the start of day 1):
/// "14:30", "day 2 06:00", or a length of time from the start, "36 h".
///
/// # Errors
/// When it is none of these.
pub fn read_moment(text: &str) -> Result<Duration, Misread> {
    let wrong = |what: String| Misread {
        what,
        expected: "a moment such as \"14:30\", \"day 2 06:00\" or \"36 h\" from the start"
            .to_owned(),
        remedy: None,
    };
    let trimmed = text.trim();
    if !trimmed.contains(':') {
        return read_duration(trimmed).map_err(|misread| wrong(misread.what));
    }
    let (day, clock) = match trimmed.strip_prefix("day") {
        Some(rest) => rest
            .trim_start()
            .split_once(char::is_whitespace)
            .ok_or_else(|| wrong(format!("\"{text}\" has no time of day")))?,
        None => ("1", trimmed),
    };
    let part = |part: &str, from: u64, to: u64| {
        let number = part
            .trim()
            .parse::<u64>()
            .ok()
            .filter(|number| (from..=to).contains(number));
        let Some(number) = number.filter(|_| part.trim().bytes().all(|b| b.is_ascii_digit()))
        else {
            return Err(wrong(format!(
                "\"{}\" is not a number from {from} to {to}",
                part.trim()
            )));
        };
        Ok(number)
    };
    let day = part(day, 1, 3_660)?;
    let mut parts = clock.splitn(3, ':');
    let hour = part(parts.next().unwrap_or_default(), 0, 24)?;
    let minute = part(parts.next().unwrap_or_default(), 0, 59)?;
    let second = part(parts.next().unwrap_or("0"), 0, 59)?;
    let of_day = (hour * 60 + minute) * 60 + second;
    if of_day > 86_400 {
        return Err(wrong(format!("\"{text}\" is later than 24:00")));
    }
    Ok(Duration::from_millis(((day - 1) * 86_400 + of_day) * 1_000))
}

/// A moment as [`read_moment`] reads it: "14:30", "day 2 06:00".
#[must_use]
pub fn moment_text(moment: Duration) -> String {
    let seconds = moment.millis() / 1_000;
    let (day, of_day) = (1 + seconds / 86_400, seconds % 86_400);
    let (hour, minute, second) = (of_day / 3_600, of_day / 60 % 60, of_day % 60);
    let clock = if second == 0 {
        format!("{hour:02}:{minute:02}")
    } else {
        format!("{hour:02}:{minute:02}:{second:02}")
    };
    if day == 1 {
        clock
    } else {
        format!("day {day} {clock}")
    }
}

/// The number at the beginning, and what comes after it.
fn leading_number(text: &str, dimension: Dimension) -> Result<(f64, &str), Misread> {
    let expected = format!("{} with its unit: {}", dimension.name(), dimension.units());
    let is_sign = |c: char| matches!(c, '-' | '+' | '\u{2212}');
    let end = text
        .char_indices()
        .find(|&(place, c)| !(c.is_ascii_digit() || c == '.' || place == 0 && is_sign(c)))
        .map_or(text.len(), |(place, _)| place);
    let (number, rest) = text.split_at(end);
    let rest_trimmed = rest.trim_start();
    if rest_trimmed.starts_with(',') && rest_trimmed[1..].starts_with(|c: char| c.is_ascii_digit())
    {
        return Err(Misread {
            what: format!("\"{text}\" has a comma"),
            expected,
            remedy: Some("write a decimal point, and no separators between thousands".to_owned()),
        });
    }
    match number.replace('\u{2212}', "-").parse::<f64>() {
        Ok(value) if value.is_finite() => Ok((value, rest_trimmed)),
        Ok(_) | Err(_) => Err(misread(
            format!("\"{text}\" does not begin with a number"),
            expected,
        )),
    }
}

fn known_unit(symbol: &str, dimension: Dimension) -> Result<&'static Unit, Misread> {
    if let Some(unit) = Unit::of(dimension, symbol) {
        return Ok(unit);
    }
    let expected = format!("{} in {}", dimension.name(), dimension.units());
    if symbol.is_empty() {
        return Err(misread("the unit is missing", expected));
    }
    if dimension == Dimension::Temperature && symbol == "K" {
        return Err(Misread {
            what: "K is the unit of a difference, and a point on the scale is wanted".to_owned(),
            expected,
            remedy: Some("write °C or °F".to_owned()),
        });
    }
    if let Some(other) = Unit::all_written(symbol).next() {
        let what = format!("{symbol} is the unit of {}", other.dimension.name());
        return Err(misread(what, expected));
    }
    let units = dimension.units();
    let symbols = units
        .split([',', ' '])
        .filter(|symbol| !symbol.is_empty() && *symbol != "or");
    Err(Misread {
        what: format!("\"{symbol}\" is no unit that is known here"),
        remedy: nearest(symbol, symbols).map(|meant| format!("did you mean {meant}?")),
        expected,
    })
}

fn thousandths(
    value: f64,
    expected: &str,
    range: std::ops::RangeInclusive<f64>,
) -> Result<i32, Misread> {
    if range.contains(&value) {
        Ok((value * 1_000.0).round() as i32)
    } else {
        Err(misread("out of range", expected))
    }
}

fn misread(what: impl Into<String>, expected: impl Into<String>) -> Misread {
    Misread {
        what: what.into(),
        expected: expected.into(),
        remedy: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_point_and_a_difference_of_the_same_text_differ() {
        let point = read_temperature("36 °F").expect("a temperature");
        let distance = read_difference("36 °F").expect("a difference");
        assert_eq!(point.millicelsius(), 2_222);
        assert_eq!(distance.millikelvin(), 20_000);
        assert_eq!(
            read_temperature("\u{2212}18°C"),
            read_temperature(" -18 C ")
        );
    }

    #[test]
    fn times_add_up() {
        let seconds = |text| read_duration(text).map(|time| time.millis() / 1_000);
        assert_eq!(seconds("1 h 30 min"), Ok(5_400));
        assert_eq!(seconds("2d 4h"), Ok(52 * 3_600));
        assert_eq!(seconds("0 s"), Ok(0));
        assert_eq!(read_duration("1.5 s").map(Duration::millis), Ok(1_500));
    }

    #[test]
    fn moments_count_from_midnight_of_day_one() {
        let minutes = |text| read_moment(text).map(|time| time.millis() / 60_000);
        assert_eq!(minutes("14:30"), Ok(870));
        assert_eq!(minutes("day 2 06:00"), Ok(1_800));
        assert_eq!(minutes("24:00"), Ok(1_440));
        assert_eq!(minutes("36 h"), Ok(2_160));
        assert_eq!(read_moment("00:00:05").map(Duration::millis), Ok(5_000));
    }

    #[test]
    fn times_are_written_as_they_are_read() {
        for millis in [
            0,
            1_500,
            61_000,
            5_400_000,
            90_061_000,
            86_400_000,
            31_536_000_000,
        ] {
            let time = Duration::from_millis(millis);
            assert_eq!(read_duration(&time.to_string()), Ok(time));
            if millis % 1_000 == 0 {
                assert_eq!(read_moment(&moment_text(time)), Ok(time));
            }
        }
    }

    #[test]
    fn what_is_no_quantity_says_why() {
        let why = |result: Result<f64, Misread>| result.expect_err("no quantity");
        let power = |text| why(read_quantity(text, Dimension::Power));
        assert!(power("3").what.contains("unit is missing"));
        assert!(power("3 min").what.contains("unit of a length of time"));
        assert!(power("kW").what.contains("does not begin with a number"));
        assert!(power("3,5 kW").what.contains("comma"));
        assert_eq!(power("3 KW").remedy.as_deref(), Some("did you mean kW?"));
        assert!(power("1e9 kW").what.contains("no unit"));
        assert!(
            read_temperature("4 K")
                .expect_err("a difference")
                .what
                .contains("difference")
        );
        for text in [
            "",
            " ",
            "-",
            "5",
            "5 min 3",
            "-1 min",
            "99999999 d",
            "5 min,",
            "1 h x",
        ] {
            assert!(read_duration(text).is_err(), "{text}");
        }
        for text in [
            "25:00",
            "24:01",
            "12:60",
            "day 0 12:00",
            "day 2",
            "1:2:3:4",
            "noon",
            "+1:00",
            ":",
        ] {
            assert!(read_moment(text).is_err(), "{text}");
        }
    }
}
