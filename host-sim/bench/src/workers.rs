//! Who does many things that need nothing of each other.

/// Does many things, at the same time where there are threads for them.
pub trait Workers: Sync {
    /// Does the work for every number below `count`; what comes of it is in order, whichever was
    /// done first.
    fn each<T: Send>(&self, count: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T>;
}

/// One thing after the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct InTurn;

impl Workers for InTurn {
    fn each<T: Send>(&self, count: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T> {
        (0..count).map(work).collect()
    }
}
