//! What a probe read: a temperature, a resistance, or a fault in so many words.

use hysteron_source::cells::Separator;
use hysteron_source::text::Misread;

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

/// Letters that are taken for the sign of degrees: the ordinal indicator and the ring.
const LOOK_LIKE_DEGREES: [char; 2] = ['\u{ba}', '\u{2da}'];
/// The sign that is no hyphen.
const MINUS: char = '\u{2212}';

const ABSOLUTE_ZERO_C: f64 = -273.15;
const HOTTEST_C: f64 = 1_000.0;
const LARGEST_OHM: f64 = 1e9;

impl ValueUnit {
    /// The unit that a heading names, if it does: "coil_f", "box (°C)", `R [kΩ]`.
    pub fn named_in(heading: &str) -> Option<Self> {
        let heading = heading.to_lowercase().replace(LOOK_LIKE_DEGREES, "°");
        let words = heading.split(|c: char| !(c.is_alphanumeric() || matches!(c, '°' | '℃' | '℉')));
        words.filter_map(Self::called).next_back()
    }

    fn called(word: &str) -> Option<Self> {
        let entry = WORDS.iter().find(|(name, _)| *name == word);
        entry.map(|(_, unit)| *unit)
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

    const fn expected(self) -> &'static str {
        match self {
            Self::Celsius | Self::Fahrenheit => "a temperature",
            Self::Ohm | Self::Kilohm => "a resistance",
        }
    }
}

/// A cell of values: a number, perhaps with its unit behind it.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Measured<'c> {
    number: &'c str,
    unit: &'c str,
}

impl<'c> Measured<'c> {
    /// A number ends with its last digit or point.
    fn in_cell(text: &'c str) -> Self {
        let end = text
            .rfind(|c: char| c.is_ascii_digit() || c == '.')
            .map_or(text.len(), |last| last + 1);
        let (number, unit) = text.split_at(end);
        Self {
            number: number.trim_end(),
            unit: unit.trim_start(),
        }
    }

    /// The unit; `Err` where letters behind the number are none.
    fn unit(&self) -> Result<Option<ValueUnit>, ()> {
        if self.unit.is_empty() {
            return Ok(None);
        }
        let word: String = self.unit.to_lowercase().split_whitespace().collect();
        let word = word.replace(LOOK_LIKE_DEGREES, "°");
        ValueUnit::called(&word).map(Some).ok_or(())
    }

    fn number(&self) -> Option<f64> {
        let number = self.number.replace(MINUS, "-");
        let number = match number.contains('.') {
            true => number,
            false => number.replacen(',', ".", 1),
        };
        number
            .parse()
            .ok()
            .filter(|number: &f64| number.is_finite())
    }

    /// Whether its comma may part thousands: only where commas part cells, and a quoted cell so
    /// has one, is a decimal comma not the custom.
    fn may_have_thousands(&self, separator: Separator) -> bool {
        let behind = self.number.split_once(',').map(|(_, behind)| behind);
        separator == Separator::Comma && behind.is_some_and(|behind| behind.len() == 3)
    }
}

/// Whether this reads as a value, in whatever unit.
pub fn is_value(text: &str) -> bool {
    let measured = Measured::in_cell(text);
    fault(text).is_some() || (measured.number().is_some() && measured.unit().is_ok())
}

/// The unit that a cell itself gives its value.
pub fn unit_in_cell(text: &str) -> Option<ValueUnit> {
    let measured = Measured::in_cell(text);
    measured.number()?;
    measured.unit().ok().flatten()
}

fn fault(text: &str) -> Option<Value> {
    match text.to_lowercase().as_str() {
        "open" => Some(Value::Open),
        "short" | "shorted" => Some(Value::Shorted),
        _ => None,
    }
}

/// The value that a cell tells, in the unit of its column or in one of its own.
pub fn value_of(
    text: &str,
    column: Option<ValueUnit>,
    separator: Separator,
) -> Result<Value, Misread> {
    if let Some(fault) = fault(text) {
        return Ok(fault);
    }
    let wrong = |found: String| Misread {
        what: found,
        expected: column.map_or_else(
            || "a value with its unit, or `open` or `shorted`".to_owned(),
            |unit| {
                format!(
                    "{} {}, or `open` or `shorted`",
                    unit.expected(),
                    unit.name()
                )
            },
        ),
        remedy: Some("mend the line, or leave all such lines out with --skip-bad-lines".to_owned()),
    };
    if text.is_empty() {
        return Err(wrong("there is no value".to_owned()));
    }
    let shown = shortened(text);
    let measured = Measured::in_cell(text);
    let (Some(number), Ok(own)) = (measured.number(), measured.unit()) else {
        return Err(wrong(format!("\"{shown}\" is no number")));
    };
    let unit = match (column, own) {
        (Some(column), Some(own)) if column != own => {
            return Err(wrong(format!("\"{shown}\" is not {}", column.name())));
        }
        (_, Some(unit)) | (Some(unit), None) => unit,
        (None, None) => return Err(wrong(format!("\"{shown}\" has no unit"))),
    };
    if measured.may_have_thousands(separator) {
        return Err(Misread {
            what: format!("\"{shown}\" has a comma: for decimals or for thousands?"),
            expected: "a decimal point, and nothing between thousands".to_owned(),
            remedy: Some("or part the columns by semicolons, for decimal commas".to_owned()),
        });
    }
    let value = unit.base(number);
    let range = match unit {
        ValueUnit::Celsius | ValueUnit::Fahrenheit => ABSOLUTE_ZERO_C..=HOTTEST_C,
        ValueUnit::Ohm | ValueUnit::Kilohm => 0.0..=LARGEST_OHM,
    };
    if !range.contains(&value) {
        return Err(wrong(format!("\"{shown}\" is no value of a probe")));
    }
    Ok(match unit {
        ValueUnit::Celsius | ValueUnit::Fahrenheit => Value::Celsius(value),
        ValueUnit::Ohm | ValueUnit::Kilohm => Value::Ohm(value),
    })
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
        let celsius = |text| value_of(text, Some(ValueUnit::Celsius), Separator::Comma);
        assert_eq!(celsius("\u{2212}4.5"), Ok(Value::Celsius(-4.5)));
        let fahrenheit = value_of("41", Some(ValueUnit::Fahrenheit), Separator::Tab);
        assert_eq!(fahrenheit, Ok(Value::Celsius(5.0)));
        let kilohm = value_of("32,650", Some(ValueUnit::Kilohm), Separator::Semicolon);
        assert_eq!(kilohm, Ok(Value::Ohm(32_650.0)));
        assert_eq!(celsius("OPEN"), Ok(Value::Open));
        for text in [
            "", "nan", "inf", "1e999", "-274", "4,5,6", "1,234.5", "4,500", "4 K", "4x", "--", "°C",
        ] {
            assert!(celsius(text).is_err(), "{text}");
        }
        assert!(value_of("-1", Some(ValueUnit::Ohm), Separator::Comma).is_err());
    }

    #[test]
    fn a_cell_may_have_its_unit() {
        for (text, value) in [
            ("3.00 °C", Value::Celsius(3.0)),
            ("3,00°C", Value::Celsius(3.0)),
            ("3.00 \u{ba}C", Value::Celsius(3.0)),
            ("-3. ° c", Value::Celsius(-3.0)),
            ("37.4 °F", Value::Celsius((37.4 - 32.0) / 1.8)),
            ("37.4F", Value::Celsius((37.4 - 32.0) / 1.8)),
            ("32.65 k\u{2126}", Value::Ohm(32_650.0)),
            ("9800 ohms", Value::Ohm(9_800.0)),
        ] {
            assert_eq!(value_of(text, None, Separator::Comma), Ok(value), "{text}");
            assert!(is_value(text), "{text}");
        }
        let bare = value_of("3.0", None, Separator::Comma).expect_err("no unit");
        assert_eq!(bare.what, "\"3.0\" has no unit");
        let other = value_of("37.4 °F", Some(ValueUnit::Celsius), Separator::Comma);
        assert_eq!(
            other.expect_err("another unit").what,
            "\"37.4 °F\" is not in °C"
        );
    }
}
