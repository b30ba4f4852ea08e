//! One bounded pass: sample, decide, act, remember, feed the watchdog.
//!
//! A board calls [`Pass::run`] ten times a second. The same code runs on real
//! and on fake ports; nothing in it waits except for the memory, and before a
//! closing until the load has rested in full, both for a bounded time.

use hysteron_logic::contact::Feedback;
use hysteron_logic::control::{Command, Control, Decision, Input, Reason, SettingsLock};
use hysteron_logic::divider::Counts;
use hysteron_logic::event::Event;
use hysteron_logic::guard::Relay;
use hysteron_logic::sense::Sample;
use hysteron_logic::time::Instant;

use crate::button::{Button, Press};
use crate::clock::BoardClock;
use crate::decimal::decimal;
use crate::front_end::{self, Conversions};
use crate::lock::{Lock, LockState};
use crate::log;
use crate::memory::{Memory, MemoryError, Outgoing};
use crate::persistence::{Kept, Persistence};
use crate::ports::{
    Board, ContactFeedback, LoadSide, MicrosecondCounter, Ports, StartCause, Watchdog,
};
use crate::refusal::{NotUnderstood, refusal_text};
use crate::relay::RelayDrive;
use crate::service::{Request, Service};
use crate::signal::{Signal, Situation};
use crate::static_storage::{
    StaticStorage, control_at_power_up, place_for_settings, service_at_power_up,
};

/// What a line says between [`Event::DutyNotKnown`] and the hours of good running that are known.
pub const KNOWN_HOURS: &str = ", known hours ";

/// The contact feedback tells of the present once the relay was driven so long ago.
///
/// A relay of this size operates or releases within 15 ms and bounces for 5 (common
/// practice), a spark lasts until the next zero of the mains, and the feedback looks back
/// 50 ms. A pass later all of that is past, but for a closing that had to wait.
pub const SETTLE_MICROS: u32 = 75_000;

type PinError<P> = <P as embedded_hal::digital::ErrorType>::Error;

/// The control on a board.
pub struct Pass<'a, B: Board> {
    probe: B::Probe,
    feedback: Option<B::Feedback>,
    lock: Lock<B::Lock>,
    button: Button<B::Button>,
    relay: RelayDrive<B::Relay>,
    signal: Signal<B::Light, B::Buzzer>,
    persistence: Persistence<'a, B::Bus, B::Delay>,
    counter: B::Counter,
    watchdog: B::Watchdog,
    clock: BoardClock,
    service: &'a mut Service<B::Service>,
    control: &'a mut Control,
    input: &'a mut Input,
    opening: Option<Opening>,
    /// From the time that the control was told to the relay's release, the last time it opened.
    release_took_micros: u32,
    /// When the relay last moved, until its contact has settled.
    moved_micros: Option<u32>,
    told: Option<(Relay, Reason)>,
}

/// What the first pass tells of the start.
struct Opening {
    cause: StartCause,
    settings: &'static str,
    memory: Option<MemoryError>,
}

impl<'a, B: Board> Pass<'a, B> {
    /// Releases the relay, reads the memory and gets ready for the first pass.
    pub fn at_power_up(storage: &'a mut StaticStorage<B::Service>, ports: Ports<B>) -> Self {
        let relay = RelayDrive::released(ports.relay);
        let outgoing = storage.outgoing.write(Outgoing::nothing());
        let mut persistence = Persistence::new(Memory::new(ports.bus, ports.delay), outgoing);
        let input = storage
            .input
            .write(Input::sampled(Sample::Counts(Counts::FULL)));
        let (control, settings) =
            control_at_power_up(&mut storage.control, input, &mut persistence);
        log::started(ports.start_cause);
        let opening = Opening {
            cause: ports.start_cause,
            settings,
            memory: persistence.condition().err(),
        };
        Self {
            probe: ports.probe,
            feedback: ports.feedback,
            lock: Lock::new(ports.lock),
            button: Button::new(ports.button),
            relay,
            signal: Signal::new(ports.light, ports.buzzer),
            persistence,
            clock: BoardClock::at_power_up(ports.first_micros),
            counter: ports.counter,
            watchdog: ports.watchdog,
            service: service_at_power_up(&mut storage.service, ports.service),
            control,
            input,
            opening: Some(opening),
            release_took_micros: 0,
            moved_micros: None,
            told: None,
        }
    }

    /// One pass. The watchdog is fed only if every part of it was done.
    ///
    /// # Errors
    ///
    /// The relay's pin cannot be driven. The watchdog was not fed; the board
    /// must stop.
    #[inline(never)]
    pub fn run(&mut self) -> Result<Decision, PinError<B::Relay>> {
        let reading = front_end::read(&mut self.probe);
        let micros = self.counter.micros();
        let now = self.clock.observe(micros);
        self.input.feedback = self.feel_contact(micros);
        self.gather(now, reading);
        let decision = decide(self.control, now, self.input);
        let kept = self.act(now, &decision)?;
        self.tell(now, &decision, kept);
        self.watchdog.feed();
        Ok(decision)
    }

    /// Drives the relay and has the persistence do its share: after an opening, before a closing.
    fn act(&mut self, now: Instant, decision: &Decision) -> Result<Kept, PinError<B::Relay>> {
        match (self.relay.driven(), decision.relay) {
            (Relay::Open, Relay::Closed) => {
                // A start that power loss could erase might be taken twice.
                let kept = self
                    .persistence
                    .remember(now, self.control, &decision.events);
                self.let_rest();
                self.relay.drive(Relay::Closed)?;
                self.moved_micros = Some(self.counter.micros());
                return Ok(kept);
            }
            (Relay::Closed, Relay::Open) => {
                self.relay.drive(Relay::Open)?;
                let micros = self.counter.micros();
                self.moved_micros = Some(micros);
                self.release_took_micros = self.clock.micros_past_told(micros);
            }
            (Relay::Open, Relay::Open) | (Relay::Closed, Relay::Closed) => {
                self.relay.drive(decision.relay)?;
            }
        }
        Ok(self
            .persistence
            .remember(now, self.control, &decision.events))
    }

    /// Waits until a closing is as late behind the told time as the last opening was.
    ///
    /// The control counts a rest between times that it is told, and the pin follows each
    /// of them later: an opening by what its pass does before it, which depends on the
    /// command, the settings and the processor's pace. So the load's true rest is never
    /// shorter than the control's. A wait is no longer than what the pass that opened
    /// took, which the watchdog bounds; should it bite in a wait, the relay is open still.
    /// A run loses what its closing waited, here and for the memory.
    fn let_rest(&mut self) {
        let past = self.clock.micros_past_told(self.counter.micros());
        if let Some(early) = self.release_took_micros.checked_sub(past) {
            self.persistence.wait_micros(early);
        }
    }

    /// What the feedback says of the contact at `micros`. One that has not settled is left
    /// out of account for a pass: a good one would be taken for dead.
    fn feel_contact(&mut self, micros: u32) -> Feedback {
        let Some(input) = &mut self.feedback else {
            return Feedback::NotFitted;
        };
        let load_side = input.look();
        let settling = |moved: &u32| micros.wrapping_sub(*moved) < SETTLE_MICROS;
        self.moved_micros = self.moved_micros.filter(settling);
        match (self.moved_micros, load_side) {
            (Some(_), _) | (None, LoadSide::Unknown) => Feedback::NotFitted,
            (None, LoadSide::Live) => Feedback::Closed,
            (None, LoadSide::Dead) => Feedback::Open,
        }
    }

    /// Fills in the rest of the input in its place: a command carries a whole set of
    /// settings, and the stack is short.
    fn gather(&mut self, now: Instant, reading: Conversions) {
        self.input.sample = Sample::Counts(match reading {
            Conversions::Sum(sum) => Counts::from_oversampled(sum),
            // Nothing trustworthy hangs on the terminals: read as open, which
            // the control holds against the probe for as long as it lasts.
            Conversions::Worthless => Counts::FULL,
        });
        self.input.lock = match self.lock.look() {
            LockState::Locked => SettingsLock::Locked,
            LockState::Unlocked => SettingsLock::Unlocked,
        };
        self.input.command = None;
        match self.button.look() {
            Press::Deliberate => self.input.command = Some(Command::ReleaseLockout),
            Press::None => self.hear(now),
        }
    }

    #[inline(never)]
    fn hear(&mut self, now: Instant) {
        match self.service.hear() {
            None => {}
            Some(Request::Change) => self.hear_change(now),
            Some(Request::ReleaseLockout) => self.input.command = Some(Command::ReleaseLockout),
            Some(Request::SwitchOff) => self.input.command = Some(Command::SwitchOff),
            Some(Request::SwitchOn) => self.input.command = Some(Command::SwitchOn),
            Some(Request::TellSettings) => self.service.say_settings(self.control.settings()),
            Some(Request::NotUnderstood(what)) => self.refuse(now, what),
        }
    }

    /// Puts the settings that were heard into the input, or says why not.
    #[inline(never)]
    fn hear_change(&mut self, now: Instant) {
        let Some(settings) = place_for_settings(self.input) else {
            return;
        };
        if let Err(what) = self.service.heard_settings(settings) {
            self.input.command = None;
            self.refuse(now, what);
        }
    }

    fn refuse(&mut self, now: Instant, what: NotUnderstood) {
        self.say(now, &[b" refused: ", what.text().as_bytes()]);
    }

    fn say(&mut self, now: Instant, parts: &[&[u8]]) {
        self.service.say(now.millis(), parts);
    }

    #[inline(never)]
    fn tell(&mut self, now: Instant, decision: &Decision, kept: Kept) {
        if let Some(opening) = self.opening.take() {
            self.tell_opening(now, &opening);
        }
        let state = (decision.relay, decision.reason);
        if self.told != Some(state) {
            self.told = Some(state);
            let relay: &[u8] = match decision.relay {
                Relay::Open => b" relay open: ",
                Relay::Closed => b" relay closed: ",
            };
            self.say(now, &[relay, decision.reason.text().as_bytes()]);
        }
        for event in &decision.events {
            let mut digits = [0; 20];
            let number = decimal(event.number().into(), &mut digits);
            let text = event.text().as_bytes();
            if *event == Event::DutyNotKnown {
                let mut digits = [0; 20];
                let hours = decimal(decision.known_duty_hours.into(), &mut digits);
                let known = KNOWN_HOURS.as_bytes();
                self.say(now, &[b" event ", number, b" ", text, known, hours]);
            } else {
                self.say(now, &[b" event ", number, b" ", text]);
            }
        }
        match decision.answer {
            None => {}
            Some(Ok(())) => self.say(now, &[b" done"]),
            Some(Err(refused)) => {
                self.say(now, &[b" refused: ", refusal_text(refused).as_bytes()]);
            }
        }
        match kept {
            Kept::Nothing => {}
            Kept::Settings => self.say(now, &[b" settings saved"]),
        }
        self.service.send();
        self.signal
            .show(Situation::of(decision, self.persistence.condition()));
        log::decided(decision);
    }

    #[inline(never)]
    fn tell_opening(&mut self, now: Instant, opening: &Opening) {
        let cause: &[u8] = match opening.cause {
            StartCause::Power => b" started after power; settings ",
            StartCause::ResetInput => b" started after reset input; settings ",
            StartCause::Watchdog => b" started after watchdog; settings ",
        };
        let memory = opening.memory.map_or("sound", MemoryError::text);
        let settings = opening.settings.as_bytes();
        self.say(now, &[cause, settings, b"; memory ", memory.as_bytes()]);
    }
}

/// The control's step, on its own so that its cost can be measured.
#[inline(never)]
fn decide(control: &mut Control, now: Instant, input: &Input) -> Decision {
    control.step(now, input)
}

#[cfg(test)]
mod tests;
