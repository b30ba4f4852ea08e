#!/usr/bin/env bash
# Test reports in JUnit's form against their common schema, by libxml2's xmllint. Five spoilt
# reports show that it looks at elements, attributes and what is missing.
set -euo pipefail
cd "$(dirname "$0")/../.."
hysteron=${1:-target/release/hysteron}
schema=tests/data/junit/junit-10.xsd
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT

valid() { xmllint --noout --schema "$schema" "$1" 2>"$folder/complaints"; }

"$hysteron" run fish-counter cake-counter match-day-bar --junit "$folder/" >/dev/null
for report in "$folder"/*.xml; do
  valid "$report" || { cat "$folder/complaints"; exit 1; }
done
mv "$folder/cake-counter.xml" "$folder/good.xml"
grep -q '<testcase ' "$folder/good.xml"

spoilt=0
for change in \
  's/<testcase /<testcase colour="7" /' \
  's/<testsuite /<testsuite colour="7" /' \
  's/<testcase /<trial /; s/<\/testcase>/<\/trial>/' \
  's/<property name="seed" /<property /' \
  's/<testsuite name=/<testsuite title=/'; do
  sed "$change" "$folder/good.xml" >"$folder/bad.xml"
  cmp -s "$folder/good.xml" "$folder/bad.xml" && { echo "nothing changed: $change"; exit 1; }
  if valid "$folder/bad.xml"; then echo "went unnoticed: $change"; exit 1; fi
  spoilt=$((spoilt + 1))
done
echo "the test report passes the schema; $spoilt spoilt ones do not"
