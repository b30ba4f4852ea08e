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

/// README's files of an installation, and what its commands answer about them.
#[test]
fn the_readme_checks_and_measures_its_own_installation() {
    let readme = include_str!("../../README.md");
    let (_, section) = readme
        .split_once("## Your own wiring, checked and measured\n")
        .expect("the section is there");
    let (section, _) = section.split_once("\n## ").expect("another follows");
    let files = section.split("```toml\n").skip(1);
    let files: Vec<&str> = files.filter_map(|file| file.split("```").next()).collect();
    let [lamp, wires] = files[..] else {
        panic!("a whole file and the wires of another: {files:?}");
    };
    let (parts, _) = lamp.split_once("[wire]\n").expect("wires");
    assert_eq!(section.matches("$ hysteron ").count(), 4);
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("readme");
    std::fs::create_dir_all(folder.join("wiring.in")).expect("a folder");
    let write = |name: &str, text: &str| {
        std::fs::write(folder.join("wiring.in").join(name), text).expect("the file");
    };
    write("lamp.toml", lamp);
    write("switched-neutral.toml", &format!("{parts}{wires}"));
    std::fs::write(folder.join("wiring.trycmd"), section).expect("the commands");
    trycmd::TestCases::new()
        .register_bin("hysteron", Path::new(env!("CARGO_BIN_EXE_hysteron")))
        .env("LC_ALL", "C.UTF-8")
        .env("NO_COLOR", "1")
        .case(folder.join("wiring.trycmd"));
}
