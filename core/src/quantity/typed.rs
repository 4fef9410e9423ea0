//! Newtypes: a number with its unit and basis in its type. Each has one constructor, which consults the table of ranges.

use std::ops::Sub;

use serde::{Deserialize, Serialize};

use super::bounds::{Impossible, Scale};

/// mg/L as CaCO3 in one German degree (10 mg/L as CaO). FAO prints 50 mg/L = 1 meq/L = 2.805 °dH; 17.86 is also printed, 0.07 % off.
pub const CACO3_MG_PER_DEGREE: f64 = 17.848;
/// mg/L as CaCO3 in one meq/L: half the molar mass of CaCO3, 100.086 g/mol (IUPAC atomic masses).
pub const CACO3_MG_PER_MEQ: f64 = 50.043;
/// Litres in a US gallon: 231 cubic inches of exactly 2.54 cm.
pub const LITRES_PER_US_GALLON: f64 = 3.785_411_784;
/// Litres in an imperial gallon, by definition.
pub const LITRES_PER_IMPERIAL_GALLON: f64 = 4.546_09;

/// Atomic masses, g/mol (IUPAC, conventional values).
const N: f64 = 14.007;
const H: f64 = 1.008;
const O: f64 = 15.999;

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident) => { quantity!($(#[$doc])* $name, $name); };
    ($(#[$doc:meta])* $name:ident, $scale:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
        #[serde(try_from = "f64", into = "f64")]
        pub struct $name(f64);

        impl $name {
            /// The scale, with its unit and ranges.
            pub const SCALE: Scale = Scale::$scale;

            /// The value in the unit of the type.
            ///
            /// # Errors
            /// Where it is no number or outside of the possible range.
            pub fn new(value: f64) -> Result<Self, Impossible> {
                let bounds = Self::SCALE.bounds();
                let (low, high) = bounds.possible;
                // A comparison with NaN is false, so that NaN is refused too.
                if low <= value && value <= high { Ok(Self(value)) } else { Err(Impossible { bounds, given: value }) }
            }

            /// The plain number, in the unit of the type.
            pub fn get(self) -> f64 {
                self.0
            }

            /// Whether it is in the range that is taken without asking.
            pub fn is_plausible(self) -> bool {
                let (low, high) = Self::SCALE.bounds().plausible;
                low <= self.0 && self.0 <= high
            }
        }

        impl TryFrom<f64> for $name {
            type Error = Impossible;
            fn try_from(value: f64) -> Result<Self, Impossible> {
                Self::new(value)
            }
        }

        impl From<$name> for f64 {
            fn from(value: $name) -> f64 {
                value.0
            }
        }
    };
}

quantity!(
    /// A temperature, °C. Two of them differ by a [`CelsiusDifference`], which is no temperature:
    ///
    /// ```
    /// use holdfast_core::quantity::Celsius;
    /// let (bag, tank) = (Celsius::new(21.0)?, Celsius::new(25.5)?);
    /// assert_eq!((tank - bag).get(), 4.5);
    /// # Ok::<(), holdfast_core::quantity::Impossible>(())
    /// ```
    ///
    /// ```compile_fail,E0308
    /// use holdfast_core::quantity::Celsius;
    /// let (bag, tank) = (Celsius::new(21.0).unwrap(), Celsius::new(25.5).unwrap());
    /// let warm: Celsius = tank - bag;
    /// ```
    Celsius
);
quantity!(
    /// A difference of two temperatures, °C. 1 °C is 1.8 °F, without the offset of 32.
    CelsiusDifference
);
quantity!(
    /// pH, as a meter calibrated in buffers shows it.
    Ph
);
quantity!(
    /// A volume of water, litres; more than nothing.
    Litres
);
quantity!(
    /// Total ammonia (NH3 and NH4+), mg/L as nitrogen. It is not what harms fish; that is [`UnionisedAmmoniaN`], and the compiler keeps them apart:
    ///
    /// ```compile_fail,E0308
    /// use holdfast_core::quantity::{TotalAmmoniaN, UnionisedAmmoniaN};
    /// let toxic: UnionisedAmmoniaN = TotalAmmoniaN::new(3.0).unwrap();
    /// ```
    TotalAmmoniaN
);
quantity!(
    /// Un-ionised ammonia (NH3), mg/L as nitrogen.
    UnionisedAmmoniaN
);
quantity!(
    /// Nitrite, mg/L as nitrogen.
    NitriteN
);
quantity!(
    /// Nitrate, mg/L as nitrogen.
    NitrateN
);
quantity!(
    /// Alkalinity, mg/L as CaCO3.
    AlkalinityCaCO3, Alkalinity
);
quantity!(
    /// General hardness, mg/L as CaCO3.
    HardnessCaCO3, Hardness
);
quantity!(
    /// Salinity, parts per thousand (practical salinity).
    SalinityPpt, Salinity
);
quantity!(
    /// Dissolved oxygen, mg/L.
    OxygenMgL, Oxygen
);
quantity!(
    /// Dissolved oxygen, % of saturation under air.
    OxygenPercent
);
quantity!(
    /// Carbon dioxide, mg/L.
    CarbonDioxideMgL, CarbonDioxide
);
quantity!(
    /// Partial pressure of carbon dioxide, µatm: in the air, or of the air that would be at rest with a water.
    CarbonDioxideMicroatm, CarbonDioxidePressure
);
quantity!(
    /// Total chlorine, mg/L as Cl2.
    ChlorineMgL, Chlorine
);
quantity!(
    /// Electrical conductivity, µS/cm.
    ConductivityUsCm, Conductivity
);
quantity!(
    /// Air pressure where the water is, kPa, not reduced to sea level.
    Kilopascals, Pressure
);

impl Celsius {
    /// From °F: (F − 32) / 1.8.
    ///
    /// # Errors
    /// As [`Celsius::new`].
    pub fn from_fahrenheit(fahrenheit: f64) -> Result<Self, Impossible> {
        Self::new((fahrenheit - 32.0) / 1.8)
    }

    /// In °F: 1.8 C + 32.
    pub fn to_fahrenheit(self) -> f64 {
        1.8 * self.0 + 32.0
    }

    /// Warmer by this difference, or cooler where it is negative.
    ///
    /// # Errors
    /// Where no water is that warm or cold.
    pub fn warmed_by(self, difference: CelsiusDifference) -> Result<Self, Impossible> {
        Self::new(self.0 + difference.0)
    }
}

impl Sub for Celsius {
    type Output = CelsiusDifference;
    fn sub(self, other: Self) -> CelsiusDifference {
        // Two possible temperatures differ by a possible difference: its range is as wide, which a test holds.
        CelsiusDifference(self.0 - other.0)
    }
}

impl CelsiusDifference {
    /// From a difference in °F: ΔF / 1.8, without offset.
    ///
    /// # Errors
    /// As [`CelsiusDifference::new`].
    pub fn from_fahrenheit_difference(difference: f64) -> Result<Self, Impossible> {
        Self::new(difference / 1.8)
    }

    /// As a difference in °F.
    pub fn to_fahrenheit_difference(self) -> f64 {
        1.8 * self.0
    }

    /// How far apart, whichever is warmer.
    pub fn size(self) -> Self {
        CelsiusDifference(self.0.abs())
    }
}

impl Litres {
    /// From US gallons.
    ///
    /// # Errors
    /// As [`Litres::new`].
    pub fn from_us_gallons(gallons: f64) -> Result<Self, Impossible> {
        Self::new(gallons * LITRES_PER_US_GALLON)
    }

    /// From imperial gallons.
    ///
    /// # Errors
    /// As [`Litres::new`].
    pub fn from_imperial_gallons(gallons: f64) -> Result<Self, Impossible> {
        Self::new(gallons * LITRES_PER_IMPERIAL_GALLON)
    }
}

impl AlkalinityCaCO3 {
    /// From German degrees (dKH).
    ///
    /// # Errors
    /// As [`AlkalinityCaCO3::new`].
    pub fn from_dkh(degrees: f64) -> Result<Self, Impossible> {
        Self::new(degrees * CACO3_MG_PER_DEGREE)
    }

    /// From meq/L.
    ///
    /// # Errors
    /// As [`AlkalinityCaCO3::new`].
    pub fn from_meq_per_litre(meq: f64) -> Result<Self, Impossible> {
        Self::new(meq * CACO3_MG_PER_MEQ)
    }

    /// In German degrees (dKH).
    pub fn to_dkh(self) -> f64 {
        self.0 / CACO3_MG_PER_DEGREE
    }

    /// In meq/L.
    pub fn to_meq_per_litre(self) -> f64 {
        self.0 / CACO3_MG_PER_MEQ
    }
}

impl HardnessCaCO3 {
    /// From German degrees (dGH).
    ///
    /// # Errors
    /// As [`HardnessCaCO3::new`].
    pub fn from_dgh(degrees: f64) -> Result<Self, Impossible> {
        Self::new(degrees * CACO3_MG_PER_DEGREE)
    }

    /// In German degrees (dGH).
    pub fn to_dgh(self) -> f64 {
        self.0 / CACO3_MG_PER_DEGREE
    }
}

impl TotalAmmoniaN {
    /// From a kit that reads total ammonia as NH3 (17.031 g/mol; 1.216 mg hold 1 mg of N).
    ///
    /// # Errors
    /// As [`TotalAmmoniaN::new`].
    pub fn from_mg_l_as_nh3(mg_l: f64) -> Result<Self, Impossible> {
        Self::new(mg_l * N / (N + 3.0 * H))
    }

    /// From a kit that reads total ammonia as NH4 (18.039 g/mol; 1.288 mg hold 1 mg of N).
    ///
    /// # Errors
    /// As [`TotalAmmoniaN::new`].
    pub fn from_mg_l_as_nh4(mg_l: f64) -> Result<Self, Impossible> {
        Self::new(mg_l * N / (N + 4.0 * H))
    }
}

impl UnionisedAmmoniaN {
    /// From mg/L as NH3.
    ///
    /// # Errors
    /// As [`UnionisedAmmoniaN::new`].
    pub fn from_mg_l_as_nh3(mg_l: f64) -> Result<Self, Impossible> {
        Self::new(mg_l * N / (N + 3.0 * H))
    }

    /// In mg/L as NH3, the basis of many published limits.
    pub fn to_mg_l_as_nh3(self) -> f64 {
        self.0 * (N + 3.0 * H) / N
    }
}

impl NitriteN {
    /// From mg/L as NO2 (46.005 g/mol; 3.284 mg hold 1 mg of N).
    ///
    /// # Errors
    /// As [`NitriteN::new`].
    pub fn from_mg_l_as_no2(mg_l: f64) -> Result<Self, Impossible> {
        Self::new(mg_l * N / (N + 2.0 * O))
    }
}

impl NitrateN {
    /// From mg/L as NO3 (62.004 g/mol; 4.427 mg hold 1 mg of N).
    ///
    /// # Errors
    /// As [`NitrateN::new`].
    pub fn from_mg_l_as_no3(mg_l: f64) -> Result<Self, Impossible> {
        Self::new(mg_l * N / (N + 3.0 * O))
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::quantity::BOUNDS;

    #[track_caller]
    fn close(value: f64, expected: f64, within: f64) {
        assert!((value - expected).abs() <= within, "{value} is not {expected}");
    }

    #[test]
    fn a_value_out_of_range_is_refused_with_the_range_and_nan_too() {
        assert_eq!(Ph::new(14.1).unwrap_err().to_string(), "pH must be from 0 to 14, not 14.1");
        assert_eq!(Celsius::new(60.0).unwrap_err().to_string(), "temperature must be from -2 to 50 °C, not 60");
        assert!(Litres::new(0.0).is_err());
        assert!(TotalAmmoniaN::new(-0.1).is_err());
        for no_number in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert!(SalinityPpt::new(no_number).is_err());
        }
        assert!(serde_json::from_str::<Ph>("15").is_err());
    }

    #[test]
    fn a_possible_value_may_still_be_implausible() {
        assert!(Celsius::new(25.0).unwrap().is_plausible());
        assert!(!Celsius::new(45.0).unwrap().is_plausible());
    }

    #[test]
    fn temperatures_convert_with_the_offset_and_differences_without() {
        close(Celsius::from_fahrenheit(75.0).unwrap().get(), 23.888_9, 1e-4);
        close(Celsius::new(25.0).unwrap().to_fahrenheit(), 77.0, 1e-12);
        close(CelsiusDifference::from_fahrenheit_difference(9.0).unwrap().get(), 5.0, 1e-12);
        let warmed = Celsius::new(49.0).unwrap().warmed_by(CelsiusDifference::new(2.0).unwrap());
        assert!(warmed.is_err());
    }

    // FAO: 50 mg/L as CaCO3 = 1 meq/L = 2.805 °dH.
    #[test]
    fn degrees_of_hardness_agree_with_the_published_relation() {
        close(AlkalinityCaCO3::from_dkh(2.805).unwrap().get(), 50.0, 0.1);
        close(AlkalinityCaCO3::from_meq_per_litre(1.0).unwrap().to_dkh(), 2.805, 0.002);
        close(AlkalinityCaCO3::from_dkh(4.0).unwrap().get(), 71.4, 0.05);
        close(HardnessCaCO3::from_dgh(10.0).unwrap().get(), 178.48, 1e-9);
    }

    // Units of Measurement Regulations 1995 (GB) for the imperial gallon; NIST Handbook 44 appendix C for the US gallon.
    #[test]
    fn gallons_are_of_two_sizes() {
        close(Litres::from_us_gallons(10.0).unwrap().get(), 37.854, 1e-3);
        close(Litres::from_imperial_gallons(10.0).unwrap().get(), 45.461, 1e-3);
    }

    // The factors as the trade prints them: NH3 1.216, NO2 3.28, NO3 4.43.
    #[test]
    fn a_basis_converts_by_the_masses() {
        close(UnionisedAmmoniaN::new(1.0).unwrap().to_mg_l_as_nh3(), 1.216, 5e-4);
        close(TotalAmmoniaN::from_mg_l_as_nh3(1.216).unwrap().get(), 1.0, 5e-4);
        close(TotalAmmoniaN::from_mg_l_as_nh4(1.288).unwrap().get(), 1.0, 5e-4);
        close(NitriteN::from_mg_l_as_no2(3.28).unwrap().get(), 1.0, 5e-3);
        close(NitrateN::from_mg_l_as_no3(4.43).unwrap().get(), 1.0, 5e-3);
    }

    proptest! {
        #[test]
        fn conversions_go_there_and_back(celsius in -2.0f64..50.0, dkh in 0.0f64..200.0, nh3 in 0.0f64..900.0) {
            let there = Celsius::new(celsius).unwrap().to_fahrenheit();
            prop_assert!((Celsius::from_fahrenheit(there.clamp(28.4, 122.0)).unwrap().get() - celsius).abs() < 1e-9);
            prop_assert!((AlkalinityCaCO3::from_dkh(dkh).unwrap().to_dkh() - dkh).abs() < 1e-9);
            prop_assert!((UnionisedAmmoniaN::from_mg_l_as_nh3(nh3).unwrap().to_mg_l_as_nh3() - nh3).abs() < 1e-9);
        }

        #[test]
        fn two_temperatures_differ_by_a_possible_difference_that_leads_back(a in -2.0f64..=50.0, b in -2.0f64..=50.0) {
            let (a, b) = (Celsius::new(a).unwrap(), Celsius::new(b).unwrap());
            let difference = a - b;
            prop_assert!(CelsiusDifference::new(difference.get()).is_ok());
            prop_assert!((b.get() + difference.get() - a.get()).abs() < 1e-9);
            prop_assert_eq!(difference.size(), (b - a).size());
        }

        #[test]
        fn a_value_taken_is_in_the_possible_range(value in proptest::num::f64::ANY) {
            let taken = [Ph::new(value).is_ok(), Litres::new(value).is_ok(), OxygenMgL::new(value).is_ok()];
            for (scale, taken) in [Scale::Ph, Scale::Litres, Scale::Oxygen].into_iter().zip(taken) {
                let (low, high) = BOUNDS[scale as usize].possible;
                prop_assert_eq!(taken, value >= low && value <= high);
            }
        }
    }
}
