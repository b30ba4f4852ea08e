//! The answer of a run on one screen of 24 lines.
//!
//! What is returned carries styles as ANSI codes; who prints it strips them
//! where nobody can see them. Signs and words alone tell everything, colour only helps.

mod cases;
mod plot;
mod screen;
mod strip;
mod style;
mod verdict_lines;

pub use screen::{Charset, Screen};
use strip::{slot, strip, time_axis};
use style::{BAD, GOOD, QUIET, STRONG};
use verdict_lines::verdict_lines;

use hysteron_bench::run::bench::CaseRun;
use hysteron_bench::scenario::plan::Plan;
use hysteron_view::report::figures::{duty, rounded_shortest_rest, seen};
use hysteron_view::report::spells::{span_shares, time_shares};
use hysteron_view::report::strip::Look;
use hysteron_view::report::verdicts::tally;
use hysteron_view::report::view::{CaseView, Trouble};
use hysteron_view::words::degrees::percent;
use hysteron_view::words::number::{counted, expectations};
use hysteron_view::words::span::{rounded, scenario_length};

/// The answer of these runs of `plan`; `report` tells where the report lies.
#[must_use]
pub fn answer(plan: &Plan, runs: &[CaseRun], report: Option<&str>, screen: Screen) -> String {
    let views: Vec<CaseView<'_>> = runs.iter().map(|run| CaseView::new(plan, run)).collect();
    let mut lines = vec![format!(
        "{STRONG}{}{STRONG:#}",
        screen.fitted(&plan.title, screen.width())
    )];
    match &views[..] {
        [] => {}
        [only] => one_case(only, screen, &mut lines),
        [first, ..] => {
            lines.push(quiet(screen, &heading(first)));
            lines.push(String::new());
            cases::table(&views, screen, &mut lines);
        }
    }
    lines.push(sum(runs));
    lines.extend(report.map(|place| format!("Report: {place}")));
    let mut text = lines.join("\n");
    text.push('\n');
    screen.written(&text)
}

fn heading(view: &CaseView<'_>) -> String {
    let draft = view.run.case.settings.draft();
    format!(
        "{}, seed {}; {} to {}, differential {}",
        scenario_length(view.plan.duration),
        view.plan.seed,
        hysteron_view::words::setting::mode(draft.mode),
        view.degrees.chosen(draft.setpoint),
        view.degrees.difference(draft.differential)
    )
}

fn quiet(screen: Screen, words: &str) -> String {
    format!("{QUIET}{}{QUIET:#}", screen.fitted(words, screen.width()))
}

fn one_case(view: &CaseView<'_>, screen: Screen, lines: &mut Vec<String>) {
    lines.push(quiet(screen, &heading(view)));
    lines.extend(course_lines(view, screen));
    lines.push(String::new());
    lines.extend(verdict_lines(&view.run.verdicts, view, screen));
    lines.extend(totals(view, screen));
    lines.extend(compressor_totals(view, screen));
}

/// The course of one run of `plan`: chart, relay and trouble; nothing without a trace.
#[must_use]
pub fn course(plan: &Plan, run: &CaseRun, screen: Screen) -> String {
    screen.written(&course_lines(&CaseView::new(plan, run), screen).join("\n"))
}

fn course_lines(view: &CaseView<'_>, screen: Screen) -> Vec<String> {
    if view.trace().is_none() {
        return Vec::new();
    }
    let mut lines = plot::chart(view, screen);
    lines.push(time_axis(view.plan.duration, screen));
    lines.push(format!(
        "relay {}",
        strip(view, screen, screen.plot_width())
    ));
    lines.extend(trouble_row(view, screen));
    lines
}

/// A row that marks where holds (h), faults (f), defrosts (d), lockouts (L) and losses of power (x) were.
fn trouble_row(view: &CaseView<'_>, screen: Screen) -> Vec<String> {
    let columns = screen.plot_width();
    let slot = slot(view.plan.duration, columns);
    let held = |looks: &[Look]| {
        time_shares(&view.spells, slot, columns, |stretch| {
            looks.contains(&Look::of(stretch.standing))
        })
    };
    let troubles = view.troubles();
    let troubled = |kind: Trouble| {
        let spans = troubles.iter().filter(|(trouble, ..)| *trouble == kind);
        span_shares(
            spans.map(|(_, from, until)| (*from, *until, 1.0)),
            slot,
            columns,
        )
    };
    let kinds = [
        ('h', "held", held(&[Look::HeldOpen, Look::HeldClosed])),
        ('d', "defrost", held(&[Look::Defrost])),
        ('f', "probe fault", troubled(Trouble::ProbeFault)),
        ('x', "no power", troubled(Trouble::NoPower)),
        ('L', "locked out", troubled(Trouble::Lockout)),
    ];
    let mut row = vec![' '; columns];
    let mut key = Vec::new();
    for (sign, name, shares) in kinds {
        let mut seen = false;
        for (place, share) in shares.iter().enumerate() {
            // A hold of a few seconds is no news in a column of an hour.
            if *share > 0.1 {
                row[place] = sign;
                seen = true;
            }
        }
        if seen {
            key.push(format!("{sign} {name}"));
        }
    }
    if key.is_empty() {
        return Vec::new();
    }
    let row: String = row.into_iter().collect();
    let key = key.join(", ");
    let beside = screen.width() - screen.margin() - columns - 1;
    if screen.width_of(&key) <= beside {
        return vec![format!("why   {row} {QUIET}{key}{QUIET:#}")];
    }
    vec![
        format!("why   {}", row.trim_end()),
        format!("      {QUIET}{key}{QUIET:#}"),
    ]
}

fn totals(view: &CaseView<'_>, screen: Screen) -> [String; 2] {
    let runs = view.run.runs;
    let spell = format!(
        "longest run {}; shortest rest {}",
        rounded(runs.longest_run),
        rounded_shortest_rest(view)
    );
    [
        format!(
            "{}, {} at most in any hour; duty {}, {} in all",
            counted(runs.starts, "start"),
            runs.most_starts_in_an_hour,
            percent(duty(view)),
            rounded(runs.run)
        ),
        match plot::contents_range(view) {
            Some(range) => format!("{spell}; {range}"),
            None => spell,
        },
    ]
    .map(|words| screen.fitted(&words, screen.width()))
}

/// What a compressor did that a low-pressure control starts.
fn compressor_totals(view: &CaseView<'_>, screen: Screen) -> Option<String> {
    let runs = view.run.compressor?;
    let words = format!(
        "compressor: {}, {} at most in any hour; shortest rest {}",
        counted(runs.starts, "start"),
        runs.most_starts_in_an_hour,
        seen(runs.shortest_rest)
    );
    Some(screen.fitted(&words, screen.width()))
}

fn sum(runs: &[CaseRun]) -> String {
    let (held, all) = tally(runs);
    let words = expectations(all - held, all);
    match all - held {
        _ if all == 0 => words,
        0 => format!("{GOOD}{words}{GOOD:#}"),
        _ => format!("{BAD}{words}{BAD:#}"),
    }
}
