//! Missing hours, filled in from their neighbours.

use super::fault::Fault;
use super::observation::{Observation, WeatherHour};
use crate::moist_air::RelativeHumidity;

/// Longest run of missing hours that is filled in; a longer one would be invented weather.
pub(super) const LONGEST_GAP_H: usize = 24;

/// Completes the year and says how many hours were short of a value.
///
/// A missing humidity comes from the dew point where there is one. Otherwise
/// the value runs straight from the hour before the gap to the hour after it,
/// round the turn of the year if need be.
pub(super) fn fill(observations: &[Observation]) -> Result<(Vec<WeatherHour>, usize), Fault> {
    let dry_bulbs: Vec<_> = observations.iter().map(|hour| hour.dry_bulb_c).collect();
    let humidities: Vec<_> = observations.iter().map(humidity_percent).collect();
    let short = |index: &usize| dry_bulbs[*index].is_none() || humidities[*index].is_none();
    let filled_hours = (0..observations.len()).filter(short).count();
    let line_of = |index: usize| observations[index].line;
    let dry_bulbs_c = bridged(&dry_bulbs, "dry-bulb temperature", line_of)?;
    let humidities_percent = bridged(&humidities, "relative humidity or dew point", line_of)?;
    let hours = dry_bulbs_c
        .into_iter()
        .zip(humidities_percent)
        .map(|(dry_bulb_c, percent)| WeatherHour {
            dry_bulb_c,
            humidity: RelativeHumidity::capped_percent(percent),
        })
        .collect();
    Ok((hours, filled_hours))
}

fn humidity_percent(hour: &Observation) -> Option<f64> {
    let from_dew_point = || {
        let (dry_bulb_c, dew_point_c) = (hour.dry_bulb_c?, hour.dew_point_c?);
        Some(RelativeHumidity::from_dew_point(dry_bulb_c, dew_point_c).percent())
    };
    hour.humidity_percent.or_else(from_dew_point)
}

fn bridged(
    values: &[Option<f64>],
    name: &str,
    line_of: impl Fn(usize) -> usize,
) -> Result<Vec<f64>, Fault> {
    let count = values.len();
    let too_long = |index: usize| {
        Fault::new(
            line_of(index),
            1,
            "",
            format!(
                "a {name} at least once in {} hours; this is where they begin to be missing",
                LONGEST_GAP_H + 1
            ),
        )
    };
    let Some(first_known) = values.iter().position(Option::is_some) else {
        return Err(too_long(0));
    };
    let mut whole = vec![0.0; count];
    let mut before = (first_known, values[first_known].unwrap_or_default());
    // Once round from the first known hour back to itself.
    for steps in 1..=count {
        let index = first_known + steps;
        let Some(value) = values[index % count] else {
            continue;
        };
        let span = index - before.0;
        if span > LONGEST_GAP_H + 1 {
            return Err(too_long((before.0 + 1) % count));
        }
        for step in 1..=span {
            let part = step as f64 / span as f64;
            whole[(before.0 + step) % count] = if step == span {
                value
            } else {
                before.1 + part * (value - before.1)
            };
        }
        before = (index, value);
    }
    Ok(whole)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gaps_are_bridged_straight_and_round_the_turn_of_the_year() {
        let values = [None, Some(10.0), None, None, Some(4.0), None];
        let whole = bridged(&values, "value", |index| index).unwrap();
        assert_eq!(whole, [8.0, 10.0, 8.0, 6.0, 4.0, 6.0]);
    }

    #[test]
    fn one_known_hour_does_not_make_a_year() {
        let mut values = vec![None; 100];
        values[40] = Some(1.0);
        let fault = bridged(&values, "value", |index| index + 9).unwrap_err();
        assert_eq!(fault.line(), 41 + 9);
        assert!(bridged(&[None; 30], "value", |index| index).is_err());
    }

    #[test]
    fn the_longest_gap_is_the_one_stated() {
        let gap = |missing: usize| {
            let mut values = vec![Some(0.0); 100];
            values[50..50 + missing].fill(None);
            bridged(&values, "value", |index| index)
        };
        assert!(gap(LONGEST_GAP_H).is_ok());
        assert_eq!(gap(LONGEST_GAP_H + 1).unwrap_err().line(), 50);
    }
}
