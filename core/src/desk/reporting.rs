//! Reports that change no account: water, swaps, doses, signs, notes, stages, vessels.

use std::collections::BTreeSet;

use chrono::{DateTime, Duration, Utc};

use super::draft::{Done, Draft, Query, Stop};
use super::place::{Where, choices, tray_key};
use crate::consignment::ConsignmentNo;
use crate::journal::{Event, Logged, Matter, Spot, Vessel};
use crate::message::{Act, Place, Said, Sign, Stage, VesselKind, Water};
use crate::people::Power;
use crate::quantity::{Finite, Measure};
use crate::say;

/// How long a caution that was read is remembered, hours: a night's work.
const SHIFT_HOURS: i64 = 12;

impl Draft<'_> {
    /// Water was measured.
    pub(super) fn read_water(&mut self, water: &Water, act: &Said, at: DateTime<Utc>) -> Result<Done, Stop> {
        self.require(Power::RecordCounts)?;
        let place = self.find_and_open(&water.at, act, at)?;
        let basis_known = self.settings.kit.ammonia.is_some() || self.ammonia_was_read();
        self.log(place.spot(), at, Logged::Act(act.clone()));
        self.alarm_of_reading(water, &place, at);
        Ok(Done::standing(say::standing::water(water, self.settings.kit.ammonia, !basis_known)))
    }

    /// Whether the site has told an ammonia reading before: the kit's basis is asked about once, not every time.
    fn ammonia_was_read(&self) -> bool {
        self.state.entries.values().any(|entry| match &entry.what {
            Logged::Act(Said { act: Act::Reading(water), .. }) => water.values.contains_key(&Measure::TanMgL),
            _ => false,
        })
    }

    /// Water was replaced, or something was dosed into it.
    pub(super) fn treat(&mut self, place: &Place, act: &Said, at: DateTime<Utc>) -> Result<Done, Stop> {
        self.require(Power::RecordCounts)?;
        let found = self.find_and_open(place, act, at)?;
        self.log(found.spot(), at, Logged::Act(act.clone()));
        let caution = match &act.act {
            Act::Dose { product, .. } => {
                let copper = self.caution_of_copper(product, &found).unwrap_or_default();
                say::join(&[&copper, say::caution::dose(product).unwrap_or_default()])
            }
            _ => String::new(),
        };
        Ok(Done::standing(caution))
    }

    /// Signs were seen: a word about the fish answers a look.
    pub(super) fn observe(&mut self, place: &Place, act: &Said, at: DateTime<Utc>) -> Result<Done, Stop> {
        self.require(Power::RecordCounts)?;
        let Act::Observe { signs, .. } = &act.act else { return Ok(Done::default()) };
        let found = self.find(place, act)?;
        let unfit = self.signs_of_fish_alone(&found, signs);
        if !unfit.is_empty() {
            let rest: BTreeSet<Sign> = signs.difference(&unfit).copied().collect();
            let ask = self.sign_of_fish(place, &found, unfit, act);
            if rest.is_empty() {
                return Err(ask.into());
            }
            let told = Said { act: Act::Observe { at: place.clone(), signs: rest }, ..act.clone() };
            let done = self.observe(place, &told, at)?;
            return Ok(Done { recorded: Some(self.recorded(&told)), ask: Some(ask), ..done });
        }
        let found = self.find_and_open(place, act, at)?;
        self.log(found.spot(), at, Logged::Act(act.clone()));
        let alarmed = signs.contains(&Sign::Spinning) && self.alarm_of_spinning(place, &found, at);
        let caution = if alarmed { None } else { say::caution::signs(signs) };
        let mut standing = caution.unwrap_or_default().to_owned();
        if let Some(vessel) = found.vessel() {
            let vessel = vessel.to_owned();
            if signs.iter().any(|sign| is_about_fish(*sign)) {
                let next = self.answer_look(&vessel, at);
                let next = if self.state.fish_in_vessel(&vessel) == 0 {
                    say::standing::no_fish_booked(place)
                } else {
                    next.unwrap_or_default()
                };
                standing = say::join(&[&standing, &next]);
            }
        } else if signs.iter().any(|sign| is_about_fish(*sign)) {
            self.answer_pack_look(place, at);
        }
        Ok(Done::standing(standing))
    }

    /// Words to keep.
    pub(super) fn note(&mut self, place: Option<&Place>, act: &Said, at: DateTime<Utc>) -> Result<Done, Stop> {
        self.require(Power::RecordArrival)?;
        let spot = match place {
            Some(place) => self.find(place, act)?.spot(),
            None => Spot::House,
        };
        let caution = self.caution_beside_note(act).unwrap_or_default().to_owned();
        self.log(spot, at, Logged::Act(act.clone()));
        Ok(Done::standing(caution))
    }

    /// Who writes a note of mains equipment is about to reach for it. It is said once a shift to each.
    fn caution_beside_note(&self, act: &Said) -> Option<&'static str> {
        let of = |said: &Said| match &said.act {
            Act::Note { text, .. } => say::caution::note(text),
            _ => None,
        };
        let caution = of(act)?;
        let said_lately = self.state.entries.values().any(|entry| {
            entry.by == self.speaker.person
                && self.said_at - entry.at < Duration::hours(SHIFT_HOURS)
                && matches!(&entry.what, Logged::Act(said) if of(said) == Some(caution))
        });
        (!said_lately).then_some(caution)
    }

    fn find_and_open(&mut self, place: &Place, act: &Said, at: DateTime<Utc>) -> Result<Where, Stop> {
        let found = self.find(place, act)?;
        match &found {
            Where::Box(of) => self.open_box(*of, at)?,
            Where::Bag(pack) => {
                self.open_box(pack.of, at)?;
                // Which fish lie in the bag may still be open: its water can be told all the same.
                if let Ok(Some(_)) = self.bag_met(*pack, act, at) {
                    self.also.push(say::standing::pen(&say::place::pack(*pack, None)));
                }
            }
            _ => {}
        }
        Ok(found)
    }

    /// A stage of a consignment's way, or its delay.
    pub(super) fn arrive(
        &mut self,
        stage: Option<Stage>,
        delay_min: Option<u32>,
        act: &Said,
        at: DateTime<Utc>,
    ) -> Result<Done, Stop> {
        self.require(Power::RecordArrival)?;
        let waiting: Vec<ConsignmentNo> = self
            .state
            .open_consignments()
            .filter(|(_, consignment)| stage.is_none_or(|stage| !consignment.stages.contains_key(&stage)))
            .filter(|(_, consignment)| !consignment.stages.contains_key(&Stage::InHouse))
            .map(|(no, _)| no)
            .collect();
        let no = match waiting.as_slice() {
            [] => {
                self.log(Spot::House, at, Logged::Act(act.clone()));
                return Ok(Done::standing(say::standing::no_list_yet()));
            }
            [one] => *one,
            several => match self.consignment.filter(|carried| several.contains(carried)) {
                Some(carried) => carried,
                None => return Err(self.which_consignment(several, act).into()),
            },
        };
        let Some(mut consignment) = self.state.consignments.get(&no).cloned() else { return Ok(Done::default()) };
        if let Some(stage) = stage {
            consignment.stages.insert(stage, at);
        }
        consignment.delay_min = delay_min.or(consignment.delay_min);
        let hours = consignment.packed_at.as_deref().and_then(|packed| self.hours_since(packed, at));
        let supplier = self.supplier(no);
        self.emit(Event::ConsignmentSet { no, to: Some(consignment) });
        self.log(Spot::Consignment(no), at, Logged::Act(act.clone()));
        Ok(Done::standing(say::standing::arrived(&supplier, hours, self.state.boxes_to_go(no))))
    }

    fn which_consignment(&self, among: &[ConsignmentNo], act: &Said) -> Query {
        let suppliers: Vec<String> = among.iter().map(|no| self.supplier(*no)).collect();
        let mut choices = choices(&suppliers);
        choices.push(say::question::all_of_them(among.len()));
        let matter = Matter::WhichConsignment { acts: vec![act.clone()], among: among.to_vec() };
        Query::choice(say::question::which_supplier(&suppliers), matter, choices)
    }

    /// Hours between a local time as a list states it and a moment; `None` where only the date is known.
    pub(super) fn hours_since(&self, packed: &str, at: DateTime<Utc>) -> Option<i64> {
        let local = packed.contains('T').then_some(packed)?;
        let packed = crate::watch::clock::until_local(local, self.settings.zone)?;
        Some((at - packed).num_hours()).filter(|hours| *hours >= 0)
    }

    /// Tanks, trays and the like are declared.
    pub(super) fn declare(
        &mut self,
        names: &[String],
        kind: Option<VesselKind>,
        litres: Option<Finite>,
        system: Option<&str>,
    ) -> Result<Done, Stop> {
        self.require(Power::DeclareVessels)?;
        let kind = kind.unwrap_or(VesselKind::Tank);
        for name in names {
            let key = if kind == VesselKind::Tray { tray_key(name) } else { name.clone() };
            let before = self.state.vessels.get(&key);
            let vessel = Vessel {
                kind,
                litres: litres.or(before.and_then(|vessel| vessel.litres)),
                system: system.map(str::to_owned).or(before.and_then(|vessel| vessel.system.clone())),
            };
            self.emit(Event::VesselSet { name: key, to: Some(vessel) });
        }
        let all = self.state.vessels.values().filter(|vessel| vessel.kind == kind).count();
        Ok(Done::standing(say::standing::declared(names.len(), kind, all)))
    }
}

/// Whether a sign speaks of the fish rather than of water or packing.
pub(super) fn is_about_fish(sign: Sign) -> bool {
    !matches!(
        sign,
        Sign::FoulSmell
            | Sign::CloudyWater
            | Sign::ClearWater
            | Sign::Leaking
            | Sign::FlatBag
            | Sign::Warm
            | Sign::Cold
            | Sign::Fed
    )
}
