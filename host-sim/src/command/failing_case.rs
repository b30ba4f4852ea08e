//! A failing run of a sweep, written out as a scenario that fails alone.

use std::path::{Path, PathBuf};

use super::destination::write_file;
use hysteron_logic::settings::Scale;

use crate::campaign::{Campaign, CampaignRun};
use crate::failure::Failure;
use crate::scenario::ambient_table::AmbientPlan;
use crate::scenario::edit::{Edit, edited};
use crate::scenario::plan::Plan;
use crate::scenario::quantity_text::duration_text;
use crate::shrink::{Effort, Failing, Shrunk};
use crate::words::degrees::Degrees;
use crate::words::finding::finding;
use crate::words::number::counted;
use crate::words::subject::expectation;

/// How long a failing run is made smaller.
pub const EFFORT: Effort = Effort::Runs(60);

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
}

impl FailingCase<'_> {
    /// Writes the scenario into `folder`, and tells the file.
    ///
    /// # Errors
    /// When the file cannot be written.
    pub fn write(&self, folder: &Path, effort: Effort) -> Result<PathBuf, Failure> {
        let path = folder.join(format!("{}.toml", self.file_name()));
        let shrunk = self.shrunk(effort)?;
        let text = format!("{}{}", self.heading(&shrunk, &path), shrunk.text);
        write_file(&path, text.as_bytes())?;
        Ok(path)
    }

    fn shrunk(&self, effort: Effort) -> Result<Shrunk, Failure> {
        let mut changes = self.campaign.edits_at(self.run.point);
        if self.run.seed != self.plan.seed {
            changes.push(Edit::Set {
                path: "seed".to_owned(),
                value: self.run.seed.to_string(),
            });
        }
        let original = self.original()?;
        let failing = Failing {
            original: &original,
            changes,
            case: self.run.case,
            expectation: self.run.failed.first().copied().unwrap_or_default(),
            whereabouts: self.campaign.whereabouts(),
        };
        failing.shrunk(effort).ok_or_else(|| {
            Failure::because(format!(
                "run {} failed in the sweep and does not fail alone: this is a fault of this program",
                self.number + 1
            ))
        })
    }

    /// The scenario's text; files that it names are found from anywhere.
    fn original(&self) -> Result<String, Failure> {
        let text = self.campaign.source().text();
        let mut from_anywhere = Vec::new();
        let mut found = |path: &str, file: &Path| {
            let file = file.canonicalize().unwrap_or_else(|_| file.to_owned());
            from_anywhere.push(Edit::Set {
                path: path.to_owned(),
                value: file.display().to_string(),
            });
        };
        if let AmbientPlan::Weather { file, .. } = &self.plan.ambient {
            found("ambient.file", file);
        }
        let wiring = self.plan.wiring.as_ref();
        if let Some(file) = wiring.and_then(|wiring| wiring.file.as_deref()) {
            found("installation", file);
        }
        if from_anywhere.is_empty() {
            return Ok(text.to_owned());
        }
        edited(text, &from_anywhere).map_err(|refused| Failure::because(refused.to_string()))
    }

    /// What it is, as far as a file's name can tell.
    fn file_name(&self) -> String {
        const LONGEST: usize = 120;
        let axes = self.campaign.axes().iter();
        let values = axes.zip(self.campaign.values_at(self.run.point));
        let told: Vec<String> = values
            .map(|(axis, value)| {
                let entry = axis.path.rsplit('.').next().unwrap_or(&axis.path);
                format!("-{entry}-{value}")
            })
            .collect();
        let name = format!(
            "{}-{:05}{}-seed-{}",
            self.scenario,
            self.number + 1,
            told.concat(),
            self.run.seed
        );
        let plain = name.chars().filter_map(|c| match c {
            'a'..='z' | 'A'..='Z' | '0'..='9' | '.' | '-' | '_' => Some(c),
            ' ' | ',' | '/' => Some('-'),
            _ => None,
        });
        plain.take(LONGEST).collect()
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
                "A failing run of a sweep over {}: {}.",
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
                duration_text(shrunk.duration),
                counted(shrunk.trials.into(), "scenario"),
            ),
            format!("See it fail: hysteron run {}", path.display()),
        ];
        let commented = lines.map(|line| format!("# {}\n", line.replace(char::is_control, " ")));
        commented.concat() + "\n"
    }
}
