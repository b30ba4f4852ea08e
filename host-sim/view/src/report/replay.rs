//! The report on a recording that drove the control.

use hysteron_logic::settings::Settings;
use hysteron_logic::time::Duration;
use maud::{Markup, html};

use super::page::{case, cautions, document, settings_table};
use super::view::CaseView;
use crate::words::installation::control;
use crate::words::no_break_space::unbroken;
use crate::words::recorded::{WHAT_IT_IS, recorded};
use hysteron_bench::replay::Replay;
use hysteron_bench::scenario::quantity_text::moment_text;

/// What the recording is called, and when it begins in its own words.
#[derive(Debug, Clone, Copy)]
pub struct Recorded<'a> {
    /// Its name.
    pub name: &'a str,
    /// The moment of its first reading.
    pub begins: &'a str,
}

pub(super) fn page(
    replay: &Replay,
    recording: Recorded<'_>,
    settings: Settings,
    command: &str,
) -> Markup {
    let (plan, run) = replay.as_run(recording.name.to_owned(), settings);
    let view = CaseView::new(&plan, &run);
    let content = html! {
        header {
            p class="kind" { "Replay report" }
            h1 { (plan.title) }
            p class="about" { (unbroken(WHAT_IT_IS)) }
            p {
                (unbroken(&recorded(replay, view.degrees))) " " (unbroken(&control(&settings)))
                @if recording.begins != moment_text(Duration::ZERO) {
                    " Times count from the first reading, " (unbroken(recording.begins)) "."
                }
            }
        }
        (case(&view, "replay", 1))
        section { (settings_table(&view)) }
        section id="again" {
            h2 { "To see the same again" }
            pre { code { (command) } }
            p { "Hysteron " (env!("CARGO_PKG_VERSION")) ". The same recording, settings and version give the same answer." }
        }
        (cautions())
    };
    document(&plan.title, &content)
}
