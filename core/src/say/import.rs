//! What is said when a packing list comes.

use std::cmp::Ordering;

use crate::species::{Fit, Listing};

/// What a list says, in numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Summary {
    /// The supplier, where named.
    pub supplier: Option<String>,
    /// The airway bill.
    pub awb: Option<String>,
    /// Boxes.
    pub boxes: usize,
    /// Bags, a line without a number of bags counted as one.
    pub bags: u32,
    /// Fish, the sum of the lines.
    pub fish: u64,
    /// Kinds of fish.
    pub species: usize,
    /// Fish as the list's own total says.
    pub stated: Option<u64>,
    /// Lines without a box number.
    pub no_box: usize,
    /// What is doubtful.
    pub questions: Vec<String>,
}

/// "31 boxes, 74 bags, 2,114 fish, 19 species; list says 2,114".
pub fn read_back(summary: &Summary) -> String {
    let head = match (&summary.supplier, &summary.awb) {
        (Some(supplier), Some(awb)) => format!("{supplier}, AWB {awb}: "),
        (Some(supplier), None) => format!("{supplier}: "),
        (None, Some(awb)) => format!("AWB {awb}: "),
        (None, None) => String::new(),
    };
    let stated = match summary.stated {
        Some(stated) => {
            let apart = thousands(stated.abs_diff(summary.fish));
            let apart = match stated.cmp(&summary.fish) {
                Ordering::Less => format!(", {apart} fewer"),
                Ordering::Equal => String::new(),
                Ordering::Greater => format!(", {apart} more"),
            };
            format!("; list says {}{apart}", thousands(stated))
        }
        None => "; the list states no total".to_owned(),
    };
    let mut lines = vec![format!(
        "{head}{}, {}, {} fish, {} species{stated}.",
        super::in_boxes(summary.boxes),
        super::counted(summary.bags.into(), "bag", "bags"),
        thousands(summary.fish),
        summary.species
    )];
    lines.extend(summary.questions.iter().map(|question| format!("? {question}")));
    if summary.no_box > 0 {
        lines.push(match summary.no_box {
            1 => "1 line has no box number: it stands under box 0.".to_owned(),
            count => format!("{count} lines have no box number: they stand under box 0."),
        });
    }
    lines.push("Import it?".to_owned());
    lines.join("\n")
}

/// A list was booked.
pub fn imported(supplier: &str, boxes: usize, fish: u64, warnings: &[String]) -> String {
    let mut lines = vec![format!("Imported {supplier}: {}, {} fish.", super::in_boxes(boxes), thousands(fish))];
    lines.extend(warnings.iter().cloned());
    lines.join("\n")
}

/// The name of a supplier whose list does not name it.
pub fn unnamed_supplier(no: u32) -> String {
    format!("consignment {no}")
}

/// A name was matched.
pub fn matched(listed_as: &str, name: &str) -> String {
    format!("\"{listed_as}\" is {name}, kept for this supplier")
}

/// A listed species is on the list.
pub fn listed_species(species: &str, listing: &Listing) -> String {
    let verb = if listing.fit == Fit::Certain { "is" } else { "may be" };
    format!(
        "{species} {verb} in CITES Appendix {} ({}): check its papers. This is not legal advice.",
        listing.appendix, listing.listed_as
    )
}

/// A number with its thousands apart, as in "2,114".
pub fn thousands(number: u64) -> String {
    let digits = number.to_string();
    let mut out = String::new();
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out
}
