//! Lengths of time as a person says them, without more figures than help.

use hysteron_logic::time::Duration;

use super::degrees::fixed;

const MINUTE_MS: u64 = 60_000;
const DAY_MS: u64 = 24 * 60 * MINUTE_MS;

/// The length of a scenario: "24 h", "7 days".
#[must_use]
pub fn scenario_length(duration: Duration) -> String {
    let millis = duration.millis();
    if millis >= 2 * DAY_MS && millis.is_multiple_of(DAY_MS) {
        return format!("{} days", millis / DAY_MS);
    }
    if millis.is_multiple_of(60 * MINUTE_MS) && millis > 0 {
        return format!("{} h", millis / (60 * MINUTE_MS));
    }
    duration.to_string()
}

/// A time without seconds from two hours on, and in hours from two days on.
#[must_use]
pub fn rounded(duration: Duration) -> String {
    if duration < Duration::from_hours(2) {
        return duration.to_string();
    }
    if duration > Duration::from_hours(48) {
        return format!("{} h", fixed(duration.millis() as f64 / 3.6e6, 0));
    }
    let minutes = (duration.millis() + MINUTE_MS / 2) / MINUTE_MS;
    let (hours, minutes) = (minutes / 60, minutes % 60);
    match minutes {
        0 => format!("{hours} h"),
        minutes => format!("{hours} h {minutes} min"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_is_told_in_hours_and_a_week_in_days() {
        assert_eq!(scenario_length(Duration::from_hours(24)), "24 h");
        assert_eq!(scenario_length(Duration::from_hours(168)), "7 days");
        assert_eq!(scenario_length(Duration::from_minutes(90)), "1 h 30 min");
        assert_eq!(rounded(Duration::from_seconds(3 * 3_600 + 59)), "3 h 1 min");
        assert_eq!(rounded(Duration::from_hours(24)), "24 h");
        assert_eq!(rounded(Duration::from_hours(8_760)), "8760 h");
        assert_eq!(rounded(Duration::from_seconds(301)), "5 min 1 s");
    }
}
