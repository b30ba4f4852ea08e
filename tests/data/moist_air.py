"""Moist air in SI units, from PsychroLib (ideal gas) and from CoolProp (real gas).

    pip install PsychroLib==2.5.0 CoolProp==8.0.0
    python moist_air.py > moist_air.csv

CoolProp's humid air follows ASHRAE RP-1485 with virial coefficients and
IAPWS saturation, so it judges the ideal-gas formulas from outside.
"""

import CoolProp
import psychrolib
from CoolProp.CoolProp import HAPropsSI

PRESSURE_PA = 101325.0

psychrolib.SetUnitSystem(psychrolib.SI)
print(
    "# source: PsychroLib 2.5.0 (SI) and, in the columns that begin with real_,"
    f" CoolProp {CoolProp.__version__} HAPropsSI (ASHRAE RP-1485), both general-purpose reference libraries on PyPI;"
    " P = 101325 Pa; made by moist_air.py"
)
print(
    "tdb_c,rh,saturation_pa,w,enthalpy_j_per_kg,volume_m3_per_kg,density_kg_per_m3,dew_point_c,wet_bulb_c,"
    "real_w,real_volume_m3_per_kg"
)
for tdb_c in (-30.0, -18.0, -5.0, 0.005, 2.0, 4.0, 10.0, 24.0, 32.0, 45.0):
    for rh in (0.2, 0.5, 0.85, 1.0):
        w = psychrolib.GetHumRatioFromRelHum(tdb_c, rh, PRESSURE_PA)
        row = (
            psychrolib.GetSatVapPres(tdb_c),
            w,
            psychrolib.GetMoistAirEnthalpy(tdb_c, w),
            psychrolib.GetMoistAirVolume(tdb_c, w, PRESSURE_PA),
            psychrolib.GetMoistAirDensity(tdb_c, w, PRESSURE_PA),
            psychrolib.GetTDewPointFromHumRatio(tdb_c, w, PRESSURE_PA),
            psychrolib.GetTWetBulbFromHumRatio(tdb_c, w, PRESSURE_PA),
            HAPropsSI("W", "T", tdb_c + 273.15, "P", PRESSURE_PA, "R", rh),
            HAPropsSI("Vda", "T", tdb_c + 273.15, "P", PRESSURE_PA, "R", rh),
        )
        print(f"{tdb_c},{rh}," + ",".join(f"{value:.9g}" for value in row))
