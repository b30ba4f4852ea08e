//! Plants at the ends of their parameters: never a panic, never a number that is none, and a
//! plant left alone stays between the temperatures it began among.

use hysteron_plant::compressor_parameters::CompressorParameters;
use hysteron_plant::condenser::CondenserParameters;
use hysteron_plant::first_order::FirstOrderParameters;
use hysteron_plant::low_side::LowSideParameters;
use hysteron_plant::parameter::{ParameterError, ParameterRange, STEP};
use hysteron_plant::pressure_control::PressureControlParameters;
use hysteron_plant::pump_down::PumpDownParameters;
use hysteron_plant::refrigerant::Refrigerant;
use hysteron_plant::refrigerated_box::BoxParameters;
use hysteron_plant::room::RoomParameters;
use hysteron_plant::tank::TankParameters;
use hysteron_plant::{
    Condenser, Door, FanSupply, FirstOrder, Load, Plant, Quantity, RefrigeratedBox, Room,
    Surroundings, Tank,
};
use proptest::prelude::*;
use proptest::sample::select;

/// A number of this range, its ends among them; over decades where the range spans decades.
fn within(range: &ParameterRange) -> BoxedStrategy<f64> {
    let (lowest, highest, default) = (range.lowest, range.highest, range.default);
    let floor = if lowest > 0.0 { lowest } else { highest * 1e-6 };
    let spread = if lowest < 0.0 || highest <= 0.0 {
        (lowest..=highest).boxed()
    } else {
        (floor.ln()..=highest.ln())
            .prop_map(move |power| power.exp().clamp(lowest, highest))
            .boxed()
    };
    prop_oneof![select(vec![lowest, highest, default]), spread].boxed()
}

/// Parameters of one kind, each number anywhere in its range.
macro_rules! anywhere {
    ($kind:ident) => {
        <$kind>::RANGES
            .iter()
            .map(within)
            .collect::<Vec<_>>()
            .prop_map(|values| {
                let mut parameters = <$kind>::default();
                for (range, value) in <$kind>::RANGES.iter().zip(values) {
                    parameters.set(range.name, value).unwrap();
                }
                parameters
            })
    };
}

fn any_pumping_down() -> impl Strategy<Value = Plant> {
    let control = (5.0..2_400.0_f64, 1.0..=100.0_f64).prop_map(|(cut_out_kpa, span_kpa)| {
        PressureControlParameters {
            cut_in_kpa: cut_out_kpa + span_kpa,
            cut_out_kpa,
        }
    });
    let system = (
        anywhere!(PumpDownParameters),
        anywhere!(LowSideParameters),
        control,
    )
        .prop_map(|(system, low_side, control)| PumpDownParameters {
            low_side,
            control,
            ..system
        });
    let refrigerant = select(Refrigerant::ALL.to_vec());
    (
        anywhere!(BoxParameters),
        anywhere!(CompressorParameters),
        refrigerant,
        system,
        within(&STEP),
    )
        .prop_map(|(cold, unit, refrigerant, system, step_s)| {
            let unit = CompressorParameters {
                refrigerant,
                ..unit
            };
            RefrigeratedBox::pumping_down(cold, unit, system, step_s)
                .unwrap()
                .into()
        })
}

fn any_plant() -> BoxedStrategy<Plant> {
    let step_s = || within(&STEP);
    prop_oneof![
        (
            anywhere!(BoxParameters),
            anywhere!(CompressorParameters),
            step_s()
        )
            .prop_map(|(cold, unit, step)| RefrigeratedBox::new(cold, unit, step).unwrap().into()),
        any_pumping_down(),
        (anywhere!(TankParameters), step_s())
            .prop_map(|(tank, step)| Tank::heated(tank, step).unwrap().into()),
        (
            anywhere!(TankParameters),
            anywhere!(CompressorParameters),
            step_s()
        )
            .prop_map(|(tank, unit, step)| Tank::cooled(tank, unit, step).unwrap().into()),
        (anywhere!(RoomParameters), step_s())
            .prop_map(|(room, step)| Room::new(room, step).unwrap().into()),
        (anywhere!(CondenserParameters), step_s()).prop_map(|(condenser, step)| Condenser::new(
            condenser, step
        )
        .unwrap()
        .into()),
        (anywhere!(FirstOrderParameters), step_s()).prop_map(|(plant, step)| FirstOrder::new(
            plant, step
        )
        .unwrap()
        .into()),
    ]
    .boxed()
}

fn any_load() -> impl Strategy<Value = Load> {
    prop_oneof![
        Just(Load::Off),
        (0.0..1.5_f64).prop_map(|fraction| Load::Running { fraction })
    ]
}

fn any_moment() -> impl Strategy<Value = (Load, Surroundings)> {
    (
        any_load(),
        -60.0..60.0_f64,
        0.0..=1.0_f64,
        select(vec![Door::Closed, Door::Open]),
        select(vec![FanSupply::Energised, FanSupply::Dead]),
        prop_oneof![Just(0.0), 0.0..5.0_f64],
        any_load(),
        select(vec![FanSupply::Energised, FanSupply::Dead]),
        prop_oneof![Just(0.0), 0.0..=1.0_f64],
    )
        .prop_map(
            |(
                load,
                ambient_c,
                ambient_rh,
                door,
                fan_supply,
                draw_kg_s,
                condensing_unit,
                condenser_fan,
                valve_leak,
            )| {
                let surroundings = Surroundings {
                    ambient_c,
                    ambient_rh,
                    door,
                    fan_supply,
                    product_load_w: 0.0,
                    heat_w: 0.0,
                    draw_kg_s,
                    condensing_unit,
                    condenser_fan,
                    valve_leak,
                };
                (load, surroundings)
            },
        )
}

fn temperatures(plant: &Plant) -> Vec<f64> {
    plant
        .quantities()
        .iter()
        .filter(|quantity| {
            quantity.unit() == "°C" && **quantity != Quantity::EvaporatingTemperature
        })
        .map(|quantity| plant.quantity(*quantity).unwrap())
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn every_value_stays_a_number(
        mut plant in any_plant(),
        moments in prop::collection::vec((any_moment(), 1..200_u32), 1..8),
    ) {
        // No compressor of ours draws heat from a coil below −100 °C.
        let refrigerated = plant.quantities().contains(&Quantity::EvaporatingTemperature);
        for ((load, surroundings), steps) in moments {
            for _ in 0..steps {
                plant.step(load, &surroundings);
            }
            for quantity in plant.quantities() {
                let value = plant.quantity(*quantity).unwrap();
                prop_assert!(value.is_finite(), "{quantity} is {value} in {plant:?}");
                if matches!(quantity, Quantity::EvaporatorLiquid | Quantity::SuctionPressure) {
                    prop_assert!(value >= 0.0, "{quantity} is {value} in {plant:?}");
                }
                if refrigerated && quantity.unit() == "°C" {
                    prop_assert!(value > -150.0, "{quantity} is {value} in {plant:?}");
                }
            }
        }
    }

    #[test]
    fn a_box_left_alone_stays_between_the_temperatures_it_began_among(
        cold in anywhere!(BoxParameters),
        unit in anywhere!(CompressorParameters),
        step_s in within(&STEP),
        ambient_c in -60.0..60.0_f64,
    ) {
        let quiet = BoxParameters { evaporator_fan_w: 0.0, steady_load_w: 0.0, ..cold };
        let mut plant: Plant = RefrigeratedBox::new(quiet, unit, step_s).unwrap().into();
        let surroundings = Surroundings { ambient_c, ..Surroundings::default() };
        let mut hull: Vec<f64> = temperatures(&plant);
        hull.push(ambient_c);
        let lowest_c = hull.iter().copied().fold(f64::INFINITY, f64::min);
        let highest_c = hull.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        for _ in 0..300 {
            plant.step(Load::Off, &surroundings);
            for temp_c in temperatures(&plant) {
                prop_assert!(
                    temp_c > lowest_c - 1e-6 && temp_c < highest_c + 1e-6,
                    "{temp_c} outside {lowest_c} to {highest_c}: {plant:?}"
                );
            }
        }
    }
}

/// A door is a way between two airs: through the largest on the least air, however long the step,
/// the air may come to the outside and no further. On the way the flow factor jumps, and where
/// humid air is as dense as dry air that is cooler, the flow turns.
#[test]
fn no_door_carries_air_past_both_sides() {
    let mut crossed = 0;
    for step_s in [1.0, 7.0, STEP.highest] {
        for inside_rh in [0.0, 0.5, 1.0] {
            for (ambient_c, ambient_rh) in [(30.0, 0.0), (30.0, 1.0), (-40.0, 0.5), (5.0, 1.0)] {
                for tenths in -200..=200 {
                    let start_c = ambient_c + f64::from(tenths) * 0.1;
                    let with = BoxParameters {
                        air_start_c: start_c,
                        product_start_c: start_c,
                        inside_rh,
                        air_capacity_j_k: 100.0,
                        door_width_m: 20.0,
                        door_height_m: 20.0,
                        door_protection: 0.0,
                        ..BoxParameters::default()
                    };
                    let unit = CompressorParameters::default();
                    let mut plant: Plant = RefrigeratedBox::new(with, unit, step_s).unwrap().into();
                    let around = Surroundings {
                        ambient_c,
                        ambient_rh,
                        door: Door::Open,
                        fan_supply: FanSupply::Dead,
                        ..Surroundings::default()
                    };
                    for _ in 0..20 {
                        plant.step(Load::Off, &around);
                        let air_c = plant.quantity(Quantity::Air).unwrap();
                        // Dry air at 100 °C holds as much heat as humid air at 30 °C.
                        let off_k = air_c - ambient_c;
                        assert!(
                            off_k.abs() < 71.0,
                            "{off_k} K off {ambient_c} °C: {plant:?}"
                        );
                    }
                    crossed += 1;
                }
            }
        }
    }
    assert!(crossed > 10_000, "{crossed}");
}

#[test]
fn numbers_out_of_range_are_refused_by_name_when_a_plant_is_built() {
    let mut refused = 0;
    let mut expect = |range: &ParameterRange, result: Result<Plant, ParameterError>| {
        let error = result.expect_err(range.name).to_string();
        assert!(error.starts_with(range.name), "{error}");
        assert!(error.contains(&range.highest.to_string()), "{error}");
        refused += 1;
    };
    for (name, step_s) in [("nought", 0.0), ("no number", f64::NAN), ("long", 61.0)] {
        let result = Room::new(RoomParameters::default(), step_s).map(Plant::from);
        assert!(result.is_err(), "{name}");
        expect(&STEP, result);
    }
    macro_rules! each {
        ($kind:ident, $build:expr) => {
            for range in <$kind>::RANGES {
                let mut parameters = <$kind>::default();
                *parameters.number_mut(range.name).expect("it is there") =
                    range.highest * 2.0 + 1.0;
                expect(range, $build(parameters));
            }
        };
    }
    each!(BoxParameters, |with| {
        RefrigeratedBox::new(with, CompressorParameters::default(), 1.0).map(Plant::from)
    });
    each!(CompressorParameters, |with| {
        RefrigeratedBox::new(BoxParameters::default(), with, 1.0).map(Plant::from)
    });
    let pumping_down = |with| {
        let (cold, unit) = (BoxParameters::default(), CompressorParameters::default());
        RefrigeratedBox::pumping_down(cold, unit, with, 1.0).map(Plant::from)
    };
    each!(PumpDownParameters, pumping_down);
    each!(LowSideParameters, |low_side| {
        pumping_down(PumpDownParameters {
            low_side,
            ..PumpDownParameters::default()
        })
    });
    each!(PressureControlParameters, |control| {
        pumping_down(PumpDownParameters {
            control,
            ..PumpDownParameters::default()
        })
    });
    each!(TankParameters, |with| Tank::heated(with, 1.0)
        .map(Plant::from));
    each!(RoomParameters, |with| Room::new(with, 1.0).map(Plant::from));
    each!(CondenserParameters, |with| {
        Condenser::new(with, 1.0).map(Plant::from)
    });
    each!(FirstOrderParameters, |with| {
        FirstOrder::new(with, 1.0).map(Plant::from)
    });
    assert!(refused > 50, "{refused} refusals judged");
}
