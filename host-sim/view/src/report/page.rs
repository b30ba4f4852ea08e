//! The page as a whole: its sections in order.

use hysteron_logic::field::Field;
use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::cases::comparison;
use super::course::{further_drawing, space_drawing};
use super::frame::{DrawingSize, Frame};
use super::topic::{Topic, further_lines, space_lines};
use super::view::CaseView;
use super::{events, figures, verdicts, wiring};
use crate::words::degrees::Degrees;
use crate::words::installation::{control, course, plant};
use crate::words::no_break_space::unbroken;
use crate::words::number::expectations;
use crate::words::setting::value;
use hysteron_bench::run::bench::CaseRun;
use hysteron_bench::scenario::plan::Plan;
use hysteron_source::letters::capitalised;

const STYLE: &str = include_str!("style.css");

/// Cases beyond this many are compared, but not told one by one.
const MOST_TOLD: usize = 6;

/// A document around its content.
pub(super) fn document(title: &str, content: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="generator" content={ "hysteron " (env!("CARGO_PKG_VERSION")) };
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body { main { (content) } }
        }
    }
}

/// The whole report on the runs of a scenario.
pub(super) fn page(plan: &Plan, runs: &[CaseRun], command: &str) -> Markup {
    let views: Vec<CaseView<'_>> = runs.iter().map(|run| CaseView::new(plan, run)).collect();
    let content = html! {
        (opening(plan, runs, &views))
        @if views.len() > 1 { (comparison(&views)) }
        @for (place, view) in views.iter().take(MOST_TOLD).enumerate() {
            (case(view, &format!("case-{}", place + 1), views.len()))
        }
        @if views.len() > MOST_TOLD {
            p class="note" {
                "Told one by one are the first " (MOST_TOLD) " of " (views.len())
                " cases; the others stand in the comparison."
            }
        }
        @if let (Some(wiring), [first, ..]) = (&plan.wiring, runs) {
            (wiring::section(wiring, &first.case.timeline))
        }
        @if let [only] = &views[..] { section { (settings_table(only)) } }
        (again(plan, command))
        (cautions())
    };
    document(&plan.title, &content)
}

fn opening(plan: &Plan, runs: &[CaseRun], views: &[CaseView<'_>]) -> Markup {
    let (held, all) = verdicts::tally(runs);
    let degrees = views.first().map(|view| view.degrees);
    let all_hold = held == all;
    html! {
        header {
            p class="kind" { "Bench report" }
            h1 { (plan.title) }
            @if let Some(about) = &plan.about { p class="about" { (unbroken(about)) } }
            p class={ "sum " (if all_hold { "holds" } else { "fails" }) } {
                span aria-hidden="true" { (if all_hold { "✓ " } else { "✗ " }) }
                (expectations(all - held, all))
            }
            @if let (Some(degrees), [only]) = (degrees, views) {
                (installation(plan, degrees, only))
            } @else if let (Some(degrees), [first, ..]) = (degrees, views) {
                (installation(plan, degrees, first))
                p { "The settings are those of the first case; where the others differ is shown in the comparison." }
            }
        }
    }
}

fn installation(plan: &Plan, degrees: Degrees, view: &CaseView<'_>) -> Markup {
    html! {
        p {
            (unbroken(&plant(plan, degrees))) " " (unbroken(&control(&view.run.case.settings)))
            " The scenario covers " (unbroken(&course(plan)))
        }
    }
}

/// One of `cases`.
pub(super) fn case(view: &CaseView<'_>, id: &str, cases: usize) -> Markup {
    html! {
        section id=(id) class="case" {
            @if cases > 1 { h2 { (capitalised(view.name())) } }
            @if !view.run.verdicts.is_empty() { (verdicts::table(view)) }
            (drawings(view, id))
            (figures::list(view))
            @if view.trace().is_some() { (figures::reasons(view)) }
            @for topic in Topic::FURTHER { (further(view, id, topic)) }
            (events::table(view))
            @if cases > 1 { (settings_table(view)) }
        }
    }
}

fn drawings(view: &CaseView<'_>, id: &str) -> Markup {
    let frame = Frame::new(DrawingSize::Narrow, view.plan.duration);
    html! {
        @if let (Some(wide), Some(narrow)) = (space_drawing(view, id, DrawingSize::Wide), space_drawing(view, id, DrawingSize::Narrow)) {
            figure {
                figcaption { (Topic::Space.title()) }
                @if let Some(lines) = space_lines(view, &frame) { div class="narrow" { (lines.legend()) } }
                (wide) (narrow)
            }
        }
    }
}

fn further(view: &CaseView<'_>, id: &str, topic: Topic) -> Markup {
    let frame = Frame::new(DrawingSize::Narrow, view.plan.duration);
    let drawn = |size| further_drawing(view, id, size, topic);
    html! {
        @if let (Some(wide), Some(narrow)) = (drawn(DrawingSize::Wide), drawn(DrawingSize::Narrow)) {
            figure {
                figcaption { (topic.title()) }
                @if let Some(lines) = further_lines(view, &frame, topic) { div class="narrow" { (lines.legend()) } }
                (wide) (narrow)
            }
        }
    }
}

pub(super) fn settings_table(view: &CaseView<'_>) -> Markup {
    let draft = view.run.case.settings.draft();
    html! {
        table class="settings" {
            caption { "Settings at the beginning" }
            thead { tr { th scope="col" { "Setting" } th scope="col" { "Value" } th scope="col" { "What it does" } } }
            tbody {
                @for field in Field::ALL {
                    @if let Some(value) = value(field, draft) {
                        tr {
                            th scope="row" { (capitalised(field.about().name)) }
                            td { (unbroken(&value)) }
                            td { (field.about().sentence) }
                        }
                    }
                }
            }
        }
    }
}

fn again(plan: &Plan, command: &str) -> Markup {
    html! {
        section id="again" {
            h2 { "To see the same again" }
            pre { code { (command) } }
            p { "Seed " (plan.seed) ", hysteron " (env!("CARGO_PKG_VERSION")) ". The same file, seed and version give the same run." }
        }
    }
}

pub(super) fn cautions() -> Markup {
    html! {
        section id="cautions" {
            h2 { "Cautions" }
            p {
                "This is a simulation, not a measurement. Mains voltage kills, and capacitors hold their charge "
                "after the supply is off. Work on refrigerant needs a licence. Software is no safety device: an "
                "independent high-limit or pressure cut-out stays in the circuit. Local codes and licensed "
                "practice come before anything written here."
            }
        }
    }
}
