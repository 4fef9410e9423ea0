//! The trees on sled.
//!
//! sled 0.34 answers damage with errors, with panics, or with an empty database that opens without a word. So every
//! call is fenced against panics here, and [`super::Store`] compares what opens with the journal.

use std::borrow::Cow;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::time::Duration;

use sled::Transactional;
use sled::transaction::{ConflictableTransactionError, TransactionError};

use super::trees::{Batch, Change, Pair, Tree, Trees, TreesError};

/// Trees on sled.
pub struct SledTrees {
    database: sled::Db,
    trees: Vec<sled::Tree>,
}

impl SledTrees {
    /// Opens or makes the trees in a folder.
    ///
    /// # Errors
    /// Where another process has them, or they are broken in a way that sled notices.
    pub fn open(folder: &Path) -> Result<Self, TreesError> {
        let mut tries = 0;
        loop {
            match fenced(|| Self::open_once(folder)) {
                // A database that was just closed in this process lets go of its lock only after its threads ended.
                Err(TreesError::InUse) if tries < 40 => {
                    tries += 1;
                    std::thread::sleep(Duration::from_millis(50));
                }
                opened => return opened,
            }
        }
    }

    fn open_once(folder: &Path) -> sled::Result<Self> {
        let database = sled::Config::new().path(folder).open()?;
        let trees = Tree::ALL.iter().map(|tree| database.open_tree(tree.name())).collect::<sled::Result<_>>()?;
        Ok(SledTrees { database, trees })
    }

    fn tree(&self, tree: Tree) -> &sled::Tree {
        &self.trees[place_of(tree)]
    }
}

impl Trees for SledTrees {
    fn get(&self, tree: Tree, key: &[u8]) -> Result<Option<Vec<u8>>, TreesError> {
        fenced(|| Ok(self.tree(tree).get(key)?.map(|value| value.to_vec())))
    }

    fn scan(&self, tree: Tree, prefix: &[u8]) -> Result<Vec<Pair>, TreesError> {
        fenced(|| {
            let found = self.tree(tree).scan_prefix(prefix);
            found.map(|pair| pair.map(|(key, value)| (key.to_vec(), value.to_vec()))).collect()
        })
    }

    fn count(&self, tree: Tree) -> Result<u64, TreesError> {
        fenced(|| {
            let mut count = 0;
            for key in self.tree(tree).iter().keys() {
                key?;
                count += 1;
            }
            Ok(count)
        })
    }

    fn apply(&mut self, batch: Batch) -> Result<(), TreesError> {
        fenced(|| {
            let writes = self.writes_of(&batch)?;
            let applied = self.trees.as_slice().transaction(|trees| {
                for (tree, key, value) in &writes {
                    match value {
                        Some(value) => trees[*tree].insert(key.as_ref(), *value)?,
                        None => trees[*tree].remove(key.as_ref())?,
                    };
                }
                Ok::<(), ConflictableTransactionError<()>>(())
            });
            applied.map_err(|error| match error {
                TransactionError::Storage(error) => error,
                TransactionError::Abort(()) => sled::Error::Unsupported("a batch never aborts".to_owned()),
            })
        })
    }

    fn flush(&mut self) -> Result<(), TreesError> {
        fenced(|| self.database.flush().map(|_bytes| ()))
    }
}

/// One write in a transaction: the tree's place, the key, and its value, or `None` to remove it.
type Write<'a> = (usize, Cow<'a, [u8]>, Option<&'a [u8]>);

impl SledTrees {
    /// A transaction cannot clear a tree; the writer is alone, so the keys to remove can be listed before it.
    fn writes_of<'a>(&self, batch: &'a Batch) -> sled::Result<Vec<Write<'a>>> {
        let mut writes: Vec<Write<'a>> = Vec::new();
        for change in batch {
            match change {
                Change::Put(tree, key, value) => writes.push((place_of(*tree), key.into(), Some(value))),
                Change::Delete(tree, key) => writes.push((place_of(*tree), key.into(), None)),
                Change::Clear(tree) => {
                    let place = place_of(*tree);
                    writes.retain(|(earlier, ..)| *earlier != place);
                    for key in self.tree(*tree).iter().keys() {
                        writes.push((place, key?.to_vec().into(), None));
                    }
                }
            }
        }
        Ok(writes)
    }
}

fn place_of(tree: Tree) -> usize {
    tree as usize
}

/// Runs what may panic inside sled, and turns a panic into an error.
fn fenced<T>(call: impl FnOnce() -> sled::Result<T>) -> Result<T, TreesError> {
    match catch_unwind(AssertUnwindSafe(call)) {
        Ok(Ok(value)) => Ok(value),
        Ok(Err(sled::Error::Io(error))) if is_lock(&error) => Err(TreesError::InUse),
        Ok(Err(error)) => Err(TreesError::Broken(error.to_string())),
        Err(_) => Err(TreesError::Broken("sled panicked".to_owned())),
    }
}

/// sled wraps the error of its lock file into one of kind "other" that says so.
fn is_lock(error: &std::io::Error) -> bool {
    error.kind() == std::io::ErrorKind::WouldBlock || error.to_string().contains("could not acquire lock")
}
