//! How many things are done at the same time.

use std::num::NonZeroUsize;

use rayon::prelude::*;

use crate::failure::Failure;
use hysteron_bench::workers::Workers;

/// More threads than this help nobody.
const MOST_JOBS: usize = 1_024;

/// Threads for `jobs` things at a time; as many as there are cores where nobody says.
///
/// # Errors
/// When so many cannot be had.
pub fn pool(jobs: Option<NonZeroUsize>) -> Result<rayon::ThreadPool, Failure> {
    let jobs = jobs.map_or(0, NonZeroUsize::get);
    let refused = |what: String| {
        Failure::because(what).remedy("give a smaller number to --jobs, or leave it out")
    };
    if jobs > MOST_JOBS {
        return Err(refused(format!("--jobs {jobs} is more than {MOST_JOBS}")));
    }
    rayon::ThreadPoolBuilder::new()
        .num_threads(jobs)
        .build()
        .map_err(|error| refused(format!("cannot do so much at the same time: {error}")))
}

/// The threads of a pool.
pub struct OnPool<'p>(pub &'p rayon::ThreadPool);

impl Workers for OnPool<'_> {
    fn each<T: Send>(&self, count: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T> {
        self.0
            .install(|| (0..count).into_par_iter().map(&work).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use hysteron_bench::workers::InTurn;

    #[test]
    fn many_at_a_time_come_back_in_order() {
        let pool = pool(NonZeroUsize::new(4)).expect("threads");
        let slower_at_first = |number: usize| {
            std::thread::sleep(std::time::Duration::from_millis(
                8_u64.saturating_sub(number as u64),
            ));
            number * number
        };
        let in_turn = InTurn.each(20, |number| number * number);
        assert_eq!(OnPool(&pool).each(20, slower_at_first), in_turn);
    }
}
