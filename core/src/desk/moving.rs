//! Moving fish: out of boxes and bags into trays and tanks, and between them. A lot is born in the tank.

use chrono::{DateTime, Duration, Utc};

use super::census::place_of;
use super::draft::{Done, Draft, Query, Stop};
use super::place::{Where, choices, vessel_place};
use super::refusal::Refusal;
use super::stocktake::Group;
use crate::consignment::{BagRecord, BoxKey, LineKey, LotNo, Pack};
use crate::journal::{Event, HoldUntil, Lot, Matter};
use crate::message::{Act, Place, Said};
use crate::people::Power;
use crate::say;
use crate::stock::{Account, Certainty, Held};

/// Where fish to be moved lie: a pack, a tray, or a lot.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Source {
    Pack(Pack, LineKey),
    Group(Group),
}

impl Source {
    fn line(&self) -> LineKey {
        match self {
            Source::Pack(_, line) => *line,
            Source::Group(group) => group.line,
        }
    }
}

/// A move as said, its places as said.
pub(super) struct Moving<'a> {
    /// The destination.
    pub to: &'a Place,
    /// Where they were.
    pub from: Option<&'a Place>,
    /// How many; all where `None`.
    pub count: Option<u32>,
    /// Which fish.
    pub species: Option<&'a str>,
}

impl Draft<'_> {
    /// Fish are moved.
    pub(super) fn move_fish(&mut self, moving: &Moving, act: &Said, at: DateTime<Utc>) -> Result<Done, Stop> {
        self.require(Power::MoveFish)?;
        let mut sources = self.sources(moving, act, at)?;
        if let Some(species) = moving.species {
            sources.retain(|source| self.is_named(source.line(), species));
            if sources.is_empty() {
                return Err(Refusal::NoSuchFish { at: moving.from.cloned(), species: species.to_owned() }.into());
            }
        }
        let there: u32 = sources.iter().map(|source| self.movable(source)).sum();
        let promised: u32 = sources.iter().map(|source| self.promised(source)).sum();
        if there == 0 || moving.count.is_some_and(|count| count > there) {
            let at = moving.from.cloned().unwrap_or_else(|| moving.to.clone());
            let asked = moving.count.unwrap_or(0);
            let species = moving.species.map(str::to_owned);
            return Err(Refusal::NotThere { at, species, there, asked, promised }.into());
        }
        let lines = lines_of(&sources);
        if moving.count.is_some_and(|count| count < there) && lines.len() > 1 {
            return Err(self.which_line_moves(moving, &lines, act).into());
        }
        let to = self.find(moving.to, act)?;
        self.must_not_go_back(&sources, &to, moving.to)?;
        let mut left = moving.count.unwrap_or(there);
        let mut presumed = 0;
        let mut stopped = 0;
        for source in &sources {
            let count = left.min(self.movable(source));
            left -= count;
            if count == 0 {
                continue;
            }
            let arrival = self.arrive_at(&to, source, count, act, at)?;
            stopped += arrival.stopped;
            presumed += self.transfer_from(source, &arrival, count);
        }
        for source in &sources {
            if let Source::Group(group) = source {
                self.forget_look_of_empty(&group.vessel.clone());
            }
        }
        if let Some(vessel) = to.vessel() {
            self.plan_look(vessel, at);
        }
        let moved = moving.count.unwrap_or(there);
        let standing = self.moved_in_words(&sources, &to, moved, presumed, stopped);
        Ok(Done { recorded: Some(say::recorded::clause(&with_count(act, moved))), standing, ask: None })
    }

    /// Everything that the words "from" or the species can mean.
    fn sources(&mut self, moving: &Moving, act: &Said, at: DateTime<Utc>) -> Result<Vec<Source>, Stop> {
        let Some(from) = moving.from else {
            return self.sources_by_species(moving, act);
        };
        match self.find(from, act)? {
            Where::Box(of) => {
                self.open_box(of, at)?;
                Ok(self.packs_with_fish(of))
            }
            Where::Bag(pack) => {
                self.open_box(pack.of, at)?;
                self.bag_in_use(pack, moving.species, act, at)?;
                let lines = self.state.books.lines_in(&Account::Packed(pack));
                Ok(lines.into_keys().map(|line| Source::Pack(pack, line)).collect())
            }
            vessel => Ok(self.groups_at(&vessel).into_iter().map(Source::Group).collect()),
        }
    }

    fn packs_with_fish(&self, of: BoxKey) -> Vec<Source> {
        self.state.left_in_box(of).into_keys().map(|(pack, line)| Source::Pack(pack, line)).collect()
    }

    /// Fish named without a place: those in opened boxes and trays, if they lie in one place only.
    fn sources_by_species(&self, moving: &Moving, act: &Said) -> Result<Vec<Source>, Stop> {
        let Some(species) = moving.species else {
            return Err(Query::place(say::question::move_from(moving.to), act.clone()).into());
        };
        let mut found: Vec<Source> = Vec::new();
        for (purse, line, balance) in self.state.books.all() {
            if balance <= 0 || self.state.species(line) != species {
                continue;
            }
            let source = match &purse.account {
                Account::Packed(pack) if self.is_open(pack.of) => Source::Pack(*pack, line),
                Account::Tray(vessel) => Source::Group(Group { line, lot: None, vessel: vessel.clone() }),
                _ => continue,
            };
            if !found.contains(&source) {
                found.push(source);
            }
        }
        let mut places: Vec<Place> = found.iter().map(source_place).collect();
        places.dedup();
        let same_box = found.iter().all(|source| match (source, &found[0]) {
            (Source::Pack(one, _), Source::Pack(other, _)) => one.of == other.of,
            (one, other) => one == other,
        });
        match places.as_slice() {
            [] => Err(Refusal::NoSuchFish { at: None, species: species.to_owned() }.into()),
            _ if same_box => Ok(found),
            _ => Err(Query::place(say::question::move_from_which(species, &places), act.clone()).into()),
        }
    }

    fn is_open(&self, of: BoxKey) -> bool {
        self.state.boxes.get(&of).is_some_and(|record| record.opened.is_some() && record.finished.is_none())
    }

    fn movable(&self, source: &Source) -> u32 {
        match source {
            Source::Pack(pack, line) => self.state.books.held(&Account::Packed(*pack), *line).total(),
            Source::Group(group) => self.living_of(group) - self.promised(source),
        }
    }

    fn promised(&self, source: &Source) -> u32 {
        match source {
            Source::Group(Group { lot: Some(lot), .. }) => self.state.living(*lot).reserved,
            _ => 0,
        }
    }

    fn which_line_moves(&self, moving: &Moving, lines: &[LineKey], act: &Said) -> Query {
        let among: Vec<String> = lines.iter().map(|line| self.line_in_words(*line)).collect();
        let text = say::question::which_fish(moving.from.unwrap_or(moving.to), &among);
        let choices = choices(&among);
        Query::choice(text, Matter::WhichLine { act: Box::new(act.clone()), among, or_undetermined: false }, choices)
    }

    /// Fish go back into a bag only of their own consignment, and not to where they are.
    fn must_not_go_back(&self, sources: &[Source], to: &Where, said: &Place) -> Result<(), Stop> {
        let consignment = match to {
            Where::Bag(pack) => Some(pack.of.consignment),
            Where::Box(of) => Some(of.consignment),
            _ => None,
        };
        let foreign = |source: &Source| {
            let tank = matches!(source, Source::Group(Group { lot: Some(_), .. }));
            consignment.is_some_and(|no| tank || source.line().consignment != no)
        };
        if sources.iter().any(foreign) {
            return Err(Refusal::OtherConsignment { to: said.clone() }.into());
        }
        let same = |source: &Source| match (source, to) {
            (Source::Pack(from, _), Where::Bag(pack)) => from == pack,
            (Source::Group(group), to) => to.vessel() == Some(&group.vessel),
            _ => false,
        };
        if sources.iter().all(same) {
            return Err(Refusal::AlreadyThere { at: said.clone() }.into());
        }
        Ok(())
    }

    /// Gets the destination ready for fish of one line.
    fn arrive_at(
        &mut self,
        to: &Where,
        source: &Source,
        count: u32,
        act: &Said,
        at: DateTime<Utc>,
    ) -> Result<Arrival, Stop> {
        let line = source.line();
        match to {
            Where::Tray(vessel) => Ok(Arrival::at(Account::Tray(vessel.clone()))),
            Where::Tank(tank) | Where::Lot(_, tank) => Ok(self.lot_for(line, tank, source, count, at)),
            Where::Bag(pack) => {
                if pack.bag.is_some_and(|bag| bag <= self.state.listed_bags(pack.of)) {
                    self.bag_in_use(*pack, None, act, at)?;
                }
                self.ready_bag(*pack, line, at);
                Ok(Arrival { bag: Some(*pack), ..Arrival::at(Account::Packed(*pack)) })
            }
            Where::Box(of) if self.state.listed_bags(*of) == 1 => {
                let pack = of.bag(1);
                self.ready_bag(pack, line, at);
                Ok(Arrival { bag: Some(pack), ..Arrival::at(Account::Packed(pack)) })
            }
            Where::Box(of) => {
                Err(Query::place(say::question::which_bag(of.number, self.state.listed_bags(*of)), act.clone()).into())
            }
        }
    }

    fn ready_bag(&mut self, pack: Pack, line: LineKey, at: DateTime<Utc>) {
        let mut bag =
            self.state.bags.get(&pack).cloned().unwrap_or(BagRecord { opened: Some(at), ..BagRecord::default() });
        bag.census.entry(line.line).or_default();
        self.emit(Event::BagSet { key: pack, to: Some(bag) });
    }

    /// The lot that fish of a line join in a tank, born where there is none. New fish stop the offers of the tank.
    fn lot_for(&mut self, line: LineKey, tank: &str, source: &Source, count: u32, at: DateTime<Utc>) -> Arrival {
        let stopped = self.stop_offers(tank, source, at);
        let hold = self.hold_for(source, at);
        let found =
            self.state.lots_in(tank).into_iter().find(|(_, lot)| lot.line == line).map(|(no, lot)| (no, lot.clone()));
        let (no, lot) = match found {
            Some((no, mut lot)) => {
                lot.hold = later_hold(lot.hold, hold);
                (no, lot)
            }
            None => {
                let since = match source {
                    Source::Group(Group { lot: Some(from), .. }) => {
                        self.state.lots.get(from).map_or(at, |lot| lot.since)
                    }
                    _ => at,
                };
                let no = self.next_lot();
                (no, Lot { line, tank: tank.to_owned(), since, hold, weak: 0, price: None })
            }
        };
        let mut lot = lot;
        lot.weak += self.weak_among(source, count);
        self.emit(Event::LotSet { no, to: Some(lot) });
        Arrival { stopped, ..Arrival::at(Account::Held(no)) }
    }

    /// Cleared fish of a tank into which others come go back on hold. Returns how many.
    fn stop_offers(&mut self, tank: &str, source: &Source, at: DateTime<Utc>) -> u32 {
        let from_here = matches!(source, Source::Group(group) if group.vessel == tank);
        if from_here {
            return 0;
        }
        let lots: Vec<LotNo> = self.state.lots_in(tank).into_iter().map(|(no, _)| no).collect();
        let mut stopped = 0;
        for no in lots {
            let cleared = self.state.living(no).cleared;
            if cleared == 0 {
                continue;
            }
            self.uncleared(no, HoldUntil { until: Some(at + self.rest()), why: None });
            stopped += cleared;
        }
        stopped
    }

    /// Cleared fish of a lot go back on hold.
    pub(super) fn uncleared(&mut self, no: LotNo, hold: HoldUntil) {
        let Some(mut lot) = self.state.lots.get(&no).cloned() else { return };
        let cleared = self.state.living(no).cleared;
        self.transfer_some(lot.line, &Account::Cleared(no), &Account::Held(no), cleared, Certainty::Counted);
        lot.hold = Some(hold);
        self.emit(Event::LotSet { no, to: Some(lot) });
    }

    /// The rest that the site gives new fish.
    pub(super) fn rest(&self) -> Duration {
        crate::watch::policy::Policy::from(&self.settings.release).hold.delta()
    }

    fn hold_for(&self, source: &Source, at: DateTime<Utc>) -> Option<HoldUntil> {
        match source {
            Source::Group(Group { lot: Some(from), .. }) => self.state.lots.get(from).and_then(|lot| lot.hold.clone()),
            _ => Some(HoldUntil { until: Some(at + self.rest()), why: None }),
        }
    }

    /// Weak ones among fish that leave a source. Nobody says which go: they stay as long as as many fish stay.
    fn weak_among(&self, source: &Source, count: u32) -> u32 {
        let (there, weak) = match source {
            Source::Pack(pack, line) => {
                let census = self.state.bags.get(pack).and_then(|bag| bag.census.get(&line.line));
                let there = self.state.books.held(&Account::Packed(*pack), *line).total();
                (there, census.and_then(|census| census.weak).unwrap_or(0))
            }
            Source::Group(group) => {
                let weak = group.lot.and_then(|lot| self.state.lots.get(&lot)).map_or(0, |lot| lot.weak);
                (self.living_of(group), weak)
            }
        };
        weak.min(there).saturating_sub(there.saturating_sub(count))
    }

    /// Moves fish of one source. Returns how many of them nobody counted.
    fn transfer_from(&mut self, source: &Source, arrival: &Arrival, count: u32) -> u32 {
        let line = source.line();
        let before = self.state.books.held(&arrival.account, line);
        match source {
            Source::Pack(pack, _) => {
                let weak = self.weak_among(source, count);
                self.transfer_some(line, &Account::Packed(*pack), &arrival.account, count, Certainty::Counted);
                if let Some(to) = arrival.bag {
                    self.expect_moved(*pack, to, line.line, count, weak);
                }
            }
            Source::Group(group) => {
                let home = self.home(group);
                let weak = group.lot.map(|_| self.weak_among(source, count)).unwrap_or_default();
                let rest = self.transfer_some(line, &home, &arrival.account, count, Certainty::Counted);
                if let Some(lot) = group.lot {
                    self.transfer_some(line, &Account::Cleared(lot), &arrival.account, rest, Certainty::Counted);
                    self.fewer_weak(lot, weak);
                }
            }
        }
        let after: Held = self.state.books.held(&arrival.account, line);
        after.presumed.saturating_sub(before.presumed)
    }

    fn fewer_weak(&mut self, no: LotNo, weak: u32) {
        if weak > 0
            && let Some(mut lot) = self.state.lots.get(&no).cloned()
        {
            lot.weak = lot.weak.saturating_sub(weak);
            self.emit(Event::LotSet { no, to: Some(lot) });
        }
    }

    /// Fish moved between bags are expected, and counted, where they are now.
    fn expect_moved(&mut self, from: Pack, to: Pack, line: u32, count: u32, weak: u32) {
        if let Some(mut bag) = self.state.bags.get(&from).cloned() {
            let census = bag.census.entry(line).or_default();
            census.expected = census.expected.saturating_sub(count);
            census.alive = census.alive.map(|alive| alive.saturating_sub(count));
            census.sound = census.sound.map(|sound| sound.saturating_sub(count - weak.min(count)));
            census.weak = census.weak.map(|known| known.saturating_sub(weak));
            self.emit(Event::BagSet { key: from, to: Some(bag) });
        }
        if let Some(mut bag) = self.state.bags.get(&to).cloned() {
            let census = bag.census.entry(line).or_default();
            census.expected += count;
            let known = census.living();
            census.alive = census.alive.map(|alive| alive + count);
            census.sound = census.sound.map(|sound| sound + count - weak.min(count));
            if known.is_some() && weak > 0 {
                census.weak = Some(census.weak.unwrap_or(0) + weak);
            }
            self.emit(Event::BagSet { key: to, to: Some(bag) });
        }
    }

    fn moved_in_words(&self, sources: &[Source], to: &Where, moved: u32, presumed: u32, stopped: u32) -> String {
        let origin = sources.iter().find_map(|source| match source {
            Source::Pack(pack, _) => Some(pack.of),
            Source::Group(_) => None,
        });
        let placed = origin.map(|of| self.placed_in_words(of));
        let there = to.vessel().map(|vessel| self.vessel_in_words(vessel));
        say::standing::moved(&say::standing::MovedLine { moved, presumed, placed, there, stopped })
    }

    /// How much of a box has been placed: "36 of 40 placed, 4 DOA, balanced".
    pub(super) fn placed_in_words(&self, of: BoxKey) -> String {
        let listed: u32 =
            self.state.boxes.get(&of).map_or(0, |record| record.contents.iter().map(|content| content.fish).sum());
        let extra: u32 = self
            .state
            .packs_of(of)
            .iter()
            .filter_map(|pack| self.state.bags.get(pack))
            .flat_map(|bag| bag.census.values())
            .map(|census| census.extra)
            .sum();
        let tally = self.state.tally_box(of);
        let culled: u32 = self
            .state
            .packs_of(of)
            .iter()
            .filter_map(|pack| self.state.bags.get(pack))
            .flat_map(|bag| bag.census.values())
            .map(|census| census.culled)
            .sum();
        let gone = tally.packed + tally.doa + tally.short + tally.wrong + tally.passed_on + culled;
        say::standing::placed(&say::standing::PlacedLine {
            name: self.box_name(of),
            placed: (listed + extra).saturating_sub(gone),
            of: listed + extra,
            doa: tally.doa,
            short: tally.short,
            wrong: tally.wrong,
            culled,
            left: tally.packed,
        })
    }
}

/// Where fish arrive.
#[derive(Debug, Clone)]
struct Arrival {
    account: Account,
    bag: Option<Pack>,
    stopped: u32,
}

impl Arrival {
    fn at(account: Account) -> Self {
        Arrival { account, bag: None, stopped: 0 }
    }
}

/// The move with the number that was moved, where "all" was meant: what is read back tells how many.
fn with_count(act: &Said, moved: u32) -> Said {
    let mut said = act.clone();
    if let Act::Move { count, .. } = &mut said.act {
        *count = Some(moved);
    }
    said
}

fn lines_of(sources: &[Source]) -> Vec<LineKey> {
    let mut lines: Vec<LineKey> = sources.iter().map(Source::line).collect();
    lines.sort_unstable();
    lines.dedup();
    lines
}

fn source_place(source: &Source) -> Place {
    match source {
        Source::Pack(pack, _) => place_of(*pack),
        Source::Group(group) => vessel_place(&group.vessel),
    }
}

/// The later of two holds; one without an end is the latest of all.
pub(super) fn later_hold(one: Option<HoldUntil>, other: Option<HoldUntil>) -> Option<HoldUntil> {
    match (one, other) {
        (Some(one), Some(other)) => match (one.until, other.until) {
            (None, _) => Some(one),
            (_, None) => Some(other),
            (Some(first), Some(second)) => Some(if first >= second { one } else { other }),
        },
        (one, other) => one.or(other),
    }
}
