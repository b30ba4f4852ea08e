//! `hysteron check` and `hysteron readings`, as a person calls them.

use std::ffi::OsString;

use hysteron::cli::perform;
use hysteron::console::Console;
use hysteron::exit::Exit;
use hysteron::installation::arrangements::{ARRANGEMENTS, named};
use hysteron::terminal::{Charset, Screen};

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
