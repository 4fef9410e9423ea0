//! The vocabulary that the reader is handed: names out of the state, never more than the speaker may know.

use std::collections::{BTreeMap, BTreeSet};

use super::draft::Draft;
use crate::consignment::{LotNo, Standing};
use crate::message::{BoxWords, LotWords, VesselKind, Vocabulary};
use crate::people::Role;

impl Draft<'_> {
    /// The names that the speaker may use.
    pub(super) fn vocabulary(&self) -> Vocabulary {
        if self.role == Role::Buyer { self.buyers_vocabulary() } else { self.house_vocabulary() }
    }

    fn house_vocabulary(&self) -> Vocabulary {
        let state = &self.state;
        let mut boxes: BTreeMap<u32, BoxWords> = BTreeMap::new();
        let mut suppliers = Vec::new();
        for (no, consignment) in state.open_consignments() {
            suppliers.push(consignment.supplier.clone());
            for (key, record) in state.boxes_of(no) {
                if !matches!(record.standing, Standing::Expected | Standing::Late) {
                    continue;
                }
                let listed = state.listed_bags(key);
                let used = state.packs_of(key).iter().filter_map(|pack| pack.bag).max().unwrap_or(0);
                let known = record.contents.iter().all(|content| content.bags.is_some() || content.bag.is_some());
                let words = boxes.entry(key.number).or_default();
                // A bag more than the list says can still be in the crew's hands: the next number is always sayable.
                words.spare_bags = 1;
                let bags = listed.max(used);
                words.bags = if known { Some(words.bags.unwrap_or(0).max(bags)) } else { None };
                words.species.extend(record.contents.iter().map(|content| state.species(self.key(key, content.line))));
                words.species.dedup();
            }
        }
        let lots = state
            .lots
            .iter()
            .filter(|(no, _)| state.living(**no).total() > 0)
            .map(|(no, lot)| (no.0, LotWords { species: Some(state.species(lot.line)), tank: Some(lot.tank.clone()) }))
            .collect();
        let (species, species_aliases) = self.species_words();
        Vocabulary {
            tanks: self.vessels(|kind| kind != VesselKind::Tray),
            trays: self.vessels(|kind| kind == VesselKind::Tray),
            boxes: (!boxes.is_empty()).then_some(boxes),
            lots: Some(lots),
            species: Some(species),
            species_aliases,
            buyers: Some(state.buyers.iter().cloned().collect()),
            suppliers,
            crew: self.crew_names(),
            tz: self.settings.zone,
            gallon: self.settings.gallon,
        }
    }

    /// The vessels of some kinds; `None` while none was declared, so that any well-formed name is accepted.
    fn vessels(&self, wanted: impl Fn(VesselKind) -> bool) -> Option<Vec<String>> {
        let names: Vec<String> = self
            .state
            .vessels
            .iter()
            .filter(|(_, vessel)| wanted(vessel.kind))
            .map(|(name, _)| name.strip_prefix("tray ").unwrap_or(name).to_owned())
            .collect();
        (!names.is_empty()).then_some(names)
    }

    fn species_words(&self) -> (Vec<String>, BTreeMap<String, String>) {
        let state = &self.state;
        let mut species = BTreeSet::new();
        let mut aliases = BTreeMap::new();
        let living =
            state.lots.iter().filter(|(no, _)| state.living(**no).total() > 0).map(|(_, lot)| lot.line.consignment);
        let consignments: BTreeSet<_> = state.open_consignments().map(|(no, _)| no).chain(living).collect();
        for no in consignments {
            let Some(consignment) = state.consignments.get(&no) else { continue };
            for line in &consignment.lines {
                species.insert(line.species.clone());
                let names =
                    [Some(line.listed_as.to_lowercase()), line.scientific.as_ref().map(|name| name.to_lowercase())];
                for name in names.into_iter().flatten().filter(|name| *name != line.species) {
                    aliases.insert(name, line.species.clone());
                }
            }
        }
        (species.into_iter().collect(), aliases)
    }

    fn crew_names(&self) -> Vec<String> {
        let people = self.state.people.iter();
        people.filter(|(_, person)| person.role != Role::Buyer).map(|(name, _)| name.clone()).collect()
    }

    /// A buyer knows what is cleared and what is its own, and no other name of the house.
    fn buyers_vocabulary(&self) -> Vocabulary {
        let state = &self.state;
        let visible = |no: LotNo| {
            state.living(no).cleared > 0
                || state
                    .reservations_on(no)
                    .iter()
                    .any(|(_, reservation, _)| Some(&reservation.buyer) == self.buyer.as_ref())
        };
        let lots: BTreeMap<u32, LotWords> = state
            .lots
            .iter()
            .filter(|(no, _)| visible(**no))
            .map(|(no, lot)| (no.0, LotWords { species: Some(state.species(lot.line)), tank: None }))
            .collect();
        let species = lots.values().filter_map(|words| words.species.clone()).collect::<BTreeSet<_>>();
        Vocabulary {
            tanks: Some(Vec::new()),
            trays: Some(Vec::new()),
            boxes: Some(BTreeMap::new()),
            lots: Some(lots),
            species: Some(species.into_iter().collect()),
            species_aliases: BTreeMap::new(),
            buyers: Some(self.buyer.iter().cloned().collect()),
            suppliers: Vec::new(),
            crew: Vec::new(),
            tz: self.settings.zone,
            gallon: self.settings.gallon,
        }
    }
}
