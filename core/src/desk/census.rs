//! A census: what was counted in a box or bag. Every field is as last said; the books follow by the difference.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, Utc};

use super::draft::{Done, Draft, Query, Stop};
use super::place::choices;
use super::refusal::Refusal;
use crate::consignment::{BagRecord, BoxKey, Census, Line, LineKey, Pack};
use crate::journal::{Event, Matter};
use crate::message::{AllOf, Count, Place, Said};
use crate::people::Power;
use crate::say;
use crate::stock::{Account, Certainty};

impl Draft<'_> {
    /// Fish counted in a box: in its only bag, or in the box as a whole while none of its bags has been counted.
    pub(super) fn count_box(&mut self, of: BoxKey, count: &Count, act: &Said, at: DateTime<Utc>) -> Result<Done, Stop> {
        let numbered: Vec<Pack> = self.state.packs_of(of).into_iter().filter(|pack| pack.bag.is_some()).collect();
        if self.state.listed_bags(of) == 1 && numbered.len() <= 1 {
            let pack = numbered.first().copied().unwrap_or(of.bag(1));
            return self.count_bag(pack, count, act, at);
        }
        if numbered.iter().any(|pack| self.state.bags.contains_key(pack)) || self.fits_one_bag(of, count) {
            let text = say::question::which_bag(of.number, self.state.listed_bags(of));
            return Err(Query::place(text, act.clone()).into());
        }
        self.count_bag(of.loose(), count, act, at)
    }

    /// Fish counted in a bag.
    pub(super) fn count_bag(&mut self, pack: Pack, count: &Count, act: &Said, at: DateTime<Utc>) -> Result<Done, Stop> {
        self.require(Power::RecordCounts)?;
        self.open_box(pack.of, at)?;
        let given = if pack.bag.is_some() {
            self.forget_whole(pack.of)?;
            self.bag_in_use(pack, count.species.as_deref(), act, at)?
        } else {
            self.box_as_a_whole(pack, at);
            None
        };
        let line = self.line_counted(pack, count, act)?;
        let before = self.census(pack, line);
        let mut after = self.revise(before, count, pack)?;
        if self.is_unlisted(pack.of) {
            after.extra = after.told().saturating_sub(after.expected);
        } else if count.got.is_none() {
            self.even_out(pack, line, &mut after);
        }
        let mut ask = None;
        if let Some(got) = &count.got {
            self.sent_instead(pack, line, &after, count, got);
        } else {
            self.settle(pack, line, before, after)?;
            self.settle_like(
                |matter| matches!(matter, Matter::Extra { pack: of, line: other, .. } if *of == pack && *other == line),
            );
            ask = self.surplus(pack, line, &after);
        }
        // The look at a bag is answered by its box's name too.
        self.answer_pack_look(&place_of(pack), at);
        if self.census(pack, line).dead > before.dead {
            self.look_at_the_dead_again(pack, at);
        }
        let standing = self.census_in_words(pack, line, given);
        Ok(Done { recorded: None, standing, ask })
    }

    /// A box counted as a whole keeps its census in a record of its own.
    fn box_as_a_whole(&mut self, pack: Pack, at: DateTime<Utc>) {
        if self.state.bags.contains_key(&pack) {
            return;
        }
        let fish = self.state.left_in_box(pack.of);
        for (from, line) in fish.keys().filter(|(from, _)| *from != pack) {
            let count = self.state.books.held(&Account::Packed(*from), *line).total();
            self.transfer_some(*line, &Account::Packed(*from), &Account::Packed(pack), count, Certainty::Presumed);
        }
        let mut census: BTreeMap<u32, Census> = BTreeMap::new();
        for content in self.state.boxes.get(&pack.of).map(|record| record.contents.clone()).unwrap_or_default() {
            census.entry(content.line).or_default().expected += content.fish;
        }
        self.emit(Event::BagSet { key: pack, to: Some(BagRecord { opened: Some(at), census }) });
    }

    /// Whether the box was counted as a whole, its bags not told apart.
    pub(super) fn is_counted_whole(&self, of: BoxKey) -> bool {
        self.state.bags.contains_key(&of.loose())
    }

    /// A count of one bag is closer than the count of the box as a whole, which no longer stands: its fish are presumed
    /// again, in the bags where the list numbers them.
    fn forget_whole(&mut self, of: BoxKey) -> Result<(), Stop> {
        let loose = of.loose();
        let Some(record) = self.state.bags.get(&loose).cloned() else { return Ok(()) };
        for (line, census) in record.census {
            let bare = Census { expected: census.expected, culled: census.culled, ..Census::default() };
            self.settle(loose, line, census, bare)?;
            let key = self.key(of, line);
            let packed = Account::Packed(loose);
            let counted = self.state.books.held(&packed, key).counted;
            self.transfer(key, packed.clone().counted(), packed.presumed(), counted);
        }
        self.emit(Event::BagSet { key: loose, to: None });
        for content in self.state.boxes.get(&of).map(|record| record.contents.clone()).unwrap_or_default() {
            let Some(bag) = content.bag else { continue };
            let (from, to) = (Account::Packed(loose), Account::Packed(of.bag(bag)));
            self.transfer_some(self.key(of, content.line), &from, &to, content.fish, Certainty::Presumed);
        }
        self.also.push(say::standing::whole_forgotten(of.number));
        Ok(())
    }

    fn census(&self, pack: Pack, line: u32) -> Census {
        self.state.bags.get(&pack).and_then(|bag| bag.census.get(&line)).copied().unwrap_or_default()
    }

    /// Which line of the bag was counted: the only one, or the one whose fish was named.
    fn line_counted(&self, pack: Pack, count: &Count, act: &Said) -> Result<u32, Stop> {
        let lines: Vec<u32> =
            self.state.bags.get(&pack).map(|bag| bag.census.keys().copied().collect()).unwrap_or_default();
        if let Some(species) = &count.species {
            let named = lines.iter().find(|line| self.is_named(self.key(pack.of, **line), species));
            let at = Some(place_of(pack));
            return named.copied().ok_or(Refusal::NoSuchFish { at, species: species.clone() }.into());
        }
        let listed: Vec<u32> = lines
            .iter()
            .copied()
            .filter(|line| self.state.line(self.key(pack.of, *line)).is_some_and(|line| line.instead_of.is_none()))
            .collect();
        match listed.as_slice() {
            [one] => Ok(*one),
            [] => lines.first().copied().ok_or(Refusal::NoSuchBox { number: pack.of.number }.into()),
            several => {
                let among: Vec<String> =
                    several.iter().map(|line| self.line_in_words(self.key(pack.of, *line))).collect();
                let text = say::question::which_fish(&place_of(pack), &among);
                let choices = choices(&among);
                let matter = Matter::WhichLine { act: Box::new(act.clone()), among, or_undetermined: false };
                Err(Query::choice(text, matter, choices).into())
            }
        }
    }

    /// The census as it stands after what was said now. A new count of the living replaces the earlier one whole.
    fn revise(&self, before: Census, count: &Count, pack: Pack) -> Result<Census, Stop> {
        let mut after = before;
        let add = |old: u32, new: u32| if count.more { old + new } else { new };
        let counted = count.sound.is_some() || count.alive.is_some();
        if let Some(dead) = count.dead {
            after.dead = add(before.dead, dead);
        }
        if counted && !count.more {
            (after.sound, after.alive, after.weak) = (count.sound, count.alive, count.weak);
        } else {
            if let Some(sound) = count.sound {
                match after.alive.as_mut() {
                    Some(alive) => *alive += sound,
                    None => after.sound = Some(before.sound.unwrap_or(0) + sound),
                }
            }
            if let Some(alive) = count.alive {
                after.alive = Some(before.living().unwrap_or(0) + alive);
                after.sound = None;
            }
            if let Some(weak) = count.weak {
                after.weak = Some(add(before.weak.unwrap_or(0), weak));
            }
        }
        if let Some(missing) = count.missing {
            after.missing = add(before.missing, missing);
        }
        if let Some(extra) = count.extra {
            after.extra = add(before.extra, extra);
        }
        if let Some(culled) = count.culled {
            after.culled = before.culled + culled;
            if !counted {
                after.take_living(culled);
            }
        }
        if let Some(revived) = count.revived {
            if revived > after.dead {
                return Err(Refusal::FewerDead { at: place_of(pack), dead: after.dead, revived }.into());
            }
            after.dead -= revived;
            if !counted {
                after.add_living(revived);
            }
        }
        if let Some(of) = count.of.filter(|of| *of > after.room()) {
            // The speaker saw more fish than the books have: the living say how many, and the surplus is asked about.
            let living = of.saturating_sub(after.dead + after.missing + after.culled + after.wrong);
            after.alive = after.alive.or(if after.sound.is_none() { Some(living) } else { None });
        }
        let rest = after.room().saturating_sub(after.culled + after.missing + after.wrong);
        match count.all {
            Some(AllOf::Dead) => {
                after.dead = rest;
                (after.sound, after.alive, after.weak) = (None, Some(0), None);
            }
            Some(AllOf::Alive) => (after.sound, after.alive) = (None, Some(rest.saturating_sub(after.dead))),
            Some(AllOf::Weak) => {
                let living = rest.saturating_sub(after.dead);
                (after.sound, after.alive, after.weak) = (None, Some(living), Some(living));
            }
            None => {}
        }
        self.reconcile(&mut after, count, pack, counted);
        Ok(after)
    }

    /// What the new words say of the old numbers: fish found after all are no longer missing, and fish that died, or are
    /// said to be missing, since the living were counted are no longer among them.
    fn reconcile(&self, after: &mut Census, count: &Count, pack: Pack, counted: bool) {
        let over = after.told().saturating_sub(after.room());
        if counted && count.missing.is_none() {
            after.missing -= over.min(after.missing);
        } else if !counted && (count.more && count.dead.is_some() || count.missing.is_some()) {
            let here: u32 = self.state.books.total_in(&Account::Packed(pack)).total();
            after.take_living(over.min(here));
        }
    }

    /// Packers split a line unevenly over its bags: what a bag has beyond its share, its sisters in the box have fewer,
    /// as long as the line holds it. A newer count that finds fewer after all gives them back.
    pub(super) fn even_out(&mut self, pack: Pack, line: u32, census: &mut Census) {
        let key = self.key(pack.of, line);
        let packed = Account::Packed(pack);
        let over = census.told().saturating_sub(census.room());
        // Of a bag that was moved on uncounted nobody can say where the further fish are: that is asked.
        let moved_on = census.expected > 0 && self.state.books.held(&packed, key).total() == 0;
        if over > 0 && pack.bag.is_some() && !moved_on {
            let mut wanted = over;
            for sister in self.sisters(pack, line) {
                let presumed = self.state.books.held(&Account::Packed(sister), key).presumed;
                let taken = wanted.min(presumed);
                if taken == 0 {
                    continue;
                }
                self.transfer(key, Account::Packed(sister).presumed(), packed.clone().presumed(), taken);
                self.expect_fewer(sister, line, taken);
                wanted -= taken;
            }
            census.expected += over - wanted;
            census.uneven += over - wanted;
        } else if census.living().is_some() && census.uneven > 0 {
            let back = census.uneven.min(census.expected).min(census.room().saturating_sub(census.told()));
            let to = Account::Packed(pack.of.loose());
            let absent = self.transfer_some(key, &packed, &to, back, Certainty::Presumed);
            self.presume(key, &to);
            census.expected -= back - absent;
            census.uneven -= back - absent;
        }
    }

    /// Fish without a bag of their own are only believed to be there.
    fn presume(&mut self, line: LineKey, account: &Account) {
        let counted = self.state.books.held(account, line).counted;
        self.transfer(line, account.clone().counted(), account.clone().presumed(), counted);
    }

    /// The other bags of a line in its box, those first of which least is known: without a number yet, then not
    /// opened, then opened and not counted, then counted with fish still to find.
    fn sisters(&self, pack: Pack, line: u32) -> Vec<Pack> {
        let mut sisters: Vec<Pack> = self.state.packs_of(pack.of).into_iter().filter(|other| *other != pack).collect();
        sisters.sort_by_key(|other| {
            let census = self.state.bags.get(other).map(|bag| bag.census.get(&line));
            (other.bag.is_some(), census.is_some(), census.flatten().is_some_and(|census| census.living().is_some()))
        });
        sisters
    }

    /// Makes the books follow a census: the difference between what is booked for it and what it says.
    pub(super) fn settle(&mut self, pack: Pack, line: u32, before: Census, after: Census) -> Result<(), Stop> {
        let key = self.key(pack.of, line);
        let packed = Account::Packed(pack);
        let booked = |account: &Account| self.state.books.held(account, key).total();
        let new = Booked::of(&after);
        let turns = [
            (Account::Doa(pack), booked(&Account::Doa(pack)), new.dead),
            (Account::Short(pack), booked(&Account::Short(pack)), new.missing),
            (Account::Culled, before.culled, new.culled.max(before.culled)),
        ];
        self.keep_census(pack, line, after);
        if after.extra > before.extra {
            let more = after.extra - before.extra;
            self.transfer(key, Account::Extra.counted(), packed.clone().counted(), more);
        }
        for (account, was, is) in turns.iter().filter(|(_, was, is)| is < was) {
            self.transfer(key, account.clone().counted(), packed.clone().counted(), was - is);
        }
        for (account, was, is) in turns.iter().filter(|(_, was, is)| is > was) {
            let absent = self.transfer_seen(key, &packed, account, is - was);
            let absent = self.take_presumed_elsewhere(key, account, absent);
            // Dead fish were seen, wherever the books believe them: the surplus is asked about. Nobody sees the missing.
            if absent > 0 && !matches!(account, Account::Doa(_)) {
                return Err(self.not_in_pack(pack, key, is - was, absent));
            }
        }
        if after.extra < before.extra {
            let fewer = before.extra - after.extra;
            let absent = self.transfer_some(key, &packed, &Account::Extra, fewer, Certainty::Counted);
            if absent > 0 {
                return Err(self.not_in_pack(pack, key, fewer, absent));
            }
        }
        self.mark_counted(key, pack, &after);
        Ok(())
    }

    fn not_in_pack(&self, pack: Pack, key: LineKey, asked: u32, absent: u32) -> Stop {
        let species = Some(self.line_in_words(key));
        Refusal::NotThere { at: place_of(pack), species, there: asked - absent, asked, promised: 0 }.into()
    }

    fn keep_census(&mut self, pack: Pack, line: u32, census: Census) {
        let mut bag = self.state.bags.get(&pack).cloned().unwrap_or_default();
        bag.census.insert(line, census);
        self.emit(Event::BagSet { key: pack, to: Some(bag) });
    }

    /// Fish moved on before they were counted are only presumed where they went: a census takes its dead from there.
    /// Returns how many could not be taken.
    fn take_presumed_elsewhere(&mut self, line: LineKey, to: &Account, count: u32) -> u32 {
        let mut wanted = count;
        for (account, presumed) in self.presumed_elsewhere(line) {
            let taken = wanted.min(presumed);
            self.transfer(line, account.presumed(), to.clone().counted(), taken);
            wanted -= taken;
        }
        wanted
    }

    pub(super) fn presumed_elsewhere(&self, line: LineKey) -> Vec<(Account, u32)> {
        self.state
            .books
            .all()
            .filter(|(purse, of, balance)| {
                *of == line
                    && *balance > 0
                    && purse.certainty == Certainty::Presumed
                    && matches!(purse.account, Account::Tray(_) | Account::Held(_))
            })
            .map(|(purse, _, balance)| (purse.account.clone(), u32::try_from(balance).unwrap_or(0)))
            .collect()
    }

    /// Living fish that were counted are counted wherever they are; what the census leaves open stays presumed.
    fn mark_counted(&mut self, line: LineKey, pack: Pack, census: &Census) {
        let Some(living) = census.living() else { return };
        let packed = Account::Packed(pack);
        let open = census.room().saturating_sub(census.told());
        let here = self.state.books.held(&packed, line);
        let presumed = open.min(here.total());
        if here.presumed > presumed {
            self.transfer(line, packed.clone().presumed(), packed.clone().counted(), here.presumed - presumed);
        } else {
            let back = (presumed - here.presumed).min(here.counted);
            self.transfer(line, packed.clone().counted(), packed.clone().presumed(), back);
        }
        let counted_here = self.state.books.held(&packed, line).counted;
        let mut elsewhere = living.saturating_sub(counted_here);
        if here.total() == 0 {
            for (account, presumed) in self.presumed_elsewhere(line) {
                let taken = elsewhere.min(presumed);
                self.transfer(line, account.clone().presumed(), account.counted(), taken);
                elsewhere -= taken;
            }
        }
    }

    /// More fish seen than the books have: the surplus is asked about, never refused.
    fn surplus(&self, pack: Pack, line: u32, census: &Census) -> Option<Query> {
        let dead = self.state.books.held(&Account::Doa(pack), self.key(pack.of, line)).total();
        let unbooked = Booked::of(census).dead.saturating_sub(dead);
        let over = Some(census.told().saturating_sub(census.room()).max(unbooked)).filter(|over| *over > 0)?;
        let text = say::question::extra(&say::place::pack(pack, None), census.told(), census.room(), over);
        Some(Query::choice(text, Matter::Extra { pack, line, count: over }, say::question::yes_no()))
    }

    /// Something else was sent: the listed fish are wrong, and what came is a line of its own, found beyond the list.
    fn sent_instead(&mut self, pack: Pack, line: u32, census: &Census, count: &Count, got: &str) {
        let key = self.key(pack.of, line);
        let packed = Account::Packed(pack);
        let came = count.alive.or(count.sound).unwrap_or(0) + count.dead.unwrap_or(0);
        let there = self.state.books.held(&packed, key).total();
        let wrong = came.min(there);
        self.transfer_seen(key, &packed, &Account::Wrong(pack), wrong);
        let mut listed = Census { wrong: census.wrong + wrong, ..Census::default() };
        (listed.expected, listed.uneven) = (census.expected, census.uneven);
        self.keep_census(pack, line, listed);
        let got = self.known_name(got);
        let new = self.line_for(pack, line, &got);
        let new_key = self.key(pack.of, new);
        self.transfer(new_key, Account::Extra.counted(), packed.clone().counted(), came);
        let dead = count.dead.unwrap_or(0);
        self.transfer_seen(new_key, &packed, &Account::Doa(pack), dead);
        let fresh = Census { alive: Some(came - dead), weak: count.weak, dead, extra: came, ..Census::default() };
        self.keep_census(pack, new, fresh);
    }

    /// What the house calls a fish named in passing: a known species' name where only one fits.
    fn known_name(&self, said: &str) -> String {
        let said = said.to_lowercase();
        let word = |word: &str| word.trim_end_matches('s').to_owned();
        let has_word =
            |name: &str| name.split(' ').any(|known| word(known) == word(&said)) || word(name) == word(&said);
        let house: BTreeSet<&String> = self
            .state
            .consignments
            .values()
            .flat_map(|consignment| consignment.lines.iter().map(|line| &line.species))
            .filter(|name| has_word(name))
            .collect();
        let known = crate::species::named(&said);
        match (house.len(), house.first(), known.as_slice()) {
            (1, Some(one), _) => (*one).clone(),
            (_, _, [one]) => one.name().to_owned(),
            _ => said,
        }
    }

    /// The line of fish that came instead of another, made where there is none.
    fn line_for(&mut self, pack: Pack, instead_of: u32, got: &str) -> u32 {
        let mut consignment = self.state.consignments.get(&pack.of.consignment).cloned().unwrap_or_default();
        let found = consignment
            .lines
            .iter()
            .position(|line| line.instead_of == Some(instead_of) && line.species == got)
            .map(|index| u32::try_from(index + 1).unwrap_or(u32::MAX));
        if let Some(found) = found {
            return found;
        }
        let size = self.state.line(self.key(pack.of, instead_of)).and_then(|line| line.size.clone());
        consignment.lines.push(Line {
            listed_as: got.to_owned(),
            species: got.to_owned(),
            kind: crate::species::kind_of(got, None, None).unwrap_or_default(),
            size,
            instead_of: Some(instead_of),
            ..Line::default()
        });
        let number = u32::try_from(consignment.lines.len()).unwrap_or(u32::MAX);
        self.emit(Event::ConsignmentSet { no: pack.of.consignment, to: Some(consignment) });
        number
    }

    /// Books fish found beyond the list, after the person said so.
    pub(super) fn book_extra(&mut self, pack: Pack, line: u32, count: u32) -> Result<String, Stop> {
        let before = self.census(pack, line);
        let after = Census { extra: before.extra + count, ..before };
        self.settle(pack, line, before, after)?;
        Ok(self.census_in_words(pack, line, None))
    }

    fn census_in_words(&self, pack: Pack, line: u32, given: Option<u32>) -> String {
        let key = self.key(pack.of, line);
        let census = self.census(pack, line);
        let lines = self.lines_of_box(pack.of).len();
        if self.is_unlisted(pack.of) && census.missing + census.culled + census.wrong == 0 {
            let species = (lines > 1).then(|| self.line_in_words(key));
            let found = say::unlisted::found(species.as_deref(), census.told(), census.dead, self.awaits_list(pack.of));
            let pen = given.map(|_| say::standing::pen(&say::place::pack(pack, None))).unwrap_or_default();
            return say::join(&[&found, &pen]);
        }
        say::standing::census(&say::standing::CensusLine {
            species: (lines > 1).then(|| self.line_in_words(key)),
            census,
            left: self.state.books.held(&Account::Packed(pack), key),
            pen: given.map(|_| say::place::pack(pack, None)),
            other: self
                .state
                .bags
                .get(&pack)
                .into_iter()
                .flat_map(|bag| bag.census.iter())
                .filter(|(other, _)| {
                    self.state.line(self.key(pack.of, **other)).is_some_and(|l| l.instead_of == Some(line))
                })
                .map(|(other, census)| (self.line_in_words(self.key(pack.of, *other)), census.extra))
                .collect(),
        })
    }
}

/// What of a census is booked: never more than the bag has room for; the surplus waits for its answer.
struct Booked {
    dead: u32,
    missing: u32,
    culled: u32,
}

impl Booked {
    fn of(census: &Census) -> Self {
        let room = census.room() - census.wrong.min(census.room());
        let dead = census.dead.min(room);
        let culled = census.culled.min(room - dead);
        let missing = census.missing.min(room - dead - culled);
        Booked { dead, missing, culled }
    }
}

/// The place that a pack is.
pub(super) fn place_of(pack: Pack) -> Place {
    match pack.bag {
        Some(bag) => Place::Bag { number: pack.of.number, bag },
        None => Place::Box { number: pack.of.number },
    }
}
