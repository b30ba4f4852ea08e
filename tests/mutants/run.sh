#!/usr/bin/env bash
# Takes one safeguard after another out of the control law and the firmware, and
# shows that the assertions named in its patch fail without it, and only without
# it: all named tests pass unchanged. Prints a table; fails if a mutant survives,
# if a test fails for another reason, or if a patch no longer fits.
#
#   tests/mutants/run.sh [name ...]     all mutants, or those named
#
# A patch begins with what it removes and with the assertions that must fail, each as
#   Fails: SUITE TEST: TEXT
# where SUITE is promises, logic, logic/FILE or firmware (see `cargo_args`) and TEXT
# stands in what the failing test prints.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
work="${CARGO_TARGET_DIR:-$root/target}/mutants"
mkdir -p "$work"
work=$(cd "$work" && pwd)

# Failing is what is wanted here: no shrinking, no back traces, and no kept seeds, which would
# have one mutant fail at what another did.
export PROPTEST_MAX_SHRINK_ITERS=0 PROPTEST_DISABLE_FAILURE_PERSISTENCE=1 RUST_BACKTRACE=0
export CARGO_PROFILE_DEV_DEBUG=none CARGO_PROFILE_TEST_DEBUG=none
export CARGO_TERM_COLOR=never

names=("$@")
if [ ${#names[@]} -eq 0 ]; then
  for patch in "$here"/*.patch; do names+=("$(basename "$patch" .patch)"); done
fi

# The assertions that the patches named must break, as "SUITE TEST: TEXT".
assertions() { for name in "$@"; do sed -n 's/^Fails: //p' "$here/$name.patch"; done; }
suites() { cut -d' ' -f1 | sort -u; }
tests_of() { sed -n "s|^$1 \([^ ]*\): .*|\1|p" | sort -u; }

cargo_args() {
  case $1 in
    promises) echo "-p hysteron-tests --test promises" ;;
    logic) echo "-p hysteron-logic --lib" ;;
    logic/*) echo "-p hysteron-logic --test ${1#*/}" ;;
    firmware) echo "-p hysteron-firmware --lib" ;;
    *) echo "no such suite: $1" >&2 && return 1 ;;
  esac
}

# suite LANE SUITE TEST...: builds one suite in a lane and runs these of its tests; the outcome
# is in the lane's log, and the status is 2 where it does not build.
suite() {
  local lane=$1 suite=$2 args
  shift 2
  args=$(cargo_args "$suite") || return 2
  # shellcheck disable=SC2086
  (cd "$work/$lane" && CARGO_TARGET_DIR="$work/$lane/target" cargo test --quiet $args --no-run) >"$work/$lane/build.log" 2>&1 || return 2
  # shellcheck disable=SC2086
  (cd "$work/$lane" && CARGO_TARGET_DIR="$work/$lane/target" cargo test --quiet $args -- --exact "$@") >"$work/$lane/run.log" 2>&1
}

# What test $2 printed when it failed, from the log of lane $1; nothing where it did not.
printed() { awk -v head="---- $2 stdout ----" '/^---- .* stdout ----$/ { on = $0 == head; next } /^failures:$/ { on = 0 } on' "$work/$1/run.log"; }

# Without any change every named test must pass.
baseline() {
  local lane=$1 status=0 named suite
  named=$(assertions "${names[@]}")
  for suite in $(suites <<<"$named"); do
    mapfile -t tests < <(tests_of "$suite" <<<"$named")
    if ! suite "$lane" "$suite" "${tests[@]}"; then
      tail -20 "$work/$lane/build.log" "$work/$lane/run.log"
      echo "$suite: fails without any change" && status=1
    elif ! grep -q "^test result: ok. ${#tests[@]} passed" "$work/$lane/run.log"; then
      echo "$suite: not all of its named tests exist: ${tests[*]}" && status=1
    fi
  done
  return $status
}

one() {
  local lane=$1 name=$2 status=0 named suite test text said
  # The files' times must move on, or the build would take them for built.
  if ! (cd "$work/$lane" && patch -s -p1 --fuzz=0 <"$here/$name.patch") >"$work/$lane/patch.log" 2>&1; then
    echo "$name: the patch does not fit any more"
    "$here/workspace.sh" "$work/$lane"
    return 1
  fi
  named=$(assertions "$name")
  [ -n "$named" ] || { echo "$name: names no assertion" && status=1; }
  for suite in $(suites <<<"$named"); do
    mapfile -t tests < <(tests_of "$suite" <<<"$named")
    outcome=0
    suite "$lane" "$suite" "${tests[@]}" || outcome=$?
    if [ $outcome -eq 2 ]; then
      tail -20 "$work/$lane/build.log" && echo "$name: does not build" && status=1
      continue
    fi
    while IFS= read -r assertion; do
      test=${assertion#"$suite "} && test=${test%%: *} && text=${assertion#"$suite $test: "}
      said=$(printed "$lane" "$test")
      if [ -z "$said" ]; then
        echo "$name: SURVIVED $suite $test" && status=1
      elif [[ $said != *"$text"* ]]; then
        echo "$name: $suite $test fails without \"$text\":" && status=1
        grep -A3 'panicked at' <<<"$said" || true
      fi
    done < <(grep "^$suite " <<<"$named")
  done
  (cd "$work/$lane" && patch -s -R -p1 --fuzz=0 <"$here/$name.patch")
  # shellcheck disable=SC2086
  [ $status -ne 0 ] || printf '%-26s %s\n' "$name" "$(sed 's/^[^ ]* \([^ ]*\): .*/\1/' <<<"$named" | tr '\n' ' ')"
  return $status
}

lane() {
  local lane=$1 status=0
  shift
  for name in "$@"; do one "$lane" "$name" || status=1; done
  return $status
}

# Two lanes, each with a workspace and a target folder of its own.
for lane in left right; do "$here/workspace.sh" "$work/$lane"; done
baseline left
echo "baseline: every named test passes"
left=() right=()
for index in "${!names[@]}"; do
  if ((index % 2)); then right+=("${names[index]}"); else left+=("${names[index]}"); fi
done
status=0
lane left "${left[@]}" >"$work/left.txt" &
first=$!
lane right "${right[@]}" >"$work/right.txt" || status=1
wait $first || status=1
sort "$work/left.txt" "$work/right.txt"
if [ $status -eq 0 ]; then echo "${#names[@]} mutants, none survived"; else echo "a mutant survived" >&2; fi
exit $status
