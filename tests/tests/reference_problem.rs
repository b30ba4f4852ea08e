//! Switching instants of the real control against the closed form.
#![expect(
    clippy::print_stdout,
    reason = "the size of the errors is worth reading"
)]

use hysteron_tests::reference_problem::{closed_form, largest_error_s, simulated};

/// One decision per second.
const SAMPLE_S: f64 = 1.0;

#[test]
fn switching_instants_lie_within_one_sample_of_the_closed_form() {
    for (off_s, cycles) in [(120, 237), (180, 216)] {
        let exact = closed_form(f64::from(off_s));
        let found = simulated(off_s);
        let error_s = largest_error_s(&exact, &found);
        println!(
            "{off_s} s: {} movements, largest error {error_s:?} s",
            found.len()
        );
        assert!(exact.len() >= 2 * cycles - 1, "{}", exact.len());
        assert!(
            error_s.is_some_and(|error_s| error_s < SAMPLE_S),
            "{error_s:?}"
        );
    }
}
