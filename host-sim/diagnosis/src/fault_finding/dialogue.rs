//! One question after the other: the program proposes a measurement, a person answers.

use std::collections::HashSet;

use super::answer::{left, next_words};
use super::measurement::{Measurement, MeterReading};
use super::reading_text;
use super::search::{Proposal, Search};
use hysteron_installation::Installation;
use hysteron_source::text::{Problem, Rejected, SourceText};

/// A search that asks.
#[derive(Debug, Clone)]
pub struct Dialogue<'i> {
    installation: &'i Installation,
    search: Search,
    skipped: HashSet<Measurement>,
    proposal: Option<Proposal>,
}

/// What became of an answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Turn {
    /// It was taken.
    Goes,
    /// The person has enough.
    Ends,
    /// It could not be read; nothing has changed.
    Misread(Box<Rejected>),
}

impl<'i> Dialogue<'i> {
    /// Starts from what was read so far.
    #[must_use]
    pub fn new(installation: &'i Installation, search: Search) -> Self {
        let skipped = HashSet::new();
        Self {
            proposal: search.proposal(&skipped),
            installation,
            search,
            skipped,
        }
    }

    /// The search so far.
    #[must_use]
    pub fn search(&self) -> &Search {
        &self.search
    }

    /// The measurement that is asked for; absent when none tells any more.
    #[must_use]
    pub fn proposal(&self) -> Option<Proposal> {
        self.proposal
    }

    /// What is left, and which measurement is asked for; absent when none tells any more.
    #[must_use]
    pub fn question(&self) -> Option<String> {
        let next = next_words(self.installation, &self.search, self.proposal?);
        let left = left(self.installation, &self.search);
        Some(format!(
            "\n{left}\n{next}What does the meter show? (a value, skip, back, done)"
        ))
    }

    /// Takes what the person wrote: a value for what was asked, a whole reading of something
    /// else, `skip`, `back` or `done`.
    pub fn answered(&mut self, written: &str) -> Turn {
        match (written.to_lowercase().as_str(), self.proposal) {
            ("done", _) => return Turn::Ends,
            ("back", _) => self.search.take_back(),
            ("skip", Some(proposal)) => {
                self.skipped.insert(proposal.measurement);
            }
            (_, proposal) => match self.reading(written, proposal) {
                Ok(reading) => self.search.take(reading),
                Err(rejected) => return Turn::Misread(Box::new(rejected)),
            },
        }
        self.proposal = self.search.proposal(&self.skipped);
        Turn::Goes
    }

    fn reading(&self, written: &str, proposal: Option<Proposal>) -> Result<MeterReading, Rejected> {
        let source = SourceText::new("answer", written)?;
        let Some(Proposal { measurement, .. }) = proposal.filter(|_| !written.contains([':', '=']))
        else {
            return reading_text::read(&source, self.installation);
        };
        reading_text::value(written, measurement.occasion)
            .map(|shown| MeterReading { measurement, shown })
            .map_err(|misread| {
                let problem = Problem::at(0..written.len(), misread.what)
                    .expected(format!("expected {}", misread.expected))
                    .remedy(misread.remedy.unwrap_or_else(|| {
                        format!(
                            "nothing was lost: answer again, or write a whole reading, as in \"{}\"",
                            reading_text::EXAMPLE
                        )
                    }));
                source.rejected(vec![problem])
            })
    }
}
