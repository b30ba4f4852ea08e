//! Air exchanged through an open door: cold air spills out below, warm air enters above.
//!
//! Gosney and Olama, "Heat and enthalpy gains through cold room doorways", Proceedings of the
//! Institute of Refrigeration 72, 1975 (title from memory), as printed in the EnergyPlus
//! Engineering Reference:
//!
//! ```text
//! Q  = 0.221 A ρc (ho − hi) Fm √((1 − ρw/ρc) g H)      Fm = (2 / (1 + (ρc/ρw)^⅓))^1.5
//! ```
//!
//! with c the cold and w the warm side. For a cold room the cold side is the
//! inside; for a heated one the sides change places and heat leaves. This is
//! the fully established flow; real flow is that times a flow factor, 0.8 for
//! a difference above 11 K and 1.1 below.

use super::moist_air::{MoistAir, MoistAirError, RelativeHumidity};

const GRAVITY_M_PER_S2: f64 = 9.81;
const GOSNEY_OLAMA_COEFFICIENT: f64 = 0.221;
const FLOW_FACTOR_LIMIT_K: f64 = 11.0;

/// The clear opening of a door.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Doorway {
    width_m: f64,
    height_m: f64,
}

impl Doorway {
    /// A doorway of clear width and height, both above 0 and at most 20 m; otherwise `None`.
    pub fn new(width_m: f64, height_m: f64) -> Option<Self> {
        let fits = |length_m: f64| length_m > 0.0 && length_m <= 20.0;
        (fits(width_m) && fits(height_m)).then_some(Self { width_m, height_m })
    }

    /// Clear width, m.
    pub fn width_m(&self) -> f64 {
        self.width_m
    }

    /// Clear height, m.
    pub fn height_m(&self) -> f64 {
        self.height_m
    }

    /// What passes while the door stands open.
    pub fn infiltration(&self, inside: &MoistAir, outside: &MoistAir) -> Infiltration {
        let (inside_density, outside_density) =
            (inside.density_kg_per_m3(), outside.density_kg_per_m3());
        let cold = inside_density.max(outside_density);
        let warm = inside_density.min(outside_density);
        let density_factor = density_factor_squared(1.0 - warm / cold).sqrt();
        let buoyancy = ((1.0 - warm / cold) * GRAVITY_M_PER_S2 * self.height_m).sqrt();
        Infiltration {
            exchange_kg_per_s: self.coefficient() * cold * density_factor * buoyancy,
            enthalpy_gain_j_per_kg: outside.enthalpy_j_per_kg() - inside.enthalpy_j_per_kg(),
            humidity_gain: outside.humidity_ratio() - inside.humidity_ratio(),
            flow_factor: flow_factor(inside.dry_bulb_c() - outside.dry_bulb_c()),
        }
    }

    /// 0.221 times the area, m².
    fn coefficient(&self) -> f64 {
        GOSNEY_OLAMA_COEFFICIENT * self.width_m * self.height_m
    }
}

/// Square of the density factor Fm, of the part by which the warm air is lighter (0 to below 1).
fn density_factor_squared(lighter_by: f64) -> f64 {
    (2.0 / (1.0 + (1.0 - lighter_by).cbrt().recip())).powi(3)
}

/// The established flow becomes this part of itself, by the difference in temperature.
fn flow_factor(difference_k: f64) -> f64 {
    if difference_k.abs() > FLOW_FACTOR_LIMIT_K {
        0.8
    } else {
        1.1
    }
}

/// The exchange through an open door.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Infiltration {
    exchange_kg_per_s: f64,
    enthalpy_gain_j_per_kg: f64,
    humidity_gain: f64,
    flow_factor: f64,
}

impl Infiltration {
    /// Air passing each way at established flow, kg/s.
    pub fn full_flow_kg_per_s(&self) -> f64 {
        self.exchange_kg_per_s
    }

    /// Heat entering at established flow, W, sensible and latent; negative when heat leaves.
    pub fn full_flow_w(&self) -> f64 {
        self.exchange_kg_per_s * self.enthalpy_gain_j_per_kg
    }

    /// The flow factor, 0.8 or 1.1.
    pub fn flow_factor(&self) -> f64 {
        self.flow_factor
    }

    /// Heat entering, W, sensible and latent: established flow times the flow factor.
    pub fn heat_w(&self) -> f64 {
        self.full_flow_w() * self.flow_factor
    }

    /// Water entering with the air, kg/s, times the flow factor; negative when the outside is drier.
    pub fn moisture_kg_per_s(&self) -> f64 {
        self.exchange_kg_per_s * self.humidity_gain * self.flow_factor
    }
}

/// A door for a loop that asks every simulated second.
///
/// The inside air is tabulated once at a fixed relative humidity, the outside
/// state is set whenever it changes (once a minute is plenty), and a question
/// costs two look-ups and a square root. Within 0.001 % of
/// [`Doorway::infiltration`] plus 0.1 W for each square metre.
#[derive(Debug, Clone)]
pub struct DoorTable {
    doorway: Doorway,
    inside: Vec<AirRow>,
    density_factors_squared: Vec<f64>,
    outside: AirRow,
    outside_c: f64,
    /// 0.221 A √(g H), m³/s.
    scale: f64,
}

#[derive(Debug, Clone, Copy)]
struct AirRow {
    density_kg_per_m3: f64,
    /// One over the density, so that no question costs a division.
    volume_m3_per_kg: f64,
    enthalpy_j_per_kg: f64,
}

impl From<&MoistAir> for AirRow {
    fn from(air: &MoistAir) -> Self {
        Self {
            density_kg_per_m3: air.density_kg_per_m3(),
            volume_m3_per_kg: air.density_kg_per_m3().recip(),
            enthalpy_j_per_kg: air.enthalpy_j_per_kg(),
        }
    }
}

const INSIDE_COLDEST_C: f64 = -60.0;
const INSIDE_HOTTEST_C: f64 = 60.0;
const ROWS_PER_KELVIN: f64 = 10.0;
const ROWS: u16 = 1201;
/// Rows of the density factor, from equal densities to a weightless warm side.
const FACTOR_ROWS: u16 = 257;

impl DoorTable {
    /// A door with inside air of a fixed relative humidity; the pressure is that of the outside.
    ///
    /// Inside temperatures beyond −60 to +60 °C count as those.
    ///
    /// # Errors
    /// The pressure is too low for air at +60 °C and that humidity.
    pub fn new(
        doorway: Doorway,
        inside_humidity: RelativeHumidity,
        outside: &MoistAir,
    ) -> Result<Self, MoistAirError> {
        let inside = (0..ROWS)
            .map(|row| {
                let temp_c = INSIDE_COLDEST_C + f64::from(row) / ROWS_PER_KELVIN;
                MoistAir::from_relative_humidity(temp_c, inside_humidity, outside.pressure_pa())
                    .map(|air| AirRow::from(&air))
            })
            .collect::<Result<Vec<_>, _>>()?;
        let density_factors_squared = (0..FACTOR_ROWS)
            .map(|row| density_factor_squared(f64::from(row) / f64::from(FACTOR_ROWS - 1)))
            .collect();
        Ok(Self {
            doorway,
            inside,
            density_factors_squared,
            outside: outside.into(),
            outside_c: outside.dry_bulb_c(),
            scale: doorway.coefficient() * (GRAVITY_M_PER_S2 * doorway.height_m).sqrt(),
        })
    }

    /// The doorway.
    pub fn doorway(&self) -> Doorway {
        self.doorway
    }

    /// Takes a new outside state; a change of pressure does not reach the inside table.
    pub fn set_outside(&mut self, outside: &MoistAir) {
        self.outside = outside.into();
        self.outside_c = outside.dry_bulb_c();
    }

    /// Heat entering through the open door, W, at established flow times the flow factor.
    pub fn heat_w(&self, inside_c: f64) -> f64 {
        let (inside, outside) = (self.inside_at(inside_c), self.outside);
        let (cold, warm) = if inside.density_kg_per_m3 > outside.density_kg_per_m3 {
            (inside, outside)
        } else {
            (outside, inside)
        };
        let lighter_by = (1.0 - warm.density_kg_per_m3 * cold.volume_m3_per_kg).max(0.0);
        // Density factor and buoyancy share one square root.
        let flow = (self.density_factor_squared(lighter_by) * lighter_by).sqrt();
        let gain = outside.enthalpy_j_per_kg - inside.enthalpy_j_per_kg;
        let factor = flow_factor(inside_c - self.outside_c);
        self.scale * cold.density_kg_per_m3 * flow * gain * factor
    }

    /// Inside temperature at which as much heat leaves as enters: both airs hold the same, °C.
    ///
    /// Dry air has to be hotter than the table reaches before it holds as much as humid air.
    pub fn balance_c(&self) -> f64 {
        let outside = self.outside.enthalpy_j_per_kg;
        let warmer = self
            .inside
            .partition_point(|row| row.enthalpy_j_per_kg < outside);
        let row = warmer.clamp(1, self.inside.len() - 1);
        let [low, high] = [row - 1, row].map(|row| self.inside[row].enthalpy_j_per_kg);
        let rows = row as f64 + (outside - high) / (high - low);
        INSIDE_COLDEST_C + rows / ROWS_PER_KELVIN
    }

    fn density_factor_squared(&self, lighter_by: f64) -> f64 {
        let position = lighter_by * f64::from(FACTOR_ROWS - 1);
        let row = (position as usize).min(self.density_factors_squared.len() - 2);
        let low = self.density_factors_squared[row];
        low + (position - row as f64) * (self.density_factors_squared[row + 1] - low)
    }

    fn inside_at(&self, inside_c: f64) -> AirRow {
        let position = (inside_c.clamp(INSIDE_COLDEST_C, INSIDE_HOTTEST_C) - INSIDE_COLDEST_C)
            * ROWS_PER_KELVIN;
        let row = (position as usize).min(self.inside.len() - 2);
        let (low, high) = (self.inside[row], self.inside[row + 1]);
        let part = position - row as f64;
        let between = |low: f64, high: f64| low + part * (high - low);
        AirRow {
            density_kg_per_m3: between(low.density_kg_per_m3, high.density_kg_per_m3),
            volume_m3_per_kg: between(low.volume_m3_per_kg, high.volume_m3_per_kg),
            enthalpy_j_per_kg: between(low.enthalpy_j_per_kg, high.enthalpy_j_per_kg),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::moist_air::SEA_LEVEL_PA;
    use super::*;

    fn air(temp_c: f64, percent: f64) -> MoistAir {
        let humidity = RelativeHumidity::from_percent(percent).unwrap();
        MoistAir::from_relative_humidity(temp_c, humidity, SEA_LEVEL_PA).unwrap()
    }

    #[test]
    fn equal_air_exchanges_nothing() {
        let door = Doorway::new(0.9, 2.1).unwrap();
        let still = door.infiltration(&air(5.0, 70.0), &air(5.0, 70.0));
        assert_eq!(still.full_flow_w(), 0.0);
        assert_eq!(still.moisture_kg_per_s(), 0.0);
    }

    #[test]
    fn a_heated_room_loses_heat_and_the_sides_change_places() {
        let door = Doorway::new(0.9, 2.1).unwrap();
        let (cold, warm) = (air(-5.0, 80.0), air(20.0, 40.0));
        let loss = door.infiltration(&warm, &cold);
        let gain = door.infiltration(&cold, &warm);
        assert!(gain.heat_w() > 0.0);
        assert_eq!(loss.heat_w(), -gain.heat_w());
        assert_eq!(loss.full_flow_kg_per_s(), gain.full_flow_kg_per_s());
    }

    #[test]
    fn the_flow_factor_changes_at_eleven_kelvin() {
        let door = Doorway::new(1.0, 2.0).unwrap();
        let inside = air(2.0, 85.0);
        assert_eq!(
            door.infiltration(&inside, &air(13.1, 50.0)).flow_factor(),
            0.8
        );
        assert_eq!(
            door.infiltration(&inside, &air(12.9, 50.0)).flow_factor(),
            1.1
        );
    }

    #[test]
    fn only_a_real_opening_is_a_doorway() {
        for (width_m, height_m) in [(0.0, 2.0), (1.0, -1.0), (f64::NAN, 2.0), (1.0, 21.0)] {
            assert!(Doorway::new(width_m, height_m).is_none());
        }
    }

    #[test]
    fn the_table_follows_the_equation() {
        let door = Doorway::new(0.9144, 2.1336).unwrap();
        let area_m2 = door.width_m() * door.height_m();
        let mut compared = 0;
        for inside_percent in [60.0, 90.0] {
            for (outside_c, outside_percent) in
                [(-20.0, 80.0), (10.0, 60.0), (24.0, 50.0), (40.0, 30.0)]
            {
                let outside = air(outside_c, outside_percent);
                let humidity = RelativeHumidity::from_percent(inside_percent).unwrap();
                let mut table = DoorTable::new(door, humidity, &air(0.0, 50.0)).unwrap();
                table.set_outside(&outside);
                for tenth in -400..=400 {
                    let inside_c = f64::from(tenth) / 10.0;
                    let exact_w = door
                        .infiltration(&air(inside_c, inside_percent), &outside)
                        .heat_w();
                    let error_w = (table.heat_w(inside_c) - exact_w).abs();
                    assert!(
                        error_w <= 1e-5 * exact_w.abs() + 0.1 * area_m2,
                        "inside {inside_c}, outside {outside_c}: {error_w} of {exact_w} W"
                    );
                    compared += 1;
                }
            }
        }
        assert!(compared > 6000);
    }

    #[test]
    fn air_in_balance_gains_nothing() {
        let door = Doorway::new(1.0, 2.0).unwrap();
        let humidity = RelativeHumidity::from_percent(85.0).unwrap();
        let mut table = DoorTable::new(door, humidity, &air(24.0, 50.0)).unwrap();
        for (outside_c, percent) in [(24.0, 50.0), (35.0, 90.0), (-30.0, 40.0)] {
            table.set_outside(&air(outside_c, percent));
            let balance_c = table.balance_c();
            assert!(table.heat_w(balance_c - 0.01) > 0.0, "{outside_c} °C");
            assert!(table.heat_w(balance_c + 0.01) < 0.0, "{outside_c} °C");
        }
    }

    #[test]
    fn the_table_answers_any_temperature() {
        let door = Doorway::new(1.0, 2.0).unwrap();
        let humidity = RelativeHumidity::from_percent(85.0).unwrap();
        let table = DoorTable::new(door, humidity, &air(24.0, 50.0)).unwrap();
        assert!(table.heat_w(-300.0).is_finite() && table.heat_w(1e9).is_finite());
    }
}
