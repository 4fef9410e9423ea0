//! The desk, driven by what people type.

mod alarms;
mod boxes;
mod correcting;
mod generator;
mod kinds;
mod laws;
mod lists;
mod looks;
mod names;
mod night;
mod order;
mod selling;
mod slips;
mod table;
mod tanks;
mod uneven;
mod watch;
