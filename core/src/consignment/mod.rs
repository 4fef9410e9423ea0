//! Consignments: the packing list as read, and the records kept of lines, boxes and bags.

mod column;
mod doubt;
mod keys;
mod list;
mod record;
mod size;

pub use column::{ColumnSaid, ColumnUse, KeptFile, ListColumn, Original};
pub use doubt::{Answer, Asks, ListDoubt, Unfit};
pub use keys::{BoxKey, ConsignmentNo, LineKey, LotNo, Pack, ReservationNo};
pub use list::{ListLine, PackingList};
pub use record::{BagRecord, BoxRecord, Census, Consignment, Content, Line, Standing};
pub use size::{Code, Size};
