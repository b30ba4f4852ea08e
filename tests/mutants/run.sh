#!/usr/bin/env bash
# Takes one safeguard after another out of the control law and shows that the
# tests named in its patch fail without it. Prints a table; fails if a mutant
# survives or a patch no longer fits.
#
#   tests/mutants/run.sh [name ...]     all mutants, or those named
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
work="${CARGO_TARGET_DIR:-$root/target}/mutants"
mkdir -p "$work"
work=$(cd "$work" && pwd)

# Failing is what is wanted here: no shrinking, no back traces, no kept seeds.
export PROPTEST_MAX_SHRINK_ITERS=0 RUST_BACKTRACE=0
export CARGO_PROFILE_DEV_DEBUG=none CARGO_PROFILE_TEST_DEBUG=none
export CARGO_TERM_COLOR=never

names=("$@")
if [ ${#names[@]} -eq 0 ]; then
  for patch in "$here"/*.patch; do names+=("$(basename "$patch" .patch)"); done
fi

# The tests that the patch names, one a line.
killers() { sed -n 's/^Fails: //p' "$here/$1.patch"; }

# Builds the workspace in lane $1, then runs the tests named on standard input;
# the outcome is in the lane's log.
build() { (cd "$work/$1/proof" && CARGO_TARGET_DIR="$work/$1/target" cargo test --quiet --test promises --no-run) >"$work/$1/build.log" 2>&1; }
run() {
  local lane=$1
  mapfile -t tests
  (cd "$work/$lane/proof" && CARGO_TARGET_DIR="$work/$lane/target" cargo test --quiet --test promises -- --exact "${tests[@]}") >"$work/$lane/run.log" 2>&1
}

one() {
  local lane=$1 name=$2 failed expected
  # The files' times must move on, or the build would take them for built.
  if ! (cd "$work/$lane" && patch -s -p1 <"$here/$name.patch") >"$work/$lane/patch.log" 2>&1; then
    echo "$name: the patch does not fit any more" && return 1
  fi
  if ! build "$lane"; then
    tail -20 "$work/$lane/build.log" && echo "$name: does not build" && return 1
  fi
  expected=$(killers "$name" | sort)
  killers "$name" | run "$lane" || true
  failed=$(sed -n 's/^    \([a-z_0-9]*::[a-z_0-9]*\)$/\1/p' "$work/$lane/run.log" | sort -u)
  (cd "$work/$lane" && patch -s -R -p1 <"$here/$name.patch")
  if [ "$failed" != "$expected" ]; then
    echo "$name: SURVIVED $(comm -23 <(echo "$expected") <(echo "$failed") | tr '\n' ' ')" && return 1
  fi
  # shellcheck disable=SC2086
  printf '%-22s %s\n' "$name" "$(echo $failed)"
}

lane() {
  local lane=$1 status=0
  shift
  "$here/workspace.sh" "$work/$lane"
  build "$lane" || { cat "$work/$lane/build.log"; return 1; }
  for name in "$@"; do one "$lane" "$name" || status=1; done
  return $status
}

# Two lanes, each with a workspace and a target folder of its own.
left=() right=()
for index in "${!names[@]}"; do
  if ((index % 2)); then right+=("${names[index]}"); else left+=("${names[index]}"); fi
done
status=0
lane left "${left[@]}" >"$work/left.txt" &
first=$!
if [ ${#right[@]} -gt 0 ]; then lane right "${right[@]}" >"$work/right.txt" || status=1; else : >"$work/right.txt"; fi
wait $first || status=1
sort "$work/left.txt" "$work/right.txt"
if [ $status -eq 0 ]; then echo "${#names[@]} mutants, none survived"; else echo "a mutant survived" >&2; fi
exit $status
