//! `PATH=VALUE`: a change to a scenario, given on the command line.

use std::fmt;
use std::str::FromStr;

/// An entry of a scenario, and what is given to it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Assignment {
    /// Which entry: "control.setpoint".
    pub path: String,
    /// Its value, as a person wrote it.
    pub value: String,
}

impl FromStr for Assignment {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (path, value) = text
            .split_once('=')
            .ok_or_else(|| "there is no `=`; expected such as control.setpoint=3C".to_owned())?;
        let (path, value) = (path.trim(), value.trim());
        if path.is_empty() || value.is_empty() {
            return Err("one side is empty; expected such as control.setpoint=3C".to_owned());
        }
        Ok(Self {
            path: path.to_owned(),
            value: value.to_owned(),
        })
    }
}

impl fmt::Display for Assignment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}={}", self.path, self.value)
    }
}
