//! Wire types of frames: the line, its cause, and what is to be said.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use super::event::Event;
use super::mirror::{mirror, one};
use super::record::Speaker;
use crate::journal;
use crate::message::{Dialogue, Place, Said};

/// One line of the journal file.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Line {
    pub seq: u64,
    pub prev: String,
    pub at: DateTime<Utc>,
    pub cause: Cause,
    pub events: Vec<Event>,
    pub outgoing: Vec<Outgoing>,
    /// Not there while the hash is being computed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hash: Option<String>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Cause {
    key: String,
    kind: CauseKind,
    #[serde(skip_serializing_if = "Option::is_none")]
    speaker: Option<Speaker>,
    said_at: DateTime<Utc>,
    acts: Vec<Said>,
    #[serde(skip_serializing_if = "Option::is_none")]
    dialogue_before: Option<Dialogue>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    unread: Vec<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    asked_about: Option<String>,
}

mirror!(struct Cause, journal::Cause {
    key,
    kind,
    speaker: maybe,
    said_at,
    acts,
    dialogue_before,
    unread,
    asked_about,
});

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub(super) enum CauseKind {
    Message,
    Edit { of: String },
    Button { question: u64, choice: usize },
    Tick,
    File { name: String },
    Delivered { outgoing: OutgoingId, outcome: Delivery },
    Admin,
}

mirror!(enum CauseKind, journal::CauseKind {
    Message,
    Edit { of },
    Button { question, choice },
    Tick,
    File { name },
    Delivered { outgoing, outcome },
    Admin,
});

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(super) enum Delivery {
    Sent(String),
    Parked(String),
}

mirror!(enum Delivery, journal::Delivery { Sent(id), Parked(why) });

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct OutgoingId {
    frame: u64,
    nth: u32,
}

mirror!(struct OutgoingId, journal::OutgoingId { frame, nth });

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Outgoing {
    id: OutgoingId,
    chat: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    topic: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    reply_to: Option<String>,
    class: Class,
    merge: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    replaces: Option<OutgoingId>,
    body: String,
    buttons: Vec<Button>,
    about: Vec<Place>,
}

mirror!(struct Outgoing, journal::Outgoing {
    id,
    chat,
    topic,
    reply_to,
    class,
    merge,
    replaces: maybe,
    body,
    buttons: list,
    about,
});

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(super) enum Class {
    Alarm,
    Look,
    Answer,
    Notice,
}

mirror!(enum Class, journal::Class { Alarm, Look, Answer, Notice });

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Button {
    label: String,
    question: u64,
    choice: usize,
}

mirror!(struct Button, journal::Button { label, question, choice });

impl Line {
    pub fn of(frame: journal::Frame, prev: &str) -> Self {
        let journal::Frame { seq, at, cause, events, outgoing } = frame;
        Line {
            seq,
            prev: prev.to_owned(),
            at,
            cause: one(cause),
            events: events.into_iter().map(Event::from).collect(),
            outgoing: outgoing.into_iter().map(Outgoing::from).collect(),
            hash: None,
        }
    }

    pub fn into_linked(self) -> super::Linked {
        let Line { seq, prev, at, cause, events, outgoing, hash } = self;
        let frame = journal::Frame {
            seq,
            at,
            cause: one(cause),
            events: events.into_iter().map(journal::Event::from).collect(),
            outgoing: outgoing.into_iter().map(journal::Outgoing::from).collect(),
        };
        super::Linked { frame, prev, hash }
    }
}
