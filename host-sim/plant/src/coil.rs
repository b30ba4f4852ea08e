//! A coil as what cools it sees it.

/// A coil over one step, as far as it is known before the heat drawn from it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoilOverStep {
    /// Temperature at the beginning of the step, °C.
    pub from_c: f64,
    /// Temperature at the end if no heat were drawn, °C.
    pub undrawn_to_c: f64,
    /// How far each watt drawn over the step lowers the temperature at its end, K/W.
    pub response_k_w: f64,
}
