//! A scenario with what came of it, ready to be told and exported.

use std::path::PathBuf;

use clap::ValueEnum;
use rayon::prelude::*;

use crate::chip::Chip;
use crate::chip::board::{ChipRunError, run_on_chip};
use crate::disk::Disk;
use crate::exit::Exit;
use crate::failure::Failure;
use hysteron_bench::run::bench::{Bench, CaseRun, Recording};
use hysteron_bench::run::left_model::LeftModel;
use hysteron_bench::scenario::plan::Plan;

/// What a person wants the control to run on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum RunsOn {
    /// This process
    Process,
    /// The board's image in an emulated chip, in lockstep (some hundred times slower)
    Chip,
}

impl RunsOn {
    /// What decides then; an `image` is for the chip.
    ///
    /// # Errors
    /// When an image is named for nothing.
    pub fn controller(self, image: Option<PathBuf>) -> Result<Controller, Failure> {
        match (self, image) {
            (Self::Chip, image) => Ok(Controller::Chip {
                image: image.unwrap_or_else(|| Chip::image("pico")),
            }),
            (Self::Process, None) => Ok(Controller::Process),
            (Self::Process, Some(_)) => {
                Err(Failure::because("--image is for runs on the board's chip")
                    .remedy("add --on chip, or leave --image out"))
            }
        }
    }
}

/// What decides in a run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Controller {
    /// The control in this process.
    Process,
    /// The board's image in an emulated chip.
    Chip {
        /// The image.
        image: PathBuf,
    },
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
    /// When its weather cannot be read, its plant cannot be built or leaves what its model knows, or the
    /// chip cannot be used.
    pub fn of(plan: Plan, controller: &Controller) -> Result<Self, Failure> {
        let bench =
            Bench::prepare(plan, &Disk).map_err(|error| Failure::because(error.to_string()))?;
        let cases = bench.plan().cases.par_iter();
        let cases = cases.map(|case| match controller {
            Controller::Process => bench
                .run(case, Recording::Traced)
                .map_err(ChipRunError::LeftModel),
            Controller::Chip { image } => {
                let mut chip = Chip::start(image)?;
                run_on_chip(&bench, &mut chip, case, Recording::Traced)
            }
        });
        let cases = cases.collect::<Result<_, ChipRunError>>();
        Ok(Self {
            cases: cases.map_err(|error| match error {
                ChipRunError::Chip(error) => Failure::because(error.to_string()),
                ChipRunError::LeftModel(left) => {
                    Failure::because(format!("{}: {left}", bench.plan().title))
                        .remedy(LeftModel::REMEDY)
                }
            })?,
            plan: bench.plan().clone(),
        })
    }

    /// Whether every expectation holds.
    #[must_use]
    pub fn exit(&self) -> Exit {
        Exit::of(self.cases.iter().flat_map(|case| &case.verdicts))
    }
}
