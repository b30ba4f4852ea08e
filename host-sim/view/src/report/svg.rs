//! The few shapes that charts are made of.

use std::fmt;

use maud::{Markup, html};

use hysteron_bench::record::trace::Bucket;

/// A length or place in a drawing, written with one decimal at most.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Px(pub f64);

impl fmt::Display for Px {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let rounded = (self.0 * 10.0).round() / 10.0;
        // Adding zero turns −0 into 0.
        write!(f, "{}", rounded + 0.0)
    }
}

/// A path through these points; `None` lifts the pen.
///
/// Written in steps of tenths from point to point, which takes half the room of places.
#[must_use]
pub fn line_path(points: impl Iterator<Item = Option<(f64, f64)>>) -> String {
    let mut path = String::new();
    let mut pen: Option<(i64, i64)> = None;
    for point in points {
        let Some((x, y)) = point.map(|(x, y)| (tenths(x), tenths(y))) else {
            pen = None;
            continue;
        };
        match pen {
            None => path.push('M'),
            Some(_) => path.push('l'),
        }
        let (from_x, from_y) = pen.unwrap_or((0, 0));
        push_tenths(&mut path, x - from_x);
        // A minus sign parts two numbers as well as a space does.
        if y >= from_y {
            path.push(' ');
        }
        push_tenths(&mut path, y - from_y);
        pen = Some((x, y));
    }
    path
}

fn tenths(value: f64) -> i64 {
    (value * 10.0).round() as i64
}

fn push_tenths(path: &mut String, tenths: i64) {
    path.push_str(&Px(tenths as f64 / 10.0).to_string());
}

/// The outline of the area between lowest and highest values, one closed piece between gaps.
#[must_use]
pub fn band_path(columns: &[Bucket], x: impl Fn(usize) -> f64, y: impl Fn(f64) -> f64) -> String {
    let mut path = String::new();
    let mut place = 0;
    for piece in columns.split(|column| column.is_empty()) {
        let upper = piece
            .iter()
            .enumerate()
            .map(|(step, column)| Some((x(place + step), y(column.highest))));
        let lower = piece
            .iter()
            .enumerate()
            .rev()
            .map(|(step, column)| Some((x(place + step), y(column.lowest))));
        if !piece.is_empty() {
            path.push_str(&line_path(upper.chain(lower)));
            path.push('Z');
        }
        place += piece.len() + 1;
    }
    path
}

/// A horizontal or vertical rule.
#[must_use]
pub fn rule(class: &str, (x1, y1): (f64, f64), (x2, y2): (f64, f64)) -> Markup {
    html! { line class=(class) x1=(Px(x1)) y1=(Px(y1)) x2=(Px(x2)) y2=(Px(y2)) {} }
}

/// Where a text is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// At its beginning.
    Start,
    /// In its middle.
    Middle,
    /// At its end.
    End,
}

/// A line of text.
#[must_use]
pub fn text(class: &str, anchor: Anchor, (x, y): (f64, f64), words: &str) -> Markup {
    let anchor = match anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
        Anchor::End => "end",
    };
    html! { text class=(class) text-anchor=(anchor) x=(Px(x)) y=(Px(y)) { (words) } }
}

/// A box, with a text that is read aloud and shown under a pointer.
#[must_use]
pub fn told_box(
    class: &str,
    (x, y): (f64, f64),
    (width, height): (f64, f64),
    told: &str,
) -> Markup {
    html! {
        rect class=(class) x=(Px(x)) y=(Px(y)) width=(Px(width)) height=(Px(height)) {
            @if !told.is_empty() { title { (told) } }
        }
    }
}

/// A box as a piece of a path, for drawings of many boxes that are one shape.
#[must_use]
pub fn box_path((x, y): (f64, f64), (width, height): (f64, f64)) -> String {
    let across = Px(width);
    format!("M{} {}h{across}v{}h-{across}z", Px(x), Px(y), Px(height))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gaps_lift_the_pen() {
        let points = [
            Some((0.0, 1.0)),
            Some((1.0, 2.04)),
            None,
            Some((3.0, -0.01)),
        ];
        assert_eq!(line_path(points.into_iter()), "M0 1l1 1M3 0");
        let column = |lowest, highest| Bucket { lowest, highest };
        let columns = [
            column(1.0, 2.0),
            column(1.0, 3.0),
            Bucket::EMPTY,
            column(0.0, 0.0),
        ];
        let path = band_path(&columns, |place| place as f64, |value| value);
        assert_eq!(path, "M0 2l1 1l0-2l-1 0ZM3 0l0 0Z");
    }
}
