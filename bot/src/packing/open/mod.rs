//! Bytes to sheets. The content decides the format, never the extension.

mod biff;
mod compound;
mod delimited;
mod format;
mod ods;
mod package;
mod text;
mod xls;
mod xlsx;

use thiserror::Error;

use super::limits;
use super::sheet::Sheet;

pub use delimited::grids;

/// What a file turned out to be.
#[derive(Debug)]
pub enum Content {
    /// A workbook's sheets, in order.
    Sheets(Vec<Sheet>),
    /// Text, decoded.
    Text(String),
}

/// Why a file cannot be read. The wording is for the person who sent it.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum Unreadable {
    /// Over a limit of size.
    #[error("it is too large, or unpacks to too much")]
    TooLarge,
    /// Locked with a password.
    #[error("it is locked with a password")]
    Locked,
    /// A workbook of a form older than BIFF5.
    #[error("its form is from before 1993; open it in a spreadsheet program and save it as .xlsx")]
    Ancient,
    /// Neither a workbook nor text.
    #[error("it is neither a spreadsheet nor text")]
    Unknown,
    /// A workbook with broken insides.
    #[error("the {0} file is damaged")]
    Damaged(&'static str),
    /// The system would not hand the file over.
    #[error("it cannot be opened: {0}")]
    Closed(String),
}

/// Reads the content of a file.
pub fn open(bytes: &[u8]) -> Result<Content, Unreadable> {
    if bytes.len() as u64 > limits::FILE_BYTES {
        return Err(Unreadable::TooLarge);
    }
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"PK\x05\x06") {
        let mut package = package::Package::new(bytes)?;
        return if package.has("content.xml") {
            ods::read(&mut package).map(Content::Sheets)
        } else {
            xlsx::read(&mut package).map(Content::Sheets)
        };
    }
    if bytes.starts_with(&compound::MAGIC) || biff::starts(bytes) {
        return xls::read(bytes).map(Content::Sheets);
    }
    text::decode(bytes).map(Content::Text)
}
