//! What the tests share: lists from a few lines of text or a few cells, and lines shown on one line.

use holdfast_bot::packing;
use holdfast_core::consignment::{ListLine, PackingList};
use rust_xlsxwriter::{Format, Formula, Workbook, Worksheet};

/// Reads a text as a file.
pub fn read(text: &str) -> PackingList {
    packing::read("list.csv", text.as_bytes()).unwrap()
}

/// Reads a table whose rows are given with cells parted by semicolons.
pub fn table(rows: &[&str]) -> PackingList {
    read(&rows.join("\n"))
}

/// A line on one line: `7 Neon M 75+2 bag 1 bags 3 @0.35`, without what is not there.
pub fn show(line: &ListLine) -> String {
    let number = line.number.map_or("?".to_owned(), |number| number.to_string());
    let mut text = format!("{number} {}", line.species);
    if let Some(size) = &line.size {
        text += &format!(" [{size}]");
    }
    text += &format!(" {}", line.qty);
    if line.bonus > 0 {
        text += &format!(" ({} free)", line.bonus);
    }
    if let Some(bag) = line.bag {
        text += &format!(" bag {bag}");
    }
    if let Some(bags) = line.bags {
        text += &format!(" in {bags}");
    }
    if let Some(price) = line.unit_price {
        text += &format!(" @{price}");
    }
    text
}

/// All lines, shown.
pub fn shown(list: &PackingList) -> Vec<String> {
    list.lines.iter().map(show).collect()
}

/// Asserts the lines, and that nothing is asked.
#[track_caller]
pub fn clean(list: &PackingList, lines: &[&str]) {
    assert_eq!(shown(list), lines, "{:?}", list.questions);
    assert_eq!(list.questions, Vec::<String>::new());
}

/// Asserts the lines, and that the questions hold these words, one question each.
#[track_caller]
pub fn asks(list: &PackingList, lines: &[&str], words: &[&str]) {
    assert_eq!(shown(list), lines, "{:?}", list.questions);
    assert_eq!(list.questions.len(), words.len(), "{:?}", list.questions);
    for (question, word) in list.questions.iter().zip(words) {
        assert!(question.contains(word), "{question:?} does not say {word:?}");
    }
}

/// A workbook in the making.
pub struct Book(pub Workbook);

impl Book {
    /// An empty workbook.
    pub fn new() -> Self {
        Self(Workbook::new())
    }

    /// Adds a sheet; rows are cells parted by semicolons. Numbers become numbers, `'5` text, `=E2*2=>50` a formula with its
    /// value, `=E2` a formula without one, and `2026-04-01` a date.
    pub fn sheet(mut self, name: &str, rows: &[&str]) -> Self {
        let sheet = self.0.add_worksheet();
        sheet.set_name(name).unwrap();
        for (row, cells) in (0..).zip(rows) {
            for (column, cell) in (0..).zip(cells.split(';')) {
                write(sheet, row, column, cell);
            }
        }
        self
    }

    /// Changes the last sheet.
    pub fn with(mut self, change: impl FnOnce(&mut Worksheet)) -> Self {
        let last = self.0.worksheets().len() - 1;
        change(self.0.worksheet_from_index(last).unwrap());
        self
    }

    /// Merges a range of the last sheet without touching its cells, rows and columns from zero.
    pub fn merge(self, from: (u32, u16), to: (u32, u16), text: &str) -> Self {
        self.with(|sheet| {
            sheet.merge_range(from.0, from.1, to.0, to.1, text, &Format::new()).unwrap();
            write(sheet, from.0, from.1, text);
        })
    }

    /// The bytes of the file.
    pub fn bytes(mut self) -> Vec<u8> {
        self.0.save_to_buffer().unwrap()
    }

    /// The list read from it.
    pub fn read(self) -> PackingList {
        packing::read("list.xlsx", &self.bytes()).unwrap()
    }
}

fn write(sheet: &mut Worksheet, row: u32, column: u16, cell: &str) {
    if cell.is_empty() {
        return;
    }
    if let Some(formula) = cell.strip_prefix('=') {
        let (formula, value) = formula.split_once("=>").unwrap_or((formula, ""));
        sheet.write_formula(row, column, Formula::new(formula).set_result(value)).unwrap();
    } else if let Ok(date) = cell.parse::<chrono::NaiveDate>() {
        let days = date.signed_duration_since(chrono::NaiveDate::from_ymd_opt(1899, 12, 30).unwrap()).num_days();
        sheet.write_number_with_format(row, column, days as f64, &Format::new().set_num_format("d-mmm")).unwrap();
    } else if let Some(text) = cell.strip_prefix('\'') {
        sheet.write_string(row, column, text).unwrap();
    } else if let Ok(number) = cell.parse::<f64>() {
        sheet.write_number(row, column, number).unwrap();
    } else {
        sheet.write_string(row, column, cell).unwrap();
    }
}
