//! Curves of thermistors: from resistance to temperature.
//!
//! The published curves carry the coefficients of [`Coefficients`]; any other
//! NTC thermistor is described by its own three and checked for sense.

use core::fmt;
use core::hash::{Hash, Hasher};
use core::ops::RangeInclusive;

use crate::coefficients::Coefficients;
use crate::curve_table::Table;
pub use crate::curve_table::{Beyond, COLDEST, CoefficientsRefused, HOTTEST};
use crate::divider::Divider;
use crate::resistance::Resistance;
use crate::units::Temperature;

/// The thermistor in the probe.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Curve {
    /// 10 kΩ at 25 °C, the heating and cooling trade's type II.
    TypeII,
    /// 10 kΩ at 25 °C, the heating and cooling trade's type III: less steep.
    TypeIII,
    /// 2.2 kΩ (2252 Ω) at 25 °C.
    R2k2,
    /// 3 kΩ at 25 °C.
    R3k,
    /// 5 kΩ at 25 °C.
    R5k,
    /// 100 kΩ at 25 °C.
    R100k,
    /// Any other, by its coefficients.
    Custom(CustomCurve),
}

/// The curve of a thermistor that is described by its own coefficients.
///
/// Holds its table of 32 temperatures, made once when it is checked.
#[derive(Clone, Copy)]
pub struct CustomCurve {
    coefficients: Coefficients,
    table: Table,
}

/// Why a thermistor and a fixed resistor do not go together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Misfit {
    /// A thermistor at −40 °C would be taken for an open circuit.
    ColdReadsOpen,
    /// A thermistor at +100 °C would be taken for a short.
    HotReadsShorted,
}

static TYPE_II: Table = published(Coefficients::TYPE_II);
static TYPE_III: Table = published(Coefficients::TYPE_III);
static R2K2: Table = published(Coefficients::R2K2);
static R3K: Table = published(Coefficients::R3K);
static R5K: Table = published(Coefficients::R5K);
static R100K: Table = published(Coefficients::R100K);

impl Curve {
    /// Every published curve.
    pub const PUBLISHED: [Self; 6] = [
        Self::TypeII,
        Self::TypeIII,
        Self::R2k2,
        Self::R3k,
        Self::R5k,
        Self::R100k,
    ];

    /// Every name that [`Self::published`] knows, in the order of [`Self::PUBLISHED`].
    pub const NAMES: [&'static str; 6] =
        ["10k type II", "10k type III", "2.2k", "3k", "5k", "100k"];

    /// The published curve of that name.
    #[must_use]
    pub fn published(name: &str) -> Option<Self> {
        Self::PUBLISHED
            .into_iter()
            .find(|curve| curve.name() == name)
    }

    /// The name for people: one of [`Self::NAMES`], or `custom`.
    #[must_use]
    pub const fn name(&self) -> &'static str {
        let [type_2, type_3, r2k2, r3k, r5k, r100k] = Self::NAMES;
        match self {
            Self::TypeII => type_2,
            Self::TypeIII => type_3,
            Self::R2k2 => r2k2,
            Self::R3k => r3k,
            Self::R5k => r5k,
            Self::R100k => r100k,
            Self::Custom(_) => "custom",
        }
    }

    /// The coefficients of the Steinhart-Hart equation.
    #[must_use]
    pub const fn coefficients(&self) -> Coefficients {
        match self {
            Self::TypeII => Coefficients::TYPE_II,
            Self::TypeIII => Coefficients::TYPE_III,
            Self::R2k2 => Coefficients::R2K2,
            Self::R3k => Coefficients::R3K,
            Self::R5k => Coefficients::R5K,
            Self::R100k => Coefficients::R100K,
            Self::Custom(custom) => custom.coefficients,
        }
    }

    /// The temperature of the thermistor at `resistance`.
    ///
    /// Within 10 mK of the equation, for custom curves too.
    ///
    /// # Errors
    ///
    /// Below [`COLDEST`] or above [`HOTTEST`].
    pub fn temperature(&self, resistance: Resistance) -> Result<Temperature, Beyond> {
        self.table().temperature(resistance)
    }

    /// The resistance of the thermistor at `temperature`; `None` outside
    /// [`COLDEST`] to [`HOTTEST`].
    ///
    /// For settings and for people: it searches, about 15 times the work of
    /// [`Self::temperature`].
    #[must_use]
    pub fn resistance(&self, temperature: Temperature) -> Option<Resistance> {
        self.table().resistance(temperature)
    }

    /// The resistance at 25 °C in ohms, to the nearest: what the trade calls a thermistor by.
    #[must_use]
    pub fn nominal_ohms(&self) -> u32 {
        match self.resistance(Temperature::from_millicelsius(25_000)) {
            Some(resistance) => resistance.ohms(),
            None => 0,
        }
    }

    /// Whether every temperature from −40 to +100 °C can be told from an open
    /// circuit and a short with the fixed resistor of `divider`.
    ///
    /// # Errors
    ///
    /// Which end cannot.
    pub fn suits(&self, divider: Divider) -> Result<(), Misfit> {
        suit(&self.readable(divider))
    }

    /// The temperatures that are told from an open circuit and a short with the fixed
    /// resistor of `divider`.
    ///
    /// Two readings of the table, where [`Self::resistance`] would have to search it for
    /// every temperature that is asked about.
    #[must_use]
    pub fn readable(&self, divider: Divider) -> RangeInclusive<Temperature> {
        (self.table()).temperatures(divider.smallest(), divider.largest())
    }

    const fn table(&self) -> &Table {
        match self {
            Self::TypeII => &TYPE_II,
            Self::TypeIII => &TYPE_III,
            Self::R2k2 => &R2K2,
            Self::R3k => &R3K,
            Self::R5k => &R5K,
            Self::R100k => &R100K,
            Self::Custom(custom) => &custom.table,
        }
    }
}

/// Whether all from −40 to +100 °C is in `readable`.
pub(crate) fn suit(readable: &RangeInclusive<Temperature>) -> Result<(), Misfit> {
    if *readable.start() > Temperature::from_millicelsius(-40_000) {
        return Err(Misfit::ColdReadsOpen);
    }
    if *readable.end() < Temperature::from_millicelsius(100_000) {
        return Err(Misfit::HotReadsShorted);
    }
    Ok(())
}

impl CustomCurve {
    /// The curve of `coefficients`.
    ///
    /// # Errors
    ///
    /// When they do not describe an NTC thermistor from −50 to +120 °C, or one
    /// that the table cannot follow; see [`CoefficientsRefused`].
    pub const fn new(coefficients: Coefficients) -> Result<Self, CoefficientsRefused> {
        match Table::new(coefficients) {
            Ok(table) => Ok(Self {
                coefficients,
                table,
            }),
            Err(refusal) => Err(refusal),
        }
    }

    /// The coefficients it was made from.
    #[must_use]
    pub const fn coefficients(&self) -> Coefficients {
        self.coefficients
    }
}

/// The table of published coefficients, made by the compiler.
#[expect(
    clippy::panic,
    reason = "called for statics only, where a panic is an error of compilation"
)]
const fn published(coefficients: Coefficients) -> Table {
    match Table::new(coefficients) {
        Ok(table) => table,
        Err(_) => panic!("published coefficients must describe a thermistor"),
    }
}

// The table says nothing that the coefficients do not.
impl PartialEq for CustomCurve {
    fn eq(&self, other: &Self) -> bool {
        self.coefficients == other.coefficients
    }
}

impl Eq for CustomCurve {}

impl Hash for CustomCurve {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.coefficients.hash(state);
    }
}

impl fmt::Debug for CustomCurve {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_tuple("CustomCurve")
            .field(&self.coefficients)
            .finish()
    }
}

#[cfg(feature = "defmt")]
impl defmt::Format for CustomCurve {
    fn format(&self, f: defmt::Formatter<'_>) {
        defmt::write!(f, "CustomCurve({})", self.coefficients);
    }
}

impl fmt::Display for Misfit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::ColdReadsOpen => {
                "at -40 °C this thermistor would be taken for an open circuit: \
                 choose a larger fixed resistor"
            }
            Self::HotReadsShorted => {
                "at +100 °C this thermistor would be taken for a short: \
                 choose a smaller fixed resistor"
            }
        })
    }
}

impl core::error::Error for Misfit {}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Difference;

    fn celsius(degrees: i32) -> Temperature {
        Temperature::from_millicelsius(degrees * 1_000)
    }

    #[test]
    fn names_lead_to_their_curves() {
        for (curve, name) in Curve::PUBLISHED.into_iter().zip(Curve::NAMES) {
            assert_eq!(curve.name(), name);
            assert_eq!(Curve::published(name), Some(curve));
        }
        assert_eq!(Curve::published("custom"), None);
    }

    #[test]
    fn nominal_resistance_is_what_the_name_says() {
        // The 2.2 k curve's part is of 2252 ohm.
        for (curve, ohms) in Curve::PUBLISHED
            .into_iter()
            .zip([10_000_u32, 10_000, 2_252, 3_000, 5_000, 100_000])
        {
            let nominal = curve.nominal_ohms();
            assert!(nominal.abs_diff(ohms) * 20_000 <= ohms, "{nominal}");
        }
    }

    #[test]
    fn a_published_curve_is_no_different_as_a_custom_one() {
        for curve in Curve::PUBLISHED {
            let custom = Curve::Custom(CustomCurve::new(curve.coefficients()).unwrap());
            assert_eq!(custom.coefficients(), curve.coefficients());
            assert!(custom.table() == curve.table());
        }
    }

    #[test]
    fn colder_is_never_less_resistance() {
        for curve in Curve::PUBLISHED {
            let mut last = Err(Beyond::Hot);
            let (mut hot, mut between, mut cold) = (0, 0, 0);
            for log2_steps in 0..(27 << 16) {
                let read = curve.temperature(Resistance::from_log2_steps(log2_steps));
                match (last, read) {
                    (_, Err(Beyond::Hot)) => {
                        assert_eq!(last, Err(Beyond::Hot));
                        hot += 1;
                    }
                    (Err(Beyond::Hot), Ok(first)) => assert!(first > celsius(119)),
                    (Ok(before), Ok(after)) => {
                        // Rounding may turn back by the last digit.
                        assert!(after.above(before).millikelvin() <= 1);
                        between += 1;
                    }
                    (Ok(before), Err(Beyond::Cold)) => assert!(before < celsius(-49)),
                    (_, Err(Beyond::Cold)) => cold += 1,
                    (Err(Beyond::Cold), Ok(_)) => panic!("a reading beyond the cold end"),
                }
                last = read;
            }
            assert!(hot > 100_000 && between > 500_000 && cold > 100_000);
        }
    }

    #[test]
    fn what_is_readable_is_what_the_table_puts_between_open_and_shorted() {
        let (mut inside, mut outside) = (0, 0);
        for curve in Curve::PUBLISHED {
            for ohms in [500, 2_000, 10_000, 47_000, 300_000, 1_000_000] {
                let divider = Divider::new(ohms).unwrap();
                let readable = curve.readable(divider);
                let told = divider.smallest()..=divider.largest();
                for millicelsius in (-51_000..=121_000).step_by(250) {
                    let temperature = Temperature::from_millicelsius(millicelsius);
                    let resistance = curve.resistance(temperature);
                    let expected = resistance.is_some_and(|resistance| told.contains(&resistance));
                    assert_eq!(readable.contains(&temperature), expected, "{temperature:?}");
                    (inside, outside) =
                        (inside + u32::from(expected), outside + u32::from(!expected));
                }
                // At the very ends, but for the last digit that rounding may turn back.
                let digit = Difference::from_millikelvin(2);
                for (end, inward) in [
                    (*readable.start(), digit),
                    (*readable.end(), digit.reversed()),
                ] {
                    let at = |temperature| curve.resistance(temperature);
                    let within = at(end.raised_by(inward)).is_some_and(|r| told.contains(&r));
                    let without = at(end.lowered_by(inward)).is_none_or(|r| !told.contains(&r));
                    assert!(within && without, "{curve:?} {ohms} {end:?}");
                }
            }
        }
        assert!(inside > 10_000 && outside > 2_000, "{inside} {outside}");
    }

    #[test]
    fn any_resistance_has_an_answer() {
        for curve in Curve::PUBLISHED {
            for (steps, beyond) in [
                (i32::MIN, Beyond::Hot),
                (-1, Beyond::Hot),
                (i32::MAX, Beyond::Cold),
            ] {
                let resistance = Resistance::from_log2_steps(steps);
                assert_eq!(curve.temperature(resistance), Err(beyond));
            }
        }
    }

    #[test]
    fn resistance_leads_back_to_temperature() {
        for curve in Curve::PUBLISHED {
            for millicelsius in (-50_000..=120_000).step_by(37) {
                let temperature = Temperature::from_millicelsius(millicelsius);
                let back = curve
                    .temperature(curve.resistance(temperature).unwrap())
                    .unwrap();
                assert!(back.above(temperature).size().millikelvin() <= 1);
            }
            assert_eq!(curve.resistance(celsius(-51)), None);
            assert_eq!(curve.resistance(celsius(121)), None);
        }
    }

    #[test]
    fn a_fixed_resistor_far_from_the_thermistor_is_a_misfit() {
        let divider = |ohms| Divider::new(ohms).unwrap();
        assert_eq!(Curve::TypeII.suits(divider(10_000)), Ok(()));
        assert_eq!(
            Curve::R100k.suits(divider(5_000)),
            Err(Misfit::ColdReadsOpen)
        );
        assert_eq!(
            Curve::R2k2.suits(divider(1_000_000)),
            Err(Misfit::HotReadsShorted)
        );
    }

    #[test]
    fn a_thermistor_that_is_just_told_from_open_or_short_suits() {
        type End = fn(Divider) -> Resistance;
        let ends: [(_, _, _, End); 2] = [
            (Coefficients::R100K, -40, 7_700..7_740, Divider::largest),
            (Coefficients::R2K2, 100, 71_400..71_440, Divider::smallest),
        ];
        for (base, degrees, ohms, end) in ends {
            let near = (-200..200).map(|step| {
                let a_femto = base.a_femto() + step * 10_000_000;
                let shifted = Coefficients::new(a_femto, base.b_femto(), base.c_femto());
                Curve::Custom(CustomCurve::new(shifted).unwrap())
            });
            let dividers: Vec<_> = ohms.map(|ohms| Divider::new(ohms).unwrap()).collect();
            let mut found = 0;
            for curve in near {
                let resistance = curve.resistance(celsius(degrees)).unwrap();
                for divider in dividers
                    .iter()
                    .filter(|divider| end(**divider) == resistance)
                {
                    assert_eq!(curve.suits(*divider), Ok(()));
                    found += 1;
                }
            }
            assert!(found > 0, "{degrees}");
        }
    }

    #[test]
    fn a_misfit_says_what_to_change() {
        assert!(
            Misfit::ColdReadsOpen
                .to_string()
                .contains("larger fixed resistor")
        );
        assert!(
            Misfit::HotReadsShorted
                .to_string()
                .contains("smaller fixed resistor")
        );
    }

    #[test]
    fn custom_curves_are_told_apart_by_their_coefficients() {
        use std::collections::HashSet;
        let custom = |coefficients| CustomCurve::new(coefficients).unwrap();
        let (one, other) = (
            custom(Coefficients::TYPE_II),
            custom(Coefficients::TYPE_III),
        );
        assert_eq!(one, custom(Coefficients::TYPE_II));
        assert_ne!(one, other);
        let hash = |curve: CustomCurve| {
            use std::hash::BuildHasher;
            std::hash::BuildHasherDefault::<std::hash::DefaultHasher>::default().hash_one(curve)
        };
        assert_ne!(hash(one), hash(other));
        assert_eq!(HashSet::from([one, other, one]).len(), 2);
        assert!(format!("{one:?}").contains("1129241000000"));
    }

    #[test]
    fn nonsense_is_refused_with_its_reason() {
        use CoefficientsRefused::*;
        // Units of 10^-9 for readability.
        for (a, b, c, reason) in [
            (100_000_000, 234_107, 88, Unbounded),
            // Rises instead of falling: from above the range, and from below.
            (5_000_000, -200_000, 0, NotFalling),
            (1_000_000, -10_000, 0, NotFalling),
            // Turns round before it gets cold.
            (1_000_000, 260_000, -400, NotFalling),
            // The sign of B lost.
            (1_129_241, -234_108, 88, NotFalling),
            // Made for kilohms.
            (2_775_000, 246_666, 88, HotEndTooLow),
            (-1_000_000, 230_000, 0, ColdEndTooHigh),
            (1_000_000, 1_000_000, 0, TooFlat),
            (1_500_000, 180_000, 0, TooSteep),
            (1_200_000, 520_000, 0, TooCurved),
        ] {
            let coefficients =
                Coefficients::new(a * 1_000_000_i64, b * 1_000_000_i64, c * 1_000_000_i64);
            assert_eq!(CustomCurve::new(coefficients), Err(reason), "{a} {b} {c}");
            assert!(reason.to_string().contains("check"));
        }
        assert_eq!(
            CustomCurve::new(Coefficients::new(0, i64::MIN, i64::MAX)),
            Err(Unbounded)
        );
    }
}
