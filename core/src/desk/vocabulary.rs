//! The vocabulary that the reader is handed: names out of the state, never more than the speaker may know.

use std::collections::{BTreeMap, BTreeSet};

use chrono::Duration;

use super::draft::Draft;
use super::place::TAP;
use crate::consignment::LotNo;
use crate::message::{BoxWords, LotWords, VesselKind, Vocabulary};
use crate::people::Role;
use crate::species;
use crate::stock::Account;

impl Draft<'_> {
    /// The names that the speaker may use.
    pub(super) fn vocabulary(&self, text: &str) -> Vocabulary {
        if self.role == Role::Buyer { self.buyers_vocabulary() } else { self.house_vocabulary(text) }
    }

    /// Whether the speaker may know of a lot: a buyer of what is for sale, and of what is its own.
    pub(super) fn may_know(&self, no: LotNo) -> bool {
        let own =
            |buyer: &str| self.state.reservations_on(no).iter().any(|(_, reservation, _)| reservation.buyer == buyer);
        self.role != Role::Buyer || self.state.living(no).cleared > 0 || self.buyer.as_deref().is_some_and(own)
    }

    fn house_vocabulary(&self, text: &str) -> Vocabulary {
        let state = &self.state;
        let mut boxes: BTreeMap<u32, BoxWords> = BTreeMap::new();
        let mut suppliers = Vec::new();
        // While no list is here any box may be opened.
        let only_unlisted = state.open_consignments().all(|(_, consignment)| consignment.unlisted);
        for (no, consignment) in state.open_consignments() {
            suppliers.extend(Some(consignment.supplier.clone()).filter(|_| !consignment.is_anonymous()));
            if consignment.unlisted && only_unlisted {
                continue;
            }
            for (key, record) in state.boxes_of(no) {
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
        // A consignment that was finished lately is still spoken of, where no open one has the number.
        for (no, consignment) in &state.consignments {
            if !consignment.unlisted
                && consignment.finished.is_some_and(|at| self.now - at < Duration::hours(STILL_SPOKEN_OF_HOURS))
            {
                for (key, record) in state.boxes_of(*no) {
                    boxes.entry(key.number).or_insert_with(|| BoxWords {
                        bags: None,
                        spare_bags: 0,
                        species: record
                            .contents
                            .iter()
                            .map(|content| state.species(self.key(key, content.line)))
                            .collect(),
                    });
                }
            }
        }
        if !boxes.is_empty() && self.takes_any_box() {
            for number in box_numbers_in(text) {
                let unknown = || BoxWords { bags: None, spare_bags: 0, species: Vec::new() };
                boxes.entry(number).or_insert_with(unknown);
            }
        }
        let (mut species, species_aliases) = self.species_words(None);
        species.extend(known_fish_in(text, &species, &species_aliases));
        Vocabulary {
            tanks: self.vessels(false).map(|tanks| self.with_the_tap(tanks, text)),
            trays: self.vessels(true),
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

    /// "tap ph 8.2": the tap without a name is a place where the text tells a number of it and names no tap of the house.
    fn with_the_tap(&self, mut tanks: Vec<String>, text: &str) -> Vec<String> {
        let words: Vec<String> = text.split(|letter: char| !letter.is_alphanumeric()).map(str::to_lowercase).collect();
        let named = self
            .state
            .vessels
            .iter()
            .any(|(name, vessel)| vessel.kind == VesselKind::Tap && words.contains(&name.to_lowercase()));
        let number = text.contains(|letter: char| letter.is_ascii_digit());
        if words.iter().any(|word| word == TAP) && number && !named {
            tanks.push(TAP.to_owned());
        }
        tanks
    }

    /// The trays, or the other vessels; `None` while none was declared, so that any well-formed name is accepted.
    fn vessels(&self, trays: bool) -> Option<Vec<String>> {
        let declared = self.state.vessels.iter().filter(|(_, vessel)| (vessel.kind == VesselKind::Tray) == trays);
        let mut names: BTreeSet<String> = declared.map(|(name, _)| plain_name(name)).collect();
        if names.is_empty() {
            return None;
        }
        // Fish may still be in one that was used before any was declared.
        for (purse, _, _) in self.state.books.all() {
            match &purse.account {
                Account::Tray(name) if trays => drop(names.insert(plain_name(name))),
                Account::Held(lot) | Account::Cleared(lot) if !trays => {
                    names.extend(self.state.lots.get(lot).map(|lot| lot.tank.clone()));
                }
                _ => {}
            }
        }
        Some(names.into_iter().collect())
    }

    /// The names of fish, and further names of them: of all the house's fish, or of these.
    pub(super) fn species_words(&self, of: Option<&BTreeSet<String>>) -> (Vec<String>, BTreeMap<String, String>) {
        let state = &self.state;
        let mut species = BTreeSet::new();
        let mut aliases = BTreeMap::new();
        let living =
            state.lots.iter().filter(|(no, _)| state.living(**no).total() > 0).map(|(_, lot)| lot.line.consignment);
        let consignments: BTreeSet<_> = state.open_consignments().map(|(no, _)| no).chain(living).collect();
        for no in consignments {
            let Some(consignment) = state.consignments.get(&no) else { continue };
            for line in consignment.lines.iter().filter(|line| of.is_none_or(|of| of.contains(&line.species))) {
                species.insert(line.species.clone());
                let names =
                    [Some(line.listed_as.to_lowercase()), line.scientific.as_ref().map(|name| name.to_lowercase())];
                for name in names.into_iter().flatten().filter(|name| *name != line.species) {
                    aliases.entry(name).or_insert_with(BTreeSet::new).insert(line.species.clone());
                }
                for group in species::group_words(&format!("{} {}", line.species, line.listed_as), line.kind) {
                    aliases.entry(group).or_insert_with(BTreeSet::new).insert(line.species.clone());
                }
            }
        }
        (species.into_iter().collect(), one_each(aliases))
    }

    fn crew_names(&self) -> Vec<String> {
        let people = self.state.people.iter();
        people.filter(|(_, person)| person.role != Role::Buyer).map(|(name, _)| name.clone()).collect()
    }

    /// A buyer knows what is cleared and what is its own, and no other name of the house.
    fn buyers_vocabulary(&self) -> Vocabulary {
        let state = &self.state;
        let lots: BTreeMap<u32, LotWords> = state
            .lots
            .iter()
            .filter(|(no, _)| self.may_know(**no))
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

/// How long after its last box a consignment's boxes are still spoken of, hours.
const STILL_SPOKEN_OF_HOURS: i64 = 24;

/// Words of a known fish's name.
const NAME_WORDS: usize = 3;

/// Numbers in a text that stand where a box is named: first, as "7.1", or after "box" and the like.
fn box_numbers_in(text: &str) -> BTreeSet<u32> {
    let words: Vec<&str> = text.split_whitespace().map(|word| word.trim_matches([',', ':', ';', '.'])).collect();
    let introduces =
        |word: &str| ["box", "boxes", "open", "opening", "opened", "bag"].contains(&word.to_lowercase().as_str());
    let mut found = BTreeSet::new();
    let mut listing = true;
    for (at, word) in words.iter().enumerate() {
        let (number, bag) = word.split_once('.').map_or((*word, None), |(number, bag)| (number, Some(bag)));
        let is_bag = bag.is_some_and(|bag| bag.parse::<u32>().is_ok());
        listing = (listing && at > 0 && bag.is_none()) || at == 0 || introduces(words[at - 1]);
        match number.parse::<u32>() {
            Ok(number) if is_bag || bag.is_none() && listing => drop(found.insert(number)),
            _ => listing = introduces(word),
        }
    }
    found
}

fn plain_name(key: &str) -> String {
    key.strip_prefix("tray ").unwrap_or(key).to_owned()
}

/// Each further name with its fish. One that stands for several is put before the name of each, so that none of them is
/// its whole name and the reader asks.
fn one_each(aliases: BTreeMap<String, BTreeSet<String>>) -> BTreeMap<String, String> {
    let each = |(alias, species): (String, BTreeSet<String>)| -> Vec<(String, String)> {
        let several = species.len() > 1;
        let key = |name: &String| if several { format!("{alias} {name}") } else { alias.clone() };
        species.iter().map(|name| (key(name), name.clone())).collect()
    };
    aliases.into_iter().flat_map(each).collect()
}

/// Known fish that a text names by their full name and that the house has none of yet: what a buyer asks for, old stock.
fn known_fish_in(text: &str, house: &[String], aliases: &BTreeMap<String, String>) -> BTreeSet<String> {
    let words: Vec<String> = text
        .split(|letter: char| !letter.is_alphanumeric() && letter != '-')
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
        .collect();
    let mut found = BTreeSet::new();
    for length in 1..=NAME_WORDS {
        for said in words.windows(length) {
            let name = said.join(" ");
            let letters = name.chars().filter(|letter| letter.is_alphabetic()).count();
            let own = |known: &str| {
                known
                    .split(' ')
                    .any(|word| said.iter().any(|said| said.trim_end_matches('s') == word.trim_end_matches('s')))
            };
            if letters < 4 || house.iter().any(|known| own(known)) || aliases.keys().any(|alias| own(alias)) {
                continue;
            }
            let singular = name.trim_end_matches('s');
            if let [one] = species::named(&name).as_slice()
                && one.common.iter().any(|common| common.trim_end_matches('s') == singular)
            {
                found.insert(one.name().to_owned());
            }
        }
    }
    found
}
