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
            text: include_str!(concat!("../../../scenarios/", $name, ".toml")),
        }),*]
    };
}

/// Every bundled scenario; the first is the demonstration.
pub const BUNDLED: &[Bundled] = bundled![
    "fish-counter",
    "works-canteen",
    "ward-kitchen",
    "inn-on-the-pass",
    "village-shop",
    "cinema-foyer",
    "evening-milking",
    "moulding-shop",
    "dock-doors",
    "florist",
    "bakery-roof",
    "drawing-office",
    "joinery-in-winter",
    "laundry-tank",
    "butchers-night",
    "cake-counter",
    "school-holidays",
    "match-day-bar",
    "campsite-store",
    "farm-shop-year",
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
    use crate::scenario::search_paths::SearchPaths;
    use hysteron_source::text::SourceText;

    #[test]
    fn every_bundled_scenario_is_a_plan_that_expects_something() {
        let search_paths = SearchPaths {
            weather: Some("year.epw".into()),
            ..SearchPaths::default()
        };
        for bundled in BUNDLED {
            let source = SourceText::new(bundled.name, bundled.text).expect("short");
            match Plan::read(&source, &search_paths) {
                Ok(plan) => assert!(!plan.expectations.is_empty(), "{}", bundled.name),
                Err(rejected) => panic!("{rejected}"),
            }
        }
    }

    #[test]
    fn every_scenario_in_the_folder_ships_and_tells_a_story_of_its_own() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../scenarios");
        let files = std::fs::read_dir(folder).expect("the folder").count();
        assert_eq!(files, BUNDLED.len());
        let mut stories = std::collections::BTreeSet::new();
        let mut titles = std::collections::BTreeSet::new();
        for bundled in BUNDLED {
            let file: toml::Table = bundled.text.parse().expect("a table");
            let story = file["about"].as_str().expect("a text");
            assert!(story.matches(['.', '?']).count() > 1, "{}", bundled.name);
            stories.insert(story.to_owned());
            titles.insert(file["title"].to_string());
        }
        assert_eq!((stories.len(), titles.len()), (files, files));
    }
}
