//! The relay's strip, and the axis of time below it.

use hysteron_logic::time::Duration;

use super::screen::Screen;
use super::style::QUIET;
use hysteron_view::report::axis::time_marks;
use hysteron_view::report::view::CaseView;

/// The share of each column for which the relay was closed, as a bar; trouble stands in its own row.
pub(super) fn strip(view: &CaseView<'_>, screen: Screen, columns: usize) -> String {
    let shares = view.closed_shares(slot(view.plan.duration, columns), columns);
    shares.iter().map(|share| screen.bar(*share)).collect()
}

/// The time of one column.
pub(super) fn slot(duration: Duration, columns: usize) -> Duration {
    Duration::from_millis(duration.millis().div_ceil(columns.max(1) as u64).max(1))
}

/// The hours below a chart.
pub(super) fn time_axis(duration: Duration, screen: Screen) -> String {
    let columns = screen.plot_width();
    let mut axis = vec![' '; columns + screen.margin()];
    for mark in time_marks(duration, 7) {
        let share = mark.at.millis() as f64 / duration.millis().max(1) as f64;
        let centre = screen.margin() + (share * columns as f64) as usize;
        let from = centre.saturating_sub(mark.label.len() / 2);
        let from = from.min(axis.len().saturating_sub(mark.label.len()));
        for (place, sign) in axis[from..].iter_mut().zip(mark.label.chars()) {
            *place = sign;
        }
    }
    let axis: String = axis.into_iter().collect();
    format!("{QUIET}{}{QUIET:#}", axis.trim_end())
}
