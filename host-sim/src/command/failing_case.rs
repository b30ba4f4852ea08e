//! A failing run of a sweep, written out as a scenario that fails alone.

use std::path::{Path, PathBuf};

use hysteron_logic::settings::Scale;

use super::destination::Destination;
use super::files::{Files, Foreign, foreign_file};
use super::own_file::{FAILING_CASE as MARK, OwnFile};
use super::whole_file::{self, MissingFolders};

use crate::failure::Failure;
use hysteron_bench::campaign::{Axis, Campaign, CampaignRun};
use hysteron_bench::scenario::ambient_table::AmbientPlan;
use hysteron_bench::scenario::edit::{Edit, edited};
use hysteron_bench::scenario::plan::Plan;
use hysteron_bench::shrink::{Effort, Failing, Shrunk};
use hysteron_installation::arrangements::named as arrangement_named;
use hysteron_view::words::degrees::Degrees;
use hysteron_view::words::finding::finding;
use hysteron_view::words::number::counted;
use hysteron_view::words::subject::expectation;

/// How long a failing run is made smaller.
pub const EFFORT: Effort = Effort::Runs(60);

/// The entries of a scenario that name files.
const FILES: [&str; 2] = ["installation", "ambient.file"];

/// The path from the root on.
fn whole(file: &Path) -> String {
    let whole = file.canonicalize().unwrap_or_else(|_| file.to_owned());
    whole.display().to_string()
}

/// One failing run.
pub struct FailingCase<'a> {
    /// The sweep.
    pub campaign: &'a Campaign,
    /// The scenario at the first combination.
    pub plan: &'a Plan,
    /// Name of the scenario.
    pub scenario: &'a str,
    /// Number of the run in the sweep, from 0.
    pub number: usize,
    /// The run.
    pub run: &'a CampaignRun,
    /// Every file that the sweep reads.
    pub read: &'a [PathBuf],
}

/// Whether failing runs of the scenario `name` can be written into `folder`.
///
/// # Errors
/// When they cannot, or one could meet a file that is none of ours and is to be kept.
pub fn check_folder(folder: &Path, name: &str, foreign: Foreign) -> Result<(), Failure> {
    whole_file::can_be_written(&folder.join("failing.toml"), MissingFolders::Made)?;
    let Ok(entries) = folder.read_dir() else {
        return Ok(());
    };
    let begins = format!("{}-", shortened(name, LONGEST_NAME));
    let may_be_met = |entry: &str| {
        let number = entry.strip_prefix(&begins).and_then(|rest| rest.get(..6));
        number.is_some_and(|number| {
            number.ends_with('-')
                && number
                    .trim_end_matches('-')
                    .bytes()
                    .all(|b| b.is_ascii_digit())
        })
    };
    for entry in entries.flatten() {
        let path = entry.path();
        if foreign == Foreign::Kept
            && may_be_met(&entry.file_name().to_string_lossy())
            && !OwnFile::FailingCase.may_replace(&path).unwrap_or(false)
        {
            return Err(foreign_file(&path, OwnFile::FailingCase));
        }
    }
    Ok(())
}

/// So many signs of a scenario's name, and of changed entries, stand in a file's name.
const LONGEST_NAME: usize = 60;

/// The text in signs that any file system takes.
fn shortened(name: &str, longest: usize) -> String {
    let plain = name.chars().filter_map(|c| match c {
        'a'..='z' | 'A'..='Z' | '0'..='9' | '.' | '-' | '_' => Some(c),
        ' ' | ',' | '/' => Some('-'),
        _ => None,
    });
    plain.take(longest).collect()
}

impl FailingCase<'_> {
    /// Writes the scenario into `folder`, and tells the file.
    ///
    /// # Errors
    /// When the file cannot be written, or another is there already and to be kept.
    pub fn write(
        &self,
        folder: &Path,
        effort: Effort,
        foreign: Foreign,
    ) -> Result<PathBuf, Failure> {
        let shrunk = self.shrunk(effort)?;
        let path = folder.join(format!("{}.toml", self.file_name(&shrunk)));
        let mut files = Files::making_folders();
        files.read("a file of the sweep", self.read);
        files.written(
            "--failures",
            [&Destination::File(path.clone())],
            OwnFile::FailingCase,
        );
        files.check(foreign)?;
        let text = format!("{}{}", self.heading(&shrunk, &path), shrunk.text);
        whole_file::write(&path, text.as_bytes(), MissingFolders::Made)?;
        Ok(path)
    }

    fn shrunk(&self, effort: Effort) -> Result<Shrunk, Failure> {
        let mut changes = self.campaign.edits_at(self.run.point);
        for change in &mut changes {
            if let Edit::Set { path, value } = change
                && FILES.contains(&path.as_str())
                && let Some(file) = self.whole_path_of(value)
            {
                *value = file;
            }
        }
        let original = self.original()?;
        let failing = Failing {
            original: &original,
            changes,
            case: self.run.case,
            expectation: self.run.failed.first().copied().unwrap_or_default(),
            search_paths: self.campaign.search_paths(),
        };
        failing.shrunk(effort).ok_or_else(|| {
            Failure::because(format!(
                "run {} failed in the sweep and does not fail alone: this is a fault of this program",
                self.number + 1
            ))
        })
    }

    /// The scenario's text with the seed of this run; files that it names are found from anywhere.
    fn original(&self) -> Result<String, Failure> {
        let text = self.campaign.source().text();
        let set = |path: &str, value: String| Edit::Set {
            path: path.to_owned(),
            value,
        };
        let mut edits = Vec::new();
        if self.run.seed != self.plan.seed {
            edits.push(set("seed", self.run.seed.to_string()));
        }
        let scenario: toml::Table = text.parse().unwrap_or_default();
        for path in FILES {
            let mut parts = path.split('.');
            let first = parts.next().and_then(|part| scenario.get(part));
            let named = parts
                .try_fold(first, |value, part| Some(value?.get(part)))
                .flatten();
            let named = named.and_then(toml::Value::as_str);
            let file = named.and_then(|name| self.whole_path_of(name));
            edits.extend(file.map(|file| set(path, file)));
        }
        if let Some(weather) = &self.campaign.search_paths().weather
            && let AmbientPlan::Weather { .. } = self.plan.ambient
        {
            edits.push(set("ambient.file", whole(weather)));
        }
        if edits.is_empty() {
            return Ok(text.to_owned());
        }
        edited(text, &edits).map_err(|refused| Failure::because(refused.to_string()))
    }

    /// The whole path of a file that the scenario calls `name`; none for what ships.
    fn whole_path_of(&self, name: &str) -> Option<String> {
        let file = self.campaign.search_paths().folder.join(name);
        (arrangement_named(name).is_none() && file.is_file()).then(|| whole(&file))
    }

    /// The combination's values that are still in the scenario, as the person wrote them.
    fn values_left<'s>(&'s self, shrunk: &'s Shrunk) -> impl Iterator<Item = (&'s Axis, &'s str)> {
        let axes = self.campaign.axes().iter();
        let values = axes.zip(self.campaign.values_at(self.run.point));
        values.filter(|(axis, _)| {
            shrunk.changes.iter().any(|change| match change {
                Edit::Set { path, .. } | Edit::Remove { path } => *path == axis.path,
            })
        })
    }

    /// What it holds, as far as a file's name can tell.
    fn file_name(&self, shrunk: &Shrunk) -> String {
        let told: Vec<String> = self
            .values_left(shrunk)
            .map(|(axis, value)| {
                let entry = axis.path.rsplit('.').next().unwrap_or(&axis.path);
                format!("-{entry}-{value}")
            })
            .collect();
        format!(
            "{}-{:05}{}-seed-{}",
            shortened(self.scenario, LONGEST_NAME),
            self.number + 1,
            shortened(&told.concat(), LONGEST_NAME),
            self.run.seed
        )
    }

    fn heading(&self, shrunk: &Shrunk, path: &Path) -> String {
        let axes = self.campaign.axes().iter();
        let values = axes.zip(self.campaign.values_at(self.run.point));
        let mut told: Vec<String> = values
            .map(|(axis, value)| format!("{} = {value}", axis.path))
            .collect();
        told.push(format!("seed {}", self.run.seed));
        let verdict = &shrunk.verdict;
        let case = self.plan.cases.get(self.run.case);
        let scale = case.map_or(Scale::Celsius, |case| case.settings.draft().scale);
        let degrees = Degrees::of(scale);
        let lines = [
            format!(
                "{MARK}{}: {}.",
                self.campaign.source().name(),
                told.join(", ")
            ),
            format!(
                "Expected: {}. Found: {}.",
                expectation(&verdict.expectation, shrunk.duration, degrees),
                finding(verdict, degrees)
            ),
            format!(
                "Made smaller: {} undone, {} gone, {} to run; {} tried.",
                counted(shrunk.changes_undone as u64, "change"),
                counted(shrunk.happenings_gone as u64, "happening"),
                shrunk.duration,
                counted(shrunk.trials.into(), "scenario"),
            ),
            format!("See it fail: hysteron run {}", path.display()),
        ];
        let commented = lines.map(|line| {
            let line = line.replace(char::is_control, " ");
            format!("# {}\n", line.trim_start_matches("# "))
        });
        commented.concat() + "\n"
    }
}
