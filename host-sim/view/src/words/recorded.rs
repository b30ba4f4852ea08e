//! A recording that drove the control, in words.

use crate::words::degrees::Degrees;
use crate::words::span::scenario_length;
use hysteron_bench::replay::Replay;

/// What a replay is, and what it is not.
pub const WHAT_IT_IS: &str = "The recording goes on as it went, whatever the relay does: this is \
    what the control would have done, not what would have come of it.";

/// How much was recorded, and between which temperatures.
#[must_use]
pub fn recorded(replay: &Replay, degrees: Degrees) -> String {
    let extremes = replay
        .extremes_c
        .map_or_else(String::new, |(lowest, highest)| {
            format!(
                ", {} to {}",
                degrees.measured(lowest),
                degrees.measured(highest)
            )
        });
    let length = scenario_length(replay.length);
    format!("{} readings, {length}{extremes}.", replay.rows)
}
