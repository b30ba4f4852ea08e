//! The control: the one place that knows the priority.
//!
//! # Priority, highest first
//!
//! To open: lockout, switched off, heat ceiling, loss of the load's voltage, declared
//! probe fault with the fallback "open" (all of these override the minimum on-time),
//! then a change of mode that waits, off-cycle defrost and satisfied (these three
//! respect it). The heat ceiling opens in the step that sees it and latches a lockout
//! once it is confirmed. To close: the call or the fallback asks, none of the above
//! stands, the rest has run and a start is left in this hour.
//!
//! # One step
//!
//! ```text
//! clock -> command -> sample -> probe -> call ---+
//!                                 |              v
//!                  lockout <------+-> fallback -> wish -> guard -> decision
//! ```

mod fast_path;
mod fast_path_bounds;
mod orders;

use self::fast_path_bounds::FastPath;
use crate::alarm::Alarms;
use crate::call::{Call, Mode};
use crate::clock::{ClockCondition, ClockStep, CreditedClock, ORIGIN};
use crate::contact::{Contact, ContactProof, Feedback, LEAST_REST, SETTLING, Voltage};
use crate::counters::{Counters, Totals};
pub use crate::decision::{Decision, Reason};
use crate::defrost::Defrost;
use crate::duty::{DutyMeter, Permille};
use crate::event::{Event, Events};
use crate::fallback::{Ask, Fallback};
use crate::guard::{Guard, Limits, Relay, STARTS_WINDOW, Wish};
pub use crate::input::{Command, CommandRefused, Input, SettingsLock};
use crate::lockout::{Cause, Lockout};
use crate::probe::{Measurement, Probe, Trust};
pub use crate::retained::{Retained, StoredSettings, Switch};
use crate::settings::Settings;
use crate::time::{Duration, Instant};
use crate::units::Temperature;

/// The longest a control wants to go without a step.
pub const SAMPLE_PERIOD: Duration = Duration::from_seconds(1);

/// Where the settings in force come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Origin {
    /// From the store, or from a person since.
    Given,
    /// From nowhere: defaults stand in for what could not be read. They may
    /// cool where heat is wanted, or heat where nothing must.
    StandIn,
}

/// Whether the load of the mode before a change may still be running.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Changeover {
    Done,
    Pending,
}

/// One control.
#[derive(Debug, Clone)]
pub struct Control {
    settings: Settings,
    origin: Origin,
    clock: CreditedClock,
    switch: Switch,
    changeover: Changeover,
    probe: Probe,
    trust: Trust,
    call: Call,
    lockout: Lockout,
    /// Since when heat has been at its ceiling, as far as is known.
    too_hot_since: Option<Instant>,
    defrost: Defrost,
    guard: Guard,
    contact_proof: ContactProof,
    contact: Contact,
    duty: DutyMeter,
    counters: Counters,
    alarms: Alarms,
    fast_path: Option<FastPath>,
}

impl Control {
    /// The control at power-up: relay open, satisfied, as if the load had
    /// stopped this very moment.
    #[must_use]
    pub fn at_power_up(stored: StoredSettings, retained: &Retained) -> Self {
        match &stored {
            StoredSettings::Whole(settings) => Self::resumed(Some(settings), retained),
            StoredSettings::Unreadable => Self::resumed(None, retained),
        }
    }

    /// As [`Control::at_power_up`], for a caller whose stack is short: `None` are
    /// settings that could not be read.
    #[must_use]
    pub fn resumed(settings: Option<&Settings>, retained: &Retained) -> Self {
        let (settings, origin) = match settings {
            Some(settings) => (*settings, Origin::Given),
            None => (Settings::DEFAULT, Origin::StandIn),
        };
        let earlier_starts = retained
            .recent_starts
            .iter()
            .map(|ago| Instant::from_millis(ORIGIN.millis().saturating_sub(ago.millis())));
        Self {
            settings,
            origin,
            clock: CreditedClock::at_power_up(),
            switch: retained.switch,
            changeover: Changeover::Done,
            probe: Probe::at_power_up(ORIGIN),
            trust: Trust::Suspect(None),
            call: Call::AT_POWER_UP,
            lockout: Lockout::at_power_up(retained.lockout),
            too_hot_since: None,
            defrost: Defrost::at_power_up(ORIGIN),
            guard: Guard::at_power_up(ORIGIN, earlier_starts),
            contact_proof: ContactProof::default(),
            contact: Contact::Sound,
            duty: DutyMeter::new(),
            counters: Counters::carried_on(retained.totals),
            alarms: Alarms::at_power_up(ORIGIN),
            fast_path: None,
        }
    }

    /// The settings in force.
    #[must_use]
    pub const fn settings(&self) -> &Settings {
        &self.settings
    }

    /// Life totals so far.
    #[must_use]
    pub fn totals(&self) -> Totals {
        self.counters.totals(self.clock.now())
    }

    /// The duty over the last 24 hours of good running, once that much is known.
    #[must_use]
    pub fn duty(&self) -> Option<Permille> {
        self.duty.known()
    }

    /// Whole hours of good running that the duty is known for, 24 at most.
    #[must_use]
    pub fn known_duty_hours(&self) -> u8 {
        self.duty.known_hours()
    }

    /// What a store should keep across a loss of power.
    #[must_use]
    pub fn retained(&self) -> Retained {
        let now = self.clock.now();
        // Collecting would leave a panic that never comes; there is room for every start.
        let mut recent_starts = heapless::Vec::new();
        let ages = self.guard.starts().map(|start| now.since(start));
        for ago in ages.filter(|ago| *ago < STARTS_WINDOW) {
            let _ = recent_starts.push(ago);
        }
        Retained {
            switch: self.switch,
            lockout: self.lockout.cause(),
            totals: self.totals(),
            recent_starts,
        }
    }

    /// Decides what the relay does from `now` on.
    ///
    /// `now` is the board's clock, in milliseconds since power-up. A clock that
    /// stands still, goes back or leaps lengthens holds and never shortens one, see
    /// [`crate::clock`]. Stepped more often than once a [`SAMPLE_PERIOD`], at an equal
    /// time too, with the same sample, it decides on the whole seconds what it would
    /// have decided without.
    pub fn step(&mut self, now: Instant, input: &Input) -> Decision {
        if input.command.is_some() {
            return self.full_step(now, input, None);
        }
        let measured = input.sample.measured(&self.settings);
        match self.fast_step(now, input, measured) {
            Some(decision) => decision,
            None => self.full_step(now, input, Some(measured)),
        }
    }

    /// `measured` is absent where a command may change how the sample is to be read.
    fn full_step(
        &mut self,
        told: Instant,
        input: &Input,
        measured: Option<Measurement>,
    ) -> Decision {
        let mut events = Events::new();
        let passed = self.pass_time(told, &mut events);
        let now = self.clock.now();
        let called = self.call;
        if self.origin == Origin::StandIn {
            self.latch(Cause::UnreadableSettings, &mut events);
        }
        let answer = self.obey(now, input, &mut events);
        if self.guard.relay() == Relay::Open {
            self.changeover = Changeover::Done;
        }
        let voltage = self.judge_contact(now, input.feedback, &mut events);
        let measured = measured.unwrap_or_else(|| input.sample.measured(&self.settings));
        self.judge_probe(now, measured, &mut events);
        self.judge_defrost(now, &mut events);
        self.judge_alarms(now, passed.credited(), &mut events);
        match (called, self.call) {
            (Call::Satisfied, Call::Calling) => tell(&mut events, Event::CallBegan),
            (Call::Calling, Call::Satisfied) => tell(&mut events, Event::CallEnded),
            (Call::Calling, Call::Calling) | (Call::Satisfied, Call::Satisfied) => {}
        }

        let (wish, wished) = self.wish(voltage);
        let before = self.guard.relay();
        let limits = self.limits();
        let holds = self.guard.holds(now, limits);
        let relay = self.guard.rule(now, wish, holds);
        match (before, relay) {
            (Relay::Open, Relay::Closed) => {
                self.counters.count_movement(now, relay);
                tell(&mut events, Event::RelayClosed);
            }
            (Relay::Closed, Relay::Open) => {
                self.counters.count_movement(now, relay);
                tell(&mut events, Event::RelayOpened);
            }
            (Relay::Open, Relay::Open) | (Relay::Closed, Relay::Closed) => {}
        }
        let holds = if before == relay {
            holds
        } else {
            if passed == ClockStep::Stands {
                self.guard.count_from_next();
            }
            self.guard.holds(now, limits)
        };
        let mut reason = Reason::standing(relay, wish, wished, holds);
        if reason == Reason::MinimumOffTime && self.contact_proof.missed() {
            reason = Reason::VoltageLost;
        }
        let next_end = holds.next_end();
        // Whether the contact followed a movement is for the next step to judge, and a
        // step with a command, or one that left the fast path, has enough to do.
        if before == relay && input.command.is_none() && self.fast_path.is_none() {
            self.fast_path = self.fast_path_after(input.feedback, reason, holds, next_end);
        } else {
            self.fast_path = None;
        }
        Decision {
            relay,
            reason,
            holds,
            wake: told.after(next_end.min(SAMPLE_PERIOD)),
            trust: self.trust,
            call: self.call,
            high_alarm: self.alarms.high(),
            low_alarm: self.alarms.low(),
            known_duty_hours: self.duty.known_hours(),
            contact: self.contact,
            answer,
            events,
        }
    }

    /// Credits the time since the last step to everything that measures it.
    fn pass_time(&mut self, told: Instant, events: &mut Events) -> ClockStep {
        let passed = self.clock.observe(told);
        match passed {
            ClockStep::Stands => return passed,
            ClockStep::Credited(stretch) => {
                if matches!(self.trust, Trust::Good(_)) && self.is_free_to_run() {
                    self.duty.add(stretch, self.guard.relay());
                }
            }
            ClockStep::Doubted { before } => match before {
                ClockCondition::Running => tell(events, Event::ClockDoubted),
                ClockCondition::Doubtful => {}
            },
        }
        self.guard.clock_goes_on(self.clock.now());
        passed
    }

    /// Whether the call alone decides, holds aside: what the relay does then says how
    /// hard the load has to work.
    const fn is_free_to_run(&self) -> bool {
        matches!(self.switch, Switch::On)
            && self.lockout.cause().is_none()
            && matches!(self.changeover, Changeover::Done)
            && matches!(self.defrost, Defrost::Waiting { .. })
    }

    fn too_hot(&self, temperature: Temperature) -> bool {
        match self.settings.draft().mode {
            Mode::Cool => false,
            Mode::Heat => temperature >= self.settings.draft().heat_ceiling,
        }
    }

    /// The temperature that decisions rest on: believed now, or held over a short bad spell.
    fn believed(&self) -> Option<Temperature> {
        match self.trust {
            Trust::Good(temperature) => Some(temperature),
            Trust::Suspect(held) => held,
            Trust::Fault(_) => None,
        }
    }

    /// The limits in force: after a lost voltage the load rests for a while whatever the
    /// settings say.
    fn limits(&self) -> Limits {
        let mut limits = self.settings.limits();
        if self.contact_proof.missed() {
            limits.minimum_off_time = limits.minimum_off_time.max(LEAST_REST);
        }
        limits
    }

    fn judge_contact(&mut self, now: Instant, feedback: Feedback, events: &mut Events) -> Voltage {
        let mut unchanged_for = self.guard.unchanged_for(now);
        if self.clock.withholds() {
            // A voltage that is there is taken for seen, lest its loss go unseen for as long.
            unchanged_for = unchanged_for.max(SETTLING);
        }
        let driven = (self.guard.relay(), unchanged_for);
        let (contact, voltage) = self.contact_proof.judge(now, driven, feedback);
        match voltage {
            Voltage::Fine => {}
            Voltage::Lost => tell(events, Event::VoltageLost),
        }
        if contact != self.contact {
            tell(
                events,
                match contact {
                    Contact::Sound => Event::ContactSound,
                    Contact::Welded => Event::ContactWelded,
                    Contact::Burnt => Event::ContactBurnt,
                },
            );
        }
        self.contact = contact;
        if contact == Contact::Welded {
            self.latch(Cause::WeldedContact, events);
        }
        voltage
    }

    fn judge_probe(&mut self, now: Instant, measured: Measurement, events: &mut Events) {
        let before = self.trust;
        self.trust = self
            .probe
            .judge(now, measured, self.settings.qualification());
        match (before, self.trust) {
            (Trust::Good(_) | Trust::Suspect(_), Trust::Fault(fault)) => {
                tell(events, Event::ProbeFailed(fault));
                let locked_out = self.lockout.cause().is_some();
                let limit = self.settings.draft().probe_fault_lockout;
                self.lockout.count_fault(now, limit);
                if let (false, Some(cause)) = (locked_out, self.lockout.cause()) {
                    tell(events, Event::LockedOut(cause));
                }
                let fallback = self.settings.draft().fallback;
                if matches!(fallback, Fallback::MeasuredDuty(_)) && self.duty.known().is_none() {
                    tell(events, Event::DutyNotKnown);
                }
            }
            (Trust::Fault(_), Trust::Good(_) | Trust::Suspect(_)) => {
                tell(events, Event::ProbeRecovered);
            }
            (Trust::Fault(_), Trust::Fault(_))
            | (Trust::Good(_) | Trust::Suspect(_), Trust::Good(_) | Trust::Suspect(_)) => {}
        }
        self.judge_ceiling(now, events);
        if let Some(temperature) = self.believed() {
            self.call = self.call.judged(temperature, self.settings.band());
        }
    }

    /// Heat at its ceiling is locked out once that is confirmed. A probe that says nothing
    /// any more takes nothing back: it may be the heat that broke it.
    fn judge_ceiling(&mut self, now: Instant, events: &mut Events) {
        let mode = self.settings.draft().mode;
        self.too_hot_since = match self.believed() {
            Some(temperature) if self.too_hot(temperature) => {
                Some(self.too_hot_since.unwrap_or(now))
            }
            Some(_) => None,
            None => self.too_hot_since.filter(|_| mode == Mode::Heat),
        };
        let confirmation = self.settings.draft().heat_ceiling_confirmation;
        if let Some(since) = self.too_hot_since
            && now.is_past(since, confirmation)
        {
            self.latch(Cause::HeatCeiling, events);
        }
    }

    fn judge_defrost(&mut self, now: Instant, events: &mut Events) {
        let plan = self.settings.draft().defrost;
        let defrost = self.defrost.judged(now, plan, self.guard.relay());
        match (self.defrost, defrost) {
            (Defrost::Waiting { .. }, Defrost::Resting { .. }) => {
                tell(events, Event::DefrostBegan);
            }
            (Defrost::Resting { .. }, Defrost::Waiting { .. }) => {
                self.alarms.end_defrost(now);
                tell(events, Event::DefrostEnded);
            }
            (Defrost::Waiting { .. }, Defrost::Waiting { .. })
            | (Defrost::Resting { .. }, Defrost::Resting { .. }) => {}
        }
        self.defrost = defrost;
    }

    fn judge_alarms(&mut self, now: Instant, stretch: Duration, events: &mut Events) {
        let temperature = match self.trust {
            Trust::Good(temperature) => Some(temperature),
            Trust::Suspect(_) | Trust::Fault(_) => None,
        };
        let draft = self.settings.draft();
        if (self.alarms).have_work(temperature, &draft.high_alarm, &draft.low_alarm) {
            let plan = self.settings.alarms();
            let tell = |edge| tell(events, edge);
            let times = (now, stretch);
            (self.alarms).judge(times, temperature, &plan, self.defrost, tell);
        }
    }

    fn latch(&mut self, cause: Cause, events: &mut Events) {
        if self.lockout.cause().is_none() {
            tell(events, Event::LockedOut(cause));
        }
        self.lockout.latch(cause);
    }

    /// What is asked of the guard, and for which reason: the order of priority.
    fn wish(&self, voltage: Voltage) -> (Wish, Reason) {
        if let Some(cause) = self.lockout.cause() {
            return (Wish::OpenAtOnce, Reason::LockedOut(cause));
        }
        if self.switch == Switch::Off {
            return (Wish::OpenAtOnce, Reason::SwitchedOff);
        }
        if self.too_hot_since.is_some() {
            return (Wish::OpenAtOnce, Reason::HeatCeiling);
        }
        if voltage == Voltage::Lost {
            return (Wish::OpenAtOnce, Reason::VoltageLost);
        }
        let asked = match self.trust {
            Trust::Fault(_) => self.fallback(),
            Trust::Suspect(None) => (Wish::Open, Reason::NoReading),
            Trust::Good(_) | Trust::Suspect(Some(_)) => match self.call {
                Call::Calling => (Wish::Close, Reason::Calling),
                Call::Satisfied => (Wish::Open, Reason::Satisfied),
            },
        };
        match (asked.0, self.changeover, self.defrost) {
            (Wish::OpenAtOnce, _, _) => asked,
            (Wish::Close | Wish::Open, Changeover::Pending, _) => (Wish::Open, Reason::ModeChanged),
            (Wish::Close | Wish::Open, Changeover::Done, Defrost::Resting { .. }) => {
                (Wish::Open, Reason::Defrost)
            }
            (Wish::Close | Wish::Open, Changeover::Done, Defrost::Waiting { .. }) => asked,
        }
    }

    fn fallback(&self) -> (Wish, Reason) {
        let draft = self.settings.draft();
        let asks = draft.fallback.asks(
            draft.mode,
            self.duty.known(),
            self.guard.relay(),
            self.guard.unchanged_for(self.clock.now()),
        );
        match asks {
            Ask::Open => (Wish::OpenAtOnce, Reason::FallbackOpen),
            Ask::Run => (Wish::Close, Reason::FallbackRun),
            Ask::Rest => (Wish::Open, Reason::FallbackRest),
        }
    }
}

#[inline(never)]
fn tell(events: &mut Events, event: Event) {
    // There is room for every edge that one step can have.
    let _ = events.push(event);
}
