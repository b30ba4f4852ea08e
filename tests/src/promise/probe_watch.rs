//! P5 and P6: how a probe fault is declared, withdrawn and lived with.

use hysteron_logic::call::Mode;
use hysteron_logic::defrost::DefrostPlan;
use hysteron_logic::event::Event;
use hysteron_logic::fallback::{Cycle, Fallback};
use hysteron_logic::guard::Relay;
use hysteron_logic::probe::ProbeFault;

use super::believed::Believed;
use super::double_reading::{Told, told};
use super::holds::HoldsWatch;
use super::observer::{Changeover, Findings, Forbidden, Scene};
use super::world::ClockRecord;

/// Watches the probe and the fallback.
#[derive(Debug, Clone, Default)]
pub struct ProbeWatch {
    /// Time without any reading, weighed against time with one.
    unread: Surplus,
    /// Time in which the probe was not believed, weighed against time in which it was.
    doubted: Surplus,
    /// When the samples with a reading began, if they last.
    read_since_ms: Option<u64>,
    fault: Option<ProbeFault>,
    heat: HeatShare,
}

/// Bad time less good time, each from its step to the next, never less than nothing.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
struct Surplus {
    bad: bool,
    ms: u64,
}

impl Surplus {
    /// Weighs the time since the step before by what that step was, and notes this one.
    fn weigh(&mut self, period_ms: u64, bad: bool) {
        self.ms = if self.bad {
            self.ms + period_ms
        } else {
            self.ms.saturating_sub(period_ms)
        };
        self.bad = bad;
    }
}

/// How heat ran during one probe fault under one set of settings.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
struct HeatShare {
    fallback: Option<Fallback>,
    closed_ms: u64,
    open_ms: u64,
}

impl ProbeWatch {
    /// Judges one step.
    pub fn judge(&mut self, scene: &Scene<'_>, holds: &HoldsWatch, findings: &mut Findings) {
        self.note(scene);
        let fault = match scene.believed {
            Believed::Fault(fault) => Some(fault),
            Believed::Now(_) | Believed::Held(_) | Believed::Nothing => None,
        };
        match (self.fault, fault) {
            (None, Some(fault)) => self.judge_declared(scene, fault, findings),
            (None, None) => self.judge_undeclared(scene, findings),
            (Some(_), None) => {
                self.judge_withdrawn(scene, findings);
                (self.unread, self.doubted) = (Surplus::default(), Surplus::default());
            }
            (Some(_), Some(_)) => {}
        }
        if fault.is_some() {
            judge_fallback(scene, holds, findings);
            self.judge_heat(scene, findings);
        } else {
            self.heat = HeatShare::default();
        }
        self.fault = fault;
    }

    fn note(&mut self, scene: &Scene<'_>) {
        let now_ms = scene.sight.true_ms;
        let read = match told(scene.sight.input.sample, scene.settings.draft()) {
            Told::Open | Told::Shorted | Told::Beyond => false,
            Told::At(_) | Told::AtTheEnd(_) => true,
        };
        self.read_since_ms = read.then(|| self.read_since_ms.unwrap_or(now_ms));
        self.unread.weigh(scene.sight.period_ms, !read);
        let believed = matches!(scene.believed, Believed::Now(_));
        self.doubted.weigh(scene.sight.period_ms, !believed);
    }

    fn judge_declared(&self, scene: &Scene<'_>, fault: ProbeFault, findings: &mut Findings) {
        let delay_ms = scene.settings.draft().probe_fault_delay.millis();
        let doubted_ms = self.doubted.ms;
        // A clock that stands may bring a declaration forward: a delay is no hold.
        let faithful = scene.sight.clock == ClockRecord::Faithful;
        findings.promise(5, doubted_ms >= delay_ms || !faithful, || {
            format!("{fault:?} declared after {doubted_ms} ms, the delay is {delay_ms} ms")
        });
        let tally = &mut findings.tally;
        tally.count_if(delay_ms > 0, "probe fault declared after a delay");
        tally.count(match fault {
            ProbeFault::Open => "probe open",
            ProbeFault::Shorted => "probe shorted",
            ProbeFault::OutOfRange => "probe out of range",
            ProbeFault::ImplausibleJump => "probe jumped",
            ProbeFault::Frozen => "probe frozen",
        });
        tally.count_if(
            scene.before == Relay::Closed,
            "probe fault declared while closed",
        );
    }

    fn judge_undeclared(&self, scene: &Scene<'_>, findings: &mut Findings) {
        let delay_ms = scene.settings.draft().probe_fault_delay.millis();
        let overdue = self.unread.bad && self.unread.ms >= delay_ms;
        let faithful = scene.sight.clock == ClockRecord::Faithful;
        findings.promise(5, !(overdue && faithful), || {
            format!("no reading for {delay_ms} ms and no fault declared")
        });
        findings.tally.count_if(
            matches!(scene.believed, Believed::Held(_)),
            "last good value held",
        );
    }

    fn judge_withdrawn(&self, scene: &Scene<'_>, findings: &mut Findings) {
        let recovery_ms = scene.settings.draft().probe_recovery_time.millis();
        let read_ms = self.read_since_ms.map(|since| scene.sight.true_ms - since);
        let steady = read_ms.is_some_and(|read_ms| read_ms >= recovery_ms);
        findings.promise(5, steady, || {
            format!("withdrawn after {read_ms:?} ms of readings, {recovery_ms} ms are the minimum")
        });
        findings
            .tally
            .count_if(recovery_ms > 0, "probe fault withdrawn after a good spell");
    }

    /// P6: each run during a fault ends, and runs add up to half the time at most.
    fn judge_heat(&mut self, scene: &Scene<'_>, findings: &mut Findings) {
        let draft = scene.settings.draft();
        if draft.mode == Mode::Cool {
            self.heat = HeatShare::default();
            return;
        }
        findings.promise(6, draft.fallback != Fallback::Closed, || {
            "heat is kept closed by its fallback".to_owned()
        });
        if self.heat.fallback != Some(draft.fallback) {
            self.heat = HeatShare {
                fallback: Some(draft.fallback),
                ..HeatShare::default()
            };
            return;
        }
        let period_ms = scene.sight.period_ms;
        match scene.before {
            Relay::Closed => self.heat.closed_ms += period_ms,
            Relay::Open => self.heat.open_ms += period_ms,
        }
        let longest_ms = match draft.fallback {
            Fallback::Open | Fallback::Closed => 0,
            Fallback::TimedCycle(cycle) => cycle.on.millis(),
            Fallback::MeasuredDuty(cycle) => cycle.on.max(cycle.off).millis(),
        };
        if scene.sight.clock == ClockRecord::Faulty || scene.changeover == Changeover::Pending {
            self.heat = HeatShare::default();
            return;
        }
        let still_on = scene.before == Relay::Closed && scene.sight.decision.relay == Relay::Closed;
        let ran_ms = scene.unchanged_ms;
        findings.promise(6, !still_on || ran_ms < longest_ms, || {
            format!(
                "heat is on for {ran_ms} ms without a probe, {longest_ms} ms are the longest run"
            )
        });
        let HeatShare {
            closed_ms, open_ms, ..
        } = self.heat;
        findings.promise(6, closed_ms <= open_ms + longest_ms + period_ms, || {
            format!("without a probe heat was on for {closed_ms} ms and off for {open_ms} ms")
        });
        findings.tally.count_if(
            still_on && scene.forbidden == Forbidden::No,
            "heat runs without a probe",
        );
        let ended = scene.before == Relay::Closed && scene.sight.decision.relay == Relay::Open;
        findings
            .tally
            .count_if(ended && longest_ms > 0, "run of heat without a probe ended");
    }
}

/// P5: the relay does what the fallback says, as far as the holds allow.
fn judge_fallback(scene: &Scene<'_>, holds: &HoldsWatch, findings: &mut Findings) {
    let draft = scene.settings.draft();
    let after = scene.sight.decision.relay;
    if draft.fallback == Fallback::Open {
        findings.promise(5, after == Relay::Open, || {
            "closed though the fallback is \"open\"".to_owned()
        });
        findings.tally.count("fallback \"open\" in force");
        return;
    }
    let lost_voltage = scene.sight.decision.events.contains(&Event::VoltageLost);
    let free = scene.forbidden == Forbidden::No
        && scene.changeover == Changeover::Done
        && draft.defrost == DefrostPlan::Off
        && !lost_voltage
        && holds.is_certain(scene);
    if !free {
        return;
    }
    let may_start = holds.may_start(scene);
    let cycled = |Cycle { on, off }: Cycle| match scene.before {
        Relay::Closed if scene.unchanged_ms < on.millis() => Relay::Closed,
        Relay::Closed => Relay::Open,
        Relay::Open if scene.unchanged_ms >= off.millis() && may_start => Relay::Closed,
        Relay::Open => Relay::Open,
    };
    let (expected, situation) = match draft.fallback {
        Fallback::Open => (Relay::Open, "fallback \"open\" in force"),
        Fallback::Closed => {
            let closed = scene.before == Relay::Closed || may_start;
            let expected = if closed { Relay::Closed } else { Relay::Open };
            (expected, "fallback \"closed\" in force")
        }
        Fallback::TimedCycle(cycle) => (cycled(cycle), "timed cycle in force"),
        // A day of duty is known only to runs that are made for it.
        Fallback::MeasuredDuty(_) if scene.sight.duty.is_some() => return,
        Fallback::MeasuredDuty(cycle) => (cycled(cycle), "timed cycle before a day of duty"),
    };
    findings.promise(5, after == expected, || {
        format!(
            "{after:?} after {} ms {:?}, expected {expected:?} by {:?}",
            scene.unchanged_ms, scene.before, draft.fallback
        )
    });
    findings.tally.count(situation);
    findings.tally.count_if(
        after != scene.before,
        match after {
            Relay::Closed => "closed by the fallback",
            Relay::Open => "opened by the fallback",
        },
    );
}
