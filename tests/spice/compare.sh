#!/usr/bin/env bash
# Compares the solver with ngspice: every arrangement, state and single fault.
# Installs nothing. Exit code 0 when all agree, 1 when some differ, 2 when it could not ask.
set -euo pipefail
cd "$(dirname "$0")/../.."

if ! command -v ngspice >/dev/null; then
    echo "ngspice is not installed, so nothing was compared." >&2
    echo "On Debian: apt-get install --no-install-recommends ngspice" >&2
    exit 2
fi
cargo run --quiet --locked -p hysteron-tests --bin compare-with-ngspice -- \
    "${1:-target/ngspice}"
