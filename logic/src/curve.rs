//! Curves of thermistors: from resistance to temperature.
//!
//! The published curves carry the coefficients of [`Coefficients`]; any other
//! NTC thermistor is described by its own three and checked for sense.

use core::fmt;

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
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
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
    /// For settings and for people: it searches, about 20 times the work of
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
        let at = |millicelsius| self.resistance(Temperature::from_millicelsius(millicelsius));
        if at(-40_000) > Some(divider.largest()) {
            return Err(Misfit::ColdReadsOpen);
        }
        if at(100_000) < Some(divider.smallest()) {
            return Err(Misfit::HotReadsShorted);
        }
        Ok(())
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
