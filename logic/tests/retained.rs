//! What a control gives a store to keep.

use hysteron_logic::control::{Control, Input, Retained, StoredSettings};
use hysteron_logic::guard::Relay;
use hysteron_logic::sense::Sample;
use hysteron_logic::settings::{Confirmation, Draft};
use hysteron_logic::time::{Duration, Instant};
use hysteron_logic::units::Temperature;

fn at(millicelsius: i32) -> Input {
    Input::sampled(Sample::Temperature(Temperature::from_millicelsius(
        millicelsius,
    )))
}

#[test]
fn a_start_is_kept_for_less_than_an_hour_and_the_totals_for_ever() {
    let mut draft = Draft::COOLING;
    draft.short_off_time = Confirmation::Given;
    draft.minimum_off_time = Duration::ZERO;
    draft.minimum_on_time = Duration::ZERO;
    let stored = StoredSettings::Whole(draft.check().unwrap());
    let mut control = Control::at_power_up(stored, &Retained::default());
    let mut relay = Relay::Open;
    for second in 1..=3_611_u64 {
        // It runs from the 10th second to the 30th.
        let input = at(if (10..30).contains(&second) {
            4_200
        } else {
            1_500 + (second % 2) as i32
        });
        let decision = control.step(Instant::from_millis(second * 1_000), &input);
        let due = if (10..30).contains(&second) {
            Relay::Closed
        } else {
            Relay::Open
        };
        relay = decision.relay;
        assert_eq!(relay, due, "{second}");
        let kept: Vec<_> = control.retained().recent_starts.into_iter().collect();
        let ago = Duration::from_millis(second.saturating_sub(10) * 1_000);
        let expected = if (10..3_610).contains(&second) {
            vec![ago]
        } else {
            vec![]
        };
        assert_eq!(kept, expected, "{second}");
    }
    assert_eq!(relay, Relay::Open);
    let totals = control.retained().totals;
    assert_eq!(totals, control.totals());
    assert_eq!((totals.starts, totals.run), (1, Duration::from_seconds(20)));
    assert_eq!(totals.longest_run, totals.run);
    assert_eq!((control.duty(), control.known_duty_hours()), (None, 1));
}
