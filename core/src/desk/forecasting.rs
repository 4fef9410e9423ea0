//! What to expect in bags that are still closed: from the packing list, the settings, and the bags already opened.

use std::collections::BTreeSet;

use chrono::{DateTime, Duration, Utc};

use super::draft::Draft;
use crate::consignment::{BoxKey, ConsignmentNo, LineKey, Pack, Size, Standing};
use crate::journal::{Logged, Spot};
use crate::message::{Act, Said};
use crate::quantity::{AlkalinityCaCO3, CarbonDioxideMicroatm, Celsius, Finite, Ph, TotalAmmoniaN};
use crate::species::{self, Kind, Match, Water};
use crate::watch::clock;
use crate::water::{Forecast, FreshWater, Learned, Measured, Missing, SealedBag, Unsound, mass_from_length};

/// What is taken where nothing was told; each makes the forecast wider. An Asian exporter's boxes weigh 15 to 19 kg gross,
/// of which about 3 are packing and fish; a third of a bag is water; the other values are choices.
const BOX_LITRES: f64 = 12.0;
/// g/L measured in bags of the trade: 102 from Florida, 87 from Asia on average (Trans. Am. Fish. Soc. 1982). Where no litres
/// and no weight were told, the load is taken half way, by its logarithm, between this and that of a full box of water.
const TRADE_LOAD: f64 = 94.0;
const PACKING_KG: f64 = 3.0;
const HEADSPACE: f64 = 2.0;
const OXYGEN_SHARE: f64 = 0.9;
const HOURS: f64 = 30.0;
const ON_THE_WAY: f64 = 24.0;
const ALKALINITY: f64 = 50.0;
const PACKED_AT_PH: f64 = 7.5;
const LENGTH_CM: f64 = 3.0;
/// Where only the date of packing is known: noon.
const NOON: &str = "T12:00";
/// A pH read later than this after the bag was opened is that of water that carbon dioxide has left.
const STILL_SEALED: Duration = Duration::minutes(10);

/// What to expect of a box: that of its worst bag.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct BoxForecast {
    /// What to expect.
    pub forecast: Forecast,
    /// The fish of that bag.
    pub line: LineKey,
}

impl Draft<'_> {
    /// What to expect of a box by the bag that will have most NH3 once carbon dioxide has left it. `None` where it holds no
    /// fresh-water fish, where neither a length of the fish nor the hours are known, or where the chemistry does not reach.
    pub(super) fn forecast_of_box(&self, of: BoxKey, learned: &Learned, at: DateTime<Utc>) -> Option<BoxForecast> {
        let air = CarbonDioxideMicroatm::new(self.settings.water.room_air.get()).ok()?;
        let lines: BTreeSet<u32> = self.lines_of_box(of).into_iter().collect();
        let forecasts = lines.into_iter().filter_map(|line| {
            let key = self.key(of, line);
            let (bag, missing) = self.sealed_bag(of, key, at)?;
            Some(BoxForecast { forecast: bag.forecast(learned, &missing, air).ok()?, line: key })
        });
        forecasts.max_by(|one, other| {
            let nh3 = |of: &BoxForecast| of.forecast.nh3_opened.mid;
            nh3(one).total_cmp(&nh3(other)).then(other.line.cmp(&one.line))
        })
    }

    /// What the bags of a consignment that were opened and read have taught.
    pub(super) fn learned(&self, no: ConsignmentNo) -> Learned {
        let mut learned = Learned::default();
        let packs: BTreeSet<Pack> = self
            .state
            .entries
            .values()
            .filter_map(|entry| match (&entry.spot, &entry.what) {
                (Spot::Pack(pack), Logged::Act(Said { act: Act::Reading(_), .. })) => Some(*pack),
                _ => None,
            })
            .filter(|pack| pack.of.consignment == no)
            .collect();
        for pack in packs {
            // Readings that cannot be true teach nothing; the crew was told to measure again.
            let _: Option<Result<(), Unsound>> = self.teach(&mut learned, pack);
        }
        learned
    }

    fn teach(&self, learned: &mut Learned, pack: Pack) -> Option<Result<(), Unsound>> {
        let opened = self.state.bags.get(&pack).and_then(|bag| bag.opened);
        let opened = opened.or_else(|| self.state.boxes.get(&pack.of).and_then(|record| record.opened))?;
        let known = self.known_water(&Spot::Pack(pack), opened + STILL_SEALED);
        let counted = self.state.bags.get(&pack).and_then(|bag| bag.census.keys().next().copied());
        let line = counted.or_else(|| self.lines_of_box(pack.of).first().copied())?;
        let (mut bag, missing) = self.sealed_bag(pack.of, self.key(pack.of, line), opened)?;
        bag.temperature = known.temperature.unwrap_or(bag.temperature);
        let measured = Measured { ammonia: known.ammonia, ph: known.ph, alkalinity: known.alkalinity };
        Some(learned.learn(&bag, measured, &missing))
    }

    /// A bag of this line in this box as it was sealed, and what of it is not known; opened at `at`.
    fn sealed_bag(&self, of: BoxKey, key: LineKey, at: DateTime<Utc>) -> Option<(SealedBag, Vec<Missing>)> {
        let bags = &self.settings.bags;
        let consignment = self.state.consignments.get(&of.consignment)?;
        let line = self.state.line(key)?;
        let species = self.known_species(key);
        let marine = match species::resolve(&line.species, line.scientific.as_deref()) {
            Match::One(one) => one.water == Water::Marine,
            Match::Several(several) => several.iter().all(|one| one.water == Water::Marine),
            Match::None => false,
        };
        if line.kind != Kind::Fish || marine {
            return None;
        }
        let mut missing = Vec::new();
        let mut or = |known: Option<f64>, otherwise: f64, what: Missing| {
            known.unwrap_or_else(|| {
                missing.push(what);
                otherwise
            })
        };
        let hours = consignment.packed_at.as_deref().and_then(|packed| {
            let exact = packed.contains('T');
            let text = if exact { packed.to_owned() } else { format!("{packed}{NOON}") };
            let packed = clock::until_local(&text, self.settings.zone)?;
            let hours = (at - packed).num_minutes() as f64 / 60.0;
            (hours > 0.0).then_some((hours, exact))
        });
        let size = line.size.as_deref().and_then(Size::read);
        // Of a size code alone, or of hours assumed for fish of which nothing is known, a forecast says nothing.
        if hours.is_none() && !matches!(size, Some(Size::Length(_))) {
            return None;
        }
        let told = |number: Option<Finite>| number.map(Finite::get);
        let length = or(
            match size {
                Some(Size::Length(cm)) => Some(cm),
                _ => None,
            },
            match size {
                Some(Size::Bare(cm)) => cm,
                Some(Size::Code(code)) => species.map_or(LENGTH_CM, |species| code.length(species.adult_size_cm)),
                _ => species.map_or(LENGTH_CM, |species| f64::min(LENGTH_CM, species.adult_size_cm)),
            },
            Missing::Size,
        );
        let (fish, in_box) = self.fish_in_a_bag(of, key)?;
        let boxes = self.state.boxes_of(of.consignment).count().max(1) as f64;
        let by_weight = consignment
            .gross_kg
            .and_then(|gross| rust_decimal::prelude::ToPrimitive::to_f64(&gross))
            .map(|gross| gross / boxes - PACKING_KG)
            .filter(|litres| (2.0..=40.0).contains(litres));
        let of_bag = told(bags.litres_bag).or(told(bags.litres_box).map(|litres| litres / in_box));
        let guessed = of_bag.is_none() && by_weight.is_none();
        let litres = or(of_bag, by_weight.unwrap_or(BOX_LITRES) / in_box, Missing::Litres);
        let exact = hours.filter(|(_, exact)| *exact).map(|(hours, _)| hours);
        let hours = or(exact, hours.map_or(HOURS, |(hours, _)| hours), Missing::Hours);
        let temperature = told(bags.temperature).or_else(|| self.temperature_of_opened(of.consignment));
        let celsius = Celsius::new(or(temperature, ON_THE_WAY, Missing::Temperature)).ok()?;
        let alkalinity = AlkalinityCaCO3::new(or(told(bags.alkalinity), ALKALINITY, Missing::PackingWater)).ok()?;
        let packed_in =
            FreshWater::new(celsius, Ph::new(PACKED_AT_PH).ok()?, alkalinity, TotalAmmoniaN::new(0.0).ok()?).ok()?;
        let load = f64::from(fish) * mass_from_length(length).ok()? / litres;
        let load = if guessed { (load * TRADE_LOAD).sqrt() } else { load };
        let headspace = told(bags.headspace).unwrap_or(HEADSPACE);
        let bag = SealedBag { load, headspace, oxygen_share: OXYGEN_SHARE, hours, temperature: celsius, packed_in };
        Some((bag, missing))
    }

    /// How many fish of a line are in one bag, and how many bags are in the box.
    fn fish_in_a_bag(&self, of: BoxKey, key: LineKey) -> Option<(u32, f64)> {
        let record = self.state.boxes.get(&of)?;
        let contents = record.contents.iter().filter(|content| content.line == key.line);
        let fish = contents.map(|content| content.fish.div_ceil(content.bags.unwrap_or(1).max(1))).max()?;
        Some((fish, f64::from(self.state.listed_bags(of).max(1))))
    }

    /// The middle of the temperatures that were read in the bags of a consignment as they were opened.
    fn temperature_of_opened(&self, no: ConsignmentNo) -> Option<f64> {
        let readings = self.state.entries.values().filter_map(|entry| match (&entry.spot, &entry.what) {
            (Spot::Pack(pack), Logged::Act(Said { act: Act::Reading(water), .. })) if pack.of.consignment == no => {
                water.values.get(&crate::quantity::Measure::TempC)
            }
            _ => None,
        });
        let mut read: Vec<f64> = readings.map(|value| value.get()).collect();
        read.sort_by(f64::total_cmp);
        read.get(read.len() / 2).copied()
    }

    /// Boxes that wait to be opened.
    pub(super) fn waiting_boxes(&self) -> Vec<BoxKey> {
        self.state
            .open_consignments()
            .flat_map(|(no, _)| self.state.boxes_of(no).collect::<Vec<_>>())
            .filter(|(_, record)| record.opened.is_none() && record.standing == Standing::Expected)
            .map(|(key, _)| key)
            .collect()
    }
}
