//! How to bring the fish of a bag into their tank: several ways simulated through time, compared, and one recommended.
//!
//! What decides is what the fish are in: the bag's water until they are out of it, the tank's afterwards. A closed bag is
//! rich in carbon dioxide and sour, so that its ammonia is nearly all NH4+. Opened, it loses the carbon dioxide; tank water
//! poured in raises its pH at once, before any gas has left. Both turn NH4+ to NH3. Each exchange is therefore reckoned
//! closed first, and the gas leaves afterwards.

mod course;
mod recommend;

pub use course::{Course, Point, Step, Way};
pub use recommend::{Need, Reason, Recommendation, Warning};

use super::carbonate::FreshWater;
use super::error::Unsound;
use super::{acid_constant, unionised_ammonia};
use crate::quantity::{CarbonDioxideMicroatm, Celsius, OxygenMgL, Ph, SalinityPpt, TotalAmmoniaN};

/// Water with so much salt that the fresh-water carbonate system does not hold. Its pH is known only where it is measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SaltWater {
    /// Temperature.
    pub temperature: Celsius,
    /// pH as measured.
    pub ph: Ph,
    /// Total ammonia.
    pub ammonia: TotalAmmoniaN,
    /// Salinity.
    pub salinity: SalinityPpt,
}

/// The water of a bag or of what receives the fish.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Water {
    /// Fresh water, with its carbonate system.
    Fresh(FreshWater),
    /// Salt or brackish water.
    Salt(SaltWater),
}

impl Water {
    /// Its temperature.
    ///
    /// # Errors
    /// None in practice.
    pub fn temperature(&self) -> Result<Celsius, Unsound> {
        match self {
            Water::Fresh(water) => water.temperature(),
            Water::Salt(water) => Ok(water.temperature),
        }
    }

    /// Its pH.
    ///
    /// # Errors
    /// Out of the range of the formulas.
    pub fn ph(&self) -> Result<Ph, Unsound> {
        match self {
            Water::Fresh(water) => water.ph(),
            Water::Salt(water) => Ok(water.ph),
        }
    }

    /// Its total ammonia.
    ///
    /// # Errors
    /// None in practice.
    pub fn ammonia(&self) -> Result<TotalAmmoniaN, Unsound> {
        match self {
            Water::Fresh(water) => water.ammonia(),
            Water::Salt(water) => Ok(water.ammonia),
        }
    }

    /// Its salinity, nothing in fresh water.
    pub fn salinity(&self) -> f64 {
        match self {
            Water::Fresh(_) => 0.0,
            Water::Salt(water) => water.salinity.get(),
        }
    }
}

/// A bag with fish.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bag {
    /// Its water, as it is while the bag is closed.
    pub water: Water,
    /// Oxygen in it, where it was read.
    pub oxygen: Option<OxygenMgL>,
}

/// What the fish bear, as far as it is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerance {
    /// Usual temperatures, °C.
    pub celsius: (f64, f64),
    /// Usual pH.
    pub ph: (f64, f64),
    /// Known for losses after transport.
    pub delicate: bool,
}

/// What a site decided on how fish are brought over.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlanLimits {
    /// How fast carbon dioxide leaves an opened bag or tub: the part of the excess that leaves in an hour, as the rate of
    /// an exponential, 1/h. A choice: no published value for opened bags was found. 3 halves the excess in 14 minutes;
    /// still water 10 cm deep would have about 0.2 (2 cm/h: Cole & Caraco 1998, Limnol. Oceanogr. 43:647-656, of lakes
    /// in little wind; from memory), water with an air stone 10 and more.
    pub gas_exchange: f64,
    /// Carbon dioxide of the room's air, µatm. Outdoors 420; rooms with people 600 to 1500.
    pub room_air: f64,
    /// Bag and tank are to differ by less than this before the fish change waters, °C. Lim, Dhert & Sorgeloos 2003,
    /// Aquaculture Research 34:923-935: under 2. Other guidance is 3 to 4 in half an hour (LSU AgCenter).
    pub temperature_step: f64,
    /// Minutes in which floating halves the difference of temperature. The same source: about 30 min for 4 to 5 °C down
    /// to 2, which is 26.
    pub float_half_minutes: f64,
    /// From which difference of pH on a gradual way is looked for. A choice: no verified published limit was found, and
    /// the popular 0.2 to 0.5 an hour has no source.
    pub ph_step: f64,
    /// From which difference of salinity on a gradual way is looked for, ppt. A choice without a published source.
    pub salinity_step: f64,
    /// NH3 that is of no concern for long, mg/L as N: 0.025 mg/L as NH3 is 0.0206 as N (EIFAC 1970, Technical Paper 11).
    pub long_term_nh3: f64,
    /// NH3 that no way over may reach, mg/L as N: 0.13 to 0.14 mg/L as NH3 for six hours cost trout their stamina (Piper
    /// et al. 1982, Fish Hatchery Management, p. 357; the first digit is poorly legible), the lower of which is 0.107 as N. Deaths in
    /// 96 h begin near 0.93 as N (Abbas 2006, carp at pH 7.5).
    pub acute_nh3: f64,
    /// Below how much oxygen in the bag the fish come out first, mg/L. A choice; fish in pure oxygen lose their footing
    /// long before (respiration of tilapia changes below 2: Kutty 1972).
    pub oxygen: f64,
    /// The part of the water that each pouring replaces, 0 to 1. Sellers' guides: half a cup every few minutes, not over
    /// about an hour; a third each ten minutes, six times, leaves a twelfth of the bag's water. The division is a choice.
    pub pour: f64,
    /// Minutes from one pouring to the next.
    pub pour_minutes: u32,
    /// How many pourings.
    pub pours: u32,
    /// How much tank water drips in, in parts of the bag's water.
    pub drip_parts: f64,
    /// In how many minutes.
    pub drip_minutes: u32,
}

impl Default for PlanLimits {
    fn default() -> Self {
        PlanLimits {
            gas_exchange: 3.0,
            room_air: 600.0,
            temperature_step: 2.0,
            float_half_minutes: 26.0,
            ph_step: 0.5,
            salinity_step: 3.0,
            long_term_nh3: 0.0206,
            acute_nh3: 0.107,
            oxygen: 3.0,
            pour: 1.0 / 3.0,
            pour_minutes: 10,
            pours: 6,
            drip_parts: 3.0,
            drip_minutes: 60,
        }
    }
}

/// The ways over, compared, and the one to take.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Each way, in the order of [`Way`].
    pub courses: Vec<Course>,
    /// The one to take, and why.
    pub recommendation: Recommendation,
    /// NH3 of the bag's water when all carbon dioxide has left it, mg/L as N: the worst that leaving it open can do. In
    /// salt water that of the higher of both pH.
    pub opened_nh3: f64,
    /// pH of that water.
    pub opened_ph: f64,
    /// Whether salt water made it a comparison by the higher pH instead of a course of the carbonate system.
    pub by_higher_ph: bool,
}

impl Plan {
    /// The course of a way.
    pub fn course(&self, way: Way) -> &Course {
        // Each way has its course, in their order.
        &self.courses[way as usize]
    }

    /// The course that is recommended.
    pub fn best(&self) -> &Course {
        self.course(self.recommendation.way)
    }
}

/// Simulates the ways from a bag into this water and recommends one.
///
/// # Errors
/// Out of the range of the chemistry.
///
/// ```
/// use holdfast_core::quantity::{AlkalinityCaCO3, Celsius, Ph, TotalAmmoniaN};
/// use holdfast_core::water::FreshWater;
/// use holdfast_core::water::plan::{Bag, PlanLimits, Water, Way, plan};
/// // A fouled bag after a long haul: pH 6.1, 15 mg/L of ammonia.
/// let (bag, none) = (TotalAmmoniaN::new(15.0)?, TotalAmmoniaN::new(0.0)?);
/// let water = |celsius, ph, alkalinity, ammonia| {
///     let alkalinity = AlkalinityCaCO3::new(alkalinity)?;
///     Ok::<_, holdfast_core::water::Unsound>(Water::Fresh(FreshWater::new(Celsius::new(celsius)?, Ph::new(ph)?, alkalinity, ammonia)?))
/// };
/// let bag = Bag { water: water(22.0, 6.1, 103.0, bag)?, oxygen: None };
/// let plan = plan(&bag, &water(26.0, 7.6, 80.0, none)?, None, &PlanLimits::default())?;
/// assert_eq!(plan.recommendation.way, Way::Direct);
/// assert!(plan.course(Way::Drip).nh3_peak > 5.0 * plan.course(Way::Direct).nh3_peak);
/// # Ok::<(), holdfast_core::water::Unsound>(())
/// ```
pub fn plan(bag: &Bag, tank: &Water, fish: Option<&Tolerance>, limits: &PlanLimits) -> Result<Plan, Unsound> {
    let (bag_water, tank, by_higher_ph) = match (bag.water, *tank) {
        (Water::Fresh(bag), Water::Fresh(tank)) => (Water::Fresh(bag), Water::Fresh(tank), false),
        (bag, tank) => (Water::Salt(as_salt(bag)?), Water::Salt(as_salt(tank)?), true),
    };
    let (opened_ph, opened_nh3) = opened(&bag_water, &tank, limits)?;
    let urgent = bag.oxygen.is_some_and(|oxygen| oxygen.get() < limits.oxygen);
    let mut courses = Vec::with_capacity(Way::ALL.len());
    for way in Way::ALL {
        courses.push(course::simulate(way, &bag_water, &tank, urgent, limits)?);
    }
    let horizon = courses.iter().map(Course::minutes).max().unwrap_or_default();
    courses.iter_mut().for_each(|course| course.last_until(horizon));
    let seen = recommend::Seen { bag: &bag_water, tank: &tank, oxygen: bag.oxygen, opened_nh3, opened_ph };
    let recommendation = recommend::recommend(&seen, &courses, fish, limits)?;
    Ok(Plan { courses, recommendation, opened_nh3, opened_ph, by_higher_ph })
}

fn as_salt(water: Water) -> Result<SaltWater, Unsound> {
    Ok(match water {
        Water::Salt(water) => water,
        Water::Fresh(water) => SaltWater {
            temperature: water.temperature()?,
            ph: water.ph()?,
            ammonia: water.ammonia()?,
            salinity: SalinityPpt::new(0.0)?,
        },
    })
}

/// The worst pH and NH3 of the bag's water once it is open.
fn opened(bag: &Water, tank: &Water, limits: &PlanLimits) -> Result<(f64, f64), Unsound> {
    match bag {
        Water::Fresh(water) => water.under(CarbonDioxideMicroatm::new(limits.room_air)?)?.ph_and_unionised(),
        Water::Salt(water) => {
            let ph = water.ph.get().max(tank.ph()?.get());
            Ok((ph, salt_nh3(water.ammonia.get(), water.temperature.get(), water.salinity.get(), ph)?))
        }
    }
}

/// NH3 of a water as it is, mg/L as N.
fn nh3_of(water: &Water) -> Result<f64, Unsound> {
    match water {
        Water::Fresh(water) => Ok(water.ph_and_unionised()?.1),
        Water::Salt(water) => {
            salt_nh3(water.ammonia.get(), water.temperature.get(), water.salinity.get(), water.ph.get())
        }
    }
}

/// NH3 of salt water, mg/L as N. Below pH 6 of water with little salt the equilibrium itself is used, as the published
/// table ends there.
fn salt_nh3(ammonia: f64, celsius: f64, salinity: f64, ph: f64) -> Result<f64, Unsound> {
    let (celsius, salinity) = (Celsius::new(celsius)?, SalinityPpt::new(salinity)?);
    if salinity.get() > 0.0 {
        return Ok(unionised_ammonia(TotalAmmoniaN::new(ammonia)?, celsius, Ph::new(ph)?, Some(salinity))?.get());
    }
    Ok(ammonia / (1.0 + 10f64.powf(acid_constant(celsius, None)? - ph)))
}

#[cfg(test)]
mod tests;
