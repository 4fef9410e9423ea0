//! Why a store cannot be opened or written.

use std::io;
use std::path::PathBuf;

use super::journal_file::BadLine;
use super::trees::TreesError;

/// Why a store cannot be opened or written. Each says what to do, for the person who runs the program.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// The disk said no.
    #[error("cannot {doing}: {source}")]
    Disk {
        /// What was tried, after "cannot".
        doing: String,
        /// What the disk said.
        source: io::Error,
    },
    /// Another process has the store.
    #[error("{} is in use by another process; one store serves one process", .0.display())]
    InUse(PathBuf),
    /// A complete line of the journal is wrong.
    #[error(transparent)]
    Journal(#[from] BadLine),
    /// The look-up trees know more frames than the journal has.
    #[error(
        "the journal ends with frame {journal}, but the look-up trees have seen frame {index}: the journal was cut or \
         an older copy was put in its place. Nothing was changed. Look for the newer journal; only if there is none, \
         rename the folder \"index\" and start again"
    )]
    IndexAhead {
        /// The last frame of the journal.
        journal: u64,
        /// The last frame of the trees.
        index: u64,
    },
    /// The look-up trees belong to another journal.
    #[error(
        "frame {seq} of the journal is not the frame {seq} that the look-up trees have seen: the journal was changed \
         or comes from another store. Nothing was changed. Look for the right journal; only if this one is right, \
         rename the folder \"index\" and start again"
    )]
    IndexDiffers {
        /// The frame.
        seq: u64,
    },
    /// The look-up trees could not be read or written while the program ran.
    #[error("{0}. Nothing acknowledged is lost; start again, and they are made anew from the journal")]
    Trees(#[from] TreesError),
    /// A frame that is not the next.
    #[error("frame {found} was to be written where frame {expected} comes next")]
    NotNext {
        /// The frame.
        found: u64,
        /// The one that comes next.
        expected: u64,
    },
    /// It failed before.
    #[error("the store failed before and takes nothing more; start again")]
    Failed,
    /// The place for an import is not empty.
    #[error("{} holds a journal already; import into an empty folder", .0.display())]
    NotEmpty(PathBuf),
    /// An import that ends in the middle of a line.
    #[error("line {0} has no end: the export was cut")]
    CutImport(u64),
}

/// Names what was tried when the disk said no.
pub(super) fn disk(doing: impl Into<String>) -> impl FnOnce(io::Error) -> StoreError {
    move |source| StoreError::Disk { doing: doing.into(), source }
}
