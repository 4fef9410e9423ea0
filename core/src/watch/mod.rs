//! Watching fish: how they are, when to look again, whom to remind, when a lot is ready.
//!
//! Pure rules over facts; nothing here knows the books. Each rule is a settings structure with its defaults and their source.

pub mod clock;
pub mod condition;
pub mod nudge;
pub mod policy;
mod quiet;
pub mod schedule;
mod span;

pub use condition::Condition;
pub use quiet::Quiet;
pub use span::{Hours, Minutes, Percent, SpanError};
