//! Several cases, a block of lines each.

use super::plot::contents_range;
use super::screen::Screen;
use super::strip::{strip, time_axis};
use super::style::{QUIET, STRONG};
use super::verdict_lines::verdict_line;
use hysteron_bench::record::verdict::Outcome;
use hysteron_view::report::figures::duty;
use hysteron_view::report::verdicts::tally;
use hysteron_view::report::view::CaseView;
use hysteron_view::words::degrees::percent;
use hysteron_view::words::number::counted;

/// Cases that find room on the screen.
const MOST_CASES: usize = 6;
/// Verdicts that do not hold and find room.
const MOST_FAILURES: usize = 4;

fn compressor_starts(view: &CaseView<'_>) -> String {
    view.run.compressor.map_or_else(String::new, |runs| {
        format!(", {} of the compressor", runs.starts)
    })
}

pub(super) fn table(views: &[CaseView<'_>], screen: Screen, lines: &mut Vec<String>) {
    for view in views.iter().take(MOST_CASES) {
        let (held, all) = tally(std::slice::from_ref(view.run));
        let mut words = format!(
            "{held} of {all} hold; {}{}; duty {}",
            counted(view.run.runs.starts, "start"),
            compressor_starts(view),
            percent(duty(view)),
        );
        if let Some(range) = contents_range(view) {
            words.push_str(&format!("; {range}"));
        }
        let name = screen.fitted(view.name(), 22);
        let room = screen.width().saturating_sub(24);
        lines.push(format!(
            "{STRONG}{name:<22}{STRONG:#}  {}",
            screen.fitted(&words, room)
        ));
        if view.trace().is_some() {
            lines.push(format!(
                "relay {}",
                strip(view, screen, screen.plot_width())
            ));
        }
    }
    if let Some(first) = views.first().filter(|view| view.trace().is_some()) {
        lines.push(time_axis(first.plan.duration, screen));
    }
    if views.len() > MOST_CASES {
        lines.push(format!(
            "{QUIET}and {} in the report{QUIET:#}",
            counted((views.len() - MOST_CASES) as u64, "more case")
        ));
    }
    lines.push(String::new());
    let failures: Vec<String> = views
        .iter()
        .flat_map(|view| failures(view, screen))
        .collect();
    lines.extend(failures.iter().take(MOST_FAILURES).cloned());
    if failures.len() > MOST_FAILURES {
        lines.push(format!(
            "  {QUIET}and {} more that do not hold{QUIET:#}",
            failures.len() - MOST_FAILURES
        ));
    }
}

fn failures(view: &CaseView<'_>, screen: Screen) -> Vec<String> {
    let failing = |verdict: &&_| -> bool {
        let verdict: &hysteron_bench::record::verdict::Verdict = verdict;
        verdict.outcome != Outcome::Holds
    };
    let named = |line: String| format!("{line} {QUIET}({}){QUIET:#}", view.name());
    let narrower = Screen::new(
        screen
            .width()
            .saturating_sub(screen.width_of(view.name()) + 3),
        screen.charset(),
    );
    view.run
        .verdicts
        .iter()
        .filter(failing)
        .map(|verdict| named(verdict_line(verdict, view, narrower)))
        .collect()
}
