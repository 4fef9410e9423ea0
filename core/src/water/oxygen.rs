//! How much oxygen water takes up from air: Benson & Krause 1980, 1984, as adopted in APHA Standard Methods 4500-O and in
//! USGS Office of Water Quality Technical Memorandum 2011.03; 0-40 °C, salinity 0-40, 0.5-1.1 atm.

use super::KELVIN;
use super::error::{Unsound, within};
use crate::quantity::{Celsius, Kilopascals, OxygenMgL, OxygenPercent, SalinityPpt};

const FORMULA: &str = "oxygen saturation (USGS 2011.03)";
/// One standard atmosphere, kPa, by definition.
pub(super) const ATMOSPHERE: f64 = 101.325;
/// Oxygen in dry air, mole fraction.
const OXYGEN_IN_AIR: f64 = 0.20946;

/// The oxygen that water holds at equilibrium with moist air, mg/L. Without a pressure one atmosphere is taken; the pressure
/// is that where the water is, not reduced to sea level.
///
/// # Errors
/// Out of the range of the formula.
///
/// ```
/// use holdfast_core::{quantity::Celsius, water::oxygen_saturation};
/// let full = oxygen_saturation(Celsius::new(24.0)?, None, None)?;
/// assert!((full.get() - 8.418).abs() < 0.001, "USGS table");
/// # Ok::<(), holdfast_core::water::Unsound>(())
/// ```
pub fn oxygen_saturation(
    temperature: Celsius,
    salinity: Option<SalinityPpt>,
    pressure: Option<Kilopascals>,
) -> Result<OxygenMgL, Unsound> {
    let pressure = within(
        FORMULA,
        ("pressure", "kPa"),
        (0.5 * ATMOSPHERE, 1.1 * ATMOSPHERE),
        pressure.map_or(ATMOSPHERE, Kilopascals::get),
    )? / ATMOSPHERE;
    let celsius = temperature.get();
    let vapour = vapour_pressure(celsius);
    let theta = 0.000975 - 1.426e-5 * celsius + 6.436e-8 * celsius * celsius;
    let of_pressure = (pressure - vapour) * (1.0 - theta * pressure) / ((1.0 - vapour) * (1.0 - theta));
    Ok(OxygenMgL::new(at_one_atmosphere(temperature, salinity)? * of_pressure)?)
}

/// Oxygen as a share of what air would give the water, %. Over 100 is usual in a bag packed with oxygen.
///
/// # Errors
/// As [`oxygen_saturation`].
pub fn oxygen_percent(
    oxygen: OxygenMgL,
    temperature: Celsius,
    salinity: Option<SalinityPpt>,
    pressure: Option<Kilopascals>,
) -> Result<OxygenPercent, Unsound> {
    let full = oxygen_saturation(temperature, salinity, pressure)?;
    Ok(OxygenPercent::new(100.0 * oxygen.get() / full.get())?)
}

/// Oxygen in water under a gas of which oxygen has this partial pressure, atm, mg/L: the same solubility, scaled from the
/// partial pressure in moist air. Pure oxygen at one atmosphere and 25 °C gives about 39 mg/L.
///
/// # Errors
/// As [`oxygen_saturation`], and outside of 0 to 1.1 atm.
pub fn oxygen_under(partial: f64, temperature: Celsius, salinity: Option<SalinityPpt>) -> Result<OxygenMgL, Unsound> {
    let partial = within(FORMULA, ("pressure of oxygen", "atm"), (0.0, 1.1), partial)?;
    let in_air = OXYGEN_IN_AIR * (1.0 - vapour_pressure(temperature.get()));
    Ok(OxygenMgL::new(at_one_atmosphere(temperature, salinity)? * partial / in_air)?)
}

/// Air pressure at a height above the sea, kPa, where no barometer is at hand (international standard atmosphere; from
/// memory): 101.325 (1 - 2.25577e-5 h)^5.25588.
///
/// # Errors
/// Outside of -500 to 5000 m.
pub fn pressure_at_altitude(metres: f64) -> Result<Kilopascals, Unsound> {
    let metres = within("the standard atmosphere", ("altitude", "m"), (-500.0, 5000.0), metres)?;
    Ok(Kilopascals::new(ATMOSPHERE * (1.0 - 2.25577e-5 * metres).powf(5.25588))?)
}

fn at_one_atmosphere(temperature: Celsius, salinity: Option<SalinityPpt>) -> Result<f64, Unsound> {
    within(FORMULA, ("temperature", "°C"), (0.0, 40.0), temperature.get())?;
    let salinity = within(FORMULA, ("salinity", "ppt"), (0.0, 40.0), salinity.map_or(0.0, SalinityPpt::get))?;
    let t = temperature.get() + KELVIN;
    let fresh =
        -139.34411 + 1.575701e5 / t - 6.642308e7 / t.powi(2) + 1.243800e10 / t.powi(3) - 8.621949e11 / t.powi(4);
    let of_salt = salinity * (0.017674 - 10.754 / t + 2140.7 / t.powi(2));
    Ok((fresh - of_salt).exp())
}

/// Vapour pressure of water, atm (the same memorandum).
pub(super) fn vapour_pressure(celsius: f64) -> f64 {
    let t = celsius + KELVIN;
    (11.8571 - 3840.70 / t - 216_961.0 / (t * t)).exp()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn full(temperature: f64, salinity: f64, pressure: f64) -> f64 {
        let salinity = SalinityPpt::new(salinity).ok();
        let pressure = Kilopascals::new(pressure).ok();
        oxygen_saturation(Celsius::new(temperature).unwrap(), salinity, pressure).unwrap().get()
    }

    #[test]
    fn the_published_table_comes_out() {
        // USGS table for fresh water at 101.325 kPa.
        let table = [(0.0, 14.621), (8.0, 11.843), (16.0, 9.870), (24.0, 8.418), (32.0, 7.305), (40.0, 6.413)];
        for (temperature, oxygen) in table {
            assert!((full(temperature, 0.0, ATMOSPHERE) - oxygen).abs() < 0.0011, "{temperature} °C");
        }
    }

    #[test]
    fn pure_oxygen_gives_five_times_what_air_gives() {
        let oxygen = oxygen_under(1.0, Celsius::new(25.0).unwrap(), None).unwrap();
        assert!((oxygen.get() - 40.0).abs() < 1.5, "{oxygen:?}");
    }

    #[test]
    fn out_of_its_range_it_refuses() {
        let hot = oxygen_saturation(Celsius::new(45.0).unwrap(), None, None).unwrap_err();
        assert_eq!(hot.to_string(), "temperature must be from 0 to 40 °C for oxygen saturation (USGS 2011.03), not 45");
    }

    proptest! {
        #[test]
        fn warm_salt_and_thin_air_hold_less(t in 0.0..39.0, s in 0.0..39.0, p in 60.0..110.0) {
            prop_assert!(full(t + 1.0, s, p) < full(t, s, p));
            prop_assert!(full(t, s + 1.0, p) < full(t, s, p));
            prop_assert!(full(t, s, p - 1.0) < full(t, s, p));
        }
    }
}
