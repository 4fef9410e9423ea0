//! The pure core of Holdfast: time, settings and messages are arguments; nothing here reads a disk, a socket or a clock.

pub mod consignment;
pub mod desk;
pub mod journal;
pub mod message;
pub mod people;
pub mod quantity;
pub mod say;
pub mod settings;
pub mod species;
pub mod stock;
pub mod watch;
pub mod water;
