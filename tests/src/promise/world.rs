//! The world around a control: true time, the board's clock, the air, the contact, the store.

use hysteron_logic::call::Mode;
use hysteron_logic::contact::Feedback;
use hysteron_logic::control::{
    Command, Control, Decision, Input, Retained, SettingsLock, StoredSettings,
};
use hysteron_logic::divider::Counts;
use hysteron_logic::guard::Relay;
use hysteron_logic::sense::Sample;
use hysteron_logic::settings::{Draft, Settings};
use hysteron_logic::time::Instant;
use hysteron_logic::units::Temperature;

use super::double_reading::{counts_at, resistance_at};
use super::happening::{ClockFault, ContactState, Instrument, Reading, Store};

/// Whether the board's clock has told nothing but the truth since power-up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClockRecord {
    /// It has.
    Faithful,
    /// It has stood still, jumped back or leapt ahead.
    Faulty,
}

/// One step, as seen from outside.
#[derive(Debug, Clone)]
pub struct Sight {
    /// True time, in milliseconds since the beginning of the world.
    pub true_ms: u64,
    /// True time since the step before, or since power-up.
    pub period_ms: u64,
    /// What the board's clock said.
    pub told: Instant,
    /// How far the board's clock may be trusted.
    pub clock: ClockRecord,
    /// What went in.
    pub input: Input,
    /// What came out.
    pub decision: Decision,
    /// The settings in force after the step, as the control tells them.
    pub settings: Settings,
    /// Whether a day of duty was known.
    pub duty: Option<u16>,
}

#[derive(Debug, Clone, Copy)]
struct BoardClock {
    /// What it adds to the true time since power-up.
    offset_ms: i128,
    /// Where it stands still, if it does.
    stands_at_ms: Option<u64>,
    /// A jump back that the next step will see.
    set_back_ms: u64,
    /// A jump back that lasts for the next step alone.
    glitch_ms: u64,
    /// Steps for which it still stands, and where.
    stall: (u8, u64),
    /// Whether something befell it since the last step: two faults at once,
    /// one ahead and one back, could look like a late step. Before the first
    /// step after power-up there is nothing to be at odds with.
    befallen: bool,
    record: ClockRecord,
}

impl BoardClock {
    const AT_POWER_UP: Self = Self {
        offset_ms: 0,
        stands_at_ms: None,
        set_back_ms: 0,
        glitch_ms: 0,
        stall: (0, 0),
        befallen: true,
        record: ClockRecord::Faithful,
    };

    fn told_ms(&self, since_power_up_ms: u64) -> u64 {
        let running = i128::from(since_power_up_ms) + self.offset_ms;
        let running = u64::try_from(running.max(0)).unwrap_or(u64::MAX);
        self.stands_at_ms.unwrap_or(running)
    }

    /// What it says at the end of a step.
    fn step(&mut self, since_power_up_ms: u64, period_ms: u64) -> u64 {
        self.befallen = false;
        self.jump_back_over(period_ms);
        if self.stall.0 > 0 {
            self.stall.0 -= 1;
            return self.stall.1;
        }
        let glitch_ms = std::mem::take(&mut self.glitch_ms);
        let told_ms = self.told_ms(since_power_up_ms);
        if glitch_ms == 0 || self.stands_at_ms.is_some() {
            told_ms
        } else {
            told_ms.saturating_sub(glitch_ms.max(period_ms + 1))
        }
    }

    /// A jump back further than the step is long: a smaller one looks like a
    /// shorter step and withholds time, which shortens nothing.
    fn jump_back_over(&mut self, period_ms: u64) {
        let pending_ms = std::mem::take(&mut self.set_back_ms);
        if pending_ms > 0 {
            self.offset_ms -= i128::from(pending_ms.max(period_ms + 1));
        }
    }

    fn suffer(&mut self, fault: ClockFault, since_power_up_ms: u64) {
        self.record = ClockRecord::Faulty;
        if std::mem::replace(&mut self.befallen, true) {
            return;
        }
        match fault {
            ClockFault::Stalls { steps } => self.stall = (steps, self.told_ms(since_power_up_ms)),
            // Just as the end of a stall and a glitch in one step could.
            ClockFault::Glitches { .. } if self.stall.0 > 0 => {}
            ClockFault::Glitches { ms } => self.glitch_ms = u64::from(ms),
            ClockFault::SetBack { ms } => self.set_back_ms += u64::from(ms),
            ClockFault::LeapsAhead { ms } => self.offset_ms += i128::from(ms),
            ClockFault::StandsStill => self.stands_at_ms = Some(self.told_ms(since_power_up_ms)),
            ClockFault::RunsAgain => {
                if let Some(stood) = self.stands_at_ms.take() {
                    self.offset_ms = i128::from(stood) - i128::from(since_power_up_ms);
                }
            }
            ClockFault::Returns => {
                // A clock that gains less than this in one step, beyond the time that has
                // passed since the step before, cannot be told from a late step, and is no
                // fault that is promised against.
                const LATE_MS: i128 = 10_000;
                let gains_ms = -self.offset_ms;
                self.stands_at_ms = None;
                if gains_ms <= 0 || gains_ms > LATE_MS {
                    self.offset_ms = 0;
                }
            }
        }
    }
}

/// The world.
#[derive(Debug, Clone)]
pub struct World {
    control: Control,
    true_ms: u64,
    powered_at_ms: u64,
    clock: BoardClock,
    air_mc: i32,
    dither_mc: i32,
    /// What the probe reads.
    pub reading: Reading,
    /// Where its samples come from.
    pub instrument: Instrument,
    /// The settings lock.
    pub lock: SettingsLock,
    /// The contact.
    pub contact: ContactState,
    relay: Relay,
    /// What the store holds, written after every step.
    store: Retained,
}

/// The air moves by no more than this in a step: well within what a probe can.
const SLEW_MC: i32 = 2_000;

/// Colder than a probe can be, and still no open circuit to any divider here.
const BEYOND_MC: i32 = -55_000;

impl World {
    /// A world at the moment of power-up.
    #[must_use]
    pub fn new(settings: Settings) -> Self {
        Self {
            control: Control::at_power_up(StoredSettings::Whole(settings), &Retained::default()),
            true_ms: 0,
            powered_at_ms: 0,
            clock: BoardClock::AT_POWER_UP,
            air_mc: 4_000,
            dither_mc: 0,
            reading: Reading::Satisfies,
            instrument: Instrument::Thermometer,
            lock: SettingsLock::Unlocked,
            contact: ContactState::NotFitted,
            relay: Relay::Open,
            store: Retained::default(),
        }
    }

    /// The control itself, to read.
    #[must_use]
    pub const fn control(&self) -> &Control {
        &self.control
    }

    /// How far the board's clock may be trusted.
    #[must_use]
    pub const fn clock(&self) -> ClockRecord {
        self.clock.record
    }

    /// The board's clock misbehaves.
    pub fn suffer(&mut self, fault: ClockFault) {
        self.clock.suffer(fault, self.true_ms - self.powered_at_ms);
    }

    /// Lets `period_ms` pass, then the control decides.
    pub fn step(&mut self, period_ms: u64, command: Option<Command>) -> Sight {
        self.true_ms += period_ms;
        let powered_ms = self.true_ms - self.powered_at_ms;
        let told = Instant::from_millis(self.clock.step(powered_ms, period_ms));
        // The air answers to the settings that judge it, those of this very step.
        let judged_by = match (command, self.lock) {
            (Some(Command::Change(settings)), SettingsLock::Unlocked) => settings,
            _ => *self.control.settings(),
        };
        let input = Input {
            sample: self.sample(judged_by.draft()),
            lock: self.lock,
            feedback: self.feedback(),
            command,
        };
        let decision = self.control.step(told, &input);
        self.relay = decision.relay;
        self.store = self.control.retained();
        Sight {
            true_ms: self.true_ms,
            period_ms,
            told,
            clock: self.clock.record,
            input,
            decision,
            settings: *self.control.settings(),
            duty: self.control.duty().map(|duty| duty.thousandths()),
        }
    }

    /// The board is without power for `off_ms`; returns the true time of power-up.
    pub fn cut_power(&mut self, off_ms: u64, store: Store) -> u64 {
        match store {
            Store::Kept | Store::SettingsUnreadable => {}
            Store::Lost => self.store = Retained::default(),
        }
        let stored = match store {
            Store::Kept | Store::Lost => StoredSettings::Whole(*self.control.settings()),
            Store::SettingsUnreadable => StoredSettings::Unreadable,
        };
        self.control = Control::at_power_up(stored, &self.store);
        self.true_ms += off_ms;
        self.powered_at_ms = self.true_ms;
        self.clock = BoardClock::AT_POWER_UP;
        self.relay = Relay::Open;
        self.true_ms
    }

    fn feedback(&self) -> Feedback {
        match (self.contact, self.relay) {
            (ContactState::NotFitted, _) => Feedback::NotFitted,
            (ContactState::Sound, Relay::Open) | (ContactState::Burnt, _) => Feedback::Open,
            (ContactState::Sound, Relay::Closed) | (ContactState::Welded, _) => Feedback::Closed,
        }
    }

    fn sample(&mut self, draft: &Draft) -> Sample {
        let setpoint = draft.setpoint.millicelsius();
        let away = draft.differential.millikelvin();
        let outward = match draft.mode {
            Mode::Cool => 1,
            Mode::Heat => -1,
        };
        // What a converter tells from one another.
        let finest_mc = match self.instrument {
            Instrument::Thermometer => 1,
            Instrument::Ohmmeter | Instrument::Converter => 25,
        };
        self.dither_mc = match self.reading {
            Reading::AtCutIn | Reading::AtCutOut | Reading::Frozen => 0,
            Reading::Calls
            | Reading::Between
            | Reading::Satisfies
            | Reading::TooHot
            | Reading::Open
            | Reading::Shorted
            | Reading::Beyond
            | Reading::Leaps => (finest_mc - self.dither_mc).max(0),
        };
        let target = match self.reading {
            Reading::Calls => setpoint + outward * (away + 300),
            Reading::AtCutIn => setpoint + outward * away,
            Reading::AtCutOut => setpoint,
            Reading::Between => setpoint + outward * away / 2,
            Reading::Satisfies => setpoint - outward * 300,
            Reading::TooHot => draft.heat_ceiling.millicelsius() + 300,
            Reading::Leaps => self.air_mc + draft.probe_offset.millikelvin(),
            Reading::Frozen => setpoint + outward * (away + 300),
            Reading::Open => return Sample::Counts(Counts::FULL),
            Reading::Shorted => return Sample::Counts(Counts::from_oversampled(0)),
            Reading::Beyond => return self.sampled(BEYOND_MC, draft),
        };
        let there = target - draft.probe_offset.millikelvin();
        self.air_mc += (there - self.air_mc).clamp(-SLEW_MC, SLEW_MC);
        let leap = match (self.reading, self.dither_mc) {
            (Reading::Leaps, 1..) => 30_000,
            _ => 0,
        };
        self.sampled(self.air_mc + self.dither_mc + leap, draft)
    }

    /// What the instrument makes of a probe at `probe_mc`.
    fn sampled(&self, probe_mc: i32, draft: &Draft) -> Sample {
        match self.instrument {
            Instrument::Thermometer => {
                Sample::Temperature(Temperature::from_millicelsius(probe_mc))
            }
            Instrument::Ohmmeter => Sample::Resistance(resistance_at(probe_mc.into(), draft)),
            Instrument::Converter => Sample::Counts(counts_at(probe_mc.into(), draft)),
        }
    }
}
