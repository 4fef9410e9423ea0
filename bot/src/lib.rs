//! The shell of Holdfast: channels, store, clock and file readers around the pure core.

pub mod clock;
pub mod house;
pub mod settings;
pub mod store;
