//! A run that ends because its plant has left what the model knows.

use std::error::Error;
use std::fmt;

use hysteron_logic::time::Duration;

use crate::scenario::quantity_text::moment_text;
use hysteron_plant::known_range::Beyond;

/// Which plant has left its model, when, and how far.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftModel {
    /// The variant that ran, where there are some.
    pub case: Option<String>,
    /// The kind of plant, as a file names it.
    pub kind: &'static str,
    /// Time since the scenario began; at most a minute after it left.
    pub at: Duration,
    /// How far.
    pub beyond: Beyond,
}

impl LeftModel {
    /// What the person can do.
    pub const REMEDY: &'static str = "see whether power, heat and sizes of the plant are meant so, or \
        let the scenario end before";
}

impl fmt::Display for LeftModel {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Beyond { range, value_c } = self.beyond;
        if let Some(case) = &self.case {
            write!(f, "{case}: ")?;
        }
        write!(
            f,
            "at {} the {} would be {value_c:.2} °C, and the model of the plant \"{}\" knows it from \
             {} °C to {} °C only, so the run ends there",
            moment_text(self.at),
            range.quantity,
            self.kind,
            range.lowest_c,
            range.highest_c
        )
    }
}

impl Error for LeftModel {}
