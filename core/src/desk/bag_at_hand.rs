//! The bag in hand: which one is meant where a count names only the box, or a fish of another bag.

use std::collections::BTreeMap;

use super::draft::Draft;
use crate::consignment::BoxKey;
use crate::message::{Act, Count, Place, Said};

impl Draft<'_> {
    /// A count that does not name its bag is of the bag in hand. In a box of equal bags without numbers it is the one
    /// whose living are not counted yet, else the next; a fish that is in one bag only names that bag.
    pub(super) fn in_bag_at_hand(&self, said: &Said, carried: &[Place]) -> Said {
        let mut said = said.clone();
        let bag = self.bag_of_its_fish(&said, carried).or_else(|| self.next_bag(&said));
        if let (Some(bag), Act::Count(count)) = (bag, &mut said.act) {
            count.at = bag;
        }
        said
    }

    /// "barbs 40 alive" behind a count of the corys: the fish named are not those of the bag last spoken of, but the box
    /// has a bag of them. So too where the box is named and has just one bag of these fish.
    fn bag_of_its_fish(&self, said: &Said, carried: &[Place]) -> Option<Place> {
        let Act::Count(count) = &said.act else { return None };
        let species = count.species.as_deref()?;
        let (number, bag) = match count.at {
            Place::Box { number } => (number, None),
            Place::Bag { number, bag } if carried.contains(&count.at) => (number, Some(bag)),
            _ => return None,
        };
        let of = self.box_at_hand(number)?;
        let record = self.state.boxes.get(&of)?;
        let named = |line: u32| self.is_named(self.key(of, line), species);
        let mut bags: BTreeMap<u32, bool> = BTreeMap::new();
        for pack in self.state.packs_of(of) {
            let Some(bag) = pack.bag else { continue };
            let lines: Vec<(u32, bool)> = match self.state.bags.get(&pack) {
                Some(record) => record.census.iter().map(|(line, census)| (*line, census.living().is_some())).collect(),
                None => {
                    record.contents.iter().filter(|content| content.bag == Some(bag)).map(|c| (c.line, false)).collect()
                }
            };
            if let Some((_, counted)) = lines.into_iter().find(|(line, _)| named(*line)) {
                bags.insert(bag, counted);
            }
        }
        if bag.is_some_and(|bag| bags.contains_key(&bag)) {
            return None;
        }
        let listed: u32 = record
            .contents
            .iter()
            .filter(|content| named(content.line))
            .map(|content| content.bags.filter(|_| content.bag.is_none()).unwrap_or(1))
            .sum();
        let unnumbered = self.lines_without_number(of).into_iter().any(named);
        let next = || self.state.packs_of(of).into_iter().filter_map(|pack| pack.bag).max().unwrap_or(0) + 1;
        let bag = match bag {
            // The box is named: only a fish with one bag says which.
            None if listed == 1 => bags.keys().next().copied().or_else(|| unnumbered.then(next)),
            None => None,
            Some(_) => {
                bags.iter().find(|(_, counted)| !**counted).map(|(bag, _)| *bag).or_else(|| unnumbered.then(next))
            }
        }?;
        Some(Place::Bag { number, bag })
    }

    /// The box of this number that is meant: the only one, or that of the consignment in hand.
    fn box_at_hand(&self, number: u32) -> Option<BoxKey> {
        match self.state.boxes_numbered(number).as_slice() {
            [one] => Some(*one),
            several => several.iter().find(|key| Some(key.consignment) == self.consignment).copied(),
        }
    }

    fn next_bag(&self, said: &Said) -> Option<Place> {
        let Act::Count(count) = &said.act else { return None };
        let Place::Box { number } = count.at else { return None };
        let of = self.box_at_hand(number)?;
        let [content] = self.state.boxes.get(&of)?.contents.as_slice() else { return None };
        if content.bag.is_some() || !self.fits_one_bag(of, count) {
            return None;
        }
        let used: Vec<(u32, bool)> = self
            .state
            .packs_of(of)
            .into_iter()
            .filter_map(|pack| {
                let counted = self.state.bags.get(&pack)?.census.values().all(|census| census.living().is_some());
                Some((pack.bag?, counted))
            })
            .collect();
        let bag = match used.iter().find(|(_, counted)| !counted) {
            Some((bag, _)) => *bag,
            None => used.last().map_or(0, |(bag, _)| *bag) + 1,
        };
        (bag <= content.bags?).then_some(Place::Bag { number, bag })
    }

    /// Whether living fish counted in a box of several bags are no more than one of its bags holds: then a bag is meant,
    /// not the box, unless the box was counted as a whole before.
    pub(super) fn fits_one_bag(&self, of: BoxKey, count: &Count) -> bool {
        let bags = self.state.listed_bags(of);
        let fish: u32 =
            self.state.boxes.get(&of).map_or(0, |record| record.contents.iter().map(|content| content.fish).sum());
        let Some(living) = count.alive.or(count.sound.map(|sound| sound + count.weak.unwrap_or(0))) else {
            return false;
        };
        let told = living + count.dead.unwrap_or(0) + count.missing.unwrap_or(0);
        let whole = count.all.is_some() || count.of.is_some() || self.state.bags.contains_key(&of.loose());
        // A bag may be fuller than its share by a quarter; a box of two bags counted whole is far above that.
        bags > 1 && !whole && told.saturating_mul(bags).saturating_mul(4) <= fish.saturating_mul(5)
    }
}
