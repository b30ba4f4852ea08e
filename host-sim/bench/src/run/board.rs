//! What the control runs on: this process, or a board outside it, such as an emulated chip.
//!
//! Both take the same moments and give the same decisions, so the bench does
//! not know which one it has.

use std::fmt;

use hysteron_logic::control::{Control, Decision, Input, Retained, StoredSettings};
use hysteron_logic::counters::Totals;
use hysteron_logic::divider::Counts;
use hysteron_logic::sense::Sample;
use hysteron_logic::settings::Settings;
use hysteron_logic::time::{Duration, Instant};

use crate::probe::known_readings::KnownReadings;
use crate::run::remembered::Remembered;

/// Everything a board is told in a step.
#[derive(Debug, Clone)]
pub struct BoardStep<'a> {
    /// When, on the bench's clock.
    pub at: Duration,
    /// How far the board's own clock has been disturbed: what it tells, in
    /// milliseconds since the board's power-up.
    pub told_ms: u64,
    /// Everything else.
    pub input: &'a Input,
}

/// What a change of the supply did to a board.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SupplyChange {
    /// Nothing.
    None,
    /// It started.
    Started,
    /// It lost its power.
    Lost,
}

/// A board outside this process.
///
/// It has no way to tell the bench that it failed: whoever runs the bench on it asks it afterwards.
pub trait RemoteBoard: fmt::Debug {
    /// Takes note of whether the supply makes a board work.
    fn supply(&mut self, at: Duration, works: bool) -> SupplyChange;

    /// Since when the board has had power; `None` while it has none.
    fn powered_since(&self) -> Option<Duration>;

    /// What the control on it decides; `None` while it has no power.
    fn decide(&mut self, moment: &BoardStep<'_>) -> Option<&Decision>;

    /// What the board has counted.
    fn totals(&self) -> Totals;
}

/// A board with the control on it.
#[derive(Debug)]
pub enum Board<'c> {
    /// In this process.
    InProcess(InProcess),
    /// Outside of it.
    Remote(&'c mut dyn RemoteBoard),
}

impl<'c> Board<'c> {
    /// Takes note of whether the supply makes a board work.
    #[inline]
    pub fn supply(&mut self, at: Duration, works: bool) -> SupplyChange {
        match self {
            Self::InProcess(board) => board.supply(at, works),
            Self::Remote(board) => board.supply(at, works),
        }
    }

    /// Since when the board has had power; `None` while it has none.
    #[must_use]
    pub fn powered_since(&self) -> Option<Duration> {
        match self {
            Self::InProcess(board) => board.powered_since(),
            Self::Remote(board) => board.powered_since(),
        }
    }

    /// The sample that `counts` are to this board, as long as no command changes its settings.
    #[inline]
    pub fn sample(&mut self, counts: Counts) -> Sample {
        match self {
            Self::InProcess(InProcess(State::Running { control, known, .. })) => {
                known.sample(counts, control.settings())
            }
            Self::InProcess(InProcess(State::Dead { .. })) | Self::Remote(_) => {
                Sample::Counts(counts)
            }
        }
    }

    /// Whoever decides on the board, if it has power.
    #[inline]
    pub fn decider(&mut self) -> Decider<'_, 'c> {
        match self {
            Self::InProcess(InProcess(State::Running {
                control,
                known,
                remembered,
                ..
            })) => Decider::Control(Running {
                control,
                known,
                remembered,
            }),
            Self::InProcess(InProcess(State::Dead { .. })) => Decider::Nobody,
            Self::Remote(board) => Decider::Remote(&mut **board),
        }
    }

    /// What the board has counted.
    #[must_use]
    pub fn totals(&self) -> Totals {
        match self {
            Self::InProcess(board) => board.totals(),
            Self::Remote(board) => board.totals(),
        }
    }
}

/// A board in this process.
#[derive(Debug, Clone)]
pub struct InProcess(State);

#[derive(Debug, Clone)]
enum State {
    /// Running since that moment.
    Running {
        control: Box<Control>,
        since: Duration,
        known: KnownReadings,
        remembered: Box<Remembered>,
    },
    /// Without power; its store remembers.
    Dead {
        settings: Box<Settings>,
        retained: Box<Retained>,
    },
}

impl InProcess {
    /// A board without power, with `settings` in its store.
    #[must_use]
    pub fn with_settings(settings: Settings) -> Self {
        Self(State::Dead {
            settings: Box::new(settings),
            retained: Box::default(),
        })
    }

    fn totals(&self) -> Totals {
        match &self.0 {
            State::Running { control, .. } => control.totals(),
            State::Dead { retained, .. } => retained.totals,
        }
    }

    const fn powered_since(&self) -> Option<Duration> {
        match &self.0 {
            State::Running { since, .. } => Some(*since),
            State::Dead { .. } => None,
        }
    }

    fn supply(&mut self, at: Duration, works: bool) -> SupplyChange {
        match &self.0 {
            State::Running {
                control,
                remembered,
                ..
            } if !works => {
                self.0 = State::Dead {
                    settings: Box::new(*control.settings()),
                    retained: Box::new(remembered.after_loss_of_power(control)),
                };
                SupplyChange::Lost
            }
            State::Dead { settings, retained } if works => {
                let control = Control::at_power_up(StoredSettings::Whole(**settings), retained);
                self.0 = State::Running {
                    control: Box::new(control),
                    since: at,
                    known: KnownReadings::default(),
                    remembered: Box::new(Remembered::at_power_up((**retained).clone())),
                };
                SupplyChange::Started
            }
            State::Running { .. } | State::Dead { .. } => SupplyChange::None,
        }
    }
}

/// Whoever decides on a board.
///
/// Apart from each other, so that a decision can stay where it was made: to copy one
/// takes longer than to make most.
#[derive(Debug)]
pub enum Decider<'b, 'c> {
    /// A control in this process.
    Control(Running<'b>),
    /// A board outside it.
    Remote(&'b mut (dyn RemoteBoard + 'c)),
    /// The board has no power.
    Nobody,
}

/// A control in this process.
#[derive(Debug)]
pub struct Running<'b> {
    control: &'b mut Control,
    known: &'b mut KnownReadings,
    remembered: &'b mut Remembered,
}

impl Running<'_> {
    /// What the control decides.
    #[inline]
    pub fn decide(self, moment: &BoardStep<'_>) -> Decision {
        let input = moment.input;
        if input.command.is_some() {
            *self.known = KnownReadings::default();
        }
        let now = Instant::from_millis(moment.told_ms);
        let decision = self.control.step(now, input);
        self.remembered.follow(now, self.control, &decision);
        decision
    }
}
