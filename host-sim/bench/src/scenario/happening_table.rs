//! What happens, as each `[[happening]]` gives it.

use std::ops::Range;

use super::failing_part::{failure_rows, part_row, read_failure, read_part};
use super::happening::{Happening, Hold, Lasting, NamedPart};
use super::happenings::{
    AMBIENT_SHIFT, AMBIENT_TEMPERATURE, HAPPENINGS, HappeningRow, Needs, Takes,
};
use super::installation_name::Named;
use super::plant_table::PlantPlan;
use super::schedule::{self, Frame, Schedule};
use super::settings_table::SettingsTable;
use hysteron_installation::part::Kind;
use hysteron_installation::terminal::PartId;
use hysteron_source::entry::{Described, Reads, Required};
use hysteron_source::form::{Case, Form, Presence, Row, Shape};
use hysteron_source::table::Table;
use hysteron_source::text::Problem;

/// A happening as written, before the settings that it may change are known.
#[derive(Debug, Clone, PartialEq)]
pub struct WrittenHappening {
    /// When.
    pub schedule: Schedule,
    /// What.
    pub what: WrittenWhat,
}

/// What happens, as written.
#[derive(Debug, Clone, PartialEq)]
pub enum WrittenWhat {
    /// Something that is the same in every case.
    Plain(Happening),
    /// A change of settings, from whatever they are then.
    SettingsChange(SettingsTable),
    /// What was held is let go.
    Mended {
        /// What.
        hold: Hold,
        /// What may want it though no happening holds it: a fuse or a breaker that has opened.
        restores: Option<NamedPart>,
    },
}

impl WrittenWhat {
    /// What it is, in words.
    pub fn words(&self) -> &str {
        match self {
            Self::Plain(happening) => happening.words(),
            Self::SettingsChange(_) => "settings change",
            Self::Mended { hold, .. } => hold.mended_by().unwrap_or_default(),
        }
    }

    /// How long it goes on.
    pub fn lasting(&self) -> Lasting {
        match self {
            Self::Plain(happening) => happening.lasting(),
            Self::SettingsChange(_) | Self::Mended { .. } => Lasting::Moment,
        }
    }
}

/// A word after `what =`.
#[derive(Debug, Clone, Copy)]
enum Word<'h> {
    Happens(&'static HappeningRow),
    Mended(&'h Hold),
}

/// The key of what happens.
const WHAT: &str = "what";

const SETTINGS: Required<Described> = Required {
    key: "settings",
    example: "{ setpoint = \"4 °C\" }",
    form: Described(|| Form::Table(SettingsTable::shape())),
    sentence: "What is asked for; all else stays as it is.",
};

/// What a `[[happening]]` may hold.
pub fn shape() -> Shape {
    let happens = HAPPENINGS.iter().map(|row| {
        let sentence = format!("{} {}", row.sentence, row.lasts.sentence());
        Case::says(WHAT, row.words, sentence, row.takes.rows())
    });
    let mended = Hold::mendable().map(|(words, hold)| {
        let sentence = format!("Lets go of {}.", hold.words());
        Case::says(WHAT, words, sentence, Vec::new())
    });
    let cases: Vec<Case> = happens.chain(mended).collect();
    let words = cases.iter().flat_map(Case::words).collect();
    let what = Row {
        key: WHAT,
        form: Form::Words(words),
        presence: Presence::Required(WHAT_EXAMPLE),
        sentence: "What happens.".to_owned(),
    };
    let mut rows = schedule::rows();
    rows.push(what);
    Shape {
        name: "happening",
        sentence: "Something that happens, once or again and again.",
        rows,
        cases,
    }
}

const WHAT_EXAMPLE: &str = "\"door opens\"";

/// Reads one `[[happening]]`.
pub fn read_happening(
    mut table: Table<'_>,
    frame: Frame,
    plant: Option<&PlantPlan>,
    installation: Named<'_>,
) -> Option<WrittenHappening> {
    let schedule = Schedule::read(&mut table, frame);
    let mendable: Vec<(&'static str, Hold)> = Hold::mendable().collect();
    let happens = HAPPENINGS.iter().map(|row| (row.words, Word::Happens(row)));
    let mended = mendable
        .iter()
        .map(|(words, hold)| (*words, Word::Mended(hold)));
    let words: Vec<(&'static str, Word<'_>)> = happens.chain(mended).collect();
    let word = table.required(WHAT, WHAT_EXAMPLE)?.one_of(&words)?;
    let what = match word.get_ref() {
        Word::Happens(row) => row.takes.read(&mut table, (word.span(), installation)),
        Word::Mended(hold) => Some(WrittenWhat::Mended {
            hold: (*hold).clone(),
            restores: None,
        }),
    };
    let problems = table.problems();
    table.finish();
    let (schedule, what) = (schedule?, what?);
    match misplaced(&what, word.span(), plant)
        .or_else(|| badly_ended(&schedule, &what, word.span()))
    {
        Some(problem) => {
            problems.add(problem);
            None
        }
        None => Some(WrittenHappening { schedule, what }),
    }
}

impl Takes {
    /// What it takes, for people.
    fn rows(&self) -> Vec<Row> {
        match self {
            Self::Nothing(_) => Vec::new(),
            Self::One(entry, _) => vec![entry.row()],
            Self::Two(entries, _) => entries.iter().map(Required::row).collect(),
            Self::Ambient => vec![AMBIENT_TEMPERATURE.row(), AMBIENT_SHIFT.row()],
            Self::Settings => vec![SETTINGS.row()],
            Self::PartAndFault => failure_rows(),
            Self::MendedPart => vec![part_row()],
        }
    }

    fn read(&self, table: &mut Table<'_>, named: (Range<usize>, Named<'_>)) -> Option<WrittenWhat> {
        Some(WrittenWhat::Plain(match self {
            Self::Nothing(happening) => happening.clone(),
            Self::One(entry, made) => made(entry.read(table)?),
            Self::Two(entries, made) => {
                let [one, other] = entries.each_ref().map(|entry| entry.read(table));
                made(one?, other?)
            }
            Self::Ambient => read_ambient_change(table)?,
            Self::Settings => {
                let item = SETTINGS.item(table)?;
                return SettingsTable::read(&item, SETTINGS.key).map(WrittenWhat::SettingsChange);
            }
            Self::PartAndFault => Happening::PartFails(read_failure(table, named)?),
            Self::MendedPart => {
                let part = read_part(table, named.clone())?;
                return Some(WrittenWhat::Mended {
                    restores: opens_by_itself(part.id, named.1).then(|| part.clone()),
                    hold: Hold::Part(part),
                });
            }
        }))
    }
}

/// Whether nobody but the electricity may know that the part wants mending.
fn opens_by_itself(part: PartId, named: Named<'_>) -> bool {
    match named {
        Named::Rightly(wiring) => {
            matches!(wiring.installation.part(part).kind, Kind::Overcurrent(_))
        }
        Named::Not | Named::Wrong => false,
    }
}

fn read_ambient_change(table: &mut Table<'_>) -> Option<Happening> {
    let temperature = AMBIENT_TEMPERATURE.item(table);
    let by = AMBIENT_SHIFT.item(table);
    match (temperature, by) {
        (Some(temperature), None) => AMBIENT_TEMPERATURE
            .form
            .read(&temperature)
            .map(Happening::AmbientIs),
        (None, Some(by)) => AMBIENT_SHIFT.form.read(&by).map(Happening::AmbientShifts),
        (Some(temperature), Some(by)) => {
            temperature.note(
                Problem::at(by.key_span(), "the change of ambient is given twice")
                    .because_of(temperature.key_span(), "this gives it too")
                    .remedy("keep `temperature` (what it becomes) or `by` (how much it changes)"),
            );
            None
        }
        (None, None) => {
            table.missing(AMBIENT_TEMPERATURE.key, "\"40 °C\"");
            None
        }
    }
}

/// A happening that has nothing to take hold of in this plant.
fn misplaced(
    what: &WrittenWhat,
    place: Range<usize>,
    plant: Option<&PlantPlan>,
) -> Option<Problem> {
    let plant = plant?;
    let WrittenWhat::Plain(happening) = what else {
        return None;
    };
    if let Happening::ProductLoaded { mass_kg, .. } = happening
        && let Some(contents) = plant.contents()
        && *mass_kg > contents.mass_kg
    {
        let what = format!("{mass_kg} kg is more than there is to make room for it");
        return Some(
            Problem::at(place, what)
                .expected(format!(
                    "at most the {} kg that the plant holds",
                    contents.mass_kg
                ))
                .remedy("load less, or let the plant hold more"),
        );
    }
    let lacking = happening.row().needs.lacking_in(plant)?;
    let what = format!("a plant of the kind \"{}\" has no {lacking}", plant.kind());
    Some(Problem::at(place, what).remedy("leave this happening out, or choose another plant"))
}

impl Needs {
    /// What it needs and the plant has not.
    fn lacking_in(self, plant: &PlantPlan) -> Option<&'static str> {
        let (there, needed) = match self {
            Self::Nothing => return None,
            Self::Door => (plant.has_door(), "door"),
            Self::Draw => (plant.has_draw(), "draw of water"),
            Self::Product => (plant.contents().is_some(), "product"),
            Self::LiquidLineValve => (
                plant.pump_down().is_some(),
                "liquid-line valve without [plant.pump_down]",
            ),
            Self::Surroundings => (plant.feels_ambient(), "surroundings"),
        };
        (!there).then_some(needed)
    }
}

/// A schedule whose ends do not suit what happens.
fn badly_ended(schedule: &Schedule, what: &WrittenWhat, place: Range<usize>) -> Option<Problem> {
    let has_end = schedule.has_end();
    let words = what.words();
    match what.lasting() {
        Lasting::Moment if has_end => Some(
            Problem::at(
                place,
                format!("\"{words}\" is over at once, yet it is given an end"),
            )
            .remedy("leave out `for`, and `until` where there is no `every`"),
        ),
        Lasting::ForATime(_) if !has_end => Some(
            Problem::at(
                place,
                format!("\"{words}\" needs a time for which it lasts"),
            )
            .remedy("add `for = \"2 min\"` or `until = \"18:00\"`"),
        ),
        Lasting::UntilMended(_) if schedule.times().nth(1).is_some() && !has_end => Some(
            Problem::at(
                place,
                format!("\"{words}\" would begin again before it is over"),
            )
            .remedy("add `for = \"2 min\"`"),
        ),
        Lasting::Moment | Lasting::ForATime(_) | Lasting::UntilMended(_) => None,
    }
}
