//! A corrected list: what it changes, and the books made to follow. What was counted stays counted; only what was listed,
//! and so what is short or extra, becomes another.

use std::collections::{BTreeMap, BTreeSet};

use super::draft::{Done, Draft, Stop};
use super::importing::{boxes_of, contents_of, kinds_of};
use super::through::News;
use crate::consignment::{
    BoxKey, BoxRecord, Census, Consignment, ConsignmentNo, Content, Line, ListLine, Pack, PackingList, Standing,
};
use crate::journal::{Event, Matter};
use crate::say;
use crate::say::import::Change;
use crate::stock::{Account, Purse};

/// What a list makes of a consignment.
pub(super) struct Plan {
    /// Which consignment.
    no: ConsignmentNo,
    /// The consignment as it will be.
    pub(super) after: Consignment,
    /// The boxes of the list.
    boxes: BTreeMap<u32, Vec<Content>>,
    /// Names that fit several fish.
    doubts: Vec<String>,
    /// What differs, in the order of the boxes.
    pub changes: Vec<Change>,
}

impl Draft<'_> {
    /// What a list changes in a consignment. `gone` are boxes about which was decided whether they stay as listed.
    pub(super) fn relisting(&self, no: ConsignmentNo, list: &PackingList, gone: &[(u32, bool)]) -> Plan {
        let mut after = self.state.consignments.get(&no).cloned().unwrap_or_default();
        let kinds = kinds_of(list);
        let mut doubts = Vec::new();
        let mut changes = Vec::new();
        let (numbers, prices) = self.lines_of_kinds(&mut after, &kinds, &mut doubts);
        if prices > 0 {
            changes.push(Change::Prices(prices));
        }
        papers(&mut after, list, &mut changes);
        let boxes: BTreeMap<u32, Vec<Content>> =
            boxes_of(list).into_iter().map(|(number, rows)| (number, contents_of(&rows, &kinds, &numbers))).collect();
        let known: BTreeSet<u32> = self.state.boxes_of(no).map(|(key, _)| key.number).collect();
        for number in known.iter().chain(boxes.keys()).copied().collect::<BTreeSet<u32>>() {
            let was = self.state.boxes.get(&BoxKey { consignment: no, number });
            match (was, boxes.get(&number)) {
                (Some(record), Some(contents)) => differences(&after, number, &record.contents, contents, &mut changes),
                (Some(record), None) if record.contents.iter().any(|content| content.fish > 0) => {
                    let kept = gone.iter().any(|(of, kept)| *of == number && *kept);
                    changes.push(Change::Gone { number, kept });
                }
                (None, Some(contents)) => {
                    changes.push(Change::New { number, fish: contents.iter().map(|content| content.fish).sum() });
                }
                _ => {}
            }
        }
        Plan { no, after, boxes, doubts, changes }
    }

    /// The line of each kind of fish on a list: that of the same name, size and price, else one whose size or price is
    /// new, else a new one. Gives also how many prices are new.
    fn lines_of_kinds(
        &self,
        after: &mut Consignment,
        kinds: &[ListLine],
        doubts: &mut Vec<String>,
    ) -> (Vec<u32>, usize) {
        let mut taken: BTreeSet<usize> = BTreeSet::new();
        let mut numbers: Vec<Option<usize>> = vec![None; kinds.len()];
        let mut prices = 0;
        type Same = fn(&Line, &ListLine) -> bool;
        let named: Same = |line, kind| line.listed_as == kind.species && line.instead_of.is_none();
        let exact: Same = |line, kind| line.size == kind.size && line.unit_price == kind.unit_price;
        let sized: Same = |line, kind| line.size == kind.size;
        let any: Same = |_, _| true;
        for same in [exact, sized, any] {
            for (at, kind) in kinds.iter().enumerate().filter(|(at, _)| numbers[*at].is_none()).collect::<Vec<_>>() {
                let found = (0..after.lines.len()).find(|line| {
                    !taken.contains(line) && named(&after.lines[*line], kind) && same(&after.lines[*line], kind)
                });
                let Some(found) = found else { continue };
                taken.insert(found);
                numbers[at] = Some(found);
            }
        }
        let supplier = after.supplier.clone();
        let numbers = kinds.iter().zip(numbers).map(|(kind, found)| {
            let at = found.unwrap_or_else(|| {
                after.lines.push(self.line_from(kind, &supplier, doubts));
                after.lines.len() - 1
            });
            let line = &mut after.lines[at];
            prices += usize::from(line.unit_price != kind.unit_price && kind.unit_price.is_some());
            line.unit_price = kind.unit_price.or(line.unit_price);
            line.size = kind.size.clone().or(line.size.take());
            u32::try_from(at + 1).unwrap_or(u32::MAX)
        });
        (numbers.collect(), prices)
    }

    /// An opened box that a list no longer has and about which nothing was decided, with the fish found in it.
    pub(super) fn opened_and_gone(&self, plan: &Plan, decided: &[(u32, bool)]) -> Option<(u32, u32)> {
        plan.changes.iter().find_map(|change| match change {
            Change::Gone { number, .. } if decided.iter().all(|(of, _)| of != number) => {
                let of = BoxKey { consignment: plan.no, number: *number };
                let tally = self.state.tally_box(of);
                let censuses = self.state.packs_of(of).into_iter().filter_map(|pack| self.state.bags.get(&pack));
                let told: u32 = censuses
                    .flat_map(|bag| bag.census.values())
                    .map(|census| census.living().or(census.weak).unwrap_or(0) + census.dead + census.culled)
                    .sum();
                (!self.is_untouched(of)).then_some((*number, told.max(tally.doa)))
            }
            _ => None,
        })
    }

    /// Whether a box is as it was listed: nobody opened it, and all its fish are in it.
    fn is_untouched(&self, of: BoxKey) -> bool {
        let Some(record) = self.state.boxes.get(&of) else { return false };
        let listed: u32 = record.contents.iter().map(|content| content.fish).sum();
        let held: u32 = self.state.left_in_box(of).values().map(|held| held.presumed).sum();
        record.opened.is_none()
            && matches!(record.standing, Standing::Expected | Standing::Late)
            && listed == held
            && self.state.packs_of(of).iter().all(|pack| !self.state.bags.contains_key(pack))
    }

    /// Books a corrected list.
    pub(super) fn relist(&mut self, no: ConsignmentNo, list: &PackingList, gone: &[(u32, bool)]) -> Result<Done, Stop> {
        let plan = self.relisting(no, list, gone);
        let wanting = self.short_and_extra(no);
        self.emit(Event::ConsignmentSet { no, to: Some(plan.after.clone()) });
        let known: BTreeSet<u32> = self.state.boxes_of(no).map(|(key, _)| key.number).collect();
        for number in known.iter().chain(plan.boxes.keys()).copied().collect::<BTreeSet<u32>>() {
            let of = BoxKey { consignment: no, number };
            let wanted = plan.boxes.get(&number);
            if wanted.is_none() && gone.iter().any(|(of, kept)| *of == number && *kept) {
                continue;
            }
            let before = self.contents_in_words(of);
            self.relist_box(of, wanted.map_or(&[], Vec::as_slice), wanted.is_some());
            if self.contents_in_words(of) != before {
                self.passed.push((News::Corrected, of));
            }
        }
        self.finish_consignment(BoxKey { consignment: no, number: 0 }, self.said_at);
        let now = self.short_and_extra(no);
        let changed = wanting.keys().chain(now.keys()).copied().collect::<BTreeSet<u32>>();
        let of = |found: &BTreeMap<u32, (u32, u32)>, number: u32| found.get(&number).copied().unwrap_or_default();
        let notes: Vec<String> = changed
            .into_iter()
            .filter(|number| wanting.get(number) != now.get(number))
            .map(|number| say::import::found_against_list(number, of(&wanting, number), of(&now, number)))
            .collect();
        let supplier = self.supplier(no);
        let listed =
            self.state.boxes_of(no).filter(|(_, record)| record.contents.iter().any(|content| content.fish > 0));
        let fish = self.state.tally_consignment(no).listed;
        let standing = say::import::corrected(&supplier, listed.count(), fish, &notes);
        let ask = self.next_doubt(no, &supplier, &plan.doubts);
        Ok(Done { recorded: Some(String::new()), standing, ask })
    }

    /// What is short and what is extra in the boxes of a consignment, by their numbers; boxes that balance are left out.
    fn short_and_extra(&self, no: ConsignmentNo) -> BTreeMap<u32, (u32, u32)> {
        let found = self.state.boxes_of(no).map(|(of, _)| {
            let bags = self.state.packs_of(of).into_iter().filter_map(|pack| self.state.bags.get(&pack));
            let extra = bags.flat_map(|bag| bag.census.values()).map(|census| census.extra).sum();
            (of.number, (self.state.tally_box(of).short, extra))
        });
        found.filter(|(_, found)| *found != (0, 0)).collect()
    }

    /// Makes a box what a list says of it; `on_it` is false where the list does not have it.
    fn relist_box(&mut self, of: BoxKey, contents: &[Content], on_it: bool) {
        let Some(record) = self.state.boxes.get(&of).cloned() else {
            self.emit(Event::BoxSet {
                key: of,
                to: Some(BoxRecord { contents: contents.to_vec(), ..BoxRecord::default() }),
            });
            self.fill(of, contents);
            return;
        };
        if record.contents == contents {
            return;
        }
        if self.is_untouched(of) {
            for ((pack, line), held) in self.state.left_in_box(of) {
                self.transfer(line, Account::Packed(pack).presumed(), Account::Listed.presumed(), held.presumed);
            }
            let to = on_it.then(|| BoxRecord { contents: contents.to_vec(), ..record });
            self.emit(Event::BoxSet { key: of, to });
            self.fill(of, contents);
            return;
        }
        self.relist_opened(of, record, contents);
    }

    /// Puts listed fish into a box.
    pub(super) fn fill(&mut self, of: BoxKey, contents: &[Content]) {
        for content in contents {
            let pack = content.bag.map_or_else(|| of.loose(), |bag| of.bag(bag));
            let line = self.key(of, content.line);
            self.transfer(line, Account::Listed.presumed(), Account::Packed(pack).presumed(), content.fish);
        }
    }

    /// A box that was handled keeps its bags; each line's listed fish become more or fewer.
    fn relist_opened(&mut self, of: BoxKey, mut record: BoxRecord, contents: &[Content]) {
        self.forget_questions_of(of);
        let lines: BTreeSet<u32> = record.contents.iter().chain(contents).map(|content| content.line).collect();
        let mut after: Vec<Content> = Vec::new();
        let mut changes: Vec<(u32, Option<u32>, i64)> = Vec::new();
        for line in lines {
            let of_line =
                |all: &[Content]| all.iter().filter(|content| content.line == line).cloned().collect::<Vec<_>>();
            let (was, is) = (of_line(&record.contents), of_line(contents));
            let bags = |all: &[Content]| all.iter().map(|content| content.bag).collect::<BTreeSet<_>>();
            if was.is_empty() || bags(&was) == bags(&is) {
                for content in &is {
                    let before = was.iter().find(|other| other.bag == content.bag).map_or(0, |other| other.fish);
                    changes.push((line, content.bag, i64::from(content.fish) - i64::from(before)));
                }
                after.extend(is);
            } else {
                // Other bags than those at hand: only the sum of the line is taken over.
                let sum = |all: &[Content]| all.iter().map(|content| i64::from(content.fish)).sum::<i64>();
                let mut left = sum(&is) - sum(&was);
                for mut content in was {
                    let change = left.max(-i64::from(content.fish));
                    left -= change;
                    content.fish = u32::try_from(i64::from(content.fish) + change).unwrap_or(0);
                    changes.push((line, content.bag, change));
                    after.push(content);
                }
            }
        }
        record.contents = after;
        self.emit(Event::BoxSet { key: of, to: Some(record) });
        for (line, bag, change) in changes {
            let count = u32::try_from(change.unsigned_abs()).unwrap_or(u32::MAX);
            if change > 0 {
                self.list_more(of, line, bag, count);
            } else {
                self.list_fewer(of, line, bag, count);
            }
        }
        self.reopen_where_something_is_left(of);
    }

    /// Questions whose numbers a corrected list makes untrue are asked again when the box is spoken of.
    fn forget_questions_of(&mut self, of: BoxKey) {
        let untrue: Vec<u64> = self
            .state
            .questions
            .iter()
            .filter(|(_, pending)| match &pending.matter {
                Matter::Extra { pack, .. } => pack.of == of,
                Matter::Left { of: left } => *left == of,
                _ => false,
            })
            .map(|(id, _)| *id)
            .collect();
        for id in untrue {
            self.emit(Event::QuestionSet { id, to: None });
        }
    }

    /// More fish of a line are listed in a box than before: extra ones were listed after all, the rest is to find.
    pub(super) fn list_more(&mut self, of: BoxKey, line: u32, bag: Option<u32>, count: u32) {
        let key = self.key(of, line);
        let mut left = count;
        if let Some(away) = self.away(of, bag) {
            self.transfer(key, Account::Listed.presumed(), away, left);
            return;
        }
        for pack in self.packs_of_content(of, bag) {
            let Some(census) = self.census_of(pack, line).filter(|census| census.extra > 0) else { continue };
            let listed = left.min(census.extra);
            // No fish moves: it was booked as found beyond the list, and is on the list now.
            self.transfer(key, Account::Listed.presumed(), Account::Extra.counted(), listed);
            self.put_census(
                pack,
                line,
                Census { expected: census.expected + listed, extra: census.extra - listed, ..census },
            );
            left -= listed;
        }
        if left == 0 {
            return;
        }
        let pack = self.pack_for_more(of, line, bag);
        self.transfer(key, Account::Listed.presumed(), Account::Packed(pack).presumed(), left);
        if self.state.bags.contains_key(&pack) {
            let before = self.census_of(pack, line).unwrap_or_default();
            let after = Census { expected: before.expected + left, ..before };
            // The fish are there now, so nothing that the census says can be wanting.
            let settled = self.settle(pack, line, before, after);
            debug_assert!(settled.is_ok(), "{settled:?}");
        }
    }

    /// Fewer fish of a line are listed in a box than before: those to find, short or wrong are listed no more, the rest
    /// was found beyond the list.
    pub(super) fn list_fewer(&mut self, of: BoxKey, line: u32, bag: Option<u32>, count: u32) {
        let key = self.key(of, line);
        let listed = Account::Listed.presumed();
        let packs = self.packs_of_content(of, bag);
        let mut left = count;
        if let Some(away) = self.away(of, bag) {
            left -= self.unlist(of.loose(), line, away, left, |_, _| {});
        }
        for pack in &packs {
            left -= self.unlist(*pack, line, Account::Packed(*pack).presumed(), left, |_, _| {});
        }
        for pack in &packs {
            let open =
                self.census_of(*pack, line).map_or(u32::MAX, |census| census.room().saturating_sub(census.told()));
            for (account, presumed) in self.presumed_elsewhere(key) {
                let vessel = self.vessel_of(&account);
                let most = left.min(open).min(presumed);
                left -= self.unlist(*pack, line, account.presumed(), most, |_, _| {});
                vessel.iter().for_each(|vessel| self.forget_look_of_empty(vessel));
            }
        }
        for pack in &packs {
            left -= self.unlist(*pack, line, Account::Short(*pack).counted(), left, |census, fish| {
                census.missing = census.missing.saturating_sub(fish);
            });
            left -= self.unlist(*pack, line, Account::Wrong(*pack).counted(), left, |census, fish| {
                census.wrong = census.wrong.saturating_sub(fish);
            });
        }
        // What is left was found. No fish moves, but it was not listed.
        self.transfer(key, Account::Extra.counted(), listed, left);
        for pack in &packs {
            let Some(census) = self.census_of(*pack, line) else { continue };
            let extra = left.min(census.expected);
            self.put_census(
                *pack,
                line,
                Census { expected: census.expected - extra, extra: census.extra + extra, ..census },
            );
            left -= extra;
        }
    }

    /// Takes up to so many fish of a purse off the list; says how many.
    fn unlist(&mut self, pack: Pack, line: u32, from: Purse, most: u32, change: impl Fn(&mut Census, u32)) -> u32 {
        let key = self.key(pack.of, line);
        let fish = most.min(u32::try_from(self.state.books.balance(&from, key)).unwrap_or(0));
        if fish == 0 {
            return 0;
        }
        self.transfer(key, from, Account::Listed.presumed(), fish);
        if let Some(mut census) = self.census_of(pack, line) {
            change(&mut census, fish);
            census.expected = census.expected.saturating_sub(fish);
            self.put_census(pack, line, census);
        }
        fish
    }

    /// Where the fish of a box are that is not here.
    fn away(&self, of: BoxKey, bag: Option<u32>) -> Option<Purse> {
        match self.state.boxes.get(&of).map(|record| &record.standing) {
            Some(Standing::Lost) => Some(Account::Short(bag.map_or(of.loose(), |bag| of.bag(bag))).counted()),
            Some(Standing::PassedOn(_)) => Some(Account::PassedOn(of).presumed()),
            _ => None,
        }
    }

    /// The packs in which the fish of one content can lie: the bag itself, or what the list does not number.
    fn packs_of_content(&self, of: BoxKey, bag: Option<u32>) -> Vec<Pack> {
        if let Some(bag) = bag {
            return vec![of.bag(bag)];
        }
        let numbered: BTreeSet<u32> = self
            .state
            .boxes
            .get(&of)
            .map(|record| record.contents.iter().filter_map(|content| content.bag).collect())
            .unwrap_or_default();
        let mut packs = self.state.packs_of(of);
        packs.retain(|pack| pack.bag.is_none_or(|bag| !numbered.contains(&bag)));
        packs
    }

    /// Where fish are to be found that are listed now: in the bag, in the box while bags of it have no number, else in
    /// the last bag that has one.
    fn pack_for_more(&self, of: BoxKey, line: u32, bag: Option<u32>) -> Pack {
        if let Some(bag) = bag {
            return of.bag(bag);
        }
        if self.state.bags.contains_key(&of.loose()) || self.lines_without_number(of).contains(&line) {
            return of.loose();
        }
        let mut packs = self.packs_of_content(of, None).into_iter().rev();
        packs.find(|pack| self.census_of(*pack, line).is_some()).unwrap_or_else(|| of.loose())
    }

    fn census_of(&self, pack: Pack, line: u32) -> Option<Census> {
        self.state.bags.get(&pack).and_then(|bag| bag.census.get(&line)).copied()
    }

    fn put_census(&mut self, pack: Pack, line: u32, census: Census) {
        let mut bag = self.state.bags.get(&pack).cloned().unwrap_or_default();
        bag.census.insert(line, census);
        self.emit(Event::BagSet { key: pack, to: Some(bag) });
    }

    fn vessel_of(&self, account: &Account) -> Option<String> {
        match account {
            Account::Tray(name) => Some(name.clone()),
            Account::Held(lot) => self.state.lots.get(lot).map(|lot| lot.tank.clone()),
            _ => None,
        }
    }

    /// A finished box in which fish are to be found now is not done.
    pub(super) fn reopen_where_something_is_left(&mut self, of: BoxKey) {
        let Some(mut record) = self.state.boxes.get(&of).cloned() else { return };
        let left = self.state.left_in_box(of).values().any(|held| held.presumed > 0);
        if record.finished.is_some() && left {
            record.finished = None;
            self.emit(Event::BoxSet { key: of, to: Some(record) });
        }
    }
}

/// Takes over what the list says of its papers.
fn papers(after: &mut Consignment, list: &PackingList, changes: &mut Vec<Change>) {
    let mut take = |what: &'static str, was: &mut Option<String>, is: &Option<String>| {
        if let Some(is) = is.as_ref().filter(|is| was.as_ref() != Some(is)) {
            changes.push(Change::Paper { what, is: is.clone() });
            *was = Some(is.clone());
        }
    };
    take("AWB", &mut after.awb, &list.awb);
    take("invoice", &mut after.invoice, &list.invoice);
    take("packed", &mut after.packed_at, &list.packed_at);
    take("currency", &mut after.currency, &list.currency);
    after.gross_kg = list.gross_kg.or(after.gross_kg);
}

/// What differs in a box.
fn differences(after: &Consignment, number: u32, was: &[Content], is: &[Content], changes: &mut Vec<Change>) {
    let sum = |all: &[Content], line: u32| -> u32 {
        all.iter().filter(|content| content.line == line).map(|content| content.fish).sum()
    };
    let lines: BTreeSet<u32> = was.iter().chain(is).map(|content| content.line).collect();
    let before = changes.len();
    for line in lines {
        let (had, has) = (sum(was, line), sum(is, line));
        if had != has {
            let species = usize::try_from(line).ok().and_then(|line| after.lines.get(line.checked_sub(1)?));
            let species = species.map(|line| line.species.clone()).unwrap_or_default();
            changes.push(Change::Fish { number, species, was: had, is: has });
        }
    }
    let sorted = |all: &[Content]| {
        let mut all: Vec<_> =
            all.iter().map(|content| (content.line, content.bag, content.bags, content.fish)).collect();
        all.sort_unstable();
        all
    };
    if changes.len() == before && sorted(was) != sorted(is) {
        changes.push(Change::Bags { number });
    }
}
