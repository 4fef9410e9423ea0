//! Total rows: what they state, which one is the grand total, and whether subtotals agree.

use holdfast_core::say::packing as say;
use rust_decimal::Decimal;

use super::meaning::Meaning;
use super::number;
use super::reading::{Reading, TotalAt};
use super::sheet::{Cell, Sheet};
use super::statement::{self, Kind, Statement, Unit};
use super::table::Table;

/// Fish added up.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Sum {
    /// All fish, free ones included.
    pub fish: u64,
    /// How many of them are free.
    pub free: u64,
}

impl Sum {
    /// Adds a line.
    pub fn add(&mut self, fish: u64, free: u64) {
        self.fish += fish;
        self.free += free;
    }

    /// Whether a stated number is the sum, with or without the free fish.
    pub fn agrees(self, stated: u64) -> bool {
        stated == self.fish || stated == self.fish - self.free
    }
}

/// What a total row says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TotalRow {
    /// The kind of total; `None` for numbers without a name and for bare counts of boxes.
    pub kind: Option<Kind>,
    /// Fish stated.
    pub fish: Option<u64>,
    /// Boxes stated.
    pub boxes: Option<u64>,
    /// Boxes that the row names.
    pub named: Option<Vec<u32>>,
    /// Whether it counts boxes, bags or money and no fish.
    pub other: bool,
    /// Whether it may be the total of a group: `Total tetras`.
    pub loose: bool,
    /// Gross weight in its column, kg.
    pub gross: Option<Decimal>,
}

impl TotalRow {
    /// A row of numbers without a name.
    pub fn unlabelled() -> Self {
        Self { kind: None, fish: None, boxes: None, named: None, other: false, loose: false, gross: None }
    }

    /// Whether the lines below begin a new part.
    pub fn closes_a_part(&self) -> bool {
        !self.other && self.kind != Some(Kind::Carried)
    }
}

/// Reads a row as a total. `None` where it is none.
pub fn total_row(table: &Table, filled: &[(u32, &Cell)]) -> Option<TotalRow> {
    let species =
        table.column(Meaning::Species).or_else(|| table.column(Meaning::Scientific)).map(|column| column.index);
    let statements: Vec<(u32, Statement)> = filled
        .iter()
        .filter_map(|(column, cell)| match cell {
            Cell::Text(text) => statement::read(text).map(|statement| (*column, statement)),
            _ => None,
        })
        .collect();
    let name =
        filled.iter().find(|(column, cell)| Some(*column) == species && cell.text().chars().any(char::is_alphabetic));
    let name_states = statements.iter().any(|(column, _)| Some(*column) == species);
    let label = statements.iter().find(|(column, statement)| {
        let before_name = species.is_none_or(|species| *column < species);
        let place_fits = name.is_none() || name_states || before_name;
        // A name such as `Total tetras` with a box, a size or a price of its own is a fish.
        let has_own_cells = filled.iter().any(|(other, _)| {
            other != column
                && matches!(
                    table.meaning(*other),
                    Meaning::Box | Meaning::Size | Meaning::Scientific | Meaning::Price | Meaning::Species
                )
        });
        let box_label_with_name = statement.named.is_some() && name.is_some() && !name_states;
        statement.kind.is_some() && place_fits && !(statement.loose && has_own_cells) && !box_label_with_name
    });
    let Some((place, label)) = label else {
        let counts = statements.iter().find(|(column, _)| name.is_none() || Some(*column) == species)?;
        let boxes = counts.1.boxes().or_else(|| boxes_beside(&counts.1, filled, counts.0));
        return boxes.map(|boxes| TotalRow { boxes: Some(boxes), other: true, ..TotalRow::unlabelled() });
    };
    let counts_other = matches!(label.unit, Some(Unit::Boxes | Unit::Other)) && label.fish().is_none();
    let stated_elsewhere = || {
        statements.iter().find_map(|(_, statement)| {
            statement.numbers.iter().find(|(_, unit)| *unit == Some(Unit::Fish)).map(|(number, _)| *number)
        })
    };
    let fish = if counts_other {
        stated_elsewhere()
    } else {
        label
            .fish()
            .or_else(|| in_fish_columns(table, filled))
            .or_else(stated_elsewhere)
            .or_else(|| beside(table, filled, *place, label.unit))
    };
    let named = label.named.clone().or_else(|| {
        let column = table.column(Meaning::Box)?.index;
        filled.iter().find(|(at, _)| *at == column && at != place).and_then(|(_, cell)| match cell {
            Cell::Text(text) => super::label::heading(text),
            _ => None,
        })
    });
    let bare_boxes = || {
        let column = table.column(Meaning::Box)?.index;
        let cell = filled.iter().find(|(at, _)| *at == column && at != place)?.1;
        (named.is_none() && label.kind != Some(Kind::Sub))
            .then(|| number::count(cell, 1))
            .flatten()
            .map(|count| count.fish)
    };
    let boxes = statements
        .iter()
        .find_map(|(_, statement)| statement.boxes())
        .or_else(|| boxes_beside(label, filled, *place))
        .or_else(bare_boxes);
    let gross = table
        .column(Meaning::GrossWeight)
        .and_then(|column| filled.iter().find(|(at, _)| *at == column.index))
        .and_then(|(_, cell)| super::labels::kilograms(cell).ok().flatten());
    Some(TotalRow {
        kind: label.kind,
        fish,
        boxes,
        named,
        other: counts_other && fish.is_none(),
        loose: label.loose,
        gross,
    })
}

fn in_fish_columns(table: &Table, filled: &[(u32, &Cell)]) -> Option<u64> {
    [Meaning::Quantity, Meaning::PerBox, Meaning::PerBag].into_iter().find_map(|meaning| {
        let column = table.column(meaning)?;
        let (_, cell) = filled.iter().find(|(at, _)| *at == column.index)?;
        match cell {
            // Large consignments pass the limit of a single line.
            Cell::Number(number) if *number == number.trunc() && (1.0..1e12).contains(number) => {
                Some(*number as u64 * column.fish_each)
            }
            cell => number::count(cell, column.fish_each).map(|count| count.fish),
        }
    })
}

/// A number in a column that counts nothing else.
fn beside(table: &Table, filled: &[(u32, &Cell)], place: u32, unit: Option<Unit>) -> Option<u64> {
    let others = filled.iter().filter(|(at, _)| *at != place);
    let free = |at: u32| {
        let heading = table.columns.iter().any(|column| column.index == at);
        let no_unit = match table.meaning(at) {
            Meaning::Unknown => !heading,
            meaning => matches!(meaning, Meaning::Species | Meaning::Scientific | Meaning::Size),
        };
        no_unit
            || (unit == Some(Unit::Fish)
                && matches!(table.meaning(at), Meaning::Box | Meaning::BagNumber | Meaning::Unused))
    };
    others.filter(|(at, _)| free(*at)).find_map(|(_, cell)| number::count(cell, 1)).map(|count| count.fish)
}

/// The number beside a label that counts boxes.
fn boxes_beside(label: &Statement, filled: &[(u32, &Cell)], place: u32) -> Option<u64> {
    if label.unit != Some(Unit::Boxes) {
        return None;
    }
    filled.iter().filter(|(at, _)| *at > place).find_map(|(_, cell)| match cell {
        Cell::Text(text) => statement::read(text)
            .and_then(|statement| statement.boxes())
            .or_else(|| number::count_text(text).map(|count| count.fish)),
        cell => number::count(cell, 1).map(|count| count.fish),
    })
}

/// Which of a table's totals is the grand total.
pub fn grand(reading: &Reading) -> Option<usize> {
    let any_above = reading.totals.iter().any(|at| at.all.fish > 0 && !at.total.other);
    // A total above all lines states something, but it is the grand total only where no other is.
    let is_whole = |at: &TotalAt| {
        !at.total.other && at.total.named.is_none() && !at.total.loose && (at.all.fish > 0 || !any_above)
    };
    if let Some(explicit) = reading.totals.iter().position(|at| at.total.kind == Some(Kind::Grand) && is_whole(at)) {
        return Some(explicit);
    }
    let last = reading.totals.iter().rposition(|at| at.total.kind == Some(Kind::Plain) && is_whole(at))?;
    let at = &reading.totals[last];
    let parts = reading
        .totals
        .iter()
        .filter(|at| matches!(at.total.kind, Some(Kind::Plain | Kind::Sub)) && !at.total.other)
        .count();
    let is_a_part = parts > 1 && at.total.fish.is_some_and(|fish| !at.all.agrees(fish) && at.since.agrees(fish));
    (!is_a_part).then_some(last)
}

/// What stands before a table: in the sheets before it, and left of it.
#[derive(Debug, Clone, Copy, Default)]
pub struct Before {
    /// All fish.
    pub all: Sum,
    /// Those below the last subtotal.
    pub open: Sum,
}

impl Before {
    /// Takes a table up.
    pub fn add(&mut self, reading: &Reading) {
        let mut all = Sum::default();
        reading.drafts.iter().for_each(|draft| all.add(u64::from(draft.line.qty), u64::from(draft.line.bonus)));
        self.all.add(all.fish, all.free);
        if reading.totals.iter().any(|at| at.total.closes_a_part()) {
            self.open = Sum::default();
        }
        if reading.grand.is_none() {
            self.open.add(reading.open.fish, reading.open.free);
        }
    }
}

/// Questions about subtotals that differ from their lines.
pub fn check(sheet: &Sheet, reading: &Reading, before: Before) -> Vec<(u32, String)> {
    let mut questions = Vec::new();
    let by_box = reading.by_box();
    let mut open = before.open;
    for (index, at) in reading.totals.iter().enumerate() {
        let since_before = open;
        if at.total.closes_a_part() {
            open = Sum::default();
        }
        let Some(stated) = at.total.fish.filter(|_| Some(index) != reading.grand) else { continue };
        let place = say::place(sheet.name.as_deref(), at.row + 1);
        if at.total.kind == Some(Kind::Carried) {
            let mut all = before.all;
            all.add(at.all.fish, at.all.free);
            if !all.agrees(stated) && !at.all.agrees(stated) {
                questions.push((at.row, say::carried_differs(&place, stated, all.fish)));
            }
            continue;
        }
        let mut since = since_before;
        since.add(at.since.fish, at.since.free);
        let named = at.total.named.as_deref().map(|boxes| by_box.sum(boxes));
        let under = by_box.sum(&at.under);
        let fits = at.since.agrees(stated)
            || since.agrees(stated)
            || (!at.under.is_empty() && under.agrees(stated))
            || named.is_some_and(|sum| sum.agrees(stated))
            || ((at.total.kind.is_none() || at.since.fish == 0) && at.all.agrees(stated));
        if !fits {
            questions.push((at.row, say::subtotal_differs(&place, stated, named.unwrap_or(at.since).fish)));
        }
    }
    questions
}
