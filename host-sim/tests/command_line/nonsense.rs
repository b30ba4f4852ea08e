//! What makes no sense is refused or told, in signs that the person's screen has.

use std::fs;
use std::process::{Command, Output, Stdio};

/// What came of these words, typed beside this scenario under this locale.
fn hysteron(scenario: &str, words: &[&str], locale: &str) -> Output {
    let folder = tempfile::tempdir().expect("a folder");
    for (name, text) in [
        ("tried.toml", scenario),
        ("room.csv", "time,box °C\n0,3\n60,5\n120,7\n180,2\n"),
        (
            "broken.toml",
            "title = \"Kühlraum\"\nduration = \"2 °C\" # °\n",
        ),
    ] {
        fs::write(folder.path().join(name), text).expect("written");
    }
    Command::new(env!("CARGO_BIN_EXE_hysteron"))
        .args(words)
        .current_dir(folder.path())
        .env("NO_COLOR", "1")
        .env("LC_ALL", locale)
        .stdin(Stdio::null())
        .output()
        .expect("it ends")
}

fn scenario(plant: &str, control: &str, more: &str) -> String {
    format!(
        "title = \"Tried\"\nduration = \"24 h\"\n[plant]\n{plant}\n[control]\n{control}\n{more}\n"
    )
}

/// Refused with all of these words.
fn refused(scenario: &str, words: &[&str], said: &[&str]) {
    let done = hysteron(scenario, words, "C.UTF-8");
    let complaint = String::from_utf8(done.stderr).expect("text");
    assert_eq!(done.status.code(), Some(2), "{scenario}\n{complaint}");
    for part in said {
        assert!(complaint.contains(part), "{part} is not in\n{complaint}");
    }
}

/// Every plant with the mode that drives it, and with the one that would drive it away.
#[test]
fn a_control_that_works_the_wrong_way_is_refused() {
    for (plant, right) in [
        ("kind = \"refrigerated box\"", "cool"),
        ("kind = \"refrigerated box\"\npump_down = {}", "cool"),
        ("kind = \"cooled tank\"", "cool"),
        ("kind = \"condenser\"", "cool"),
        ("kind = \"room\"\nconditioning = \"cooling\"", "cool"),
        ("kind = \"room\"\nconditioning = \"heating\"", "heat"),
        ("kind = \"heated tank\"\nstart_c = 40", "heat"),
    ] {
        let wrong = if right == "cool" { "heat" } else { "cool" };
        let with = |mode: &str| scenario(plant, &format!("mode = \"{mode}\""), "");
        let done = hysteron(&with(right), &["run", "tried.toml"], "C.UTF-8");
        assert_eq!(
            done.status.code(),
            Some(0),
            "{plant} {right}: {}",
            String::from_utf8_lossy(&done.stderr)
        );
        let what = format!("is not made to {wrong}");
        refused(
            &with(wrong),
            &["run", "tried.toml"],
            &[&what, "tried.toml:", &format!("mode = \"{right}\"")],
        );
    }
    // A variant is held to it as well.
    let variant = "[[variant]]\nname = \"a\"\nsettings = { mode = \"heat\" }";
    let text = scenario("kind = \"refrigerated box\"", "mode = \"cool\"", variant);
    refused(&text, &["run", "tried.toml"], &["is not made to heat"]);
}

#[test]
fn what_outlasts_the_scenario_is_refused_and_what_ends_with_it_is_not() {
    let door = |length: &str| {
        let door =
            format!("[[happening]]\nat = \"23:00\"\nfor = \"{length}\"\nwhat = \"door opens\"");
        scenario("kind = \"refrigerated box\"", "mode = \"cool\"", &door)
    };
    let over = [
        "the scenario is over before this is",
        "at most 1 h",
        "help: ",
    ];
    refused(&door("61 min"), &["run", "tried.toml"], &over);
    let done = hysteron(&door("60 min"), &["run", "tried.toml"], "C.UTF-8");
    assert_eq!(done.status.code(), Some(0));
}

/// A contact that welds boils the tank: its model knows nothing of steam.
#[test]
fn a_course_that_leaves_its_model_ends_with_what_was_left_and_when() {
    let welded = "[[happening]]\nat = \"00:10\"\nwhat = \"contact welds\"";
    let tank = "kind = \"heated tank\"\ncontents_kg = 20";
    let text = scenario(tank, "mode = \"heat\"\nsetpoint = \"60 °C\"", welded);
    let told = [
        "the water temperature would be 10",
        "the plant \"heated tank\"",
        "-60 °C to 100 °C",
        "help: ",
    ];
    refused(
        &text,
        &["run", "tried.toml"],
        &[&["Tried: at 00:"][..], &told].concat(),
    );
    refused(
        &text,
        &["sweep", "tried.toml", "--seeds", "4..5"],
        &[&["tried.toml, seed 4: at 00:"][..], &told].concat(),
    );
    let hot = scenario(
        "kind = \"room\"\nunit_w = 1e7\nfabric_capacity_j_k = 1000",
        "mode = \"heat\"",
        "",
    );
    refused(
        &hot,
        &["run", "tried.toml"],
        &["the plant \"room\"", "so the run ends there"],
    );
    let cold = scenario(
        "kind = \"first order\"\nsettled_on_c = -300",
        "mode = \"cool\"\nsetpoint = \"-40 °C\"",
        "[[happening]]\nat = \"00:10\"\nwhat = \"contact welds\"",
    );
    refused(
        &cold,
        &["run", "tried.toml"],
        &["the reference temperature would be -273."],
    );
}

/// What fails by little is not told as if it held.
#[test]
fn a_verdict_never_contradicts_its_own_figure() {
    let plant = "kind = \"first order\"\nstart_c = 10.0004\nsettled_on_c = 10.0004\nsettled_off_c = 10.0004";
    let expect = "[[expect]]\nquantity = \"reference temperature\"\nat_most = \"10 °C\"";
    let text = scenario(plant, "mode = \"cool\"", expect);
    let done = hysteron(&text, &["run", "tried.toml"], "C.UTF-8");
    let said = String::from_utf8(done.stdout).expect("text");
    assert_eq!(done.status.code(), Some(1), "{said}");
    assert!(
        said.contains("at most 10 °C") && said.contains("highest 10.0004 °C"),
        "{said}"
    );
}

/// Every command, its help and its complaints, where the screen has ASCII only.
#[test]
fn a_screen_that_has_ascii_only_is_given_nothing_else() {
    let text = scenario(
        "kind = \"refrigerated box\"",
        "mode = \"cool\"\nsetpoint = \"2 °C\"",
        "[[expect]]\nquantity = \"air temperature\"\nat_most = \"5 °C\"",
    );
    let commands: &[&[&str]] = &[
        &[],
        &["--help"],
        &["list"],
        &["run", "tried.toml"],
        &["run", "tried.toml", "--seed", "°"],
        &["run", "broken.toml"],
        &["run", "Kühlraum"],
        &["sweep", "tried.toml", "--set", "control.setpoint=1 °C,2 °C"],
        &["replay", "room.csv"],
        &[
            "replay",
            "room.csv",
            "--control",
            "tried.toml",
            "--set",
            "control.setpoint=3 °C",
        ],
        &["check", "compressor-208"],
        &["check", "broken.toml"],
        &["readings", "compressor-208"],
        &[
            "find-fault",
            "compressor-120",
            "--reading",
            "calling: compressor.line1 to compressor.line2 = 0 V",
        ],
        &["curve"],
        &["curve", "--from", "500"],
        &["draw", "nothing-°"],
        &["manual", "°"],
    ];
    let mut replaced = 0;
    for locale in ["C", "POSIX", "en_GB.ISO-8859-1"] {
        for words in commands {
            let told = |locale| {
                let done = hysteron(&text, words, locale);
                String::from_utf8([done.stdout, done.stderr].concat()).expect("UTF-8")
            };
            let plain = told(locale);
            assert!(
                !plain.is_empty() && plain.is_ascii(),
                "{words:?} under {locale}:\n{plain}"
            );
            replaced += usize::from(!told("C.UTF-8").is_ascii());
        }
    }
    assert!(
        replaced >= 3 * 12,
        "only {replaced} answers had anything to replace"
    );
    // Columns stay below one another, and the caret below what it marks.
    let done = hysteron(&text, &["curve"], "C");
    let table = String::from_utf8(done.stdout).expect("text");
    let ends: Vec<usize> = table
        .lines()
        .skip(2)
        .filter(|line| !line.starts_with("--"))
        .map(|line| line.trim_end().len())
        .collect();
    assert!(ends.windows(2).all(|pair| pair[0] == pair[1]), "{table}");
    let done = hysteron(&text, &["run", "broken.toml"], "C");
    let said = String::from_utf8(done.stderr).expect("text");
    assert!(said.contains("duration = \"2 ?C\" # ?"), "{said}");
    assert!(said.contains("           ^^^^^^"), "{said}");
}

/// What is written for other programs is the same under every locale.
#[test]
fn files_know_no_locale() {
    let text = scenario("kind = \"refrigerated box\"", "mode = \"cool\"", "");
    for words in [
        ["run", "tried.toml", "--json", "-"].as_slice(),
        &["run", "tried.toml", "--report", "-"],
        &["draw", "compressor-208"],
        &["readings", "compressor-208", "--format", "html"],
    ] {
        let [plain, full] = ["C", "C.UTF-8"].map(|locale| hysteron(&text, words, locale).stdout);
        assert!(!plain.is_empty() && plain == full, "{words:?}");
    }
}
