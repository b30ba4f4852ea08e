//! `hysteron run`: runs scenarios and judges what they expect.

use std::num::NonZeroUsize;
use std::path::PathBuf;
use std::sync::mpsc;

use clap::Args;
use rayon::prelude::*;

use super::Perform;
use super::exports::{Export, ExportArguments, Exports};
use super::jobs;
use super::scenario_input::ScenarioInput;
use super::scenario_run::{RunsOn, ScenarioRun};
use super::shell_word::in_shell;
use crate::console::{Console, StandardOutput};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::terminal::{self, Screen};

/// Runs scenarios and judges what they expect.
#[derive(Debug, Clone, Args)]
#[command(after_help = format!("\
Examples:
  hysteron run works-canteen
  hysteron run cold-room.toml freezer.toml
  hysteron run scenarios/
  hysteron run works-canteen --report cooler.html
  hysteron run scenarios/ --report reports/
  hysteron run works-canteen --on chip
  hysteron list --copy works-canteen - | hysteron run -

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

    #[command(flatten)]
    exports: ExportArguments,

    /// What the control runs on
    #[arg(long, value_enum, value_name = "WHAT", default_value_t = RunsOn::Process)]
    on: RunsOn,
}

/// What is to be done.
struct Runs {
    inputs: Vec<ScenarioInput>,
    weather: Option<PathBuf>,
    seed: Option<u64>,
    on: RunsOn,
    exports: Exports,
    screen: Screen,
    pool: rayon::ThreadPool,
}

impl RunArguments {
    fn checked(self, screen: Screen) -> Result<Runs, Failure> {
        let inputs = ScenarioInput::all_named(&self.scenarios)?;
        let names: Vec<String> = inputs.iter().map(ScenarioInput::name).collect();
        Ok(Runs {
            exports: self.exports.checked(&names)?,
            inputs,
            screen,
            weather: self.weather,
            seed: self.seed,
            on: self.on,
            pool: jobs::pool(self.jobs)?,
        })
    }
}

impl Perform for RunArguments {
    fn perform(self, console: &mut Console<'_>) -> Result<Exit, Failure> {
        let runs = self.checked(console.screen())?;
        let mut worst = Exit::Holds;
        in_order(&runs, |done| {
            worst = worst.worse(match done {
                Ok(done) => done.tell(console),
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
fn in_order(runs: &Runs, mut take: impl FnMut(Result<Done, Failure>)) {
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
    fn one(&self, input: &ScenarioInput) -> Result<Done, Failure> {
        let mut plan = input.plan(self.weather.as_deref())?;
        plan.seed = self.seed.unwrap_or(plan.seed);
        let run = ScenarioRun::of(plan, self.on)?;
        Done::of(
            &run,
            &self.exports,
            &input.name(),
            &self.again(input),
            self.screen,
        )
    }

    /// What a person types to see this scenario run so again.
    fn again(&self, input: &ScenarioInput) -> String {
        let mut words = vec!["hysteron run".to_owned(), in_shell(&input.word())];
        if let Some(weather) = &self.weather {
            words.push(format!(
                "--weather {}",
                in_shell(&weather.display().to_string())
            ));
        }
        if let Some(seed) = self.seed {
            words.push(format!("--seed {seed}"));
        }
        if self.on == RunsOn::Chip {
            words.push("--on chip".to_owned());
        }
        words.join(" ")
    }
}

/// What is left of a run when it has been told: its trace is gone.
pub struct Done {
    answers: Answers,
    exports: Vec<Export>,
    exit: Exit,
    stdout: StandardOutput,
}

/// The answer with and without the place of the report, which may turn out not to be writable.
struct Answers {
    with_report: String,
    without: String,
}

impl Done {
    /// Prepares the answer and the exports of a run; `again` is what a person types to see it again.
    ///
    /// # Errors
    /// When a run cannot be exported.
    pub fn of(
        run: &ScenarioRun,
        exports: &Exports,
        name: &str,
        again: &str,
        screen: Screen,
    ) -> Result<Self, Failure> {
        let stdout = exports.stdout;
        let exports = exports.of(run, name, again)?;
        let report = exports.iter().find_map(Export::report_file);
        let report = report.map(|path| path.display().to_string());
        let answer = |report: Option<&str>| terminal::answer(&run.plan, &run.cases, report, screen);
        Ok(Self {
            answers: Answers {
                with_report: answer(report.as_deref()),
                without: answer(None),
            },
            exports,
            exit: run.exit(),
            stdout,
        })
    }

    /// Writes the exports, and tells the answer.
    pub fn tell(&self, console: &mut Console<'_>) -> Exit {
        let mut exit = self.exit;
        let mut answer = &self.answers.with_report;
        for export in &self.exports {
            if let Err(failure) = export.write(console) {
                console.complain(&failure);
                exit = Exit::WrongInput;
                answer = &self.answers.without;
            }
        }
        console.answer(answer, self.stdout);
        exit
    }
}
