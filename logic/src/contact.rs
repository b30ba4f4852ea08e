//! Does the contact do what the coil tells it? Needs the optional feedback input.

use crate::guard::Relay;
use crate::time::{Duration, Instant};

/// What the feedback input says of the contact between common and normally open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Feedback {
    /// The board has no such input.
    NotFitted,
    /// The contact is open.
    Open,
    /// The contact is closed.
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
    /// Stays open though the relay is driven.
    Burnt,
}

/// A disagreement is proven when it has stood this long: a contact settles in
/// hundredths of a second.
pub const PROOF: Duration = Duration::from_seconds(2);

/// Compares feedback with command.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ContactProof {
    disagrees: Option<(Contact, Instant)>,
}

impl ContactProof {
    /// Whether feedback and command agree, as far as they are known.
    #[must_use]
    pub const fn agrees(&self) -> bool {
        self.disagrees.is_none()
    }

    /// Judges the contact at `now`, given what the relay was driven to since the last step.
    pub fn judge(&mut self, now: Instant, driven: Relay, feedback: Feedback) -> Contact {
        let suspected = match (driven, feedback) {
            (Relay::Open, Feedback::Closed) => Contact::Welded,
            (Relay::Closed, Feedback::Open) => Contact::Burnt,
            (Relay::Open | Relay::Closed, Feedback::NotFitted)
            | (Relay::Open, Feedback::Open)
            | (Relay::Closed, Feedback::Closed) => {
                self.disagrees = None;
                return Contact::Sound;
            }
        };
        let since = match self.disagrees {
            Some((before, since)) if before == suspected => since,
            Some(_) | None => now,
        };
        self.disagrees = Some((suspected, since));
        if now.since(since) >= PROOF {
            suspected
        } else {
            Contact::Sound
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn feedback_and_command_agree_until_one_is_seen_to_differ() {
        let mut proof = ContactProof::default();
        assert!(proof.agrees());
        proof.judge(Instant::POWER_UP, Relay::Closed, Feedback::Open);
        assert!(!proof.agrees());
        proof.judge(Instant::POWER_UP, Relay::Closed, Feedback::Closed);
        assert!(proof.agrees());
        proof.judge(Instant::POWER_UP, Relay::Open, Feedback::Closed);
        assert!(!proof.agrees());
        proof.judge(Instant::POWER_UP, Relay::Open, Feedback::NotFitted);
        assert!(proof.agrees());
    }

    fn at(millis: u64) -> Instant {
        Instant::from_millis(millis)
    }

    #[test]
    fn a_disagreement_is_proven_after_two_seconds() {
        for (driven, feedback, proven) in [
            (Relay::Open, Feedback::Closed, Contact::Welded),
            (Relay::Closed, Feedback::Open, Contact::Burnt),
        ] {
            let mut proof = ContactProof::default();
            assert_eq!(proof.judge(at(0), driven, feedback), Contact::Sound);
            assert_eq!(proof.judge(at(1_999), driven, feedback), Contact::Sound);
            assert_eq!(proof.judge(at(2_000), driven, feedback), proven);
            assert_eq!(
                proof.judge(at(2_001), driven, Feedback::NotFitted),
                Contact::Sound
            );
        }
    }

    #[test]
    fn a_contact_that_travels_is_not_accused() {
        let mut proof = ContactProof::default();
        proof.judge(at(0), Relay::Open, Feedback::Closed);
        proof.judge(at(1_500), Relay::Closed, Feedback::Open);
        assert_eq!(
            proof.judge(at(3_000), Relay::Closed, Feedback::Open),
            Contact::Sound
        );
    }
}
