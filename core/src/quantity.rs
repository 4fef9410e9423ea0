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

impl Measure {
    /// Every measure, in the order of the enum.
    pub const ALL: [Measure; 16] = [
        Measure::TempC,
        Measure::Ph,
        Measure::TanMgL,
        Measure::Nh3MgL,
        Measure::No2MgL,
        Measure::No3MgL,
        Measure::DoMgL,
        Measure::DoPercent,
        Measure::SalPpt,
        Measure::Sg,
        Measure::CondUsCm,
        Measure::TdsMgL,
        Measure::AlkMgL,
        Measure::GhMgL,
        Measure::ChlorineMgL,
        Measure::Co2MgL,
    ];

    /// The serialised name, as in `ph` or `tan_mg_l`.
    pub fn key(self) -> &'static str {
        match self {
            Measure::TempC => "temp_c",
            Measure::Ph => "ph",
            Measure::TanMgL => "tan_mg_l",
            Measure::Nh3MgL => "nh3_mg_l",
            Measure::No2MgL => "no2_mg_l",
            Measure::No3MgL => "no3_mg_l",
            Measure::DoMgL => "do_mg_l",
            Measure::DoPercent => "do_percent",
            Measure::SalPpt => "sal_ppt",
            Measure::Sg => "sg",
            Measure::CondUsCm => "cond_us_cm",
            Measure::TdsMgL => "tds_mg_l",
            Measure::AlkMgL => "alk_mg_l",
            Measure::GhMgL => "gh_mg_l",
            Measure::ChlorineMgL => "chlorine_mg_l",
            Measure::Co2MgL => "co2_mg_l",
        }
    }

    /// The lowest and highest value (inclusive, in the measure's unit) that a bag, tray or tank can show. What lies outside is a
    /// slip of the finger or another unit, and is asked about. The limits are wide on purpose: bags after a delay reach
    /// tens of mg/L of ammonia and CO2 well above 100 mg/L.
    pub fn plausible(self) -> (f64, f64) {
        match self {
            Measure::TempC => (0.0, 40.0),
            Measure::Ph => (3.0, 11.0),
            Measure::TanMgL => (0.0, 100.0),
            Measure::Nh3MgL => (0.0, 10.0),
            Measure::No2MgL => (0.0, 100.0),
            Measure::No3MgL => (0.0, 1000.0),
            Measure::DoMgL => (0.0, 40.0),
            Measure::DoPercent => (0.0, 500.0),
            Measure::SalPpt => (0.0, 60.0),
            Measure::Sg => (0.99, 1.06),
            Measure::CondUsCm => (0.0, 100_000.0),
            Measure::TdsMgL => (0.0, 70_000.0),
            Measure::AlkMgL => (0.0, 1000.0),
            Measure::GhMgL => (0.0, 2000.0),
            Measure::ChlorineMgL => (0.0, 20.0),
            Measure::Co2MgL => (0.0, 500.0),
        }
    }
}
