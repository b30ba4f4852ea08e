//! How many things are done at the same time.

use std::num::NonZeroUsize;

use crate::failure::Failure;

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
