//! Why the domain said no, as data. The words are in [`crate::say::refusal`].

use chrono::{DateTime, Utc};

use crate::message::Place;
use crate::people::Power;

/// Why the domain said no. A refusal is not a failure: it is answered, and nothing is recorded.
#[derive(Debug, Clone, PartialEq)]
pub enum Refusal {
    /// The person's role does not have this power.
    MayNot {
        /// The power.
        power: Power,
    },
    /// No open consignment has that box.
    NoSuchBox {
        /// Its number.
        number: u32,
    },
    /// No such lot.
    NoSuchLot {
        /// Its number.
        number: u32,
    },
    /// The act cannot be done at that kind of place.
    WrongKindOfPlace {
        /// Where.
        at: Place,
        /// Where it can be done, in plain words.
        wanted: &'static str,
    },
    /// Fewer fish are there than the act needs.
    NotThere {
        /// Where.
        at: Place,
        /// Which fish.
        species: Option<String>,
        /// How many are there.
        there: u32,
        /// How many were asked for.
        asked: u32,
        /// Of those there, how many are promised to buyers.
        promised: u32,
    },
    /// None of the fish named is known there.
    NoSuchFish {
        /// Where.
        at: Option<Place>,
        /// Which fish.
        species: String,
    },
    /// Fish nobody has booked were counted without their name.
    WhichFish {
        /// Where.
        at: Place,
    },
    /// Fewer dead are in the books than came round.
    FewerDead {
        /// Where.
        at: Place,
        /// How many dead the books have.
        dead: u32,
        /// How many came round.
        revived: u32,
    },
    /// The destination belongs to another consignment.
    OtherConsignment {
        /// The destination.
        to: Place,
    },
    /// The fish are there already.
    AlreadyThere {
        /// Where.
        at: Place,
    },
    /// The box is on a later flight, lost or passed on.
    NotHere {
        /// The box.
        number: u32,
        /// What it is, in plain words.
        standing: &'static str,
    },
    /// No open consignment meant has an unopened box.
    NothingToPassOn,
    /// A box that was opened cannot be passed on unopened.
    AlreadyOpened {
        /// The box.
        number: u32,
    },
    /// The lot does not meet the release policy.
    NotReady {
        /// The lot's tank.
        at: Place,
        /// The conditions that are not met, each in words with its fact.
        unmet: Vec<String>,
        /// The conditions that are met, likewise.
        met: Vec<String>,
    },
    /// All of them are cleared already.
    ClearedAlready {
        /// Where.
        at: Place,
        /// How many are free for sale or reserved.
        fish: u32,
    },
    /// The fish are not cleared.
    NotCleared {
        /// Where.
        at: Place,
        /// How many of them are cleared.
        cleared: u32,
        /// How many were asked for.
        asked: u32,
    },
    /// Too few cleared fish of that kind.
    TooFewCleared {
        /// Which fish.
        species: String,
        /// How many are cleared and free.
        free: u32,
        /// How many were asked for.
        asked: u32,
    },
    /// No such buyer is known.
    NoSuchBuyer {
        /// The name as said, if any.
        name: Option<String>,
    },
    /// Nothing of the speaker's is left to take back.
    NothingToUndo,
    /// The line replied to recorded nothing, or nothing that still stands.
    NothingInLine,
    /// What somebody else said is to be taken back, and it is not said which.
    UndoByReply {
        /// Whose words.
        name: String,
    },
    /// A later frame stands in the way of taking one back.
    StandsInTheWay {
        /// When it was said.
        at: DateTime<Utc>,
        /// By whom.
        by: String,
        /// What it recorded, as a clause.
        what: String,
    },
    /// Taking it back would leave an account below nothing.
    FishMovedOn,
    /// A buyer wants back what the house has since built on.
    OnlyTheHouse,
    /// Nothing of the speaker's fits the correction.
    NothingToFix {
        /// Where it would have been.
        at: Option<Place>,
    },
    /// Nothing is due that could be put off.
    NothingToPutOff,
    /// The list was imported already.
    AlreadyImported {
        /// What tells: the airway bill or the invoice.
        by: String,
    },
    /// Something is said of a list's columns while no list is talked about that the house could read again.
    NoListAtHand,
    /// The list holds no line that can be imported.
    NothingOnList {
        /// What the reader of the list says of it.
        questions: Vec<String>,
    },
    /// The time said is already past.
    PastTime {
        /// As said.
        said: String,
    },
    /// Nobody of that name is enrolled.
    NoSuchPerson {
        /// The name.
        name: String,
    },
    /// The last lead cannot be removed.
    LastLead,
}
