//! A day of a cooler: the control is stepped once a second against a box of two lines, and each
//! edge is told. At 8 h a wire of the probe breaks for an hour.
//!
//! `cargo run -p hysteron-logic --example cooler`

#![expect(clippy::print_stdout, reason = "an example shows what came of it")]

use hysteron_logic::divider::Counts;
use hysteron_logic::prelude::*;
use hysteron_logic::settings::Refused;

/// What a converter reads through a divider with nothing below its resistor.
const NOTHING_CONNECTED: Sample = Sample::Counts(Counts::FULL);

fn main() -> Result<(), Refused> {
    let mut draft = Draft::COOLING;
    draft.setpoint = Temperature::from_millicelsius(2_000);
    draft.differential = Difference::from_millikelvin(2_000);
    let settings = draft.check()?;

    let stored = StoredSettings::Whole(settings);
    let mut control = Control::at_power_up(stored, &Retained::default());
    let broken = Duration::from_hours(8)..Duration::from_hours(9);

    let mut box_millicelsius = 12_000.0;
    let mut now = Instant::POWER_UP;
    let end = Instant::POWER_UP.after(Duration::from_hours(24));
    while now < end {
        let sample = if broken.contains(&now.since(Instant::POWER_UP)) {
            NOTHING_CONNECTED
        } else {
            Sample::Temperature(Temperature::from_millicelsius(box_millicelsius as i32))
        };
        let decision = control.step(now, &Input::sampled(sample));
        for event in &decision.events {
            let at = now.since(Instant::POWER_UP);
            println!("{:<16} {event:?}: {}", at.to_string(), decision.reason);
        }

        // By itself the box goes to 25 °C, with the load running to -20 °C, each over some hours.
        let drawn_to = match decision.relay {
            Relay::Closed => -20_000.0,
            Relay::Open => 25_000.0,
        };
        box_millicelsius += (drawn_to - box_millicelsius) / 14_400.0;
        now = now.after(Duration::from_seconds(1));
    }
    Ok(())
}
