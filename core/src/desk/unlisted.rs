//! Boxes of which no list is here: they are opened and counted all the same. What is found in them is extra until a list
//! says what was to be there.

use chrono::Duration;

use super::draft::{Done, Draft, Query, Stop};
use super::place::choices;
use super::refusal::Refusal;
use crate::consignment::{BoxKey, BoxRecord, Consignment, ConsignmentNo, Content, Line, Standing};
use crate::journal::{Event, Matter};
use crate::message::{Act, Place, Said};
use crate::people::{Power, may};
use crate::say;
use crate::species::{self, Match};

/// How long after its last box a list may still come, days.
const LIST_MAY_COME_DAYS: i64 = 3;

/// How long after the last box another box is still of the same night, hours.
const SAME_NIGHT_HOURS: i64 = 12;

/// How long a listed consignment that is done is still spoken of, hours.
const STILL_SPOKEN_OF_HOURS: i64 = 24;

impl Draft<'_> {
    /// The consignments whose list may still come, those whose supplier is known first, then the latest first.
    pub(super) fn awaiting_lists(&self) -> Vec<ConsignmentNo> {
        let mut found = self.unlisted_within(Duration::days(LIST_MAY_COME_DAYS));
        found.sort_by_key(|no| (self.is_anonymous(*no), std::cmp::Reverse(*no)));
        found
    }

    fn unlisted_within(&self, span: Duration) -> Vec<ConsignmentNo> {
        let waits = |it: &Consignment| it.unlisted && it.finished.is_none_or(|at| self.now - at < span);
        self.state.consignments.iter().filter(|(_, it)| waits(it)).map(|(no, _)| *no).collect()
    }

    /// Whether a consignment stands for boxes of which nothing but the number is known.
    pub(super) fn is_anonymous(&self, no: ConsignmentNo) -> bool {
        self.state.consignments.get(&no).is_some_and(Consignment::is_anonymous)
    }

    /// Whether nothing is listed in a box: then whatever is found in it is extra, and not asked about.
    pub(super) fn is_unlisted(&self, of: BoxKey) -> bool {
        self.state.boxes.get(&of).is_some_and(|record| record.contents.iter().all(|content| content.fish == 0))
    }

    /// Whether the list of a box is still to come.
    pub(super) fn awaits_list(&self, of: BoxKey) -> bool {
        self.state.consignments.get(&of.consignment).is_some_and(|consignment| consignment.unlisted)
    }

    /// Whether a box number is of a box without a list, or may be of one.
    pub(super) fn may_be_unlisted(&self, number: u32) -> bool {
        self.state.boxes_numbered(number).iter().all(|of| self.is_unlisted(*of))
    }

    /// Whether any box may be named now, because a consignment without a list is being opened.
    pub(super) fn takes_any_box(&self) -> bool {
        !self.unlisted_within(Duration::hours(SAME_NIGHT_HOURS)).is_empty()
    }

    /// A box that nobody listed is opened, counted or passed on: it is kept until a list comes. While every open
    /// consignment has its list a number that is on none is taken for a slip, unless somebody says that it has no list.
    pub(super) fn meet_unlisted(&mut self, said: &Said) -> Result<(), Stop> {
        let (place, power) = match &said.act {
            Act::Open { at } => (at, Power::OpenBoxes),
            Act::Count(count) => (&count.at, Power::RecordCounts),
            Act::Reading(water) => (&water.at, Power::RecordCounts),
            Act::Observe { at, .. } => (at, Power::RecordCounts),
            Act::Ship { at, buyer: Some(_), .. } => (at, Power::Ship),
            _ => return Ok(()),
        };
        let (Place::Box { number } | Place::Bag { number, .. }) = place else { return Ok(()) };
        let known: Vec<BoxKey> =
            self.state.boxes_numbered(*number).into_iter().filter(|of| !self.is_of_another_night(*of)).collect();
        let of = match known.as_slice() {
            [] if may(self.role, power) => match self.consignment_for_new_box(*number, said)? {
                Some(no) => self.add_unlisted_box(no, *number),
                None => return Ok(()),
            },
            [one] => *one,
            several => match several.iter().find(|of| Some(of.consignment) == self.consignment) {
                Some(carried) => *carried,
                None => return Ok(()),
            },
        };
        let Act::Count(count) = &said.act else { return Ok(()) };
        if !self.is_unlisted(of) || self.must_be_here(of).is_err() {
            return Ok(());
        }
        match &count.species {
            Some(name) => self.found_kind(of, place, name),
            None if self.lines_of_box(of).is_empty() => return Err(Refusal::WhichFish { at: place.clone() }.into()),
            None => {}
        }
        Ok(())
    }

    /// A box without a list that was done long ago has nothing to do with one of that number tonight.
    fn is_of_another_night(&self, of: BoxKey) -> bool {
        let it = self.state.consignments.get(&of.consignment).filter(|it| it.unlisted);
        it.and_then(|it| it.finished).is_some_and(|at| self.now - at >= Duration::hours(SAME_NIGHT_HOURS))
    }

    /// The consignment that a box on no list is of; `None` where the number may be a slip. It is asked for where several
    /// may be meant.
    fn consignment_for_new_box(&mut self, number: u32, said: &Said) -> Result<Option<ConsignmentNo>, Stop> {
        let waiting = self.unlisted_within(Duration::hours(SAME_NIGHT_HOURS));
        if let Some(carried) = self.consignment.filter(|no| waiting.contains(no)) {
            return Ok(Some(carried));
        }
        let lately = self.state.consignments.iter().any(|(no, it)| {
            *no != ConsignmentNo::HOUSE
                && !it.unlisted
                && it.finished.is_none_or(|at| self.now - at < Duration::hours(STILL_SPOKEN_OF_HOURS))
        });
        let listed_open = self.state.open_consignments().any(|(_, it)| !it.unlisted);
        let announced: Vec<ConsignmentNo> = waiting.iter().copied().filter(|no| !self.is_anonymous(*no)).collect();
        match announced.as_slice() {
            [] if lately && waiting.is_empty() => Ok(None),
            [] if !listed_open => Ok(Some(self.keep_unlisted())),
            [one] if !listed_open && waiting.len() == 1 => Ok(Some(*one)),
            _ => Err(self.whose_box(number, vec![said.clone()]).into()),
        }
    }

    fn whose_box(&self, number: u32, acts: Vec<Said>) -> Query {
        let waiting = self.unlisted_within(Duration::hours(SAME_NIGHT_HOURS));
        let open = self.state.open_consignments().map(|(no, _)| no);
        let mut among: Vec<ConsignmentNo> = open.chain(waiting).filter(|no| !self.is_anonymous(*no)).collect();
        among.sort();
        among.dedup();
        let suppliers: Vec<String> = among.iter().map(|no| self.supplier(*no)).collect();
        let mut answers = choices(&suppliers);
        answers.push(say::unlisted::no_list_choice());
        let text = say::unlisted::whose_unlisted(number, &suppliers);
        Query::choice(text, Matter::UnlistedBox { number, among, acts }, answers)
    }

    /// The consignment of tonight's boxes of which nothing is known, made where there is none.
    fn keep_unlisted(&mut self) -> ConsignmentNo {
        let tonight = self.unlisted_within(Duration::hours(SAME_NIGHT_HOURS));
        if let Some(no) = tonight.into_iter().rev().find(|no| self.is_anonymous(*no)) {
            return no;
        }
        let no = self.next_consignment();
        self.emit(Event::ConsignmentSet { no, to: Some(Consignment { unlisted: true, ..Consignment::default() }) });
        no
    }

    pub(super) fn next_consignment(&self) -> ConsignmentNo {
        ConsignmentNo(self.state.consignments.last_key_value().map_or(0, |(no, _)| no.0) + 1)
    }

    fn add_unlisted_box(&mut self, no: ConsignmentNo, number: u32) -> BoxKey {
        let of = BoxKey { consignment: no, number };
        self.emit(Event::BoxSet { key: of, to: Some(BoxRecord::default()) });
        self.finish_consignment(of, self.said_at);
        of
    }

    /// A kind of fish named in a box that nobody listed is a line of its own, of that box alone.
    fn found_kind(&mut self, of: BoxKey, place: &Place, name: &str) {
        if self.lines_of_box(of).iter().any(|line| self.is_named(self.key(of, *line), name)) {
            return;
        }
        let Some(mut consignment) = self.state.consignments.get(&of.consignment).cloned() else { return };
        let known = match species::resolve(name, None) {
            Match::One(found) => Some(found.scientific.to_owned()),
            _ => None,
        };
        consignment.lines.push(Line {
            listed_as: name.to_owned(),
            species: name.to_owned(),
            scientific: known,
            ..Line::default()
        });
        let line = u32::try_from(consignment.lines.len()).unwrap_or(u32::MAX);
        self.emit(Event::ConsignmentSet { no: of.consignment, to: Some(consignment) });
        let Some(mut record) = self.state.boxes.get(&of).cloned() else { return };
        let bag = match place {
            Place::Bag { bag, .. } => Some(*bag),
            _ => None,
        };
        record.contents.push(Content { line, bag, bags: None, fish: 0, free: 0 });
        self.emit(Event::BoxSet { key: of, to: Some(record) });
    }

    /// Somebody says that a box has no list: it belongs to one of the open consignments, or its list is to come.
    pub(super) fn box_without_list(&mut self, number: u32) -> Result<Done, Stop> {
        self.require(Power::OpenBoxes)?;
        let known = self.state.boxes_numbered(number);
        if let Some(of) = known.first().filter(|of| !self.is_of_another_night(**of)) {
            let supplier = self.supplier(of.consignment);
            return Ok(Done { recorded: Some(say::unlisted::box_is_known(number, &supplier)), ..Done::default() });
        }
        let query = self.whose_box(number, Vec::new());
        match &query.matter {
            Some(Matter::UnlistedBox { among, .. }) if !among.is_empty() => Err(query.into()),
            _ => Ok(self.settle_unlisted(number, None)),
        }
    }

    /// The box is one of a consignment whose list does not have it, or of none.
    pub(super) fn settle_unlisted(&mut self, number: u32, of: Option<ConsignmentNo>) -> Done {
        let of = of.filter(|no| self.state.consignments.contains_key(no));
        let no = of.unwrap_or_else(|| self.keep_unlisted());
        let key = BoxKey { consignment: no, number };
        if !self.state.boxes.contains_key(&key) {
            self.add_unlisted_box(no, number);
        }
        self.consignment = Some(no);
        let supplier = of.map(|no| self.supplier(no));
        let to_come = self.awaits_list(key);
        let recorded = say::unlisted::unlisted_box(number, supplier.as_deref(), to_come);
        Done { recorded: Some(recorded), ..Done::default() }
    }

    /// A consignment is announced in the chat, before its list comes. Whether boxes opened before it was named are of it
    /// is asked.
    pub(super) fn announce(&mut self, supplier: &str, boxes: Option<u32>) -> Result<Done, Stop> {
        self.require(Power::RecordArrival)?;
        let same = |it: &Consignment| is_same_supplier(&it.supplier, supplier);
        if let Some((no, _)) = self.state.open_consignments().find(|(_, it)| !it.unlisted && same(it)) {
            let recorded = say::unlisted::is_listed(&self.supplier(no), self.state.boxes_of(no).count());
            return Ok(Done { recorded: Some(recorded), ..Done::default() });
        }
        let tonight = self.unlisted_within(Duration::hours(SAME_NIGHT_HOURS));
        let named = tonight.iter().copied().find(|no| self.state.consignments.get(no).is_some_and(same));
        let anonymous = tonight.iter().copied().find(|no| self.is_anonymous(*no));
        match anonymous.filter(|_| named.is_none()) {
            Some(opened) => {
                let numbers: Vec<u32> = self.state.boxes_of(opened).map(|(of, _)| of.number).collect();
                let text = say::unlisted::are_they_of(&numbers, supplier);
                let matter = Matter::Announced { supplier: supplier.to_owned(), boxes, opened };
                Err(Query::choice(text, matter, say::question::yes_no()).into())
            }
            None => Ok(self.keep_announced(supplier, boxes, named)),
        }
    }

    /// Keeps an announced consignment, made of one that is here where it is that.
    pub(super) fn keep_announced(&mut self, supplier: &str, boxes: Option<u32>, of: Option<ConsignmentNo>) -> Done {
        let mut consignment = of.and_then(|no| self.state.consignments.get(&no).cloned()).unwrap_or_default();
        consignment.unlisted = true;
        supplier.clone_into(&mut consignment.supplier);
        consignment.announced = boxes.or(consignment.announced);
        let no = of.unwrap_or_else(|| self.next_consignment());
        self.emit(Event::ConsignmentSet { no, to: Some(consignment) });
        self.finish_consignment(BoxKey { consignment: no, number: 0 }, self.said_at);
        self.consignment = Some(no);
        let opened: Vec<u32> = self.state.boxes_of(no).map(|(of, _)| of.number).collect();
        Done { recorded: Some(say::unlisted::announced(supplier, boxes, &opened)), ..Done::default() }
    }

    /// Whether a box was passed on before its list came, and to whom.
    pub(super) fn passed_to(&self, of: BoxKey) -> Option<String> {
        match &self.state.boxes.get(&of)?.standing {
            Standing::PassedOn(buyer) => Some(buyer.clone()),
            _ => None,
        }
    }
}

/// Whether two names are of one supplier: people leave out what follows the first words.
pub(super) fn is_same_supplier(one: &str, other: &str) -> bool {
    let words = |name: &str| -> Vec<String> {
        name.to_lowercase()
            .split(|letter: char| !letter.is_alphanumeric())
            .filter(|word| !word.is_empty())
            .map(str::to_owned)
            .collect()
    };
    let (one, other) = (words(one), words(other));
    let (short, long) = if one.len() <= other.len() { (&one, &other) } else { (&other, &one) };
    !short.is_empty() && long.starts_with(short)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_supplier_is_known_by_the_first_words_of_its_name() {
        assert!(is_same_supplier("rio claro", "Rio Claro Ornamentals Ltd."));
        assert!(is_same_supplier("Rio-Claro", "rio claro"));
        assert!(!is_same_supplier("Claro", "Rio Claro"));
        assert!(!is_same_supplier("", "Rio Claro"));
    }
}
