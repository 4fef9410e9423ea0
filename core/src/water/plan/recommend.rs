//! Which way to take, and why, as data. Wording is elsewhere.

use super::super::error::Unsound;
use super::super::oxygen::oxygen_saturation;
use super::course::{Course, Way};
use super::{PlanLimits, Tolerance, Water, nh3_of};
use crate::quantity::OxygenMgL;

/// The way to take.
#[derive(Debug, Clone, PartialEq)]
pub struct Recommendation {
    /// Which.
    pub way: Way,
    /// Why.
    pub reason: Reason,
    /// What must be warned of before it is done; the gravest only.
    pub warning: Option<Warning>,
    /// Whether oxygen or air in the receiving water comes first.
    pub oxygen_first: bool,
    /// The pH of the bag's water at which it is to be left at once; none where it can do no harm.
    pub stop_at_ph: Option<f64>,
}

/// Why a way is the one to take.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reason {
    /// The bag has too little oxygen for anything slow.
    Oxygen {
        /// What was read, mg/L.
        read: f64,
    },
    /// A slow way would hold the fish in more NH3.
    Ammonia {
        /// Peak of the straight way, mg/L as N.
        direct: f64,
        /// Peak of the better slow one, mg/L as N.
        slow: f64,
        /// How many times the NH3 × minutes of the straight way the better slow one has.
        times: f64,
        /// The limit that it passes, mg/L as N.
        limit: f64,
    },
    /// Left open for as long as a slow way takes, the bag's water would turn toxic: how fast is not known well enough.
    Opened {
        /// Its NH3 when the carbon dioxide has left, mg/L as N.
        nh3: f64,
        /// The limit that it passes, mg/L as N.
        limit: f64,
        /// How many times the NH3 × minutes of the straight way the better slow one has.
        times: f64,
    },
    /// The waters are alike: slowness would gain nothing.
    Alike {
        /// Difference of pH.
        ph: f64,
    },
    /// The waters differ, and the bag's is clean enough to take time.
    Differ {
        /// By what.
        need: Need,
        /// Peak of the way taken, mg/L as N.
        slow: f64,
        /// The limit that it keeps, mg/L as N.
        limit: f64,
    },
}

/// What wants time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Need {
    /// Difference of pH.
    Ph(f64),
    /// Difference of salinity, ppt.
    Salinity(f64),
}

/// What must be warned of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Warning {
    /// The bag's water turns toxic when air is bubbled through it, when it stands open, or when tank water is poured in
    /// before its ammonia is gone.
    OpenBag {
        /// Its pH when the carbon dioxide has left.
        ph: f64,
        /// Its NH3 then, mg/L as N.
        nh3: f64,
        /// Highest NH3 just from tank water poured in, before gas left, mg/L as N.
        poured: Option<f64>,
    },
    /// The tank's own water holds too much NH3, mg/L as N.
    TankAmmonia(f64),
    /// The tank is out of what the species usually lives in.
    TankTemperature {
        /// The tank's, °C.
        is: f64,
        /// The species' range, °C.
        usual: (f64, f64),
    },
    /// The tank's pH is out of what the species usually lives in.
    TankPh {
        /// The tank's.
        is: f64,
        /// The species' range.
        usual: (f64, f64),
    },
}

/// What is known before a way is chosen.
pub(super) struct Seen<'a> {
    pub bag: &'a Water,
    pub tank: &'a Water,
    pub oxygen: Option<OxygenMgL>,
    pub opened_nh3: f64,
    pub opened_ph: f64,
}

/// How far out of a species' usual range a tank may be before it is a matter for a word: meters and tables are no better.
const TEMPERATURE_SLACK: f64 = 1.0;
const PH_SLACK: f64 = 0.5;

pub(super) fn recommend(
    seen: &Seen<'_>,
    courses: &[Course],
    fish: Option<&Tolerance>,
    limits: &PlanLimits,
) -> Result<Recommendation, Unsound> {
    let of = |way: Way| &courses[way as usize];
    let direct = of(Way::Direct);
    let (way, reason) = choose(seen, direct, [of(Way::Stepwise), of(Way::Drip)], fish, limits)?;
    Ok(Recommendation {
        way,
        reason,
        warning: warning(seen, of(Way::Stepwise), way, fish, limits)?,
        oxygen_first: seen.oxygen.map(|oxygen| is_low(oxygen, seen)).transpose()?.unwrap_or(false),
        stop_at_ph: stop_at_ph(seen, limits)?,
    })
}

fn choose(
    seen: &Seen<'_>,
    direct: &Course,
    slow: [&Course; 2],
    fish: Option<&Tolerance>,
    limits: &PlanLimits,
) -> Result<(Way, Reason), Unsound> {
    if let Some(read) = seen.oxygen.map(OxygenMgL::get).filter(|read| *read < limits.oxygen) {
        return Ok((Way::Direct, Reason::Oxygen { read }));
    }
    let ph = (seen.tank.ph()?.get() - seen.bag.ph()?.get()).abs();
    let salinity = (seen.tank.salinity() - seen.bag.salinity()).abs();
    let need = if salinity >= limits.salinity_step {
        Need::Salinity(salinity)
    } else if ph >= limits.ph_step {
        Need::Ph(ph)
    } else {
        return Ok((Way::Direct, Reason::Alike { ph }));
    };
    // Of the slow ways that keep a limit, the gentler one for delicate fish and for salt, else the one with less work.
    let gently = fish.is_some_and(|fish| fish.delicate) || matches!(need, Need::Salinity(_));
    let best = |limit: f64| {
        let mut kept: Vec<&Course> = slow.into_iter().filter(|course| course.nh3_peak <= limit).collect();
        kept.sort_by(|one, other| match gently {
            true => one.ph_jump.total_cmp(&other.ph_jump).then(other.way.cmp(&one.way)),
            false => one.hands.cmp(&other.hands).then(one.nh3_minutes.total_cmp(&other.nh3_minutes)),
        });
        kept.first().copied()
    };
    let kept = |course: &Course, limit: f64| (course.way, Reason::Differ { need, slow: course.nh3_peak, limit });
    let holds = seen.opened_nh3 <= limits.acute_nh3;
    if let Some(course) = best(limits.long_term_nh3).filter(|_| holds) {
        return Ok(kept(course, limits.long_term_nh3));
    }
    // Where the straight way spares them nothing, for the tank itself holds as much, time still helps.
    let least = slow.into_iter().map(|course| course.nh3_peak).fold(f64::INFINITY, f64::min);
    if let Some(course) = best(limits.acute_nh3).filter(|course| holds && course.nh3_minutes <= direct.nh3_minutes) {
        return Ok(kept(course, limits.acute_nh3));
    }
    let dose = slow.into_iter().map(|course| course.nh3_minutes).fold(f64::INFINITY, f64::min);
    let times = dose / direct.nh3_minutes.max(1e-9);
    if !holds && least <= limits.acute_nh3 {
        let reason = Reason::Opened { nh3: seen.opened_nh3, limit: limits.acute_nh3, times };
        return Ok((Way::Direct, reason));
    }
    let limit = if least > limits.acute_nh3 { limits.acute_nh3 } else { limits.long_term_nh3 };
    Ok((Way::Direct, Reason::Ammonia { direct: direct.nh3_peak, slow: least, times, limit }))
}

/// Whether the fish want oxygen in what receives them: less in the bag than air would give.
fn is_low(oxygen: OxygenMgL, seen: &Seen<'_>) -> Result<bool, Unsound> {
    let full = oxygen_saturation(seen.bag.temperature()?, None, None)?.get();
    Ok(oxygen.get() < 0.6 * full)
}

fn warning(
    seen: &Seen<'_>,
    stepwise: &Course,
    way: Way,
    fish: Option<&Tolerance>,
    limits: &PlanLimits,
) -> Result<Option<Warning>, Unsound> {
    let tank = nh3_of(seen.tank)?;
    // What the tank itself holds is not the bag's doing.
    let fouler = seen.bag.ammonia()? > seen.tank.ammonia()?;
    let mixed = Some(stepwise.nh3_peak).filter(|_| fouler);
    let worst = seen.opened_nh3.max(mixed.unwrap_or(0.0));
    if worst > limits.acute_nh3 || way == Way::Direct && worst > limits.long_term_nh3 {
        let poured = stepwise.closed_mix_nh3.filter(|poured| *poured > limits.long_term_nh3);
        return Ok(Some(Warning::OpenBag { ph: seen.opened_ph, nh3: seen.opened_nh3, poured }));
    }
    if tank > limits.acute_nh3 {
        return Ok(Some(Warning::TankAmmonia(tank)));
    }
    let Some(fish) = fish else { return Ok(None) };
    let out = |is: f64, usual: (f64, f64), slack: f64| is < usual.0 - slack || usual.1 + slack < is;
    let (celsius, ph) = (seen.tank.temperature()?.get(), seen.tank.ph()?.get());
    Ok(if out(celsius, fish.celsius, TEMPERATURE_SLACK) {
        Some(Warning::TankTemperature { is: celsius, usual: fish.celsius })
    } else if out(ph, fish.ph, PH_SLACK) {
        Some(Warning::TankPh { is: ph, usual: fish.ph })
    } else {
        None
    })
}

/// The pH at which the bag's ammonia, undiluted, holds as much NH3 as no way may reach.
fn stop_at_ph(seen: &Seen<'_>, limits: &PlanLimits) -> Result<Option<f64>, Unsound> {
    let total = seen.bag.ammonia()?.get();
    if total <= limits.acute_nh3 || seen.opened_nh3 <= limits.acute_nh3 {
        return Ok(None);
    }
    let salinity = crate::quantity::SalinityPpt::new(seen.bag.salinity())?;
    let pka = super::acid_constant(seen.bag.temperature()?, Some(salinity))?;
    Ok(Some(pka - (total / limits.acute_nh3 - 1.0).log10()))
}
