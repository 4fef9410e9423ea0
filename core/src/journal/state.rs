//! State: everything known, as a fold over events.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use chrono::{DateTime, Duration, Utc};

use super::event::Event;
use super::frame::{Cause, Frame};
use super::record::{Entry, Look, Lot, Pending, Person, Reread, Reservation, Speaker, Vessel};
use crate::consignment::{
    BagRecord, BoxKey, BoxRecord, ColumnSaid, Consignment, ConsignmentNo, LotNo, Pack, ReservationNo,
};
use crate::message::Dialogue;
use crate::stock::Books;

/// Everything known. Only [`fold`] and [`State::apply`] change it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct State {
    /// The number of the last frame applied.
    pub seq: u64,
    /// Where every fish is.
    pub books: Books,
    /// Consignments by number.
    pub consignments: BTreeMap<ConsignmentNo, Consignment>,
    /// Boxes.
    pub boxes: BTreeMap<BoxKey, BoxRecord>,
    /// Bags that have a number, and boxes that were counted as a whole.
    pub bags: BTreeMap<Pack, BagRecord>,
    /// Tanks, trays, tubs, sumps and taps by name.
    pub vessels: BTreeMap<String, Vessel>,
    /// Lots by number.
    pub lots: BTreeMap<LotNo, Lot>,
    /// The look due at each tank and tray.
    pub looks: BTreeMap<String, Look>,
    /// Reservations by number.
    pub reservations: BTreeMap<ReservationNo, Reservation>,
    /// The log.
    pub entries: BTreeMap<u64, Arc<Entry>>,
    /// People by name.
    pub people: BTreeMap<String, Person>,
    /// Buyers' firms.
    pub buyers: BTreeSet<String>,
    /// Suppliers' names for fish, matched: (supplier, name as listed) → the crew's name.
    pub names: BTreeMap<(String, String), String>,
    /// What was said of the columns of each supplier's lists.
    pub columns: BTreeMap<String, Vec<ColumnSaid>>,
    /// Lists that the shell is to read anew.
    pub rereads: BTreeMap<u64, Reread>,
    /// Questions that wait. One that was answered, or that newer words settled, is taken out by an event; one that
    /// nobody answered is dropped when it can no longer be taken back.
    pub questions: BTreeMap<u64, Pending>,
    /// What each speaker said last.
    pub dialogues: BTreeMap<Speaker, Spoken>,
    /// When each person was heard last, with or without acts.
    pub heard: BTreeMap<String, DateTime<Utc>>,
    /// Recent frames that recorded something, for undo, fix and edit.
    pub recent: BTreeMap<u64, Arc<Recent>>,
}

/// What stands between the house and one speaker.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Spoken {
    /// The reader's memory of the speaker.
    pub dialogue: Dialogue,
    /// The consignment whose boxes the speaker means when a number is open in two.
    pub consignment: Option<ConsignmentNo>,
}

/// A recent frame and how to take it back.
#[derive(Debug, Clone, PartialEq)]
pub struct Recent {
    /// When it was taken in.
    pub at: DateTime<Utc>,
    /// What caused it.
    pub cause: Cause,
    /// What it set, in order.
    pub events: Vec<Event>,
    /// The events that take it back, in the order in which they are to be applied.
    pub inverse: Vec<Event>,
    /// Whether it was taken back already.
    pub withdrawn: bool,
}

/// How long a frame can be taken back.
const RECENT_HOURS: i64 = 48;

impl State {
    /// Applies one frame: folds its events and remembers how to take them back.
    pub fn apply(&mut self, frame: &Frame) {
        let mut inverse = Vec::new();
        for event in &frame.events {
            inverse.extend(inverse_of(self, event));
            fold(self, event);
        }
        inverse.reverse();
        self.seq = frame.seq;
        if let Some(speaker) = &frame.cause.speaker {
            let last = self.heard.entry(speaker.person.clone()).or_insert(frame.cause.said_at);
            *last = frame.cause.said_at.max(*last);
        }
        if !inverse.is_empty() {
            self.recent.insert(
                frame.seq,
                Arc::new(Recent {
                    at: frame.at,
                    cause: frame.cause.clone(),
                    events: frame
                        .events
                        .iter()
                        .filter(|event| !matches!(event, Event::Heard { .. }))
                        .cloned()
                        .collect(),
                    inverse,
                    withdrawn: false,
                }),
            );
        }
        let oldest = frame.at - Duration::hours(RECENT_HOURS);
        // No button under a question this old is pressed for it, and no undo reaches back to ask it again.
        self.questions.retain(|_, pending| pending.question.expires >= oldest);
        while self.recent.first_key_value().is_some_and(|(_, recent)| recent.at < oldest) {
            self.recent.pop_first();
        }
    }
}

/// Folds one event. Never fails, never reads settings or a clock.
pub fn fold(state: &mut State, event: &Event) {
    match event {
        Event::Heard { speaker, dialogue, consignment } => {
            let spoken = Spoken { dialogue: dialogue.clone(), consignment: *consignment };
            state.dialogues.insert(speaker.clone(), spoken);
        }
        Event::FishMoved(movement) => state.books.apply(movement),
        Event::ConsignmentSet { no, to } => set(&mut state.consignments, *no, to),
        Event::BoxSet { key, to } => set(&mut state.boxes, *key, to),
        Event::BagSet { key, to } => set(&mut state.bags, *key, to),
        Event::VesselSet { name, to } => set(&mut state.vessels, name.clone(), to),
        Event::LotSet { no, to } => set(&mut state.lots, *no, to),
        Event::LookSet { vessel, to } => set(&mut state.looks, vessel.clone(), to),
        Event::ReservationSet { no, to } => set(&mut state.reservations, *no, to),
        Event::EntrySet { no, to } => set(&mut state.entries, *no, &to.clone().map(Arc::new)),
        Event::PersonSet { name, to } => set(&mut state.people, name.clone(), to),
        Event::BuyerSet { name, known: true } => {
            state.buyers.insert(name.clone());
        }
        Event::BuyerSet { name, known: false } => {
            state.buyers.remove(name);
        }
        Event::NameMatched { supplier, listed_as, to } => {
            set(&mut state.names, (supplier.clone(), listed_as.clone()), to);
        }
        Event::ColumnsSet { supplier, to } => set(&mut state.columns, supplier.clone(), to),
        Event::RereadSet { no, to } => set(&mut state.rereads, *no, to),
        Event::QuestionSet { id, to } => set(&mut state.questions, *id, to),
        Event::Withdrawn { frame, undone } => {
            for event in undone {
                fold(state, event);
            }
            if let Some(recent) = state.recent.get_mut(frame) {
                Arc::make_mut(recent).withdrawn = true;
            }
        }
    }
}

/// The event that takes `event` back, seen from the state before it. What was said stays said: a dialogue has none.
pub fn inverse_of(state: &State, event: &Event) -> Option<Event> {
    Some(match event {
        Event::Heard { .. } => return None,
        Event::FishMoved(movement) => Event::FishMoved(movement.reversed()),
        Event::ConsignmentSet { no, .. } => Event::ConsignmentSet { no: *no, to: state.consignments.get(no).cloned() },
        Event::BoxSet { key, .. } => Event::BoxSet { key: *key, to: state.boxes.get(key).cloned() },
        Event::BagSet { key, .. } => Event::BagSet { key: *key, to: state.bags.get(key).cloned() },
        Event::VesselSet { name, .. } => Event::VesselSet { name: name.clone(), to: state.vessels.get(name).cloned() },
        Event::LotSet { no, .. } => Event::LotSet { no: *no, to: state.lots.get(no).cloned() },
        Event::LookSet { vessel, .. } => {
            Event::LookSet { vessel: vessel.clone(), to: state.looks.get(vessel).cloned() }
        }
        Event::ReservationSet { no, .. } => Event::ReservationSet { no: *no, to: state.reservations.get(no).cloned() },
        Event::EntrySet { no, .. } => {
            Event::EntrySet { no: *no, to: state.entries.get(no).map(|entry| Entry::clone(entry)) }
        }
        Event::PersonSet { name, .. } => Event::PersonSet { name: name.clone(), to: state.people.get(name).cloned() },
        Event::BuyerSet { name, .. } => Event::BuyerSet { name: name.clone(), known: state.buyers.contains(name) },
        Event::NameMatched { supplier, listed_as, .. } => Event::NameMatched {
            supplier: supplier.clone(),
            listed_as: listed_as.clone(),
            to: state.names.get(&(supplier.clone(), listed_as.clone())).cloned(),
        },
        Event::ColumnsSet { supplier, .. } => {
            Event::ColumnsSet { supplier: supplier.clone(), to: state.columns.get(supplier).cloned() }
        }
        Event::RereadSet { no, .. } => Event::RereadSet { no: *no, to: state.rereads.get(no).cloned() },
        Event::QuestionSet { id, .. } => Event::QuestionSet { id: *id, to: state.questions.get(id).cloned() },
        Event::Withdrawn { .. } => return None,
    })
}

fn set<K: Ord, V: Clone>(map: &mut BTreeMap<K, V>, key: K, to: &Option<V>) {
    match to {
        Some(value) => map.insert(key, value.clone()),
        None => map.remove(&key),
    };
}
