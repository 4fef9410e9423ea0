//! Wire types of events, each with its version.

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::goods::{BagRecord, BoxRecord, ColumnSaid, Consignment};
use super::mirror::{list, maybe};
use super::record::{Entry, Look, Lot, Pending, Person, Reread, Reservation, Speaker, Vessel};
use super::stock::Movement;
use crate::consignment::{BoxKey, ConsignmentNo, LotNo, Pack, ReservationNo};
use crate::journal;
use crate::message::Dialogue;

/// The version of an event's form: written as its number, read only where the number is the same.
///
/// An event whose form changes keeps the old variant's fields under the old number: its variant becomes an untagged
/// enum of both, and only the newest is written.
#[derive(Clone, Copy, Default)]
pub(super) struct Version<const N: u32>;

impl<const N: u32> Serialize for Version<N> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_u32(N)
    }
}

impl<'de, const N: u32> Deserialize<'de> for Version<N> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        match u32::deserialize(deserializer)? {
            known if known == N => Ok(Version),
            other => Err(serde::de::Error::custom(format!("version {other} is not known, only {N}"))),
        }
    }
}

type V1 = Version<1>;

/// Every event that can be read, with its version: for naming one that cannot.
pub(super) const KNOWN: &[(&str, u32)] = &[
    ("heard", 1),
    ("fish_moved", 1),
    ("consignment_set", 1),
    ("box_set", 1),
    ("bag_set", 1),
    ("vessel_set", 1),
    ("lot_set", 1),
    ("look_set", 1),
    ("reservation_set", 1),
    ("entry_set", 1),
    ("person_set", 1),
    ("buyer_set", 1),
    ("name_matched", 1),
    ("columns_set", 1),
    ("reread_set", 1),
    ("question_set", 1),
    ("withdrawn", 1),
];

#[derive(Serialize, Deserialize)]
#[serde(tag = "event", rename_all = "snake_case", deny_unknown_fields)]
pub(super) enum Event {
    Heard {
        v: V1,
        speaker: Speaker,
        dialogue: Dialogue,
        #[serde(skip_serializing_if = "Option::is_none")]
        consignment: Option<ConsignmentNo>,
    },
    FishMoved {
        v: V1,
        movement: Movement,
    },
    ConsignmentSet {
        v: V1,
        no: ConsignmentNo,
        #[serde(skip_serializing_if = "Option::is_none")]
        to: Option<Consignment>,
    },
    BoxSet {
        v: V1,
        key: BoxKey,
        #[serde(skip_serializing_if = "Option::is_none")]
        to: Option<BoxRecord>,
    },
    BagSet {
        v: V1,
        key: Pack,
        #[serde(skip_serializing_if = "Option::is_none")]
        to: Option<BagRecord>,
    },
    VesselSet {
        v: V1,
        name: String,
        #[serde(skip_serializing_if = "Option::is_none")]
        to: Option<Vessel>,
    },
    LotSet {
        v: V1,
        no: LotNo,
        #[serde(skip_serializing_if = "Option::is_none")]
        to: Option<Lot>,
    },
    LookSet {
        v: V1,
        vessel: String,
        #[serde(skip_serializing_if = "Option::is_none")]
        to: Option<Look>,
    },
    ReservationSet {
        v: V1,
        no: ReservationNo,
        #[serde(skip_serializing_if = "Option::is_none")]
        to: Option<Reservation>,
    },
    EntrySet {
        v: V1,
        no: u64,
        #[serde(skip_serializing_if = "Option::is_none")]
        to: Option<Entry>,
    },
    PersonSet {
        v: V1,
        name: String,
        #[serde(skip_serializing_if = "Option::is_none")]
        to: Option<Person>,
    },
    BuyerSet {
        v: V1,
        name: String,
        known: bool,
    },
    NameMatched {
        v: V1,
        supplier: String,
        listed_as: String,
        #[serde(skip_serializing_if = "Option::is_none")]
        to: Option<String>,
    },
    ColumnsSet {
        v: V1,
        supplier: String,
        #[serde(skip_serializing_if = "Option::is_none")]
        to: Option<Vec<ColumnSaid>>,
    },
    RereadSet {
        v: V1,
        no: u64,
        #[serde(skip_serializing_if = "Option::is_none")]
        to: Option<Reread>,
    },
    QuestionSet {
        v: V1,
        id: u64,
        #[serde(skip_serializing_if = "Option::is_none")]
        to: Option<Pending>,
    },
    Withdrawn {
        v: V1,
        frame: u64,
        undone: Vec<Event>,
    },
}

impl From<journal::Event> for Event {
    fn from(event: journal::Event) -> Self {
        use journal::Event as Domain;
        let v = Version;
        match event {
            Domain::Heard { speaker, dialogue, consignment } => {
                Event::Heard { v, speaker: speaker.into(), dialogue, consignment }
            }
            Domain::FishMoved(movement) => Event::FishMoved { v, movement: movement.into() },
            Domain::ConsignmentSet { no, to } => Event::ConsignmentSet { v, no, to: maybe(to) },
            Domain::BoxSet { key, to } => Event::BoxSet { v, key, to: maybe(to) },
            Domain::BagSet { key, to } => Event::BagSet { v, key, to: maybe(to) },
            Domain::VesselSet { name, to } => Event::VesselSet { v, name, to: maybe(to) },
            Domain::LotSet { no, to } => Event::LotSet { v, no, to: maybe(to) },
            Domain::LookSet { vessel, to } => Event::LookSet { v, vessel, to: maybe(to) },
            Domain::ReservationSet { no, to } => Event::ReservationSet { v, no, to: maybe(to) },
            Domain::EntrySet { no, to } => Event::EntrySet { v, no, to: maybe(to) },
            Domain::PersonSet { name, to } => Event::PersonSet { v, name, to: maybe(to) },
            Domain::BuyerSet { name, known } => Event::BuyerSet { v, name, known },
            Domain::NameMatched { supplier, listed_as, to } => Event::NameMatched { v, supplier, listed_as, to },
            Domain::ColumnsSet { supplier, to } => Event::ColumnsSet { v, supplier, to: to.map(list) },
            Domain::RereadSet { no, to } => Event::RereadSet { v, no, to: maybe(to) },
            Domain::QuestionSet { id, to } => Event::QuestionSet { v, id, to: maybe(to) },
            Domain::Withdrawn { frame, undone } => {
                Event::Withdrawn { v, frame, undone: undone.into_iter().map(Event::from).collect() }
            }
        }
    }
}

impl From<Event> for journal::Event {
    fn from(event: Event) -> Self {
        use journal::Event as Domain;
        match event {
            Event::Heard { v: Version, speaker, dialogue, consignment } => {
                Domain::Heard { speaker: speaker.into(), dialogue, consignment }
            }
            Event::FishMoved { v: Version, movement } => Domain::FishMoved(movement.into()),
            Event::ConsignmentSet { v: Version, no, to } => Domain::ConsignmentSet { no, to: maybe(to) },
            Event::BoxSet { v: Version, key, to } => Domain::BoxSet { key, to: maybe(to) },
            Event::BagSet { v: Version, key, to } => Domain::BagSet { key, to: maybe(to) },
            Event::VesselSet { v: Version, name, to } => Domain::VesselSet { name, to: maybe(to) },
            Event::LotSet { v: Version, no, to } => Domain::LotSet { no, to: maybe(to) },
            Event::LookSet { v: Version, vessel, to } => Domain::LookSet { vessel, to: maybe(to) },
            Event::ReservationSet { v: Version, no, to } => Domain::ReservationSet { no, to: maybe(to) },
            Event::EntrySet { v: Version, no, to } => Domain::EntrySet { no, to: maybe(to) },
            Event::PersonSet { v: Version, name, to } => Domain::PersonSet { name, to: maybe(to) },
            Event::BuyerSet { v: Version, name, known } => Domain::BuyerSet { name, known },
            Event::NameMatched { v: Version, supplier, listed_as, to } => {
                Domain::NameMatched { supplier, listed_as, to }
            }
            Event::ColumnsSet { v: Version, supplier, to } => Domain::ColumnsSet { supplier, to: to.map(list) },
            Event::RereadSet { v: Version, no, to } => Domain::RereadSet { no, to: maybe(to) },
            Event::QuestionSet { v: Version, id, to } => Domain::QuestionSet { id, to: maybe(to) },
            Event::Withdrawn { v: Version, frame, undone } => {
                Domain::Withdrawn { frame, undone: undone.into_iter().map(Domain::from).collect() }
            }
        }
    }
}
