"""Reads weather files with pvlib and with our reader, and fails on any difference.

    compare.py WEATHER_COLUMNS FOLDER

The TMY3 and TMY2 files are the public ones that pvlib carries; an EPW file is
written from a TMY3 one after the EPW data dictionary. All are left in FOLDER.
"""

import pathlib
import shutil
import subprocess
import sys
from datetime import timedelta

import pvlib

HOURS = 8760
TOLERANCE = 1e-9
READERS = {"TMY3": pvlib.iotools.read_tmy3, "TMY2": pvlib.iotools.read_tmy2, "EPW": pvlib.iotools.read_epw}

EPW_HEADER = """\
LOCATION,Sampleton,-,XXX,from TMY3,000000,{latitude},{longitude},{TZ},{altitude}
DESIGN CONDITIONS,0
TYPICAL/EXTREME PERIODS,0
GROUND TEMPERATURES,0
HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0
COMMENTS 1,written by compare.py
COMMENTS 2,
DATA PERIODS,1,1,Data,Sunday,1/1,12/31
"""


def write_epw(tmy3, path):
    data, place = pvlib.iotools.read_tmy3(tmy3)
    columns = (data[name] for name in ("temp_air", "temp_dew", "relative_humidity", "pressure"))
    with open(path, "w", encoding="utf-8") as epw:
        epw.write(EPW_HEADER.format(**place))
        for end, dry_c, dew_c, percent, mbar in zip(data.index, *columns):
            begin = end - timedelta(hours=1)
            date = f"{begin.year},{begin.month},{begin.day},{begin.hour + 1},60,?9"
            epw.write(f"{date},{dry_c},{dew_c},{percent},{mbar * 100}" + ",0" * 25 + "\n")


def pvlib_columns(kind, path):
    data, place = READERS[kind](path)
    dry, humidity, scale = ("DryBulb", "RHum", 10) if kind == "TMY2" else ("temp_air", "relative_humidity", 1)
    return place, list(data[dry] / scale), list(data[humidity])


def our_columns(program, path):
    answer = subprocess.run([program, path], check=True, capture_output=True, text=True).stdout.splitlines()
    kind, *place, filled = answer[0].split(",")
    rows = [tuple(map(float, line.split(","))) for line in answer[1:]]
    return kind, list(map(float, place)), int(filled), [row[0] for row in rows], [row[1] for row in rows]


def differences(program, kind, path):
    found = []
    theirs_place, theirs_c, theirs_percent = pvlib_columns(kind, path)
    ours_kind, ours_place, filled, ours_c, ours_percent = our_columns(program, path)
    if ours_kind != kind:
        found.append(f"format: ours {ours_kind}, expected {kind}")
    if filled:
        found.append(f"{filled} hours were filled in; expected none")
    for name, ours in zip(("latitude", "longitude", "altitude"), ours_place):
        if abs(ours - float(theirs_place[name])) > TOLERANCE:
            found.append(f"{name}: ours {ours}, pvlib {theirs_place[name]}")
    for name, ours, theirs in (("dry bulb", ours_c, theirs_c), ("humidity", ours_percent, theirs_percent)):
        if len(ours) != HOURS or len(theirs) != HOURS:
            found.append(f"{name}: ours {len(ours)} rows, pvlib {len(theirs)}, expected {HOURS}")
        for row, (a, b) in enumerate(zip(ours, theirs)):
            if not abs(a - b) <= TOLERANCE:
                found.append(f"{name}, row {row}: ours {a}, pvlib {b}")
    mean_c = sum(ours_c) / max(len(ours_c), 1)
    print(f"{path.name}: {kind}, {len(ours_c)} hours, mean dry bulb {mean_c:.2f} C, {len(found)} differences")
    return found


def main(program, folder):
    source = pathlib.Path(pvlib.__file__).parent / "data"
    files = []
    for pattern, kind in (("*TY.csv", "TMY3"), ("*TYA.CSV", "TMY3"), ("*.tm2", "TMY2")):
        copies = [pathlib.Path(shutil.copy(path, folder)) for path in sorted(source.glob(pattern))]
        files += [(kind, path) for path in copies]
    for kind in ("TMY3", "TMY2"):
        if not any(kind == each for each, _ in files):
            sys.exit(f"pvlib {pvlib.__version__} carries no {kind} file; nothing was compared")
    epw = folder / "sample.epw"
    write_epw(next(path for kind, path in files if kind == "TMY3"), epw)
    files.append(("EPW", epw))

    found = [f"{path.name}: {text}" for kind, path in files for text in differences(program, kind, path)]
    for text in found[:20]:
        print(text, file=sys.stderr)
    sys.exit(1 if found else 0)


if __name__ == "__main__":
    main(sys.argv[1], pathlib.Path(sys.argv[2]))
