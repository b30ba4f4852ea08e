//! Numbers that stay with their units when a line breaks.

const UNITS: [&str; 14] = [
    "°C", "°F", "K", "%", "min", "h", "s", "d", "kg", "W", "kW", "kPa", "Ω", "times",
];

/// The same words with a space that never breaks between a number and its unit.
#[must_use]
pub fn glued(words: &str) -> String {
    let mut glued = String::with_capacity(words.len());
    let mut rest = words;
    while let Some(space) = rest.find(' ') {
        let (before, after) = (&rest[..space], &rest[space + 1..]);
        let next = after
            .split([' ', ',', ';', ':', '.', ')'])
            .next()
            .unwrap_or_default();
        let is_pair = before.ends_with(|c: char| c.is_ascii_digit()) && UNITS.contains(&next);
        glued.push_str(before);
        glued.push(if is_pair { '\u{a0}' } else { ' ' });
        rest = after;
    }
    glued.push_str(rest);
    glued
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_numbers_are_glued_to_units() {
        assert_eq!(
            glued("highest 4.0 °C at 00:05, for 5 min."),
            "highest 4.0\u{a0}°C at 00:05, for 5\u{a0}min."
        );
        assert_eq!(glued("2 s 3"), "2\u{a0}s 3");
        assert_eq!(glued(""), "");
    }
}
