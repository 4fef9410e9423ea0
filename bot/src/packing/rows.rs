//! The rows of a table: lines, box headings, totals, and what is left out.

use std::collections::{BTreeMap, HashMap};

use holdfast_core::consignment::{Asks, ListLine};
use holdfast_core::say::packing as say;
use holdfast_core::species::{self, Kind};

use super::clean::{fold, shorten};
use super::headings::{Table, Wanted, tables_at};
use super::label::{self, BoxLabel};
use super::latin;
use super::limits;
use super::meaning::Meaning;
use super::number::{self, Count};
use super::open::Unreadable;
use super::reading::{Draft, Reading, TotalAt};
use super::sheet::{Cell, Sheet};
use super::spread::{Doubt, Stated, share};
use super::totals::{Sum, TotalRow, total_row};
use super::words::{self, Label, Role, phrase, roles};

/// The most words of a heading of a group.
const HEADING_WORDS: usize = 5;

/// The boxes that hold from here on.
#[derive(Debug, Clone, PartialEq)]
enum Current {
    /// No box was named yet.
    None,
    /// These.
    Boxes(Vec<u32>),
    /// A label that could not be read.
    Unclear,
}

/// Walks down the rows of a table.
pub(super) struct Reader<'a> {
    sheet: &'a Sheet,
    pub(super) table: Table,
    merged: HashMap<u32, Vec<(u32, u32, u32)>>,
    current: Current,
    /// What the heading of a group ("PLANTS") or the sheet's name says of the lines below.
    under: Option<Kind>,
    above: BTreeMap<u32, Cell>,
    all: Sum,
    since: Sum,
    pub(super) decimal_sign: Option<char>,
    /// The headings that came again last: their cells, how many rows lie below the first, and the last row's cells.
    heading: Option<(BTreeMap<u32, Cell>, u32)>,
    lower_heading: Option<BTreeMap<u32, Cell>>,
    out: Reading,
}

/// Reads the rows below a table's headings.
pub fn read(sheet: &Sheet, table: &Table) -> Result<Reading, Unreadable> {
    let mut reader = Reader {
        sheet,
        table: table.clone(),
        merged: merged_columns(sheet),
        current: Current::None,
        under: sheet.name.as_deref().and_then(kind_under),
        above: BTreeMap::new(),
        all: Sum::default(),
        since: Sum::default(),
        decimal_sign: decimal_sign(sheet, table),
        heading: None,
        lower_heading: None,
        out: Reading::default(),
    };
    let mut heading_until = table.rows.1;
    for (row, cells) in sheet.rows_below(table.rows.1) {
        if row <= heading_until && row != table.rows.1 {
            continue;
        }
        let cells: BTreeMap<u32, &Cell> = cells
            .iter()
            .filter(|(column, _)| reader.table.holds(**column))
            .map(|(column, cell)| (*column, cell))
            .collect();
        if cells.is_empty() {
            continue;
        }
        if let Some(last) = reader.repeated_heading(row) {
            heading_until = last;
            if reader.out.is_too_large() {
                return Err(Unreadable::TooLarge);
            }
            continue;
        }
        reader.row(row, &cells);
        if reader.out.is_too_large() {
            return Err(Unreadable::TooLarge);
        }
    }
    Ok(Reading { open: reader.since, ..reader.out })
}

/// Merged ranges more than one row high, by first column: rows and the row of the value.
fn merged_columns(sheet: &Sheet) -> HashMap<u32, Vec<(u32, u32, u32)>> {
    let mut columns: HashMap<u32, Vec<(u32, u32, u32)>> = HashMap::new();
    for merge in sheet.merges.iter().filter(|merge| merge.rows.1 > merge.rows.0) {
        columns.entry(merge.columns.0).or_default().push((merge.rows.0, merge.rows.1, merge.rows.0));
    }
    for ranges in columns.values_mut() {
        ranges.sort_unstable();
    }
    columns
}

/// The decimal separator that the price column shows for certain.
fn decimal_sign(sheet: &Sheet, table: &Table) -> Option<char> {
    let column = table.column(Meaning::Price)?.index;
    sheet.rows_below(table.rows.1).find_map(|(_, cells)| match cells.get(&column) {
        Some(Cell::Text(text)) => number::decimal_sign(text),
        _ => None,
    })
}

/// What a heading of a group says of the lines below it. A heading of fish, and one that names no kind, says nothing: what
/// a name tells by itself then holds. A sentence is no heading.
pub fn kind_under(text: &str) -> Option<Kind> {
    let is_short = text.split_whitespace().nth(HEADING_WORDS).is_none() && text.len() < 200;
    is_short.then(|| species::kind_named(text)).flatten().filter(|kind| *kind != Kind::Fish)
}

/// Marks that repeat the cell above.
pub fn is_ditto(text: &str) -> bool {
    let folded = fold(text);
    let bare: String = folded.chars().filter(|character| !character.is_whitespace()).collect();
    matches!(
        bare.as_str(),
        "\"" | "''"
            | "do."
            | "do"
            | "-\"-"
            | "--\"--"
            | "-''-"
            | "-//-"
            | "-||-"
            | "ditto"
            | "idem"
            | "id."
            | "sda"
            | "sda."
            | "s.d.a."
            | "dto"
            | "dto."
            | "dtto"
            | "dtto."
            | "\"\""
    )
}

impl Reader<'_> {
    fn place(&self, row: u32) -> String {
        say::place(self.sheet.name.as_deref(), row + 1)
    }

    pub(super) fn ask(&mut self, row: u32, question: String) {
        self.out.questions.push((row, question));
    }

    /// Asks what an answer can settle.
    pub(super) fn ask_for(&mut self, row: u32, question: String, asks: Asks) {
        self.out.asks.push((row, question.clone(), asks));
        self.ask(row, question);
    }

    /// A set of headings again, perhaps with other columns: it is taken up from there. Gives its last row.
    fn repeated_heading(&mut self, row: u32) -> Option<u32> {
        if let Some((cells, height)) = &self.heading
            && self.sheet.row(row) == Some(cells)
            && (*height == 0 || self.sheet.row(row + 1) == self.lower_heading.as_ref())
        {
            return Some(row + height);
        }
        let tables = tables_at(self.sheet, row, Wanted::Fish, &[])?;
        let last = tables.first()?.rows.1;
        self.heading = self.sheet.row(row).cloned().map(|cells| (cells, last - row));
        self.lower_heading = self.sheet.row(last).cloned();
        self.out.headings += 1;
        let here = tables
            .into_iter()
            .find(|table| table.columns_from == self.table.columns_from && table.columns_to == self.table.columns_to);
        if let Some(mut here) = here {
            // What a person said of a column holds under every set of headings.
            here.columns.retain(|column| !self.table.given.contains(&column.index));
            here.columns.extend(self.table.columns.iter().filter(|it| self.table.given.contains(&it.index)).cloned());
            let differs = here
                .columns
                .iter()
                .any(|column| column.meaning.is_used() && self.table.meaning(column.index) != column.meaning);
            if differs && here.counts_fish() {
                self.table.columns = here.columns;
            }
        }
        Some(last)
    }

    /// The cell of a meaning, or the cell it is merged with above, where merging carries.
    fn cell<'c>(&'c self, row: u32, cells: &BTreeMap<u32, &'c Cell>, meaning: Meaning) -> Option<&'c Cell> {
        let column = self.table.column(meaning)?.index;
        if let Some(cell) = cells.get(&column).filter(|cell| !cell.is_blank()) {
            return Some(cell);
        }
        if !matches!(meaning, Meaning::Box | Meaning::Species | Meaning::Scientific) {
            return None;
        }
        let ranges = self.merged.get(&column)?;
        let at = ranges.partition_point(|range| range.0 <= row).checked_sub(1)?;
        let (_, last, value) = ranges[at];
        (row <= last && value > self.table.rows.1)
            .then(|| self.sheet.get(value, column))
            .flatten()
            .filter(|cell| !cell.is_blank())
    }

    /// The cell of a meaning, ditto marks followed up.
    pub(super) fn carried(&self, row: u32, cells: &BTreeMap<u32, &Cell>, meaning: Meaning) -> Option<Cell> {
        let cell = self.cell(row, cells, meaning)?;
        if let Cell::Text(text) = cell
            && is_ditto(text)
        {
            return self.above.get(&self.table.column(meaning)?.index).cloned();
        }
        Some(cell.clone())
    }

    fn row(&mut self, row: u32, cells: &BTreeMap<u32, &Cell>) {
        let filled: Vec<(u32, &Cell)> =
            cells.iter().filter(|(_, cell)| !cell.is_blank()).map(|(column, cell)| (*column, *cell)).collect();
        self.note_missing(row, cells);
        if filled.is_empty() {
            return;
        }
        if let Some(total) = total_row(&self.table, &filled) {
            self.total(row, total);
            return;
        }
        let own_species = self
            .table
            .column(Meaning::Species)
            .is_some_and(|column| filled.iter().any(|(index, _)| *index == column.index));
        let species = self
            .carried(row, cells, Meaning::Species)
            .map(|cell| cell.text())
            .filter(|name| name.chars().any(char::is_alphabetic));
        let scientific = self
            .carried(row, cells, Meaning::Scientific)
            .map(|cell| cell.text())
            .filter(|name| name.chars().any(char::is_alphabetic));
        let carried_species = species.is_some() && !own_species;
        if filled.len() == 1 && !carried_species {
            self.lone_cell(row, filled[0].0, filled[0].1);
            return;
        }
        // A box heading may stand in any column where the row has no fish.
        if let Some(boxes) = self.box_heading(&filled, species.as_deref(), scientific.as_deref()) {
            self.current = Current::Boxes(boxes.clone());
            self.out.name_boxes(row, &boxes);
            if let Some(fish) = self.fish_in(cells) {
                self.total(row, TotalRow { fish: Some(fish.fish), named: Some(boxes), ..TotalRow::unlabelled() });
            }
            return;
        }
        let name = species.clone().or_else(|| scientific.clone());
        let Some(name) = name else {
            self.row_without_name(row, cells);
            return;
        };
        if self.is_remark(&filled) && self.fish_in(cells).is_none() {
            return;
        }
        self.out.rows.insert(row);
        self.note_unknown(row, &filled);
        self.box_cell(row, cells);
        if name.chars().count() > limits::NAME_CHARACTERS {
            let place = self.place(row);
            self.ask(row, say::long_name(&place, name.chars().count()));
            return;
        }
        self.line(row, cells, &name, species.is_some(), scientific);
        self.remember(row, cells);
    }

    /// Keeps the cells of a row for the ditto marks below it.
    fn remember(&mut self, row: u32, cells: &BTreeMap<u32, &Cell>) {
        let columns: Vec<(u32, Meaning)> =
            self.table.columns.iter().map(|column| (column.index, column.meaning)).collect();
        let above = columns
            .into_iter()
            .filter_map(|(index, meaning)| {
                let own = cells.get(&index).map(|cell| (*cell).clone());
                let cell = match own {
                    Some(Cell::Text(text)) if is_ditto(&text) => self.above.get(&index).cloned(),
                    Some(cell) if !cell.is_blank() => Some(cell),
                    _ => self.cell(row, cells, meaning).cloned(),
                };
                Some((index, cell?))
            })
            .collect();
        self.above = above;
    }

    fn note_missing(&mut self, row: u32, cells: &BTreeMap<u32, &Cell>) {
        for (column, cell) in cells {
            if let Cell::Missing(what) = cell
                && self.table.meaning(*column).is_used()
            {
                self.out.missing.entry(*column).or_insert((0, row, what.clone())).0 += 1;
            }
        }
    }

    fn note_unknown(&mut self, row: u32, filled: &[(u32, &Cell)]) {
        for (column, _) in filled {
            if self.table.meaning(*column) == Meaning::Unknown {
                self.out.unknown.entry(*column).or_insert(row);
            }
        }
    }

    /// A row with one cell: a box heading, or nothing.
    fn lone_cell(&mut self, row: u32, column: u32, cell: &Cell) {
        let in_box_column = self.table.meaning(column) == Meaning::Box;
        let boxes = match cell {
            Cell::Text(text) => label::heading(text),
            _ => None,
        };
        let boxes = boxes.or_else(|| match self.box_label(cell) {
            BoxLabel::Boxes(boxes) if in_box_column => Some(boxes),
            _ => None,
        });
        if let Some(boxes) = boxes {
            self.out.name_boxes(row, &boxes);
            self.current = Current::Boxes(boxes);
            return;
        }
        if let Cell::Text(text) = cell
            && text.chars().any(char::is_alphabetic)
        {
            self.under = kind_under(text);
        }
        // A number that stands alone under a count of fish is a subtotal without a name.
        let each = self
            .table
            .columns
            .iter()
            .find(|known| known.index == column && known.meaning.is_fish())
            .map(|known| known.fish_each);
        if let Some(fish) = each.and_then(|each| number::count(cell, each)) {
            self.total(row, TotalRow { fish: Some(fish.fish), ..TotalRow::unlabelled() });
        }
    }

    fn box_heading(
        &self,
        filled: &[(u32, &Cell)],
        species: Option<&str>,
        scientific: Option<&str>,
    ) -> Option<Vec<u32>> {
        if let Some(species) = species {
            return label::heading(species).filter(|_| scientific.is_none());
        }
        if scientific.is_some() {
            return None;
        }
        let box_column = self.table.column(Meaning::Box).map(|column| column.index);
        filled.iter().filter(|(column, _)| Some(*column) != box_column).find_map(|(_, cell)| match cell {
            Cell::Text(text) => label::heading(text),
            _ => None,
        })
    }

    /// Remarks and labelled values below the lines are not fish.
    fn is_remark(&self, filled: &[(u32, &Cell)]) -> bool {
        let Some((_, Cell::Text(text))) = filled.first() else { return false };
        let words = phrase(text);
        let is_label = [Label::Awb, Label::House, Label::Invoice, Label::Supplier, Label::Packed, Label::Gross]
            .iter()
            .any(|&label| words::names(&words, label));
        words.first().is_some_and(|word| roles(word).has(Role::Remark)) || (is_label && words.len() <= 6)
    }

    /// The fish that the row counts, for rows that are no lines.
    fn fish_in(&self, cells: &BTreeMap<u32, &Cell>) -> Option<Count> {
        [Meaning::Quantity, Meaning::PerBox, Meaning::PerBag].into_iter().find_map(|meaning| {
            let column = self.table.column(meaning)?;
            number::count(cells.get(&column.index)?, column.fish_each)
        })
    }

    /// Numbers without a name: a subtotal, or a box label with the box's weight beside it.
    fn row_without_name(&mut self, row: u32, cells: &BTreeMap<u32, &Cell>) {
        let label = self
            .cell(row, cells, Meaning::Box)
            .filter(|cell| !matches!(cell, Cell::Text(text) if is_ditto(text)))
            .map(|cell| self.box_label(cell));
        let own = self
            .table
            .column(Meaning::Box)
            .is_some_and(|column| cells.get(&column.index).is_some_and(|cell| !cell.is_blank()));
        let named = match label {
            Some(BoxLabel::Boxes(boxes)) if own => Some(boxes),
            _ => None,
        };
        let fish = self.fish_in(cells);
        if let Some(boxes) = &named
            && self.current != Current::Boxes(boxes.clone())
        {
            self.current = Current::Boxes(boxes.clone());
            if fish.is_none() {
                self.out.name_boxes(row, boxes);
            }
        }
        if let Some(fish) = fish {
            self.total(row, TotalRow { fish: Some(fish.fish), named, ..TotalRow::unlabelled() });
        }
    }

    fn total(&mut self, row: u32, total: TotalRow) {
        let under = match &self.current {
            Current::Boxes(boxes) => boxes.clone(),
            _ => Vec::new(),
        };
        let resets = total.closes_a_part();
        self.out.totals.push(TotalAt { row, total, all: self.all, since: self.since, under });
        if resets {
            self.since = Sum::default();
        }
    }

    /// The boxes that a cell of the box column names; under `Box/Bag` without the bag.
    fn box_label(&self, cell: &Cell) -> BoxLabel {
        let pair = self.box_and_bag_column().and_then(|_| label::box_and_bag(cell));
        pair.map_or_else(|| label::of_cell(cell), |(number, _)| BoxLabel::Boxes(vec![number]))
    }

    /// The column of boxes, where it names the bag as well.
    pub(super) fn box_and_bag_column(&self) -> Option<u32> {
        self.table.column(Meaning::Box).filter(|column| column.with_bag).map(|column| column.index)
    }

    /// Takes up the row's own box label.
    fn box_cell(&mut self, row: u32, cells: &BTreeMap<u32, &Cell>) {
        let Some(cell) = self.cell(row, cells, Meaning::Box).cloned() else {
            if self.current == Current::None {
                self.current = Current::Unclear;
                let place = self.place(row);
                self.ask_for(row, say::no_box_yet(&place), Asks::Box);
            }
            return;
        };
        if matches!(&cell, Cell::Text(text) if is_ditto(text)) {
            return;
        }
        // The boxes below a merged cell are those of its first row; they are not asked about again.
        let column = self.table.column(Meaning::Box).map_or(0, |column| column.index);
        let own = cells.get(&column).is_some_and(|own| !own.is_blank());
        match self.box_label(&cell) {
            BoxLabel::Boxes(boxes) => {
                if own && self.current != Current::Boxes(boxes.clone()) {
                    self.out.own_box.insert(row);
                }
                self.out.name_boxes(row, &boxes);
                self.current = Current::Boxes(boxes);
            }
            unclear => {
                if own {
                    let place = self.place(row);
                    let text = shorten(&cell.text(), 40);
                    let question = if unclear == BoxLabel::Date {
                        say::box_is_a_date(&place, &text)
                    } else {
                        say::box_without_number(&place, &text)
                    };
                    self.ask_for(row, question, Asks::Box);
                }
                self.current = Current::Unclear;
            }
        }
    }

    /// A row that is left out, as far as it can be read; what else is doubtful in it is not asked.
    fn without_quantity(
        &mut self,
        row: u32,
        cells: &BTreeMap<u32, &Cell>,
        name: &str,
        bag: Option<u32>,
        scientific: Option<String>,
    ) -> ListLine {
        let (questions, asks) = (self.out.questions.len(), self.out.asks.len());
        let (size, unit_price) = (self.size(row, cells, ""), self.price(row, cells, ""));
        self.out.questions.truncate(questions);
        self.out.asks.truncate(asks);
        ListLine {
            number: None,
            bag,
            bags: None,
            species: name.to_owned(),
            scientific: scientific.or_else(|| latin::in_brackets(name)),
            size,
            qty: 0,
            bonus: 0,
            unit_price,
            under: self.under,
        }
    }

    fn line(&mut self, row: u32, cells: &BTreeMap<u32, &Cell>, name: &str, common: bool, scientific: Option<String>) {
        let place = self.place(row);
        let boxes = match &self.current {
            Current::Boxes(boxes) => boxes.clone(),
            _ => Vec::new(),
        };
        let (bag, bag_count) = self.bag(row, cells, &place);
        let stated = Stated {
            bags: bag_count,
            bags_per_box: self.table.column(Meaning::BagsPerBox).is_some(),
            ..self.stated(row, cells)
        };
        let zero_total = self.is_zero(row, cells);
        let shared = share(&stated, boxes.len().max(1) as u64)
            .filter(|shared| !zero_total && shared.fish > 0 && shared.fish <= limits::QUANTITY);
        let Some(shared) = shared else {
            let typed = self.typed_quantity(row, cells);
            let question = say::no_quantity(&place, &shorten(name, 60), typed.as_deref());
            let line = Box::new(self.without_quantity(row, cells, name, bag, scientific));
            self.ask_for(row, question, Asks::LeftOut { line, boxes });
            return;
        };
        for doubt in &shared.doubts {
            let (question, asks) = match *doubt {
                Doubt::Product(total, product) => {
                    let choices = [total, product].into_iter().filter_map(|fish| u32::try_from(fish).ok()).collect();
                    let asks = Asks::Fish { choices, each: stated.total.is_none() };
                    (say::total_differs_from_product(&place, total, product), asks)
                }
                Doubt::Remainder => {
                    (say::not_divisible(&place, shared.fish, boxes.len() as u64), Asks::Split { boxes: boxes.clone() })
                }
            };
            self.ask_for(row, question, asks);
        }
        if shared.fish > limits::FISH_OF_A_LINE {
            let question = say::many_fish(&place, &shorten(name, 60), shared.fish);
            self.ask_for(row, question, Asks::Fish { choices: Vec::new(), each: true });
        }
        let size = self.size(row, cells, &place);
        let unit_price = self.price(row, cells, &place);
        let scientific = scientific.or_else(|| common.then(|| latin::in_brackets(name)).flatten());
        let line = ListLine {
            number: None,
            bag,
            bags: shared.bags.and_then(|bags| u32::try_from(bags).ok()),
            species: name.to_owned(),
            scientific,
            size,
            qty: shared.fish as u32,
            bonus: shared.free as u32,
            unit_price,
            under: self.under,
        };
        let numbers: Vec<Option<u32>> =
            if shared.whole || boxes.is_empty() { vec![None] } else { boxes.iter().copied().map(Some).collect() };
        for number in numbers {
            self.all.add(shared.fish, shared.free);
            self.since.add(shared.fish, shared.free);
            let undivided = if number.is_none() { boxes.clone() } else { Vec::new() };
            self.out.drafts.push(Draft { row, line: ListLine { number, ..line.clone() }, boxes: undivided });
        }
    }
}
