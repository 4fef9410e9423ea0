//! Doubts of a packing list that an answer settles, and what the answer changes on the list.

use rust_decimal::Decimal;

use super::list::{ListLine, PackingList};

/// A doubt of a list that an answer can settle. Its text is also among the list's questions.
#[derive(Debug, Clone, PartialEq)]
pub struct ListDoubt {
    /// The question, with its sheet and row.
    pub text: String,
    /// The lines that it is about, counted from 0 in the order of the list.
    pub lines: Vec<u32>,
    /// What is asked.
    pub asks: Asks,
}

/// What a doubt asks. "As read" answers every one of them.
#[derive(Debug, Clone, PartialEq)]
pub enum Asks {
    /// How many fish the row holds.
    Fish {
        /// The numbers that the list itself offers, the one that was taken first.
        choices: Vec<u32>,
        /// Whether each box holds so many, rather than all boxes of the row together.
        each: bool,
    },
    /// How many fish a row holds that was left out.
    LeftOut {
        /// The row as far as it was read; its quantity is not.
        line: Box<ListLine>,
        /// The boxes of the row; none where it names none.
        boxes: Vec<u32>,
    },
    /// In which box the row is.
    Box,
    /// How the fish of a row lie in its boxes.
    Split {
        /// The boxes.
        boxes: Vec<u32>,
    },
    /// The size, as a person writes it.
    Size,
    /// The price of one fish.
    Price {
        /// The prices that are named.
        choices: Vec<Decimal>,
    },
    /// The currency of all prices.
    Currency {
        /// ISO codes that are named.
        choices: Vec<String>,
    },
}

/// An answer to a doubt.
#[derive(Debug, Clone, PartialEq)]
pub enum Answer {
    /// It stays as it was read.
    AsRead,
    /// Whole numbers of fish.
    Fish(Vec<u32>),
    /// The number of a box.
    Box(u32),
    /// A price.
    Price(Decimal),
    /// A size or a currency.
    Words(String),
}

/// Why an answer does not settle the doubt.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unfit {
    /// It says something else than was asked.
    NotAsked,
    /// Fish of a row that do not divide over its boxes.
    NotDivisible {
        /// Fish.
        fish: u32,
        /// Boxes.
        boxes: usize,
    },
    /// Not one number for each box.
    NotForEachBox {
        /// Boxes.
        boxes: Vec<u32>,
    },
}

impl PackingList {
    /// Settles the first doubt, and changes the list as the answer says.
    ///
    /// # Errors
    /// Where the answer does not fit; then nothing is changed.
    pub fn settle_doubt(&mut self, answer: &Answer) -> Result<(), Unfit> {
        let Some(doubt) = self.doubts.first().cloned() else { return Ok(()) };
        if *answer != Answer::AsRead {
            self.change(&doubt, answer)?;
        }
        self.doubts.remove(0);
        self.total_qty = self.lines.iter().map(|line| u64::from(line.qty)).sum();
        Ok(())
    }

    fn change(&mut self, doubt: &ListDoubt, answer: &Answer) -> Result<(), Unfit> {
        match (&doubt.asks, answer) {
            (Asks::Fish { each, .. }, Answer::Fish(fish)) => {
                let [fish] = fish.as_slice() else { return Err(Unfit::NotAsked) };
                let share = share(*fish, if *each { 1 } else { doubt.lines.len() })?;
                self.each(doubt, |line| {
                    line.qty = share;
                    line.bonus = line.bonus.min(share);
                });
            }
            (Asks::LeftOut { line, boxes }, Answer::Fish(fish)) => {
                let [fish] = fish.as_slice() else { return Err(Unfit::NotAsked) };
                let share = share(*fish, boxes.len().max(1))?;
                let numbers: Vec<Option<u32>> =
                    if boxes.is_empty() { vec![None] } else { boxes.iter().copied().map(Some).collect() };
                // At the end, so that the lines of the other doubts keep their numbers.
                let line = ListLine { qty: share, ..ListLine::clone(line) };
                self.lines.extend(numbers.into_iter().map(|number| ListLine { number, ..line.clone() }));
            }
            (Asks::Split { boxes }, Answer::Fish(fish)) => {
                if fish.len() != boxes.len() || fish.contains(&0) {
                    return Err(Unfit::NotForEachBox { boxes: boxes.clone() });
                }
                let Some(line) = doubt.lines.first().and_then(|at| self.lines.get_mut(index(*at))) else {
                    return Ok(());
                };
                let bags = line.bags.filter(|bags| index(*bags) == boxes.len()).map(|_| 1);
                let parts = boxes.iter().zip(fish).map(|(number, fish)| ListLine {
                    number: Some(*number),
                    qty: *fish,
                    bags,
                    bonus: 0,
                    ..line.clone()
                });
                let mut parts: Vec<ListLine> = parts.collect();
                *line = parts.remove(0);
                self.lines.extend(parts);
            }
            (Asks::Box | Asks::Split { .. }, Answer::Box(number)) => {
                self.each(doubt, |line| line.number = Some(*number))
            }
            (Asks::Size, Answer::Words(size)) => self.each(doubt, |line| line.size = Some(size.clone())),
            (Asks::Price { .. }, Answer::Price(price)) => self.each(doubt, |line| line.unit_price = Some(*price)),
            (Asks::Currency { .. }, Answer::Words(code)) => self.currency = Some(code.clone()),
            _ => return Err(Unfit::NotAsked),
        }
        Ok(())
    }

    fn each(&mut self, doubt: &ListDoubt, change: impl Fn(&mut ListLine)) {
        for at in &doubt.lines {
            if let Some(line) = self.lines.get_mut(index(*at)) {
                change(line);
            }
        }
    }
}

fn index(at: u32) -> usize {
    at as usize
}

fn share(fish: u32, boxes: usize) -> Result<u32, Unfit> {
    let count = u32::try_from(boxes.max(1)).unwrap_or(u32::MAX);
    if fish == 0 || !fish.is_multiple_of(count) {
        return Err(Unfit::NotDivisible { fish, boxes });
    }
    Ok(fish / count)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(number: Option<u32>, qty: u32) -> ListLine {
        ListLine {
            number,
            bag: None,
            bags: Some(1),
            species: "Neon tetra".into(),
            scientific: None,
            size: None,
            qty,
            bonus: 0,
            unit_price: None,
            under: None,
        }
    }

    fn doubted(asks: Asks, lines: &[u32], rows: Vec<ListLine>) -> PackingList {
        let doubt = ListDoubt { text: "Row 3: which?".into(), lines: lines.to_vec(), asks };
        let total_qty = rows.iter().map(|line| u64::from(line.qty)).sum();
        PackingList { lines: rows, total_qty, doubts: vec![doubt], ..PackingList::default() }
    }

    fn settled(mut list: PackingList, answer: Answer) -> Vec<(Option<u32>, u32)> {
        list.settle_doubt(&answer).unwrap();
        assert!(list.doubts.is_empty());
        assert_eq!(list.total_qty, list.lines.iter().map(|line| u64::from(line.qty)).sum::<u64>());
        list.lines.iter().map(|line| (line.number, line.qty)).collect()
    }

    #[test]
    fn the_fish_of_a_row_are_divided_over_its_boxes() {
        let list = doubted(
            Asks::Fish { choices: vec![90, 100], each: false },
            &[0, 1],
            vec![line(Some(1), 45), line(Some(2), 45), line(Some(3), 7)],
        );
        assert_eq!(settled(list.clone(), Answer::AsRead), [(Some(1), 45), (Some(2), 45), (Some(3), 7)]);
        assert_eq!(settled(list.clone(), Answer::Fish(vec![100])), [(Some(1), 50), (Some(2), 50), (Some(3), 7)]);
        let mut list = list;
        let unfit = list.settle_doubt(&Answer::Fish(vec![99])).unwrap_err();
        assert_eq!(unfit, Unfit::NotDivisible { fish: 99, boxes: 2 });
        assert_eq!((list.doubts.len(), list.total_qty), (1, 97), "nothing is changed");
    }

    #[test]
    fn a_row_that_was_left_out_comes_in_with_its_number() {
        let left_out = |boxes: &[u32]| Asks::LeftOut { line: Box::new(line(None, 0)), boxes: boxes.to_vec() };
        let list = |boxes: &[u32]| doubted(left_out(boxes), &[], vec![line(Some(1), 45)]);
        assert_eq!(settled(list(&[7]), Answer::Fish(vec![48])), [(Some(1), 45), (Some(7), 48)]);
        assert_eq!(settled(list(&[7, 8]), Answer::Fish(vec![48])), [(Some(1), 45), (Some(7), 24), (Some(8), 24)]);
        assert_eq!(settled(list(&[]), Answer::Fish(vec![48])), [(Some(1), 45), (None, 48)]);
        assert_eq!(settled(list(&[7]), Answer::AsRead), [(Some(1), 45)]);
    }

    #[test]
    fn a_row_over_three_boxes_is_split_as_said_or_put_into_one() {
        let list = doubted(Asks::Split { boxes: vec![1, 2, 3] }, &[0], vec![line(None, 100), line(Some(9), 5)]);
        let parts = settled(list.clone(), Answer::Fish(vec![34, 33, 33]));
        assert_eq!(parts, [(Some(1), 34), (Some(9), 5), (Some(2), 33), (Some(3), 33)]);
        assert_eq!(settled(list.clone(), Answer::Box(2)), [(Some(2), 100), (Some(9), 5)]);
        let unfit = list.clone().settle_doubt(&Answer::Fish(vec![50, 50])).unwrap_err();
        assert_eq!(unfit, Unfit::NotForEachBox { boxes: vec![1, 2, 3] });
    }

    #[test]
    fn a_box_a_size_a_price_and_a_currency_are_taken_as_said() {
        let list = |asks| doubted(asks, &[0], vec![line(None, 10)]);
        assert_eq!(settled(list(Asks::Box), Answer::Box(7)), [(Some(7), 10)]);
        let mut sized = list(Asks::Size);
        sized.settle_doubt(&Answer::Words("5-6 cm".into())).unwrap();
        assert_eq!(sized.lines[0].size.as_deref(), Some("5-6 cm"));
        let mut priced = list(Asks::Price { choices: vec![Decimal::ONE, Decimal::TWO] });
        priced.settle_doubt(&Answer::Price(Decimal::TWO)).unwrap();
        assert_eq!(priced.lines[0].unit_price, Some(Decimal::TWO));
        let mut paid = list(Asks::Currency { choices: vec!["EUR".into(), "USD".into()] });
        paid.settle_doubt(&Answer::Words("EUR".into())).unwrap();
        assert_eq!(paid.currency.as_deref(), Some("EUR"));
        assert_eq!(list(Asks::Box).settle_doubt(&Answer::Fish(vec![7])), Err(Unfit::NotAsked));
    }
}
