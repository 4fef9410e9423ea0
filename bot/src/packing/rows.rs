//! The rows of a table: lines, box headings, totals, and what is left out.

use std::collections::{BTreeMap, HashMap};

use holdfast_core::consignment::Asks;
use holdfast_core::say::packing as say;
use holdfast_core::species::Kind;

use super::boxes::Current;
use super::ditto::is_ditto;
use super::group::kind_under;
use super::headings::{Wanted, tables_at};
use super::limits;
use super::meaning::Meaning;
use super::number::{self, Count};
use super::open::Unreadable;
use super::reading::{Reading, TotalAt};
use super::sheet::{Cell, Sheet};
use super::table::Table;
use super::totals::{Sum, TotalRow, total_row};
use super::words::{self, Label, Role, phrase, roles};

/// Walks down the rows of a table.
pub(super) struct Reader<'a> {
    pub(super) sheet: &'a Sheet,
    pub(super) table: Table,
    pub(super) merged: HashMap<u32, Vec<(u32, u32, u32)>>,
    pub(super) current: Current,
    /// What the heading of a group ("PLANTS") or the sheet's name says of the lines below.
    pub(super) under: Option<Kind>,
    pub(super) above: BTreeMap<u32, Cell>,
    pub(super) all: Sum,
    pub(super) since: Sum,
    pub(super) decimal_sign: Option<char>,
    /// The headings that came again last: their cells, how many rows lie below the first, and the last row's cells.
    pub(super) heading: Option<(BTreeMap<u32, Cell>, u32)>,
    pub(super) lower_heading: Option<BTreeMap<u32, Cell>>,
    pub(super) out: Reading,
}

/// Reads the rows below a table's headings.
pub fn read(sheet: &Sheet, table: &Table) -> Result<Reading, Unreadable> {
    let mut reader = Reader {
        sheet,
        table: table.clone(),
        merged: merged_columns(sheet),
        current: Current::None,
        under: sheet.name.as_deref().and_then(kind_under),
        above: BTreeMap::new(),
        all: Sum::default(),
        since: Sum::default(),
        decimal_sign: decimal_sign(sheet, table),
        heading: None,
        lower_heading: None,
        out: Reading::default(),
    };
    let mut heading_until = table.rows.1;
    for (row, cells) in sheet.rows_below(table.rows.1) {
        if row <= heading_until && row != table.rows.1 {
            continue;
        }
        let cells: BTreeMap<u32, &Cell> = cells
            .iter()
            .filter(|(column, _)| reader.table.holds(**column))
            .map(|(column, cell)| (*column, cell))
            .collect();
        if cells.is_empty() {
            continue;
        }
        if let Some(last) = reader.repeated_heading(row) {
            heading_until = last;
            if reader.out.is_too_large() {
                return Err(Unreadable::TooLarge);
            }
            continue;
        }
        reader.row(row, &cells);
        if reader.out.is_too_large() {
            return Err(Unreadable::TooLarge);
        }
    }
    Ok(Reading { open: reader.since, ..reader.out })
}

/// Merged ranges more than one row high, by first column: rows and the row of the value.
fn merged_columns(sheet: &Sheet) -> HashMap<u32, Vec<(u32, u32, u32)>> {
    let mut columns: HashMap<u32, Vec<(u32, u32, u32)>> = HashMap::new();
    for merge in sheet.merges.iter().filter(|merge| merge.rows.1 > merge.rows.0) {
        columns.entry(merge.columns.0).or_default().push((merge.rows.0, merge.rows.1, merge.rows.0));
    }
    for ranges in columns.values_mut() {
        ranges.sort_unstable();
    }
    columns
}

/// The decimal separator that the price column shows for certain.
fn decimal_sign(sheet: &Sheet, table: &Table) -> Option<char> {
    let column = table.column(Meaning::Price)?.index;
    sheet.rows_below(table.rows.1).find_map(|(_, cells)| match cells.get(&column) {
        Some(Cell::Text(text)) => number::decimal_sign(text),
        _ => None,
    })
}

impl Reader<'_> {
    pub(super) fn place(&self, row: u32) -> String {
        say::place(self.sheet.name.as_deref(), row + 1)
    }

    pub(super) fn ask(&mut self, row: u32, question: String) {
        self.out.questions.push((row, question));
    }

    /// Asks what an answer can settle.
    pub(super) fn ask_for(&mut self, row: u32, question: String, asks: Asks) {
        self.out.asks.push((row, question.clone(), asks));
        self.ask(row, question);
    }

    /// A set of headings again, perhaps with other columns: it is taken up from there. Gives its last row.
    fn repeated_heading(&mut self, row: u32) -> Option<u32> {
        if let Some((cells, height)) = &self.heading
            && self.sheet.row(row) == Some(cells)
            && (*height == 0 || self.sheet.row(row + 1) == self.lower_heading.as_ref())
        {
            return Some(row + height);
        }
        let tables = tables_at(self.sheet, row, Wanted::Fish, &[])?;
        let last = tables.first()?.rows.1;
        self.heading = self.sheet.row(row).cloned().map(|cells| (cells, last - row));
        self.lower_heading = self.sheet.row(last).cloned();
        self.out.headings += 1;
        let here = tables
            .into_iter()
            .find(|table| table.columns_from == self.table.columns_from && table.columns_to == self.table.columns_to);
        if let Some(mut here) = here {
            // What a person said of a column holds under every set of headings.
            here.columns.retain(|column| !self.table.given.contains(&column.index));
            here.columns.extend(self.table.columns.iter().filter(|it| self.table.given.contains(&it.index)).cloned());
            let differs = here
                .columns
                .iter()
                .any(|column| column.meaning.is_used() && self.table.meaning(column.index) != column.meaning);
            if differs && here.counts_fish() {
                self.table.columns = here.columns;
            }
        }
        Some(last)
    }

    /// The cell of a meaning, or the cell it is merged with above, where merging carries.
    pub(super) fn cell<'c>(&'c self, row: u32, cells: &BTreeMap<u32, &'c Cell>, meaning: Meaning) -> Option<&'c Cell> {
        let column = self.table.column(meaning)?.index;
        if let Some(cell) = cells.get(&column).filter(|cell| !cell.is_blank()) {
            return Some(cell);
        }
        if !matches!(meaning, Meaning::Box | Meaning::Species | Meaning::Scientific) {
            return None;
        }
        let ranges = self.merged.get(&column)?;
        let at = ranges.partition_point(|range| range.0 <= row).checked_sub(1)?;
        let (_, last, value) = ranges[at];
        (row <= last && value > self.table.rows.1)
            .then(|| self.sheet.get(value, column))
            .flatten()
            .filter(|cell| !cell.is_blank())
    }

    /// The cell of a meaning, ditto marks followed up.
    pub(super) fn carried(&self, row: u32, cells: &BTreeMap<u32, &Cell>, meaning: Meaning) -> Option<Cell> {
        let cell = self.cell(row, cells, meaning)?;
        if let Cell::Text(text) = cell
            && is_ditto(text)
        {
            return self.above.get(&self.table.column(meaning)?.index).cloned();
        }
        Some(cell.clone())
    }

    fn row(&mut self, row: u32, cells: &BTreeMap<u32, &Cell>) {
        let filled: Vec<(u32, &Cell)> =
            cells.iter().filter(|(_, cell)| !cell.is_blank()).map(|(column, cell)| (*column, *cell)).collect();
        self.note_missing(row, cells);
        if filled.is_empty() {
            return;
        }
        if let Some(total) = total_row(&self.table, &filled) {
            self.total(row, total);
            return;
        }
        let own_species = self
            .table
            .column(Meaning::Species)
            .is_some_and(|column| filled.iter().any(|(index, _)| *index == column.index));
        let species = self
            .carried(row, cells, Meaning::Species)
            .map(|cell| cell.text())
            .filter(|name| name.chars().any(char::is_alphabetic));
        let scientific = self
            .carried(row, cells, Meaning::Scientific)
            .map(|cell| cell.text())
            .filter(|name| name.chars().any(char::is_alphabetic));
        let carried_species = species.is_some() && !own_species;
        if filled.len() == 1 && !carried_species {
            self.lone_cell(row, filled[0].0, filled[0].1);
            return;
        }
        // A box heading may stand in any column where the row has no fish.
        if let Some(boxes) = self.box_heading(&filled, species.as_deref(), scientific.as_deref()) {
            self.current = Current::Boxes(boxes.clone());
            self.out.name_boxes(row, &boxes);
            if let Some(fish) = self.fish_in(cells) {
                self.total(row, TotalRow { fish: Some(fish.fish), named: Some(boxes), ..TotalRow::unlabelled() });
            }
            return;
        }
        let name = species.clone().or_else(|| scientific.clone());
        let Some(name) = name else {
            self.row_without_name(row, cells);
            return;
        };
        if self.is_remark(&filled) && self.fish_in(cells).is_none() {
            return;
        }
        self.out.rows.insert(row);
        self.note_unknown(row, &filled);
        self.box_cell(row, cells);
        if name.chars().count() > limits::NAME_CHARACTERS {
            let place = self.place(row);
            self.ask(row, say::long_name(&place, name.chars().count()));
            return;
        }
        self.line(row, cells, &name, species.is_some(), scientific);
        self.remember(row, cells);
    }

    /// Keeps the cells of a row for the ditto marks below it.
    fn remember(&mut self, row: u32, cells: &BTreeMap<u32, &Cell>) {
        let columns: Vec<(u32, Meaning)> =
            self.table.columns.iter().map(|column| (column.index, column.meaning)).collect();
        let above = columns
            .into_iter()
            .filter_map(|(index, meaning)| {
                let own = cells.get(&index).map(|cell| (*cell).clone());
                let cell = match own {
                    Some(Cell::Text(text)) if is_ditto(&text) => self.above.get(&index).cloned(),
                    Some(cell) if !cell.is_blank() => Some(cell),
                    _ => self.cell(row, cells, meaning).cloned(),
                };
                Some((index, cell?))
            })
            .collect();
        self.above = above;
    }

    fn note_missing(&mut self, row: u32, cells: &BTreeMap<u32, &Cell>) {
        for (column, cell) in cells {
            if let Cell::Missing(what) = cell
                && self.table.meaning(*column).is_used()
            {
                self.out.missing.entry(*column).or_insert((0, row, what.clone())).0 += 1;
            }
        }
    }

    fn note_unknown(&mut self, row: u32, filled: &[(u32, &Cell)]) {
        for (column, _) in filled {
            if self.table.meaning(*column) == Meaning::Unknown {
                self.out.unknown.entry(*column).or_insert(row);
            }
        }
    }

    /// Remarks and labelled values below the lines are not fish.
    fn is_remark(&self, filled: &[(u32, &Cell)]) -> bool {
        let Some((_, Cell::Text(text))) = filled.first() else { return false };
        let words = phrase(text);
        let is_label = [Label::Awb, Label::House, Label::Invoice, Label::Supplier, Label::Packed, Label::Gross]
            .iter()
            .any(|&label| words::names(&words, label));
        words.first().is_some_and(|word| roles(word).has(Role::Remark)) || (is_label && words.len() <= 6)
    }

    /// The fish that the row counts, for rows that are no lines.
    pub(super) fn fish_in(&self, cells: &BTreeMap<u32, &Cell>) -> Option<Count> {
        [Meaning::Quantity, Meaning::PerBox, Meaning::PerBag].into_iter().find_map(|meaning| {
            let column = self.table.column(meaning)?;
            number::count(cells.get(&column.index)?, column.fish_each)
        })
    }

    pub(super) fn total(&mut self, row: u32, total: TotalRow) {
        let under = match &self.current {
            Current::Boxes(boxes) => boxes.clone(),
            _ => Vec::new(),
        };
        let resets = total.closes_a_part();
        self.out.totals.push(TotalAt { row, total, all: self.all, since: self.since, under });
        if resets {
            self.since = Sum::default();
        }
    }
}
