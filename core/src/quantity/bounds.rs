//! The one table of ranges.

/// A scale on which something is measured: what, in which unit, on which basis.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Scale {
    /// Temperature, °C.
    Celsius,
    /// Difference of temperatures, °C.
    CelsiusDifference,
    /// pH.
    Ph,
    /// Volume, L.
    Litres,
    /// Total ammonia as nitrogen, mg/L.
    TotalAmmoniaN,
    /// Un-ionised ammonia as nitrogen, mg/L.
    UnionisedAmmoniaN,
    /// Nitrite as nitrogen, mg/L.
    NitriteN,
    /// Nitrate as nitrogen, mg/L.
    NitrateN,
    /// Alkalinity, mg/L as CaCO3.
    Alkalinity,
    /// General hardness, mg/L as CaCO3.
    Hardness,
    /// Salinity, parts per thousand.
    Salinity,
    /// Dissolved oxygen, mg/L.
    Oxygen,
    /// Dissolved oxygen, % of saturation.
    OxygenPercent,
    /// Carbon dioxide, mg/L.
    CarbonDioxide,
    /// Partial pressure of carbon dioxide, µatm.
    CarbonDioxidePressure,
    /// Total chlorine as Cl2, mg/L.
    Chlorine,
    /// Electrical conductivity, µS/cm.
    Conductivity,
    /// Air pressure where the water is, kPa.
    Pressure,
}

/// The ranges of a scale, ends included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Whose.
    pub scale: Scale,
    /// What it measures.
    pub what: &'static str,
    /// Its unit, with the basis.
    pub unit: &'static str,
    /// Outside of this no value is taken: no instrument shows it of water with fish or of a tap.
    pub possible: (f64, f64),
    /// Outside of this a value is asked about: in a fish house or a shipping bag it is rather a slip of the finger.
    pub plausible: (f64, f64),
}

const fn of(
    scale: Scale,
    what: &'static str,
    unit: &'static str,
    possible: (f64, f64),
    plausible: (f64, f64),
) -> Bounds {
    Bounds { scale, what, unit, possible, plausible }
}

/// Every scale with its ranges. They are judgement, wide on purpose, not limits of what fish bear: those are settings.
#[rustfmt::skip]
pub const BOUNDS: [Bounds; 18] = [
    of(Scale::Celsius,           "temperature",               "°C",            (-2.0, 50.0),       (2.0, 36.0)),
    of(Scale::CelsiusDifference, "difference of temperature", "°C",            (-52.0, 52.0),      (-20.0, 20.0)),
    of(Scale::Ph,                "pH",                        "",              (0.0, 14.0),        (4.0, 9.5)),
    of(Scale::Litres,            "volume",                    "L",             (0.001, 1.0e6),     (0.1, 20_000.0)),
    // A bag after two days of transport may reach tens of mg/L.
    of(Scale::TotalAmmoniaN,     "total ammonia",             "mg/L as N",     (0.0, 1000.0),      (0.0, 50.0)),
    of(Scale::UnionisedAmmoniaN, "un-ionised ammonia",        "mg/L as N",     (0.0, 1000.0),      (0.0, 5.0)),
    of(Scale::NitriteN,          "nitrite",                   "mg/L as N",     (0.0, 1000.0),      (0.0, 20.0)),
    of(Scale::NitrateN,          "nitrate",                   "mg/L as N",     (0.0, 5000.0),      (0.0, 250.0)),
    of(Scale::Alkalinity,        "alkalinity",                "mg/L as CaCO3", (0.0, 5000.0),      (0.0, 600.0)),
    // Sea water has about 6500 mg/L.
    of(Scale::Hardness,          "general hardness",          "mg/L as CaCO3", (0.0, 50_000.0),    (0.0, 7500.0)),
    of(Scale::Salinity,          "salinity",                  "ppt",           (0.0, 300.0),       (0.0, 42.0)),
    // Water under pure oxygen holds about five times what it holds under air.
    of(Scale::Oxygen,            "dissolved oxygen",          "mg/L",          (0.0, 75.0),        (0.0, 50.0)),
    of(Scale::OxygenPercent,     "dissolved oxygen",          "% saturation",  (0.0, 700.0),       (0.0, 500.0)),
    of(Scale::CarbonDioxide,     "carbon dioxide",            "mg/L",          (0.0, 5000.0),      (0.0, 500.0)),
    // A fouled bag may hold a tenth of an atmosphere.
    of(Scale::CarbonDioxidePressure, "pressure of carbon dioxide", "µatm",     (0.0, 1.0e6),       (300.0, 5000.0)),
    of(Scale::Chlorine,          "total chlorine",            "mg/L as Cl2",   (0.0, 1000.0),      (0.0, 5.0)),
    of(Scale::Conductivity,      "conductivity",              "µS/cm",         (0.0, 300_000.0),   (0.0, 70_000.0)),
    of(Scale::Pressure,          "air pressure",              "kPa",           (30.0, 120.0),      (60.0, 108.0)),
];

impl Scale {
    /// The row of the table.
    pub fn bounds(self) -> &'static Bounds {
        // The rows stand in the order of the variants, which a test holds.
        &BOUNDS[self as usize]
    }
}

/// Why a value is not taken.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("{} must be from {} to {}, not {given}", bounds.what, bounds.possible.0, with_unit(bounds))]
pub struct Impossible {
    /// The scale with its ranges.
    pub bounds: &'static Bounds,
    /// What was given.
    pub given: f64,
}

fn with_unit(bounds: &Bounds) -> String {
    format!("{} {}", bounds.possible.1, bounds.unit).trim_end().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_rows_stand_in_the_order_of_the_scales_and_nest() {
        for (place, bounds) in BOUNDS.iter().enumerate() {
            assert_eq!(bounds.scale as usize, place, "{bounds:?}");
            assert!(bounds.possible.0 <= bounds.plausible.0, "{bounds:?}");
            assert!(bounds.plausible.0 < bounds.plausible.1, "{bounds:?}");
            assert!(bounds.plausible.1 <= bounds.possible.1, "{bounds:?}");
        }
        assert_eq!(Scale::Pressure as usize + 1, BOUNDS.len());
    }
}
