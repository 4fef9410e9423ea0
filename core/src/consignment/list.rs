//! A packing list as a reader of files understood it, before anything is imported.

use rust_decimal::Decimal;
use serde::Serialize;

use super::column::{KeptFile, ListColumn, Original};
use super::doubt::ListDoubt;
use crate::species::Kind;

/// One packing list. The serialised form is that of `holdfast packing`: all keys are always there.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct PackingList {
    /// Base name of the file.
    pub file: String,
    /// Airway bill, `NNN-NNNNNNNN`, as typed where the check digit is wrong.
    pub awb: Option<String>,
    /// Invoice number.
    pub invoice: Option<String>,
    /// Shipper.
    pub supplier: Option<String>,
    /// ISO local date or date and time of packing.
    pub packed_at: Option<String>,
    /// ISO currency code.
    pub currency: Option<String>,
    /// Gross weight, kg.
    #[serde(serialize_with = "number")]
    pub gross_kg: Option<Decimal>,
    /// The lines in the order of the list.
    pub lines: Vec<ListLine>,
    /// Sum of `qty`.
    pub total_qty: u64,
    /// The total that the list states.
    pub stated_total: Option<u64>,
    /// What is doubtful, each naming sheet, row and both numbers.
    pub questions: Vec<String>,
    /// Those of the questions that an answer settles, in their order.
    #[serde(skip)]
    pub doubts: Vec<ListDoubt>,
    /// The columns as understood; empty for free lines.
    #[serde(skip)]
    pub columns: Vec<ListColumn>,
    /// Where the shell keeps what it was read from; `None` where it keeps nothing.
    #[serde(skip)]
    pub kept: Option<KeptFile>,
    /// What it was read from, until the shell has kept it.
    #[serde(skip)]
    pub original: Option<Original>,
}

/// One line: fish of one kind in one box.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct ListLine {
    /// The box's number; `None` where the list does not tell.
    #[serde(rename = "box")]
    pub number: Option<u32>,
    /// The bag's number, where the list numbers bags.
    pub bag: Option<u32>,
    /// Number of bags in that box on this line.
    pub bags: Option<u32>,
    /// The name as listed.
    pub species: String,
    /// The scientific name as listed.
    pub scientific: Option<String>,
    /// The size as typed.
    pub size: Option<String>,
    /// Fish in that box on this line, free ones included.
    pub qty: u32,
    /// How many of them are free.
    pub bonus: u32,
    /// Price of one, in the list's currency.
    #[serde(serialize_with = "number")]
    pub unit_price: Option<Decimal>,
    /// What the heading over the line, or the name of its sheet, says it is; its own names come first.
    #[serde(skip)]
    pub under: Option<Kind>,
}

/// Writes a decimal as a JSON number, because the contract's values are numbers.
fn number<S: serde::Serializer>(value: &Option<Decimal>, serializer: S) -> Result<S::Ok, S::Error> {
    use rust_decimal::prelude::ToPrimitive;
    match value.and_then(|decimal| decimal.to_f64()) {
        Some(number) => serializer.serialize_some(&number),
        None => serializer.serialize_none(),
    }
}
