//! Hatchings that stand beside colour: lines cut to a box.
//!
//! A `pattern` of SVG would be shorter, and a browser that prints one puts a picture of
//! it into the document for every box that it fills.

use std::fmt::Write;

use super::svg::Px;

/// How a box is hatched; what it is drawn with is up to the style sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hatching {
    /// Lines that rise to the right.
    Rising,
    /// Lines that rise and lines that fall.
    Crossed,
    /// Level lines; with dashes as short as they are wide they are dots.
    Level {
        /// From one line to the next.
        pitch: u32,
    },
    /// Upright lines.
    Upright,
}

/// From one slanting line to the next, measured along a side.
const SLANTING_PITCH: f64 = 5.0;
const UPRIGHT_PITCH: f64 = 4.0;

impl Hatching {
    /// The path of its lines in the box from `(x, y)`, this wide and high.
    #[must_use]
    pub fn path(self, (x, y): (f64, f64), (width, height): (f64, f64)) -> String {
        let (right, bottom) = (x + width, y + height);
        let mut path = String::new();
        match self {
            Self::Rising => rising(&mut path, (x, y), (right, bottom)),
            Self::Crossed => {
                rising(&mut path, (x, y), (right, bottom));
                falling(&mut path, (x, y), (right, bottom));
            }
            Self::Level { pitch } => {
                let pitch = f64::from(pitch);
                for (line, at) in steps(y + pitch / 2.0, bottom, pitch).enumerate() {
                    // Every other line begins half a pitch later, so that dots stand staggered.
                    let from = x + if line % 2 == 0 { 0.5 } else { 0.5 + pitch };
                    if from < right {
                        segment(&mut path, (from, at), (right, at));
                    }
                }
            }
            Self::Upright => {
                for at in steps(x + UPRIGHT_PITCH / 2.0, right, UPRIGHT_PITCH) {
                    segment(&mut path, (at, y), (at, bottom));
                }
            }
        }
        path
    }
}

/// Lines on which x + y is the same; they lie alike in all boxes of a drawing.
fn rising(path: &mut String, (x, y): (f64, f64), (right, bottom): (f64, f64)) {
    for sum in multiples(x + y, right + bottom) {
        let (from, to) = ((sum - bottom).max(x), (sum - y).min(right));
        segment(path, (from, sum - from), (to, sum - to));
    }
}

/// Lines on which y − x is the same.
fn falling(path: &mut String, (x, y): (f64, f64), (right, bottom): (f64, f64)) {
    for difference in multiples(y - right, bottom - x) {
        let (from, to) = ((y - difference).max(x), (bottom - difference).min(right));
        segment(path, (from, from + difference), (to, to + difference));
    }
}

fn multiples(from: f64, until: f64) -> impl Iterator<Item = f64> {
    let first = (from / SLANTING_PITCH).floor() * SLANTING_PITCH + SLANTING_PITCH;
    steps(first, until, SLANTING_PITCH)
}

fn steps(first: f64, until: f64, pitch: f64) -> impl Iterator<Item = f64> {
    let mut next = first;
    std::iter::from_fn(move || {
        let now = next;
        next += pitch;
        (now < until).then_some(now)
    })
}

fn segment(path: &mut String, (x1, y1): (f64, f64), (x2, y2): (f64, f64)) {
    let end = if y1 == y2 {
        format!("H{}", Px(x2))
    } else if x1 == x2 {
        format!("V{}", Px(y2))
    } else {
        format!("L{} {}", Px(x2), Px(y2))
    };
    // Writing to a string cannot fail.
    let _ = write!(path, "M{} {}{end}", Px(x1), Px(y1));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_end_at_the_box() {
        assert_eq!(
            Hatching::Rising.path((0.0, 0.0), (4.0, 8.0)),
            "M0 5L4 1M2 8L4 6"
        );
        assert_eq!(
            Hatching::Upright.path((0.0, 1.0), (7.0, 2.0)),
            "M2 1V3M6 1V3"
        );
        assert_eq!(
            Hatching::Level { pitch: 2 }.path((0.0, 0.0), (3.0, 4.0)),
            "M0.5 1H3M2.5 3H3"
        );
        for hatching in [Hatching::Rising, Hatching::Crossed] {
            let path = hatching.path((10.0, 20.0), (30.0, 40.0));
            let numbers: Vec<f64> = path
                .split(['M', 'L', ' '])
                .filter(|word| !word.is_empty())
                .map(|word| word.parse().expect("a number"))
                .collect();
            assert!(numbers.len() >= 50, "{path}");
            for point in numbers.chunks(2) {
                assert!((10.0..=40.0).contains(&point[0]), "{path}");
                assert!((20.0..=60.0).contains(&point[1]), "{path}");
            }
        }
    }

    #[test]
    fn a_sliver_has_a_line_where_one_passes() {
        assert_eq!(Hatching::Rising.path((0.2, 0.0), (0.4, 4.0)), "");
        assert!(!Hatching::Rising.path((0.0, 0.0), (0.4, 28.0)).is_empty());
    }
}
