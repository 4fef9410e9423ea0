//! What a water reading says that cannot wait: a limit passed, or numbers that cannot be true of one water.
//!
//! Judgement only: it takes what is known of one place's water and gives reasons as data. Limits are the site's settings.

use std::collections::BTreeSet;

use super::ammonia::unionised_ammonia;
use super::carbonate::FreshWater;
use super::error::Unsound;
use super::oxygen::oxygen_saturation;
use crate::quantity::{
    AlkalinityCaCO3, CarbonDioxideMgL, Celsius, ChlorineMgL, Measure, OxygenMgL, OxygenPercent, Ph, SalinityPpt,
    TotalAmmoniaN, UnionisedAmmoniaN,
};
use crate::settings;
use crate::species::Span;

/// °C of a tropical fish house, taken where no temperature was read.
const HOUSE: f64 = 25.0;
/// From this salinity on (ppt) the chemistry of fresh carbonate water says nothing.
const NOT_FRESH: f64 = 1.0;
/// Carbon dioxide read and implied may differ by this factor: 0.3 of pH, a strip's error.
const FACTOR: f64 = 2.0;
/// And by this much, mg/L: a drop of a kit. A choice.
const STEP: f64 = 5.0;

/// What is known of the water of one place, each value the latest.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Known {
    /// Temperature.
    pub temperature: Option<Celsius>,
    /// pH.
    pub ph: Option<Ph>,
    /// Total ammonia.
    pub ammonia: Option<TotalAmmoniaN>,
    /// NH3, where it was told itself.
    pub nh3: Option<UnionisedAmmoniaN>,
    /// Alkalinity.
    pub alkalinity: Option<AlkalinityCaCO3>,
    /// Oxygen.
    pub oxygen: Option<OxygenMgL>,
    /// Oxygen, where it was told as a share of saturation.
    pub oxygen_percent: Option<OxygenPercent>,
    /// Carbon dioxide.
    pub carbon_dioxide: Option<CarbonDioxideMgL>,
    /// Total chlorine.
    pub chlorine: Option<ChlorineMgL>,
    /// Salinity.
    pub salinity: Option<SalinityPpt>,
    /// Measures of which the value is a lower bound.
    pub over: BTreeSet<Measure>,
}

/// Whose water it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Body {
    /// A bag or box that fish came in: they leave it soon.
    Bag,
    /// A tray: fish on their way from the bag's water to the house's.
    Tray,
    /// A tank, tub or sump in which fish stay.
    Tank,
    /// A tank, tub or sump that has no fish yet.
    EmptyTank,
    /// A tap: water that will be used.
    Tap,
}

/// What the fish of a place need.
#[derive(Debug, Clone, PartialEq)]
pub struct Needs {
    /// The fish.
    pub species: String,
    /// Temperature, °C.
    pub temperature: Span,
    /// pH.
    pub ph: Span,
}

/// When an alarm speaks. Each default stands in the settings with its source.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// NH3 for fish that stay, mg/L as N.
    pub long_term: f64,
    /// NH3 for hours, mg/L as N.
    pub acute: f64,
    /// Lowest oxygen, mg/L.
    pub oxygen: f64,
    /// Highest carbon dioxide where fish stay, mg/L.
    pub carbon_dioxide: f64,
    /// Highest carbon dioxide in a bag, mg/L.
    pub carbon_dioxide_bag: f64,
    /// Highest total chlorine, mg/L as Cl2.
    pub chlorine: f64,
    /// By how much a swap of half may change the temperature, °C.
    pub swap_temperature: f64,
    /// By how much new water's pH may differ.
    pub swap_ph: f64,
    /// How far outside of a species' range the temperature may be, °C.
    pub needs_temperature: f64,
    /// How far outside of a species' range the pH may be.
    pub needs_ph: f64,
}

impl From<&settings::Alarm> for Limits {
    fn from(alarm: &settings::Alarm) -> Self {
        Limits {
            long_term: alarm.nh3_long_term.get(),
            acute: alarm.nh3_acute.get(),
            oxygen: alarm.oxygen.get(),
            carbon_dioxide: alarm.carbon_dioxide.get(),
            carbon_dioxide_bag: alarm.carbon_dioxide_bag.get(),
            chlorine: alarm.chlorine.get(),
            swap_temperature: alarm.swap_temperature.get(),
            swap_ph: alarm.swap_ph.get(),
            needs_temperature: alarm.needs_temperature.get(),
            needs_ph: alarm.needs_ph.get(),
        }
    }
}

/// The water of one place, to be judged.
#[derive(Debug, Clone, Copy)]
pub struct Judged<'a> {
    /// Whose water it is.
    pub body: Body,
    /// What is known of it.
    pub known: &'a Known,
    /// What of it is new: nothing is said twice of the same reading.
    pub fresh: &'a BTreeSet<Measure>,
    /// Whether limits of fish hold there.
    pub fish: bool,
    /// Whether chlorine harms what lives there, or will.
    pub animals: bool,
    /// What its fish need; of a tap, what those need that will get the water.
    pub needs: &'a [Needs],
    /// Of a tap: the waters it may be swapped into, by the place's name.
    pub swapped_into: &'a [(String, Known)],
}

/// Which of the two limits of NH3.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Over {
    /// That for fish that stay.
    LongTerm,
    /// That for hours.
    Acute,
}

/// Why an alarm is due.
#[derive(Debug, Clone, PartialEq)]
pub enum Reason {
    /// NH3 is over a limit.
    Ammonia {
        /// NH3, mg/L as N.
        nh3: f64,
        /// Whether it is more than that, because a reading was a lower bound.
        at_least: bool,
        /// Which limit is passed.
        over: Over,
        /// Its value, mg/L as N.
        limit: f64,
        /// The pH it was worked out with, where it was.
        ph: Option<f64>,
        /// The temperature it was worked out with, °C, where it was, and whether that was read.
        celsius: Option<(f64, bool)>,
    },
    /// Too little oxygen.
    Oxygen {
        /// Oxygen, mg/L.
        oxygen: f64,
        /// The limit, mg/L.
        limit: f64,
    },
    /// Too much carbon dioxide.
    CarbonDioxide {
        /// As it was read, mg/L.
        read: f64,
        /// The limit, mg/L.
        limit: f64,
    },
    /// Chlorine.
    Chlorine {
        /// Total chlorine, mg/L.
        chlorine: f64,
        /// The limit, mg/L.
        limit: f64,
    },
    /// Far from what a fish needs.
    Needs {
        /// Temperature (°C) or pH.
        measure: Measure,
        /// As it was read.
        found: f64,
        /// Whose needs.
        species: String,
        /// Its range.
        span: Span,
    },
    /// New water is far from the water it would go into.
    Swap {
        /// Temperature (°C) or pH.
        measure: Measure,
        /// Of the new water.
        found: f64,
        /// The place it would go into.
        place: String,
        /// The value there.
        there: f64,
    },
    /// This pH and alkalinity cannot be true of one water.
    Contradiction {
        /// pH.
        ph: f64,
        /// Alkalinity, mg/L as CaCO3.
        alkalinity: f64,
    },
    /// The carbon dioxide read is not that of the pH and alkalinity.
    CarbonDioxideContradiction {
        /// As it was read, mg/L.
        read: f64,
        /// pH.
        ph: f64,
        /// Alkalinity, mg/L as CaCO3, and the carbon dioxide of it at that pH, mg/L; `None` where it was not read, and no
        /// water of a fish house has so much of it.
        implied: Option<(f64, f64)>,
    },
}

/// What cannot wait, the gravest first.
pub fn reasons(judged: &Judged<'_>, limits: &Limits) -> Vec<Reason> {
    let mut found = Vec::new();
    found.extend(chlorine(judged, limits));
    found.extend(oxygen(judged, limits));
    let contradiction = contradiction(judged);
    found.extend(ammonia(judged, limits));
    let of_gas = matches!(contradiction, Some(Reason::CarbonDioxideContradiction { .. }));
    if !of_gas {
        found.extend(carbon_dioxide(judged, limits));
    }
    found.extend(contradiction);
    found.extend(far(judged, limits, Measure::TempC));
    found.extend(far(judged, limits, Measure::Ph));
    found
}

impl Judged<'_> {
    fn any_fresh(&self, measures: &[Measure]) -> bool {
        measures.iter().any(|measure| self.fresh.contains(measure))
    }
}

/// NH3, mg/L as N, with the pH and the temperature (and whether that was read) it was worked out with.
struct Unionised {
    nh3: f64,
    ph: Option<f64>,
    celsius: Option<(f64, bool)>,
}

impl Known {
    /// NH3, mg/L as N, and what it was worked out with; `None` where too little is known or the formula does not hold: below
    /// pH 6 there is next to none.
    fn unionised(&self) -> Option<Unionised> {
        if let Some(nh3) = self.nh3 {
            return Some(Unionised { nh3: nh3.get(), ph: None, celsius: None });
        }
        let (ammonia, ph) = (self.ammonia?, self.ph?);
        let (celsius, read) = match self.temperature {
            Some(read) => (read, true),
            None => (Celsius::new(HOUSE).ok()?, false),
        };
        let nh3 = unionised_ammonia(ammonia, celsius, ph, self.salinity).ok()?;
        Some(Unionised { nh3: nh3.get(), ph: Some(ph.get()), celsius: Some((celsius.get(), read)) })
    }

    fn oxygen(&self) -> Option<f64> {
        if let Some(oxygen) = self.oxygen {
            return Some(oxygen.get());
        }
        let celsius = self.temperature.or_else(|| Celsius::new(HOUSE).ok())?;
        let full = oxygen_saturation(celsius, self.salinity, None).ok()?;
        Some(self.oxygen_percent?.get() / 100.0 * full.get())
    }

    fn value(&self, measure: Measure) -> Option<f64> {
        match measure {
            Measure::TempC => self.temperature.map(Celsius::get),
            Measure::Ph => self.ph.map(Ph::get),
            _ => None,
        }
    }
}

fn ammonia(judged: &Judged<'_>, limits: &Limits) -> Option<Reason> {
    let inputs = [Measure::TanMgL, Measure::Nh3MgL, Measure::Ph, Measure::TempC, Measure::SalPpt];
    if !judged.fish || judged.body == Body::Tap || !judged.any_fresh(&inputs) {
        return None;
    }
    let Unionised { nh3, ph, celsius } = judged.known.unionised()?;
    let over = if nh3 > limits.acute {
        Over::Acute
    } else if nh3 > limits.long_term && matches!(judged.body, Body::Tank | Body::EmptyTank) {
        Over::LongTerm
    } else {
        return None;
    };
    Some(Reason::Ammonia {
        nh3,
        at_least: judged.known.over.iter().any(|measure| inputs[..3].contains(measure)),
        over,
        limit: if over == Over::Acute { limits.acute } else { limits.long_term },
        ph,
        celsius,
    })
}

fn oxygen(judged: &Judged<'_>, limits: &Limits) -> Option<Reason> {
    let inputs = [Measure::DoMgL, Measure::DoPercent];
    let bound = inputs.iter().any(|measure| judged.known.over.contains(measure));
    if !judged.fish || judged.body == Body::Tap || bound || !judged.any_fresh(&inputs) {
        return None;
    }
    let oxygen = judged.known.oxygen().filter(|oxygen| *oxygen < limits.oxygen)?;
    Some(Reason::Oxygen { oxygen, limit: limits.oxygen })
}

fn carbon_dioxide(judged: &Judged<'_>, limits: &Limits) -> Option<Reason> {
    let limit = match judged.body {
        Body::Bag => limits.carbon_dioxide_bag,
        Body::Tray | Body::Tank | Body::EmptyTank => limits.carbon_dioxide,
        Body::Tap => return None,
    };
    let read = judged.known.carbon_dioxide?.get();
    (judged.fish && judged.any_fresh(&[Measure::Co2MgL]) && read > limit)
        .then_some(Reason::CarbonDioxide { read, limit })
}

fn chlorine(judged: &Judged<'_>, limits: &Limits) -> Option<Reason> {
    let chlorine = judged.known.chlorine?.get();
    (judged.animals && judged.any_fresh(&[Measure::ChlorineMgL]) && chlorine > limits.chlorine)
        .then_some(Reason::Chlorine { chlorine, limit: limits.chlorine })
}

fn contradiction(judged: &Judged<'_>) -> Option<Reason> {
    let known = judged.known;
    let inputs = [Measure::Ph, Measure::AlkMgL, Measure::Co2MgL];
    let salt = known.salinity.is_some_and(|salinity| salinity.get() > NOT_FRESH);
    let bound = inputs.iter().any(|measure| known.over.contains(measure));
    if salt || bound || !judged.any_fresh(&inputs) {
        return None;
    }
    let ph = known.ph?;
    let celsius = known.temperature.or_else(|| Celsius::new(HOUSE).ok())?;
    let ammonia = known.ammonia.or_else(|| TotalAmmoniaN::new(0.0).ok())?;
    let of = |alkalinity| FreshWater::new(celsius, ph, alkalinity, ammonia)?.carbon_dioxide();
    let Some(alkalinity) = known.alkalinity else {
        // So much CO2 at this pH would need more alkalinity than any water of a fish house has.
        let most = AlkalinityCaCO3::new(Measure::AlkMgL.plausible().1).ok()?;
        let read = known.carbon_dioxide?.get();
        let fits = of(most).is_ok_and(|most| read <= FACTOR * most.get() + STEP);
        return (!fits).then_some(Reason::CarbonDioxideContradiction { read, ph: ph.get(), implied: None });
    };
    match of(alkalinity) {
        Err(Unsound::Contradiction { ph, alkalinity }) => Some(Reason::Contradiction { ph, alkalinity }),
        Err(_) => None,
        Ok(implied) => {
            let (read, implied) = (known.carbon_dioxide?.get(), implied.get());
            let apart = read > FACTOR * implied || implied > FACTOR * read;
            (apart && (read - implied).abs() > STEP).then_some(Reason::CarbonDioxideContradiction {
                read,
                ph: ph.get(),
                implied: Some((alkalinity.get(), implied)),
            })
        }
    }
}

/// Temperature or pH far from what the fish need or, of a tap, from the water it would go into: of these the farthest.
fn far(judged: &Judged<'_>, limits: &Limits, measure: Measure) -> Option<Reason> {
    let found = judged.known.value(measure).filter(|_| judged.any_fresh(&[measure]))?;
    let (margin, gap) = match measure {
        // Half of the water swapped moves the temperature by half of the difference.
        Measure::TempC => (limits.needs_temperature, 2.0 * limits.swap_temperature),
        _ => (limits.needs_ph, limits.swap_ph),
    };
    let apart = |there: f64| (found - there).abs();
    let swapped = judged.swapped_into.iter().filter_map(|(place, known)| Some((place, known.value(measure)?)));
    let farthest = swapped
        .filter(|_| judged.body == Body::Tap)
        .max_by(|(_, one), (_, other)| apart(*one).total_cmp(&apart(*other)));
    if let Some((place, there)) = farthest {
        return (apart(there) > gap).then(|| Reason::Swap { measure, found, place: place.clone(), there });
    }
    // A house has one pH for many fish and knows it; a temperature that is off is a heater.
    let told = judged.body == Body::Tap || judged.body == Body::Tank && measure == Measure::TempC;
    if !told || !judged.fish {
        return None;
    }
    let span = |needs: &Needs| if measure == Measure::TempC { needs.temperature } else { needs.ph };
    let off = |span: Span| f64::max(span.low - found, found - span.high);
    let worst = judged.needs.iter().max_by(|one, other| off(span(one)).total_cmp(&off(span(other))))?;
    let span = span(worst);
    (off(span) > margin).then(|| Reason::Needs { measure, found, species: worst.species.clone(), span })
}

#[cfg(test)]
mod tests;
