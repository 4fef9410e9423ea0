//! What the reader is told of the house: names, never state.

use std::collections::BTreeMap;

use chrono_tz::Tz;

/// The names that a message may use. `None` means that names of that kind are not known: any well-formed one is accepted.
#[derive(Debug, Clone, PartialEq)]
pub struct Vocabulary {
    /// Tanks, tubs and sumps, as declared.
    pub tanks: Option<Vec<String>>,
    /// Trays, as declared.
    pub trays: Option<Vec<String>>,
    /// Boxes of the open consignments.
    pub boxes: Option<BTreeMap<u32, BoxWords>>,
    /// Lots in the house.
    pub lots: Option<BTreeMap<u32, LotWords>>,
    /// Fish of the open consignments and lots, by the names that acts shall carry.
    pub species: Option<Vec<String>>,
    /// Further names of those fish (the supplier's own, other languages), name → name as in `species`.
    pub species_aliases: BTreeMap<String, String>,
    /// Buyers.
    pub buyers: Option<Vec<String>>,
    /// Suppliers of the open consignments: naming one says whose box is meant.
    pub suppliers: Vec<String>,
    /// First names of the crew: "dose tray 3 dee" is an order to a colleague.
    pub crew: Vec<String>,
    /// The site's zone.
    pub tz: Tz,
    /// What "gallon" means here.
    pub gallon: Gallon,
}

/// What the reader may know of a box.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct BoxWords {
    /// Number of bags, where known.
    pub bags: Option<u32>,
    /// Further bag numbers that may be said: a bag more than the list says can be in the crew's hands. "Both bags" and
    /// "last bag" do not mean these.
    pub spare_bags: u32,
    /// Fish in it.
    pub species: Vec<String>,
}

/// What the reader may know of a lot.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct LotWords {
    /// Its fish.
    pub species: Option<String>,
    /// Its tank.
    pub tank: Option<String>,
}

/// Which gallon is meant when none is named.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Gallon {
    /// 3.785 L.
    #[default]
    Us,
    /// 4.546 L.
    Imperial,
}
