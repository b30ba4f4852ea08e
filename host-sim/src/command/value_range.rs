//! Values that an entry takes in a sweep: a list, or a range with its step.
//!
//! `1K..4K/0.5K` is every half kelvin from one to four; `1K,2K,5K` is just
//! these. Steps are counted in decimal digits, so that no value comes out as
//! 0.30000000000000004.

use std::str::FromStr;

use super::assignment::Assignment;
use hysteron_bench::campaign::Axis;
use hysteron_bench::scenario::seed;

/// More values than this are asked for by mistake.
const MOST_VALUES: i64 = 10_000;
/// Digits of a number; what a scenario can tell apart has fewer.
const MOST_DIGITS: usize = 12;

/// An entry with all its values.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Values(pub Axis);

impl FromStr for Values {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let assignment = text.parse::<Assignment>().map_err(|_| {
            "expected such as control.differential=1K..4K/0.5K or control.fallback=open,\"keep closed\""
                .to_owned()
        })?;
        let values = match assignment.value.split_once("..") {
            Some((from, rest)) => range(from, rest)?,
            None => list(&assignment.value)?,
        };
        Ok(Self(Axis {
            path: assignment.path,
            values,
        }))
    }
}

/// The seeds of a sweep.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seeds(pub Vec<u64>);

impl FromStr for Seeds {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let expected = || {
            format!(
                "expected such as 1..50 or 1,2,3, from 0 to {}",
                seed::HIGHEST
            )
        };
        let seed = seed::read;
        let seeds: Result<Vec<u64>, _> = match text.split_once("..") {
            Some((from, to)) => {
                let (from, to) = (seed(from), seed(to));
                let (Ok(from), Ok(to)) = (from, to) else {
                    return Err(expected());
                };
                if from > to {
                    return Err(format!("{from} comes after {to}"));
                }
                if to - from >= hysteron_bench::campaign::MOST_RUNS {
                    return Err("these are far too many".to_owned());
                }
                Ok((from..=to).collect())
            }
            None => text.split(',').map(seed).collect(),
        };
        seeds.map(Self).map_err(|_| expected())
    }
}

fn list(text: &str) -> Result<Vec<String>, String> {
    let values = text
        .split(',')
        .map(|value| value.trim().trim_matches('"').to_owned());
    let values: Vec<String> = values.collect();
    if values.iter().any(String::is_empty) {
        return Err("a value is empty".to_owned());
    }
    Ok(values)
}

/// A number with its unit, as it was written: `mantissa × 10^-decimals`.
#[derive(Debug, Clone, Copy)]
struct Written<'t> {
    mantissa: i64,
    decimals: usize,
    unit: &'t str,
}

impl<'t> Written<'t> {
    fn read(text: &'t str) -> Result<Self, String> {
        let text = text.trim();
        let wrong = || format!("\"{text}\" is no number with a unit");
        let signed = text.strip_prefix(['-', '\u{2212}']);
        let unsigned = signed.unwrap_or(text);
        let end = unsigned
            .find(|c: char| !(c.is_ascii_digit() || c == '.'))
            .unwrap_or(unsigned.len());
        let (number, unit) = unsigned.split_at(end);
        let (whole, fraction) = number.split_once('.').unwrap_or((number, ""));
        let digits = format!("{whole}{fraction}");
        if digits.len() > MOST_DIGITS {
            return Err(format!("\"{text}\" has too many digits"));
        }
        let size: i64 = digits.parse().map_err(|_| wrong())?;
        Ok(Self {
            mantissa: if signed.is_some() { -size } else { size },
            decimals: fraction.len(),
            unit: unit.trim(),
        })
    }

    /// The mantissa at so many decimals, which are no fewer than its own.
    fn at(&self, decimals: usize) -> i128 {
        i128::from(self.mantissa) * 10_i128.pow((decimals - self.decimals) as u32)
    }
}

fn range(from: &str, rest: &str) -> Result<Vec<String>, String> {
    let (to, step) = match rest.split_once('/') {
        Some((to, step)) => (to, Some(step)),
        None => (rest, None),
    };
    let (from, to) = (Written::read(from)?, Written::read(to)?);
    let step = match step {
        Some(step) => Written::read(step)?,
        None if from.unit.is_empty() && from.decimals + to.decimals == 0 => Written {
            mantissa: 1,
            decimals: 0,
            unit: to.unit,
        },
        None => return Err("a range needs its step, as in 1K..4K/0.5K".to_owned()),
    };
    let unit = to.unit;
    for other in [from.unit, step.unit] {
        if other != unit {
            return Err(format!(
                "\"{other}\" and \"{unit}\" differ: write the same unit in all three places"
            ));
        }
    }
    let decimals = from.decimals.max(to.decimals).max(step.decimals);
    let (from, to, step) = (from.at(decimals), to.at(decimals), step.at(decimals));
    if step <= 0 || from > to {
        return Err(
            "a range goes up: from the smaller to the larger, by a step above 0".to_owned(),
        );
    }
    let steps = (to - from) / step;
    if steps >= i128::from(MOST_VALUES) {
        return Err(format!("these are more than {MOST_VALUES} values"));
    }
    Ok((0..=steps)
        .map(|place| with_unit(from + place * step, decimals, unit))
        .collect())
}

fn with_unit(mantissa: i128, decimals: usize, unit: &str) -> String {
    let sign = if mantissa < 0 { "-" } else { "" };
    let digits = format!("{:0>width$}", mantissa.unsigned_abs(), width = decimals + 1);
    let (whole, fraction) = digits.split_at(digits.len() - decimals);
    let fraction = fraction.trim_end_matches('0');
    let number = if fraction.is_empty() {
        format!("{sign}{whole}")
    } else {
        format!("{sign}{whole}.{fraction}")
    };
    if unit.is_empty() {
        number
    } else {
        format!("{number} {unit}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn values(text: &str) -> Result<Vec<String>, String> {
        format!("x={text}")
            .parse::<Values>()
            .map(|values| values.0.values)
    }

    #[test]
    fn a_range_has_both_ends_and_even_steps() {
        for (text, expected) in [
            ("1K..2K/0.5K", &["1 K", "1.5 K", "2 K"][..]),
            ("-0.1 °C..0.1 °C/0.1 °C", &["-0.1 °C", "0 °C", "0.1 °C"]),
            ("4..6", &["4", "5", "6"]),
            ("1..2/0.4", &["1", "1.4", "1.8"]),
            ("1K,3K", &["1 K", "3 K"]),
            ("open,\"keep closed\"", &["open", "keep closed"]),
            ("5min..5min/1min", &["5 min"]),
        ] {
            let found = values(text).expect(text);
            // A list keeps what was written.
            let plain = |value: &String| value.replace(' ', "");
            let found: Vec<String> = found.iter().map(plain).collect();
            let expected: Vec<String> = expected
                .iter()
                .map(|value| value.replace(' ', ""))
                .collect();
            assert_eq!(found, expected, "{text}");
        }
    }

    #[test]
    fn nonsense_is_refused() {
        for text in [
            "1K..4K",
            "1K..4K/0K",
            "4K..1K/1K",
            "1K..4C/1K",
            "a..b/c",
            "0..1/0.00000001",
            "1..99999999999999999999",
            "..",
            "1,,2",
            "-..-/-",
        ] {
            assert!(values(text).is_err(), "{text}");
        }
        assert!("control.setpoint".parse::<Values>().is_err());
    }

    #[test]
    fn seeds_are_a_range_or_a_list() {
        let seeds = |text: &str| text.parse::<Seeds>().map(|seeds| seeds.0);
        assert_eq!(seeds("3..5"), Ok(vec![3, 4, 5]));
        assert_eq!(seeds("9, 1"), Ok(vec![9, 1]));
        for text in ["", "5..3", "1..", "-1", "1..4294967295", "x", "1.5"] {
            assert!(seeds(text).is_err(), "{text}");
        }
    }
}
