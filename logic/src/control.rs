//! The control: the one place that knows the priority.
//!
//! # Priority, highest first
//!
//! To open: lockout, switched off, declared probe fault with the fallback
//! "open" (all of these override the minimum on-time), then off-cycle defrost,
//! then satisfied (these two respect it). The heat ceiling latches a lockout
//! in the step that sees it. To close: the call or the fallback asks, none of
//! the above stands, the rest has run and a start is left in this hour.
//!
//! # One step
//!
//! ```text
//! clock -> command -> sample -> probe -> call ---+
//!                                 |              v
//!                  lockout <------+-> fallback -> wish -> guard -> decision
//! ```

use crate::alarm::{Alarm, Side, TemperatureAlarm, Watch};
use crate::call::{Call, Mode};
use crate::clock::{ClockCondition, CreditedClock, ORIGIN};
use crate::contact::{Contact, ContactProof, Feedback};
use crate::counters::{Counters, Totals};
use crate::defrost::Defrost;
use crate::duty::{DutyMeter, Permille};
use crate::event::{Event, Events};
use crate::fallback::Ask;
use crate::guard::{Guard, Holds, MOST_STARTS, Relay, STARTS_WINDOW, Wish};
use crate::lockout::{Cause, Lockout};
use crate::probe::{Probe, Trust};
use crate::sense::Sample;
use crate::settings::Settings;
use crate::time::{Duration, Instant};
use crate::units::Temperature;

/// The longest a control wants to go without a step.
pub const SAMPLE_PERIOD: Duration = Duration::from_seconds(1);

/// Whether the settings are locked against every command.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum SettingsLock {
    /// Commands are obeyed.
    Unlocked,
    /// Commands are refused; reading still works.
    Locked,
}

/// What a person, or a machine for a person, asks of the control.
///
/// The size is that of a whole set of settings: a change is judged as a whole.
#[expect(
    clippy::large_enum_variant,
    reason = "there is no heap to put the settings on"
)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Command {
    /// Use these settings from now on.
    Change(Settings),
    /// Release the lockout.
    ReleaseLockout,
    /// Open the relay and keep it open.
    SwitchOff,
    /// Take up work again.
    SwitchOn,
}

/// Why a command was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum CommandRefused {
    /// The settings lock is on.
    SettingsLocked,
    /// There is no lockout to release.
    NotLockedOut,
    /// What locked the load out still stands.
    CauseStands(Cause),
}

/// Everything a step is told besides the time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Input {
    /// The probe.
    pub sample: Sample,
    /// The lock, as a level.
    pub lock: SettingsLock,
    /// The contact's feedback since the last step.
    pub feedback: Feedback,
    /// At most one command.
    pub command: Option<Command>,
}

impl Input {
    /// A sample alone: unlocked, no feedback fitted, no command.
    #[must_use]
    pub const fn sampled(sample: Sample) -> Self {
        Self {
            sample,
            lock: SettingsLock::Unlocked,
            feedback: Feedback::NotFitted,
            command: None,
        }
    }
}

/// Why the relay is where it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Reason {
    /// Closed: the space calls.
    Calling,
    /// Closed: the fallback runs the load.
    FallbackRun,
    /// Closed: it would open, but the minimum on-time has not run.
    MinimumOnTime,
    /// Open: the space is satisfied.
    Satisfied,
    /// Open: no sample has been good since power-up.
    NoReading,
    /// Open: the fallback rests the load.
    FallbackRest,
    /// Open: a probe fault is declared and the fallback is "open".
    FallbackOpen,
    /// Open: off-cycle defrost.
    Defrost,
    /// Open: the mode was changed while the load ran.
    ModeChanged,
    /// Open: it would close, but the board cannot know how long the load has rested.
    PowerUpHold,
    /// Open: it would close, but the minimum off-time has not run.
    MinimumOffTime,
    /// Open: it would close, but no start is left in this hour.
    StartsPerHour,
    /// Open: a person switched the control off.
    SwitchedOff,
    /// Open: locked out.
    LockedOut(Cause),
}

impl Reason {
    /// The reason in words.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::Calling => "calling",
            Self::FallbackRun => "fallback run",
            Self::MinimumOnTime => "minimum on-time",
            Self::Satisfied => "satisfied",
            Self::NoReading => "no reading yet",
            Self::FallbackRest => "fallback rest",
            Self::FallbackOpen => "probe fault",
            Self::Defrost => "defrost",
            Self::ModeChanged => "mode changed",
            Self::PowerUpHold => "power-up hold",
            Self::MinimumOffTime => "minimum off-time",
            Self::StartsPerHour => "starts per hour",
            Self::SwitchedOff => "switched off",
            Self::LockedOut(Cause::HeatCeiling) => "locked out: heat ceiling",
            Self::LockedOut(Cause::RepeatedProbeFaults) => "locked out: repeated probe faults",
            Self::LockedOut(Cause::WeldedContact) => "locked out: welded contact",
            Self::LockedOut(Cause::UnreadableSettings) => "locked out: unreadable settings",
        }
    }
}

/// What the control has decided, and why.
#[must_use]
#[derive(Debug, Clone, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Decision {
    /// What the relay's coil must be driven to now.
    pub relay: Relay,
    /// Why.
    pub reason: Reason,
    /// Time left of each hold.
    pub holds: Holds,
    /// When the control wants to be called next: strictly ahead, by a sample period at most.
    pub wake: Instant,
    /// The probe.
    pub trust: Trust,
    /// The call; its last answer while the probe is not believed.
    pub call: Call,
    /// High temperature alarm.
    pub high_alarm: Alarm,
    /// Low temperature alarm.
    pub low_alarm: Alarm,
    /// The contact, as far as feedback proves it.
    pub contact: Contact,
    /// What happened to the command, if there was one.
    pub answer: Option<Result<(), CommandRefused>>,
    /// What changed in this step.
    pub events: Events,
}

/// What the store knows at power-up.
#[expect(
    clippy::large_enum_variant,
    reason = "there is no heap to put the settings on"
)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum StoredSettings {
    /// Whole and checked.
    Whole(Settings),
    /// None that could be read: safe defaults, locked out until a person comes.
    Unreadable,
}

/// What outlives a loss of power, where a store keeps it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Retained {
    /// The latched lockout.
    pub lockout: Option<Cause>,
    /// Life totals.
    pub totals: Totals,
    /// How long ago each start of the last powered hour was, oldest first.
    pub recent_starts: heapless::Vec<Duration, MOST_STARTS>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Switch {
    On,
    Off,
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
    clock: CreditedClock,
    condition: ClockCondition,
    switch: Switch,
    changeover: Changeover,
    probe: Probe,
    trust: Trust,
    call: Call,
    lockout: Lockout,
    defrost: Defrost,
    guard: Guard,
    contact_proof: ContactProof,
    contact: Contact,
    duty: DutyMeter,
    counters: Counters,
    grace_since: Instant,
    high_alarm: (TemperatureAlarm, Alarm),
    low_alarm: (TemperatureAlarm, Alarm),
}

impl Control {
    /// The control at power-up: relay open, satisfied, as if the load had
    /// stopped this very moment.
    #[must_use]
    pub fn at_power_up(stored: StoredSettings, retained: &Retained) -> Self {
        let (settings, lockout) = match stored {
            StoredSettings::Whole(settings) => (settings, retained.lockout),
            StoredSettings::Unreadable => (
                Settings::DEFAULT,
                Some(retained.lockout.unwrap_or(Cause::UnreadableSettings)),
            ),
        };
        let earlier_starts = retained
            .recent_starts
            .iter()
            .map(|ago| Instant::from_millis(ORIGIN.millis().saturating_sub(ago.millis())));
        Self {
            settings,
            clock: CreditedClock::at_power_up(),
            condition: ClockCondition::Running,
            switch: Switch::On,
            changeover: Changeover::Done,
            probe: Probe::at_power_up(ORIGIN),
            trust: Trust::Suspect(None),
            call: Call::AT_POWER_UP,
            lockout: Lockout::at_power_up(lockout),
            defrost: Defrost::at_power_up(ORIGIN),
            guard: Guard::at_power_up(ORIGIN, earlier_starts),
            contact_proof: ContactProof::default(),
            contact: Contact::Sound,
            duty: DutyMeter::new(),
            counters: Counters::at_power_up(ORIGIN, retained.totals),
            grace_since: ORIGIN,
            high_alarm: (TemperatureAlarm::on_side(Side::High), Alarm::Quiet),
            low_alarm: (TemperatureAlarm::on_side(Side::Low), Alarm::Quiet),
        }
    }

    /// The settings in force.
    #[must_use]
    pub const fn settings(&self) -> &Settings {
        &self.settings
    }

    /// Life totals so far.
    #[must_use]
    pub const fn totals(&self) -> Totals {
        self.counters.totals()
    }

    /// The duty over the last 24 hours of good running, once that much is known.
    #[must_use]
    pub fn duty(&self) -> Option<Permille> {
        self.duty.known()
    }

    /// What a store should keep across a loss of power.
    #[must_use]
    pub fn retained(&self) -> Retained {
        let now = self.clock.now();
        Retained {
            lockout: self.lockout.cause(),
            totals: self.totals(),
            recent_starts: self
                .guard
                .starts()
                .map(|start| now.since(start))
                .filter(|ago| *ago < STARTS_WINDOW)
                .collect(),
        }
    }

    /// Decides what the relay does from `now` on.
    ///
    /// `now` is the board's clock, in milliseconds since power-up. A clock that
    /// stands still, goes back or leaps lengthens holds and never shortens one.
    pub fn step(&mut self, now: Instant, input: &Input) -> Decision {
        let mut events = Events::new();
        let told = now;
        let now = self.pass_time(told, &mut events);
        let answer = self.obey(now, input, &mut events);
        if self.guard.relay() == Relay::Open {
            self.changeover = Changeover::Done;
        }
        self.judge_contact(now, input.feedback, &mut events);
        self.judge_probe(now, input.sample, &mut events);
        self.judge_defrost(now, &mut events);
        self.judge_alarms(now, &mut events);

        let (wish, wished) = self.wish();
        let before = self.guard.relay();
        let holds = self.guard.holds(now, self.settings.limits());
        let relay = self.guard.rule(now, wish, holds);
        match (before, relay) {
            (Relay::Open, Relay::Closed) => {
                self.counters.count_start();
                tell(&mut events, Event::RelayClosed);
            }
            (Relay::Closed, Relay::Open) => tell(&mut events, Event::RelayOpened),
            (Relay::Open, Relay::Open) | (Relay::Closed, Relay::Closed) => {}
        }
        let holds = if before == relay {
            holds
        } else {
            self.guard.holds(now, self.settings.limits())
        };
        Decision {
            relay,
            reason: reason(relay, wish, wished, holds),
            holds,
            wake: wake(told, holds),
            trust: self.trust,
            call: self.call,
            high_alarm: self.high_alarm.1,
            low_alarm: self.low_alarm.1,
            contact: self.contact,
            answer,
            events,
        }
    }

    /// Credits the time since the last step to everything that measures it.
    fn pass_time(&mut self, told: Instant, events: &mut Events) -> Instant {
        let condition = self.clock.observe(told);
        if condition != self.condition && condition == ClockCondition::Doubtful {
            tell(events, Event::ClockDoubted);
        }
        self.condition = condition;
        let now = self.clock.now();
        let relay = self.guard.relay();
        let stretch = self.counters.pass_time(now, relay);
        if matches!(self.trust, Trust::Good(_)) {
            self.duty.add(stretch, relay);
        }
        now
    }

    fn obey(
        &mut self,
        now: Instant,
        input: &Input,
        events: &mut Events,
    ) -> Option<Result<(), CommandRefused>> {
        let command = input.command.as_ref()?;
        let answer = match input.lock {
            SettingsLock::Locked => Err(CommandRefused::SettingsLocked),
            SettingsLock::Unlocked => self.carry_out(now, command),
        };
        tell(
            events,
            match (answer, command) {
                (Err(_), _) => Event::CommandRefused,
                (Ok(Done::ModeChanged), _) => Event::ModeChanged,
                (Ok(Done::Plainly), Command::Change(_)) => Event::SettingsChanged,
                (Ok(Done::Plainly), Command::ReleaseLockout) => Event::LockoutReleased,
                (Ok(Done::Plainly), Command::SwitchOff) => Event::SwitchedOff,
                (Ok(Done::Plainly), Command::SwitchOn) => Event::SwitchedOn,
            },
        );
        Some(answer.map(|_| ()))
    }

    fn carry_out(&mut self, now: Instant, command: &Command) -> Result<Done, CommandRefused> {
        match command {
            Command::Change(settings) => {
                let before = self.settings.draft().mode;
                self.settings = *settings;
                if settings.draft().mode != before {
                    self.call = Call::AT_POWER_UP;
                    self.changeover = Changeover::Pending;
                    self.grace_since = now;
                    return Ok(Done::ModeChanged);
                }
            }
            Command::ReleaseLockout => {
                let cause = self.lockout.cause().ok_or(CommandRefused::NotLockedOut)?;
                if self.stands(cause) {
                    return Err(CommandRefused::CauseStands(cause));
                }
                self.lockout.release();
            }
            Command::SwitchOff => self.switch = Switch::Off,
            Command::SwitchOn => self.switch = Switch::On,
        }
        Ok(Done::Plainly)
    }

    /// Whether what locked the load out is still so, as far as can be seen.
    fn stands(&self, cause: Cause) -> bool {
        match cause {
            Cause::HeatCeiling => self.believed().is_some_and(|now| self.too_hot(now)),
            Cause::WeldedContact => self.contact == Contact::Welded,
            Cause::RepeatedProbeFaults => matches!(self.trust, Trust::Fault(_)),
            Cause::UnreadableSettings => false,
        }
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

    fn judge_contact(&mut self, now: Instant, feedback: Feedback, events: &mut Events) {
        let contact = self.contact_proof.judge(now, self.guard.relay(), feedback);
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
    }

    fn judge_probe(&mut self, now: Instant, sample: Sample, events: &mut Events) {
        let measured = sample.measured(&self.settings);
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
            }
            (Trust::Fault(_), Trust::Good(_) | Trust::Suspect(_)) => {
                tell(events, Event::ProbeRecovered);
            }
            (Trust::Fault(_), Trust::Fault(_))
            | (Trust::Good(_) | Trust::Suspect(_), Trust::Good(_) | Trust::Suspect(_)) => {}
        }
        let Some(temperature) = self.believed() else {
            return;
        };
        if self.too_hot(temperature) {
            self.latch(Cause::HeatCeiling, events);
        }
        let call = self.call.judged(temperature, self.settings.band());
        if call != self.call {
            tell(
                events,
                match call {
                    Call::Calling => Event::CallBegan,
                    Call::Satisfied => Event::CallEnded,
                },
            );
        }
        self.call = call;
    }

    fn judge_defrost(&mut self, now: Instant, events: &mut Events) {
        let plan = self.settings.draft().defrost;
        let defrost = self.defrost.judged(now, plan, self.guard.relay());
        match (self.defrost, defrost) {
            (Defrost::Waiting { .. }, Defrost::Resting { .. }) => {
                tell(events, Event::DefrostBegan);
            }
            (Defrost::Resting { .. }, Defrost::Waiting { .. }) => {
                self.grace_since = now;
                tell(events, Event::DefrostEnded);
            }
            (Defrost::Waiting { .. }, Defrost::Waiting { .. })
            | (Defrost::Resting { .. }, Defrost::Resting { .. }) => {}
        }
        self.defrost = defrost;
    }

    fn judge_alarms(&mut self, now: Instant, events: &mut Events) {
        let draft = self.settings.draft();
        let in_grace = now.since(self.grace_since) < draft.pull_down_grace;
        let loaded = match (self.defrost, in_grace) {
            (Defrost::Resting { .. }, _) | (Defrost::Waiting { .. }, true) => Watch::Grace,
            (Defrost::Waiting { .. }, false) => Watch::Watching,
        };
        let (high_watch, low_watch) = match draft.mode {
            Mode::Cool => (loaded, Watch::Watching),
            Mode::Heat => (Watch::Watching, loaded),
        };
        let temperature = match self.trust {
            Trust::Good(temperature) => Some(temperature),
            Trust::Suspect(_) | Trust::Fault(_) => None,
        };
        let high = (self.high_alarm.0).judge(now, temperature, draft.high_alarm, high_watch);
        let low = (self.low_alarm.0).judge(now, temperature, draft.low_alarm, low_watch);
        for (before, after, raised, ended) in [
            (
                self.high_alarm.1,
                high,
                Event::HighAlarmRaised,
                Event::HighAlarmEnded,
            ),
            (
                self.low_alarm.1,
                low,
                Event::LowAlarmRaised,
                Event::LowAlarmEnded,
            ),
        ] {
            match (before, after) {
                (Alarm::Quiet, Alarm::Raised) => tell(events, raised),
                (Alarm::Raised, Alarm::Quiet) => tell(events, ended),
                (Alarm::Quiet, Alarm::Quiet) | (Alarm::Raised, Alarm::Raised) => {}
            }
        }
        self.high_alarm.1 = high;
        self.low_alarm.1 = low;
    }

    fn latch(&mut self, cause: Cause, events: &mut Events) {
        if self.lockout.cause().is_none() {
            tell(events, Event::LockedOut(cause));
        }
        self.lockout.latch(cause);
    }

    /// What is asked of the guard, and for which reason: the order of priority.
    fn wish(&self) -> (Wish, Reason) {
        if let Some(cause) = self.lockout.cause() {
            return (Wish::OpenAtOnce, Reason::LockedOut(cause));
        }
        if self.switch == Switch::Off {
            return (Wish::OpenAtOnce, Reason::SwitchedOff);
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

/// What carrying out a command amounted to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Done {
    Plainly,
    ModeChanged,
}

fn tell(events: &mut Events, event: Event) {
    // There is room for every edge that one step can have.
    let _ = events.push(event);
}

fn reason(relay: Relay, wish: Wish, wished: Reason, holds: Holds) -> Reason {
    match (relay, wish) {
        (Relay::Closed, Wish::Open | Wish::OpenAtOnce) => Reason::MinimumOnTime,
        (Relay::Open, Wish::Close) if !holds.power_up.is_zero() => Reason::PowerUpHold,
        (Relay::Open, Wish::Close) if !holds.off_time.is_zero() => Reason::MinimumOffTime,
        (Relay::Open, Wish::Close) => Reason::StartsPerHour,
        (Relay::Closed, Wish::Close) | (Relay::Open, Wish::Open | Wish::OpenAtOnce) => wished,
    }
}

fn wake(told: Instant, holds: Holds) -> Instant {
    let next = [holds.power_up, holds.off_time, holds.starts, holds.on_time]
        .into_iter()
        .filter(|left| !left.is_zero())
        .fold(SAMPLE_PERIOD, Duration::min);
    told.after(next)
}
