#!/usr/bin/env bash
# Takes pictures of a report as a browser shows it: light, dark and on a telephone, and as paper.
#
#   tests/pictures/take.sh REPORT.html FOLDER
#
# Needs npm and Chromium (CHROMIUM names it; /usr/bin/chromium where that is not set).
set -euo pipefail
[ $# -eq 2 ] || { sed -n 's/^# \{0,1\}//p' "$0" >&2; exit 2; }
here=$(cd "$(dirname "$0")" && pwd)
report=$(realpath "$1")
mkdir -p "$2"
folder=$(realpath "$2")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cp "$here/take.mjs" "$work"
cd "$work"
npm install --silent --no-audit --no-fund playwright-core@1 >/dev/null
node take.mjs "$report" "$folder" "${CHROMIUM:-/usr/bin/chromium}"
