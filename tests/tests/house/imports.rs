//! No file uses another in a circle, and none uses what stands above it.

use std::path::Path;

use hysteron_tests::imports::{
    CrateRoot, Import, Layer, Sources, circles, climbs, foreign_paths, imports,
};

const CRATES: &[CrateRoot] = &[
    CrateRoot::library("hysteron_logic", "logic/src/lib.rs"),
    CrateRoot::library("hysteron_firmware", "firmware/src/lib.rs"),
    CrateRoot::program("firmware/src/bin/mps2.rs"),
    CrateRoot::program("firmware/src/bin/pico.rs"),
    CrateRoot::program("firmware/src/bin/proof.rs"),
    CrateRoot::library("hysteron_source", "host-sim/source/src/lib.rs"),
    CrateRoot::library("hysteron_plant", "host-sim/plant/src/lib.rs"),
    CrateRoot::library("hysteron_installation", "host-sim/installation/src/lib.rs"),
    CrateRoot::library("hysteron_diagnosis", "host-sim/diagnosis/src/lib.rs"),
    CrateRoot::library("hysteron_bench", "host-sim/bench/src/lib.rs"),
    CrateRoot::library("hysteron_view", "host-sim/view/src/lib.rs"),
    CrateRoot::library("hysteron", "host-sim/src/lib.rs"),
    CrateRoot::program("host-sim/src/main.rs"),
];

/// The layers of the house: what is in one may use its own and what is in layers on lower floors.
const LAYERS: &[Layer] = &[
    Layer {
        name: "logic",
        floor: 1,
        holds: &["logic/src/"],
    },
    Layer {
        name: "source",
        floor: 1,
        holds: &["host-sim/source/src/"],
    },
    Layer {
        name: "firmware",
        floor: 2,
        holds: &["firmware/src/"],
    },
    Layer {
        name: "plant",
        floor: 2,
        holds: &["host-sim/plant/src/"],
    },
    Layer {
        name: "installation",
        floor: 2,
        holds: &["host-sim/installation/src/"],
    },
    Layer {
        name: "diagnosis",
        floor: 3,
        holds: &["host-sim/diagnosis/src/"],
    },
    Layer {
        name: "bench",
        floor: 3,
        holds: &["host-sim/bench/src/"],
    },
    Layer {
        name: "view",
        floor: 4,
        holds: &["host-sim/view/src/"],
    },
    Layer {
        name: "hysteron",
        floor: 5,
        holds: &["host-sim/src/"],
    },
];

fn sources() -> Sources {
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let folders: Vec<&str> = LAYERS
        .iter()
        .flat_map(|layer| layer.holds)
        .map(|held| held.trim_end_matches('/'))
        .collect();
    Sources::in_folders(&top, &folders).expect("the folders can be read")
}

fn of_the_repository() -> Vec<Import> {
    imports(&sources(), CRATES).unwrap_or_else(|wrong| panic!("{}", wrong.join("\n")))
}

fn lines(told: impl IntoIterator<Item = impl ToString>) -> String {
    let told: Vec<String> = told.into_iter().map(|line| line.to_string()).collect();
    told.join("\n")
}

#[test]
fn no_file_uses_another_in_a_circle() {
    let imports = of_the_repository();
    let circles = circles(&imports);
    assert!(circles.is_empty(), "{}", lines(circles));
    // The paths were read: the loop of the bench and the control's own step are among them.
    for (from, to) in [
        (
            "host-sim/bench/src/run/bench.rs",
            "host-sim/bench/src/run/world.rs",
        ),
        ("host-sim/bench/src/run/world.rs", "logic/src/guard.rs"),
        ("firmware/src/bin/pico.rs", "firmware/src/pass.rs"),
    ] {
        let known = |import: &Import| import.from == from && import.to == to;
        assert!(imports.iter().any(known), "{from} uses {to}");
    }
}

#[test]
fn no_file_uses_what_stands_above_it() {
    let climbs = climbs(&of_the_repository(), LAYERS);
    assert!(climbs.is_empty(), "{}", lines(climbs));
}

/// What a page in a browser has not: only the command on the top floor may have it.
const OF_THE_MACHINE: &[&str] = &[
    "rayon",
    "std::env",
    "std::fs",
    "std::io::stdin",
    "std::net",
    "std::process",
    "std::thread",
    "std::time::Instant",
    "std::time::SystemTime",
];

/// Whether a path is one of these or leads into it.
fn reaches_the_machine(path: &str) -> bool {
    OF_THE_MACHINE.iter().any(|&from| {
        path.strip_prefix(from)
            .is_some_and(|rest| rest.is_empty() || rest.starts_with("::"))
    })
}

#[test]
fn files_threads_and_clock_are_on_the_top_floor_alone() {
    let foreign =
        foreign_paths(&sources(), CRATES).unwrap_or_else(|wrong| panic!("{}", wrong.join("\n")));
    let (top, below): (Vec<_>, Vec<_>) = foreign
        .into_iter()
        .filter(|foreign| reaches_the_machine(&foreign.path))
        .partition(|foreign| foreign.from.starts_with("host-sim/src/"));
    // They were seen: the command reads files.
    assert!(
        top.iter()
            .any(|foreign| foreign.path.starts_with("std::fs"))
    );
    let told = below
        .iter()
        .map(|f| format!("{}:{}: `{}` is for the command", f.from, f.line, f.path));
    assert_eq!(lines(told), "");
}

#[test]
fn a_planted_reach_for_the_machine_is_seen() {
    let code = "use std::{fs as disk, io};\nfn f() { let _ = disk::read; }\n\
        fn g() { std::thread::spawn(f); }\n#[cfg(test)] mod tests { use std::env; }\n";
    let roots = [CrateRoot::library("small", "lib.rs")];
    let foreign = foreign_paths(&Sources::of(&[("lib.rs", code)]), &roots).expect("all is there");
    let reaching: Vec<(usize, &str)> = foreign
        .iter()
        .filter(|foreign| reaches_the_machine(&foreign.path))
        .map(|foreign| (foreign.line, foreign.path.as_str()))
        .collect();
    assert_eq!(reaching, [(1, "std::fs"), (3, "std::thread::spawn")]);
    assert!(!reaches_the_machine("std::fs_other::File"));
}

/// The imports of a small library of these files, each as "from to line".
fn read(files: &[(&str, &str)]) -> Result<Vec<String>, Vec<String>> {
    let roots: Vec<CrateRoot> = files
        .iter()
        .filter_map(|&(path, _)| match path {
            "lib.rs" => Some(CrateRoot::library("small", "lib.rs")),
            "other/lib.rs" => Some(CrateRoot::library("other", "other/lib.rs")),
            _ => None,
        })
        .collect();
    let imports = imports(&Sources::of(files), &roots)?;
    let told = |import: &Import| format!("{} {} {}", import.from, import.to, import.line);
    let mut told: Vec<String> = imports.iter().map(told).collect();
    told.dedup();
    Ok(told)
}

#[test]
fn a_planted_circle_is_named_with_what_ties_it() {
    let files = [
        ("lib.rs", "mod egg;\nmod hen;\nmod nest;\n"),
        (
            "egg.rs",
            "use crate::hen::Hen;\n\npub struct Egg(Option<Box<Hen>>);\n",
        ),
        (
            "hen.rs",
            "pub struct Hen;\n\nfn lays() {\n    super::nest::keep(format!(\"{:?}\", 1));\n}\n",
        ),
        (
            "nest.rs",
            "pub fn keep(_: String) {\n    let _ = vec![crate::egg::Egg(None)];\n}\n",
        ),
    ];
    let roots = [CrateRoot::library("small", "lib.rs")];
    let found = imports(&Sources::of(&files), &roots).expect("all is there");
    assert_eq!(
        lines(circles(&found)),
        "\
3 files in a circle: egg.rs, hen.rs, nest.rs
  egg.rs:1: `crate::hen::Hen` is in hen.rs
  hen.rs:4: `super::nest::keep` is in nest.rs
  nest.rs:2: `crate::egg::Egg` is in egg.rs
"
    );
    let broken: Vec<Import> = found
        .iter()
        .filter(|import| import.from != "nest.rs")
        .cloned()
        .collect();
    assert_eq!(circles(&broken), []);
}

#[test]
fn paths_are_read_wherever_they_stand() {
    let user = |code: &str| {
        let files = [
            ("lib.rs", "mod below;\nmod user;\n"),
            (
                "below.rs",
                "pub struct Thing;\npub enum Choice { One, Two }\npub fn act() {}\npub mod inner { pub const N: u8 = 1; }\n",
            ),
            ("user.rs", code),
        ];
        read(&files).unwrap_or_else(|wrong| panic!("{code}: {wrong:?}"))
    };
    for code in [
        "use crate::below::Thing;",
        "use super::below::{self, Thing as Other};",
        "pub use crate::below::Choice::{One, Two};",
        "use crate::below::inner::{N as _};",
        "type Alias = crate::below::Thing;",
        "fn f(_: Vec<Option<crate::below::Thing>>) {}",
        "fn f(_: impl Into<crate::below::Thing>) {}",
        "fn f() { crate::below::act(); }",
        "fn f(c: u8) { match c { crate::below::inner::N => {} _ => {} } }",
        "fn f() { use crate::below as under; under::act(); }",
        "use crate::below; fn f() { below::act(); }",
        "use crate::below::*; fn f(_: Thing) {}",
        "use crate::below::*; fn f() { let _ = vec![Choice::One]; }",
        "use crate::below::Choice::*; fn f() { g(Two); }",
        "fn f() { println!(\"{}\", crate::below::inner::N); }",
        "fn f() { assert!(matches!(1, n if n == 0..crate::below::inner::N)); }",
        "macro_rules! m { () => { $crate::below::act() }; }",
        "macro_rules! m { () => { use crate::below::{inner::N, act}; }; }",
        "#[attribute(with = crate::below::act)] struct S;",
        "struct S; impl From<crate::below::Thing> for S { fn from(_: crate::below::Thing) -> S { S } }",
        "#[cfg(test)] mod tests { use super::super::below::act; }",
    ] {
        assert_eq!(user(code), ["user.rs below.rs 1"], "{code}");
    }
    for code in [
        "use crate::below;",
        "use std::below::act;",
        "struct Thing; fn f(_: Thing) {}",
        "fn f(s: S) { s.act(); vec![s.act, Self::act]; }",
        "// crate::below::act()\nconst TEXT: &str = \"crate::below::act\";",
        "use crate::below::Choice as Unused_; struct One;",
    ] {
        let found = user(code);
        let only_use = code.contains("Choice") && found == ["user.rs below.rs 1"];
        assert!(found.is_empty() || only_use, "{code}: {found:?}");
    }
}

#[test]
fn a_path_leads_to_the_file_that_holds_the_item() {
    let files = [
        (
            "lib.rs",
            "pub mod top;\nmod user;\npub use top::low::Deep;\n",
        ),
        (
            "top/mod.rs",
            "pub mod low;\nmod ways;\npub use low::{Deep as Renamed, deep};\npub use self::low::*;\npub use std::string::String as Word;\n",
        ),
        (
            "top/low.rs",
            "pub struct Deep;\npub fn deep() {}\npub struct Open;\nmacro_rules! made { ($item:item) => { $item } }\nmade! { pub struct Made; }\n",
        ),
        (
            "top/ways.rs",
            "use super::low::Deep;\nimpl Deep { pub fn far() {} }\n",
        ),
        (
            "user.rs",
            "use crate::top::Renamed;\nuse crate::top::Open;\nuse crate::Deep;\nfn f() { crate::top::deep(); Deep::far(); }\nuse top::Made;\nuse crate::top;\nuse other::there;\nuse crate::top::Word;\n",
        ),
        ("other/lib.rs", "pub mod inside;\npub use inside::there;\n"),
        ("other/inside.rs", "pub fn there() {}\n"),
    ];
    assert_eq!(
        read(&files).expect("all is there"),
        [
            "lib.rs top/low.rs 3",
            "other/lib.rs other/inside.rs 2",
            "top/mod.rs top/low.rs 3",
            "top/ways.rs top/low.rs 1",
            "top/ways.rs top/low.rs 2",
            "user.rs other/inside.rs 7",
            "user.rs top/low.rs 1",
            "user.rs top/low.rs 2",
            "user.rs top/low.rs 3",
            "user.rs top/low.rs 4",
            "user.rs top/low.rs 5",
            "user.rs top/ways.rs 4",
        ]
    );
}

#[test]
fn what_cannot_be_followed_is_told() {
    let lost = [("lib.rs", "use crate::nowhere::Thing;\n"), ("stray.rs", "")];
    assert_eq!(
        read(&lost),
        Err(vec!["stray.rs: no `mod` leads to this file".to_owned()])
    );
    assert_eq!(
        read(&lost[..1]),
        Err(vec![
            "lib.rs:1: `crate::nowhere::Thing` leads nowhere".to_owned()
        ])
    );
    let through = [(
        "lib.rs",
        "mod below { }\nmod user { use crate::below; fn f() { below::lost(); } }\n",
    )];
    assert_eq!(
        read(&through),
        Err(vec!["lib.rs:2: `below::lost` leads nowhere".to_owned()])
    );
    let absent = [("lib.rs", "mod absent;\n")];
    assert_eq!(
        read(&absent),
        Err(vec!["absent.rs: there is no such file".to_owned()])
    );
    let broken = [("lib.rs", "fn {\n")];
    assert!(read(&broken).is_err_and(|wrong| wrong[0].starts_with("lib.rs: ")));
}

#[test]
fn a_use_of_what_stands_above_is_named() {
    let layers = [
        Layer {
            name: "cellar",
            floor: 1,
            holds: &["cellar/"],
        },
        Layer {
            name: "pantry",
            floor: 1,
            holds: &["cellar/pantry.rs"],
        },
        Layer {
            name: "roof",
            floor: 2,
            holds: &["roof.rs"],
        },
    ];
    let import = |from: &str, to: &str| Import {
        from: from.to_owned(),
        to: to.to_owned(),
        line: 3,
        path: "a::B".to_owned(),
    };
    let allowed = [
        import("roof.rs", "cellar/pantry.rs"),
        import("cellar/a.rs", "cellar/b.rs"),
    ];
    assert_eq!(climbs(&allowed, &layers), [""; 0]);
    let climbing = [
        import("cellar/a.rs", "roof.rs"),
        import("cellar/a.rs", "cellar/pantry.rs"),
        import("attic.rs", "roof.rs"),
    ];
    assert_eq!(
        climbs(&climbing, &layers),
        [
            "cellar/a.rs:3: `a::B` is in roof.rs: cellar (floor 1) may not use roof (floor 2)",
            "cellar/a.rs:3: `a::B` is in cellar/pantry.rs: cellar (floor 1) may not use pantry (floor 1)",
            "attic.rs is in no layer",
        ]
    );
}
