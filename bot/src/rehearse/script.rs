//! The script of a night.
//!
//! ```text
//! # Words behind a sign of number are for the reader of the script.
//! zone: Europe/London
//! date: 2026-03-02
//! set: release.hold_hours = 24
//! lead: dee
//! crew: ana, ben
//! buyer: sam for Reef & River
//! guest: kit in Reef & River
//!
//! 22:10 ana: 7.2 36 ok 4 doa
//!   > 7.2: 36 sound, 4 DOA of 40.
//!   | A second line of the same answer.
//! 22:11 ana edits: 7.2 35 ok 5 doa
//! 22:12 ana replies to "7.2: 36": 2 more dead
//! 22:13 ana presses: short
//! 22:14 dee sends file: list.xlsx
//! 22:15 dee sends photo: carton.jpg box 7 crushed
//! 22:16 dee sends list:
//!     Box 7
//!     40 neon tetra
//! 22:17 sam in Reef & River: what have you got?
//!   > (Reef & River) 36 neon tetra.
//! 03:00 the clock
//!   > A12 is due.
//! ```
//!
//! - `zone`, `date`, `set` (a line of the settings file), and the people by role stand before the first time. People may
//!   be `for` a buyer's firm, and `in` a chat of their own; a guest is not enrolled. A `date` may also stand further
//!   down, to leap some days.
//! - Times are local. One that is earlier than the time before it is on the next day.
//! - Words go on in lines indented by four blanks.
//! - `  >` begins a reply, `  |` goes on with it; the chat stands in brackets where it is not the crew's. Buttons are the
//!   last line of a reply: `[1] short  [2] as listed`. They are pressed by number or label.
//! - `the clock` stands for what is said because a time has come.
//! - Once any reply is written, all are compared, silence included. In a script without replies nothing is compared.

use chrono::{NaiveDate, NaiveTime};
use chrono_tz::Tz;
use holdfast_core::people::Role;

/// A script: its lines in order.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Script {
    /// The lines, each with the number of the line that it begins on, from 1.
    pub lines: Vec<(usize, Line)>,
}

/// What a line of a script is, the replies and further words under it included.
#[derive(Debug, Clone, PartialEq)]
pub enum Line {
    /// Nothing.
    Blank,
    /// Words for the reader of the script.
    Comment(String),
    /// The zone of its times.
    Zone(Tz),
    /// The date of the next time.
    Date(NaiveDate),
    /// A line of the settings file.
    Set(String),
    /// People of one role; `None` for guests.
    People(Option<Role>, Vec<Cast>),
    /// Something happens.
    Entry(Entry),
}

/// A person of the script.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cast {
    /// The name.
    pub name: String,
    /// The buyer's firm that the person speaks for.
    pub firm: Option<String>,
    /// The chat that the person speaks in, where it is not the crew's or the firm's.
    pub chat: Option<String>,
}

/// Something that happens at a time, and what is said to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// The local time.
    pub at: NaiveTime,
    /// What happens.
    pub part: Part,
    /// The replies written under it.
    pub replies: Vec<Reply>,
}

/// What happens.
#[derive(Debug, Clone, PartialEq)]
pub enum Part {
    /// The time comes.
    Clock,
    /// A person speaks.
    Person {
        /// Who.
        name: String,
        /// In which chat, where it is not the person's own.
        chat: Option<String>,
        /// What.
        spoken: Spoken,
    },
}

/// What a person can do in a script.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Spoken {
    /// Types a message.
    Says(String),
    /// Changes the own last message.
    Edits(String),
    /// Replies to the last line of the assistant that holds these words.
    Replies {
        /// Words of the line.
        to: String,
        /// The message.
        text: String,
    },
    /// Presses a button of the last line that has one so labelled or numbered.
    Presses(String),
    /// Pastes a packing list.
    List(String),
    /// Sends a file, found beside the script.
    File(String),
    /// Sends a picture: its name and a caption.
    Photo(String),
}

/// A reply as it is written in a script.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reply {
    /// The number of the line that it begins on; 0 for one that was found.
    pub line: usize,
    /// Its lines, the first with the chat in brackets where it is not the crew's.
    pub body: Vec<String>,
}
