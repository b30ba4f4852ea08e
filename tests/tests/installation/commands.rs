//! The commands about installations, as a person calls them.

use std::ffi::OsString;

use hysteron::cli::perform;
use hysteron::console::Console;
use hysteron::exit::Exit;
use hysteron::terminal::{Charset, Screen};
use hysteron_installation::arrangements::{ARRANGEMENTS, named};

/// Exit code, standard output and standard error of a command line.
fn call(words: &[&str]) -> (Exit, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let words = std::iter::once("hysteron").chain(words.iter().copied());
    let exit = perform(
        words.map(OsString::from),
        &mut Console::new(&mut out, &mut err, Screen::new(100, Charset::Unicode)),
    );
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
    (exit, text(out), text(err))
}

#[test]
fn what_ships_passes_the_check_and_has_readings() {
    for arrangement in ARRANGEMENTS {
        let (exit, out, err) = call(&["check", arrangement.name]);
        assert_eq!(exit, Exit::Holds, "{out}{err}");
        assert!(out.contains("0 dangers, 0 errors, 0 warnings"), "{out}");
        for format in ["text", "csv", "html"] {
            let (exit, out, err) = call(&["readings", arrangement.name, "--format", format]);
            assert_eq!(exit, Exit::Holds, "{err}");
            assert!(out.contains("calling"), "{out}");
        }
    }
}

#[test]
fn a_wrong_wiring_fails_the_check_with_the_line_of_its_cause() {
    let text = named("compressor-120").expect("ships").text;
    let line = text
        .lines()
        .position(|line| line.starts_with("3 = "))
        .expect("a wire");
    let spoilt = text.replace("control.normally_open\"", "control.normally_closed\"");
    assert_ne!(spoilt, text);
    let file = std::env::temp_dir().join(format!("spoilt-{}.toml", std::process::id()));
    std::fs::write(&file, spoilt).expect("written");
    let path = file.display().to_string();
    let (exit, out, _) = call(&["check", &path]);
    std::fs::remove_file(&file).expect("removed");
    assert_eq!(exit, Exit::Fails);
    assert!(out.contains("error: runs when satisfied"), "{out}");
    let place = format!("{path}:{}: wire 3", line + 1);
    assert!(out.contains(&place), "{place} is not in\n{out}");
}

#[test]
fn a_name_that_is_nothing_is_wrong_input() {
    for command in ["check", "readings"] {
        let (exit, _, err) = call(&[command, "compresor-120"]);
        assert_eq!(exit, Exit::WrongInput);
        assert!(err.contains("did you mean `compressor-120`?"), "{err}");
    }
}

/// The README's lamp with its switch in the neutral.
fn switched_neutral(readme: &str) -> String {
    let (_, lamp) = readme
        .split_once("```toml\ntitle = \"A lamp on a switch\"\n")
        .expect("the lamp");
    let (parts, rest) = lamp.split_once("[wire]\n").expect("its wires");
    let (_, rest) = rest
        .split_once("(`switched-neutral.toml`):\n\n```toml\n")
        .expect("the other wires");
    let (wires, _) = rest.split_once("```").expect("their end");
    format!("title = \"A lamp on a switch\"\n{parts}{wires}")
}

/// A picture in the README is what its command draws today.
#[test]
fn the_pictures_in_the_readme_are_drawn_by_the_commands_beside_them() {
    let readme = include_str!("../../../README.md");
    let own = std::env::temp_dir().join(format!("switched-neutral-{}.toml", std::process::id()));
    std::fs::write(&own, switched_neutral(readme)).expect("written");
    let own_path = own.display().to_string();
    let mut drawings = 0;
    let mut held = |picture: &str, kept: &str, command: &[&str]| {
        let quoted = command.iter().map(|word| match word.contains(' ') {
            true => format!("\"{word}\""),
            false => (*word).to_owned(),
        });
        let line = quoted.collect::<Vec<_>>().join(" ");
        assert!(readme.contains(&format!("{line} {picture}\n")), "{line}");
        assert!(readme.contains(&format!("({picture})")));
        let words = command.iter().map(|word| match *word {
            "switched-neutral.toml" => own_path.as_str(),
            word => word,
        });
        let words: Vec<&str> = words.skip(1).chain(["-"]).collect();
        let (exit, drawn, told) = call(&words);
        assert_eq!(exit, Exit::Holds, "{told}");
        assert!(
            drawn == kept,
            "{picture} is out of date: draw it anew with the README's command"
        );
        drawings += 1;
    };
    held(
        "tests/pictures/pump-down-120-calling.svg",
        include_str!("../../pictures/pump-down-120-calling.svg"),
        &[
            "hysteron",
            "draw",
            "pump-down-120",
            "--state",
            "calling",
            "--out",
        ],
    );
    held(
        "tests/pictures/one-leg-found.svg",
        include_str!("../../pictures/one-leg-found.svg"),
        &[
            "hysteron",
            "find-fault",
            "separate-supplies",
            "--reading",
            "calling: disconnect.line1 to disconnect.line2 = 0 V",
            "--reading",
            "satisfied: disconnect.line1 to ground = 120 V",
            "--drawing",
        ],
    );
    held(
        "tests/pictures/switched-neutral.svg",
        include_str!("../../pictures/switched-neutral.svg"),
        &["hysteron", "draw", "switched-neutral.toml", "--out"],
    );
    std::fs::remove_file(&own).expect("removed");
    assert_eq!(drawings, 3);
}
