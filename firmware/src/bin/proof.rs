//! Links only if nothing that the control does can panic.
//!
//! Everything comes in through volatile reads, so the optimiser knows nothing
//! about any value; the panic handler is one that must not be linked. In an
//! emulated chip the same image shows what a step costs.
#![no_std]
#![no_main]

use core::ptr::{read_volatile, write_volatile};

use hysteron_firmware as _;
use hysteron_logic::codec::{
    RETAINED_LEN, SETTINGS_LEN, retained_from_bytes, retained_to_bytes, settings_from_bytes,
    settings_to_bytes,
};
use hysteron_logic::contact::Feedback;
use hysteron_logic::control::{
    Command, Control, Decision, Input, Reason, SettingsLock, StoredSettings,
};
use hysteron_logic::divider::Counts;
use hysteron_logic::guard::Relay;
use hysteron_logic::probe::Measurement;
use hysteron_logic::sense::Sample;
use hysteron_logic::settings::Settings;
use hysteron_logic::time::Instant;
use panic_never as _;

#[unsafe(link_section = ".boot2")]
#[used]
static BOOT2: [u8; 256] = rp2040_boot2::BOOT_LOADER_GENERIC_03H;

/// What is to be done.
#[repr(C)]
#[derive(Clone, Copy)]
struct Task {
    told_ms: u64,
    counts: u16,
    /// 1: power-up with what the two stores hold, 2: fill the stores anew,
    /// anything else: a step.
    kind: u8,
    /// 1: locked.
    lock: u8,
    /// 1: open, 2: closed, anything else: not fitted.
    feedback: u8,
    /// 1: change, 2: release, 3: off, 4: on, anything else: none.
    command: u8,
    settings: [u8; SETTINGS_LEN],
    retained: [u8; RETAINED_LEN],
}

/// What came of it.
#[repr(C)]
#[derive(Clone, Copy)]
struct Outcome {
    /// 1: closed.
    relay: u8,
    /// Place in the list of all reasons.
    reason: u8,
    /// Events in this step.
    events: u8,
    /// Number of the last of them.
    last_event: u8,
    /// The reading in thousandths of a degree, or the lowest number for none.
    reading: i32,
}

#[unsafe(no_mangle)]
static mut TASK: Task = Task {
    told_ms: 0,
    counts: 0,
    kind: 0,
    lock: 0,
    feedback: 0,
    command: 0,
    settings: [0; SETTINGS_LEN],
    retained: [0; RETAINED_LEN],
};

#[unsafe(no_mangle)]
static mut OUTCOME: Outcome = Outcome {
    relay: 0,
    reason: 0,
    events: 0,
    last_event: 0,
    reading: 0,
};

/// What the stores would be given now.
static mut KEPT: ([u8; SETTINGS_LEN], [u8; RETAINED_LEN]) = ([0; SETTINGS_LEN], [0; RETAINED_LEN]);

#[cortex_m_rt::entry]
fn main() -> ! {
    let mut control = Control::at_power_up(StoredSettings::Unreadable, &Default::default());
    loop {
        proof_waits();
        // SAFETY: nothing else in the program touches the task.
        let task = unsafe { read_volatile(&raw const TASK) };
        match task.kind {
            1 => {
                control = power_up(&task);
                continue;
            }
            2 => {
                let settings = settings_to_bytes(control.settings());
                let retained = retained_to_bytes(&control.retained());
                // SAFETY: nothing else in the program touches what is kept.
                unsafe { write_volatile(&raw mut KEPT, (settings, retained)) };
                continue;
            }
            _ => {}
        }
        let input = input_of(&task);
        let reading = proof_reads(input.sample, control.settings());
        let decision = proof_steps(&mut control, Instant::from_millis(task.told_ms), &input);
        let outcome = outcome_of(&decision, reading, planted(&task));
        // SAFETY: nothing else in the program touches the outcome.
        unsafe { write_volatile(&raw mut OUTCOME, outcome) };
    }
}

/// The host changes the task while the chip stands here.
#[unsafe(no_mangle)]
#[inline(never)]
extern "C" fn proof_waits() {
    cortex_m::asm::nop();
}

/// Count to temperature; its cost is measured.
#[unsafe(no_mangle)]
#[inline(never)]
fn proof_reads(sample: Sample, settings: &Settings) -> Measurement {
    sample.measured(settings)
}

/// Count to decision; its cost is measured.
#[unsafe(no_mangle)]
#[inline(never)]
fn proof_steps(control: &mut Control, now: Instant, input: &Input) -> Decision {
    control.step(now, input)
}

fn power_up(task: &Task) -> Control {
    let stored = match settings_from_bytes(&task.settings) {
        Ok(settings) => StoredSettings::Whole(settings),
        Err(_) => StoredSettings::Unreadable,
    };
    let retained = retained_from_bytes(&task.retained).unwrap_or_default();
    Control::at_power_up(stored, &retained)
}

fn input_of(task: &Task) -> Input {
    Input {
        sample: Sample::Counts(Counts::from_oversampled(task.counts)),
        lock: match task.lock {
            1 => SettingsLock::Locked,
            _ => SettingsLock::Unlocked,
        },
        feedback: match task.feedback {
            1 => Feedback::Open,
            2 => Feedback::Closed,
            _ => Feedback::NotFitted,
        },
        command: match task.command {
            1 => settings_from_bytes(&task.settings)
                .ok()
                .map(Command::Change),
            2 => Some(Command::ReleaseLockout),
            3 => Some(Command::SwitchOff),
            4 => Some(Command::SwitchOn),
            _ => None,
        },
    }
}

fn outcome_of(decision: &Decision, reading: Measurement, planted: i32) -> Outcome {
    let place = Reason::ALL
        .iter()
        .position(|known| *known == decision.reason);
    Outcome {
        relay: match decision.relay {
            Relay::Open => 0,
            Relay::Closed => 1,
        },
        reason: place.map_or(u8::MAX, |place| place as u8),
        events: decision.events.len() as u8,
        last_event: decision.events.last().map_or(0, |event| event.number()),
        reading: match reading {
            Measurement::At(temperature) => temperature.millicelsius().wrapping_add(planted),
            Measurement::Open | Measurement::Shorted | Measurement::OutOfRange => i32::MIN,
        },
    }
}

/// Nothing, unless a panic was planted to show that it would be found.
fn planted(task: &Task) -> i32 {
    let _ = task;
    #[cfg(feature = "planted-index")]
    return [0, 0, 0, 0][usize::from(task.lock)];
    #[cfg(all(feature = "planted-divide", not(feature = "planted-index")))]
    return 0 / i32::from(task.feedback);
    #[cfg(all(
        feature = "planted-unwrap",
        not(any(feature = "planted-index", feature = "planted-divide"))
    ))]
    return i32::from(task.command.checked_sub(1).unwrap()) & 0;
    #[cfg(not(any(
        feature = "planted-index",
        feature = "planted-divide",
        feature = "planted-unwrap"
    )))]
    0
}
