#!/usr/bin/env bash
# Lays out, in the folder given, a workspace that holds the control law, the firmware
# and the promises and nothing else, so that each change to them builds in seconds.
set -euo pipefail
root=$(cd "$(dirname "$0")/../.." && pwd)
to=${1:?the folder to fill}

rm -rf "$to/logic" "$to/firmware" "$to/proof"
mkdir -p "$to/proof/src" "$to/proof/tests" "$to/proof/data"
cp -R "$root/logic" "$root/firmware" "$to/"
cp -R "$root/tests/src/promise" "$root/tests/src/published_table.rs" "$to/proof/src/"
cp -R "$root/tests/tests/promises" "$to/proof/tests/"
cp "$root/tests/data/thermistor_coefficients.csv" "$to/proof/data/"
cp "$root/Cargo.lock" "$to/Cargo.lock"
echo '#![allow(missing_docs)] pub mod promise; pub mod published_table;' >"$to/proof/src/lib.rs"

# Versions, lints and profiles are those of the whole; only the members differ.
sed -e 's|^members = .*|members = ["logic", "firmware", "proof"]|' -e '/^default-members/d' \
  -e '/^hysteron = /d' -e '/^hysteron-\(source\|plant\|installation\|diagnosis\|bench\|view\) = /d' "$root/Cargo.toml" >"$to/Cargo.toml"
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
