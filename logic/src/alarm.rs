//! High and low temperature alarms. They tell a person; they never move the relay.

use crate::call::Mode;
use crate::defrost::Defrost;
use crate::event::Event;
use crate::time::{Duration, Instant};
use crate::units::Temperature;

/// One temperature alarm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum AlarmLimit {
    /// No alarm.
    Off,
    /// The temperature beyond `limit` for `delay` raises it.
    Beyond {
        /// The last temperature that is still fine.
        limit: Temperature,
        /// How long it may lie beyond.
        delay: Duration,
    },
}

/// On which side of its limit an alarm watches.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Warmer than the limit is wrong.
    High,
    /// Colder than the limit is wrong.
    Low,
}

/// Whether the alarm watches, or the plant is given time to get there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Watch {
    /// A temperature beyond the limit counts.
    Watching,
    /// Pull-down (or warm-up) after power-up, a change of mode or a defrost: it does not count.
    Grace,
}

/// Whether an alarm stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Alarm {
    /// Nothing wrong, or not for long enough.
    #[default]
    Quiet,
    /// Beyond the limit for longer than the delay.
    Raised,
}

/// Watches one side.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TemperatureAlarm {
    side: Side,
    beyond_since: Option<Instant>,
}

impl TemperatureAlarm {
    /// A quiet alarm.
    #[must_use]
    pub const fn on_side(side: Side) -> Self {
        Self {
            side,
            beyond_since: None,
        }
    }

    /// Whether the alarm stands at `now`. Without a `temperature` (a declared
    /// probe fault, which is told as such) the last answer stands.
    pub fn judge(
        &mut self,
        now: Instant,
        temperature: Option<Temperature>,
        limit: AlarmLimit,
        watch: Watch,
    ) -> Alarm {
        let AlarmLimit::Beyond { delay, .. } = limit else {
            self.beyond_since = None;
            return Alarm::Quiet;
        };
        if let Some(temperature) = temperature {
            let beyond = lies_beyond(self.side, temperature, limit);
            self.beyond_since = match (beyond, watch) {
                (true, Watch::Watching) => Some(self.beyond_since.unwrap_or(now)),
                (true, Watch::Grace) | (false, _) => None,
            };
        }
        match self.beyond_since {
            Some(since) if now.since(since) >= delay => Alarm::Raised,
            Some(_) | None => Alarm::Quiet,
        }
    }
}

/// What the alarms of one control are set to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AlarmPlan {
    /// Which way the load works: its side of the setpoint is given grace.
    pub mode: Mode,
    /// High temperature alarm.
    pub high: AlarmLimit,
    /// Low temperature alarm.
    pub low: AlarmLimit,
    /// How long the grace lasts.
    pub grace: Duration,
}

/// Both alarms of one control.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Alarms {
    grace_since: Instant,
    high: (TemperatureAlarm, Alarm),
    low: (TemperatureAlarm, Alarm),
}

impl Alarms {
    /// Quiet, and with the grace of power-up.
    #[must_use]
    pub const fn at_power_up(now: Instant) -> Self {
        Self {
            grace_since: now,
            high: (TemperatureAlarm::on_side(Side::High), Alarm::Quiet),
            low: (TemperatureAlarm::on_side(Side::Low), Alarm::Quiet),
        }
    }

    /// Gives the load a whole grace again.
    pub const fn give_grace(&mut self, now: Instant) {
        self.grace_since = now;
    }

    /// Whether the high alarm stands.
    #[must_use]
    pub const fn high(&self) -> Alarm {
        self.high.1
    }

    /// Whether the low alarm stands.
    #[must_use]
    pub const fn low(&self) -> Alarm {
        self.low.1
    }

    /// Judges both at `now` and lets `tell` know what changed. A defrost has its grace
    /// while it lasts, and `temperature` is as for [`TemperatureAlarm::judge`].
    #[inline]
    pub fn judge(
        &mut self,
        now: Instant,
        temperature: Option<Temperature>,
        plan: AlarmPlan,
        defrost: Defrost,
        mut tell: impl FnMut(Event),
    ) {
        if !self.has_work(temperature, &plan) {
            return;
        }
        let in_grace = now.since(self.grace_since) < plan.grace;
        let loaded = match (defrost, in_grace) {
            (Defrost::Resting { .. }, _) | (Defrost::Waiting { .. }, true) => Watch::Grace,
            (Defrost::Waiting { .. }, false) => Watch::Watching,
        };
        let (high_watch, low_watch) = match plan.mode {
            Mode::Cool => (loaded, Watch::Watching),
            Mode::Heat => (Watch::Watching, loaded),
        };
        let high = self.high.0.judge(now, temperature, plan.high, high_watch);
        let low = self.low.0.judge(now, temperature, plan.low, low_watch);
        let (high_before, low_before) = (self.high.1, self.low.1);
        self.high.1 = high;
        self.low.1 = low;
        let edges = [
            edge(
                high_before,
                high,
                Event::HighAlarmRaised,
                Event::HighAlarmEnded,
            ),
            edge(low_before, low, Event::LowAlarmRaised, Event::LowAlarmEnded),
        ];
        edges.into_iter().flatten().for_each(&mut tell);
    }

    /// Whether neither alarm stands or is on its way to.
    #[must_use]
    pub const fn at_rest(&self) -> bool {
        self.high.0.beyond_since.is_none() && self.low.0.beyond_since.is_none()
    }

    /// Whether a temperature lies beyond a limit, or did at the last step.
    fn has_work(&self, temperature: Option<Temperature>, plan: &AlarmPlan) -> bool {
        let beyond = |side, limit| temperature.is_some_and(|here| lies_beyond(side, here, limit));
        !self.at_rest() || beyond(Side::High, plan.high) || beyond(Side::Low, plan.low)
    }
}

fn lies_beyond(side: Side, temperature: Temperature, limit: AlarmLimit) -> bool {
    match (side, limit) {
        (_, AlarmLimit::Off) => false,
        (Side::High, AlarmLimit::Beyond { limit, .. }) => temperature > limit,
        (Side::Low, AlarmLimit::Beyond { limit, .. }) => temperature < limit,
    }
}

const fn edge(before: Alarm, after: Alarm, raised: Event, ended: Event) -> Option<Event> {
    match (before, after) {
        (Alarm::Quiet, Alarm::Raised) => Some(raised),
        (Alarm::Raised, Alarm::Quiet) => Some(ended),
        (Alarm::Quiet, Alarm::Quiet) | (Alarm::Raised, Alarm::Raised) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_alarm_waits_for_its_delay_and_for_the_grace() {
        let limit = AlarmLimit::Beyond {
            limit: Temperature::from_millicelsius(8_000),
            delay: Duration::from_minutes(15),
        };
        let warm = Some(Temperature::from_millicelsius(8_001));
        let fine = Some(Temperature::from_millicelsius(8_000));
        let at = |minutes| Instant::POWER_UP.after(Duration::from_minutes(minutes));
        let mut alarm = TemperatureAlarm::on_side(Side::High);
        assert_eq!(alarm.judge(at(0), warm, limit, Watch::Grace), Alarm::Quiet);
        assert_eq!(
            alarm.judge(at(60), warm, limit, Watch::Watching),
            Alarm::Quiet
        );
        assert_eq!(
            alarm.judge(at(74), warm, limit, Watch::Watching),
            Alarm::Quiet
        );
        assert_eq!(
            alarm.judge(at(75), warm, limit, Watch::Watching),
            Alarm::Raised
        );
        assert_eq!(
            alarm.judge(at(76), None, limit, Watch::Watching),
            Alarm::Raised
        );
        assert_eq!(
            alarm.judge(at(77), fine, limit, Watch::Watching),
            Alarm::Quiet
        );
        let mut alarm = TemperatureAlarm::on_side(Side::Low);
        let cold = Some(Temperature::from_millicelsius(7_999));
        assert_eq!(
            alarm.judge(at(0), fine, limit, Watch::Watching),
            Alarm::Quiet
        );
        assert_eq!(
            alarm.judge(at(1), cold, limit, Watch::Watching),
            Alarm::Quiet
        );
        assert_eq!(
            alarm.judge(at(16), cold, limit, Watch::Watching),
            Alarm::Raised
        );
    }
}
