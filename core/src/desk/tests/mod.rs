//! The desk, driven by what people type.

mod boxes;
mod correcting;
mod generator;
mod laws;
mod lists;
mod night;
mod selling;
mod table;
mod tanks;
mod watch;
