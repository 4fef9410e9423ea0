//! Water poured off and replaced, and waters brought together. Nothing is made or lost: what dissolves without reacting
//! mixes by volume. (pH does not: see [`super::FreshWater`].)

use super::error::Unsound;
use crate::quantity::{Celsius, Litres};

/// A part of some water, 0 to 1.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Part(f64);

impl Part {
    /// From a share of 0 to 1.
    ///
    /// # Errors
    /// Outside of it.
    pub fn new(share: f64) -> Result<Self, Unsound> {
        super::error::within("an exchange of water", ("part", ""), (0.0, 1.0), share).map(Part)
    }

    /// From percent.
    ///
    /// # Errors
    /// Outside of 0 to 100.
    pub fn percent(percent: f64) -> Result<Self, Unsound> {
        super::error::within("an exchange of water", ("share", "%"), (0.0, 100.0), percent)
            .map(|value| Part(value / 100.0))
    }

    /// The share, 0 to 1.
    pub fn get(self) -> f64 {
        self.0
    }
}

/// A concentration after this part of the water was poured off and replaced by new water. The unit is that of both.
pub fn after_exchange(now: f64, part: Part, new: f64) -> f64 {
    now * (1.0 - part.0) + new * part.0
}

/// A concentration after several equal exchanges.
pub fn after_exchanges(now: f64, part: Part, times: u32, new: f64) -> f64 {
    let left = i32::try_from(times).map_or(0.0, |times| (1.0 - part.0).powi(times));
    new + (now - new) * left
}

/// How much new water to add to this much, so that the new water is this part of both.
///
/// # Errors
/// Where no volume is that large: the part is nearly the whole.
pub fn new_water_for(water: Litres, part: Part) -> Result<Litres, Unsound> {
    Ok(Litres::new(water.get() * part.0 / (1.0 - part.0))?)
}

/// The temperature of waters brought together, by volume. Density, heat capacity, fish and plastic are left out: less than
/// 0.02 °C from 5 to 30 °C.
///
/// # Errors
/// Where there is no water.
pub fn temperature_of_mix(waters: &[(Litres, Celsius)]) -> Result<Celsius, Unsound> {
    let volume: f64 = waters.iter().map(|(litres, _)| litres.get()).sum();
    if waters.is_empty() {
        return Err(Unsound::NoWater);
    }
    let heat: f64 = waters.iter().map(|(litres, temperature)| litres.get() * temperature.get()).sum();
    Ok(Celsius::new(heat / volume)?)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn half_poured_off_twice_leaves_a_quarter() {
        let half = Part::percent(50.0).unwrap();
        assert_eq!(after_exchange(8.0, half, 0.0), 4.0);
        assert_eq!(after_exchanges(8.0, half, 2, 0.0), 2.0);
        assert_eq!(new_water_for(Litres::new(3.0).unwrap(), half).unwrap().get(), 3.0);
        assert!(new_water_for(Litres::new(3.0).unwrap(), Part::percent(100.0).unwrap()).is_err());
    }

    proptest! {
        #[test]
        fn several_exchanges_are_one_after_the_other(now in 0.0..50.0, new in 0.0..5.0, part in 0.0..1.0, times in 0u32..8) {
            let part = Part::new(part).unwrap();
            let stepped = (0..times).fold(now, |value, _| after_exchange(value, part, new));
            prop_assert!((after_exchanges(now, part, times, new) - stepped).abs() < 1e-9);
        }

        #[test]
        fn a_mix_lies_between_its_waters_and_heat_is_kept(a in 0.1..100.0, b in 0.1..100.0, x in 0.0..40.0, y in 0.0..40.0) {
            let water = |litres, temperature| (Litres::new(litres).unwrap(), Celsius::new(temperature).unwrap());
            let mix = temperature_of_mix(&[water(a, x), water(b, y)]).unwrap().get();
            prop_assert!(mix >= f64::min(x, y) - 1e-9 && mix <= f64::max(x, y) + 1e-9);
            prop_assert!((mix * (a + b) - (a * x + b * y)).abs() < 1e-6);
        }
    }
}
