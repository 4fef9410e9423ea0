//! The journal's written form: JSON, in types of its own, so that the domain's may change without rewriting history.
//!
//! A frame is one line: `{"seq":1,"prev":"…","at":…,"cause":…,"events":[{"event":"box_set","v":1,…}],"outgoing":[…],
//! "hash":"…"}`. What is `None` is left out. Maps whose keys are not words are lists of pairs. An event or version
//! that is not known is an error which names it: a program that cannot read the whole journal must not go on.
//!
//! Small values that have a written contract already (acts, places, dialogues, keys, numbers) keep that form.

mod event;
mod frame;
mod goods;
mod mirror;
mod record;
#[cfg(test)]
pub(crate) mod samples;
mod snapshot;
mod stock;
#[cfg(test)]
mod tests;

use serde::de::DeserializeOwned;

use super::{Frame, Outgoing, State};

/// A frame as a line of the journal holds it: with the hash of the line before and, once written, its own.
#[derive(Debug, Clone, PartialEq)]
pub struct Linked {
    /// The frame.
    pub frame: Frame,
    /// The hash of the line before it, lower-case hexadecimal.
    pub prev: String,
    /// Its own hash; `None` in a line that was not hashed yet.
    pub hash: Option<String>,
}

/// Why a written form cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Unreadable {
    /// An event, or a version of one, that this program does not know: it was written by a newer one.
    #[error("event \"{event}\" version {version} is not known to this program; a newer one wrote it")]
    UnknownEvent {
        /// The event's name.
        event: String,
        /// Its version.
        version: u64,
    },
    /// Not the written form at all.
    #[error("not readable: {0}")]
    Malformed(String),
}

/// The line of a frame without its hash and without a line end. The same frame always gives the same bytes.
pub fn line(frame: &Frame, prev: &str) -> String {
    write(&frame::Line::of(frame.clone(), prev))
}

/// Reads a line, with or without a hash. Whether the hash is right is the file's to check.
///
/// # Errors
/// Where the line is not a frame, or holds an event that is not known.
pub fn read_line(line: &str) -> Result<Linked, Unreadable> {
    read::<frame::Line>(line).map(frame::Line::into_linked)
}

/// An outgoing message by itself.
pub fn outgoing(outgoing: &Outgoing) -> String {
    write(&frame::Outgoing::from(outgoing.clone()))
}

/// Reads an outgoing message.
///
/// # Errors
/// Where it is none.
pub fn read_outgoing(text: &str) -> Result<Outgoing, Unreadable> {
    read::<frame::Outgoing>(text).map(Outgoing::from)
}

/// The whole state, for [`restore`].
pub fn snapshot(state: &State) -> Vec<u8> {
    write(&snapshot::Snapshot::from(state)).into_bytes()
}

/// The state that [`snapshot`] was taken of.
///
/// # Errors
/// Where it is no snapshot, or one of another version.
pub fn restore(bytes: &[u8]) -> Result<State, Unreadable> {
    let text = std::str::from_utf8(bytes).map_err(|error| Unreadable::Malformed(error.to_string()))?;
    read::<snapshot::Snapshot>(text).map(State::from)
}

fn write<T: serde::Serialize>(value: &T) -> String {
    // Writing to memory fails only for a map whose keys are not strings, and the wire types have none.
    serde_json::to_string(value).expect("a wire type is JSON")
}

fn read<T: DeserializeOwned>(text: &str) -> Result<T, Unreadable> {
    serde_json::from_str(text).map_err(|error| {
        let unknown = serde_json::from_str(text).ok().and_then(|value| first_unknown(&value));
        unknown.unwrap_or_else(|| Unreadable::Malformed(error.to_string()))
    })
}

/// The first event in a value that this program does not know. Looked for only where reading failed already.
fn first_unknown(value: &serde_json::Value) -> Option<Unreadable> {
    use serde_json::Value;
    match value {
        Value::Array(items) => items.iter().find_map(first_unknown),
        Value::Object(fields) => {
            if let (Some(Value::String(event)), Some(Value::Number(version))) = (fields.get("event"), fields.get("v")) {
                let version = version.as_u64().unwrap_or(0);
                if !event::KNOWN.iter().any(|(name, known)| name == event && u64::from(*known) == version) {
                    return Some(Unreadable::UnknownEvent { event: event.clone(), version });
                }
            }
            fields.values().find_map(first_unknown)
        }
        _ => None,
    }
}
