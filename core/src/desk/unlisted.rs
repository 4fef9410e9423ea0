//! Boxes that are opened before their list has come: what is found in them is extra until a list says what was to be there.

use std::collections::{BTreeMap, BTreeSet};

use super::draft::{Done, Draft, Query, Stop};
use super::importing::{boxes_of, kinds_of};
use super::place::choices;
use super::refusal::Refusal;
use crate::consignment::{
    BagRecord, BoxKey, BoxRecord, Census, Consignment, ConsignmentNo, Content, Line, LineKey, ListLine, Pack,
    PackingList,
};
use crate::journal::{Entry, Event, Listing, Logged, Lot, Matter, Spot};
use crate::message::{Act, Place, Said};
use crate::people::Power;
use crate::say;
use crate::say::import::OpenedBefore;
use crate::species::{self, Match};
use crate::stock::{Account, Purse};

impl Draft<'_> {
    /// The consignment under which boxes without a list are kept.
    pub(super) fn unlisted(&self) -> Option<ConsignmentNo> {
        self.state.consignments.iter().rev().find(|(_, consignment)| consignment.unlisted).map(|(no, _)| *no)
    }

    /// Whether nothing is listed in a box: then whatever is found in it is extra, and not asked about.
    pub(super) fn is_unlisted(&self, of: BoxKey) -> bool {
        self.state.boxes.get(&of).is_some_and(|record| record.contents.iter().all(|content| content.fish == 0))
    }

    /// A box that nobody listed is opened or counted: it is kept until a list comes. While a list is open a number that is
    /// not on it is taken for a slip, unless somebody says that the box has no list.
    pub(super) fn meet_unlisted(&mut self, said: &Said) -> Result<(), Stop> {
        let (place, power) = match &said.act {
            Act::Open { at } => (at, Power::OpenBoxes),
            Act::Count(count) => (&count.at, Power::RecordCounts),
            Act::Reading(water) => (&water.at, Power::RecordCounts),
            Act::Observe { at, .. } => (at, Power::RecordCounts),
            _ => return Ok(()),
        };
        let (Place::Box { number } | Place::Bag { number, .. }) = place else { return Ok(()) };
        let known = self.state.boxes_numbered(*number);
        let of = match known.as_slice() {
            [] => {
                let listed = self.state.open_consignments().any(|(_, consignment)| !consignment.unlisted);
                let lately = self.state.consignments.values().any(|consignment| {
                    !consignment.unlisted
                        && consignment.finished.is_some_and(|at| self.now - at < chrono::Duration::hours(24))
                });
                if listed || lately || !crate::people::may(self.role, power) {
                    return Ok(());
                }
                let no = self.keep_unlisted();
                self.add_unlisted_box(no, *number)
            }
            [one] => *one,
            _ => return Ok(()),
        };
        let Act::Count(count) = &said.act else { return Ok(()) };
        if !self.is_unlisted(of) {
            return Ok(());
        }
        match &count.species {
            Some(name) => self.found_kind(of, place, name),
            None if self.lines_of_box(of).is_empty() => return Err(Refusal::WhichFish { at: place.clone() }.into()),
            None => {}
        }
        Ok(())
    }

    /// The consignment without a list, made where there is none.
    fn keep_unlisted(&mut self) -> ConsignmentNo {
        if let Some(no) = self.unlisted() {
            return no;
        }
        let no = self.next_consignment();
        let supplier = say::import::no_list_yet().to_owned();
        let consignment = Consignment { supplier, unlisted: true, ..Consignment::default() };
        self.emit(Event::ConsignmentSet { no, to: Some(consignment) });
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
        record.contents.push(Content { line, bag, bags: None, fish: 0 });
        self.emit(Event::BoxSet { key: of, to: Some(record) });
    }

    /// Somebody says that a box has no list: it belongs to one of the open consignments, or its list is to come.
    pub(super) fn box_without_list(&mut self, number: u32) -> Result<Done, Stop> {
        self.require(Power::OpenBoxes)?;
        if let Some(of) = self.state.boxes_numbered(number).first() {
            let supplier = self.supplier(of.consignment);
            return Ok(Done { recorded: Some(say::import::box_is_known(number, &supplier)), ..Done::default() });
        }
        let open: Vec<ConsignmentNo> =
            self.state.open_consignments().filter(|(_, consignment)| !consignment.unlisted).map(|(no, _)| no).collect();
        if open.is_empty() {
            return Ok(self.settle_unlisted(number, None));
        }
        let suppliers: Vec<String> = open.iter().map(|no| self.supplier(*no)).collect();
        let mut answers = choices(&suppliers);
        answers.push(say::import::no_list_choice());
        let text = say::import::whose_unlisted(number, &suppliers);
        Err(Query::choice(text, Matter::UnlistedBox { number, among: open }, answers).into())
    }

    /// The box is one of a consignment whose list does not have it, or of none.
    pub(super) fn settle_unlisted(&mut self, number: u32, of: Option<ConsignmentNo>) -> Done {
        let no = of.unwrap_or_else(|| self.keep_unlisted());
        self.add_unlisted_box(no, number);
        let supplier = of.map(|no| self.supplier(no));
        Done { recorded: Some(say::import::unlisted_box(number, supplier.as_deref())), ..Done::default() }
    }

    /// The boxes of a list that were opened before it came.
    pub(super) fn opened_before(&self, list: &PackingList) -> Vec<BoxKey> {
        let Some(no) = self.unlisted() else { return Vec::new() };
        let known = boxes_of(list).into_keys().map(|number| BoxKey { consignment: no, number });
        known.filter(|of| self.state.boxes.contains_key(of)).collect()
    }

    /// The kind on the list that each line found is, by name where the box has it once; `None` where that is doubtful.
    fn kind_by_name(&self, of: BoxKey, line: u32, rows: &[ListLine], supplier: &str) -> Option<ListLine> {
        let key = self.key(of, line);
        let species = self.state.species(key);
        let bags: BTreeSet<Option<u32>> = self.packs_with(of, line).iter().map(|pack| pack.bag).collect();
        let named: Vec<&ListLine> = rows
            .iter()
            .filter(|row| self.line_from(row, supplier, &mut Vec::new()).species.eq_ignore_ascii_case(&species))
            .collect();
        match named.as_slice() {
            [] => None,
            [one] => Some((*one).clone()),
            several => {
                several.iter().find(|row| row.bag.is_some() && bags.contains(&row.bag)).map(|row| (**row).clone())
            }
        }
    }

    /// What a line found is matched to so far: as a person said, else by name.
    fn matched(&self, of: BoxKey, line: u32, listing: &Listing, rows: &[ListLine]) -> Matched {
        if let Some((_, kind)) = listing.matched.iter().find(|(found, _)| *found == line) {
            let kinds = kinds_of(&listing.list);
            return kind.and_then(|at| kinds.get(at as usize).cloned()).map_or(Matched::NotListed, Matched::Kind);
        }
        let supplier = listing.list.supplier.clone().unwrap_or_default();
        self.kind_by_name(of, line, rows, &supplier).map_or(Matched::Doubtful, Matched::Kind)
    }

    /// The next line found of which the list does not say what it is, with the kinds in its box.
    pub(super) fn next_unmatched(&self, listing: &Listing) -> Option<(u32, u32, Vec<(u32, String)>)> {
        let boxes = boxes_of(&listing.list);
        let kinds = kinds_of(&listing.list);
        let supplier = listing.list.supplier.clone().unwrap_or_default();
        self.opened_before(&listing.list).into_iter().find_map(|of| {
            let rows = boxes.get(&of.number)?;
            self.lines_of_box(of).into_iter().find_map(|line| {
                if !matches!(self.matched(of, line, listing, rows), Matched::Doubtful) {
                    return None;
                }
                let among: Vec<(u32, String)> = (0..)
                    .zip(&kinds)
                    .filter(|(_, kind)| rows.iter().any(|row| super::importing::same_kind(row, kind)))
                    .map(|(at, kind)| (at, self.kind_in_words(kind, &supplier)))
                    .collect();
                Some((of.number, line, among))
            })
        })
    }

    fn kind_in_words(&self, kind: &ListLine, supplier: &str) -> String {
        let species = self.line_from(kind, supplier, &mut Vec::new()).species;
        kind.size.as_ref().map_or(species.clone(), |size| format!("{species} {size}"))
    }

    /// What was found in boxes of a list before it came, beside what it lists.
    pub(super) fn found_before(&self, listing: &Listing) -> Vec<OpenedBefore> {
        let boxes = boxes_of(&listing.list);
        let mut lines = Vec::new();
        for of in self.opened_before(&listing.list) {
            let Some(rows) = boxes.get(&of.number) else { continue };
            if self.lines_of_box(of).is_empty() {
                lines.push(OpenedBefore { number: of.number, species: String::new(), found: 0, dead: 0, listed: None });
            }
            for line in self.lines_of_box(of) {
                let key = self.key(of, line);
                let listed = match self.matched(of, line, listing, rows) {
                    Matched::Kind(kind) => Some(
                        rows.iter()
                            .filter(|row| super::importing::same_kind(row, &kind))
                            .map(|row| row.qty)
                            .sum::<u32>(),
                    ),
                    Matched::NotListed | Matched::Doubtful => None,
                };
                let tally = self.state.tally(key);
                lines.push(OpenedBefore {
                    number: of.number,
                    species: self.state.species(key),
                    found: tally.extra,
                    dead: tally.doa,
                    listed,
                });
            }
        }
        lines
    }

    /// Moves what was found before a list came into the consignment that was made of it.
    pub(super) fn reconcile_unlisted(&mut self, no: ConsignmentNo, listing: &Listing) {
        let boxes = boxes_of(&listing.list);
        let kinds = kinds_of(&listing.list);
        for from in self.opened_before(&listing.list) {
            let Some(rows) = boxes.get(&from.number) else { continue };
            let to = BoxKey { consignment: no, number: from.number };
            let mut lines: BTreeMap<u32, u32> = BTreeMap::new();
            for line in self.lines_of_box(from) {
                let kind = match self.matched(from, line, listing, rows) {
                    Matched::Kind(kind) => kinds.iter().position(|other| super::importing::same_kind(other, &kind)),
                    Matched::NotListed | Matched::Doubtful => None,
                };
                let number = match kind {
                    Some(at) => u32::try_from(at + 1).unwrap_or(u32::MAX),
                    None => self.add_found_line(from, line, to),
                };
                lines.insert(line, number);
            }
            self.take_over_box(from, to, &lines);
        }
        self.drop_empty_unlisted(no);
    }

    /// Fish that the list does not have stay extra, on a line of their own.
    fn add_found_line(&mut self, from: BoxKey, line: u32, to: BoxKey) -> u32 {
        let found = self.state.line(self.key(from, line)).cloned().unwrap_or_default();
        let mut consignment = self.state.consignments.get(&to.consignment).cloned().unwrap_or_default();
        consignment.lines.push(found);
        let number = u32::try_from(consignment.lines.len()).unwrap_or(u32::MAX);
        self.emit(Event::ConsignmentSet { no: to.consignment, to: Some(consignment) });
        if let Some(mut record) = self.state.boxes.get(&to).cloned() {
            let bag = self.packs_with(from, line).first().and_then(|pack| pack.bag);
            record.contents.push(Content { line: number, bag, bags: None, fish: 0 });
            self.emit(Event::BoxSet { key: to, to: Some(record) });
        }
        number
    }

    fn packs_with(&self, of: BoxKey, line: u32) -> Vec<Pack> {
        let has = |pack: &Pack| self.state.bags.get(pack).is_some_and(|bag| bag.census.contains_key(&line));
        self.state.packs_of(of).into_iter().filter(has).collect()
    }

    /// A box becomes one of a listed consignment: its fish, censuses, lots and log entries with it.
    fn take_over_box(&mut self, from: BoxKey, to: BoxKey, lines: &BTreeMap<u32, u32>) {
        // One bag counted as the whole box stands for the box where the list says that there are several.
        let was = self.state.boxes.get(&from).cloned().unwrap_or_default();
        let whole = was.contents.iter().all(|content| content.bag.is_none()) && self.state.listed_bags(to) > 1;
        let moved = |pack: Pack| if whole { to.loose() } else { Pack { of: to, bag: pack.bag } };
        for (line, number) in lines {
            self.rekey_fish(self.key(from, *line), self.key(to, *number), from, &moved);
        }
        let bags: Vec<(Pack, BagRecord)> = self
            .state
            .packs_of(from)
            .into_iter()
            .filter_map(|pack| self.state.bags.get(&pack).map(|record| (pack, record.clone())))
            .collect();
        for (pack, record) in bags {
            self.emit(Event::BagSet { key: pack, to: None });
            self.take_over_bag(moved(pack), &record, lines);
        }
        let entries: Vec<(u64, Entry)> = self
            .state
            .entries
            .iter()
            .filter_map(|(no, entry)| rekeyed(entry, from, &moved, lines, to.consignment).map(|entry| (*no, entry)))
            .collect();
        for (no, entry) in entries {
            self.emit(Event::EntrySet { no, to: Some(entry) });
        }
        self.emit(Event::BoxSet { key: from, to: None });
        if let Some(record) = self.state.boxes.get(&to).cloned() {
            let record = BoxRecord { opened: was.opened, finished: was.finished, ..record };
            self.emit(Event::BoxSet { key: to, to: Some(record) });
        }
        self.reopen_where_something_is_left(to);
    }

    /// All fish of a line go to another line, each account as it is.
    fn rekey_fish(&mut self, from: LineKey, to: LineKey, of: BoxKey, moved: &dyn Fn(Pack) -> Pack) {
        let held: Vec<(Purse, u32)> = self
            .state
            .books
            .all()
            .filter(|(purse, line, balance)| *line == from && *balance > 0 && !purse.account.is_source())
            .map(|(purse, _, balance)| (purse.clone(), u32::try_from(balance).unwrap_or(0)))
            .collect();
        for (purse, fish) in held {
            let account = match &purse.account {
                Account::Packed(pack) if pack.of == of => Account::Packed(moved(*pack)),
                Account::Doa(pack) if pack.of == of => Account::Doa(moved(*pack)),
                Account::Short(pack) if pack.of == of => Account::Short(moved(*pack)),
                Account::Wrong(pack) if pack.of == of => Account::Wrong(moved(*pack)),
                other => other.clone(),
            };
            self.transfer(from, purse.clone(), Account::Extra.counted(), fish);
            self.transfer(to, Account::Extra.counted(), Purse { account, ..purse }, fish);
        }
        let lots: Vec<_> =
            self.state.lots.iter().filter(|(_, lot)| lot.line == from).map(|(no, lot)| (*no, lot.clone())).collect();
        for (no, lot) in lots {
            self.emit(Event::LotSet { no, to: Some(Lot { line: to, ..lot }) });
        }
    }

    /// The census of a bag beside what the list has in it: what was found is no more extra, as far as it is listed.
    fn take_over_bag(&mut self, pack: Pack, record: &BagRecord, lines: &BTreeMap<u32, u32>) {
        let mut bag = self.state.bags.get(&pack).cloned().unwrap_or_default();
        bag.opened = bag.opened.or(record.opened);
        self.emit(Event::BagSet { key: pack, to: Some(bag) });
        for (line, census) in &record.census {
            let Some(number) = lines.get(line) else { continue };
            let key = self.key(pack.of, *number);
            let packed = Account::Packed(pack);
            let listed_here = self.state.boxes.get(&pack.of).map_or(0, |record| {
                let here = record
                    .contents
                    .iter()
                    .filter(|it| it.line == *number && (it.bag == pack.bag || pack.bag.is_none()));
                here.map(|content| content.fish).sum::<u32>()
            });
            let share = match pack.bag {
                Some(_) if listed_here == 0 => {
                    let share = self.share_of_new_bag(pack.of, *number);
                    let loose = Account::Packed(pack.of.loose());
                    let first = crate::stock::Certainty::Presumed;
                    share - self.transfer_some(key, &loose, &packed, share, first)
                }
                _ => listed_here,
            };
            let found = census.extra;
            let known = found.min(share);
            // The presumed fish of the list are those that were found.
            let presumed = self.state.books.held(&packed, key).presumed.min(known);
            self.transfer(key, packed.presumed(), Account::Extra.counted(), presumed);
            let census = Census { expected: share, extra: found - presumed, ..*census };
            let mut bag = self.state.bags.get(&pack).cloned().unwrap_or_default();
            bag.census.insert(*number, census);
            self.emit(Event::BagSet { key: pack, to: Some(bag) });
        }
    }

    /// The consignment without a list is gone with its last box; when it arrived is when the listed one did.
    fn drop_empty_unlisted(&mut self, listed: ConsignmentNo) {
        let Some(no) = self.unlisted() else { return };
        if self.state.boxes_of(no).next().is_some() {
            self.finish_consignment(BoxKey { consignment: no, number: 0 }, self.said_at);
            return;
        }
        let stages = self.state.consignments.get(&no).map(|gone| gone.stages.clone()).unwrap_or_default();
        if let Some(mut consignment) = self.state.consignments.get(&listed).cloned()
            && consignment.stages != stages
        {
            consignment.stages.extend(stages);
            self.emit(Event::ConsignmentSet { no: listed, to: Some(consignment) });
        }
        self.emit(Event::ConsignmentSet { no, to: None });
        if self.consignment == Some(no) {
            self.consignment = Some(listed);
        }
    }
}

/// What a line found is on the list.
enum Matched {
    /// This kind.
    Kind(ListLine),
    /// Nothing: a person said so.
    NotListed,
    /// The names do not tell.
    Doubtful,
}

/// A log entry of the box, or of its lines, as it stands after the box has become another's.
fn rekeyed(
    entry: &Entry,
    from: BoxKey,
    moved: &dyn Fn(Pack) -> Pack,
    lines: &BTreeMap<u32, u32>,
    to: ConsignmentNo,
) -> Option<Entry> {
    let line_of = |key: &LineKey| {
        let number = lines.get(&key.line).filter(|_| key.consignment == from.consignment)?;
        Some(LineKey { consignment: to, line: *number })
    };
    let spot = match &entry.spot {
        Spot::Pack(pack) if pack.of == from => Some(Spot::Pack(moved(*pack))),
        _ => None,
    };
    let what = match &entry.what {
        Logged::Deaths { count, line: Some(line), lot } => {
            line_of(line).map(|line| Logged::Deaths { count: *count, line: Some(line), lot: *lot })
        }
        Logged::StockTake { living, booked, line } => {
            line_of(line).map(|line| Logged::StockTake { living: *living, booked: *booked, line })
        }
        _ => None,
    };
    (spot.is_some() || what.is_some()).then(|| Entry {
        spot: spot.unwrap_or_else(|| entry.spot.clone()),
        what: what.unwrap_or_else(|| entry.what.clone()),
        ..entry.clone()
    })
}
