//! A scenario with what came of it, ready to be told and exported.

use clap::ValueEnum;
use rayon::prelude::*;

use crate::bench::{Bench, CaseRun, Recording};
use crate::chip::board::run_on_chip;
use crate::chip::{Chip, ChipError};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::scenario::plan::Plan;

/// What the control runs on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum RunsOn {
    /// This process
    Process,
    /// The board's image in an emulated chip, in lockstep (some hundred times slower)
    Chip,
}

/// A scenario with what came of it.
pub struct ScenarioRun {
    /// The scenario.
    pub plan: Plan,
    /// Every case, with its trace.
    pub cases: Vec<CaseRun>,
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
                .and_then(|mut chip| run_on_chip(&bench, &mut chip, case, Recording::Traced)),
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
}
