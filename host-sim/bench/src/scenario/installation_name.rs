//! The installation that a scenario names: one that ships, or a file beside it.

use std::path::PathBuf;

use super::plant_table::PlantPlan;
use super::search_paths::{SearchPaths, read_text};
use hysteron_installation::Installation;
use hysteron_installation::arrangements::{ARRANGEMENTS, Arrangement, named};
use hysteron_installation::file;
use hysteron_installation::plant_roles::{PlantRoles, Unfit};
use hysteron_source::item::Item;
use hysteron_source::text::{Misread, Problem, Rejected, SourceText, any_of, nearest};

/// An installation that fits the scenario's plant.
#[derive(Debug, Clone, PartialEq)]
pub struct Wiring {
    /// What the scenario calls it.
    pub name: String,
    /// The file that it was read from; none for one that ships.
    pub file: Option<PathBuf>,
    /// Its parts and conductors, all sound.
    pub installation: Installation,
    /// Which of its parts do the plant's work.
    pub roles: PlantRoles,
}

/// What a scenario says of its installation.
#[derive(Debug, Clone, Copy)]
pub enum Named<'w> {
    /// Nothing.
    Not,
    /// Something that is wrong and was complained about.
    Wrong,
    /// This one.
    Rightly(&'w Wiring),
}

/// Reads `installation`; a file is looked for where the scenario's are.
pub fn read_installation(
    item: &Item<'_>,
    search_paths: &SearchPaths,
    plant: Option<&PlantPlan>,
) -> Option<Wiring> {
    let name = item.text()?.into_inner();
    let source = match source(&name, search_paths) {
        Ok(source) => source,
        Err(misread) => return item.refuse(misread),
    };
    let installation = match source.and_then(|source| file::read(&source)) {
        Ok(installation) => installation,
        Err(rejected) => {
            item.note(unsound(item, &name, &rejected));
            return None;
        }
    };
    let plant = plant?;
    match PlantRoles::of(&installation, plant.work()) {
        Ok(roles) => Some(Wiring {
            file: named(&name)
                .is_none()
                .then(|| search_paths.folder.join(&name)),
            name,
            installation,
            roles,
        }),
        Err(unfit) => item.refuse(misfit(&name, plant, unfit)),
    }
}

/// The text that a name stands for.
fn source(name: &str, search_paths: &SearchPaths) -> Result<Result<SourceText, Rejected>, Misread> {
    if let Some(bundled) = named(name) {
        return Ok(SourceText::new(bundled.name, bundled.text));
    }
    let path = search_paths.folder.join(name);
    if search_paths.files.holds(&path) {
        return Ok(read_text(&*search_paths.files, &path));
    }
    let names: Vec<&str> = ARRANGEMENTS.iter().map(|one| one.name).collect();
    let stem = name.strip_suffix(".toml").unwrap_or(name);
    Err(Misread {
        what: format!("\"{name}\" is neither a bundled installation nor a file"),
        expected: format!("{}, or a file beside the scenario", names.join(", ")),
        remedy: nearest(stem, names.iter().copied())
            .map(|meant| format!("did you mean \"{meant}\"?")),
    })
}

fn unsound(item: &Item<'_>, name: &str, rejected: &Rejected) -> Problem {
    let problems = rejected.problems();
    let first = problems.first().map_or("", Problem::what);
    let what = match problems.len() {
        0 | 1 => format!("\"{name}\" is no sound installation"),
        several => format!("\"{name}\" is no sound installation: {several} problems"),
    };
    Problem::at(item.span(), what)
        .expected(format!("in that file: {first}"))
        .remedy("`hysteron check` with that file shows every problem at its place")
}

fn misfit(name: &str, plant: &PlantPlan, unfit: Unfit) -> Misread {
    let fitting: Vec<&str> = ARRANGEMENTS
        .iter()
        .filter(|arrangement| fits(arrangement, plant))
        .map(|arrangement| arrangement.name)
        .collect();
    let kind = plant.kind();
    Misread {
        what: match unfit {
            Unfit::Lacks(part) => format!("\"{name}\" has no {part}"),
            Unfit::PumpsDown => {
                format!(
                    "the relay of \"{name}\" switches a liquid-line valve, and this plant has none"
                )
            }
        },
        expected: format!("an installation that can drive a plant of the kind \"{kind}\""),
        remedy: (!fitting.is_empty())
            .then(|| format!("choose one that fits: {}", any_of(&fitting))),
    }
}

fn fits(arrangement: &Arrangement, plant: &PlantPlan) -> bool {
    SourceText::new(arrangement.name, arrangement.text)
        .and_then(|source| file::read(&source))
        .is_ok_and(|installation| PlantRoles::of(&installation, plant.work()).is_ok())
}
