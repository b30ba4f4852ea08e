//! Round numbers along the edges of a chart.

use hysteron_logic::time::Duration;

/// Round values from at or below `lowest` to at or above `highest`, about `wanted` of them.
///
/// Steps are 1, 2 or 5 times a power of ten.
#[must_use]
pub fn round_values(lowest: f64, highest: f64, wanted: u32) -> Vec<f64> {
    let spread = (highest - lowest).max(1e-6);
    let rough = spread / f64::from(wanted.max(1));
    let power = 10f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|factor| factor * power)
        .find(|step| *step >= rough * 0.999)
        .unwrap_or(10.0 * power);
    let first = (lowest / step + 1e-9).floor();
    let last = (highest / step - 1e-9).ceil();
    let count = (last - first).max(1.0) as usize;
    (0..=count)
        .map(|place| (first + place as f64) * step)
        .collect()
}

/// Decimals that tell these values apart.
#[must_use]
pub fn decimals(values: &[f64]) -> usize {
    let step = match values {
        [first, second, ..] => second - first,
        _ => 1.0,
    };
    (0..4)
        .find(|places| {
            let scaled = step * 10f64.powi(*places);
            (scaled - scaled.round()).abs() < 1e-6 * scaled.max(1.0)
        })
        .map_or(4, |places| places.unsigned_abs() as usize)
}

/// One mark of a time axis.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TimeMark {
    /// Where.
    pub at: Duration,
    /// What it says.
    pub label: String,
}

const MINUTE_MS: u64 = 60_000;
const HOUR_MS: u64 = 60 * MINUTE_MS;
const DAY_MS: u64 = 24 * HOUR_MS;
const STEPS_MS: [u64; 20] = [
    1_000,
    5_000,
    15_000,
    MINUTE_MS,
    2 * MINUTE_MS,
    5 * MINUTE_MS,
    10 * MINUTE_MS,
    15 * MINUTE_MS,
    30 * MINUTE_MS,
    HOUR_MS,
    2 * HOUR_MS,
    3 * HOUR_MS,
    6 * HOUR_MS,
    12 * HOUR_MS,
    DAY_MS,
    2 * DAY_MS,
    7 * DAY_MS,
    14 * DAY_MS,
    30 * DAY_MS,
    365 * DAY_MS,
];

/// At most `most` marks over `length`: clock times, or days where it is long.
#[must_use]
pub fn time_marks(length: Duration, most: u64) -> Vec<TimeMark> {
    let length_ms = length.millis();
    let step = STEPS_MS
        .into_iter()
        .find(|step| length_ms / step < most.max(2))
        .unwrap_or(10 * 365 * DAY_MS);
    (0..=length_ms / step)
        .map(|place| {
            let at = place * step;
            TimeMark {
                at: Duration::from_millis(at),
                label: label(at, step, length_ms),
            }
        })
        .collect()
}

fn label(at: u64, step: u64, length_ms: u64) -> String {
    if step >= DAY_MS {
        return format!("day {}", at / DAY_MS + 1);
    }
    let (hour, minute, second) = (at / HOUR_MS % 24, at / MINUTE_MS % 60, at / 1_000 % 60);
    let is_end_of_day = at == length_ms && at.is_multiple_of(DAY_MS) && at > 0;
    let hour = if is_end_of_day { 24 } else { hour };
    if step < MINUTE_MS {
        return format!("{hour:02}:{minute:02}:{second:02}");
    }
    if length_ms > DAY_MS && at.is_multiple_of(DAY_MS) && !is_end_of_day {
        return format!("day {}", at / DAY_MS + 1);
    }
    format!("{hour:02}:{minute:02}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_round_and_enclose_the_range() {
        assert_eq!(round_values(1.2, 5.8, 5), [1.0, 2.0, 3.0, 4.0, 5.0, 6.0]);
        assert_eq!(round_values(-0.3, 0.3, 4), [-0.4, -0.2, 0.0, 0.2, 0.4]);
        assert_eq!(decimals(&[0.0, 0.2, 0.4]), 1);
        assert_eq!(decimals(&[0.0, 5.0]), 0);
        assert_eq!(decimals(&[0.0, 0.25]), 2);
    }

    #[test]
    fn marks_are_clock_times_for_a_day_and_days_for_a_year() {
        let day = time_marks(Duration::from_hours(24), 13);
        assert_eq!(day.first().map(|mark| mark.label.as_str()), Some("00:00"));
        assert_eq!(day.last().map(|mark| mark.label.as_str()), Some("24:00"));
        assert!(day.len() <= 13);
        let year = time_marks(Duration::from_hours(8_760), 13);
        assert_eq!(year[1].label, "day 31");
        assert!(year.len() <= 13);
        let minutes = time_marks(Duration::from_minutes(3), 7);
        assert_eq!(minutes[1].label, "00:01");
        let two_days = time_marks(Duration::from_hours(48), 9);
        assert!(two_days.iter().any(|mark| mark.label == "day 2"));
    }
}
