//! What is kept of a consignment, its lines, boxes and bags.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use rust_decimal::Decimal;

use crate::message::Stage;
use crate::species::Kind;

/// A consignment, from its packing list and its way to the house.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Consignment {
    /// The supplier, as on the list.
    pub supplier: String,
    /// Airway bill, as on the list.
    pub awb: Option<String>,
    /// Invoice number.
    pub invoice: Option<String>,
    /// ISO local date or date and time of packing, as on the list.
    pub packed_at: Option<String>,
    /// ISO currency code of the prices.
    pub currency: Option<String>,
    /// Gross weight, kg.
    pub gross_kg: Option<Decimal>,
    /// Whether it stands for boxes whose list has not come.
    pub unlisted: bool,
    /// How many boxes were announced, while no list says it.
    pub announced: Option<u32>,
    /// The lines, number 1 first.
    pub lines: Vec<Line>,
    /// When each stage was reached.
    pub stages: BTreeMap<Stage, DateTime<Utc>>,
    /// Delay said by the crew, minutes.
    pub delay_min: Option<u32>,
    /// When its last box was finished.
    pub finished: Option<DateTime<Utc>>,
}

impl Consignment {
    /// Whether it stands for boxes of which neither a list nor a supplier is known.
    pub fn is_anonymous(&self) -> bool {
        self.unlisted && self.supplier.is_empty()
    }
}

/// One kind of fish of one size at one price.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Line {
    /// The name as listed.
    pub listed_as: String,
    /// The name that the crew uses: a known species' common name, or the listed one in lower case.
    pub species: String,
    /// Whether it is fish at all: signs and limits of fish do not hold for what is none.
    pub kind: Kind,
    /// Scientific name, listed or known.
    pub scientific: Option<String>,
    /// Size as typed.
    pub size: Option<String>,
    /// Price of one, in the consignment's currency.
    pub unit_price: Option<Decimal>,
    /// For a line of fish that came instead of others: the line they stand for.
    pub instead_of: Option<u32>,
}

/// A box as listed and as it was handled.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct BoxRecord {
    /// What the list says is in it.
    pub contents: Vec<Content>,
    /// When it was opened.
    pub opened: Option<DateTime<Utc>>,
    /// When it was finished.
    pub finished: Option<DateTime<Utc>>,
    /// Whether it is here.
    pub standing: Standing,
    /// A lead wants it opened first.
    pub pinned: bool,
}

/// Whether a box is here.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Standing {
    /// Here, or on the way with the rest.
    #[default]
    Expected,
    /// On a later flight: late, not short.
    Late,
    /// Given up by a lead: its fish are short.
    Lost,
    /// Passed on unopened to this buyer.
    PassedOn(String),
}

/// One line's share of a box.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Content {
    /// The line's number.
    pub line: u32,
    /// The bag's number, where the list numbers bags.
    pub bag: Option<u32>,
    /// How many bags of it, where the list tells.
    pub bags: Option<u32>,
    /// Fish, free ones included.
    pub fish: u32,
    /// How many of them are free.
    pub free: u32,
}

/// A bag that has a number, or a box counted as a whole.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct BagRecord {
    /// When it was opened.
    pub opened: Option<DateTime<Utc>>,
    /// What was counted, by line.
    pub census: BTreeMap<u32, Census>,
}

/// A census of one line in one bag: each field as last said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Census {
    /// Fish the bag was held to contain before anything was counted.
    pub expected: u32,
    /// Living fish that are not weak, as last said.
    pub sound: Option<u32>,
    /// Living fish, weak ones included, as last said.
    pub alive: Option<u32>,
    /// Weak ones among the living, as last said.
    pub weak: Option<u32>,
    /// Dead in the bag.
    pub dead: u32,
    /// Killed by the crew out of the bag.
    pub culled: u32,
    /// Not there.
    pub missing: u32,
    /// More than listed.
    pub extra: u32,
    /// Something else was sent in their place.
    pub wrong: u32,
    /// Of the expected, those beyond the bag's share of the list: its sister bags were held to have so many fewer.
    pub uneven: u32,
}

impl Census {
    /// Living fish, where they were counted; `None` while only deaths or weak ones are known.
    pub fn living(&self) -> Option<u32> {
        self.alive.or_else(|| self.sound.map(|sound| sound + self.weak.unwrap_or(0)))
    }

    /// Every fish that this census accounts for, the missing ones included.
    pub fn told(&self) -> u32 {
        self.living().or(self.weak).unwrap_or(0) + self.dead + self.culled + self.missing + self.wrong
    }

    /// Living fish that are living no more: of the sound ones last, because the weak die and are killed first.
    pub fn take_living(&mut self, count: u32) {
        let weak = self.weak.unwrap_or(0).min(count);
        if let Some(known) = self.weak.as_mut() {
            *known -= weak;
        }
        if let Some(alive) = self.alive.as_mut() {
            *alive = alive.saturating_sub(count);
        } else if let Some(sound) = self.sound.as_mut() {
            *sound = sound.saturating_sub(count - weak);
        }
    }

    /// Living fish that were not counted as such before, where the living were counted at all. They are taken for weak.
    pub fn add_living(&mut self, count: u32) {
        if self.living().is_none() {
            return;
        }
        self.weak = Some(self.weak.unwrap_or(0) + count);
        self.alive = self.alive.map(|alive| alive + count);
    }

    /// Fish the bag can hold by the books: what was expected and what was found beyond it.
    pub fn room(&self) -> u32 {
        self.expected + self.extra
    }
}
