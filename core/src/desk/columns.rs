//! What a person says of a list's columns: "column F is pieces per bag", "F is not price", "col B = species".

use super::draft::{Done, Draft, Stop};
use super::refusal::Refusal;
use crate::consignment::{ColumnSaid, ColumnUse, PackingList};
use crate::journal::{Event, Listing, Matter, Reread};
use crate::people::Power;
use crate::say;

/// One thing said of one column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Saying {
    /// The column's letters, capitals.
    column: String,
    /// Whether the column is not that.
    not: bool,
    /// What it is, or is not.
    meaning: ColumnUse,
}

impl Draft<'_> {
    /// The list that is talked about in this chat, the last one first, with its question.
    pub(super) fn list_at_hand(&self) -> Option<(u64, Listing)> {
        self.state.questions.iter().rev().find_map(|(id, pending)| match &pending.matter {
            Matter::Listing(listing) if pending.to.chat == self.speaker.chat => Some((*id, Listing::clone(listing))),
            _ => None,
        })
    }

    /// Keeps what is said of columns for the supplier, and has the list read anew.
    pub(super) fn columns_said(&mut self, sayings: &[Saying]) -> Result<Done, Stop> {
        self.require(Power::CorrectList)?;
        let Some((id, listing)) = self.list_at_hand() else { return Err(Refusal::NoListAtHand.into()) };
        let list = &listing.list;
        let Some(file) = list.kept.clone() else { return Err(Refusal::NoListAtHand.into()) };
        let mut columns = listing.said.clone();
        let mut lines = Vec::new();
        for saying in sayings {
            let now = list.columns.iter().find(|column| column.column == saying.column).map(|column| column.meaning);
            let meaning = match (saying.not, now) {
                (true, Some(now)) if now != saying.meaning => {
                    lines.push(say::import::column_is(&saying.column, now, None));
                    continue;
                }
                (true, _) => ColumnUse::Unused,
                (false, _) => saying.meaning,
            };
            columns.retain(|known| known.column != saying.column);
            columns.push(ColumnSaid { column: saying.column.clone(), meaning });
            lines.push(say::import::column_is(&saying.column, meaning, list.supplier.as_deref()));
        }
        if columns == listing.said {
            return Ok(Done { recorded: Some(lines.join("\n")), ..Done::default() });
        }
        if let Some(supplier) = &list.supplier {
            self.emit(Event::ColumnsSet { supplier: supplier.clone(), to: Some(columns.clone()) });
        }
        self.emit(Event::QuestionSet { id, to: None });
        let no = self.number();
        let to = self.speaker.clone();
        let reread = Reread { file, name: list.file.clone(), columns, to, said_at: self.said_at };
        self.emit(Event::RereadSet { no, to: Some(reread) });
        Ok(Done { recorded: Some(lines.join("\n")), ..Done::default() })
    }

    /// The shell has read a list anew: it is read back from the beginning.
    pub(super) fn read_anew(&mut self, of: u64, list: &PackingList) -> Result<(), Stop> {
        let Some(reread) = self.state.rereads.get(&of).cloned() else { return Ok(()) };
        self.emit(Event::RereadSet { no: of, to: None });
        let query = self.offer_list(list, reread.columns)?;
        self.ask(query);
        Ok(())
    }
}

/// Reads what is said of columns; `None` where any part of the text is something else.
pub(super) fn read(text: &str) -> Option<Vec<Saying>> {
    let spaced = text.trim().trim_end_matches(['.', '!']).replace('=', " = ").replace(':', " : ");
    let mut sayings = Vec::new();
    for part in spaced.split([',', ';', '\n']).filter(|part| !part.trim().is_empty()) {
        sayings.push(saying(part)?);
    }
    (!sayings.is_empty()).then_some(sayings)
}

fn saying(text: &str) -> Option<Saying> {
    let words: Vec<&str> = text.split_whitespace().filter(|word| !word.eq_ignore_ascii_case("and")).collect();
    let lower: Vec<String> = words.iter().map(|word| word.to_lowercase()).collect();
    let called = matches!(lower.first()?.as_str(), "column" | "col" | "col.");
    let at = usize::from(called);
    let column = *words.get(at)?;
    // Without the word "column" only capitals are letters of a column: "a is box" may be anything.
    let letters = (1..=2).contains(&column.len())
        && column.chars().all(|letter| letter.is_ascii_alphabetic())
        && (called || column.chars().all(|letter| letter.is_ascii_uppercase()));
    let is = matches!(lower.get(at + 1)?.as_str(), "is" | "=" | ":" | "means" | "are" | "isn't" | "isnt");
    if !letters || !is {
        return None;
    }
    let mut not = lower[at + 1].starts_with("isn");
    let mut rest: Vec<&str> = lower[at + 2..].iter().map(String::as_str).collect();
    if rest.first() == Some(&"not") {
        not = true;
        rest.remove(0);
    }
    rest.retain(|word| !matches!(*word, "the" | "a" | "an" | "of" | "no"));
    Some(Saying { column: column.to_uppercase(), not, meaning: meaning(&rest.join(" "))? })
}

/// What plain words call a column's meaning.
fn meaning(words: &str) -> Option<ColumnUse> {
    let words = words.replace("pcs", "pieces").replace("qty", "quantity").replace("/", " per ");
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    Some(match words.as_str() {
        "box" | "boxes" | "box number" | "box numbers" | "carton" | "carton number" => ColumnUse::Box,
        "bag number" | "bag numbers" | "bag" => ColumnUse::BagNumber,
        "bags" | "number bags" | "how many bags" => ColumnUse::Bags,
        "bags per box" | "bags each box" => ColumnUse::BagsPerBox,
        "species" | "name" | "common name" | "fish" | "fish name" | "description" => ColumnUse::Species,
        "scientific" | "scientific name" | "latin" | "latin name" => ColumnUse::Scientific,
        "size" | "sizes" => ColumnUse::Size,
        "pieces per bag" | "per bag" | "fish per bag" | "quantity per bag" | "in each bag" => ColumnUse::PerBag,
        "pieces per box" | "per box" | "fish per box" | "quantity per box" | "in each box" => ColumnUse::PerBox,
        "total pieces" | "total" | "quantity" | "pieces" | "total fish" | "number fish" | "how many"
        | "total quantity" => ColumnUse::Quantity,
        "price" | "unit price" | "price each" | "prices" | "price per piece" | "price per fish" => ColumnUse::Price,
        "gross weight" | "gross" | "weight" | "kg" => ColumnUse::GrossWeight,
        "ignore" | "ignored" | "nothing" | "unused" | "not needed" | "remarks" | "remark" | "notes" => {
            ColumnUse::Unused
        }
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(column: &str, not: bool, meaning: ColumnUse) -> Saying {
        Saying { column: column.into(), not, meaning }
    }

    #[test]
    fn a_lead_says_in_plain_words_which_column_is_which() {
        for (text, expected) in [
            ("column F is pieces per bag", said("F", false, ColumnUse::PerBag)),
            ("F is not price", said("F", true, ColumnUse::Price)),
            ("F isn't the price", said("F", true, ColumnUse::Price)),
            ("col B = species", said("B", false, ColumnUse::Species)),
            ("col b=species", said("B", false, ColumnUse::Species)),
            ("column AA: pcs/box", said("AA", false, ColumnUse::PerBox)),
            ("column C is the number of bags", said("C", false, ColumnUse::Bags)),
            ("G is total", said("G", false, ColumnUse::Quantity)),
            ("column H ignore", said("H", false, ColumnUse::Unused)),
            ("column H is ignored", said("H", false, ColumnUse::Unused)),
        ] {
            let read = read(text);
            if text == "column H ignore" {
                assert_eq!(read, None, "a sentence needs its verb");
            } else {
                assert_eq!(read, Some(vec![expected]), "{text}");
            }
        }
        let two = read("column F is per bag, G is price").unwrap();
        assert_eq!(two, [said("F", false, ColumnUse::PerBag), said("G", false, ColumnUse::Price)]);
    }

    #[test]
    fn every_meaning_that_is_read_back_can_be_typed() {
        for meaning in [
            ColumnUse::Box,
            ColumnUse::BagNumber,
            ColumnUse::Bags,
            ColumnUse::BagsPerBox,
            ColumnUse::Species,
            ColumnUse::Scientific,
            ColumnUse::Size,
            ColumnUse::PerBag,
            ColumnUse::PerBox,
            ColumnUse::Quantity,
            ColumnUse::Price,
            ColumnUse::GrossWeight,
            ColumnUse::Unused,
        ] {
            let text = format!("column Q is {}", say::import::column_use(meaning));
            assert_eq!(read(&text), Some(vec![said("Q", false, meaning)]), "{text}");
        }
    }

    #[test]
    fn other_sentences_are_for_the_reader() {
        for text in ["A3 is ok", "it is late", "I is tired", "a is box", "7.1 38 ok", "tank is full, F is price", ""] {
            assert_eq!(read(text), None, "{text}");
        }
    }
}
