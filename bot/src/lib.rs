//! The shell of Holdfast: channels, store, clock and file readers around the pure core.

pub mod channel;
pub mod cli;
pub mod clock;
pub mod house;
pub mod packing;
pub mod read;
pub mod reckon;
pub mod rehearse;
pub mod rooms;
pub mod settings;
pub mod store;
pub mod unread;
