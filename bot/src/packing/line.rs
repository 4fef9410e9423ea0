//! A row with a name and a quantity: one line for each of its boxes.

use std::collections::BTreeMap;

use holdfast_core::consignment::{Asks, ListLine};
use holdfast_core::say::packing as say;

use super::boxes::Current;
use super::clean::shorten;
use super::latin;
use super::limits;
use super::meaning::Meaning;
use super::reading::Draft;
use super::rows::Reader;
use super::sheet::Cell;
use super::spread::{Doubt, Stated, share};

impl Reader<'_> {
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

    pub(super) fn line(
        &mut self,
        row: u32,
        cells: &BTreeMap<u32, &Cell>,
        name: &str,
        common: bool,
        scientific: Option<String>,
    ) {
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
