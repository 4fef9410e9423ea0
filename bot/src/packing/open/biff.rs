//! The records of an old workbook's stream (MS-XLS): one after the other, long ones continued.

use super::compound::u16_at;

/// A record: its kind and its pieces, the first and each continuation.
pub struct Record<'bytes> {
    /// Record type.
    pub kind: u16,
    /// The body, then the bodies of the continuations.
    pub pieces: Vec<&'bytes [u8]>,
}

impl<'bytes> Record<'bytes> {
    /// The first piece.
    pub fn body(&self) -> &'bytes [u8] {
        self.pieces.first().copied().unwrap_or(&[])
    }
}

const CONTINUE: u16 = 0x003c;

/// Whether bytes are a bare record stream, without the compound file around it.
pub fn starts(bytes: &[u8]) -> bool {
    matches!(bytes, [0x09, 0x08 | 0x04 | 0x02 | 0x00, 0x04..=0x10, 0x00, _, 0x00..=0x06, ..])
}

/// The records from a place on.
pub fn records(stream: &[u8], from: usize) -> impl Iterator<Item = Record<'_>> {
    let mut at = from;
    std::iter::from_fn(move || {
        let kind = u16_at(stream, at)?;
        let mut pieces = vec![piece(stream, &mut at)?];
        while u16_at(stream, at) == Some(CONTINUE) {
            let Some(next) = piece(stream, &mut at) else { break };
            pieces.push(next);
        }
        Some(Record { kind, pieces })
    })
}

fn piece<'bytes>(stream: &'bytes [u8], at: &mut usize) -> Option<&'bytes [u8]> {
    let length = usize::from(u16_at(stream, *at + 2)?);
    let body = stream.get(*at + 4..*at + 4 + length)?;
    *at += 4 + length;
    Some(body)
}

/// Reads through the pieces of a record as one. Characters of a string cut in two begin anew with a width byte.
pub struct Cursor<'a, 'bytes> {
    pieces: &'a [&'bytes [u8]],
    piece: usize,
    at: usize,
}

impl<'a, 'bytes> Cursor<'a, 'bytes> {
    /// A cursor at a place in the first piece.
    pub fn new(pieces: &'a [&'bytes [u8]], at: usize) -> Self {
        Self { pieces, piece: 0, at }
    }

    fn byte(&mut self) -> Option<u8> {
        loop {
            let piece = self.pieces.get(self.piece)?;
            if let Some(&byte) = piece.get(self.at) {
                self.at += 1;
                return Some(byte);
            }
            self.piece += 1;
            self.at = 0;
        }
    }

    fn u16(&mut self) -> Option<u16> {
        Some(u16::from_le_bytes([self.byte()?, self.byte()?]))
    }

    fn u32(&mut self) -> Option<u32> {
        Some(u32::from(self.u16()?) | u32::from(self.u16()?) << 16)
    }

    fn skip(&mut self, count: u32) -> Option<()> {
        (0..count).try_for_each(|_| self.byte().map(|_| ()))
    }

    /// A string with its length in two bytes, flags, and what hangs on it (MS-XLS 2.5.293).
    pub fn string(&mut self) -> Option<String> {
        let length = self.u16()?;
        let flags = self.byte()?;
        let runs = if flags & 8 != 0 { self.u16()? } else { 0 };
        let extension = if flags & 4 != 0 { self.u32()? } else { 0 };
        let mut wide = flags & 1 != 0;
        let mut units = Vec::with_capacity(usize::from(length));
        while units.len() < usize::from(length) {
            if self.pieces.get(self.piece).is_some_and(|piece| self.at >= piece.len()) {
                self.piece += 1;
                self.at = 0;
                wide = self.byte()? & 1 != 0;
            }
            units.push(if wide { self.u16()? } else { u16::from(self.byte()?) });
        }
        self.skip(u32::from(runs) * 4)?;
        self.skip(extension)?;
        Some(String::from_utf16_lossy(&units))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_string_cut_in_two_goes_on_with_its_own_width() {
        // Five letters: two narrow ones before the cut, then three wide ones; after them a second string.
        let first: &[u8] = &[5, 0, 0, b'N', b'e'];
        let second: &[u8] = &[1, b'o', 0, b'n', 0, 0x61, 0x01, 1, 0, 0, b'M'];
        let pieces = [first, second];
        let mut cursor = Cursor::new(&pieces, 0);
        assert_eq!(cursor.string().as_deref(), Some("Neonš"));
        assert_eq!(cursor.string().as_deref(), Some("M"));
        assert_eq!(cursor.string(), None);
    }

    #[test]
    fn records_take_their_continuations_with_them_and_end_at_a_cut() {
        let stream = [0xfc, 0, 1, 0, 7, 0x3c, 0, 2, 0, 8, 9, 0x0a, 0, 0, 0, 0x03, 0x02, 9, 0, 1];
        let kinds: Vec<(u16, usize)> = records(&stream, 0).map(|record| (record.kind, record.pieces.len())).collect();
        assert_eq!(kinds, [(0xfc, 2), (0x0a, 1)]);
    }
}
