//! Parameters of a plant: each number with its range and default, checked before use.
//!
//! The macro `parameters!` declares a plant's parameters once;
//! the struct, its defaults, the table of ranges, the check and the setting by
//! name all come from that one declaration.

use std::fmt;

/// One number a plant is built from: what it may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ParameterRange {
    /// The name in text files and messages; the unit comes last in it.
    pub name: &'static str,
    /// Unit as people write it; empty for a pure number.
    pub unit: &'static str,
    /// Lowest value accepted.
    pub lowest: f64,
    /// Highest value accepted.
    pub highest: f64,
    /// Value used where none is given.
    pub default: f64,
    /// What it means.
    pub sentence: &'static str,
}

impl ParameterRange {
    /// Refuses a value that is outside the range or not a number.
    pub fn check(&self, given: f64) -> Result<(), ParameterError> {
        if (self.lowest..=self.highest).contains(&given) {
            Ok(())
        } else {
            Err(ParameterError::OutOfRange {
                range: *self,
                given,
            })
        }
    }
}

/// Why a plant can't be built from the parameters given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ParameterError {
    /// A number lies outside its range, or isn't a number.
    OutOfRange {
        /// What would have been accepted.
        range: ParameterRange,
        /// What was given.
        given: f64,
    },
    /// There is no number of this kind in this plant.
    Unknown {
        /// The names there are.
        known: &'static [ParameterRange],
    },
    /// Each number is in its range, but together they make nothing that can be.
    Impossible {
        /// What is wrong with them.
        reason: &'static str,
    },
}

impl fmt::Display for ParameterError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OutOfRange { range, given } => {
                let ParameterRange {
                    name,
                    unit,
                    lowest,
                    highest,
                    default,
                    sentence: _,
                } = range;
                let space = if unit.is_empty() { "" } else { " " };
                write!(
                    f,
                    "{name} is {given}{space}{unit}; give {lowest} to {highest}{space}{unit} (default {default})"
                )
            }
            Self::Unknown { known } => {
                write!(f, "no such parameter; there are ")?;
                for (place, range) in known.iter().enumerate() {
                    let comma = if place == 0 { "" } else { ", " };
                    write!(f, "{comma}{}", range.name)?;
                }
                Ok(())
            }
            Self::Impossible { reason } => f.write_str(reason),
        }
    }
}

impl std::error::Error for ParameterError {}

/// Length of a step: what every plant is asked for beside its own parameters.
pub const STEP: ParameterRange = ParameterRange {
    name: "step_s",
    unit: "s",
    lowest: 1e-3,
    highest: 60.0,
    default: 1.0,
    sentence: "Length of a step.",
};

/// Declares the parameters of a plant: numbers with default, unit and range, whose comment is the
/// sentence for people, then, after `=>`, choices with default.
macro_rules! parameters {
    (
        $(#[$about:meta])*
        pub struct $name:ident {
            $( $(#[doc = $sentence:literal])* $number:ident = $default:expr, $unit:literal, $lowest:literal..=$highest:literal; )*
            $( => $( $(#[$choice_doc:meta])* $choice:ident: $kind:ty = $choice_default:expr; )+ )?
        }
    ) => {
        $(#[$about])*
        #[derive(Debug, Clone, PartialEq)]
        pub struct $name {
            $(
                $(#[doc = $sentence])*
                #[doc = concat!("\n\nUnit `", $unit, "`, range ", stringify!($lowest), " to ", stringify!($highest),
                    ", default ", stringify!($default), ".")]
                pub $number: f64,
            )*
            $( $( $(#[$choice_doc])* pub $choice: $kind, )+ )?
        }

        impl Default for $name {
            fn default() -> Self {
                Self { $( $number: $default, )* $( $( $choice: $choice_default, )+ )? }
            }
        }

        impl $name {
            /// Every number with its unit, range and default, in the order declared.
            pub const RANGES: &'static [$crate::parameter::ParameterRange] = &[
                $( $crate::parameter::ParameterRange {
                    name: stringify!($number),
                    unit: $unit,
                    lowest: $lowest,
                    highest: $highest,
                    default: $default,
                    sentence: concat!($($sentence),*),
                }, )*
            ];

            /// Refuses the first number that is outside its range or not a number.
            pub fn check(&self) -> Result<(), $crate::parameter::ParameterError> {
                let given = [ $( self.$number, )* ];
                for (range, given) in Self::RANGES.iter().zip(given) {
                    range.check(given)?;
                }
                Ok(())
            }

            /// The number of this name, if there is one. What is written there is checked when the
            /// plant is built.
            pub fn number_mut(&mut self, name: &str) -> Option<&mut f64> {
                match name {
                    $( stringify!($number) => Some(&mut self.$number), )*
                    _ => None,
                }
            }

            /// Sets one number by its name; refused where the name is unknown or the value out of range.
            pub fn set(
                &mut self,
                name: &str,
                value: f64,
            ) -> Result<(), $crate::parameter::ParameterError> {
                let unknown = $crate::parameter::ParameterError::Unknown {
                    known: Self::RANGES,
                };
                let place = self.number_mut(name).ok_or(unknown)?;
                for range in Self::RANGES.iter().filter(|range| range.name == name) {
                    range.check(value)?;
                }
                *place = value;
                Ok(())
            }
        }
    };
}
pub(crate) use parameters;

#[cfg(test)]
mod tests {

    parameters! {
        /// Two numbers.
        pub struct Example {
            /// A heat capacity.
            capacity_j_k = 5.0, "J/K", 1.0..=10.0;
            /// A share.
            share = 0.5, "", 0.0..=1.0;
        }
    }

    #[test]
    fn defaults_pass_and_each_number_is_checked() {
        assert_eq!(Example::default().check(), Ok(()));
        for range in Example::RANGES {
            for wrong in [range.highest + 1.0, range.lowest - 1.0, f64::NAN] {
                let mut example = Example::default();
                assert!(example.set(range.name, wrong).is_err());
                assert_eq!(example, Example::default(), "a refused value was kept");
            }
            assert_eq!(Example::default().set(range.name, range.highest), Ok(()));
        }
        let example = Example {
            share: f64::INFINITY,
            ..Example::default()
        };
        assert!(example.check().is_err());
    }

    #[test]
    fn messages_say_which_what_and_what_would_do() {
        let mut example = Example::default();
        assert_eq!(
            example.set("capacity_j_k", 11.0).unwrap_err().to_string(),
            "capacity_j_k is 11 J/K; give 1 to 10 J/K (default 5)"
        );
        assert_eq!(
            example.set("share", 2.0).unwrap_err().to_string(),
            "share is 2; give 0 to 1 (default 0.5)"
        );
        assert_eq!(
            example.set("shore", 0.1).unwrap_err().to_string(),
            "no such parameter; there are capacity_j_k, share"
        );
    }
}
