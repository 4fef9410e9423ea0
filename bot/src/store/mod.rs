//! The store: the journal file, which is the truth, and trees for looking things up, which can be lost.
//!
//! A group of frames is appended to the journal, made safe with one fdatasync, and then indexed in one transaction.
//! Only after that may anything be said that depends on them.

mod check;
mod disk;
mod error;
mod export;
mod files;
mod index;
mod journal_file;
mod memory;
mod open;
mod sled_trees;
mod trees;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use holdfast_core::journal::{Frame, OutgoingId, State, wire};

pub use check::{Findings, Problem, check};
pub use disk::{Disk, DiskFile, RealDisk};
pub use error::StoreError;
pub use export::{Imported, each_frame, export, import};
pub use files::FILES;
pub use index::{Sent, Waiting};
pub use journal_file::{BadLine, LineFault, Link};
pub use memory::{Kept, MemoryDisk};
pub use open::{Report, Start};
pub use trees::{Batch, Change, Pair, Tree, Trees, TreesError};

use index::{Counts, Outbox};
use journal_file::{JournalFile, Written};

/// The journal's name in the store's folder.
pub const JOURNAL: &str = "journal.jsonl";
/// The folder of the look-up trees in the store's folder.
pub const INDEX: &str = "index";
/// The lock file's name in the store's folder.
const LOCK: &str = "lock";
/// Beside an imported journal: the last frame whose undelivered messages are not to be sent.
const PARKED: &str = "parked-until";

/// What can be chosen about a store.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Options {
    /// A snapshot is taken when the lines kept since the last one are as long as it was, but at least so many bytes.
    /// So all snapshots together cost no more than the lines, and a start reads at most twice the state.
    pub snapshot_floor: usize,
}

impl Default for Options {
    fn default() -> Self {
        Options { snapshot_floor: 256 * 1024 }
    }
}

/// An open store. One process has it at a time.
pub struct Store {
    disk: Arc<dyn Disk>,
    folder: PathBuf,
    options: Options,
    journal: JournalFile,
    trees: Box<dyn Trees>,
    outbox: Outbox,
    parked_until: u64,
    counts: Counts,
    tail_bytes: usize,
    snapshot_bytes: usize,
    failed: bool,
    _lock: Box<dyn Send>,
}

impl Store {
    /// Opens the store in a folder of the machine's disk, made where it is missing.
    ///
    /// # Errors
    /// Where another process has it, a line of the journal is wrong, or the trees know more than the journal.
    pub fn open(folder: &Path) -> Result<(Store, State, Report), StoreError> {
        Store::open_on(Arc::new(RealDisk), folder, Options::default())
    }

    /// The number and hash of the last frame.
    pub fn last(&self) -> &Link {
        self.journal.last()
    }

    /// The store's folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Writes frames: appends all, one fdatasync, then the look-up trees. `after` is the state after the last of them.
    ///
    /// # Errors
    /// Those of the disk and the trees. After one the store takes nothing more, and nothing of these frames may be
    /// released: whether they are kept shows when the store is opened again.
    pub fn commit(&mut self, frames: &[Frame], after: &State) -> Result<(), StoreError> {
        if self.failed {
            return Err(StoreError::Failed);
        }
        for (frame, expected) in frames.iter().zip(self.last().seq + 1..) {
            if frame.seq != expected {
                return Err(StoreError::NotNext { found: frame.seq, expected });
            }
        }
        if frames.is_empty() {
            return Ok(());
        }
        // Set before and taken back after, so that no way out leaves it as if nothing had happened.
        self.failed = true;
        let written = self.journal.append(frames).map_err(error::disk("write the journal"))?;
        self.apply(frames, &written, after, Keep::Lines)?;
        self.failed = false;
        Ok(())
    }

    /// Indexes frames that are in the journal already.
    fn apply(&mut self, frames: &[Frame], written: &[Written], after: &State, keep: Keep) -> Result<(), StoreError> {
        let mut batch = Batch::new();
        for (frame, written) in frames.iter().zip(written) {
            let changes = index::index(frame, written, &self.outbox);
            let sent = changes.iter().filter(|change| matches!(change, Change::Put(Tree::Sent, ..)));
            self.counts.sent += sent.count() as u64;
            batch.extend(changes);
            index::advance(&mut self.outbox, frame);
            if keep == Keep::Lines {
                batch.push(index::tail(written));
                self.counts.tail += 1;
                self.tail_bytes += written.line.len();
            }
        }
        if frames.iter().any(index::touches_looks) {
            batch.extend(index::due(after));
            self.counts.due = after.looks.len() as u64;
        }
        if keep == Keep::Snapshot || self.tail_bytes >= self.options.snapshot_floor.max(self.snapshot_bytes) {
            let snapshot = wire::snapshot(after);
            self.snapshot_bytes = snapshot.len();
            self.tail_bytes = 0;
            self.counts.tail = 0;
            batch.extend(index::snapshot(snapshot));
        }
        self.counts.outbox = self.outbox.len() as u64;
        if let Some(last) = written.last() {
            batch.push(index::counts(&self.counts));
            batch.push(index::applied(&last.link));
        }
        Ok(self.trees.apply(batch)?)
    }

    /// The frame that an input with this platform key made, if it was taken in before.
    ///
    /// # Errors
    /// Where the trees are broken.
    pub fn seen(&self, key: &str) -> Result<Option<u64>, StoreError> {
        match self.trees.get(Tree::Seen, key.as_bytes())? {
            Some(value) => Ok(Some(index::read_number(&value)?)),
            None => Ok(None),
        }
    }

    /// What the platform's message with this id said, if it was the assistant's. The id must be one by itself, so
    /// where a platform counts messages by chat, it contains the chat.
    ///
    /// # Errors
    /// Where the trees are broken.
    pub fn sent(&self, platform_id: &str) -> Result<Option<Sent>, StoreError> {
        let prefix = index::sent_prefix(platform_id);
        let pairs = self.trees.scan(Tree::Sent, &prefix)?;
        Ok(index::read_sent(prefix.len(), &pairs)?)
    }

    /// The platform's id of an outgoing message, if it was sent: for editing what it `replaces`.
    ///
    /// # Errors
    /// Where the trees are broken.
    pub fn sent_as(&self, id: OutgoingId) -> Result<Option<String>, StoreError> {
        let value = self.trees.get(Tree::Told, &index::id_key(id))?;
        let text = value.map(String::from_utf8).transpose();
        text.map_err(|error| index::broken(&error).into())
    }

    /// What waits to be sent, in the order in which it is to be sent: by class, then by number.
    pub fn undelivered(&self) -> Vec<Waiting> {
        let mut waiting: Vec<Waiting> =
            self.outbox.values().filter(|waiting| !self.is_parked(waiting)).cloned().collect();
        waiting.sort_by_key(Waiting::rank);
        waiting
    }

    /// What came with an import and was not delivered where it came from: listed, never sent.
    pub fn parked(&self) -> Vec<Waiting> {
        self.outbox.values().filter(|waiting| self.is_parked(waiting)).cloned().collect()
    }

    fn is_parked(&self, waiting: &Waiting) -> bool {
        waiting.outgoing.id.frame <= self.parked_until
    }

    /// Notes, before a message is handed to the platform, that it will be. Returns how often it was by now, this time
    /// included; `None` where it does not wait.
    ///
    /// # Errors
    /// Where the trees are broken; then it must not be sent.
    pub fn mark_in_flight(&mut self, id: OutgoingId) -> Result<Option<u32>, StoreError> {
        self.mark(id, |waiting| {
            waiting.attempts += 1;
            waiting.in_flight = true;
        })
    }

    /// Notes that the platform surely did not take a message, so that it may be tried again without doubt.
    ///
    /// # Errors
    /// Where the trees are broken.
    pub fn mark_not_taken(&mut self, id: OutgoingId) -> Result<Option<u32>, StoreError> {
        self.mark(id, |waiting| waiting.in_flight = false)
    }

    fn mark(&mut self, id: OutgoingId, change: impl FnOnce(&mut Waiting)) -> Result<Option<u32>, StoreError> {
        if self.failed {
            return Err(StoreError::Failed);
        }
        let Some(waiting) = self.outbox.get_mut(&id) else {
            return Ok(None);
        };
        change(waiting);
        let (attempts, put) = (waiting.attempts, index::put_waiting(waiting));
        let kept = self.trees.apply(vec![put]).and_then(|()| self.trees.flush());
        self.failed = kept.is_err();
        kept?;
        Ok(Some(attempts))
    }
}

/// What is kept for the next start.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Keep {
    /// The lines, and a snapshot when there are many.
    Lines,
    /// Nothing yet: a rebuild is on its way and will end with a snapshot.
    Nothing,
    /// A snapshot now.
    Snapshot,
}
