//! Salinity, density and specific gravity.

use super::error::{Unsound, within};
use crate::quantity::{Celsius, ConductivityUsCm, SalinityPpt};

const PSS: &str = "salinity from conductivity (PSS-78)";
const EOS: &str = "density of sea water (EOS-80)";
const A: [f64; 6] = [0.0080, -0.1692, 25.3851, 14.0941, -7.0261, 2.7081];
const B: [f64; 6] = [0.0005, -0.0056, -0.0066, -0.0375, 0.0636, -0.0144];
/// Conductivity of standard sea water at 15 °C, mS/cm.
const STANDARD: f64 = 42.914;

/// Salinity from the conductivity at the water's temperature, not compensated. A meter that shows conductivity at 25 °C is
/// taken with 25 °C. From 2 to 42 by the Practical Salinity Scale 1978 (UNESCO Technical Paper 44); below 2 by the fit of
/// USGS Technical Memorandum 2011.03 for conductivity at 25 °C, to which it is brought by the scale's own temperature term.
///
/// # Errors
/// Outside of -2 to 35 °C, or above salinity 42.
///
/// ```
/// use holdfast_core::{quantity::{Celsius, ConductivityUsCm}, water::salinity_from_conductivity};
/// let sea = salinity_from_conductivity(ConductivityUsCm::new(53_000.0)?, Celsius::new(25.0)?)?;
/// assert!((sea.get() - 34.95).abs() < 0.05);
/// # Ok::<(), holdfast_core::water::Unsound>(())
/// ```
pub fn salinity_from_conductivity(
    conductivity: ConductivityUsCm,
    temperature: Celsius,
) -> Result<SalinityPpt, Unsound> {
    let t = within(PSS, ("temperature", "°C"), (-2.0, 35.0), temperature.get())?;
    let of_temperature = ratio_at(t);
    let ratio = conductivity.get() / 1000.0 / STANDARD / of_temperature;
    let root = ratio.max(0.0).sqrt();
    let sum = |factors: &[f64; 6]| factors.iter().rev().fold(0.0, |sum, factor| sum * root + factor);
    let salinity = sum(&A) + (t - 15.0) / (1.0 + 0.0162 * (t - 15.0)) * sum(&B);
    if salinity >= 2.0 {
        return Ok(SalinityPpt::new(within(PSS, ("salinity", "ppt"), (2.0, 42.0), salinity)?)?);
    }
    let specific = conductivity.get() * ratio_at(25.0) / of_temperature;
    Ok(SalinityPpt::new(5.572e-4 * specific + 2.02e-9 * specific * specific)?)
}

/// Conductivity of sea water at this temperature over that at 15 °C.
fn ratio_at(t: f64) -> f64 {
    0.676_609_7 + 2.00564e-2 * t + 1.104259e-4 * t.powi(2) - 6.9698e-7 * t.powi(3) + 1.0031e-9 * t.powi(4)
}

/// Density of sea water at one atmosphere, kg/m³: the International Equation of State 1980 (UNESCO 1983).
///
/// # Errors
/// Outside of -2 to 40 °C or salinity 0 to 42.
pub fn density(temperature: Celsius, salinity: SalinityPpt) -> Result<f64, Unsound> {
    let t = within(EOS, ("temperature", "°C"), (-2.0, 40.0), temperature.get())?;
    let s = within(EOS, ("salinity", "ppt"), (0.0, 42.0), salinity.get())?;
    let fresh = 999.842594 + 6.793952e-2 * t - 9.095290e-3 * t.powi(2) + 1.001685e-4 * t.powi(3)
        - 1.120083e-6 * t.powi(4)
        + 6.536332e-9 * t.powi(5);
    let linear = 0.824493 - 4.0899e-3 * t + 7.6438e-5 * t.powi(2) - 8.2467e-7 * t.powi(3) + 5.3875e-9 * t.powi(4);
    let half = -5.72466e-3 + 1.0227e-4 * t - 1.6546e-6 * t.powi(2);
    Ok(fresh + s * linear + s.powf(1.5) * half + 4.8314e-4 * s * s)
}

/// Specific gravity of sea water against fresh water, both at this temperature: hydrometers for 25/25 °C take 25. The
/// scale on the glass decides; between scales it differs by up to 3 ppt.
///
/// # Errors
/// As [`density`].
pub fn specific_gravity(temperature: Celsius, salinity: SalinityPpt) -> Result<f64, Unsound> {
    Ok(density(temperature, salinity)? / density(temperature, SalinityPpt::new(0.0)?)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn gravity(salinity: f64) -> f64 {
        specific_gravity(Celsius::new(25.0).unwrap(), SalinityPpt::new(salinity).unwrap()).unwrap()
    }

    #[test]
    fn the_published_densities_come_out() {
        // EOS-80 check value, and 25/25 by the same equation.
        let sea = density(Celsius::new(25.0).unwrap(), SalinityPpt::new(35.0).unwrap()).unwrap();
        assert!((sea - 1023.3431).abs() < 1e-3, "{sea}");
        for (salinity, expected) in [(10.0, 1.00753), (20.0, 1.01505), (30.0, 1.02259), (35.0, 1.02637)] {
            assert!((gravity(salinity) - expected).abs() < 1e-5, "{salinity}");
        }
    }

    #[test]
    fn standard_sea_water_has_salinity_35() {
        // The definition of the scale: 42.914 mS/cm at 15 °C.
        let sea = ConductivityUsCm::new(42_914.0).unwrap();
        let salinity = salinity_from_conductivity(sea, Celsius::new(15.0).unwrap()).unwrap();
        assert!((salinity.get() - 35.0).abs() < 1e-3, "{salinity:?}");
    }

    #[test]
    fn nearly_fresh_water_follows_the_fit_for_conductivity_at_25_degrees() {
        // USGS memorandum: 1000 µS/cm is 0.559 ppt; the two formulas meet within 0.1 where one takes over.
        let at = |conductivity: f64| {
            let conductivity = ConductivityUsCm::new(conductivity).unwrap();
            salinity_from_conductivity(conductivity, Celsius::new(25.0).unwrap()).unwrap().get()
        };
        assert!((at(1000.0) - 0.5592).abs() < 1e-3);
        let step = (3000..4500).map(|c| at(f64::from(c) + 1.0) - at(f64::from(c))).fold(0.0, f64::max);
        assert!(step < 0.1, "{step}");
    }
}
