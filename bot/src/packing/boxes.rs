//! Which boxes hold for a row: its own label, a heading above it, or the label carried down.

use std::collections::BTreeMap;

use holdfast_core::consignment::Asks;
use holdfast_core::say::packing as say;

use super::clean::shorten;
use super::ditto::is_ditto;
use super::group::kind_under;
use super::label::{self, BoxLabel};
use super::meaning::Meaning;
use super::number;
use super::rows::Reader;
use super::sheet::Cell;
use super::totals::TotalRow;

/// The boxes that hold from here on.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Current {
    /// No box was named yet.
    None,
    /// These.
    Boxes(Vec<u32>),
    /// A label that could not be read.
    Unclear,
}

impl Reader<'_> {
    /// A row with one cell: a box heading, or nothing.
    pub(super) fn lone_cell(&mut self, row: u32, column: u32, cell: &Cell) {
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

    pub(super) fn box_heading(
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

    /// Numbers without a name: a subtotal, or a box label with the box's weight beside it.
    pub(super) fn row_without_name(&mut self, row: u32, cells: &BTreeMap<u32, &Cell>) {
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
    pub(super) fn box_cell(&mut self, row: u32, cells: &BTreeMap<u32, &Cell>) {
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
}
