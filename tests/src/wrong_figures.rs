//! Shipped arrangements with a figure that does not fit.

use hysteron::installation::check::Rule;

/// An arrangement, what it says, what they write instead, and the rule that must object, naming this part.
pub const WRONG_FIGURES: &[(&str, &str, &str, Rule, &str)] = &[
    (
        "compressor-120",
        "full_load_a = 16",
        "full_load_a = 8",
        Rule::ContactOverloaded,
        "control",
    ),
    (
        "compressor-120",
        "locked_rotor_a = 96",
        "locked_rotor_a = 50",
        Rule::ContactOverloaded,
        "control",
    ),
    (
        "pump-down-120",
        "pilot_duty_va = 360",
        "pilot_duty_va = 10",
        Rule::ContactOverloaded,
        "control",
    ),
    (
        "heating-240",
        "resistive_a = 20",
        "resistive_a = 12",
        Rule::ContactOverloaded,
        "control",
    ),
    (
        "contactor-24",
        "locked_rotor_a = 150",
        "locked_rotor_a = 90",
        Rule::ContactOverloaded,
        "contactor",
    ),
    (
        "compressor-120",
        "rating_a = 20",
        "rating_a = 10",
        Rule::ProtectionTooSmall,
        "breaker",
    ),
    (
        "compressor-120",
        "rating_a = 20",
        "rating_a = 30",
        Rule::ProtectionTooLarge,
        "breaker",
    ),
    (
        "separate-supplies",
        "rating_a = 5",
        "rating_a = 1",
        Rule::ProtectionTooSmall,
        "fuse",
    ),
    (
        "heating-240",
        "power_w = 3500",
        "power_w = 5500",
        Rule::ConductorTooSmall,
        "3",
    ),
    (
        "contactor-24",
        "rated_va = 40",
        "rated_va = 10",
        Rule::TransformerOverloaded,
        "transformer",
    ),
    (
        "contactor-24",
        "pull_in_fraction = 0.8",
        "pull_in_fraction = 0.9",
        Rule::CoilOutsideBand,
        "contactor",
    ),
    (
        "contactor-24",
        "droop = 0.05",
        "droop = 0.15",
        Rule::CoilOutsideBand,
        "contactor",
    ),
    (
        "contactor-24",
        "primary_v = 208",
        "primary_v = 240",
        Rule::ControlOutsideBand,
        "control",
    ),
    (
        "compressor-208",
        "rated_v = 208",
        "rated_v = 120",
        Rule::WrongVoltage,
        "compressor",
    ),
    (
        "compressor-240",
        "gauge_awg = 12, length_m = 15",
        "gauge_awg = 12, length_m = 250",
        Rule::VoltageDrop,
        "compressor",
    ),
    (
        "compressor-120",
        "rating_a = 20",
        "rating_a = 1",
        Rule::OpensAtOnce,
        "breaker",
    ),
];
