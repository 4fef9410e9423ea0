//! The desk, driven by what people type.

mod alarms;
mod boxes;
mod correcting;
mod generator;
mod kinds;
mod late_lists;
mod laws;
mod lists;
mod looks;
mod names;
mod night;
mod order;
mod plans;
mod selling;
mod slips;
mod table;
mod tanks;
mod through;
mod uneven;
mod watch;
