//! The desk, driven by what people type.

mod boxes;
mod night;
mod selling;
mod tanks;
mod watch;
