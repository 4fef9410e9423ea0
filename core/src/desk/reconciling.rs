//! A list that comes after boxes of it were opened: which boxes and fish it speaks of, asked one by one where that is
//! doubtful. What was counted is kept.

use std::collections::{BTreeMap, BTreeSet};

use super::draft::Draft;
use super::importing::{boxes_of, kinds_of, same_kind};
use super::place::choices;
use super::unlisted::is_same_supplier;
use crate::consignment::{BoxKey, ConsignmentNo, ListLine, Pack};
use crate::journal::{ListStage, Listing};
use crate::message::Choice;
use crate::say;
use crate::say::unlisted::{Doubt, OpenedBefore};

/// What a line found is on the list.
pub(super) enum Matched {
    /// This kind, counted from 0.
    Kind(usize),
    /// Nothing: a person said so, or the box is not on the list.
    NotListed,
    /// The names do not tell.
    Doubtful,
}

/// The listing with one of the choices about boxes opened before it taken.
pub(super) fn settled(mut listing: Listing, chosen: usize) -> Listing {
    match listing.stage.clone() {
        ListStage::Whose { of } => listing.whose.push((of, chosen == 0)),
        ListStage::Theirs { boxes } if chosen >= 2 => listing.stage = ListStage::Theirs { boxes: boxes[..1].to_vec() },
        ListStage::Theirs { boxes } => listing.theirs.extend(boxes.into_iter().map(|of| (of, chosen == 0))),
        ListStage::Match { of, line, among } => match among.get(chosen) {
            Some((kind, _)) => listing.matched.push((of.line(line), Some(*kind))),
            None if chosen == among.len() => listing.matched.push((of.line(line), None)),
            None => listing.theirs.push((of, false)),
        },
        ListStage::Doubt | ListStage::Gone { .. } | ListStage::Confirm => {}
    }
    listing
}

impl Draft<'_> {
    /// The supplier of a list: as it says, else of the announced consignment that it is of.
    pub(super) fn supplier_listed(&self, listing: &Listing) -> Option<String> {
        let announced = || listing.whose.iter().find(|(_, theirs)| *theirs).map(|(no, _)| self.supplier(*no));
        listing.list.supplier.clone().or_else(announced)
    }

    /// Whether a list can be of a consignment without one; `None` where that is to be asked.
    fn may_be_of(&self, no: ConsignmentNo, listing: &Listing) -> Option<bool> {
        let named = |no: ConsignmentNo| {
            let found = self.state.consignments.get(&no).map(|it| it.supplier.as_str()).unwrap_or_default();
            listing.list.supplier.as_deref().is_some_and(|supplier| is_same_supplier(found, supplier))
        };
        let said = listing.whose.iter().find(|(of, _)| *of == no).map(|(_, theirs)| *theirs);
        if self.is_anonymous(no) || named(no) {
            return Some(said.unwrap_or(true));
        }
        let other = self.awaiting_lists().into_iter().any(named) || listing.whose.iter().any(|(_, theirs)| *theirs);
        said.or(other.then_some(false))
    }

    /// The announced consignments whose list this is.
    pub(super) fn announced_as(&self, listing: &Listing) -> Vec<ConsignmentNo> {
        let is_it = |no: &ConsignmentNo| !self.is_anonymous(*no) && self.may_be_of(*no, listing) == Some(true);
        self.awaiting_lists().into_iter().filter(is_it).collect()
    }

    /// Boxes opened without a list that may be of this one, by number. An announced consignment's come first.
    fn earlier(&self, listing: &Listing) -> BTreeMap<u32, BoxKey> {
        let mut found = BTreeMap::new();
        for no in self.awaiting_lists().into_iter().filter(|no| self.may_be_of(*no, listing) == Some(true)) {
            for (of, _) in self.state.boxes_of(no) {
                found.entry(of.number).or_insert(of);
            }
        }
        found
    }

    /// Boxes opened without a list that are of this one.
    pub(super) fn theirs(&self, listing: &Listing) -> Vec<BoxKey> {
        let decided = |of: &BoxKey| listing.theirs.iter().find(|(other, _)| other == of).map(|(_, theirs)| *theirs);
        let boxes = boxes_of(&listing.list);
        let (on_list, others): (Vec<BoxKey>, Vec<BoxKey>) =
            self.earlier(listing).into_values().partition(|of| boxes.contains_key(&of.number));
        let sure = |of: &BoxKey| decided(of).unwrap_or(!self.is_anonymous(of.consignment));
        let mut theirs: Vec<BoxKey> = on_list.into_iter().filter(|of| decided(of).unwrap_or(true)).collect();
        theirs.extend(others.into_iter().filter(sure));
        theirs
    }

    /// Boxes of which it is doubtful whether they are of this list: those that the list does not have, and several in
    /// which nothing was found that it has.
    fn doubtful_boxes(&self, listing: &Listing) -> Vec<BoxKey> {
        let boxes = boxes_of(&listing.list);
        let open =
            |of: &BoxKey| self.is_anonymous(of.consignment) && listing.theirs.iter().all(|(decided, _)| decided != of);
        let (on_list, others): (Vec<BoxKey>, Vec<BoxKey>) =
            self.earlier(listing).into_values().filter(open).partition(|of| boxes.contains_key(&of.number));
        let found: Vec<BoxKey> = on_list.iter().copied().filter(|of| !self.lines_found(*of).is_empty()).collect();
        let fits = |of: &BoxKey| {
            self.lines_found(*of).into_iter().any(|line| matches!(self.matched(*of, line, listing), Matched::Kind(_)))
        };
        // Of a box that left unopened nothing but its number tells whose it was.
        let passed = on_list.iter().any(|of| self.passed_to(*of).is_some());
        if (found.len() > 1 || passed) && !found.iter().any(fits) {
            return on_list;
        }
        if self.theirs(listing).is_empty() { Vec::new() } else { others }
    }

    /// The next question about what was opened before a list came, if any.
    pub(super) fn next_about_earlier(&self, listing: &Listing) -> Option<(String, ListStage, Vec<Choice>)> {
        if let Some(of) = self.awaiting_lists().into_iter().find(|no| self.may_be_of(*no, listing).is_none()) {
            let text = say::unlisted::whose_list(&self.supplier(of), listing.list.supplier.as_deref());
            return Some((text, ListStage::Whose { of }, say::question::yes_no()));
        }
        let doubtful = self.doubtful_boxes(listing);
        if let Some(first) = doubtful.first() {
            // "One by one" was chosen where the stage has a single box of several.
            let single =
                matches!(&listing.stage, ListStage::Theirs { boxes } if boxes.len() == 1) && doubtful.len() > 1;
            let asked = if single { vec![*first] } else { doubtful.clone() };
            let numbers: Vec<u32> = asked.iter().map(|of| of.number).collect();
            let doubt = if !boxes_of(&listing.list).contains_key(&first.number) {
                Doubt::NotOnList
            } else if asked.iter().all(|of| self.passed_to(*of).is_some()) {
                Doubt::LeftUnopened
            } else {
                Doubt::OtherFish
            };
            let supplier = self.supplier_listed(listing);
            let text = say::unlisted::their_boxes(&numbers, doubt, supplier.as_deref());
            let choices = say::unlisted::their_choices(asked.len() > 1);
            return Some((text, ListStage::Theirs { boxes: asked }, choices));
        }
        self.theirs(listing).into_iter().find_map(|of| self.next_unmatched(of, listing))
    }

    /// The question about the next line found in a box of which the list does not tell what it is.
    fn next_unmatched(&self, of: BoxKey, listing: &Listing) -> Option<(String, ListStage, Vec<Choice>)> {
        let line = self
            .lines_found(of)
            .into_iter()
            .find(|line| matches!(self.matched(of, *line, listing), Matched::Doubtful))?;
        let rows = boxes_of(&listing.list).remove(&of.number)?;
        let among: Vec<(u32, String)> = (0..)
            .zip(kinds_of(&listing.list))
            .filter(|(_, kind)| rows.iter().any(|row| same_kind(row, kind)))
            .map(|(at, kind)| (at, self.kind_in_words(&kind, listing)))
            .collect();
        let names: Vec<String> = among.iter().map(|(_, name)| name.clone()).collect();
        let text = say::unlisted::which_listed(of.number, &self.state.species(self.key(of, line)), &names);
        let mut answers = choices(&names);
        answers.push(say::unlisted::not_listed());
        if self.is_anonymous(of.consignment) {
            answers.push(say::unlisted::another_box());
        }
        Some((text, ListStage::Match { of, line, among }, answers))
    }

    /// The kind on the list that a line found is, by name where the box has it once.
    fn kind_by_name(&self, of: BoxKey, line: u32, rows: &[ListLine], listing: &Listing) -> Option<ListLine> {
        let species = self.state.species(self.key(of, line));
        let supplier = self.supplier_listed(listing).unwrap_or_default();
        let named = rows
            .iter()
            .filter(|row| self.line_from(row, &supplier, &mut Vec::new()).species.eq_ignore_ascii_case(&species));
        let mut kinds: Vec<&ListLine> = Vec::new();
        for row in named.clone() {
            if !kinds.iter().any(|kind| same_kind(kind, row)) {
                kinds.push(row);
            }
        }
        if let [one] = kinds.as_slice() {
            return Some((*one).clone());
        }
        let bags: BTreeSet<Option<u32>> = self.packs_with(of, line).iter().map(|pack| pack.bag).collect();
        named.clone().find(|row| row.bag.is_some() && bags.contains(&row.bag)).cloned()
    }

    /// What a line found is matched to so far: as a person said, else by name.
    pub(super) fn matched(&self, of: BoxKey, line: u32, listing: &Listing) -> Matched {
        if let Some((_, kind)) = listing.matched.iter().find(|(found, _)| *found == self.key(of, line)) {
            return kind.map_or(Matched::NotListed, |at| Matched::Kind(at as usize));
        }
        let Some(rows) = boxes_of(&listing.list).remove(&of.number) else { return Matched::NotListed };
        let kind = self.kind_by_name(of, line, &rows, listing);
        let at = kind.and_then(|kind| kinds_of(&listing.list).iter().position(|other| same_kind(other, &kind)));
        at.map_or(Matched::Doubtful, Matched::Kind)
    }

    fn kind_in_words(&self, kind: &ListLine, listing: &Listing) -> String {
        let supplier = self.supplier_listed(listing).unwrap_or_default();
        let species = self.line_from(kind, &supplier, &mut Vec::new()).species;
        kind.size.as_ref().map_or(species.clone(), |size| format!("{species} {size}"))
    }

    /// The lines of fish found in a box: those named in it, and those that came instead of others.
    pub(super) fn lines_found(&self, of: BoxKey) -> Vec<u32> {
        let mut lines: BTreeSet<u32> = self.lines_of_box(of).into_iter().collect();
        for pack in self.state.packs_of(of) {
            lines.extend(self.state.bags.get(&pack).into_iter().flat_map(|bag| bag.census.keys().copied()));
        }
        lines.into_iter().collect()
    }

    pub(super) fn packs_with(&self, of: BoxKey, line: u32) -> Vec<Pack> {
        let has = |pack: &Pack| self.state.bags.get(pack).is_some_and(|bag| bag.census.contains_key(&line));
        self.state.packs_of(of).into_iter().filter(has).collect()
    }

    /// What was found before a list came, beside what it lists, and the boxes that it says nothing of.
    pub(super) fn opened_before_in_words(&self, listing: &Listing) -> Vec<String> {
        let boxes = boxes_of(&listing.list);
        let theirs = self.theirs(listing);
        let mut found = Vec::new();
        for of in &theirs {
            found.extend(self.found_in(*of, boxes.get(&of.number).map_or(&[][..], Vec::as_slice), listing));
        }
        let waiting =
            self.earlier(listing).into_values().filter(|of| !theirs.contains(of)).map(|of| of.number).collect();
        let announced = theirs.iter().find_map(|of| self.state.consignments.get(&of.consignment)?.announced);
        let announced = announced.filter(|boxes_said| *boxes_said as usize != boxes.len());
        say::unlisted::opened_before(&found, waiting, announced.map(|said| (said, boxes.len())))
    }

    fn found_in(&self, of: BoxKey, rows: &[ListLine], listing: &Listing) -> Vec<OpenedBefore> {
        let record = self.state.boxes.get(&of);
        let base = OpenedBefore {
            number: of.number,
            done: record.is_some_and(|record| record.finished.is_some()),
            passed_to: self.passed_to(of),
            on_list: !rows.is_empty(),
            ..OpenedBefore::default()
        };
        let lines = self.lines_found(of);
        if lines.is_empty() {
            let listed: u32 = rows.iter().map(|row| row.qty).sum();
            return vec![OpenedBefore { listed: Some(listed).filter(|fish| *fish > 0), ..base }];
        }
        let kinds = kinds_of(&listing.list);
        let mut found: Vec<OpenedBefore> = Vec::new();
        for line in lines {
            let key = self.key(of, line);
            let kind = match self.matched(of, line, listing) {
                Matched::Kind(at) => kinds.get(at),
                Matched::NotListed | Matched::Doubtful => None,
            };
            let of_kind: Vec<&ListLine> =
                rows.iter().filter(|row| kind.is_some_and(|kind| same_kind(row, kind))).collect();
            let bags = u32::try_from(self.packs_with(of, line).iter().filter(|pack| pack.bag.is_some()).count());
            let listed_bags: u32 = of_kind.iter().map(|row| super::importing::bags_of(row)).sum();
            let tally = self.state.tally(key);
            let listed_as = kind
                .map(|kind| self.kind_in_words(kind, listing))
                .filter(|name| !name.to_lowercase().starts_with(&self.state.species(key).to_lowercase()));
            found.push(OpenedBefore {
                species: self.state.species(key),
                listed_as,
                found: tally.extra,
                dead: tally.doa,
                listed: kind.map(|_| of_kind.iter().map(|row| row.qty).sum()),
                bags: bags.ok().filter(|bags| kind.is_some() && *bags > listed_bags).map(|bags| (bags, listed_bags)),
                ..base.clone()
            });
        }
        found
    }
}
