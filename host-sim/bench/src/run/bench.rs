//! The bench: owns time, and runs the cases of a plan from beginning to end.
//!
//! Nothing is read from the wall clock and all chance is drawn from the scenario's seed, so a
//! run repeats exactly.

use std::error::Error;

use hysteron_logic::counters::Totals;
use hysteron_logic::time::Duration;

use crate::record::recorder::Recorder;
use crate::record::runs::RunTotals;
use crate::record::trace::Trace;
use crate::record::verdict::Verdict;
use crate::run::board::{Board, InProcess, RemoteBoard};
use crate::run::left_model::LeftModel;
use crate::run::world::World;
use crate::scenario::expectation::Observable;
use crate::scenario::plan::{Case, Plan};
use crate::scenario::search_paths::Files;
use hysteron_plant::Plant;
use hysteron_plant::ambient::AmbientClock;
use hysteron_plant::known_range::Beyond;

/// Whether a run leaves a trace.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Recording {
    /// Verdicts and totals only; memory stays flat however long the run.
    VerdictsOnly,
    /// A bounded trace too, for charts and exports.
    Traced,
}

/// An installation, ready to run any case of its plan.
#[derive(Debug, Clone)]
pub struct Bench {
    plan: Plan,
    plant: Plant,
    ambient: AmbientClock,
}

/// What came of one case.
#[derive(Debug, Clone)]
pub struct CaseRun {
    /// The case.
    pub case: Case,
    /// Every expectation that concerns it, judged.
    pub verdicts: Vec<Verdict>,
    /// What the load has done.
    pub runs: RunTotals,
    /// What the compressor has done that a low-pressure control starts, if there is one.
    pub compressor: Option<RunTotals>,
    /// What the control has counted.
    pub totals: Totals,
    /// The trace, if it was recorded.
    pub trace: Option<Trace>,
}

impl Bench {
    /// Builds the installation of `plan`; `files` have the weather, if it names some.
    ///
    /// # Errors
    /// A weather file that cannot be read, or a plant that cannot be built.
    pub fn prepare(plan: Plan, files: &dyn Files) -> Result<Self, Box<dyn Error + Send + Sync>> {
        let plant = plan.plant.build(plan.step_s())?;
        let ambient = plan.ambient.build(files)?;
        Ok(Self {
            plan,
            plant,
            ambient,
        })
    }

    /// The same installation, with all chance drawn from `seed`.
    #[must_use]
    pub fn with_seed(&self, seed: u64) -> Self {
        let mut bench = self.clone();
        bench.plan.seed = seed;
        bench
    }

    /// The plan.
    #[must_use]
    pub const fn plan(&self) -> &Plan {
        &self.plan
    }

    /// What a trace of this installation shows.
    #[must_use]
    pub fn observables(&self) -> Vec<Observable> {
        let plant = self.plant.quantities().iter().copied();
        [Observable::ProbeReading, Observable::Ambient]
            .into_iter()
            .chain(plant.map(Observable::Plant))
            .collect()
    }

    /// Runs one case from beginning to end.
    ///
    /// # Errors
    /// The plant has left what its model knows.
    pub fn run(&self, case: &Case, recording: Recording) -> Result<CaseRun, LeftModel> {
        let mut board = Board::InProcess(InProcess::with_settings(case.settings));
        self.run_with(&mut board, case, recording)
    }

    /// Runs one case from beginning to end on a board outside this process: one without power
    /// so far, and with the settings of the case.
    ///
    /// # Errors
    /// The plant has left what its model knows.
    pub fn run_on(
        &self,
        board: &mut dyn RemoteBoard,
        case: &Case,
        recording: Recording,
    ) -> Result<CaseRun, LeftModel> {
        self.run_with(&mut Board::Remote(board), case, recording)
    }

    fn run_with(
        &self,
        board: &mut Board<'_>,
        case: &Case,
        recording: Recording,
    ) -> Result<CaseRun, LeftModel> {
        let trace = match recording {
            Recording::VerdictsOnly => None,
            Recording::Traced => Some(Trace::new(self.plan.step, self.observables())),
        };
        let expectations = self.plan.expectations.iter();
        let concerned = expectations
            .filter(|expectation| expectation.case.is_none() || expectation.case == case.name);
        let mut recorder = Recorder::new(concerned.cloned(), trace);
        let (plant, ambient) = (self.plant.clone(), self.ambient.clone());
        let mut world = World::new((&self.plan, case), plant, ambient, board);
        let mut at = Duration::ZERO;
        while at < self.plan.duration {
            world.step(at, &mut recorder);
            if let Some(beyond) = world.beyond {
                return Err(self.left_model(case, at, beyond));
            }
            at = at.and(self.plan.step);
        }
        if let Some(beyond) = world.plant_beyond() {
            return Err(self.left_model(case, at, beyond));
        }
        let watched = recorder.finish(at);
        Ok(CaseRun {
            case: case.clone(),
            verdicts: watched.verdicts,
            runs: watched.runs,
            compressor: watched.compressor,
            totals: world.board.totals(),
            trace: watched.trace,
        })
    }

    fn left_model(&self, case: &Case, at: Duration, beyond: Beyond) -> LeftModel {
        LeftModel {
            case: case.name.clone(),
            kind: self.plan.plant.kind(),
            at,
            beyond,
        }
    }
}
