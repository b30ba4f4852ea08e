//! A reading as a person types it: `calling: compressor.line1 to ground = 120 V`.

use std::ops::Range as Span;

use super::measurement::{Measurement, MeterFunction, MeterReading, Occasion};
use hysteron_installation::Installation;
use hysteron_installation::file::unknown_terminal;
use hysteron_installation::readings::Probing;
use hysteron_installation::terminal::TerminalId;
use hysteron_source::text::{Misread, Problem, Rejected, SourceText, any_of, nearest};

/// How a reading is typed.
pub const EXAMPLE: &str = "calling: control.relay_common to control.normally_open = 120 V";

/// What stands for the ground in place of a second terminal.
pub const GROUND: &str = "ground";

/// No meter of this trade shows more, in volts.
const MOST_V: f64 = 1000.0;

/// Reads one reading: when, from, to, and what the meter showed.
///
/// # Errors
/// With what is wrong and where: a missing sign, an unknown occasion or terminal, a value that
/// is no reading.
pub fn read(source: &SourceText, installation: &Installation) -> Result<MeterReading, Rejected> {
    parsed(source.text(), installation).map_err(|problem| source.rejected(vec![problem]))
}

fn parsed(text: &str, installation: &Installation) -> Result<MeterReading, Problem> {
    let whole = trimmed(text, 0..text.len());
    let Some(colon) = text.find(':') else {
        return Err(lacking(whole, "`:` after the moment"));
    };
    let Some(equals) = text.rfind('=').filter(|&equals| equals > colon) else {
        return Err(lacking(whole, "`=` and what the meter showed"));
    };
    let when = trimmed(text, 0..colon);
    let places = trimmed(text, colon + 1..equals);
    let shows = trimmed(text, equals + 1..text.len());
    let refused = |span: &Span<usize>, misread: Misread| {
        let problem = Problem::at(span.clone(), misread.what)
            .expected(format!("expected {}", misread.expected));
        match misread.remedy {
            Some(remedy) => problem.remedy(remedy),
            None => problem,
        }
    };
    let occasion = occasion(&text[when.clone()]).map_err(|misread| refused(&when, misread))?;
    let Some((from, to)) = split(text, places.clone(), installation) else {
        return Err(lacking(places, "` to ` between two terminals"));
    };
    let probing = probing((&text[from.clone()], &text[to.clone()]), installation).map_err(
        |(place, misread)| match place {
            Place::From => refused(&from, misread),
            Place::To => refused(&to, misread),
        },
    )?;
    let shown =
        value(&text[shows.clone()], occasion).map_err(|misread| refused(&shows, misread))?;
    let measurement = Measurement { occasion, probing };
    Ok(MeterReading { measurement, shown })
}

fn lacking(span: Span<usize>, what: &str) -> Problem {
    Problem::at(span, format!("the reading lacks {what}"))
        .remedy(format!("write it as in \"{EXAMPLE}\""))
}

fn trimmed(text: &str, span: Span<usize>) -> Span<usize> {
    let part = &text[span.clone()];
    let start = span.start + (part.len() - part.trim_start().len());
    start..start + part.trim().len()
}

/// The two sides of the `to` that has a terminal before it, or else of the first.
fn split(
    text: &str,
    span: Span<usize>,
    installation: &Installation,
) -> Option<(Span<usize>, Span<usize>)> {
    const TO: &str = " to ";
    let places = &text[span.clone()];
    let sides = |at: usize| {
        let (start, end) = (span.start + at, span.start + at + TO.len());
        (
            trimmed(text, span.start..start),
            trimmed(text, end..span.end),
        )
    };
    let all: Vec<_> = places.match_indices(TO).map(|(at, _)| sides(at)).collect();
    let known = |(from, _): &&(Span<usize>, Span<usize>)| {
        installation.terminal_named(&text[from.clone()]).is_some()
    };
    all.iter().find(known).or_else(|| all.first()).cloned()
}

/// Which of two places a mistake is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// The first.
    From,
    /// The second.
    To,
}

/// The occasion of that name.
///
/// # Errors
/// When there is none of that name.
pub fn occasion(written: &str) -> Result<Occasion, Misread> {
    let plain = |text: &str| text.trim().to_lowercase().replace(['-', '_'], " ");
    let names: Vec<&str> = Occasion::ALL.iter().map(|(name, _)| *name).collect();
    Occasion::ALL
        .iter()
        .find(|(name, _)| *name == plain(written))
        .map(|&(_, occasion)| occasion)
        .ok_or_else(|| Misread {
            what: format!("\"{written}\" is no moment to measure at"),
            expected: any_of(&names),
            remedy: nearest(written, names.iter().copied())
                .map(|meant| format!("did you mean \"{meant}\"?")),
        })
}

/// Where the leads go, from one terminal to another or to `ground`.
///
/// # Errors
/// When there is no such terminal, or both are the same.
pub fn probing(
    (from, to): (&str, &str),
    installation: &Installation,
) -> Result<Probing, (Place, Misread)> {
    let known = |name: &str| -> Result<TerminalId, Misread> {
        installation
            .terminal_named(name)
            .ok_or_else(|| unknown_terminal(name, installation))
    };
    if from.eq_ignore_ascii_case(GROUND) {
        let misread = Misread {
            what: "the first lead is on ground".to_owned(),
            expected: "a terminal first, and then ground".to_owned(),
            remedy: Some(format!("write \"{to} to {GROUND}\"")),
        };
        return Err((Place::From, misread));
    }
    let one = known(from).map_err(|misread| (Place::From, misread))?;
    if to.eq_ignore_ascii_case(GROUND) {
        return Ok(Probing::ToGround(one));
    }
    let other = known(to).map_err(|misread| (Place::To, misread))?;
    if one == other {
        let misread = Misread {
            what: "both leads are on one terminal".to_owned(),
            expected: "another terminal, or ground".to_owned(),
            remedy: None,
        };
        return Err((Place::To, misread));
    }
    Ok(Probing::Between(one, other))
}

/// What a meter showed: volts with power on, ohms or `open` with power off. The unit may be
/// left out.
///
/// # Errors
/// When it is no number, has the wrong unit for the occasion, or lies beyond any meter.
pub fn value(written: &str, occasion: Occasion) -> Result<f64, Misread> {
    let meter = occasion.meter();
    let expected = match meter {
        MeterFunction::Volts => "volts, as in 120 V",
        MeterFunction::Ohms => "ohms, as in 12.5 ohms or 3 kilohms, or open",
    };
    let misread = |what: String, remedy: Option<&str>| Misread {
        what,
        expected: expected.to_owned(),
        remedy: remedy.map(str::to_owned),
    };
    let text = written.trim();
    let lower = text.to_lowercase();
    if meter == MeterFunction::Ohms && ["open", "no continuity", "infinite"].contains(&&*lower) {
        return Ok(f64::INFINITY);
    }
    let end = text
        .find(|sign: char| !(sign.is_ascii_digit() || "+-.,".contains(sign)))
        .unwrap_or(text.len());
    let (number, unit) = text.split_at(end);
    let Some(number) = number
        .replace(',', ".")
        .parse::<f64>()
        .ok()
        .filter(|number| number.is_finite())
    else {
        return Err(misread(format!("\"{text}\" is no reading"), None));
    };
    let factor = factor(unit.trim(), meter).map_err(|(what, remedy)| misread(what, remedy))?;
    let shown = number * factor;
    if shown < 0.0 {
        let remedy = "alternating voltage and resistance have no sign: write it without";
        return Err(misread("a reading below zero".to_owned(), Some(remedy)));
    }
    match meter {
        MeterFunction::Volts if shown > MOST_V => {
            Err(misread(format!("{shown} V is beyond any meter here"), None))
        }
        MeterFunction::Volts | MeterFunction::Ohms => Ok(shown),
    }
}

/// What one of the unit is, in the unit of the occasion.
fn factor(unit: &str, meter: MeterFunction) -> Result<f64, (String, Option<&'static str>)> {
    let volts = match unit {
        "V" | "v" | "volt" | "volts" => Some(1.0),
        "mV" | "millivolts" => Some(1e-3),
        _ => None,
    };
    let ohms = match unit {
        "ohm" | "ohms" | "Ω" | "\u{2126}" => Some(1.0),
        "kilohm" | "kilohms" | "kΩ" | "k\u{2126}" | "kohm" => Some(1e3),
        "megohm" | "megohms" | "MΩ" | "M\u{2126}" | "Mohm" => Some(1e6),
        _ => None,
    };
    match (meter, volts, ohms) {
        _ if unit.is_empty() => Ok(1.0),
        (MeterFunction::Volts, Some(factor), _) | (MeterFunction::Ohms, _, Some(factor)) => {
            Ok(factor)
        }
        (MeterFunction::Volts, None, Some(_)) => Err((
            "ohms with power on".to_owned(),
            Some("resistance is measured with power off: write \"power off: ...\""),
        )),
        (MeterFunction::Ohms, Some(_), None) => Err((
            "volts with power off".to_owned(),
            Some(
                "voltage is measured with power on: \"satisfied\", \"calling\" or \"breakers open\"",
            ),
        )),
        (MeterFunction::Volts | MeterFunction::Ohms, ..) => {
            Err((format!("\"{unit}\" is no unit of a reading"), None))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_read_as_a_mechanic_writes_them() {
        for (written, occasion, shown) in [
            ("120 V", Occasion::Calling, 120.0),
            ("119,5V", Occasion::Satisfied, 119.5),
            ("0", Occasion::Calling, 0.0),
            ("350 mV", Occasion::Calling, 0.35),
            ("12.5 ohms", Occasion::PowerOff, 12.5),
            ("3.3 kΩ", Occasion::PowerOff, 3300.0),
            ("2 megohms", Occasion::PowerOff, 2e6),
            ("Open", Occasion::PowerOff, f64::INFINITY),
        ] {
            let read = value(written, occasion).unwrap();
            assert!(
                read == shown || (read / shown - 1.0).abs() < 1e-12,
                "{written}: {read}"
            );
        }
        for (written, occasion) in [
            ("open", Occasion::Calling),
            ("", Occasion::Calling),
            ("-3 V", Occasion::Calling),
            ("1e9", Occasion::Calling),
            ("1200 V", Occasion::Calling),
            ("nan", Occasion::PowerOff),
            ("12 V", Occasion::PowerOff),
            ("12 ohms", Occasion::Satisfied),
            ("12 furlongs", Occasion::PowerOff),
            ("1.2.3 V", Occasion::Calling),
        ] {
            assert!(value(written, occasion).is_err(), "{written}");
        }
    }
}
