#!/usr/bin/env bash
# Compares our reading of public weather files with that of pvlib.
#
#   compare.sh [FOLDER]
#
# Installs pvlib (which carries the files) into a temporary environment. With a
# FOLDER, the files are left there for other uses. Fails on any difference.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
folder=$(realpath --canonicalize-missing "${1:-$scratch/weather}")
mkdir -p "$folder"

python3 -m venv "$scratch/venv" || {
    echo "compare.sh needs Python's venv module; on Debian: apt-get install python3-venv" >&2
    exit 1
}
"$scratch/venv/bin/pip" install --quiet --disable-pip-version-check pvlib==0.16.1

cd "$here/../.."
cargo build --quiet --locked --package hysteron-tests --example weather_columns
target=$(cargo metadata --format-version 1 --no-deps --locked |
    python3 -c 'import json, sys; print(json.load(sys.stdin)["target_directory"])')

"$scratch/venv/bin/python" "$here/compare.py" "$target/debug/examples/weather_columns" "$folder"
