//! What the lines and signs of a drawing mean.

use maud::{Markup, html};

use super::flow::{Flow, Look, Position};
use super::geometry::{LINE, Piece};
use super::marks::{text, wire, wrapped};
use super::schematic::{NetId, Schematic};
use super::symbols;
use super::words::{self, TEXT_PX};
use hysteron_installation::Installation;

/// The legend, with the room it takes.
pub struct Legend {
    /// How high it is.
    pub height: i32,
    /// What it looks like.
    pub markup: Markup,
}

const SAMPLE: i32 = 56;
const GAP: i32 = 10;
const ENTRY_HEIGHT: i32 = 30;
const CAUTION: &str = "A drawing proves no circuit dead. Lock the supply out and measure before \
touching anything; follow local codes, and leave the work to those licensed for it.";

/// The legend of a drawing, no wider than that.
pub fn legend(
    schematic: &Schematic,
    flow: &Flow<'_>,
    installation: &Installation,
    width: i32,
) -> Legend {
    let mut entries: Vec<(Markup, String)> = Vec::new();
    if flow.solution().is_some() {
        for (look, words) in Look::KNOWN {
            entries.push((line(look, Vec::new()), words.to_owned()));
        }
    }
    let plain = Look::Plain;
    entries.push((
        html! { (line(plain, Vec::new())) (upright(plain)) circle class="d-dot d-plain" cx=(SAMPLE / 2) r="5" {} },
        "wires joined".to_owned(),
    ));
    entries.push((
        html! { (upright(plain)) (line(plain, vec![SAMPLE / 2])) },
        "wires that only cross".to_owned(),
    ));
    for (position, words) in [
        (Position::Closed, "contact closed"),
        (Position::Open, "contact open"),
    ] {
        let drawn = html! {
            g transform={ "translate(" (SAMPLE / 2) " 0)" } { (symbols::contact(position)) }
        };
        entries.push((drawn, words.to_owned()));
    }
    for (index, &bar) in schematic.bars.iter().enumerate() {
        let (part, _) = installation.terminal(bar);
        let name = &installation.part(part).name;
        let number = (schematic.bars.len() > 1).then(|| (index + 1).to_string());
        let sign = html! {
            (symbols::earth((SAMPLE / 2, -10)))
            @if let Some(number) = number { (text("d-label", "start", (SAMPLE / 2 + 14, 8), &number)) }
        };
        entries.push((sign, format!("ground bar of {}", words::short(name))));
    }
    lay_out(entries, width)
}

fn lay_out(entries: Vec<(Markup, String)>, width: i32) -> Legend {
    let wanted = |words: &str| SAMPLE + GAP + words::width(words, TEXT_PX, false) + 3 * GAP;
    let widest = entries
        .iter()
        .map(|(_, words)| wanted(words))
        .max()
        .unwrap_or(1);
    let across = (width / widest).max(1);
    let caution = wrapped(CAUTION, width, TEXT_PX);
    let mut placed = Vec::new();
    let mut bottom = 0;
    for ((drawn, words), index) in entries.into_iter().zip(0..) {
        let (x, y) = (index % across * widest, index / across * ENTRY_HEIGHT + 16);
        bottom = y + ENTRY_HEIGHT / 2;
        placed.push((drawn, words, x, y));
    }
    let markup = html! {
        @for (drawn, words, x, y) in &placed {
            g class="d-legend" transform={ "translate(" (x) " " (y) ")" } {
                (drawn) (text("d-note", "start", (SAMPLE + GAP, 4), words))
            }
        }
        @for (line, index) in caution.iter().zip(0..) {
            (text("d-note", "start", (0, bottom + 20 + index * LINE), line))
        }
    };
    let lines = i32::try_from(caution.len()).unwrap_or(i32::MAX);
    Legend {
        height: bottom + 10 + lines * LINE,
        markup,
    }
}

fn line(look: Look, bows: Vec<i32>) -> Markup {
    wire(&Piece {
        net: NetId(0),
        from: (0, 0),
        to: (SAMPLE, 0),
        look,
        bows,
    })
}

fn upright(look: Look) -> Markup {
    wire(&Piece {
        net: NetId(0),
        from: (SAMPLE / 2, -12),
        to: (SAMPLE / 2, 12),
        look,
        bows: Vec::new(),
    })
}
