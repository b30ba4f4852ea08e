//! The extremes of what is watched in a run.

use hysteron_logic::time::Duration;

use crate::scenario::expectation::{Observable, Window};

/// A value and when it was first seen.
pub type Seen = (f64, Duration);

/// Looks at one observable through one window of time.
#[derive(Debug, Clone)]
pub struct Watch {
    observable: Observable,
    window: Window,
    lowest: Seen,
    highest: Seen,
}

impl Watch {
    /// A watch that has seen nothing yet.
    #[must_use]
    pub const fn new(observable: Observable, window: Window) -> Self {
        Self {
            observable,
            window,
            lowest: (f64::INFINITY, Duration::ZERO),
            highest: (f64::NEG_INFINITY, Duration::ZERO),
        }
    }

    /// Whether this is the watch over `observable` through `window`.
    #[must_use]
    pub fn is_over(&self, observable: Observable, window: Window) -> bool {
        self.observable == observable && self.window == window
    }

    /// Looks, if the window is open; `observe` tells a value, if there is one now.
    #[inline]
    pub fn see(&mut self, at: Duration, observe: impl Fn(Observable) -> Option<f64>) {
        if at < self.window.from || self.window.until < at {
            return;
        }
        if let Some(value) = observe(self.observable) {
            if value < self.lowest.0 {
                self.lowest = (value, at);
            }
            if value > self.highest.0 {
                self.highest = (value, at);
            }
        }
    }

    /// The lowest and the highest value; `None` where there was none to see.
    #[must_use]
    pub fn extremes(&self) -> Option<(Seen, Seen)> {
        (self.lowest.0 <= self.highest.0).then_some((self.lowest, self.highest))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_watch_sees_what_is_in_its_window() {
        let second = Duration::from_seconds;
        let window = Window {
            from: second(2),
            until: second(5),
        };
        let mut watch = Watch::new(Observable::Ambient, window);
        assert_eq!(watch.extremes(), None);
        for (at, value) in [9.0, 8.0, 3.0, 4.0, 1.0, 4.0, -7.0].into_iter().enumerate() {
            let unknown = at == 4;
            watch.see(second(at as u32), |_| (!unknown).then_some(value));
        }
        let expected = Some(((3.0, second(2)), (4.0, second(3))));
        assert_eq!(watch.extremes(), expected);
    }
}
