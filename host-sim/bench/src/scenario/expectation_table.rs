//! What is expected, as each `[[expect]]` gives it.

use hysteron_logic::time::Duration;

use super::expectation::{Expectation, Limits, Observable, Occurrence, Subject, Window};
use super::expectation_rows::{
    AT, AT_LEAST, AT_MOST, BECAUSE, FROM, Limit, MOMENT, ORDER, RELAY, SHORTEST_LIMIT, SUBJECTS,
    Speaks, UNTIL, VARIANT, counted_names, observables, shortest_names,
};
use super::quantity_text::moment_text;
use super::schedule::Frame;
use crate::record::runs::Runner;
use hysteron_plant::Quantity;
use hysteron_source::entry::Reads;
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

/// Reads one `[[expect]]`.
pub fn read_expectation(mut table: Table<'_>, scope: &Scope<'_>) -> Option<Expectation> {
    let subject = read_subject(&mut table, scope);
    let window = read_window(&mut table, scope.frame);
    let because = BECAUSE.read(&mut table);
    let case = VARIANT.item(&mut table).map(|item| read_case(&item, scope));
    let span = table.span();
    if subject.is_some() {
        table.finish();
    }
    Some(Expectation {
        subject: subject?,
        window: window?,
        because: because?,
        case: case.map_or(Some(None), |case| case.map(Some))?,
        line: scope.source.line_at(span.start),
    })
}

fn read_subject(table: &mut Table<'_>, scope: &Scope<'_>) -> Option<Subject> {
    let mut given = SUBJECTS
        .into_iter()
        .filter_map(|(key, speaks)| Some((table.optional(key)?, speaks)));
    let (first, second) = (given.next(), given.next());
    drop(given);
    let subjects = any_of(
        &SUBJECTS
            .map(|(key, _)| format!("`{key}`"))
            .each_ref()
            .map(String::as_str),
    );
    let Some((item, speaks)) = first else {
        table.problems().add(
            Problem::at(table.span(), "[[expect]] does not say of what")
                .remedy(format!("add one of {subjects}")),
        );
        return None;
    };
    if let Some((second, _)) = second {
        table.problems().add(
            Problem::at(second.key_span(), "an expectation of two things at once")
                .because_of(item.key_span(), "the other")
                .remedy("write an [[expect]] for each"),
        );
        return None;
    }
    match speaks {
        Speaks::Quantity => {
            let observable = read_observable(&item, scope)?;
            let limits = read_limits(table, &item, Limit::In(observable.unit()))?;
            Some(Subject::Stays(observable, limits))
        }
        Speaks::Count => {
            let counted = item.one_of(&counted_names(scope.runners))?.into_inner();
            let limits = read_limits(table, &item, Limit::of(counted))?;
            Some(Subject::Counts(counted, limits))
        }
        Speaks::Relay => RELAY.read(&item).map(Subject::RelayIs),
        Speaks::Order => read_order(&item).map(Subject::Order),
        Speaks::Shortest => read_shortest(table, &item, scope.runners),
    }
}

fn read_observable(item: &Item<'_>, scope: &Scope<'_>) -> Option<Observable> {
    let plant = scope.quantities.unwrap_or(&Quantity::ALL);
    let names: Vec<(&'static str, Observable)> = observables(plant)
        .map(|observable| (observable.name(), observable))
        .collect();
    item.one_of(&names).map(toml::Spanned::into_inner)
}

fn read_order(item: &Item<'_>) -> Option<Vec<Occurrence>> {
    let names: Vec<(&'static str, Occurrence)> = Occurrence::all()
        .map(|occurrence| (occurrence.name(), occurrence))
        .collect();
    let list = item.list()?;
    let (least, most) = ORDER;
    if !(least..=most).contains(&list.len()) {
        let what = format!("an order needs from {least} to {most} events");
        item.note(
            Problem::at(item.span(), what).expected("such as [\"probe open\", \"relay opened\"]"),
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
    let subject = item.one_of(&shortest_names(runners));
    let at_least = SHORTEST_LIMIT.read(table);
    let (shortest, runner) = subject?.into_inner();
    Some(shortest(runner, at_least?))
}

fn read_limits(table: &mut Table<'_>, subject: &Item<'_>, limit: Limit) -> Option<Limits> {
    let (low, high) = (table.optional(AT_LEAST), table.optional(AT_MOST));
    let at_least = low.as_ref().map(|item| limit.read(item));
    let at_most = high.as_ref().map(|item| limit.read(item));
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
        let moment = MOMENT.read(&item)?;
        if moment <= latest {
            return Some((moment, item.span()));
        }
        item.note(
            Problem::at(item.span(), "the scenario is over by then")
                .expected(format!("at most {}", moment_text(latest)))
                .remedy(format!("the scenario lasts {}", duration)),
        );
        None
    };
    let (at, from, until) = (AT.item(table), FROM.item(table), UNTIL.item(table));
    if let (Some(at), Some(other)) = (&at, from.as_ref().or(until.as_ref())) {
        at.note(
            Problem::at(at.key_span(), "a moment and a window at once")
                .because_of(other.key_span(), "the window")
                .remedy("keep `at`, or keep `from` and `until`"),
        );
        return None;
    }
    if let Some(at) = at {
        let at = moment(at, last)?.0.millis();
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
    if let (Some((from, begins)), Some((until, ends))) = (&from, &until)
        && from > until
    {
        table.problems().add(
            Problem::at(ends.clone(), "the window ends before it begins")
                .because_of(begins.clone(), "its beginning")
                .remedy("exchange the two"),
        );
        return None;
    }
    Some(Window {
        from: from.map_or(Duration::ZERO, |(from, _)| from),
        until: until.map_or(duration, |(until, _)| until),
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
