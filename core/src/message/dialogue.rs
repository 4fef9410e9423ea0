//! What stands between the assistant and one sender in one chat and topic.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use super::{Place, Said};

/// The reader's memory of one sender: the carried place, the open question, the last acts.
///
/// It is kept in State, handed to [`super::read`] and replaced by what comes back.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Dialogue {
    /// The place or places last named or used, and when.
    pub carried: Option<Carried>,
    /// The question that waits for this sender's answer.
    pub question: Option<Question>,
    /// Acts of the last message that recorded anything; what "sorry 5 not 4" corrects.
    pub last: Vec<Said>,
    /// Acts of messages before that, the newest first; bounded.
    #[serde(default)]
    pub earlier: Vec<Said>,
    /// Where the last move came from, for "rest into A7".
    pub moved_from: Option<Place>,
    /// The tongue beside English that the sender spoke last, as its file is named; empty for none. It decides where a message
    /// could be of two.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub tongue: String,
}

/// A carried place and the moment it was last named or used.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Carried {
    /// The place last in the text; several where one act spoke of several.
    pub places: Vec<Place>,
    /// When.
    pub at: DateTime<Utc>,
}

/// A question put to one person, made by the reader or the desk, answered by text or button.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Question {
    /// Numbered by the desk; 0 while the reader alone has made it.
    pub id: u64,
    /// The acts that wait for the answer, without the field asked for. Empty where only the desk can act.
    pub partial: Vec<Said>,
    /// What would answer it.
    pub wanted: Wanted,
    /// The moment after which it no longer stands.
    pub expires: DateTime<Utc>,
}

/// What kind of word answers a question.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Wanted {
    /// A place for the partial acts.
    Place,
    /// A number for the named field of the partial act ("dead", "weak", "count").
    Number(String),
    /// A unit for the partial dose or reading.
    Unit,
    /// A product for the partial dose.
    Product,
    /// A lot.
    Lot,
    /// One of these. The reader says which; the desk knows what it means.
    Choice(Vec<Choice>),
    /// A number for the named field of the partial act, or one of these. A number is always the field's, never the
    /// place of a choice in the list.
    NumberOr(String, Vec<Choice>),
    /// One of these fish, by their names in the vocabulary, for the partial acts.
    Species(Vec<String>),
}

impl Wanted {
    /// The choices that stand on buttons; none where the answer is typed.
    pub fn choices(&self) -> &[Choice] {
        match self {
            Wanted::Choice(choices) | Wanted::NumberOr(_, choices) => choices,
            Wanted::Place | Wanted::Number(_) | Wanted::Unit | Wanted::Product | Wanted::Lot | Wanted::Species(_) => {
                &[]
            }
        }
    }
}

/// One way to answer a choice.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Choice {
    /// What stands on the button.
    pub label: String,
    /// Further words that mean it, lower case ("yes", "y", "sí").
    pub words: Vec<String>,
}
