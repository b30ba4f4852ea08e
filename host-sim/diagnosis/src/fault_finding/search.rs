//! The search for the fault: what the readings leave, and what to measure next.

use std::collections::HashSet;

use super::foreseen::Foreseen;
use super::hypothesis::{Depth, Hypothesis, hypotheses};
use super::information::{Forecast, expected_bits};
use super::likelihood::{Explanation, even};
use super::measurement::{Measurement, MeterReading, Occasion, measurements};
use super::tolerance::{Interval, Tolerance};
use hysteron_installation::Installation;

/// A search under way.
#[derive(Debug, Clone)]
pub struct Search {
    tolerance: Tolerance,
    measurements: Vec<Measurement>,
    /// How many of them the program may propose; the others were only ever asked about.
    proposable: usize,
    foreseen: Vec<Foreseen>,
    explanations: Vec<Explanation>,
    readings: Vec<MeterReading>,
}

/// A hypothesis that explains every reading so far.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Candidate<'s> {
    /// The hypothesis.
    pub hypothesis: &'s Hypothesis,
    /// Its share among all that are left.
    pub share: f64,
}

/// A measurement worth taking.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Proposal {
    /// The measurement.
    pub measurement: Measurement,
    /// What it is expected to tell, in bits.
    pub bits: f64,
}

/// What a measurement may show, and who foresees that.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome<'s> {
    /// What the meter may show.
    pub range: Interval,
    /// Who foresees it, the likeliest first.
    pub candidates: Vec<Candidate<'s>>,
}

/// A reading that a hypothesis does not explain, and what it would have shown.
pub type Misfit = (MeterReading, Interval);

/// Less than this is not worth a measurement, in bits.
const LEAST_BITS: f64 = 1e-4;

/// A measurement that tells this fraction of what the best tells will do, if it is less trouble.
const AS_GOOD: f64 = 0.97;

impl Search {
    /// Before any reading.
    #[must_use]
    pub fn new(installation: &Installation, depth: Depth, tolerance: Tolerance) -> Self {
        Self::with(installation, hypotheses(installation, depth), tolerance)
    }

    /// Before any reading, among these hypotheses.
    #[must_use]
    pub fn with(
        installation: &Installation,
        hypotheses: Vec<Hypothesis>,
        tolerance: Tolerance,
    ) -> Self {
        let measurements = measurements(installation);
        let foreseen: Vec<Foreseen> = hypotheses
            .into_iter()
            .map(|hypothesis| Foreseen::of(installation, hypothesis, &measurements, tolerance))
            .collect();
        let explanations = foreseen
            .iter()
            .map(|foreseen| Explanation::fresh(foreseen, tolerance))
            .collect();
        Self {
            tolerance,
            proposable: measurements.len(),
            measurements,
            foreseen,
            explanations,
            readings: Vec::new(),
        }
    }

    /// How many hypotheses there were before any reading.
    #[must_use]
    pub fn hypothesis_count(&self) -> usize {
        self.foreseen.len()
    }

    /// How many faults at once are considered.
    #[must_use]
    pub fn depth(&self) -> Depth {
        let mut faults = self
            .foreseen
            .iter()
            .map(|foreseen| foreseen.hypothesis.faults.len());
        if faults.any(|count| count > 1) {
            Depth::Double
        } else {
            Depth::Single
        }
    }

    /// The readings so far.
    #[must_use]
    pub fn readings(&self) -> &[MeterReading] {
        &self.readings
    }

    /// Takes a reading into account, of any two terminals.
    pub fn take(&mut self, reading: MeterReading) {
        self.weigh(reading);
        self.readings.push(reading);
    }

    fn weigh(&mut self, reading: MeterReading) {
        let number = self.number(reading.measurement);
        for (foreseen, explanation) in self.foreseen.iter().zip(&mut self.explanations) {
            if explanation.explains() {
                explanation.take(foreseen, number, reading, self.tolerance);
            }
        }
    }

    /// Takes the last reading back.
    pub fn take_back(&mut self) {
        self.readings.pop();
        self.explanations = self
            .foreseen
            .iter()
            .map(|foreseen| Explanation::fresh(foreseen, self.tolerance))
            .collect();
        for reading in self.readings.clone() {
            self.weigh(reading);
        }
    }

    fn number(&mut self, measurement: Measurement) -> usize {
        let known = |other: &Measurement| *other == measurement;
        self.measurements.iter().position(known).unwrap_or_else(|| {
            self.measurements.push(measurement);
            for foreseen in &mut self.foreseen {
                foreseen.add(&[measurement]);
            }
            self.measurements.len() - 1
        })
    }

    /// The numbers of the hypotheses that are left, with their shares.
    fn left(&self) -> Vec<(usize, f64)> {
        let weighed = |(number, explanation): (usize, &Explanation)| {
            let prior = self.foreseen[number].hypothesis.prior;
            explanation
                .explains()
                .then_some((number, prior * explanation.likelihood))
        };
        let mut left: Vec<(usize, f64)> = self
            .explanations
            .iter()
            .enumerate()
            .filter_map(weighed)
            .collect();
        let sum: f64 = left.iter().map(|(_, weight)| weight).sum();
        for (_, share) in &mut left {
            *share /= sum.max(f64::MIN_POSITIVE);
        }
        left.sort_by(|(_, one), (_, other)| other.total_cmp(one));
        left
    }

    /// What is left, the likeliest first.
    #[must_use]
    pub fn candidates(&self) -> Vec<Candidate<'_>> {
        let candidate = |(number, share): (usize, f64)| Candidate {
            hypothesis: &self.foreseen[number].hypothesis,
            share,
        };
        self.left().into_iter().map(candidate).collect()
    }

    /// What a measurement may show under a hypothesis that is left.
    fn range(&self, hypothesis: usize, measurement: usize) -> Interval {
        let occasion = self.measurements[measurement].occasion;
        self.explanations[hypothesis]
            .foreseen_range(
                &self.foreseen[hypothesis],
                measurement,
                occasion,
                self.tolerance,
            )
            .unwrap_or(Interval {
                lowest: 0.0,
                highest: f64::INFINITY,
            })
    }

    /// The measurement expected to tell most, leaving out those that were taken and `skipped`;
    /// absent when none can rule out anything more.
    #[must_use]
    pub fn proposal(&self, skipped: &HashSet<Measurement>) -> Option<Proposal> {
        let left = self.left();
        let worthwhile: Vec<Proposal> = (0..self.proposable)
            .filter(|&number| {
                let measurement = self.measurements[number];
                let taken = |reading: &MeterReading| reading.measurement == measurement;
                !skipped.contains(&measurement) && !self.readings.iter().any(taken)
            })
            .filter_map(|number| {
                let measurement = self.measurements[number];
                let bits = self.bits(&left, number)?;
                (bits > LEAST_BITS).then_some(Proposal { measurement, bits })
            })
            .collect();
        let best = worthwhile
            .iter()
            .map(|proposal| proposal.bits)
            .fold(0.0, f64::max);
        worthwhile
            .into_iter()
            .filter(|proposal| proposal.bits >= AS_GOOD * best)
            .min_by_key(|proposal| self.trouble(proposal.measurement))
    }

    /// What a measurement is expected to tell; absent when no two hypotheses differ on it for sure.
    fn bits(&self, left: &[(usize, f64)], number: usize) -> Option<f64> {
        let ranges: Vec<Interval> = left
            .iter()
            .map(|&(hypothesis, _)| self.range(hypothesis, number))
            .collect();
        let highest_low = ranges.iter().map(|range| range.lowest).fold(0.0, f64::max);
        let lowest_high = ranges
            .iter()
            .map(|range| range.highest)
            .fold(f64::INFINITY, f64::min);
        if highest_low <= lowest_high {
            return None;
        }
        let occasion = self.measurements[number].occasion;
        let forecasts: Vec<Forecast> = left
            .iter()
            .zip(&ranges)
            .map(|(&(_, share), &range)| Forecast {
                share,
                range: even(occasion, range),
            })
            .collect();
        Some(expected_bits(&forecasts))
    }

    /// What it takes to bring the occasion about, from where the last reading left things.
    fn trouble(&self, measurement: Measurement) -> u8 {
        let last = self.readings.last().map(|last| last.measurement.occasion);
        match measurement.occasion {
            occasion if Some(occasion) == last => 0,
            Occasion::Calling => 1,
            Occasion::Satisfied => 2,
            Occasion::BreakersOpen => 3,
            Occasion::PowerOff => 4,
        }
    }

    /// What is left, put together where no further reading can tell apart for sure, the
    /// likeliest group first.
    #[must_use]
    pub fn groups(&self) -> Vec<Vec<Candidate<'_>>> {
        let left = self.left();
        let ranges: Vec<Vec<Interval>> = left
            .iter()
            .map(|&(hypothesis, _)| {
                (0..self.measurements.len())
                    .map(|measurement| self.range(hypothesis, measurement))
                    .collect()
            })
            .collect();
        let alike = |one: usize, other: usize| {
            let mut pairs = ranges[one].iter().zip(&ranges[other]);
            !pairs.any(|(one, other)| one.is_apart_from(*other))
        };
        let mut ungrouped: Vec<usize> = (0..left.len()).collect();
        let mut groups = Vec::new();
        while !ungrouped.is_empty() {
            let mut group = vec![ungrouped.remove(0)];
            let mut at = 0;
            while at < group.len() {
                let member = group[at];
                let (joined, apart) = ungrouped
                    .iter()
                    .copied()
                    .partition(|&other| alike(member, other));
                group.extend::<Vec<usize>>(joined);
                ungrouped = apart;
                at += 1;
            }
            group.sort_unstable();
            groups.push(
                group
                    .into_iter()
                    .map(|place| Candidate {
                        hypothesis: &self.foreseen[left[place].0].hypothesis,
                        share: left[place].1,
                    })
                    .collect(),
            );
        }
        groups
    }

    /// What a measurement may show, put together where the ranges overlap, the likeliest first.
    #[must_use]
    pub fn outcomes(&self, measurement: Measurement) -> Vec<Outcome<'_>> {
        let mut number = self.measurements.iter();
        let Some(number) = number.position(|known| *known == measurement) else {
            return Vec::new();
        };
        let mut foreseen: Vec<(Interval, Candidate<'_>)> = self
            .left()
            .into_iter()
            .map(|(hypothesis, share)| {
                let candidate = Candidate {
                    hypothesis: &self.foreseen[hypothesis].hypothesis,
                    share,
                };
                (self.range(hypothesis, number), candidate)
            })
            .collect();
        foreseen.sort_by(|(one, _), (other, _)| one.lowest.total_cmp(&other.lowest));
        let mut outcomes: Vec<Outcome<'_>> = Vec::new();
        for (range, candidate) in foreseen {
            match outcomes.last_mut() {
                Some(last) if !last.range.is_apart_from(range) => {
                    last.range = last.range.joined(range);
                    last.candidates.push(candidate);
                }
                Some(_) | None => outcomes.push(Outcome {
                    range,
                    candidates: vec![candidate],
                }),
            }
        }
        let share = |outcome: &Outcome<'_>| -> f64 {
            let shares = outcome.candidates.iter().map(|candidate| candidate.share);
            shares.sum()
        };
        outcomes.sort_by(|one, other| share(other).total_cmp(&share(one)));
        outcomes
    }

    /// The hypotheses that leave fewest readings unexplained, each with those.
    #[must_use]
    pub fn nearest_misses(&self) -> Vec<(&Hypothesis, Vec<Misfit>)> {
        let mut misses: Vec<(&Hypothesis, Vec<Misfit>)> = self
            .foreseen
            .iter()
            .map(|foreseen| (&foreseen.hypothesis, self.misfits(foreseen)))
            .collect();
        misses.sort_by(|(one, misfits), (other, others)| {
            let fewer = misfits.len().cmp(&others.len());
            fewer.then(other.prior.total_cmp(&one.prior))
        });
        misses
    }

    /// Readings left out where they contradict the hypothesis and those before them.
    fn misfits(&self, foreseen: &Foreseen) -> Vec<Misfit> {
        let mut explanation = Explanation::fresh(foreseen, self.tolerance);
        let mut misfits = Vec::new();
        for &reading in &self.readings {
            let occasion = reading.measurement.occasion;
            let mut numbers = self.measurements.iter();
            let Some(number) = numbers.position(|known| *known == reading.measurement) else {
                continue;
            };
            let mut with_it = explanation.clone();
            with_it.take(foreseen, number, reading, self.tolerance);
            if with_it.explains() {
                explanation = with_it;
            } else {
                let range = explanation.foreseen_range(foreseen, number, occasion, self.tolerance);
                misfits.extend(range.map(|range| (reading, range)));
            }
        }
        misfits
    }
}
