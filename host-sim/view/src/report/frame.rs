//! Where things lie in a drawing: one time axis for all panels.

use hysteron_logic::time::Duration;
use maud::{Markup, html};

use super::axis::{TimeMark, time_marks};
use super::svg::{Anchor, Px, rule, text};

/// What size a drawing is made in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DrawingSize {
    /// A page or a screen.
    Wide,
    /// A telephone.
    Narrow,
    /// One of several, side by side.
    Small,
}

/// The frame of a drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// What size it is.
    pub size: DrawingSize,
    /// Width of the whole.
    pub width: f64,
    /// Where the plot begins.
    pub left: f64,
    /// Where it ends.
    pub right: f64,
    /// The time that it covers.
    pub length: Duration,
}

impl Frame {
    /// A frame over `length`.
    #[must_use]
    pub const fn new(size: DrawingSize, length: Duration) -> Self {
        let (width, left, right) = match size {
            DrawingSize::Wide => (960.0, 68.0, 816.0),
            DrawingSize::Narrow => (360.0, 58.0, 354.0),
            DrawingSize::Small => (460.0, 36.0, 454.0),
        };
        Self {
            size,
            width,
            left,
            right,
            length,
        }
    }

    /// Width of the plot.
    #[must_use]
    pub fn plot_width(&self) -> f64 {
        self.right - self.left
    }

    /// The place of a moment.
    #[must_use]
    pub fn x(&self, at: Duration) -> f64 {
        let length_ms = self.length.millis().max(1) as f64;
        self.left + self.plot_width() * at.millis() as f64 / length_ms
    }

    /// How many marks the time axis has room for.
    #[must_use]
    pub fn marks(&self) -> Vec<TimeMark> {
        let most = match self.size {
            DrawingSize::Wide => 14,
            DrawingSize::Narrow | DrawingSize::Small => 6,
        };
        time_marks(self.length, most)
    }

    /// Fine vertical rules at the marks.
    #[must_use]
    pub fn grid(&self, top: f64, bottom: f64) -> Markup {
        html! {
            @for mark in self.marks() {
                (rule("grid", (self.x(mark.at), top), (self.x(mark.at), bottom)))
            }
        }
    }

    /// The labels of the time axis, 21 high: clear of the values at the foot of the left edge.
    #[must_use]
    pub fn time_labels(&self, top: f64) -> Markup {
        html! {
            @for mark in self.marks() {
                (text("tick", self.anchor_at(self.x(mark.at)), (self.x(mark.at), top + 17.0), &mark.label))
            }
        }
    }

    fn anchor_at(&self, x: f64) -> Anchor {
        if x + 20.0 > self.right && self.size != DrawingSize::Wide {
            Anchor::End
        } else if x - 20.0 < self.left && self.size != DrawingSize::Wide {
            Anchor::Start
        } else {
            Anchor::Middle
        }
    }

    /// A drawing in this frame with a name and a description for those who do not see it.
    #[must_use]
    pub fn drawing(
        &self,
        id: &str,
        height: f64,
        title: &str,
        told: &str,
        content: &Markup,
    ) -> Markup {
        let (size, id) = match self.size {
            DrawingSize::Wide => ("wide", format!("{id}-wide")),
            DrawingSize::Narrow => ("narrow", format!("{id}-narrow")),
            DrawingSize::Small => ("small", id.to_owned()),
        };
        html! {
            svg class={ "chart " (size) } viewBox={ "0 0 " (Px(self.width)) " " (Px(height)) }
                role="img" aria-labelledby={ (id) "-title " (id) "-told" } {
                title id={ (id) "-title" } { (title) }
                desc id={ (id) "-told" } { (told) }
                (content)
            }
        }
    }
}
