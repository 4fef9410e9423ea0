//! A pretended disk in memory: for rehearsals, and for tests that make it fail, crash and forget.

use std::collections::{BTreeMap, BTreeSet};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use super::disk::{Disk, DiskFile};
use super::trees::{Batch, Change, Pair, Tree, Trees, TreesError};

/// A disk in memory. Clones are the same disk; what they hold is shared with its copies until it is changed, because a
/// night of crashes copies its disk some thousand times.
#[derive(Clone, Default)]
pub struct MemoryDisk(Arc<Mutex<Inner>>);

/// What a crash leaves of that which was written and not yet synced.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kept {
    /// None of it.
    Nothing,
    /// The first half: a torn line.
    Half,
    /// All of it: the machine stayed up and only the process died.
    All,
}

#[derive(Clone, Default)]
struct Inner {
    files: BTreeMap<PathBuf, Contents>,
    trees: BTreeMap<PathBuf, Forest>,
    locks: BTreeSet<PathBuf>,
    calls: u64,
    fault: Option<(u64, Fault)>,
    dead: bool,
    /// Handles opened before a crash are of an earlier life and work no more.
    life: u64,
    lowest_read: BTreeMap<PathBuf, u64>,
    film: Option<Vec<Image>>,
}

/// What a crash at one call would leave to be restarted.
#[derive(Clone)]
pub struct Image {
    /// The call, as [`MemoryDisk::calls`] counts it.
    pub call: u64,
    /// The disk, dead.
    pub disk: MemoryDisk,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Fault {
    Fail,
    Crash,
}

#[derive(Clone, Default, PartialEq, Eq)]
struct Contents {
    now: Arc<Vec<u8>>,
    safe: Arc<Vec<u8>>,
}

#[derive(Clone, Default, PartialEq, Eq)]
struct Forest {
    safe: Arc<Planted>,
    unsafe_batches: Vec<Batch>,
    now: Arc<Planted>,
}

impl Forest {
    fn settle(&mut self) {
        self.unsafe_batches.clear();
        self.safe = self.now.clone();
    }
}

type Planted = BTreeMap<Tree, BTreeMap<Vec<u8>, Vec<u8>>>;

impl MemoryDisk {
    /// An empty disk.
    pub fn new() -> Self {
        Self::default()
    }

    /// Another disk that holds what this one holds now. Whoever locked this one has not locked the other.
    pub fn copy(&self) -> MemoryDisk {
        MemoryDisk(Arc::new(Mutex::new(self.inner().copy())))
    }

    /// From now on keeps, for each call, what a crash at it would leave.
    pub fn film(&self) {
        self.inner().film = Some(Vec::new());
    }

    /// What was kept since [`MemoryDisk::film`], which ends with this.
    pub fn take_film(&self) -> Vec<Image> {
        self.inner().film.take().unwrap_or_default()
    }

    /// Flushes the trees, as sled does by itself twice a second.
    pub fn settle(&self) {
        self.inner().trees.values_mut().for_each(Forest::settle);
    }

    /// Whether a process that starts now would find the same on both.
    pub fn holds_the_same(&self, other: &MemoryDisk) -> bool {
        let (one, other) = (self.inner(), other.inner());
        one.files == other.files && one.trees == other.trees
    }

    /// How many calls it has had.
    pub fn calls(&self) -> u64 {
        self.inner().calls
    }

    /// The `nth` call from now, counted from 1, fails; those after it work.
    pub fn fail_at(&self, nth: u64) {
        let mut inner = self.inner();
        inner.fault = Some((inner.calls + nth, Fault::Fail));
    }

    /// The `nth` call from now, counted from 1, fails, and so does every later one until [`MemoryDisk::restart`].
    pub fn crash_at(&self, nth: u64) {
        let mut inner = self.inner();
        inner.fault = Some((inner.calls + nth, Fault::Crash));
    }

    /// Whether it has crashed.
    pub fn is_dead(&self) -> bool {
        self.inner().dead
    }

    /// Comes up again, after a crash or by surprise, with what was synced and what else is to be kept.
    pub fn restart(&self, kept: Kept) {
        let mut inner = self.inner();
        inner.life += 1;
        inner.dead = false;
        inner.fault = None;
        inner.locks.clear();
        for contents in inner.files.values_mut() {
            let keep = match (kept, contents.now.strip_prefix(contents.safe.as_slice())) {
                (Kept::All, _) => contents.now.len(),
                (Kept::Half, Some(rest)) => contents.safe.len() + rest.len() / 2,
                (Kept::Half, None) | (Kept::Nothing, _) => {
                    contents.now.clone_from(&contents.safe);
                    contents.safe.len()
                }
            };
            Arc::make_mut(&mut contents.now).truncate(keep);
            contents.safe.clone_from(&contents.now);
        }
        for forest in inner.trees.values_mut() {
            let batches = std::mem::take(&mut forest.unsafe_batches);
            let keep = match kept {
                Kept::Nothing => 0,
                Kept::Half => batches.len() / 2,
                Kept::All => batches.len(),
            };
            for batch in batches.into_iter().take(keep) {
                plant(Arc::make_mut(&mut forest.safe), batch);
            }
            forest.now = forest.safe.clone();
        }
    }

    /// The bytes of a file, as a process would read them.
    pub fn contents(&self, path: &Path) -> Option<Vec<u8>> {
        self.inner().files.get(path).map(|contents| contents.now.to_vec())
    }

    /// Puts a file there, safely.
    pub fn put(&self, path: &Path, bytes: &[u8]) {
        let bytes = Arc::new(bytes.to_vec());
        let contents = Contents { now: bytes.clone(), safe: bytes };
        self.inner().files.insert(path.to_owned(), contents);
    }

    /// The files there are.
    pub fn files(&self) -> Vec<PathBuf> {
        self.inner().files.keys().cloned().collect()
    }

    /// Removes look-up trees.
    pub fn remove_trees(&self, folder: &Path) {
        self.inner().trees.remove(folder);
    }

    /// Changes look-up trees behind everybody's back, safely.
    pub fn meddle(&self, folder: &Path, batch: Batch) {
        let mut inner = self.inner();
        let forest = inner.trees.entry(folder.to_owned()).or_default();
        plant(Arc::make_mut(&mut forest.safe), batch.clone());
        plant(Arc::make_mut(&mut forest.now), batch);
    }

    /// The lowest offset at which a file was read since this was last asked.
    pub fn take_lowest_read(&self, path: &Path) -> Option<u64> {
        self.inner().lowest_read.remove(path)
    }

    fn inner(&self) -> MutexGuard<'_, Inner> {
        // A test that panicked while holding it has failed already; what it left is of no more consequence.
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Counts a call and fails it if its turn has come.
    fn enter(&self, life: Option<u64>) -> io::Result<MutexGuard<'_, Inner>> {
        let mut inner = self.inner();
        if !inner.is_up(life) {
            return Err(io::Error::other("the disk is gone"));
        }
        inner.calls += 1;
        inner.picture();
        match inner.fault {
            Some((at, fault)) if at == inner.calls => {
                inner.fault = None;
                inner.dead = fault == Fault::Crash;
                Err(io::Error::other("the disk failed"))
            }
            _ => Ok(inner),
        }
    }
}

impl Inner {
    fn copy(&self) -> Inner {
        Inner {
            files: self.files.clone(),
            trees: self.trees.clone(),
            calls: self.calls,
            life: self.life,
            dead: self.dead,
            ..Inner::default()
        }
    }

    /// Where a film is made, keeps how a crash at the present call would leave the disk; a later picture of the same
    /// call replaces the one before.
    fn picture(&mut self) {
        if self.film.is_none() {
            return;
        }
        let image = Inner { dead: true, ..self.copy() };
        let image = Image { call: self.calls, disk: MemoryDisk(Arc::new(Mutex::new(image))) };
        if let Some(film) = &mut self.film {
            film.retain(|earlier| earlier.call != image.call);
            film.push(image);
        }
    }

    fn is_up(&self, life: Option<u64>) -> bool {
        !self.dead && life.is_none_or(|life| life == self.life)
    }
}

fn plant(trees: &mut Planted, batch: Batch) {
    for change in batch {
        match change {
            Change::Put(tree, key, value) => {
                trees.entry(tree).or_default().insert(key, value);
            }
            Change::Delete(tree, key) => {
                trees.entry(tree).or_default().remove(&key);
            }
            Change::Clear(tree) => trees.entry(tree).or_default().clear(),
        }
    }
}

impl Disk for MemoryDisk {
    fn create_folder(&self, _folder: &Path) -> io::Result<()> {
        self.enter(None).map(drop)
    }

    fn exists(&self, path: &Path) -> io::Result<bool> {
        let inner = self.enter(None)?;
        Ok(inner.files.contains_key(path) || inner.trees.contains_key(path))
    }

    fn open(&self, path: &Path) -> io::Result<Box<dyn DiskFile>> {
        let mut inner = self.enter(None)?;
        inner.files.entry(path.to_owned()).or_default();
        Ok(Box::new(MemoryFile { disk: self.clone(), path: path.to_owned(), life: inner.life }))
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        let mut inner = self.enter(None)?;
        if let Some(contents) = inner.files.remove(from) {
            inner.files.insert(to.to_owned(), contents);
        } else if let Some(forest) = inner.trees.remove(from) {
            inner.trees.insert(to.to_owned(), forest);
        } else {
            return Err(io::Error::from(io::ErrorKind::NotFound));
        }
        Ok(())
    }

    fn lock(&self, path: &Path) -> io::Result<Option<Box<dyn Send>>> {
        let mut inner = self.enter(None)?;
        if !inner.locks.insert(path.to_owned()) {
            return Ok(None);
        }
        Ok(Some(Box::new(MemoryLock { disk: self.clone(), path: path.to_owned(), life: inner.life })))
    }

    fn open_trees(&self, folder: &Path) -> Result<Box<dyn Trees>, TreesError> {
        let mut inner = self.enter(None).map_err(gone)?;
        inner.trees.entry(folder.to_owned()).or_default();
        Ok(Box::new(MemoryTrees { disk: self.clone(), folder: folder.to_owned(), life: inner.life }))
    }
}

struct MemoryLock {
    disk: MemoryDisk,
    path: PathBuf,
    life: u64,
}

impl Drop for MemoryLock {
    fn drop(&mut self) {
        let mut inner = self.disk.inner();
        if inner.life == self.life {
            inner.locks.remove(&self.path);
        }
    }
}

struct MemoryFile {
    disk: MemoryDisk,
    path: PathBuf,
    life: u64,
}

impl MemoryFile {
    fn with<T>(&self, act: impl FnOnce(&mut Contents) -> T) -> io::Result<T> {
        let mut inner = self.disk.enter(Some(self.life))?;
        inner.files.get_mut(&self.path).map(act).ok_or_else(|| io::ErrorKind::NotFound.into())
    }
}

impl DiskFile for MemoryFile {
    fn size(&self) -> io::Result<u64> {
        self.with(|contents| contents.now.len() as u64)
    }

    fn read_at(&self, offset: u64, into: &mut [u8]) -> io::Result<usize> {
        let read = self.with(|contents| {
            let start = usize::try_from(offset).map_or(contents.now.len(), |start| start.min(contents.now.len()));
            let found = &contents.now[start..];
            let length = found.len().min(into.len());
            into[..length].copy_from_slice(&found[..length]);
            length
        })?;
        let mut inner = self.disk.inner();
        let lowest = inner.lowest_read.entry(self.path.clone()).or_insert(offset);
        *lowest = offset.min(*lowest);
        Ok(read)
    }

    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        let was_up = self.disk.inner().is_up(Some(self.life));
        let entered = self.disk.enter(Some(self.life)).map(drop);
        if was_up && let Some(contents) = self.disk.inner().files.get_mut(&self.path) {
            // A write that fails may have done part of its work, or all; what a crash keeps of it is told later.
            Arc::make_mut(&mut contents.now).extend_from_slice(bytes);
        }
        self.disk.inner().picture();
        entered
    }

    fn sync_data(&mut self) -> io::Result<()> {
        self.with(|contents| contents.safe.clone_from(&contents.now))
    }

    fn truncate(&mut self, size: u64) -> io::Result<()> {
        self.with(|contents| Arc::make_mut(&mut contents.now).truncate(usize::try_from(size).unwrap_or(usize::MAX)))
    }
}

struct MemoryTrees {
    disk: MemoryDisk,
    folder: PathBuf,
    life: u64,
}

impl MemoryTrees {
    fn with<T>(&self, act: impl FnOnce(&mut Forest) -> T) -> Result<T, TreesError> {
        let mut inner = self.disk.enter(Some(self.life)).map_err(gone)?;
        Ok(act(inner.trees.entry(self.folder.clone()).or_default()))
    }
}

fn gone(error: io::Error) -> TreesError {
    TreesError::Broken(error.to_string())
}

impl Trees for MemoryTrees {
    fn get(&self, tree: Tree, key: &[u8]) -> Result<Option<Vec<u8>>, TreesError> {
        self.with(|forest| forest.now.get(&tree).and_then(|tree| tree.get(key)).cloned())
    }

    fn scan(&self, tree: Tree, prefix: &[u8]) -> Result<Vec<Pair>, TreesError> {
        self.with(|forest| {
            let pairs = forest.now.get(&tree).into_iter().flatten();
            pairs.filter(|(key, _)| key.starts_with(prefix)).map(|(key, value)| (key.clone(), value.clone())).collect()
        })
    }

    fn count(&self, tree: Tree) -> Result<u64, TreesError> {
        self.with(|forest| forest.now.get(&tree).map_or(0, |tree| tree.len() as u64))
    }

    fn apply(&mut self, batch: Batch) -> Result<(), TreesError> {
        self.with(|forest| {
            plant(Arc::make_mut(&mut forest.now), batch.clone());
            forest.unsafe_batches.push(batch);
        })
    }

    fn flush(&mut self) -> Result<(), TreesError> {
        self.with(Forest::settle)
    }
}
