//! What of a step is known before it begins, for a compressor behind a low side.
//!
//! The expansion valve's flow and the compressor's map hang on condenser and suction pressure,
//! which move little from step to step: where they are going to be at the middle of the next
//! step is told by the beginnings of this one and of those before. A processor works the next
//! step's roots, divisions and polynomials out while it waits for the end of this one.

use super::compressor::{CompressorMap, Drawing};
use super::compressor_parameters::CompressorParameters;
use super::low_side::{Inlet, LowSide};

/// Where something is going to be at the middle of the next step: by the parabola through where
/// it is at the beginning of this one and where it was at the beginnings of the last two.
#[must_use]
#[inline]
pub(super) fn middle_of_next(now: f64, rose: f64, rose_before: f64) -> f64 {
    now + 1.5 * rose + 1.875 * (rose - rose_before)
}

/// What a step begins with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beginning {
    /// Temperature of the condenser, °C.
    pub condenser_c: f64,
    /// Suction pressure, kPa absolute.
    pub suction_kpa: f64,
    /// Dew point at that pressure, °C.
    pub evaporating_c: f64,
}

/// How the system works in a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Work {
    /// Share of full flow that reaches the expansion valve.
    pub passes: f64,
    /// Share of the rated power at which the compressor runs, above 0.
    pub fraction: f64,
}

/// Looks ahead from step to step while the compressor runs.
#[derive(Debug, Clone)]
pub struct Extrapolation {
    map: &'static CompressorMap,
    lowest_condensing_c: f64,
    rated_capacity_w: f64,
    before: Beginning,
    condenser_rose_k: f64,
    /// What the rest was extrapolated for; a fraction of 0 where nothing is.
    work: Work,
    condensing_c: f64,
    inlet: Inlet,
    drawing: Drawing,
}

impl Extrapolation {
    /// Nothing is extrapolated yet.
    #[must_use]
    pub fn new(compressor: &CompressorParameters) -> Self {
        let map = compressor.kind.map();
        let (evaporating_c, condensing_c) = map.rated_at_c;
        Self {
            map,
            lowest_condensing_c: compressor.lowest_condensing_c,
            rated_capacity_w: compressor.rated_capacity_w,
            before: Beginning {
                condenser_c: condensing_c,
                suction_kpa: 0.0,
                evaporating_c,
            },
            condenser_rose_k: 0.0,
            work: Work {
                passes: 0.0,
                fraction: 0.0,
            },
            condensing_c,
            inlet: Inlet::SHUT,
            drawing: Drawing::near(map.at_condensing(condensing_c), 0.0, evaporating_c),
        }
    }

    /// The compressor rests: when it runs again, nothing is extrapolated.
    #[inline]
    pub const fn forget(&mut self) {
        self.work.fraction = 0.0;
    }

    /// Begins a step; what was not extrapolated is looked at as it stands.
    #[inline]
    pub fn begin(&mut self, work: Work, beginning: &Beginning, low_side: &LowSide) {
        if self.work != work {
            self.work = work;
            self.before = *beginning;
            self.condenser_rose_k = 0.0;
            self.condensing_c = beginning.condenser_c;
        } else if self.drawing.is_near(beginning.evaporating_c) {
            return;
        }
        self.extrapolate(beginning.suction_kpa, beginning.evaporating_c, low_side);
    }

    /// Extrapolates to the next step, from the beginning of this one.
    #[inline]
    pub fn look_ahead(&mut self, beginning: &Beginning, low_side: &LowSide) {
        let before = &mut self.before;
        let rises_k = beginning.condenser_c - before.condenser_c;
        let climbs_kpa = beginning.suction_kpa - before.suction_kpa;
        let warms_k = beginning.evaporating_c - before.evaporating_c;
        self.condensing_c = middle_of_next(beginning.condenser_c, rises_k, self.condenser_rose_k);
        self.condenser_rose_k = rises_k;
        before.condenser_c = beginning.condenser_c;
        before.suction_kpa = beginning.suction_kpa;
        before.evaporating_c = beginning.evaporating_c;
        self.extrapolate(
            beginning.suction_kpa + 1.5 * climbs_kpa,
            beginning.evaporating_c + warms_k,
            low_side,
        );
    }

    #[inline]
    fn extrapolate(&mut self, suction_kpa: f64, evaporating_c: f64, low_side: &LowSide) {
        let Work { passes, fraction } = self.work;
        self.inlet = low_side.inlet(passes, self.condensing_c, suction_kpa);
        let condensing_c = self.condensing_c.max(self.lowest_condensing_c);
        let map = self.map.at_condensing(condensing_c);
        self.drawing = Drawing::near(map, self.rated_capacity_w * fraction, evaporating_c);
    }

    /// What the expansion valve lets in over this step.
    #[must_use]
    pub const fn inlet(&self) -> Inlet {
        self.inlet
    }

    /// The compressor in this step.
    #[must_use]
    pub const fn drawing(&self) -> &Drawing {
        &self.drawing
    }
}
