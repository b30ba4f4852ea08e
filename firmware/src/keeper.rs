//! Keeps what must outlive a loss of power, as seldom as it can.
//!
//! Settings are saved when a person changes them or confirms them after they
//! were lost. The rest is written when a lockout begins or ends, when a person
//! switches the control off or on, at every
//! start while starts per hour are limited, and otherwise once an hour. An
//! [`Allowance`] bounds all of it.
//!
//! A pass writes one page or reads one back, so settings are safe about a second
//! after they came into force; all pages of a record are written before the first
//! is read back. What was accepted while the settings lock was off
//! is saved to its end even if the lock comes on meanwhile: otherwise a loss of
//! power would bring back settings that are no longer in force. Only a start that
//! must be remembered is written in one go, before the relay closes, and read back
//! after; settings that were on their way then begin anew.

use embedded_hal::delay::DelayNs;
use embedded_hal::i2c::I2c;
use hysteron_logic::codec::{
    RETAINED_LEN, SETTINGS_LEN, Unreadable, read_retained, read_settings, write_retained,
    write_settings,
};
use hysteron_logic::control::{Control, Retained};
use hysteron_logic::event::Event;
use hysteron_logic::guard::StartsLimit;
use hysteron_logic::lockout::Cause;
use hysteron_logic::settings::Settings;
use hysteron_logic::time::{Duration, Instant};

use crate::journal::{self, Allowance, Journal, Spending};
use crate::memory::{Memory, MemoryError, Outgoing, Progress};
use crate::store::{self, Store};

/// Counters are written this often when nothing else is.
pub const ROUTINE: Duration = Duration::from_hours(1);

/// What has changed since it was last written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Due {
    Nothing,
    Journal,
    SettingsAndJournal,
}

/// What is on its way into the memory.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Underway {
    Nothing,
    Journal,
    /// The journal, and the settings after it: a lockout must not be lost to a
    /// failure of the slots.
    JournalBeforeSettings,
    Settings,
}

/// What a pass brought to its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kept {
    /// Nothing that a person waits for.
    Nothing,
    /// The settings in force are safe in the memory.
    Settings,
}

/// The memory and what is known of its contents.
pub struct Keeper<'a, I, D> {
    memory: Memory<I, D>,
    store: Store,
    journal: Journal,
    due: Due,
    underway: Underway,
    outgoing: &'a mut Outgoing,
    allowance: Allowance,
    routine_since: Instant,
    condition: Result<(), MemoryError>,
}

impl<'a, I: I2c, D: DelayNs> Keeper<'a, I, D> {
    /// Keeps things in `memory`; [`Keeper::settings`] and [`Keeper::retained`] come next.
    /// What is to be written waits in `outgoing`.
    pub const fn new(memory: Memory<I, D>, outgoing: &'a mut Outgoing) -> Self {
        Self {
            memory,
            store: Store::EMPTY,
            journal: Journal::EMPTY,
            due: Due::Nothing,
            underway: Underway::Nothing,
            outgoing,
            allowance: Allowance::full(Instant::POWER_UP),
            routine_since: Instant::POWER_UP,
            condition: Ok(()),
        }
    }

    /// Reads the settings into `settings`, once, at power-up.
    ///
    /// # Errors
    ///
    /// Settings that are torn, make no sense or come from a memory that does
    /// not answer are all unreadable.
    #[inline(never)]
    pub fn settings(&mut self, settings: &mut Settings) -> Result<(), Unreadable> {
        let mut payload = store::Payload::new();
        match Store::open(&mut self.memory, &mut payload) {
            Ok(store) => self.store = store,
            Err(error) => self.condition = Err(error),
        }
        read_settings(&payload, settings)
    }

    /// Reads what else was retained into `retained`, once, at power-up; leaves it as
    /// it is if nothing can be read.
    #[inline(never)]
    pub fn retained(&mut self, retained: &mut Retained) {
        let mut payload = journal::Payload::new();
        match Journal::open(&mut self.memory, &mut payload) {
            Ok(journal) => self.journal = journal,
            Err(error) => {
                self.condition = Err(error);
                return;
            }
        }
        // Without a record the control starts as one that has never run.
        let _ = read_retained(&payload, retained);
    }

    /// How the memory did the last time it was used.
    pub const fn condition(&self) -> Result<(), MemoryError> {
        self.condition
    }

    /// Waits, as for the memory.
    pub fn wait_micros(&mut self, micros: u32) {
        self.memory.wait_micros(micros);
    }

    /// Writes of settings so far.
    pub const fn settings_writes(&self) -> u32 {
        self.store.writes()
    }

    /// Takes note of `events` and does this pass's share of what is due, if the
    /// allowance grants it.
    ///
    /// What could not be written stays due and is tried again as the allowance
    /// grants it, so a memory that comes back is brought up to date.
    pub fn remember(&mut self, now: Instant, control: &Control, events: &[Event]) -> Kept {
        let due_before = self.due;
        for event in events {
            self.due = self.due.max(due(*event, control));
        }
        let idle = self.underway == Underway::Nothing;
        if self.due == Due::Nothing && idle && now.since(self.routine_since) >= ROUTINE {
            self.due = Due::Journal;
        }
        let start = self.due != Due::Nothing && events.contains(&Event::RelayClosed);
        if start {
            self.due = self.due.max(self.underway.due());
            self.underway = Underway::Nothing;
        } else if self.due != due_before {
            // A pass in which something happened has enough to do.
            return Kept::Nothing;
        }
        if self.underway == Underway::Nothing {
            if self.due == Due::Nothing || self.allowance.spend(now) == Spending::Refused {
                return Kept::Nothing;
            }
            self.routine_since = now;
            self.begin_journal(control);
            if !start {
                return Kept::Nothing;
            }
        }
        let progress = if start {
            let written = self.memory.write_at_once(self.outgoing);
            written.map(|()| Progress::Underway)
        } else {
            self.memory.advance(self.outgoing)
        };
        match progress {
            Ok(Progress::Busy | Progress::Underway) => Kept::Nothing,
            Ok(Progress::Done) => self.go_on(control),
            Err(error) => {
                self.condition = Err(error);
                self.due = self.due.max(self.underway.due());
                self.underway = Underway::Nothing;
                Kept::Nothing
            }
        }
    }

    /// A record is whole in the memory; what comes next?
    fn go_on(&mut self, control: &Control) -> Kept {
        self.condition = Ok(());
        match self.underway {
            Underway::Nothing => Kept::Nothing,
            Underway::Journal => {
                self.journal.written();
                self.underway = Underway::Nothing;
                Kept::Nothing
            }
            Underway::JournalBeforeSettings => {
                self.journal.written();
                self.begin_settings(control);
                Kept::Nothing
            }
            Underway::Settings => {
                self.store.saved();
                self.underway = Underway::Nothing;
                match self.due {
                    // They have changed again meanwhile, and those are not safe yet.
                    Due::SettingsAndJournal => Kept::Nothing,
                    Due::Nothing | Due::Journal => Kept::Settings,
                }
            }
        }
    }

    #[inline(never)]
    fn begin_journal(&mut self, control: &Control) {
        self.underway = match self.due {
            Due::Nothing | Due::Journal => Underway::Journal,
            Due::SettingsAndJournal => Underway::JournalBeforeSettings,
        };
        self.due = Due::Nothing;
        let mut payload = [0; RETAINED_LEN];
        write_retained(&control.retained(), &mut payload);
        self.journal.begin(self.outgoing, &payload);
    }

    #[inline(never)]
    fn begin_settings(&mut self, control: &Control) {
        self.underway = Underway::Settings;
        let mut payload = [0; SETTINGS_LEN];
        write_settings(control.settings(), &mut payload);
        self.store.begin(self.outgoing, &payload);
    }
}

impl Underway {
    /// What is due if this came to nothing.
    const fn due(self) -> Due {
        match self {
            Self::Nothing => Due::Nothing,
            Self::Journal => Due::Journal,
            Self::JournalBeforeSettings | Self::Settings => Due::SettingsAndJournal,
        }
    }
}

const _: () = assert!(RETAINED_LEN <= journal::LONGEST && SETTINGS_LEN <= store::LONGEST);

/// Whether `event` is written down, apart from the routine.
#[must_use]
pub fn is_worth_writing(event: Event, control: &Control) -> bool {
    due(event, control) != Due::Nothing
}

/// What `event` makes worth writing.
fn due(event: Event, control: &Control) -> Due {
    match event {
        Event::SettingsChanged | Event::ModeChanged => Due::SettingsAndJournal,
        // A release after lost settings confirms the ones in force.
        Event::LockoutReleased => Due::SettingsAndJournal,
        // Settings that could not be read stay unreadable until confirmed.
        Event::LockedOut(Cause::UnreadableSettings) => Due::Nothing,
        Event::LockedOut(_) | Event::SwitchedOff | Event::SwitchedOn => Due::Journal,
        Event::RelayClosed => match control.settings().draft().starts_per_hour {
            StartsLimit::Unlimited => Due::Nothing,
            StartsLimit::PerHour(_) => Due::Journal,
        },
        Event::RelayOpened
        | Event::CallBegan
        | Event::CallEnded
        | Event::ProbeFailed(_)
        | Event::ProbeRecovered
        | Event::CommandRefused
        | Event::DefrostBegan
        | Event::DefrostEnded
        | Event::HighAlarmRaised
        | Event::HighAlarmEnded
        | Event::LowAlarmRaised
        | Event::LowAlarmEnded
        | Event::ClockDoubted
        | Event::ContactWelded
        | Event::ContactBurnt
        | Event::ContactSound => Due::Nothing,
    }
}
