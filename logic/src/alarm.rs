//! High and low temperature alarms. They tell a person; they never move the relay.
//!
//! Time beyond a limit adds up until the delay is reached. The alarm on the load's side
//! waits while the load cannot help it: in a defrost and its grace nothing adds up and
//! nothing goes away; in the pull-down after power-up or a change of mode nothing adds up.
//! Neither silences an alarm that stands.

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
    /// Time beyond the limit counts; a temperature within it ends the spell.
    Watching,
    /// Pull-down (or warm-up) after power-up or a change of mode: time does not count, and
    /// a temperature within the limit ends the spell.
    PullDown,
    /// A defrost or its grace: time does not count, and no temperature ends the spell.
    Defrost,
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
    /// Time in this spell beyond the limit that counts.
    spell: Option<Duration>,
}

impl TemperatureAlarm {
    /// A quiet alarm.
    #[must_use]
    pub const fn on_side(side: Side) -> Self {
        Self { side, spell: None }
    }

    /// Whether the alarm stands now that `stretch` has passed since it was judged last.
    /// Without a `temperature` (a suspect probe, or a declared fault, which is told as such)
    /// the last one is taken to last.
    pub fn judge(
        &mut self,
        stretch: Duration,
        temperature: Option<Temperature>,
        limit: &AlarmLimit,
        watch: Watch,
    ) -> Alarm {
        let AlarmLimit::Beyond { delay, .. } = limit else {
            self.spell = None;
            return Alarm::Quiet;
        };
        let beyond = temperature.map(|here| lies_beyond(self.side, here, limit));
        self.spell = match (watch, beyond) {
            (Watch::Watching | Watch::PullDown, Some(false)) => None,
            (Watch::Watching, Some(true)) => Some(
                self.spell
                    .map_or(Duration::ZERO, |counted| counted.and(stretch)),
            ),
            (Watch::Watching, None) => self.spell.map(|counted| counted.and(stretch)),
            (Watch::PullDown, Some(true) | None) | (Watch::Defrost, _) => self.spell,
        };
        match self.spell {
            Some(counted) if counted >= *delay => Alarm::Raised,
            Some(_) | None => Alarm::Quiet,
        }
    }
}

/// What the alarms of one control are set to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AlarmPlan<'a> {
    /// Which way the load works: its side of the setpoint is given grace.
    pub mode: Mode,
    /// High temperature alarm.
    pub high: &'a AlarmLimit,
    /// Low temperature alarm.
    pub low: &'a AlarmLimit,
    /// How long the pull-down lasts.
    pub pull_down_grace: Duration,
    /// How long after a defrost the load is given to make up for it.
    pub grace_after_defrost: Duration,
}

/// Both alarms of one control.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Alarms {
    pull_down_since: Instant,
    defrost_ended: Option<Instant>,
    high: (TemperatureAlarm, Alarm),
    low: (TemperatureAlarm, Alarm),
}

impl Alarms {
    /// Quiet, and pulling down.
    #[must_use]
    pub const fn at_power_up(now: Instant) -> Self {
        Self {
            pull_down_since: now,
            defrost_ended: None,
            high: (TemperatureAlarm::on_side(Side::High), Alarm::Quiet),
            low: (TemperatureAlarm::on_side(Side::Low), Alarm::Quiet),
        }
    }

    /// Gives the load a whole pull-down again.
    pub const fn give_grace(&mut self, now: Instant) {
        self.pull_down_since = now;
    }

    /// Gives the load its grace after a defrost.
    pub const fn end_defrost(&mut self, now: Instant) {
        self.defrost_ended = Some(now);
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

    /// Judges both at `now`, `stretch` after the step before, and lets `tell` know what
    /// changed; `temperature` is as for [`TemperatureAlarm::judge`].
    #[inline]
    pub fn judge(
        &mut self,
        (now, stretch): (Instant, Duration),
        temperature: Option<Temperature>,
        plan: &AlarmPlan<'_>,
        defrost: Defrost,
        mut tell: impl FnMut(Event),
    ) {
        let pulled_down = now.is_past(self.pull_down_since, plan.pull_down_grace);
        let loaded = if pulled_down {
            Watch::Watching
        } else {
            Watch::PullDown
        };
        let (high_watch, low_watch) = match plan.mode {
            Mode::Cool if self.defrosts(now, plan, defrost) => (Watch::Defrost, Watch::Watching),
            Mode::Cool => (loaded, Watch::Watching),
            Mode::Heat => (Watch::Watching, loaded),
        };
        let high = self
            .high
            .0
            .judge(stretch, temperature, plan.high, high_watch);
        let low = self.low.0.judge(stretch, temperature, plan.low, low_watch);
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
        self.high.0.spell.is_none() && self.low.0.spell.is_none()
    }

    /// Whether a defrost goes on, or its grace.
    fn defrosts(&self, now: Instant, plan: &AlarmPlan<'_>, defrost: Defrost) -> bool {
        match (defrost, self.defrost_ended) {
            (Defrost::Resting { .. }, _) => true,
            (Defrost::Waiting { .. }, Some(ended)) => !now.is_past(ended, plan.grace_after_defrost),
            (Defrost::Waiting { .. }, None) => false,
        }
    }

    /// Whether there is anything to judge: a temperature beyond a limit, now or lately.
    #[inline]
    pub(crate) fn have_work(
        &self,
        temperature: Option<Temperature>,
        high: &AlarmLimit,
        low: &AlarmLimit,
    ) -> bool {
        let beyond = |side, limit| temperature.is_some_and(|here| lies_beyond(side, here, limit));
        !self.at_rest() || beyond(Side::High, high) || beyond(Side::Low, low)
    }
}

fn lies_beyond(side: Side, temperature: Temperature, limit: &AlarmLimit) -> bool {
    match (side, limit) {
        (_, AlarmLimit::Off) => false,
        (Side::High, AlarmLimit::Beyond { limit, .. }) => temperature > *limit,
        (Side::Low, AlarmLimit::Beyond { limit, .. }) => temperature < *limit,
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

    const LIMIT: AlarmLimit = AlarmLimit::Beyond {
        limit: Temperature::from_millicelsius(8_000),
        delay: Duration::from_minutes(15),
    };
    const WARM: Option<Temperature> = Some(Temperature::from_millicelsius(8_001));
    const FINE: Option<Temperature> = Some(Temperature::from_millicelsius(8_000));
    const COLD: Option<Temperature> = Some(Temperature::from_millicelsius(7_999));

    /// What an alarm on `side` answers to one minute after another.
    fn answers(side: Side, minutes: &[(u32, Option<Temperature>, Watch)]) -> Vec<Alarm> {
        let mut alarm = TemperatureAlarm::on_side(side);
        let mut before = 0;
        let judged = minutes.iter().map(|&(minute, temperature, watch)| {
            let stretch = Duration::from_minutes(minute - before);
            before = minute;
            alarm.judge(stretch, temperature, &LIMIT, watch)
        });
        judged.collect()
    }

    use Alarm::{Quiet, Raised};
    use Watch::{Defrost as Defrosting, PullDown, Watching};

    /// Both alarms of a cooler, asked every minute for a temperature at which one is raised.
    struct Cooler {
        alarms: Alarms,
        minute: u32,
        defrost: Defrost,
    }

    impl Cooler {
        fn after(&mut self, minutes: u32, temperature: Option<Temperature>) -> (Alarm, Alarm) {
            let low = AlarmLimit::Beyond {
                limit: Temperature::from_millicelsius(1_000),
                delay: Duration::from_minutes(15),
            };
            let plan = AlarmPlan {
                mode: Mode::Cool,
                high: &LIMIT,
                low: &low,
                pull_down_grace: Duration::from_minutes(60),
                grace_after_defrost: Duration::from_minutes(20),
            };
            for _ in 0..minutes {
                self.minute += 1;
                let now = Instant::POWER_UP.after(Duration::from_minutes(self.minute));
                let times = (now, Duration::from_minutes(1));
                let before = (self.alarms.high(), self.alarms.low());
                let mut edges = Vec::new();
                // Whether there is work is only a way to have less.
                let mut judged = self.alarms;
                judged.judge(times, temperature, &plan, self.defrost, |edge| {
                    edges.push(edge);
                });
                if self.alarms.have_work(temperature, plan.high, plan.low) {
                    self.alarms = judged;
                }
                assert_eq!(self.alarms, judged);
                let after = (judged.high(), judged.low());
                assert_eq!(edges.is_empty(), before == after);
            }
            (self.alarms.high(), self.alarms.low())
        }
    }

    #[test]
    fn the_loads_side_is_given_grace_and_the_other_is_not() {
        let power_up = Alarms::at_power_up(Instant::POWER_UP);
        let mut cooler = Cooler {
            alarms: power_up,
            minute: 0,
            defrost: Defrost::Waiting {
                since: Instant::POWER_UP,
            },
        };
        let freezing = Some(Temperature::from_millicelsius(999));
        assert_eq!(cooler.after(15, freezing), (Quiet, Quiet));
        assert_eq!(cooler.after(1, freezing), (Quiet, Raised));
        // The pull-down ends a spell in which nothing was counted.
        assert_eq!(cooler.after(43, WARM), (Quiet, Quiet));
        assert!(cooler.alarms.at_rest());
        assert_eq!(cooler.after(15, WARM), (Quiet, Quiet));
        assert!(!cooler.alarms.at_rest());
        assert_eq!(cooler.after(1, WARM), (Raised, Quiet));
        // A change of mode gives it all again.
        assert_eq!(cooler.after(1, FINE), (Quiet, Quiet));
        cooler
            .alarms
            .give_grace(Instant::POWER_UP.after(Duration::from_minutes(cooler.minute)));
        assert_eq!(cooler.after(59, WARM), (Quiet, Quiet));
        assert!(cooler.alarms.at_rest());
        assert_eq!(cooler.after(10, WARM), (Quiet, Quiet));
        // A defrost and its grace: counted is what went before and comes after.
        let since = Instant::POWER_UP;
        cooler.defrost = Defrost::Resting { since };
        assert_eq!(cooler.after(30, WARM), (Quiet, Quiet));
        cooler.defrost = Defrost::Waiting { since };
        cooler
            .alarms
            .end_defrost(Instant::POWER_UP.after(Duration::from_minutes(cooler.minute)));
        assert_eq!(cooler.after(19, WARM), (Quiet, Quiet));
        assert_eq!(cooler.after(5, WARM), (Quiet, Quiet));
        assert_eq!(cooler.after(1, WARM), (Raised, Quiet));
    }

    #[test]
    fn an_alarm_waits_for_its_delay_and_for_the_pull_down() {
        let minutes = [
            (0, WARM, PullDown),
            (60, WARM, Watching),
            (74, WARM, Watching),
            (75, WARM, Watching),
            (76, None, Watching),
            (77, FINE, Watching),
        ];
        let expected = [Quiet, Quiet, Quiet, Raised, Raised, Quiet];
        assert_eq!(answers(Side::High, &minutes), expected);
        let minutes = [
            (0, FINE, Watching),
            (1, COLD, Watching),
            (15, COLD, Watching),
            (16, COLD, Watching),
        ];
        assert_eq!(answers(Side::Low, &minutes), [Quiet, Quiet, Quiet, Raised]);
    }

    #[test]
    fn a_defrost_neither_counts_nor_clears() {
        let minutes = [
            (0, WARM, Watching),
            (10, WARM, Watching),
            (11, WARM, Defrosting),
            (40, FINE, Defrosting),
            (70, WARM, Defrosting),
            (74, WARM, Watching),
            (75, WARM, Watching),
            (76, WARM, Defrosting),
            (90, FINE, Defrosting),
            (91, WARM, Watching),
            (92, FINE, Watching),
        ];
        // Ten minutes before it and five after it are the delay.
        let expected = [
            Quiet, Quiet, Quiet, Quiet, Quiet, Quiet, Raised, Raised, Raised, Raised, Quiet,
        ];
        assert_eq!(answers(Side::High, &minutes), expected);
    }

    #[test]
    fn a_pull_down_ends_no_alarm_but_a_fine_temperature_does() {
        let minutes = [
            (0, WARM, Watching),
            (15, WARM, Watching),
            (16, WARM, PullDown),
            (30, None, PullDown),
            (31, FINE, PullDown),
            (32, WARM, PullDown),
        ];
        let expected = [Quiet, Raised, Raised, Raised, Quiet, Quiet];
        assert_eq!(answers(Side::High, &minutes), expected);
    }
}
