//! Times the reference problem with the real control and prints rows for the comparison with peers.

use std::time::Instant;

use hysteron_tests::reference_problem::{closed_form, largest_error_s, simulated};

/// Runs before and while the clock runs.
const REPETITIONS: usize = 5;

#[expect(clippy::print_stdout, reason = "rows are what it is for")]
fn main() {
    for off_s in [180, 120] {
        let mut found = simulated(off_s);
        let mut times: Vec<f64> = (0..REPETITIONS)
            .map(|_| {
                let began = Instant::now();
                found = simulated(off_s);
                began.elapsed().as_secs_f64()
            })
            .collect();
        times.sort_by(f64::total_cmp);
        let median = times[REPETITIONS / 2];
        let error_s = largest_error_s(&closed_form(f64::from(off_s)), &found);
        println!(
            "{{\"tool\": \"hysteron, real control every second\", \"rest_s\": {off_s}, \
             \"hours_per_s\": {:.0}, \"error_s\": {}}}",
            24.0 / median,
            error_s.map_or("null".to_owned(), |error_s| format!("{error_s:.3}")),
        );
    }
}
