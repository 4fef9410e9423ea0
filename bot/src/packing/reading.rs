//! What the rows of a table hold, before sheets are joined.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use holdfast_core::consignment::{Asks, ListLine};

use super::totals::{Sum, TotalRow};

/// A line with the row it came from and the boxes its label names.
#[derive(Debug, Clone)]
pub struct Draft {
    /// Row from zero.
    pub row: u32,
    /// The line.
    pub line: ListLine,
    /// The boxes of the label.
    pub boxes: Vec<u32>,
}

/// A total with the sums at its place.
#[derive(Debug, Clone)]
pub struct TotalAt {
    /// Row from zero.
    pub row: u32,
    /// What the row says.
    pub total: TotalRow,
    /// All fish above it.
    pub all: Sum,
    /// The fish since the last subtotal.
    pub since: Sum,
    /// The boxes it stands under.
    pub under: Vec<u32>,
}

/// What a table holds.
#[derive(Debug, Default)]
pub struct Reading {
    /// Lines in order.
    pub drafts: Vec<Draft>,
    /// Questions with their rows.
    pub questions: Vec<(u32, String)>,
    /// What those of the questions ask that an answer settles: row, question, what.
    pub asks: Vec<(u32, String, Asks)>,
    /// Boxes named, with their rows.
    pub boxes: Vec<(u32, Vec<u32>)>,
    /// Totals in order.
    pub totals: Vec<TotalAt>,
    /// Rows that are lines or were left out.
    pub rows: BTreeSet<u32>,
    /// Columns nobody understands that hold values on lines, with the first row.
    pub unknown: BTreeMap<u32, u32>,
    /// Formulas without values and errors in columns that count: how many, first row, what.
    pub missing: BTreeMap<u32, (u32, u32, String)>,
    /// Rows that look like lines with a box of their own, for those below a total.
    pub own_box: BTreeSet<u32>,
    /// The fish below the last subtotal.
    pub open: Sum,
    /// Which of the totals is the grand total.
    pub grand: Option<usize>,
}

impl Reading {
    /// Takes out everything below a row: after the grand total nothing is a line.
    pub fn end_at(&mut self, row: u32) {
        self.drafts.retain(|draft| draft.row <= row);
        self.questions.retain(|(at, _)| *at <= row);
        self.asks.retain(|(at, _, _)| *at <= row);
        self.boxes.retain(|(at, _)| *at <= row);
        self.totals.retain(|total| total.row <= row || total.total.other);
        self.rows.retain(|at| *at <= row);
        self.unknown.retain(|_, at| *at <= row);
        self.missing.retain(|_, (_, at, _)| *at <= row);
    }

    /// All boxes named.
    pub fn all_boxes(&self) -> BTreeSet<u32> {
        self.boxes.iter().flat_map(|(_, boxes)| boxes.iter().copied()).collect()
    }

    /// The fish by box.
    pub fn by_box(&self) -> ByBox {
        let mut by_box = ByBox::default();
        for draft in &self.drafts {
            let sum = match draft.line.number {
                Some(number) => by_box.single.entry(number).or_default(),
                None => by_box.undivided.entry(draft.boxes.clone()).or_default(),
            };
            sum.add(u64::from(draft.line.qty), u64::from(draft.line.bonus));
        }
        by_box
    }
}

/// The fish of a list by box; those that could not be divided stand under all their boxes.
#[derive(Debug, Default)]
pub struct ByBox {
    single: HashMap<u32, Sum>,
    undivided: BTreeMap<Vec<u32>, Sum>,
}

impl ByBox {
    /// The fish in some boxes.
    pub fn sum(&self, boxes: &[u32]) -> Sum {
        let whole =
            self.undivided.iter().filter(|(of, _)| !of.is_empty() && of.iter().all(|number| boxes.contains(number)));
        let parts = boxes.iter().filter_map(|number| self.single.get(number)).chain(whole.map(|(_, sum)| sum));
        let mut sum = Sum::default();
        parts.for_each(|part| sum.add(part.fish, part.free));
        sum
    }
}
