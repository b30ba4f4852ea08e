//! `hysteron` alone: the demonstration.

use super::Perform;
use super::exports::Exports;
use super::files::{Files, Foreign};
use super::run::Done;
use super::scenario_input::ScenarioInput;
use super::scenario_run::{Controller, ScenarioRun};
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use hysteron_bench::scenario::bundled::BUNDLED;

/// Where its report lies.
pub const REPORT: &str = "./hysteron-report.html";

/// The first bundled scenario, run and reported.
pub struct Demonstration;

impl Perform for Demonstration {
    fn perform(self, console: &mut Console<'_>) -> Result<Exit, Failure> {
        let Some(first) = BUNDLED.first() else {
            return Err(Failure::because("nothing is bundled"));
        };
        let exports = Exports::report_in(REPORT.into());
        let mut files = Files::default();
        exports.note_written(&[first.name.to_owned()], &mut files);
        files.check(Foreign::Kept).map_err(|failure| {
            failure.remedy(format!(
                "move that file, or write the report elsewhere: hysteron run {} --report FILE",
                first.name
            ))
        })?;
        let plan = ScenarioInput::Bundled(first).plan(None)?;
        let run = ScenarioRun::of(plan, &Controller::Process)?;
        let done = Done::of(&run, &exports, first.name, "hysteron", console.screen())?;
        Ok(done.tell(console))
    }
}
