//! What page and legend are made of: wires, and lines of text.

use maud::{Markup, html};

use super::flow::Look;
use super::geometry::{BOW, Piece};
use super::words;

/// The class of a wire.
pub fn class(look: Look) -> &'static str {
    match look {
        Look::Plain => "d-plain",
        Look::Dead => "d-dead",
        Look::Live => "d-live",
        Look::LiveCarrying => "d-live-carrying",
        Look::ReturnCarrying => "d-return-carrying",
    }
}

/// A piece of wire, with the pattern of what flows in it.
pub fn wire(piece: &Piece) -> Markup {
    let mut path = format!("M{} {}", piece.from.0, piece.from.1);
    for bow in &piece.bows {
        path.push_str(&format!("H{}a{BOW} {BOW} 0 0 1 {} 0", bow - BOW, 2 * BOW));
    }
    if piece.from.1 == piece.to.1 {
        path.push_str(&format!("H{}", piece.to.0));
    } else {
        path.push_str(&format!("V{}", piece.to.1));
    }
    let pattern = match piece.look {
        Look::Plain | Look::Dead | Look::Live => None,
        Look::LiveCarrying => Some("d-flow"),
        Look::ReturnCarrying => Some("d-return-flow"),
    };
    html! {
        path class={ "d-wire " (class(piece.look)) } d=(path) {}
        @if let Some(pattern) = pattern { path class=(pattern) d=(path) {} }
    }
}

/// A line of text.
pub fn text(class: &str, anchor: &str, (x, y): (i32, i32), words: &str) -> Markup {
    html! { text class=(class) text-anchor=(anchor) x=(x) y=(y) { (words) } }
}

/// A text in lines that are no wider than that.
pub fn wrapped(text: &str, width: i32, size_px: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let word = words::short(word);
        match lines.last_mut() {
            Some(line) if words::width(&format!("{line} {word}"), size_px, true) <= width => {
                line.push(' ');
                line.push_str(&word);
            }
            Some(_) | None => lines.push(word),
        }
    }
    lines
}
