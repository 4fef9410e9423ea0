//! A sheet with its tables read, up to its grand total.

use std::collections::BTreeSet;

use holdfast_core::say::packing as say;

use super::currency;
use super::invoice;
use super::labels::{self, Labels, Scope};
use super::meaning::Meaning;
use super::number;
use super::reading::Reading;
use super::sheet::{Cell, Sheet};
use super::table::Table;
use super::totals::{self, Sum};
use super::words;

/// A sheet with its tables read.
pub(super) struct Part<'a> {
    pub(super) sheet: &'a Sheet,
    pub(super) tables: Vec<Table>,
    pub(super) readings: Vec<Reading>,
    pub(super) labels: Labels,
    pub(super) has_boxes: bool,
    /// The grand total row's fish, all tables of the sheet together.
    pub(super) grand: Option<u64>,
}

impl Part<'_> {
    pub(super) fn boxes(&self) -> BTreeSet<u32> {
        self.readings.iter().flat_map(Reading::all_boxes).collect()
    }

    pub(super) fn sum(&self) -> Sum {
        let mut sum = Sum::default();
        for draft in self.readings.iter().flat_map(|reading| &reading.drafts) {
            sum.add(u64::from(draft.line.qty), u64::from(draft.line.bonus));
        }
        sum
    }

    pub(super) fn has_lines(&self) -> bool {
        self.readings.iter().any(|reading| !reading.drafts.is_empty() || !reading.rows.is_empty())
    }

    pub(super) fn calls_itself_packing_list(&self) -> bool {
        self.labels.titled || self.sheet.name.as_deref().is_some_and(invoice::names_a_packing_list)
    }
}

pub(super) fn free_part<'a>(sheet: &'a Sheet, text: &str, reading: Reading) -> Part<'a> {
    let words: Vec<String> = words::phrase(text.get(..text.len().min(4000)).unwrap_or(text));
    let english = words::is_english(words.iter().map(String::as_str));
    let heading = reading.boxes.values().min().copied().unwrap_or(u32::MAX);
    let mut labels = labels::read(&Scope { sheet, skip: &reading.rows, heading, english });
    // Of an item the price may name the currency; a sign names it anywhere.
    for item in text.split(['\n', ';']) {
        labels.currencies.extend(item.rsplit_once('@').map(|(_, price)| currency::codes(price)).unwrap_or_default());
        labels.currencies.extend(currency::signs(item));
    }
    let has_boxes = !reading.boxes.is_empty();
    close(Part { sheet, tables: Vec::new(), readings: vec![reading], labels, has_boxes, grand: None })
}

pub(super) fn part(sheet: &Sheet, tables: Vec<Table>, readings: Vec<Reading>) -> Part<'_> {
    let mut skip: BTreeSet<u32> = readings.iter().flat_map(|reading| reading.rows.iter().copied()).collect();
    skip.extend(tables.iter().flat_map(|table| table.rows.0..=table.rows.1));
    let heading = tables.first().map_or(u32::MAX, |table| table.rows.0);
    let english = tables.first().is_none_or(|table| table.english);
    let mut labels = labels::read(&Scope { sheet, skip: &skip, heading, english });
    for table in &tables {
        for column in &table.columns {
            labels.currencies.extend(currency::codes(&column.text));
            if column.meaning == Meaning::Price {
                let texts = skip.iter().filter_map(|row| sheet.get(*row, column.index)).map(Cell::text);
                labels.currencies.extend(texts.flat_map(|text| currency::codes(&text)));
            }
        }
        labels.shown.extend(shown_currencies(sheet, table, &skip));
        labels.shown.extend(amount_currencies(sheet, table, &skip));
    }
    let has_boxes = tables.iter().any(|table| table.column(Meaning::Box).is_some())
        || readings.iter().any(|reading| !reading.boxes.is_empty());
    close(Part { sheet, tables, readings, labels, has_boxes, grand: None })
}

/// The currencies that formats show: those of prices, else of anything on the lines, such as an amount.
pub(super) fn shown_currencies(sheet: &Sheet, table: &Table, rows: &BTreeSet<u32>) -> BTreeSet<&'static str> {
    let of = |column: u32| rows.iter().filter_map(move |row| sheet.shown_currency(*row, column));

    let prices: BTreeSet<_> = table.column(Meaning::Price).into_iter().flat_map(|column| of(column.index)).collect();
    if !prices.is_empty() {
        return prices;
    }
    table.columns.iter().flat_map(|column| of(column.index)).collect()
}

/// The currencies typed beside amounts: `€ 12.50` in a column that is no price.
fn amount_currencies(sheet: &Sheet, table: &Table, rows: &BTreeSet<u32>) -> BTreeSet<&'static str> {
    let columns = table.columns.iter().filter(|column| column.meaning == Meaning::Unused);

    columns
        .flat_map(|column| rows.iter().filter_map(|row| sheet.get(*row, column.index)))
        .filter_map(|cell| match cell {
            Cell::Text(text) if number::price_text(text, None).is_some() => Some(currency::codes(text)),
            _ => None,
        })
        .flatten()
        .collect()
}

/// Ends each table at its grand total.
fn close(mut part: Part<'_>) -> Part<'_> {
    let mut grand: Option<u64> = None;
    let mut last_row = None;
    for reading in &mut part.readings {
        let at = totals::grand(reading);
        reading.grand = at;
        if let Some(at) = at.map(|at| reading.totals[at].clone()) {
            if at.all.fish > 0
                && at.total.kind != Some(super::statement::Kind::Grand)
                && let Some(row) = reading
                    .own_box
                    .range(at.row + 1..)
                    .find(|row| reading.drafts.iter().any(|draft| draft.row == **row))
            {
                let question = say::lines_after_total(&say::place(part.sheet.name.as_deref(), row + 1), at.row + 1);
                reading.questions.push((at.row, question));
            }
            if at.all.fish > 0 {
                reading.end_at(at.row);
                last_row = last_row.max(Some(at.row));
            }
            grand = match (grand, at.total.fish) {
                (Some(one), Some(other)) => Some(one + other),
                (one, other) => one.or(other),
            };
            part.labels.gross_kg = part.labels.gross_kg.or(at.total.gross);
        }
    }
    if let Some(row) = last_row {
        part.readings.iter_mut().for_each(|reading| reading.end_at(row));
    }
    part.grand = grand;
    part
}
