//! What the readings leave, and what to do next, as a person reads it.

use std::fmt::Write;

use super::hypothesis::Depth;
use super::measurement::{MeterFunction, MeterReading, NO_CONTINUITY_OHM, Occasion, value_words};
use super::search::{Candidate, Outcome, Proposal, Search};
use super::tolerance::Interval;
use hysteron_installation::Installation;

/// More candidates than this are summed up in a line.
const SHOWN: usize = 12;

/// How many outcomes of the next measurement are told.
const OUTCOMES_SHOWN: usize = 6;

/// What the share of a possibility rests on, as [`super::hypothesis::weight`] has it.
pub const ROUGH_WEIGHTS: &str = "rough weights (from memory)";

/// The whole answer.
#[must_use]
pub fn as_text(installation: &Installation, search: &Search, next: Option<Proposal>) -> String {
    let mut text = format!("{}\n", installation.title());
    if !search.readings().is_empty() {
        text.push_str("\nReadings:\n");
        for reading in search.readings() {
            let _ = writeln!(text, "  {}", reading.words(installation));
        }
    }
    text.push('\n');
    if search.candidates().is_empty() {
        text.push_str(&unexplained(installation, search));
        return text;
    }
    text.push_str(&left(installation, search));
    text.push_str(&alike(installation, search, next));
    if let Some(next) = next {
        text.push('\n');
        text.push_str(&next_words(installation, search, next));
    }
    text
}

/// Which hypotheses are left, the likeliest first.
#[must_use]
pub fn left(installation: &Installation, search: &Search) -> String {
    let candidates = search.candidates();
    let of = search.hypothesis_count();
    let mut text = match (search.readings().len(), candidates.len()) {
        (0, _) => format!(
            "Nothing was measured yet. Of {of} possibilities the likeliest, by {ROUGH_WEIGHTS}:\n"
        ),
        (_, 1) => format!("One of {of} possibilities explains every reading:\n"),
        (_, several) => format!(
            "{several} of {of} possibilities explain every reading. Shares rest on \
             {ROUGH_WEIGHTS}:\n"
        ),
    };
    for candidate in candidates.iter().take(SHOWN) {
        let _ = writeln!(text, "  {}", line(installation, *candidate));
    }
    if candidates.len() > SHOWN {
        let rest = &candidates[SHOWN..];
        let share: f64 = rest.iter().map(|candidate| candidate.share).sum();
        let _ = writeln!(text, "  {}  {} more", percent(share), rest.len());
    }
    text
}

fn line(installation: &Installation, candidate: Candidate<'_>) -> String {
    let words = candidate.hypothesis.words(installation);
    format!("{}  {words}", percent(candidate.share))
}

fn percent(share: f64) -> String {
    if share < 0.005 {
        " <1 %".to_owned()
    } else {
        format!("{:3.0} %", 100.0 * share)
    }
}

/// The groups that no reading tells apart, where so few are left that they can be looked at.
fn alike(installation: &Installation, search: &Search, next: Option<Proposal>) -> String {
    if next.is_some() && search.candidates().len() > SHOWN {
        return String::new();
    }
    let mut text = String::new();
    for group in search.groups().iter().filter(|group| group.len() > 1) {
        text.push_str(
            "\nNo reading at the terminals tells these apart for sure; look, listen, or test the \
             part by itself:\n",
        );
        for candidate in group.iter().take(SHOWN) {
            let _ = writeln!(text, "  - {}", candidate.hypothesis.words(installation));
        }
        if group.len() > SHOWN {
            let _ = writeln!(text, "  - and {} more", group.len() - SHOWN);
        }
    }
    text
}

/// The next measurement: where, what it may show, how much that tells, and what to take care of.
#[must_use]
pub fn next_words(installation: &Installation, search: &Search, next: Proposal) -> String {
    let Proposal { measurement, bits } = next;
    let occasion = measurement.occasion;
    let mut text = format!(
        "Measure next ({}, {bits:.2} bits):\n  {}\n  to do:   {}\n  caution: {}\n",
        occasion.meter().words(),
        measurement.words(installation),
        occasion.how(installation),
        occasion.caution()
    );
    let mut outcomes = search.outcomes(measurement);
    if outcomes.len() == 1 {
        // Some may show anything, and so bridge what the others would show.
        outcomes.clear();
    }
    for Outcome { range, candidates } in outcomes.iter().take(OUTCOMES_SHOWN) {
        let what = match candidates.as_slice() {
            [only] => only.hypothesis.words(installation),
            several => {
                let share: f64 = several.iter().map(|candidate| candidate.share).sum();
                let percent = percent(share);
                format!(
                    "{} possibilities, {} together",
                    several.len(),
                    percent.trim()
                )
            }
        };
        let _ = writeln!(text, "  {}: {what}", range_words(occasion, *range));
    }
    if outcomes.len() > OUTCOMES_SHOWN {
        let _ = writeln!(
            text,
            "  and {} more outcomes",
            outcomes.len() - OUTCOMES_SHOWN
        );
    }
    text
}

fn range_words(occasion: Occasion, range: Interval) -> String {
    let highest = match occasion.meter() {
        MeterFunction::Volts => range.highest,
        MeterFunction::Ohms => range.highest.min(NO_CONTINUITY_OHM),
    };
    let [from, to] = [range.lowest, highest].map(|value| value_words(occasion, value));
    if from == to {
        return from;
    }
    // The unit once, where it is the same.
    let unit = to.split_once(' ').map_or("", |(_, unit)| unit);
    let from = from.strip_suffix(unit).map_or(from.as_str(), str::trim_end);
    format!("{from} to {to}")
}

/// Why nothing is left, and what comes nearest.
fn unexplained(installation: &Installation, search: &Search) -> String {
    let mut text = String::from("No possibility explains every reading. The nearest:\n");
    for (hypothesis, misfits) in search.nearest_misses().into_iter().take(3) {
        let _ = writeln!(text, "  {}", hypothesis.words(installation));
        for (reading, range) in misfits {
            let MeterReading { measurement, .. } = reading;
            let _ = writeln!(
                text,
                "    would show {} at {}",
                range_words(measurement.occasion, range),
                measurement.words(installation)
            );
        }
    }
    let otherwise = match search.depth() {
        Depth::Single => "search with --two-faults, or see",
        Depth::Double => "see",
    };
    let _ = writeln!(
        text,
        "\nTake those readings again. If they stand, {otherwise} whether the installation is wired \
         as its file says."
    );
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fault_finding::reading_text;
    use crate::fault_finding::tolerance::Tolerance;
    use hysteron_installation::arrangements::named;
    use hysteron_installation::file;
    use hysteron_source::text::SourceText;

    #[test]
    fn shares_are_told_to_rest_on_rough_weights() {
        let text = named("compressor-120").expect("ships").text;
        let source = SourceText::new("compressor-120", text).expect("short");
        let installation = file::read(&source).expect("sound");
        let mut search = Search::new(&installation, Depth::Single, Tolerance::default());
        for measured in 0..2 {
            let text = as_text(&installation, &search, None);
            assert!(search.candidates().len() > 1, "{text}");
            let (before, _) = text.split_once('%').expect("shares");
            assert!(before.contains(ROUGH_WEIGHTS), "{measured}: {text}");
            let reading = "calling: control.relay_common to control.normally_open = 120 V";
            let source = SourceText::new("reading", reading).expect("short");
            search.take(reading_text::read(&source, &installation).expect("a reading"));
        }
    }

    #[test]
    fn two_faults_are_advised_only_where_one_was_sought() {
        let text = named("compressor-120").expect("ships").text;
        let source = SourceText::new("compressor-120", text).expect("short");
        let installation = file::read(&source).expect("sound");
        let advice = |depth| {
            let mut search = Search::new(&installation, depth, Tolerance::default());
            for reading in [
                "calling: supply.hot to ground = 120 V",
                "satisfied: supply.hot to ground = 10 V",
            ] {
                let source = SourceText::new("reading", reading).expect("short");
                search.take(reading_text::read(&source, &installation).expect("a reading"));
            }
            as_text(&installation, &search, None)
        };
        let (single, double) = (advice(Depth::Single), advice(Depth::Double));
        assert!(
            single.contains("search with --two-faults, or see whether"),
            "{single}"
        );
        assert!(double.contains("If they stand, see whether"), "{double}");
        assert!(!double.contains("--two-faults"), "{double}");
    }
}
