//! The command line as a person uses it: what was typed, what came back, and the exit code.

use std::path::Path;

#[test]
fn every_command_answers_as_recorded() {
    trycmd::TestCases::new()
        .register_bin("hysteron", Path::new(env!("CARGO_BIN_EXE_hysteron")))
        .env("LC_ALL", "C.UTF-8")
        .env("NO_COLOR", "1")
        .case("tests/recorded_commands/*.trycmd")
        .case("tests/recorded_commands/*.toml");
}

/// What README says between this heading and the next.
fn readme_section(heading: &str) -> &'static str {
    let readme = include_str!("../../../README.md");
    let (_, section) = readme
        .split_once(&format!("\n## {heading}\n"))
        .expect("the section is there");
    section.split("\n## ").next().expect("a beginning")
}

/// The TOML files that a section of README shows.
fn files_in(section: &str) -> Vec<&str> {
    let files = section.split("```toml\n").skip(1);
    files.filter_map(|file| file.split("```").next()).collect()
}

/// Holds so many commands in a section of README to what they answer beside these files.
fn hold(section: &str, name: &str, commands: usize, files: &[(&str, &str)]) {
    assert_eq!(section.matches("$ hysteron ").count(), commands);
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("readme");
    let beside = folder.join(format!("{name}.in"));
    std::fs::create_dir_all(&beside).expect("a folder");
    for (file, text) in files {
        std::fs::write(beside.join(file), text).expect("the file");
    }
    let recorded = folder.join(format!("{name}.trycmd"));
    std::fs::write(&recorded, section).expect("the commands");
    trycmd::TestCases::new()
        .register_bin("hysteron", Path::new(env!("CARGO_BIN_EXE_hysteron")))
        .env("LC_ALL", "C.UTF-8")
        .env("NO_COLOR", "1")
        .case(recorded);
}

#[test]
fn the_readme_checks_and_measures_its_own_installation() {
    let section = readme_section("Your own wiring, checked and measured");
    let [lamp, wires] = files_in(section)[..] else {
        panic!("a whole file and the wires of another");
    };
    let (parts, _) = lamp.split_once("[wire]\n").expect("wires");
    let switched = format!("{parts}{wires}");
    let files = [("lamp.toml", lamp), ("switched-neutral.toml", &switched)];
    hold(section, "wiring", 4, &files);
}

#[test]
fn the_readme_runs_its_own_scenarios() {
    let section = readme_section("A scenario, from the fuse to the product");
    let [tripped] = files_in(section)[..] else {
        panic!("one scenario");
    };
    hold(section, "scenario", 2, &[("tripped.toml", tripped)]);
    let boxed = include_str!("../recorded_commands/sweep.in/box.toml");
    hold(
        readme_section("Commands"),
        "commands",
        1,
        &[("box.toml", boxed)],
    );
}
