//! The fast path: nothing that decides has changed, so the last answer stands.
//!
//! Most steps of a day take it. After a full step that left nothing pending the
//! control notes between which temperatures, until when and under which feedback
//! a further step could only answer the same; while that is so, it takes note of
//! the time and the sample and answers. Anything else takes the full step.

use super::fast_path_bounds::FastPath;
use super::{Control, Input, Origin};
use crate::alarm::{Alarm, AlarmLimit};
use crate::call::{Call, Mode};
use crate::clock::ClockCondition;
use crate::contact::{Contact, Feedback};
use crate::control::{Decision, Reason, SAMPLE_PERIOD};
use crate::defrost::{Defrost, DefrostPlan};
use crate::event::Events;
use crate::guard::Holds;
use crate::probe::{Measurement, Trust};
use crate::time::{Duration, Instant};
use crate::units::{Difference, Temperature};

const END_OF_TIME: Instant = Instant::from_millis(u64::MAX);
const COLDEST_OF_ALL: Temperature = Temperature::from_millicelsius(i32::MIN);
const WARMEST_OF_ALL: Temperature = Temperature::from_millicelsius(i32::MAX);
const NEXT: Difference = Difference::from_millikelvin(1);

impl Control {
    /// The answer of a fast step; `None`, with nothing touched, where a full step is needed.
    #[inline]
    pub(super) fn fast_step(
        &mut self,
        told: Instant,
        input: &Input,
        measured: Measurement,
    ) -> Option<Decision> {
        let fast = self.fast_path.as_ref()?;
        let Measurement::At(temperature) = measured else {
            return None;
        };
        let ahead = self.clock.plain_step(told)?;
        let now = self.clock.now().after(ahead);
        let in_bounds = fast.coldest <= temperature && temperature <= fast.warmest;
        if !in_bounds || now >= fast.until || input.feedback != fast.feedback {
            return None;
        }
        if !self.probe.takes_plainly(now, temperature) {
            return None;
        }
        self.clock.go_on(told, ahead);
        let trust = Trust::Good(temperature);
        self.trust = trust;
        let relay = self.guard.relay();
        self.duty.add(ahead, relay);
        let holds = fast.holds.less(now.since(fast.since));
        Some(Decision {
            relay,
            reason: fast.reason,
            holds,
            wake: told.after(holds.next_end().min(SAMPLE_PERIOD)),
            trust,
            call: self.call,
            high_alarm: Alarm::Quiet,
            low_alarm: Alarm::Quiet,
            known_duty_hours: self.duty.known_hours(),
            contact: Contact::Sound,
            answer: None,
            events: Events::new(),
        })
    }

    /// What may take the fast path after a full step that decided for `reason` under `holds`,
    /// the first of which ends in `next_end`: a good probe rules, and nothing but the call
    /// and the guard has a say.
    pub(super) fn fast_path_after(
        &self,
        feedback: Feedback,
        reason: Reason,
        holds: Holds,
        next_end: Duration,
    ) -> Option<FastPath> {
        let settled = self.is_free_to_run()
            && self.origin == Origin::Given
            && self.too_hot_since.is_none()
            && self.clock.condition() == ClockCondition::Running
            && self.guard.moment_is_known()
            && matches!(self.trust, Trust::Good(_))
            && self.contact == Contact::Sound
            && self.contact_proof.agrees(self.guard.relay(), feedback)
            && self.alarms.at_rest();
        let Defrost::Waiting { since } = self.defrost else {
            return None;
        };
        let draft = self.settings.draft();
        let defrost_at = match draft.defrost {
            DefrostPlan::Off => END_OF_TIME,
            DefrostPlan::Every { interval, .. } => since.after(interval),
        };
        let frozen_at = self.probe.frozen_at(self.settings.qualification().frozen);
        let now = self.clock.now();
        let (mut coldest, mut warmest) = self.same_call();
        if let AlarmLimit::Beyond { limit, .. } = draft.low_alarm {
            coldest = coldest.max(limit);
        }
        if let AlarmLimit::Beyond { limit, .. } = draft.high_alarm {
            warmest = warmest.min(limit);
        }
        settled.then_some(FastPath {
            coldest,
            warmest,
            since: now,
            holds,
            until: defrost_at.min(frozen_at).min(now.after(next_end)),
            feedback,
            reason,
        })
    }

    /// The coldest and the warmest temperature at which the call stays as it is
    /// and heat does not reach its ceiling.
    fn same_call(&self) -> (Temperature, Temperature) {
        let band = self.settings.band();
        match (band.mode, self.call) {
            (Mode::Cool, Call::Calling) => (band.cut_out.raised_by(NEXT), WARMEST_OF_ALL),
            (Mode::Cool, Call::Satisfied) => (COLDEST_OF_ALL, band.cut_in.lowered_by(NEXT)),
            (Mode::Heat, Call::Calling) => (COLDEST_OF_ALL, band.cut_out.lowered_by(NEXT)),
            (Mode::Heat, Call::Satisfied) => (
                band.cut_in.raised_by(NEXT),
                self.settings.draft().heat_ceiling.lowered_by(NEXT),
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::control::{Command, Retained, StoredSettings};
    use crate::event::Event;
    use crate::guard::Relay;
    use crate::input::SettingsLock;
    use crate::probe::{FrozenCheck, ProbeFault};
    use crate::sense::Sample;
    use crate::settings::{Draft, Settings};

    use super::*;

    /// Small, repeatable and of no consequence but for variety.
    struct Dice(u64);

    impl Dice {
        fn roll(&mut self, sides: u64) -> u64 {
            self.0 = self
                .0
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            (self.0 >> 33) % sides
        }
    }

    fn settings(dice: &mut Dice) -> Settings {
        let mut draft = if dice.roll(2) == 0 {
            Draft::COOLING
        } else {
            Draft::HEATING
        };
        draft.setpoint = Temperature::from_millicelsius(10_000);
        draft.differential = Difference::from_millikelvin(1_500);
        draft.heat_ceiling = Temperature::from_millicelsius(11_900);
        draft.heat_ceiling_confirmation = Duration::from_seconds(20 * dice.roll(2) as u32);
        draft.grace_after_defrost = Duration::from_minutes(10);
        let delay = Duration::from_seconds(30);
        if dice.roll(2) == 0 {
            let limit = Temperature::from_millicelsius(12_000);
            draft.high_alarm = AlarmLimit::Beyond { limit, delay };
        }
        if dice.roll(2) == 0 {
            let limit = Temperature::from_millicelsius(9_000);
            draft.low_alarm = AlarmLimit::Beyond { limit, delay };
        }
        if dice.roll(2) == 0 {
            draft.probe_frozen = FrozenCheck::After(Duration::from_minutes(10));
        }
        draft.pull_down_grace = Duration::from_minutes(10);
        if draft.mode == Mode::Cool && dice.roll(2) == 0 {
            draft.defrost = DefrostPlan::Every {
                interval: Duration::from_hours(1),
                length: Duration::from_minutes(5),
            };
        }
        draft.check().unwrap()
    }

    #[test]
    fn a_fast_step_answers_as_a_full_one() {
        let (mut fast_steps, mut moved, mut raised, mut defrosts) = (0, 0, 0, 0);
        let (mut welds, mut frozen, mut too_hot) = (0, 0, 0);
        let (mut losses, mut burnt) = (0, 0);
        for seed in 0..60 {
            let mut dice = Dice(seed);
            let stored = StoredSettings::Whole(settings(&mut dice));
            let mut quick = Control::at_power_up(stored, &Retained::default());
            let mut full = quick.clone();
            let (mut told_ms, mut welded, mut dead_for) = (0_u64, false, 0_u64);
            let (mut still_for, mut millicelsius) = (0, 0);
            for second in 0..20_000 {
                told_ms = match dice.roll(2_000) {
                    0 => told_ms.saturating_sub(dice.roll(20_000)),
                    1 => told_ms + dice.roll(30_000),
                    2 => told_ms,
                    _ => told_ms + 500 + dice.roll(1_000),
                };
                // Up and down across both thresholds, with the noise of a probe.
                let swing = 6 * (750 - (second % 1_500 - 750_i32).abs());
                let moving = 7_800 + swing + dice.roll(61) as i32;
                still_for = match (still_for, dice.roll(4_000)) {
                    (0, 0) => dice.roll(2_000),
                    (more, _) => more.saturating_sub(1),
                };
                if still_for == 0 {
                    millicelsius = moving;
                }
                let mut input = Input::sampled(match dice.roll(3_000) {
                    0 => Sample::Temperature(Temperature::from_millicelsius(millicelsius + 9_000)),
                    _ => Sample::Temperature(Temperature::from_millicelsius(millicelsius)),
                });
                welded = match dice.roll(1_500) {
                    0 => true,
                    1..=30 => false,
                    _ => welded,
                };
                dead_for = match (dead_for, dice.roll(2_000)) {
                    (0, 0) => 1 + dice.roll(3),
                    (0, 1) => 900,
                    (more, _) => more.saturating_sub(1),
                };
                input.feedback = match (quick.guard.relay(), welded) {
                    _ if dead_for > 0 => Feedback::Open,
                    (Relay::Closed, _) | (Relay::Open, true) => Feedback::Closed,
                    (Relay::Open, false) => Feedback::Open,
                };
                input.command = match dice.roll(6_000) {
                    0 => Some(Command::Change(settings(&mut dice))),
                    1 => Some(Command::SwitchOff),
                    2..=60 => Some(Command::ReleaseLockout),
                    61..=80 => Some(Command::SwitchOn),
                    _ => None,
                };
                if dice.roll(50) == 0 {
                    input.lock = SettingsLock::Locked;
                }
                full.fast_path = None;
                let told = Instant::from_millis(told_ms);
                let expected = full.step(told, &input);
                fast_steps += u32::from(quick.fast_path.is_some());
                assert_eq!(quick.step(told, &input), expected, "seed {seed}");
                moved += u32::from(!expected.events.is_empty());
                raised += u32::from(expected.high_alarm == Alarm::Raised);
                losses += u32::from(expected.events.contains(&Event::VoltageLost));
                burnt += u32::from(expected.contact == Contact::Burnt);
                welds += u32::from(expected.contact == Contact::Welded);
                defrosts += u32::from(expected.reason == Reason::Defrost);
                too_hot += u32::from(expected.reason == Reason::HeatCeiling);
                frozen += u32::from(expected.trust == Trust::Fault(ProbeFault::Frozen));
            }
            full.fast_path = quick.fast_path;
            assert_eq!(format!("{quick:?}"), format!("{full:?}"), "seed {seed}");
        }
        assert!(fast_steps > 100_000 && welds > 100, "{fast_steps} {welds}");
        assert!(losses > 100 && burnt > 100, "{losses} {burnt}");
        assert!(
            moved > 1_000 && raised > 100 && defrosts > 100 && frozen > 100 && too_hot > 100,
            "{moved} {raised} {defrosts} {frozen} {too_hot}"
        );
    }
}
