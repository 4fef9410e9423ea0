//! A table: the columns under one set of headings.

use holdfast_core::consignment::ListColumn;

use super::meaning::Meaning;
use super::sheet::{Sheet, letters};

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

pub(super) fn has_species(columns: &[Column]) -> bool {
    columns.iter().any(|column| matches!(column.meaning, Meaning::Species | Meaning::Scientific))
}

pub(super) fn has_quantity(columns: &[Column]) -> bool {
    columns.iter().any(|column| column.meaning.is_fish())
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
