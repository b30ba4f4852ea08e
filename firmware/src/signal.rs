//! What the status light and the buzzer say, two seconds at a time.
//!
//! | situation | light | buzzer |
//! | --- | --- | --- |
//! | satisfied, or switched off | one short blink | silent |
//! | the relay would close, but a hold runs | even: one second on, one off | silent |
//! | the relay is closed | on, with one short gap | silent |
//! | fault: probe, contact, temperature alarm, memory | three short blinks | one chirp every ten seconds |
//! | lockout | rapid, five times a second | two chirps every ten seconds |
//!
//! A light that stays dark or stays on means that no pass has run.

use embedded_hal::digital::OutputPin;
use hysteron_logic::alarm::Alarm;
use hysteron_logic::contact::Contact;
use hysteron_logic::control::{Decision, Reason};
use hysteron_logic::guard::Relay;
use hysteron_logic::probe::Trust;

use crate::memory::MemoryError;

/// Passes of a tenth of a second in one round of the light.
const ROUND: u8 = 20;

/// Rounds of the light for one of the buzzer.
const ROUNDS_PER_CHIRP: u8 = 5;

/// What a person should learn from across the room.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Situation {
    /// Nothing is asked of the load.
    Satisfied,
    /// The load would run, but a hold keeps it off.
    Holding,
    /// The relay is closed.
    Running,
    /// Something needs looking at; the control works on as well as it can.
    Fault,
    /// The load stays off until a person comes.
    Lockout,
}

impl Situation {
    /// What `decision` and the condition of the memory come to.
    #[must_use]
    pub fn of(decision: &Decision, memory: Result<(), MemoryError>) -> Self {
        let alarmed = [decision.high_alarm, decision.low_alarm].contains(&Alarm::Raised);
        let faulty = matches!(decision.trust, Trust::Fault(_))
            || decision.contact != Contact::Sound
            || decision.reason == Reason::VoltageLost
            || memory.is_err();
        match (decision.reason, decision.relay) {
            (Reason::LockedOut(_), _) => Self::Lockout,
            _ if alarmed || faulty => Self::Fault,
            (_, Relay::Closed) => Self::Running,
            (
                Reason::PowerUpHold
                | Reason::MinimumOffTime
                | Reason::StartsPerHour
                | Reason::HeatCeiling,
                Relay::Open,
            ) => Self::Holding,
            (
                Reason::Satisfied
                | Reason::NoReading
                | Reason::FallbackRest
                | Reason::FallbackOpen
                | Reason::Defrost
                | Reason::ModeChanged
                | Reason::VoltageLost
                | Reason::SwitchedOff
                | Reason::Calling
                | Reason::FallbackRun
                | Reason::MinimumOnTime,
                Relay::Open,
            ) => Self::Satisfied,
        }
    }

    /// The round of the light, first tenth of a second in the lowest bit.
    const fn light(self) -> u32 {
        match self {
            Self::Satisfied => 0b0000_0000_0000_0000_0001,
            Self::Holding => 0b0000_0000_0011_1111_1111,
            Self::Running => 0b0111_1111_1111_1111_1111,
            Self::Fault => 0b0000_0000_0000_0001_0101,
            Self::Lockout => 0b0101_0101_0101_0101_0101,
        }
    }

    /// The buzzer's first round of five; it is silent in the other four.
    const fn buzzer(self) -> u32 {
        match self {
            Self::Satisfied | Self::Holding | Self::Running => 0,
            Self::Fault => 0b11,
            Self::Lockout => 0b1_1011,
        }
    }
}

/// Drives the light and the buzzer.
#[derive(Debug)]
pub struct Signal<L, B> {
    light: L,
    buzzer: B,
    pass: u8,
    round: u8,
}

impl<L: OutputPin, B: OutputPin> Signal<L, B> {
    /// A light and a buzzer at the start of a round.
    pub const fn new(light: L, buzzer: B) -> Self {
        Self {
            light,
            buzzer,
            pass: 0,
            round: 0,
        }
    }

    /// Shows one tenth of a second of `situation`.
    ///
    /// A light that cannot be driven must not stop the control, so a pin's
    /// error is not told.
    pub fn show(&mut self, situation: Situation) {
        let lit = situation.light() >> self.pass & 1 == 1;
        let sounding = self.round == 0 && situation.buzzer() >> self.pass & 1 == 1;
        let _ = self.light.set_state(lit.into());
        let _ = self.buzzer.set_state(sounding.into());
        self.pass += 1;
        if self.pass == ROUND {
            self.pass = 0;
            self.round = (self.round + 1) % ROUNDS_PER_CHIRP;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::cell::RefCell;
    use std::convert::Infallible;
    use std::rc::Rc;

    use embedded_hal::digital::ErrorType;

    #[derive(Clone, Default)]
    struct Recorder(Rc<RefCell<Vec<bool>>>);

    impl ErrorType for Recorder {
        type Error = Infallible;
    }

    impl OutputPin for Recorder {
        fn set_low(&mut self) -> Result<(), Infallible> {
            self.0.borrow_mut().push(false);
            Ok(())
        }
        fn set_high(&mut self) -> Result<(), Infallible> {
            self.0.borrow_mut().push(true);
            Ok(())
        }
    }

    /// How often each output goes on, and for how many tenths, in ten seconds.
    fn ten_seconds(situation: Situation) -> [(usize, usize); 2] {
        let (light, buzzer) = (Recorder::default(), Recorder::default());
        let mut signal = Signal::new(light.clone(), buzzer.clone());
        for _ in 0..100 {
            signal.show(situation);
        }
        [light, buzzer].map(|output| {
            let levels = output.0.borrow();
            let rises = levels.windows(2).filter(|w| !w[0] && w[1]).count();
            let begins_on = usize::from(levels[0]);
            (rises + begins_on, levels.iter().filter(|on| **on).count())
        })
    }

    #[test]
    fn situations_look_and_sound_as_described() {
        assert_eq!(ten_seconds(Situation::Satisfied), [(5, 5), (0, 0)]);
        assert_eq!(ten_seconds(Situation::Holding), [(5, 50), (0, 0)]);
        assert_eq!(ten_seconds(Situation::Running), [(5, 95), (0, 0)]);
        assert_eq!(ten_seconds(Situation::Fault), [(15, 15), (1, 2)]);
        assert_eq!(ten_seconds(Situation::Lockout), [(50, 50), (2, 4)]);
    }
}
