//! Invoice sheets: prices by species and size, for lines that have none.

use std::collections::{BTreeMap, BTreeSet};

use rust_decimal::Decimal;

use super::clean::{clean, fold};
use super::ditto::is_ditto;
use super::meaning::Meaning;
use super::number;
use super::sheet::{Cell, Sheet};
use super::statement::Kind;
use super::table::Table;
use super::totals::total_row;

/// What an invoice says.
#[derive(Debug, Default)]
pub struct Invoice {
    /// Prices by species and size, both as keys; no size where the row has none.
    prices: BTreeMap<(String, Option<String>), BTreeSet<Decimal>>,
    /// Total of fish, with its row.
    pub total_fish: Option<(u32, u64)>,
}

/// What an invoice says of a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Priced {
    /// One price.
    One(Decimal),
    /// Several: the first two.
    Several(Decimal, Decimal),
    /// Not on the invoice.
    None,
}

/// Case and blanks do not count.
fn key(text: &str) -> String {
    clean(text).to_lowercase().split_whitespace().collect()
}

/// Reads a table of prices into an invoice.
pub fn read(sheet: &Sheet, table: &Table, invoice: &mut Invoice) {
    let column = |meaning| table.column(meaning).map(|column: &super::table::Column| column.index);
    let sign = column(Meaning::Price).and_then(|price| {
        sheet.rows_below(table.rows.1).find_map(|(_, cells)| match cells.get(&price) {
            Some(Cell::Text(text)) => number::decimal_sign(text),
            _ => None,
        })
    });
    let mut above: BTreeMap<u32, Cell> = BTreeMap::new();
    for (row, cells) in sheet.rows_below(table.rows.1) {
        let filled: Vec<(u32, &Cell)> = cells
            .iter()
            .filter(|(at, cell)| table.holds(**at) && !cell.is_blank())
            .map(|(at, cell)| (*at, cell))
            .collect();
        if let Some(total) = total_row(table, &filled) {
            if total.named.is_none() && matches!(total.kind, Some(Kind::Plain | Kind::Grand)) {
                invoice.total_fish = total.fish.map(|fish| (row, fish)).or(invoice.total_fish);
            }
            if total.kind == Some(Kind::Grand) {
                return;
            }
            continue;
        }
        let get = |meaning| {
            let index = column(meaning)?;
            let own = filled.iter().find(|(at, _)| *at == index).map(|(_, cell)| (*cell).clone());
            let own = own.or_else(|| {
                let merge = sheet
                    .merge_over(row, index)
                    .filter(|merge| meaning == Meaning::Species && merge.rows.0 > table.rows.1)?;
                sheet.get(merge.rows.0, merge.columns.0).cloned()
            });
            match own {
                Some(Cell::Text(text)) if is_ditto(&text) => above.get(&index).cloned(),
                other => other,
            }
        };
        let name = get(Meaning::Species).or_else(|| get(Meaning::Scientific)).map(|cell| cell.text());
        let size = get(Meaning::Size).map(|cell| key(&cell.text())).filter(|size| !size.is_empty());
        let price = get(Meaning::Price).and_then(|cell| number::price(&cell, sign));
        let carried: Vec<(u32, Cell)> =
            table.columns.iter().filter_map(|column| Some((column.index, get(column.meaning)?))).collect();
        if let (Some(name), Some(price)) = (name, price) {
            invoice.prices.entry((key(&name), size)).or_default().insert(price);
        }
        if filled.len() > 1 {
            above = carried.into_iter().collect();
        }
    }
}

impl Invoice {
    /// The price of a species in a size: by both, or by the species where the invoice's row has no size.
    pub fn price(&self, species: &str, size: Option<&str>) -> Priced {
        let species = key(species);
        let by_both = size.and_then(|size| self.prices.get(&(species.clone(), Some(key(size)))));
        let Some(prices) = by_both.or_else(|| self.prices.get(&(species, None))) else { return Priced::None };
        let mut prices = prices.iter();
        match (prices.next(), prices.next()) {
            (Some(first), Some(second)) => Priced::Several(*first, *second),
            (Some(one), None) => Priced::One(*one),
            _ => Priced::None,
        }
    }
}

/// Whether a sheet's name says that it is a packing list.
pub fn names_a_packing_list(name: &str) -> bool {
    let words = super::words::phrase(name);
    super::words::names(&words, super::words::Label::PackingSheet)
        || super::words::names(&words, super::words::Label::Title)
        || fold(name).contains("packing")
}
