//! The bench: a control in an installation and a plant, run from beginning to end and judged.
//!
//! ```text
//! text -> scenario -> run (with probe) -> record -> verdicts
//! ```
//!
//! No threads, no clock and no files: those come from above, as [`workers::Workers`],
//! [`scenario::search_paths::Files`] and [`run::board::RemoteBoard`].

pub mod campaign;
pub mod probe;
pub mod record;
pub mod recording;
pub mod replay;
pub mod run;
pub mod scenario;
pub mod shrink;
pub mod workers;
