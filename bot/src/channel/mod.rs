//! Where people are heard and answered. A channel knows its platform and nothing of fish.
//!
//! [`serve`] is the one loop over a channel and a [`Desk`]: a terminal, a rehearsal and a chat platform differ only in
//! the channel and the clock behind it.

pub mod rehearsal;
mod serve;
pub mod terminal;

pub use serve::{Desk, serve};

use std::collections::BTreeMap;
use std::time::Duration;

use chrono::{DateTime, Utc};
use holdfast_core::consignment::{Original, PackingList};
use holdfast_core::journal::{Outgoing, Person};

use crate::packing;

/// The chat of the crew, where there is only one site and no platform that names it.
pub const CREW_CHAT: &str = "crew";

/// Hears people and answers them.
pub trait Channel {
    /// Waits for the next thing said, until `wake` at the latest.
    ///
    /// # Errors
    /// Where nothing more can be heard for a reason that whoever runs the program must know.
    fn next(&mut self, wake: Option<DateTime<Utc>>) -> anyhow::Result<Heard>;

    /// Tells the channel who is enrolled; most know their people by the platform and need not be told.
    fn meet(&mut self, _people: &BTreeMap<String, Person>) {}

    /// Says something.
    fn send(&mut self, outgoing: &Outgoing) -> Sending;
}

/// What came of waiting.
#[derive(Debug, Clone, PartialEq)]
pub enum Heard {
    /// Somebody said something.
    Said(Box<Incoming>),
    /// The time to wake at has come.
    Due,
    /// Nothing more will be said.
    End,
}

/// Something said by a person in a chat.
#[derive(Debug, Clone, PartialEq)]
pub struct Incoming {
    /// The platform's key of it; the same key is taken once.
    pub key: String,
    /// The speaker's name.
    pub person: String,
    /// The chat.
    pub chat: String,
    /// The topic in it.
    pub topic: Option<String>,
    /// When it was said.
    pub said_at: DateTime<Utc>,
    /// What was said.
    pub said: Said,
}

/// What can be said.
#[derive(Debug, Clone, PartialEq)]
pub enum Said {
    /// A typed message.
    Text {
        /// The words.
        text: String,
        /// The platform's id of the assistant's line that it replies to.
        reply_to: Option<String>,
    },
    /// New words for an earlier message.
    Edit {
        /// The key of the earlier message.
        of: String,
        /// The new words.
        text: String,
    },
    /// A button.
    Press {
        /// The question that it answers.
        question: u64,
        /// The index of its choice.
        choice: usize,
    },
    /// A packing list, as the reader of files understood it.
    List(Box<PackingList>),
    /// A picture.
    Photo {
        /// Where it is kept.
        path: String,
        /// The words under it.
        caption: String,
        /// The platform's id of the assistant's line that it replies to.
        reply_to: Option<String>,
    },
}

/// What became of a message that was sent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Sending {
    /// Delivered, under this id of the platform.
    Sent(String),
    /// Not now; again after so long.
    Retry(Duration),
    /// Never: the chat is closed to us, and why.
    Gone(String),
    /// It may or may not have arrived. It is sent again, because a repeat is harmless and a lost alarm is not.
    Unknown,
}

/// How the readers of packing lists are called.
#[derive(Clone, Copy)]
pub struct Lists {
    /// Reads a file: its base name and its bytes. A file that is no list gives no lines and says why.
    pub read: fn(&str, &[u8]) -> PackingList,
    /// Reads a list pasted as text.
    pub read_text: fn(&str) -> PackingList,
    /// Whether pasted text looks like a list.
    pub looks_like: fn(&str) -> bool,
}

impl Lists {
    /// The readers of the house.
    pub const HOUSE: Lists = Lists {
        read: |name, bytes| packing::for_the_chat(name, Original { bytes: bytes.into(), pasted: false }, &[]),
        read_text: |text| {
            let original = Original { bytes: text.as_bytes().into(), pasted: true };
            packing::for_the_chat("pasted list", original, &[])
        },
        looks_like: packing::looks_like_list,
    };

    /// Pasted text as what it is: a list, or a message.
    pub fn text_or_list(&self, text: String, reply_to: Option<String>) -> Said {
        if (self.looks_like)(&text) {
            Said::List(Box::new((self.read_text)(&text)))
        } else {
            Said::Text { text, reply_to }
        }
    }
}

/// The buttons of a message in one line, numbered from 1; empty where it has none.
pub fn buttons_line(outgoing: &Outgoing) -> String {
    let numbered = outgoing.buttons.iter().enumerate().map(|(nth, button)| format!("[{}] {}", nth + 1, button.label));
    numbered.collect::<Vec<_>>().join("  ")
}
