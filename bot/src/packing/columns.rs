//! Columns from their headings: one for each meaning, with what a person said of them.

use std::collections::BTreeMap;

use super::meaning::{Heading, Meaning, heading};
use super::sheet::{Cell, Sheet};
use super::table::{Column, ColumnOverride, has_quantity, has_species};
use super::words;

pub(super) type Texts = BTreeMap<u32, (String, String)>;

pub(super) fn column(index: u32, text: String, heading: Heading) -> Option<Column> {
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
pub(super) fn columns(texts: &Texts) -> Vec<Column> {
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

pub(super) fn apply(columns: &mut Vec<Column>, sheet: &Sheet, overrides: &[ColumnOverride]) {
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
pub(super) fn given(sheet: &Sheet, overrides: &[ColumnOverride]) -> Vec<u32> {
    let here = overrides.iter().filter(|wanted| wanted.sheet.is_none() || wanted.sheet == sheet.name);
    here.filter_map(|wanted| super::sheet::column_of(&wanted.column)).collect()
}

/// Parts the columns where the set of headings begins again.
pub(super) fn split(columns: Vec<Column>) -> Vec<(u32, u32, Vec<Column>)> {
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
pub(super) fn settle(
    mut columns: Vec<Column>,
    sheet: &Sheet,
    last_heading_row: u32,
    overrides: &[ColumnOverride],
) -> Vec<Column> {
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
