//! The cases of a scenario: one, or one for each `[[variant]]`.

use std::sync::Arc;

use hysteron_logic::time::Duration;

use super::happening_table::WrittenHappening;
use super::plan::{Case, ContactFeedback};
use super::plant_table::PlantPlan;
use super::setting::mode_word;
use super::settings_table::SettingsTable;
use super::timeline::Timeline;
use super::written_settings::Written;
use hysteron_source::entry::{Defaulted, Described, Optional, Reads, Required, Text, Words};
use hysteron_source::form::{Form, Shape};
use hysteron_source::table::Table;
use hysteron_source::text::{Problem, Problems};

/// A control that calls for cold where there is only heat, or the other way round, would drive
/// the plant the farther the more it calls.
fn wrong_way(plant: &PlantPlan, written: &Written) -> Option<Problem> {
    let (given, place) = written.mode();
    let fitting = plant.mode().filter(|fitting| *fitting != given)?;
    let (given, fitting) = (mode_word(given), mode_word(fitting));
    let what = format!(
        "a plant of the kind \"{}\" is not made to {given}",
        plant.kind()
    );
    Some(
        Problem::at(place, what)
            .expected(format!("mode = \"{fitting}\""))
            .remedy(match plant {
                PlantPlan::Room(_) => {
                    "choose the other mode, or the other `conditioning` of the room"
                }
                PlantPlan::RefrigeratedBox(..)
                | PlantPlan::PumpingDown(..)
                | PlantPlan::HeatedTank(_)
                | PlantPlan::CooledTank(..)
                | PlantPlan::Condenser(_)
                | PlantPlan::FirstOrder(_) => "choose the other mode, or another plant",
            }),
    )
}

/// What the entry of a scenario or a variant says of the contact's feedback.
pub const CONTACT_FEEDBACK: Defaulted<Words<ContactFeedback>> = Defaulted {
    key: "contact_feedback",
    default: "\"fitted\"",
    form: Words(&[
        ("fitted", ContactFeedback::Fitted),
        ("not fitted", ContactFeedback::NotFitted),
    ]),
    sentence: "Whether the board has an input that tells 80 % of the nominal voltage, and more, at its relay's normally open terminal.",
};

const NAME: Required<Text> = Required {
    key: "name",
    example: "\"open the relay\"",
    form: Text,
    sentence: "What it is called.",
};

const FEEDBACK: Optional<Words<ContactFeedback>> = Optional {
    key: CONTACT_FEEDBACK.key,
    form: CONTACT_FEEDBACK.form,
    sentence: "What is different in it about the contact's feedback.",
};

const SETTINGS: Optional<Described> = Optional {
    key: "settings",
    form: Described(|| Form::Table(SettingsTable::shape())),
    sentence: "Settings that stand above those of [control].",
};

/// What a `[[variant]]` may hold.
pub fn variant_shape() -> Shape {
    Shape::of(
        "variant",
        "One way to run the scenario: other settings, other contact feedback, or both.",
        vec![NAME.row(), FEEDBACK.row(), SETTINGS.row()],
    )
}

/// What every case goes through.
pub struct Course<'p> {
    /// What happens.
    pub happenings: Arc<[WrittenHappening]>,
    /// When the scenario ends.
    pub end: Duration,
    /// The plant; none while it has a problem.
    pub plant: Option<&'p PlantPlan>,
    /// Where problems are noted.
    pub problems: &'p Problems,
}

impl Course<'_> {
    /// The cases; none after noting what is wrong.
    pub fn cases(
        &self,
        control: &Written,
        contact_feedback: ContactFeedback,
        variants: Vec<Table<'_>>,
    ) -> Option<Vec<Case>> {
        if variants.is_empty() {
            return Some(vec![self.case(None, control, contact_feedback)?]);
        }
        let mut cases: Vec<Option<Case>> = Vec::new();
        let mut names: Vec<toml::Spanned<String>> = Vec::new();
        for mut table in variants {
            let name = NAME.item(&mut table).and_then(|item| item.text());
            let feedback = FEEDBACK.item(&mut table);
            let settings = match (SETTINGS.item(&mut table), &feedback) {
                (None, Some(_)) => Some(None),
                (Some(item), _) => SettingsTable::read(&item, SETTINGS.key).map(Some),
                (None, None) => {
                    table.missing(SETTINGS.key, "{ fallback = \"open\" }");
                    None
                }
            };
            let feedback = match feedback {
                Some(item) => FEEDBACK.form.read(&item),
                None => Some(contact_feedback),
            };
            table.finish();
            let (Some(name), Some(settings), Some(feedback)) = (name, settings, feedback) else {
                cases.push(None);
                continue;
            };
            if let Some(first) = names.iter().find(|first| first.get_ref() == name.get_ref()) {
                self.problems.add(
                    Problem::at(name.span(), "two variants have the same name")
                        .because_of(first.span(), "the other"),
                );
            }
            let written = match &settings {
                Some(settings) => control.clone().changed_by(settings),
                None => control.clone(),
            };
            cases.push(self.case(Some(name.get_ref().clone()), &written, feedback));
            names.push(name);
        }
        cases.into_iter().collect()
    }

    fn case(
        &self,
        name: Option<String>,
        written: &Written,
        contact_feedback: ContactFeedback,
    ) -> Option<Case> {
        // What else the control refuses may only follow from the mode.
        if let Some(problem) = self.plant.and_then(|plant| wrong_way(plant, written)) {
            self.problems.add(problem);
            return None;
        }
        let settings = written
            .check()
            .map_err(|problem| self.problems.add(problem));
        let timeline = Timeline::new(written.clone(), Arc::clone(&self.happenings), self.end);
        timeline.check(self.problems);
        Some(Case {
            name,
            settings: settings.ok()?,
            contact_feedback,
            timeline,
        })
    }
}
