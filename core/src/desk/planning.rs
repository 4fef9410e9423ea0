//! The plan for a bag: what is known of it and of the tank, what the list lets expect, and what must be measured first.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, Duration, Utc};

use super::census::place_of;
use super::draft::{Draft, Stop};
use super::place::Where;
use crate::consignment::{LineKey, Pack};
use crate::journal::{Entry, Logged, Spot};
use crate::message::{Act, Place, Said};
use crate::quantity::{
    AlkalinityCaCO3, CarbonDioxideMicroatm, Celsius, ConductivityUsCm, Measure, OxygenMgL, OxygenPercent, Ph,
    SalinityPpt, TotalAmmoniaN,
};
use crate::say;
use crate::say::plan::{Assumed, Basis, Lacking, PlanLine};
use crate::settings::{self, AmmoniaBasis};
use crate::species::{Sensitivity, Species, Water as Home};
use crate::water::plan::{Bag, PlanLimits, SaltWater, Tolerance, Water, plan};
use crate::water::{FreshWater, Unsound, oxygen_saturation, salinity_from_conductivity};

/// Alkalinity of the water fish are packed in where nobody told, mg/L as CaCO3: soft water, as of the trade's places of
/// origin. A choice; the plan says that it was taken.
const PACKING_ALKALINITY: f64 = 50.0;
/// Temperature on the way where nobody read it, °C. A choice; the forecast is wider for it.
const ON_THE_WAY: f64 = 24.0;
/// From this salinity on the carbonate system of fresh water does not hold, ppt. Fresh-water fish are packed with up to 3.
const SALT: f64 = 4.0;
/// A bag is rich in carbon dioxide from here on, mg/L: what hauling of warm-water fish keeps below is 20 (World Aquaculture
/// 2007), and it anaesthetises from 150 on (Post 1979). Between them a choice.
const RICH_IN_CARBON_DIOXIDE: f64 = 60.0;
/// And sour below this pH. A choice.
const SOUR: f64 = 6.6;

/// The last value of each measure.
#[derive(Debug, Clone, Default)]
struct Readings(BTreeMap<Measure, f64>);

impl Readings {
    fn of<T>(&self, measure: Measure, make: impl Fn(f64) -> Result<T, crate::quantity::Impossible>) -> Option<T> {
        // What cannot be was refused when it was said.
        self.0.get(&measure).and_then(|value| make(*value).ok())
    }

    fn temperature(&self) -> Option<Celsius> {
        self.of(Measure::TempC, Celsius::new)
    }

    fn ph(&self) -> Option<Ph> {
        self.of(Measure::Ph, Ph::new)
    }

    fn alkalinity(&self) -> Option<AlkalinityCaCO3> {
        self.of(Measure::AlkMgL, AlkalinityCaCO3::new)
    }

    fn ammonia(&self, kit: Option<AmmoniaBasis>) -> Option<TotalAmmoniaN> {
        match kit {
            Some(AmmoniaBasis::Ammonia) => self.of(Measure::TanMgL, TotalAmmoniaN::from_mg_l_as_nh3),
            Some(AmmoniaBasis::Nitrogen) | None => self.of(Measure::TanMgL, TotalAmmoniaN::new),
        }
    }

    fn oxygen(&self) -> Option<OxygenMgL> {
        self.of(Measure::DoMgL, OxygenMgL::new).or_else(|| {
            let percent = self.of(Measure::DoPercent, OxygenPercent::new)?;
            let full = oxygen_saturation(self.temperature()?, None, None).ok()?;
            OxygenMgL::new(full.get() * percent.get() / 100.0).ok()
        })
    }

    fn salinity(&self) -> Option<SalinityPpt> {
        self.of(Measure::SalPpt, SalinityPpt::new).or_else(|| {
            let conductivity = self.of(Measure::CondUsCm, ConductivityUsCm::new)?;
            salinity_from_conductivity(conductivity, Celsius::new(25.0).ok()?).ok()
        })
    }
}

/// What is known of a water, and what is not.
struct Known {
    temperature: Celsius,
    ph: Ph,
    ammonia: TotalAmmoniaN,
    alkalinity: Option<AlkalinityCaCO3>,
    salinity: Option<SalinityPpt>,
}

impl From<&settings::Settings> for PlanLimits {
    fn from(settings: &settings::Settings) -> Self {
        let water = &settings.water;
        PlanLimits {
            gas_exchange: water.gas_exchange.get(),
            room_air: water.room_air.get(),
            temperature_step: water.temperature_step.get(),
            float_half_minutes: f64::from(water.float_half_minutes),
            ph_step: water.ph_step.get(),
            salinity_step: water.salinity_step.get(),
            oxygen: water.oxygen_first.get(),
            pour: f64::from(water.pour_percent) / 100.0,
            pour_minutes: water.pour_minutes,
            pours: water.pours,
            drip_parts: water.drip_parts.get(),
            drip_minutes: water.drip_minutes,
            long_term_nh3: settings.alarm.nh3_long_term.get(),
            acute_nh3: settings.alarm.nh3_acute.get(),
        }
    }
}

impl Draft<'_> {
    /// How to bring the fish of a place over, into the tank that was named or that follows from the books.
    pub(super) fn plan_for(&mut self, at: Option<&Place>, act: &Said) -> Result<String, Stop> {
        let into = self.planned_into.clone();
        let Some(at) = at else { return Ok(say::plan::which_bag(None)) };
        let from = self.find(at, act)?;
        let name = say::place::name(at);
        if matches!(from, Where::Tank(_) | Where::Lot(..)) && into.is_none() {
            return Ok(say::plan::which_bag(Some(&name)));
        }
        let lines = self.lines_at(&from);
        let into = match into {
            Some(place) if place != *at => self.find(&place, act)?.vessel().map(str::to_owned),
            _ => self.tank_of(&lines),
        };
        let Some(into) = into else { return Ok(say::plan::into_which(&name)) };
        let fish = lines.iter().find_map(|line| self.known_species(*line));
        Ok(self.plan_between((&from, &name), &into, fish))
    }

    fn plan_between(&self, (from, name): (&Where, &str), into: &str, fish: Option<&'static Species>) -> String {
        let closed = matches!(from, Where::Bag(_) | Where::Box(_));
        let mut assumed = Vec::new();
        let (bag, basis) = self.bag_known(from, fish, &mut assumed);
        let tank = self.tank_known(into, fish, &mut assumed);
        let (bag, tank) = match (bag, tank) {
            (Ok(bag), Ok(tank)) => (bag, tank),
            (bag, tank) => {
                let lacking = |known: Result<Known, Vec<Lacking>>| known.err().unwrap_or_default();
                return say::plan::measure_first((name, closed), &lacking(bag), into, &lacking(tank));
            }
        };
        let limits = PlanLimits::from(self.settings);
        let oxygen = self.readings_of(from).oxygen();
        let planned = water_of(&bag, Rest::InABag, &limits, &mut assumed).and_then(|water| {
            let tank = water_of(&tank, Rest::UnderAir, &limits, &mut assumed)?;
            plan(&Bag { water, oxygen }, &tank, fish.map(tolerance).as_ref(), &limits)
        });
        match planned {
            Err(unsound) => say::plan::unsound(name, &unsound.to_string()),
            Ok(plan) => {
                assumed.sort();
                assumed.dedup();
                say::plan::plan(&PlanLine {
                    from: name.to_owned(),
                    closed,
                    into: into.to_owned(),
                    plan: &plan,
                    basis,
                    assumed,
                    tank_celsius: tank.temperature.get(),
                    near: limits.temperature_step,
                    litres: None,
                    fish: fish.map(|fish| fish.name().to_owned()),
                    scale: self.settings.temperature,
                })
            }
        }
    }

    /// What a bag's water is: as read, and as far as it was not read, as the list lets expect.
    fn bag_known(
        &self,
        from: &Where,
        fish: Option<&'static Species>,
        assumed: &mut Vec<Assumed>,
    ) -> (Result<Known, Vec<Lacking>>, Basis) {
        let read = self.readings_of(from);
        let (temperature, ph, ammonia) = (read.temperature(), read.ph(), read.ammonia(self.settings.kit.ammonia));
        let expected = match (ph, ammonia, from) {
            (Some(_), Some(_), _) | (_, _, Where::Tray(_) | Where::Tank(_) | Where::Lot(..)) => None,
            (_, _, Where::Box(of)) => self.expected(of.loose()),
            (_, _, Where::Bag(pack)) => self.expected(*pack),
        };
        let basis = match (ph, ammonia) {
            (Some(_), Some(_)) => Basis::Read,
            (None, None) => Basis::Forecast,
            (Some(_), None) => Basis::ForecastAmmonia,
            (None, Some(_)) => Basis::ForecastPh,
        };
        if expected.is_some() {
            assumed.push(Assumed::PackingWater);
        }
        let ph = ph.or_else(|| expected.as_ref()?.ph().ok());
        let ammonia = ammonia.or_else(|| expected.as_ref()?.ammonia().ok());
        let temperature = temperature.or_else(|| expected.as_ref()?.temperature().ok());
        let alkalinity = read.alkalinity();
        (known(temperature, ph, ammonia, alkalinity, read.salinity(), fish), basis)
    }

    /// What a tank's water is.
    fn tank_known(
        &self,
        into: &str,
        fish: Option<&'static Species>,
        assumed: &mut Vec<Assumed>,
    ) -> Result<Known, Vec<Lacking>> {
        let read = self.last_values(&[Spot::Vessel(into.to_owned())]);
        let ammonia = read.ammonia(self.settings.kit.ammonia).or_else(|| {
            assumed.push(Assumed::NoAmmoniaInTank);
            TotalAmmoniaN::new(0.0).ok()
        });
        known(read.temperature(), read.ph(), ammonia, read.alkalinity(), read.salinity(), fish)
    }

    /// The last reading of each measure at these places. After a water change or a dose what was read before holds no more.
    fn last_values(&self, spots: &[Spot]) -> Readings {
        let mut entries: Vec<&Entry> =
            self.state.entries.values().map(AsRef::as_ref).filter(|entry| spots.contains(&entry.spot)).collect();
        entries.sort_by_key(|entry| entry.at);
        let mut last = BTreeMap::new();
        for entry in entries {
            match &entry.what {
                Logged::Act(Said { act: Act::Reading(water), .. }) => {
                    last.extend(water.values.iter().map(|(measure, value)| (*measure, value.get())));
                }
                Logged::Act(Said { act: Act::Swap { .. } | Act::Dose { .. }, .. }) => last.clear(),
                _ => {}
            }
        }
        Readings(last)
    }

    /// What was read of a bag, or of its box where the box was read as a whole; of a box, in any of its bags.
    fn readings_of(&self, from: &Where) -> Readings {
        match from {
            Where::Bag(pack) => {
                let mut read = self.last_values(&[Spot::Pack(pack.of.loose())]);
                read.0.extend(self.last_values(&[from.spot()]).0);
                read
            }
            Where::Box(of) => {
                let mut spots: Vec<Spot> = self.state.packs_of(*of).into_iter().map(Spot::Pack).collect();
                spots.push(Spot::Pack(of.loose()));
                self.last_values(&spots)
            }
            Where::Tray(_) | Where::Tank(_) | Where::Lot(..) => self.last_values(&[from.spot()]),
        }
    }

    /// The tank into which fish of these kinds of the consignment went last.
    fn tank_of(&self, lines: &BTreeSet<LineKey>) -> Option<String> {
        let same = |line: &LineKey| {
            lines
                .iter()
                .any(|of| of.consignment == line.consignment && self.state.species(*of) == self.state.species(*line))
        };
        let went = self.state.lots.values().filter(|lot| same(&lot.line)).max_by_key(|lot| lot.since);
        went.map(|lot| lot.tank.clone())
    }

    /// What to expect in a bag by the list and by the bags of its consignment already read. `None` where that is not known.
    fn expected(&self, pack: Pack) -> Option<FreshWater> {
        let opened = self.state.bags.get(&pack).and_then(|bag| bag.opened);
        let until = opened.or_else(|| self.state.boxes.get(&pack.of)?.opened).unwrap_or(self.now);
        Some(self.forecast_of_box(pack.of, &self.learned(pack.of.consignment), until)?.forecast.water)
    }

    /// Fish counted dead out of sour water rich in carbon dioxide may come round: they are looked at again before the count
    /// is final, and the clock says so.
    pub(super) fn look_at_the_dead_again(&mut self, pack: Pack, at: DateTime<Utc>) {
        let place = place_of(pack);
        let name = say::place::name(&place);
        let due = at + Duration::minutes(i64::from(self.settings.water.look_again));
        // Once for a bag: the look that the first count set, or that somebody asked for sooner, stands.
        if due <= self.now || self.state.looks.get(&name).is_some_and(|look| look.due <= due) || !self.is_stunning(pack)
        {
            return;
        }
        self.ask_for_look(&name, due, None);
        self.also.push(say::plan::look_again(&place, self.settings.water.look_again));
    }

    /// Whether the last reading of a bag was sour and rich in carbon dioxide: fish that lie still in it may come round.
    pub(super) fn is_stunning(&self, pack: Pack) -> bool {
        let read = self.readings_of(&Where::Bag(pack));
        let Some(ph) = read.ph() else { return false };
        if let Some(rich) = read.0.get(&Measure::Co2MgL) {
            return *rich >= RICH_IN_CARBON_DIOXIDE;
        }
        let ammonia = read.ammonia(self.settings.kit.ammonia).or_else(|| TotalAmmoniaN::new(0.0).ok());
        let (Some(ammonia), true) = (ammonia, ph.get() < SOUR) else { return false };
        let Some(temperature) = read.temperature().or_else(|| Celsius::new(ON_THE_WAY).ok()) else { return false };
        let alkalinity = read.alkalinity().or_else(|| fouled_alkalinity(ammonia));
        let water = alkalinity.and_then(|alkalinity| FreshWater::new(temperature, ph, alkalinity, ammonia).ok());
        let rich = water.and_then(|water| water.carbon_dioxide().ok());
        rich.is_some_and(|rich| rich.get() >= RICH_IN_CARBON_DIOXIDE)
    }
}

/// A question for a plan that names where the fish go: what is asked, and the place. `None` for any other text.
pub(super) fn parts(text: &str) -> Option<(&str, &str)> {
    let text = text.trim().trim_end_matches(['?', '.', '!']);
    let mut words = text.split_whitespace();
    words.find(|word| word.trim_matches(|letter: char| !letter.is_alphabetic()).eq_ignore_ascii_case("plan"))?;
    [" into ", " to "]
        .into_iter()
        .filter_map(|word| text.rsplit_once(word))
        .map(|(asked, into)| (asked, into.trim()))
        .next()
}

/// The alkalinity of a bag's water of which only the ammonia is known: that of soft packing water, and what the ammonia
/// made, 3.573 mg/L as CaCO3 for each mg/L as N.
fn fouled_alkalinity(ammonia: TotalAmmoniaN) -> Option<AlkalinityCaCO3> {
    AlkalinityCaCO3::new(PACKING_ALKALINITY + 3.573 * ammonia.get()).ok()
}

fn known(
    temperature: Option<Celsius>,
    ph: Option<Ph>,
    ammonia: Option<TotalAmmoniaN>,
    alkalinity: Option<AlkalinityCaCO3>,
    salinity: Option<SalinityPpt>,
    fish: Option<&'static Species>,
) -> Result<Known, Vec<Lacking>> {
    let salt_of_sea = fish.is_none_or(|fish| fish.water != Home::Marine) || salinity.is_some();
    match (temperature, ph, ammonia) {
        (Some(temperature), Some(ph), Some(ammonia)) if salt_of_sea => {
            Ok(Known { temperature, ph, ammonia, alkalinity, salinity })
        }
        _ => {
            let lacking = [
                (temperature.is_none(), Lacking::Temperature),
                (ph.is_none(), Lacking::Ph),
                (ammonia.is_none(), Lacking::Ammonia),
                (!salt_of_sea, Lacking::Salinity),
            ];
            Err(lacking.into_iter().filter(|(lacks, _)| *lacks).map(|(_, lacking)| lacking).collect())
        }
    }
}

/// How a water came to be what it is: what may be taken for granted of its alkalinity.
#[derive(Clone, Copy, PartialEq)]
enum Rest {
    /// Fish have lived in it, closed.
    InABag,
    /// It has stood under the room's air.
    UnderAir,
}

fn water_of(known: &Known, rest: Rest, limits: &PlanLimits, assumed: &mut Vec<Assumed>) -> Result<Water, Unsound> {
    let Known { temperature, ph, ammonia, alkalinity, salinity } = *known;
    if let Some(salinity) = salinity.filter(|salinity| salinity.get() >= SALT) {
        return Ok(Water::Salt(SaltWater { temperature, ph, ammonia, salinity }));
    }
    let water = match (alkalinity, rest) {
        (Some(alkalinity), _) => FreshWater::new(temperature, ph, alkalinity, ammonia)?,
        (None, Rest::InABag) => {
            assumed.push(Assumed::PackingWater);
            let alkalinity = AlkalinityCaCO3::new(PACKING_ALKALINITY + 3.573 * ammonia.get())?;
            FreshWater::new(temperature, ph, alkalinity, ammonia)?
        }
        (None, Rest::UnderAir) => {
            assumed.push(Assumed::TankAlkalinity);
            FreshWater::at_rest(temperature, ph, ammonia, CarbonDioxideMicroatm::new(limits.room_air)?)?
        }
    };
    Ok(Water::Fresh(water))
}

fn tolerance(fish: &'static Species) -> Tolerance {
    Tolerance {
        celsius: (fish.temp_c.low, fish.temp_c.high),
        ph: (fish.ph.low, fish.ph.high),
        delicate: fish.sensitivity == Sensitivity::Delicate,
    }
}
