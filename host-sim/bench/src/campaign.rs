//! A campaign: one scenario over ranges of its entries and over seeds.
//!
//! Every combination of values is a point; at each point every case runs once
//! for each seed, by as many workers as there are. What is kept of a run has a fixed size, so
//! memory is bounded by the number of runs and not by the time they simulate.

use std::collections::BTreeSet;
use std::error::Error;
use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};

use crate::record::runs::RunTotals;
use crate::record::verdict::{Outcome, Verdict};
use crate::run::bench::{Bench, Recording};
use crate::run::left_model::LeftModel;
use crate::scenario::edit::{Edit, EditRefused, edited};
use crate::scenario::overridden::{Overridden, Variants, overridden};
use crate::scenario::plan::Plan;
use crate::scenario::search_paths::SearchPaths;
use crate::workers::Workers;
use hysteron_source::text::{Rejected, SourceText};

/// More runs than this are asked for by mistake.
pub const MOST_RUNS: u64 = 100_000;

/// One entry of the scenario, and the values it takes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Axis {
    /// Which entry: "control.differential".
    pub path: String,
    /// Its values, as they are written in a scenario; at least one.
    pub values: Vec<String>,
}

/// A scenario with all that is to be varied.
#[derive(Debug, Clone)]
pub struct Campaign {
    source: SourceText,
    search_paths: SearchPaths,
    axes: Vec<Axis>,
    seeds: Vec<u64>,
    points: usize,
}

/// What came of one run.
#[derive(Debug, Clone, PartialEq)]
pub struct CampaignRun {
    /// At which combination of values.
    pub point: usize,
    /// Which case of the scenario, from 0.
    pub case: usize,
    /// What chance was drawn from.
    pub seed: u64,
    /// What the load did.
    pub runs: RunTotals,
    /// What the compressor did that a low-pressure control starts, if there is one.
    pub compressor: Option<RunTotals>,
    /// Places of the expectations that did not hold, in the order of the scenario.
    pub failed: Vec<usize>,
}

/// Why a campaign cannot be run.
#[derive(Debug)]
pub enum CampaignError {
    /// There are more runs than [`MOST_RUNS`].
    TooManyRuns,
    /// There is nothing to run.
    NoRuns,
    /// An axis gives seeds, which every run is given anyway.
    SeedsAmongValues,
    /// The values of an axis would not be in force.
    Overridden(Overridden),
    /// A combination makes no scenario.
    Scenario(Box<Rejected>),
    /// In this run the plant has left what its model knows.
    LeftModel {
        /// The combination.
        scenario: String,
        /// The seed.
        seed: u64,
        /// What happened.
        left: LeftModel,
    },
    /// A change cannot be made.
    Edit(EditRefused),
    /// Weather cannot be read, or a plant cannot be built.
    Unprepared(Box<dyn Error + Send + Sync>),
}

impl fmt::Display for CampaignError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooManyRuns => write!(f, "that would be more than {MOST_RUNS} runs"),
            Self::NoRuns => f.write_str("there is nothing to run"),
            Self::SeedsAmongValues => f.write_str("seeds are no values of an entry"),
            Self::Overridden(overridden) => overridden.fmt(f),
            Self::Scenario(rejected) => rejected.fmt(f),
            Self::LeftModel {
                scenario,
                seed,
                left,
            } => write!(f, "{scenario}, seed {seed}: {left}"),
            Self::Edit(refused) => refused.fmt(f),
            Self::Unprepared(error) => error.fmt(f),
        }
    }
}

impl Error for CampaignError {}

impl From<Rejected> for CampaignError {
    fn from(rejected: Rejected) -> Self {
        Self::Scenario(Box::new(rejected))
    }
}

impl Campaign {
    /// A campaign over all combinations of `axes`, each on every seed.
    ///
    /// # Errors
    /// When there is nothing to run, or too much, or the values of an axis would not be in force.
    pub fn new(
        source: SourceText,
        search_paths: SearchPaths,
        axes: Vec<Axis>,
        seeds: Vec<u64>,
    ) -> Result<Self, CampaignError> {
        let paths = axes.iter().map(|axis| axis.path.as_str());
        if let Some(overridden) = overridden(source.text(), paths, Variants::All) {
            return Err(CampaignError::Overridden(overridden));
        }
        let lengths = axes.iter().map(|axis| axis.values.len() as u64);
        let points = lengths.fold(1, u64::saturating_mul);
        let runs = points.saturating_mul(seeds.len() as u64);
        match usize::try_from(points) {
            _ if runs == 0 => Err(CampaignError::NoRuns),
            _ if axes.iter().any(|axis| axis.path == "seed") => {
                Err(CampaignError::SeedsAmongValues)
            }
            Ok(points) if runs <= MOST_RUNS => Ok(Self {
                source,
                search_paths,
                axes,
                seeds,
                points,
            }),
            Ok(_) | Err(_) => Err(CampaignError::TooManyRuns),
        }
    }

    /// The entries that vary.
    #[must_use]
    pub fn axes(&self) -> &[Axis] {
        &self.axes
    }

    /// The scenario's text.
    #[must_use]
    pub const fn source(&self) -> &SourceText {
        &self.source
    }

    /// Where the files that it names are looked for.
    #[must_use]
    pub const fn search_paths(&self) -> &SearchPaths {
        &self.search_paths
    }

    /// Number of combinations.
    #[must_use]
    pub const fn points(&self) -> usize {
        self.points
    }

    /// The seeds, in order.
    #[must_use]
    pub fn seeds(&self) -> &[u64] {
        &self.seeds
    }

    /// The values of a combination, one for each axis; the last axis turns fastest.
    #[must_use]
    pub fn values_at(&self, point: usize) -> Vec<&str> {
        let mut rest = point;
        let mut values: Vec<&str> = Vec::with_capacity(self.axes.len());
        for axis in self.axes.iter().rev() {
            let place = rest % axis.values.len();
            rest /= axis.values.len();
            values.push(&axis.values[place]);
        }
        values.reverse();
        values
    }

    /// The changes that make the scenario's text that of a combination.
    #[must_use]
    pub fn edits_at(&self, point: usize) -> Vec<Edit> {
        let pairs = self.axes.iter().zip(self.values_at(point));
        pairs
            .map(|(axis, value)| Edit::Set {
                path: axis.path.clone(),
                value: value.to_owned(),
            })
            .collect()
    }

    /// The checked scenario of a combination.
    ///
    /// # Errors
    /// When the combination makes no scenario.
    pub fn plan_at(&self, point: usize) -> Result<Plan, CampaignError> {
        let text =
            edited(self.source.text(), &self.edits_at(point)).map_err(CampaignError::Edit)?;
        Ok(Plan::read(
            &SourceText::new(self.name_at(point), text)?,
            &self.search_paths,
        )?)
    }

    /// What messages call the scenario of a combination.
    fn name_at(&self, point: usize) -> String {
        let pairs = self.axes.iter().zip(self.values_at(point));
        let values: Vec<String> = pairs
            .map(|(axis, value)| format!("{} = {value}", axis.path))
            .collect();
        match values.as_slice() {
            [] => self.source.name().to_owned(),
            values => format!("{} with {}", self.source.name(), values.join(", ")),
        }
    }

    /// Checks every combination before anything runs, and tells the files that the scenarios name.
    ///
    /// # Errors
    /// With the first combination that makes no scenario.
    pub fn check(&self, workers: &impl Workers) -> Result<BTreeSet<PathBuf>, CampaignError> {
        let files = workers.each(
            self.points,
            |point| -> Result<Vec<PathBuf>, CampaignError> {
                let plan = self.plan_at(point)?;
                Ok(plan.files().map(Path::to_owned).collect())
            },
        );
        let mut all = BTreeSet::new();
        for files in files {
            all.extend(files?);
        }
        Ok(all)
    }

    /// Runs everything; `done` hears of every seed of every combination. What comes back is in
    /// order, whichever was done first.
    ///
    /// # Errors
    /// When a combination makes no scenario, its weather cannot be read, or its plant leaves what
    /// the model knows.
    pub fn run(
        &self,
        workers: &impl Workers,
        done: impl Fn() + Sync,
    ) -> Result<Vec<CampaignRun>, CampaignError> {
        let stopped = AtomicBool::new(false);
        let runs = workers.each(self.points, |point| {
            let runs = self.run_point(point, workers, &stopped, &done);
            stopped.fetch_or(runs.is_err(), Ordering::Relaxed);
            runs
        });
        let runs: Result<Vec<Vec<CampaignRun>>, CampaignError> = runs.into_iter().collect();
        Ok(runs?.into_iter().flatten().collect())
    }

    fn run_point(
        &self,
        point: usize,
        workers: &impl Workers,
        stopped: &AtomicBool,
        done: &(impl Fn() + Sync),
    ) -> Result<Vec<CampaignRun>, CampaignError> {
        let bench = Bench::prepare(self.plan_at(point)?, &*self.search_paths.files)
            .map_err(CampaignError::Unprepared)?;
        let runs = workers.each(self.seeds.len(), |place| {
            // What is missing then is never asked for: a failure takes the place of all runs.
            if stopped.load(Ordering::Relaxed) {
                return Vec::new();
            }
            let seed = self.seeds[place];
            let bench = bench.with_seed(seed);
            let cases = bench.plan().cases.iter().enumerate();
            let runs: Vec<Result<CampaignRun, CampaignError>> = cases
                .map(|(place, case)| {
                    let run = bench.run(case, Recording::VerdictsOnly);
                    let run = run.map_err(|left| CampaignError::LeftModel {
                        scenario: self.name_at(point),
                        seed,
                        left,
                    })?;
                    Ok(CampaignRun {
                        point,
                        case: place,
                        seed,
                        runs: run.runs,
                        compressor: run.compressor,
                        failed: failed(bench.plan(), &run.verdicts),
                    })
                })
                .collect();
            done();
            runs
        });
        runs.into_iter().flatten().collect()
    }
}

/// Places, among all expectations of `plan`, of those that did not hold.
fn failed(plan: &Plan, verdicts: &[Verdict]) -> Vec<usize> {
    verdicts
        .iter()
        .filter(|verdict| verdict.outcome != Outcome::Holds)
        .filter_map(|verdict| {
            let expectations = plan.expectations.iter();
            expectations
                .clone()
                .position(|expectation| *expectation == verdict.expectation)
        })
        .collect()
}

/// Lowest and highest of what several runs have.
#[must_use]
pub fn range<T: Ord + Copy>(values: impl IntoIterator<Item = T>) -> Option<(T, T)> {
    values.into_iter().fold(None, |range, value| match range {
        None => Some((value, value)),
        Some((lowest, highest)) => Some((value.min(lowest), value.max(highest))),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::bundled::BUNDLED;
    use crate::scenario::search_paths::NoFiles;
    use crate::workers::InTurn;

    fn campaign(axes: &[(&str, &[&str])], seeds: &[u64]) -> Campaign {
        let bundled = BUNDLED.first().expect("a bundled scenario");
        let source = SourceText::new(bundled.name, bundled.text).expect("a text");
        let axes = axes.iter().map(|(path, values)| Axis {
            path: (*path).to_owned(),
            values: values.iter().map(|value| (*value).to_owned()).collect(),
        });
        Campaign::new(
            source,
            SearchPaths::default(),
            axes.collect(),
            seeds.to_vec(),
        )
        .expect("a campaign")
    }

    #[test]
    fn every_combination_comes_once_and_in_order() {
        let campaign = campaign(
            &[
                ("control.differential", &["1 K", "2 K"]),
                ("control.setpoint", &["1 °C", "2 °C", "3 °C"]),
            ],
            &[1, 2],
        );
        assert_eq!(campaign.points(), 6);
        assert_eq!(campaign.values_at(0), ["1 K", "1 °C"]);
        assert_eq!(campaign.values_at(1), ["1 K", "2 °C"]);
        assert_eq!(campaign.values_at(5), ["2 K", "3 °C"]);
    }

    /// The same run alone is the judge.
    #[test]
    fn a_run_of_a_campaign_is_the_run_alone() {
        let campaign = campaign(&[("control.differential", &["1 K", "3 K"])], &[4, 9]);
        campaign.check(&InTurn).expect("scenarios");
        let runs = campaign.run(&InTurn, || ()).expect("runs");
        assert_eq!(runs.len(), 4);
        for run in &runs {
            let mut plan = campaign.plan_at(run.point).expect("a plan");
            plan.seed = run.seed;
            let bench = Bench::prepare(plan, &NoFiles).expect("a bench");
            let alone = bench.run(&bench.plan().cases[0], Recording::VerdictsOnly);
            let alone = alone.expect("within its model");
            assert_eq!(alone.runs, run.runs);
        }
        assert!(runs[0].runs.starts > runs[2].runs.starts, "{runs:?}");
    }

    #[test]
    fn too_much_and_nothing_are_refused() {
        let source = || SourceText::new("x", "").expect("a text");
        let new = |axes, seeds| Campaign::new(source(), SearchPaths::default(), axes, seeds);
        let of = |path: String, length: usize| Axis {
            path,
            values: vec!["1".to_owned(); length],
        };
        let axis = |length: usize| of("control.setpoint".to_owned(), length);
        let nine = (0..9).map(|number| of(format!("plant.entry_{number}"), 1_000));
        let seeds = Axis {
            path: "seed".to_owned(),
            ..axis(2)
        };
        assert!(matches!(
            new(vec![seeds], vec![1]),
            Err(CampaignError::SeedsAmongValues)
        ));
        assert!(matches!(
            new(nine.collect(), vec![1]),
            Err(CampaignError::TooManyRuns)
        ));
        assert!(matches!(
            new(vec![axis(0)], vec![1]),
            Err(CampaignError::NoRuns)
        ));
        assert!(matches!(new(vec![], vec![]), Err(CampaignError::NoRuns)));
    }

    #[test]
    fn an_impossible_combination_is_found_before_anything_runs() {
        let values = ["1 K", "0.1 K", "0.01 K"];
        let campaign = campaign(&[("control.differential", &values)], &[1]);
        let refused = campaign.check(&InTurn).expect_err("refused").to_string();
        assert!(
            refused.contains("control.differential = 0.1 K"),
            "{refused}"
        );
    }
}
