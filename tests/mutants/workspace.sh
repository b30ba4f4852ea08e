#!/usr/bin/env bash
# Lays out, in the folder given, a workspace that holds the control law and its
# promises and nothing else, so that each change to the law builds in seconds.
set -euo pipefail
root=$(cd "$(dirname "$0")/../.." && pwd)
to=${1:?the folder to fill}

mkdir -p "$to/proof/tests"
rm -rf "$to/logic" "$to/proof/src" "$to/proof/tests/promises"
cp -R "$root/logic" "$to/logic"
mkdir -p "$to/proof/src"
cp -R "$root/tests/src/promise" "$to/proof/src/promise"
cp "$root/tests/src/published_table.rs" "$to/proof/src/published_table.rs"
cp -R "$root/tests/tests/promises" "$to/proof/tests/promises"
mkdir -p "$to/proof/data"
cp "$root/tests/data/thermistor_coefficients.csv" "$to/proof/data/"
cp "$root/Cargo.lock" "$to/Cargo.lock"
echo '#![allow(missing_docs)] pub mod promise; pub mod published_table;' >"$to/proof/src/lib.rs"

# Versions, lints and profiles are those of the whole; only the members differ.
sed -e 's|^members = .*|members = ["logic", "proof"]|' -e '/^default-members/d' \
  -e '/^hysteron = /d' -e '/^hysteron-firmware = /d' "$root/Cargo.toml" >"$to/Cargo.toml"
cat >"$to/proof/Cargo.toml" <<'MANIFEST'
[package]
name = "hysteron-tests"
version.workspace = true
edition.workspace = true

[dependencies]
hysteron-logic.workspace = true
proptest.workspace = true
proptest-state-machine.workspace = true
MANIFEST
