"""The reference problem of tests/src/reference_problem.rs in tools a user would pick instead.

First-order plant, time constant 1800 s, towards -15 C with the load on and +25 C
with it off; on at 4 C, off at 2 C; a minimum rest; 24 h from 10 C with the load on.
Prints one JSON row for each tool and rest, timed as the median of five runs.
"""

import json
import math
import statistics
import time

from scipy.integrate import solve_ivp

TAU, ON_C, OFF_C, CUT_IN_C, CUT_OUT_C = 1800.0, -15.0, 25.0, 4.0, 2.0
START_C, END_S = 10.0, 86400.0


def closed_form(rest_s):
    t, temperature, events = 0.0, START_C, [(0.0, "on")]
    while True:
        t += TAU * math.log((temperature - ON_C) / (CUT_OUT_C - ON_C))
        if t > END_S:
            return events
        events.append((t, "off"))
        natural = TAU * math.log((OFF_C - CUT_OUT_C) / (OFF_C - CUT_IN_C))
        off = max(natural, rest_s)
        t += off
        if t > END_S:
            return events
        temperature = OFF_C - (OFF_C - CUT_OUT_C) * math.exp(-off / TAU)
        events.append((t, "on"))


def event(level, direction):
    def crossing(_t, y):
        return y[0] - level

    crossing.terminal, crossing.direction = True, direction
    return crossing


def lsoda(rest_s):
    options = dict(method="LSODA", rtol=1e-6, atol=1e-8)

    def towards(asymptote):
        return lambda _t, y: (asymptote - y) / TAU

    t, temperature, events = 0.0, START_C, [(0.0, "on")]
    while True:
        run = solve_ivp(towards(ON_C), (t, END_S), [temperature], events=event(CUT_OUT_C, -1), **options)
        t, temperature = run.t[-1], run.y[0, -1]
        if run.status != 1:
            return events
        events.append((t, "off"))
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


def plain_loop(rest_s, step_s=0.5):
    temperature, on, stopped, events = START_C, False, -1e9, []
    kept = math.exp(-step_s / TAU)
    for i in range(int(END_S / step_s) + 1):
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


def row(tool, run, rest_s, repetitions=5):
    events, times = run(rest_s), []
    for _ in range(repetitions):
        began = time.perf_counter()
        events = run(rest_s)
        times.append(time.perf_counter() - began)
    exact = closed_form(rest_s)
    paired = list(zip(events, exact))
    error = max(abs(a[0] - b[0]) for a, b in paired)
    print(json.dumps({
        "tool": tool,
        "rest_s": round(rest_s),
        "hours_per_s": round(24.0 / statistics.median(times), 1),
        "error_s": round(error, 3),
    }), flush=True)


for rest in (180.0, 120.0):
    row("SciPy solve_ivp, LSODA, 1e-6", lsoda, rest)
    row("plain Python loop, 0.5 s", plain_loop, rest)
