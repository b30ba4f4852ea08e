//! The program among other programs: a reader that goes away, and an answer that no terminal shows.

use std::io::Read;
use std::process::{Command, Stdio};

fn hysteron(words: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_hysteron"));
    command
        .args(words)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    command
}

#[test]
fn a_reader_who_has_seen_enough_is_no_error() {
    for words in [
        ["curve", "10k type II"].as_slice(),
        &["run", "cake-counter"],
        &["draw", "contactor-24"],
    ] {
        let mut child = hysteron(words).spawn().expect("it starts");
        let mut first = [0];
        let mut reader = child.stdout.take().expect("a pipe");
        reader.read_exact(&mut first).expect("a beginning");
        drop(reader);
        let done = child.wait_with_output().expect("it ends");
        assert_eq!(done.status.code(), Some(0), "{words:?}");
        assert_eq!(String::from_utf8_lossy(&done.stderr), "", "{words:?}");
    }
}

#[test]
fn what_goes_into_a_pipe_has_no_colours() {
    for (words, code) in [
        (["run", "cake-counter"], 0),
        (["run", "nowhere"], 2),
        (["check", "compressor-208"], 0),
    ] {
        let done = hysteron(&words)
            .env_remove("NO_COLOR")
            .env("TERM", "xterm-256color")
            .output()
            .expect("it ends");
        assert_eq!(done.status.code(), Some(code), "{words:?}");
        let said = [done.stdout, done.stderr].concat();
        assert!(!said.is_empty(), "{words:?}");
        assert!(!said.contains(&b'\x1b'), "{words:?}");
    }
}

#[test]
fn a_line_that_never_ends_is_no_recording() {
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR"));
    let file = folder.join("endless.csv");
    std::fs::write(&file, format!("time,°C\n0,1\n{}", "5".repeat(200_000))).expect("written");
    let path = file.display().to_string();
    let done = hysteron(&["replay", &path]).output().expect("it ends");
    assert_eq!(done.status.code(), Some(2));
    let said = String::from_utf8(done.stderr).expect("text");
    for part in [
        "error: the line is longer than 64 KiB",
        "endless.csv:3:1",
        "help: write a time and a value in each line",
    ] {
        assert!(said.contains(part), "{part} is not in\n{said}");
    }
}

/// `/dev/full` takes nothing, as a full disk does.
#[cfg(target_os = "linux")]
#[test]
fn results_that_cannot_be_written_are_an_error() {
    let full = std::fs::File::options().write(true).open("/dev/full");
    let done = hysteron(&["run", "cake-counter"])
        .stdout(full.expect("Linux has it"))
        .output()
        .expect("it ends");
    assert_eq!(done.status.code(), Some(2));
    let said = String::from_utf8(done.stderr).expect("text");
    for part in [
        "error: cannot write to standard output: No space left",
        "help: check where it is led to, and that there is room",
    ] {
        assert!(said.contains(part), "{part} is not in\n{said}");
    }
}
