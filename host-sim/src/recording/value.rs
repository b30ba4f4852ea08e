//! What a probe read: a temperature, a resistance, or a fault in so many words.

use crate::source_text::Misread;

/// Unit of the values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ValueUnit {
    /// Degrees Celsius.
    Celsius,
    /// Degrees Fahrenheit.
    Fahrenheit,
    /// Ohms.
    Ohm,
    /// Kilohms.
    Kilohm,
}

/// One value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Value {
    /// A temperature, in °C.
    Celsius(f64),
    /// A resistance, in ohms.
    Ohm(f64),
    /// The probe was open.
    Open,
    /// The probe was shorted.
    Shorted,
}

/// Words for units, as headings have them.
const WORDS: [(&str, ValueUnit); 18] = [
    ("°c", ValueUnit::Celsius),
    ("℃", ValueUnit::Celsius),
    ("c", ValueUnit::Celsius),
    ("degc", ValueUnit::Celsius),
    ("celsius", ValueUnit::Celsius),
    ("°f", ValueUnit::Fahrenheit),
    ("℉", ValueUnit::Fahrenheit),
    ("f", ValueUnit::Fahrenheit),
    ("degf", ValueUnit::Fahrenheit),
    ("fahrenheit", ValueUnit::Fahrenheit),
    ("ω", ValueUnit::Ohm),
    ("ohm", ValueUnit::Ohm),
    ("ohms", ValueUnit::Ohm),
    ("resistance", ValueUnit::Ohm),
    ("kω", ValueUnit::Kilohm),
    ("kohm", ValueUnit::Kilohm),
    ("kohms", ValueUnit::Kilohm),
    ("kilohms", ValueUnit::Kilohm),
];

const ABSOLUTE_ZERO_C: f64 = -273.15;
const HOTTEST_C: f64 = 1_000.0;
const LARGEST_OHM: f64 = 1e9;

impl ValueUnit {
    /// The unit that a heading names, if it does: "coil_f", "box (°C)", `R [kΩ]`.
    pub fn named_in(heading: &str) -> Option<Self> {
        let heading = heading.to_lowercase();
        let words = heading.split(|c: char| !(c.is_alphanumeric() || matches!(c, '°' | '℃' | '℉')));
        let mut units = words.filter_map(|word| {
            let entry = WORDS.iter().find(|(name, _)| *name == word);
            entry.map(|(_, unit)| *unit)
        });
        units.next_back()
    }

    /// The value that a cell tells in this unit.
    pub fn value_of(self, text: &str, decimal_comma: bool) -> Result<Value, Misread> {
        match text.to_lowercase().as_str() {
            "open" => return Ok(Value::Open),
            "short" | "shorted" => return Ok(Value::Shorted),
            _ => {}
        }
        let (what, range) = match self {
            Self::Celsius | Self::Fahrenheit => ("a temperature", ABSOLUTE_ZERO_C..=HOTTEST_C),
            Self::Ohm | Self::Kilohm => ("a resistance", 0.0..=LARGEST_OHM),
        };
        let wrong = |found: String| Misread {
            what: found,
            expected: format!("{what} {}, or `open` or `shorted`", self.name()),
            remedy: Some(
                "mend the line, or leave all such lines out with --skip-bad-lines".to_owned(),
            ),
        };
        let number = if decimal_comma {
            text.replacen(',', ".", 1)
        } else {
            text.to_owned()
        };
        let number = number.replace('\u{2212}', "-");
        let value = match number.parse::<f64>() {
            Ok(number) if number.is_finite() => self.base(number),
            Ok(_) | Err(_) if text.is_empty() => return Err(wrong("there is no value".to_owned())),
            Ok(_) | Err(_) => return Err(wrong(format!("\"{}\" is no number", shortened(text)))),
        };
        if !range.contains(&value) {
            return Err(wrong(format!(
                "\"{}\" is no value of a probe",
                shortened(text)
            )));
        }
        Ok(match self {
            Self::Celsius | Self::Fahrenheit => Value::Celsius(value),
            Self::Ohm | Self::Kilohm => Value::Ohm(value),
        })
    }

    fn base(self, number: f64) -> f64 {
        match self {
            Self::Celsius | Self::Ohm => number,
            Self::Fahrenheit => (number - 32.0) / 1.8,
            Self::Kilohm => number * 1e3,
        }
    }

    /// In words: "in °C".
    const fn name(self) -> &'static str {
        match self {
            Self::Celsius => "in °C",
            Self::Fahrenheit => "in °F",
            Self::Ohm => "in ohms",
            Self::Kilohm => "in kilohms",
        }
    }
}

/// The beginning of a text that may be of any length.
pub fn shortened(text: &str) -> String {
    const LONGEST: usize = 40;
    let mut shown: String = text.chars().take(LONGEST).collect();
    if text.chars().nth(LONGEST).is_some() {
        shown.push('…');
    }
    shown
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headings_tell_their_unit() {
        for (heading, unit) in [
            ("box temperature (°C)", Some(ValueUnit::Celsius)),
            ("coil_f", Some(ValueUnit::Fahrenheit)),
            ("R [kΩ]", Some(ValueUnit::Kilohm)),
            ("probe, ohm", Some(ValueUnit::Ohm)),
            ("Temp C", Some(ValueUnit::Celsius)),
            ("reading", None),
            ("cf", None),
        ] {
            assert_eq!(ValueUnit::named_in(heading), unit, "{heading}");
        }
    }

    #[test]
    fn values_are_read_in_their_unit_and_nonsense_is_not() {
        let celsius = |text| ValueUnit::Celsius.value_of(text, false);
        assert_eq!(celsius("\u{2212}4.5"), Ok(Value::Celsius(-4.5)));
        assert_eq!(
            ValueUnit::Fahrenheit.value_of("41", false),
            Ok(Value::Celsius(5.0))
        );
        assert_eq!(
            ValueUnit::Kilohm.value_of("32,65", true),
            Ok(Value::Ohm(32_650.0))
        );
        assert_eq!(celsius("OPEN"), Ok(Value::Open));
        for text in ["", "nan", "inf", "1e999", "-274", "4,5", "4 C", "--"] {
            assert!(celsius(text).is_err(), "{text}");
        }
        assert!(ValueUnit::Ohm.value_of("-1", false).is_err());
    }
}
