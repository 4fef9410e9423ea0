//! Why a formula gives no value.

use crate::quantity::Impossible;

/// A value that a formula does not take, or values that cannot be true together.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum Unsound {
    /// Out of the range for which the formula was published.
    #[error("{what} must be from {} to {} for {formula}, not {given}", range.0, with_unit(range.1, unit))]
    OutOfRange {
        /// Whose range: author and year.
        formula: &'static str,
        /// What is out of range.
        what: &'static str,
        /// Its unit.
        unit: &'static str,
        /// The range, ends included.
        range: (f64, f64),
        /// What was given.
        given: f64,
    },
    /// These readings cannot be true of one water.
    #[error("pH {ph} and alkalinity {alkalinity} mg/L as CaCO3 cannot be true of one water: measure both again")]
    Contradiction {
        /// pH as given.
        ph: f64,
        /// Alkalinity as given, mg/L as CaCO3.
        alkalinity: f64,
    },
    /// Nothing was given to mix.
    #[error("there must be at least one water")]
    NoWater,
    /// No value of its kind at all.
    #[error(transparent)]
    Impossible(#[from] Impossible),
}

fn with_unit(value: f64, unit: &str) -> String {
    format!("{value} {unit}").trim_end().to_owned()
}

/// The value, where it is in the range.
pub(super) fn within(
    formula: &'static str,
    (what, unit): (&'static str, &'static str),
    range: (f64, f64),
    given: f64,
) -> Result<f64, Unsound> {
    // A comparison with NaN is false, so that NaN is refused too.
    if range.0 <= given && given <= range.1 {
        Ok(given)
    } else {
        Err(Unsound::OutOfRange { formula, what, unit, range, given })
    }
}
