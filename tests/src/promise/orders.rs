//! P7, P8 and P12: what a person asked for, and what holds whatever is asked.

use hysteron_logic::call::{Call, Mode};
use hysteron_logic::contact::Feedback;
use hysteron_logic::control::{Command, CommandRefused, Reason, SettingsLock};
use hysteron_logic::event::Event;
use hysteron_logic::guard::Relay;
use hysteron_logic::lockout::{Cause, RepeatLimit};
use hysteron_logic::probe::Trust;
use hysteron_logic::sense::Sample;
use hysteron_logic::settings::Settings;
use hysteron_logic::units::Temperature;

use super::happening::Store;
use super::observer::{Changeover, Findings, Forbidden, Scene};
use super::world::{ClockRecord, Sight};

/// A contact that disagrees for this long is proven bad.
const PROOF_MS: u64 = 2_000;

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
    changeover: Changeover,
    call: Call,
    trust_was_fault: bool,
    /// True times of the probe faults declared since the last release.
    faults_ms: Vec<u64>,
    welded_since_ms: Option<u64>,
    /// Whether the command just obeyed changed the probe's offset.
    offset_changed: bool,
    /// The reading believed in the step before, without its offset.
    believed_mc: Option<i32>,
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
            changeover: Changeover::Done,
            call: Call::Satisfied,
            trust_was_fault: false,
            faults_ms: Vec::new(),
            welded_since_ms: None,
            offset_changed: false,
            believed_mc: None,
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
        match (self.locked_out, self.switched_off) {
            (Some(_), _) => Forbidden::LockedOut,
            (None, true) => Forbidden::SwitchedOff,
            (None, false) => Forbidden::No,
        }
    }

    /// Whether a change of mode waits for the relay to open.
    #[must_use]
    pub const fn changeover(&self) -> Changeover {
        self.changeover
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
                let (given, before_it) = (settings.draft(), self.settings.draft());
                let same_mode = given.mode == before_it.mode;
                self.offset_changed = given.probe_offset != before_it.probe_offset;
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
        self.judge_offset(scene, findings);
        self.judge_call(scene, findings);
        self.judge_lockout(scene, findings);
        self.judge_changeover(scene, findings);
    }

    /// Another offset is no reason to doubt a probe that was believed before.
    fn judge_offset(&mut self, scene: &Scene<'_>, findings: &mut Findings) {
        /// No reading that is this close to the one before has jumped.
        const NEAR_MC: u32 = 2_500;
        let sight = scene.sight;
        let read_mc = match sight.input.sample {
            Sample::Temperature(reading) => Some(reading.millicelsius()),
            Sample::Counts(_) | Sample::Resistance(_) => None,
        };
        let near = match (read_mc, self.believed_mc) {
            (Some(now), Some(before)) => now.abs_diff(before) < NEAR_MC,
            (Some(_) | None, _) => false,
        };
        let believed = matches!(sight.decision.trust, Trust::Good(_));
        if near && std::mem::take(&mut self.offset_changed) {
            findings.promise(12, believed, || {
                "a new offset was taken for a jump".to_owned()
            });
            findings.tally.count("offset of a believed probe changed");
        }
        self.offset_changed = false;
        self.believed_mc = read_mc.filter(|_| believed);
    }

    /// The call follows the reading by the settings in force, in the same step.
    fn judge_call(&mut self, scene: &Scene<'_>, findings: &mut Findings) {
        let decision = &scene.sight.decision;
        if let Trust::Good(reading) | Trust::Suspect(Some(reading)) = decision.trust {
            self.call = called(scene.settings, reading, self.call);
        }
        findings.promise(12, decision.call == self.call, || {
            let band = scene.settings.draft();
            format!(
                "{:?} at {:?}, {:?} expected: {:?}, setpoint {:?}, differential {:?}",
                decision.call,
                decision.trust,
                self.call,
                band.mode,
                band.setpoint,
                band.differential
            )
        });
        self.call = decision.call;
    }

    fn judge_lockout(&mut self, scene: &Scene<'_>, findings: &mut Findings) {
        let sight = scene.sight;
        let decision = &sight.decision;
        let earlier = self.locked_out;
        let told = CAUSES
            .into_iter()
            .find(|cause| decision.events.contains(&Event::LockedOut(*cause)));
        let due = self.causes(scene);
        for cause in due.into_iter().flatten().chain(told) {
            self.locked_out.get_or_insert(cause);
        }
        let Some(cause) = self.locked_out else {
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

    /// What must lock out by now.
    fn causes(&mut self, scene: &Scene<'_>) -> [Option<Cause>; 4] {
        let sight = scene.sight;
        let draft = scene.settings.draft();
        let too_hot = match (draft.mode, sight.decision.trust) {
            (Mode::Heat, Trust::Good(reading)) => reading >= draft.heat_ceiling,
            (Mode::Cool | Mode::Heat, _) => false,
        };
        let fault = matches!(sight.decision.trust, Trust::Fault(_));
        if fault && !self.trust_was_fault {
            self.faults_ms.push(sight.true_ms);
        }
        let declared_now = fault && !self.trust_was_fault;
        self.trust_was_fault = fault;
        let too_often = match draft.probe_fault_lockout {
            RepeatLimit::Unlimited => false,
            RepeatLimit::Faults { count, window } => {
                let recent = self
                    .faults_ms
                    .iter()
                    .filter(|&then| sight.true_ms - then < window.millis());
                declared_now && recent.count() >= usize::from(count)
            }
        };
        let disagrees = scene.before == Relay::Open && sight.input.feedback == Feedback::Closed;
        self.welded_since_ms = disagrees.then(|| self.welded_since_ms.unwrap_or(sight.true_ms));
        let welded = self
            .welded_since_ms
            .is_some_and(|since| sight.true_ms - since >= PROOF_MS)
            && sight.clock == ClockRecord::Faithful;
        [
            self.unread.then_some(Cause::UnreadableSettings),
            welded.then_some(Cause::WeldedContact),
            too_often.then_some(Cause::RepeatedProbeFaults),
            too_hot.then_some(Cause::HeatCeiling),
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

fn called(settings: &Settings, reading: Temperature, before: Call) -> Call {
    let draft = settings.draft();
    let (reading, setpoint) = (reading.millicelsius(), draft.setpoint.millicelsius());
    let outward = match draft.mode {
        Mode::Cool => reading - setpoint,
        Mode::Heat => setpoint - reading,
    };
    if outward <= 0 {
        Call::Satisfied
    } else if outward >= draft.differential.millikelvin() {
        Call::Calling
    } else {
        before
    }
}
