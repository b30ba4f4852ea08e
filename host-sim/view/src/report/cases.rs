//! Several cases side by side.

use hysteron_logic::field::Field;
use maud::{Markup, html};

use super::columns::extremes;
use super::figures::{duty, rounded_shortest_rest, run_text, seen};
use super::frame::{DrawingSize, Frame};
use super::strip::relay_strip;
use super::topic::{Topic, space_lines};
use super::verdicts::badge;
use super::view::CaseView;
use crate::words::degrees::{fixed, percent};
use crate::words::no_break_space::unbroken;
use crate::words::setting::value;
use crate::words::span::rounded;
use crate::words::subject::expectation;
use hysteron_bench::record::runs::RunTotals;
use hysteron_bench::record::trace::{Bucket, Trace};
use hysteron_bench::record::verdict::Outcome;
use hysteron_bench::scenario::expectation::Observable;
use hysteron_source::letters::capitalised;

/// The comparison: small drawings on one scale, figures, verdicts, and in which settings the cases differ.
#[must_use]
pub fn comparison(views: &[CaseView<'_>]) -> Markup {
    html! {
        section id="comparison" {
            h2 { "The cases compared" }
            (multiples(views))
            (settings_that_differ(views))
            (figures(views))
            (verdicts(views))
        }
    }
}

fn multiples(views: &[CaseView<'_>]) -> Markup {
    let length = views
        .first()
        .map_or_else(Default::default, |view| view.plan.duration);
    let frame = Frame::new(DrawingSize::Small, length);
    let ranges: Vec<Bucket> = views
        .iter()
        .filter_map(|view| Some(space_lines(view, &frame)?.range()))
        .collect();
    let range = extremes(&ranges);
    html! {
        div class="multiples" {
            @for (place, view) in views.iter().enumerate() {
                @if let Some(lines) = space_lines(view, &frame) {
                    figure {
                        figcaption { (capitalised(view.name())) }
                        (frame.drawing(
                            &format!("small-{}", place + 1),
                            186.0,
                            &format!("Temperature and relay, {}", view.name()),
                            "All cases are drawn on the same scale; the figures stand in the table below.",
                            &html! {
                                (lines.on_scale_of(range).panel(&frame, 8.0, 130.0))
                                (relay_strip(view, &frame, 144.0, 16.0))
                                (frame.time_labels(162.0))
                            },
                        ))
                    }
                }
            }
        }
    }
}

fn settings_that_differ(views: &[CaseView<'_>]) -> Markup {
    let values = |field: Field| -> Vec<Option<String>> {
        let of = |view: &CaseView<'_>| value(field, view.run.case.settings.draft());
        views.iter().map(of).collect()
    };
    let differing: Vec<(Field, Vec<Option<String>>)> = Field::ALL
        .into_iter()
        .map(|field| (field, values(field)))
        .filter(|(_, values)| values.windows(2).any(|pair| pair[0] != pair[1]))
        .collect();
    html! {
        @if !differing.is_empty() {
            div class="scroll" {
                table {
                    caption { "Settings in which the cases differ" }
                    (head(views))
                    tbody {
                        @for (field, values) in &differing {
                            tr {
                                th scope="row" { (capitalised(field.about().name)) }
                                @for value in values { td { (value.as_deref().unwrap_or("–")) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn head(views: &[CaseView<'_>]) -> Markup {
    html! {
        thead { tr {
            td {}
            @for view in views { th scope="col" { (capitalised(view.name())) } }
        } }
    }
}

type Tell = fn(&CaseView<'_>) -> String;
type TellRuns = fn(&RunTotals) -> String;

/// Of a compressor that a low-pressure control starts.
const COMPRESSOR_ROWS: [(&str, TellRuns); 3] = [
    ("Compressor starts", |runs| runs.starts.to_string()),
    ("Most compressor starts in any hour", |runs| {
        runs.most_starts_in_an_hour.to_string()
    }),
    ("Shortest compressor rest", |runs| seen(runs.shortest_rest)),
];

fn figures(views: &[CaseView<'_>]) -> Markup {
    const ROWS: [(&str, Tell); 6] = [
        ("Starts", |view| view.run.runs.starts.to_string()),
        ("Most starts in any hour", |view| {
            view.run.runs.most_starts_in_an_hour.to_string()
        }),
        ("Duty", |view| percent(duty(view))),
        ("Run time", |view| run_text(view)),
        ("Longest run", |view| rounded(view.run.runs.longest_run)),
        ("Shortest rest", rounded_shortest_rest),
    ];
    let observables: Vec<Observable> = views
        .first()
        .and_then(CaseView::trace)
        .map_or(&[][..], Trace::series)
        .iter()
        .map(|series| series.observable)
        .filter(|observable| Topic::of(*observable) == Topic::Space)
        .collect();
    html! {
        div class="scroll" {
            table {
                caption { "Figures" }
                (head(views))
                tbody {
                    @for (name, tell) in ROWS {
                        tr { th scope="row" { (name) } @for view in views { td { (unbroken(&tell(view))) } } }
                    }
                    @if views.iter().any(|view| view.run.compressor.is_some()) {
                        @for (name, tell) in COMPRESSOR_ROWS {
                            tr { th scope="row" { (name) } @for view in views { td { (unbroken(&compressor(view, tell))) } } }
                        }
                    }
                    @for observable in observables {
                        tr {
                            th scope="row" { (capitalised(observable.name())) }
                            @for view in views { td { (unbroken(&range_text(view, observable))) } }
                        }
                    }
                }
            }
        }
    }
}

fn compressor(view: &CaseView<'_>, tell: TellRuns) -> String {
    let runs = view.run.compressor;
    runs.map_or_else(|| "–".to_owned(), |runs| tell(&runs))
}

fn range_text(view: &CaseView<'_>, observable: Observable) -> String {
    let series = view.trace().map_or(&[][..], Trace::series);
    let of = series.iter().find(|series| series.observable == observable);
    let all = of.map_or(Bucket::EMPTY, |series| extremes(&series.buckets));
    if all.is_empty() {
        return "not seen".to_owned();
    }
    let tell = |value| fixed(view.degrees.shown(observable, value), 1);
    format!(
        "{} to {} {}",
        tell(all.lowest),
        tell(all.highest),
        view.degrees.unit(observable)
    )
}

fn verdicts(views: &[CaseView<'_>]) -> Markup {
    let Some(first) = views.first() else {
        return html! {};
    };
    let outcome = |view: &CaseView<'_>, line: usize| -> Option<Outcome> {
        let verdicts = view.run.verdicts.iter();
        let mut of_line = verdicts.filter(|verdict| verdict.expectation.line == line);
        of_line.next().map(|verdict| verdict.outcome)
    };
    html! {
        @if !first.plan.expectations.is_empty() {
            div class="scroll" {
                table {
                    caption { "Expectations" }
                    (head(views))
                    tbody {
                        @for expected in &first.plan.expectations {
                            tr {
                                th scope="row" { (unbroken(&capitalised(&expectation(expected, first.plan.duration, first.degrees)))) }
                                @for view in views {
                                    td {
                                        @match outcome(view, expected.line) {
                                            Some(of) => (badge(of)),
                                            None => "–",
                                        }
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}
