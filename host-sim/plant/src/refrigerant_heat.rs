//! What a kilogram of refrigerant carries: molar mass and enthalpy along the saturation lines.

use super::refrigerant::{Refrigerant, SaturationLine};

impl Refrigerant {
    /// Mass of a mole, kg.
    #[must_use]
    pub const fn molar_mass_kg_mol(self) -> f64 {
        match self {
            Self::R134a => 0.102_032,
            Self::R290 => 0.044_096,
            Self::R404a => 0.097_604,
            Self::R448a => 0.086_283,
            Self::R449a => 0.087_213,
        }
    }

    /// Enthalpy of boiling liquid (bubble) or of vapour about to condense (dew), J/kg, above
    /// that of boiling liquid at 0 °C.
    ///
    /// Within 1 % of the latent heat of CoolProp's equations of state from −60 to +60 °C.
    #[must_use]
    pub fn enthalpy_j_kg(self, line: SaturationLine, temp_c: f64) -> f64 {
        let [c0, c1, c2, c3] = self.enthalpy_coefficients(line);
        c0 + temp_c * (c1 + temp_c * (c2 + temp_c * c3))
    }

    /// Coefficients in rising powers of the temperature in °C, fitted to CoolProp 8.0.0 from
    /// −60 to +60 °C.
    const fn enthalpy_coefficients(self, line: SaturationLine) -> [f64; 4] {
        match (self, line) {
            (Self::R134a, SaturationLine::Bubble) => [-46.700_5, 1_342.52, 1.487_02, 0.006_890_77],
            (Self::R134a, SaturationLine::Dew) => [198_660.0, 585.207, -1.257_86, -0.011_111_3],
            (Self::R290, SaturationLine::Bubble) => [-97.690_1, 2_498.75, 3.970_1, 0.016_943_4],
            (Self::R290, SaturationLine::Dew) => [375_019.0, 1_106.37, -2.411_96, -0.022_207_5],
            (Self::R404a, SaturationLine::Bubble) => [-193.391, 1_382.9, 2.563_87, 0.019_605_7],
            (Self::R404a, SaturationLine::Dew) => [166_124.0, 507.203, -2.829_88, -0.030_157_3],
            (Self::R448a, SaturationLine::Bubble) => [-116.923, 1_419.75, 2.185_42, 0.014_449_6],
            (Self::R448a, SaturationLine::Dew) => [201_695.0, 494.826, -2.438_19, -0.020_950_6],
            (Self::R449a, SaturationLine::Bubble) => [-115.889, 1_415.85, 2.161_71, 0.014_547_4],
            (Self::R449a, SaturationLine::Dew) => [199_338.0, 495.949, -2.385_51, -0.020_677_6],
        }
    }
}
