//! The scenarios that ship with the program.

/// A scenario that ships with the program.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bundled {
    /// Its name: the file's, without the ending.
    pub name: &'static str,
    /// The file's text.
    pub text: &'static str,
}

macro_rules! bundled {
    ($($name:literal),* $(,)?) => {
        &[$(Bundled {
            name: $name,
            text: include_str!(concat!("../../scenarios/", $name, ".toml")),
        }),*]
    };
}

/// Every bundled scenario; the first is the demonstration.
pub const BUNDLED: &[Bundled] = bundled![
    "walk-in-pump-down",
    "walk-in-cooler",
    "reach-in-cooler",
    "walk-in-freezer",
    "display-case",
    "beverage-cooler",
    "bulk-milk-tank",
    "liquid-chiller",
    "refrigerated-warehouse",
    "return-air-control",
    "condenser-fan",
    "space-cooling",
    "space-heating",
    "tank-heating",
    "leaking-valve",
    "short-cycling",
    "welded-contact",
    "lost-leg",
    "walk-in-year",
];

impl Bundled {
    /// The bundled scenario of this name.
    #[must_use]
    pub fn named(name: &str) -> Option<&'static Self> {
        BUNDLED.iter().find(|bundled| bundled.name == name)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::plan::Plan;
    use crate::scenario::whereabouts::Whereabouts;
    use crate::source_text::SourceText;

    #[test]
    fn every_bundled_scenario_is_a_plan_that_expects_something() {
        let whereabouts = Whereabouts {
            weather: Some("year.epw".into()),
            ..Whereabouts::default()
        };
        for bundled in BUNDLED {
            let source = SourceText::new(bundled.name, bundled.text).expect("short");
            match Plan::read(&source, &whereabouts) {
                Ok(plan) => assert!(!plan.expectations.is_empty(), "{}", bundled.name),
                Err(rejected) => panic!("{rejected}"),
            }
        }
    }
}
