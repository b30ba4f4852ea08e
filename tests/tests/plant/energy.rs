//! Heat in = heat out + heat stored, over a day of each plant, from what can be read of it.
//!
//! What flows by conductance to ambient is summed from the temperatures at both ends of each
//! step, which is right to the second order; the rest is told by the plant or was given to it.

use hysteron_plant::compressor_parameters::CompressorParameters;
use hysteron_plant::condenser::CondenserParameters;
use hysteron_plant::pump_down::PumpDownParameters;
use hysteron_plant::refrigerated_box::BoxParameters;
use hysteron_plant::room::{Conditioning, RoomParameters};
use hysteron_plant::tank::TankParameters;
use hysteron_plant::{
    Condenser, Door, Load, Plant, PressureContact, Quantity, RefrigeratedBox, Room, Surroundings,
    Tank,
};

const DAY_S: u32 = 86_400;

/// A capacity: which temperature tells of it, and how many joules a kelvin holds.
type Capacity = (Quantity, f64);

/// The two sides of the account, J.
#[derive(Default)]
struct Account {
    heat_in_j: f64,
    stored_j: f64,
    /// Every flow by its amount, to judge the difference by.
    turnover_j: f64,
}

impl Account {
    fn add(&mut self, flow_w: f64) {
        self.heat_in_j += flow_w;
        self.turnover_j += flow_w.abs();
    }

    fn assert_closes(&self, part: f64) {
        let missing_j = self.heat_in_j - self.stored_j;
        assert!(self.turnover_j > 1e6, "hardly anything flowed");
        assert!(
            missing_j.abs() < part * self.turnover_j,
            "{missing_j} J missing of {} J turned over",
            self.turnover_j
        );
    }
}

fn read(plant: &Plant, quantity: Quantity) -> f64 {
    plant.quantity(quantity).expect("a quantity of this plant")
}

fn stored_j(plant: &Plant, capacities: &[Capacity]) -> f64 {
    let one = |(quantity, capacity): &Capacity| capacity * read(plant, *quantity);
    capacities.iter().map(one).sum()
}

/// A hot day with doors, draws and a load that runs a third of the time.
fn hour_by_hour(t: u32) -> (Load, Surroundings) {
    let hour = f64::from(t / 3_600);
    let surroundings = Surroundings {
        ambient_c: 25.0 + 8.0 * (hour / 24.0 * std::f64::consts::TAU).sin(),
        ambient_rh: 0.5,
        door: if t % 1_800 < 40 {
            Door::Open
        } else {
            Door::Closed
        },
        product_load_w: 120.0,
        heat_w: 80.0,
        draw_kg_s: if t % 7_200 < 300 { 0.05 } else { 0.0 },
        ..Surroundings::default()
    };
    let load = if t % 900 < 300 {
        Load::Running { fraction: 0.95 }
    } else {
        Load::Off
    };
    (load, surroundings)
}

/// Runs a day; `flows` lists what enters in a step, given the plant before and after it, W.
fn account<const F: usize>(
    mut plant: Plant,
    capacities: &[Capacity],
    flows: impl Fn(&Plant, &Plant, Load, &Surroundings) -> [f64; F],
) -> Account {
    let mut account = Account::default();
    let before_j = stored_j(&plant, capacities);
    for t in 0..DAY_S {
        let (load, surroundings) = hour_by_hour(t);
        let before = plant.clone();
        plant.step(load, &surroundings);
        for flow_w in flows(&before, &plant, load, &surroundings) {
            account.add(flow_w);
        }
    }
    account.stored_j = stored_j(&plant, capacities) - before_j;
    account
}

/// Heat from ambient through a conductance to what this quantity tells of.
fn conducted_w(
    before: &Plant,
    after: &Plant,
    quantity: Quantity,
    conductance_w_k: f64,
    outside_c: f64,
) -> f64 {
    let middle_c = 0.5 * (read(before, quantity) + read(after, quantity));
    conductance_w_k * (outside_c - middle_c)
}

#[test]
fn refrigerated_box() {
    let with = BoxParameters::default();
    let plant = RefrigeratedBox::new(with.clone(), CompressorParameters::default(), 1.0).unwrap();
    let capacities = [
        (Quantity::Air, with.air_capacity_j_k),
        (Quantity::Product, with.product_kg * with.product_j_kg_k),
        (Quantity::Coil, with.coil_capacity_j_k),
        (Quantity::Walls, with.walls_capacity_j_k),
    ];
    let day = account(
        plant.into(),
        &capacities,
        |before, after, _, surroundings| {
            let ambient_c = surroundings.ambient_c;
            let through = |quantity, conductance| {
                conducted_w(before, after, quantity, conductance, ambient_c)
            };
            [
                read(after, Quantity::LoadHeat),
                read(after, Quantity::DoorHeat),
                read(after, Quantity::FanPower),
                with.steady_load_w + surroundings.product_load_w + surroundings.heat_w,
                through(Quantity::Walls, with.walls_ambient_w_k),
                through(Quantity::Air, with.leakage_w_k),
            ]
        },
    );
    day.assert_closes(1e-6);
}

#[test]
fn condenser_of_a_compressor() {
    let unit = CompressorParameters::default();
    let plant = RefrigeratedBox::new(BoxParameters::default(), unit.clone(), 1.0).unwrap();
    let capacities = [(Quantity::CondensingTemperature, unit.condenser_capacity_j_k)];
    let day = account(
        plant.into(),
        &capacities,
        |before, after, load, surroundings| {
            let conductance = match load {
                Load::Off => unit.condenser_resting_w_k,
                Load::Running { .. } => unit.condenser_running_w_k,
            };
            [
                -read(after, Quantity::LoadHeat),
                read(after, Quantity::LoadPower) - unit.condenser_fan_w * load.fraction(),
                conducted_w(
                    before,
                    after,
                    Quantity::CondensingTemperature,
                    conductance,
                    surroundings.ambient_c,
                ),
            ]
        },
    );
    day.assert_closes(1e-5);
}

/// The pressure control has the compressor; the valve, the box's load, leaks in the afternoon.
fn pumping_down(t: u32, plant: &Plant) -> (Load, Surroundings) {
    let (load, surroundings) = hour_by_hour(t);
    let pressure_control = plant.pressure_control().expect("it pumps down");
    let surroundings = Surroundings {
        condensing_unit: match pressure_control.contact() {
            PressureContact::Open => Load::Off,
            PressureContact::Closed => Load::RATED,
        },
        valve_leak: if t > DAY_S / 2 { 0.005 } else { 0.0 },
        ..surroundings
    };
    (load, surroundings)
}

#[test]
fn box_and_condenser_of_a_system_that_pumps_down() {
    let (with, unit) = (BoxParameters::default(), CompressorParameters::default());
    let system = PumpDownParameters::default();
    let mut plant: Plant = RefrigeratedBox::pumping_down(with.clone(), unit.clone(), system, 1.0)
        .unwrap()
        .into();
    let capacities = [
        (Quantity::Air, with.air_capacity_j_k),
        (Quantity::Product, with.product_kg * with.product_j_kg_k),
        (Quantity::Coil, with.coil_capacity_j_k),
        (Quantity::Walls, with.walls_capacity_j_k),
    ];
    let condenser = [(Quantity::CondensingTemperature, unit.condenser_capacity_j_k)];
    let (mut cold, mut hot) = (Account::default(), Account::default());
    let mut refrigerant = Account::default();
    let before_j = (stored_j(&plant, &capacities), stored_j(&plant, &condenser));
    let mut compressor_ran_s = 0;
    for t in 0..DAY_S {
        let (load, surroundings) = pumping_down(t, &plant);
        let before = plant.clone();
        plant.step(load, &surroundings);
        let through = |quantity, conductance| {
            conducted_w(
                &before,
                &plant,
                quantity,
                conductance,
                surroundings.ambient_c,
            )
        };
        let drawn_w = -read(&plant, Quantity::LoadHeat);
        let rejected_w = read(&plant, Quantity::RejectedHeat);
        let (running_share, conductance_w_k) = match surroundings.condensing_unit {
            Load::Off => (0.0, unit.condenser_resting_w_k),
            Load::Running { fraction } => (fraction, unit.condenser_running_w_k),
        };
        compressor_ran_s += u32::from(running_share > 0.0);
        let work_w = read(&plant, Quantity::CompressorPower) - unit.condenser_fan_w * running_share;
        cold.add(-drawn_w);
        cold.add(read(&plant, Quantity::DoorHeat));
        cold.add(read(&plant, Quantity::FanPower));
        cold.add(with.steady_load_w + surroundings.product_load_w + surroundings.heat_w);
        cold.add(through(Quantity::Walls, with.walls_ambient_w_k));
        cold.add(through(Quantity::Air, with.leakage_w_k));
        hot.add(rejected_w);
        hot.add(through(Quantity::CondensingTemperature, conductance_w_k));
        refrigerant.add(drawn_w);
        refrigerant.add(work_w);
        refrigerant.add(-rejected_w);
    }
    assert!(
        (DAY_S / 4..DAY_S).contains(&compressor_ran_s),
        "{compressor_ran_s} s"
    );
    cold.stored_j = stored_j(&plant, &capacities) - before_j.0;
    hot.stored_j = stored_j(&plant, &condenser) - before_j.1;
    cold.assert_closes(1e-6);
    hot.assert_closes(1e-5);
    // What is left of the last pump-down is all that refrigerant holds at the end.
    refrigerant.assert_closes(1e-4);
}

fn tank_day(tank: Tank, with: &TankParameters) -> Account {
    let capacities = [
        (Quantity::Water, with.contents_kg * with.contents_j_kg_k),
        (Quantity::Element, with.element_capacity_j_k),
    ];
    account(
        tank.into(),
        &capacities,
        |before, after, _, surroundings| {
            let through = |conductance, outside_c| {
                conducted_w(before, after, Quantity::Water, conductance, outside_c)
            };
            [
                read(after, Quantity::LoadHeat),
                with.steady_load_w + surroundings.product_load_w + surroundings.heat_w,
                through(with.loss_w_k, surroundings.ambient_c),
                through(surroundings.draw_kg_s * with.contents_j_kg_k, with.supply_c),
            ]
        },
    )
}

#[test]
fn heated_tank() {
    let with = TankParameters::default();
    let tank = Tank::heated(with.clone(), 1.0).unwrap();
    tank_day(tank, &with).assert_closes(1e-6);
}

#[test]
fn cooled_tank() {
    let with = TankParameters {
        contents_kg: 2_000.0,
        element_capacity_j_k: 30_000.0,
        element_contents_w_k: 3_000.0,
        steady_load_w: 150.0,
        ..TankParameters::default()
    };
    let tank = Tank::cooled(with.clone(), CompressorParameters::default(), 1.0).unwrap();
    tank_day(tank, &with).assert_closes(1e-6);
}

#[test]
fn heated_and_cooled_room() {
    for conditioning in [Conditioning::Heating, Conditioning::Cooling] {
        let with = RoomParameters {
            conditioning,
            ..RoomParameters::default()
        };
        let capacities = [
            (Quantity::Room, with.room_capacity_j_k),
            (Quantity::Fabric, with.fabric_capacity_j_k),
            (Quantity::Element, with.unit_capacity_j_k),
        ];
        let plant = Room::new(with.clone(), 1.0).unwrap();
        let day = account(
            plant.into(),
            &capacities,
            |before, after, load, surroundings| {
                let ambient_c = surroundings.ambient_c;
                let through = |quantity, conductance| {
                    conducted_w(before, after, quantity, conductance, ambient_c)
                };
                let door = match surroundings.door {
                    Door::Closed => 0.0,
                    Door::Open => with.open_door_w_k,
                };
                let unit_w = with.unit_w * load.fraction();
                let signed_w = match conditioning {
                    Conditioning::Heating => unit_w,
                    Conditioning::Cooling => -unit_w,
                };
                assert_eq!(read(after, Quantity::LoadHeat), signed_w);
                [
                    signed_w,
                    surroundings.heat_w,
                    through(Quantity::Room, with.room_ambient_w_k + door),
                    through(Quantity::Fabric, with.fabric_ambient_w_k),
                ]
            },
        );
        day.assert_closes(1e-6);
    }
}

#[test]
fn condenser_with_a_cycling_fan() {
    let with = CondenserParameters::default();
    let capacities = [(Quantity::CondensingTemperature, with.capacity_j_k)];
    let plant = Condenser::new(with.clone(), 1.0).unwrap();
    let day = account(
        plant.into(),
        &capacities,
        |before, after, load, surroundings| {
            let conductance = match load {
                Load::Off => with.still_w_k,
                Load::Running { .. } => with.fan_w_k,
            };
            let given_w = with.rejected_w + surroundings.heat_w;
            assert_eq!(read(after, Quantity::RejectedHeat), given_w);
            [
                given_w,
                conducted_w(
                    before,
                    after,
                    Quantity::CondensingTemperature,
                    conductance,
                    surroundings.ambient_c,
                ),
            ]
        },
    );
    day.assert_closes(1e-5);
}

/// What people and lights give off warms a box's air first, and its product through the air.
#[test]
fn heat_brought_into_a_box_warms_the_air_before_the_product() {
    let warmed = |heat_w, product_load_w| {
        let mut plant = RefrigeratedBox::new(
            BoxParameters::default(),
            CompressorParameters::default(),
            1.0,
        )
        .expect("defaults");
        let surroundings = Surroundings {
            heat_w,
            product_load_w,
            ..Surroundings::default()
        };
        for _ in 0..600 {
            plant.step(Load::Off, &surroundings);
        }
        let plant = Plant::from(plant);
        [Quantity::Air, Quantity::Product].map(|quantity| read(&plant, quantity))
    };
    let calm = warmed(0.0, 0.0);
    let lit = warmed(1_000.0, 0.0);
    let breathing = warmed(0.0, 1_000.0);
    let by_k = |warm: [f64; 2]| [warm[0] - calm[0], warm[1] - calm[1]];
    let (lit, breathing) = (by_k(lit), by_k(breathing));
    assert!(lit[0] > 10.0 * lit[1] && lit[1] > 0.0, "{lit:?}");
    assert!(
        breathing[1] > breathing[0] && breathing[0] > 0.0,
        "{breathing:?}"
    );
}
