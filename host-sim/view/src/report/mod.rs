//! The report: one self-contained HTML file that a person would keep.
//!
//! No script and nothing from a network. It reads on paper, in the dark, on a
//! telephone, aloud, and without telling colours apart: state is shown by
//! height, reasons by pattern, series by weight and dash, outcomes by sign and word.
//!
//! ```text
//! plan, runs -> view -> topic, strip, slots, lanes -> happenings -> course -> page
//!                  +--> verdicts, figures, cases, events, wiring -------------^
//! ```

pub mod axis;
pub mod cases;
pub mod columns;
pub mod course;
pub mod events;
pub mod figures;
pub mod frame;
pub mod happenings;
pub mod hatching;
pub mod lanes;
pub mod lines;
mod page;
mod replay;
pub mod slots;
pub mod spells;
pub mod strip;
pub mod svg;
pub mod topic;
pub mod verdicts;
pub mod view;
pub mod wiring;

use hysteron_logic::settings::Settings;

pub use self::replay::Recorded;
use hysteron_bench::replay::Replay;
use hysteron_bench::run::bench::CaseRun;
use hysteron_bench::scenario::plan::Plan;

/// The report on these runs of `plan` as a whole HTML document.
///
/// `command` is what a person types to see the same again. The size is bounded
/// by the number of cases and the widths of the drawings, not by the time simulated.
#[must_use]
pub fn html(plan: &Plan, runs: &[CaseRun], command: &str) -> String {
    page::page(plan, runs, command).into_string()
}

/// The report on what the control would have done with a recording, as a whole HTML document.
///
/// `command` is what a person types to see the same again.
#[must_use]
pub fn replay_html(
    replay: &Replay,
    recording: Recorded<'_>,
    settings: Settings,
    command: &str,
) -> String {
    replay::page(replay, recording, settings, command).into_string()
}
