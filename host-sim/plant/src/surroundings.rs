//! What a plant is given for one step, held over it.

/// How hard the switched load runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Load {
    /// Not energised.
    Off,
    /// Energised.
    Running {
        /// Share of rated capacity and power, zero or more, 1 at rated voltage.
        fraction: f64,
    },
}

impl Load {
    /// Running at rated voltage.
    pub const RATED: Self = Self::Running { fraction: 1.0 };

    /// The fraction it runs at, zero when off.
    #[must_use]
    pub const fn fraction(self) -> f64 {
        match self {
            Self::Off => 0.0,
            Self::Running { fraction } => fraction,
        }
    }
}

/// A door between the plant and its surroundings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Door {
    /// Shut.
    #[default]
    Closed,
    /// Wide open for the whole step.
    Open,
}

/// Whether the circuit feeds the fan that moves the plant's air.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum FanSupply {
    /// Fed: the fan runs as the plant has it arranged.
    #[default]
    Energised,
    /// Not fed: the fan stands still.
    Dead,
}

/// The world around a plant during one step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surroundings {
    /// Temperature of the air around, °C.
    pub ambient_c: f64,
    /// Relative humidity of the air around, 0 to 1.
    pub ambient_rh: f64,
    /// The door of a box or room. A tank has none.
    pub door: Door,
    /// Supply of the evaporator fan or air handler. A tank has none.
    pub fan_supply: FanSupply,
    /// Heat that the contents bring: warm or breathing product in a box, a warm filling in
    /// a tank. W.
    pub product_load_w: f64,
    /// Heat brought in beside them: people, lights and motors, to the air of a box or room;
    /// to the contents of a tank. For a condenser, the change in heat to be rejected. W.
    pub heat_w: f64,
    /// Water drawn from a tank and replaced from the supply, kg/s, zero or more.
    pub draw_kg_s: f64,
    /// What the compressor behind a low-pressure control is fed; the switched load is then
    /// the liquid-line valve. Of no effect where the switched load is the compressor itself.
    pub condensing_unit: Load,
    /// Supply of the condenser fan; without it a running compressor's condenser keeps the
    /// conductance that it has at rest.
    pub condenser_fan: FanSupply,
    /// Share of full flow that passes the closed liquid-line valve, 0 to 1, where it is more
    /// than the plant's own parameter says.
    pub valve_leak: f64,
}

impl Default for Surroundings {
    /// 25 °C at half humidity, door closed, fans and compressor fed, nothing brought, nothing
    /// drawn, the valve as sound as the plant has it.
    fn default() -> Self {
        Self {
            ambient_c: 25.0,
            ambient_rh: 0.5,
            door: Door::Closed,
            fan_supply: FanSupply::Energised,
            product_load_w: 0.0,
            heat_w: 0.0,
            draw_kg_s: 0.0,
            condensing_unit: Load::RATED,
            condenser_fan: FanSupply::Energised,
            valve_leak: 0.0,
        }
    }
}
