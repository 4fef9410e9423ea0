//! What is kept of vessels, lots, looks, reservations, people and questions.

use chrono::{DateTime, Utc};
use rust_decimal::Decimal;

use crate::consignment::{BoxKey, ColumnSaid, ConsignmentNo, KeptFile, LineKey, LotNo, Pack, PackingList};
use crate::message::{Question, Said, VesselKind};
use crate::people::Role;
use crate::quantity::Finite;

/// Somebody speaking in one chat and topic: what a dialogue belongs to.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Speaker {
    /// The platform's chat.
    pub chat: String,
    /// The forum topic in it, where the chat has topics.
    pub topic: Option<String>,
    /// The person's name.
    pub person: String,
}

/// A tank, tray, tub, sump or tap.
#[derive(Debug, Clone, PartialEq)]
pub struct Vessel {
    /// What it is.
    pub kind: VesselKind,
    /// Its water.
    pub litres: Option<Finite>,
    /// The water system it shares with others.
    pub system: Option<String>,
}

/// Fish of one line that came into one tank.
#[derive(Debug, Clone, PartialEq)]
pub struct Lot {
    /// Whose fish.
    pub line: LineKey,
    /// The tank.
    pub tank: String,
    /// When the first of them came in.
    pub since: DateTime<Utc>,
    /// Held at least until then, and who decided; `None` after it was cleared whole.
    pub hold: Option<HoldUntil>,
    /// Weak ones among the living, as last counted.
    pub weak: u32,
    /// Price of one asked of buyers, with its currency.
    pub price: Option<(Decimal, String)>,
}

/// How long a lot is kept from sale.
#[derive(Debug, Clone, PartialEq)]
pub struct HoldUntil {
    /// The earliest end; `None` for a hold without an end, which only a lead lifts.
    pub until: Option<DateTime<Utc>>,
    /// The person's reason, or `None` where the site's rule set it.
    pub why: Option<String>,
}

/// A look that is due at a tank or tray.
#[derive(Debug, Clone, PartialEq)]
pub struct Look {
    /// When.
    pub due: DateTime<Utc>,
    /// Minutes from the look, or from a person's wish for this one, until it was to be; `None` where an old journal does not say.
    pub every_min: Option<u32>,
    /// Who asked for it, where a person did.
    pub asked_by: Option<String>,
    /// The chat (and topic) it is announced in.
    pub chat: String,
    /// The topic in that chat.
    pub topic: Option<String>,
    /// When it was announced.
    pub told: Option<DateTime<Utc>>,
    /// When it was nudged.
    pub nudged: Option<DateTime<Utc>>,
    /// When the lead was woken.
    pub woken: Option<DateTime<Utc>>,
    /// When the clock has something to say about it next; `None` once the lead was woken.
    pub next: Option<DateTime<Utc>>,
}

/// Fish of one lot promised to one buyer. How many are left is in the books.
#[derive(Debug, Clone, PartialEq)]
pub struct Reservation {
    /// The lot.
    pub lot: LotNo,
    /// The buyer's name.
    pub buyer: String,
    /// How many were promised.
    pub promised: u32,
    /// When.
    pub at: DateTime<Utc>,
    /// Where the buyer is told of changes: chat and topic.
    pub told_in: Option<(String, Option<String>)>,
}

/// Where a log entry belongs.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Spot {
    /// A box or bag.
    Pack(Pack),
    /// A tank, tray, tub, sump or tap.
    Vessel(String),
    /// A consignment as a whole.
    Consignment(ConsignmentNo),
    /// The night as a whole.
    House,
}

/// One line of the log: what was measured, done or seen, where, by whom and when.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Where.
    pub spot: Spot,
    /// When it happened, as far as is known.
    pub at: DateTime<Utc>,
    /// Who said it.
    pub by: String,
    /// What.
    pub what: Logged,
}

/// What a log entry states.
#[derive(Debug, Clone, PartialEq)]
pub enum Logged {
    /// Something said as an act that changes no account: a reading, swap, dose, observation or note.
    Act(Said),
    /// Deaths found in a tray or tank, of one line or undetermined.
    Deaths {
        /// How many.
        count: u32,
        /// Whose fish, where known.
        line: Option<LineKey>,
        /// The lot, where it was one.
        lot: Option<LotNo>,
    },
    /// A stock-take of a lot or tray: so many living.
    StockTake {
        /// Living fish found.
        living: u32,
        /// Living fish the books expected.
        booked: u32,
        /// Whose fish.
        line: LineKey,
    },
    /// A lot was cleared by a lead, with the conditions it did not meet and the reason given for going past them.
    Cleared {
        /// The lot.
        lot: LotNo,
        /// How many.
        count: u32,
        /// The lead's reason for going past the policy.
        anyway: Option<String>,
    },
    /// Fish left for a buyer.
    Shipped {
        /// The lot, or `None` for a box passed on unopened.
        lot: Option<LotNo>,
        /// The box passed on.
        through: Option<BoxKey>,
        /// How many.
        count: u32,
        /// To whom.
        buyer: String,
    },
}

/// An enrolled person.
#[derive(Debug, Clone, PartialEq)]
pub struct Person {
    /// What the person may do.
    pub role: Role,
    /// The buyer that the person speaks for; only buyers have one.
    pub buyer: Option<String>,
    /// The chat in which the person is reached.
    pub chat: Option<String>,
}

/// A question that waits for an answer, and what the desk does with it.
#[derive(Debug, Clone, PartialEq)]
pub struct Pending {
    /// To whom it was put.
    pub to: Speaker,
    /// The question as the reader knows it.
    pub question: Question,
    /// What it is about.
    pub matter: Matter,
}

/// What the answer to a desk's question decides.
#[derive(Debug, Clone, PartialEq)]
pub enum Matter {
    /// More fish than listed were counted: extra, or miscounted?
    Extra {
        /// The bag.
        pack: Pack,
        /// Whose fish.
        line: u32,
        /// How many more.
        count: u32,
    },
    /// A finished box has fish nobody counted: short, as listed, or still to do?
    Left {
        /// The box.
        of: BoxKey,
    },
    /// A number that is open in two consignments: whose? Then the acts are taken again.
    WhichConsignment {
        /// The acts, as read.
        acts: Vec<Said>,
        /// The candidates, in the order of the choices.
        among: Vec<ConsignmentNo>,
    },
    /// Fish of several lines could be meant: which? Then the act is taken again with that species.
    WhichLine {
        /// The act, as read.
        act: Box<Said>,
        /// Their species, in the order of the choices; a further last choice is "undetermined" where `or_undetermined`.
        among: Vec<String>,
        /// Whether the fish may stay undetermined.
        or_undetermined: bool,
    },
    /// Fish go to one of several buyers: which? Then the act is taken again for that one.
    WhichBuyer {
        /// The act, as read.
        act: Box<Said>,
        /// The candidates, in the order of the choices.
        among: Vec<String>,
    },
    /// A stock-take below the books: book them unaccounted?
    Unaccounted {
        /// The vessel.
        vessel: String,
        /// Whose fish.
        line: LineKey,
        /// How many are missing.
        count: u32,
    },
    /// A stock-take above the books: extra?
    Surplus {
        /// The vessel.
        vessel: String,
        /// Whose fish.
        line: LineKey,
        /// How many more.
        count: u32,
    },
    /// A vessel that was never declared: declare it and go on?
    NewVessel {
        /// Its name.
        name: String,
        /// The acts that wait.
        acts: Vec<Said>,
    },
    /// More dead or weak than the books have living there: all of them, another number, or more than the books have?
    /// Then the act is taken again with what was answered.
    Beyond {
        /// The count, as read; a correction stays one.
        act: Box<Said>,
        /// Whether the dead are too many, or else the weak.
        dead: bool,
        /// How many more than the books have.
        more: u32,
    },
    /// The same reservation was made minutes ago: once more?
    Again {
        /// The reservation, as read.
        act: Box<Said>,
    },
    /// The last thing that could be taken back was said long ago: that one?
    LongAgo {
        /// The frame that would be taken back.
        frame: u64,
    },
    /// A box that is on no list: whose is it?
    UnlistedBox {
        /// The box.
        number: u32,
        /// The open consignments, in the order of the choices; a further last choice is that its list is to come.
        among: Vec<ConsignmentNo>,
        /// The acts that wait for the answer.
        acts: Vec<Said>,
    },
    /// A consignment is announced: are the boxes opened without a list of it?
    Announced {
        /// Its supplier.
        supplier: String,
        /// How many boxes it has, where said.
        boxes: Option<u32>,
        /// The consignment under which those boxes are kept.
        opened: ConsignmentNo,
    },
    /// A packing list that is talked about: its doubts one by one, then whether it is booked.
    Listing(Box<Listing>),
    /// A packing list as read back, as it was asked once: import it?
    Import(Box<PackingList>),
    /// A name on a supplier's list fits several fish: which?
    WhichSpecies {
        /// The consignment.
        consignment: ConsignmentNo,
        /// The supplier, for whom the answer is remembered.
        supplier: String,
        /// The name as listed.
        listed_as: String,
        /// The candidates, in the order of the choices; a further last choice leaves it as listed.
        among: Vec<String>,
    },
}

/// A packing list on its way into the books.
#[derive(Debug, Clone, PartialEq)]
pub struct Listing {
    /// The list, as the answers so far have left it.
    pub list: PackingList,
    /// How many of its doubts were asked so far.
    pub asked: u32,
    /// The consignment whose list it takes the place of.
    pub replaces: Option<ConsignmentNo>,
    /// Opened boxes that are not on it any more, each with whether it stays as it was listed.
    pub gone: Vec<(u32, bool)>,
    /// Consignments announced without a list, each with whether this is theirs.
    pub whose: Vec<(ConsignmentNo, bool)>,
    /// Boxes opened before it came, each with whether it is of the consignment listed.
    pub theirs: Vec<(BoxKey, bool)>,
    /// Lines found before it came, each with the kind of fish on it that they are, counted from 0; `None` for none.
    pub matched: Vec<(LineKey, Option<u32>)>,
    /// What it was told of its columns.
    pub said: Vec<ColumnSaid>,
    /// What is asked now.
    pub stage: ListStage,
}

/// What is asked about a packing list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ListStage {
    /// The first of its doubts.
    Doubt,
    /// What becomes of an opened box that is not on it.
    Gone {
        /// The box.
        number: u32,
    },
    /// Which fish of the list those are that were found in a box before it came.
    Match {
        /// The box.
        of: BoxKey,
        /// The line under which they were found.
        line: u32,
        /// The kinds in that box, each with its number on the list from 0, in the order of the choices.
        among: Vec<(u32, String)>,
    },
    /// Whether it is the list of a consignment that was announced without one.
    Whose {
        /// The consignment announced.
        of: ConsignmentNo,
    },
    /// Whether boxes opened before it came are of the consignment listed.
    Theirs {
        /// The boxes.
        boxes: Vec<BoxKey>,
    },
    /// Whether it is booked.
    Confirm,
}

/// A list that the shell is to read anew.
#[derive(Debug, Clone, PartialEq)]
pub struct Reread {
    /// What the shell keeps of it.
    pub file: KeptFile,
    /// Its base name.
    pub name: String,
    /// What was said of its columns.
    pub columns: Vec<ColumnSaid>,
    /// To whom it is read back.
    pub to: Speaker,
    /// When that was said.
    pub said_at: DateTime<Utc>,
}
