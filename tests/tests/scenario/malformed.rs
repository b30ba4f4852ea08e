//! Every kind of mistake in a scenario is found at its place, alone, with what to do about it.
//!
//! Each case puts one mistake of `data/scenarios/mistakes.toml` into
//! `data/scenarios/sound.toml`. The messages as a person sees them are kept in
//! `snapshots/`.

use std::fmt::Write;
use std::path::Path;

use hysteron::cli;
use hysteron::console::Console;
use hysteron::terminal::{Charset, Screen};
use hysteron_bench::scenario::plan::Plan;
use hysteron_bench::scenario::search_paths::SearchPaths;
use hysteron_source::text::{Rejected, SourceText};

pub const SOUND: &str = include_str!("../../data/scenarios/sound.toml");
const MISTAKES: &str = include_str!("../../data/scenarios/mistakes.toml");

#[derive(serde::Deserialize)]
struct Mistakes {
    mistake: Vec<Mistake>,
}

/// What is replaced by what, which text is underlined then, and what the message must say.
#[derive(serde::Deserialize)]
pub struct Mistake {
    pub from: String,
    pub to: String,
    marks: String,
    says: Vec<String>,
}

pub fn mistakes() -> Vec<Mistake> {
    let table: Mistakes = toml::from_str(MISTAKES).unwrap_or_else(|error| panic!("{error}"));
    table.mistake
}

impl Mistake {
    /// The sound scenario with this mistake made.
    pub fn made(&self) -> String {
        let Self { from, to, .. } = self;
        assert!(SOUND.contains(from), "{from} is not in the scenario");
        SOUND.replacen(from, to, 1)
    }

    /// What is wrong with the message; empty if nothing is.
    fn judge(&self, text: &str, rejected: &Rejected) -> String {
        let mut wrong = String::new();
        let shown = rejected.to_string();
        let problem = &rejected.problems()[0];
        // An entry that is missing from the whole file has no place in it.
        let place = problem.place().unwrap_or(0..0);
        let marked = text.get(place).expect("the place is in the text");
        if marked != self.marks {
            write!(
                wrong,
                "marks {marked:?}, not {:?}:\n{shown}\n\n",
                self.marks
            )
            .expect("a string");
        }
        for part in &self.says {
            if !shown.contains(part) {
                write!(wrong, "does not say {part:?}:\n{shown}\n\n").expect("a string");
            }
        }
        // After a broken line the grammar may stumble again; where the grammar holds, one mistake is one problem.
        let grammar = problem.what().starts_with("not TOML") || problem.what().ends_with("twice");
        if rejected.problems().len() != 1 && !grammar {
            write!(wrong, "one mistake, several problems:\n{shown}\n\n").expect("a string");
        }
        wrong
    }
}

fn read(bytes: impl Into<Vec<u8>>) -> Result<Plan, Rejected> {
    let source = SourceText::from_bytes("cooler.toml", bytes.into())?;
    Plan::read(&source, &SearchPaths::default())
}

fn rejected(bytes: impl Into<Vec<u8>>) -> Rejected {
    let bytes = bytes.into();
    let text = String::from_utf8_lossy(&bytes).into_owned();
    match read(bytes) {
        Ok(_) => panic!("this was accepted:\n{text}"),
        Err(rejected) => rejected,
    }
}

#[test]
fn the_sound_scenario_is_accepted() {
    for text in [
        SOUND.to_owned(),
        SOUND.replace('\n', "\r\n"),
        format!("\u{feff}{SOUND}"),
    ] {
        let plan = read(text).unwrap_or_else(|rejected| panic!("{rejected}"));
        assert_eq!(plan.cases.len(), 2);
        assert_eq!(plan.expectations.len(), 5);
        // 27 openings of the door with their ends, the probe's opening and recovery, one change,
        // the breaker's tripping and its reset.
        assert_eq!(plan.cases[0].timeline.edges().count(), 27 * 2 + 2 + 1 + 2);
    }
}

#[test]
fn each_mistake_is_found_at_its_place_with_its_remedy() {
    let mistakes = mistakes();
    let kinds = mistakes.len();
    assert!(kinds >= 90, "{kinds} kinds");
    let (mut seen, mut wrong) = (String::new(), String::new());
    for mistake in &mistakes {
        let Mistake { from, to, .. } = mistake;
        let text = mistake.made();
        let rejected = rejected(text.as_str());
        wrong.push_str(&mistake.judge(&text, &rejected));
        write!(seen, "## {from:?} -> {to:?}\n\n{rejected}\n\n").expect("a string");
    }
    assert!(wrong.is_empty(), "{wrong}");
    insta::assert_snapshot!("mistakes", seen);
}

#[test]
fn each_mistake_ends_the_command_with_the_code_for_wrong_input() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("malformed_scenarios");
    std::fs::create_dir_all(&folder).expect("a folder");
    let file = folder.join("cooler.toml");
    for mistake in mistakes() {
        std::fs::write(&file, mistake.made()).expect("a file");
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let words = [
            "hysteron".into(),
            "run".into(),
            file.clone().into_os_string(),
        ];
        let screen = Screen::new(100, Charset::Unicode);
        let exit = cli::perform(words, &mut Console::new(&mut out, &mut err, screen));
        let said = String::from_utf8(err).expect("text");
        assert_eq!(exit.code(), 2, "{said}");
        assert!(said.contains("cooler.toml"), "which file?\n{said}");
        assert!(out.is_empty(), "results of a scenario that cannot be run");
    }
}

#[test]
fn what_is_no_scenario_at_all_is_refused_as_a_whole() {
    let mut latin_1 = SOUND.as_bytes().to_vec();
    let degree = SOUND.find('°').expect("a degree sign");
    latin_1.remove(degree);
    let many: String = (0..20_000).map(|n| format!("key{n} = {n}\n")).collect();
    let cases: [(&str, Vec<u8>, &[&str]); 11] = [
        ("empty", vec![], &["the file is empty", "bundled"]),
        ("blank", b"\r\n\t \n".to_vec(), &["the file is empty"]),
        (
            "comment",
            b"# nothing else".to_vec(),
            &["lacks `title`", "lacks `plant`", "lacks `control`"],
        ),
        (
            "not UTF-8",
            latin_1,
            &["not UTF-8", "cooler.toml:17:15", "save the file as UTF-8"],
        ),
        (
            "binary",
            (0..=255).cycle().take(5_000).collect(),
            &["not UTF-8"],
        ),
        ("zeros", vec![0; 5_000], &["not TOML"]),
        (
            "huge",
            vec![b'#'; SourceText::LIMIT_BYTES + 1],
            &["larger than 1 MiB", "right file"],
        ),
        (
            "one endless line",
            vec![b'a'; SourceText::LIMIT_BYTES],
            &["not TOML"],
        ),
        (
            "deep lists",
            format!("x = {}", "[".repeat(100_000)).into_bytes(),
            &["nested too deeply"],
        ),
        (
            "deep tables",
            format!("[{}x]", "a.".repeat(100_000)).into_bytes(),
            &["nested too deeply"],
        ),
        (
            "many keys",
            many.into_bytes(),
            &["no `key0`", "more problems follow"],
        ),
    ];
    for (name, bytes, says) in cases {
        let shown = rejected(bytes).to_string();
        for part in says {
            assert!(shown.contains(part), "{name}: {part:?} is not in\n{shown}");
        }
        assert!(
            shown.contains("cooler.toml"),
            "{name}: which file?\n{shown}"
        );
        assert!(
            shown.len() < 20_000,
            "{name}: {} bytes of message",
            shown.len()
        );
    }
}

#[test]
fn one_look_finds_mistakes_in_every_part() {
    let text = SOUND
        .replace("seed =", "sead =")
        .replace("product_kg = 500", "product_kg = 0")
        .replace("\"20 °C\"", "\"20\"")
        .replace("lag = \"30 s\"", "lag = 30")
        .replace("\"2 K\"", "\"2 V\"")
        .replace("for = \"30 s\"", "for = \"30 min\"")
        .replace("count = \"starts\"", "count = \"start\"");
    let rejected = rejected(text);
    assert_eq!(rejected.problems().len(), 7, "{rejected}");
    let places: Vec<usize> = rejected
        .problems()
        .iter()
        .filter_map(|problem| Some(problem.place()?.start))
        .collect();
    assert!(places.is_sorted(), "{places:?}");
    assert!(
        !rejected.to_string().contains('\u{1b}'),
        "plain text holds no escapes"
    );
    assert!(
        rejected.styled().contains('\u{1b}'),
        "a terminal gets colours"
    );
}

const EXPECTATION: &str = "[[expect]]\ncount = \"starts\"\nat_most = 9\n";

/// What takes more than one change to the sound scenario.
#[test]
fn too_much_and_too_late_are_refused() {
    let often = SOUND
        .replace(
            "duration = \"24 h\"",
            "duration = \"24 h\"\nstep = \"10 ms\"",
        )
        .replace("for = \"30 s\"", "for = \"20 ms\"");
    let with_doors = |text: &str, times: usize| {
        let at = text.find("[[happening]]").expect("happenings");
        let length = text[at + 1..].find("[[happening]]").expect("another") + 1;
        text.replacen(
            &text[at..at + length],
            &text[at..at + length].repeat(times),
            1,
        )
    };
    let cases = [
        (
            often.replace("every = \"20 min\"", "every = \"50 ms\""),
            "this happens too often",
            "choose a longer time between, or an earlier end",
        ),
        (
            with_doors(
                &often.replace("every = \"20 min\"", "every = \"200 ms\""),
                4,
            ),
            "too much happens in this scenario",
            "shorten the scenario, or let things happen less often",
        ),
        (
            SOUND
                .replace("duration = \"24 h\"", "duration = \"48 h\"")
                .replace("at = \"20:00\"", "at = \"day 2 01:00\"\neach_day = true"),
            "what happens each day begins on day 1",
            "a time of day such as \"09:00\"",
        ),
        (
            format!("{SOUND}\n{}", EXPECTATION.repeat(500)),
            "more than 500 of [[expect]]",
            "split the scenario in two",
        ),
    ];
    for (text, what, advice) in cases {
        assert_ne!(text, SOUND);
        let shown = rejected(text).to_string();
        assert!(shown.contains(what), "{shown}");
        assert!(shown.contains(advice), "{shown}");
    }
}
