#!/usr/bin/env bash
# Runs the reference problem here and in the peers, one after the other on this machine, and prints the table.
set -euo pipefail
cd "$(dirname "$0")/../.."

venv=${PEERS_VENV:-target/peers-venv}
[ -x "$venv/bin/python" ] || python3 -m venv "$venv"
"$venv/bin/python" -c 'import scipy' 2>/dev/null || "$venv/bin/pip" install --quiet scipy

cargo build --quiet --release --locked -p hysteron-tests --example reference_row
rows=$("$venv/bin/python" tests/peers/peers.py; target/release/examples/reference_row)
printf '%s\n' "$rows" | python3 -c '
import json, sys
rows = [json.loads(line) for line in sys.stdin]
print("| tool | minimum off-time, s | simulated hours per second | largest error of a switching instant, s |")
print("| --- | --- | --- | --- |")
for row in rows:
    print("| {tool} | {rest_s} | {hours_per_s:,.0f} | {error_s} |".format(**row))
failed = False
for rest in (180, 120):
    speed = {row["tool"].split(",")[0].split()[0]: row["hours_per_s"] for row in rows if row["rest_s"] == rest}
    for peer, least in (("SciPy", 50), ("plain", 8)):
        ratio = speed["hysteron"] / speed[peer]
        print(f"{rest} s: {ratio:.0f} times {peer}, at least {least} expected")
        failed |= ratio < least
sys.exit(failed)
'
