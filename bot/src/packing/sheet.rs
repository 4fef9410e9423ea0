//! A sheet as cells that exist. The size a sheet claims is never looked at.

use std::collections::{BTreeMap, HashMap};

use chrono::NaiveDateTime;

use super::clean::{clean, shorten};
use super::limits;
use super::open::Unreadable;

/// One filled cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Text as stored, line breaks kept.
    Text(String),
    /// A number, or the cached value of a formula.
    Number(f64),
    /// A number that the spreadsheet shows as a date.
    Date(NaiveDateTime),
    /// A formula without a cached value, or an error value: read as blank, and asked about.
    Missing(String),
}

impl Cell {
    /// The cell as a person would read it, cleaned.
    pub fn text(&self) -> String {
        match self {
            Cell::Text(text) => clean(text),
            Cell::Number(number) => plain_number(*number),
            Cell::Date(moment) if moment.time() == chrono::NaiveTime::MIN => moment.format("%Y-%m-%d").to_string(),
            Cell::Date(moment) => moment.format("%Y-%m-%d %H:%M").to_string(),
            Cell::Missing(_) => String::new(),
        }
    }

    /// Whether the cell reads as blank.
    pub fn is_blank(&self) -> bool {
        match self {
            Cell::Text(text) => clean(text).is_empty(),
            Cell::Missing(_) => true,
            Cell::Number(_) | Cell::Date(_) => false,
        }
    }
}

/// A number without trailing zeros and without the dust of binary fractions: twelve significant digits.
pub fn plain_number(number: f64) -> String {
    if number == number.trunc() && number.abs() < 1e15 {
        return format!("{number:.0}");
    }
    let digits = 11 - number.abs().log10().floor() as i32;
    let text = format!("{:.*}", digits.clamp(0, 17) as usize, number);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// A merged range; its value stands in the top left cell. Rows and columns count from zero, ends included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Merge {
    /// First and last row.
    pub rows: (u32, u32),
    /// First and last column.
    pub columns: (u32, u32),
}

/// One sheet.
#[derive(Debug, Clone, Default)]
pub struct Sheet {
    /// The name on the tab; `None` for a text file.
    pub name: Option<String>,
    /// Whether the sheet is hidden.
    pub hidden: bool,
    /// Filled cells by row, then column, both from zero.
    rows: BTreeMap<u32, BTreeMap<u32, Cell>>,
    /// Merged ranges.
    pub merges: Vec<Merge>,
    /// ISO codes of the currencies that the formats of numbers show, by row and column.
    shown: HashMap<(u32, u32), &'static str>,
    count: usize,
}

impl Sheet {
    /// An empty sheet.
    pub fn new(name: Option<String>, hidden: bool) -> Self {
        Self { name, hidden, ..Self::default() }
    }

    /// Puts a cell down; blanks are not kept.
    pub fn put(&mut self, row: u32, column: u32, cell: Cell) -> Result<(), Unreadable> {
        let cell = match cell {
            Cell::Text(text) if clean(&text).is_empty() => return Ok(()),
            Cell::Text(text) => Cell::Text(shorten(&text, limits::CELL_CHARACTERS)),
            Cell::Number(number) if !number.is_finite() => Cell::Missing("#NUM!".to_owned()),
            other => other,
        };
        self.count += 1;
        if self.count > limits::CELLS {
            return Err(Unreadable::TooLarge);
        }
        self.rows.entry(row).or_default().insert(column, cell);
        Ok(())
    }

    /// Notes a merged range.
    pub fn merge(&mut self, merge: Merge) {
        if self.merges.len() < limits::MERGES && merge.rows.0 <= merge.rows.1 && merge.columns.0 <= merge.columns.1 {
            self.merges.push(merge);
        }
    }

    /// Notes that the format of a number shows a currency, as its ISO code.
    pub fn show_currency(&mut self, row: u32, column: u32, code: &'static str) {
        self.shown.insert((row, column), code);
    }

    /// The currency that the format of a number shows, as its ISO code.
    pub fn shown_currency(&self, row: u32, column: u32) -> Option<&'static str> {
        self.shown.get(&(row, column)).copied()
    }

    /// How many cells are filled.
    pub fn count(&self) -> usize {
        self.count
    }

    /// The cell at a place, if it is filled.
    pub fn get(&self, row: u32, column: u32) -> Option<&Cell> {
        self.rows.get(&row)?.get(&column)
    }

    /// The rows that have cells, top down.
    pub fn rows(&self) -> impl Iterator<Item = (u32, &BTreeMap<u32, Cell>)> {
        self.rows.iter().map(|(row, cells)| (*row, cells))
    }

    /// The cells of one row.
    pub fn row(&self, row: u32) -> Option<&BTreeMap<u32, Cell>> {
        self.rows.get(&row)
    }

    /// The merged range that covers a place, if one does.
    pub fn merge_over(&self, row: u32, column: u32) -> Option<&Merge> {
        self.merges.iter().find(|merge| {
            (merge.rows.0..=merge.rows.1).contains(&row) && (merge.columns.0..=merge.columns.1).contains(&column)
        })
    }
}

/// The letters of a column counted from zero: 0 is `A`, 26 is `AA`.
pub fn letters(column: u32) -> String {
    let mut letters = Vec::new();
    let mut rest = u64::from(column) + 1;
    while rest > 0 {
        letters.push(char::from(b'A' + ((rest - 1) % 26) as u8));
        rest = (rest - 1) / 26;
    }
    letters.iter().rev().collect()
}

/// The column of letters such as `F` or `aa`, counted from zero.
pub fn column_of(letters: &str) -> Option<u32> {
    if letters.is_empty() || letters.len() > 3 {
        return None;
    }
    letters
        .chars()
        .try_fold(0_u32, |column, letter| {
            let letter = letter.to_ascii_uppercase();
            letter.is_ascii_uppercase().then(|| column * 26 + (letter as u32 - 'A' as u32) + 1)
        })
        .map(|column| column - 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_have_the_letters_of_a_spreadsheet() {
        for (column, name) in [(0, "A"), (25, "Z"), (26, "AA"), (701, "ZZ"), (702, "AAA"), (16383, "XFD")] {
            assert_eq!(letters(column), name);
            assert_eq!(column_of(name), Some(column));
        }
        assert_eq!(column_of("A1"), None);
    }

    #[test]
    fn numbers_are_written_without_binary_dust() {
        assert_eq!(plain_number(0.1 + 0.2 - 0.23), "0.07");
        assert_eq!(plain_number(4.0), "4");
        assert_eq!(plain_number(4.5), "4.5");
        assert_eq!(plain_number(1e14), "100000000000000");
    }
}
