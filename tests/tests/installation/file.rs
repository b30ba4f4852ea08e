//! Installation files: mistakes are found, all at once, with their place and what was meant.

use hysteron_diagnosis::check::{Rule, Severity, check};
use hysteron_installation::arrangements::{ARRANGEMENTS, named};
use hysteron_installation::file;
use hysteron_installation::readings::Readings;
use hysteron_source::text::SourceText;
use hysteron_tests::wiring;
use hysteron_view::drawing::svg;
use proptest::prelude::*;

fn refused(text: &str) -> String {
    let source = SourceText::new("my.toml", text).expect("short");
    file::read(&source).expect_err("a mistake").to_string()
}

const LAMP: &str = r#"title = "A lamp on a switch"

[part.supply]
kind = "supply"
voltage = "120 V"

[part.switch]
kind = "switch"

[part.lamp]
kind = "lamp"
rated_v = 120
power_w = 25

[wire]
1 = { from = "supply.hot", to = "switch.line", gauge_awg = 14, length_m = 3 }
2 = { from = "switch.load", to = "lamp.line1", gauge_awg = 14, length_m = 3 }
3 = { from = "lamp.line2", to = "supply.neutral", gauge_awg = 14, length_m = 3 }
"#;

#[test]
fn the_documented_example_reads() {
    let source = SourceText::new("lamp.toml", LAMP).expect("short");
    let installation = file::read(&source).expect("right");
    assert_eq!(installation.parts().count(), 6);
    assert_eq!(installation.title(), "A lamp on a switch");
}

#[test]
fn mistakes_name_place_expectation_and_what_was_meant() {
    for (right, wrong, parts) in [
        (
            "power_w = 25",
            "powr_w = 25",
            [
                "my.toml:13:1",
                "part `lamp` has no `powr_w`",
                "did you mean `power_w`?",
            ]
            .as_slice(),
        ),
        (
            "kind = \"lamp\"",
            "kind = \"lmp\"",
            &["my.toml:11:8", "did you mean \"lamp\"?"],
        ),
        (
            "\"lamp.line1\"",
            "\"lamp.lin1\"",
            &[
                "my.toml:17:34",
                "no terminal",
                "lamp.frame",
                "did you mean \"lamp.line1\"?",
            ],
        ),
        (
            "\"lamp.line1\"",
            "\"lam.line1\"",
            &[
                "my.toml:17:34",
                "there is no part `lam`",
                "did you mean \"lamp.line1\"?",
            ],
        ),
        ("\"120 V\"", "\"110 V\"", &["my.toml:5:11", "\"208 V\""]),
        (
            "rated_v = 120",
            "rated_v = 12000",
            &["my.toml:12:11", "from 10 to 300"],
        ),
        (
            "gauge_awg = 14",
            "gauge_awg = 13",
            &["13 AWG is not used here"],
        ),
        ("[part.switch]", "[part.\"a.b\"]", &["without a dot"]),
        ("3 = { from", "lamp = { from", &["the name `lamp` is taken"]),
        (
            "\"supply.neutral\"",
            "\"lamp.line2\"",
            &["both ends are on one terminal"],
        ),
        (
            "kind = \"supply\"\nvoltage = \"120 V\"",
            "kind = \"switch\"",
            &["the installation has no supply", "add [part.supply]"],
        ),
        (
            "title = \"A lamp on a switch\"",
            "title = \"A lamp on a switch\"\nfrequency_hz = 55",
            &["my.toml:2:16", "no supply has 55 Hz"],
        ),
        (
            "[part.lamp]",
            "[part.control]\nkind = \"control\"\npower_taps_v = [120]\npower_va = 3\n\n[part.lamp]",
            &[
                "my.toml:10:",
                "the control lacks the ratings of its relay",
                "add [[part.control.rating]]",
            ],
        ),
        (
            "kind = \"lamp\"\nrated_v = 120\npower_w = 25",
            "kind = \"compressor\"\nrated_v = 120\nrunning_a = 10\nlocked_rotor_a = 9\npower_factor = 0.8",
            &[
                "a motor draws less with its rotor held than running",
                "no less than running_a",
            ],
        ),
        (
            "kind = \"lamp\"\nrated_v = 120\npower_w = 25",
            "kind = \"liquid-line solenoid valve\"\nrated_v = 120\nsealed_va = 20\ninrush_va = 10\npower_factor = 0.5",
            &[
                "the coil's figures contradict each other",
                "inrush is no less than sealed",
            ],
        ),
        ("title = \"A lamp on a switch\"", "", &["lacks `title`"]),
        (
            "rated_v = 120",
            "rated_v = \"120\"",
            &["my.toml:12:11", "a number from"],
        ),
    ] {
        let text = LAMP.replacen(right, wrong, 1);
        assert_ne!(text, LAMP, "{right}");
        let shown = refused(&text);
        for part in parts {
            assert!(shown.contains(part), "{part} is not in\n{shown}");
        }
    }
}

#[test]
fn an_installation_without_parts_is_none() {
    for text in [
        "title = \"Nothing\"\n\n[part]\n",
        "title = \"Nothing\"\n\npart = {}\n",
    ] {
        let shown = refused(text);
        for part in [
            "my.toml:3:",
            "the installation has no parts",
            "add [part.supply]",
        ] {
            assert!(shown.contains(part), "{part} is not in\n{shown}");
        }
    }
}

/// Check, readings, faults and drawing take the voltages from the file, whatever they are.
#[test]
fn a_control_has_the_taps_that_its_file_declares() {
    let sound = named("compressor-240").expect("ships").text;
    let text = sound
        .replace("power_taps_v = [120, 240]", "power_taps_v = [230, 115]")
        .replace("control.power_240", "control.power_230");
    let installation = wiring::read("compressor-230", &text);
    let found = |installation| wiring::show(&check(installation));
    assert_eq!(found(&installation), found(&wiring::read("sound", sound)));
    let readings = Readings::of(&installation).as_text(&installation);
    for row in [
        "power_115 to control.power_common",
        "power_230 to control.power_common",
    ] {
        assert!(readings.contains(row), "{row} is not in\n{readings}");
    }
    let drawn = svg(&installation, None);
    assert!(drawn.contains(">power_230<"), "{drawn}");
    let (control, _) = installation.control().expect("a control");
    let faults = installation.faults_of(control);
    let faults: Vec<String> = faults
        .into_iter()
        .map(|fault| installation.fault_words(fault))
        .collect();
    let wrong = "control: fed at power_115, the wrong tap".to_owned();
    assert!(faults.contains(&wrong), "{faults:?}");

    let moved = text.replace("control.power_230", "control.power_115");
    let findings = check(&wiring::read("moved", &moved));
    let wrong = findings.iter().find(|found| found.rule == Rule::WrongTap);
    let wrong = wrong.expect("a wrong tap");
    assert_eq!(wrong.severity, Severity::Danger);
    assert_eq!(
        wrong.what,
        "control.power_115 gets 240 V; it is made for 115 V"
    );
    assert_eq!(wrong.remedy, "move the conductor to control.power_230");
}

#[test]
fn taps_that_cannot_be_are_refused() {
    let sound = named("compressor-240").expect("ships").text;
    for (taps, parts) in [
        ("[]", ["0 taps", "1 to 8 voltages"]),
        ("[120, 240, 120]", ["20:27", "120 V stands here twice"]),
        ("[120, 240, 9]", ["out of range", "from 10 to 300"]),
        (
            "[\"240 V\"]",
            ["is a text", "a whole number from 10 to 300"],
        ),
        ("[240, 1, 2, 3, 4, 5, 6, 7, 8]", ["9 taps", "[120, 240]"]),
        ("240", ["is a number", "a list in square brackets"]),
    ] {
        let shown = refused(&sound.replace("[120, 240]", taps));
        for part in parts {
            assert!(shown.contains(part), "{part} is not in\n{shown}");
        }
        // What leads to the control is no second mistake.
        assert!(!shown.contains("no terminal"), "{shown}");
    }
}

#[test]
fn an_installation_has_one_control() {
    let sound = named("compressor-120").expect("ships").text;
    let control = sound.split("[part.control]").nth(1).expect("a control");
    let control = control.split("[part.compressor]").next().expect("its end");
    let spare = control.replace("[[part.control.", "[[part.spare.");
    let text = sound.replace("[wire]", &format!("[part.spare]{spare}[wire]"));
    let shown = refused(&text);
    for part in ["a second control", "an installation has one control"] {
        assert!(shown.contains(part), "{part} is not in\n{shown}");
    }
}

/// The lamp with so many switches more, and each of the last two wired.
fn with_switches(count: usize) -> String {
    let switches: String = (0..count)
        .map(|number| format!("[part.s{number}]\nkind = \"switch\"\n"))
        .collect();
    let wires: String = [count - 2, count - 1]
        .map(|number| {
            format!(
                "to-{number} = {{ from = \"switch.load\", to = \"s{number}.line\", gauge_awg = 14, length_m = 3 }}\n"
            )
        })
        .concat();
    LAMP.replace("[wire]\n", &format!("{switches}[wire]\n{wires}"))
}

#[test]
fn more_than_an_installation_may_have_is_refused() {
    for (count, told) in [
        (200, "203 parts are more than the 128 parts and conductors"),
        (126, "129 parts are more than the 128 parts and conductors"),
        (
            125,
            "133 parts and conductors are more than the 128 parts and conductors",
        ),
    ] {
        let shown = refused(&with_switches(count));
        for part in [told, "my.toml", "split the file in two"] {
            assert!(shown.contains(part), "{part} is not in\n{shown}");
        }
        assert!(!shown.contains("there is no part"), "{shown}");
    }
    let source = SourceText::new("my.toml", with_switches(120)).expect("short");
    assert!(file::read(&source).is_ok());
}

#[test]
fn all_mistakes_are_told_at_once() {
    let text = LAMP
        .replace("power_w = 25", "power_w = -25")
        .replace("\"switch.load\"", "\"switch.lod\"")
        .replace("\"120 V\"", "\"12 V\"");
    let source = SourceText::new("my.toml", text).expect("short");
    let rejected = file::read(&source).expect_err("mistakes");
    assert!(rejected.problems().len() >= 3, "{rejected}");
}

proptest! {
    /// Whatever a hand slips on, the reader says so or reads it: it never falls over.
    #[test]
    fn no_slip_of_the_hand_brings_the_reader_down(
        which in 0..ARRANGEMENTS.len(),
        at in 0.0..1.0_f64,
        length in 0_usize..40,
        put in "[ -~\\n]{0,12}",
    ) {
        let text = ARRANGEMENTS[which].text;
        let mut start = (at * text.len() as f64) as usize;
        while !text.is_char_boundary(start) {
            start -= 1;
        }
        let mut end = (start + length).min(text.len());
        while !text.is_char_boundary(end) {
            end += 1;
        }
        let slipped = format!("{}{put}{}", &text[..start], &text[end..]);
        let source = SourceText::new("slip.toml", slipped).expect("short");
        match file::read(&source) {
            Ok(installation) => {
                let findings = check(&installation);
                prop_assert!(findings.iter().all(|finding| !finding.what.is_empty()));
            }
            Err(rejected) => prop_assert!(!rejected.to_string().is_empty()),
        }
    }
}
