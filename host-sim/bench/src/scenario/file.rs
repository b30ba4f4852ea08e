//! Scenario files, from text to a checked plan.

use hysteron_logic::time::Duration;

use super::ambient_table::{self, AmbientPlan, read_ambient};
use super::cases::{CONTACT_FEEDBACK, Course, variant_shape};
use super::expectation::Expectation;
use super::expectation_rows;
use super::expectation_table::{Scope, read_expectation};
use super::happening_table::{self, WrittenHappening, read_happening};
use super::installation_name::{Named, read_installation};
use super::measure::Time;
use super::plan::Plan;
use super::plant_rows;
use super::plant_table::{PlantPlan, read_plant};
use super::probe_table::{self, ProbePlan, read_probe};
use super::schedule::Frame;
use super::search_paths::SearchPaths;
use super::seed;
use super::settings_table::SettingsTable;
use super::written_settings::Written;
use crate::record::runs::Runner;
use hysteron_source::entry::{
    Defaulted, Described, Formed, Optional, Own, Reads, Required, Text, Whole,
};
use hysteron_source::form::{Form, Shape};
use hysteron_source::item::Item;
use hysteron_source::table::{Document, Table};
use hysteron_source::text::{Problem, Problems, Rejected, SourceText};

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
    pub fn read(source: &SourceText, search_paths: &SearchPaths) -> Result<Self, Rejected> {
        let document = Document::parse(source)?;
        let problems = Problems::default();
        let plan = read(&document, &problems, search_paths);
        match plan {
            Some(plan) if problems.is_empty() => Ok(plan),
            Some(_) | None => Err(source.rejected(problems.into_sorted())),
        }
    }
}

const LONGEST_TITLE: usize = 100;

const TITLE: Required<Own<String>> = Required {
    key: "title",
    example: "\"A cooler on a hot day\"",
    form: Own {
        read: read_title,
        form: || Form::Line {
            longest: LONGEST_TITLE,
        },
    },
    sentence: "What it is called.",
};

const ABOUT: Optional<Text> = Optional {
    key: "about",
    form: Text,
    sentence: "What it shows, for a person.",
};

const SEED: Defaulted<Whole> = Defaulted {
    key: "seed",
    default: "1",
    form: Whole {
        least: 0,
        most: seed::HIGHEST as i64,
    },
    sentence: "What all chance is drawn from.",
};

const DURATION: Required<Time> = Required {
    key: "duration",
    example: "\"24 h\"",
    form: Time { example: "24 h" },
    sentence: "How much time it covers.",
};

const STEP: Defaulted<Own<Duration>> = Defaulted {
    key: "step",
    default: "\"1 s\"",
    form: Own {
        read: |item| STEPS.read(item),
        form: || {
            STEPS
                .form()
                .within(SHORTEST_STEP.to_string(), LONGEST_STEP.to_string())
        },
    },
    sentence: "Length of a step of plant, probe and control.",
};

const STEPS: Time = Time { example: "1 s" };

const PLANT: Required<Described> = Required {
    key: "plant",
    example: "{ kind = \"refrigerated box\" }",
    form: Described(|| Form::Table(plant_rows::shape())),
    sentence: "What is cooled or heated.",
};

const INSTALLATION: Optional<Described> = Optional {
    key: "installation",
    form: Described(|| Form::Text),
    sentence: "What is wired between the fuse and the plant: one that ships, by its name, or a file beside the scenario. Without it the relay's contact is the whole circuit.",
};

const AMBIENT: Optional<Described> = Optional {
    key: "ambient",
    form: Described(|| Form::Table(ambient_table::shape())),
    sentence: "The air around; 25 °C at half humidity where it is left out.",
};

const PROBE: Optional<Described> = Optional {
    key: "probe",
    form: Described(|| Form::Table(probe_table::shape())),
    sentence: "The thermistor, and what reads it.",
};

const CONTROL: Required<Described> = Required {
    key: "control",
    example: "{ mode = \"cool\" }",
    form: Described(|| Form::Table(SettingsTable::shape())),
    sentence: "Settings at the beginning; what is left out is as the control comes.",
};

const VARIANT: Optional<Described> = Optional {
    key: "variant",
    form: Described(|| Form::Tables {
        of: variant_shape(),
        most: MOST_VARIANTS,
    }),
    sentence: "The scenario runs once for each variant, side by side.",
};

const HAPPENING: Optional<Described> = Optional {
    key: "happening",
    form: Described(|| Form::Tables {
        of: happening_table::shape(),
        most: MOST_TABLES,
    }),
    sentence: "What happens, and when.",
};

const EXPECT: Optional<Described> = Optional {
    key: "expect",
    form: Described(|| Form::Tables {
        of: expectation_rows::shape(),
        most: MOST_TABLES,
    }),
    sentence: "What is expected.",
};

/// What a scenario file may hold.
#[must_use]
pub fn shape() -> Shape {
    Shape::of(
        "scenario",
        "A scenario: what is cooled or heated, the control's settings, what happens when, and what is expected.",
        vec![
            TITLE.row(),
            ABOUT.row(),
            SEED.row(),
            DURATION.row(),
            STEP.row(),
            PLANT.row(),
            INSTALLATION.row(),
            AMBIENT.row(),
            PROBE.row(),
            CONTROL.row(),
            CONTACT_FEEDBACK.row(),
            VARIANT.row(),
            HAPPENING.row(),
            EXPECT.row(),
        ],
    )
}

fn read(document: &Document<'_>, problems: &Problems, search_paths: &SearchPaths) -> Option<Plan> {
    let mut table = document.table(problems);
    let title = TITLE.read(&mut table);
    let about = ABOUT.read(&mut table);
    let seed = SEED.read(&mut table).map(i64::unsigned_abs);
    let frame = read_frame(&mut table);
    let plant = PLANT.item(&mut table).and_then(|item| read_plant(&item));
    let installation = INSTALLATION.item(&mut table);
    let wiring = installation
        .as_ref()
        .map(|item| read_installation(item, search_paths, plant.as_ref()));
    let ambient = match AMBIENT.item(&mut table) {
        Some(item) => read_ambient(&item, search_paths),
        None => Some(AmbientPlan::default()),
    };
    let probe = match PROBE.item(&mut table) {
        Some(item) => read_probe(&item),
        None => Some(ProbePlan::default()),
    };
    let control = CONTROL
        .item(&mut table)
        .and_then(|item| SettingsTable::read(&item, "[control]"));
    let contact_feedback = CONTACT_FEEDBACK.read(&mut table);
    let variants = VARIANT
        .item(&mut table)
        .and_then(|item| tables(&item, "[[variant]]", MOST_VARIANTS));
    let happenings = HAPPENING
        .item(&mut table)
        .and_then(|item| tables(&item, "[[happening]]", MOST_TABLES));
    let expects = EXPECT
        .item(&mut table)
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
        quantities: plant.as_ref().map(PlantPlan::quantities),
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
        about: about?,
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
    let title = item.text()?;
    let length = title.get_ref().chars().count();
    if (1..=LONGEST_TITLE).contains(&length) && !title.get_ref().contains(char::is_control) {
        return Some(title.into_inner());
    }
    item.note(
        Problem::at(title.span(), "a title fits on one line")
            .expected(format!("expected 1 to {LONGEST_TITLE} characters")),
    );
    None
}

fn read_frame(table: &mut Table<'_>) -> Option<Frame> {
    let duration = DURATION.item(table).and_then(|item| {
        let duration = DURATION.form.read(&item)?;
        if duration.is_zero() {
            item.note(
                Problem::at(item.span(), "a scenario takes some time").expected("more than 0 s"),
            );
            return None;
        }
        Some((duration, item.span()))
    });
    let step = match table.optional(STEP.key) {
        Some(item) => STEP.form.read(&item).and_then(|step| {
            if (SHORTEST_STEP..=LONGEST_STEP).contains(&step) {
                return Some(step);
            }
            item.note(
                Problem::at(item.span(), "`step` is out of its range").expected(format!(
                    "expected {} to {}, as often as the control wants to be asked",
                    SHORTEST_STEP, LONGEST_STEP
                )),
            );
            None
        }),
        None => STEP.otherwise(),
    };
    let ((duration, place), step) = (duration?, step?);
    let steps = duration.millis() / step.millis();
    let too_many = steps > MOST_STEPS;
    if too_many || steps == 0 {
        let what = if too_many {
            "too many steps"
        } else {
            "shorter than a step"
        };
        table
            .problems()
            .add(Problem::at(place, what).expected(format!("1 to {MOST_STEPS} steps of {}", step)));
        return None;
    }
    Some(Frame { duration, step })
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
