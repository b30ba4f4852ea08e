//! Sees every step from outside and tells which promise was broken.

use hysteron_logic::alarm::Alarm;
use hysteron_logic::call::Call;
use hysteron_logic::event::Event;
use hysteron_logic::guard::Relay;
use hysteron_logic::settings::Settings;

use super::belief::Belief;
use super::believed::Believed;
use super::holds::HoldsWatch;
use super::load_watch::LoadWatch;
use super::orders::OrdersWatch;
use super::probe_watch::ProbeWatch;
use super::run::Seen;
use super::tally::Tally;
use super::world::Sight;

/// A broken promise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Breach {
    /// Its number.
    pub promise: u8,
    /// What happened.
    pub told: String,
}

/// What the watches share about one step.
#[derive(Debug)]
pub struct Scene<'a> {
    /// The step.
    pub sight: &'a Sight,
    /// The settings in force, as the accepted commands make them.
    pub settings: &'a Settings,
    /// Where the relay was driven before this step.
    pub before: Relay,
    /// How long, in true time, the relay had been there.
    pub unchanged_ms: u64,
    /// Whether the relay must not be closed: locked out, switched off or too hot.
    pub forbidden: Forbidden,
    /// Whether a change of mode still waits for the relay to open.
    pub changeover: Changeover,
    /// What the space must be taken for.
    pub believed: Believed,
    /// Whether the space must be taken to call.
    pub call: Call,
}

/// What keeps the relay open whatever is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Forbidden {
    /// Nothing.
    No,
    /// Heat at its ceiling.
    TooHot,
    /// A person switched the control off.
    SwitchedOff,
    /// A lockout.
    LockedOut,
}

/// Whether the load of the mode before a change still runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Changeover {
    /// It does not.
    Done,
    /// It does.
    Pending,
}

/// What a watch found and counted.
#[derive(Debug, Clone, Default)]
pub struct Findings {
    /// Broken promises.
    pub breaches: Vec<Breach>,
    /// Situations reached.
    pub tally: Tally,
}

impl Findings {
    /// Tells a broken promise unless `kept`.
    pub fn promise(&mut self, promise: u8, kept: bool, told: impl FnOnce() -> String) {
        if !kept {
            self.breaches.push(Breach {
                promise,
                told: told(),
            });
        }
    }
}

/// The observer.
#[derive(Debug, Clone)]
pub struct Observer {
    orders: OrdersWatch,
    holds: HoldsWatch,
    belief: Belief,
    probe: ProbeWatch,
    load: LoadWatch,
    relay: Relay,
    findings: Findings,
}

impl Observer {
    /// Watches from power-up, with these settings in the store.
    #[must_use]
    pub fn new(settings: Settings) -> Self {
        Self {
            orders: OrdersWatch::new(settings),
            holds: HoldsWatch::new(),
            belief: Belief::at_power_up(0),
            probe: ProbeWatch::default(),
            load: LoadWatch::default(),
            relay: Relay::Open,
            findings: Findings::default(),
        }
    }

    /// What was found so far.
    #[must_use]
    pub const fn findings(&self) -> &Findings {
        &self.findings
    }

    /// Hands out what was found and begins a new list.
    pub fn take_findings(&mut self) -> Findings {
        std::mem::take(&mut self.findings)
    }

    /// Takes note of whatever happened.
    pub fn witness(&mut self, seen: &Seen<'_>) {
        match *seen {
            Seen::Step(sight) => self.see(sight),
            Seen::Clock(fault) => self.holds.clock_fault(fault),
            Seen::PowerBack {
                true_ms,
                off_ms,
                store,
            } => {
                self.holds
                    .power_cut(true_ms, off_ms, store, &mut self.findings);
                self.orders.power_cut(store, self.relay, &mut self.findings);
                self.belief = Belief::at_power_up(true_ms);
                self.probe = ProbeWatch::default();
                self.load = LoadWatch::default();
                self.relay = Relay::Open;
            }
        }
    }

    fn see(&mut self, sight: &Sight) {
        self.findings.tally.count("steps watched");
        self.orders.hear(sight, self.relay, &mut self.findings);
        let settings = *self.orders.settings();
        self.belief.judge(sight, &settings, &mut self.findings);
        let mut scene = Scene {
            sight,
            settings: &settings,
            before: self.relay,
            unchanged_ms: self.holds.unchanged_ms(sight.true_ms),
            forbidden: self.orders.forbidden(),
            changeover: self.orders.changeover(),
            believed: self.belief.believed(),
            call: self.orders.call(),
        };
        self.orders.judge(&scene, &mut self.findings);
        (scene.forbidden, scene.call) = (self.orders.forbidden(), self.orders.call());
        self.probe.judge(&scene, &self.holds, &mut self.findings);
        self.holds.judge(&scene, &mut self.findings);
        self.load.judge(&scene, &mut self.findings);
        self.judge_decision(&scene);
        let running = sight.decision.relay == Relay::Closed;
        let off = scene.forbidden == Forbidden::SwitchedOff;
        self.findings.promise(12, !(off && running), || {
            "closed while switched off".to_owned()
        });
        self.relay = sight.decision.relay;
    }

    /// What must hold of every decision: a wake ahead, edges told and told once.
    fn judge_decision(&mut self, scene: &Scene<'_>) {
        let decision = &scene.sight.decision;
        let wake_ms = decision.wake.since(scene.sight.told).millis();
        self.findings
            .promise(10, (1..=1_000).contains(&wake_ms), || {
                format!("the next wake lies {wake_ms} ms ahead")
            });
        let events = &decision.events;
        let twice = (1..events.len()).any(|at| events[..at].contains(&events[at]));
        self.findings
            .promise(10, !twice && events.len() < events.capacity(), || {
                format!("told {events:?}")
            });
        let moved = match (scene.before, decision.relay) {
            (Relay::Open, Relay::Closed) => Some(Event::RelayClosed),
            (Relay::Closed, Relay::Open) => Some(Event::RelayOpened),
            (Relay::Open, Relay::Open) | (Relay::Closed, Relay::Closed) => None,
        };
        let told = events
            .iter()
            .copied()
            .find(|event| matches!(event, Event::RelayClosed | Event::RelayOpened));
        self.findings.promise(10, moved == told, || {
            format!("the relay moved: {moved:?}; told: {told:?}")
        });
        self.findings
            .tally
            .count_if(events.len() >= 4, "four events or more in one step");
        self.findings
            .tally
            .count_if(decision.high_alarm == Alarm::Raised, "high alarm stands");
    }
}
