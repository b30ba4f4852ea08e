//! `hysteron` alone: the demonstration.

use super::Perform;
use super::run::{RunsOn, ScenarioRun};
use super::scenario_input::ScenarioInput;
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::scenario::bundled::BUNDLED;

/// The first bundled scenario, run and reported.
pub struct Demonstration;

impl Perform for Demonstration {
    fn perform(self, console: &mut Console<'_>) -> Result<Exit, Failure> {
        let Some(first) = BUNDLED.first() else {
            return Err(Failure::because("nothing is bundled"));
        };
        let done = ScenarioRun::of(ScenarioInput::Bundled(first).plan(None)?, RunsOn::Process)?;
        console.say(&done.answer());
        Ok(done.exit())
    }
}
