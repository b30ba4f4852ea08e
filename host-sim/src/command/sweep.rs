//! `hysteron sweep`: a scenario over ranges of its settings and over seeds.

use std::num::NonZeroUsize;
use std::path::PathBuf;

use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use rayon::prelude::*;

use super::Perform;
use super::destination::{Destination, standard_output};
use super::failing_case;
use super::files::{Files, ForceArgument, Foreign};
use super::jobs::{self, OnPool};
use super::own_file::OwnFile;
use super::scenario_input::ScenarioInput;
use super::sweep_table;
use super::value_range::{Seeds, Values};
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::terminal::Charset;
use hysteron_bench::campaign::{Campaign, CampaignError, CampaignRun};
use hysteron_bench::run::left_model::LeftModel;
use hysteron_bench::scenario::plan::Plan;
use hysteron_bench::shrink::Effort;
use hysteron_view::words::number::counted;

/// Runs a scenario over ranges of its settings and over seeds
#[derive(Debug, Clone, Args)]
#[command(after_help = format!("\
Every combination of values runs on every seed, on all cores. Every run that fails is written out as \
a scenario of its own that fails alone; the first of them are made smaller before: settings go back, \
happenings go, the end comes earlier, as long as the same expectation fails.

Examples:
  hysteron sweep works-canteen --seeds 1..50
  hysteron sweep works-canteen --set control.differential=1K..4K/0.5K
  hysteron sweep cooler.toml --set control.setpoint=1C,2C --set probe.lag=10s..60s/10s --csv runs.csv

Exit codes:
{}", Exit::ABOUT))]
pub struct SweepArguments {
    /// A scenario file, the name of a bundled scenario, or `-` for standard input
    scenario: PathBuf,

    /// An entry of the scenario and its values, as a list or a range with its step; may be given again
    #[arg(long, value_name = "PATH=VALUES")]
    set: Vec<Values>,

    /// Seeds, as a range or a list [default: the scenario's own]
    #[arg(long, value_name = "SEEDS")]
    seeds: Option<Seeds>,

    /// Weather of a year (EPW, TMY3 or TMY2), for a scenario whose ambient is weather
    #[arg(long, value_name = "FILE")]
    weather: Option<PathBuf>,

    /// Runs at the same time [default: as many as there are cores]
    #[arg(long, value_name = "NUMBER")]
    jobs: Option<NonZeroUsize>,

    /// Writes every run as comma-separated values to FILE (`-`: standard output)
    #[arg(long, value_name = "FILE")]
    csv: Option<Destination>,

    /// The folder that failing runs are written into
    #[arg(long, value_name = "FOLDER", default_value = "hysteron-failures")]
    failures: PathBuf,

    /// How many failing runs are made smaller; the others are written as they are
    #[arg(long, value_name = "NUMBER", default_value_t = 20)]
    shrink: usize,

    #[command(flatten)]
    force: ForceArgument,
}

/// What is to be done.
struct Sweep {
    name: String,
    campaign: Campaign,
    pool: rayon::ThreadPool,
    csv: Option<Destination>,
    failures: PathBuf,
    shrink: usize,
    own_seed: bool,
    foreign: Foreign,
    charset: Charset,
    /// Every file that is read.
    read: Vec<PathBuf>,
}

impl SweepArguments {
    fn checked(self, charset: Charset) -> Result<Sweep, Failure> {
        let input = ScenarioInput::named(&self.scenario)?;
        let text = input.text()?;
        let search_paths = input.search_paths(self.weather.as_deref());
        let axes: Vec<_> = self.set.into_iter().map(|values| values.0).collect();
        let own_seed = self.seeds.is_none();
        let pool = jobs::pool(self.jobs)?;
        let seeds = match self.seeds {
            Some(seeds) => seeds.0,
            None => {
                let plan = Plan::read(&text, &search_paths)?;
                vec![plan.seed]
            }
        };
        if self.weather.is_some() && axes.iter().any(|axis| axis.path == "ambient.file") {
            return Err(Failure::because(
                "--weather takes the place of ambient.file, so --set ambient.file would do nothing",
            )
            .remedy("leave one of them out"));
        }
        let campaign = Campaign::new(text, search_paths, axes, seeds).map_err(failure)?;
        let named = campaign.check(&OnPool(&pool)).map_err(failure)?;
        let (name, foreign) = (input.name(), self.force.into());
        let mut files = Files::default();
        input.note_read(&mut files);
        files.read("a file of the scenario", named.iter().chain(&self.weather));
        files.written("--csv", &self.csv, OwnFile::SweepTable);
        files.check(foreign)?;
        failing_case::check_folder(&self.failures, &name, foreign)?;
        Ok(Sweep {
            name,
            foreign,
            charset,
            read: files.read_paths(),
            campaign,
            pool,
            csv: self.csv,
            failures: self.failures,
            shrink: self.shrink,
            own_seed,
        })
    }
}

fn failure(error: CampaignError) -> Failure {
    match error {
        CampaignError::Scenario(rejected) => Failure::Text(rejected),
        CampaignError::TooManyRuns => {
            Failure::because(error.to_string()).remedy("give fewer values, or fewer seeds")
        }
        CampaignError::SeedsAmongValues => Failure::because(error.to_string())
            .remedy("give them by --seeds, such as --seeds 1..20"),
        CampaignError::Overridden(ref overridden) => {
            Failure::because(format!("--set {error}")).remedy(overridden.remedy())
        }
        CampaignError::LeftModel { .. } => {
            Failure::because(error.to_string()).remedy(LeftModel::REMEDY)
        }
        CampaignError::NoRuns | CampaignError::Edit(_) | CampaignError::Unprepared(_) => {
            Failure::because(error.to_string())
        }
    }
}

impl Perform for SweepArguments {
    fn perform(self, console: &mut Console<'_>) -> Result<Exit, Failure> {
        let sweep = self.checked(console.screen().charset())?;
        let plan = sweep.campaign.plan_at(0).map_err(failure)?;
        let stdout = standard_output(&sweep.csv)?;
        console.answer(&sweep.seeds_text(), stdout);
        let runs = sweep.run()?;
        let table = sweep_table::table(&sweep.campaign, &plan, &runs, console.screen());
        console.answer(&table, stdout);
        if let Some(destination) = &sweep.csv {
            destination.write(
                sweep_table::csv(&sweep.campaign, &plan, &runs).as_bytes(),
                console,
            )?;
        }
        let failing: Vec<(usize, &CampaignRun)> = runs
            .iter()
            .enumerate()
            .filter(|(_, run)| !run.failed.is_empty())
            .collect();
        if failing.is_empty() {
            return Ok(Exit::Holds);
        }
        console.note(&sweep.write_failures(&plan, &failing)?);
        Ok(Exit::Fails)
    }
}

impl Sweep {
    fn seeds_text(&self) -> String {
        match self.campaign.seeds() {
            [only] if self.own_seed => format!("seed {only}, the scenario's own"),
            [only] => format!("seed {only}"),
            seeds => {
                let consecutive = seeds.windows(2).all(|pair| pair[1] == pair[0] + 1);
                match (seeds.first(), seeds.last()) {
                    (Some(first), Some(last)) if consecutive => format!("seeds {first}..{last}"),
                    _ => {
                        let seeds: Vec<String> = seeds.iter().map(u64::to_string).collect();
                        format!("seeds {}", seeds.join(","))
                    }
                }
            }
        }
    }

    fn run(&self) -> Result<Vec<CampaignRun>, Failure> {
        let length = (self.campaign.points() * self.campaign.seeds().len()) as u64;
        let bar = bar(length, "runs", self.charset);
        let runs = self.campaign.run(&OnPool(&self.pool), || bar.inc(1));
        bar.finish_and_clear();
        runs.map_err(failure)
    }

    /// Writes every failing run out, and says where.
    fn write_failures(
        &self,
        plan: &Plan,
        failing: &[(usize, &CampaignRun)],
    ) -> Result<String, Failure> {
        let length = failing.len() as u64;
        let bar = bar(length, "failing runs made smaller", self.charset);
        let written: Result<Vec<PathBuf>, Failure> = self.pool.install(|| {
            let failing = failing.par_iter().enumerate();
            failing
                .map(|(place, (number, run))| {
                    let effort = if place < self.shrink {
                        failing_case::EFFORT
                    } else {
                        Effort::None
                    };
                    let case = failing_case::FailingCase {
                        campaign: &self.campaign,
                        plan,
                        scenario: &self.name,
                        number: *number,
                        run,
                        read: &self.read,
                    };
                    let path = case.write(&self.failures, effort, self.foreign);
                    bar.inc(1);
                    path
                })
                .collect()
        });
        bar.finish_and_clear();
        let first = written?.into_iter().next().unwrap_or_default();
        Ok(format!(
            "wrote {} into {}; begin with: hysteron run {}",
            counted(failing.len() as u64, "failing run"),
            self.failures.display(),
            first.display()
        ))
    }
}

/// A progress bar on standard error; nothing where that is not a terminal.
fn bar(length: u64, what: &'static str, charset: Charset) -> ProgressBar {
    let bar = ProgressBar::new(length);
    let style = ProgressStyle::with_template("{bar:30} {pos} of {len} {msg}, {eta} left");
    if let Ok(style) = style {
        bar.set_style(match charset {
            Charset::Unicode => style,
            Charset::Ascii => style.progress_chars("=> "),
        });
    }
    bar.set_message(what);
    bar
}
