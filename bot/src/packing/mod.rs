//! Packing lists: files and pasted text to lines, with every doubt as a question.
//!
//! The way of a file, one module a step:
//!
//! 1. `open`: bytes to sheets of filled cells, or to text laid out as a grid. The content decides the format.
//! 2. `headings`, `columns`, `meaning`: where each `table` is and what its columns mean; the words are data in `words/`.
//! 3. `rows`, `boxes`, `line`, `cells`, `spread`: rows to lines, box by box; `label`, `ditto`, `group`, `number`, `dates` and
//!    `latin` read single cells.
//! 4. `totals`, `statement`, `checks`: what the list states about itself, and whether it agrees.
//! 5. `labels`, `caption`, `air_waybill`, `fields`: the fields around the lines; `invoice`: prices; `part`, `assemble`: sheets
//!    joined into one list.
//!
//! `free` stands in for steps 2 and 3 where a text is free lines. Nothing is adjusted: what is doubtful is asked.

mod air_waybill;
mod assemble;
mod boxes;
mod caption;
mod cells;
mod checks;
mod clean;
mod columns;
mod currency;
mod dates;
mod ditto;
mod fields;
mod free;
mod group;
mod headings;
mod invoice;
mod label;
mod labels;
mod latin;
mod limits;
mod line;
mod meaning;
mod number;
mod open;
mod part;
mod reading;
mod rows;
mod sheet;
mod spread;
mod statement;
mod table;
mod totals;
mod words;

use std::io::{Read, Write};
use std::path::{Path, PathBuf};

use holdfast_core::consignment::{ColumnSaid, Original, PackingList};
use holdfast_core::say::packing as say;

pub use meaning::Meaning;
pub use open::Unreadable;
pub use table::{ColumnMeaning, ColumnOverride};

/// A list with the columns it was read from, for the read-back.
#[derive(Debug, Clone, PartialEq)]
pub struct Understanding {
    /// The list.
    pub list: PackingList,
    /// What each column with a heading was taken for; empty for free lines.
    pub columns: Vec<ColumnMeaning>,
}

/// Reads a packing list from the bytes of a file. `name` is its base name.
pub fn read(name: &str, bytes: &[u8]) -> Result<PackingList, Unreadable> {
    understand(name, bytes, &[]).map(|understanding| understanding.list)
}

/// Reads a packing list from pasted text.
pub fn read_text(name: &str, text: &str) -> PackingList {
    understand_text(name, text, &[]).list
}

/// Reads a packing list and tells its columns. `overrides` are meanings that a person gave to columns.
pub fn understand(name: &str, bytes: &[u8], overrides: &[ColumnOverride]) -> Result<Understanding, Unreadable> {
    match open::open(bytes)? {
        open::Content::Sheets(sheets) => assemble::from_sheets(name, &sheets, overrides),
        open::Content::Text(text) => assemble::from_text(name, &text, overrides),
    }
}

/// As [`understand`], for text. Text that is too large gives a list with a question.
pub fn understand_text(name: &str, text: &str, overrides: &[ColumnOverride]) -> Understanding {
    assemble::from_text(name, text, overrides)
        .unwrap_or_else(|error| Understanding { list: unread(name, &error), columns: Vec::new() })
}

/// Reads a file or a pasted text for the chat: as far as it can be read, with its bytes, so that the house can keep them and
/// read them anew. `said` is what was said of the columns on every sheet of the supplier's lists.
pub fn for_the_chat(name: &str, original: Original, said: &[ColumnSaid]) -> PackingList {
    let overrides: Vec<ColumnOverride> = said
        .iter()
        .map(|said| ColumnOverride { sheet: None, column: said.column.clone(), meaning: said.meaning })
        .collect();
    let mut list = if original.pasted {
        understand_text(name, &String::from_utf8_lossy(&original.bytes), &overrides).list
    } else {
        understand(name, &original.bytes, &overrides)
            .map_or_else(|error| unread(name, &error), |understanding| understanding.list)
    };
    list.original = Some(original);
    list
}

/// Whether a message looks like a pasted list rather than talk: several lines that make a table, or several items in boxes.
pub fn looks_like_list(text: &str) -> bool {
    let filled = text.lines().filter(|line| !line.trim().is_empty()).count();
    if filled < 3 || text.len() as u64 > limits::FILE_BYTES {
        return false;
    }
    let Understanding { list, columns } = understand_text("", text, &[]);
    let boxes: std::collections::BTreeSet<_> = list.lines.iter().filter_map(|line| line.number).collect();
    if columns.is_empty() {
        list.lines.len() >= 3 || (boxes.len() >= 2 && list.lines.len() >= 2)
    } else {
        !list.lines.is_empty()
    }
}

/// The object of a file that could not be read.
pub fn unread(name: &str, error: &Unreadable) -> PackingList {
    PackingList {
        file: name.to_owned(),
        questions: vec![say::unread(name, &error.to_string())],
        ..PackingList::default()
    }
}

/// A list whose kept file is there no more.
pub fn gone(name: &str) -> PackingList {
    PackingList { file: name.to_owned(), questions: vec![say::gone(name)], ..PackingList::default() }
}

/// Reads one file from disk, within the limit of size.
fn read_file(path: &Path) -> Result<PackingList, Unreadable> {
    let closed = |error: std::io::Error| Unreadable::Closed(error.to_string());
    let file = std::fs::File::open(path).map_err(closed)?;
    let mut bytes = Vec::new();
    file.take(limits::FILE_BYTES + 1).read_to_end(&mut bytes).map_err(closed)?;
    read(&base_name(path), &bytes)
}

fn base_name(path: &Path) -> String {
    path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned()
}

/// `holdfast packing FILE…`: one JSON object a file, one a line, in order. Gives the exit code: 0 when every file was read, else 1.
pub fn run(files: &[PathBuf], out: &mut impl Write) -> std::io::Result<u8> {
    let mut code = 0;
    for path in files {
        let list = read_file(path).unwrap_or_else(|error| {
            code = 1;
            unread(&base_name(path), &error)
        });
        serde_json::to_writer(&mut *out, &list)?;
        writeln!(out)?;
    }
    Ok(code)
}
