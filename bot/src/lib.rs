//! The shell of Holdfast: channels, store, clock and file readers around the pure core.

pub mod packing;
