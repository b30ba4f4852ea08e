//! A scenario that has been checked: everything the bench needs, and nothing it could refuse.

use std::path::Path;
use std::sync::Arc;

use hysteron_logic::settings::Settings;
use hysteron_logic::time::Duration;

use super::ambient_table::{AmbientPlan, read_ambient};
use super::control_table::{SettingsTable, mode_word};
use super::expectation::Expectation;
use super::expectation_table::{Scope, read_expectation};
use super::happening_table::{WrittenHappening, read_happening};
use super::installation_name::{Named, Wiring, read_installation};
use super::plant_table::{PlantPlan, read_plant};
use super::probe_table::{ProbePlan, read_probe};
use super::quantity_text::{duration_text, read_duration};
use super::schedule::Frame;
use super::seed;
use super::timeline::Timeline;
use super::whereabouts::Whereabouts;
use super::written_settings::Written;
use crate::record::runs::Runner;
use hysteron_plant::Quantity;
use hysteron_source::item::Item;
use hysteron_source::table::{Document, Table};
use hysteron_source::text::{Problem, Problems, Rejected, SourceText};

/// A checked scenario.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// What it is called.
    pub title: String,
    /// What it shows, for a person.
    pub about: Option<String>,
    /// How much time it covers.
    pub duration: Duration,
    /// Length of a step of plant, probe and control.
    pub step: Duration,
    /// What all chance is drawn from.
    pub seed: u64,
    /// What is cooled or heated.
    pub plant: PlantPlan,
    /// What stands between the fuse and the plant; without it, relay and supply act directly.
    pub wiring: Option<Wiring>,
    /// The air around it.
    pub ambient: AmbientPlan,
    /// The probe.
    pub probe: ProbePlan,
    /// What runs side by side, each from the beginning: one case, or one for each variant.
    pub cases: Vec<Case>,
    /// What is expected.
    pub expectations: Vec<Expectation>,
}

/// One run of a scenario.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// Name of the variant; none where there are no variants.
    pub name: Option<String>,
    /// Settings at the beginning.
    pub settings: Settings,
    /// Whether the board sees what its contact does.
    pub contact_feedback: ContactFeedback,
    /// What happens, in the order of time.
    pub timeline: Timeline,
}

/// Whether the board has an input that tells the voltage at its relay's normally open terminal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ContactFeedback {
    /// It has.
    #[default]
    Fitted,
    /// It has not, and takes the contact's word for it.
    NotFitted,
}

const SHORTEST_STEP: Duration = Duration::from_millis(10);
const LONGEST_STEP: Duration = hysteron_logic::control::SAMPLE_PERIOD;
const MOST_STEPS: u64 = 1_000_000_000;
const MOST_VARIANTS: usize = 16;
const MOST_TABLES: usize = 500;
/// Happenings in all cases together, each of which is gone through when the scenario is read.
const MOST_TIMES: usize = 1_000_000;

impl Plan {
    /// Reads and checks a scenario.
    ///
    /// # Errors
    /// With every problem that was found, each at its place.
    pub fn read(source: &SourceText, whereabouts: &Whereabouts) -> Result<Self, Rejected> {
        let document = Document::parse(source)?;
        let problems = Problems::default();
        let plan = read(&document, &problems, whereabouts);
        match plan {
            Some(plan) if problems.is_empty() => Ok(plan),
            Some(_) | None => Err(source.rejected(problems.into_sorted())),
        }
    }

    /// Length of a step, in s.
    #[must_use]
    pub fn step_s(&self) -> f64 {
        self.step.millis() as f64 / 1e3
    }

    /// The files that it names: weather and installation.
    pub fn files(&self) -> impl Iterator<Item = &Path> {
        let weather = match &self.ambient {
            AmbientPlan::Weather { file, .. } => Some(file.as_path()),
            AmbientPlan::Constant { .. } | AmbientPlan::Daily { .. } => None,
        };
        let wiring = self.wiring.as_ref();
        let wiring = wiring.and_then(|wiring| wiring.file.as_deref());
        weather.into_iter().chain(wiring)
    }

    /// What the plant can tell.
    #[must_use]
    pub fn quantities(&self) -> &'static [Quantity] {
        quantities(&self.plant, self.step).unwrap_or(&[])
    }
}

fn quantities(plant: &PlantPlan, step: Duration) -> Option<&'static [Quantity]> {
    let plant = plant.build(step.millis() as f64 / 1_000.0).ok()?;
    Some(plant.quantities())
}

fn read(document: &Document<'_>, problems: &Problems, whereabouts: &Whereabouts) -> Option<Plan> {
    let mut table = document.table(problems);
    let title = table
        .required("title", "\"A cooler on a hot day\"")
        .and_then(|item| read_title(&item));
    let about = table.optional("about").and_then(|item| item.text());
    let seed = match table.optional("seed") {
        Some(item) => item
            .whole(0, i64::from(seed::HIGHEST))
            .map(|seed| seed.into_inner().unsigned_abs()),
        None => Some(1),
    };
    let frame = read_frame(&mut table);
    let plant = table
        .required("plant", "{ kind = \"refrigerated box\" }")
        .and_then(|item| read_plant(&item));
    let installation = table.optional("installation");
    let wiring = installation
        .as_ref()
        .map(|item| read_installation(item, whereabouts, plant.as_ref()));
    let ambient = match table.optional("ambient") {
        Some(item) => read_ambient(&item, whereabouts),
        None => Some(AmbientPlan::default()),
    };
    let probe = match table.optional("probe") {
        Some(item) => read_probe(&item),
        None => Some(ProbePlan::default()),
    };
    let control = table
        .required("control", "{ mode = \"cool\" }")
        .and_then(|item| SettingsTable::read(&item, "[control]"));
    let contact_feedback = match table.optional("contact_feedback") {
        Some(item) => read_contact_feedback(&item),
        None => Some(ContactFeedback::default()),
    };
    let variants = table
        .optional("variant")
        .and_then(|item| tables(&item, "[[variant]]", MOST_VARIANTS));
    let happenings = table
        .optional("happening")
        .and_then(|item| tables(&item, "[[happening]]", MOST_TABLES));
    let expects = table
        .optional("expect")
        .and_then(|item| tables(&item, "[[expect]]", MOST_TABLES));
    table.finish();

    let frame = frame?;
    let named = match &wiring {
        None => Named::Not,
        Some(None) => Named::Wrong,
        Some(Some(wiring)) => Named::Rightly(wiring),
    };
    let variants = variants.unwrap_or_default();
    let happenings = read_happenings(
        happenings.unwrap_or_default(),
        variants.len(),
        frame,
        plant.as_ref(),
        named,
    );
    let course = Course {
        happenings: happenings.into(),
        end: frame.duration,
        plant: plant.as_ref(),
        problems,
    };
    let cases = course.cases(&Written::first(&control?), contact_feedback?, variants)?;
    let scope = Scope {
        source: document.source(),
        frame,
        quantities: plant
            .as_ref()
            .and_then(|plant| quantities(plant, frame.step)),
        runners: plant
            .as_ref()
            .map_or(&[Runner::Load, Runner::Compressor], PlantPlan::runners),
        cases: cases.iter().filter_map(|case| case.name.clone()).collect(),
    };
    let expectations: Vec<Expectation> = expects
        .unwrap_or_default()
        .into_iter()
        .filter_map(|table| read_expectation(table, &scope))
        .collect();
    Some(Plan {
        title: title?,
        about: about.map(toml::Spanned::into_inner),
        duration: frame.duration,
        step: frame.step,
        seed: seed?,
        plant: plant?,
        wiring: wiring.map_or(Some(None), |wiring| wiring.map(Some))?,
        ambient: ambient?,
        probe: probe?,
        cases,
        expectations,
    })
}

fn read_title(item: &Item<'_>) -> Option<String> {
    const LONGEST: usize = 100;
    let title = item.text()?;
    let length = title.get_ref().chars().count();
    if (1..=LONGEST).contains(&length) && !title.get_ref().contains(char::is_control) {
        return Some(title.into_inner());
    }
    item.note(
        Problem::at(title.span(), "a title fits on one line")
            .expected(format!("expected 1 to {LONGEST} characters")),
    );
    None
}

fn read_contact_feedback(item: &Item<'_>) -> Option<ContactFeedback> {
    let words = [
        ("fitted", ContactFeedback::Fitted),
        ("not fitted", ContactFeedback::NotFitted),
    ];
    Some(item.one_of(&words)?.into_inner())
}

fn read_frame(table: &mut Table<'_>) -> Option<Frame> {
    let duration = table.required("duration", "\"24 h\"").and_then(|item| {
        let duration = item.read("24 h", read_duration)?;
        if duration.get_ref().is_zero() {
            item.note(
                Problem::at(duration.span(), "a scenario takes some time")
                    .expected("more than 0 s"),
            );
            return None;
        }
        Some(duration)
    });
    let step = match table.optional("step") {
        Some(item) => item.read("1 s", read_duration).and_then(|step| {
            if (SHORTEST_STEP..=LONGEST_STEP).contains(step.get_ref()) {
                return Some(step.into_inner());
            }
            item.note(
                Problem::at(step.span(), "`step` is out of its range").expected(format!(
                    "expected {} to {}, as often as the control wants to be asked",
                    duration_text(SHORTEST_STEP),
                    duration_text(LONGEST_STEP)
                )),
            );
            None
        }),
        None => Some(LONGEST_STEP),
    };
    let (duration, step) = (duration?, step?);
    let steps = duration.get_ref().millis() / step.millis();
    let too_many = steps > MOST_STEPS;
    if too_many || steps == 0 {
        let what = if too_many {
            "too many steps"
        } else {
            "shorter than a step"
        };
        table
            .problems()
            .add(Problem::at(duration.span(), what).expected(format!(
                "1 to {MOST_STEPS} steps of {}",
                duration_text(step)
            )));
        return None;
    }
    Some(Frame {
        duration: duration.into_inner(),
        step,
    })
}

fn tables<'d>(item: &Item<'d>, name: &str, most: usize) -> Option<Vec<Table<'d>>> {
    let mut tables = item.tables(name)?;
    if tables.len() > most {
        item.note(
            Problem::at(tables[most].span(), format!("more than {most} of {name}"))
                .remedy("split the scenario in two"),
        );
        tables.truncate(most);
    }
    Some(tables)
}

fn read_happenings(
    tables: Vec<Table<'_>>,
    variants: usize,
    frame: Frame,
    plant: Option<&PlantPlan>,
    named: Named<'_>,
) -> Vec<WrittenHappening> {
    let mut happenings = Vec::new();
    let mut times = 0;
    for table in tables {
        let (span, problems) = (table.span(), table.problems());
        let happening = read_happening(table, frame, plant, named);
        times += happening
            .as_ref()
            .map_or(0, |happening| happening.schedule.times().count());
        if times * variants.max(1) > MOST_TIMES {
            problems.add(
                Problem::at(span, "too much happens in this scenario")
                    .expected(format!(
                        "at most {MOST_TIMES} times in all variants together"
                    ))
                    .remedy("shorten the scenario, or let things happen less often"),
            );
            break;
        }
        happenings.extend(happening);
    }
    happenings
}

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

/// What every case goes through.
struct Course<'p> {
    happenings: Arc<[WrittenHappening]>,
    end: Duration,
    plant: Option<&'p PlantPlan>,
    problems: &'p Problems,
}

impl Course<'_> {
    fn cases(
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
            let name = table
                .required("name", "\"open the relay\"")
                .and_then(|item| item.text());
            let feedback = table.optional("contact_feedback");
            let settings = match (table.optional("settings"), &feedback) {
                (None, Some(_)) => Some(None),
                (Some(item), _) => SettingsTable::read(&item, "settings").map(Some),
                (None, None) => {
                    table.missing("settings", "{ fallback = \"open\" }");
                    None
                }
            };
            let feedback = match feedback {
                Some(item) => read_contact_feedback(&item),
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
