//! What the probe must be taken for, and how sure that is from outside.

use hysteron_logic::probe::{ProbeFault, Trust};
use hysteron_logic::units::Temperature;

use super::double_reading::Span;

/// What the space must be taken for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Believed {
    /// No sample has been good yet.
    Nothing,
    /// It has this temperature now.
    Now(Span),
    /// It had this temperature, and the doubt about the probe is still short.
    Held(Span),
    /// The probe is not to be believed.
    Fault(ProbeFault),
}

impl Believed {
    /// The temperature that decisions must rest on, if there is one.
    #[must_use]
    pub const fn temperature(self) -> Option<Span> {
        match self {
            Self::Now(span) | Self::Held(span) => Some(span),
            Self::Nothing | Self::Fault(_) => None,
        }
    }

    /// Whether the control may tell it by `trust`.
    #[must_use]
    pub fn may_be_told(self, trust: Trust) -> bool {
        match (self, trust) {
            (Self::Nothing, Trust::Suspect(None)) => true,
            (Self::Now(span), Trust::Good(point))
            | (Self::Held(span), Trust::Suspect(Some(point))) => span.contains(point),
            (Self::Fault(due), Trust::Fault(fault)) => due == fault,
            (Self::Nothing | Self::Now(_) | Self::Held(_) | Self::Fault(_), _) => false,
        }
    }
}

/// Whether something holds, as far as it can be told from outside.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sure {
    /// It does.
    Yes,
    /// It does not.
    No,
    /// Rounding decides, or what a faulty clock was believed.
    Unsure,
}

impl Sure {
    /// Whether `value` reaches `limit`, where the control may read it as anything in `span`.
    #[must_use]
    pub fn reaches(span: Span, limit: Temperature) -> Self {
        let beyond_mc = span.exact_mc - f64::from(limit.millicelsius());
        Self::between(beyond_mc >= -span.slack_mc, beyond_mc >= span.slack_mc)
    }

    /// By whether it may hold, and whether it must.
    #[must_use]
    pub const fn between(possible: bool, certain: bool) -> Self {
        match (possible, certain) {
            (_, true) => Self::Yes,
            (true, false) => Self::Unsure,
            (false, false) => Self::No,
        }
    }

    /// What is to be followed: it holds, it does not, or either.
    #[must_use]
    pub const fn ways(self) -> &'static [bool] {
        match self {
            Self::Yes => &[true],
            Self::No => &[false],
            Self::Unsure => &[true, false],
        }
    }
}
