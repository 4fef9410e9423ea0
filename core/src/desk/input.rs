//! What can wake the desk, and what comes of it.

use chrono::{DateTime, Utc};

use super::refusal::Refusal;
use crate::consignment::PackingList;
use crate::journal::{Cause, Delivery, Event, Outgoing, OutgoingId};
use crate::message::Place;

/// One input, with its platform key. The list of kinds is closed.
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// The platform's key; an input whose key was seen is dropped by the shell.
    pub key: String,
    /// When it was said.
    pub said_at: DateTime<Utc>,
    /// When the house heard it.
    pub heard_at: DateTime<Utc>,
    /// Who, where; `None` for the clock and the shell.
    pub actor: Option<Actor>,
    /// What it is.
    pub what: What,
}

/// Who speaks where. The role is looked up in State by the name, never trusted from outside.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Actor {
    /// The person's name.
    pub person: String,
    /// The chat.
    pub chat: String,
    /// The topic in it.
    pub topic: Option<String>,
}

/// The kinds of input.
#[derive(Debug, Clone, PartialEq)]
pub enum What {
    /// A typed message; `re` are the places of the assistant's line it replies to.
    Message {
        /// The words.
        text: String,
        /// Places of the line replied to.
        re: Vec<Place>,
    },
    /// A typed message that replies to a line of the assistant, of which the frame is known.
    Reply {
        /// The words.
        text: String,
        /// Places of the line replied to.
        re: Vec<Place>,
        /// The frame that the line came of.
        to: u64,
    },
    /// An edited message.
    Edit {
        /// The key of the original message.
        of: String,
        /// The new words.
        text: String,
    },
    /// A button pressed.
    Button {
        /// The question.
        question: u64,
        /// The index of the choice.
        choice: usize,
    },
    /// The clock reached a time at which something is due.
    Tick,
    /// A packing list as the file readers understood it.
    List(Box<PackingList>),
    /// A list that was to be read anew, with what was said of its columns.
    ReadAnew {
        /// The number under which that was asked for.
        of: u64,
        /// The list as it is understood now.
        list: Box<PackingList>,
    },
    /// A file that is no packing list: kept as a photo of a place.
    Photo {
        /// Where the shell keeps it.
        path: String,
        /// The caption.
        caption: String,
        /// Places of the line replied to.
        re: Vec<Place>,
    },
    /// The platform's word on an outgoing message.
    Delivered {
        /// Which.
        outgoing: OutgoingId,
        /// What became of it.
        outcome: Delivery,
    },
    /// An order of the person who runs the program: enrols the first lead.
    Enrol {
        /// The name.
        name: String,
        /// The role.
        role: crate::people::Role,
    },
}

/// What comes of an input.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// The cause as it was read, for the frame.
    pub cause: Cause,
    /// What was decided.
    pub events: Vec<Event>,
    /// What is to be said.
    pub outgoing: Vec<Outgoing>,
    /// Why the domain said no, as data; the words are already in `outgoing`.
    pub refusals: Vec<Refusal>,
}

impl Outcome {
    /// Whether it makes a frame: something was decided or is said, or the platform spoke of a delivery.
    pub fn makes_a_frame(&self) -> bool {
        let delivery = matches!(self.cause.kind, crate::journal::CauseKind::Delivered { .. });
        delivery || !self.events.is_empty() || !self.outgoing.is_empty()
    }
}
