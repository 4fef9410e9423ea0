//! What cannot wait after a reading or a sign: it is said in the same answer.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, Duration, Utc};

use super::draft::Draft;
use super::place::{TAP, Where, vessel_place};
use crate::consignment::Standing;
use crate::journal::{Logged, Spot};
use crate::message::{Act, Place, Said, Sign, VesselKind, Water};
use crate::quantity::{
    AlkalinityCaCO3, CarbonDioxideMgL, Celsius, ChlorineMgL, Finite, Measure, OxygenMgL, OxygenPercent, Ph,
    SalinityPpt, TotalAmmoniaN, UnionisedAmmoniaN,
};
use crate::say;
use crate::settings::AmmoniaBasis;
use crate::species::Kind;
use crate::water::alarm::{Body, Judged, Known, Limits, Needs, Reason, reasons};

/// How long a reading is completed by earlier ones of the same place.
const COMPLETES: Duration = Duration::hours(1);
/// How long a caution that was read is remembered: a night's work.
const SHIFT: Duration = Duration::hours(12);
/// What is taken for a swap where no tank's litres are known, and of a tank's water where they are.
const SWAP_LITRES: f64 = 100.0;
const SWAP_SHARE: f64 = 0.5;

impl Draft<'_> {
    /// Says at once what is wrong with water that was just read.
    pub(super) fn alarm_of_reading(&mut self, water: &Water, found: &Where, at: DateTime<Utc>) {
        let body = self.body_of(found);
        let no_fish = self.no_fish_in(found);
        let fresh: BTreeSet<Measure> = water.values.keys().copied().collect();
        let known = self.known_water(&found.spot(), at);
        let swapped_into = if body == Body::Tap { self.waters_in_use(at) } else { Vec::new() };
        let needs = if body == Body::Tap { self.needs_in_use() } else { self.needs_at(found) };
        let judged = Judged {
            body,
            known: &known,
            fresh: &fresh,
            fish: no_fish.is_none(),
            animals: no_fish.as_ref().is_none_or(|all| all.contains_key(&Kind::Invertebrate)),
            needs: &needs,
            swapped_into: &swapped_into,
        };
        for reason in reasons(&judged, &Limits::from(&self.settings.alarm)) {
            let gloves = matches!(reason, Reason::Chlorine { .. }) && !self.chlorine_was_read(at);
            let litres = self.litres_to_treat(found, body);
            let alarm = say::alarm::Alarm { place: say::place::name(&water.at), body, litres, reason, gloves };
            self.alarm(say::alarm::line(&alarm, &self.settings.alarm, self.settings.temperature));
        }
    }

    /// Says at once what to do about fish that spin, where nobody has read ammonia in the last hour and nothing was said yet.
    pub(super) fn alarm_of_spinning(&mut self, place: &Place, found: &Where, at: DateTime<Utc>) -> bool {
        let known = self.known_water(&found.spot(), at);
        if known.ammonia.is_some() || known.nh3.is_some() {
            return false;
        }
        // The sign itself is in the log already.
        let spun = |act: &&Act| matches!(act, Act::Observe { signs, .. } if signs.contains(&Sign::Spinning));
        if self.acts_at(&found.spot(), at).map(|(_, act)| act).filter(spun).count() > 1 {
            return false;
        }
        let swapped = self.acts_at(&found.spot(), at).any(|(_, act)| matches!(act, Act::Swap { .. }));
        self.alarm(say::alarm::spinning(&say::place::name(place), self.body_of(found), swapped));
        true
    }

    fn alarm(&mut self, line: String) {
        self.also.push(line.clone());
        self.alarms.push(line);
    }

    fn body_of(&self, found: &Where) -> Body {
        match found {
            Where::Box(_) | Where::Bag(_) => Body::Bag,
            Where::Tray(_) => Body::Tray,
            Where::Tank(name) | Where::Lot(_, name) => match self.state.vessels.get(name).map(|vessel| vessel.kind) {
                Some(VesselKind::Tap) => Body::Tap,
                None if name == TAP => Body::Tap,
                Some(VesselKind::Tray) => Body::Tray,
                // A sump is the water of its tanks.
                Some(VesselKind::Sump) => Body::Tank,
                _ if self.state.fish_in_vessel(name) == 0 => Body::EmptyTank,
                _ => Body::Tank,
            },
        }
    }

    /// What was said of a place in the last hour before `at`, oldest first.
    fn acts_at(&self, spot: &Spot, at: DateTime<Utc>) -> impl Iterator<Item = (DateTime<Utc>, &Act)> {
        let mut acts: Vec<(DateTime<Utc>, &Act)> = self
            .state
            .entries
            .values()
            .filter(|entry| entry.spot == *spot && entry.at <= at && at - entry.at <= COMPLETES)
            .filter_map(|entry| match &entry.what {
                Logged::Act(said) => Some((entry.at, &said.act)),
                _ => None,
            })
            .collect();
        acts.sort_by_key(|(at, _)| *at);
        acts.into_iter()
    }

    /// The latest of each value read at a place within the hour. What was read before water was changed, or something was
    /// dosed, is not of this water.
    pub(super) fn known_water(&self, spot: &Spot, at: DateTime<Utc>) -> Known {
        let mut values: BTreeMap<Measure, (Finite, bool)> = BTreeMap::new();
        for (_, act) in self.acts_at(spot, at) {
            match act {
                Act::Reading(water) => {
                    let read =
                        water.values.iter().map(|(measure, value)| (*measure, (*value, water.over.contains(measure))));
                    values.extend(read);
                }
                Act::Swap { .. } | Act::Dose { .. } => values.clear(),
                _ => {}
            }
        }
        let value = |measure| values.get(&measure).map(|(value, _): &(Finite, bool)| value.get());
        let as_nh3 = self.settings.kit.ammonia == Some(AmmoniaBasis::Ammonia);
        let total = if as_nh3 { TotalAmmoniaN::from_mg_l_as_nh3 } else { TotalAmmoniaN::new };
        let unionised = if as_nh3 { UnionisedAmmoniaN::from_mg_l_as_nh3 } else { UnionisedAmmoniaN::new };
        Known {
            temperature: value(Measure::TempC).and_then(|value| Celsius::new(value).ok()),
            ph: value(Measure::Ph).and_then(|value| Ph::new(value).ok()),
            ammonia: value(Measure::TanMgL).and_then(|value| total(value).ok()),
            nh3: value(Measure::Nh3MgL).and_then(|value| unionised(value).ok()),
            alkalinity: value(Measure::AlkMgL).and_then(|value| AlkalinityCaCO3::new(value).ok()),
            oxygen: value(Measure::DoMgL).and_then(|value| OxygenMgL::new(value).ok()),
            oxygen_percent: value(Measure::DoPercent).and_then(|value| OxygenPercent::new(value).ok()),
            carbon_dioxide: value(Measure::Co2MgL).and_then(|value| CarbonDioxideMgL::new(value).ok()),
            chlorine: value(Measure::ChlorineMgL).and_then(|value| ChlorineMgL::new(value).ok()),
            salinity: value(Measure::SalPpt).and_then(|value| SalinityPpt::new(value).ok()),
            over: values.iter().filter(|(_, (_, over))| *over).map(|(measure, _)| *measure).collect(),
        }
    }

    /// Tanks and trays with fish that were read within the hour: tap water goes into one of these next.
    fn waters_in_use(&self, at: DateTime<Utc>) -> Vec<(String, Known)> {
        let spots: BTreeSet<&String> = self
            .state
            .entries
            .values()
            .filter(|entry| entry.at <= at && at - entry.at <= COMPLETES)
            .filter_map(|entry| match (&entry.spot, &entry.what) {
                (Spot::Vessel(name), Logged::Act(Said { act: Act::Reading(_), .. })) => Some(name),
                _ => None,
            })
            .filter(|name| self.state.fish_in_vessel(name) > 0)
            .collect();
        let name = |key: &str| say::place::name(&vessel_place(key));
        spots.into_iter().map(|key| (name(key), self.known_water(&Spot::Vessel(key.clone()), at))).collect()
    }

    fn needs_at(&self, found: &Where) -> Vec<Needs> {
        let known = self.lines_at(found).into_iter().filter(|line| self.kind_of_line(*line) == Kind::Fish);
        known
            .filter_map(|line| self.known_species(line))
            .map(|species| Needs { species: species.name().to_owned(), temperature: species.temp_c, ph: species.ph })
            .collect()
    }

    /// What those fish need that water is swapped for next: in trays, and in boxes that are open and not done.
    fn needs_in_use(&self) -> Vec<Needs> {
        let trays = self.state.vessels.keys().filter(|name| matches!(self.vessel_where(name), Where::Tray(_)));
        let trays = trays.map(|name| self.vessel_where(name));
        let open = self.state.boxes.iter().filter(|(_, record)| {
            record.opened.is_some() && record.finished.is_none() && record.standing == Standing::Expected
        });
        let mut needs: Vec<Needs> =
            trays.chain(open.map(|(key, _)| Where::Box(*key))).flat_map(|found| self.needs_at(&found)).collect();
        needs.sort_by(|one, other| one.species.cmp(&other.species));
        needs.dedup();
        needs
    }

    /// Whether the speaker was told how to handle what takes chlorine away: another reading of chlorine in this shift.
    fn chlorine_was_read(&self, at: DateTime<Utc>) -> bool {
        let told = self.state.entries.values().filter(|entry| {
            entry.by == self.speaker.person
                && at - entry.at < SHIFT
                && matches!(&entry.what, Logged::Act(Said { act: Act::Reading(water), .. })
                    if water.values.get(&Measure::ChlorineMgL).is_some_and(|value| value.get() > 0.0))
        });
        // The reading itself is in the log already.
        told.count() > 1
    }

    /// The litres a dose is worked out for: a vessel's own; of a tap those of a swap of half of the commonest tank.
    fn litres_to_treat(&self, found: &Where, body: Body) -> Option<f64> {
        if body != Body::Tap {
            return self.state.vessels.get(found.vessel()?)?.litres.map(Finite::get);
        }
        let mut sizes: BTreeMap<u64, (usize, f64)> = BTreeMap::new();
        let tanks = self.state.vessels.values().filter(|vessel| vessel.kind == VesselKind::Tank);
        for litres in tanks.filter_map(|tank| tank.litres).map(Finite::get) {
            sizes.entry(litres.to_bits()).or_insert((0, litres)).0 += 1;
        }
        let commonest = sizes.into_values().max_by_key(|(tanks, _)| *tanks);
        Some(commonest.map_or(SWAP_LITRES, |(_, litres)| litres * SWAP_SHARE))
    }
}
