//! The cells of a line: quantities, bags, size and price, each with its doubts.

use std::collections::BTreeMap;

use holdfast_core::consignment::Asks;
use holdfast_core::say::packing as say;
use rust_decimal::Decimal;

use super::clean::{fold, shorten};
use super::dates;
use super::label::{self, BoxLabel};
use super::limits;
use super::meaning::Meaning;
use super::number::{self, Count};
use super::rows::Reader;
use super::sheet::Cell;
use super::spread::Stated;
use super::words::{Role, roles};

impl Reader<'_> {
    pub(super) fn count(&self, row: u32, cells: &BTreeMap<u32, &Cell>, meaning: Meaning) -> Option<Count> {
        let each = self.table.column(meaning)?.fish_each;
        number::count(&self.carried(row, cells, meaning)?, each)
    }

    pub(super) fn stated(&self, row: u32, cells: &BTreeMap<u32, &Cell>) -> Stated {
        Stated {
            per_bag: self.count(row, cells, Meaning::PerBag),
            per_box: self.count(row, cells, Meaning::PerBox),
            total: self.count(row, cells, Meaning::Quantity),
            ..Stated::default()
        }
    }

    /// A total of nought says that there are none, whatever bags say; so do no bags, where bags are counted by.
    pub(super) fn is_zero(&self, row: u32, cells: &BTreeMap<u32, &Cell>) -> bool {
        let zero = |meaning| {
            self.carried(row, cells, meaning).is_some_and(|cell| match cell {
                Cell::Number(number) => number <= 0.0,
                Cell::Text(text) => number::whole(&fold(&text)) == Some(0),
                _ => false,
            })
        };
        let by_bags = self.count(row, cells, Meaning::Quantity).or(self.count(row, cells, Meaning::PerBox)).is_none();
        zero(Meaning::Quantity) || (by_bags && (zero(Meaning::Bags) || zero(Meaning::BagsPerBox)))
    }

    /// What was typed where a quantity should be, for the question.
    pub(super) fn typed_quantity(&self, row: u32, cells: &BTreeMap<u32, &Cell>) -> Option<String> {
        [Meaning::Quantity, Meaning::PerBox, Meaning::PerBag].into_iter().find_map(|meaning| {
            self.carried(row, cells, meaning).map(|cell| shorten(&cell.text(), 40)).filter(|text| !text.is_empty())
        })
    }

    /// The bag's number, and how many bags.
    pub(super) fn bag(&mut self, row: u32, cells: &BTreeMap<u32, &Cell>, place: &str) -> (Option<u32>, Option<u64>) {
        let mut counted = None;
        for meaning in [Meaning::BagsPerBox, Meaning::Bags] {
            let Some(cell) = self.carried(row, cells, meaning) else { continue };
            match bag_count(&cell) {
                Some(bags) => counted = Some(bags),
                None if says_something(&cell.text()) => {
                    let text = shorten(&cell.text(), 40);
                    self.ask(row, say::bags_unclear(place, &text));
                }
                None => {}
            }
        }
        let beside_box = self.box_and_bag_column().and_then(|_| self.carried(row, cells, Meaning::Box));
        let bag = match (self.carried(row, cells, Meaning::BagNumber), beside_box) {
            (Some(cell), _) => Some((label::of_cell(&cell), cell)),
            (None, Some(cell)) => label::box_and_bag(&cell).map(|(_, bag)| (bag, cell)),
            (None, None) => None,
        };
        let Some((bag, cell)) = bag else { return (None, counted) };
        match bag {
            BoxLabel::Boxes(bags) if bags.len() == 1 => (Some(bags[0]), counted),
            BoxLabel::Boxes(bags) => (None, counted.or(Some(bags.len() as u64))),
            _ if !says_something(&cell.text()) => (None, counted),
            _ => {
                let text = shorten(&cell.text(), 40);
                self.ask(row, say::bags_unclear(place, &text));
                (None, counted)
            }
        }
    }

    pub(super) fn size(&mut self, row: u32, cells: &BTreeMap<u32, &Cell>, place: &str) -> Option<String> {
        let cell = self.carried(row, cells, Meaning::Size)?;
        let text = cell.text();
        if matches!(cell, Cell::Date(_)) || dates::looks_like_date(&text) {
            self.ask_for(row, say::size_is_a_date(place, &text), Asks::Size);
            return None;
        }
        Some(text).filter(|text| !text.is_empty())
    }

    pub(super) fn price(&mut self, row: u32, cells: &BTreeMap<u32, &Cell>, place: &str) -> Option<Decimal> {
        let cell = self.carried(row, cells, Meaning::Price)?;
        let price = number::price(&cell, self.decimal_sign);
        let text = cell.text();
        if price.is_none() && says_something(&text) && !matches!(fold(&text).as_str(), "n/a" | "na") {
            let question = say::price_unreadable(place, &shorten(&text, 40));
            self.ask_for(row, question, Asks::Price { choices: Vec::new() });
        }
        price
    }
}

/// Dashes and dots stand for nothing; a question mark does not.
fn says_something(text: &str) -> bool {
    text.chars().any(|character| character.is_alphanumeric() || character == '?')
}

/// A number of bags: `3`, `3 bags`, or `1-3`, which are three.
fn bag_count(cell: &Cell) -> Option<u64> {
    match cell {
        Cell::Number(_) => number::count(cell, 1).map(|count| count.fish),
        Cell::Text(text) => {
            let folded = fold(text);
            let bare: String = folded
                .split(' ')
                .filter(|word| {
                    !roles(word.trim_end_matches('.')).any(&[Role::Bag, Role::Bags, Role::BagAny, Role::Piece])
                })
                .collect::<Vec<_>>()
                .join(" ");
            match number::whole(&bare) {
                Some(0) => None,
                Some(bags) if bags <= limits::QUANTITY => Some(bags),
                Some(_) => None,
                None => match label::parse(&bare) {
                    BoxLabel::Boxes(bags) if bags.len() > 1 => Some(bags.len() as u64),
                    _ => None,
                },
            }
        }
        _ => None,
    }
}
