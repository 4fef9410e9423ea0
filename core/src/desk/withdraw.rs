//! Undo, correction and edit: what an earlier frame recorded is taken back by counter-movements.

use std::collections::BTreeSet;

use chrono::Duration;

use super::draft::{Draft, Query, Stop};
use super::refusal::Refusal;
use super::through::News;
use crate::consignment::{BoxKey, ConsignmentNo, LineKey, LotNo, Pack, ReservationNo};
use crate::journal::{Class, Entry, Event, Logged, Matter, Person, Recent, Speaker, Spot, State, inverse_of};
use crate::message::{Act, Count, Place, Said};
use crate::people::{Power, Role};
use crate::say;
use crate::stock::{Account, Books};

/// How far an undo reaches without asking, minutes: undo is for the slip just made. A person whose last record is older
/// has most likely forgotten which it was, or means somebody else's.
const LONG_AGO_MINUTES: i64 = 30;

impl Draft<'_> {
    /// Takes back the speaker's last message that recorded something and was not taken back yet.
    ///
    /// In a reply it is what the line replied to recorded, whoever said it.
    pub(super) fn undo(&mut self) -> Result<String, Stop> {
        if let Some(replied) = self.replied {
            let frame = self.standing_in(replied).ok_or(Refusal::NothingInLine)?;
            return self.undo_frame(frame);
        }
        let frame = self.last_of_speaker(|_| true).ok_or(Refusal::NothingToUndo)?;
        if let Some(recent) = self.state.recent.get(&frame)
            && self.said_at - recent.at > Duration::minutes(LONG_AGO_MINUTES)
        {
            let text = say::question::take_back(&self.deeds_in_words(frame), &self.local(recent.cause.said_at));
            return Err(Query::choice(text, Matter::LongAgo { frame }, say::question::yes_no()).into());
        }
        self.undo_frame(frame)
    }

    /// Takes back what one frame recorded: the speaker's own, or, by who has the power, somebody else's.
    pub(super) fn undo_frame(&mut self, frame: u64) -> Result<String, Stop> {
        let recent = self.state.recent.get(&frame).filter(|recent| !recent.withdrawn && recorded_something(recent));
        let speaker = recent.and_then(|recent| recent.cause.speaker.clone()).ok_or(Refusal::NothingInLine)?;
        let what = self.deeds_in_words(frame);
        if is_same_person(Some(&speaker), &self.speaker) {
            self.withdraw(frame)?;
            return Ok(say::standing::undone(&what));
        }
        if self.role == Role::Buyer {
            return Err(Refusal::OnlyTheHouse.into());
        }
        self.require(Power::UndoOthers)?;
        self.withdraw(frame)?;
        if speaker.chat != self.speaker.chat {
            let body = say::notice::taken_back(&self.speaker.person, &what);
            self.tell(speaker.chat, speaker.topic, Class::Notice, body, Vec::new());
        }
        Ok(say::standing::undone_of(&speaker.person, &what))
    }

    /// "undo ana": the name of another person whose words are meant. Which of them is not said, so a reply is asked for.
    pub(super) fn undo_of_another(&self, text: &str) -> Option<String> {
        let lower = text.to_lowercase();
        let mut words = lower.split_whitespace();
        let named = words.next().filter(|word| *word == "undo").and(words.next())?;
        let named = named.trim_end_matches(['.', '!', ',']);
        let named = named.strip_suffix("'s").or(named.strip_suffix("’s")).unwrap_or(named);
        let other = |name: &&String| name.to_lowercase() == named && **name != self.speaker.person;
        self.state.people.keys().find(other).filter(|_| self.role != Role::Buyer).cloned()
    }

    /// The frame in which what a frame recorded stands now: a message that was corrected or edited stands in the later
    /// one; one that was taken back stands in none.
    pub(super) fn standing_in(&self, frame: u64) -> Option<u64> {
        let recent = &self.state.recent;
        let mut frame = frame;
        while recent.get(&frame)?.withdrawn {
            let took_back = |event: &Event| matches!(event, Event::Withdrawn { frame: of, .. } if *of == frame);
            let (later, _) = recent
                .range(frame + 1..)
                .find(|(_, later)| recorded_something(later) && later.events.iter().any(took_back))?;
            frame = *later;
        }
        Some(frame)
    }

    /// The speaker's last frame that recorded something and meets a condition.
    fn last_of_speaker(&self, meets: impl Fn(&Recent) -> bool) -> Option<u64> {
        self.state
            .recent
            .iter()
            .rev()
            .find(|(_, recent)| {
                !recent.withdrawn
                    && is_same_person(recent.cause.speaker.as_ref(), &self.speaker)
                    && recorded_something(recent)
                    && meets(recent)
            })
            .map(|(frame, _)| *frame)
    }

    /// Takes one frame back, or says what stands in the way.
    pub(super) fn withdraw(&mut self, frame: u64) -> Result<(), Stop> {
        let Some(recent) = self.state.recent.get(&frame).cloned() else { return Err(Refusal::NothingToUndo.into()) };
        let for_buyer = |refusal: Refusal| {
            // What the house did since is none of a buyer's business.
            if self.role == Role::Buyer { Refusal::OnlyTheHouse } else { refusal }
        };
        if let Some((at, by, what)) = self.in_the_way(frame, &recent) {
            return Err(for_buyer(Refusal::StandsInTheWay { at, by, what }).into());
        }
        let undone: Vec<Event> = recent
            .inverse
            .iter()
            .filter(|event| self.still_stands(event, frame, &recent))
            .map(|event| self.as_if_never_said(event, frame))
            .collect();
        let undone = [undone, self.boxes_left_open(frame, &recent)].concat();
        let event = Event::Withdrawn { frame, undone };
        if goes_below_nothing(&self.state, &event) {
            return Err(for_buyer(Refusal::FishMovedOn).into());
        }
        self.emit(event);
        self.settle_like(|matter| *matter == Matter::LongAgo { frame });
        self.forget_questions_of_gone_boxes();
        self.correct_buyers(&recent);
        Ok(())
    }

    /// What was asked about a box that is not in the books any more has no answer.
    pub(super) fn forget_questions_of_gone_boxes(&mut self) {
        let boxes: BTreeSet<BoxKey> = self.state.boxes.keys().copied().collect();
        self.settle_like(|matter| match matter {
            Matter::Left { of } => !boxes.contains(of),
            Matter::Extra { pack, .. } => !boxes.contains(&pack.of),
            _ => false,
        });
    }

    /// A record that somebody set again since keeps its newer value; a box whose bags were handled since stays opened.
    fn still_stands(&self, inverse: &Event, frame: u64, recent: &Recent) -> bool {
        match inverse {
            Event::FishMoved(_) | Event::EntrySet { .. } => true,
            Event::BoxSet { key, .. } if self.was_handled_since(frame, *key) => false,
            // Boxes without a list share one consignment: it goes with the last of them.
            Event::ConsignmentSet { no, to: None } if self.has_other_boxes(*no, recent) => false,
            Event::PersonSet { name, to } => !only_the_chat(self.state.people.get(name), to.as_ref()),
            _ => inverse_of(&self.state, inverse).is_none_or(|now| recent.events.contains(&now)),
        }
    }

    fn has_other_boxes(&self, no: ConsignmentNo, recent: &Recent) -> bool {
        let unlisted = self.state.consignments.get(&no).is_some_and(|consignment| consignment.is_anonymous());
        let made = |of: BoxKey| recent.inverse.contains(&Event::BoxSet { key: of, to: None });
        unlisted && self.state.boxes_of(no).any(|(of, _)| !made(of))
    }

    /// A record as it was before a frame may have been set by an earlier frame that was taken back in the meantime:
    /// then it goes back to what it was before that one.
    fn as_if_never_said(&self, inverse: &Event, frame: u64) -> Event {
        let mut wanted = inverse.clone();
        if matches!(inverse, Event::FishMoved(_)) {
            return wanted;
        }
        for (_, earlier) in self.state.recent.range(..frame).rev() {
            if earlier.withdrawn && earlier.events.contains(&wanted) {
                let before = earlier.inverse.iter().rev().find(|event| same_record(event, &wanted));
                wanted = before.cloned().unwrap_or(wanted);
            }
        }
        wanted
    }

    fn was_handled_since(&self, frame: u64, of: BoxKey) -> bool {
        let later = self.state.recent.range(frame + 1..);
        later.into_iter().any(|(_, later)| !later.withdrawn && later.events.iter().any(|event| handles(event, of)))
    }

    /// A box stayed open because this frame handled it, though the message that opened it was taken back: with this
    /// frame gone too, nobody has opened it.
    fn boxes_left_open(&self, frame: u64, recent: &Recent) -> Vec<Event> {
        let handled: BTreeSet<BoxKey> = recent.events.iter().filter_map(box_handled).collect();
        let mut closed = Vec::new();
        for of in handled {
            let others = |from: u64| {
                self.state.recent.range(from + 1..).any(|(no, other)| {
                    *no != frame && !other.withdrawn && other.events.iter().any(|event| handles(event, of))
                })
            };
            let Some(record) = self.state.boxes.get(&of) else { continue };
            let now = Event::BoxSet { key: of, to: Some(record.clone()) };
            let opening = self.state.recent.range(..frame).rev().find(|(_, earlier)| earlier.events.contains(&now));
            if let Some((no, opening)) = opening.filter(|(no, opening)| opening.withdrawn && !others(**no))
                && let Some(before) = opening.inverse.iter().find(|event| same_record(event, &now))
            {
                closed.push(self.as_if_never_said(before, *no));
            }
        }
        closed
    }

    /// What buyers were told is corrected in words.
    fn correct_buyers(&mut self, recent: &Recent) {
        self.correct_passed(&boxes_passed(recent), consignment_made(recent).is_some());
        for of in boxes_corrected(recent) {
            self.passed.push((News::Corrected, of));
        }
        for event in &recent.events {
            match event {
                Event::EntrySet { to: Some(Entry { what: Logged::Cleared { lot, .. }, .. }), .. } => {
                    let body = say::buyer::not_for_sale(&self.offer(*lot));
                    self.tell_role(Role::Buyer, Class::Notice, &body, &[Place::Lot { lot: lot.0 }]);
                }
                Event::EntrySet { to: Some(Entry { what: Logged::Shipped { through: Some(_), .. }, .. }), .. } => {}
                Event::EntrySet { to: Some(Entry { what: Logged::Shipped { lot, count, buyer, .. }, .. }), .. } => {
                    let line = lot.and_then(|lot| self.state.lots.get(&lot)).map(|lot| lot.line);
                    let species = line.map(|line| self.state.species(line)).unwrap_or(say::place::FISH.to_owned());
                    self.tell_buyer(buyer, say::buyer::not_shipped(&species, *count));
                }
                _ => {}
            }
        }
        let touched: BTreeSet<ReservationNo> = recent.events.iter().flat_map(reservations_in).collect();
        for no in touched {
            let Some(buyer) = self.buyer_of(no, recent) else { continue };
            if self.buyer.as_ref() == Some(&buyer) {
                continue;
            }
            let own = self.own_reservations(&buyer);
            self.tell_buyer(&buyer, say::buyer::corrected(&own));
        }
    }

    fn buyer_of(&self, no: ReservationNo, recent: &Recent) -> Option<String> {
        let kept = self.state.reservations.get(&no).map(|reservation| reservation.buyer.clone());
        kept.or_else(|| {
            recent.events.iter().find_map(|event| match event {
                Event::ReservationSet { no: set, to: Some(reservation) } if *set == no => {
                    Some(reservation.buyer.clone())
                }
                _ => None,
            })
        })
    }

    /// A later frame that made a census or move of the same bag or lot, which taking this one back would contradict.
    fn in_the_way(&self, frame: u64, recent: &Recent) -> Option<(chrono::DateTime<chrono::Utc>, String, String)> {
        let mine = touched(recent);
        let imported = consignment_made(recent);
        let corrected = boxes_corrected(recent);
        self.state
            .recent
            .range(frame + 1..)
            .find(|(_, later)| {
                !later.withdrawn
                    && (overlaps(&mine, &touched(later))
                        || imported.is_some_and(|no| later.events.iter().any(|event| is_of(event, no)))
                        || later.events.iter().any(|event| sets_or_handles(event, &corrected)))
            })
            .map(|(later_frame, later)| {
                let by = later.cause.speaker.as_ref().map(|speaker| speaker.person.clone()).unwrap_or_default();
                (later.cause.said_at, by, self.deeds_in_words(*later_frame))
            })
    }

    /// What a recent frame recorded, as clauses.
    pub(super) fn acts_in_words(&self, frame: u64) -> String {
        self.state
            .recent
            .get(&frame)
            .map(|recent| recent.cause.acts.iter().map(|said| self.recorded(said)).collect::<Vec<_>>().join("; "))
            .unwrap_or_default()
    }

    /// What a recent frame did: its acts, or, for an order or an answer, what it set.
    pub(super) fn deeds_in_words(&self, frame: u64) -> String {
        let acts = self.acts_in_words(frame);
        let Some(recent) = self.state.recent.get(&frame).filter(|_| acts.is_empty()) else { return acts };
        let made = consignment_made(recent);
        let import = recent.events.iter().find_map(|event| match event {
            Event::ConsignmentSet { no, to: Some(to) } if Some(*no) == made && to.unlisted => {
                Some(say::standing::deed_announced(&to.supplier))
            }
            Event::ConsignmentSet { no, to: Some(to) } if Some(*no) == made => {
                Some(say::standing::deed_import(&to.supplier))
            }
            Event::ConsignmentSet { to: Some(to), .. } if is_correction(recent) => {
                Some(say::standing::deed_correction(&to.supplier))
            }
            _ => None,
        });
        let passed = || {
            let (numbers, buyers): (Vec<u32>, Vec<String>) = boxes_passed(recent).into_iter().unzip();
            buyers.first().map(|buyer| say::through::boxes_to(&numbers, buyer))
        };
        let announced = recent.events.iter().find_map(|event| match event {
            Event::ConsignmentSet { to: Some(to), .. } if to.unlisted && !to.supplier.is_empty() => {
                Some(say::standing::deed_announced(&to.supplier))
            }
            _ => None,
        });
        let deed = import.or_else(passed).or(announced).or_else(|| {
            recent.events.iter().find_map(|event| match event {
                Event::PersonSet { name, .. } if enrols(recent, event) => Some(say::standing::deed_person(name)),
                Event::BuyerSet { name, .. } => Some(say::standing::deed_buyer(name)),
                Event::ColumnsSet { supplier, .. } => Some(say::standing::deed_columns(supplier)),
                Event::QuestionSet { to: None, .. } => Some(say::standing::deed_answer()),
                Event::BoxSet { key, .. } => Some(say::standing::deed_box(&self.box_name(*key))),
                Event::LotSet { no, .. } => Some(say::place::name(&Place::Lot { lot: no.0 })),
                _ => None,
            })
        });
        deed.unwrap_or_default()
    }

    /// The acts of a message with its corrections put into what the speaker recorded before.
    ///
    /// A correction takes the earlier frame back and leaves the earlier frame's acts, corrected, to be recorded again as
    /// of when they were said. An edited correction corrects only what it `edits`.
    pub(super) fn corrected(&mut self, fix: &Said, edits: Option<u64>) -> Result<Vec<Said>, Stop> {
        let place = place_of_act(&fix.act).cloned();
        let fits = |recent: &Recent| recent.cause.acts.iter().any(|earlier| is_corrected_by(earlier, fix));
        let frame = match edits {
            Some(frame) => self.state.recent.get(&frame).filter(|recent| fits(recent)).map(|_| frame),
            None => self.last_of_speaker(fits),
        };
        let frame = frame.ok_or(Refusal::NothingToFix { at: place })?;
        let Some(recent) = self.state.recent.get(&frame).cloned() else { return Ok(Vec::new()) };
        self.withdraw(frame)?;
        self.said_at = recent.cause.said_at;
        Ok(recent.cause.acts.iter().map(|earlier| correct(earlier, fix)).collect())
    }
}

fn is_same_person(one: Option<&Speaker>, other: &Speaker) -> bool {
    one.is_some_and(|one| one.person == other.person && one.chat == other.chat)
}

/// Whether a frame did more than hear somebody, remember the chat, and settle questions.
pub(super) fn recorded_something(recent: &Recent) -> bool {
    recent.events.iter().any(|event| match event {
        Event::Heard { .. } | Event::QuestionSet { .. } | Event::RereadSet { .. } | Event::Withdrawn { .. } => false,
        Event::PersonSet { .. } => enrols(recent, event),
        _ => true,
    })
}

/// Whether an event of a frame changed who a person is, rather than where the person is reached.
fn enrols(recent: &Recent, event: &Event) -> bool {
    let Event::PersonSet { name, to } = event else { return false };
    let before = recent.inverse.iter().rev().find_map(|event| match event {
        Event::PersonSet { name: of, to } if of == name => Some(to.as_ref()),
        _ => None,
    });
    !only_the_chat(before.flatten(), to.as_ref())
}

/// Whether two records of a person differ in nothing but the chat in which the person is reached.
fn only_the_chat(one: Option<&Person>, other: Option<&Person>) -> bool {
    match (one, other) {
        (Some(one), Some(other)) => one.role == other.role && one.buyer == other.buyer,
        (one, other) => one.is_none() == other.is_none(),
    }
}

/// The consignment that a frame imported.
fn consignment_made(recent: &Recent) -> Option<ConsignmentNo> {
    recent.inverse.iter().find_map(|event| match event {
        Event::ConsignmentSet { no, to: None } if *no != ConsignmentNo::HOUSE => Some(*no),
        _ => None,
    })
    .filter(|no| {
        let anonymous = |event: &Event| matches!(event, Event::ConsignmentSet { no: of, to: Some(to) } if of == no && to.is_anonymous());
        !recent.events.iter().any(anonymous)
    })
}

/// Whether a frame changed what is listed of a consignment that was there: only a corrected list does.
fn is_correction(recent: &Recent) -> bool {
    let listed = |event: &Event| match event {
        Event::FishMoved(movement) => {
            movement.line.consignment != ConsignmentNo::HOUSE
                && (movement.from.account == Account::Listed || movement.to.account == Account::Listed)
        }
        _ => false,
    };
    let sets_list = recent.events.iter().any(|event| matches!(event, Event::ConsignmentSet { .. }));
    consignment_made(recent).is_none() && sets_list && recent.cause.acts.is_empty() && recent.events.iter().any(listed)
}

/// The boxes that a frame passed on unopened, each with its buyer.
fn boxes_passed(recent: &Recent) -> Vec<(u32, String)> {
    let passed = recent.events.iter().filter_map(|event| match event {
        Event::EntrySet { to: Some(Entry { what: Logged::Shipped { through: Some(of), buyer, .. }, .. }), .. } => {
            Some((of.number, buyer.clone()))
        }
        _ => None,
    });
    passed.collect()
}

/// The boxes that a corrected list changed.
fn boxes_corrected(recent: &Recent) -> BTreeSet<BoxKey> {
    let boxes = recent.events.iter().filter_map(|event| match event {
        Event::BoxSet { key, .. } => Some(*key),
        _ => None,
    });
    if is_correction(recent) { boxes.collect() } else { BTreeSet::new() }
}

fn sets_or_handles(event: &Event, boxes: &BTreeSet<BoxKey>) -> bool {
    let set = match event {
        Event::BoxSet { key, .. } => Some(*key),
        other => box_handled(other),
    };
    set.is_some_and(|of| boxes.contains(&of))
}

/// Whether an event speaks of a consignment, its boxes or its fish.
fn is_of(event: &Event, no: ConsignmentNo) -> bool {
    match event {
        Event::ConsignmentSet { no: of, .. } => *of == no,
        Event::BoxSet { key, .. } => key.consignment == no,
        Event::BagSet { key, .. } => key.of.consignment == no,
        Event::FishMoved(movement) => movement.line.consignment == no,
        _ => false,
    }
}

fn reservations_in(event: &Event) -> Vec<ReservationNo> {
    match event {
        Event::ReservationSet { no, .. } => vec![*no],
        Event::FishMoved(movement) => [&movement.from.account, &movement.to.account]
            .into_iter()
            .filter_map(|account| match account {
                Account::Reserved(no) => Some(*no),
                _ => None,
            })
            .collect(),
        _ => Vec::new(),
    }
}

/// The box whose bags or fish an event handled.
fn box_handled(event: &Event) -> Option<BoxKey> {
    match event {
        Event::BagSet { key, .. } => Some(key.of),
        Event::FishMoved(movement) => {
            [&movement.from.account, &movement.to.account].into_iter().find_map(|account| match account {
                Account::Packed(pack) => Some(pack.of),
                _ => None,
            })
        }
        Event::EntrySet { to: Some(Entry { spot: Spot::Pack(pack), .. }), .. } => Some(pack.of),
        _ => None,
    }
}

fn handles(event: &Event, of: BoxKey) -> bool {
    box_handled(event) == Some(of)
}

/// Whether two events set the same record.
fn same_record(one: &Event, other: &Event) -> bool {
    match (one, other) {
        (Event::ConsignmentSet { no, .. }, Event::ConsignmentSet { no: of, .. }) => no == of,
        (Event::BoxSet { key, .. }, Event::BoxSet { key: of, .. }) => key == of,
        (Event::BagSet { key, .. }, Event::BagSet { key: of, .. }) => key == of,
        (Event::VesselSet { name, .. }, Event::VesselSet { name: of, .. }) => name == of,
        (Event::LotSet { no, .. }, Event::LotSet { no: of, .. }) => no == of,
        (Event::LookSet { vessel, .. }, Event::LookSet { vessel: of, .. }) => vessel == of,
        (Event::ReservationSet { no, .. }, Event::ReservationSet { no: of, .. }) => no == of,
        (Event::PersonSet { name, .. }, Event::PersonSet { name: of, .. }) => name == of,
        _ => false,
    }
}

/// The bags, lots and trays that a frame set or moved fish in or out of.
fn touched(recent: &Recent) -> Vec<Touched> {
    let mut touched = Vec::new();
    for event in &recent.events {
        match event {
            Event::BagSet { key, .. } => touched.push(Touched::Pack(*key)),
            Event::LotSet { no, .. } => touched.push(Touched::Lot(*no)),
            Event::FishMoved(movement) => {
                touched.extend(touched_by(&movement.from.account, movement.line));
                touched.extend(touched_by(&movement.to.account, movement.line));
            }
            _ => {}
        }
    }
    touched
}

/// The loose fish of a box belong to no bag yet: giving one bag its share leaves the others' alone.
fn touched_by(account: &Account, line: LineKey) -> Option<Touched> {
    match account {
        Account::Held(no) | Account::Cleared(no) => Some(Touched::Lot(*no)),
        Account::Packed(pack) if pack.bag.is_some() => Some(Touched::Pack(*pack)),
        Account::Tray(name) => Some(Touched::Tray(name.clone(), line)),
        _ => None,
    }
}

/// What a later frame may not have touched if an earlier one is to be taken back.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Touched {
    Pack(Pack),
    Lot(LotNo),
    Tray(String, LineKey),
}

fn overlaps(one: &[Touched], other: &[Touched]) -> bool {
    one.iter().any(|touched| other.contains(touched))
}

/// Whether an event would leave an account below nothing.
fn goes_below_nothing(state: &State, event: &Event) -> bool {
    let mut books = state.books.clone();
    let movements = |events: &[Event], books: &mut Books| {
        for event in events {
            if let Event::FishMoved(movement) = event {
                books.apply(movement);
            }
        }
    };
    match event {
        Event::Withdrawn { undone, .. } => movements(undone, &mut books),
        other => movements(std::slice::from_ref(other), &mut books),
    }
    !books.faults().is_empty()
}

/// The place that names an act, for finding what a correction corrects.
pub(super) fn place_of_act(act: &Act) -> Option<&Place> {
    match act {
        Act::Count(count) => Some(&count.at),
        Act::Reading(water) => Some(&water.at),
        Act::Swap { at, .. }
        | Act::Dose { at, .. }
        | Act::Observe { at, .. }
        | Act::Recheck { at, .. }
        | Act::Hold { at, .. }
        | Act::Clear { at, .. }
        | Act::Ship { at, .. }
        | Act::Open { at }
        | Act::Done { at } => Some(at),
        Act::Move { to, .. } => Some(to),
        Act::Reserve { at, .. } | Act::Note { at, .. } | Act::Ask { at, .. } => at.as_ref(),
        Act::Arrive { .. } | Act::Later { .. } | Act::Undo | Act::Vessels { .. } => None,
    }
}

/// Same kind, same place, and the same product or fish where the correction names one.
fn is_corrected_by(earlier: &Said, fix: &Said) -> bool {
    let same_kind = std::mem::discriminant(&earlier.act) == std::mem::discriminant(&fix.act);
    let same_place = place_of_act(&earlier.act) == place_of_act(&fix.act) || place_of_act(&fix.act).is_none();
    let same_name = match (&earlier.act, &fix.act) {
        (Act::Dose { product, .. }, Act::Dose { product: fixed, .. }) => product == fixed,
        (Act::Reserve { species, .. }, Act::Reserve { species: fixed, .. }) => fixed.is_none() || species == fixed,
        (Act::Count(count), Act::Count(fixed)) => fixed.species.is_none() || count.species == fixed.species,
        _ => true,
    };
    same_kind && same_place && same_name
}

/// The earlier act with the corrected fields; an act that the correction does not speak of stays as it was.
fn correct(earlier: &Said, fix: &Said) -> Said {
    if !is_corrected_by(earlier, fix) {
        return earlier.clone();
    }
    let act = match (&earlier.act, &fix.act) {
        (Act::Count(earlier), Act::Count(fix)) => Act::Count(correct_count(earlier, fix)),
        (Act::Reading(earlier), Act::Reading(fix)) => {
            let mut water = earlier.clone();
            for (measure, value) in &fix.values {
                water.values.insert(*measure, *value);
                water.over.remove(measure);
            }
            water.over.extend(fix.over.iter().copied());
            Act::Reading(water)
        }
        (Act::Swap { at, .. }, Act::Swap { percent, litres, .. }) => {
            Act::Swap { at: at.clone(), percent: *percent, litres: *litres, fix: false }
        }
        (Act::Dose { at, product, amount, unit, .. }, Act::Dose { amount: fixed, unit: fixed_unit, .. }) => Act::Dose {
            at: at.clone(),
            product: product.clone(),
            amount: fixed.or(*amount),
            unit: fixed_unit.or(*unit),
            fix: false,
        },
        (Act::Move { to, from, count, species, .. }, Act::Move { from: f, count: c, species: s, .. }) => Act::Move {
            to: to.clone(),
            from: f.clone().or_else(|| from.clone()),
            count: c.or(*count),
            species: s.clone().or_else(|| species.clone()),
            fix: false,
        },
        (Act::Reserve { count, at, species, buyer, .. }, Act::Reserve { count: c, buyer: b, .. }) => Act::Reserve {
            count: c.or(*count),
            at: at.clone(),
            species: species.clone(),
            buyer: b.clone().or_else(|| buyer.clone()),
            fix: false,
        },
        (Act::Ship { at, count, buyer, .. }, Act::Ship { count: c, buyer: b, .. }) => {
            Act::Ship { at: at.clone(), count: c.or(*count), buyer: b.clone().or_else(|| buyer.clone()), fix: false }
        }
        (earlier, _) => earlier.clone(),
    };
    Said { act, when: fix.when.clone().or_else(|| earlier.when.clone()) }
}

fn correct_count(earlier: &Count, fix: &Count) -> Count {
    let living_fixed = fix.alive.is_some() || fix.sound.is_some();
    Count {
        at: earlier.at.clone(),
        sound: fix.sound.or(if living_fixed { None } else { earlier.sound }),
        alive: fix.alive.or(if living_fixed { None } else { earlier.alive }),
        weak: fix.weak.or(earlier.weak),
        dead: fix.dead.or(earlier.dead),
        missing: fix.missing.or(earlier.missing),
        extra: fix.extra.or(earlier.extra),
        of: fix.of.or(earlier.of),
        all: fix.all.or(if fix.dead.is_some() || living_fixed { None } else { earlier.all }),
        more: earlier.more,
        revived: fix.revived.or(earlier.revived),
        culled: fix.culled.or(earlier.culled),
        got: fix.got.clone().or_else(|| earlier.got.clone()),
        species: fix.species.clone().or_else(|| earlier.species.clone()),
        fix: false,
    }
}
