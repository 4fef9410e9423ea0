//! Events: what a record became, or which fish moved. Results only, never the settings they were decided by.
//!
//! Every event that sets a record carries it whole, so that taking an event back is the same event with the record
//! as it was before.

use super::record::{Entry, Look, Lot, Pending, Person, Reread, Reservation, Speaker, Vessel};
use crate::consignment::{
    BagRecord, BoxKey, BoxRecord, ColumnSaid, Consignment, ConsignmentNo, LotNo, Pack, ReservationNo,
};
use crate::message::Dialogue;
use crate::stock::Movement;

/// One thing that happened.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    /// A person spoke: the dialogue as it stands now.
    Heard {
        /// Who, where.
        speaker: Speaker,
        /// The reader's memory of the speaker.
        dialogue: Dialogue,
        /// The consignment whose boxes the speaker means when a number is open in two.
        consignment: Option<ConsignmentNo>,
    },
    /// Fish moved between two accounts.
    FishMoved(Movement),
    /// A consignment became this.
    ConsignmentSet {
        /// Which.
        no: ConsignmentNo,
        /// What it is now; `None` where it is none.
        to: Option<Consignment>,
    },
    /// A box became this.
    BoxSet {
        /// Which.
        key: BoxKey,
        /// What it is now.
        to: Option<BoxRecord>,
    },
    /// A bag became this.
    BagSet {
        /// Which.
        key: Pack,
        /// What it is now.
        to: Option<BagRecord>,
    },
    /// A vessel became this.
    VesselSet {
        /// Its name.
        name: String,
        /// What it is now.
        to: Option<Vessel>,
    },
    /// A lot became this.
    LotSet {
        /// Which.
        no: LotNo,
        /// What it is now.
        to: Option<Lot>,
    },
    /// The look due at a tank or tray became this.
    LookSet {
        /// The vessel's name.
        vessel: String,
        /// What it is now; `None` where none is due.
        to: Option<Look>,
    },
    /// A reservation became this.
    ReservationSet {
        /// Which.
        no: ReservationNo,
        /// What it is now.
        to: Option<Reservation>,
    },
    /// A log entry was written, or struck out.
    EntrySet {
        /// Its number.
        no: u64,
        /// The entry; `None` where it was struck out.
        to: Option<Entry>,
    },
    /// A person became this.
    PersonSet {
        /// The name.
        name: String,
        /// What the person is now; `None` for one who was removed.
        to: Option<Person>,
    },
    /// A buyer's firm became known, or was dropped.
    BuyerSet {
        /// The buyer's name.
        name: String,
        /// Whether it is a buyer now.
        known: bool,
    },
    /// A supplier's name for a fish was matched to the crew's.
    NameMatched {
        /// The supplier.
        supplier: String,
        /// The name as listed.
        listed_as: String,
        /// The crew's name; `None` where the match was taken back.
        to: Option<String>,
    },
    /// What is known of the columns of a supplier's lists became this.
    ColumnsSet {
        /// The supplier.
        supplier: String,
        /// What was said of them; `None` where nothing is.
        to: Option<Vec<ColumnSaid>>,
    },
    /// A list is to be read anew by the shell, or was.
    RereadSet {
        /// The number under which it is asked for.
        no: u64,
        /// What is to be read; `None` where it was.
        to: Option<Reread>,
    },
    /// A question was put, or is settled.
    QuestionSet {
        /// Its number.
        id: u64,
        /// The question; `None` where it no longer stands.
        to: Option<Pending>,
    },
    /// What an earlier frame recorded was taken back; `undone` holds the events that do it.
    Withdrawn {
        /// The frame.
        frame: u64,
        /// Counter-movements and records as they were before.
        undone: Vec<Event>,
    },
}
