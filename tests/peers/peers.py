"""The reference problem in `hysteron run` and in tools a user could pick instead, side by side.

The problem is tests/peers/reference.toml: a first-order plant, time constant 1800 s, towards
-15 C with the load on and +25 C with it off; on at 4 C, off at 2 C; a minimum rest, which also
runs at power-up; 24 h from 10 C. Two closed forms judge: of the problem as it stands, and of the
same one with its decisions on whole seconds, as a control with a sample each second makes them.

Speeds are by the processor's time, which other work on the machine disturbs least. Those of
`hysteron` are of whole commands, from their start to the last line of their answer; those of the
other tools are of the solution alone, without Python's start and imports.

Usage: peers.py HYSTERON FOLDER: the program, and a folder for what it writes.
Fails where `hysteron` falls below the ratios stated here, or misses a closed form by more.
"""

import json
import math
import pathlib
import resource
import statistics
import subprocess
import sys

from scipy.integrate import solve_ivp

TAU, ON_C, OFF_C, CUT_IN_C, CUT_OUT_C = 1800.0, -15.0, 25.0, 4.0, 2.0
START_C, END_S = 10.0, 86400.0
RESTS = {180.0: "the timer decides", 120.0: "the temperature decides"}
RUNS = 7
RUN = "`hysteron run`, the reference problem"
SCIPY, HALF_SECONDS, SECONDS = "SciPy solve_ivp, LSODA, 1e-6", "plain Python loop, 0.5 s", "plain Python loop, 1 s"
REFERENCE = pathlib.Path(__file__).resolve().with_name("reference.toml")
SEEDS = 100
ONE_BY_ONE = ("--seeds", f"1..{SEEDS}", "--jobs", "1")
WALK_IN = f"`hysteron sweep works-canteen`, {SEEDS} seeds"
# Other commands, and the hours that they simulate: walk-ins with all that a scenario can have.
OTHERS = {
    f"`hysteron sweep`, the reference problem, {SEEDS} seeds": (48.0 * SEEDS, ("sweep", str(REFERENCE), *ONE_BY_ONE)),
    "`hysteron run works-canteen`": (24.0, ("run", "works-canteen")),
    WALK_IN: (24.0 * SEEDS, ("sweep", "works-canteen", *ONE_BY_ONE)),
    "`hysteron run fish-counter`": (24.0, ("run", "fish-counter")),
    f"`hysteron sweep fish-counter`, {SEEDS} seeds": (24.0 * SEEDS, ("sweep", "fish-counter", *ONE_BY_ONE)),
}
# How often the speed of the first must be that of the second.
LEAST_RATIOS = [(RUN, SCIPY, 10.0), (RUN, HALF_SECONDS, 1.1), (WALK_IN, SCIPY, 12.0), (WALK_IN, HALF_SECONDS, 1.2)]
# How far `hysteron run` may be off, in s, with decisions on whole seconds: at 120 s of rest the
# control's thousandths of a degree make it decide a second early now and then.
MOST_OFF_S = {180.0: 0.0, 120.0: 20.0}


def at_once(due_s):
    return due_s


def closed_form(rest_s, decided):
    """Movements of the load; `decided` tells how long after a movement one that is due is made."""
    t, temperature = 0.0, START_C
    events = []
    while True:
        natural = TAU * math.log((OFF_C - temperature) / (OFF_C - CUT_IN_C))
        off = max(rest_s, decided(natural))
        t += off
        if t >= END_S:
            return events
        events.append((t, "on"))
        temperature = OFF_C - (OFF_C - temperature) * math.exp(-off / TAU)
        on = decided(TAU * math.log((temperature - ON_C) / (CUT_OUT_C - ON_C)))
        t += on
        if t >= END_S:
            return events
        events.append((t, "off"))
        temperature = ON_C + (temperature - ON_C) * math.exp(-on / TAU)


def event(level, direction):
    def crossing(_t, y):
        return y[0] - level

    crossing.terminal, crossing.direction = True, direction
    return crossing


def lsoda(rest_s):
    options = dict(method="LSODA", rtol=1e-6, atol=1e-8)

    def towards(asymptote):
        return lambda _t, y: (asymptote - y) / TAU

    t, temperature, events = 0.0, START_C, []
    while True:
        rest = solve_ivp(towards(OFF_C), (t, min(t + rest_s, END_S)), [temperature], **options)
        t, temperature = rest.t[-1], rest.y[0, -1]
        if t >= END_S:
            return events
        if temperature < CUT_IN_C:
            wait = solve_ivp(towards(OFF_C), (t, END_S), [temperature], events=event(CUT_IN_C, 1), **options)
            t, temperature = wait.t[-1], wait.y[0, -1]
            if wait.status != 1:
                return events
        events.append((t, "on"))
        run = solve_ivp(towards(ON_C), (t, END_S), [temperature], events=event(CUT_OUT_C, -1), **options)
        t, temperature = run.t[-1], run.y[0, -1]
        if run.status != 1:
            return events
        events.append((t, "off"))


def plain_loop(step_s):
    kept = math.exp(-step_s / TAU)

    def run(rest_s):
        temperature, on, stopped, events = START_C, False, 0.0, []
        for i in range(int(END_S / step_s)):
            t = i * step_s
            if on:
                if temperature <= CUT_OUT_C:
                    on, stopped = False, t
                    events.append((t, "off"))
            elif temperature >= CUT_IN_C and t - stopped >= rest_s:
                on = True
                events.append((t, "on"))
            asymptote = ON_C if on else OFF_C
            temperature = asymptote + (temperature - asymptote) * kept
        return events

    return run


def hysteron_run(program, folder):
    """Movements of the relay in `hysteron run`, by rest, as its JSON tells them."""
    answer = pathlib.Path(folder) / "reference.json"
    answer.unlink(missing_ok=True)
    command = [program, "run", str(REFERENCE), "--json", str(answer)]
    subprocess.run(command, check=True, capture_output=True)
    cases = {case["name"]: case["trace"] for case in json.loads(answer.read_text())["cases"]}

    def run(rest_s):
        trace = cases[RESTS[rest_s]]
        assert trace["stretches_left_out"] == 0, "the trace is not whole"
        events, relay = [], "open"
        for stretch in trace["stretches"]:
            if stretch["relay"] != relay:
                relay = stretch["relay"]
                events.append((stretch["from_s"], "on" if relay == "closed" else "off"))
        return events

    return run


def error_s(events, exact):
    """The largest difference between the instants of the same movements, in order."""
    assert all(a[1] == b[1] for a, b in zip(events, exact)), "other movements"
    return max(abs(a[0] - b[0]) for a, b in zip(events, exact))


def processor_s():
    """Time that processors spent on this process and on those that it has waited for."""
    return sum(sum(resource.getrusage(whose)[:2]) for whose in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))


def medians_s(works):
    """Median processor times, taken in turn after a round that does not count."""
    times = {name: [] for name in works}
    for turn in range(RUNS + 1):
        for name, work in works.items():
            began = processor_s()
            work()
            if turn > 0:
                times[name].append(processor_s() - began)
    return {name: statistics.median(taken) for name, taken in times.items()}


def main():
    program, folder = pathlib.Path(sys.argv[1]).resolve(), sys.argv[2]
    peers = {SCIPY: lsoda, HALF_SECONDS: plain_loop(0.5), SECONDS: plain_loop(1.0)}
    solvers = {RUN: hysteron_run(program, folder), **peers}

    def command(*words):
        return lambda: subprocess.run([program, *words], check=True, cwd=folder, capture_output=True)

    def both_days(tool):
        return lambda: [tool(rest_s) for rest_s in RESTS]

    hours = {name: 24.0 * len(RESTS) for name in solvers}
    works = {RUN: command("run", str(REFERENCE)), **{name: both_days(tool) for name, tool in peers.items()}}
    for name, (simulated, words) in OTHERS.items():
        hours[name], works[name] = simulated, command(*words)
    speed = {name: hours[name] / taken for name, taken in medians_s(works).items()}

    failed = False
    print("| tool | speed, SciPy is 1 | off the closed form at 180 s and 120 s, s | off that with decisions on whole seconds, s |")
    print("| --- | --- | --- | --- |")
    slowest = speed[SCIPY]
    for name, tool in solvers.items():
        off = {
            (decided, rest_s): error_s(tool(rest_s), closed_form(rest_s, decided))
            for decided in (at_once, math.ceil)
            for rest_s in RESTS
        }
        if name == RUN:
            failed |= any(off[math.ceil, rest_s] > most for rest_s, most in MOST_OFF_S.items())
        told = [" and ".join(f"{off[decided, rest_s]:.2f}" for rest_s in RESTS) for decided in (at_once, math.ceil)]
        print(f"| {name} | {speed[name] / slowest:,.1f} | {told[0]} | {told[1]} |")
    for name in OTHERS:
        print(f"| {name} | {speed[name] / slowest:,.1f} | | |")
    print()
    for fast, slow, least in LEAST_RATIOS:
        ratio = speed[fast] / speed[slow]
        print(f"{fast}: {ratio:.1f} times {slow}, at least {least} expected")
        failed |= ratio < least
    models = [line for line in open("/proc/cpuinfo") if line.startswith("model name")]
    print(f"on {models[0].split(':')[1].strip()}, simulated hours per second:")
    for name, hours_per_s in speed.items():
        print(f"  {hours_per_s:>9,.0f}  {name}")
    return failed


if __name__ == "__main__":
    sys.exit(main())
