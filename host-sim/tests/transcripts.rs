//! The command line as a person uses it: what was typed, what came back, and the exit code.

use std::path::Path;

#[test]
fn every_command_answers_as_recorded() {
    trycmd::TestCases::new()
        .register_bin("hysteron", Path::new(env!("CARGO_BIN_EXE_hysteron")))
        .env("LC_ALL", "C.UTF-8")
        .env("NO_COLOR", "1")
        .case("tests/transcripts/*.trycmd")
        .case("tests/transcripts/*.toml");
}

/// README's file of an installation, and what its commands answer about it.
#[test]
fn the_readme_checks_and_measures_its_own_installation() {
    let readme = include_str!("../../README.md");
    let (_, section) = readme
        .split_once("## Your own wiring, checked and measured\n")
        .expect("the section is there");
    let (section, _) = section.split_once("\n## ").expect("another follows");
    let (_, file) = section.split_once("```toml\n").expect("a file");
    let (file, _) = file.split_once("```").expect("an end");
    assert_eq!(section.matches("$ hysteron ").count(), 3);
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("readme");
    std::fs::create_dir_all(folder.join("wiring.in")).expect("a folder");
    std::fs::write(folder.join("wiring.in/lamp.toml"), file).expect("the file");
    std::fs::write(folder.join("wiring.trycmd"), section).expect("the commands");
    trycmd::TestCases::new()
        .register_bin("hysteron", Path::new(env!("CARGO_BIN_EXE_hysteron")))
        .env("LC_ALL", "C.UTF-8")
        .env("NO_COLOR", "1")
        .case(folder.join("wiring.trycmd"));
}
