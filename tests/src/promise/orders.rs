//! P7, P8 and P12: what a person asked for, and what holds whatever is asked.

use hysteron_logic::call::{Call, Mode};
use hysteron_logic::contact::Feedback;
use hysteron_logic::control::{Command, CommandRefused, Reason, SettingsLock};
use hysteron_logic::event::Event;
use hysteron_logic::guard::Relay;
use hysteron_logic::lockout::{Cause, RepeatLimit};
use hysteron_logic::settings::Settings;

use super::believed::{Believed, Sure};
use super::double_reading::Span;
use super::happening::Store;
use super::observer::{Changeover, Findings, Forbidden, Scene};
use super::world::{ClockRecord, Sight};

/// A contact that disagrees for this long is proven bad,
const PROOF_MS: u64 = 2_000;

/// once it has had this long to follow a movement.
const SETTLING_MS: u64 = 1_000;

const CAUSES: [Cause; 4] = [
    Cause::HeatCeiling,
    Cause::RepeatedProbeFaults,
    Cause::WeldedContact,
    Cause::UnreadableSettings,
];

/// Watches commands, the lock, the lockout and the call.
#[derive(Debug, Clone)]
pub struct OrdersWatch {
    settings: Settings,
    switched_off: bool,
    locked_out: Option<Cause>,
    /// Nobody has given settings since the store failed to.
    unread: bool,
    /// The same before this step's command.
    was_unread: bool,
    changeover: Changeover,
    call: Call,
    was_fault: bool,
    /// True times of the probe faults declared since the last release.
    faults_ms: Vec<u64>,
    welded_since_ms: Option<u64>,
    /// Since when heat may have been at its ceiling, and since when it must have been.
    too_hot_since_ms: [Option<u64>; 2],
    /// Whether the heat must be off for its ceiling.
    too_hot: bool,
}

impl OrdersWatch {
    /// Watches from power-up with these settings.
    #[must_use]
    pub const fn new(settings: Settings) -> Self {
        Self {
            settings,
            switched_off: false,
            locked_out: None,
            unread: false,
            was_unread: false,
            changeover: Changeover::Done,
            call: Call::Satisfied,
            was_fault: false,
            faults_ms: Vec::new(),
            welded_since_ms: None,
            too_hot_since_ms: [None; 2],
            too_hot: false,
        }
    }

    /// The settings that the accepted commands have put in force.
    #[must_use]
    pub const fn settings(&self) -> &Settings {
        &self.settings
    }

    /// What forbids the relay to be closed.
    #[must_use]
    pub const fn forbidden(&self) -> Forbidden {
        match (self.locked_out, self.switched_off, self.too_hot) {
            (Some(_), _, _) => Forbidden::LockedOut,
            (None, true, _) => Forbidden::SwitchedOff,
            (None, false, true) => Forbidden::TooHot,
            (None, false, false) => Forbidden::No,
        }
    }

    /// Whether a change of mode waits for the relay to open.
    #[must_use]
    pub const fn changeover(&self) -> Changeover {
        self.changeover
    }

    /// Whether the space must be taken to call.
    #[must_use]
    pub const fn call(&self) -> Call {
        self.call
    }

    /// The power came back.
    pub fn power_cut(&mut self, store: Store, relay: Relay, findings: &mut Findings) {
        let tally = &mut findings.tally;
        let kept = Self {
            faults_ms: Vec::new(),
            ..Self::new(self.settings)
        };
        *self = match store {
            Store::Kept => {
                tally.count_if(self.locked_out.is_some(), "power cycled in lockout");
                tally.count_if(self.switched_off, "power cycled while switched off");
                Self {
                    locked_out: self.locked_out,
                    switched_off: self.switched_off,
                    unread: false,
                    ..kept
                }
            }
            Store::Lost => {
                tally.count_if(relay == Relay::Closed, "store lost while closed");
                kept
            }
            Store::SettingsUnreadable => {
                tally.count("settings unreadable at power-up");
                Self {
                    settings: Settings::DEFAULT,
                    locked_out: self.locked_out,
                    switched_off: self.switched_off,
                    unread: true,
                    ..kept
                }
            }
        };
    }

    /// Hears the command of one step, if there is one.
    pub fn hear(&mut self, sight: &Sight, before: Relay, findings: &mut Findings) {
        if before == Relay::Open {
            self.changeover = Changeover::Done;
        }
        self.was_unread = self.unread;
        let answer = sight.decision.answer;
        let Some(command) = sight.input.command else {
            findings.promise(10, answer.is_none(), || format!("nobody asked: {answer:?}"));
            return;
        };
        let same_mode = match command {
            Command::Change(settings) => settings.draft().mode == self.settings.draft().mode,
            Command::ReleaseLockout | Command::SwitchOff | Command::SwitchOn => true,
        };
        match sight.input.lock {
            SettingsLock::Locked => {
                let refused = answer == Some(Err(CommandRefused::SettingsLocked));
                findings.promise(8, refused, || {
                    format!("{command:?} behind the lock: {answer:?}")
                });
                let release = command == Command::ReleaseLockout;
                let tally = &mut findings.tally;
                match command {
                    Command::Change(_) if same_mode => {
                        tally.count("change of settings behind the lock")
                    }
                    Command::Change(_) => tally.count("change of mode behind the lock"),
                    Command::SwitchOff | Command::SwitchOn => {
                        tally.count("switched behind the lock")
                    }
                    Command::ReleaseLockout => {}
                }
                tally.count_if(
                    release && self.locked_out.is_some(),
                    "release of a lockout behind the lock",
                );
            }
            SettingsLock::Unlocked => {
                if answer == Some(Ok(())) {
                    self.obey(command, before, findings);
                }
                let may_refuse = command == Command::ReleaseLockout;
                findings.promise(12, may_refuse || answer == Some(Ok(())), || {
                    format!("{command:?} without the lock: {answer:?}")
                });
            }
        }
    }

    fn obey(&mut self, command: Command, before: Relay, findings: &mut Findings) {
        let tally = &mut findings.tally;
        match command {
            Command::Change(settings) => {
                let same_mode = settings.draft().mode == self.settings.draft().mode;
                self.settings = settings;
                self.unread = false;
                if same_mode {
                    tally.count("change of settings");
                    return;
                }
                tally.count_if(self.call == Call::Calling, "change of mode during a call");
                self.call = Call::Satisfied;
                match before {
                    Relay::Open => tally.count("change of mode while open"),
                    Relay::Closed => {
                        tally.count("change of mode while closed");
                        self.changeover = Changeover::Pending;
                    }
                }
            }
            Command::ReleaseLockout => {
                tally.count("release of a lockout");
                self.locked_out = None;
                self.faults_ms.clear();
            }
            Command::SwitchOff => {
                tally.count_if(before == Relay::Closed, "switched off while closed");
                self.switched_off = true;
            }
            Command::SwitchOn => self.switched_off = false,
        }
    }

    /// Judges one step, its command having been heard.
    pub fn judge(&mut self, scene: &Scene<'_>, findings: &mut Findings) {
        let in_force = scene.sight.settings == self.settings;
        let number = match scene.sight.input.lock {
            SettingsLock::Locked => 8,
            SettingsLock::Unlocked => 12,
        };
        findings.promise(number, in_force, || {
            "the settings in force are not those that were given".to_owned()
        });
        self.judge_call(scene, findings);
        self.judge_lockout(scene, findings);
        self.judge_changeover(scene, findings);
    }

    /// The call follows the reading by the settings in force, in the same step.
    fn judge_call(&mut self, scene: &Scene<'_>, findings: &mut Findings) {
        let told = scene.sight.decision.call;
        let due = match scene.believed.temperature() {
            None => [self.call; 2],
            Some(span) => called(scene.settings, span, self.call),
        };
        findings.promise(12, due.contains(&told), || {
            let band = scene.settings.draft();
            format!(
                "{told:?} at {:?}, {due:?} expected: {:?}, setpoint {:?}, differential {:?}",
                scene.believed, band.mode, band.setpoint, band.differential
            )
        });
        let unsure = due[0] != due[1];
        findings
            .tally
            .count_if(unsure, "call judged with room for rounding");
        self.call = if unsure { told } else { due[0] };
    }

    fn judge_lockout(&mut self, scene: &Scene<'_>, findings: &mut Findings) {
        let decision = &scene.sight.decision;
        let earlier = self.locked_out;
        let told = CAUSES
            .into_iter()
            .find(|cause| decision.events.contains(&Event::LockedOut(*cause)));
        let due = self.causes(scene);
        let holds = |cause, wanted: &[Sure]| {
            let found = due.into_iter().find(|(due, _)| *due == cause);
            found.is_some_and(|(_, sure)| wanted.contains(&sure))
        };
        let with_cause = told.is_none_or(|cause| holds(cause, &[Sure::Yes, Sure::Unsure]));
        findings.promise(7, with_cause, || {
            format!("locked out by {told:?}, of which nothing can be seen")
        });
        let certain = CAUSES.into_iter().find(|cause| holds(*cause, &[Sure::Yes]));
        if self.locked_out.is_none() {
            let room = told.is_none() && due.iter().any(|(_, sure)| *sure == Sure::Unsure);
            let room = room || told.is_some_and(|cause| holds(cause, &[Sure::Unsure]));
            findings
                .tally
                .count_if(room, "lockout judged with room for rounding or the clock");
            self.locked_out = told.or(certain);
        }
        let Some(cause) = self.locked_out else {
            self.judge_ceiling(scene, findings);
            return;
        };
        findings.promise(7, decision.relay == Relay::Open, || {
            format!("closed in a lockout: {cause:?}")
        });
        findings.promise(7, matches!(decision.reason, Reason::LockedOut(_)), || {
            format!("locked out by {cause:?}, told {:?}", decision.reason)
        });
        if earlier.is_some() {
            findings
                .tally
                .count_if(decision.call == Call::Calling, "call in a lockout");
            return;
        }
        let tally = &mut findings.tally;
        tally.count(match cause {
            Cause::HeatCeiling => "locked out by the heat ceiling",
            Cause::RepeatedProbeFaults => "locked out by repeated probe faults",
            Cause::WeldedContact => "locked out by a welded contact",
            Cause::UnreadableSettings => "locked out by unreadable settings",
        });
        tally.count_if(scene.before == Relay::Closed, "locked out while closed");
    }

    /// Heat at its ceiling is off at once, confirmed or not.
    fn judge_ceiling(&self, scene: &Scene<'_>, findings: &mut Findings) {
        if !self.too_hot {
            return;
        }
        let open = scene.sight.decision.relay == Relay::Open;
        findings.promise(6, open, || "heat is on at its ceiling".to_owned());
        let tally = &mut findings.tally;
        tally.count("ceiling reached and not confirmed");
        let fault = matches!(scene.believed, Believed::Fault(_));
        tally.count_if(fault, "probe failed at the ceiling");
    }

    /// Whether heat is at its ceiling, and has been for long enough to be locked out.
    fn judge_heat(&mut self, scene: &Scene<'_>) -> Sure {
        let (sight, draft) = (scene.sight, scene.settings.draft());
        let since = self.too_hot_since_ms;
        let now_ms = sight.true_ms;
        self.too_hot_since_ms = match (draft.mode, scene.believed.temperature()) {
            (Mode::Cool, _) => [None; 2],
            // A probe that says nothing takes nothing back.
            (Mode::Heat, None) => since,
            (Mode::Heat, Some(span)) => {
                let sure = Sure::reaches(span, draft.heat_ceiling);
                let [may, must] = since.map(|since| Some(since.unwrap_or(now_ms)));
                [
                    may.filter(|_| sure != Sure::No),
                    must.filter(|_| sure == Sure::Yes),
                ]
            }
        };
        let [may, must] = self.too_hot_since_ms;
        let told = sight.decision.reason == Reason::HeatCeiling;
        self.too_hot = must.is_some() || (may.is_some() && told);
        let confirmation_ms = draft.heat_ceiling_confirmation.millis();
        let lasted = |since: Option<u64>| {
            let lasted_ms = since.map(|since_ms| now_ms - since_ms);
            lasted_ms.is_some_and(|lasted_ms| lasted_ms >= confirmation_ms)
        };
        // A doubtful clock may credit less than has passed, or a late step more.
        let faulty = sight.clock == ClockRecord::Faulty;
        let possible = lasted(may) || (faulty && may.is_some());
        Sure::between(possible, lasted(must) && (!faulty || confirmation_ms == 0))
    }

    /// What must lock out by now, by what went in and what must be believed of it.
    fn causes(&mut self, scene: &Scene<'_>) -> [(Cause, Sure); 4] {
        let sight = scene.sight;
        let draft = scene.settings.draft();
        let too_hot = self.judge_heat(scene);
        let fault = matches!(scene.believed, Believed::Fault(_));
        let declared_now = fault && !self.was_fault;
        self.was_fault = fault;
        if declared_now {
            self.faults_ms.push(sight.true_ms);
        }
        let too_often = match draft.probe_fault_lockout {
            RepeatLimit::Faults { count, window } if declared_now => {
                let recent = self
                    .faults_ms
                    .iter()
                    .filter(|&then| sight.true_ms - then < window.millis());
                let known = recent.count() >= usize::from(count);
                // To a doubtful clock faults may look more recent than they are.
                let faulty = sight.clock == ClockRecord::Faulty;
                let possible = faulty && self.faults_ms.len() >= usize::from(count);
                Sure::between(known || possible, known)
            }
            RepeatLimit::Faults { .. } | RepeatLimit::Unlimited => Sure::No,
        };
        let disagrees = scene.before == Relay::Open && sight.input.feedback == Feedback::Closed;
        self.welded_since_ms = disagrees.then(|| self.welded_since_ms.unwrap_or(sight.true_ms));
        let proven = self
            .welded_since_ms
            .is_some_and(|since| sight.true_ms - since >= PROOF_MS);
        let settled = scene.unchanged_ms >= SETTLING_MS + PROOF_MS;
        let certain = proven && settled && sight.clock == ClockRecord::Faithful;
        let welded = Sure::between(proven, certain);
        let unread = Sure::between(self.was_unread, self.was_unread);
        [
            (Cause::UnreadableSettings, unread),
            (Cause::WeldedContact, welded),
            (Cause::RepeatedProbeFaults, too_often),
            (Cause::HeatCeiling, too_hot),
        ]
    }

    /// After a change of mode the relay opens as soon as it may.
    fn judge_changeover(&self, scene: &Scene<'_>, findings: &mut Findings) {
        if self.changeover == Changeover::Done || scene.before == Relay::Open {
            return;
        }
        let minimum_ms = scene.settings.draft().minimum_on_time.millis();
        let due = scene.unchanged_ms >= minimum_ms && scene.sight.clock == ClockRecord::Faithful;
        let open = scene.sight.decision.relay == Relay::Open;
        findings.promise(12, open || !due, || {
            format!("closed {} ms on after a change of mode", scene.unchanged_ms)
        });
        findings
            .tally
            .count_if(open, "opened because the mode was changed");
    }
}

/// What the call becomes, read as cold and as warm as the control may read it.
fn called(settings: &Settings, span: Span, before: Call) -> [Call; 2] {
    let draft = settings.draft();
    [-span.slack_mc, span.slack_mc].map(|slack_mc| {
        let beyond_mc = span.exact_mc + slack_mc - f64::from(draft.setpoint.millicelsius());
        let outward_mc = match draft.mode {
            Mode::Cool => beyond_mc,
            Mode::Heat => -beyond_mc,
        };
        if outward_mc <= 0.0 {
            Call::Satisfied
        } else if outward_mc >= f64::from(draft.differential.millikelvin()) {
            Call::Calling
        } else {
            before
        }
    })
}
