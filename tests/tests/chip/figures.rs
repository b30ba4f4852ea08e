//! The figures that README quotes, measured on the board's images in the emulated chip.
//!
//! Run by `tests/chip/figures`, which prints the table.

use std::time::Instant as WallInstant;

use hysteron::chip::{BUTTON_PIN, Chip, LOCK_PIN, hexadecimal};
use hysteron_logic::alarm::AlarmLimit;
use hysteron_logic::codec::settings_to_bytes;
use hysteron_logic::guard::StartsLimit;
use hysteron_logic::settings::{Draft, Settings};
use hysteron_logic::time::Duration;
use hysteron_logic::units::Temperature;

const SECOND: u64 = 1_000_000;
/// The goals. All are held but the pace, which is the host's and of what else it does.
const MOST_QUIET_CYCLES: u64 = 30_000;
const MOST_BUSY_CYCLES: u64 = 30_000;
const MOST_FLASH: u64 = 192 * 1_024;
const MOST_RAM: u64 = 64 * 1_024;
const MOST_STACK: u64 = 4 * 1_024;
const LEAST_PACE: f64 = 300.0;
/// About 6 °C and about −1 °C on a type II probe with 10 kΩ above it.
const WARM: u16 = 46_500;
const COLD: u16 = 51_000;

fn numbers(answer: &str) -> Vec<u64> {
    answer
        .split(' ')
        .map(|number| number.parse().expect("a number"))
        .collect()
}

fn alarm_at(millicelsius: i32) -> AlarmLimit {
    AlarmLimit::Beyond {
        limit: Temperature::from_millicelsius(millicelsius),
        delay: Duration::from_minutes(30),
    }
}

fn settings() -> Settings {
    let mut draft = Draft::COOLING;
    draft.starts_per_hour = StartsLimit::PerHour(10);
    // Each is looked for in the thermistor's table before a change is taken.
    draft.high_alarm = alarm_at(12_000);
    draft.low_alarm = alarm_at(-3_000);
    draft.check().expect("settings that make sense")
}

/// A life in which everything happens that costs: power-up, closings, a change
/// of settings, a refusal, a probe fault, a question.
fn eventful(chip: &mut Chip) {
    chip.store_settings(&settings()).expect("stored");
    chip.drive(LOCK_PIN, false).expect("unlocked");
    chip.power(true).expect("powered");
    chip.run(SECOND, WARM).expect("run");
    // What came before the first pass is none.
    chip.ask("cycles wait_for_pass").expect("counted");
    chip.run(400 * SECOND, WARM).expect("run");
    let change = format!("change {}", hexadecimal(&settings_to_bytes(&settings())));
    for line in [
        change.as_str(),
        "tell settings",
        "release lockout",
        "nonsense",
    ] {
        chip.say(line).expect("said");
        chip.run(2 * SECOND, WARM).expect("run");
    }
    chip.drive(BUTTON_PIN, false).expect("held");
    chip.run(5 * SECOND, COLD).expect("run");
    chip.drive(BUTTON_PIN, true).expect("let go");
    chip.run(60 * SECOND, 0).expect("run");
    chip.run(400 * SECOND, WARM).expect("run");
}

#[test]
fn the_figures() {
    let start = |image| Chip::start(&Chip::image(image)).unwrap_or_else(|error| panic!("{error}"));
    let mut chip = start("pico");
    let sizes = numbers(chip.ask("sizes").expect("sizes"));
    chip.ask("period wait_for_pass").expect("marked");
    chip.store_settings(&settings()).expect("stored");
    chip.power(true).expect("powered");
    chip.run(250 * SECOND, WARM).expect("run");
    let quiet = numbers(chip.ask("cycles wait_for_pass").expect("counted"));
    chip.power(false).expect("off");
    eventful(&mut chip);
    let busy = numbers(chip.ask("cycles wait_for_pass").expect("counted"));
    let stack = numbers(chip.ask("stack").expect("measured"))[0];

    let mut chip = start("pico");
    chip.store_settings(&settings()).expect("stored");
    chip.power(true).expect("powered");
    let before = WallInstant::now();
    for second in 0..600 {
        chip.run(SECOND, if second % 400 < 200 { WARM } else { COLD })
            .expect("run");
    }
    let pace = 600.0 / before.elapsed().as_secs_f64();

    assert!(quiet[0] > 2_000 && busy[0] > 5_000, "{quiet:?} {busy:?}");
    eprintln!("| figure | goal | measured |");
    eprintln!("| --- | --- | --- |");
    let [flash, ram] = sizes[..] else {
        panic!("two sizes: {sizes:?}");
    };
    let (quiet_cycles, busy_cycles) = (quiet[1], busy[1]);
    eprintln!("| a pass that changes nothing, cycles | {MOST_QUIET_CYCLES} | {quiet_cycles} |");
    eprintln!(
        "| a pass that obeys, writes the memory or tells much, cycles | {MOST_BUSY_CYCLES} | {busy_cycles} |"
    );
    eprintln!("| flash, bytes | {MOST_FLASH} | {flash} |");
    eprintln!("| static RAM, bytes | {MOST_RAM} | {ram} |");
    eprintln!("| deepest stack, bytes | {MOST_STACK} | {stack} |");
    eprintln!("| simulated seconds per second, lockstep of 1 s | {LEAST_PACE} | {pace:.0} |");
    assert!(quiet_cycles <= MOST_QUIET_CYCLES, "{quiet_cycles}");
    assert!(busy_cycles <= MOST_BUSY_CYCLES, "{busy_cycles}");
    assert!(flash <= MOST_FLASH, "{flash}");
    assert!(ram <= MOST_RAM, "{ram}");
    assert!(stack <= MOST_STACK, "{stack}");
}
