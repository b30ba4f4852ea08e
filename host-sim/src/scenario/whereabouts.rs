//! Where the other files lie that a scenario needs.

use std::path::PathBuf;

/// Where the files that a scenario names are looked for.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Whereabouts {
    /// A weather file named on the command line; it takes the place of one that the scenario names.
    pub weather: Option<PathBuf>,
    /// The folder that files named by the scenario, weather and installation, are relative to.
    pub folder: PathBuf,
}
