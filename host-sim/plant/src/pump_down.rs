//! A pump-down system: the relay has the liquid-line valve, the suction pressure has the compressor.
//!
//! ```text
//! condenser --- liquid-line valve --- expansion valve --- evaporator --- compressor --- condenser
//!               (relay)                                   (suction) --- low-pressure control
//! ```
//!
//! When the relay opens, the valve shuts, and the compressor draws the evaporator empty until
//! the pressure control's cut-out. When it closes, liquid flows in, boils, and the pressure
//! climbs to the cut-in. A valve that leaks brings the pressure up without the relay. What
//! happens on the way is the affair of [`LowSide`]; condenser and receiver never run dry.

use super::coil::CoilOverStep;
use super::compressor_parameters::CompressorParameters;
use super::extrapolation::{Beginning, Extrapolation, Work};
use super::low_side::{LowSide, LowSideParameters};
use super::network::{ExactStep, ThermalNetwork};
use super::parameter::{ParameterError, parameters};
use super::pressure_control::{PressureControl, PressureControlParameters};
use super::refrigerant::Refrigerant;
use super::surroundings::{FanSupply, Load, Surroundings};

/// Share of its rated power at which the valve's coil pulls in: 85 % of its voltage (common practice).
const PULLS_IN: f64 = 0.72;
/// Share at which it lets go: about half the voltage (from memory).
const LETS_GO: f64 = 0.25;

parameters! {
    /// What a pump-down system adds to a compressor.
    pub struct PumpDownParameters {
        /// Share of full flow that passes the closed valve.
        valve_leak = 0.0, "", 0.0..=1.0;
        /// Power of the valve's coil.
        valve_coil_w = 12.0, "W", 0.0..=1_000.0;
        =>
        /// Evaporator, suction line and expansion valve.
        low_side: LowSideParameters = LowSideParameters::default();
        /// What starts and stops the compressor.
        control: PressureControlParameters = PressureControlParameters::default();
    }
}

/// The liquid-line valve.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Valve {
    Closed,
    Open,
}

/// A refrigerating side that pumps down.
#[derive(Debug, Clone)]
pub struct PumpDown {
    compressor: CompressorParameters,
    parameters: PumpDownParameters,
    running: ExactStep<1>,
    resting: ExactStep<1>,
    valve: Valve,
    low_side: LowSide,
    control: PressureControl,
    condenser_c: [f64; 1],
    extrapolation: Extrapolation,
    valve_w: f64,
    unit_w: f64,
    rejected_w: f64,
}

impl PumpDown {
    /// At rest, pumped down to the cut-out.
    ///
    /// # Errors
    /// A number out of its range, or a cut-out that is not below the cut-in.
    pub fn new(
        compressor: CompressorParameters,
        parameters: PumpDownParameters,
        step_s: f64,
    ) -> Result<Self, ParameterError> {
        compressor.check()?;
        parameters.check()?;
        let control = PressureControl::new(parameters.control.clone())?;
        let condenser = |conductance_w_k| {
            ThermalNetwork::new([compressor.condenser_capacity_j_k])
                .join_outside(0, conductance_w_k)
                .exact_step(step_s)
        };
        Ok(Self {
            running: condenser(compressor.condenser_running_w_k),
            resting: condenser(compressor.condenser_resting_w_k),
            valve: Valve::Closed,
            low_side: LowSide::new(
                &compressor,
                parameters.low_side.clone(),
                parameters.control.cut_out_kpa,
                step_s,
            )?,
            control,
            condenser_c: [compressor.condenser_start_c],
            extrapolation: Extrapolation::new(&compressor),
            valve_w: 0.0,
            unit_w: 0.0,
            rejected_w: 0.0,
            compressor,
            parameters,
        })
    }

    /// Takes one step with this load on the valve's coil; returns the heat drawn from the
    /// evaporator's coil, in W.
    pub fn step(&mut self, valve: Load, coil: CoilOverStep, surroundings: &Surroundings) -> f64 {
        self.switch_valve(valve);
        let passes = match self.valve {
            Valve::Open => 1.0,
            Valve::Closed => self.parameters.valve_leak.max(surroundings.valve_leak),
        };
        match surroundings.condensing_unit {
            Load::Off => {
                if passes == 0.0 && self.low_side.is_still(coil) {
                    self.low_side.stand();
                } else {
                    let suction_kpa = self.low_side.suction_kpa();
                    let condenser_c = self.condenser_c[0];
                    let inlet = self.low_side.inlet(passes, condenser_c, suction_kpa);
                    self.low_side.flow(inlet, None, coil);
                }
                self.rest(surroundings.ambient_c);
            }
            Load::Running { fraction } => self.run(passes, fraction, coil, surroundings),
        }
        self.control.feel(self.low_side.suction_kpa());
        self.low_side.drawn_w()
    }

    fn switch_valve(&mut self, load: Load) {
        let share = load.fraction();
        self.valve_w = share * self.parameters.valve_coil_w;
        if share >= PULLS_IN {
            self.valve = Valve::Open;
        } else if share <= LETS_GO {
            self.valve = Valve::Closed;
        }
    }

    fn rest(&mut self, ambient_c: f64) {
        let outside_w = self.compressor.condenser_resting_w_k * ambient_c;
        self.condenser_c = self.resting.advance(&self.condenser_c, &[outside_w]);
        self.extrapolation.forget();
        self.unit_w = 0.0;
        self.rejected_w = 0.0;
    }

    #[inline]
    fn run(&mut self, passes: f64, fraction: f64, coil: CoilOverStep, surroundings: &Surroundings) {
        let [condenser_c] = self.condenser_c;
        let beginning = Beginning {
            condenser_c,
            suction_kpa: self.low_side.suction_kpa(),
            evaporating_c: self.low_side.evaporating_c(),
        };
        let extrapolation = &mut self.extrapolation;
        extrapolation.begin(Work { passes, fraction }, &beginning, &self.low_side);
        let drawing = extrapolation.drawing();
        let midway_c = self
            .low_side
            .flow(extrapolation.inlet(), Some(drawing), coil);
        let compressor_w = drawing.power_w(midway_c);
        self.rejected_w = self.low_side.moved_w() + compressor_w;
        let compressor = &self.compressor;
        let (condenser, condenser_w_k, fan_w) = match surroundings.condenser_fan {
            FanSupply::Energised => (
                &self.running,
                compressor.condenser_running_w_k,
                fraction * compressor.condenser_fan_w,
            ),
            FanSupply::Dead => (&self.resting, compressor.condenser_resting_w_k, 0.0),
        };
        self.unit_w = compressor_w + fan_w;
        let outside_w = condenser_w_k * surroundings.ambient_c;
        self.condenser_c = condenser.advance(&self.condenser_c, &[self.rejected_w + outside_w]);
        self.extrapolation.look_ahead(&beginning, &self.low_side);
    }

    /// Evaporator and suction line.
    #[must_use]
    pub const fn low_side(&self) -> &LowSide {
        &self.low_side
    }

    /// Power of the valve's coil over the last step, in W.
    #[must_use]
    pub const fn valve_w(&self) -> f64 {
        self.valve_w
    }

    /// Power of compressor and condenser fan over the last step, in W.
    #[must_use]
    pub const fn condensing_unit_w(&self) -> f64 {
        self.unit_w
    }

    /// Heat the condenser was given over the last step, in W.
    #[must_use]
    pub const fn rejected_w(&self) -> f64 {
        self.rejected_w
    }

    /// Temperature of the condenser, °C.
    #[must_use]
    pub const fn condensing_c(&self) -> f64 {
        self.condenser_c[0]
    }

    /// The low-pressure control.
    #[must_use]
    pub const fn control(&self) -> &PressureControl {
        &self.control
    }

    /// What circulates.
    #[must_use]
    pub const fn refrigerant(&self) -> Refrigerant {
        self.compressor.refrigerant
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::direct_compressor::DirectCompressor;
    use crate::pressure_control::PressureContact;

    const CLOSED: Load = Load::Off;
    const OPEN: Load = Load::RATED;

    fn coil(coil_c: f64) -> CoilOverStep {
        CoilOverStep {
            from_c: coil_c,
            undrawn_to_c: coil_c,
            response_k_w: 1.0 / 12_000.0,
        }
    }

    /// A system whose compressor follows the pressure control, at a coil that is held.
    struct Rig {
        system: PumpDown,
        coil_c: f64,
        leak: f64,
        unit: PressureContact,
        starts: u32,
    }

    impl Rig {
        fn new(parameters: PumpDownParameters) -> Self {
            let system = PumpDown::new(CompressorParameters::default(), parameters, 1.0).unwrap();
            Self {
                system,
                coil_c: 0.0,
                leak: 0.0,
                unit: PressureContact::Open,
                starts: 0,
            }
        }

        fn second(&mut self, valve: Load) -> f64 {
            let contact = self.system.control().contact();
            let starts = self.unit == PressureContact::Open && contact == PressureContact::Closed;
            self.starts += u32::from(starts);
            self.unit = contact;
            let surroundings = Surroundings {
                condensing_unit: match contact {
                    PressureContact::Open => Load::Off,
                    PressureContact::Closed => Load::RATED,
                },
                valve_leak: self.leak,
                ..Surroundings::default()
            };
            self.system.step(valve, coil(self.coil_c), &surroundings)
        }

        fn seconds(&mut self, seconds: u32, valve: Load) {
            for _ in 0..seconds {
                self.second(valve);
            }
        }
    }

    #[test]
    fn a_closed_valve_pumps_the_evaporator_down_and_it_stays_down() {
        let mut rig = Rig::new(PumpDownParameters::default());
        rig.seconds(1_800, OPEN);
        assert!(
            rig.system.low_side.liquid_kg() > 0.3,
            "{} kg",
            rig.system.low_side.liquid_kg()
        );
        assert_eq!(rig.starts, 1);
        let mut seconds = 0;
        while rig.system.control().contact() == PressureContact::Closed {
            rig.second(CLOSED);
            seconds += 1;
            assert!(seconds < 120, "{} kPa", rig.system.low_side.suction_kpa());
        }
        assert!(seconds > 10, "{seconds} s");
        assert!(
            rig.system.low_side.liquid_kg() < 0.02,
            "{} kg",
            rig.system.low_side.liquid_kg()
        );
        rig.seconds(12 * 3_600, CLOSED);
        assert_eq!(rig.starts, 1);
        assert_eq!(rig.second(CLOSED), 0.0);
        assert!((116.0..150.0).contains(&rig.system.low_side.suction_kpa()));
    }

    #[test]
    fn what_is_left_boils_and_starts_it_once_more_where_the_settings_lie_close() {
        let control = PressureControlParameters {
            cut_in_kpa: 130.0,
            cut_out_kpa: 116.0,
        };
        let mut rig = Rig::new(PumpDownParameters {
            control,
            ..PumpDownParameters::default()
        });
        rig.seconds(1_800, OPEN);
        rig.seconds(12 * 3_600, CLOSED);
        assert_eq!(rig.starts, 2);
    }

    #[test]
    fn an_opening_valve_brings_the_compressor_back() {
        let mut rig = Rig::new(PumpDownParameters::default());
        rig.seconds(600, OPEN);
        rig.seconds(600, CLOSED);
        assert_eq!((rig.starts, rig.second(CLOSED)), (1, 0.0));
        rig.seconds(10, OPEN);
        assert_eq!(rig.starts, 2);
        assert!(rig.second(OPEN) > 1_000.0);
    }

    #[test]
    fn the_more_the_valve_leaks_the_more_often_the_compressor_starts() {
        let starts_in_an_hour = |leak| {
            let mut rig = Rig::new(PumpDownParameters::default());
            rig.seconds(600, OPEN);
            rig.seconds(600, CLOSED);
            rig.leak = leak;
            rig.starts = 0;
            rig.seconds(3_600, CLOSED);
            rig.starts
        };
        let starts = [0.0, 0.001, 0.005, 0.02].map(starts_in_an_hour);
        assert_eq!(starts[0], 0);
        assert!(starts.is_sorted() && starts[1] > 0, "{starts:?}");
        assert!(starts[3] > 60, "{starts:?}");
    }

    /// A pressure low outdoors and a warm coil: what would leak stays where it is.
    #[test]
    fn nothing_leaks_against_the_pressure() {
        let mut rig = Rig::new(PumpDownParameters::default());
        rig.leak = 1.0;
        rig.system.condenser_c = [-30.0];
        for _ in 0..60 {
            rig.second(CLOSED);
            assert_eq!(rig.system.low_side.flows().into_kg, 0.0);
            rig.system.condenser_c = [-30.0];
        }
    }

    #[test]
    fn settled_it_draws_what_a_compressor_draws_that_is_switched_itself() {
        let compressor = CompressorParameters::default();
        let mut direct = DirectCompressor::new(compressor.clone(), 1.0).unwrap();
        let mut rig = Rig::new(PumpDownParameters::default());
        let mut heats_w = (0.0, 0.0);
        for _ in 0..3_600 {
            heats_w = (
                direct.step(Load::RATED, coil(rig.coil_c), &Surroundings::default()),
                rig.second(OPEN),
            );
        }
        assert!((heats_w.0 - heats_w.1).abs() < 1e-3, "{heats_w:?}");
        let valve_kg = (
            rig.system.low_side.flows().into_kg,
            rig.system.low_side.flows().compressed_kg,
        );
        assert!((valve_kg.0 - valve_kg.1).abs() < 1e-9, "{valve_kg:?}");
    }

    /// Through pump-down, rest, leak and filling: liquid and vapour are what came in less what
    /// went out, and the heat taken up less that moved is what these hold.
    #[test]
    fn neither_refrigerant_nor_heat_is_made_or_lost() {
        let mut rig = Rig::new(PumpDownParameters::default());
        let scales = *rig.system.low_side.scales();
        let vapour_kg = |system: &PumpDown| system.low_side.suction_kpa() / scales.rise_kpa_kg;
        let held = |system: &PumpDown| {
            let (liquid_kg, vapour_kg) = (system.low_side.liquid_kg(), vapour_kg(system));
            let part = scales.liquid_share * vapour_kg - (1.0 - scales.liquid_share) * liquid_kg;
            (liquid_kg + vapour_kg, part / scales.boiled_kg_w)
        };
        let before = held(&rig.system);
        let (mut net_kg, mut net_j, mut turnover_kg) = (0.0, 0.0, 0.0);
        for second in 0..20_000 {
            rig.leak = if second % 5_000 > 3_000 { 0.01 } else { 0.0 };
            rig.coil_c = 4.0 * (f64::from(second) / 700.0).sin();
            let heat_w = rig.second(if second % 1_700 < 900 { OPEN } else { CLOSED });
            let flows = rig.system.low_side.flows();
            net_kg += flows.into_kg - flows.compressed_kg;
            net_j += heat_w - flows.compressed_kg / scales.compressed_kg_w;
            turnover_kg += flows.compressed_kg;
        }
        let after = held(&rig.system);
        assert!(turnover_kg > 100.0 && rig.starts > 20, "{turnover_kg} kg");
        assert!((after.0 - before.0 - net_kg).abs() < 1e-10 * turnover_kg);
        assert!((after.1 - before.1 - net_j).abs() < 1e-6 * net_j.abs().max(1.0));
    }

    #[test]
    fn a_weak_supply_lets_the_valve_go_later_than_it_pulls_it_in() {
        let mut rig = Rig::new(PumpDownParameters::default());
        let mut valve_at = |share| {
            rig.second(Load::Running { fraction: share });
            rig.system.valve
        };
        let valves = [0.6, 0.8, 0.6, 0.3, 0.2, 0.6].map(&mut valve_at);
        use Valve::{Closed, Open};
        assert_eq!(valves, [Closed, Open, Open, Open, Closed, Closed]);
    }
}
