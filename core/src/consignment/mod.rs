//! Consignments: the packing list as read, and the records kept of lines, boxes and bags.

mod list;

pub use list::{ListLine, PackingList};
