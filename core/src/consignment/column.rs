//! Columns of a packing list: what they were taken for, and what a person says they are.

use std::sync::Arc;

/// What a column is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ColumnUse {
    /// The box's label.
    Box,
    /// The bag's number.
    BagNumber,
    /// How many bags.
    Bags,
    /// How many bags in each box.
    BagsPerBox,
    /// The common name.
    Species,
    /// The scientific name.
    Scientific,
    /// The size.
    Size,
    /// Fish in one bag.
    PerBag,
    /// Fish in one box.
    PerBox,
    /// Fish of the row.
    Quantity,
    /// A bare total: fish or an amount, as the values show.
    Total,
    /// The price of one fish.
    Price,
    /// Gross weight, kg.
    GrossWeight,
    /// Known, and not needed.
    Unused,
    /// Not understood.
    Unknown,
}

impl ColumnUse {
    /// Whether cells of the column count fish.
    pub fn is_fish(self) -> bool {
        matches!(self, ColumnUse::PerBag | ColumnUse::PerBox | ColumnUse::Quantity | ColumnUse::Total)
    }

    /// Whether the column is one the reader takes values from.
    pub fn is_used(self) -> bool {
        !matches!(self, ColumnUse::Unused | ColumnUse::Unknown)
    }
}

/// A column of a list with what it was taken for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ListColumn {
    /// The sheet; `None` for a text.
    pub sheet: Option<String>,
    /// The column's letters.
    pub column: String,
    /// The heading as written.
    pub heading: String,
    /// What it was taken for.
    pub meaning: ColumnUse,
}

/// What a person says of a column of a supplier's lists, on every sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ColumnSaid {
    /// The column's letters, capitals.
    pub column: String,
    /// What it is.
    pub meaning: ColumnUse,
}

/// A list's file as the shell keeps it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptFile {
    /// SHA-256 of its bytes, lower-case hexadecimal: its name in the folder of files.
    pub sha256: String,
    /// Whether it was pasted as text.
    pub pasted: bool,
}

/// The bytes that a list was read from, on their way to the shell that keeps them. Never journalled.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Original {
    /// The bytes.
    pub bytes: Arc<[u8]>,
    /// Whether they were pasted as text.
    pub pasted: bool,
}
