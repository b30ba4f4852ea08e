//! What a replay showed, in words and as a table of the relay.

use hysteron_logic::settings::Settings;
use hysteron_logic::time::Duration;

use super::own_file::REPLAY_COLUMNS;
use crate::terminal::{self, Screen};
use hysteron_bench::record::trace::Trace;
use hysteron_bench::replay::Replay;
use hysteron_view::report::events::select;
use hysteron_view::report::spells::spells;
use hysteron_view::words::degrees::{Degrees, percent};
use hysteron_view::words::event;
use hysteron_view::words::installation;
use hysteron_view::words::recorded::{WHAT_IT_IS, recorded};
use hysteron_view::words::span::rounded;
use hysteron_view::words::subject::relay_word;

/// More events than this are no longer read.
const MOST_EVENTS: usize = 20;

/// A recording shorter than this makes no chart.
const SHORTEST_COURSE: Duration = Duration::from_minutes(1);

/// The course of a replay as a chart; empty for a recording of a moment.
pub fn course(replay: &Replay, settings: Settings, screen: Screen) -> String {
    if replay.length < SHORTEST_COURSE || replay.extremes_c.is_none() {
        return String::new();
    }
    let (plan, run) = replay.as_run(String::new(), settings);
    terminal::course(&plan, &run, screen)
}

/// The answer for a terminal; `moment` writes a time as the recording does.
pub fn answer(
    replay: &Replay,
    settings: &Settings,
    course: &str,
    moment: &dyn Fn(Duration) -> String,
) -> String {
    let degrees = Degrees::of(settings.draft().scale);
    let mut lines = vec![recorded(replay, degrees)];
    lines.push(installation::control(settings));
    lines.push(String::new());
    if !course.is_empty() {
        lines.push(course.to_owned());
        lines.push(String::new());
    }
    lines.extend(figures(replay));
    lines.push(String::new());
    lines.extend(events(&replay.trace, moment));
    lines.push(String::new());
    lines.push(WHAT_IT_IS.to_owned());
    lines.join("\n")
}

fn figures(replay: &Replay) -> Vec<String> {
    let runs = replay.runs;
    let duty = runs.run.millis() as f64 / replay.length.millis().max(1) as f64;
    let some =
        |duration: Option<Duration>| duration.map_or_else(|| "none seen".to_owned(), rounded);
    [
        (
            "starts",
            format!(
                "{}, at most {} in any hour",
                runs.starts, runs.most_starts_in_an_hour
            ),
        ),
        (
            "run time",
            format!("{}, a duty of {}", rounded(runs.run), percent(duty)),
        ),
        (
            "runs",
            format!(
                "shortest {}, longest {}",
                some(runs.shortest_run),
                rounded(runs.longest_run)
            ),
        ),
        ("rests", format!("shortest {}", some(runs.shortest_rest))),
    ]
    .into_iter()
    .map(|(name, value)| format!("{name:<9} {value}"))
    .collect()
}

fn events(trace: &Trace, moment: &dyn Fn(Duration) -> String) -> Vec<String> {
    let selection = select(trace, MOST_EVENTS);
    let shown = selection.shown.iter();
    let mut lines: Vec<String> = shown
        .map(|(at, entry)| format!("{}  {}", moment(*at), event::entry(entry)))
        .collect();
    let repeated: Vec<String> = selection
        .repeated
        .iter()
        .map(|kind| format!("{} {}×", event::entry(&kind.entry), kind.times))
        .collect();
    if !repeated.is_empty() {
        lines.push(format!("not listed: {}", repeated.join(", ")));
    }
    if lines.is_empty() {
        lines.push("nothing happened".to_owned());
    }
    lines
}

/// Every stretch of the relay as comma-separated values.
pub fn stretches(trace: &Trace, moment: &dyn Fn(Duration) -> String) -> String {
    let mut lines = vec![REPLAY_COLUMNS.to_owned()];
    lines.extend(spells(trace).iter().map(|spell| {
        let seconds = |duration: Duration| duration.millis() as f64 / 1e3;
        format!(
            "{},{},{},{},{}",
            moment(spell.stretch.from),
            seconds(spell.stretch.from),
            seconds(spell.length()),
            relay_word(spell.stretch.relay),
            spell.stretch.standing.text()
        )
    }));
    lines.join("\n") + "\n"
}
