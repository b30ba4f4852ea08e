//! `hysteron run`: runs scenarios and judges what they expect.

use std::num::NonZeroUsize;
use std::path::PathBuf;
use std::sync::mpsc;

use clap::Args;
use rayon::prelude::*;

use super::Perform;
use super::exports::{Export, ExportArguments, Exports};
use super::files::Files;
use super::jobs;
use super::scenario_input::ScenarioInput;
use super::scenario_run::{Controller, RunsOn, ScenarioRun};
use super::shell_word::in_shell;
use crate::chip::Chip;
use crate::console::{Console, StandardOutput};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::terminal::{self, Screen};
use hysteron_bench::scenario::plan::Plan;
use hysteron_bench::scenario::seed;

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
    #[arg(long, value_name = "NUMBER", value_parser = seed::read)]
    seed: Option<u64>,

    /// Scenarios that run at the same time [default: as many as there are cores]
    #[arg(long, value_name = "NUMBER")]
    jobs: Option<NonZeroUsize>,

    #[command(flatten)]
    exports: ExportArguments,

    /// What the control runs on
    #[arg(long, value_enum, value_name = "WHAT", default_value_t = RunsOn::Process)]
    on: RunsOn,

    /// The board's image, for --on chip [default: target/board/pico.elf in this folder or above it]
    #[arg(long, value_name = "FILE")]
    image: Option<PathBuf>,
}

/// What is to be done.
struct Runs {
    weather: Option<PathBuf>,
    seed: Option<u64>,
    controller: Controller,
    exports: Exports,
    screen: Screen,
    pool: rayon::ThreadPool,
}

/// A scenario that has been read.
struct Ready {
    input: ScenarioInput,
    plan: Result<Plan, Failure>,
}

impl RunArguments {
    fn checked(self, screen: Screen) -> Result<(Runs, Vec<Ready>), Failure> {
        let inputs = ScenarioInput::all_named(&self.scenarios)?;
        let names: Vec<String> = inputs.iter().map(ScenarioInput::name).collect();
        let force = self.exports.force;
        let exports = self.exports.checked(&names)?;
        let controller = self.on.controller(self.image)?;
        let pool = jobs::pool(self.jobs)?;
        let weather = self.weather.as_deref();
        let read = |input: ScenarioInput| Ready {
            plan: input.plan(weather),
            input,
        };
        let ready: Vec<Ready> = pool.install(|| inputs.into_par_iter().map(read).collect());
        let mut files = Files::making_folders();
        for one in &ready {
            one.note_read(&mut files);
        }
        files.read("the weather file", weather);
        if let Controller::Chip { image } = &controller {
            files.read("the image", [image]);
        }
        exports.note_written(&names, &mut files);
        files.check(force.into())?;
        let runs = Runs {
            weather: self.weather,
            seed: self.seed,
            controller,
            exports,
            screen,
            pool,
        };
        Ok((runs, ready))
    }
}

impl Ready {
    /// Notes what it was read from, and what its run will read.
    fn note_read(&self, files: &mut Files) {
        self.input.note_read(files);
        files.read(
            "a file of the scenario",
            self.plan.iter().flat_map(Plan::files),
        );
    }
}

impl Perform for RunArguments {
    fn perform(self, console: &mut Console<'_>) -> Result<Exit, Failure> {
        let (runs, ready) = self.checked(console.screen())?;
        let mut worst = Exit::Holds;
        in_order(&runs, ready, |done| {
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
fn in_order(runs: &Runs, ready: Vec<Ready>, mut take: impl FnMut(Result<Done, Failure>)) {
    let (sender, receiver) = mpsc::channel();
    std::thread::scope(|scope| {
        scope.spawn(move || {
            runs.pool.install(|| {
                let ready = ready.into_par_iter().enumerate();
                ready.for_each_with(sender, |sender, (place, one)| {
                    // The receiver outlives every sender.
                    let _ = sender.send((place, runs.one(one)));
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
    fn one(&self, ready: Ready) -> Result<Done, Failure> {
        let mut plan = ready.plan?;
        plan.seed = self.seed.unwrap_or(plan.seed);
        let run = ScenarioRun::of(plan, &self.controller)?;
        let again = self.again(&ready.input);
        Done::of(
            &run,
            &self.exports,
            &ready.input.name(),
            &again,
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
        if let Controller::Chip { image } = &self.controller {
            words.push("--on chip".to_owned());
            if *image != Chip::image("pico") {
                let image = image.display().to_string();
                words.push(format!("--image {}", in_shell(&image)));
            }
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
