//! What a low supply does to the board, to the load and to the contact's feedback, where no
//! installation is named.

use hysteron_logic::contact::{Feedback, LIVE_PERCENT};
use hysteron_logic::settings::Load as LoadKind;

use hysteron_installation::load::Motor;
use hysteron_plant::Load;

/// Below this share of the rated voltage a board's own supply gives up and it
/// starts anew when the voltage returns (from memory; boards differ).
pub const BROWN_OUT: f64 = 0.70;

/// Whether a board has enough supply to work.
#[must_use]
pub fn board_works(supply: f64) -> bool {
    supply >= BROWN_OUT
}

/// What the feedback of a closed contact tells at this share of its nominal voltage.
#[must_use]
pub fn feedback_at(share: f64) -> Feedback {
    if share >= f64::from(LIVE_PERCENT) / 100.0 {
        Feedback::Closed
    } else {
        Feedback::Open
    }
}

/// What a load with its contact closed does at `supply`, a share of its rated voltage.
///
/// A compressor keeps its speed and so its capacity until it stalls, and its overload
/// protector takes it off; the power of anything else is taken for a resistor's, the square
/// of the voltage.
#[must_use]
pub fn load_at(supply: f64, kind: LoadKind) -> Load {
    match kind {
        LoadKind::Compressor if supply >= Motor::STALL_FRACTION => Load::RATED,
        LoadKind::Compressor => Load::Off,
        LoadKind::Other if supply > 0.0 => Load::Running {
            fraction: supply * supply,
        },
        LoadKind::Other => Load::Off,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_compressor_stalls_and_a_heater_fades() {
        assert_eq!(load_at(0.9, LoadKind::Compressor), Load::RATED);
        assert_eq!(load_at(0.74, LoadKind::Compressor), Load::Off);
        assert_eq!(
            load_at(0.5, LoadKind::Other),
            Load::Running { fraction: 0.25 }
        );
        assert_eq!(load_at(0.0, LoadKind::Other), Load::Off);
    }

    #[test]
    fn a_dip_that_stalls_the_compressor_may_leave_the_board_awake() {
        assert!(board_works(0.72));
        assert_eq!(load_at(0.72, LoadKind::Compressor), Load::Off);
        assert_eq!(feedback_at(0.72), Feedback::Open);
        assert_eq!(feedback_at(0.80), Feedback::Closed);
        assert!(!board_works(0.69));
    }
}
