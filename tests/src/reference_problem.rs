//! One problem that many tools can solve: a first-order plant under the control.
//!
//! Time constant 1800 s, tending to -15 °C with the load on and to 25 °C with it
//! off; cut-in 4 °C, cut-out 2 °C; 24 h from 10 °C with the rest already run. The
//! natural rest is 163.7 s, so a minimum off-time of 180 s makes the timer decide
//! and one of 120 s the temperature. The switching instants are known in closed
//! form.
//!
//! The real control decides once per simulated second, at the end of each hold (it
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
    Run {
        began_ms: now_ms,
        now_ms,
        control,
        plant,
        decision,
        switchings: vec![(0.0, Relay::Closed)],
    }
    .switchings()
}

struct Run {
    began_ms: u64,
    now_ms: u64,
    control: Control,
    plant: FirstOrder,
    decision: Decision,
    switchings: Vec<Switching>,
}

impl Run {
    fn switchings(mut self) -> Vec<Switching> {
        while self.now_ms - self.began_ms < (END_S * 1e3) as u64 {
            self.go_on();
            let before = self.decision.relay;
            self.decision = decide(&mut self.control, self.now_ms, &self.plant, before);
            if self.decision.relay != before {
                let since_s = (self.now_ms - self.began_ms) as f64 / 1e3;
                self.switchings.push((since_s, self.decision.relay));
            }
        }
        self.switchings
    }

    /// To the next whole second, the end of a hold or a crossing, whichever comes first.
    fn go_on(&mut self) {
        let (load, threshold_c) = match self.decision.relay {
            Relay::Closed => (Load::RATED, CUT_OUT_C),
            Relay::Open => (Load::Off, CUT_IN_C),
        };
        let grid_ms = (self.now_ms / 1_000 + 1) * 1_000;
        let next_ms = grid_ms.min(self.decision.wake.millis());
        let before = self.plant.clone();
        if next_ms - self.now_ms == 1_000 {
            self.plant.step(load);
        } else {
            self.plant
                .go_on_by((next_ms - self.now_ms) as f64 / 1e3, load);
        }
        let crossed =
            (before.probe_site_c() > threshold_c) != (self.plant.probe_site_c() > threshold_c);
        if let (true, Some(crossing_s)) = (crossed, before.seconds_until(threshold_c, load)) {
            let crossing_ms = self.now_ms + (crossing_s * 1e3).ceil() as u64;
            if crossing_ms < next_ms {
                self.plant = before;
                self.plant
                    .go_on_by((crossing_ms - self.now_ms) as f64 / 1e3, load);
                self.now_ms = crossing_ms;
                return;
            }
        }
        self.now_ms = next_ms;
    }
}

fn decide(control: &mut Control, now_ms: u64, plant: &FirstOrder, relay: Relay) -> Decision {
    // To a thousandth of a degree, as the control holds temperatures, and on the side
    // it comes from, so that no threshold is reached before the plant reaches it.
    let millicelsius = plant.probe_site_c() * 1e3;
    let millicelsius = match relay {
        Relay::Closed => millicelsius.ceil(),
        Relay::Open => millicelsius.floor(),
    };
    let sample = Sample::Temperature(Temperature::from_millicelsius(millicelsius as i32));
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
