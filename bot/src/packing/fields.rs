//! The fields around the lines, each from the first sheet that has it.

use std::collections::{BTreeSet, HashSet};

use holdfast_core::consignment::{Asks, ListDoubt, PackingList};
use holdfast_core::say::packing as say;

use super::labels::Labels;

/// Takes each field from the first sheet that has it.
pub(super) fn fill<'l>(list: &mut PackingList, labels: impl Iterator<Item = &'l Labels>) {
    let (mut currencies, mut shown) = (BTreeSet::new(), BTreeSet::new());
    let mut asked: HashSet<String> = list.questions.iter().cloned().collect();
    let mut first_line = None;
    for labels in labels {
        list.awb = list.awb.take().or_else(|| labels.awb.clone());
        list.invoice = list.invoice.take().or_else(|| labels.invoice.clone());
        list.supplier = list.supplier.take().or_else(|| labels.supplier.clone());
        first_line = first_line.or_else(|| labels.first_line.clone());
        list.packed_at = list.packed_at.take().or_else(|| labels.packed_at.clone());
        list.gross_kg = list.gross_kg.or(labels.gross_kg);
        currencies.extend(labels.currencies.iter().copied());
        shown.extend(labels.shown.iter().copied());
        for question in &labels.questions {
            if asked.insert(question.clone()) {
                list.questions.push(question.clone());
            }
        }
    }
    list.supplier = list.supplier.take().or(first_line);
    if currencies.is_empty() {
        currencies = shown;
    }
    match currencies.len() {
        0 => {}
        1 => list.currency = currencies.first().map(|code| (*code).to_owned()),
        _ => {
            let codes: Vec<&str> = currencies.into_iter().collect();
            let text = say::two_currencies(&codes);
            list.questions.push(text.clone());
            let choices = codes.into_iter().map(str::to_owned).collect();
            list.doubts.push(ListDoubt { text, lines: Vec::new(), asks: Asks::Currency { choices } });
        }
    }
}

/// A cover sheet may name what the packing sheet does not.
pub(super) fn fill_from_covers<'l>(list: &mut PackingList, covers: impl Iterator<Item = &'l Labels>) {
    for labels in covers {
        list.awb = list.awb.take().or_else(|| labels.awb.clone());
        list.invoice = list.invoice.take().or_else(|| labels.invoice.clone());
        list.supplier = list.supplier.take().or_else(|| labels.supplier.clone()).or_else(|| labels.first_line.clone());
        list.packed_at = list.packed_at.take().or_else(|| labels.packed_at.clone());
        list.gross_kg = list.gross_kg.or(labels.gross_kg);
    }
}
