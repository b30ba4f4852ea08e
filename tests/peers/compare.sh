#!/usr/bin/env bash
# Runs the reference problem here and in the peers, in turn on this machine, and prints the table.
set -euo pipefail
cd "$(dirname "$0")/../.."

venv=${PEERS_VENV:-target/peers-venv}
[ -x "$venv/bin/python" ] || python3 -m venv "$venv"
"$venv/bin/python" -c 'import scipy' 2>/dev/null || "$venv/bin/pip" install --quiet scipy

cargo build --quiet --release --locked
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
"$venv/bin/python" tests/peers/peers.py target/release/hysteron "$folder"
