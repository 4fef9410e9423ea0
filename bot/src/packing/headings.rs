//! Where the tables of a sheet are, and what their columns mean.

use std::collections::BTreeMap;

use holdfast_core::consignment::ListColumn;

use super::clean::clean;
use super::limits;
use super::meaning::{Heading, Meaning, heading, is_heading_word};
use super::number::count_text;
use super::sheet::{Cell, Sheet, letters};
use super::words;

/// A column as understood.
#[derive(Debug, Clone)]
pub struct Column {
    /// Its place, from zero.
    pub index: u32,
    /// The heading as written, both rows; empty where there is none.
    pub text: String,
    /// What it means.
    pub meaning: Meaning,
    /// Fish that each count stands for.
    pub fish_each: u64,
    /// Whether cells name the box and the bag in it.
    pub with_bag: bool,
}

/// A table: the columns under one set of headings.
#[derive(Debug, Clone)]
pub struct Table {
    /// First and last heading row.
    pub rows: (u32, u32),
    /// First column, and the first column of the next table to the right.
    pub columns_from: u32,
    /// The end of its columns, excluded.
    pub columns_to: u32,
    /// The columns that have a heading.
    pub columns: Vec<Column>,
    /// Whether the headings are English.
    pub english: bool,
    /// Columns whose meaning a person gave.
    pub given: Vec<u32>,
}

impl Table {
    /// The column of a meaning.
    pub fn column(&self, meaning: Meaning) -> Option<&Column> {
        self.columns.iter().find(|column| column.meaning == meaning)
    }

    /// The meaning of a column; `Unknown` where it has no heading.
    pub fn meaning(&self, index: u32) -> Meaning {
        self.columns.iter().find(|column| column.index == index).map_or(Meaning::Unknown, |column| column.meaning)
    }

    /// Whether a column belongs to this table.
    pub fn holds(&self, index: u32) -> bool {
        (self.columns_from..self.columns_to).contains(&index)
    }

    /// Whether it counts fish of a name.
    pub fn counts_fish(&self) -> bool {
        has_species(&self.columns) && has_quantity(&self.columns)
    }

    /// Whether it prices fish of a name.
    pub fn prices_fish(&self) -> bool {
        has_species(&self.columns) && self.column(Meaning::Price).is_some()
    }
}

/// What a person says of a column: "column F is pieces per bag".
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ColumnOverride {
    /// The sheet, or every sheet.
    pub sheet: Option<String>,
    /// The column's letters.
    pub column: String,
    /// What it means.
    pub meaning: Meaning,
}

/// A column for the read-back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ColumnMeaning {
    /// The sheet; `None` for a text.
    pub sheet: Option<String>,
    /// The column's letters.
    pub column: String,
    /// The heading as written.
    pub heading: String,
    /// What it was taken for.
    pub meaning: Meaning,
}

impl ColumnMeaning {
    /// The column as the list keeps it.
    pub fn in_list(&self) -> ListColumn {
        ListColumn {
            sheet: self.sheet.clone(),
            column: self.column.clone(),
            heading: self.heading.clone(),
            meaning: self.meaning,
        }
    }
}

/// What is looked for in a heading row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wanted {
    /// A species and a quantity.
    Fish,
    /// A species and a price.
    Prices,
}

fn has_species(columns: &[Column]) -> bool {
    columns.iter().any(|column| matches!(column.meaning, Meaning::Species | Meaning::Scientific))
}

fn has_quantity(columns: &[Column]) -> bool {
    columns.iter().any(|column| column.meaning.is_fish())
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

type Texts = BTreeMap<u32, (String, String)>;

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

fn column(index: u32, text: String, heading: Heading) -> Option<Column> {
    let meaning = match heading.meaning {
        // A sentence or a number is no heading of fish.
        _ if text.chars().count() > 60 => Meaning::Unknown,
        meaning
            if meaning.is_used()
                && meaning != Meaning::Price
                && text.matches(|c: char| c.is_ascii_digit()).count() > 1 =>
        {
            Meaning::Unknown
        }
        meaning => meaning,
    };
    Some(Column { index, text, meaning, fish_each: heading.fish_each, with_bag: heading.with_bag })
}

/// Columns with their meanings, before doubles are settled.
fn columns(texts: &Texts) -> Vec<Column> {
    texts
        .iter()
        .filter_map(|(index, (upper, lower))| {
            let text = [upper.as_str(), lower.as_str()]
                .into_iter()
                .filter(|part| !part.is_empty())
                .collect::<Vec<_>>()
                .join(" ");
            column(*index, text, heading(upper, lower)?)
        })
        .collect()
}

fn apply(columns: &mut Vec<Column>, sheet: &Sheet, overrides: &[ColumnOverride]) {
    for wanted in overrides {
        let here = wanted.sheet.is_none() || wanted.sheet == sheet.name;
        let Some(index) = super::sheet::column_of(&wanted.column).filter(|_| here) else { continue };
        match columns.iter_mut().find(|column| column.index == index) {
            Some(column) => column.meaning = wanted.meaning,
            None => {
                let meaning = wanted.meaning;
                columns.push(Column { index, text: String::new(), meaning, fish_each: 1, with_bag: false });
            }
        }
    }
    columns.sort_by_key(|column| column.index);
}

/// The columns of a sheet whose meaning a person gave.
fn given(sheet: &Sheet, overrides: &[ColumnOverride]) -> Vec<u32> {
    let here = overrides.iter().filter(|wanted| wanted.sheet.is_none() || wanted.sheet == sheet.name);
    here.filter_map(|wanted| super::sheet::column_of(&wanted.column)).collect()
}

/// Parts the columns where the set of headings begins again.
fn split(columns: Vec<Column>) -> Vec<(u32, u32, Vec<Column>)> {
    let same = |a: &Column, b: &Column| a.meaning == b.meaning && words::phrase(&a.text) == words::phrase(&b.text);
    let first = columns.iter().find(|column| column.meaning != Meaning::Unknown);
    let mut starts: Vec<usize> = Vec::new();
    if let Some(first) = first {
        starts = columns.iter().enumerate().filter(|(_, column)| same(first, column)).map(|(at, _)| at).collect();
    }
    let whole = |part: &[Column]| has_species(part) && has_quantity(part);
    let parts: Vec<&[Column]> = starts
        .iter()
        .enumerate()
        .map(|(at, &from)| &columns[from..starts.get(at + 1).copied().unwrap_or(columns.len())])
        .collect();
    if parts.len() < 2 || !parts.iter().all(|part| whole(part)) {
        return vec![(0, u32::MAX, columns)];
    }
    (0..parts.len())
        .map(|at| {
            let from = if at == 0 { 0 } else { parts[at][0].index };
            let to = parts.get(at + 1).map_or(u32::MAX, |next| next[0].index);
            (from, to, columns.iter().filter(|column| (from..to).contains(&column.index)).cloned().collect())
        })
        .collect()
}

/// Where several columns have one meaning, one is taken: a total before a plain quantity, a common name before a name.
fn settle(mut columns: Vec<Column>, sheet: &Sheet, last_heading_row: u32, overrides: &[ColumnOverride]) -> Vec<Column> {
    let given =
        |column: &Column| overrides.iter().any(|wanted| super::sheet::column_of(&wanted.column) == Some(column.index));
    let strong = |column: &Column| heading("", &column.text).is_some_and(|heading| heading.strong);
    let weak = |column: &Column| heading("", &column.text).is_some_and(|heading| heading.weak);
    // Articles may be numbers beside their names; a name is not made of codes.
    let codes =
        |column: &Column| column.meaning == Meaning::Species && holds_codes(sheet, column.index, last_heading_row);
    // Beside a column of boxes, `Box/Bag` is how many bags each has.
    if columns.iter().any(|column| column.meaning == Meaning::Box && !column.with_bag) {
        for column in columns.iter_mut().filter(|column| column.meaning == Meaning::Box && column.with_bag) {
            (column.meaning, column.with_bag) = (Meaning::BagsPerBox, false);
        }
    }
    for meaning in [
        Meaning::Species,
        Meaning::Quantity,
        Meaning::Box,
        Meaning::Scientific,
        Meaning::Size,
        Meaning::PerBag,
        Meaning::PerBox,
        Meaning::Price,
        Meaning::Total,
        Meaning::BagNumber,
        Meaning::Bags,
    ] {
        let places: Vec<usize> = (0..columns.len()).filter(|&at| columns[at].meaning == meaning).collect();
        let Some(&best) = places
            .iter()
            .min_by_key(|&&at| (!given(&columns[at]), codes(&columns[at]), weak(&columns[at]), !strong(&columns[at])))
        else {
            continue;
        };
        for at in places.into_iter().filter(|&at| at != best) {
            let is_latin = meaning == Meaning::Species
                && !columns.iter().any(|column| column.meaning == Meaning::Scientific)
                && is_latin(sheet, columns[at].index, last_heading_row);
            columns[at].meaning = if is_latin { Meaning::Scientific } else { Meaning::Unused };
        }
    }
    // Words between the numbers, such as headings that come again, say nothing of the kind of number.
    let whole_values = |index: u32| {
        let below = sheet.rows_below(last_heading_row);
        let mut values = below
            .filter_map(|(_, cells)| cells.get(&index))
            .filter(|cell| cell.text().chars().any(|character| character.is_ascii_digit()))
            .peekable();
        values.peek().is_some() && values.all(|cell| super::number::count(cell, 1).is_some())
    };
    let has_row_total = columns.iter().any(|column| column.meaning == Meaning::Quantity);
    for column in columns.iter_mut().filter(|column| column.meaning == Meaning::Total) {
        column.meaning = if !has_row_total && whole_values(column.index) { Meaning::Quantity } else { Meaning::Unused };
    }
    columns
}

/// Whether most values of a column are words with a digit in them, or numbers.
fn holds_codes(sheet: &Sheet, column: u32, last_heading_row: u32) -> bool {
    let below = sheet.rows_below(last_heading_row);
    let values: Vec<String> = below
        .filter_map(|(_, cells)| cells.get(&column))
        .filter(|cell| !cell.is_blank())
        .take(20)
        .map(Cell::text)
        .collect();
    let is_code = |text: &String| !text.contains(' ') && text.contains(|c: char| c.is_ascii_digit());
    !values.is_empty() && values.iter().filter(|text| is_code(text)).count() * 2 > values.len()
}

/// Whether most values of a column look like scientific names.
fn is_latin(sheet: &Sheet, index: u32, after: u32) -> bool {
    let values: Vec<String> =
        sheet.rows_below(after).filter_map(|(_, cells)| cells.get(&index)).map(Cell::text).take(50).collect();
    let latin = values.iter().filter(|value| super::latin::is_name(value)).count();
    latin * 2 > values.len()
}

/// The read-back of a table's columns.
pub fn meanings(sheet: &Sheet, table: &Table) -> Vec<ColumnMeaning> {
    table
        .columns
        .iter()
        .map(|column| ColumnMeaning {
            sheet: sheet.name.clone(),
            column: letters(column.index),
            heading: column.text.clone(),
            meaning: column.meaning,
        })
        .collect()
}
