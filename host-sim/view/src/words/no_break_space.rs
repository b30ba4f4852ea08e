//! Numbers that stay with their units when a line breaks.

const UNITS: [&str; 14] = [
    "°C", "°F", "K", "%", "min", "h", "s", "d", "kg", "W", "kW", "kPa", "Ω", "times",
];

/// The same words with a space that never breaks between a number and its unit.
#[must_use]
pub fn unbroken(words: &str) -> String {
    let mut unbroken = String::with_capacity(words.len());
    let mut rest = words;
    while let Some(space) = rest.find(' ') {
        let (before, after) = (&rest[..space], &rest[space + 1..]);
        let next = after
            .split([' ', ',', ';', ':', '.', ')'])
            .next()
            .unwrap_or_default();
        let is_pair = before.ends_with(|c: char| c.is_ascii_digit()) && UNITS.contains(&next);
        unbroken.push_str(before);
        unbroken.push(if is_pair { '\u{a0}' } else { ' ' });
        rest = after;
    }
    unbroken.push_str(rest);
    unbroken
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_numbers_stay_with_their_units() {
        assert_eq!(
            unbroken("highest 4.0 °C at 00:05, for 5 min."),
            "highest 4.0\u{a0}°C at 00:05, for 5\u{a0}min."
        );
        assert_eq!(unbroken("2 s 3"), "2\u{a0}s 3");
        assert_eq!(unbroken(""), "");
    }
}
