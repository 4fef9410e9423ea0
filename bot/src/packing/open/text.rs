//! Bytes to text: UTF-8, UTF-16 with a byte order mark, else Windows-1252.

use encoding_rs::{UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

use super::Unreadable;

/// Decodes a text file, or says that it is none.
pub fn decode(bytes: &[u8]) -> Result<String, Unreadable> {
    let utf16 = bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff");
    if !utf16 && looks_binary(bytes) {
        return Err(Unreadable::Unknown);
    }
    let encoding = match bytes {
        [0xff, 0xfe, ..] => UTF_16LE,
        [0xfe, 0xff, ..] => UTF_16BE,
        _ if std::str::from_utf8(bytes).is_ok() => UTF_8,
        _ => WINDOWS_1252,
    };
    Ok(encoding.decode_with_bom_removal(bytes).0.into_owned())
}

/// The parts of a workbook are UTF-8 in practice and UTF-16 by permission.
pub fn decode_xml(bytes: Vec<u8>) -> String {
    match bytes.as_slice() {
        [0xff, 0xfe, ..] => UTF_16LE.decode_with_bom_removal(&bytes).0.into_owned(),
        [0xfe, 0xff, ..] => UTF_16BE.decode_with_bom_removal(&bytes).0.into_owned(),
        _ => match String::from_utf8(bytes) {
            Ok(text) => text.trim_start_matches('\u{feff}').to_owned(),
            Err(error) => String::from_utf8_lossy(error.as_bytes()).into_owned(),
        },
    }
}

/// Pictures, PDF papers and archives hold control characters that no text has.
fn looks_binary(bytes: &[u8]) -> bool {
    if bytes.starts_with(b"%PDF-") {
        return true;
    }
    let sample = &bytes[..bytes.len().min(64 << 10)];
    let odd = sample.iter().filter(|byte| matches!(byte, 0..=8 | 14..=25 | 27..=31)).count();
    sample.contains(&0) || odd * 50 > sample.len()
}
