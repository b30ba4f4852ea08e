//! Fault finding, played through: every single fault of everything that ships is put in, read
//! with a meter and a supply that are off by what they may be, and searched for.
//!
//! The readings come from the circuit solved at the supply's true voltage, not from what the
//! search foresees. Each search may take whatever measurement it proposes until it proposes none.

use std::collections::HashSet;
use std::time::Instant;

use hysteron_diagnosis::fault_finding::hypothesis::{Depth, Hypothesis, hypotheses};
use hysteron_diagnosis::fault_finding::measurement::{
    Measurement, MeterReading, Occasion, isolators,
};
use hysteron_diagnosis::fault_finding::passive::ohm_at;
use hysteron_diagnosis::fault_finding::search::{Candidate, Search};
use hysteron_diagnosis::fault_finding::tolerance::Tolerance;
use hysteron_diagnosis::fault_finding::{reading_file, reading_text};
use hysteron_installation::Installation;
use hysteron_installation::arrangements::{ARRANGEMENTS, named};
use hysteron_installation::circuit::Circuit;
use hysteron_installation::fault::Fault;
use hysteron_installation::file;
use hysteron_installation::part::{Actuator, Device, Kind};
use hysteron_installation::readings::Probing;
use hysteron_installation::state::{RelayArmature, State};
use hysteron_source::text::SourceText;
use proptest::prelude::*;
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng as _;

/// A faulty installation on a visit: the supplies stand somewhere in their band, windings
/// measure somewhere in theirs.
struct Visit {
    circuit: Circuit,
    supply_permille: [u16; 4],
    winding_place: f64,
    chance: Chance,
}

struct Chance(Xoshiro256PlusPlus);

impl Chance {
    /// Somewhere in the range.
    fn between(&mut self, lowest: f64, highest: f64) -> f64 {
        let fraction = f64::from(self.0.next_u32()) / f64::from(u32::MAX);
        lowest + fraction * (highest - lowest)
    }
}

impl Visit {
    fn new(installation: &Installation, faults: &[Fault], seed: u64) -> Self {
        let faulty = installation.with_faults(faults.iter().copied());
        let mut chance = Chance(Xoshiro256PlusPlus::seed_from_u64(seed));
        Self {
            circuit: Circuit::new(faulty),
            supply_permille: [(); 4].map(|()| chance.between(950.0, 1050.0).round() as u16),
            winding_place: chance.between(0.0, 1.0),
            chance,
        }
    }

    fn read(&mut self, measurement: Measurement) -> MeterReading {
        let installation = self.circuit.installation();
        let true_value = match measurement.occasion {
            Occasion::PowerOff => ohm_at(installation, measurement.probing, self.winding_place),
            Occasion::Satisfied => self.volts(State::default(), measurement.probing),
            Occasion::Calling => {
                let calling = State::default().with_relay(RelayArmature::Energised);
                self.volts(calling, measurement.probing)
            }
            Occasion::BreakersOpen => {
                let open = State::default().with_open(isolators(installation));
                self.volts(open, measurement.probing)
            }
        };
        let error = self.chance.between(-0.01, 0.01);
        let shown = true_value * (1.0 + error);
        MeterReading { measurement, shown }
    }

    fn volts(&self, mut state: State, probing: Probing) -> f64 {
        state.supply_permille = self.supply_permille;
        let parts = || self.circuit.installation().parts();
        let contacts = self.circuit.settle(&state).contacts;
        let is_valve = |kind: &Kind| matches!(kind, Kind::Valve(_));
        let has_valve = parts().any(|(_, part)| is_valve(&part.kind));
        let flows =
            parts().any(|(id, part)| is_valve(&part.kind) && contacts.pulled_in.contains(id));
        if has_valve && !flows {
            for (id, part) in parts() {
                if let Kind::Device(Device {
                    actuator: Actuator::LowPressure,
                    ..
                }) = part.kind
                {
                    state = state.with_open(state.open.with(id));
                }
            }
        }
        let solution = self.circuit.settle(&state).solution;
        match probing {
            Probing::Between(one, other) => solution.meter_v(one, other),
            Probing::ToGround(one) => solution.meter_to_earth_v(one),
        }
    }
}

/// The end of a search.
struct End {
    readings: usize,
    /// The faults of every hypothesis left, in a fixed order.
    left: Vec<Vec<Fault>>,
}

fn searched(fresh: &Search, mut visit: Visit) -> End {
    let mut search = fresh.clone();
    while let Some(proposal) = search.proposal(&HashSet::new()) {
        search.take(visit.read(proposal.measurement));
        assert!(search.readings().len() < 40, "the search never ends");
    }
    End {
        readings: search.readings().len(),
        left: faults_of(&search.candidates()),
    }
}

fn faults_of(candidates: &[Candidate<'_>]) -> Vec<Vec<Fault>> {
    let mut faults: Vec<Vec<Fault>> = candidates
        .iter()
        .map(|candidate| candidate.hypothesis.faults.clone())
        .collect();
    faults.sort();
    faults
}

fn installation(name: &str) -> Installation {
    let text = named(name).expect(name).text;
    file::read(&SourceText::new(name, text).expect("short")).expect("ships")
}

/// What searching for every hypothesis of an arrangement came to.
struct Tally {
    hypotheses: usize,
    /// Sets of hypotheses that no reading is foreseen to tell apart for sure.
    groups: usize,
    /// Mean number of readings until none tells any more.
    readings: f64,
    most_readings: usize,
    /// What a person must learn in the mean to know the group, in bits.
    entropy_bits: f64,
    searches: usize,
}

/// Searches for every hypothesis, `visits` times, weighing them by their priors.
fn tally(name: &str, all: Vec<Hypothesis>, visits: u64) -> Tally {
    let installation = installation(name);
    let fresh = Search::with(&installation, all.clone(), Tolerance::default());
    let groups: Vec<Vec<Vec<Fault>>> = fresh
        .groups()
        .iter()
        .map(|group| faults_of(group))
        .collect();
    let group_of = |faults: &Vec<Fault>| {
        let holds = |group: &&Vec<Vec<Fault>>| group.contains(faults);
        groups
            .iter()
            .find(holds)
            .expect("every hypothesis has a group")
    };
    let mut tally = Tally {
        hypotheses: all.len(),
        groups: groups.len(),
        readings: 0.0,
        most_readings: 0,
        entropy_bits: 0.0,
        searches: 0,
    };
    for (number, hypothesis) in all.iter().enumerate() {
        let own = group_of(&hypothesis.faults);
        for visit in 0..visits {
            let seed = visit * 1000 + number as u64;
            let end = searched(&fresh, Visit::new(&installation, &hypothesis.faults, seed));
            let words = hypothesis.words(&installation);
            assert!(
                end.left.contains(&hypothesis.faults),
                "{name}: lost {words}"
            );
            assert!(
                end.left.iter().all(|left| own.contains(left)),
                "{name}: stopped early at {words}"
            );
            tally.readings += hypothesis.prior * end.readings as f64 / visits as f64;
            tally.most_readings = tally.most_readings.max(end.readings);
            tally.searches += 1;
        }
    }
    for group in &groups {
        let share: f64 = all
            .iter()
            .filter(|hypothesis| group.contains(&hypothesis.faults))
            .map(|hypothesis| hypothesis.prior)
            .sum();
        tally.entropy_bits -= share * share.log2();
    }
    tally
}

/// Every hypothesis as likely as any other.
fn evenly(name: &str) -> Vec<Hypothesis> {
    let mut all = hypotheses(&installation(name), Depth::Single);
    let share = 1.0 / all.len() as f64;
    for hypothesis in &mut all {
        hypothesis.prior = share;
    }
    all
}

fn as_they_are(name: &str) -> Vec<Hypothesis> {
    hypotheses(&installation(name), Depth::Single)
}

/// Two bounds: log2 of the number of groups, and the entropy of the groups, which is what must
/// be learnt in the mean when they hold different numbers of hypotheses. A reading of volts can
/// have more than two outcomes and so tell more than a bit: a ratio below one is no mistake.
fn assert_few_readings(what: &str, hypotheses_of: fn(&str) -> Vec<Hypothesis>) {
    let (mut readings, mut bits, mut entropy_bits, mut searches) = (0.0, 0.0, 0.0, 0);
    eprintln!("{what}:  hypotheses  groups  readings  most  log2(groups)  ratio  entropy  ratio");
    for arrangement in ARRANGEMENTS {
        let tally = tally(arrangement.name, hypotheses_of(arrangement.name), 4);
        let log2_groups = (tally.groups as f64).log2();
        eprintln!(
            "{:18} {:10} {:7} {:9.2} {:5} {:13.2} {:6.2} {:8.2} {:6.2}",
            arrangement.name,
            tally.hypotheses,
            tally.groups,
            tally.readings,
            tally.most_readings,
            log2_groups,
            tally.readings / log2_groups,
            tally.entropy_bits,
            tally.readings / tally.entropy_bits
        );
        assert!(tally.readings <= 1.3 * log2_groups, "{}", arrangement.name);
        assert!(
            tally.readings <= 1.3 * tally.entropy_bits,
            "{}",
            arrangement.name
        );
        readings += tally.readings;
        bits += log2_groups;
        entropy_bits += tally.entropy_bits;
        searches += tally.searches;
    }
    eprintln!(
        "{searches} searches, ratio {:.3} to log2(groups), {:.3} to the entropy",
        readings / bits,
        readings / entropy_bits
    );
    assert!(searches > 1000, "{searches}");
}

#[test]
fn every_single_fault_is_found_in_few_readings() {
    assert_few_readings("all alike", evenly);
}

#[test]
fn likely_faults_are_found_in_fewer() {
    assert_few_readings("by their priors", as_they_are);
}

#[test]
fn two_faults_together_are_never_lost() {
    let installation = installation("compressor-120");
    let all = hypotheses(&installation, Depth::Double);
    let fresh = Search::new(&installation, Depth::Double, Tolerance::default());
    let mut found = 0;
    for (number, hypothesis) in all.iter().enumerate().step_by(7) {
        if hypothesis.faults.len() < 2 {
            continue;
        }
        let visit = Visit::new(&installation, &hypothesis.faults, number as u64);
        let end = searched(&fresh, visit);
        let words = hypothesis.words(&installation);
        assert!(end.left.contains(&hypothesis.faults), "lost {words}");
        found += 1;
    }
    assert!(found > 40, "{found}");
}

/// Both readings fit the supply's band, and no one voltage of the supply fits both.
#[test]
fn one_supply_has_one_voltage() {
    let installation = installation("compressor-120");
    let mut search = Search::new(&installation, Depth::Single, Tolerance::default());
    let at = |text: &str| {
        let source = SourceText::new("reading", text).expect("short");
        reading_text::read(&source, &installation).expect("a reading")
    };
    search.take(at("calling: supply.hot to ground = 115 V"));
    assert!(!search.candidates().is_empty());
    search.take(at("satisfied: supply.hot to ground = 125 V"));
    assert!(search.candidates().is_empty());
    let misses = search.nearest_misses();
    assert_eq!(misses[0].1.len(), 1);
    search.take_back();
    assert!(!search.candidates().is_empty());
}

#[test]
fn the_file_says_what_fails_often() {
    let text = named("compressor-120").expect("ships").text;
    let lamed = text.replacen(
        "kind = \"compressor\"",
        "kind = \"compressor\"\nfault_weight = 50",
        1,
    );
    assert_ne!(text, lamed);
    let first = |text: &str| {
        let source = SourceText::new("weighed", text).expect("short");
        let installation = file::read(&source).expect("sound");
        let search = Search::new(&installation, Depth::Single, Tolerance::default());
        let candidates = search.candidates();
        candidates[0].hypothesis.words(&installation)
    };
    assert_eq!(first(text), "breaker: tripped");
    assert_eq!(first(&lamed), "compressor: winding open");
}

/// A search over the largest arrangement, and its first proposal.
#[test]
fn the_first_answer_is_there_at_once() {
    let largest = ARRANGEMENTS
        .iter()
        .max_by_key(|arrangement| as_they_are(arrangement.name).len())
        .expect("something ships");
    let installation = installation(largest.name);
    let start = Instant::now();
    let search = Search::new(&installation, Depth::Single, Tolerance::default());
    assert!(search.proposal(&HashSet::new()).is_some());
    let took = start.elapsed();
    eprintln!(
        "{}: {} hypotheses, {took:?}",
        largest.name,
        search.hypothesis_count()
    );
    assert!(took.as_secs_f64() < 1.0, "{took:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Whatever is typed is a reading or is refused with its place.
    #[test]
    fn no_text_is_beyond_the_reader(
        words in prop::collection::vec(
            prop::sample::select(vec![
                "calling", "power off", ":", " to ", "=", "control.relay_common", "supply.hot",
                "ground", "120", "V", "open", "ohms", "-", "é", " ", ".", "1e999", "\n",
            ]),
            0..12,
        ),
        any in ".*",
    ) {
        let installation = installation("compressor-120");
        for text in [words.concat(), any] {
            let source = SourceText::new("typed", text).expect("short");
            if let Err(rejected) = reading_text::read(&source, &installation) {
                prop_assert!(!rejected.to_string().is_empty());
            }
            if let Err(rejected) = reading_file::read(&source, &installation) {
                prop_assert!(!rejected.to_string().is_empty());
            }
        }
    }
}
