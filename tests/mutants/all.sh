#!/usr/bin/env bash
# Has cargo-mutants change the control law in every way it knows, one place at a
# time, and fails unless some test notices each change: first the law's own tests,
# then, for what survived those, the promises, then everything else. A mutant that
# nothing can notice, because it decides the same, is listed in equivalent.md.
#
#   tests/mutants/all.sh                        all of them: see DEVELOPERS.md for how long
#   tests/mutants/all.sh --file GLOB ...        those in files of the law that match
#   tests/mutants/all.sh --since COMMIT MOST    those in lines changed since then, at most
#                                               so many of them, and without everything else
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
work="${CARGO_TARGET_DIR:-$root/target}/mutants"
mkdir -p "$work"
work=$(cd "$work" && pwd)
laid="$work/all"

# Another version makes other mutants, and equivalent.md names those of this one.
version=27.1.0
if [ "$(cargo mutants --version 2>/dev/null)" != "cargo-mutants $version" ]; then
  cargo install --locked --quiet "cargo-mutants@$version"
fi

export CARGO_PROFILE_DEV_DEBUG=none CARGO_PROFILE_TEST_DEBUG=none CARGO_TERM_COLOR=never
export PROPTEST_MAX_SHRINK_ITERS=0 RUST_BACKTRACE=0
mutate=(cargo mutants --package hysteron-logic --jobs 1 --no-shuffle)

"$here/workspace.sh" "$laid"
chosen=() partial=()
case ${1:-} in
  --since)
    partial=(--partial)
    git -C "$root" diff --no-color "$2" -- logic/src >"$work/changed.diff"
    chosen=(--in-diff "$work/changed.diff")
    count=$("${mutate[@]}" --dir "$laid" "${chosen[@]}" --list | wc -l)
    shards=$(((count + $3 - 1) / $3))
    echo "$count mutants in lines changed since $(git -C "$root" rev-parse --short "$2")"
    [ "$count" -gt 0 ] || exit 0
    if [ $shards -gt 1 ]; then
      # Another commit tries others of them.
      commit=$(git -C "$root" rev-parse --short=7 HEAD)
      chosen+=(--sharding round-robin --shard "$((16#$commit % shards))/$shards")
      echo "every ${shards}th of them is tried"
    fi
    ;;
  --file) partial=(--partial) && for glob in "${@:2}"; do chosen+=(--file "$glob"); done ;;
  '') ;;
  *) sed -n '2,/^set/s/^# \{0,1\}//p' "$0" && exit 2 ;;
esac

# stage NAME COMMAND...: runs cargo-mutants; surviving mutants are no failure yet.
stages=()
stage() {
  local name=$1 status=0
  shift
  rm -rf "${work:?}/$name"
  mkdir -p "$work/$name"
  stages+=("$work/$name")
  CARGO_MUTANTS_OUTPUT="$work/$name" "$@" || status=$?
  # 2: some survived; 3: some timed out. Anything else is cargo-mutants' own trouble.
  case $status in 0 | 2 | 3) ;; *) echo "cargo-mutants failed with $status" >&2 && exit 1 ;; esac
}
left() { python3 "$here/survivors.py" left "$root" "$here/equivalent.md" "${partial[@]}" "$1"; }

# Most are noticed by tests that take no time, so that building them is what costs. The two
# that do take time are run on the rest. What makes a test hang is noticed as well.
quick=(env CARGO_PROFILE_DEV_OPT_LEVEL=0 CARGO_PROFILE_TEST_OPT_LEVEL=0)
slow=(--skip a_fast_step_answers_as_a_full_one --skip colder_is_never_less_resistance)
stage quick "${quick[@]}" "${mutate[@]}" --dir "$laid" --timeout 60 "${chosen[@]}" --cargo-arg=--lib -- -- "${slow[@]}"
mapfile -t survivors < <(left "$work/quick")
if [ ${#survivors[@]} -gt 0 ]; then
  stage own "${mutate[@]}" --dir "$laid" --timeout 120 "${survivors[@]}" -- --lib --tests
  mapfile -t survivors < <(left "$work/own")
fi
if [ ${#survivors[@]} -gt 0 ]; then
  # The run without any change is made here: cargo-mutants looks for it in the law's own package.
  cargo test --quiet --manifest-path "$laid/Cargo.toml" --target-dir "$work/unchanged" -p hysteron-tests --test promises
  stage promises "${mutate[@]}" --dir "$laid" --timeout 900 --baseline skip --test-package hysteron-tests "${survivors[@]}" -- --test promises
  mapfile -t survivors < <(left "$work/promises")
fi
if [ ${#survivors[@]} -gt 0 ] && [ ${#partial[@]} -eq 0 ]; then
  stage rest "${mutate[@]}" --dir "$root" --timeout 5400 --test-workspace true "${survivors[@]}"
fi
python3 "$here/survivors.py" verdict "$root" "$here/equivalent.md" "${partial[@]}" "${stages[@]}"
