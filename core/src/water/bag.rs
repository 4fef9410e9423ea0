//! The water of a sealed bag: what fish make of it on the way.
//!
//! Mass balances only. Oxygen used = biomass × rate × hours; carbon dioxide = 1.375 × RQ × oxygen (44.01/32.00);
//! ammonia nitrogen = 0.4377 × AQ × oxygen (14.007/32.00). Carbon dioxide shares itself between the water and the gas above
//! it; without that gas it would come out more than three times too high. Metabolism doubles for 10 °C (Q10 = 2: Swann,
//! Illinois-Indiana Sea Grant, reissued as Univ. Missouri Extension MX392).

use super::KELVIN;
use super::carbonate::{FreshWater, GAS};
use super::error::{Unsound, within};
use super::oxygen::oxygen_under;
use crate::quantity::{CarbonDioxideMgL, Celsius, OxygenMgL, TotalAmmoniaN};

const FORMULA: &str = "the sealed bag";
const CO2_PER_OXYGEN: f64 = 44.01 / 32.00;
const NITROGEN_PER_OXYGEN: f64 = 14.007 / 32.00;
/// g of oxygen in a mole.
const OXYGEN_PER_MOLE: f64 = 32.00;

/// What fish use and give off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Metabolism {
    /// Oxygen at 25 °C, mg for each kg of fish and hour.
    pub oxygen: f64,
    /// Carbon dioxide made for oxygen used, mol/mol.
    pub respiratory_quotient: f64,
    /// Ammonia nitrogen given off for oxygen used, mol/mol.
    pub ammonia_quotient: f64,
}

/// Small fasted tropical fish. A choice, no published constant: perch of 18 to 56 g unfed for three days use 135 to 150 mg
/// at 20 to 23 °C (Zakes, Demska-Zakes & Kata), and small fish more (mass^-0.2, from memory); RQ 0.9 lies between 0.8 and
/// 1.0, AQ 0.08 between 0.05 and 0.2 of tilapia at 30 °C (Kutty 1972). It gives 7 mg of nitrogen for each kg and hour;
/// the literature supports a factor of two either way.
pub const FASTED: Metabolism = Metabolism { oxygen: 200.0, respiratory_quotient: 0.9, ammonia_quotient: 0.08 };

/// A sealed bag: what is in it and how long it was under way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SealedBag {
    /// Fish, g for each litre of water.
    pub load: f64,
    /// Gas above the water, L for each litre of water; about 2 where a third is water.
    pub headspace: f64,
    /// Share of oxygen in that gas when it was sealed, 0 to 1.
    pub oxygen_share: f64,
    /// Hours from sealing to opening.
    pub hours: f64,
    /// Temperature on the way.
    pub temperature: Celsius,
    /// The water that the fish were packed in.
    pub packed_in: FreshWater,
}

/// The water of a bag at the moment of opening.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BagWater {
    /// The water, before gas leaves it.
    pub water: FreshWater,
    /// Oxygen in the water.
    pub oxygen: OxygenMgL,
    /// Whether the fish had used up what oxygen there was.
    pub spent: bool,
}

impl SealedBag {
    /// Ammonia that the fish give off, mg of nitrogen for each litre.
    pub fn ammonia_made(&self, metabolism: Metabolism) -> f64 {
        NITROGEN_PER_OXYGEN * metabolism.ammonia_quotient * self.oxygen_used(metabolism)
    }

    /// Carbon dioxide that the fish give off, mg for each litre of water.
    pub fn carbon_dioxide_made(&self, metabolism: Metabolism) -> f64 {
        CO2_PER_OXYGEN * metabolism.respiratory_quotient * self.oxygen_used(metabolism)
    }

    /// Oxygen that the fish use, mg for each litre of water.
    pub fn oxygen_used(&self, metabolism: Metabolism) -> f64 {
        let of_temperature = 2f64.powf((self.temperature.get() - 25.0) / 10.0);
        self.load / 1000.0 * metabolism.oxygen * of_temperature * self.hours
    }

    /// The water when the bag is opened.
    ///
    /// # Errors
    /// Outside of 0 to 500 g/L, 0 to 50 L of gas for each litre, 0 to 120 hours; out of the range of the chemistry.
    ///
    /// ```
    /// use holdfast_core::quantity::{AlkalinityCaCO3, Celsius, Ph, TotalAmmoniaN};
    /// use holdfast_core::water::{FASTED, FreshWater, SealedBag};
    /// let temperature = Celsius::new(25.0)?;
    /// let alkalinity = AlkalinityCaCO3::new(50.0)?;
    /// let packed_in = FreshWater::new(temperature, Ph::new(7.5)?, alkalinity, TotalAmmoniaN::new(0.0)?)?;
    /// let bag = SealedBag { load: 100.0, headspace: 2.0, oxygen_share: 1.0, hours: 30.0, temperature, packed_in };
    /// let opened = bag.opened(FASTED)?;
    /// // The plausibility case: 600 mg/L of oxygen used, 21 mg/L of ammonia as N, CO2 near 200 mg/L, pH about 6.
    /// assert!((bag.oxygen_used(FASTED) - 600.0).abs() < 1.0);
    /// assert!((opened.water.ammonia()?.get() - 21.0).abs() < 0.1);
    /// assert!((opened.water.ph()?.get() - 6.1).abs() < 0.15);
    /// # Ok::<(), holdfast_core::water::Unsound>(())
    /// ```
    pub fn opened(&self, metabolism: Metabolism) -> Result<BagWater, Unsound> {
        self.opened_with(
            self.ammonia_made(metabolism),
            self.carbon_dioxide_made(metabolism),
            self.oxygen_used(metabolism),
        )
    }

    /// The water when the bag is opened, where this much ammonia (mg/L as N), carbon dioxide and oxygen (mg for each
    /// litre of water) were made and used.
    pub(super) fn opened_with(&self, ammonia: f64, carbon_dioxide: f64, oxygen: f64) -> Result<BagWater, Unsound> {
        within(FORMULA, ("load", "g/L"), (0.0, 500.0), self.load)?;
        within(FORMULA, ("time", "h"), (0.0, 120.0), self.hours)?;
        within(FORMULA, ("share of oxygen", ""), (0.0, 1.0), self.oxygen_share)?;
        let ammonia = TotalAmmoniaN::new(ammonia)?;
        let water = self.packed_in.at(self.temperature).fouled(ammonia, CarbonDioxideMgL::new(carbon_dioxide)?);
        let water = water.sealed(self.headspace)?;
        let kelvin = self.temperature.get() + KELVIN;
        // mg of oxygen in the gas for each litre of water and atmosphere (ideal gas).
        let for_each_atmosphere = 1000.0 * OXYGEN_PER_MOLE * self.headspace / (GAS * kelvin);
        let packed = oxygen_under(self.oxygen_share, self.temperature, None)?.get();
        let all = for_each_atmosphere * self.oxygen_share + packed;
        let left = (all - oxygen).max(0.0);
        let solubility = oxygen_under(1.0, self.temperature, None)?.get();
        let partial = left / (for_each_atmosphere + solubility);
        let oxygen_left = oxygen_under(partial, self.temperature, None)?;
        Ok(BagWater { water, oxygen: oxygen_left, spent: oxygen > all })
    }
}

/// The mass of a fish of this length (mouth to end of tail, cm), g: 0.01 × length³, the middle of fish of ordinary shape
/// (after Froese 2006, J. Appl. Ichthyol. 22:241-253; from memory). Eel-like fish weigh a quarter of it, deep ones twice
/// as much.
///
/// # Errors
/// Outside of 0.5 to 60 cm.
pub fn mass_from_length(centimetres: f64) -> Result<f64, Unsound> {
    let length = within("mass from length", ("length", "cm"), (0.5, 60.0), centimetres)?;
    Ok(0.01 * length.powi(3))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::quantity::{AlkalinityCaCO3, Ph};

    fn bag(load: f64, hours: f64, temperature: f64) -> SealedBag {
        let temperature = Celsius::new(temperature).unwrap();
        let alkalinity = AlkalinityCaCO3::new(50.0).unwrap();
        let packed_in =
            FreshWater::new(temperature, Ph::new(7.5).unwrap(), alkalinity, TotalAmmoniaN::new(0.0).unwrap());
        SealedBag { load, headspace: 2.0, oxygen_share: 1.0, hours, temperature, packed_in: packed_in.unwrap() }
    }

    #[test]
    fn the_plausibility_case_comes_out() {
        // 100 g/L, 30 h, 25 °C: 600 mg/L of oxygen, 21 mg/L of ammonia, CO2 near 200 mg/L, pH about 6.
        let opened = bag(100.0, 30.0, 25.0).opened(FASTED).unwrap();
        let co2 = opened.water.carbon_dioxide().unwrap().get();
        assert!((150.0..260.0).contains(&co2), "{co2}");
        assert!(!opened.spent && opened.oxygen.get() > 20.0, "{opened:?}");
    }

    #[test]
    fn ten_degrees_warmer_makes_twice_as_much() {
        let (cold, warm) = (bag(50.0, 24.0, 18.0), bag(50.0, 24.0, 28.0));
        assert!((warm.ammonia_made(FASTED) / cold.ammonia_made(FASTED) - 2.0).abs() < 1e-9);
    }

    #[test]
    fn a_bag_packed_with_air_runs_out_of_oxygen() {
        let air = SealedBag { oxygen_share: 0.21, ..bag(150.0, 40.0, 27.0) };
        let opened = air.opened(FASTED).unwrap();
        assert!(opened.spent);
        assert_eq!(opened.oxygen.get(), 0.0);
    }

    #[test]
    fn a_length_gives_a_mass() {
        assert!((mass_from_length(3.0).unwrap() - 0.27).abs() < 1e-9);
        assert!(mass_from_length(0.1).is_err());
    }

    proptest! {
        #[test]
        fn more_fish_and_more_hours_make_worse_water(load in 1.0..120.0, hours in 1.0..40.0, t in 18.0..30.0) {
            let now = bag(load, hours, t).opened(FASTED).unwrap();
            for worse in [bag(load * 1.2, hours, t), bag(load, hours * 1.2, t)] {
                let worse = worse.opened(FASTED).unwrap();
                prop_assert!(worse.water.ammonia().unwrap() > now.water.ammonia().unwrap());
                prop_assert!(worse.water.carbon_dioxide().unwrap() > now.water.carbon_dioxide().unwrap());
                prop_assert!(worse.oxygen <= now.oxygen);
            }
        }

        #[test]
        fn a_larger_headspace_takes_up_carbon_dioxide(load in 10.0..120.0, headspace in 0.0..4.0) {
            let of = |headspace| SealedBag { headspace, ..bag(load, 24.0, 25.0) }.opened(FASTED).unwrap();
            let (small, large) = (of(headspace), of(headspace + 0.5));
            prop_assert!(large.water.carbon_dioxide().unwrap() < small.water.carbon_dioxide().unwrap());
            prop_assert!(large.water.ph().unwrap() > small.water.ph().unwrap());
        }
    }
}
