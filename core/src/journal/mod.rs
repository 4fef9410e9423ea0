//! The journal: frames, events, and the state that they fold into.

mod event;
mod frame;
mod query;
mod record;
mod state;
pub mod wire;

pub use event::Event;
pub use frame::{Button, Cause, CauseKind, Class, Delivery, Frame, Outgoing, OutgoingId};
pub use query::{Living, Tally};
pub use record::{
    Entry, HoldUntil, ListStage, Listing, Logged, Look, Lot, Matter, Pending, Person, Reread, Reservation, Speaker,
    Spot, Vessel,
};
pub use state::{Recent, Spoken, State, fold, inverse_of};
