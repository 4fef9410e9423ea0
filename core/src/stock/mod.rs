//! Fish are double-entry: every fish of a line is in exactly one account, and only whole numbers move between two.

mod account;
mod books;

pub use account::{Account, Certainty, Purse};
pub use books::{Books, Fault, Held, Movement};
