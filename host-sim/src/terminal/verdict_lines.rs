//! Verdicts, a line each.

use super::screen::Screen;
use super::style::QUIET;
use hysteron_bench::record::verdict::{Outcome, Verdict};
use hysteron_view::report::view::CaseView;
use hysteron_view::words::finding::finding;
use hysteron_view::words::subject::expectation;

/// Lines left for verdicts when everything else has its place.
const MOST_VERDICTS: usize = 4;

/// What fails first; what there is no room for is counted.
pub(super) fn verdict_lines(
    verdicts: &[Verdict],
    view: &CaseView<'_>,
    screen: Screen,
) -> Vec<String> {
    let mut order: Vec<&Verdict> = verdicts.iter().collect();
    order.sort_by_key(|verdict| verdict.outcome == Outcome::Holds);
    let room = if order.len() > MOST_VERDICTS {
        MOST_VERDICTS - 1
    } else {
        MOST_VERDICTS
    };
    let mut lines: Vec<String> = order
        .iter()
        .take(room)
        .map(|verdict| verdict_line(verdict, view, screen))
        .collect();
    if order.len() > room {
        let rest = &order[room..];
        let failing = rest
            .iter()
            .filter(|verdict| verdict.outcome != Outcome::Holds);
        let words = match failing.count() {
            0 => format!("and {} more that hold", rest.len()),
            failing if failing == rest.len() => format!("and {failing} more that do not hold"),
            failing => format!("and {} more, {failing} of which do not hold", rest.len()),
        };
        lines.push(format!("  {QUIET}{words}{QUIET:#}"));
    }
    lines
}

/// One verdict: what was expected, and what was found.
pub(super) fn verdict_line(verdict: &Verdict, view: &CaseView<'_>, screen: Screen) -> String {
    let expected = expectation(&verdict.expectation, view.plan.duration, view.degrees);
    let found = finding(verdict, view.degrees);
    let room = screen.width() - 2;
    let found = screen.fitted(&found, room * 3 / 5);
    let expected_room = room.saturating_sub(screen.width_of(&found) + 2);
    let expected = screen.fitted(&expected, expected_room);
    let gap = room.saturating_sub(screen.width_of(&expected) + screen.width_of(&found));
    format!(
        "{} {expected}{}{QUIET}{found}{QUIET:#}",
        screen.sign(verdict.outcome),
        " ".repeat(gap)
    )
}
