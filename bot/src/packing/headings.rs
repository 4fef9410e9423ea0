//! Where the tables of a sheet are.

use std::collections::BTreeMap;

use super::clean::clean;
use super::columns::{Texts, apply, column, columns, given, settle, split};
use super::limits;
use super::meaning::{Heading, Meaning, heading, is_heading_word};
use super::number::count_text;
use super::sheet::{Cell, Sheet};
use super::table::{Column, ColumnOverride, Table, has_quantity, has_species};
use super::words;

/// What is looked for in a heading row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wanted {
    /// A species and a quantity.
    Fish,
    /// A species and a price.
    Prices,
}

/// The tables of a sheet, left to right. Empty where no row within the first thirty has the headings.
pub fn tables(sheet: &Sheet, wanted: Wanted, overrides: &[ColumnOverride]) -> Vec<Table> {
    for (row, _) in sheet.rows().take_while(|(row, _)| *row < limits::HEADING_ROWS) {
        if let Some(tables) = tables_at(sheet, row, wanted, overrides) {
            return tables;
        }
    }
    Vec::new()
}

/// The tables whose headings begin at a row.
pub fn tables_at(sheet: &Sheet, row: u32, wanted: Wanted, overrides: &[ColumnOverride]) -> Option<Vec<Table>> {
    let top = sheet.row(row)?;
    if !is_texts_only(top) {
        return None;
    }
    let below = sheet.row(row + 1).filter(|below| is_lower_heading(sheet, top, below, row));
    let with_overrides = |texts: &Texts| {
        let mut columns = columns(texts);
        // Meanings given by a person count only in a row that already looks like headings.
        if columns.iter().filter(|column| column.meaning != Meaning::Unknown).count() >= 2 {
            apply(&mut columns, sheet, overrides);
        }
        columns
    };
    let double = below.map(|below| with_overrides(&headings_of_two(sheet, row, top, below)));
    let single = with_overrides(&headings_of_one(sheet, row, top));
    let suits = |columns: &[Column]| {
        has_species(columns)
            && (has_quantity(columns)
                || wanted == Wanted::Prices && columns.iter().any(|column| column.meaning == Meaning::Price))
    };
    // A row of labels above headings that are whole without it is no part of them.
    let double = double.filter(|double| {
        let lower = below.map(|below| columns(&headings_of_one(sheet, row + 1, below))).unwrap_or_default();
        let says_more = double.iter().any(|column| {
            column.meaning.is_used()
                && lower.iter().any(|other| other.index == column.index && other.meaning != column.meaning)
        });
        !(has_species(&lower) && has_quantity(&lower))
            || (says_more
                && top
                    .values()
                    .map(Cell::text)
                    .all(|text| is_heading_word(&text) && !text.contains(|c: char| c.is_ascii_digit() || c == ':')))
    });
    let (columns, last) = match double {
        Some(double) if suits(&double) => (double, row + 1),
        _ if suits(&single) => (single, row),
        _ => return None,
    };
    let heading_words: Vec<String> = columns.iter().flat_map(|column| words::phrase(&column.text)).collect();
    let english = words::is_english(heading_words.iter().map(String::as_str));
    Some(
        split(columns)
            .into_iter()
            .map(|(from, to, columns)| Table {
                rows: (row, last),
                columns_from: from,
                columns_to: to,
                columns: settle(columns, sheet, last, overrides),
                english,
                given: given(sheet, overrides),
            })
            .collect(),
    )
}

/// For columns parted by blanks: the first of many lines that has the headings.
pub fn first_heading_line<'t>(lines: impl Iterator<Item = Vec<&'t str>>) -> Option<usize> {
    lines.take(limits::HEADING_ROWS as usize).position(|line| {
        let meanings: Vec<Column> =
            (0..).zip(&line).filter_map(|(index, text)| column(index, text.to_string(), heading("", text)?)).collect();
        has_species(&meanings) && has_quantity(&meanings)
    })
}

/// Headings are texts, and the words that make one are few and hold no counts.
fn is_texts_only(cells: &BTreeMap<u32, Cell>) -> bool {
    cells.values().all(|cell| matches!(cell, Cell::Text(text) if count_text(text).is_none()))
}

fn is_lower_heading(sheet: &Sheet, top: &BTreeMap<u32, Cell>, below: &BTreeMap<u32, Cell>, row: u32) -> bool {
    let words = below.values().all(|cell| match cell {
        Cell::Text(text) => is_heading_word(text) && !text.chars().any(|character| character.is_ascii_digit()),
        _ => false,
    });
    // A row that has all headings of its own is a second set in another language, not a part of the first.
    let alone = columns(&headings_of_one(sheet, row + 1, below));
    let above = columns(&headings_of_one(sheet, row, top));
    let both_whole = has_species(&alone) && has_quantity(&alone) && has_species(&above) && has_quantity(&above);
    // Words of a group heading such as FISH stand alone in their row, under a heading that is whole without them.
    let stands_alone = below.len() == 1 && top.len() > 1 && {
        let (place, _) = below.iter().next().expect("one cell");
        top.contains_key(place)
            && !matches!(
                heading_at(sheet, row + 1, *place).map(|heading| heading.meaning),
                Some(Meaning::PerBag | Meaning::PerBox | Meaning::Unknown)
            )
            && has_species(&above)
            && has_quantity(&above)
    };
    words && !both_whole && !stands_alone
}

fn heading_at(sheet: &Sheet, row: u32, column: u32) -> Option<Heading> {
    heading("", &sheet.get(row, column)?.text())
}

fn headings_of_one(sheet: &Sheet, row: u32, cells: &BTreeMap<u32, Cell>) -> Texts {
    let mut texts: Texts = cells.iter().map(|(column, cell)| (*column, (String::new(), raw(cell)))).collect();
    for (column, cell) in cells {
        if let Some(merge) = sheet.merge_over(row, *column).filter(|merge| merge.columns.0 == *column) {
            for covered in merge.columns.0 + 1..=merge.columns.1.min(merge.columns.0 + 50) {
                texts.entry(covered).or_insert_with(|| (String::new(), raw(cell)));
            }
        }
    }
    texts
}

/// The upper heading reaches over the columns it is merged over; without merging, over those that are blank beside it.
fn headings_of_two(sheet: &Sheet, row: u32, top: &BTreeMap<u32, Cell>, below: &BTreeMap<u32, Cell>) -> Texts {
    let merged_row = sheet.merges.iter().any(|merge| merge.rows.0 == row && merge.columns.1 > merge.columns.0);
    let upper = |column: u32| -> String {
        if let Some(cell) = top.get(&column) {
            return raw(cell);
        }
        if merged_row {
            return sheet
                .merge_over(row, column)
                .filter(|merge| merge.rows.0 == row)
                .and_then(|merge| top.get(&merge.columns.0))
                .map(raw)
                .unwrap_or_default();
        }
        top.range(..column).next_back().map(|(_, cell)| raw(cell)).unwrap_or_default()
    };
    let mut texts = Texts::new();
    for column in top.keys().chain(below.keys()) {
        let lower = below.get(column).map(raw).unwrap_or_default();
        let upper = upper(*column);
        // Without merges the upper heading is only a guess: it must not turn a plain lower one into nonsense.
        texts.insert(*column, (upper, lower));
    }
    texts
}

fn raw(cell: &Cell) -> String {
    clean(&cell.text())
}
