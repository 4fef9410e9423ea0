//! The journal on disk: one frame a line, each line chained to the one before by its hash.
//!
//! A line's hash is the SHA-256 of the line as it stands without its own hash; the hash of the line before is part of
//! it. Line numbers and frame numbers are the same.

use std::io;

use holdfast_core::journal::Frame;
use holdfast_core::journal::wire::{self, Linked, Unreadable};
use sha2::{Digest, Sha256};

use super::disk::DiskFile;

/// The last line of a journal, as far as the next one must know it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Link {
    /// Its frame's number; 0 before the first.
    pub seq: u64,
    /// Its hash, lower-case hexadecimal.
    pub hash: String,
}

impl Link {
    /// What the first line is chained to.
    pub fn first() -> Self {
        Link { seq: 0, hash: "0".repeat(HASH_DIGITS) }
    }
}

/// A frame as it was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    /// Where its line begins, bytes from the beginning of the file.
    pub offset: u64,
    /// Number and hash.
    pub link: Link,
    /// The line, without its end.
    pub line: String,
}

/// A line that is complete and wrong.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "line {line} of the journal: {fault}. Nothing was changed. Put back a copy of the whole folder, or keep the lines \
     before line {line} in a file and import it into an empty folder"
)]
pub struct BadLine {
    /// Its number, from 1.
    pub line: u64,
    /// What is wrong.
    pub fault: LineFault,
}

/// What can be wrong with a line.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LineFault {
    /// It holds no hash at its end, or is not text.
    #[error("it is not a line of a journal")]
    NoLine,
    /// Its hash is not that of its contents.
    #[error("its hash does not fit what it says: it was changed or damaged after it was written")]
    WrongHash,
    /// Its frame is not the next.
    #[error("it holds frame {found}: a line is missing or stands twice")]
    WrongNumber {
        /// The frame it holds.
        found: u64,
    },
    /// It is not chained to the line before.
    #[error("it does not belong after the line before it")]
    NotChained,
    /// Its hash is right, and yet this program cannot read it.
    #[error("{0}. Use the program that wrote it, or a newer one")]
    Unreadable(Unreadable),
}

const HASH_DIGITS: usize = 64;
const HASH_FIELD: &str = ",\"hash\":\"";

/// The line of a frame, chained and hashed, without a line end.
pub fn chain(frame: &Frame, prev: &str) -> (String, Link) {
    let open = wire::line(frame, prev);
    let hash = hash_of(&open);
    let body = open.strip_suffix('}').unwrap_or(&open);
    (format!("{body}{HASH_FIELD}{hash}\"}}"), Link { seq: frame.seq, hash })
}

/// Reads a line that must come after `last`.
///
/// # Errors
/// Where it is changed, out of its place, or not readable.
pub fn unchain(line: &[u8], last: &Link) -> Result<(Linked, Link), BadLine> {
    let bad = |fault| BadLine { line: last.seq + 1, fault };
    let text = std::str::from_utf8(line).map_err(|_| bad(LineFault::NoLine))?;
    let (open, hash) = take_hash(text).ok_or_else(|| bad(LineFault::NoLine))?;
    if hash_of(&open) != hash {
        return Err(bad(LineFault::WrongHash));
    }
    let linked = wire::read_line(text).map_err(|error| bad(LineFault::Unreadable(error)))?;
    if linked.frame.seq != last.seq + 1 {
        return Err(bad(LineFault::WrongNumber { found: linked.frame.seq }));
    }
    if linked.prev != last.hash {
        return Err(bad(LineFault::NotChained));
    }
    let link = Link { seq: linked.frame.seq, hash: hash.to_owned() };
    Ok((linked, link))
}

/// The hash that a line says it has, unchecked.
pub fn stated_hash(line: &[u8]) -> Option<&str> {
    take_hash(std::str::from_utf8(line).ok()?).map(|(_, hash)| hash)
}

/// Splits a line into what was hashed and the hash.
fn take_hash(line: &str) -> Option<(String, &str)> {
    let rest = line.strip_suffix("\"}")?;
    let cut = rest.len().checked_sub(HASH_DIGITS)?;
    let (body, hash) = rest.split_at_checked(cut)?;
    let body = body.strip_suffix(HASH_FIELD)?;
    hash.bytes().all(|byte| byte.is_ascii_hexdigit()).then(|| (format!("{body}}}"), hash))
}

fn hash_of(text: &str) -> String {
    Sha256::digest(text.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The open journal.
pub struct JournalFile {
    file: Box<dyn DiskFile>,
    size: u64,
    last: Link,
    failed: bool,
}

impl JournalFile {
    /// A journal whose contents were read already and end with `last`.
    ///
    /// # Errors
    /// Those of the disk.
    pub fn after(file: Box<dyn DiskFile>, last: Link) -> io::Result<Self> {
        Ok(JournalFile { size: file.size()?, file, last, failed: false })
    }

    /// The last line.
    pub fn last(&self) -> &Link {
        &self.last
    }

    /// Moves on to a last line that was read after opening.
    pub fn set_last(&mut self, last: Link) {
        self.last = last;
    }

    /// Appends frames and makes them safe, all with one fdatasync.
    ///
    /// # Errors
    /// Those of the disk. After one the journal takes nothing more: what a failed sync left behind can be known only
    /// by reading it again.
    pub fn append(&mut self, frames: &[Frame]) -> io::Result<Vec<Written>> {
        if self.failed {
            return Err(io::Error::other("the journal failed before and takes nothing more"));
        }
        let mut lines = Vec::new();
        let mut bytes = Vec::new();
        let mut last = self.last.clone();
        for frame in frames {
            let (line, link) = chain(frame, &last.hash);
            let offset = self.size + bytes.len() as u64;
            bytes.extend_from_slice(line.as_bytes());
            bytes.push(b'\n');
            lines.push(Written { offset, link: link.clone(), line });
            last = link;
        }
        // Set before and taken back after, so that no way out leaves it as if nothing had happened.
        self.failed = true;
        self.file.append(&bytes)?;
        self.file.sync_data()?;
        self.failed = false;
        self.size += bytes.len() as u64;
        self.last = last;
        Ok(lines)
    }
}

/// A line as found in a file.
#[derive(Debug, PartialEq, Eq)]
pub struct Found {
    /// Where it begins.
    pub offset: u64,
    /// Its bytes without the line end.
    pub bytes: Vec<u8>,
    /// Whether a line end follows; only the last line of a file can lack it.
    pub ended: bool,
}

/// Reads the lines of a file from an offset, a piece at a time.
pub struct Lines<'a> {
    file: &'a dyn DiskFile,
    /// Where `buffer` begins in the file.
    offset: u64,
    buffer: Vec<u8>,
}

const PIECE: usize = 64 * 1024;

impl<'a> Lines<'a> {
    /// The lines from an offset on, which must be the beginning of one.
    pub fn from(file: &'a dyn DiskFile, offset: u64) -> Self {
        Lines { file, offset, buffer: Vec::new() }
    }

    /// The next line, or `None` at the end.
    ///
    /// # Errors
    /// Those of the disk.
    pub fn next_line(&mut self) -> io::Result<Option<Found>> {
        let mut searched = 0;
        loop {
            if let Some(end) = self.buffer[searched..].iter().position(|byte| *byte == b'\n') {
                let rest = self.buffer.split_off(searched + end + 1);
                let mut bytes = std::mem::replace(&mut self.buffer, rest);
                let offset = self.offset;
                self.offset += bytes.len() as u64;
                bytes.pop();
                return Ok(Some(Found { offset, bytes, ended: true }));
            }
            searched = self.buffer.len();
            self.buffer.resize(searched + PIECE, 0);
            let read = self.file.read_at(self.offset + searched as u64, &mut self.buffer[searched..])?;
            self.buffer.truncate(searched + read);
            if read == 0 {
                let bytes = std::mem::take(&mut self.buffer);
                let offset = self.offset;
                self.offset += bytes.len() as u64;
                return Ok((!bytes.is_empty()).then_some(Found { offset, bytes, ended: false }));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use proptest::prelude::*;

    use super::super::{Disk, MemoryDisk};
    use super::*;

    fn lines_of(bytes: &[u8], offset: u64) -> Vec<Found> {
        let disk = MemoryDisk::new();
        disk.put(Path::new("/f"), bytes);
        let file = disk.open(Path::new("/f")).expect("it is there");
        let mut lines = Lines::from(file.as_ref(), offset);
        std::iter::from_fn(|| lines.next_line().expect("memory can be read")).collect()
    }

    #[test]
    fn lines_come_with_their_place_and_the_last_may_lack_its_end() {
        let found = |offset, bytes: &[u8], ended| Found { offset, bytes: bytes.to_vec(), ended };
        assert_eq!(lines_of(b"", 0), []);
        assert_eq!(lines_of(b"ab\n\ncd", 0), [found(0, b"ab", true), found(3, b"", true), found(4, b"cd", false)]);
        assert_eq!(lines_of(b"ab\ncd\n", 3), [found(3, b"cd", true)]);
        assert_eq!(lines_of(b"ab\n", 99), []);
    }

    #[test]
    fn a_line_longer_than_a_piece_is_one_line() {
        let long = vec![b'x'; 3 * PIECE + 7];
        let text = [long.as_slice(), b"\nend\n"].concat();
        let lines = lines_of(&text, 0);
        assert_eq!(lines.len(), 2);
        assert_eq!((&lines[0].bytes, lines[1].offset), (&long, long.len() as u64 + 1));
    }

    #[test]
    fn what_is_no_line_has_no_hash() {
        assert_eq!(take_hash(""), None);
        assert_eq!(take_hash("\"}"), None);
        assert_eq!(take_hash("{\"seq\":1}"), None);
    }

    #[test]
    fn the_hash_is_the_sha_256_of_the_line_without_it() {
        // FIPS 180-2, example B.1: the digest of "abc".
        assert_eq!(hash_of("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }

    proptest! {
        #[test]
        fn no_bytes_make_reading_panic(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
            let _ = unchain(&bytes, &Link::first());
            let _ = stated_hash(&bytes);
        }

        #[test]
        fn lines_put_together_again_are_the_file(bytes in "[a\n]{0,40}", ) {
            let mut again = Vec::new();
            for found in lines_of(bytes.as_bytes(), 0) {
                prop_assert_eq!(found.offset, again.len() as u64);
                again.extend(&found.bytes);
                again.extend(found.ended.then_some(b'\n'));
            }
            prop_assert_eq!(again, bytes.into_bytes());
        }
    }
}
