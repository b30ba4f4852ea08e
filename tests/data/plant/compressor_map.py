"""Ten-coefficient maps of two example compressors, from a vapour-compression cycle and CoolProp.

Run: pip install CoolProp numpy; python compressor_map.py > compressor_map.csv

The compressors are nobody's: reciprocating, with clearance volumetric efficiency
0.96 - c (PR^(1/n) - 1) and one overall efficiency. Suction superheat 10 K,
subcooling 5 K. Values are per watt of capacity at the rating point.
The polynomial has the ten terms of AHRI 540 (evaporating s, condensing d, dew points, deg C).
The CSV holds points of the cycle; the coefficients go to standard error.
"""
import sys
import numpy as np
from CoolProp.CoolProp import PropsSI

SUPERHEAT_K, SUBCOOLING_K = 10.0, 5.0
CASES = {  # fluid, rating s, rating d, s range, d range, clearance, polytropic exponent, overall efficiency
    "medium": ("R134a", -6.0, 40.0, (-30, 15), (20, 60), 0.04, 1.10, 0.58),
    "low": ("R404A", -25.0, 40.0, (-45, -5), (15, 55), 0.03, 1.10, 0.58),
}


def per_displacement(fluid, s, d, clearance, exponent, efficiency):
    """Capacity and power per cubic metre a second of displacement, W."""
    p_s = PropsSI("P", "T", s + 273.15, "Q", 1, fluid)
    p_d = PropsSI("P", "T", d + 273.15, "Q", 1, fluid)
    suction = ("P", p_s, "T", s + SUPERHEAT_K + 273.15, fluid)
    density, h_1, entropy = (PropsSI(k, *suction) for k in ("D", "H", "S"))
    bubble = PropsSI("T", "P", p_d, "Q", 0, fluid)
    h_3 = PropsSI("H", "P", p_d, "T", bubble - SUBCOOLING_K, fluid)
    h_2s = PropsSI("H", "P", p_d, "S", entropy, fluid)
    flow = density * (0.96 - clearance * ((p_d / p_s) ** (1 / exponent) - 1))
    return flow * (h_1 - h_3), flow * (h_2s - h_1) / efficiency


def terms(s, d):
    return [1, s, d, s * s, s * d, d * d, s**3, d * s * s, s * d * d, d**3]


out = sys.stdout
out.write("# source: a vapour-compression cycle with clearance and one overall efficiency (common practice), by CoolProp 8.0.0 and a ten-coefficient fit, compressor_map.py\n")
out.write("kind,evaporating_c,condensing_c,capacity,power\n")
for kind, (fluid, s0, d0, (s_lo, s_hi), (d_lo, d_hi), *machine) in CASES.items():
    rated, _ = per_displacement(fluid, s0, d0, *machine)
    points = [(s, d) for s in np.linspace(s_lo, s_hi, 10) for d in np.linspace(d_lo, d_hi, 9)]
    values = np.array([per_displacement(fluid, s, d, *machine) for s, d in points]) / rated
    basis = np.array([terms(s, d) for s, d in points])
    fit, *_ = np.linalg.lstsq(basis, values, rcond=None)
    worst = np.max(np.abs(basis @ fit - values) / values, axis=0)
    print(kind, "worst relative error of the fit", worst, "COP", 1 / values[0], file=sys.stderr)
    for name, column in (("capacity", 0), ("power", 1)):
        print(kind, name, ", ".join(f"{c:.6e}" for c in fit[:, column]), file=sys.stderr)
    for s, d in [(s, d) for s in np.linspace(s_lo, s_hi, 4) for d in np.linspace(d_lo, d_hi, 3)] + [(s0, d0)]:
        c, p = np.array(per_displacement(fluid, s, d, *machine)) / rated
        out.write(f"{kind},{s:g},{d:g},{c:.6f},{p:.6f}\n")
