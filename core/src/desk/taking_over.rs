//! Boxes opened before their list came become boxes of the consignment listed: their fish, censuses, lots, log entries.

use std::collections::BTreeMap;

use super::draft::Draft;
use super::reconciling::Matched;
use super::through::News;
use crate::consignment::{BagRecord, BoxKey, BoxRecord, Census, ConsignmentNo, Content, LineKey, Pack, Standing};
use crate::journal::{Entry, Event, Listing, Logged, Lot, Spot};
use crate::stock::{Account, Certainty, Purse};

impl Draft<'_> {
    /// Moves what was found before a list came into the consignment that was made of it.
    pub(super) fn reconcile_earlier(&mut self, no: ConsignmentNo, listing: &Listing) {
        let theirs = self.theirs(listing);
        let mut emptied = self.announced_as(listing);
        for from in theirs {
            emptied.push(from.consignment);
            let to = BoxKey { consignment: no, number: from.number };
            if !self.state.boxes.contains_key(&to) {
                self.emit(Event::BoxSet { key: to, to: Some(BoxRecord::default()) });
            }
            let mut lines: BTreeMap<u32, u32> = BTreeMap::new();
            for line in self.lines_found(from) {
                let number = match self.matched(from, line, listing) {
                    Matched::Kind(at) => u32::try_from(at + 1).unwrap_or(u32::MAX),
                    Matched::NotListed | Matched::Doubtful => self.add_found_line(from, line, to, &lines),
                };
                lines.insert(line, number);
            }
            self.take_over_box(from, to, &lines);
        }
        emptied.sort();
        emptied.dedup();
        for from in emptied {
            self.drop_if_empty(from, no);
        }
        self.forget_questions_of_gone_boxes();
        self.finish_consignment(BoxKey { consignment: no, number: 0 }, self.said_at);
    }

    /// Fish that the list does not have stay extra, on a line of their own.
    fn add_found_line(&mut self, from: BoxKey, line: u32, to: BoxKey, lines: &BTreeMap<u32, u32>) -> u32 {
        let mut found = self.state.line(self.key(from, line)).cloned().unwrap_or_default();
        found.instead_of = found.instead_of.and_then(|other| lines.get(&other).copied());
        let instead = found.instead_of.is_some();
        let mut consignment = self.state.consignments.get(&to.consignment).cloned().unwrap_or_default();
        consignment.lines.push(found);
        let number = u32::try_from(consignment.lines.len()).unwrap_or(u32::MAX);
        self.emit(Event::ConsignmentSet { no: to.consignment, to: Some(consignment) });
        if let Some(mut record) = self.state.boxes.get(&to).cloned().filter(|_| !instead) {
            let bag = self.packs_with(from, line).first().and_then(|pack| pack.bag);
            record.contents.push(Content { line: number, bag, bags: None, fish: 0, free: 0 });
            self.emit(Event::BoxSet { key: to, to: Some(record) });
        }
        number
    }

    /// A box becomes one of a listed consignment: its fish, censuses, lots and log entries with it.
    fn take_over_box(&mut self, from: BoxKey, to: BoxKey, lines: &BTreeMap<u32, u32>) {
        let was = self.state.boxes.get(&from).cloned().unwrap_or_default();
        // One bag counted as the whole box stands for the box where the list says that there are several.
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
        let passed = self.pass_on_as_listed(to, &was.standing);
        let entries: Vec<(u64, Entry)> = self
            .state
            .entries
            .iter()
            .filter_map(|(no, entry)| {
                Some((*no, rekeyed(entry, from, &moved, lines, to)?)).map(|(no, mut entry)| {
                    if let Logged::Shipped { count, through: Some(_), .. } = &mut entry.what {
                        *count = passed;
                    }
                    (no, entry)
                })
            })
            .collect();
        for (no, entry) in entries {
            self.emit(Event::EntrySet { no, to: Some(entry) });
        }
        self.emit(Event::BoxSet { key: from, to: None });
        if let Some(record) = self.state.boxes.get(&to).cloned() {
            let record = BoxRecord { contents: record.contents, ..was };
            self.emit(Event::BoxSet { key: to, to: Some(record) });
        }
        self.reopen_where_something_is_left(to);
        self.passed.push((News::Listed, to));
    }

    /// A box that left unopened before its list came left with what the list says. Gives how many fish.
    fn pass_on_as_listed(&mut self, of: BoxKey, standing: &Standing) -> u32 {
        if !matches!(standing, Standing::PassedOn(_)) {
            return 0;
        }
        let mut count = 0;
        for ((pack, line), held) in self.state.left_in_box(of) {
            count += held.total();
            self.transfer_some(line, &Account::Packed(pack), &Account::PassedOn(of), held.total(), Certainty::Presumed);
        }
        count
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
            let share = self.share_taken_over(pack, *number);
            let found = census.extra;
            let mut census = Census { expected: share, extra: 0, ..*census };
            // A bag fuller than its share: its sisters have fewer, as long as the line holds it.
            self.even_out(pack, *number, &mut census);
            // The presumed fish of the list are those that were found.
            let presumed = self.state.books.held(&packed, key).presumed.min(found);
            self.transfer(key, packed.presumed(), Account::Extra.counted(), presumed);
            census.extra = found - presumed;
            let mut bag = self.state.bags.get(&pack).cloned().unwrap_or_default();
            bag.census.insert(*number, census);
            self.emit(Event::BagSet { key: pack, to: Some(bag) });
        }
    }

    /// The listed fish presumed in a bag, taken into it where the list does not number it.
    fn share_taken_over(&mut self, pack: Pack, line: u32) -> u32 {
        let contents = self.state.boxes.get(&pack.of).map(|record| record.contents.clone()).unwrap_or_default();
        let here = contents.iter().filter(|it| it.line == line && (it.bag == pack.bag || pack.bag.is_none()));
        let listed_here: u32 = here.map(|content| content.fish).sum();
        if pack.bag.is_none() || listed_here > 0 {
            return listed_here;
        }
        let share = self.share_of_new_bag(pack.of, line);
        let (loose, packed) = (Account::Packed(pack.of.loose()), Account::Packed(pack));
        let absent = self.transfer_some(self.key(pack.of, line), &loose, &packed, share, Certainty::Presumed);
        share - absent
    }

    /// A consignment without a list is gone with its last box; when it arrived is when the listed one did.
    fn drop_if_empty(&mut self, no: ConsignmentNo, listed: ConsignmentNo) {
        if self.state.boxes_of(no).next().is_some() {
            self.finish_consignment(BoxKey { consignment: no, number: 0 }, self.said_at);
            return;
        }
        let Some(gone) = self.state.consignments.get(&no).cloned() else { return };
        if let Some(mut consignment) = self.state.consignments.get(&listed).cloned() {
            consignment.stages.extend(gone.stages);
            consignment.delay_min = consignment.delay_min.or(gone.delay_min);
            self.emit(Event::ConsignmentSet { no: listed, to: Some(consignment) });
        }
        let entries: Vec<(u64, Entry)> = self
            .state
            .entries
            .iter()
            .filter(|(_, entry)| entry.spot == Spot::Consignment(no))
            .map(|(at, entry)| (*at, Entry { spot: Spot::Consignment(listed), ..Entry::clone(entry) }))
            .collect();
        for (at, entry) in entries {
            self.emit(Event::EntrySet { no: at, to: Some(entry) });
        }
        self.emit(Event::ConsignmentSet { no, to: None });
        if self.consignment == Some(no) {
            self.consignment = Some(listed);
        }
    }
}

/// A log entry of the box, or of its lines, as it stands after the box has become another's.
fn rekeyed(
    entry: &Entry,
    from: BoxKey,
    moved: &dyn Fn(Pack) -> Pack,
    lines: &BTreeMap<u32, u32>,
    to: BoxKey,
) -> Option<Entry> {
    let line_of = |key: &LineKey| {
        let number = lines.get(&key.line).filter(|_| key.consignment == from.consignment)?;
        Some(LineKey { consignment: to.consignment, line: *number })
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
        Logged::Shipped { lot, through: Some(of), count, buyer } if *of == from => {
            Some(Logged::Shipped { lot: *lot, through: Some(to), count: *count, buyer: buyer.clone() })
        }
        _ => None,
    };
    (spot.is_some() || what.is_some()).then(|| Entry {
        spot: spot.unwrap_or_else(|| entry.spot.clone()),
        what: what.unwrap_or_else(|| entry.what.clone()),
        ..entry.clone()
    })
}
