//! The settings lock: a jumper that a person must fit before anything changes.
//!
//! The input idles high, so a lost jumper or a broken wire locks.

use embedded_hal::digital::InputPin;

/// Passes for which the jumper must be seen before it unlocks: half a second.
pub const STEADY_PASSES: u8 = 5;

/// Whether settings may be changed and lockouts released.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LockState {
    /// Nobody may change anything.
    Locked,
    /// Commands are heard.
    Unlocked,
}

/// Reads the lock's input as a level.
///
/// Locks at the first sight of a high level; unlocks only once the level has
/// been low for [`STEADY_PASSES`] passes in a row.
#[derive(Debug)]
pub struct Lock<P> {
    pin: P,
    low_passes: u8,
}

impl<P: InputPin> Lock<P> {
    /// A lock that is on until its input has been seen low for long enough.
    pub const fn new(pin: P) -> Self {
        Self { pin, low_passes: 0 }
    }

    /// Looks at the input, once per pass. An input that cannot be read locks.
    pub fn look(&mut self) -> LockState {
        match self.pin.is_low() {
            Ok(true) => self.low_passes = self.low_passes.saturating_add(1),
            Ok(false) | Err(_) => self.low_passes = 0,
        }
        if self.low_passes >= STEADY_PASSES {
            LockState::Unlocked
        } else {
            LockState::Locked
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use embedded_hal_mock::eh1::MockError;
    use embedded_hal_mock::eh1::digital::{Mock, State, Transaction};

    fn states(levels: &[Transaction]) -> Vec<LockState> {
        let mut pin = Mock::new(levels);
        let mut lock = Lock::new(pin.clone());
        let states = levels.iter().map(|_| lock.look()).collect();
        pin.done();
        states
    }

    fn level(state: State) -> Transaction {
        Transaction::get(state)
    }

    #[test]
    fn unlocks_after_five_low_passes_and_locks_at_once() {
        let mut levels = vec![level(State::Low); 6];
        levels.push(level(State::High));
        levels.push(level(State::Low));
        let states = states(&levels);
        assert_eq!(states[..4], [LockState::Locked; 4]);
        assert_eq!(states[4..6], [LockState::Unlocked; 2]);
        assert_eq!(states[6..], [LockState::Locked; 2]);
    }

    #[test]
    fn a_bouncing_jumper_never_unlocks() {
        let levels: Vec<_> = (0..40)
            .map(|n| level(if n % 5 == 4 { State::High } else { State::Low }))
            .collect();
        assert!(states(&levels).iter().all(|&s| s == LockState::Locked));
    }

    #[test]
    fn an_input_that_cannot_be_read_locks() {
        let mut levels = vec![level(State::Low); 5];
        levels.push(level(State::Low).with_error(MockError::Io(std::io::ErrorKind::NotConnected)));
        levels.push(level(State::Low));
        let states = states(&levels);
        assert_eq!(states[4], LockState::Unlocked);
        assert_eq!(states[5..], [LockState::Locked; 2]);
    }
}
