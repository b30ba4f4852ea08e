//! What is expected, as each `[[expect]]` gives it.

use hysteron_logic::guard::Relay;
use hysteron_logic::time::Duration;

use super::expectation::{Counted, Expectation, Limits, Observable, Occurrence, Subject, Window};
use super::quantity_text::{
    duration_text, moment_text, read_duration, read_in_unit, read_moment, read_quantity,
};
use super::schedule::Frame;
use super::unit::Dimension;
use crate::record::runs::Runner;
use hysteron_plant::Quantity;
use hysteron_source::item::Item;
use hysteron_source::table::Table;
use hysteron_source::text::{Problem, SourceText, any_of};

/// What expectations may speak of.
#[derive(Debug)]
pub struct Scope<'s> {
    /// The text, for the line of each.
    pub source: &'s SourceText,
    /// What windows must fit in.
    pub frame: Frame,
    /// What the plant can tell; unknown while the plant itself has a problem.
    pub quantities: Option<&'static [Quantity]>,
    /// What starts and stops in the plant; all there is while the plant itself has a problem.
    pub runners: &'static [Runner],
    /// Names of the cases.
    pub cases: Vec<String>,
}

const SUBJECTS: [&str; 5] = ["quantity", "count", "relay", "order", "shortest"];

/// Reads one `[[expect]]`.
pub fn read_expectation(mut table: Table<'_>, scope: &Scope<'_>) -> Option<Expectation> {
    let subject = read_subject(&mut table, scope);
    let window = read_window(&mut table, scope.frame);
    let because = table.optional("because").map(|item| item.text());
    let case = table
        .optional("variant")
        .map(|item| read_case(&item, scope));
    let span = table.span();
    if subject.is_some() {
        table.finish();
    }
    Some(Expectation {
        subject: subject?,
        window: window?,
        because: because.map_or(Some(None), |text| text.map(|text| Some(text.into_inner())))?,
        case: case.map_or(Some(None), |case| case.map(Some))?,
        line: scope.source.line_at(span.start),
    })
}

fn read_subject(table: &mut Table<'_>, scope: &Scope<'_>) -> Option<Subject> {
    let mut given = SUBJECTS.into_iter().filter_map(|key| table.optional(key));
    let (first, second) = (given.next(), given.next());
    drop(given);
    let subjects = any_of(
        &SUBJECTS
            .map(|key| format!("`{key}`"))
            .each_ref()
            .map(String::as_str),
    );
    let Some(item) = first else {
        table.problems().add(
            Problem::at(table.span(), "[[expect]] does not say of what")
                .remedy(format!("add one of {subjects}")),
        );
        return None;
    };
    if let Some(second) = second {
        table.problems().add(
            Problem::at(second.key_span(), "an expectation of two things at once")
                .because_of(item.key_span(), "the other")
                .remedy("write an [[expect]] for each"),
        );
        return None;
    }
    match item.key() {
        "quantity" => {
            let observable = read_observable(&item, scope)?;
            let unit = observable.unit();
            let limits = read_limits(table, &item, |item| {
                let number = item.read(&format!("5 {unit}"), |text| read_in_unit(text, unit))?;
                Some(number.into_inner())
            })?;
            Some(Subject::Stays(observable, limits))
        }
        "count" => {
            let counted = item.one_of(&counted_names(scope.runners))?.into_inner();
            let limits = read_limits(table, &item, |item| match counted {
                Counted::RunTime(_) => {
                    let length = item.read("8 h", read_duration)?.into_inner();
                    Some(length.millis() as f64 / 1_000.0)
                }
                Counted::Duty(_) => {
                    let share = item.read("60 %", |text| read_quantity(text, Dimension::Share))?;
                    item.within(share, 0.0..=1.0, "0 % to 100 %")
                }
                Counted::Starts(_) | Counted::StartsInAnyHour(_) | Counted::Occurrences(_) => item
                    .whole(0, 1_000_000)
                    .map(|number| number.into_inner() as f64),
            })?;
            Some(Subject::Counts(counted, limits))
        }
        "relay" => item
            .one_of(&[("open", Relay::Open), ("closed", Relay::Closed)])
            .map(|relay| Subject::RelayIs(relay.into_inner())),
        "order" => read_order(&item).map(Subject::Order),
        _ => read_shortest(table, &item, scope.runners),
    }
}

fn read_observable(item: &Item<'_>, scope: &Scope<'_>) -> Option<Observable> {
    let plant = scope.quantities.unwrap_or(&Quantity::ALL);
    let names: Vec<(&'static str, Observable)> = plant
        .iter()
        .map(|quantity| Observable::Plant(*quantity))
        .chain([Observable::ProbeReading, Observable::Ambient])
        .map(|observable| (observable.name(), observable))
        .collect();
    item.one_of(&names).map(toml::Spanned::into_inner)
}

fn counted_names(runners: &[Runner]) -> Vec<(&'static str, Counted)> {
    let of = |runner: &Runner| {
        [
            Counted::Starts(*runner),
            Counted::StartsInAnyHour(*runner),
            Counted::RunTime(*runner),
            Counted::Duty(*runner),
        ]
    };
    runners
        .iter()
        .flat_map(of)
        .chain(Occurrence::all().map(Counted::Occurrences))
        .map(|counted| (counted.name(), counted))
        .collect()
}

fn read_order(item: &Item<'_>) -> Option<Vec<Occurrence>> {
    let names: Vec<(&'static str, Occurrence)> = Occurrence::all()
        .map(|occurrence| (occurrence.name(), occurrence))
        .collect();
    let list = item.list()?;
    if list.len() < 2 || list.len() > 100 {
        item.note(
            Problem::at(item.span(), "an order needs from 2 to 100 events")
                .expected("such as [\"probe open\", \"relay opened\"]"),
        );
        return None;
    }
    let read: Vec<Option<Occurrence>> = list
        .iter()
        .map(|element| element.one_of(&names).map(toml::Spanned::into_inner))
        .collect();
    read.into_iter().collect()
}

fn read_shortest(table: &mut Table<'_>, item: &Item<'_>, runners: &[Runner]) -> Option<Subject> {
    type Shortest = fn(Runner, Duration) -> Subject;
    let of = |runner: &Runner| -> [(&'static str, (Shortest, Runner)); 2] {
        let names = match runner {
            Runner::Load => ["rest", "run"],
            Runner::Compressor => ["compressor rest", "compressor run"],
        };
        [
            (names[0], (Subject::ShortestRest, *runner)),
            (names[1], (Subject::ShortestRun, *runner)),
        ]
    };
    let kinds: Vec<_> = runners.iter().flat_map(of).collect();
    let subject = item.one_of(&kinds);
    let at_least = table
        .required("at_least", "\"5 min\"")
        .and_then(|item| item.read("5 min", read_duration));
    let (shortest, runner) = subject?.into_inner();
    Some(shortest(runner, at_least?.into_inner()))
}

fn read_limits<'d>(
    table: &mut Table<'d>,
    subject: &Item<'d>,
    mut read: impl FnMut(&Item<'d>) -> Option<f64>,
) -> Option<Limits> {
    let (low, high) = (table.optional("at_least"), table.optional("at_most"));
    let at_least = low.as_ref().map(&mut read);
    let at_most = high.as_ref().map(&mut read);
    let at_least = at_least.map_or(Some(None), |limit| limit.map(Some))?;
    let at_most = at_most.map_or(Some(None), |limit| limit.map(Some))?;
    let limits = Limits::new(at_least, at_most);
    match (&limits, low, high) {
        (Some(_), _, _) => {}
        (None, Some(low), Some(high)) => low.note(
            Problem::at(low.span(), "nothing can be at least this and at most that")
                .because_of(high.span(), "the other limit")
                .remedy("exchange the two"),
        ),
        (None, _, _) => subject.note(
            Problem::at(subject.span(), "[[expect]] gives no limit")
                .remedy("add `at_least`, `at_most` or both"),
        ),
    }
    limits
}

fn read_window(table: &mut Table<'_>, frame: Frame) -> Option<Window> {
    let duration = frame.duration;
    // The last step begins before the end, so nothing can be seen at the end itself.
    let last = duration.less(frame.step);
    let moment = |item: Item<'_>, latest: Duration| {
        let moment = item.read("06:00", read_moment)?;
        if *moment.get_ref() <= latest {
            return Some(moment);
        }
        item.note(
            Problem::at(moment.span(), "the scenario is over by then")
                .expected(format!("at most {}", moment_text(latest)))
                .remedy(format!("the scenario lasts {}", duration_text(duration))),
        );
        None
    };
    let (at, from, until) = (
        table.optional("at"),
        table.optional("from"),
        table.optional("until"),
    );
    if let (Some(at), Some(other)) = (&at, from.as_ref().or(until.as_ref())) {
        at.note(
            Problem::at(at.key_span(), "a moment and a window at once")
                .because_of(other.key_span(), "the window")
                .remedy("keep `at`, or keep `from` and `until`"),
        );
        return None;
    }
    if let Some(at) = at {
        let at = moment(at, last)?.into_inner().millis();
        let at = Duration::from_millis(at - at % frame.step.millis());
        return Some(Window {
            from: at,
            until: at,
        });
    }
    let from = from.map(|item| moment(item, last));
    let until = until.map(|item| moment(item, duration));
    let from = from.map_or(Some(None), |from| from.map(Some))?;
    let until = until.map_or(Some(None), |until| until.map(Some))?;
    if let (Some(from), Some(until)) = (&from, &until)
        && from.get_ref() > until.get_ref()
    {
        table.problems().add(
            Problem::at(until.span(), "the window ends before it begins")
                .because_of(from.span(), "its beginning")
                .remedy("exchange the two"),
        );
        return None;
    }
    Some(Window {
        from: from.map_or(Duration::ZERO, toml::Spanned::into_inner),
        until: until.map_or(duration, toml::Spanned::into_inner),
    })
}

fn read_case(item: &Item<'_>, scope: &Scope<'_>) -> Option<String> {
    let text = item.text()?;
    if scope.cases.contains(text.get_ref()) {
        return Some(text.into_inner());
    }
    let names: Vec<&str> = scope.cases.iter().map(String::as_str).collect();
    item.note(
        Problem::at(
            text.span(),
            format!("there is no variant \"{}\"", text.get_ref()),
        )
        .expected(format!("expected {}", any_of(&names))),
    );
    None
}
