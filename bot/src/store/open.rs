//! Opening a store: comparing the trees with the journal, catching up, and making the trees anew.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use holdfast_core::journal::wire::{self, Linked};
use holdfast_core::journal::{Frame, State};

use super::disk::{Disk, DiskFile};
use super::error::{StoreError, disk as on_disk};
use super::export::park_until;
use super::index::{self, Counts, Outbox};
use super::journal_file::{Found, JournalFile, Lines, Link, Written, stated_hash, unchain};
use super::trees::{Tree, Trees, TreesError};
use super::{INDEX, JOURNAL, Keep, LOCK, Options, PARKED, Store};

/// What was found when a store was opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Report {
    /// Frames in the journal.
    pub frames: u64,
    /// How the state was come by.
    pub start: Start,
    /// Where a torn last line was set aside: it was being written when the power or the process went, and nobody was
    /// told that it was recorded.
    pub torn: Option<PathBuf>,
}

/// How the state was come by.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Start {
    /// There was nothing yet.
    New,
    /// From the trees, and so many frames that they had not seen yet.
    Kept {
        /// Frames read from the journal.
        caught_up: u64,
    },
    /// From the journal alone: the trees were missing or doubtful and were made anew.
    Rebuilt {
        /// What was wrong with the trees.
        why: String,
        /// Where the old trees were set aside, if there were any.
        set_aside: Option<PathBuf>,
    },
}

/// How many frames are indexed at once.
const GROUP: usize = 256;

impl Store {
    /// Opens the store in a folder of a disk.
    ///
    /// # Errors
    /// As for [`Store::open`].
    pub fn open_on(disk: Arc<dyn Disk>, folder: &Path, options: Options) -> Result<(Store, State, Report), StoreError> {
        disk.create_folder(folder).map_err(on_disk("make the store's folder"))?;
        let lock = disk.lock(&folder.join(LOCK)).map_err(on_disk("lock the store"))?;
        let lock = lock.ok_or_else(|| StoreError::InUse(folder.to_owned()))?;
        let journal_path = folder.join(JOURNAL);
        let trees_path = folder.join(INDEX);
        let has_journal = disk.exists(&journal_path).map_err(on_disk("look for the journal"))?;
        let has_trees = disk.exists(&trees_path).map_err(on_disk("look for the look-up trees"))?;
        let opened = if has_trees { open_trees(disk.as_ref(), &trees_path)? } else { Err("missing".to_owned()) };
        if let (false, Ok((_, Some(applied)))) = (has_journal, &opened) {
            return Err(StoreError::IndexAhead { journal: 0, index: applied.seq });
        }
        let mut file = disk.open(&journal_path).map_err(on_disk("open the journal"))?;
        // What a process before us left unsynced must be safe before it is built upon.
        file.sync_data().map_err(on_disk("sync the journal"))?;
        let is_empty = file.size().map_err(on_disk("read the journal"))? == 0;
        let parked_until = if is_empty {
            // What is noted is of an import that was broken off; frames that will be written here are none of its.
            forget_parked(disk.as_ref(), folder)?
        } else {
            parked_until(disk.as_ref(), &folder.join(PARKED))?
        };

        let kept = match opened {
            Ok((trees, Some(applied))) => match place_after(file.as_ref(), trees.as_ref(), &applied)? {
                Ok(offset) => load(trees.as_ref(), &applied)
                    .map(|loaded| (trees, loaded, applied, offset))
                    .map_err(|error| error.to_string()),
                Err(why) => Err(why),
            },
            Ok((_, None)) => Err("empty".to_owned()),
            Err(why) => Err(why),
        };
        // Before anything is changed: a journal with a wrong line stops the program, and everything stays as it was.
        let survey = match &kept {
            Ok((_, _, applied, offset)) => survey(file.as_ref(), *offset, applied, 0)?,
            Err(_) => survey(file.as_ref(), 0, &Link::first(), 0)?,
        };
        let mut begin = match kept {
            Ok((trees, loaded, applied, offset)) => {
                Begin { trees, loaded, applied, offset, start: Start::Kept { caught_up: 0 } }
            }
            Err(why) => {
                let set_aside = match has_trees && !(is_empty && why == "empty") {
                    true => Some(set_aside(disk.as_ref(), &trees_path)?),
                    false => None,
                };
                let start =
                    if is_empty && set_aside.is_none() { Start::New } else { Start::Rebuilt { why, set_aside } };
                Begin {
                    trees: disk.open_trees(&trees_path)?,
                    loaded: Loaded::default(),
                    applied: Link::first(),
                    offset: 0,
                    start,
                }
            }
        };

        let torn = end_last_line(disk.as_ref(), folder, &mut file, survey.unended)?;
        let Loaded { mut state, outbox, counts, tail_bytes, snapshot_bytes } = std::mem::take(&mut begin.loaded);
        let mut store = Store {
            disk: disk.clone(),
            folder: folder.to_owned(),
            options,
            journal: JournalFile::after(file, begin.applied.clone()).map_err(on_disk("read the journal"))?,
            trees: begin.trees,
            outbox,
            parked_until,
            counts,
            tail_bytes,
            snapshot_bytes,
            failed: false,
            _lock: lock,
        };
        let reader = disk.open(&journal_path).map_err(on_disk("open the journal"))?;
        let rebuilds = matches!(begin.start, Start::Rebuilt { .. });
        let read = store.replay(reader.as_ref(), begin.offset, &mut state, rebuilds)?;
        if let Start::Kept { caught_up } = &mut begin.start {
            *caught_up = read;
        }
        let report = Report { frames: store.last().seq, start: begin.start, torn };
        Ok((store, state, report))
    }

    /// Applies the journal's lines from an offset on. Returns how many.
    fn replay(
        &mut self,
        reader: &dyn DiskFile,
        offset: u64,
        state: &mut State,
        rebuilds: bool,
    ) -> Result<u64, StoreError> {
        let mut lines = Lines::from(reader, offset);
        let mut last = self.journal.last().clone();
        let before = last.seq;
        let mut frames: Vec<Frame> = Vec::new();
        let mut written: Vec<Written> = Vec::new();
        let keep = if rebuilds { Keep::Nothing } else { Keep::Lines };
        while let Some(found) = lines.next_line().map_err(on_disk("read the journal"))? {
            let (Linked { frame, .. }, link) = unchain(&found.bytes, &last)?;
            state.apply(&frame);
            last = link.clone();
            let line = String::from_utf8_lossy(&found.bytes).into_owned();
            written.push(Written { offset: found.offset, link, line });
            frames.push(frame);
            if frames.len() == GROUP {
                self.apply(&frames, &written, state, keep)?;
                frames.clear();
                written.clear();
            }
        }
        if rebuilds && last.seq > 0 {
            self.apply(&frames, &written, state, Keep::Snapshot)?;
        } else if !frames.is_empty() {
            self.apply(&frames, &written, state, keep)?;
        }
        if last.seq > before {
            self.trees.flush()?;
        }
        let read = last.seq - before;
        self.journal.set_last(last);
        Ok(read)
    }
}

/// Where a store begins: what the trees gave, and the journal's offset from which on it must be read.
struct Begin {
    trees: Box<dyn Trees>,
    loaded: Loaded,
    applied: Link,
    offset: u64,
    start: Start,
}

/// What the trees kept of the state and the outbox.
#[derive(Default)]
pub(super) struct Loaded {
    pub(super) state: State,
    pub(super) outbox: Outbox,
    counts: Counts,
    tail_bytes: usize,
    snapshot_bytes: usize,
}

pub(super) type Opened = (Box<dyn Trees>, Option<Link>);

/// Opens the trees and reads how far they are. The inner error is a doubt, which a rebuild answers.
pub(super) fn open_trees(disk: &dyn Disk, path: &Path) -> Result<Result<Opened, String>, StoreError> {
    let opened = disk.open_trees(path).and_then(|trees| {
        let applied = trees.get(Tree::Meta, index::APPLIED)?;
        let applied = applied.map(|value| index::read_applied(&value)).transpose()?;
        Ok((trees, applied))
    });
    match opened {
        Ok(opened) => Ok(Ok(opened)),
        Err(TreesError::InUse) => Err(TreesError::InUse.into()),
        Err(TreesError::Broken(why)) => Ok(Err(why)),
    }
}

/// The offset after the line that the trees saw last, if the journal has that line there. The inner error is a doubt;
/// the outer says that the trees saw what the journal does not hold.
fn place_after(file: &dyn DiskFile, trees: &dyn Trees, applied: &Link) -> Result<Result<u64, String>, StoreError> {
    let offset = trees.get(Tree::Frames, &applied.seq.to_be_bytes());
    if let Ok(Some(offset)) = offset.and_then(|value| value.map(|value| index::read_number(&value)).transpose()) {
        let found = Lines::from(file, offset).next_line().map_err(on_disk("read the journal"))?;
        if let Some(found) = found
            && found.ended
            && stated_hash(&found.bytes) == Some(&applied.hash)
            && wire_seq(&found.bytes) == Some(applied.seq)
        {
            return Ok(Ok(found.offset + found.bytes.len() as u64 + 1));
        }
    }
    // Not there: the whole journal must be read to tell a doubtful tree from a cut journal.
    let survey = survey(file, 0, &Link::first(), applied.seq)?;
    match survey.watched {
        None => Err(StoreError::IndexAhead { journal: survey.last.seq, index: applied.seq }),
        Some(hash) if hash != applied.hash => Err(StoreError::IndexDiffers { seq: applied.seq }),
        Some(_) => Ok(Err("a line is not where they say".to_owned())),
    }
}

/// What a stretch of the journal is like.
struct Survey {
    /// Its last good line.
    last: Link,
    /// The hash of the frame that was watched for, if it was met.
    watched: Option<String>,
    /// A last line without an end, and whether it is a whole frame nevertheless.
    unended: Option<(Found, bool)>,
}

/// Verifies the journal from an offset on, changing nothing.
fn survey(file: &dyn DiskFile, offset: u64, after: &Link, watch: u64) -> Result<Survey, StoreError> {
    let mut survey = Survey { last: after.clone(), watched: None, unended: None };
    let mut lines = Lines::from(file, offset);
    while let Some(found) = lines.next_line().map_err(on_disk("read the journal"))? {
        let unchained = unchain(&found.bytes, &survey.last);
        if let Ok((_, link)) = &unchained {
            survey.last = link.clone();
            if link.seq == watch {
                survey.watched = Some(link.hash.clone());
            }
        }
        if !found.ended {
            survey.unended = Some((found, unchained.is_ok()));
            break;
        }
        unchained?;
    }
    Ok(survey)
}

fn wire_seq(line: &[u8]) -> Option<u64> {
    let text = std::str::from_utf8(line).ok()?;
    wire::read_line(text).ok().map(|linked| linked.frame.seq)
}

/// Reads state and outbox from the trees, and counts what a cut database file may have lost without a word.
pub(super) fn load(trees: &dyn Trees, applied: &Link) -> Result<Loaded, TreesError> {
    let counts = trees.get(Tree::Meta, index::COUNTS)?.ok_or_else(|| index::broken(&"no counts"))?;
    let counts = index::read_counts(&counts)?;
    let Counts { sent, outbox, tail, due } = counts;
    let expected = [
        (Tree::Frames, applied.seq),
        (Tree::Seen, applied.seq),
        (Tree::Sent, sent),
        (Tree::Told, sent),
        (Tree::Outbox, outbox),
        (Tree::Tail, tail),
        (Tree::Due, due),
    ];
    for (tree, expected) in expected {
        let found = trees.count(tree)?;
        if found != expected {
            return Err(index::broken(&format!("\"{}\" holds {found} keys, not {expected}", tree.name())));
        }
    }
    let snapshot = trees.get(Tree::State, index::SNAPSHOT)?;
    let mut state = match &snapshot {
        Some(bytes) => wire::restore(bytes).map_err(|error| index::broken(&error))?,
        None => State::default(),
    };
    let mut tail_bytes = 0;
    let mut last_hash = None;
    for (_, line) in trees.scan(Tree::Tail, &[])? {
        tail_bytes += line.len();
        let text = std::str::from_utf8(&line).map_err(|error| index::broken(&error))?;
        let linked = wire::read_line(text).map_err(|error| index::broken(&error))?;
        if linked.frame.seq != state.seq + 1 {
            return Err(index::broken(&"a kept line is missing"));
        }
        state.apply(&linked.frame);
        last_hash = linked.hash;
    }
    if state.seq != applied.seq || last_hash.is_some_and(|hash| hash != applied.hash) {
        return Err(index::broken(&"the kept state is not that of the last frame"));
    }
    let mut outbox = Outbox::new();
    for (_, value) in trees.scan(Tree::Outbox, &[])? {
        let waiting = index::read_waiting(&value)?;
        outbox.insert(waiting.outgoing.id, waiting);
    }
    Ok(Loaded { state, outbox, counts, tail_bytes, snapshot_bytes: snapshot.map_or(0, |bytes| bytes.len()) })
}

/// Gives doubtful trees another name, so that they can be looked at.
fn set_aside(disk: &dyn Disk, trees: &Path) -> Result<PathBuf, StoreError> {
    let free = free_name(disk, trees, "set-aside")?;
    disk.rename(trees, &free).map_err(on_disk("set the look-up trees aside"))?;
    Ok(free)
}

fn free_name(disk: &dyn Disk, path: &Path, suffix: &str) -> Result<PathBuf, StoreError> {
    let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    for nth in 1_u32.. {
        let free = path.with_file_name(format!("{name}.{suffix}-{nth}"));
        if !disk.exists(&free).map_err(on_disk("look for a free name"))? {
            return Ok(free);
        }
    }
    unreachable!("a folder has fewer than four thousand million files")
}

/// Deals with a last line that has no end. A whole frame that lacks nothing else gets its end; anything less was never
/// acknowledged and goes into a file of its own.
fn end_last_line(
    disk: &dyn Disk,
    folder: &Path,
    file: &mut Box<dyn DiskFile>,
    unended: Option<(Found, bool)>,
) -> Result<Option<PathBuf>, StoreError> {
    let Some((found, is_whole)) = unended else {
        return Ok(None);
    };
    if is_whole {
        file.append(b"\n").map_err(on_disk("end the last line of the journal"))?;
        file.sync_data().map_err(on_disk("sync the journal"))?;
        return Ok(None);
    }
    let aside = free_name(disk, &folder.join(JOURNAL), "torn")?;
    let mut side = disk.open(&aside).map_err(on_disk("set a torn line aside"))?;
    side.append(&found.bytes).map_err(on_disk("set a torn line aside"))?;
    side.sync_data().map_err(on_disk("set a torn line aside"))?;
    file.truncate(found.offset).map_err(on_disk("cut a torn line off the journal"))?;
    file.sync_data().map_err(on_disk("sync the journal"))?;
    Ok(Some(aside))
}

/// The frame up to which an import's undelivered messages are parked.
fn parked_until(disk: &dyn Disk, path: &Path) -> Result<u64, StoreError> {
    let doing = || on_disk("read which messages are parked");
    if !disk.exists(path).map_err(doing())? {
        return Ok(0);
    }
    let file = disk.open(path).map_err(doing())?;
    let mut bytes = [0; 32];
    let read = file.read_at(0, &mut bytes).map_err(doing())?;
    let text = String::from_utf8_lossy(&bytes[..read]);
    text.trim().parse().map_err(std::io::Error::other).map_err(doing())
}

fn forget_parked(disk: &dyn Disk, folder: &Path) -> Result<u64, StoreError> {
    if disk.exists(&folder.join(PARKED)).map_err(on_disk("look for parked messages"))? {
        park_until(disk, folder, 0)?;
    }
    Ok(0)
}
