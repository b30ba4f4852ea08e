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
