//! The reset button: a person's deliberate "I have looked, go on".

use embedded_hal::digital::InputPin;

/// Passes for which the button must be held: three seconds.
pub const HELD_PASSES: u8 = 30;

/// What the button says in this pass.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Press {
    /// Nothing was asked for.
    None,
    /// The button has just been held for long enough. Said once for each press.
    Deliberate,
}

/// Reads the reset button.
///
/// A button that is held when the board starts, or that sticks, asks for
/// nothing: it must be seen released first.
#[derive(Debug)]
pub struct Button<P> {
    pin: P,
    state: State,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum State {
    AwaitingRelease,
    Released,
    Held(u8),
}

impl<P: InputPin> Button<P> {
    /// A button that has not been seen released yet.
    pub const fn new(pin: P) -> Self {
        Self {
            pin,
            state: State::AwaitingRelease,
        }
    }

    /// Looks at the button, once per pass. An input that cannot be read is released.
    pub fn look(&mut self) -> Press {
        if !self.pin.is_low().unwrap_or(false) {
            self.state = State::Released;
            return Press::None;
        }
        let passes = match self.state {
            State::AwaitingRelease => return Press::None,
            State::Released => 1,
            State::Held(passes) => passes + 1,
        };
        if passes < HELD_PASSES {
            self.state = State::Held(passes);
            return Press::None;
        }
        self.state = State::AwaitingRelease;
        Press::Deliberate
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use embedded_hal_mock::eh1::digital::{Mock, State as Level, Transaction};

    fn presses(levels: impl Iterator<Item = Level>) -> Vec<usize> {
        let script: Vec<_> = levels.map(Transaction::get).collect();
        let mut pin = Mock::new(&script);
        let mut button = Button::new(pin.clone());
        let presses = (0..script.len())
            .filter(|_| button.look() == Press::Deliberate)
            .collect();
        pin.done();
        presses
    }

    #[test]
    fn three_seconds_ask_once() {
        let held = std::iter::once(Level::High).chain([Level::Low; 100]);
        assert_eq!(presses(held), [30]);
    }

    #[test]
    fn a_short_press_and_a_stuck_button_ask_for_nothing() {
        let short = std::iter::once(Level::High)
            .chain([Level::Low; 29])
            .chain([Level::High]);
        assert_eq!(presses(short), [0_usize; 0]);
        assert_eq!(presses([Level::Low; 200].into_iter()), [0_usize; 0]);
    }
}
