//! Answers to the desk's own questions: what a choice decides.

use chrono::{DateTime, Utc};

use super::draft::{Done, Draft, Stop};
use super::place::vessel_place;
use super::refusal::Refusal;
use super::stocktake::Group;
use crate::consignment::{BoxKey, ConsignmentNo, Content, LineKey, Pack, Standing};
use crate::journal::{Event, ListStage, Listing, Lot, Matter, Pending, Vessel};
use crate::message::{Act, AllOf, Place, Said, VesselKind};
use crate::people::Power;
use crate::say;
use crate::stock::{Account, Certainty};

/// What to do after an answer.
pub(super) enum Next {
    /// It is settled; this is said.
    Said(Done),
    /// These acts are taken, as if they had been said now.
    Take(Vec<Said>),
}

const YES: usize = 0;

impl Draft<'_> {
    /// Settles a question by one of its choices.
    pub(super) fn answer(&mut self, id: u64, chosen: usize) -> Result<Next, Stop> {
        let Some(pending) = self.state.questions.get(&id).cloned() else {
            return Ok(Next::Said(Done {
                recorded: Some(String::new()),
                standing: say::standing::settled(),
                ask: None,
            }));
        };
        self.emit(Event::QuestionSet { id, to: None });
        self.settle_matter(pending, chosen)
    }

    fn settle_matter(&mut self, pending: Pending, chosen: usize) -> Result<Next, Stop> {
        let at = self.said_at;
        match pending.matter {
            Matter::Extra { pack, line, count } if chosen == YES => {
                self.require(Power::RecordCounts)?;
                let standing = self.book_extra(pack, line, count)?;
                Ok(said(say::standing::extra_booked(&say::place::pack(pack, None), count), standing))
            }
            Matter::Extra { pack, .. } => {
                Ok(said(String::new(), say::standing::count_again(&say::place::pack(pack, None))))
            }
            Matter::Left { of } => self.settle_left(of, chosen, at),
            Matter::WhichConsignment { acts, among } if chosen >= among.len() => self.arrive_all(&acts, &among),
            Matter::WhichConsignment { acts, among } => {
                self.consignment = among.get(chosen).copied();
                match self.consignment {
                    Some(no) if acts.is_empty() => {
                        Ok(said(String::new(), say::standing::say_it_again(&self.supplier(no))))
                    }
                    _ => Ok(Next::Take(acts)),
                }
            }
            Matter::WhichLine { act, among, or_undetermined } => {
                self.settle_line(*act, &among, or_undetermined, chosen)
            }
            Matter::WhichBuyer { act, among } => {
                let mut said = *act;
                if let Act::Ship { buyer, .. } = &mut said.act {
                    *buyer = among.get(chosen).cloned();
                }
                Ok(Next::Take(vec![said]))
            }
            Matter::Unaccounted { vessel, line, count } => {
                self.require(Power::RecordCounts)?;
                Ok(self.settle_stock_take(&vessel, line, count, chosen, false))
            }
            Matter::Surplus { vessel, line, count } => {
                self.require(Power::RecordCounts)?;
                Ok(self.settle_stock_take(&vessel, line, count, chosen, true))
            }
            Matter::NewVessel { name, acts } if chosen == YES => {
                self.require(Power::DeclareVessels)?;
                let kind = if name.starts_with("tray ") { VesselKind::Tray } else { VesselKind::Tank };
                let place = vessel_place(&name);
                self.emit(Event::VesselSet { name, to: Some(Vessel { kind, litres: None, system: None }) });
                if acts.is_empty() {
                    return Ok(said(say::standing::added(&place), String::new()));
                }
                Ok(Next::Take(acts))
            }
            Matter::NewVessel { .. } => Ok(said(String::new(), say::standing::nothing_recorded())),
            Matter::Beyond { act, dead, more } => Ok(settle_beyond(*act, dead, more, chosen)),
            Matter::Again { act } if chosen == YES => {
                self.meant = true;
                Ok(Next::Take(vec![*act]))
            }
            Matter::Again { .. } => Ok(said(String::new(), say::standing::not_again())),
            Matter::LongAgo { frame } if chosen == YES => self.undo_frame(frame).map(|done| said(String::new(), done)),
            Matter::LongAgo { .. } => Ok(said(String::new(), say::standing::nothing_taken_back())),
            Matter::UnlistedBox { number, among, acts } => {
                // A consignment that its list has replaced in the meantime is asked for anew.
                let of = among.get(chosen).copied();
                if of.is_some_and(|no| !self.state.consignments.contains_key(&no)) && !acts.is_empty() {
                    return Ok(Next::Take(acts));
                }
                let done = self.settle_unlisted(number, of);
                Ok(if acts.is_empty() { Next::Said(done) } else { Next::Take(acts) })
            }
            Matter::Announced { supplier, boxes, opened } => {
                let of = Some(opened).filter(|no| chosen == YES && self.is_anonymous(*no));
                Ok(Next::Said(self.keep_announced(&supplier, boxes, of)))
            }
            Matter::Listing(listing) => self.settle_listing(*listing, chosen),
            Matter::Import(list) if chosen == YES => {
                self.require(Power::ImportList)?;
                let listing = Listing {
                    list: *list,
                    asked: 0,
                    replaces: None,
                    gone: Vec::new(),
                    whose: Vec::new(),
                    theirs: Vec::new(),
                    matched: Vec::new(),
                    said: Vec::new(),
                    stage: ListStage::Confirm,
                };
                self.import(&listing).map(Next::Said)
            }
            Matter::Import(_) => Ok(said(String::new(), say::standing::nothing_recorded())),
            Matter::WhichSpecies { consignment, supplier, listed_as, among } => {
                self.require(Power::ImportList)?;
                let name = among.get(chosen).cloned().unwrap_or_else(|| listed_as.to_lowercase());
                Ok(Next::Said(self.match_name(consignment, &supplier, &listed_as, name)))
            }
        }
    }

    /// What arrived is every one of the consignments that were asked about. None of them is carried on.
    fn arrive_all(&mut self, acts: &[Said], among: &[ConsignmentNo]) -> Result<Next, Stop> {
        let carried = self.consignment;
        let mut lines = Vec::new();
        for said in acts {
            let Act::Arrive { stage, delay_min } = &said.act else { continue };
            for no in among {
                self.consignment = Some(*no);
                let done = self.arrive(*stage, *delay_min, said, self.said_at)?;
                lines.push(say::line(&self.recorded(said), &done.standing));
            }
        }
        self.consignment = carried;
        Ok(Next::Said(Done { recorded: Some(String::new()), standing: lines.join("\n"), ask: None }))
    }

    /// Fish nobody counted in a finished box: short, as listed, or still to do.
    fn settle_left(&mut self, of: BoxKey, chosen: usize, at: DateTime<Utc>) -> Result<Next, Stop> {
        self.require(Power::OpenBoxes)?;
        let left: Vec<((Pack, LineKey), u32)> = self
            .state
            .left_in_box(of)
            .into_iter()
            .map(|(key, held)| (key, held.presumed))
            .filter(|(_, presumed)| *presumed > 0)
            .collect();
        let count: u32 = left.iter().map(|(_, fish)| fish).sum();
        let recorded = match chosen {
            0 => {
                for ((pack, line), fish) in &left {
                    self.book_short(*pack, *line, *fish);
                }
                say::standing::short_booked(&self.box_name(of), count)
            }
            1 => {
                for ((pack, line), fish) in &left {
                    let packed = Account::Packed(*pack);
                    self.transfer(*line, packed.clone().presumed(), packed.counted(), *fish);
                }
                say::standing::as_listed(&self.box_name(of), count)
            }
            _ => return Ok(said(String::new(), say::standing::still_open(&self.box_name(of)))),
        };
        let standing = self.finish_box(of, at);
        Ok(said(recorded, standing))
    }

    /// Books listed fish that are not there, in the census of their bag where it has one.
    pub(super) fn book_short(&mut self, pack: Pack, line: LineKey, fish: u32) {
        let to = Account::Short(pack);
        self.transfer(line, Account::Packed(pack).presumed(), to.counted(), fish);
        if let Some(mut bag) = self.state.bags.get(&pack).cloned()
            && let Some(census) = bag.census.get_mut(&line.line)
        {
            census.missing += fish;
            self.emit(Event::BagSet { key: pack, to: Some(bag) });
        }
    }

    fn settle_line(&mut self, act: Said, among: &[String], or_undetermined: bool, chosen: usize) -> Result<Next, Stop> {
        if chosen >= among.len() && or_undetermined {
            return self.settle_undetermined(&act);
        }
        let Some(name) = among.get(chosen) else {
            return Ok(said(String::new(), say::standing::nothing_recorded()));
        };
        Ok(Next::Take(vec![with_species(act, name)]))
    }

    fn settle_undetermined(&mut self, act: &Said) -> Result<Next, Stop> {
        self.require(Power::RecordCounts)?;
        let Act::Count(count) = &act.act else {
            return Ok(said(String::new(), say::standing::nothing_recorded()));
        };
        let at = self.find(&count.at, act)?;
        let vessel = at.vessel().unwrap_or_default().to_owned();
        // Some may have died or left since the question.
        if let Some(query) = self.beyond(&self.groups_at(&at), count, act) {
            return Err(query.into());
        }
        let dead = count.dead.unwrap_or(0);
        self.lose_undetermined(&vessel, dead, self.said_at);
        let standing = self.vessel_in_words(&vessel);
        Ok(said(say::standing::undetermined(&self.recorded(act)), standing))
    }

    fn settle_stock_take(&mut self, vessel: &str, line: LineKey, count: u32, chosen: usize, more: bool) -> Next {
        if chosen != YES {
            return said(String::new(), say::standing::books_stand(&self.vessel_in_words(vessel)));
        }
        let group = self.group_in(vessel, line);
        let mut booked = count;
        if more {
            self.transfer(line, Account::Extra.counted(), self.home(&group).counted(), count);
        } else {
            // Some may have been moved or found dead since the question.
            booked = count.min(self.living_of(&group));
            self.remove_living(&group, &Account::Unaccounted, booked);
            self.forget_look_of_empty(vessel);
        }
        said(say::standing::stock_take_booked(booked, more), self.vessel_in_words(vessel))
    }

    fn group_in(&self, vessel: &str, line: LineKey) -> Group {
        // A lot without living fish is still the lot of that tank.
        let of_tank = |lot: &Lot| lot.tank == vessel && lot.line == line;
        let living = self.state.lots_in(vessel).into_iter().find(|(_, lot)| of_tank(lot)).map(|(no, _)| no);
        let lot = living.or_else(|| self.state.lots.iter().rev().find(|(_, lot)| of_tank(lot)).map(|(no, _)| *no));
        Group { line, lot, vessel: vessel.to_owned() }
    }

    /// Somebody says what became of a box that is not here: late, here after all, or, a lead only, lost.
    pub(super) fn box_standing(&mut self, of: BoxKey, standing: Standing) -> Result<Done, Stop> {
        let number = of.number;
        let Some(mut record) = self.state.boxes.get(&of).cloned() else {
            return Err(Refusal::NoSuchBox { number }.into());
        };
        if standing == Standing::Lost {
            self.require(Power::Clear)?;
        }
        if standing != Standing::Expected {
            if record.opened.is_some() {
                return Err(Refusal::AlreadyOpened { number }.into());
            }
            if matches!(record.standing, Standing::PassedOn(_)) {
                self.must_be_here(of)?;
            }
        }
        match (&record.standing, &standing) {
            (Standing::Lost, Standing::Lost) => {}
            (_, Standing::Lost) => {
                for ((pack, line), held) in self.state.left_in_box(of) {
                    self.book_short(pack, line, held.presumed);
                }
            }
            (Standing::Lost, _) => {
                for (pack, line, fish) in self.short_of(of) {
                    self.transfer(line, Account::Short(pack).counted(), Account::Packed(pack).presumed(), fish);
                }
            }
            (Standing::PassedOn(_), _) => self.take_back_unopened(of, &record.contents),
            _ => {}
        }
        record.standing = standing.clone();
        self.emit(Event::BoxSet { key: of, to: Some(record) });
        self.finish_consignment(of, self.said_at);
        let fish = self.state.tally_box(of);
        Ok(Done {
            recorded: Some(say::standing::box_standing(&self.box_name(of), &standing)),
            standing: say::standing::box_standing_fish(
                &standing,
                fish.packed.max(fish.short),
                self.state.boxes_to_go(of.consignment),
            ),
            ask: None,
        })
    }

    /// A box that was said to be passed on is here after all: its fish lie in it as listed.
    fn take_back_unopened(&mut self, of: BoxKey, contents: &[Content]) {
        let gone = Account::PassedOn(of);
        for content in contents {
            let pack = content.bag.map_or_else(|| of.loose(), |bag| of.bag(bag));
            let line = self.key(of, content.line);
            self.transfer_some(line, &gone, &Account::Packed(pack), content.fish, Certainty::Presumed);
        }
    }

    fn short_of(&self, of: BoxKey) -> Vec<(Pack, LineKey, u32)> {
        self.state
            .packs_of(of)
            .into_iter()
            .flat_map(|pack| {
                self.state
                    .books
                    .lines_in(&Account::Short(pack))
                    .into_iter()
                    .map(move |(line, held)| (pack, line, held.counted))
            })
            .collect()
    }
}

/// What a count beyond the books is taken for: all that are there, nothing, or fish that the books did not have.
fn settle_beyond(mut act: Said, dead: bool, more: u32, chosen: usize) -> Next {
    let Act::Count(count) = &mut act.act else {
        return said(String::new(), say::standing::nothing_recorded());
    };
    match chosen {
        0 if dead => (count.dead, count.all) = (None, Some(AllOf::Dead)),
        0 => (count.weak, count.all) = (None, Some(AllOf::Weak)),
        2 => count.extra = Some(count.extra.unwrap_or(0) + more),
        _ => return said(String::new(), say::standing::not_recorded_count_again(&count.at)),
    }
    Next::Take(vec![act])
}

fn said(recorded: String, standing: String) -> Next {
    Next::Said(Done { recorded: Some(recorded), standing, ask: None })
}

/// The act about the fish that were chosen; a choice "lot 43" names the lot itself.
fn with_species(mut said: Said, name: &str) -> Said {
    let lot = name.strip_prefix("lot ").and_then(|number| number.parse::<u32>().ok());
    match (&mut said.act, lot) {
        (Act::Count(count), Some(lot)) => count.at = Place::Lot { lot },
        (Act::Count(count), None) => count.species = Some(name.to_owned()),
        (Act::Move { from, .. }, Some(lot)) => *from = Some(Place::Lot { lot }),
        (Act::Move { species, .. }, None) => *species = Some(name.to_owned()),
        _ => {}
    }
    said
}
