"""Saturation and latent heat of the refrigerants, from CoolProp's Helmholtz-energy equations of state.

    pip install CoolProp==8.0.0 numpy
    python refrigerant_saturation.py table > refrigerant_r449a.csv
    python refrigerant_saturation.py fit
    python refrigerant_saturation.py heat > refrigerant_heat.csv
    python refrigerant_saturation.py heat_fit

`table` prints R-449A from -40 to +50 C. `fit` prints the coefficients of
ln(p/kPa) = c0 + c1 x + ... + c4 x^4 with x = 273.15 K / T - 1, fitted from
-60 to +60 C, and the largest relative error of each over that range.
"""

import sys

import CoolProp
import CoolProp.CoolProp as coolprop
import numpy

# Mass fractions in ASHRAE 34.
BLENDS = {
    "R134a": {"R134a": 1.0},
    "R290": {"Propane": 1.0},
    "R404A": {"R125": 0.44, "R143a": 0.52, "R134a": 0.04},
    "R448A": {"R32": 0.26, "R125": 0.26, "R1234yf": 0.20, "R134a": 0.21, "R1234ze(E)": 0.07},
    "R449A": {"R32": 0.243, "R125": 0.247, "R1234yf": 0.253, "R134a": 0.257},
}
BUBBLE, DEW = 0, 1


def equation_of_state(name):
    blend = BLENDS[name]
    state = CoolProp.AbstractState("HEOS", "&".join(blend))
    if len(blend) > 1:
        moles = [mass / coolprop.PropsSI("M", fluid) for fluid, mass in blend.items()]
        state.set_mole_fractions([mole / sum(moles) for mole in moles])
    return state


def saturation_kpa(state, quality, temp_c):
    state.update(CoolProp.QT_INPUTS, quality, temp_c + 273.15)
    return state.p() / 1000


def table():
    print(
        f"# source: CoolProp {CoolProp.__version__} (general-purpose reference library on PyPI), HEOS backend;"
        " R449A by ASHRAE 34 mass fractions R32/125/1234yf/134a 24.3/24.7/25.3/25.7;"
        " made by refrigerant_saturation.py"
    )
    print("fluid,temp_c,bubble_kpa_abs,dew_kpa_abs")
    state = equation_of_state("R449A")
    for temp_c in range(-40, 51, 5):
        bubble, dew = (saturation_kpa(state, quality, temp_c) for quality in (BUBBLE, DEW))
        print(f"R449A,{temp_c},{bubble:.2f},{dew:.2f}")


def fit():
    temps_c = numpy.arange(-60.0, 60.1, 1.0)
    x = 273.15 / (temps_c + 273.15) - 1
    for name, blend in BLENDS.items():
        state = equation_of_state(name)
        for label, quality in (("bubble", BUBBLE), ("dew", DEW)) if len(blend) > 1 else (("pure", DEW),):
            log_kpa = numpy.log([saturation_kpa(state, quality, temp_c) for temp_c in temps_c])
            coefficients = numpy.polynomial.polynomial.polyfit(x, log_kpa, 4)
            error = numpy.abs(numpy.expm1(numpy.polynomial.polynomial.polyval(x, coefficients) - log_kpa)).max()
            print(f"{name:6} {label:6} [{', '.join(f'{c:.8f}' for c in coefficients)}]  {error:.1e}")


def enthalpies_j_kg(state, temps_c):
    """Of boiling liquid and of vapour about to condense, above that of boiling liquid at 0 C."""

    def enthalpy(quality, temp_c):
        state.update(CoolProp.QT_INPUTS, quality, temp_c + 273.15)
        return state.hmass()

    zero = enthalpy(BUBBLE, 0.0)
    return [[enthalpy(quality, temp_c) - zero for temp_c in temps_c] for quality in (BUBBLE, DEW)]


def heat():
    print(
        f"# source: CoolProp {CoolProp.__version__} (general-purpose reference library on PyPI), HEOS backend;"
        " blends by ASHRAE 34 mass fractions; made by refrigerant_saturation.py"
    )
    print("fluid,molar_mass_kg_mol,temp_c,bubble_j_kg,dew_j_kg")
    for name in BLENDS:
        state = equation_of_state(name)
        temps_c = range(-40, 51, 10)
        for temp_c, bubble, dew in zip(temps_c, *enthalpies_j_kg(state, temps_c)):
            print(f"{name},{state.molar_mass():.6f},{temp_c},{bubble:.0f},{dew:.0f}")


def heat_fit():
    temps_c = numpy.arange(-60.0, 60.1, 1.0)
    for name in BLENDS:
        for label, enthalpy in zip(("bubble", "dew"), enthalpies_j_kg(equation_of_state(name), temps_c)):
            coefficients = numpy.polynomial.polynomial.polyfit(temps_c, enthalpy, 3)
            error = numpy.abs(numpy.polynomial.polynomial.polyval(temps_c, coefficients) - enthalpy).max()
            print(f"{name:6} {label:6} [{', '.join(f'{c:.6g}' for c in coefficients)}]  {error:.0f} J/kg")


if __name__ == "__main__":
    {"table": table, "fit": fit, "heat": heat, "heat_fit": heat_fit}[sys.argv[1]]()
