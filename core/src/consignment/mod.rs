//! Consignments: the packing list as read, and the records kept of lines, boxes and bags.

mod keys;
mod list;
mod record;

pub use keys::{BoxKey, ConsignmentNo, LineKey, LotNo, Pack, ReservationNo};
pub use list::{ListLine, PackingList};
pub use record::{BagRecord, BoxRecord, Census, Consignment, Content, Line, Standing};
