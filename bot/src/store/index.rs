//! What a frame puts into the look-up trees: pure, so that trees can always be made again from the journal.

use std::collections::BTreeMap;

use holdfast_core::journal::wire::{self, Unreadable};
use holdfast_core::journal::{CauseKind, Class, Delivery, Event, Frame, Outgoing, OutgoingId, State};
use holdfast_core::message::Place;
use serde::{Deserialize, Serialize};

use super::journal_file::{Link, Written};
use super::trees::{Batch, Change, Pair, Tree, TreesError};

/// An outgoing message that is not delivered yet, and what is known of trying.
#[derive(Debug, Clone, PartialEq)]
pub struct Waiting {
    /// The message.
    pub outgoing: Outgoing,
    /// How often it was handed to the platform.
    pub attempts: u32,
    /// Handed to the platform, and no answer kept: it may have arrived.
    pub in_flight: bool,
}

impl Waiting {
    /// A message that nobody tried to send.
    pub fn untried(outgoing: Outgoing) -> Self {
        Waiting { outgoing, attempts: 0, in_flight: false }
    }

    /// The order in which messages are sent: by class, then by number.
    pub fn rank(&self) -> (Class, OutgoingId) {
        (self.outgoing.class, self.outgoing.id)
    }
}

/// What waits to be sent, by number.
pub type Outbox = BTreeMap<OutgoingId, Waiting>;

/// The line of the assistant's that a platform message was.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Sent {
    /// The outgoing messages that went out as this one, in their order; several where the outbox joined them.
    pub outgoing: Vec<OutgoingId>,
    /// The places it spoke of.
    pub about: Vec<Place>,
}

/// The changes that one frame makes, but for the looks that are due. `outbox` is what waited before it.
pub fn index(frame: &Frame, written: &Written, outbox: &Outbox) -> Batch {
    let seq = frame.seq.to_be_bytes().to_vec();
    let mut batch = vec![
        Change::Put(Tree::Frames, seq.clone(), written.offset.to_be_bytes().to_vec()),
        Change::Put(Tree::Seen, frame.cause.key.clone().into_bytes(), seq),
    ];
    for outgoing in &frame.outgoing {
        batch.push(put_waiting(&Waiting::untried(outgoing.clone())));
    }
    if let CauseKind::Delivered { outgoing, outcome } = &frame.cause.kind
        && let Some(waiting) = outbox.get(outgoing)
    {
        batch.push(Change::Delete(Tree::Outbox, id_key(*outgoing)));
        if let Delivery::Sent(platform_id) = outcome {
            let mut key = sent_prefix(platform_id);
            key.extend(id_key(*outgoing));
            batch.push(Change::Put(Tree::Sent, key, to_json(&waiting.outgoing.about)));
            batch.push(Change::Put(Tree::Told, id_key(*outgoing), platform_id.clone().into_bytes()));
        }
    }
    batch
}

/// What waits after a frame.
pub fn advance(outbox: &mut Outbox, frame: &Frame) {
    if let CauseKind::Delivered { outgoing, .. } = &frame.cause.kind {
        outbox.remove(outgoing);
    }
    for outgoing in &frame.outgoing {
        outbox.insert(outgoing.id, Waiting::untried(outgoing.clone()));
    }
}

/// Whether a frame can change what is due.
pub fn touches_looks(frame: &Frame) -> bool {
    fn touches(event: &Event) -> bool {
        match event {
            Event::LookSet { .. } => true,
            Event::Withdrawn { undone, .. } => undone.iter().any(touches),
            _ => false,
        }
    }
    frame.events.iter().any(touches)
}

/// The looks that are due, written anew: there are few, and what they were before need not be known.
pub fn due(state: &State) -> Batch {
    let mut batch = vec![Change::Clear(Tree::Due)];
    for (vessel, look) in &state.looks {
        // The sign bit is turned over so that bytes sort as moments do, before 1970 too.
        let moment = look.due.timestamp_millis() ^ i64::MIN;
        let mut key = moment.to_be_bytes().to_vec();
        key.extend_from_slice(vessel.as_bytes());
        batch.push(Change::Put(Tree::Due, key, vessel.clone().into_bytes()));
    }
    batch
}

/// Keeps a line for the next start.
pub fn tail(written: &Written) -> Change {
    Change::Put(Tree::Tail, written.link.seq.to_be_bytes().to_vec(), written.line.clone().into_bytes())
}

/// A snapshot of the state takes the place of the lines kept.
pub fn snapshot(bytes: Vec<u8>) -> Batch {
    vec![Change::Clear(Tree::Tail), Change::Put(Tree::State, SNAPSHOT.to_vec(), bytes)]
}

/// How far the journal is applied.
pub fn applied(link: &Link) -> Change {
    let value = to_json(&(link.seq, &link.hash));
    Change::Put(Tree::Meta, APPLIED.to_vec(), value)
}

/// How many keys the trees hold that a start cannot count by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Counts {
    /// Keys of `sent`, and as many of `told`.
    pub sent: u64,
    /// Keys of `outbox`.
    pub outbox: u64,
    /// Keys of `tail`.
    pub tail: u64,
    /// Keys of `due`.
    pub due: u64,
}

/// The counts, kept beside what they count.
pub fn counts(counts: &Counts) -> Change {
    Change::Put(Tree::Meta, COUNTS.to_vec(), to_json(counts))
}

/// The key of the snapshot in [`Tree::State`].
pub const SNAPSHOT: &[u8] = b"snapshot";
/// The key of number and hash in [`Tree::Meta`].
pub const APPLIED: &[u8] = b"applied";
/// The key of the counts in [`Tree::Meta`].
pub const COUNTS: &[u8] = b"counts";

/// Reads number and hash.
///
/// # Errors
/// Where they are not what [`applied`] wrote.
pub fn read_applied(value: &[u8]) -> Result<Link, TreesError> {
    let (seq, hash) = from_json(value)?;
    Ok(Link { seq, hash })
}

/// Reads the counts.
///
/// # Errors
/// Where they are not what [`counts`] wrote.
pub fn read_counts(value: &[u8]) -> Result<Counts, TreesError> {
    from_json(value)
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct WaitingForm {
    outgoing: serde_json::Value,
    attempts: u32,
    in_flight: bool,
}

/// Keeps a waiting message as it is now.
pub fn put_waiting(waiting: &Waiting) -> Change {
    let form = format!(
        "{{\"outgoing\":{},\"attempts\":{},\"in_flight\":{}}}",
        wire::outgoing(&waiting.outgoing),
        waiting.attempts,
        waiting.in_flight
    );
    Change::Put(Tree::Outbox, id_key(waiting.outgoing.id), form.into_bytes())
}

/// Reads a waiting message.
///
/// # Errors
/// Where it is not what [`put_waiting`] wrote.
pub fn read_waiting(value: &[u8]) -> Result<Waiting, TreesError> {
    let WaitingForm { outgoing, attempts, in_flight } = from_json(value)?;
    let outgoing = wire::read_outgoing(&outgoing.to_string()).map_err(|error: Unreadable| broken(&error))?;
    Ok(Waiting { outgoing, attempts, in_flight })
}

/// The key of an outgoing message: frame and place, so that keys sort as they were said.
pub fn id_key(id: OutgoingId) -> Vec<u8> {
    let mut key = id.frame.to_be_bytes().to_vec();
    key.extend(id.nth.to_be_bytes());
    key
}

/// What the keys of one platform message begin with. Its length comes first, so that no id is the beginning of another.
pub fn sent_prefix(platform_id: &str) -> Vec<u8> {
    let mut key = (platform_id.len() as u64).to_be_bytes().to_vec();
    key.extend_from_slice(platform_id.as_bytes());
    key
}

/// What a platform message was, from the pairs under its prefix; `None` where there are none.
///
/// # Errors
/// Where a pair is not what [`index`] wrote.
pub fn read_sent(prefix_len: usize, pairs: &[Pair]) -> Result<Option<Sent>, TreesError> {
    let mut sent = Sent::default();
    for (key, value) in pairs {
        let (frame, nth) = key[prefix_len..].split_at_checked(8).ok_or_else(|| broken(&"a short key"))?;
        let frame = frame.try_into().map_err(|_| broken(&"a short key"))?;
        let nth = nth.try_into().map_err(|_| broken(&"a key of another length"))?;
        sent.outgoing.push(OutgoingId { frame: u64::from_be_bytes(frame), nth: u32::from_be_bytes(nth) });
        for place in from_json::<Vec<Place>>(value)? {
            if !sent.about.contains(&place) {
                sent.about.push(place);
            }
        }
    }
    Ok((!sent.outgoing.is_empty()).then_some(sent))
}

/// Reads a number.
///
/// # Errors
/// Where it is not eight bytes.
pub fn read_number(value: &[u8]) -> Result<u64, TreesError> {
    value.try_into().map(u64::from_be_bytes).map_err(|_| broken(&"a number that is not eight bytes"))
}

fn to_json<T: Serialize>(value: &T) -> Vec<u8> {
    // Writing to memory fails only for a map whose keys are not strings; there are no maps here.
    serde_json::to_vec(value).expect("plain values are JSON")
}

fn from_json<T: serde::de::DeserializeOwned>(value: &[u8]) -> Result<T, TreesError> {
    serde_json::from_slice(value).map_err(|error| broken(&error))
}

/// What is found in the trees is not what this program put there.
pub fn broken(why: &dyn std::fmt::Display) -> TreesError {
    TreesError::Broken(why.to_string())
}
