//! Keeps what must outlive a loss of power, as seldom as it can.
//!
//! Settings are saved when a person changes them or confirms them after they
//! were lost. The rest is written when a lockout begins or ends, when a person
//! switches the control off or on, at every
//! start while starts per hour are limited, and otherwise once an hour. An
//! [`Allowance`] bounds all of it.

use embedded_hal::delay::DelayNs;
use embedded_hal::i2c::I2c;
use hysteron_logic::codec::{
    RETAINED_LEN, SETTINGS_LEN, retained_from_bytes, retained_to_bytes, settings_from_bytes,
    settings_to_bytes,
};
use hysteron_logic::control::{Control, Retained, StoredSettings};
use hysteron_logic::event::Event;
use hysteron_logic::guard::StartsLimit;
use hysteron_logic::lockout::Cause;
use hysteron_logic::time::{Duration, Instant};

use crate::journal::{self, Allowance, Journal, Spending};
use crate::memory::{Memory, MemoryError};
use crate::store::{self, Store};

/// Counters are written this often when nothing else is.
const ROUTINE: Duration = Duration::from_hours(1);

/// What has changed since it was last written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Due {
    Nothing,
    Journal,
    SettingsAndJournal,
}

/// The memory and what is known of its contents.
pub struct Keeper<I, D> {
    memory: Memory<I, D>,
    store: Store,
    journal: Journal,
    due: Due,
    allowance: Allowance,
    routine_since: Instant,
    condition: Result<(), MemoryError>,
}

impl<I: I2c, D: DelayNs> Keeper<I, D> {
    /// Keeps things in `memory`; [`Keeper::settings`] and [`Keeper::retained`] come next.
    pub const fn new(memory: Memory<I, D>) -> Self {
        Self {
            memory,
            store: Store::EMPTY,
            journal: Journal::EMPTY,
            due: Due::Nothing,
            allowance: Allowance::full(Instant::POWER_UP),
            routine_since: Instant::POWER_UP,
            condition: Ok(()),
        }
    }

    /// Reads the settings, once, at power-up.
    ///
    /// Settings that are torn, make no sense or come from a memory that does
    /// not answer are all unreadable.
    #[inline(never)]
    pub fn settings(&mut self) -> StoredSettings {
        let mut payload = store::Payload::new();
        match Store::open(&mut self.memory, &mut payload) {
            Ok(store) => self.store = store,
            Err(error) => self.condition = Err(error),
        }
        match settings_from_bytes(&payload) {
            Ok(settings) => StoredSettings::Whole(settings),
            Err(_) => StoredSettings::Unreadable,
        }
    }

    /// Reads what else was retained, once, at power-up; nothing if it cannot be read.
    #[inline(never)]
    pub fn retained(&mut self) -> Retained {
        let mut payload = journal::Payload::new();
        match Journal::open(&mut self.memory, &mut payload) {
            Ok(journal) => self.journal = journal,
            Err(error) => self.condition = Err(error),
        }
        retained_from_bytes(&payload).unwrap_or_default()
    }

    /// How the memory did the last time it was used.
    pub const fn condition(&self) -> Result<(), MemoryError> {
        self.condition
    }

    /// Writes of settings so far.
    pub const fn settings_writes(&self) -> u32 {
        self.store.writes()
    }

    /// Takes note of `events` and writes what is due, if the allowance grants it.
    ///
    /// What could not be written stays due and is tried again as the allowance
    /// grants it, so a memory that comes back is brought up to date.
    pub fn remember(&mut self, now: Instant, control: &Control, events: &[Event]) {
        for event in events {
            self.due = self.due.max(due(*event, control));
        }
        if self.due == Due::Nothing && now.since(self.routine_since) >= ROUTINE {
            self.due = Due::Journal;
        }
        if self.due == Due::Nothing || self.allowance.spend(now) == Spending::Refused {
            return;
        }
        self.routine_since = now;
        self.condition = self.write(control);
        if self.condition.is_ok() {
            self.due = Due::Nothing;
        }
    }

    fn write(&mut self, control: &Control) -> Result<(), MemoryError> {
        // The journal first: a lockout must not be lost to a failure of the slots.
        self.write_retained(control)?;
        match self.due {
            Due::Nothing | Due::Journal => Ok(()),
            Due::SettingsAndJournal => self.write_settings(control),
        }
    }

    #[inline(never)]
    fn write_retained(&mut self, control: &Control) -> Result<(), MemoryError> {
        let payload = retained_to_bytes(&control.retained());
        self.journal.write(&mut self.memory, &payload)
    }

    #[inline(never)]
    fn write_settings(&mut self, control: &Control) -> Result<(), MemoryError> {
        let payload = settings_to_bytes(control.settings());
        self.store.save(&mut self.memory, &payload)
    }
}

const _: () = assert!(RETAINED_LEN <= journal::LONGEST && SETTINGS_LEN <= store::LONGEST);

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
