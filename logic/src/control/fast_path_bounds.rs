//! How far a step may lie from the last full one and still take the fast path.

use crate::contact::Feedback;
use crate::decision::Reason;
use crate::guard::Holds;
use crate::time::Instant;
use crate::units::Temperature;

/// Where and until when the last answer stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct FastPath {
    /// The coldest temperature that changes nothing.
    pub(super) coldest: Temperature,
    /// The warmest temperature that changes nothing.
    pub(super) warmest: Temperature,
    /// When this was noted, and the holds then.
    pub(super) since: Instant,
    pub(super) holds: Holds,
    /// From this moment on something that waits for time is due.
    pub(super) until: Instant,
    pub(super) feedback: Feedback,
    pub(super) reason: Reason,
}
