//! The styles of what stands on the screen.

use anstyle::{AnsiColor, Style};

pub(super) const GOOD: Style = AnsiColor::Green.on_default();
pub(super) const BAD: Style = AnsiColor::Red.on_default().bold();
pub(super) const STRONG: Style = Style::new().bold();
pub(super) const QUIET: Style = Style::new().dimmed();
