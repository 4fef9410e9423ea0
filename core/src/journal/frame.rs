//! Frames: one cause, what was decided, what is to be said.

use chrono::{DateTime, Utc};

use super::event::Event;
use super::record::Speaker;
use crate::message::{Dialogue, Place, Said};

/// One line of the journal, before it is chained and written.
#[derive(Debug, Clone, PartialEq)]
pub struct Frame {
    /// Its number, from 1, without gaps.
    pub seq: u64,
    /// When the house took it in.
    pub at: DateTime<Utc>,
    /// What caused it.
    pub cause: Cause,
    /// What was decided.
    pub events: Vec<Event>,
    /// What is to be said.
    pub outgoing: Vec<Outgoing>,
}

/// What caused a frame, as it was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Cause {
    /// The platform's key of the input; the same key never makes two frames.
    pub key: String,
    /// What kind of input.
    pub kind: CauseKind,
    /// Who, where; `None` for the clock and the shell.
    pub speaker: Option<Speaker>,
    /// When it was said.
    pub said_at: DateTime<Utc>,
    /// The acts as they were read. Replaying never reads text again.
    pub acts: Vec<Said>,
    /// The speaker's dialogue before it, by which an edited text is read again.
    pub dialogue_before: Option<Dialogue>,
    /// Words beside its acts that were not understood.
    pub unread: Vec<String>,
    /// The whole text of a message that the reader had to ask about. That of any other is not kept.
    pub asked_about: Option<String>,
}

/// The kinds of input.
#[derive(Debug, Clone, PartialEq)]
pub enum CauseKind {
    /// A typed message.
    Message,
    /// An edit of an earlier message, by the key of its frame's cause.
    Edit {
        /// The key of the message edited.
        of: String,
    },
    /// A button pressed.
    Button {
        /// The question.
        question: u64,
        /// The index of the choice.
        choice: usize,
    },
    /// The clock.
    Tick,
    /// A file.
    File {
        /// Its base name.
        name: String,
    },
    /// The platform's word on an outgoing message.
    Delivered {
        /// Which.
        outgoing: OutgoingId,
        /// What became of it.
        outcome: Delivery,
    },
    /// An order of the person who runs the program.
    Admin,
}

/// What became of an outgoing message.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Delivery {
    /// Sent, under this message id of the platform.
    Sent(String),
    /// Given up, and why.
    Parked(String),
}

/// An outgoing message's number: its frame and its place in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct OutgoingId {
    /// The frame.
    pub frame: u64,
    /// The place in the frame, from 0.
    pub nth: u32,
}

/// Something to be said to a chat.
#[derive(Debug, Clone, PartialEq)]
pub struct Outgoing {
    /// Its number.
    pub id: OutgoingId,
    /// The chat.
    pub chat: String,
    /// The topic in it.
    pub topic: Option<String>,
    /// The key of the message it answers.
    pub reply_to: Option<String>,
    /// How urgent.
    pub class: Class,
    /// Whether the outbox may join it with neighbours of its kind.
    pub merge: bool,
    /// The earlier outgoing message that it takes the place of.
    pub replaces: Option<OutgoingId>,
    /// The words.
    pub body: String,
    /// Buttons under it.
    pub buttons: Vec<Button>,
    /// The places it speaks of: a reply to it speaks of them.
    pub about: Vec<Place>,
}

/// How urgent an outgoing message is; alarms go first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Class {
    /// Wakes somebody, or tells of harm that cannot wait.
    Alarm,
    /// Asks for a look.
    Look,
    /// Answers a message.
    Answer,
    /// Tells something that can wait.
    Notice,
}

/// A button: pressing it answers a question.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Button {
    /// What stands on it.
    pub label: String,
    /// The question.
    pub question: u64,
    /// The index of the choice.
    pub choice: usize,
}
