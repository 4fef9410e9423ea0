//! The reader: a typed message in, acts out. It knows no state; it is handed a vocabulary.

mod act;
mod answer;
mod asking;
mod attach;
mod correct;
mod dialogue;
mod doubt;
mod facts;
mod fixing;
mod item;
mod lexicon;
mod message_text;
mod names;
mod place;
mod place_words;
mod reader;
mod sign;
mod times;
mod token;
mod vocabulary;
mod word_map;

pub use act::{About, Act, Count, DoseUnit, Reading as Water, Said, Stage, State as AllOf, VesselKind};
pub use dialogue::{Carried, Choice, Dialogue, Question, Wanted};
pub use doubt::Doubt;
pub use place::Place;
pub use reader::{Reader, read};
pub use sign::Sign;
pub use vocabulary::{BoxWords, Gallon, LotWords, Vocabulary};

use chrono::{DateTime, Utc};

/// One message as it reached the house.
#[derive(Debug, Clone, PartialEq)]
pub struct Incoming {
    /// The sender's name.
    pub from: String,
    /// When it was said.
    pub at: DateTime<Utc>,
    /// The words.
    pub text: String,
    /// The places of the assistant's line that it replies to.
    pub re: Vec<Place>,
}

/// What a message says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Reading {
    /// What is certain.
    pub acts: Vec<Said>,
    /// What has to be asked before the rest is certain.
    pub ask: Option<Ask>,
    /// Words beside an act that were not understood.
    pub unread: Vec<String>,
    /// The choice taken, where the message answers a [`Wanted::Choice`]: question id and index.
    pub chosen: Option<(u64, usize)>,
    /// The supplier named in the message, whose box is meant.
    pub supplier: Option<String>,
    /// Places that the acts took from the reply or the dialogue: they do not stand in the message.
    pub carried: Vec<Place>,
    /// The memory to keep for this sender.
    pub dialogue: Dialogue,
}

/// A question back to the sender. Its words are in [`crate::say`].
#[derive(Debug, Clone, PartialEq)]
pub struct Ask {
    /// Why it cannot be read without guessing.
    pub doubt: Doubt,
    /// The question as it is kept in the dialogue.
    pub question: Question,
}

use facts::{
    FIELDS, Share as facts_share, dose_unit as facts_dose_unit, get as facts_get, normal as facts_normal,
    set as facts_set,
};

fn facts_fields() -> &'static [&'static str] {
    &FIELDS
}

#[cfg(test)]
mod paraphrase_tests;
#[cfg(test)]
mod tests;
