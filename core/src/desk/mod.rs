//! The desk: one input in, events and replies out. Pure: the clock is an argument.

mod alarming;
mod answering;
mod asking;
mod bag_at_hand;
mod census;
mod columns;
mod draft;
mod forecasting;
mod importing;
mod input;
mod kinds;
mod listing;
mod moving;
mod naming;
mod narrowing;
mod opening;
mod opening_order;
mod ordering;
mod place;
mod planning;
mod reconciling;
mod refusal;
mod relisting;
mod reminding;
mod reporting;
mod selling;
mod step;
mod stocktake;
mod taking_over;
#[cfg(test)]
mod tests;
mod through;
mod unlisted;
mod vessel;
mod vocabulary;
mod watching;
mod withdraw;

pub use input::{Actor, Input, Outcome, What};
pub use refusal::Refusal;
pub use reminding::next_wake;
pub use step::step;
