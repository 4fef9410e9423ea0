//! The journal out and in, as the JSON lines it consists of.

use std::io::{BufRead, Write};
use std::path::Path;
use std::sync::Arc;

use holdfast_core::journal::{Frame, Outgoing};

use super::disk::Disk;
use super::error::{StoreError, disk as on_disk};
use super::journal_file::{Lines, Link, unchain};
use super::{INDEX, JOURNAL, LOCK, Options, PARKED, Store};

/// Writes the journal of a store line by line, verifying it on the way. Needs no lock: a line that is still being
/// written has no end yet and is left out. Returns the number of frames.
///
/// # Errors
/// Where a line is wrong, or the disk or `out` says no.
pub fn export(disk: &dyn Disk, folder: &Path, out: &mut dyn Write) -> Result<u64, StoreError> {
    let frames = each_line(disk, folder, |line, _| {
        out.write_all(line).and_then(|()| out.write_all(b"\n")).map_err(on_disk("write the export"))
    })?;
    out.flush().map_err(on_disk("write the export"))?;
    Ok(frames)
}

/// Goes over the journal of a store frame by frame, verifying it on the way. Needs no lock, as [`export`].
///
/// # Errors
/// Where a line is wrong, or the disk says no.
pub fn each_frame(disk: &dyn Disk, folder: &Path, mut seen: impl FnMut(Frame)) -> Result<(), StoreError> {
    each_line(disk, folder, |_, frame| {
        seen(frame);
        Ok(())
    })?;
    Ok(())
}

fn each_line(
    disk: &dyn Disk,
    folder: &Path,
    mut seen: impl FnMut(&[u8], Frame) -> Result<(), StoreError>,
) -> Result<u64, StoreError> {
    let journal = folder.join(JOURNAL);
    if !disk.exists(&journal).map_err(on_disk("look for the journal"))? {
        return Ok(0);
    }
    let file = disk.open(&journal).map_err(on_disk("open the journal"))?;
    let mut lines = Lines::from(file.as_ref(), 0);
    let mut last = Link::first();
    while let Some(found) = lines.next_line().map_err(on_disk("read the journal"))?.filter(|found| found.ended) {
        let (linked, link) = unchain(&found.bytes, &last)?;
        last = link;
        seen(&found.bytes, linked.frame)?;
    }
    Ok(last.seq)
}

/// What came in.
#[derive(Debug, Clone, PartialEq)]
pub struct Imported {
    /// Frames.
    pub frames: u64,
    /// Messages that were not delivered where the journal comes from. They are parked: never sent from here.
    pub parked: Vec<Outgoing>,
}

/// How much is gathered before it is written.
const PIECE: usize = 256 * 1024;

/// Makes a store in an empty folder from an exported journal.
///
/// # Errors
/// Where there is a store already, a line is wrong or cut, or the disk or `lines` says no. Then there is no store.
pub fn import(disk: &Arc<dyn Disk>, folder: &Path, lines: &mut dyn BufRead) -> Result<Imported, StoreError> {
    disk.create_folder(folder).map_err(on_disk("make the store's folder"))?;
    {
        let lock = disk.lock(&folder.join(LOCK)).map_err(on_disk("lock the store"))?;
        let _lock = lock.ok_or_else(|| StoreError::InUse(folder.to_owned()))?;
        for name in [JOURNAL, INDEX] {
            if disk.exists(&folder.join(name)).map_err(on_disk("look for a store"))? {
                return Err(StoreError::NotEmpty(folder.to_owned()));
            }
        }
        let draft = folder.join(format!("{JOURNAL}.import"));
        let last = write_draft(disk.as_ref(), &draft, lines)?;
        // Before the journal gets its name, so that it is never there without it.
        park_until(disk.as_ref(), folder, last.seq)?;
        disk.rename(&draft, &folder.join(JOURNAL)).map_err(on_disk("name the imported journal"))?;
    }
    let (store, ..) = Store::open_on(Arc::clone(disk), folder, Options::default())?;
    let parked = store.parked().into_iter().map(|waiting| waiting.outgoing).collect();
    Ok(Imported { frames: store.last().seq, parked })
}

fn write_draft(disk: &dyn Disk, draft: &Path, lines: &mut dyn BufRead) -> Result<Link, StoreError> {
    let writing = || on_disk("write the imported journal");
    let mut file = disk.open(draft).map_err(writing())?;
    // Left over from an import that was broken off.
    file.truncate(0).map_err(writing())?;
    let mut last = Link::first();
    let mut pending = Vec::new();
    let mut line = Vec::new();
    loop {
        line.clear();
        if lines.read_until(b'\n', &mut line).map_err(on_disk("read the import"))? == 0 {
            break;
        }
        let Some(frame) = line.strip_suffix(b"\n") else {
            return Err(StoreError::CutImport(last.seq + 1));
        };
        last = unchain(frame, &last)?.1;
        pending.extend_from_slice(&line);
        if pending.len() >= PIECE {
            file.append(&pending).map_err(writing())?;
            pending.clear();
        }
    }
    file.append(&pending).map_err(writing())?;
    file.sync_data().map_err(writing())?;
    Ok(last)
}

/// Notes that undelivered messages of frames up to this one are not to be sent.
pub(super) fn park_until(disk: &dyn Disk, folder: &Path, seq: u64) -> Result<(), StoreError> {
    let doing = || on_disk("note which messages are parked");
    let mut file = disk.open(&folder.join(PARKED)).map_err(doing())?;
    file.truncate(0).map_err(doing())?;
    file.append(format!("{seq}\n").as_bytes()).map_err(doing())?;
    file.sync_data().map_err(doing())
}
