//! The whole state as events that recreate it, so that a start need not read the journal from its beginning.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use super::event::{Event, Version};
use super::frame::Cause;
use super::mirror::mirror;
use crate::consignment::LineKey;
use crate::journal::{self, Spoken, State, fold};
use crate::stock::{Books, Movement, Purse};

/// A state as it is kept.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Snapshot {
    v: Version<1>,
    seq: u64,
    events: Vec<Event>,
    recent: Vec<(u64, Recent)>,
    /// Left out of the snapshots of earlier versions: then nobody is known to have been heard.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    heard: BTreeMap<String, DateTime<Utc>>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Recent {
    at: DateTime<Utc>,
    cause: Cause,
    events: Vec<Event>,
    inverse: Vec<Event>,
    withdrawn: bool,
}

mirror!(struct Recent, journal::Recent { at, cause, events: list, inverse: list, withdrawn });

impl From<&State> for Snapshot {
    fn from(state: &State) -> Self {
        let recent = state.recent.iter().map(|(seq, recent)| (*seq, Recent::from(journal::Recent::clone(recent))));
        Snapshot {
            v: Version,
            seq: state.seq,
            events: events_that_make(state).into_iter().map(Event::from).collect(),
            recent: recent.collect(),
            heard: state.heard.clone(),
        }
    }
}

impl From<Snapshot> for State {
    fn from(snapshot: Snapshot) -> Self {
        let Snapshot { v: Version, seq, events, recent, heard } = snapshot;
        let mut state = State { seq, heard, ..State::default() };
        for event in events {
            fold(&mut state, &event.into());
        }
        // After the events, so that none of them can touch what is remembered of a frame.
        state.recent = recent.into_iter().map(|(seq, recent)| (seq, Arc::new(recent.into()))).collect();
        state
    }
}

/// Events that make an empty state into this one, but for its number, when people were heard, and its recent frames.
fn events_that_make(state: &State) -> Vec<journal::Event> {
    use journal::Event as E;
    let State {
        seq: _,
        books,
        consignments,
        boxes,
        bags,
        vessels,
        lots,
        looks,
        reservations,
        entries,
        people,
        buyers,
        names,
        columns,
        rereads,
        questions,
        dialogues,
        heard: _,
        recent: _,
    } = state;
    let mut events = Vec::new();
    events.extend(consignments.iter().map(|(no, it)| E::ConsignmentSet { no: *no, to: Some(it.clone()) }));
    events.extend(boxes.iter().map(|(key, it)| E::BoxSet { key: *key, to: Some(it.clone()) }));
    events.extend(bags.iter().map(|(key, it)| E::BagSet { key: *key, to: Some(it.clone()) }));
    events.extend(vessels.iter().map(|(name, it)| E::VesselSet { name: name.clone(), to: Some(it.clone()) }));
    events.extend(lots.iter().map(|(no, it)| E::LotSet { no: *no, to: Some(it.clone()) }));
    events.extend(looks.iter().map(|(vessel, it)| E::LookSet { vessel: vessel.clone(), to: Some(it.clone()) }));
    events.extend(reservations.iter().map(|(no, it)| E::ReservationSet { no: *no, to: Some(it.clone()) }));
    events.extend(entries.iter().map(|(no, it)| E::EntrySet { no: *no, to: Some(journal::Entry::clone(it)) }));
    events.extend(people.iter().map(|(name, it)| E::PersonSet { name: name.clone(), to: Some(it.clone()) }));
    events.extend(buyers.iter().map(|name| E::BuyerSet { name: name.clone(), known: true }));
    events.extend(names.iter().map(|((supplier, listed_as), to)| E::NameMatched {
        supplier: supplier.clone(),
        listed_as: listed_as.clone(),
        to: Some(to.clone()),
    }));
    events.extend(
        columns.iter().map(|(supplier, to)| E::ColumnsSet { supplier: supplier.clone(), to: Some(to.clone()) }),
    );
    events.extend(rereads.iter().map(|(no, it)| E::RereadSet { no: *no, to: Some(it.clone()) }));
    events.extend(questions.iter().map(|(id, it)| E::QuestionSet { id: *id, to: Some(it.clone()) }));
    events.extend(dialogues.iter().map(|(speaker, Spoken { dialogue, consignment })| E::Heard {
        speaker: speaker.clone(),
        dialogue: dialogue.clone(),
        consignment: *consignment,
    }));
    events.extend(movements_that_make(books).into_iter().map(E::FishMoved));
    events
}

/// Movements that make empty books into these. Each line's balances sum to nothing, because only movements ever
/// changed them, so what some purses gave is what the others hold.
fn movements_that_make(books: &Books) -> Vec<Movement> {
    let mut lines: BTreeMap<LineKey, Sides> = BTreeMap::new();
    for (purse, line, balance) in books.all() {
        let (giving, holding) = lines.entry(line).or_default();
        let side = if balance < 0 { giving } else { holding };
        side.push((purse.clone(), balance.unsigned_abs()));
    }
    let mut movements = Vec::new();
    for (line, (mut giving, mut holding)) in lines {
        while let (Some((from, given)), Some((to, held))) = (giving.last_mut(), holding.last_mut()) {
            let count = u32::try_from((*given).min(*held)).unwrap_or(u32::MAX);
            movements.push(Movement { line, from: from.clone(), to: to.clone(), count });
            *given -= u64::from(count);
            *held -= u64::from(count);
            giving.pop_if(|(_, left)| *left == 0);
            holding.pop_if(|(_, left)| *left == 0);
        }
    }
    movements
}

/// Purses that gave, and purses that hold, each with how many.
type Sides = (Vec<(Purse, u64)>, Vec<(Purse, u64)>);
