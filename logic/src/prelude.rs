//! What a caller of the control needs, in one line: `use hysteron_logic::prelude::*;`.

pub use crate::call::Mode;
pub use crate::control::{
    Command, Control, Decision, Input, Reason, Retained, SettingsLock, StoredSettings,
};
pub use crate::event::Event;
pub use crate::fallback::Fallback;
pub use crate::guard::Relay;
pub use crate::sense::Sample;
pub use crate::settings::{Draft, Settings};
pub use crate::time::{Duration, Instant};
pub use crate::units::{Difference, Temperature};
