//! Which part of the total ammonia is NH3, the part that harms fish.
//!
//! Fresh water: Emerson, Russo, Lund & Thurston 1975, J. Fish. Res. Board Can. 32:2379-2383,
//! pKa = 0.09018 + 2729.92 / T; 0-50 °C, pH 6-10. One documentation prints 2727.92, which is 1.5 % wrong.
//! Salt water: Clegg & Whitfield 1995, Geochim. Cosmochim. Acta 59:2403-2421, on the free hydrogen-ion scale, which lies
//! within a few hundredths of what a meter calibrated in NBS buffers shows; -2 to 40 °C, salinity to 40. In water with pond
//! salt instead of sea salt it is approximate, about 3 %. The salinity term of Khoo et al. 1977 is not used anywhere: Bell,
//! Johnson, Jickells & Liss 2007, Environ. Chem. 4:183-186, showed it wrong.

use super::KELVIN;
use super::error::{Unsound, within};
use crate::quantity::{Celsius, Ph, SalinityPpt, TotalAmmoniaN, UnionisedAmmoniaN};

const EMERSON: &str = "ammonia in fresh water (Emerson 1975)";
const CLEGG: &str = "ammonia in salt water (Clegg & Whitfield 1995)";
const TEMPERATURE: (&str, &str) = ("temperature", "°C");

/// pKa of ammonium. Salinity of nothing, or none given, is fresh water.
///
/// # Errors
/// Out of the range of the formula.
///
/// ```
/// use holdfast_core::{quantity::Celsius, water::acid_constant};
/// let pka = acid_constant(Celsius::new(25.0)?, None)?;
/// assert!((pka - 9.2464).abs() < 1e-4);
/// # Ok::<(), holdfast_core::water::Unsound>(())
/// ```
pub fn acid_constant(temperature: Celsius, salinity: Option<SalinityPpt>) -> Result<f64, Unsound> {
    let salinity = salinity.map_or(0.0, SalinityPpt::get);
    let kelvin = temperature.get() + KELVIN;
    if salinity <= 0.0 {
        within(EMERSON, TEMPERATURE, (0.0, 50.0), temperature.get())?;
        return Ok(0.09018 + 2729.92 / kelvin);
    }
    within(CLEGG, TEMPERATURE, (-2.0, 40.0), temperature.get())?;
    within(CLEGG, ("salinity", "ppt"), (0.0, 40.0), salinity)?;
    let root = salinity.sqrt();
    Ok(9.244605 - 2729.33 * (1.0 / 298.15 - 1.0 / kelvin)
        + (0.0500616 - 9.412696 / kelvin - 2.029559e-7 * kelvin * kelvin) * root
        + (-0.0142372 + 1.46041e-5 * kelvin + 3.730005 / kelvin) * salinity
        + (7.1047e-5 - 0.0229021 / kelvin) * salinity * salinity
        + (-5.521278e-7 + 1.95413e-4 / kelvin) * salinity.powi(3))
}

/// The share of the total ammonia that is NH3, 0 to 1.
///
/// # Errors
/// Out of the range of the formula; pH 6 to 10 in fresh water.
///
/// ```
/// use holdfast_core::{quantity::{Celsius, Ph}, water::unionised_share};
/// let share = unionised_share(Celsius::new(25.0)?, Ph::new(8.0)?, None)?;
/// assert!((share - 0.0537).abs() < 5e-4, "5.4 % at 25 °C and pH 8");
/// # Ok::<(), holdfast_core::water::Unsound>(())
/// ```
pub fn unionised_share(temperature: Celsius, ph: Ph, salinity: Option<SalinityPpt>) -> Result<f64, Unsound> {
    let fresh = salinity.is_none_or(|salinity| salinity.get() <= 0.0);
    if fresh {
        within(EMERSON, ("pH", ""), (6.0, 10.0), ph.get())?;
    }
    Ok(share(acid_constant(temperature, salinity)?, ph.get()))
}

/// NH3 in water with this total ammonia, mg/L as nitrogen.
///
/// # Errors
/// As [`unionised_share`].
///
/// ```
/// use holdfast_core::{quantity::{Celsius, Ph, TotalAmmoniaN}, water::unionised_ammonia};
/// let nh3 = unionised_ammonia(TotalAmmoniaN::new(3.0)?, Celsius::new(25.0)?, Ph::new(8.0)?, None)?;
/// assert!((nh3.get() - 0.161).abs() < 1e-3, "3 mg/L total, as N");
/// # Ok::<(), holdfast_core::water::Unsound>(())
/// ```
pub fn unionised_ammonia(
    total: TotalAmmoniaN,
    temperature: Celsius,
    ph: Ph,
    salinity: Option<SalinityPpt>,
) -> Result<UnionisedAmmoniaN, Unsound> {
    Ok(UnionisedAmmoniaN::new(total.get() * unionised_share(temperature, ph, salinity)?)?)
}

/// The equilibrium itself; it holds at any pH.
fn share(pka: f64, ph: f64) -> f64 {
    1.0 / (1.0 + 10f64.powf(pka - ph))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn fresh(temperature: f64, ph: f64) -> f64 {
        unionised_share(Celsius::new(temperature).unwrap(), Ph::new(ph).unwrap(), None).unwrap()
    }

    fn salt(temperature: f64, ph: f64, salinity: f64) -> f64 {
        let salinity = SalinityPpt::new(salinity).ok();
        unionised_share(Celsius::new(temperature).unwrap(), Ph::new(ph).unwrap(), salinity).unwrap()
    }

    #[test]
    fn the_table_of_emerson_comes_out() {
        // Emerson et al. 1975 as reprinted in Clinical Guide to Fish Medicine (Wiley), Table A2.3.
        for (temperature, ph, share) in [(10.0, 8.0, 0.0183), (15.0, 8.5, 0.0797), (18.0, 9.0, 0.255)] {
            assert!((fresh(temperature, ph) - share).abs() < 0.0006, "{temperature} °C, pH {ph}");
        }
    }

    #[test]
    fn sea_water_holds_less_nh3_than_fresh_water() {
        // Clegg & Whitfield 1995, free scale, by the documentation of an R package that carries their coefficients.
        assert!((salt(25.0, 8.0, 35.0) - 0.0440).abs() < 1e-4);
        assert!((salt(25.0, 7.8, 35.0) - 0.0282).abs() < 1e-4);
        assert!(salt(25.0, 8.0, 35.0) < fresh(25.0, 8.0));
    }

    #[test]
    fn out_of_its_range_the_formula_refuses_and_says_which_range() {
        let refused = unionised_share(Celsius::new(25.0).unwrap(), Ph::new(5.5).unwrap(), None).unwrap_err();
        assert_eq!(refused.to_string(), "pH must be from 6 to 10 for ammonia in fresh water (Emerson 1975), not 5.5");
        let warm = unionised_share(Celsius::new(45.0).unwrap(), Ph::new(8.0).unwrap(), SalinityPpt::new(35.0).ok());
        assert!(warm.unwrap_err().to_string().starts_with("temperature must be from -2 to 40 °C"));
    }

    proptest! {
        #[test]
        fn warmer_and_less_acid_water_holds_more_nh3(t in 0.0..39.0, ph in 6.0..9.9, s in prop_oneof![Just(0.0), 0.5..40.0]) {
            let share = |t: f64, ph: f64| salt(t, ph, s);
            prop_assert!(share(t + 1.0, ph) > share(t, ph));
            prop_assert!(share(t, ph + 0.1) > share(t, ph));
            prop_assert!((0.0..1.0).contains(&share(t, ph)));
        }
    }
}
