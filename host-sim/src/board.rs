//! What the control runs on: this process, or an emulated chip.
//!
//! Both take the same moments and give the same decisions, so the bench does
//! not know which one it has.

use hysteron_logic::control::{Control, Decision, Input, Retained, StoredSettings};
use hysteron_logic::counters::Totals;
use hysteron_logic::settings::Settings;
use hysteron_logic::time::{Duration, Instant};

use crate::chip::ChipError;
use crate::chip_board::ChipBoard;

/// Everything a board is told in a step.
#[derive(Debug, Clone)]
pub struct Moment<'a> {
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

/// A board with the control on it.
#[derive(Debug)]
pub enum Board<'c> {
    /// In this process.
    InProcess(InProcess),
    /// On an emulated chip.
    OnChip(Box<ChipBoard<'c>>),
}

impl Board<'_> {
    /// Takes note of whether the supply makes a board work.
    #[inline]
    pub fn supply(&mut self, at: Duration, works: bool) -> SupplyChange {
        match self {
            Self::InProcess(board) => board.supply(at, works),
            Self::OnChip(board) => board.supply(at, works),
        }
    }

    /// Since when the board has had power; `None` while it has none.
    #[must_use]
    pub const fn powered_since(&self) -> Option<Duration> {
        match self {
            Self::InProcess(board) => board.powered_since(),
            Self::OnChip(board) => board.powered_since(),
        }
    }

    /// What the board decides; `None` while it has no power.
    #[inline]
    pub fn decide(&mut self, moment: &Moment<'_>) -> Option<Decision> {
        match self {
            Self::InProcess(board) => board.decide(moment),
            Self::OnChip(board) => board.decide(moment),
        }
    }

    /// What the board has counted.
    #[must_use]
    pub fn totals(&self) -> Totals {
        match self {
            Self::InProcess(board) => board.totals(),
            Self::OnChip(board) => board.totals(),
        }
    }

    /// The end of a run.
    ///
    /// # Errors
    /// What went wrong with the chip on the way; its decisions mean nothing then.
    pub fn finish(self) -> Result<(), ChipError> {
        match self {
            Self::InProcess(_) => Ok(()),
            Self::OnChip(board) => board.finish(),
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
            State::Running { control, .. } if !works => {
                self.0 = State::Dead {
                    settings: Box::new(*control.settings()),
                    retained: Box::new(control.retained()),
                };
                SupplyChange::Lost
            }
            State::Dead { settings, retained } if works => {
                let control = Control::at_power_up(StoredSettings::Whole(**settings), retained);
                self.0 = State::Running {
                    control: Box::new(control),
                    since: at,
                };
                SupplyChange::Started
            }
            State::Running { .. } | State::Dead { .. } => SupplyChange::None,
        }
    }

    fn decide(&mut self, moment: &Moment<'_>) -> Option<Decision> {
        let State::Running { control, .. } = &mut self.0 else {
            return None;
        };
        let told = Instant::from_millis(moment.told_ms);
        Some(control.step(told, moment.input))
    }
}
