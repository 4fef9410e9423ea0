//! The desk: one input in, events and replies out. Pure: the clock is an argument.

mod input;

pub use input::{Actor, Input, Outcome, Refusal, What};

use chrono::{DateTime, Utc};

use crate::journal::State;
use crate::settings::Settings;

/// Decides what comes of one input. Changes nothing: the frame made of the outcome is applied by whoever journals it.
///
/// The frame made of it has the number `state.seq + 1`.
pub fn step(state: &State, _settings: &Settings, input: &Input, _now: DateTime<Utc>) -> Outcome {
    let _ = state;
    Outcome {
        cause: crate::journal::Cause {
            key: input.key.clone(),
            kind: crate::journal::CauseKind::Message,
            speaker: None,
            said_at: input.said_at,
            acts: Vec::new(),
            dialogue_before: None,
        },
        events: Vec::new(),
        outgoing: Vec::new(),
        refusals: Vec::new(),
    }
}

/// The next moment at which the clock has something to do, if any.
pub fn next_wake(_state: &State) -> Option<DateTime<Utc>> {
    None
}
