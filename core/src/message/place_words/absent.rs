//! Places named that the house does not have, and what it has instead.

use std::collections::BTreeMap;

use super::super::{Place, Vocabulary};
use super::is_nowhere;
use crate::message::item::What;
use crate::message::message_text::Message;

impl Message<'_> {
    /// The first place named in full that the house does not have, and what it has of that kind.
    pub(crate) fn not_here(&self) -> Option<(Place, Vec<Place>)> {
        let named = self.items.iter().filter_map(|item| match &item.what {
            What::Place(mention) if mention.unknown => Some(&mention.places),
            _ => None,
        });
        let said = named.flatten().find(|place| !is_nowhere(place) && !known(self.vocabulary, place)).cloned()?;
        let v = self.vocabulary;
        let boxes = || v.boxes.iter().flat_map(BTreeMap::keys).map(|number| Place::Box { number: *number }).collect();
        let there: Vec<Place> = match &said {
            Place::Bag { number, .. } => match v.boxes.as_ref().and_then(|boxes| boxes.get(number)) {
                Some(words) => (1..=words.bags?).map(|bag| Place::Bag { number: *number, bag }).collect(),
                None => boxes(),
            },
            Place::Box { .. } => boxes(),
            Place::Tray { .. } => v.trays.iter().flatten().map(|tray| Place::Tray { tray: tray.clone() }).collect(),
            Place::Tank { .. } => v.tanks.iter().flatten().map(|tank| Place::Tank { tank: tank.clone() }).collect(),
            Place::Lot { .. } => v.lots.iter().flat_map(BTreeMap::keys).map(|lot| Place::Lot { lot: *lot }).collect(),
        };
        (!there.is_empty()).then_some((said, there))
    }
}

/// Whether the house has a place, as far as it tells.
pub(super) fn known(v: &Vocabulary, place: &Place) -> bool {
    match place {
        Place::Box { number } => v.boxes.as_ref().is_none_or(|boxes| boxes.contains_key(number)),
        Place::Bag { number, bag } => {
            *number > 0
                && *bag > 0
                && v.boxes.as_ref().is_none_or(|boxes| {
                    boxes.get(number).is_some_and(|words| words.bags.is_none_or(|bags| *bag <= bags + words.spare_bags))
                })
        }
        Place::Tray { tray } => v.trays.as_ref().is_none_or(|trays| trays.contains(tray)),
        Place::Tank { tank } => !tank.is_empty() && v.tanks.as_ref().is_none_or(|tanks| tanks.contains(tank)),
        Place::Lot { lot } => v.lots.as_ref().is_none_or(|lots| lots.contains_key(lot)),
    }
}
