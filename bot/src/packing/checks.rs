//! What a list says of itself, against its lines: totals, boxes, columns, and what its questions ask.

use std::collections::{BTreeSet, HashSet};

use holdfast_core::consignment::{Asks, ListDoubt, PackingList};
use holdfast_core::say::packing as say;

use super::assemble::line_number;
use super::invoice::Invoice;
use super::limits;
use super::part::Part;
use super::reading::Draft;
use super::sheet::{Sheet, letters};
use super::totals::{self, Before, Sum};

/// Subtotals and sums carried forward may count from the sheet before on.
pub(super) fn check_subtotals(chosen: &mut [Part<'_>]) {
    let mut before = Before::default();
    for part in chosen {
        for reading in &mut part.readings {
            let questions = totals::check(part.sheet, reading, before);
            before.add(reading);
            reading.questions.extend(questions);
        }
    }
}

pub(super) fn column_questions(part: &Part<'_>, questions: &mut Vec<String>) {
    let sheet = part.sheet.name.as_deref();
    for (table, reading) in part.tables.iter().zip(&part.readings) {
        let heading = |column: u32| {
            table.columns.iter().find(|known| known.index == column).map(|known| known.text.clone()).unwrap_or_default()
        };
        for (column, row) in &reading.unknown {
            questions.push(say::column_not_understood(sheet, &letters(*column), &heading(*column), row + 1));
        }
        for (column, (count, row, what)) in &reading.missing {
            questions.push(say::values_missing(sheet, &letters(*column), &heading(*column), *count, row + 1, what));
        }
    }
}

/// What the questions about rows ask, each with the lines of its row: below a label that names no box, all up to the next label.
pub(super) fn row_doubts(chosen: &[Part<'_>], list: &mut PackingList) {
    let mut doubts = Vec::new();
    let mut first = 0;
    for reading in chosen.iter().flat_map(|part| &part.readings) {
        let mut asks: Vec<_> = reading.asks.iter().collect();
        asks.sort_by_key(|(row, _, _)| *row);
        for (row, text, asks) in asks {
            let of_row = |draft: &Draft| match asks {
                Asks::Box => draft.row >= *row && draft.line.number.is_none() && draft.boxes.is_empty(),
                _ => draft.row == *row,
            };
            let lines = reading.drafts.iter().enumerate().skip_while(|(_, draft)| draft.row < *row);
            let lines = lines.take_while(|(_, draft)| of_row(draft));
            let lines: Vec<u32> = lines.map(|(at, _)| line_number(first + at)).collect();
            if lines.is_empty() && !matches!(asks, Asks::LeftOut { .. }) {
                continue;
            }
            doubts.push(ListDoubt { text: text.clone(), lines, asks: asks.clone() });
        }
        first += reading.drafts.len();
    }
    doubts.append(&mut list.doubts);
    list.doubts = doubts;
}

/// The stated total: grand total rows add up over sheets; else what is labelled above the lists.
pub(super) fn state_total(chosen: &[Part<'_>], list: &mut PackingList) {
    let mut sum = Sum::default();
    for part in chosen {
        let part = part.sum();
        sum.add(part.fish, part.free);
    }
    let one_of = |values: Vec<u64>| -> Option<u64> {
        let added = values.iter().copied().reduce(|one, other| one.saturating_add(other))?;
        // One sheet may state the total of all of them.
        let fits = std::iter::once(added).chain(values.iter().copied()).find(|&stated| sum.agrees(stated));
        Some(fits.unwrap_or(added))
    };
    let below = one_of(chosen.iter().filter_map(|part| part.grand).collect());
    let above = one_of(chosen.iter().filter_map(|part| part.labels.total_fish).collect());
    list.stated_total = below.or(above);
    if let Some(stated) = list.stated_total.filter(|&stated| !sum.agrees(stated)) {
        list.questions.push(say::stated_total_differs(stated, sum.fish, sum.free));
    }
    if let (Some(below), Some(above)) = (below, above)
        && below != above
        && !(sum.agrees(below) && sum.agrees(above))
    {
        list.questions.push(say::two_totals(above, below));
    }
}

pub(super) fn count_boxes(chosen: &[Part<'_>], questions: &mut Vec<String>) {
    let all: BTreeSet<u32> = chosen.iter().flat_map(Part::boxes).collect();
    let mut asked = HashSet::new();
    for part in chosen {
        let own = part.boxes().len() as u64;
        let below = part
            .readings
            .iter()
            .flat_map(|reading| &reading.totals)
            .filter(|at| at.total.kind != Some(super::statement::Kind::Sub))
            .filter_map(|at| Some((at.row, at.total.boxes?)));
        for (row, stated) in part.labels.boxes.iter().copied().chain(below) {
            if stated != own && stated != all.len() as u64 {
                let question =
                    say::boxes_differ(&say::place(part.sheet.name.as_deref(), row + 1), stated, all.len() as u64);
                if asked.insert(question.clone()) {
                    questions.push(question);
                }
            }
        }
    }
}

pub(super) fn invoice_totals(invoices: &[(&Sheet, Invoice)], list: &mut PackingList) {
    let sum = Sum { fish: list.total_qty, free: list.lines.iter().map(|line| u64::from(line.bonus)).sum() };
    for (sheet, invoice) in invoices {
        if let Some((row, stated)) = invoice.total_fish.filter(|(_, stated)| !sum.agrees(*stated)) {
            list.questions.push(say::invoice_total_differs(
                &say::place(sheet.name.as_deref(), row + 1),
                stated,
                sum.fish,
                sum.free,
            ));
        }
    }
}

/// A list full of doubts is told as far as anyone will read.
pub(super) fn shorten_questions(questions: &mut Vec<String>) {
    let more = questions.len().saturating_sub(limits::QUESTIONS);
    if more > 0 {
        questions.truncate(limits::QUESTIONS);
        questions.push(say::more_questions(more));
    }
}
