//! The few things asked of a disk, so that a test can make one fail or forget what was not synced.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Write};
use std::os::unix::fs::FileExt;
use std::path::Path;

use super::sled_trees::SledTrees;
use super::trees::{Trees, TreesError};

/// A disk. [`RealDisk`] is the machine's, [`super::MemoryDisk`] a pretended one.
pub trait Disk: Send + Sync {
    /// Makes a folder and those above it, if they are not there.
    ///
    /// # Errors
    /// Those of the disk, as for all calls here.
    fn create_folder(&self, folder: &Path) -> io::Result<()>;

    /// Whether a file or folder is there.
    ///
    /// # Errors
    /// Those of the disk.
    fn exists(&self, path: &Path) -> io::Result<bool>;

    /// Opens a file for reading and appending. A new one's name is safe on disk when this returns.
    ///
    /// # Errors
    /// Those of the disk.
    fn open(&self, path: &Path) -> io::Result<Box<dyn DiskFile>>;

    /// Gives a file or folder another name in the same folder. The new name is safe on disk when this returns.
    ///
    /// # Errors
    /// Those of the disk.
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()>;

    /// Takes the lock that keeps a second process out, until the guard is dropped; `None` where another holds it.
    ///
    /// # Errors
    /// Those of the disk.
    fn lock(&self, path: &Path) -> io::Result<Option<Box<dyn Send>>>;

    /// Opens the look-up trees in a folder of their own, made where it is missing.
    ///
    /// # Errors
    /// Where they are in use or broken.
    fn open_trees(&self, folder: &Path) -> Result<Box<dyn Trees>, TreesError>;
}

/// An open file.
pub trait DiskFile: Send {
    /// Its length in bytes.
    ///
    /// # Errors
    /// Those of the disk, as for all calls here.
    fn size(&self) -> io::Result<u64>;

    /// Reads from an offset; fewer bytes than asked, down to none, at the end.
    ///
    /// # Errors
    /// Those of the disk.
    fn read_at(&self, offset: u64, into: &mut [u8]) -> io::Result<usize>;

    /// Writes all bytes at the end. They are safe only after [`DiskFile::sync_data`].
    ///
    /// # Errors
    /// Those of the disk; then some of the bytes may have been written.
    fn append(&mut self, bytes: &[u8]) -> io::Result<()>;

    /// Makes what was written safe (fdatasync).
    ///
    /// # Errors
    /// Those of the disk. What was written since the last success is then unknown, and trying again proves nothing.
    fn sync_data(&mut self) -> io::Result<()>;

    /// Cuts the file to this length.
    ///
    /// # Errors
    /// Those of the disk.
    fn truncate(&mut self, size: u64) -> io::Result<()>;
}

/// The machine's disk.
#[derive(Debug, Clone, Copy, Default)]
pub struct RealDisk;

impl Disk for RealDisk {
    fn create_folder(&self, folder: &Path) -> io::Result<()> {
        if folder.as_os_str().is_empty() || folder.is_dir() {
            return Ok(());
        }
        fs::create_dir_all(folder)?;
        sync_folder_of(folder)
    }

    fn exists(&self, path: &Path) -> io::Result<bool> {
        path.try_exists()
    }

    fn open(&self, path: &Path) -> io::Result<Box<dyn DiskFile>> {
        let is_new = !path.try_exists()?;
        let file = OpenOptions::new().read(true).append(true).create(true).open(path)?;
        if is_new {
            // Else a power cut could leave synced contents without a name.
            file.sync_all()?;
            sync_folder_of(path)?;
        }
        Ok(Box::new(RealFile(file)))
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        fs::rename(from, to)?;
        sync_folder_of(to)
    }

    fn lock(&self, path: &Path) -> io::Result<Option<Box<dyn Send>>> {
        let file = OpenOptions::new().write(true).create(true).truncate(false).open(path)?;
        match file.try_lock() {
            Ok(()) => Ok(Some(Box::new(file))),
            Err(TryLockError::WouldBlock) => Ok(None),
            Err(TryLockError::Error(error)) => Err(error),
        }
    }

    fn open_trees(&self, folder: &Path) -> Result<Box<dyn Trees>, TreesError> {
        Ok(Box::new(SledTrees::open(folder)?))
    }
}

fn sync_folder_of(path: &Path) -> io::Result<()> {
    let parent = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    File::open(parent)?.sync_all()
}

struct RealFile(File);

impl DiskFile for RealFile {
    fn size(&self) -> io::Result<u64> {
        Ok(self.0.metadata()?.len())
    }

    fn read_at(&self, offset: u64, into: &mut [u8]) -> io::Result<usize> {
        self.0.read_at(into, offset)
    }

    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.0.write_all(bytes)
    }

    fn sync_data(&mut self) -> io::Result<()> {
        self.0.sync_data()
    }

    fn truncate(&mut self, size: u64) -> io::Result<()> {
        self.0.set_len(size)
    }
}
