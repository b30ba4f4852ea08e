//! Gives the linker the memory of the board that is being built.

use std::env;
use std::fs;
use std::path::PathBuf;

fn main() {
    println!("cargo:rerun-if-changed=memory");
    if env::var("CARGO_CFG_TARGET_OS").as_deref() != Ok("none") {
        return;
    }
    let board = match (has("PICO") || has("PROOF"), has("MPS2")) {
        (true, false) => "pico",
        (false, true) => "mps2",
        (true, true) => panic!("two boards at once: choose the feature pico or the feature mps2"),
        (false, false) => return,
    };
    let out = PathBuf::from(env::var("OUT_DIR").expect("cargo sets OUT_DIR"));
    fs::copy(format!("memory/{board}.x"), out.join("memory.x")).expect("memory.x is written");
    println!("cargo:rustc-link-search={}", out.display());
    println!("cargo:rustc-link-arg-bins=--nmagic");
    println!("cargo:rustc-link-arg-bins=-Tlink.x");
    if has("LOG") {
        println!("cargo:rustc-link-arg-bins=-Tdefmt.x");
    }
}

fn has(feature: &str) -> bool {
    env::var_os(format!("CARGO_FEATURE_{feature}")).is_some()
}
