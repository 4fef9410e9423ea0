//! Rehearsals: a scripted night, played on a virtual clock and a throw-away store. Its format is told in [`script`].

mod parse;
mod play;
mod print;
pub mod script;
#[cfg(test)]
mod tests;

pub use parse::{Unreadable, parse};
pub use play::{Difference, Enrolment, Played, play};
pub use print::{chat_line, print};
pub use script::{Cast, Entry, Line, Part, Reply, Script, Spoken};

/// The built-in sample night.
pub const SAMPLE_NIGHT: &str = include_str!("sample.night");
