//! `hysteron run`: runs scenarios and judges what they expect.

use std::num::NonZeroUsize;
use std::path::PathBuf;
use std::sync::mpsc;

use clap::{Args, ValueEnum};
use rayon::prelude::*;

use super::Perform;
use super::scenario_input::ScenarioInput;
use crate::bench::{Bench, CaseRun, Recording};
use crate::chip::{Chip, ChipError};
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::scenario::plan::Plan;
use crate::verdict::Outcome;

/// Runs scenarios and judges what they expect.
#[derive(Debug, Clone, Args)]
#[command(after_help = format!("\
Examples:
  hysteron run walk-in-cooler
  hysteron run cold-room.toml freezer.toml
  hysteron run scenarios/
  hysteron run walk-in-cooler --on chip
  hysteron list --copy walk-in-cooler - | hysteron run -

Exit codes (of many scenarios, the worst):
{}", Exit::ABOUT))]
pub struct RunArguments {
    /// Scenario files, folders of them, names of bundled scenarios, or `-` for standard input
    #[arg(required = true, value_name = "SCENARIO")]
    scenarios: Vec<PathBuf>,

    /// Weather of a year (EPW, TMY3 or TMY2), for scenarios whose ambient is weather
    #[arg(long, value_name = "FILE")]
    weather: Option<PathBuf>,

    /// Draws all chance from this seed rather than from the scenario's own
    #[arg(long, value_name = "NUMBER")]
    seed: Option<u64>,

    /// Scenarios that run at the same time [default: as many as there are cores]
    #[arg(long, value_name = "NUMBER")]
    jobs: Option<NonZeroUsize>,

    /// What the control runs on
    #[arg(long, value_enum, value_name = "WHAT", default_value_t = RunsOn::Process)]
    on: RunsOn,
}

/// What the control runs on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum RunsOn {
    /// This process
    Process,
    /// The board's image in an emulated chip, in lockstep (some hundred times slower)
    Chip,
}

/// What is to be done.
struct Runs {
    inputs: Vec<ScenarioInput>,
    weather: Option<PathBuf>,
    seed: Option<u64>,
    on: RunsOn,
    pool: rayon::ThreadPool,
}

impl RunArguments {
    fn checked(self) -> Result<Runs, Failure> {
        Ok(Runs {
            inputs: ScenarioInput::all_named(&self.scenarios)?,
            weather: self.weather,
            seed: self.seed,
            on: self.on,
            pool: pool(self.jobs)?,
        })
    }
}

/// Threads for `jobs` things at a time; as many as there are cores where nobody says.
fn pool(jobs: Option<NonZeroUsize>) -> Result<rayon::ThreadPool, Failure> {
    rayon::ThreadPoolBuilder::new()
        .num_threads(jobs.map_or(0, NonZeroUsize::get))
        .build()
        .map_err(|error| {
            Failure::because(format!("cannot start so many jobs: {error}"))
                .remedy("give a smaller number to --jobs, or leave it out")
        })
}

impl Perform for RunArguments {
    fn perform(self, console: &mut Console<'_>) -> Result<Exit, Failure> {
        let runs = self.checked()?;
        let mut worst = Exit::Holds;
        in_order(&runs, |done| {
            worst = worst.worse(match done {
                Ok(done) => {
                    console.say(&done.answer());
                    done.exit()
                }
                Err(failure) => {
                    console.complain(&failure);
                    Exit::WrongInput
                }
            });
        });
        Ok(worst)
    }
}

/// Runs all at once and hands on each as soon as those before it are done.
fn in_order(runs: &Runs, mut take: impl FnMut(Result<ScenarioRun, Failure>)) {
    let (sender, receiver) = mpsc::channel();
    std::thread::scope(|scope| {
        scope.spawn(move || {
            runs.pool.install(|| {
                let inputs = runs.inputs.par_iter().enumerate();
                inputs.for_each_with(sender, |sender, (place, input)| {
                    // The receiver outlives every sender.
                    let _ = sender.send((place, runs.one(input)));
                });
            });
        });
        let mut waiting = std::collections::BTreeMap::new();
        let mut next = 0;
        for (place, done) in receiver {
            waiting.insert(place, done);
            while let Some(done) = waiting.remove(&next) {
                take(done);
                next += 1;
            }
        }
    });
}

impl Runs {
    fn one(&self, input: &ScenarioInput) -> Result<ScenarioRun, Failure> {
        let mut plan = input.plan(self.weather.as_deref())?;
        plan.seed = self.seed.unwrap_or(plan.seed);
        ScenarioRun::of(plan, self.on)
    }
}

/// A scenario with what came of it.
pub struct ScenarioRun {
    plan: Plan,
    cases: Vec<CaseRun>,
}

impl ScenarioRun {
    /// Runs every case of a plan.
    ///
    /// # Errors
    /// When its weather cannot be read, its plant cannot be built, or the chip cannot be used.
    pub fn of(plan: Plan, on: RunsOn) -> Result<Self, Failure> {
        let bench = Bench::prepare(plan).map_err(|error| Failure::because(error.to_string()))?;
        let cases = bench.plan().cases.par_iter();
        let cases = cases.map(|case| match on {
            RunsOn::Process => Ok(bench.run(case, Recording::Traced)),
            RunsOn::Chip => Chip::start(&Chip::image("pico"))
                .and_then(|mut chip| bench.run_on_chip(&mut chip, case, Recording::Traced)),
        });
        let cases = cases.collect::<Result<_, ChipError>>();
        Ok(Self {
            cases: cases.map_err(|error| Failure::because(error.to_string()))?,
            plan: bench.plan().clone(),
        })
    }

    /// Whether every expectation holds.
    #[must_use]
    pub fn exit(&self) -> Exit {
        Exit::of(self.cases.iter().flat_map(|case| &case.verdicts))
    }

    /// The answer for a terminal.
    #[must_use]
    pub fn answer(&self) -> String {
        let mut lines = vec![self.plan.title.clone()];
        for run in &self.cases {
            if let Some(name) = &run.case.name {
                lines.push(format!("  {name}"));
            }
            for verdict in &run.verdicts {
                let outcome = match verdict.outcome {
                    Outcome::Holds => "holds",
                    Outcome::Fails => "fails",
                    Outcome::NeverReached => "never reached",
                };
                lines.push(format!("    line {}: {outcome}", verdict.expectation.line));
            }
            lines.push(format!("    starts: {}", run.runs.starts));
        }
        lines.join("\n")
    }
}
