//! P5: what the probe must be taken for, by a count of bad and good time of its own.
//!
//! Nothing here is asked of the control. Each sample is read by
//! [`super::double_reading`]; from that and from true time follow the reading that
//! holds, the doubt and the declared fault, and what the control tells must be that.
//!
//! Two things can't be told from outside: to which side the control rounds where
//! a few hundredths of a kelvin decide, and how much of the time a faulty
//! clock was believed. There, and only there, both ways are followed until what the
//! control tells rules one out; how often that was needed is counted.

use hysteron_logic::curve::Curve;
use hysteron_logic::settings::{Draft, Settings};
use hysteron_logic::units::Difference;

use super::belief_case::{Case, Step};
use super::believed::Believed;
use super::double_reading::told;
use super::observer::Findings;
use super::world::{ClockRecord, Sight};

/// How a sample becomes a temperature.
type View = (Curve, u32, Difference);

/// The observer's belief in the probe.
#[derive(Debug, Clone)]
pub struct Belief {
    view: Option<View>,
    cases: Vec<Case>,
    believed: Believed,
}

impl Belief {
    /// Of a probe that has not been sampled since power-up at `now_ms`.
    #[must_use]
    pub fn at_power_up(now_ms: u64) -> Self {
        Self {
            view: None,
            cases: vec![Case::unread(now_ms)],
            believed: Believed::Nothing,
        }
    }

    /// What the space must be taken for.
    #[must_use]
    pub const fn believed(&self) -> Believed {
        self.believed
    }

    /// Takes one step's sample under the settings in force and holds what was told against it.
    ///
    /// # Panics
    /// Where more is unsure than could be followed.
    pub fn judge(&mut self, sight: &Sight, settings: &Settings, findings: &mut Findings) {
        const MOST_CASES: usize = 64;
        let draft = settings.draft();
        self.look_through(draft, sight, findings);
        let step = Step {
            raw: sight.input.sample,
            told: told(sight.input.sample, draft),
            now_ms: sight.true_ms,
            period_ms: sight.period_ms,
            clock: sight.clock,
            draft,
        };
        let mut ways = Vec::with_capacity(1);
        for case in &self.cases {
            step.follow(*case, &mut ways);
        }
        if ways.iter().any(|(_, believed)| *believed != ways[0].1) {
            findings.tally.count(match sight.clock {
                ClockRecord::Faithful => "probe judged with room for rounding",
                ClockRecord::Faulty => "probe judged with room for a faulty clock",
            });
        }
        let trust = sight.decision.trust;
        let told = ways.iter().any(|(_, believed)| believed.may_be_told(trust));
        findings.promise(5, told, || {
            let due: Vec<_> = ways.iter().map(|(_, believed)| believed).collect();
            format!(
                "the probe is told {trust:?}, it must be one of {due:?}: {:?}",
                self.cases
            )
        });
        if told {
            ways.retain(|(_, believed)| believed.may_be_told(trust));
        } else {
            ways.truncate(1);
        }
        self.believed = ways[0].1;
        self.cases.clear();
        for (case, _) in ways {
            // A faulty clock leaves too many moments possible to be followed one by one.
            let known = match sight.clock {
                ClockRecord::Faithful => self.cases.contains(&case),
                ClockRecord::Faulty => self.cases.iter_mut().any(|known| known.absorbs(&case)),
            };
            if !known {
                self.cases.push(case);
            }
        }
        assert!(self.cases.len() <= MOST_CASES, "{:#?}", self.cases);
    }

    /// Under another curve, divider or offset the samples so far mean nothing.
    fn look_through(&mut self, draft: &Draft, sight: &Sight, findings: &mut Findings) {
        let view = (draft.curve, draft.fixed_resistor_ohms, draft.probe_offset);
        let before = self.view.replace(view);
        if before.is_none_or(|before| before == view) {
            return;
        }
        for case in &mut self.cases {
            case.forget_readings(sight.true_ms);
        }
        let believed = matches!(self.believed, Believed::Now(_));
        let changed = before.map(|(curve, fixed, _)| (curve, fixed)) != Some((view.0, view.1));
        findings.tally.count_if(
            believed,
            if changed {
                "curve of a believed probe changed"
            } else {
                "offset of a believed probe changed"
            },
        );
    }
}
