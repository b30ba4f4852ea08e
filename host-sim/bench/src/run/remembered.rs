//! What a board's store remembers of starts: no more than that of a real board.
//!
//! A board does not foresee the loss of its power. So after it a start counts as old as it
//! was when the store was last written, and the limit on starts per hour holds for longer.

use hysteron_firmware::persistence::{ROUTINE, is_worth_writing};
use hysteron_logic::control::{Control, Decision, Retained};
use hysteron_logic::time::Instant;

/// What was last written, and when.
#[derive(Debug, Clone)]
pub struct Remembered {
    retained: Retained,
    written: Instant,
}

impl Remembered {
    /// The store of a board that has got power, with what it held before.
    #[must_use]
    pub fn at_power_up(retained: Retained) -> Self {
        Self {
            retained,
            written: Instant::POWER_UP,
        }
    }

    /// Writes whenever the firmware would.
    #[inline]
    pub fn follow(&mut self, now: Instant, control: &Control, decision: &Decision) {
        let mut events = decision.events.iter();
        if now.since(self.written) >= ROUTINE
            || events.any(|event| is_worth_writing(*event, control))
        {
            self.written = now;
            self.retained = control.retained();
        }
    }

    /// What the next power-up finds. Totals are those of the whole life: they are what a
    /// run tells, and no decision reads them.
    #[must_use]
    pub fn after_loss_of_power(&self, control: &Control) -> Retained {
        Retained {
            totals: control.totals(),
            ..self.retained.clone()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use hysteron_logic::control::{Input, StoredSettings};
    use hysteron_logic::guard::StartsLimit;
    use hysteron_logic::sense::Sample;
    use hysteron_logic::settings::Draft;
    use hysteron_logic::time::Duration;
    use hysteron_logic::units::Temperature;

    #[test]
    fn a_start_is_as_old_as_it_was_at_the_last_write() {
        let mut draft = Draft::COOLING;
        draft.starts_per_hour = StartsLimit::PerHour(6);
        let settings = StoredSettings::Whole(draft.check().unwrap());
        let mut control = Control::at_power_up(settings, &Retained::default());
        let mut remembered = Remembered::at_power_up(Retained::default());
        let warm = Input::sampled(Sample::Temperature(Temperature::from_millicelsius(6_000)));
        let mut started = None;
        for second in 1..=1_000 {
            let now = Instant::from_millis(second * 1_000);
            let decision = control.step(now, &warm);
            remembered.follow(now, &control, &decision);
            if !control.retained().recent_starts.is_empty() {
                started.get_or_insert(second);
            }
        }
        assert!(started.is_some_and(|second| second < 400), "{started:?}");
        let found = remembered.after_loss_of_power(&control);
        assert_eq!(found.recent_starts[..], [Duration::ZERO]);
        assert!(control.retained().recent_starts[0] > Duration::from_minutes(9));
        assert_eq!(found.totals, control.totals());
    }
}
