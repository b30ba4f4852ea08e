//! How long to look for a smaller scenario.

/// How much a person is ready to wait for a smaller scenario.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Effort {
    /// None: one case alone, and nothing made smaller.
    None,
    /// As much as this many runs of the whole.
    Runs(u32),
}
