//! What each hypothesis foresees: every measurement under every fault, solved once.

use nalgebra::Complex;

use super::hypothesis::Hypothesis;
use super::measurement::{Measurement, Occasion, isolators};
use super::passive::Passive;
use super::tolerance::{Interval, Tolerance};
use hysteron_installation::Installation;
use hysteron_installation::circuit::{Circuit, METER_OHM, Solution};
use hysteron_installation::element::Node;
use hysteron_installation::file::SUPPLIES_LIMIT;
use hysteron_installation::readings::Probing;
use hysteron_installation::settle::Settled;
use hysteron_installation::state::{Contacts, RelayArmature, State};
use hysteron_installation::terminal::PartSet;

/// Behind more than this, in ohms, a wire floats: stray capacitance and the meter decide what
/// is shown, and of that only a bound is known.
const FLOATING_OHM: f64 = 0.5e6;

/// What is known of each supply: its voltage as a fraction of the nominal one.
pub type Levels = [Interval; SUPPLIES_LIMIT];

/// What a measurement is expected to show.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Expected {
    /// The sum of what each supply drives, in volts at its nominal voltage.
    Driven([Complex<f64>; SUPPLIES_LIMIT]),
    /// Anything in a range: a floating wire, an armature that chatters, a winding's resistance.
    Within(Interval),
}

/// What a hypothesis foresees, with the contacts where one level of the supplies puts them.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// With power on, in the order of [`LIVE`].
    rests: [Rest; LIVE.len()],
    /// For each measurement.
    pub expected: Vec<Expected>,
}

/// What every measurement shows if a hypothesis is true.
#[derive(Debug, Clone)]
pub struct Foreseen {
    /// The hypothesis.
    pub hypothesis: Hypothesis,
    circuit: Circuit,
    passive: Passive,
    supplies: usize,
    /// One, or several where the supplies' voltage decides where contacts come to rest.
    pub courses: Vec<Course>,
}

/// The occasions with power on.
const LIVE: [Occasion; 3] = [
    Occasion::Satisfied,
    Occasion::Calling,
    Occasion::BreakersOpen,
];

/// Where everything comes to rest, or which armatures never do.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Rest {
    state: State,
    contacts: Contacts,
    chattering: PartSet,
}

impl Foreseen {
    /// Solves the installation with the hypothesis's faults in it.
    #[must_use]
    pub fn of(
        installation: &Installation,
        hypothesis: Hypothesis,
        measurements: &[Measurement],
        tolerance: Tolerance,
    ) -> Self {
        let faulty = hypothesis.applied_to(installation);
        let passive = Passive::of(&faulty);
        let circuit = Circuit::new(faulty);
        let mut courses: Vec<Course> = Vec::new();
        for level in [0.0, -1.0, 1.0] {
            let permille = permille(1.0 + level * tolerance.supply);
            let rests = LIVE.map(|occasion| {
                rest(
                    &circuit,
                    state_at(circuit.installation(), occasion),
                    permille,
                )
            });
            if !courses.iter().any(|course| course.rests == rests) {
                courses.push(Course {
                    rests,
                    expected: Vec::new(),
                });
            }
        }
        let mut foreseen = Self {
            supplies: installation.supplies().count(),
            hypothesis,
            circuit,
            passive,
            courses,
        };
        foreseen.add(measurements);
        foreseen
    }

    /// Foresees more measurements.
    pub fn add(&mut self, measurements: &[Measurement]) {
        let probings = |wanted: Occasion| -> Vec<Probing> {
            let at_that = |measurement: &&Measurement| measurement.occasion == wanted;
            let found = measurements.iter().filter(at_that);
            found.map(|measurement| measurement.probing).collect()
        };
        let live = LIVE.map(probings);
        let ohms = self.passive.ohms(&probings(Occasion::PowerOff));
        for course in &mut self.courses {
            let mut volts = Vec::new();
            for (rest, probings) in course.rests.iter().zip(&live) {
                volts.push(volts_of(&self.circuit, rest, probings, self.supplies).into_iter());
            }
            let mut ohms = ohms.iter().copied().map(Expected::Within);
            for measurement in measurements {
                let own = LIVE.iter().position(|live| *live == measurement.occasion);
                let next = match own {
                    Some(own) => volts[own].next(),
                    None => ohms.next(),
                };
                course.expected.extend(next);
            }
        }
    }
}

/// What the world does on an occasion.
fn state_at(installation: &Installation, occasion: Occasion) -> State {
    match occasion {
        Occasion::Satisfied => State::default(),
        Occasion::Calling => State::default().with_relay(RelayArmature::Energised),
        Occasion::BreakersOpen | Occasion::PowerOff => {
            State::default().with_open(isolators(installation))
        }
    }
}

impl Expected {
    /// The true values, with the supplies so.
    #[must_use]
    pub fn range(self, levels: &Levels) -> Interval {
        match self {
            Self::Within(range) => range,
            Self::Driven(volts) => {
                let middle: Complex<f64> = volts
                    .iter()
                    .zip(levels)
                    .map(|(volts, level)| volts * ((level.lowest + level.highest) / 2.0))
                    .sum();
                let spread: f64 = volts
                    .iter()
                    .zip(levels)
                    .map(|(volts, level)| volts.norm() * (level.highest - level.lowest) / 2.0)
                    .sum();
                Interval {
                    lowest: (middle.norm() - spread).max(0.0),
                    highest: middle.norm() + spread,
                }
            }
        }
    }

    /// What is known of the supplies once the true value is known to lie in `seen`; absent when
    /// it cannot.
    #[must_use]
    pub fn narrowed(self, levels: &Levels, seen: Interval) -> Option<Levels> {
        if self.range(levels).is_apart_from(seen) {
            return None;
        }
        let Self::Driven(volts) = self else {
            return Some(*levels);
        };
        let mut narrowed = *levels;
        for (at, own) in volts.iter().map(|volts| volts.norm()).enumerate() {
            if own < 1.0 {
                continue;
            }
            // The others push the sum up or pull it down by no more than all of them together.
            let others: f64 = volts
                .iter()
                .zip(levels)
                .enumerate()
                .filter(|&(other, _)| other != at)
                .map(|(_, (volts, level))| volts.norm() * level.highest)
                .sum();
            let level = &mut narrowed[at];
            level.lowest = level.lowest.max((seen.lowest - others) / own);
            level.highest = level.highest.min((seen.highest + others) / own);
            if level.lowest > level.highest {
                return None;
            }
        }
        Some(narrowed)
    }
}

fn permille(level: f64) -> u16 {
    (level * 1000.0).round().clamp(0.0, 2000.0) as u16
}

fn rest(circuit: &Circuit, state: State, permille: u16) -> Rest {
    let state = circuit.pumped_down(state.with_supplies(permille));
    let Settled {
        contacts,
        chattering,
        ..
    } = circuit.settle(&state);
    Rest {
        state: state.with_supplies(1000),
        contacts,
        chattering,
    }
}

fn volts_of(
    circuit: &Circuit,
    rest: &Rest,
    probings: &[Probing],
    supplies: usize,
) -> Vec<Expected> {
    if !rest.chattering.is_empty() {
        return chattering_volts(circuit, rest, probings);
    }
    let nominal = circuit.solve(&rest.state, &rest.contacts);
    let alone: Vec<Solution<'_>> = if supplies == 1 {
        vec![nominal.clone()]
    } else {
        (0..supplies)
            .map(|supply| {
                let mut state = rest.state.with_supplies(0);
                state.supply_permille[supply] = 1000;
                circuit.solve(&state, &rest.contacts)
            })
            .collect()
    };
    probings
        .iter()
        .map(|&probing| {
            let behind_ohm = nominal
                .solved()
                .behind_ohm(ends(probing).0, ends(probing).1);
            let mut volts = [Complex::ZERO; SUPPLIES_LIMIT];
            for (own, solution) in volts.iter_mut().zip(&alone) {
                *own = open_v(solution, probing);
            }
            if behind_ohm.norm() > FLOATING_OHM {
                let highest = volts.iter().map(|volts| volts.norm()).sum::<f64>() * HIGHEST_LEVEL;
                return Expected::Within(Interval {
                    lowest: 0.0,
                    highest,
                });
            }
            Expected::Driven(volts.map(|volts| volts * METER_OHM / (behind_ohm + METER_OHM)))
        })
        .collect()
}

/// No supply stands higher than this fraction of its nominal voltage for long.
const HIGHEST_LEVEL: f64 = 1.1;

/// Anything between what is shown with the armatures all in and all out.
fn chattering_volts(circuit: &Circuit, rest: &Rest, probings: &[Probing]) -> Vec<Expected> {
    let mut ends = [rest.contacts; 2];
    for (contacts, relay) in ends
        .iter_mut()
        .zip([RelayArmature::Released, rest.state.relay])
    {
        for part in rest.chattering.iter() {
            contacts.pulled_in = match relay {
                RelayArmature::Released => contacts.pulled_in.without(part),
                RelayArmature::Energised => contacts.pulled_in.with(part),
            };
        }
        contacts.relay = relay;
    }
    let [out, seated] = ends.map(|contacts| circuit.solve(&rest.state, &contacts));
    probings
        .iter()
        .map(|&probing| {
            let shown = [&out, &seated].map(|solution| metered_v(solution, probing));
            Expected::Within(Interval {
                lowest: shown[0].min(shown[1]) / HIGHEST_LEVEL,
                highest: shown[0].max(shown[1]) * HIGHEST_LEVEL,
            })
        })
        .collect()
}

fn ends(probing: Probing) -> (Node, Node) {
    match probing {
        Probing::Between(one, other) => (one.into(), other.into()),
        Probing::ToGround(one) => (one.into(), Node::Earth),
    }
}

fn open_v(solution: &Solution<'_>, probing: Probing) -> Complex<f64> {
    let (one, other) = ends(probing);
    solution.solved().node_v(one) - solution.solved().node_v(other)
}

fn metered_v(solution: &Solution<'_>, probing: Probing) -> f64 {
    match probing {
        Probing::Between(one, other) => solution.meter_v(one, other),
        Probing::ToGround(one) => solution.meter_to_earth_v(one),
    }
}
