//! What the program reads is never lost, and what it writes is whole or not there.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

const SCENARIO: &str = "\
title = \"A box\"
duration = \"6 h\"
seed = 3
[plant]
kind = \"refrigerated box\"
[control]
mode = \"cool\"
setpoint = \"2 °C\"
differential = \"2 K\"
[[expect]]
quantity = \"air temperature\"
at_most = \"30 °C\"
";

const RECORDING: &str = "time,box °C\n0,3\n60,5\n120,7\n";

/// A folder with a scenario, its wiring, a recording and readings.
struct Folder(tempfile::TempDir);

impl Folder {
    fn new() -> Self {
        let folder = Self(tempfile::tempdir().expect("a folder"));
        let done = folder.hysteron(&["list", "--copy", "compressor-120", "wiring.toml"]);
        assert_eq!(done.status.code(), Some(0));
        folder.put("box.toml", SCENARIO);
        folder.put(
            "wired.toml",
            &format!("installation = \"wiring.toml\"\n{SCENARIO}"),
        );
        folder.put("room.csv", RECORDING);
        folder.put("visit.toml", "reading = []\n");
        folder.put("year.epw", "LOCATION,\n");
        folder
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn put(&self, name: &str, text: &str) {
        fs::write(self.path(name), text).expect("written");
    }

    fn text(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).expect("there")
    }

    fn command(&self, words: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_hysteron"));
        command
            .args(words)
            .current_dir(self.0.path())
            .env("NO_COLOR", "1")
            .env("LC_ALL", "C.UTF-8")
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        command
    }

    fn hysteron(&self, words: &[&str]) -> Output {
        self.command(words).output().expect("it ends")
    }

    /// Refused with these words before anything was done.
    fn refuses(&self, words: &[&str], said: &str) {
        let done = self.hysteron(words);
        let complaint = String::from_utf8_lossy(&done.stderr);
        assert_eq!(done.status.code(), Some(2), "{words:?}\n{complaint}");
        assert!(complaint.contains(said), "{words:?}\n{complaint}");
        assert!(complaint.contains("\nhelp: "), "{words:?}\n{complaint}");
        assert!(
            done.stdout.is_empty(),
            "{words:?} ran before it was refused"
        );
    }

    fn writes(&self, words: &[&str], code: i32) {
        let done = self.hysteron(words);
        let complaint = String::from_utf8_lossy(&done.stderr);
        assert_eq!(done.status.code(), Some(code), "{words:?}\n{complaint}");
    }

    /// The names in a folder within this one.
    fn names(&self, name: &str) -> Vec<String> {
        let entries = fs::read_dir(self.path(name)).expect("there");
        let names = entries.map(|entry| entry.expect("an entry").file_name());
        let mut names: Vec<String> = names
            .map(|name| name.to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }
}

/// A command, and the file it would write over; the option's place is the last word.
const OVER: &[(&[&str], &str)] = &[
    (&["run", "box.toml", "--report"], "box.toml"),
    (&["run", "box.toml", "--vcd"], "box.toml"),
    (&["run", "box.toml", "--csv"], "box.toml"),
    (&["run", "box.toml", "--json"], "box.toml"),
    (&["run", "box.toml", "--junit"], "box.toml"),
    (&["run", "wired.toml", "--json"], "wiring.toml"),
    (
        &["run", "box.toml", "--weather", "year.epw", "--csv"],
        "year.epw",
    ),
    (&["sweep", "box.toml", "--csv"], "box.toml"),
    (&["sweep", "wired.toml", "--csv"], "wiring.toml"),
    (
        &[
            "sweep",
            "box.toml",
            "--set",
            "installation=wiring.toml",
            "--csv",
        ],
        "wiring.toml",
    ),
    (&["replay", "room.csv", "--csv"], "room.csv"),
    (&["replay", "room.csv", "--report"], "room.csv"),
    (
        &["replay", "room.csv", "--control", "box.toml", "--csv"],
        "box.toml",
    ),
    (&["draw", "wiring.toml", "--out"], "wiring.toml"),
    (&["find-fault", "wiring.toml", "--drawing"], "wiring.toml"),
    (
        &[
            "find-fault",
            "wiring.toml",
            "--readings",
            "visit.toml",
            "--drawing",
        ],
        "visit.toml",
    ),
];

#[test]
fn what_is_read_is_never_written_over() {
    let folder = Folder::new();
    for (words, file) in OVER {
        let before = folder.text(file);
        let with = |more: &[&'static str]| [words, more].concat();
        folder.refuses(&with(&[file]), "would write over");
        folder.refuses(&with(&[file, "--force"]), "would write over");
        assert_eq!(folder.text(file), before, "{words:?}");
    }
}

#[cfg(unix)]
#[test]
fn links_hide_nothing() {
    let folder = Folder::new();
    for (words, file) in OVER {
        let before = folder.text(file);
        std::os::unix::fs::symlink(folder.path(file), folder.path("soft")).expect("a link");
        fs::hard_link(folder.path(file), folder.path("hard")).expect("a link");
        let roundabout = format!(
            "../{}/{file}",
            folder.0.path().file_name().expect("named").display()
        );
        for link in ["soft", "hard", &roundabout] {
            folder.refuses(&[words, &[link, "--force"][..]].concat(), "the same file");
            assert_eq!(folder.text(file), before, "{words:?} {link}");
        }
        for link in ["soft", "hard"] {
            fs::remove_file(folder.path(link)).expect("a link");
        }
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_file_on_standard_input_is_read_too() {
    let folder = Folder::new();
    for (words, file) in [
        (["run", "-", "--json", "box.toml"].as_slice(), "box.toml"),
        (&["draw", "-", "--out", "wiring.toml"], "wiring.toml"),
        (&["replay", "-", "--csv", "room.csv"], "room.csv"),
    ] {
        let before = folder.text(file);
        let input = fs::File::open(folder.path(file)).expect("there");
        let done = folder
            .command(words)
            .stdin(input)
            .output()
            .expect("it ends");
        assert_eq!(done.status.code(), Some(2), "{words:?}");
        assert_eq!(folder.text(file), before, "{words:?}");
    }
}

#[test]
fn two_things_never_go_to_one_file() {
    let folder = Folder::new();
    folder.refuses(
        &["run", "box.toml", "--json", "out", "--csv", "./out"],
        "to one file",
    );
    folder.refuses(
        &["run", "box.toml", "--vcd", "new/out", "--csv", "new/out"],
        "to one file",
    );
    folder.refuses(
        &["replay", "room.csv", "--csv", "out", "--report", "out"],
        "to one file",
    );
    assert!(!folder.path("out").exists() && !folder.path("new").exists());
}

/// A command that writes to its last word, and the code it ends with.
const WRITES: &[(&[&str], i32)] = &[
    (&["run", "box.toml", "--report"], 0),
    (&["run", "box.toml", "--vcd"], 0),
    (&["run", "box.toml", "--csv"], 0),
    (&["run", "box.toml", "--json"], 0),
    (&["run", "box.toml", "--junit"], 0),
    (&["sweep", "box.toml", "--csv"], 0),
    (
        &[
            "sweep",
            "box.toml",
            "--set",
            "control.setpoint=1C,2C",
            "--csv",
        ],
        0,
    ),
    (&["replay", "room.csv", "--csv"], 0),
    (&["replay", "room.csv", "--report"], 0),
    (&["curve", "--csv"], 0),
    (&["curve", "--unit", "F", "--csv"], 0),
    (&["draw", "compressor-120", "--out"], 0),
    (&["find-fault", "compressor-120", "--drawing"], 0),
];

/// Every kind of file is known again as ours, and nothing else is taken for it.
#[test]
fn only_files_of_ours_are_replaced_unasked() {
    let folder = Folder::new();
    let mut written = Vec::new();
    for (place, (words, code)) in WRITES.iter().enumerate() {
        let to = format!("out-{place}");
        let with = |more: &[&'static str]| {
            let mut all: Vec<&str> = [words, &[to.as_str()][..]].concat();
            all.extend(more);
            all
        };
        folder.put(&to, "my own notes\n");
        folder.refuses(&with(&[]), "is there already, and is not");
        assert_eq!(folder.text(&to), "my own notes\n", "{words:?}");
        folder.writes(&with(&["--force"]), *code);
        folder.writes(&with(&[]), *code);
        folder.put(&to, "");
        folder.writes(&with(&[]), *code);
        written.push((words, folder.text(&to)));
    }
    // A file of another kind is as foreign as any.
    for (words, text) in &written {
        let same_kind = |other: &[&str]| other[0] == words[0] && other.last() == words.last();
        let same_format = |other: &[&str]| {
            same_kind(other)
                || [other, words]
                    .iter()
                    .all(|words| words.contains(&"--report"))
                || [other, words]
                    .iter()
                    .all(|words| matches!(words[0], "draw" | "find-fault"))
        };
        for (other, _) in WRITES.iter().filter(|(other, _)| !same_format(other)) {
            folder.put("other", text);
            folder.refuses(&[other, &["other"][..]].concat(), "is there already");
        }
    }
}

#[test]
fn the_demonstration_and_the_manual_keep_what_is_not_theirs() {
    let folder = Folder::new();
    folder.put("hysteron-report.html", "<!DOCTYPE html><title>mine</title>");
    folder.refuses(&[], "hysteron-report.html is there already");
    fs::create_dir(folder.path("man1")).expect("a folder");
    folder.put("man1/hysteron-run.1", "mine");
    folder.refuses(
        &["manual", "--folder", "man1"],
        "hysteron-run.1 is there already",
    );
    assert_eq!(folder.names("man1"), ["hysteron-run.1"]);
    folder.writes(&["manual", "--folder", "man1", "--force"], 0);
    folder.writes(&["manual", "--folder", "man1"], 0);
}

#[test]
fn a_place_that_cannot_be_written_is_found_before_anything_runs() {
    let folder = Folder::new();
    fs::create_dir(folder.path("there")).expect("a folder");
    for (to, said) in [
        ("box.toml/out", "cannot write box.toml/out"),
        ("there", "cannot write there"),
    ] {
        folder.refuses(&["draw", "compressor-120", "--out", to], said);
        folder.refuses(&["sweep", "box.toml", "--csv", to], said);
        folder.refuses(&["replay", "room.csv", "--csv", to], said);
    }
    folder.refuses(
        &["run", "box.toml", "--json", "box.toml/out"],
        "cannot write",
    );
    folder.refuses(
        &["sweep", "box.toml", "--failures", "box.toml"],
        "cannot write",
    );
    folder.refuses(
        &["sweep", "box.toml", "--csv", "missing/out"],
        "cannot write",
    );
    folder.writes(&["run", "box.toml", "--csv", "missing/out"], 0);
}

/// A limit on the size of files cuts every write short, as a full disk does.
#[cfg(unix)]
#[test]
fn a_write_that_is_cut_short_leaves_what_was_there() {
    let folder = Folder::new();
    for option in ["--csv", "--json", "--report", "--vcd"] {
        folder.writes(&["run", "box.toml", option, "out"], 0);
        let before = folder.text("out");
        assert!(before.len() > 8_192, "{option} {}", before.len());
        let script = "trap '' XFSZ; ulimit -f 8; exec \"$0\" \"$@\"";
        let done = Command::new("sh")
            .args(["-c", script, env!("CARGO_BIN_EXE_hysteron")])
            .args(["run", "box.toml", "--seed", "7", option, "out"])
            .current_dir(folder.0.path())
            .env("LC_ALL", "C.UTF-8")
            .output()
            .expect("it ends");
        let complaint = String::from_utf8_lossy(&done.stderr);
        assert_eq!(done.status.code(), Some(2), "{complaint}");
        assert!(complaint.contains("cannot write out: "), "{complaint}");
        assert!(
            complaint.contains("a file that was there already is as it was"),
            "{complaint}"
        );
        assert_eq!(folder.text("out"), before, "{option}");
        fs::remove_file(folder.path("out")).expect("ours");
    }
}

/// Killed at any moment, a run leaves the old file or the new one.
#[cfg(unix)]
#[test]
fn a_process_that_is_killed_leaves_no_half_of_a_file() {
    const KILLS: u32 = 60;
    let folder = Folder::new();
    let words = |seed| {
        [
            "run", "box.toml", "--seed", seed, "--csv", "a", "--json", "b", "--vcd", "c",
        ]
    };
    let files = || ["a", "b", "c"].map(|name| folder.text(name));
    folder.writes(&words("1"), 0);
    let old = files();
    let began = std::time::Instant::now();
    folder.writes(&words("2"), 0);
    let takes = began.elapsed();
    let new = files();
    let (mut killed, mut kept, mut random) = (0, 0, 1_u32);
    for _ in 0..KILLS {
        for (name, text) in ["a", "b", "c"].into_iter().zip(&old) {
            folder.put(name, text);
        }
        let mut child = folder
            .command(&words("2"))
            .stdout(Stdio::null())
            .spawn()
            .expect("it starts");
        // Numerical Recipes' generator serves well enough here.
        random = random.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        std::thread::sleep(takes.mul_f64(0.5 + 0.7 * f64::from(random) / f64::from(u32::MAX)));
        child.kill().expect("ours");
        killed += u32::from(!child.wait().expect("it ends").success());
        for ((found, old), new) in files().iter().zip(&old).zip(&new) {
            assert!(
                found == old || found == new,
                "{} bytes are half a file",
                found.len()
            );
            kept += u32::from(found == old);
        }
    }
    assert!(
        killed > 0 && kept > 0,
        "no kill came early enough: {killed}, {kept}"
    );
}

const BY_VARIANT: &str = "\
[[variant]]
name = \"open\"
settings = { fallback = \"open\" }
";

#[test]
fn values_that_would_not_be_in_force_are_refused() {
    let folder = Folder::new();
    folder.put("variants.toml", &format!("{SCENARIO}{BY_VARIANT}"));
    let set = "control.fallback=open,\"keep closed\"";
    folder.refuses(
        &["sweep", "variants.toml", "--set", set],
        "not be in force in the variant \"open\"",
    );
    let twice = [
        "--set",
        "control.setpoint=1C",
        "--set",
        "control.setpoint=2C",
    ];
    folder.refuses(
        &[&["sweep", "box.toml"][..], &twice].concat(),
        "control.setpoint is given twice",
    );
    let replay = ["replay", "room.csv", "--control", "box.toml"];
    folder.refuses(
        &[&replay[..], &twice].concat(),
        "control.setpoint is given twice",
    );
}

/// What failing runs are called is what they hold.
#[test]
fn a_failing_run_holds_the_seed_and_the_values_of_its_name() {
    let folder = Folder::new();
    folder.put(
        "box.toml",
        &SCENARIO.replace("at_most = \"30 °C\"", "at_most = \"1 °C\""),
    );
    let sweep = [
        "sweep",
        "box.toml",
        "--seeds",
        "1..4",
        "--set",
        "control.differential=1K,3K",
    ];
    folder.writes(&sweep, 1);
    let names = folder.names("hysteron-failures");
    assert_eq!(names.len(), 8, "{names:?}");
    for name in &names {
        let text = folder.text(&format!("hysteron-failures/{name}"));
        let (_, seed) = name
            .trim_end_matches(".toml")
            .split_once("-seed-")
            .expect("a seed");
        assert!(
            text.contains(&format!("\nseed = {seed}\n")),
            "{name}\n{text}"
        );
        let scenario: String = text.lines().filter(|line| !line.starts_with('#')).collect();
        for differential in ["1K", "3K"] {
            let named = name.contains(&format!("-differential-{differential}-"));
            assert_eq!(
                named,
                scenario.contains(&format!("\"{differential}\"")),
                "{name}\n{text}"
            );
        }
        folder.writes(&["run", &format!("hysteron-failures/{name}")], 1);
    }
    // They are ours, and a neighbour that is not stays.
    folder.writes(&sweep, 1);
    assert_eq!(folder.names("hysteron-failures"), names);
    let neighbour = "hysteron-failures/box-00002-notes.toml";
    folder.put(neighbour, "mine");
    folder.refuses(&sweep, "box-00002-notes.toml is there already");
    assert_eq!(folder.text(neighbour), "mine");
}

#[test]
fn a_failing_run_over_installations_finds_its_own() {
    let folder = Folder::new();
    fs::create_dir(folder.path("far")).expect("a folder");
    let wiring = folder.text("wiring.toml");
    for name in ["one", "two"] {
        folder.put(&format!("far/{name}.toml"), &wiring);
    }
    let text = SCENARIO.replace("at_most = \"30 °C\"", "at_most = \"1 °C\"");
    folder.put(
        "far/box.toml",
        &format!("installation = \"one.toml\"\n{text}"),
    );
    let set = "installation=one.toml,two.toml";
    folder.writes(&["sweep", "far/box.toml", "--set", set, "--shrink", "0"], 1);
    let names = folder.names("hysteron-failures");
    assert_eq!(names.len(), 2, "{names:?}");
    for name in names {
        folder.writes(&["run", &format!("hysteron-failures/{name}")], 1);
    }
}

#[test]
fn seeds_have_one_range_everywhere() {
    let folder = Folder::new();
    folder.writes(&["run", "box.toml", "--seed", "4294967295"], 0);
    folder.writes(&["sweep", "box.toml", "--seeds", "4294967295"], 0);
    folder.put(
        "seeded.toml",
        &SCENARIO.replace("seed = 3", "seed = 4294967295"),
    );
    folder.writes(&["run", "seeded.toml"], 0);
    folder.writes(&["run", "box.toml", "--seed", "4294967296"], 2);
    folder.writes(&["sweep", "box.toml", "--seeds", "4294967296"], 2);
    folder.put(
        "seeded.toml",
        &SCENARIO.replace("seed = 3", "seed = 4294967296"),
    );
    folder.writes(&["run", "seeded.toml"], 2);
}

#[test]
fn an_image_is_for_the_chip_and_is_looked_for_where_it_is_said_to_be() {
    let folder = Folder::new();
    folder.refuses(
        &["run", "box.toml", "--image", "my.elf"],
        "--image is for runs on the board's chip",
    );
    let done = folder.hysteron(&["run", "box.toml", "--on", "chip", "--image", "my.elf"]);
    assert_eq!(done.status.code(), Some(2));
    let said = String::from_utf8_lossy(&done.stderr);
    assert!(said.contains("there is no image at my.elf"), "{said}");
    assert!(said.contains("--image FILE"), "{said}");
}

/// Nothing is found by way of the folder that the program was built in.
#[test]
fn a_program_that_was_taken_elsewhere_looks_where_it_is() {
    let folder = Folder::new();
    let program = folder.path("hysteron");
    fs::copy(env!("CARGO_BIN_EXE_hysteron"), &program).expect("copied");
    let done = Command::new(&program)
        .args(["run", "box.toml", "--on", "chip"])
        .current_dir(folder.0.path())
        .output()
        .expect("it ends");
    let said = String::from_utf8_lossy(&done.stderr);
    assert_eq!(done.status.code(), Some(2), "{said}");
    let image = Path::new("target/board/pico.elf").display();
    assert!(
        said.contains(&format!("there is no image at {image};")),
        "{said}"
    );
}
