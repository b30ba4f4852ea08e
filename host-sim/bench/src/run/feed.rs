//! What everybody is fed, and the pressures' part in it.

use hysteron_logic::contact::Feedback;

use hysteron_plant::{FanSupply, Load, PressureContact};

/// Whether the control has the power that it needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BoardSupply {
    /// It works.
    Works,
    /// It stands still.
    Fails,
}

/// What everybody is fed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Feed {
    /// The control's board.
    pub board: BoardSupply,
    /// What the relay switches.
    pub load: Load,
    /// The compressor behind a low-pressure control.
    pub condensing_unit: Load,
    /// The evaporator's fan.
    pub evaporator_fan: FanSupply,
    /// The condenser's fan.
    pub condenser_fan: FanSupply,
    /// What an input at the relay's normally open terminal tells the control, if it has one.
    pub feedback: Feedback,
}

/// Where the contacts stand that pressures move.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PressureContacts {
    /// Of the low-pressure control.
    pub low: PressureContact,
    /// Of the high-pressure control.
    pub high: PressureContact,
}

impl PressureContacts {
    /// All closed, as between ordinary pressures.
    pub const CLOSED: Self = Self {
        low: PressureContact::Closed,
        high: PressureContact::Closed,
    };
}
