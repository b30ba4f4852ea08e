//! P5: every way in which what was seen of a probe can have come about, sample by sample.

use hysteron_logic::probe::{FrozenCheck, ProbeFault};
use hysteron_logic::sense::Sample;
use hysteron_logic::settings::Draft;

use super::believed::{Believed, Sure};
use super::double_reading::{Span, Told};
use super::world::ClockRecord;

/// A moment, at the earliest and at the latest.
type Moment = [u64; 2];

/// A sample that could be read.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Seen {
    raw: Sample,
    span: Span,
    at_ms: Moment,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Standing {
    Undeclared,
    Declared(ProbeFault),
}

/// One way in which everything seen so far can have come about.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Case {
    standing: Standing,
    /// Bad time less good time, each from its sample to the next, never less than
    /// nothing; at the least and at the most.
    surplus_ms: [u64; 2],
    /// When a sample was last bad.
    bad_at_ms: Option<u64>,
    /// When the good spell of a declared probe began.
    good_since_ms: Option<Moment>,
    /// The last sample that was believed.
    trusted: Option<Seen>,
    /// The sample before this one, if it could be read, and what was wrong with it.
    sampled: Option<Seen>,
    found: Option<ProbeFault>,
    /// When a sample last differed from the one before.
    moved_ms: Moment,
}

impl Case {
    /// A probe of which nothing is known at `now_ms`.
    pub(super) fn unread(now_ms: u64) -> Self {
        Self {
            standing: Standing::Undeclared,
            surplus_ms: [0, 0],
            bad_at_ms: None,
            good_since_ms: None,
            trusted: None,
            sampled: None,
            found: None,
            moved_ms: [now_ms; 2],
        }
    }

    /// The samples so far mean nothing from `now_ms` on.
    pub(super) fn forget_readings(&mut self, now_ms: u64) {
        (self.trusted, self.sampled) = (None, None);
        self.moved_ms = [now_ms; 2];
    }

    /// Makes one case of two that differ in nothing but moments.
    pub(super) fn absorbs(&mut self, other: &Self) -> bool {
        let mut timeless = *other;
        let pairs = [
            (&mut timeless.trusted, self.trusted),
            (&mut timeless.sampled, self.sampled),
        ];
        for (seen, ours) in pairs {
            if let (Some(seen), Some(ours)) = (seen, ours) {
                seen.at_ms = ours.at_ms;
            }
        }
        timeless.moved_ms = self.moved_ms;
        timeless.bad_at_ms = self.bad_at_ms.and(timeless.bad_at_ms).and(self.bad_at_ms);
        if timeless.good_since_ms.is_some() && self.good_since_ms.is_some() {
            timeless.good_since_ms = self.good_since_ms;
        }
        if timeless != *self {
            return false;
        }
        self.moved_ms = union(self.moved_ms, other.moved_ms);
        self.bad_at_ms = self.bad_at_ms.max(other.bad_at_ms);
        if let (Some(ours), Some(theirs)) = (&mut self.good_since_ms, other.good_since_ms) {
            *ours = union(*ours, theirs);
        }
        let pairs = [
            (&mut self.trusted, other.trusted),
            (&mut self.sampled, other.sampled),
        ];
        for (ours, theirs) in pairs {
            if let (Some(ours), Some(theirs)) = (ours, theirs) {
                ours.at_ms = union(ours.at_ms, theirs.at_ms);
            }
        }
        true
    }
}

fn union(one: Moment, other: Moment) -> Moment {
    [one[0].min(other[0]), one[1].max(other[1])]
}

/// What is needed to judge one sample.
pub(super) struct Step<'a> {
    pub(super) raw: Sample,
    pub(super) told: Told,
    pub(super) now_ms: u64,
    pub(super) period_ms: u64,
    pub(super) clock: ClockRecord,
    pub(super) draft: &'a Draft,
}

/// Cases, and what the probe must be taken for in each.
pub(super) type Ways = Vec<(Case, Believed)>;

/// The same temperature within less than this is no sample of its own.
const SAME_SAMPLE_MS: u64 = 1_000;

/// The most that a clock which stood is believed at once when it goes on.
const CAUGHT_UP_MS: u64 = 10_000;

impl Step<'_> {
    /// Whether `since_ms` is `limit_ms` ago, by a clock that may have been doubted.
    fn has_lasted(&self, since_ms: Moment, limit_ms: u64) -> Sure {
        let [least, most] = self.ago_ms(since_ms);
        Sure::between(most >= limit_ms, least >= limit_ms)
    }

    const fn ago_ms(&self, [earliest_ms, latest_ms]: Moment) -> [u64; 2] {
        match self.clock {
            ClockRecord::Faithful => [self.now_ms - latest_ms, self.now_ms - earliest_ms],
            ClockRecord::Faulty => [0, self.now_ms - earliest_ms + CAUGHT_UP_MS],
        }
    }

    /// Whether to the control it is still the moment of the last bad sample.
    fn is_moment_of_bad(&self, case: &Case) -> Sure {
        let now = case.bad_at_ms == Some(self.now_ms);
        let faulty = self.clock == ClockRecord::Faulty;
        Sure::between(now || (faulty && case.bad_at_ms.is_some()), now)
    }

    /// Weighs the time since the step before.
    fn weigh(&self, case: &mut Case) {
        let [least_ms, most_ms] = &mut case.surplus_ms;
        let was_bad = case.bad_at_ms == Some(self.now_ms - self.period_ms);
        if was_bad || self.clock == ClockRecord::Faulty {
            *most_ms += self.period_ms;
        } else {
            *most_ms = most_ms.saturating_sub(self.period_ms);
        }
        if was_bad && self.clock == ClockRecord::Faithful {
            *least_ms += self.period_ms;
        } else {
            *least_ms = least_ms.saturating_sub(self.period_ms);
        }
    }

    /// Adds every way in which `case` can go on.
    pub(super) fn follow(&self, mut case: Case, ways: &mut Ways) {
        self.weigh(&mut case);
        let before = case.sampled;
        let fault = match self.told {
            Told::Open => Some(ProbeFault::Open),
            Told::Shorted => Some(ProbeFault::Shorted),
            Told::Beyond | Told::AtTheEnd(_) => Some(ProbeFault::OutOfRange),
            Told::At(_) => None,
        };
        if let Some(fault) = fault {
            case.sampled = None;
            self.take_bad(case, fault, ways);
        }
        let (Told::At(span) | Told::AtTheEnd(span)) = self.told else {
            return;
        };
        let seen = Seen {
            raw: self.raw,
            span,
            at_ms: [self.now_ms; 2],
        };
        for &still in self.stood_still(before, seen).ways() {
            let over = match before {
                Some(before) if still => self.has_lasted(before.at_ms, SAME_SAMPLE_MS),
                Some(_) | None => Sure::Yes,
            };
            for &over in over.ways() {
                if over {
                    case.sampled = Some(seen);
                    self.examine(case, before, seen, still, ways);
                } else {
                    case.sampled = before;
                    self.take(case, case.found, ways);
                }
            }
        }
    }

    /// Judges a sample that could be read and is not the same as before.
    fn examine(
        &self,
        mut case: Case,
        before: Option<Seen>,
        seen: Seen,
        still: bool,
        ways: &mut Ways,
    ) {
        if !still {
            case.moved_ms = [self.now_ms; 2];
        }
        // Once declared, a probe that stays where it leapt to may become good again.
        let reference = match case.standing {
            Standing::Undeclared => case.trusted,
            Standing::Declared(_) => before,
        };
        for &jumped in self.jumped(reference, seen).ways() {
            let frozen = match self.draft.probe_frozen {
                FrozenCheck::After(limit) if still && !jumped => {
                    self.has_lasted(case.moved_ms, limit.millis())
                }
                FrozenCheck::After(_) | FrozenCheck::Off => Sure::No,
            };
            for &frozen in frozen.ways() {
                let jumped = jumped.then_some(ProbeFault::ImplausibleJump);
                self.take(case, jumped.or(frozen.then_some(ProbeFault::Frozen)), ways);
            }
        }
    }

    /// Whether the control must read the same temperature twice.
    fn stood_still(&self, before: Option<Seen>, now: Seen) -> Sure {
        /// Temperatures that differ by more than this are never rounded to one.
        const ONE_STEP_MC: f64 = 1.2;
        let Some(before) = before else {
            return Sure::No;
        };
        if before.raw == now.raw {
            return Sure::Yes;
        }
        let moved_mc = (now.span.exact_mc - before.span.exact_mc).abs();
        let slack_mc = before.span.slack_mc + now.span.slack_mc;
        if slack_mc == 0.0 {
            Sure::between(moved_mc == 0.0, moved_mc == 0.0)
        } else {
            Sure::between(moved_mc <= slack_mc.min(ONE_STEP_MC), false)
        }
    }

    /// Whether the reading moved by more than 3 K and a quarter of a kelvin a second.
    fn jumped(&self, from: Option<Seen>, to: Seen) -> Sure {
        let Some(from) = from else {
            return Sure::No;
        };
        let moved_mc = (to.span.exact_mc - from.span.exact_mc).abs();
        let slack_mc = to.span.slack_mc + from.span.slack_mc;
        let [at_least, at_most] = self
            .ago_ms(from.at_ms)
            .map(|ago_ms| 3_000.0 + (ago_ms / 4) as f64);
        Sure::between(
            moved_mc + slack_mc > at_least,
            moved_mc - slack_mc > at_most,
        )
    }

    fn take(&self, mut case: Case, found: Option<ProbeFault>, ways: &mut Ways) {
        case.found = found;
        match found {
            Some(fault) => self.take_bad(case, fault, ways),
            None => self.take_good(case, ways),
        }
    }

    fn take_good(&self, mut case: Case, ways: &mut Ways) {
        if let Standing::Declared(fault) = case.standing {
            for &bad_now in self.is_moment_of_bad(&case).ways() {
                self.go_on_declared(case, fault, bad_now, ways);
            }
            return;
        }
        case.trusted = case.sampled;
        ways.extend(case.trusted.map(|seen| (case, Believed::Now(seen.span))));
    }

    /// A good sample of a declared probe, which ends the fault after a steady good spell.
    fn go_on_declared(&self, mut case: Case, fault: ProbeFault, bad_now: bool, ways: &mut Ways) {
        let since_ms = case.good_since_ms.unwrap_or([self.now_ms; 2]);
        case.good_since_ms = (!bad_now).then_some(since_ms);
        let recovery_ms = self.draft.probe_recovery_time.millis();
        let recovered = if bad_now {
            Sure::No
        } else {
            self.has_lasted(since_ms, recovery_ms)
        };
        for &recovered in recovered.ways() {
            if recovered {
                let good = Case {
                    standing: Standing::Undeclared,
                    surplus_ms: [0, 0],
                    bad_at_ms: None,
                    good_since_ms: None,
                    ..case
                };
                self.take_good(good, ways);
            } else {
                ways.push((case, Believed::Fault(fault)));
            }
        }
    }

    fn take_bad(&self, mut case: Case, fault: ProbeFault, ways: &mut Ways) {
        case.bad_at_ms = Some(self.now_ms);
        let delay_ms = self.draft.probe_fault_delay.millis();
        let [least_ms, most_ms] = case.surplus_ms;
        let caught_up_ms = match self.clock {
            ClockRecord::Faithful => 0,
            ClockRecord::Faulty => CAUGHT_UP_MS,
        };
        let (fault, declared) = match case.standing {
            Standing::Declared(first) => (first, Sure::Yes),
            Standing::Undeclared => (
                fault,
                Sure::between(most_ms + caught_up_ms >= delay_ms, least_ms >= delay_ms),
            ),
        };
        for &declared in declared.ways() {
            let believed = if declared {
                (case.standing, case.good_since_ms) = (Standing::Declared(fault), None);
                Believed::Fault(fault)
            } else {
                case.standing = Standing::Undeclared;
                let held = case.trusted.map(|seen| seen.span);
                held.map_or(Believed::Nothing, Believed::Held)
            };
            ways.push((case, believed));
        }
    }
}
