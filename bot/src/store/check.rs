//! Checking a store: the journal's chain, whether the look-up trees say the same, whether the books balance.

use std::path::Path;
use std::sync::Arc;

use holdfast_core::journal::State;
use holdfast_core::stock::Fault;

use super::disk::Disk;
use super::error::{StoreError, disk as on_disk};
use super::index;
use super::journal_file::BadLine;
use super::memory::MemoryDisk;
use super::open::{Loaded, load, open_trees};
use super::trees::{Tree, Trees, TreesError};
use super::{INDEX, JOURNAL, LOCK, Options, PARKED, Store};

/// What a check found.
#[derive(Debug, Clone, PartialEq)]
pub struct Findings {
    /// Frames in the journal; none where it cannot be read to its end.
    pub frames: u64,
    /// What does not hold. Nothing was changed.
    pub problems: Vec<Problem>,
}

impl Findings {
    /// Whether all holds.
    pub fn is_sound(&self) -> bool {
        self.problems.is_empty()
    }
}

/// Something that does not hold.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Problem {
    /// A line of the journal is wrong.
    #[error(transparent)]
    Journal(BadLine),
    /// The last line of the journal is torn.
    #[error("the last line of the journal is torn; the next start sets it aside")]
    Torn,
    /// The look-up trees say something else.
    #[error("the look-up trees do not agree with the journal: {0}")]
    Trees(String),
    /// The books do not balance.
    #[error("the books do not balance: {0:?}")]
    Books(Fault),
}

/// Checks the store in a folder and changes nothing.
///
/// # Errors
/// Where the store is in use or the disk says no; what is wrong with the store itself is among the findings.
pub fn check(disk: &dyn Disk, folder: &Path) -> Result<Findings, StoreError> {
    let lock = disk.lock(&folder.join(LOCK)).map_err(on_disk("lock the store"))?;
    let _lock = lock.ok_or_else(|| StoreError::InUse(folder.to_owned()))?;
    let mut problems = Vec::new();

    // The same program that would make the trees anew makes them in memory, and then the two are laid side by side.
    let memory = MemoryDisk::new();
    for name in [JOURNAL, PARKED] {
        if let Some(bytes) = contents(disk, &folder.join(name))? {
            memory.put(&folder.join(name), &bytes);
        }
    }
    let (right, state) = match Store::open_on(Arc::new(memory), folder, Options::default()) {
        Ok((store, state, report)) => {
            problems.extend(report.torn.map(|_| Problem::Torn));
            (store, state)
        }
        Err(StoreError::Journal(bad)) => {
            return Ok(Findings { frames: 0, problems: vec![Problem::Journal(bad)] });
        }
        Err(other) => return Err(other),
    };
    problems.extend(state.books.faults().into_iter().map(Problem::Books));

    let trees = folder.join(INDEX);
    if !disk.exists(&trees).map_err(on_disk("look for the look-up trees"))? {
        problems.push(Problem::Trees("they are missing; the next start makes them anew".to_owned()));
    } else {
        match open_trees(disk, &trees)? {
            Err(why) => problems.push(Problem::Trees(why)),
            Ok((trees, None)) => {
                drop(trees);
                if state.seq > 0 {
                    problems.push(Problem::Trees("they are empty; the next start makes them anew".to_owned()));
                }
            }
            Ok((trees, Some(applied))) => {
                let differs = if applied == *right.last() {
                    differences(trees.as_ref(), &right, &state).unwrap_or_else(|error| vec![error.to_string()])
                } else {
                    vec![format!("they have seen frame {}, the journal ends with frame {}", applied.seq, state.seq)]
                };
                problems.extend(differs.into_iter().map(Problem::Trees));
            }
        }
    }
    Ok(Findings { frames: state.seq, problems })
}

/// Where trees that have seen the last frame differ from those made anew.
fn differences(trees: &dyn Trees, right: &Store, state: &State) -> Result<Vec<String>, TreesError> {
    let mut differences = Vec::new();
    for tree in [Tree::Frames, Tree::Seen, Tree::Sent, Tree::Told, Tree::Due] {
        if trees.scan(tree, &[])? != right.trees.scan(tree, &[])? {
            differences.push(format!("\"{}\" differs", tree.name()));
        }
    }
    let Loaded { state: kept, outbox, .. } = load(trees, right.last())?;
    if kept != *state {
        differences.push(format!("\"{}\" differs", Tree::State.name()));
    }
    // How often a message was tried is known to the trees alone.
    let messages =
        |outbox: &index::Outbox| -> Vec<_> { outbox.values().map(|waiting| waiting.outgoing.clone()).collect() };
    if messages(&outbox) != messages(&right.outbox) {
        differences.push(format!("\"{}\" differs", Tree::Outbox.name()));
    }
    Ok(differences)
}

fn contents(disk: &dyn Disk, path: &Path) -> Result<Option<Vec<u8>>, StoreError> {
    let doing = || on_disk(format!("read {}", path.display()));
    if !disk.exists(path).map_err(doing())? {
        return Ok(None);
    }
    let file = disk.open(path).map_err(doing())?;
    let size = file.size().map_err(doing())?;
    let mut bytes = vec![0; usize::try_from(size).map_err(std::io::Error::other).map_err(doing())?];
    let mut filled = 0;
    while filled < bytes.len() {
        match file.read_at(filled as u64, &mut bytes[filled..]).map_err(doing())? {
            0 => break,
            read => filled += read,
        }
    }
    bytes.truncate(filled);
    Ok(Some(bytes))
}
