#!/usr/bin/env python3
"""Reads what cargo-mutants found and holds it against the list of equivalent mutants.

    survivors.py left ROOT LIST [--partial] OUTPUT
        Prints the arguments that make cargo-mutants try the survivors once more.
    survivors.py verdict ROOT LIST [--partial] OUTPUT ...
        Fails where a mutant survived that is not listed, and where a listed one did not
        survive. Each output but the first is of what was left by the one before.

With --partial not all mutants were tried: what is listed is believed, and only what
was tried and caught is told to be listed wrongly.
"""

import collections
import json
import pathlib
import re
import sys


def mutants(output, wanted):
    """The mutants of one run whose outcome is one of `wanted`."""
    outcomes = pathlib.Path(output, "mutants.out", "outcomes.json")
    for outcome in json.loads(outcomes.read_text())["outcomes"]:
        if outcome["summary"] in wanted:
            yield outcome["scenario"]["Mutant"]


def key(root, mutant):
    """What stays the same when lines move: the file, the change, and the line that is changed."""
    source = pathlib.Path(root, mutant["file"]).read_text().splitlines()
    line = source[mutant["span"]["start"]["line"] - 1].strip()
    change = re.sub(r"^[^:]*:\d+:\d+: ", "", mutant["name"])
    return mutant["file"], change, line


def listed(path):
    """The table of equivalent mutants: | file | change | line | why |."""
    keys = collections.Counter()
    for row in pathlib.Path(path).read_text().splitlines():
        cells = [cell.strip() for cell in re.split(r"(?<!\\)\|", row)[1:-1]]
        if len(cells) != 4 or not cells[0].startswith("`"):
            continue
        *told, why = [cell.replace("\\|", "|") for cell in cells]
        if not why:
            sys.exit(f"{path}: no reason is given for {told}")
        keys[tuple(cell.strip("`").strip() for cell in told)] += 1
    return keys


def left(root, path, partial, output):
    believed = listed(path) if partial else {}
    for mutant in mutants(output, ["MissedMutant"]):
        if key(root, mutant) not in believed:
            print(f"--re=^{re.escape(mutant['name'])}$")


def count(root, output, outcomes):
    return collections.Counter(key(root, mutant) for mutant in mutants(output, outcomes))


def verdict(root, path, partial, first, *later):
    known = listed(path)
    caught = ["CaughtMutant", "Timeout"]
    tried = count(root, first, ["MissedMutant", *caught])
    survived = count(root, first, ["MissedMutant"])
    for output in later:
        survived -= count(root, output, caught)
    unlisted = survived - known
    wrong = known - survived
    if partial:
        wrong = collections.Counter(
            {one: count for one, count in wrong.items() if tried[one] >= known[one]}
        )
    for told in unlisted.elements():
        # As a row of the list, but for the reason.
        cells = " | ".join(f"`{cell}`".replace("|", "\\|") for cell in told)
        print(f"survived: | {cells} | |")
    for file, change, line in wrong.elements():
        print(f"listed as equivalent, but {'caught' if partial else 'no survivor'}: "
              f"{file}: {change}\n    in {line}")
    total = sum(tried.values())
    print(f"{total} mutants of the control law tried, {total - sum(survived.values())} caught, "
          f"{sum((survived & known).values())} known to be equivalent, "
          f"{sum(unlisted.values())} survived")
    sys.exit(1 if unlisted or wrong else 0)


def main():
    command, root, path, *rest = sys.argv[1:]
    partial = "--partial" in rest
    outputs = [output for output in rest if output != "--partial"]
    {"left": left, "verdict": verdict}[command](root, path, partial, *outputs)


if __name__ == "__main__":
    main()
