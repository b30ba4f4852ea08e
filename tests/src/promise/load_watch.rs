//! P13: a load that loses its voltage is a stopped load.

use hysteron_logic::contact::{Contact, Feedback};
use hysteron_logic::control::Reason;
use hysteron_logic::event::Event;
use hysteron_logic::guard::Relay;
use hysteron_logic::time::Instant;

use super::observer::{Findings, Forbidden, Scene};
use super::world::ClockRecord;

/// What comes within this time after a closing may still be the contact on its way.
const SETTLING_MS: u64 = 1_000;

/// A closing that brings no voltage within this time has brought none.
const PROOF_MS: u64 = 2_000;

/// Watches the voltage behind the relay's contact.
#[derive(Debug, Clone, Copy, Default)]
pub struct LoadWatch {
    /// There was voltage since the relay closed.
    seen: bool,
    /// Samples without it since.
    without: u32,
    /// The last run was told to have ended for want of voltage.
    missed: bool,
    /// How long the board must know the relay to have been closed.
    known: Known,
}

/// Time that a board whose clock may have stood must know to have passed since the relay
/// closed: what its clock moved, but for the first move after the closing.
#[derive(Debug, Clone, Copy, Default)]
struct Known {
    told: Instant,
    moves: u32,
    ms: u64,
}

impl Known {
    fn pass(&mut self, scene: &Scene<'_>) {
        if scene.before == Relay::Open {
            (self.moves, self.ms) = (0, 0);
        } else if scene.sight.told != self.told {
            self.moves += 1;
            self.ms += if self.moves > 1 {
                scene.sight.period_ms
            } else {
                0
            };
        }
        self.told = scene.sight.told;
    }
}

impl LoadWatch {
    /// Judges one step.
    pub fn judge(&mut self, scene: &Scene<'_>, findings: &mut Findings) {
        let (sight, decision) = (scene.sight, &scene.sight.decision);
        let told = decision.events.contains(&Event::VoltageLost);
        let burnt = decision.events.contains(&Event::ContactBurnt);
        let feedback = sight.input.feedback;
        let ran_ms = scene.unchanged_ms;
        let asked = scene.before == Relay::Closed && feedback == Feedback::Open;
        let faithful = sight.clock == ClockRecord::Faithful;
        let stays = decision.relay == Relay::Closed;

        self.known.pass(scene);
        self.without = if asked { self.without + 1 } else { 0 };
        findings.promise(13, !(self.seen && self.without >= 2 && stays), || {
            format!(
                "closed though the load lost its voltage {} samples ago",
                self.without
            )
        });
        let overdue = asked && faithful && ran_ms >= PROOF_MS && self.without >= 2;
        findings.promise(13, !(overdue && stays), || {
            format!("closed for {ran_ms} ms though the load has no voltage")
        });
        let may_tell = asked && (self.seen || ran_ms >= PROOF_MS || !faithful);
        findings.promise(13, may_tell || !told, || {
            format!("told a lost voltage after {ran_ms} ms, feedback {feedback:?}")
        });
        findings.promise(13, !told || !stays, || {
            "lost its voltage and is closed".to_owned()
        });
        let because = match scene.forbidden {
            Forbidden::No => decision.reason == Reason::VoltageLost,
            Forbidden::TooHot | Forbidden::SwitchedOff | Forbidden::LockedOut => true,
        };
        findings.promise(13, !told || because, || {
            format!("opened for a lost voltage, told {:?}", decision.reason)
        });
        let stayed_away = self.missed && !self.seen;
        findings.promise(13, !burnt || (told && stayed_away), || {
            "a contact was called burnt before its next closing".to_owned()
        });
        let due = told && stayed_away && faithful;
        findings.promise(13, !due || decision.contact == Contact::Burnt, || {
            "twice without voltage and not called burnt".to_owned()
        });
        self.count(scene, told, findings);
        self.note(scene, told);
    }

    fn count(&self, scene: &Scene<'_>, told: bool, findings: &mut Findings) {
        let draft = scene.settings.draft();
        let early = scene.unchanged_ms < draft.minimum_on_time.millis();
        let starts = (scene.before, scene.sight.decision.relay) == (Relay::Open, Relay::Closed);
        let tally = &mut findings.tally;
        tally.count_if(told && self.seen, "voltage lost while the load ran");
        tally.count_if(told && early, "voltage lost within the minimum on-time");
        tally.count_if(
            told && !self.seen && !self.missed,
            "no voltage after a closing",
        );
        tally.count_if(
            told && !self.seen && self.missed,
            "no voltage after the next closing",
        );
        tally.count_if(starts && self.missed, "closed again after a lost voltage");
    }

    fn note(&mut self, scene: &Scene<'_>, told: bool) {
        self.missed |= told;
        let known_ms = match scene.sight.clock {
            ClockRecord::Faithful => scene.unchanged_ms,
            ClockRecord::Faulty => self.known.ms,
        };
        match (scene.before, scene.sight.input.feedback) {
            (Relay::Open, Feedback::Closed) => self.missed = false,
            (Relay::Closed, Feedback::Closed) if known_ms >= SETTLING_MS => {
                (self.seen, self.missed) = (true, false);
            }
            (Relay::Open, Feedback::NotFitted | Feedback::Open)
            | (Relay::Closed, Feedback::NotFitted | Feedback::Closed | Feedback::Open) => {}
        }
        self.seen &= scene.sight.decision.relay == Relay::Closed;
    }
}
