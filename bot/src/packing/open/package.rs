//! A zip package: parts by name, unpacked within one allowance for the whole file.

use std::io::{Cursor, Read};

use quick_xml::events::{BytesRef, BytesStart};
use zip::ZipArchive;

use super::Unreadable;
use crate::packing::limits;

/// An open package.
pub struct Package<'bytes> {
    archive: ZipArchive<Cursor<&'bytes [u8]>>,
    allowance: u64,
}

impl<'bytes> Package<'bytes> {
    /// Opens the package without unpacking anything.
    pub fn new(bytes: &'bytes [u8]) -> Result<Self, Unreadable> {
        let archive = ZipArchive::new(Cursor::new(bytes)).map_err(|_| Unreadable::Damaged("zip"))?;
        Ok(Self { archive, allowance: limits::UNPACKED_BYTES })
    }

    /// Whether a part of that name is there.
    pub fn has(&self, name: &str) -> bool {
        self.archive.index_for_name(name).is_some()
    }

    /// A part as text, or `None` where it is missing. Stated sizes are not believed: unpacking stops at the allowance.
    pub fn part(&mut self, name: &str) -> Result<Option<String>, Unreadable> {
        let Some(index) = self.archive.index_for_name(name) else {
            return Ok(None);
        };
        let part = self.archive.by_index(index).map_err(|_| Unreadable::Damaged("zip"))?;
        let mut bytes = Vec::new();
        part.take(self.allowance + 1).read_to_end(&mut bytes).map_err(|_| Unreadable::Damaged("zip"))?;
        let length = bytes.len() as u64;
        if length > self.allowance {
            return Err(Unreadable::TooLarge);
        }
        self.allowance -= length;
        Ok(Some(super::text::decode_xml(bytes)))
    }
}

/// The value of an attribute by local name, entities resolved.
pub fn attribute(element: &BytesStart<'_>, name: &str) -> Option<String> {
    element.attributes().with_checks(false).flatten().find_map(|attribute| {
        (attribute.key.local_name().as_ref() == name)
            .then(|| {
                attribute.normalized_value(quick_xml::XmlVersion::Implicit1_0).ok().map(|value| value.into_owned())
            })
            .flatten()
    })
}

/// Adds an entity or character reference to a text; unknown entities leave nothing.
pub fn push_reference(reference: &BytesRef<'_>, text: &mut String) {
    match reference.as_ref() {
        "amp" => text.push('&'),
        "lt" => text.push('<'),
        "gt" => text.push('>'),
        "quot" => text.push('"'),
        "apos" => text.push('\''),
        _ => text.extend(reference.resolve_char_ref().ok().flatten()),
    }
}
