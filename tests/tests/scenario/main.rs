//! Scenarios: what they may say, how a run of them goes, and the recordings of a real control.

mod bench_runs;
mod bundled;
mod fuzz;
mod help;
mod malformed;
mod plan;
mod reference_problem;
mod replay_fuzz;
mod rows;
mod schema;
