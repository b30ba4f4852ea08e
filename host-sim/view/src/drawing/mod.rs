//! The drawing: a ladder diagram of any installation, made from its netlist.
//!
//! ```text
//! Installation -> Schematic -> Columns -> rows -> Wiring -> Geometry -> SVG
//!                 (what)       (left to   (top    (rails,   (pixels)
//!                               right)     down)   tracks)
//! Solution -> Flow (what is live, what carries current) ----^-----------^
//! ```
//!
//! Nets run upright in channels; symbols sit on level rungs, in slots between the
//! channels. So no wire can meet a symbol or a text, and two wires can only cross at a
//! right angle, where the level one is drawn with a bow. Frames on a ground bar have an
//! earth symbol instead of a wire (common practice).

mod columns;
mod flow;
mod geometry;
mod legend;
mod marks;
mod page;
mod rail;
mod rows;
#[cfg(test)]
mod samples;
mod schematic;
mod symbols;
mod tracks;
mod wiring;
mod words;

use hysteron_installation::Installation;
use hysteron_installation::circuit::{Circuit, Solution};
use hysteron_installation::readings::Situation;

use columns::Columns;
use flow::Flow;
use geometry::Geometry;
use page::Page;
use schematic::Schematic;

/// The ladder diagram of an installation as an SVG document.
///
/// With a solution, which must be one of this installation, contacts stand as they do
/// there, what is live and what carries current is drawn so by weight and pattern as well
/// as by colour, and every load tells how it fares. Without one it is drawn without power.
///
/// The same input gives the same text. Every wired terminal is drawn, with its name in
/// `data-terminal`, and joined to just what the file's wires join it to.
#[must_use]
pub fn svg(installation: &Installation, solution: Option<&Solution<'_>>) -> String {
    captioned_svg(installation, solution, "")
}

/// As [`svg`], with a sentence below the title that says what moment is drawn.
#[must_use]
pub fn captioned_svg(
    installation: &Installation,
    solution: Option<&Solution<'_>>,
    caption: &str,
) -> String {
    let schematic = Schematic::of(installation);
    let flow = Flow::of(installation, &schematic, solution);
    let columns = Columns::of(&schematic);
    let placed = rows::place(&schematic, &columns);
    let lines: Vec<_> = schematic
        .symbols
        .iter()
        .map(|symbol| words::lines(installation, &flow, symbol))
        .collect();
    let geometry = Geometry::of(&schematic, &columns, &placed, &flow, &lines);
    let page = Page {
        installation,
        schematic: &schematic,
        geometry: &geometry,
        flow: &flow,
        caption,
    };
    page.svg()
}

/// The ladder diagram in one of the [situations](hysteron_installation::readings::situations), with what is wrong in it.
#[must_use]
pub fn in_situation(installation: &Installation, situation: &Situation) -> String {
    let caption = if situation.remark.is_empty() {
        situation.name.clone()
    } else {
        format!("{}: {}", situation.name, situation.remark)
    };
    let circuit = Circuit::new(installation.with_faults(situation.fault));
    let solution = circuit.settle(&situation.state).solution;
    captioned_svg(circuit.installation(), Some(&solution), &caption)
}

/// As [`in_situation`], as an element of an HTML page, which has no namespaces.
#[must_use]
pub fn inline_svg(installation: &Installation, situation: &Situation) -> String {
    let document = in_situation(installation, situation);
    document.replacen(" xmlns=\"http://www.w3.org/2000/svg\"", "", 1)
}
