//! What may be wrong, and how likely that is before anything was measured.

use hysteron_installation::Installation;
use hysteron_installation::fault::{Fault, RelayContact, Trouble};

/// Nothing wrong, one fault, or two.
#[derive(Debug, Clone, PartialEq)]
pub struct Hypothesis {
    /// The faults, in the order of the parts; empty when nothing is wrong.
    pub faults: Vec<Fault>,
    /// Its share before any reading; those of all hypotheses add up to one.
    pub prior: f64,
}

/// How many faults a hypothesis may have.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Depth {
    /// None or one.
    Single,
    /// None, one, or one each of two parts.
    Double,
}

/// Two faults at once that have nothing to do with each other are found on one visit in
/// twenty (from memory).
const DOUBLE_SHARE: f64 = 0.05;

/// How often nothing is found wrong, in the same measure as [`weight`] (from memory).
const SOUND_WEIGHT: f64 = 5.0;

/// How often a trouble is met, against the others (from memory: what wears, moves or carries
/// current fails often, what was fitted once seldom).
#[must_use]
pub fn weight(trouble: Trouble) -> f64 {
    match trouble {
        Trouble::RelayBurntOpen(RelayContact::NormallyOpen)
        | Trouble::RelayWelded(RelayContact::NormallyOpen)
        | Trouble::Welded
        | Trouble::ProbeShorted
        | Trouble::StuckOpen
        | Trouble::LegLost(_) => 3.0,
        Trouble::BurntOpen | Trouble::WindingOpen | Trouble::ProbeOpen => 4.0,
        Trouble::Blown | Trouble::Tripped => 6.0,
        Trouble::StuckClosed | Trouble::WindingShorted | Trouble::BoardDead => 2.0,
        Trouble::RelayBurntOpen(RelayContact::NormallyClosed)
        | Trouble::RelayWelded(RelayContact::NormallyClosed)
        | Trouble::Off => 1.0,
        Trouble::Missing | Trouble::WrongTap(_) => 0.5,
    }
}

/// Every hypothesis about an installation, "nothing wrong" first.
///
/// A trouble counts as often as [`weight`] says, times the weight that the file gives its part.
#[must_use]
pub fn hypotheses(installation: &Installation, depth: Depth) -> Vec<Hypothesis> {
    let weighed: Vec<(Fault, f64)> = installation
        .faults()
        .map(|fault| {
            let of_part = installation.part(fault.part).fault_weight;
            (fault, weight(fault.trouble) * of_part)
        })
        .collect();
    let sum = SOUND_WEIGHT + weighed.iter().map(|(_, weight)| weight).sum::<f64>();
    let mut all = vec![Hypothesis {
        faults: Vec::new(),
        prior: SOUND_WEIGHT / sum,
    }];
    all.extend(weighed.iter().map(|&(fault, weight)| Hypothesis {
        faults: vec![fault],
        prior: weight / sum,
    }));
    if depth == Depth::Double {
        add_doubles(&mut all, &weighed);
    }
    all
}

fn add_doubles(all: &mut Vec<Hypothesis>, weighed: &[(Fault, f64)]) {
    let mut doubles = Vec::new();
    for (at, &(one, own)) in weighed.iter().enumerate() {
        for &(other, others) in &weighed[at + 1..] {
            if one.part != other.part {
                doubles.push((vec![one, other], own * others));
            }
        }
    }
    let sum: f64 = doubles.iter().map(|(_, weight)| weight).sum();
    if sum <= 0.0 {
        return;
    }
    for hypothesis in all.iter_mut() {
        hypothesis.prior *= 1.0 - DOUBLE_SHARE;
    }
    all.extend(doubles.into_iter().map(|(faults, weight)| Hypothesis {
        faults,
        prior: DOUBLE_SHARE * weight / sum,
    }));
}

impl Hypothesis {
    /// In words.
    #[must_use]
    pub fn words(&self, installation: &Installation) -> String {
        let faults: Vec<String> = self
            .faults
            .iter()
            .map(|&fault| installation.fault_words(fault))
            .collect();
        if faults.is_empty() {
            "nothing is wrong".to_owned()
        } else {
            faults.join(", and ")
        }
    }

    /// The installation with these faults in it.
    #[must_use]
    pub fn applied_to(&self, installation: &Installation) -> Installation {
        installation.with_faults(self.faults.iter().copied())
    }
}
