//! What is kept of a run: the trace, totals, and verdicts over it.

pub mod entry;
pub mod recorder;
pub mod runs;
pub mod stretch;
pub mod tally;
pub mod trace;
pub mod verdict;
pub mod watch;
