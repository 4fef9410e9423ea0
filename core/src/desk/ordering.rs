//! Orders typed in the chat that are no acts: people, buyers, prices, boxes that are late, lost or first.

use std::str::FromStr;

use rust_decimal::Decimal;

use super::draft::{Done, Draft, Stop};
use super::refusal::Refusal;
use super::through::Through;
use crate::consignment::{BoxKey, LotNo, Standing};
use crate::journal::{Event, Matter, Person};
use crate::message::{Act, Place, Said};
use crate::people::{Power, Role};
use crate::say;

/// An order, as typed.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Order {
    /// A person is enrolled, or gets another role.
    Enrol { name: String, role: Role, buyer: Option<String> },
    /// A person loses access.
    Remove { name: String },
    /// A buyer's firm becomes known.
    Buyer { name: String },
    /// What a lot's fish cost.
    Price { lot: u32, price: Decimal, currency: String },
    /// What became of a box.
    Box { number: u32, standing: Standing },
    /// A box is on no list.
    NoList { number: u32 },
    /// A consignment is announced, with as many boxes.
    Announced { supplier: String, boxes: Option<u32> },
    /// Boxes go to a buyer unopened.
    Through(Through),
    /// A box is opened first.
    First { number: u32 },
}

/// Reads an order. Each has one plain form; anything else is no order and goes to the reader.
fn read(text: &str) -> Option<Order> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let lower: Vec<String> = words.iter().map(|word| word.to_lowercase()).collect();
    let lower: Vec<&str> = lower.iter().map(String::as_str).collect();
    match lower.as_slice() {
        ["enrol" | "enroll", _, "as", role] => {
            Role::from_name(role).map(|role| Order::Enrol { name: words[1].to_owned(), role, buyer: None })
        }
        ["enrol" | "enroll", _, "for", ..] if words.len() > 3 => {
            Some(Order::Enrol { name: words[1].to_owned(), role: Role::Buyer, buyer: Some(words[3..].join(" ")) })
        }
        ["remove", _] => Some(Order::Remove { name: words[1].to_owned() }),
        ["buyer", ..] if words.len() > 1 => Some(Order::Buyer { name: words[1..].join(" ") }),
        ["price", "lot", lot, price, currency] => Some(Order::Price {
            lot: lot.parse().ok()?,
            price: Decimal::from_str(&price.replace(',', ".")).ok().filter(|price| *price > Decimal::ZERO)?,
            currency: currency_code(currency)?,
        }),
        ["box", number, rest @ ..] => read_box(number.parse().ok()?, rest),
        ["consignment" | "shipment", "from", ..] => announced(&words[2..]),
        _ => super::through::read(text).map(Order::Through),
    }
}

/// A tank or tray named by itself, "tank A9": its kind is a tray, and its name. Asked for only where the reader finds
/// nothing in a message.
pub(super) fn vessel_alone(text: &str) -> Option<(bool, String)> {
    let words: Vec<&str> = text.trim_end_matches(['.', '!']).split_whitespace().collect();
    let [kind, name] = words.as_slice() else { return None };
    let tray = match kind.to_lowercase().as_str() {
        "tank" => false,
        "tray" => true,
        _ => return None,
    };
    let plain = name.chars().all(|letter| letter.is_ascii_alphanumeric()) && name.chars().any(|c| c.is_ascii_digit());
    (plain && name.len() <= 5).then(|| (tray, name.to_uppercase()))
}

/// Plain sentences that are reports: a bag poured into another, and what a tank held before the house kept books.
/// Asked for only where the reader finds nothing in a message.
pub(super) fn plain_report(text: &str) -> Option<Reported> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let lower: Vec<String> = words.iter().map(|word| word.to_lowercase()).collect();
    let lower: Vec<&str> =
        lower.iter().map(String::as_str).filter(|word| !matches!(*word, "moved" | "poured")).collect();
    let poured = |count, from: &str, to: &str| {
        let (from, to) = (bag(from)?, bag(to)?);
        let act = Act::Move { to, from: Some(from), count, species: None, fix: false };
        Some(Reported::Act(Said::from(act)))
    };
    match lower.as_slice() {
        [from, "into" | "to", to] => poured(None, from, to),
        [count, "from", from, "into" | "to", to] => poured(Some(count.parse().ok()?), from, to),
        [_, "has" | "holds", count, _, ..] if count.parse::<u32>().is_ok() => {
            Some(Reported::Words(format!("{} {} alive", words[0], words[2..].join(" "))))
        }
        _ => None,
    }
}

/// What a plain sentence reports.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Reported {
    /// An act.
    Act(Said),
    /// The same in words that the reader knows.
    Words(String),
}

fn bag(word: &str) -> Option<Place> {
    let (number, bag) = word.split_once(['.', '/'])?;
    Some(Place::Bag { number: number.parse().ok()?, bag: bag.parse().ok()? })
}

fn currency_code(word: &str) -> Option<String> {
    (word.len() == 3 && word.chars().all(|letter| letter.is_ascii_alphabetic())).then(|| word.to_uppercase())
}

/// A supplier's name and how many boxes it sends: "Rio Claro, 12 boxes", the name alone, or with what is known.
fn announced(words: &[&str]) -> Option<Order> {
    let (name, boxes) = match words {
        [name @ .., count, unit] if ["box", "boxes"].contains(&unit.to_lowercase().as_str()) => {
            (name, Some(count.parse().ok().filter(|boxes| (1..=MOST_BOXES).contains(boxes))?))
        }
        name => (name, None),
    };
    let name = match name {
        [name @ .., last] if ["with", "of", "-"].contains(last) => name,
        name => name,
    };
    let supplier = name.join(" ").trim_end_matches([',', ':', ';', '.']).to_owned();
    let plausible = supplier.chars().any(char::is_alphabetic) && supplier.len() <= 60 && !supplier.contains('?');
    plausible.then_some(Order::Announced { supplier, boxes })
}

/// Boxes that one consignment can have: an aeroplane holds fewer.
const MOST_BOXES: u32 = 2000;

fn read_box(number: u32, rest: &[&str]) -> Option<Order> {
    match rest {
        ["no", "list"] | ["has", "no", "list"] | ["without", "list"] | ["not", "listed"] => {
            Some(Order::NoList { number })
        }
        ["first"] => Some(Order::First { number }),
        ["late"] | ["is", "late"] => Some(Order::Box { number, standing: Standing::Late }),
        ["on", .., "flight"] | ["is", "on", .., "flight"] => Some(Order::Box { number, standing: Standing::Late }),
        ["lost"] | ["is", "lost"] => Some(Order::Box { number, standing: Standing::Lost }),
        ["here"] | ["is", "here"] => Some(Order::Box { number, standing: Standing::Expected }),
        _ => None,
    }
}

impl Draft<'_> {
    /// The order in a text. Words that only look like one, because the house knows neither the buyer nor the supplier in
    /// them, are none.
    pub(super) fn order_in(&self, text: &str) -> Option<Order> {
        read(text).filter(|order| match order {
            Order::Through(said) => said.boxes.is_some() || self.knows_both_ends(said),
            _ => true,
        })
    }

    /// Carries out an order.
    pub(super) fn order(&mut self, order: Order) -> Result<Done, Stop> {
        match order {
            Order::Enrol { name, role, buyer } => self.enrol(&name, role, buyer),
            Order::Remove { name } => self.remove(&name),
            Order::Buyer { name } => {
                self.require(Power::NameBuyers)?;
                self.emit(Event::BuyerSet { name: name.clone(), known: true });
                Ok(Done::standing(say::standing::buyer_known(&name)))
            }
            Order::Price { lot, price, currency } => self.price(lot, price, &currency),
            Order::Box { number, standing } => {
                self.require(Power::RecordArrival)?;
                let of = self.box_ordered(number)?;
                self.box_standing(of, standing)
            }
            Order::NoList { number } => self.box_without_list(number),
            Order::Through(said) => self.through(&said),
            Order::Announced { supplier, boxes } => self.announce(&supplier, boxes),
            Order::First { number } => self.first(number),
        }
    }

    /// Enrols a person, in the chat in which the person will be heard first.
    pub(super) fn enrol(&mut self, name: &str, role: Role, buyer: Option<String>) -> Result<Done, Stop> {
        self.require(Power::EnrolPeople)?;
        if role != Role::Lead {
            self.keep_a_lead(name)?;
        }
        if let Some(firm) = &buyer
            && !self.state.buyers.contains(firm)
        {
            self.emit(Event::BuyerSet { name: firm.clone(), known: true });
        }
        let chat = self.state.people.get(name).and_then(|person| person.chat.clone());
        self.emit(Event::PersonSet { name: name.to_owned(), to: Some(Person { role, buyer: buyer.clone(), chat }) });
        Ok(Done::standing(say::standing::enrolled(name, role, buyer.as_deref())))
    }

    fn remove(&mut self, name: &str) -> Result<Done, Stop> {
        self.require(Power::EnrolPeople)?;
        if !self.state.people.contains_key(name) {
            return Err(Refusal::NoSuchPerson { name: name.to_owned() }.into());
        }
        self.keep_a_lead(name)?;
        self.emit(Event::PersonSet { name: name.to_owned(), to: None });
        Ok(Done::standing(say::standing::removed(name)))
    }

    fn keep_a_lead(&self, name: &str) -> Result<(), Stop> {
        let is_lead = |person: &Person| person.role == Role::Lead;
        let others = self.state.people.iter().any(|(other, person)| other != name && is_lead(person));
        if self.state.people.get(name).is_some_and(is_lead) && !others {
            return Err(Refusal::LastLead.into());
        }
        Ok(())
    }

    fn price(&mut self, lot: u32, price: Decimal, currency: &str) -> Result<Done, Stop> {
        self.require(Power::SetPrices)?;
        let no = LotNo(lot);
        let Some(mut record) = self.state.lots.get(&no).cloned() else {
            return Err(Refusal::NoSuchLot { number: lot }.into());
        };
        record.price = Some((price, currency.to_owned()));
        let species = self.state.species(record.line);
        self.emit(Event::LotSet { no, to: Some(record) });
        Ok(Done::standing(say::standing::priced(lot, &species, price, currency)))
    }

    /// The box an order is about. Where two open consignments have it the supplier is asked for, and the order typed again.
    fn box_ordered(&self, number: u32) -> Result<BoxKey, Stop> {
        let act = Said::from(Act::Open { at: Place::Box { number } });
        self.find_box(number, &act).map_err(|stop| match stop {
            Stop::Asked(mut query) => {
                if let Some(Matter::WhichConsignment { acts, .. }) = &mut query.matter {
                    acts.clear();
                }
                Stop::Asked(query)
            }
            refused => refused,
        })
    }

    fn first(&mut self, number: u32) -> Result<Done, Stop> {
        self.require(Power::PinBoxFirst)?;
        let of = self.box_ordered(number)?;
        let Some(mut record) = self.state.boxes.get(&of).cloned() else {
            return Err(Refusal::NoSuchBox { number }.into());
        };
        if record.opened.is_some() {
            return Err(Refusal::AlreadyOpened { number }.into());
        }
        record.pinned = true;
        self.emit(Event::BoxSet { key: of, to: Some(record) });
        Ok(Done::standing(say::standing::pinned(&self.box_name(of))))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_order_has_one_plain_form() {
        let enrol = |name: &str, role, buyer: Option<&str>| {
            Some(Order::Enrol { name: name.to_owned(), role, buyer: buyer.map(str::to_owned) })
        };
        assert_eq!(read("enrol Ana as crew"), enrol("Ana", Role::Crew, None));
        assert_eq!(read("enrol rita for Reef & River"), enrol("rita", Role::Buyer, Some("Reef & River")));
        assert_eq!(read("box 12 is on tomorrow's flight"), Some(Order::Box { number: 12, standing: Standing::Late }));
        assert_eq!(read("box 12 lost"), Some(Order::Box { number: 12, standing: Standing::Lost }));
        let announced = |boxes| Some(Order::Announced { supplier: "Rio Claro".to_owned(), boxes });
        assert_eq!(read("consignment from Rio Claro, 12 boxes"), announced(Some(12)));
        assert_eq!(read("shipment from Rio Claro"), announced(None));
        assert_eq!(read("shipment from Rio Claro is late?"), None);
        assert_eq!(
            read("price lot 43 2,50 eur"),
            Some(Order::Price { lot: 43, price: Decimal::new(250, 2), currency: "EUR".to_owned() })
        );
    }

    #[test]
    fn a_bag_poured_into_another_and_old_stock_are_plain_reports() {
        let bag = |bag| Place::Bag { number: 7, bag };
        let poured = |count| {
            let act = Act::Move { to: bag(2), from: Some(bag(1)), count, species: None, fix: false };
            Some(Reported::Act(Said::from(act)))
        };
        assert_eq!(plain_report("7.1 into 7.2"), poured(None));
        assert_eq!(plain_report("36 from 7.1 into 7.2"), poured(Some(36)));
        assert_eq!(plain_report("A12 has 40 loaches"), Some(Reported::Words("A12 40 loaches alive".into())));
        assert_eq!(plain_report("A12 has no food"), None);
        assert_eq!(plain_report("7.1 into A12"), None);
    }

    #[test]
    fn what_is_no_order_goes_to_the_reader() {
        for text in [
            "box 12 4 dead",
            "remove the dead ones from A3",
            "enrol",
            "price lot x 2 EUR",
            "box 12 late again, typical",
        ] {
            assert_eq!(read(text), None, "{text}");
        }
    }
}
