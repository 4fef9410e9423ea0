//! Boxes that go straight through to a buyer, unopened: nothing in them is counted, looked at, held or sold here. The
//! buyer hears what the list says is in them, or, where the boxes leave first, when the list comes.

use std::collections::BTreeMap;

use super::draft::{Done, Draft, Query, Stop};
use super::place::choices;
use super::refusal::Refusal;
use crate::consignment::{BoxKey, ConsignmentNo, LotNo, Standing};
use crate::journal::{Event, Logged, Matter, Spot};
use crate::message::{Act, Place, Said};
use crate::people::Power;
use crate::say;
use crate::stock::{Account, Certainty};

/// Boxes said to go straight through, as typed.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Through {
    /// The boxes; `None` for all of a consignment.
    pub boxes: Option<Vec<u32>>,
    /// The supplier, where all boxes of a consignment are meant and it is named.
    pub supplier: Option<String>,
    /// The buyer's name, or a word of it.
    pub buyer: String,
}

/// What a buyer is told of a box.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum News {
    /// It is on the way.
    OnTheWay,
    /// Its list has come.
    Listed,
    /// Its list was corrected.
    Corrected,
}

/// Boxes in one message at most: a range beyond that is a slip.
const MOST_BOXES: u32 = 400;

/// Reads "12 13 14 straight through to Reef", "whole list unopened to Reef", "all of Rio Claro straight to Reef".
pub(super) fn read(text: &str) -> Option<Through> {
    let text = text.trim().trim_end_matches(['.', '!']);
    if text.ends_with('?') {
        return None;
    }
    let words: Vec<&str> = text.split_whitespace().collect();
    let lower: Vec<String> = words.iter().map(|word| word.to_lowercase()).collect();
    let to = lower.iter().position(|word| word == "to" || word == "for").filter(|at| *at > 1)?;
    let buyer = words[to + 1..].join(" ");
    if buyer.is_empty() || buyer.chars().all(|letter| !letter.is_alphabetic()) {
        return None;
    }
    let (head, way) = split_way(&lower[..to])?;
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    let original = &words[..head.len()];
    let whole = |supplier: &[&str]| Some(supplier.join(" ")).filter(|name| !name.is_empty());
    let found = |boxes, supplier| Some(Through { boxes, supplier, buyer: buyer.clone() });
    match head.as_slice() {
        ["everything"] | ["all"] | ["all", "boxes"] | ["all", "unopened"] => found(None, None),
        ["the" | "whole", ..] | ["all", "of", ..] if strip_whole(&head).is_some() => {
            let kept = strip_whole(&head)?;
            found(None, whole(&original[kept]))
        }
        _ => match numbers(&head) {
            Some(boxes) => found(Some(boxes), None),
            // "Rio Claro straight through to Reef": a name only beside words that say nothing else.
            None if way == Way::Straight
                && head != ["straight"]
                && head.iter().all(|word| word.chars().all(char::is_alphabetic)) =>
            {
                found(None, whole(original))
            }
            None => None,
        },
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    Straight,
    Unopened,
}

/// What stands before the words of the way.
fn split_way(words: &[String]) -> Option<(&[String], Way)> {
    let ways: [(&[&str], Way); 9] = [
        (&["straight", "through"], Way::Straight),
        (&["straight", "thru"], Way::Straight),
        (&["straight", "on"], Way::Straight),
        (&["straight"], Way::Straight),
        (&["on", "unopened"], Way::Unopened),
        (&["unopened"], Way::Unopened),
        (&["through"], Way::Straight),
        (&["thru"], Way::Straight),
        (&["passed", "on"], Way::Unopened),
    ];
    let (way, kind) = ways.iter().find(|(way, _)| {
        words.len() > way.len() && words[words.len() - way.len()..].iter().map(String::as_str).eq(way.iter().copied())
    })?;
    let mut head = &words[..words.len() - way.len()];
    while let [rest @ .., last] = head
        && ["go", "goes", "going", "went", "passed", "pass", "is", "are", "all"].contains(&last.as_str())
        && !rest.is_empty()
    {
        head = rest;
    }
    Some((head, *kind))
}

/// Where the supplier's name stands in "the whole Rio list", "whole list", "all of Rio Claro".
fn strip_whole(head: &[&str]) -> Option<std::ops::Range<usize>> {
    let mut at = usize::from(head.first() == Some(&"the"));
    match head.get(at..)? {
        ["whole", ..] => at += 1,
        ["all", "of", ..] => at += 2,
        _ => return None,
    }
    let mut end = head.len();
    if matches!(head.get(end - 1), Some(&("list" | "consignment" | "shipment"))) && end > at {
        end -= 1;
    }
    (at <= end).then_some(at..end)
}

/// Box numbers and ranges: "12 13 14", "boxes 12, 13 and 14", "12-14".
fn numbers(words: &[&str]) -> Option<Vec<u32>> {
    let mut found = Vec::new();
    for word in words {
        let word = word.trim_matches(|letter: char| [',', ';', '#', '.'].contains(&letter));
        match word.split_once('-') {
            Some((from, to)) => {
                let (from, to) = (from.parse::<u32>().ok()?, to.parse::<u32>().ok()?);
                if from > to || to - from >= MOST_BOXES {
                    return None;
                }
                found.extend(from..=to);
            }
            None if ["box", "boxes", "and", "&", "+"].contains(&word) => {}
            None => found.push(word.parse().ok()?),
        }
    }
    found.dedup();
    (!found.is_empty()).then_some(found)
}

impl Draft<'_> {
    /// Boxes go straight through to a buyer, all that are named or none.
    pub(super) fn through(&mut self, said: &Through) -> Result<Done, Stop> {
        self.require(Power::Ship)?;
        let buyer = self.buyer_named(&said.buyer)?;
        let ship = |number: u32| {
            let at = Place::Box { number };
            Said::from(Act::Ship { at, count: None, buyer: Some(buyer.clone()), fix: false })
        };
        let mark = self.mark();
        let mut opened = Vec::new();
        let boxes = match &said.boxes {
            Some(numbers) => {
                let mut boxes = Vec::new();
                for (at, number) in numbers.iter().enumerate() {
                    let act = ship(*number);
                    let found = self.meet_unlisted(&act).and_then(|()| self.find_box(*number, &act));
                    match found {
                        Ok(of) => boxes.push(of),
                        Err(stop) => {
                            let all = numbers[at..].iter().chain(&numbers[..at]).map(|number| ship(*number)).collect();
                            self.back_to(&mark);
                            return Err(with_acts(stop, all));
                        }
                    }
                }
                boxes
            }
            None => {
                let no = self.consignment_to_pass(said.supplier.as_deref())?;
                let all: Vec<(BoxKey, bool)> = self
                    .state
                    .boxes_of(no)
                    .filter(|(_, record)| record.standing == Standing::Expected)
                    .map(|(of, record)| (of, record.opened.is_some()))
                    .collect();
                opened = all.iter().filter(|(_, opened)| *opened).map(|(of, _)| of.number).collect();
                all.into_iter().filter(|(_, opened)| !opened).map(|(of, _)| of).collect()
            }
        };
        let mut fish = 0;
        for of in &boxes {
            match self.send_on(*of, &buyer) {
                Ok(count) => fish += count,
                Err(stop) => {
                    self.back_to(&mark);
                    return Err(stop);
                }
            }
        }
        let (Some(first), numbers) = (boxes.first(), boxes.iter().map(|of| of.number).collect::<Vec<_>>()) else {
            return Ok(Done { recorded: Some(say::through::none_to_pass()), ..Done::default() });
        };
        let listed = !boxes.iter().any(|of| self.awaits_list(*of));
        let to_go = self.state.boxes_to_go(first.consignment);
        let standing = say::through::sent_on(listed.then_some(fish), &opened, to_go);
        let recorded = say::through::boxes_to(&numbers, &buyer);
        Ok(Done { recorded: Some(recorded), standing, ask: None })
    }

    /// The buyer of that name, or the only one with that word in its name.
    fn buyer_named(&self, said: &str) -> Result<String, Stop> {
        let names: Vec<String> = self.state.buyers.iter().cloned().collect();
        let lower = said.to_lowercase();
        let fits: Vec<String> = choices(&names)
            .into_iter()
            .filter(|choice| choice.words.contains(&lower))
            .map(|choice| choice.label)
            .collect();
        match fits.as_slice() {
            [one] => Ok(one.clone()),
            _ => Err(Refusal::NoSuchBuyer { name: Some(said.to_owned()) }.into()),
        }
    }

    /// Whether the buyer and, where one is named, the supplier are known here.
    pub(super) fn knows_both_ends(&self, said: &Through) -> bool {
        let supplier = said.supplier.as_deref();
        let mut known = self.state.consignments.values().filter(|it| !it.supplier.is_empty());
        self.buyer_named(&said.buyer).is_ok()
            && (supplier.is_none() || known.any(|it| is_named(&it.supplier, supplier)))
    }

    /// The consignment of which all boxes are meant: the one named, else the only one with unopened boxes.
    fn consignment_to_pass(&self, supplier: Option<&str>) -> Result<ConsignmentNo, Stop> {
        let has_unopened = |no: ConsignmentNo| {
            self.state.boxes_of(no).any(|(_, record)| record.opened.is_none() && record.standing == Standing::Expected)
        };
        let open: Vec<ConsignmentNo> = self
            .state
            .open_consignments()
            .filter(|(no, it)| is_named(&it.supplier, supplier) && has_unopened(*no))
            .map(|(no, _)| no)
            .collect();
        match open.as_slice() {
            [one] => Ok(*one),
            [] => Err(Refusal::NothingToPassOn.into()),
            several => {
                if let Some(carried) = self.consignment.filter(|no| several.contains(no)) {
                    return Ok(carried);
                }
                let suppliers: Vec<String> = several.iter().map(|no| self.supplier(*no)).collect();
                let matter = Matter::WhichConsignment { acts: Vec::new(), among: several.to_vec() };
                Err(Query::choice(say::through::whose(&suppliers), matter, choices(&suppliers)).into())
            }
        }
    }

    /// A box that leaves as it came: its fish are passed on, presumed as listed.
    pub(super) fn pass_on(&mut self, of: BoxKey, buyer: &str) -> Result<Done, Stop> {
        let count = self.send_on(of, buyer)?;
        let to_go = self.state.boxes_to_go(of.consignment);
        let standing = if self.awaits_list(of) {
            say::through::unlisted_sent_on(buyer)
        } else {
            say::standing::passed_on(count, buyer, to_go)
        };
        Ok(Done::standing(standing))
    }

    fn send_on(&mut self, of: BoxKey, buyer: &str) -> Result<u32, Stop> {
        self.must_be_here(of)?;
        let Some(mut record) = self.state.boxes.get(&of).cloned() else {
            return Err(Refusal::NoSuchBox { number: of.number }.into());
        };
        if record.opened.is_some() {
            return Err(Refusal::AlreadyOpened { number: of.number }.into());
        }
        let fish: Vec<_> = self.state.left_in_box(of).into_iter().collect();
        let mut count = 0;
        for ((pack, line), held) in fish {
            count += held.total();
            let to = Account::PassedOn(of);
            self.transfer_some(line, &Account::Packed(pack), &to, held.total(), Certainty::Presumed);
        }
        record.standing = Standing::PassedOn(buyer.to_owned());
        self.emit(Event::BoxSet { key: of, to: Some(record) });
        let lot: Option<LotNo> = None;
        let what = Logged::Shipped { lot, through: Some(of), count, buyer: buyer.to_owned() };
        self.log(Spot::Pack(of.loose()), self.said_at, what);
        self.finish_consignment(of, self.said_at);
        self.passed.push((News::OnTheWay, of));
        Ok(count)
    }

    /// Tells buyers of the boxes that went to them unopened in this frame, or of which the list came: each in its own
    /// chat, all boxes in one message.
    pub(super) fn tell_of_passed(&mut self) {
        let passed = std::mem::take(&mut self.passed);
        for news in [News::OnTheWay, News::Listed, News::Corrected] {
            let mut by_buyer: BTreeMap<String, Vec<BoxKey>> = BTreeMap::new();
            for (_, of) in passed.iter().filter(|(other, _)| *other == news) {
                if let Some(buyer) = self.passed_to(*of) {
                    let boxes = by_buyer.entry(buyer).or_default();
                    if !boxes.contains(of) {
                        boxes.push(*of);
                    }
                }
            }
            for (buyer, boxes) in by_buyer {
                let body = self.passed_in_words(news, &boxes);
                self.tell_buyer(&buyer, body);
            }
        }
    }

    fn passed_in_words(&self, news: News, boxes: &[BoxKey]) -> String {
        let mut told = Vec::new();
        let mut cautions: Vec<String> = Vec::new();
        for of in boxes {
            told.push((of.number, self.contents_in_words(*of)));
            for line in self.lines_of_box(*of) {
                let key = self.key(*of, line);
                let Some(species) = self.known_species(key) else { continue };
                let name = self.state.species(key);
                cautions.extend(
                    species
                        .harms_people()
                        .map(|caution| say::caution::species(&name, caution.caution, self.settings.temperature)),
                );
            }
        }
        cautions.sort();
        cautions.dedup();
        match news {
            News::OnTheWay => say::through::on_the_way(&told, &cautions),
            News::Listed => say::through::list_came(&told, &cautions),
            News::Corrected => say::through::list_corrected(&told, &cautions),
        }
    }

    /// Buyers that were told of unopened boxes are told that these are not on the way, or that their list was taken back.
    pub(super) fn correct_passed(&mut self, passed: &[(u32, String)], is_list: bool) {
        let mut by_buyer: BTreeMap<&str, Vec<u32>> = BTreeMap::new();
        for (number, buyer) in passed {
            by_buyer.entry(buyer).or_default().push(*number);
        }
        for (buyer, numbers) in by_buyer {
            let body =
                if is_list { say::through::list_taken_back(&numbers) } else { say::through::not_on_the_way(&numbers) };
            self.tell_buyer(buyer, body);
        }
    }
}

/// Whether a supplier is meant by words of its name, or by none.
fn is_named(supplier: &str, said: Option<&str>) -> bool {
    let known = supplier.to_lowercase();
    said.is_none_or(|said| {
        said.to_lowercase().split_whitespace().all(|word| known.split_whitespace().any(|other| other == word))
    })
}

/// A question about one box of several is answered for all of them.
fn with_acts(stop: Stop, all: Vec<Said>) -> Stop {
    match stop {
        Stop::Asked(mut query) => {
            if let Some(Matter::WhichConsignment { acts, .. } | Matter::UnlistedBox { acts, .. }) = &mut query.matter {
                *acts = all;
            }
            Stop::Asked(query)
        }
        refused => refused,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn boxes_go_through_by_number_by_range_and_by_the_whole_list() {
        let boxes = |numbers: &[u32]| (Some(numbers.to_vec()), None);
        let whole = |supplier: Option<&str>| (None, supplier.map(str::to_owned));
        for (text, expected) in [
            ("12 13 14 straight thru to Reef", boxes(&[12, 13, 14])),
            ("12 straight through to Reef.", boxes(&[12])),
            ("box 12 goes straight to Reef", boxes(&[12])),
            ("boxes 12, 13 and 14 unopened to Reef", boxes(&[12, 13, 14])),
            ("12-14 passed on to Reef", boxes(&[12, 13, 14])),
            ("12 passed on unopened to Reef", boxes(&[12])),
            ("whole list straight through to Reef", whole(None)),
            ("the whole Rio Claro list straight thru to Reef", whole(Some("Rio Claro"))),
            ("all of Rio Claro unopened to Reef", whole(Some("Rio Claro"))),
            ("Rio Claro straight through to Reef", whole(Some("Rio Claro"))),
            ("everything straight through to Reef", whole(None)),
        ] {
            let found = read(text).unwrap_or_else(|| panic!("{text}"));
            assert_eq!(((found.boxes, found.supplier), found.buyer.as_str()), (expected, "Reef"), "{text}");
        }
    }

    #[test]
    fn other_messages_are_not_taken_for_it() {
        for text in [
            "12 into A3",
            "36 neon from 8 to A2",
            "A12 24 shipped to Reef & River",
            "12 straight through to Reef?",
            "bags went through to 12",
            "40 neon tetra for Reef",
            "straight through to Reef",
            "7.1 straight to A4",
        ] {
            assert_eq!(read(text), None, "{text}");
        }
    }
}
