//! What if the probe is not to be believed?
//!
//! Runs and rests are counted from the relay's own movements, so a run that a
//! hold delayed is not made up for by a shorter rest: the share of time on
//! never exceeds what the settings say.

use crate::call::Mode;
use crate::duty::Permille;
use crate::guard::Relay;
use crate::time::Duration;

/// Minutes on and minutes off, in turn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Cycle {
    /// Length of a run.
    pub on: Duration,
    /// Length of a rest.
    pub off: Duration,
}

/// What the relay does while a probe fault is declared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Fallback {
    /// Open the relay.
    Open,
    /// Keep it closed. Refused in heat mode.
    Closed,
    /// Runs and rests of fixed length.
    TimedCycle(Cycle),
    /// Carries on at the duty of the last 24 hours of good running (see
    /// [`crate::duty`]), with runs and rests no shorter than the cycle's; the cycle
    /// itself until that much is known.
    MeasuredDuty(Cycle),
}

/// What the fallback asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Ask {
    /// The relay opens and stays open, overriding the minimum on-time.
    Open,
    /// A run.
    Run,
    /// A rest between runs.
    Rest,
}

impl Fallback {
    /// What is asked for, given how long the relay has been where it is.
    #[must_use]
    pub fn asks(
        self,
        mode: Mode,
        duty: Option<Permille>,
        relay: Relay,
        unchanged_for: Duration,
    ) -> Ask {
        let cycle = match self {
            Self::Open => return Ask::Open,
            Self::Closed => return Ask::Run,
            Self::TimedCycle(cycle) => cycle,
            Self::MeasuredDuty(cycle) => match duty {
                None => cycle,
                Some(duty) => return at_duty(cycle, duty, mode, relay, unchanged_for),
            },
        };
        let (length, during, then) = match relay {
            Relay::Closed => (cycle.on, Ask::Run, Ask::Rest),
            Relay::Open => (cycle.off, Ask::Rest, Ask::Run),
        };
        if unchanged_for < length { during } else { then }
    }
}

/// The cycle with its run or its rest made longer until it has the duty.
fn at_duty(cycle: Cycle, duty: Permille, mode: Mode, relay: Relay, unchanged_for: Duration) -> Ask {
    let duty = match mode {
        Mode::Cool => duty,
        Mode::Heat => duty.min(Permille::HALF),
    };
    let on = u64::from(duty.thousandths());
    let off = 1_000_u64.saturating_sub(on);
    match (on, off, relay) {
        (0, _, _) => Ask::Rest,
        (_, 0, _) => Ask::Run,
        (_, _, Relay::Closed) if lasts(unchanged_for, cycle.on, (on, off), cycle.off) => Ask::Run,
        (_, _, Relay::Closed) => Ask::Rest,
        (_, _, Relay::Open) if lasts(unchanged_for, cycle.off, (off, on), cycle.on) => Ask::Rest,
        (_, _, Relay::Open) => Ask::Run,
    }
}

/// Whether a turn goes on after `spent`: it lasts for its `least`, and for as long as its
/// share against the other's asks of it beside the least of the other turn.
///
/// That is whole milliseconds of `other * share / others_share`, multiplied out: a division
/// is dear on the chip. Nothing wraps before half a million years are spent.
fn lasts(spent: Duration, least: Duration, shares: (u64, u64), other: Duration) -> bool {
    let (share, others_share) = shares;
    let due = spent.millis().saturating_add(1).wrapping_mul(others_share);
    spent < least || due <= other.millis().wrapping_mul(share)
}

#[cfg(test)]
mod tests {
    use super::*;

    const CYCLE: Cycle = Cycle {
        on: Duration::from_minutes(10),
        off: Duration::from_minutes(20),
    };

    #[test]
    fn a_cycle_follows_the_relay() {
        let timed = Fallback::TimedCycle(CYCLE);
        let asks =
            |relay, minutes| timed.asks(Mode::Cool, None, relay, Duration::from_minutes(minutes));
        assert_eq!(asks(Relay::Open, 19), Ask::Rest);
        assert_eq!(asks(Relay::Open, 20), Ask::Run);
        assert_eq!(asks(Relay::Closed, 9), Ask::Run);
        assert_eq!(asks(Relay::Closed, 10), Ask::Rest);
    }

    fn duty_cycle(mode: Mode, thousandths: u16) -> (u32, u32) {
        let fallback = Fallback::MeasuredDuty(CYCLE);
        let turns = |relay, from| {
            (0..10_000).find(|&minutes| {
                fallback.asks(
                    mode,
                    Some(Permille::new(thousandths)),
                    relay,
                    Duration::from_minutes(minutes),
                ) != from
            })
        };
        (
            turns(Relay::Closed, Ask::Run).unwrap_or(u32::MAX),
            turns(Relay::Open, Ask::Rest).unwrap_or(u32::MAX),
        )
    }

    #[test]
    fn a_measured_duty_is_kept() {
        assert_eq!(duty_cycle(Mode::Cool, 750), (60, 20));
        assert_eq!(duty_cycle(Mode::Cool, 250), (10, 30));
        assert_eq!(duty_cycle(Mode::Cool, 0), (0, u32::MAX));
        assert_eq!(duty_cycle(Mode::Cool, 1_000), (u32::MAX, 0));
    }

    #[test]
    fn a_measured_duty_is_kept_to_the_millisecond() {
        let cycle = Cycle {
            on: Duration::from_millis(61_003),
            off: Duration::from_millis(65_537),
        };
        let fallback = Fallback::MeasuredDuty(cycle);
        for thousandths in 1..1_000 {
            let (on, off) = (u64::from(thousandths), 1_000 - u64::from(thousandths));
            let run = cycle.on.millis().max(cycle.off.millis() * on / off);
            let rest = cycle.off.millis().max(cycle.on.millis() * off / on);
            let duty = Some(Permille::new(thousandths));
            let asks = |relay, millis| {
                fallback.asks(Mode::Cool, duty, relay, Duration::from_millis(millis))
            };
            assert_eq!(asks(Relay::Closed, run - 1), Ask::Run, "{thousandths}");
            assert_eq!(asks(Relay::Closed, run), Ask::Rest, "{thousandths}");
            assert_eq!(asks(Relay::Open, rest - 1), Ask::Rest, "{thousandths}");
            assert_eq!(asks(Relay::Open, rest), Ask::Run, "{thousandths}");
        }
    }

    #[test]
    fn heat_is_on_for_half_the_time_at_most() {
        for thousandths in [500, 750, 1_000] {
            assert_eq!(duty_cycle(Mode::Heat, thousandths), (20, 20));
        }
    }

    #[test]
    fn the_cycle_stands_in_until_the_duty_is_known() {
        let fallback = Fallback::MeasuredDuty(CYCLE);
        let asked = fallback.asks(Mode::Cool, None, Relay::Open, CYCLE.off);
        assert_eq!(asked, Ask::Run);
    }
}
