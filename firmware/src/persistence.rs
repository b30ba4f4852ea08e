//! Keeps what must outlive a loss of power, as seldom as it can.
//!
//! Settings are saved when a person changes them or confirms them after they
//! were lost. The rest is written when a lockout begins or ends, when a person
//! switches the control off or on, at every
//! start while starts per hour are limited, and otherwise once an hour. An
//! [`Allowance`] bounds all of it.
//!
//! A lockout that begins or ends, and a switching off or on, go into two records of the
//! journal one after the other, so that no single bad record hides them. A power-up that
//! finds only the first of the two writes the second.
//!
//! Nothing is numbered or written before what the memory holds was found: a memory that
//! did not answer at power-up is searched as soon as there is something to write.
//!
//! A pass writes one page or reads one back, so settings are safe about a second
//! after they came into force; all pages of a record are written before the first
//! is read back. What was accepted while the settings lock was off
//! is saved to its end even if the lock comes on meanwhile: otherwise a loss of
//! power would bring back settings that are no longer in force. Only a start that
//! must be remembered is written to its end in one go, before the relay closes, and read
//! back after; settings that were on their way then begin anew.

use embedded_hal::delay::DelayNs;
use embedded_hal::i2c::I2c;
use hysteron_logic::codec::{
    RETAINED_LEN, SETTINGS_LEN, Unreadable, read_retained, read_settings, write_retained,
    write_settings,
};
use hysteron_logic::control::{Control, Retained, Switch};
use hysteron_logic::counters::Totals;
use hysteron_logic::event::Event;
use hysteron_logic::guard::StartsLimit;
use hysteron_logic::lockout::Cause;
use hysteron_logic::settings::Settings;
use hysteron_logic::time::{Duration, Instant};

use crate::journal::{self, Allowance, Journal, Proof, Spending};
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

/// What no single bad record may hide.
type Standing = (Option<Cause>, Switch);

/// The memory and what is known of its contents.
pub struct Persistence<'a, I, D> {
    memory: Memory<I, D>,
    /// None until the memory was searched for what it holds.
    store: Option<Store>,
    journal: Option<Journal>,
    /// What the two newest records of the journal hold, the newest first.
    standings: [Option<Standing>; 2],
    /// What the record on its way holds.
    standing_underway: Option<Standing>,
    due: Due,
    underway: Underway,
    outgoing: &'a mut Outgoing,
    allowance: Allowance,
    routine_since: Instant,
    condition: Result<(), MemoryError>,
    /// What the control does not know of its life: the memory told it after power-up.
    totals_before: Totals,
}

impl<'a, I: I2c, D: DelayNs> Persistence<'a, I, D> {
    /// Keeps things in `memory`; [`Persistence::settings`] and [`Persistence::retained`] come next.
    /// What is to be written waits in `outgoing`.
    pub const fn new(memory: Memory<I, D>, outgoing: &'a mut Outgoing) -> Self {
        Self {
            memory,
            store: None,
            journal: None,
            standings: [None; 2],
            standing_underway: None,
            due: Due::Nothing,
            underway: Underway::Nothing,
            outgoing,
            allowance: Allowance::full(Instant::POWER_UP),
            routine_since: Instant::POWER_UP,
            condition: Ok(()),
            totals_before: Totals {
                starts: 0,
                run: Duration::ZERO,
                longest_run: Duration::ZERO,
            },
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
            Ok(store) => self.store = Some(store),
            Err(error) => self.condition = Err(error),
        }
        read_settings(&payload, settings)
    }

    /// Reads what else was retained into `retained`, once, at power-up; leaves it as
    /// it is if nothing can be read.
    ///
    /// [`Persistence::condition`] tells if a lockout may be lost: the memory does not answer,
    /// holds records that can't be read, or a record of another version of this code.
    #[inline(never)]
    pub fn retained(&mut self, retained: &mut Retained) {
        if let Err(error) = self.open_journal(retained) {
            self.condition = Err(error);
        }
        if self.standings[0] != self.standings[1] {
            self.due = Due::Journal;
        }
    }

    fn open_journal(&mut self, retained: &mut Retained) -> Result<(), MemoryError> {
        let mut payload = journal::Payload::new();
        let (journal, proof) = Journal::open(&mut self.memory, &mut payload)?;
        self.journal = Some(journal);
        // Without a record the control starts as one that has never run.
        if !payload.is_empty() {
            read_retained(&payload, retained).map_err(|_| MemoryError::Lost)?;
            self.standings[0] = Some(standing(retained));
            journal.one_before(&mut self.memory, &mut payload)?;
            self.standings[1] = standing_in(&payload);
        }
        match proof {
            Proof::Whole => Ok(()),
            Proof::PerhapsLost => Err(MemoryError::Lost),
        }
    }

    /// How the memory did the last time it was used.
    pub const fn condition(&self) -> Result<(), MemoryError> {
        self.condition
    }

    /// Waits, as for the memory.
    pub fn wait_micros(&mut self, micros: u32) {
        self.memory.wait_micros(micros);
    }

    /// Writes of settings so far; none while the memory was not searched for them.
    pub const fn settings_writes(&self) -> u32 {
        match &self.store {
            Some(store) => store.writes(),
            None => 0,
        }
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
            if let Err(error) = self.begin_journal(control) {
                return self.fail(error);
            }
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
                if let (MemoryError::Mismatch, true, Some(journal)) =
                    (error, self.underway.is_journal(), &mut self.journal)
                {
                    journal.pass_over();
                }
                self.fail(error)
            }
        }
    }

    /// What was under way came to nothing, and stays due.
    fn fail(&mut self, error: MemoryError) -> Kept {
        self.condition = Err(error);
        self.due = self.due.max(self.underway.due());
        self.underway = Underway::Nothing;
        Kept::Nothing
    }

    /// A record is whole in the memory; what comes next?
    fn go_on(&mut self, control: &Control) -> Kept {
        self.condition = Ok(());
        match self.underway {
            Underway::Nothing => Kept::Nothing,
            Underway::Journal => {
                self.journal_written();
                self.underway = Underway::Nothing;
                Kept::Nothing
            }
            Underway::JournalBeforeSettings => {
                self.journal_written();
                match self.begin_settings(control) {
                    Ok(()) => Kept::Nothing,
                    Err(error) => self.fail(error),
                }
            }
            Underway::Settings => {
                if let Some(store) = &mut self.store {
                    store.saved();
                }
                self.underway = Underway::Nothing;
                match self.due {
                    // They have changed again meanwhile, and those are not safe yet.
                    Due::SettingsAndJournal => Kept::Nothing,
                    Due::Nothing | Due::Journal => Kept::Settings,
                }
            }
        }
    }

    fn journal_written(&mut self) {
        self.standings = [self.standing_underway, self.standings[0]];
        let mut again = self.standings[0] != self.standings[1];
        if let Some(journal) = &mut self.journal {
            journal.written();
            again |= journal.wants_renewal();
        }
        if again {
            self.due = self.due.max(Due::Journal);
        }
    }

    /// Begins a record of what is due. On an error it stays due.
    #[inline(never)]
    fn begin_journal(&mut self, control: &Control) -> Result<(), MemoryError> {
        let journal = match self.journal {
            Some(journal) => journal,
            None => {
                self.memory.answers()?;
                self.open_late()?
            }
        };
        self.journal = Some(journal);
        self.underway = match self.due {
            Due::Nothing | Due::Journal => Underway::Journal,
            Due::SettingsAndJournal => Underway::JournalBeforeSettings,
        };
        self.due = Due::Nothing;
        let mut payload = [0; RETAINED_LEN];
        let mut retained = control.retained();
        retained.totals = together(self.totals_before, retained.totals);
        self.standing_underway = Some(standing(&retained));
        write_retained(&retained, &mut payload);
        journal.begin(self.outgoing, &payload);
        Ok(())
    }

    /// Opens the journal of a memory that did not answer at power-up. What stood in it was
    /// released or confirmed by a person, or is still locked out; life goes on from its totals.
    #[inline(never)]
    fn open_late(&mut self) -> Result<Journal, MemoryError> {
        let mut payload = journal::Payload::new();
        let (journal, _) = Journal::open(&mut self.memory, &mut payload)?;
        let mut before = Retained::default();
        if read_retained(&payload, &mut before).is_ok() {
            self.totals_before = before.totals;
        }
        Ok(journal)
    }

    /// Begins to save the settings.
    #[inline(never)]
    fn begin_settings(&mut self, control: &Control) -> Result<(), MemoryError> {
        self.underway = Underway::Settings;
        let store = match self.store {
            Some(store) => store,
            None => Store::open(&mut self.memory, &mut store::Payload::new())?,
        };
        self.store = Some(store);
        let mut payload = [0; SETTINGS_LEN];
        write_settings(control.settings(), &mut payload);
        store.begin(self.outgoing, &payload);
        Ok(())
    }
}

/// The totals of two stretches of one life.
fn together(before: Totals, after: Totals) -> Totals {
    Totals {
        starts: before.starts.saturating_add(after.starts),
        run: before.run.and(after.run),
        longest_run: before.longest_run.max(after.longest_run),
    }
}

fn standing(retained: &Retained) -> Standing {
    (retained.lockout, retained.switch)
}

#[inline(never)]
fn standing_in(payload: &[u8]) -> Option<Standing> {
    let mut retained = Retained::default();
    read_retained(payload, &mut retained).ok()?;
    Some(standing(&retained))
}

impl Underway {
    const fn is_journal(self) -> bool {
        match self {
            Self::Journal | Self::JournalBeforeSettings => true,
            Self::Nothing | Self::Settings => false,
        }
    }

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
        | Event::DutyNotKnown
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
        | Event::ContactSound
        | Event::VoltageLost => Due::Nothing,
    }
}

#[cfg(test)]
mod tests;
