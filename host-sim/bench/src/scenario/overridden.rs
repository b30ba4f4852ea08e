//! Changes to a scenario that would not be in force: given twice, or set by a variant as well.

use std::fmt;

/// A change that would not be in force, or not everywhere.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Overridden {
    /// The same entry is changed again.
    Twice {
        /// Which entry.
        path: String,
    },
    /// A variant sets the same setting.
    ByVariant {
        /// Which entry was to be changed.
        path: String,
        /// What the variant is called.
        variant: String,
        /// The path of the variant's own entry.
        entry: String,
    },
}

/// Which variants matter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Variants<'n> {
    /// All of them.
    All,
    /// The one of this name.
    Named(&'n str),
}

impl Overridden {
    /// What the person can do.
    #[must_use]
    pub fn remedy(&self) -> String {
        match self {
            Self::Twice { .. } => "give all of its values at once".to_owned(),
            Self::ByVariant { entry, .. } => {
                format!("change {entry} instead, or leave it out of the variant")
            }
        }
    }
}

impl fmt::Display for Overridden {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Twice { path } => write!(f, "{path} is given twice"),
            Self::ByVariant { path, variant, .. } => write!(
                f,
                "{path} would not be in force in the variant \"{variant}\", which sets it, too"
            ),
        }
    }
}

/// The first of the changes at `paths` that would not be in force in the scenario `text`, if any.
///
/// A text that is no scenario has nothing to say; that is told where it is read.
pub fn overridden<'p>(
    text: &str,
    paths: impl IntoIterator<Item = &'p str>,
    among: Variants<'_>,
) -> Option<Overridden> {
    let scenario: toml::Table = text.parse().unwrap_or_default();
    let mut before: Vec<Vec<&str>> = Vec::new();
    for path in paths {
        let parts: Vec<&str> = path.split('.').map(str::trim).collect();
        let path = parts.join(".");
        if before.contains(&parts) {
            return Some(Overridden::Twice { path });
        }
        if let ["control", key] = parts[..]
            && let Some((place, variant)) = variant_with(&scenario, key, among)
        {
            return Some(Overridden::ByVariant {
                path,
                variant,
                entry: format!("variant.{}.settings.{key}", place + 1),
            });
        }
        before.push(parts);
    }
    None
}

/// Place and name of the first variant that sets `key`.
fn variant_with(scenario: &toml::Table, key: &str, among: Variants<'_>) -> Option<(usize, String)> {
    let variants = scenario.get("variant")?.as_array()?;
    variants.iter().enumerate().find_map(|(place, variant)| {
        let name = variant.get("name").and_then(toml::Value::as_str)?;
        let matters = match among {
            Variants::All => true,
            Variants::Named(wanted) => wanted == name,
        };
        let sets = variant.get("settings")?.get(key).is_some();
        (matters && sets).then(|| (place, name.to_owned()))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "\
[control]
setpoint = \"2 °C\"
[[variant]]
name = \"colder\"
settings = { setpoint = \"1 °C\" }
[[variant]]
name = \"open\"
settings = { fallback = \"open\" }
";

    #[test]
    fn a_change_that_a_variant_makes_too_is_found_with_the_variants_own_entry() {
        let found = |paths: &[&str], among| overridden(TEXT, paths.iter().copied(), among);
        let by_variant = found(&["control.differential", "control.fallback"], Variants::All);
        let by_variant = by_variant.expect("the second variant sets it");
        assert_eq!(
            by_variant.to_string(),
            "control.fallback would not be in force in the variant \"open\", which sets it, too"
        );
        assert_eq!(
            by_variant.remedy(),
            "change variant.2.settings.fallback instead, or leave it out of the variant"
        );
        assert_eq!(
            found(&["control.fallback"], Variants::Named("colder")),
            None
        );
        assert_eq!(found(&["variant.2.settings.fallback"], Variants::All), None);
        assert_eq!(found(&["seed", "probe.lag"], Variants::All), None);
        assert_eq!(overridden("=", ["control.fallback"], Variants::All), None);
    }

    #[test]
    fn one_entry_in_two_spellings_is_given_twice() {
        let found = overridden(TEXT, ["probe.lag", " probe . lag"], Variants::All);
        assert_eq!(
            found.expect("twice").to_string(),
            "probe.lag is given twice"
        );
    }
}
