//! One problem that many tools can solve: a first-order plant under the control.
//!
//! Time constant 1800 s, tending to -15 °C with the load on and to 25 °C with it
//! off; cut-in 4 °C, cut-out 2 °C; 24 h from 10 °C with the rest already run. The
//! natural rest is 163.7 s, so a minimum off-time of 180 s makes the timer decide
//! and one of 120 s the temperature. The switching instants are known in closed
//! form.
//!
//! The real control decides at least once per simulated second, at the end of each hold (it
//! says when), and where the plant crosses a threshold, which is located to the
//! millisecond.

use hysteron::plant::first_order::{FirstOrder, FirstOrderParameters};
use hysteron::plant::surroundings::Load;
use hysteron_logic::control::{Control, Decision, Input, Retained, StoredSettings};
use hysteron_logic::guard::Relay;
use hysteron_logic::probe::FrozenCheck;
use hysteron_logic::sense::Sample;
use hysteron_logic::settings::{Confirmation, Draft, Settings};
use hysteron_logic::time::{Duration, Instant};
use hysteron_logic::units::{Difference, Temperature};

const TIME_CONSTANT_S: f64 = 1_800.0;
const SETTLED_ON_C: f64 = -15.0;
const SETTLED_OFF_C: f64 = 25.0;
const CUT_IN_C: f64 = 4.0;
const CUT_OUT_C: f64 = 2.0;
const START_C: f64 = 10.0;
const END_S: f64 = 86_400.0;
/// From here up a conversion to an integer, which truncates, rounds down.
const COLDER_THAN_ANY_C: f64 = -100.0;

/// A movement of the relay and its time since the beginning, in s.
pub type Switching = (f64, Relay);

/// The settings of the problem with a minimum off-time of `off_s` seconds.
///
/// # Panics
/// Where the control refuses them.
#[must_use]
pub fn settings(off_s: u32) -> Settings {
    let draft = Draft {
        setpoint: Temperature::from_millicelsius(2_000),
        differential: Difference::from_millikelvin(2_000),
        minimum_off_time: Duration::from_seconds(off_s),
        minimum_on_time: Duration::ZERO,
        short_off_time: Confirmation::Given,
        probe_frozen: FrozenCheck::Off,
        ..Draft::COOLING
    };
    draft.check().expect("the reference problem can be set")
}

/// Switching instants in closed form, from the first start on.
#[must_use]
pub fn closed_form(off_s: f64) -> Vec<Switching> {
    let mut switchings = vec![(0.0, Relay::Closed)];
    let (mut time_s, mut temperature_c) = (0.0, START_C);
    loop {
        time_s +=
            TIME_CONSTANT_S * ((temperature_c - SETTLED_ON_C) / (CUT_OUT_C - SETTLED_ON_C)).ln();
        if time_s > END_S {
            return switchings;
        }
        switchings.push((time_s, Relay::Open));
        let natural_s =
            TIME_CONSTANT_S * ((SETTLED_OFF_C - CUT_OUT_C) / (SETTLED_OFF_C - CUT_IN_C)).ln();
        let rest_s = natural_s.max(off_s);
        time_s += rest_s;
        if time_s > END_S {
            return switchings;
        }
        temperature_c =
            SETTLED_OFF_C - (SETTLED_OFF_C - CUT_OUT_C) * (-rest_s / TIME_CONSTANT_S).exp();
        switchings.push((time_s, Relay::Closed));
    }
}

/// Switching instants with the real control, from the first start on.
///
/// # Panics
/// Where plant or control refuse the problem, which they don't.
#[must_use]
pub fn simulated(off_s: u32) -> Vec<Switching> {
    let parameters = FirstOrderParameters {
        time_constant_s: TIME_CONSTANT_S,
        settled_on_c: SETTLED_ON_C,
        settled_off_c: SETTLED_OFF_C,
        start_c: START_C,
    };
    let plant = FirstOrder::new(parameters, 1.0).expect("the reference plant can be built");
    let mut control =
        Control::at_power_up(StoredSettings::Whole(settings(off_s)), &Retained::default());
    // The plant waits at its start until the rest after power-up has run.
    let mut now_ms = 0;
    let mut decision = decide(&mut control, now_ms, &plant, Relay::Open);
    while decision.relay == Relay::Open {
        now_ms = decision.wake.millis();
        decision = decide(&mut control, now_ms, &plant, Relay::Open);
    }
    let began_ms = now_ms;
    let end_ms = began_ms + (END_S * 1e3) as u64;
    let mut plant = plant;
    let mut relay = Relay::Closed;
    let mut wake_ms = decision.wake.millis();
    let mut switchings = vec![(0.0, relay)];
    while now_ms < end_ms {
        now_ms = go_on(&mut plant, relay, now_ms, wake_ms);
        let decision = decide(&mut control, now_ms, &plant, relay);
        wake_ms = decision.wake.millis();
        if decision.relay != relay {
            relay = decision.relay;
            switchings.push(((now_ms - began_ms) as f64 / 1e3, relay));
        }
    }
    switchings
}

/// Takes the plant a second on, or to the moment at which the control wants to be
/// woken, or to a crossing, whichever comes first; that moment.
fn go_on(plant: &mut FirstOrder, relay: Relay, now_ms: u64, wake_ms: u64) -> u64 {
    let (load, threshold_c) = match relay {
        Relay::Closed => (Load::RATED, CUT_OUT_C),
        Relay::Open => (Load::Off, CUT_IN_C),
    };
    let next_ms = wake_ms.min(now_ms + 1_000);
    let before = plant.clone();
    if next_ms - now_ms == 1_000 {
        plant.step(load);
    } else {
        plant.go_on_by((next_ms - now_ms) as f64 / 1e3, load);
    }
    let was_above = before.probe_site_c() > threshold_c;
    if was_above == (plant.probe_site_c() > threshold_c) {
        return next_ms;
    }
    let crossing_s = before.seconds_until(threshold_c, load);
    let crossing_ms = crossing_s.map_or(next_ms, |after_s| now_ms + (after_s * 1e3).ceil() as u64);
    if crossing_ms >= next_ms {
        return next_ms;
    }
    *plant = before;
    plant.go_on_by((crossing_ms - now_ms) as f64 / 1e3, load);
    crossing_ms
}

fn decide(control: &mut Control, now_ms: u64, plant: &FirstOrder, relay: Relay) -> Decision {
    // To a thousandth of a degree, as the control holds temperatures, and on the side
    // it comes from, so that no threshold is reached before the plant reaches it.
    let above_c = plant.probe_site_c() - COLDER_THAN_ANY_C;
    let millikelvin = match relay {
        Relay::Closed => (above_c * 1e3) as i32 + 1,
        Relay::Open => (above_c * 1e3) as i32,
    };
    let millicelsius = millikelvin + (COLDER_THAN_ANY_C * 1e3) as i32;
    let sample = Sample::Temperature(Temperature::from_millicelsius(millicelsius));
    control.step(Instant::from_millis(now_ms), &Input::sampled(sample))
}

/// The largest difference between two lists of instants, in s; `None` where they
/// are not of the same movements.
#[must_use]
pub fn largest_error_s(one: &[Switching], other: &[Switching]) -> Option<f64> {
    if one.len() != other.len() {
        return None;
    }
    one.iter().zip(other).try_fold(0.0_f64, |largest, (a, b)| {
        (a.1 == b.1).then_some(largest.max((a.0 - b.0).abs()))
    })
}
