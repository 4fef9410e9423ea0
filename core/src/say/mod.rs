//! Every wording a person sees, pure and snapshot-tested.

pub mod packing;
