//! Quantities with their unit and basis, and the one table of plausible ranges.

mod bounds;
mod typed;

pub use bounds::{BOUNDS, Bounds, Impossible, Scale};
pub use typed::*;

use serde::{Deserialize, Serialize};

/// A measured number that is neither infinite nor NaN, so that it can be stored and compared.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct Finite(f64);

impl Finite {
    /// One.
    pub const ONE: Finite = Finite(1.0);

    /// The number, or `None` where it is infinite or NaN.
    pub fn new(value: f64) -> Option<Self> {
        value.is_finite().then_some(Self(value))
    }

    /// The plain number.
    pub fn get(self) -> f64 {
        self.0
    }
}

impl TryFrom<f64> for Finite {
    type Error = &'static str;
    fn try_from(value: f64) -> Result<Self, Self::Error> {
        Self::new(value).ok_or("a number must be finite")
    }
}

impl From<Finite> for f64 {
    fn from(value: Finite) -> f64 {
        value.0
    }
}

/// What a water reading can state. The variant fixes unit and basis.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Measure {
    /// Water temperature, °C.
    TempC,
    /// pH, as a meter calibrated in buffers shows it.
    Ph,
    /// Total ammonia as the kit shows it, mg/L; the basis (as N, as NH3) is the site's kit setting.
    TanMgL,
    /// Un-ionised ammonia as said, mg/L.
    #[serde(rename = "nh3_mg_l")]
    Nh3MgL,
    /// Nitrite as the kit shows it, mg/L.
    #[serde(rename = "no2_mg_l")]
    No2MgL,
    /// Nitrate as the kit shows it, mg/L.
    #[serde(rename = "no3_mg_l")]
    No3MgL,
    /// Dissolved oxygen, mg/L.
    DoMgL,
    /// Dissolved oxygen, % of saturation.
    DoPercent,
    /// Salinity, parts per thousand.
    SalPpt,
    /// Specific gravity.
    Sg,
    /// Conductivity, µS/cm.
    CondUsCm,
    /// Total dissolved solids, mg/L.
    TdsMgL,
    /// Alkalinity, mg/L as CaCO3.
    AlkMgL,
    /// General hardness, mg/L as CaCO3.
    GhMgL,
    /// Total chlorine, mg/L as Cl2.
    ChlorineMgL,
    /// Carbon dioxide, mg/L.
    #[serde(rename = "co2_mg_l")]
    Co2MgL,
}
