//! A board on an emulated chip: pins and the service line instead of calls.

use std::error::Error;
use std::fmt;

use hysteron_firmware::pass::KNOWN_HOURS;
use hysteron_logic::alarm::Alarm;
use hysteron_logic::call::Call;
use hysteron_logic::codec::settings_to_bytes;
use hysteron_logic::contact::{Contact, Feedback};
use hysteron_logic::control::{Command, Decision, Reason, SettingsLock};
use hysteron_logic::counters::Totals;
use hysteron_logic::event::{Event, Events};
use hysteron_logic::guard::{Holds, Relay};
use hysteron_logic::probe::{Measurement, Trust};
use hysteron_logic::sense::Sample;
use hysteron_logic::settings::Settings;
use hysteron_logic::time::{Duration, Instant};

use super::{Chip, ChipError, ChipEvent, ContactIs, LOCK_PIN, hexadecimal};
use hysteron_bench::run::bench::{Bench, CaseRun, Recording};
use hysteron_bench::run::board::{BoardStep, RemoteBoard, SupplyChange};
use hysteron_bench::run::left_model::LeftModel;
use hysteron_bench::scenario::plan::Case;

/// Why there is nothing to tell of a run on the board's image.
#[derive(Debug)]
pub enum ChipRunError {
    /// The chip is gone, or the scenario asks what it cannot do.
    Chip(ChipError),
    /// The plant has left what its model knows.
    LeftModel(LeftModel),
}

impl fmt::Display for ChipRunError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Chip(error) => error.fmt(f),
            Self::LeftModel(left) => left.fmt(f),
        }
    }
}

impl Error for ChipRunError {}

impl From<ChipError> for ChipRunError {
    fn from(error: ChipError) -> Self {
        Self::Chip(error)
    }
}

/// Runs one case of `bench` from beginning to end with the board's image on `chip`.
///
/// # Errors
/// The chip is gone, the scenario asks what it cannot do, or the plant has left what its model knows.
pub fn run_on_chip(
    bench: &Bench,
    chip: &mut Chip,
    case: &Case,
    recording: Recording,
) -> Result<CaseRun, ChipRunError> {
    let mut board = ChipBoard::with_settings(chip, case.settings, bench.plan().step);
    let run = bench.run_on(&mut board, case, recording);
    match board.failed {
        // A chip that is gone is the cause of what came after.
        Some(error) => Err(ChipRunError::Chip(error)),
        None => run.map_err(ChipRunError::LeftModel),
    }
}

/// The board's image in an emulated chip, one step of the bench at a time.
///
/// What the chip does not say is worked out from what it says: the call, the
/// alarms and the contact from its events, the reading from the sample.
#[derive(Debug)]
pub struct ChipBoard<'c> {
    chip: &'c mut Chip,
    step: Duration,
    settings: Settings,
    changed: Option<Settings>,
    powered_since: Option<Duration>,
    decision: Decision,
    totals: Totals,
    run_us: f64,
    closed_us: Option<f64>,
    failed: Option<ChipError>,
}

impl<'c> ChipBoard<'c> {
    /// A board without power, with `settings` in its memory, stepped by `step`.
    pub fn with_settings(chip: &'c mut Chip, settings: Settings, step: Duration) -> Self {
        let failed = chip
            .power(false)
            .and_then(|()| chip.store_settings(&settings))
            .err();
        Self {
            chip,
            step,
            settings,
            changed: None,
            powered_since: None,
            decision: at_power_up(),
            totals: Totals::default(),
            run_us: 0.0,
            closed_us: None,
            failed,
        }
    }

    fn fail(&mut self, error: ChipError) {
        self.failed.get_or_insert(error);
    }

    fn advance(&mut self, moment: &BoardStep<'_>) -> Result<(), ChipError> {
        let Sample::Counts(counts) = moment.input.sample else {
            return Err(cannot("read a probe in anything but counts"));
        };
        let powered = self.powered_since.map(|since| moment.at.less(since));
        if powered.is_some_and(|powered| powered.millis() != moment.told_ms) {
            return Err(cannot("have its clock disturbed by a scenario"));
        }
        let locked = moment.input.lock == SettingsLock::Locked;
        self.chip.drive(LOCK_PIN, locked)?;
        // The chip moves its relay between two moments, and its contact follows at once.
        self.chip
            .contact(match (self.decision.relay, moment.input.feedback) {
                (Relay::Open, Feedback::Closed) => ContactIs::Welded,
                (Relay::Closed, Feedback::Open) => ContactIs::Burnt,
                (Relay::Open | Relay::Closed, Feedback::NotFitted)
                | (Relay::Open, Feedback::Open)
                | (Relay::Closed, Feedback::Closed) => ContactIs::Sound,
            })?;
        if let Some(command) = &moment.input.command {
            self.chip.say(&self.words(command))?;
            if let Command::Change(settings) = command {
                self.changed = Some(*settings);
            }
        }
        let happenings = self.chip.run(self.step.millis() * 1_000, counts.sum())?;
        self.decision.events = Events::new();
        for happening in happenings {
            self.take(happening)?;
        }
        self.decision.wake = Instant::from_millis(moment.told_ms).after(self.step);
        self.decision.trust = match (
            self.decision.trust,
            moment.input.sample.measured(&self.settings),
        ) {
            (Trust::Fault(fault), _) => Trust::Fault(fault),
            (Trust::Good(_) | Trust::Suspect(_), Measurement::At(now)) => Trust::Good(now),
            (
                Trust::Good(held) | Trust::Suspect(Some(held)),
                Measurement::Open | Measurement::Shorted | Measurement::OutOfRange,
            ) => Trust::Suspect(Some(held)),
            (
                Trust::Suspect(None),
                Measurement::Open | Measurement::Shorted | Measurement::OutOfRange,
            ) => Trust::Suspect(None),
        };
        Ok(())
    }

    fn words(&self, command: &Command) -> String {
        match command {
            Command::Change(settings) => {
                format!("change {}", hexadecimal(&settings_to_bytes(settings)))
            }
            Command::ReleaseLockout => "release lockout".to_owned(),
            Command::SwitchOff => "switch off".to_owned(),
            Command::SwitchOn => "switch on".to_owned(),
        }
    }

    fn take(&mut self, happening: ChipEvent) -> Result<(), ChipError> {
        match happening {
            ChipEvent::Relay {
                driven: true,
                at_us,
            } => {
                self.decision.relay = Relay::Closed;
                self.closed_us = Some(at_us);
                self.totals.starts += 1;
            }
            ChipEvent::Relay {
                driven: false,
                at_us,
            } => {
                self.decision.relay = Relay::Open;
                if let Some(closed_us) = self.closed_us.take() {
                    self.count_run(at_us - closed_us);
                }
            }
            ChipEvent::Line { text, .. } => self.hear(&text)?,
            ChipEvent::Reset { cause, .. } => {
                return Err(cannot(&format!("go on after a reset by its {cause}")));
            }
            ChipEvent::PowerLost { .. } | ChipEvent::Signal { .. } => {}
        }
        Ok(())
    }

    fn count_run(&mut self, run_us: f64) {
        self.run_us += run_us;
        self.totals.run = Duration::from_millis((self.run_us / 1e3) as u64);
        let run = Duration::from_millis((run_us / 1e3) as u64);
        self.totals.longest_run = self.totals.longest_run.max(run);
    }

    /// Takes in a line of the service, after its time.
    fn hear(&mut self, line: &str) -> Result<(), ChipError> {
        let told = line.split_once(' ').map_or(line, |(_, told)| told);
        if let Some((_, reason)) = told.strip_prefix("relay ").and_then(|r| r.split_once(": ")) {
            let known = Reason::ALL.into_iter().find(|known| known.text() == reason);
            self.decision.reason = known.ok_or_else(|| cannot(&format!("mean `{line}`")))?;
        }
        if let Some(event) = told.strip_prefix("event ") {
            let number = event.split(' ').next().and_then(|n| n.parse().ok());
            let known = Event::ALL
                .into_iter()
                .find(|known| Some(known.number()) == number);
            let known = known.ok_or_else(|| cannot(&format!("mean `{line}`")))?;
            if known == Event::DutyNotKnown {
                let hours = event
                    .split_once(KNOWN_HOURS)
                    .map(|(_, hours)| hours.parse());
                let Some(Ok(hours)) = hours else {
                    return Err(cannot(&format!("mean `{line}`")));
                };
                self.decision.known_duty_hours = hours;
            }
            self.happen(known);
        }
        Ok(())
    }

    fn happen(&mut self, event: Event) {
        // Ten passes may tell more than one step's list holds; the first are kept.
        let _ = self.decision.events.push(event);
        let decision = &mut self.decision;
        match event {
            Event::CallBegan => decision.call = Call::Calling,
            Event::CallEnded => decision.call = Call::Satisfied,
            Event::ProbeFailed(fault) => decision.trust = Trust::Fault(fault),
            Event::ProbeRecovered => decision.trust = Trust::Suspect(None),
            Event::SettingsChanged | Event::ModeChanged => {
                if let Some(changed) = self.changed.take() {
                    self.settings = changed;
                }
            }
            Event::HighAlarmRaised => decision.high_alarm = Alarm::Raised,
            Event::HighAlarmEnded => decision.high_alarm = Alarm::Quiet,
            Event::LowAlarmRaised => decision.low_alarm = Alarm::Raised,
            Event::LowAlarmEnded => decision.low_alarm = Alarm::Quiet,
            Event::ContactWelded => decision.contact = Contact::Welded,
            Event::ContactBurnt => decision.contact = Contact::Burnt,
            Event::ContactSound => decision.contact = Contact::Sound,
            Event::RelayClosed
            | Event::RelayOpened
            | Event::LockedOut(_)
            | Event::LockoutReleased
            | Event::SwitchedOff
            | Event::SwitchedOn
            | Event::CommandRefused
            | Event::DefrostBegan
            | Event::DefrostEnded
            | Event::DutyNotKnown
            | Event::ClockDoubted
            | Event::VoltageLost => {}
        }
    }
}

impl RemoteBoard for ChipBoard<'_> {
    fn supply(&mut self, at: Duration, works: bool) -> SupplyChange {
        let change = match (self.powered_since, works) {
            (Some(_), true) | (None, false) => return SupplyChange::None,
            (None, true) => {
                self.powered_since = Some(at);
                self.decision = at_power_up();
                SupplyChange::Started
            }
            (Some(_), false) => {
                self.powered_since = None;
                SupplyChange::Lost
            }
        };
        if let Err(error) = self.chip.power(works) {
            self.fail(error);
        }
        change
    }

    fn powered_since(&self) -> Option<Duration> {
        self.powered_since
    }

    fn decide(&mut self, moment: &BoardStep<'_>) -> Option<&Decision> {
        if self.failed.is_none()
            && let Err(error) = self.advance(moment)
        {
            self.fail(error);
        }
        self.powered_since.map(|_| &self.decision)
    }

    fn totals(&self) -> Totals {
        self.totals
    }
}

fn cannot(what: &str) -> ChipError {
    ChipError::Cannot(what.to_owned())
}

/// What is known of a board that has just got power.
fn at_power_up() -> Decision {
    Decision {
        relay: Relay::Open,
        reason: Reason::NoReading,
        holds: Holds::default(),
        wake: Instant::POWER_UP,
        trust: Trust::Suspect(None),
        call: Call::AT_POWER_UP,
        high_alarm: Alarm::Quiet,
        low_alarm: Alarm::Quiet,
        known_duty_hours: 0,
        contact: Contact::Sound,
        answer: None,
        events: Events::new(),
    }
}

#[cfg(all(test, unix))]
mod tests {
    use super::super::tests::served;
    use super::*;
    use hysteron_bench::scenario::plan::Plan;
    use hysteron_bench::scenario::search_paths::{NoFiles, SearchPaths};
    use hysteron_source::text::SourceText;

    /// What a scenario may ask of the bench and not of the chip, and a chip that was reset.
    #[test]
    fn what_the_chip_cannot_do_is_told_with_another_way() {
        let plan = |more: &str| {
            let text = format!(
                "title = \"x\"\nduration = \"1 h\"\n[plant]\nkind = \"refrigerated box\"\n[control]\nmode = \"cool\"\n{more}"
            );
            let source = SourceText::new("x", text).expect("short");
            Plan::read(&source, &SearchPaths::default()).expect("a plan")
        };
        let answer = |word: &str| {
            format!(
                "while read -r request more; do case $request in run) echo 1000 {word};; *) echo ok;; esac; done"
            )
        };
        let jump = "[[happening]]\nat = \"00:10\"\nwhat = \"clock jumps\"\nby = \"5 min\"\n";
        let cases = [
            (jump, "", "have its clock disturbed by a scenario"),
            (
                "",
                "reset=watchdog@5.0",
                "go on after a reset by its watchdog",
            ),
            ("", "line=3120657665@5.0", ""),
            ("", "line=31206576656e7420393939@5.0", "mean `1 event 999`"),
        ];
        for (place, (more, word, cannot)) in cases.into_iter().enumerate() {
            let bench = Bench::prepare(plan(more), &NoFiles).expect("a bench");
            let mut chip = served(&format!("cannot-{place}"), &answer(word)).expect("it starts");
            let case = &bench.plan().cases[0];
            let run = run_on_chip(&bench, &mut chip, case, Recording::VerdictsOnly);
            match run {
                Ok(_) => assert!(cannot.is_empty(), "{cannot} went unsaid"),
                Err(error) => assert_eq!(
                    error.to_string(),
                    format!("the emulated chip cannot {cannot}; run this without `--on chip`")
                ),
            }
        }
    }
}
