//! What to expect in a bag that is still closed: a low, a middle and a high value, and how the bags already opened narrow
//! them.
//!
//! Each consignment makes more or less ammonia and carbon dioxide than the middle of [`super::FASTED`], by factors that all
//! its bags share; each bag differs from its consignment by a smaller factor. Both are taken as log-normal. The standard
//! deviations are a choice: together they give about the factor of two either way that the literature supports (the band
//! reaches 1.5 standard deviations: 87 of 100). What was measured in opened bags moves the
//! consignment's factor by the usual weighing of normal values, so that it shrinks towards the middle where little is known.

use super::bag::{FASTED, SealedBag};
use super::carbonate::FreshWater;
use super::error::Unsound;
use crate::quantity::{AlkalinityCaCO3, CarbonDioxideMicroatm, Ph, TotalAmmoniaN};

/// Standard deviation of the logarithm of a consignment's factor: for ammonia that of values drawn evenly, by their
/// logarithm, from 120 to 350 mg of oxygen and AQ 0.05 to 0.2; for carbon dioxide of oxygen alone, as RQ varies little.
const OF_AMMONIA: f64 = 0.5;
const OF_CARBON: f64 = 0.32;
/// Of a bag's factor within its consignment.
const BAG: f64 = 0.2;
/// Of an ammonia kit: one step of its colours, 20 %.
const KIT: f64 = 0.2;
/// Of carbon dioxide taken from a pH: 0.1 of pH is 26 % of CO2.
const METER: f64 = 0.25;
/// How many standard deviations the band reaches either way.
const REACH: f64 = 1.5;

/// A low, a middle and a high value; the truth lies between the outer ones about 87 times of 100.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Low.
    pub low: f64,
    /// Middle.
    pub mid: f64,
    /// High.
    pub high: f64,
}

impl Band {
    /// Whether a value lies in it.
    pub fn holds(self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }
}

/// What is not known of a bag and was assumed; each makes the band wider.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Missing {
    /// How large the fish are.
    Size,
    /// How much water there is.
    Litres,
    /// How long the bag was closed.
    Hours,
    /// How warm it was.
    Temperature,
    /// The alkalinity of the water they were packed in.
    PackingWater,
}

impl Missing {
    /// What it adds to the standard deviation of the logarithm (squares add up). A choice: a size code is good to half or
    /// twice the mass, the litres of a box to a third.
    fn deviation(self) -> f64 {
        match self {
            Missing::Size => 0.5,
            Missing::Litres => 0.3,
            Missing::Hours => 0.25,
            Missing::Temperature => 0.15,
            Missing::PackingWater => 0.0,
        }
    }
}

/// A factor of a consignment, as far as it is known: the mean and variance of its logarithm.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Factor {
    mean: f64,
    variance: f64,
}

impl Factor {
    const fn unknown(deviation: f64) -> Self {
        Factor { mean: 0.0, variance: deviation * deviation }
    }

    /// Weighs in one more bag, whose logarithm this is.
    fn weigh(&mut self, logarithm: f64, noise: f64) {
        let of_bag = BAG * BAG + noise * noise;
        let weight = self.variance / (self.variance + of_bag);
        self.mean += weight * (logarithm - self.mean);
        self.variance *= 1.0 - weight;
    }

    fn deviation(self, missing: &[Missing]) -> f64 {
        let unknown: f64 = missing.iter().map(|missing| missing.deviation().powi(2)).sum();
        (self.variance + BAG * BAG + unknown).sqrt()
    }
}

/// What the opened bags of a consignment have taught of the closed ones.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Learned {
    ammonia: Factor,
    carbon: Factor,
    bags: u32,
}

impl Default for Learned {
    fn default() -> Self {
        Learned { ammonia: Factor::unknown(OF_AMMONIA), carbon: Factor::unknown(OF_CARBON), bags: 0 }
    }
}

/// What was measured in a bag as it was opened.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Measured {
    /// Total ammonia.
    pub ammonia: Option<TotalAmmoniaN>,
    /// pH, before gas left the water.
    pub ph: Option<Ph>,
    /// Alkalinity of the bag's water, its ammonia included.
    pub alkalinity: Option<AlkalinityCaCO3>,
}

impl Learned {
    /// How many bags it rests on.
    pub fn bags(&self) -> u32 {
        self.bags
    }

    /// Takes in what was measured in a bag.
    ///
    /// # Errors
    /// Where the readings cannot be true of one water; nothing is learned of them then.
    pub fn learn(&mut self, bag: &SealedBag, measured: Measured, missing: &[Missing]) -> Result<(), Unsound> {
        let unknown: f64 = missing.iter().map(|missing| missing.deviation().powi(2)).sum();
        let packed = bag.packed_in.ammonia()?.get();
        let expected = bag.ammonia_made(FASTED);
        let made = measured.ammonia.map(|ammonia| ammonia.get() - packed).filter(|made| *made > 0.0 && expected > 0.0);
        let mut after = *self;
        if let Some(made) = made {
            after.ammonia.weigh((made / expected).ln(), (KIT * KIT + unknown).sqrt());
        }
        if let Some(ph) = measured.ph {
            let ammonia = TotalAmmoniaN::new(measured.ammonia.map_or(packed + expected, TotalAmmoniaN::get))?;
            let alkalinity = match measured.alkalinity {
                Some(alkalinity) => alkalinity,
                None => {
                    let given_off = TotalAmmoniaN::new((ammonia.get() - packed).max(0.0))?;
                    bag.packed_in.fouled(given_off, crate::quantity::CarbonDioxideMgL::new(0.0)?).alkalinity()?
                }
            };
            let water = FreshWater::new(bag.temperature, ph, alkalinity, ammonia)?;
            let made = water.with_gas(bag.headspace)? - bag.packed_in.carbon();
            let expected = bag.carbon_dioxide_made(FASTED) / 44_009.5;
            if made > 0.0 && expected > 0.0 {
                after.carbon.weigh((made / expected).ln(), (METER * METER + unknown).sqrt());
            }
        }
        if after != *self {
            after.bags += 1;
            *self = after;
        }
        Ok(())
    }
}

/// What to expect of a closed bag.
#[derive(Debug, Clone, PartialEq)]
pub struct Forecast {
    /// Total ammonia, mg/L as N.
    pub ammonia: Band,
    /// Carbon dioxide, mg/L.
    pub carbon_dioxide: Band,
    /// pH while it is sealed.
    pub ph_sealed: Band,
    /// pH when the carbon dioxide has left.
    pub ph_opened: Band,
    /// NH3 in the moment of opening, mg/L as N.
    pub nh3_sealed: Band,
    /// NH3 when the carbon dioxide has left, mg/L as N.
    pub nh3_opened: Band,
    /// Oxygen, mg/L.
    pub oxygen: Band,
    /// Whether the fish may have run out of oxygen: by the high value.
    pub oxygen_spent: bool,
    /// The water in the middle of it all, for a plan.
    pub water: FreshWater,
    /// What was assumed.
    pub missing: Vec<Missing>,
}

/// One run of the model.
#[derive(Debug, Clone, Copy)]
struct Run {
    water: FreshWater,
    values: [f64; 7],
    spent: bool,
}

fn run(bag: &SealedBag, ammonia: f64, carbon: f64, air: CarbonDioxideMicroatm) -> Result<Run, Unsound> {
    let made = ammonia * bag.ammonia_made(FASTED);
    let (co2, oxygen) = (carbon * bag.carbon_dioxide_made(FASTED), carbon * bag.oxygen_used(FASTED));
    let opened = bag.opened_with(made, co2, oxygen)?;
    let water = opened.water;
    let gassed = water.under(air)?;
    let values = [
        water.ammonia()?.get(),
        water.carbon_dioxide()?.get(),
        water.ph()?.get(),
        gassed.ph()?.get(),
        water.unionised()?.get(),
        gassed.unionised()?.get(),
        opened.oxygen.get(),
    ];
    Ok(Run { water, values, spent: opened.spent })
}

impl SealedBag {
    /// What to expect of this bag, by what its consignment taught so far; `air` is the carbon dioxide of the room.
    ///
    /// # Errors
    /// Out of the range of the chemistry.
    pub fn forecast(
        &self,
        learned: &Learned,
        missing: &[Missing],
        air: CarbonDioxideMicroatm,
    ) -> Result<Forecast, Unsound> {
        let (ammonia, carbon) = (learned.ammonia, learned.carbon);
        let mid = run(self, ammonia.mean.exp(), carbon.mean.exp(), air)?;
        let off = |factor: Factor, sign: f64| (factor.mean + sign * REACH * factor.deviation(missing)).exp();
        let mut pairs = vec![
            (
                run(self, off(ammonia, -1.0), carbon.mean.exp(), air)?,
                run(self, off(ammonia, 1.0), carbon.mean.exp(), air)?,
            ),
            (
                run(self, ammonia.mean.exp(), off(carbon, -1.0), air)?,
                run(self, ammonia.mean.exp(), off(carbon, 1.0), air)?,
            ),
        ];
        if missing.contains(&Missing::PackingWater) {
            // Soft to hard water is half to twice the alkalinity.
            let with = |factor: f64| SealedBag { packed_in: self.packed_in.with_alkalinity(factor), ..*self };
            let of = |bag: SealedBag| run(&bag, ammonia.mean.exp(), carbon.mean.exp(), air);
            pairs.push((of(with(0.5))?, of(with(2.0))?));
        }
        // Independent causes add up by their squares: of logarithms where a value is a product, else of the values.
        let band = |at: usize, product: bool| {
            let scale = |value: f64| if product { value.max(1e-12).ln() } else { value };
            let back = |value: f64| if product { value.exp() } else { value };
            let centre = scale(mid.values[at]);
            let (mut below, mut above) = (0.0, 0.0);
            for (one, other) in &pairs {
                let (a, b) = (scale(one.values[at]) - centre, scale(other.values[at]) - centre);
                below += f64::min(a, b).min(0.0).powi(2);
                above += f64::max(a, b).max(0.0).powi(2);
            }
            Band { low: back(centre - below.sqrt()), mid: mid.values[at], high: back(centre + above.sqrt()) }
        };
        let oxygen = band(6, false);
        Ok(Forecast {
            ammonia: band(0, true),
            carbon_dioxide: band(1, true),
            ph_sealed: band(2, false),
            ph_opened: band(3, false),
            nh3_sealed: band(4, true),
            nh3_opened: band(5, true),
            oxygen: Band { low: oxygen.low.max(0.0), ..oxygen },
            oxygen_spent: pairs.iter().any(|(low, high)| low.spent || high.spent),
            water: mid.water,
            missing: missing.to_vec(),
        })
    }
}

#[cfg(test)]
mod tests;
