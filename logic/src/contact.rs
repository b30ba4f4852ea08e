//! Does the contact do what the coil tells it, and has the load its voltage? Needs the
//! optional feedback input.
//!
//! A load that loses its voltage while the relay is closed is a stopped load: what comes
//! back after a moment would start it without a rest. So the relay opens, and the rest
//! begins. The same holds for a voltage that never came after a closing.
//!
//! ```text
//!   relay closes          voltage seen             no voltage
//!  --------------> awaited ----------> present ------------------> missed
//!                    |   ^                ^                          |
//!      none for      |   |  relay closes  |  voltage seen            | relay closes
//!      two seconds   |   +-- missed or    +------- awaited <---------+
//!                    v       absent                  |
//!     missed, or absent if it was missed before <----+ none for two seconds
//! ```
//!
//! Absent is a contact that is called burnt: twice in a row its closing brought no voltage.

use crate::guard::Relay;
use crate::time::{Duration, Instant};

/// The least share of its nominal voltage, in per cent, with which the normally open
/// terminal counts as live. Motors are made for 90 % (NEMA MG 1, from memory) and stall
/// somewhat below (common practice).
pub const LIVE_PERCENT: u8 = 80;

/// What the feedback input says of the relay's normally open terminal, ahead of pressure
/// controls and whatever else stops the load on its own.
///
/// A level that has settled: a board looks across whole half-waves of the mains.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Feedback {
    /// The board has no such input, or it tells nothing at present.
    NotFitted,
    /// The contact is open: less than [`LIVE_PERCENT`] of the nominal voltage.
    Open,
    /// The contact is closed: [`LIVE_PERCENT`] of the nominal voltage or more.
    Closed,
}

/// The contact, as far as the feedback proves it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Contact {
    /// Follows the coil, or nothing is known.
    #[default]
    Sound,
    /// Stays closed though the relay is released.
    Welded,
    /// Closing it brought the load no voltage, twice in a row.
    Burnt,
}

/// Whether the load has just stopped for want of voltage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Voltage {
    /// There, or nothing is known of it, or nobody asks for it.
    Fine,
    /// Gone while the relay is driven: the load stands.
    Lost,
}

/// A disagreement is proven when it has stood this long: a contact settles in
/// hundredths of a second, and an inrush that pulls the voltage down is over in less
/// (common practice).
pub const PROOF: Duration = Duration::from_seconds(2);

/// What the contact shows for this long after a movement is no news, so that a control
/// which is stepped more often proves nothing earlier.
pub const SETTLING: Duration = Duration::from_seconds(1);

/// The least rest after a lost voltage, whatever the settings say: a relay whose load
/// has no supply must not chatter for as long as that lasts.
pub const LEAST_REST: Duration = Duration::from_minutes(1);

/// What is known of the voltage behind the contact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Supply {
    /// Nothing speaks against it.
    #[default]
    Trusted,
    /// It was seen since the relay closed.
    Present,
    /// A run ended for want of it, and it was not seen since.
    Missed,
    /// So did another one after that.
    Absent,
}

/// Compares feedback with command.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ContactProof {
    /// Since when there is voltage though the relay is released.
    live_since: Option<Instant>,
    supply: Supply,
}

impl ContactProof {
    /// Whether nothing is suspected and the same feedback again would change nothing.
    #[must_use]
    pub fn agrees(&self, driven: Relay, feedback: Feedback) -> bool {
        match (driven, feedback) {
            (Relay::Open | Relay::Closed, Feedback::NotFitted) => true,
            (Relay::Open, Feedback::Open) => self.supply != Supply::Absent,
            (Relay::Closed, Feedback::Closed) => self.supply == Supply::Present,
            (Relay::Open, Feedback::Closed) | (Relay::Closed, Feedback::Open) => false,
        }
    }

    /// Whether a run ended for want of voltage, and none was seen since.
    #[must_use]
    pub const fn missed(&self) -> bool {
        match self.supply {
            Supply::Trusted | Supply::Present => false,
            Supply::Missed | Supply::Absent => true,
        }
    }

    /// Judges the contact and its voltage at `now`, given where the relay was driven since
    /// the last step and how long it has been there.
    pub fn judge(
        &mut self,
        now: Instant,
        (driven, unchanged_for): (Relay, Duration),
        feedback: Feedback,
    ) -> (Contact, Voltage) {
        if (driven, feedback) != (Relay::Open, Feedback::Closed) {
            self.live_since = None;
        }
        let mut voltage = Voltage::Fine;
        match (driven, feedback) {
            (Relay::Closed, Feedback::NotFitted) => {}
            (Relay::Open, Feedback::NotFitted | Feedback::Open) => {
                if self.supply == Supply::Present {
                    self.supply = Supply::Trusted;
                }
            }
            (Relay::Open, Feedback::Closed) => {
                self.supply = Supply::Trusted;
                let since = *self.live_since.get_or_insert(now);
                if now.is_past(since, PROOF) && unchanged_for >= SETTLING.and(PROOF) {
                    return (Contact::Welded, voltage);
                }
            }
            (Relay::Closed, Feedback::Closed) => {
                if unchanged_for >= SETTLING {
                    self.supply = Supply::Present;
                }
            }
            (Relay::Closed, Feedback::Open) => {
                let waited = unchanged_for >= PROOF;
                let before = self.supply;
                self.supply = match (before, waited) {
                    (Supply::Present, _) | (Supply::Trusted, true) => Supply::Missed,
                    (Supply::Missed | Supply::Absent, true) => Supply::Absent,
                    (Supply::Trusted | Supply::Missed | Supply::Absent, false) => before,
                };
                if waited || before == Supply::Present {
                    voltage = Voltage::Lost;
                }
            }
        }
        match self.supply {
            Supply::Absent => (Contact::Burnt, voltage),
            Supply::Trusted | Supply::Present | Supply::Missed => (Contact::Sound, voltage),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SOUND: (Contact, Voltage) = (Contact::Sound, Voltage::Fine);
    const LOST: (Contact, Voltage) = (Contact::Sound, Voltage::Lost);

    /// A relay that does what it is told, and its contact's proof.
    struct Bench {
        proof: ContactProof,
        now_ms: u64,
        driven: Relay,
        moved_ms: u64,
    }

    impl Bench {
        fn driven(driven: Relay) -> Self {
            Self {
                proof: ContactProof::default(),
                now_ms: 1_000_000,
                driven,
                moved_ms: 1_000_000,
            }
        }

        fn drive(&mut self, relay: Relay) {
            (self.driven, self.moved_ms) = (relay, self.now_ms);
        }

        fn after(&mut self, millis: u64, feedback: Feedback) -> (Contact, Voltage) {
            self.now_ms += millis;
            let now = Instant::from_millis(self.now_ms);
            let unchanged_for = Duration::from_millis(self.now_ms - self.moved_ms);
            self.proof
                .judge(now, (self.driven, unchanged_for), feedback)
        }
    }

    #[test]
    fn a_welded_contact_is_proven_after_two_seconds_that_follow_one_to_settle() {
        let mut bench = Bench::driven(Relay::Open);
        assert_eq!(bench.after(500, Feedback::Closed), SOUND);
        assert_eq!(bench.after(2_499, Feedback::Closed), SOUND);
        let welded = (Contact::Welded, Voltage::Fine);
        assert_eq!(bench.after(1, Feedback::Closed), welded);
        assert_eq!(bench.after(1, Feedback::NotFitted), SOUND);
        let mut bench = Bench::driven(Relay::Open);
        assert_eq!(bench.after(9_000, Feedback::Closed), SOUND);
        assert_eq!(bench.after(1_999, Feedback::Closed), SOUND);
        assert_eq!(bench.after(1, Feedback::Closed), welded);
    }

    #[test]
    fn a_contact_that_travels_is_not_accused() {
        let mut bench = Bench::driven(Relay::Open);
        bench.after(5_000, Feedback::Closed);
        bench.after(1_500, Feedback::Closed);
        bench.drive(Relay::Closed);
        assert_eq!(bench.after(1_500, Feedback::Open), SOUND);
    }

    #[test]
    fn a_voltage_that_was_seen_is_lost_at_once() {
        let mut bench = Bench::driven(Relay::Closed);
        assert_eq!(bench.after(1_000, Feedback::Closed), SOUND);
        assert!(bench.proof.agrees(Relay::Closed, Feedback::Closed));
        assert_eq!(bench.after(1, Feedback::Open), LOST);
        assert!(bench.proof.missed());
        bench.drive(Relay::Open);
        assert_eq!(bench.after(300_000, Feedback::Open), SOUND);
        assert!(bench.proof.missed());
        bench.drive(Relay::Closed);
        assert_eq!(bench.after(1_000, Feedback::Closed), SOUND);
        assert!(!bench.proof.missed());
    }

    #[test]
    fn a_contact_is_burnt_when_two_closings_in_a_row_bring_no_voltage() {
        let burnt = |voltage| (Contact::Burnt, voltage);
        let mut bench = Bench::driven(Relay::Closed);
        assert_eq!(bench.after(1_999, Feedback::Open), SOUND);
        assert_eq!(bench.after(1, Feedback::Open), LOST);
        bench.drive(Relay::Open);
        assert_eq!(bench.after(300_000, Feedback::Open), SOUND);
        bench.drive(Relay::Closed);
        assert_eq!(bench.after(1_999, Feedback::Open), SOUND);
        assert_eq!(bench.after(1, Feedback::Open), burnt(Voltage::Lost));
        bench.drive(Relay::Open);
        assert_eq!(bench.after(9_000, Feedback::Open), burnt(Voltage::Fine));
        // A moment without news is forgotten, and nothing that was known before it.
        assert_eq!(bench.after(100, Feedback::NotFitted), burnt(Voltage::Fine));
        assert!(!bench.proof.agrees(Relay::Open, Feedback::Open));
        bench.drive(Relay::Closed);
        assert_eq!(bench.after(1_000, Feedback::Open), burnt(Voltage::Fine));
        assert_eq!(bench.after(500, Feedback::Closed), SOUND);
    }

    #[test]
    fn without_feedback_nothing_is_known() {
        for driven in [Relay::Open, Relay::Closed] {
            let mut bench = Bench::driven(driven);
            assert_eq!(bench.after(9_000, Feedback::NotFitted), SOUND);
            assert!(bench.proof.agrees(driven, Feedback::NotFitted));
        }
    }
}
