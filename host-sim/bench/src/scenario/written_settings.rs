//! Settings as they are written so far, judged by the control itself.
//!
//! What a table does not give stays as it is: the defaults of the mode at first,
//! the settings so far afterwards. A refusal points at the line that gave the
//! setting.

use std::ops::Range;

use hysteron_logic::call::Mode;
use hysteron_logic::field::{Field, Unit};
use hysteron_logic::settings::{Draft, Reason, Refused, Settings};
use hysteron_logic::time::Duration;

use super::dormant::Drafted;
use super::setting::confirmed_by;
use super::settings_table::SettingsTable;
use hysteron_source::text::Problem;

/// Settings as written so far, with the place of each.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Written {
    drafted: Drafted,
    places: Vec<(Field, Range<usize>)>,
    /// The table last read, for settings that no line gives.
    table: Range<usize>,
}

impl Written {
    /// The settings of `[control]`, above the defaults of its mode.
    #[must_use]
    pub fn first(table: &SettingsTable) -> Self {
        let mut written = Self::default();
        match written.clone().changed_by(table).drafted.draft.mode {
            Mode::Cool => {}
            Mode::Heat => written.drafted.draft = Draft::HEATING,
        }
        written.changed_by(table)
    }

    /// These settings with the changes of a table.
    #[must_use]
    pub fn changed_by(mut self, table: &SettingsTable) -> Self {
        for given in &table.given {
            given.give(&mut self.drafted);
            if let Some(field) = given.setting.field() {
                self.places.retain(|(other, _)| *other != field);
                self.places.push((field, given.place.clone()));
            }
        }
        self.drafted.dormant.wake(&mut self.drafted.draft);
        self.table = table.place.clone();
        self
    }

    /// The settings, if the control accepts them.
    ///
    /// # Errors
    /// What the control refuses, at the line that gave it.
    pub fn check(&self) -> Result<Settings, Problem> {
        self.drafted
            .draft
            .check()
            .map_err(|refused| self.problem(refused))
    }

    /// The mode, and the place that gave it.
    #[must_use]
    pub fn mode(&self) -> (Mode, Range<usize>) {
        (self.drafted.draft.mode, self.place_of(Field::Mode))
    }

    /// The line that gave a setting, or else the table last read.
    fn place_of(&self, wanted: Field) -> Range<usize> {
        let place = self.places.iter().find(|(field, _)| *field == wanted);
        place.map_or_else(|| self.table.clone(), |(_, place)| place.clone())
    }

    fn problem(&self, refused: Refused) -> Problem {
        let about = refused.field.about();
        let given = self.place_of(refused.field);
        let problem = Problem::at(given, format!("the control refuses its {}", about.name));
        if refused.reason == Reason::OutOfRange {
            problem.expected(format!("expected {}", range_text(refused.field)))
        } else {
            problem.remedy(match confirmed_by(refused.reason) {
                Some(key) => format!("{} (Confirm by `{key} = true`.)", refused.reason.sentence()),
                None => refused.reason.sentence().to_owned(),
            })
        }
    }
}

/// The range of a setting in words, empty for a choice.
fn range_text(field: Field) -> String {
    let about = field.about();
    let thousandth = |value: i64| value as f64 / 1_000.0;
    let time = |value: i64| Duration::from_millis(value.unsigned_abs()).to_string();
    let (lowest, highest) = (about.lowest, about.highest);
    match about.unit {
        Unit::Choice => String::new(),
        Unit::Count => format!("{lowest} to {highest}"),
        Unit::Temperature => format!("{} °C to {} °C", thousandth(lowest), thousandth(highest)),
        Unit::Difference => format!("{} K to {} K", thousandth(lowest), thousandth(highest)),
        Unit::Time => format!("{} to {}", time(lowest), time(highest)),
        Unit::Ohms => format!("{lowest} Ω to {highest} Ω"),
    }
}
