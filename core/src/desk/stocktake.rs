//! Deaths found and stock-takes in trays and tanks.

use chrono::{DateTime, Utc};

use super::draft::{Done, Draft, Query, Stop};
use super::place::{Where, choices, vessel_place};
use super::refusal::Refusal;
use crate::consignment::{Consignment, ConsignmentNo, Line, LineKey, LotNo};
use crate::journal::{Event, Logged, Lot, Matter, Spot};
use crate::message::{AllOf, Count, Said};
use crate::people::Power;
use crate::say;
use crate::stock::{Account, Certainty};

/// Fish of one line in one vessel.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Group {
    /// Whose fish.
    pub line: LineKey,
    /// Their lot; `None` in a tray.
    pub lot: Option<LotNo>,
    /// The vessel's key.
    pub vessel: String,
}

impl Draft<'_> {
    /// Fish counted in a tray, tank or lot: deaths add up, living are a stock-take.
    pub(super) fn count_vessel(
        &mut self,
        at: &Where,
        count: &Count,
        act: &Said,
        when: DateTime<Utc>,
    ) -> Result<Done, Stop> {
        self.require(Power::RecordCounts)?;
        let groups = self.groups_at(at);
        let named = self.named(&groups, count.species.as_deref());
        if let Some(query) = self.beyond(&named, count, act) {
            return Err(query.into());
        }
        if let [one] = named.as_slice() {
            return self.count_group(&one.clone(), count, act, when);
        }
        let vessel = at.vessel().unwrap_or_default().to_owned();
        if named.is_empty() {
            return self.count_unbooked(&vessel, count, when);
        }
        if count.dead == Some(0) && says_only_deaths(count) {
            self.log_deaths(&vessel, None, None, 0, when);
            return Ok(Done::standing(self.vessel_in_words(&vessel)));
        }
        if count.all == Some(AllOf::Dead) {
            for group in &named {
                let all = self.living_of(group);
                self.lose(group, all, when);
            }
            self.forget_look_of_empty(&vessel);
            return Ok(Done::standing(self.vessel_in_words(&vessel)));
        }
        Err(self.which_line(&vessel, &named, act, says_only_deaths(count)).into())
    }

    /// More dead or weak than are there by the books is a slip of the finger, or fish that nobody booked. Books and
    /// buyers wait for the answer.
    pub(super) fn beyond(&self, groups: &[Group], count: &Count, act: &Said) -> Option<Query> {
        let there: u32 = groups.iter().map(|group| self.living_of(group)).sum();
        let there = there + count.extra.unwrap_or(0) + count.revived.unwrap_or(0);
        let dead = count.dead.unwrap_or(0);
        let living_said = count.alive.is_some() || count.sound.is_some();
        // Where several kinds could be weak, which fish is asked first.
        let weak = count.weak.filter(|_| !living_said && groups.len() == 1).unwrap_or(0);
        let (field, said, most) = match (dead > there, dead + weak > there) {
            (true, _) => ("dead", dead, there),
            (false, true) => ("weak", weak, there - dead),
            (false, false) => return None,
        };
        if most == 0 {
            return None;
        }
        let species = match groups {
            [one] => self.line_in_words(one.line),
            _ => say::place::FISH.to_owned(),
        };
        let more = said - most;
        let text = say::question::beyond(&count.at, &species, most, said, field);
        let choices = say::question::beyond_choices(most, field, Some(more).filter(|_| groups.len() == 1));
        let act = self.correcting.clone().unwrap_or_else(|| act.clone());
        let matter = Matter::Beyond { act: Box::new(act.clone()), dead: field == "dead", more };
        Some(Query::number_or(text, field, act, matter, choices))
    }

    /// The groups of fish at a tray, tank or lot.
    pub(super) fn groups_at(&self, at: &Where) -> Vec<Group> {
        match at {
            Where::Tray(vessel) => self
                .state
                .books
                .lines_in(&Account::Tray(vessel.clone()))
                .into_keys()
                .map(|line| Group { line, lot: None, vessel: vessel.clone() })
                .collect(),
            Where::Tank(tank) => self
                .state
                .lots_in(tank)
                .into_iter()
                .map(|(no, lot)| Group { line: lot.line, lot: Some(no), vessel: tank.clone() })
                .collect(),
            Where::Lot(no, tank) => self
                .state
                .lots
                .get(no)
                .map(|lot| Group { line: lot.line, lot: Some(*no), vessel: tank.clone() })
                .into_iter()
                .collect(),
            Where::Box(_) | Where::Bag(_) => Vec::new(),
        }
    }

    fn named(&self, groups: &[Group], species: Option<&str>) -> Vec<Group> {
        let Some(species) = species else { return groups.to_vec() };
        groups.iter().filter(|group| self.is_named(group.line, species)).cloned().collect()
    }

    fn which_line(&self, vessel: &str, groups: &[Group], act: &Said, or_undetermined: bool) -> Query {
        let among: Vec<String> = groups.iter().map(|group| self.group_in_words(group, groups)).collect();
        let text = say::question::which_fish(&vessel_place(vessel), &among);
        let mut choices: Vec<_> = choices(&among);
        if or_undetermined {
            choices.push(say::question::undetermined());
        }
        Query::choice(text, Matter::WhichLine { act: Box::new(act.clone()), among, or_undetermined }, choices)
    }

    /// The group's fish, with the lot where two lots of the vessel have the same.
    fn group_in_words(&self, group: &Group, among: &[Group]) -> String {
        let name = self.line_in_words(group.line);
        let twins = among.iter().filter(|other| self.line_in_words(other.line) == name).count();
        match group.lot {
            Some(lot) if twins > 1 => format!("lot {}", lot.0),
            _ => name,
        }
    }

    /// Living fish of a group.
    pub(super) fn living_of(&self, group: &Group) -> u32 {
        match group.lot {
            Some(lot) => self.state.living(lot).total(),
            None => self.state.books.held(&Account::Tray(group.vessel.clone()), group.line).total(),
        }
    }

    fn count_group(&mut self, group: &Group, count: &Count, act: &Said, when: DateTime<Utc>) -> Result<Done, Stop> {
        let at = vessel_place(&group.vessel);
        let mut ask = None;
        if let Some(revived) = count.revived {
            let dead = self.state.books.held(&self.grave(group), group.line).total();
            if revived > dead {
                return Err(Refusal::FewerDead { at, dead, revived }.into());
            }
            let home = self.home(group);
            self.transfer_some(group.line, &self.grave(group), &home, revived, Certainty::Counted);
        }
        if let Some(extra) = count.extra {
            self.transfer(group.line, Account::Extra.counted(), self.home(group).counted(), extra);
        }
        let booked = self.living_of(group);
        let dead = match count.all {
            Some(AllOf::Dead) => Some(booked),
            _ => count.dead,
        };
        if let Some(dead) = dead {
            let lost = dead.min(booked);
            self.lose(group, lost, when);
            if lost == 0 {
                // None died, or the books have none living there: then it is kept in the log only.
                self.log_deaths(&group.vessel, Some(group.line), group.lot, dead, when);
            }
            if dead > lost {
                self.also.push(say::standing::more_dead_than_booked(dead - lost));
            }
        }
        if let Some(culled) = count.culled {
            self.take_out(group, &Account::Culled, culled)?;
        }
        if let Some(missing) = count.missing {
            self.take_out(group, &Account::Unaccounted, missing)?;
        }
        let weak = match count.all {
            Some(AllOf::Weak) => Some(self.living_of(group)),
            _ => count.weak,
        };
        let living = count.alive.or_else(|| count.sound.map(|sound| sound + weak.unwrap_or(0)));
        if let Some(living) = living {
            self.settle_stock_questions(group);
            ask = self.stock_take(group, living, when).or(ask);
        }
        if let Some(weak) = weak {
            self.note_weak(group, weak);
        }
        if dead.is_none() && living.is_none() {
            // A number about the fish is a look, also where no account tells of it.
            self.log(Spot::Vessel(group.vessel.clone()), when, Logged::Act(act.clone()));
        }
        self.forget_look_of_empty(&group.vessel);
        Ok(Done { recorded: None, standing: self.vessel_in_words(&group.vessel), ask })
    }

    /// Living fish found against the books: fewer are asked about and then unaccounted, more are asked about and then extra.
    fn stock_take(&mut self, group: &Group, living: u32, when: DateTime<Utc>) -> Option<Query> {
        let booked = self.living_of(group);
        self.log(Spot::Vessel(group.vessel.clone()), when, Logged::StockTake { living, booked, line: group.line });
        self.count_presumed(group, living.min(booked));
        let name = self.line_in_words(group.line);
        if living < booked {
            let count = booked - living;
            let matter = Matter::Unaccounted { vessel: group.vessel.clone(), line: group.line, count };
            let text = say::question::unaccounted(&vessel_place(&group.vessel), &name, living, booked);
            return Some(Query::choice(text, matter, say::question::yes_no()));
        }
        self.surplus_in_vessel(group, living - booked)
    }

    /// A newer stock-take settles what an earlier one asked.
    fn settle_stock_questions(&mut self, group: &Group) {
        self.settle_like(|matter| match matter {
            Matter::Unaccounted { vessel, line, .. } | Matter::Surplus { vessel, line, .. } => {
                *vessel == group.vessel && *line == group.line
            }
            _ => false,
        });
    }

    fn surplus_in_vessel(&self, group: &Group, count: u32) -> Option<Query> {
        if count == 0 {
            return None;
        }
        let name = self.line_in_words(group.line);
        let matter = Matter::Surplus { vessel: group.vessel.clone(), line: group.line, count };
        let text = say::question::surplus(&vessel_place(&group.vessel), &name, count);
        Some(Query::choice(text, matter, say::question::yes_no()))
    }

    fn count_presumed(&mut self, group: &Group, living: u32) {
        let home = self.home(group);
        let held = self.state.books.held(&home, group.line);
        let others = self.living_of(group) - held.total();
        let counted = living.saturating_sub(others).saturating_sub(held.counted).min(held.presumed);
        self.transfer(group.line, home.clone().presumed(), home.counted(), counted);
    }

    /// The account of the group's fish that are not free for sale.
    pub(super) fn home(&self, group: &Group) -> Account {
        group.lot.map_or_else(|| Account::Tray(group.vessel.clone()), Account::Held)
    }

    fn grave(&self, group: &Group) -> Account {
        group.lot.map_or_else(|| Account::DaaTray(group.vessel.clone()), Account::DaaLot)
    }

    /// Books deaths of a group, from the fish on hold first, then the cleared, then the promised ones.
    pub(super) fn lose(&mut self, group: &Group, count: u32, when: DateTime<Utc>) {
        let grave = self.grave(group);
        self.remove_living(group, &grave, count);
        if count > 0 {
            self.log_deaths(&group.vessel, Some(group.line), group.lot, count, when);
        }
    }

    fn log_deaths(&mut self, vessel: &str, line: Option<LineKey>, lot: Option<LotNo>, count: u32, when: DateTime<Utc>) {
        self.log(Spot::Vessel(vessel.to_owned()), when, Logged::Deaths { count, line, lot });
    }

    /// Takes living fish of a group out into another account. Returns how many are not there.
    pub(super) fn remove_living(&mut self, group: &Group, to: &Account, count: u32) -> u32 {
        let mut wanted = self.transfer_seen(group.line, &self.home(group), to, count);
        let Some(lot) = group.lot else { return wanted };
        wanted = self.transfer_seen(group.line, &Account::Cleared(lot), to, wanted);
        self.cut_reservations(lot, group.line, to, wanted)
    }

    fn take_out(&mut self, group: &Group, to: &Account, count: u32) -> Result<(), Stop> {
        let there = self.living_of(group);
        if count > there {
            let species = Some(self.line_in_words(group.line));
            let at = vessel_place(&group.vessel);
            return Err(Refusal::NotThere { at, species, there, asked: count, promised: 0 }.into());
        }
        self.remove_living(group, to, count);
        Ok(())
    }

    fn note_weak(&mut self, group: &Group, weak: u32) {
        if let Some(no) = group.lot
            && let Some(mut lot) = self.state.lots.get(&no).cloned()
        {
            lot.weak = weak.min(self.living_of(group));
            self.emit(Event::LotSet { no, to: Some(lot) });
        }
    }

    /// Fish reported where the books have none of them: living ones are old stock, dead ones are kept in the log.
    fn count_unbooked(&mut self, vessel: &str, count: &Count, when: DateTime<Utc>) -> Result<Done, Stop> {
        let living = count.alive.or_else(|| count.sound.map(|sound| sound + count.weak.unwrap_or(0)));
        let Some(living) = living else {
            if let Some(species) = &count.species
                && self.state.fish_in_vessel(vessel) > 0
            {
                return Err(Refusal::NoSuchFish { at: Some(vessel_place(vessel)), species: species.clone() }.into());
            }
            let dead = count.dead.unwrap_or(0);
            self.log_deaths(vessel, None, None, dead, when);
            return Ok(Done::standing(say::standing::no_fish_booked(&vessel_place(vessel))));
        };
        let Some(species) = &count.species else {
            return Err(Refusal::WhichFish { at: vessel_place(vessel) }.into());
        };
        if self.state.is_tray(vessel, false) {
            return Err(Refusal::NoSuchFish { at: Some(vessel_place(vessel)), species: species.clone() }.into());
        }
        self.require(Power::MoveFish)?;
        let line = self.house_line(species);
        let no = self.next_lot();
        let lot =
            Lot { line, tank: vessel.to_owned(), since: when, hold: None, weak: count.weak.unwrap_or(0), price: None };
        self.emit(Event::LotSet { no, to: Some(lot) });
        let dead = count.dead.unwrap_or(0);
        self.transfer(line, Account::Listed.presumed(), Account::Held(no).counted(), living + dead);
        let group = Group { line, lot: Some(no), vessel: vessel.to_owned() };
        self.lose(&group, dead, when);
        Ok(Done::standing(say::standing::old_stock(no.0)))
    }

    /// The line of a kind of old stock.
    fn house_line(&mut self, species: &str) -> LineKey {
        let consignment = ConsignmentNo::HOUSE;
        let mut house =
            self.state.consignments.get(&consignment).cloned().unwrap_or_else(|| Consignment {
                supplier: say::standing::OLD_STOCK.to_owned(),
                ..Consignment::default()
            });
        let index = house.lines.iter().position(|line| line.species == species).unwrap_or_else(|| {
            house.lines.push(Line { listed_as: species.to_owned(), species: species.to_owned(), ..Line::default() });
            house.lines.len() - 1
        });
        self.emit(Event::ConsignmentSet { no: consignment, to: Some(house) });
        LineKey { consignment, line: u32::try_from(index + 1).unwrap_or(u32::MAX) }
    }

    /// Deaths in a vessel of several lines, which line not told: each line bears its share, in an account that no claim reads.
    pub(super) fn lose_undetermined(&mut self, vessel: &str, count: u32, when: DateTime<Utc>) {
        let at = self.vessel_where(vessel);
        let mut groups: Vec<(Group, u32)> =
            self.groups_at(&at).into_iter().map(|group| (group.clone(), self.living_of(&group))).collect();
        groups.sort_by_key(|(_, living)| std::cmp::Reverse(*living));
        let all: u32 = groups.iter().map(|(_, living)| living).sum();
        let count = count.min(all);
        let mut left = count;
        let grave = Account::DaaUndetermined(vessel.to_owned());
        for (index, (group, living)) in groups.iter().enumerate() {
            let share = if index + 1 == groups.len() { left } else { share_of(count, *living, all).min(left) };
            let absent = self.remove_living(group, &grave, share.min(*living));
            left -= share.min(*living) - absent;
        }
        for (group, _) in &groups {
            let more = left.min(self.living_of(group));
            self.remove_living(group, &grave, more);
            left -= more;
        }
        self.log_deaths(vessel, None, None, count, when);
    }

    /// How a tank or tray stands.
    pub(super) fn vessel_in_words(&self, vessel: &str) -> String {
        let at = self.vessel_where(vessel);
        let groups: Vec<say::standing::GroupLine> = self
            .groups_at(&at)
            .into_iter()
            .map(|group| {
                let living = group.lot.map(|lot| self.state.living(lot)).unwrap_or_default();
                let tray = self.state.books.held(&Account::Tray(vessel.to_owned()), group.line);
                let presumed = if group.lot.is_some() { living.held.presumed } else { tray.presumed };
                say::standing::GroupLine {
                    species: self.line_in_words(group.line),
                    living: self.living_of(&group),
                    presumed,
                    cleared: living.cleared,
                    reserved: living.reserved,
                    daa: self.state.books.held(&self.grave(&group), group.line).total(),
                    lot: group.lot.map(|lot| lot.0),
                }
            })
            .collect();
        say::standing::vessel(&vessel_place(vessel), &groups)
    }

    /// An empty tank or tray needs no look.
    pub(super) fn forget_look_of_empty(&mut self, vessel: &str) {
        if self.state.looks.contains_key(vessel) && self.state.fish_in_vessel(vessel) == 0 {
            self.emit(Event::LookSet { vessel: vessel.to_owned(), to: None });
        }
    }
}

fn share_of(count: u32, part: u32, whole: u32) -> u32 {
    let share = u64::from(count) * u64::from(part) / u64::from(whole.max(1));
    u32::try_from(share).unwrap_or(u32::MAX)
}

fn says_only_deaths(count: &Count) -> bool {
    let living = [count.sound, count.alive, count.weak, count.missing, count.extra, count.revived, count.culled];
    living.iter().all(Option::is_none) && count.all.is_none()
}
