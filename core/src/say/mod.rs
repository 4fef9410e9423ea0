//! Every wording a person sees, pure and snapshot-tested.

pub mod ask;
pub mod packing;
pub mod recorded;
pub mod terminal;
