//! The low side of a refrigerating system: what stands in evaporator and suction line.
//!
//! Two stores, of liquid l and of vapour v, with an inflow i of which the share λ stays liquid
//! and the rest flashes, boiling b and the compressor's flow c:
//!
//! ```text
//! dl/dt = λ i − b                 b = G w(l) (T_coil − T_e) / r
//! dv/dt = (1 − λ) i + b − c       c = Q(T_e, T_c) / (λ r)          v = V M p / (R T)
//! ```
//!
//! T_e is the dew point at the suction pressure p, Q the compressor's capacity, G the
//! evaporator's conductance and w the part of it that liquid still wets: all of it while half
//! the running charge is left, then in proportion. What boils takes its latent heat r from the
//! coil; where the coil is colder than T_e, vapour condenses on all of it. The expansion valve
//! closes as the liquid nears the running charge, and opens wide at half of it, as one does that
//! keeps a superheat. Flow through it goes with the root of the pressure across it.
//!
//! Simplified: vapour is an ideal gas of one temperature; r and λ are those of the compressor's
//! rating point, so that heat taken up and heat moved agree to the last joule; the refrigerant's
//! own heat capacity is counted with the coil's.
//!
//! Each step is linearly implicit, at its middle where that settles and at its end where it
//! would not: stable however long the step, and no liquid or vapour is made or lost.

use super::coil::CoilOverStep;
use super::compressor::Drawing;
use super::compressor_parameters::CompressorParameters;
use super::network::taken_at;
use super::parameter::{ParameterError, parameters};
use super::refrigerant::{COLDEST_C, HOTTEST_C, SaturationLine, SaturationTable};

/// Molar gas constant, J/(mol K) (exact since the SI of 2019).
const GAS_CONSTANT: f64 = 8.314_462_618;
const KELVIN_AT_ZERO_C: f64 = 273.15;
const PA_PER_KPA: f64 = 1e3;

/// Part of the running charge that still wets the whole evaporator, and below which the
/// expansion valve stands wide open.
const WETS_ALL: f64 = 0.5;

/// Part of the running charge that is too little to be worth boiling off.
const DRY: f64 = 1e-6;

parameters! {
    /// What the low side holds, and what the expansion valve lets in.
    ///
    /// Defaults suit the compressor's: about 3 kW in a walk-in cooler. Volume and charge are
    /// estimates of our own from the size of such coils.
    pub struct LowSideParameters {
        /// Volume of the vapour from the expansion valve to the compressor.
        low_side_m3 = 0.006, "m³", 1e-5..=100.0;
        /// Temperature of that vapour, for its density.
        vapour_c = 0.0, "°C", -60.0..=60.0;
        /// Liquid in the evaporator at which the expansion valve would close.
        running_charge_kg = 0.8, "kg", 1e-3..=1e4;
        /// What the expansion valve can feed when wide open, at the compressor's rating point.
        expansion_capacity_w = 4_500.0, "W", 10.0..=4e6;
    }
}

/// What flowed over the last step, kg.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Flows {
    /// Let in by the expansion valve, liquid and what flashes of it.
    pub into_kg: f64,
    /// Boiled off; negative where it condensed.
    pub boiled_kg: f64,
    /// Taken by the compressor.
    pub compressed_kg: f64,
}

/// What stays as it is from step to step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scales {
    /// Share of the inflow that does not flash.
    pub liquid_share: f64,
    /// Boiled in a step by each watt drawn from the coil.
    pub boiled_kg_w: f64,
    /// Drawn from the coil by each kg boiled in a step.
    pub drawn_w_kg: f64,
    /// Compressed in a step by each watt of capacity.
    pub compressed_kg_w: f64,
    /// Moved by each kg compressed in a step.
    pub moved_w_kg: f64,
    /// Rise of the suction pressure with each kg of vapour.
    pub rise_kpa_kg: f64,
    /// Vapour for each kPa of suction pressure.
    pub vapour_kg_kpa: f64,
    /// Flow in a step through the open expansion valve for each root of a kPa across it.
    pub full_flow_kg: f64,
}

impl Scales {
    fn new(compressor: &CompressorParameters, parameters: &LowSideParameters, step_s: f64) -> Self {
        use SaturationLine::{Bubble, Dew};
        let refrigerant = compressor.refrigerant;
        let (evaporating_c, condensing_c) = compressor.kind.map().rated_at_c;
        let vapour_j_kg = refrigerant.enthalpy_j_kg(Dew, evaporating_c);
        let latent_j_kg = vapour_j_kg - refrigerant.enthalpy_j_kg(Bubble, evaporating_c);
        let effect_j_kg = vapour_j_kg - refrigerant.enthalpy_j_kg(Bubble, condensing_c);
        let across_kpa = refrigerant.pressure_kpa(Dew, condensing_c)
            - refrigerant.pressure_kpa(Dew, evaporating_c);
        let gas_j_kg_k = GAS_CONSTANT / refrigerant.molar_mass_kg_mol();
        let rise_pa_kg =
            gas_j_kg_k * (parameters.vapour_c + KELVIN_AT_ZERO_C) / parameters.low_side_m3;
        Self {
            liquid_share: effect_j_kg / latent_j_kg,
            boiled_kg_w: step_s / latent_j_kg,
            drawn_w_kg: latent_j_kg / step_s,
            compressed_kg_w: step_s / effect_j_kg,
            moved_w_kg: effect_j_kg / step_s,
            rise_kpa_kg: rise_pa_kg / PA_PER_KPA,
            vapour_kg_kpa: PA_PER_KPA / rise_pa_kg,
            full_flow_kg: step_s * parameters.expansion_capacity_w
                / (effect_j_kg * across_kpa.sqrt()),
        }
    }
}

/// What the expansion valve lets in over one step, as far as it is known without the liquid's level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inlet {
    /// The most it can pass.
    full_kg: f64,
    /// Let in for each kg that is missing to the running charge.
    share: f64,
}

impl Inlet {
    /// Nothing gets as far as the valve.
    pub const SHUT: Self = Self {
        full_kg: 0.0,
        share: 0.0,
    };
}

/// Evaporator and suction line at work.
#[derive(Debug, Clone)]
pub struct LowSide {
    parameters: LowSideParameters,
    scales: Scales,
    evaporator_w_k: f64,
    dew_point: SaturationTable,
    suction_kpa: f64,
    evaporating_c: f64,
    /// By how much the dew point rises with the pressure.
    slope_k_kpa: f64,
    /// Where in the table the dew point was found.
    row: u16,
    liquid_kg: f64,
    flows: Flows,
}

impl LowSide {
    /// Without liquid, at this suction pressure, stepped by `step_s` seconds.
    ///
    /// # Errors
    /// A number out of its range.
    pub fn new(
        compressor: &CompressorParameters,
        parameters: LowSideParameters,
        suction_kpa: f64,
        step_s: f64,
    ) -> Result<Self, ParameterError> {
        parameters.check()?;
        let dew_point = SaturationTable::new(compressor.refrigerant, SaturationLine::Dew);
        let (evaporating_c, slope_k_kpa) = dew_point.temp_and_slope(suction_kpa);
        Ok(Self {
            scales: Scales::new(compressor, &parameters, step_s),
            evaporator_w_k: compressor.evaporator_w_k,
            parameters,
            dew_point,
            suction_kpa,
            evaporating_c,
            slope_k_kpa,
            row: 0,
            liquid_kg: 0.0,
            flows: Flows::default(),
        })
    }

    /// Whether nothing moves by itself over a step: no liquid left to boil, and no coil cold
    /// enough to condense on.
    #[must_use]
    pub fn is_still(&self, coil: CoilOverStep) -> bool {
        self.liquid_kg <= DRY * self.parameters.running_charge_kg
            && self.evaporating_c <= coil.from_c.min(coil.undrawn_to_c)
    }

    /// Lets a step pass in which nothing moves.
    pub fn stand(&mut self) {
        self.flows = Flows::default();
    }

    /// Moves the refrigerant for one step; returns the dew point it was moved at, in °C.
    ///
    /// The compressor's capacity is taken from the straight line of `drawing`, if it is fed.
    #[inline]
    pub fn flow(&mut self, inlet: Inlet, drawing: Option<&Drawing>, coil: CoilOverStep) -> f64 {
        let scales = &self.scales;
        let evaporating_c = self.evaporating_c;
        let into_kg = self.let_in_kg(inlet);
        let arriving_kg = scales.liquid_share * into_kg;
        let flashing_kg = into_kg - arriving_kg;

        // Boiling and compressing, both linear in the dew point about where it is.
        let wet_w_k = self.evaporator_w_k * self.wet_share(arriving_kg, coil.from_c);
        let at = taken_at(wet_w_k, coil.response_k_w);
        let undrawn_c = coil.from_c + at * (coil.undrawn_to_c - coil.from_c);
        let boils_kg_k = scales.boiled_kg_w * wet_w_k / (1.0 + wet_w_k * at * coil.response_k_w);
        let (compresses_kg, compresses_kg_k) = drawing.map_or((0.0, 0.0), |drawing| {
            let scale_kg_w = scales.compressed_kg_w;
            (
                scale_kg_w * drawing.at_zero_w(),
                scale_kg_w * drawing.slope_w_k(),
            )
        });
        let rise_k_kg = self.slope_k_kpa * scales.rise_kpa_kg;
        let answer_kg_k = boils_kg_k + compresses_kg_k;
        let at = taken_at(answer_kg_k, rise_k_kg);
        let risen_k_kg = at * rise_k_kg / (1.0 + at * rise_k_kg * answer_kg_k);
        let at_zero_kg = boils_kg_k * undrawn_c - compresses_kg + flashing_kg;
        let mut midway_c = evaporating_c + risen_k_kg * (at_zero_kg - answer_kg_k * evaporating_c);
        if !(COLDEST_C..=HOTTEST_C).contains(&midway_c) {
            // Where a step empties the low side, the line would lead out of the table.
            midway_c = within_table(midway_c);
        }

        let liquid_kg = self.liquid_kg + arriving_kg;
        let vapour_kg = self.suction_kpa * scales.vapour_kg_kpa + flashing_kg;
        let mut boiled_kg = boils_kg_k * (undrawn_c - midway_c);
        let mut compressed_kg = compresses_kg + compresses_kg_k * midway_c;
        let boils_within = -vapour_kg <= boiled_kg && boiled_kg <= liquid_kg;
        if !boils_within || compressed_kg < 0.0 || compressed_kg > vapour_kg + boiled_kg {
            (boiled_kg, compressed_kg) =
                within_stores(liquid_kg, vapour_kg, boiled_kg, compressed_kg);
        }
        self.liquid_kg = liquid_kg - boiled_kg;
        self.suction_kpa = scales.rise_kpa_kg * (vapour_kg + boiled_kg - compressed_kg);
        self.flows = Flows {
            into_kg,
            boiled_kg,
            compressed_kg,
        };
        (self.evaporating_c, self.slope_k_kpa) = self
            .dew_point
            .temp_and_slope_near(self.suction_kpa, &mut self.row);
        midway_c
    }

    /// What the expansion valve lets in over a step at this suction pressure, when `passes` is
    /// the share of full flow that reaches it, from liquid of the temperature `condenser_c`.
    #[must_use]
    #[inline]
    pub fn inlet(&self, passes: f64, condenser_c: f64, suction_kpa: f64) -> Inlet {
        if passes == 0.0 {
            return Inlet::SHUT;
        }
        let across_kpa = self.dew_point.pressure_kpa(condenser_c) - suction_kpa;
        let full_kg = passes * self.scales.full_flow_kg * larger(0.0, across_kpa).sqrt();
        let span_kg = (1.0 - WETS_ALL) * self.parameters.running_charge_kg;
        Inlet {
            full_kg,
            share: full_kg / (span_kg + 0.5 * self.scales.liquid_share * full_kg),
        }
    }

    /// What comes in, with the level at the middle of the step.
    #[inline]
    fn let_in_kg(&self, inlet: Inlet) -> f64 {
        let room_kg = self.parameters.running_charge_kg - self.liquid_kg;
        let room_kg = room_kg + 0.5 * self.flows.boiled_kg;
        larger(0.0, smaller(inlet.full_kg, inlet.share * room_kg))
    }

    /// The part of the evaporator that is wet over a step, for what of its liquid will boil off.
    fn wet_share(&self, arriving_kg: f64, coil_c: f64) -> f64 {
        let wets_all_kg = WETS_ALL * self.parameters.running_charge_kg;
        let could_boil_kg =
            self.scales.boiled_kg_w * self.evaporator_w_k * (coil_c - self.evaporating_c);
        if could_boil_kg <= 0.0 {
            return 1.0;
        }
        let at = if could_boil_kg < 2.0 * wets_all_kg {
            0.5
        } else {
            1.0
        };
        let liquid_kg = self.liquid_kg + at * arriving_kg;
        let enough_kg = wets_all_kg + at * could_boil_kg;
        if liquid_kg < enough_kg {
            liquid_kg / enough_kg
        } else {
            1.0
        }
    }

    /// What stays as it is from step to step.
    #[must_use]
    pub const fn scales(&self) -> &Scales {
        &self.scales
    }

    /// What flowed over the last step.
    #[must_use]
    pub const fn flows(&self) -> Flows {
        self.flows
    }

    /// Heat drawn from the coil over the last step, in W.
    #[must_use]
    pub fn drawn_w(&self) -> f64 {
        self.flows.boiled_kg * self.scales.drawn_w_kg
    }

    /// Heat the compressor moved on over the last step, without its own work, in W.
    #[must_use]
    pub fn moved_w(&self) -> f64 {
        self.flows.compressed_kg * self.scales.moved_w_kg
    }

    /// Dew point at the suction pressure, °C.
    #[must_use]
    pub const fn evaporating_c(&self) -> f64 {
        self.evaporating_c
    }

    /// Suction pressure, kPa absolute.
    #[must_use]
    pub const fn suction_kpa(&self) -> f64 {
        self.suction_kpa
    }

    /// Liquid in the evaporator, kg.
    #[must_use]
    pub const fn liquid_kg(&self) -> f64 {
        self.liquid_kg
    }
}

/// The nearer end of the table of dew points, °C.
#[cold]
const fn within_table(dew_point_c: f64) -> f64 {
    dew_point_c.clamp(COLDEST_C, HOTTEST_C)
}

/// What boils and what is compressed, kg: nothing goes out of a store that is not in it.
#[cold]
fn within_stores(liquid_kg: f64, vapour_kg: f64, boiled_kg: f64, compressed_kg: f64) -> (f64, f64) {
    let boiled_kg = boiled_kg.max(-vapour_kg).min(liquid_kg);
    let compressed_kg = compressed_kg.min(vapour_kg + boiled_kg).max(0.0);
    (boiled_kg, compressed_kg)
}

/// The smaller of two numbers, neither of which is none: `f64::min` would have to ask.
const fn smaller(one: f64, other: f64) -> f64 {
    if one < other { one } else { other }
}

/// The larger of two numbers, likewise.
const fn larger(one: f64, other: f64) -> f64 {
    if one > other { one } else { other }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compressor::CompressorKind;

    /// A megawatt at the end of a minute would have emptied the line a thousand times over.
    #[test]
    fn a_compressor_far_too_large_draws_no_more_than_the_coldest_evaporator() {
        let compressor = CompressorParameters {
            rated_capacity_w: 2e6,
            evaporator_w_k: 1.0,
            ..CompressorParameters::default()
        };
        let parameters = LowSideParameters {
            low_side_m3: 1e-3,
            ..LowSideParameters::default()
        };
        let mut low_side = LowSide::new(&compressor, parameters, 300.0, 60.0).unwrap();
        let map = CompressorKind::MediumTemperature.map().at_condensing(40.0);
        let coil = CoilOverStep {
            from_c: 20.0,
            undrawn_to_c: 20.0,
            response_k_w: 0.01,
        };
        for _ in 0..10 {
            let inlet = low_side.inlet(1.0, 40.0, low_side.suction_kpa());
            let drawing = Drawing::near(map, 2e6, low_side.evaporating_c());
            low_side.flow(inlet, Some(&drawing), coil);
            assert!((0.0..=80.0).contains(&low_side.drawn_w()), "{low_side:?}");
            assert!(low_side.suction_kpa() >= 0.0 && low_side.liquid_kg() >= 0.0);
        }
        // Where the map's capacity ends, at about −47 °C.
        let kpa = low_side.suction_kpa();
        assert!((30.0..40.0).contains(&kpa), "{kpa} kPa");
    }
}
