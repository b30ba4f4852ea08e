"""Reference runs of the plants by SciPy's variable-step solver.

Run: pip install scipy PsychroLib; python solver.py > solver.csv

Written from the equations, apart from the plants' own code: no matrix
exponential, nothing held over a step, the evaporating temperature found by
bracketing, the door from the printed equation and PsychroLib's moist air. Each
run is cut where an input jumps. Tolerances 1e-10.

The pump-down's dew point is read from a table of every half kelvin, as the plant
defines it, made from the coefficients of refrigerant_saturation.py; its latent
heat and the share that stays liquid are those at -6 and 40 C.
"""
import math
import numpy
import psychrolib
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

psychrolib.SetUnitSystem(psychrolib.SI)
CAPACITY = [1.937082e00, 7.618018e-02, -1.433428e-02, 1.139852e-03, -4.502844e-04,
            -4.181735e-05, 6.431046e-06, -5.753827e-06, -7.889632e-07, 1.979522e-07]
POWER = [-4.809472e-03, -1.197880e-02, 1.220098e-02, -3.428000e-04, 4.212178e-04,
         -5.157904e-05, -2.591741e-06, 3.683726e-06, -6.368585e-07, -1.786581e-07]


def ahri(c, s, d):
    return (c[0] + c[1] * s + c[2] * d + c[3] * s * s + c[4] * s * d + c[5] * d * d
            + c[6] * s**3 + c[7] * d * s * s + c[8] * s * d * d + c[9] * d**3)


class Compressor:
    """Capacity and power between -30 and 15 evaporating, 20 and 60 condensing; capacity held above."""

    def __init__(self, rated=3000.0, evaporator=1500.0, condenser_c=9000.0, running=350.0,
                 resting=30.0, lowest=25.0):
        self.__dict__.update(locals())

    def flows(self, fraction, coil, condenser, ambient):
        """Heat from the coil and the condenser's rate of change."""
        if fraction == 0:
            return 0.0, self.resting * (ambient - condenser) / self.condenser_c
        d = min(max(condenser, self.lowest, 20.0), 60.0)

        def excess(te):
            assert te > -30
            return self.rated * fraction * ahri(CAPACITY, min(te, 15.0), d) - self.evaporator * (coil - te)

        te = brentq(excess, -29.9, coil + 1, xtol=1e-13, rtol=1e-15)
        heat = self.evaporator * (coil - te)
        power = self.rated * fraction * ahri(POWER, min(te, 15.0), d)
        return heat, (heat + power - self.running * (condenser - ambient)) / self.condenser_c


def air(t, rh):
    w = psychrolib.GetHumRatioFromRelHum(t, rh, 101325.0)
    return psychrolib.GetMoistAirEnthalpy(t, w), psychrolib.GetMoistAirDensity(t, w, 101325.0)


def door(inside, rh_in, outside, rh_out, width, height):
    """Gosney and Olama as printed in the EnergyPlus Engineering Reference, times the flow factor."""
    (h_i, rho_i), (h_o, rho_o) = air(inside, rh_in), air(outside, rh_out)
    assert outside - inside > 11
    shape = (2 / (1 + (rho_i / rho_o) ** (1 / 3))) ** 1.5
    return 0.8 * 0.221 * width * height * rho_i * (h_o - h_i) * shape * math.sqrt((1 - rho_o / rho_i) * 9.81 * height)


def box_schedule(t):
    """fraction, ambient, door open, fan runs"""
    on = t % 1200 < 500
    fraction = (0.8 if 7200 <= t < 9000 else 1.0) if on else 0.0
    ambient = 38.0 if t >= 12000 else 32.0
    opened = t % 1800 < 60 or 10000 <= t < 10600
    return fraction, ambient, opened, not 14000 <= t < 15000


def box(air_c, product_c, coil_c, coil_fan, width, height, passes, compressor, product_air, load):
    walls_c, walls_air, walls_ambient, leakage, still, fan_w = 200000.0, 250.0, 11.0, 1.0, 40.0, 150.0

    def rhs(t, y, mid):
        a, p, c, w, k = y
        fraction, ambient, opened, fan = box_schedule(mid)
        heat, dk = compressor.flows(fraction, c, k, ambient)
        g = coil_fan if fan else still
        into_air = (product_air * (p - a) + g * (c - a) + walls_air * (w - a) + leakage * (ambient - a)
                    + (fan_w if fan else 0.0))
        if opened:
            into_air += passes * door(a, 0.85, ambient, 0.5, width, height)
        return [into_air / air_c, (product_air * (a - p) + load) / product_c, (g * (a - c) - heat) / coil_c,
                (walls_air * (a - w) + walls_ambient * (ambient - w)) / walls_c, dk]

    return rhs, [4.0, 4.0, 4.0, 4.0, 25.0]


DEW = [5.67943111, -9.89486034, -1.38345190, -1.42252874, 2.26316160]
TABLE_C = numpy.arange(-60.0, 60.1, 0.5)
TABLE_KPA = numpy.exp(numpy.polynomial.polynomial.polyval(273.15 / (TABLE_C + 273.15) - 1, DEW))
LIQUID = [-46.7005, 1342.52, 1.48702, 0.00689077]
VAPOUR = [198660.0, 585.207, -1.25786, -0.0111113]


def enthalpy(c, t):
    return numpy.polynomial.polynomial.polyval(t, c)


def pump_down_schedule(t):
    """valve open, compressor fed, leak"""
    return t % 1200 < 500, t % 1200 < 522, 0.002 if t >= 9000 else 0.0


def pump_down():
    walls_c, walls_air, walls_ambient, leakage, fan_w = 200000.0, 250.0, 11.0, 1.0, 150.0
    air_c, product_c, coil_c, g, product_air, load = 60000.0, 3.5e6, 12000.0, 700.0, 100.0, 200.0
    rated, evaporator, condenser_c, running, resting, lowest = 3000.0, 1500.0, 9000.0, 350.0, 30.0, 25.0
    charge, volume, expansion = 0.8, 0.006, 4500.0
    latent = enthalpy(VAPOUR, -6.0) - enthalpy(LIQUID, -6.0)
    effect = enthalpy(VAPOUR, -6.0) - enthalpy(LIQUID, 40.0)
    stays = effect / latent
    across = numpy.diff(numpy.exp(numpy.polynomial.polynomial.polyval(273.15 / (numpy.array([-6.0, 40.0]) + 273.15) - 1, DEW)))[0]
    rise = 8.314462618 / 0.102032 * 273.15 / volume / 1000

    def rhs(t, y, mid):
        a, p, c, w, k, suction, liquid = y
        opened, fed, leak = pump_down_schedule(mid)
        ambient = 38.0 if mid >= 12000 else 32.0
        te = numpy.interp(suction, TABLE_KPA, TABLE_C)
        passes = 1.0 if opened else leak
        feeds = min(max((charge - liquid) / (charge / 2), 0.0), 1.0)
        drop = max(numpy.interp(k, TABLE_C, TABLE_KPA) - suction, 0.0)
        inflow = passes * feeds * expansion / effect * math.sqrt(drop / across)
        wet = min(max(liquid, 0.0) / (charge / 2), 1.0) if te < c else 1.0
        boiled = evaporator * wet * (c - te) / latent
        capacity = power = 0.0
        if fed:
            d = min(max(k, lowest, 20.0), 60.0)
            assert -30 < te
            capacity = rated * ahri(CAPACITY, min(te, 15.0), d)
            power = rated * ahri(POWER, min(te, 15.0), d)
        rejected = capacity + power - (running if fed else resting) * (k - ambient)
        into_air = product_air * (p - a) + g * (c - a) + walls_air * (w - a) + leakage * (ambient - a) + fan_w
        return [into_air / air_c, (product_air * (a - p) + load) / product_c, (g * (a - c) - boiled * latent) / coil_c,
                (walls_air * (a - w) + walls_ambient * (ambient - w)) / walls_c, rejected / condenser_c,
                rise * ((1 - stays) * inflow + boiled - capacity / effect), stays * inflow - boiled]

    return rhs, [4.0, 4.0, 4.0, 4.0, 25.0, 116.0, 0.0]


def tank(cooled):
    def schedule(t):
        if cooled:
            return (1.0 if t < 6000 else 0.0), 30.0, 0.0
        return (1.0 if t % 3600 < 2400 else 0.0), (20.0 if t < 6000 else 5.0), (
            0.1 if 4000 <= t < 4300 else 0.05 if 12000 <= t < 12500 else 0.0)

    compressor = Compressor(rated=6000.0, evaporator=2000.0, condenser_c=20000.0, running=900.0)
    mass, cp, element_c, g, loss, stirrer = (
        (500.0, 3900.0, 30000.0, 3000.0, 3.0, 100.0) if cooled else (188.9, 4186.0, 1000.0, 300.0, 2.0, 0.0))

    def rhs(t, y, mid):
        water, element, k = y
        fraction, ambient, draw = schedule(mid)
        heat, dk = compressor.flows(fraction, element, k, ambient) if cooled else (-4500.0 * fraction, 0.0)
        return [(g * (element - water) + loss * (ambient - water) + stirrer + draw * cp * (15.0 - water)) / (mass * cp),
                (g * (water - element) - heat) / element_c, dk]

    return rhs, [30.0 if cooled else 15.0] * 2 + [25.0]


def room():
    def rhs(t, y, mid):
        r, f, u = y
        ambient = -5.0 if mid < 8000 else -12.0
        heat = 5000.0 if mid % 2400 < 1500 else 0.0
        outside = 40.0 + (300.0 if 6000 <= mid < 6300 else 0.0)
        g = 25.0 if 10000 <= mid < 11000 else 250.0
        return [(400 * (f - r) + g * (u - r) + outside * (ambient - r) + 300.0) / 6e5,
                (400 * (r - f) + 80 * (ambient - f)) / 8e6, (g * (r - u) + heat) / 15000]

    return rhs, [15.0, 15.0, 15.0]


WALK_IN = (60000.0, 3.5e6, 12000.0, 700.0, 0.9, 2.0, 0.2, Compressor(), 100.0, 200.0)
REACH_IN = (5000.0, 2e5, 3000.0, 120.0, 0.5, 1.0, 0.4,
            Compressor(rated=600.0, evaporator=300.0, condenser_c=2000.0, running=70.0, resting=6.0), 60.0, 0.0)
RUNS = {"walk-in": box(*WALK_IN), "reach-in": box(*REACH_IN), "water heater": tank(False),
        "milk tank": tank(True), "room": room(), "pump-down": pump_down()}
END, EVERY = 18000, 70
CUTS = sorted({t for period, on in ((1200, 500), (1200, 522), (1800, 60), (3600, 2400), (2400, 1500)) for k in range(0, END, period)
               for t in (k, k + on)} | {4000, 4300, 6000, 6300, 7200, 8000, 9000, 10000, 10600, 11000, 12000, 12500,
                                        14000, 15000, END})

print("# source: SciPy 1.17.1 solve_ivp (Radau, tolerances 1e-10) and PsychroLib 2.5.0, solver.py; "
      "columns: box air product coil walls condenser, tank contents element condenser, room air fabric unit, degrees C; "
      "pump-down as the box, then suction kPa and liquid kg")
print("plant,t_s,values")
for name, (rhs, y) in RUNS.items():
    for start, stop in zip(CUTS, CUTS[1:]):
        if start == stop or stop > END:
            continue
        at = [t for t in range(start + 1, stop + 1) if t % EVERY == 0]
        mid = (start + stop) / 2
        run = solve_ivp(rhs, (start, stop), y, method="Radau", rtol=1e-10, atol=1e-10, t_eval=at + ([stop] if stop not in at else []),
                        args=(mid,), first_step=0.01)
        assert run.success, run.message
        for t, temps in zip(run.t, run.y.T):
            if t in at:
                print(f"{name},{int(t)}," + " ".join(f"{v:.7f}" for v in temps))
        y = run.y[:, -1]
