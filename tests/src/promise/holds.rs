//! P1 to P4 and P9: the holds, measured against true time.

use hysteron_logic::call::Call;
use hysteron_logic::contact::{Feedback, LEAST_REST, SETTLING};
use hysteron_logic::defrost::DefrostPlan;
use hysteron_logic::event::Event;
use hysteron_logic::fallback::Fallback;
use hysteron_logic::guard::{Relay, StartsLimit};

use super::believed::Believed;
use super::happening::{ClockFault, Store};
use super::observer::{Changeover, Findings, Forbidden, Scene};
use super::world::ClockRecord;

const HOUR_MS: u64 = 3_600_000;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Since {
    PowerUp,
    Opened,
    Closed,
}

/// What happened while the relay has been where it is.
#[derive(Debug, Clone, Copy, Default)]
struct Meanwhile {
    set_back: bool,
    leapt: bool,
    stood_still: bool,
    settings_changed: bool,
    asked_to_move: bool,
}

/// Watches the holds.
#[derive(Debug, Clone)]
pub struct HoldsWatch {
    since: Since,
    since_ms: u64,
    meanwhile: Meanwhile,
    /// True times of the starts that can still be known of.
    starts_ms: Vec<u64>,
    /// The same, but with the time without power left out: the board cannot
    /// know how long that was, so it may wait for longer, never for less.
    starts_powered_ms: Vec<u64>,
    /// Whether a clock fault may have made starts look younger to the board.
    starts_look_younger: bool,
    /// A run ended for want of voltage, and none was seen since.
    after_loss: bool,
}

impl HoldsWatch {
    /// Watches from power-up at time zero.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            since: Since::PowerUp,
            since_ms: 0,
            meanwhile: Meanwhile {
                set_back: false,
                leapt: false,
                stood_still: false,
                settings_changed: false,
                asked_to_move: false,
            },
            starts_ms: Vec::new(),
            starts_powered_ms: Vec::new(),
            starts_look_younger: false,
            after_loss: false,
        }
    }

    /// How long the relay has been where it is.
    #[must_use]
    pub const fn unchanged_ms(&self, now_ms: u64) -> u64 {
        now_ms - self.since_ms
    }

    /// The clock misbehaved.
    pub const fn clock_fault(&mut self, fault: ClockFault) {
        self.starts_look_younger = true;
        match fault {
            ClockFault::SetBack { .. } | ClockFault::Glitches { .. } => {
                self.meanwhile.set_back = true
            }
            ClockFault::LeapsAhead { .. } => self.meanwhile.leapt = true,
            ClockFault::StandsStill | ClockFault::Stalls { .. } => {
                self.meanwhile.stood_still = true
            }
            ClockFault::RunsAgain | ClockFault::Returns => {}
        }
    }

    /// The power came back at `true_ms`.
    pub fn power_cut(&mut self, true_ms: u64, off_ms: u64, store: Store, findings: &mut Findings) {
        match store {
            Store::Lost => {
                self.starts_ms.clear();
                self.starts_powered_ms.clear();
                self.starts_look_younger = false;
            }
            Store::Kept | Store::SettingsUnreadable => {
                self.starts_powered_ms
                    .iter_mut()
                    .for_each(|start| *start += off_ms);
            }
        }
        let tally = &mut findings.tally;
        match self.since {
            Since::Closed => tally.count("power lost while closed"),
            Since::Opened | Since::PowerUp => tally.count("power lost while open"),
        }
        self.after_loss = false;
        self.move_to(Since::PowerUp, true_ms);
    }

    fn move_to(&mut self, since: Since, now_ms: u64) {
        self.since = since;
        self.since_ms = now_ms;
        self.meanwhile = Meanwhile::default();
    }

    /// How long the load must have rested, under the settings in force.
    fn rest_ms(&self, scene: &Scene<'_>) -> u64 {
        let draft = scene.settings.draft();
        match self.since {
            Since::PowerUp => draft.minimum_off_time.millis() + draft.power_up_stagger.millis(),
            Since::Opened | Since::Closed => draft.minimum_off_time.millis(),
        }
    }

    /// How long it may rest at most: for a while at least after a lost voltage.
    fn whole_rest_ms(&self, scene: &Scene<'_>) -> u64 {
        match self.since {
            Since::Opened | Since::Closed if self.after_loss => {
                self.rest_ms(scene).max(LEAST_REST.millis())
            }
            Since::PowerUp | Since::Opened | Since::Closed => self.rest_ms(scene),
        }
    }

    /// Whether every hold on a start has run out, going by powered time.
    #[must_use]
    pub fn may_start(&self, scene: &Scene<'_>) -> bool {
        let now_ms = scene.sight.true_ms;
        let rested = scene.unchanged_ms >= self.whole_rest_ms(scene);
        rested && within_limit(&self.starts_powered_ms, now_ms, scene)
    }

    /// Whether [`Self::may_start`] is what the board must see too.
    #[must_use]
    pub fn is_certain(&self, scene: &Scene<'_>) -> bool {
        let unlimited = scene.settings.draft().starts_per_hour == StartsLimit::Unlimited;
        scene.sight.clock == ClockRecord::Faithful && (unlimited || !self.starts_look_younger)
    }

    /// Judges one step.
    pub fn judge(&mut self, scene: &Scene<'_>, findings: &mut Findings) {
        let now_ms = scene.sight.true_ms;
        let asks = asks_to_run(scene);
        let seen = match scene.before {
            Relay::Open => true,
            Relay::Closed => scene.unchanged_ms >= SETTLING.millis(),
        };
        self.after_loss &= !(seen && scene.sight.input.feedback == Feedback::Closed);
        self.after_loss |= lost_voltage(scene);
        self.meanwhile.settings_changed |=
            scene.sight.input.command.is_some() && scene.sight.decision.answer == Some(Ok(()));
        match (scene.before, scene.sight.decision.relay) {
            (Relay::Open, Relay::Closed) => {
                self.judge_start(scene, findings);
                self.move_to(Since::Closed, now_ms);
                self.starts_ms.retain(|&start| now_ms - start < HOUR_MS);
                self.starts_powered_ms
                    .retain(|&start| now_ms - start < HOUR_MS);
                self.starts_ms.push(now_ms);
                self.starts_powered_ms.push(now_ms);
            }
            (Relay::Closed, Relay::Open) => {
                self.judge_stop(scene, findings);
                self.move_to(Since::Opened, now_ms);
            }
            (Relay::Open, Relay::Open) => self.judge_rest(scene, asks, findings),
            (Relay::Closed, Relay::Closed) => {
                let minimum_ms = scene.settings.draft().minimum_on_time.millis();
                let held = !asks && scene.unchanged_ms < minimum_ms;
                self.meanwhile.asked_to_move |= held;
                findings
                    .tally
                    .count_if(held, "kept closed by the minimum on-time");
            }
        }
    }

    fn judge_start(&self, scene: &Scene<'_>, findings: &mut Findings) {
        let rest_ms = self.rest_ms(scene);
        let unchanged_ms = scene.unchanged_ms;
        let promise = match self.since {
            Since::PowerUp => 2,
            Since::Opened | Since::Closed => 1,
        };
        findings.promise(promise, unchanged_ms >= rest_ms, || {
            format!("closed after {unchanged_ms} ms of rest, {rest_ms} ms are the minimum")
        });
        let known = &self.starts_ms;
        findings.promise(4, within_limit(known, scene.sight.true_ms, scene), || {
            format!("start at {} ms after {known:?}", scene.sight.true_ms)
        });
        let (held, by) = (rest_ms > 0, self.meanwhile);
        let tally = &mut findings.tally;
        match self.since {
            Since::PowerUp => tally.count_if(held, "closed after the power-up hold"),
            Since::Opened | Since::Closed => {
                tally.count_if(held, "closed after a minimum off-time")
            }
        }
        let held = held && by.asked_to_move;
        tally.count_if(
            held && by.settings_changed,
            "closed after orders during the rest",
        );
        tally.count_if(
            held && by.set_back,
            "closed after the clock went back during the rest",
        );
        tally.count_if(
            held && by.leapt,
            "closed after the clock leapt during the rest",
        );
        tally.count_if(
            held && by.stood_still,
            "closed after the clock stood still during the rest",
        );
        let fallback = matches!(scene.believed, Believed::Fault(_));
        tally.count_if(held && fallback, "closed by a fallback after a rest");
        let limited = scene.settings.draft().starts_per_hour != StartsLimit::Unlimited;
        tally.count_if(
            limited && !known.is_empty(),
            "start counted against a limit",
        );
    }

    fn judge_stop(&self, scene: &Scene<'_>, findings: &mut Findings) {
        let draft = scene.settings.draft();
        let minimum_ms = draft.minimum_on_time.millis();
        let ran_ms = scene.unchanged_ms;
        let fault = matches!(scene.believed, Believed::Fault(_));
        let overriding = match (scene.forbidden, fault && draft.fallback == Fallback::Open) {
            (Forbidden::LockedOut, _) => Some("opened early by a lockout"),
            (Forbidden::SwitchedOff, _) => Some("opened early when switched off"),
            (Forbidden::TooHot, _) => Some("opened early by the heat ceiling"),
            (Forbidden::No, _) if lost_voltage(scene) => Some("opened early by a lost voltage"),
            (Forbidden::No, true) => Some("opened early by the fallback \"open\""),
            (Forbidden::No, false) => None,
        };
        findings.promise(3, overriding.is_some() || ran_ms >= minimum_ms, || {
            format!("opened after {ran_ms} ms, {minimum_ms} ms are the minimum")
        });
        let tally = &mut findings.tally;
        if let Some(overriding) = overriding
            && ran_ms < minimum_ms
        {
            tally.count(overriding);
        }
        let by = self.meanwhile;
        tally.count_if(by.asked_to_move, "opened after a minimum on-time");
        let held = by.asked_to_move && (by.set_back || by.leapt || by.stood_still);
        tally.count_if(held, "opened after a clock fault during the on-time");
    }

    fn judge_rest(&mut self, scene: &Scene<'_>, asks: bool, findings: &mut Findings) {
        if !asks {
            return;
        }
        self.meanwhile.asked_to_move = true;
        let rested = scene.unchanged_ms >= self.whole_rest_ms(scene);
        let may_start = self.may_start(scene);
        let tally = &mut findings.tally;
        match (rested, may_start, self.since) {
            (false, _, Since::PowerUp) => tally.count("kept open by the power-up hold"),
            (false, _, _) => tally.count("kept open by the minimum off-time"),
            (true, false, _) => tally.count("kept open by the starts limit"),
            (true, true, _) => {}
        }
        let due = may_start && self.is_certain(scene);
        findings.promise(9, !due, || {
            format!(
                "still open at {} ms though every hold has run",
                scene.sight.true_ms
            )
        });
    }
}

impl Default for HoldsWatch {
    fn default() -> Self {
        Self::new()
    }
}

/// Whether the load is told to have lost its voltage; when it may be is P13's to judge.
fn lost_voltage(scene: &Scene<'_>) -> bool {
    scene.sight.decision.events.contains(&Event::VoltageLost)
}

fn within_limit(starts_ms: &[u64], now_ms: u64, scene: &Scene<'_>) -> bool {
    match scene.settings.draft().starts_per_hour {
        StartsLimit::Unlimited => true,
        StartsLimit::PerHour(limit) => {
            let recent = starts_ms.iter().filter(|&start| now_ms - start < HOUR_MS);
            recent.count() < usize::from(limit)
        }
    }
}

/// Whether, by the promises, the load is wanted: nothing forbids it, and the
/// space calls on a believed reading or the fallback keeps the relay closed.
#[must_use]
pub fn asks_to_run(scene: &Scene<'_>) -> bool {
    let draft = scene.settings.draft();
    let free = scene.forbidden == Forbidden::No
        && scene.changeover == Changeover::Done
        && draft.defrost == DefrostPlan::Off;
    free && match scene.believed {
        Believed::Now(_) | Believed::Held(_) => scene.call == Call::Calling,
        Believed::Nothing => false,
        Believed::Fault(_) => draft.fallback == Fallback::Closed,
    }
}
