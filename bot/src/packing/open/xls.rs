//! Workbooks of the years 1993 to 2003: BIFF8 (MS-XLS), and BIFF5, whose strings are bytes in a code page.

use std::collections::HashMap;

use encoding_rs::{
    BIG5, EUC_KR, Encoding, GBK, MACINTOSH, SHIFT_JIS, WINDOWS_874, WINDOWS_1250, WINDOWS_1251, WINDOWS_1252,
    WINDOWS_1253, WINDOWS_1254, WINDOWS_1257, WINDOWS_1258,
};

use super::Unreadable;
use super::biff::{Cursor, Record, records};
use super::compound::{Compound, MAGIC, u16_at, u32_at};
use super::format::{NumberFormat, date_cell};
use crate::packing::limits;
use crate::packing::sheet::{Cell, Merge, Sheet};

const DAMAGED: Unreadable = Unreadable::Damaged("xls");

/// Reads all worksheets.
pub fn read(bytes: &[u8]) -> Result<Vec<Sheet>, Unreadable> {
    if !bytes.starts_with(&MAGIC) {
        return workbook(bytes);
    }
    let file = Compound::new(bytes)?;
    if file.has("EncryptedPackage") {
        return Err(Unreadable::Locked);
    }
    let stream = file.stream("Workbook").or_else(|| file.stream("Book")).ok_or(Unreadable::Unknown)?;
    workbook(&stream)
}

struct Globals {
    wide: bool,
    encoding: &'static Encoding,
    from_1904: bool,
    strings: Vec<String>,
    formats: HashMap<u16, NumberFormat>,
    styles: Vec<u16>,
    entries: Vec<Entry>,
}

struct Entry {
    at: usize,
    name: String,
    hidden: bool,
}

fn workbook(stream: &[u8]) -> Result<Vec<Sheet>, Unreadable> {
    let globals = globals(stream)?;
    let mut sheets = Vec::new();
    let mut cells = 0;
    for entry in globals.entries.iter().take(limits::SHEETS) {
        let mut sheet = Sheet::new(Some(entry.name.clone()), entry.hidden);
        worksheet(stream, entry.at, &globals, &mut sheet)?;
        cells += sheet.count();
        if cells > limits::CELLS {
            return Err(Unreadable::TooLarge);
        }
        sheets.push(sheet);
    }
    Ok(sheets)
}

fn globals(stream: &[u8]) -> Result<Globals, Unreadable> {
    let mut globals = Globals {
        wide: true,
        encoding: WINDOWS_1252,
        from_1904: false,
        strings: Vec::new(),
        formats: HashMap::new(),
        styles: Vec::new(),
        entries: Vec::new(),
    };
    let mut started = false;
    for record in records(stream, 0) {
        let body = record.body();
        match record.kind {
            // The streams of BIFF2 to BIFF4 hold other records.
            0x0009 | 0x0209 | 0x0409 if !started => return Err(Unreadable::Ancient),
            0x0809 if !started => {
                started = true;
                globals.wide = u16_at(body, 0) == Some(0x0600);
            }
            0x000a => break,
            0x002f => return Err(Unreadable::Locked),
            0x0042 => globals.encoding = code_page(u16_at(body, 0).unwrap_or(1252)),
            0x0022 => globals.from_1904 = u16_at(body, 0) == Some(1),
            0x0085 => boundsheet(body, &mut globals),
            0x00e0 => globals.styles.push(u16_at(body, 2).unwrap_or(0)),
            0x041e => {
                let code = if globals.wide {
                    Cursor::new(&record.pieces, 2).string()
                } else {
                    body.get(3..).map(|bytes| globals.encoding.decode(bytes).0.into_owned())
                };
                globals.formats.insert(u16_at(body, 0).unwrap_or(0), NumberFormat::of_code(&code.unwrap_or_default()));
            }
            0x00fc => strings(&record, &mut globals)?,
            _ => {}
        }
    }
    if started { Ok(globals) } else { Err(DAMAGED) }
}

fn code_page(number: u16) -> &'static Encoding {
    match number {
        874 => WINDOWS_874,
        932 => SHIFT_JIS,
        936 => GBK,
        949 => EUC_KR,
        950 => BIG5,
        1250 => WINDOWS_1250,
        1251 => WINDOWS_1251,
        1253 => WINDOWS_1253,
        1254 => WINDOWS_1254,
        1257 => WINDOWS_1257,
        1258 => WINDOWS_1258,
        10_000 | 0x8000 => MACINTOSH,
        _ => WINDOWS_1252,
    }
}

fn boundsheet(body: &[u8], globals: &mut Globals) {
    let (Some(at), Some(&state), Some(&kind)) = (u32_at(body, 0), body.get(4), body.get(5)) else { return };
    if kind != 0 {
        return;
    }
    let length = usize::from(body.get(6).copied().unwrap_or(0));
    let name = if globals.wide {
        short_string(&body[6.min(body.len())..])
    } else {
        body.get(7..body.len().min(7 + length)).map(|bytes| globals.encoding.decode(bytes).0.into_owned())
    };
    globals.entries.push(Entry { at: at as usize, name: name.unwrap_or_default(), hidden: state & 3 != 0 });
}

/// A string with its length in one byte (MS-XLS 2.5.240).
fn short_string(bytes: &[u8]) -> Option<String> {
    let (&length, &flags) = (bytes.first()?, bytes.get(1)?);
    let text = bytes.get(2..)?;
    let units: Vec<u16> = if flags & 1 != 0 {
        text.chunks_exact(2).map(|pair| u16::from_le_bytes([pair[0], pair[1]])).take(usize::from(length)).collect()
    } else {
        text.iter().map(|&byte| u16::from(byte)).take(usize::from(length)).collect()
    };
    Some(String::from_utf16_lossy(&units))
}

fn strings(record: &Record<'_>, globals: &mut Globals) -> Result<(), Unreadable> {
    let count = u32_at(record.body(), 4).unwrap_or(0) as usize;
    if count > limits::CELLS {
        return Err(Unreadable::TooLarge);
    }
    let mut cursor = Cursor::new(&record.pieces, 8);
    for _ in 0..count {
        let Some(text) = cursor.string() else { break };
        globals.strings.push(text);
    }
    Ok(())
}

fn worksheet(stream: &[u8], at: usize, globals: &Globals, sheet: &mut Sheet) -> Result<(), Unreadable> {
    let mut depth = 0;
    let mut awaits_text = None;
    for record in records(stream, at) {
        let body = record.body();
        let place = || Some((u32::from(u16_at(body, 0)?), u32::from(u16_at(body, 2)?)));
        match record.kind {
            // Charts inside a sheet bring a stream of records of their own.
            0x0809 => depth += 1,
            0x000a => {
                depth -= 1;
                if depth <= 0 {
                    break;
                }
            }
            _ if depth != 1 => {}
            0x00fd => {
                if let (Some((row, column)), Some(index)) = (place(), u32_at(body, 6)) {
                    let text = globals.strings.get(index as usize).cloned();
                    sheet.put(row, column, text.map_or_else(|| Cell::Missing("no text".to_owned()), Cell::Text))?;
                }
            }
            0x0204 | 0x00d6 => {
                if let Some((row, column)) = place() {
                    let text = if globals.wide {
                        Cursor::new(&record.pieces, 6).string()
                    } else {
                        body.get(8..).map(|bytes| {
                            let length = usize::from(u16_at(body, 6).unwrap_or(0)).min(bytes.len());
                            globals.encoding.decode(&bytes[..length]).0.into_owned()
                        })
                    };
                    sheet.put(row, column, Cell::Text(text.unwrap_or_default()))?;
                }
            }
            0x0203 => {
                if let (Some((row, column)), Some(value)) = (place(), f64_at(body, 6)) {
                    globals.put(sheet, (row, column), value, u16_at(body, 4))?;
                }
            }
            0x027e => {
                if let (Some((row, column)), Some(value)) = (place(), u32_at(body, 6)) {
                    globals.put(sheet, (row, column), rk(value), u16_at(body, 4))?;
                }
            }
            0x00bd => {
                if let Some((row, first)) = place() {
                    let items = body.get(4..body.len().saturating_sub(2)).unwrap_or(&[]);
                    for (index, item) in items.chunks_exact(6).enumerate() {
                        let value = rk(u32_at(item, 2).unwrap_or(0));
                        globals.put(sheet, (row, first + index as u32), value, u16_at(item, 0))?;
                    }
                }
            }
            0x0205 => {
                if let (Some((row, column)), Some(&value), Some(&is_error)) = (place(), body.get(6), body.get(7)) {
                    sheet.put(row, column, truth_or_error(value, is_error != 0))?;
                }
            }
            0x0006 | 0x0206 | 0x0406 => {
                awaits_text = None;
                if let Some((row, column)) = place() {
                    match formula(body) {
                        Some(Value::Number(value)) => globals.put(sheet, (row, column), value, u16_at(body, 4))?,
                        Some(Value::Cell(cell)) => sheet.put(row, column, cell)?,
                        None => awaits_text = Some((row, column)),
                    }
                }
            }
            0x0207 => {
                if let Some((row, column)) = awaits_text.take() {
                    let text = if globals.wide {
                        Cursor::new(&record.pieces, 0).string()
                    } else {
                        body.get(2..).map(|bytes| globals.encoding.decode(bytes).0.into_owned())
                    };
                    sheet.put(row, column, Cell::Text(text.unwrap_or_default()))?;
                }
            }
            0x00e5 => merges(body, sheet),
            _ => {}
        }
    }
    Ok(())
}

impl Globals {
    /// Puts a number down as its format shows it.
    fn put(
        &self,
        sheet: &mut Sheet,
        (row, column): (u32, u32),
        value: f64,
        style: Option<u16>,
    ) -> Result<(), Unreadable> {
        let id = style.and_then(|style| self.styles.get(usize::from(style))).copied().unwrap_or(0);
        let format = self.formats.get(&id).copied().unwrap_or_else(|| NumberFormat::built_in(u32::from(id)));
        if format.is_date {
            return sheet.put(row, column, date_cell(value, self.from_1904));
        }
        if let Some(code) = format.currency {
            sheet.show_currency(row, column, code);
        }
        sheet.put(row, column, Cell::Number(value))
    }
}

/// What a formula came to.
enum Value {
    Number(f64),
    Cell(Cell),
}

/// The cached value of a formula (MS-XLS 2.5.133); `None` where a text record follows.
fn formula(body: &[u8]) -> Option<Value> {
    let value = body.get(6..14)?;
    if value[6..8] != [0xff, 0xff] {
        return f64_at(body, 6).map(Value::Number);
    }
    match value[0] {
        0 => None,
        1 => Some(Value::Cell(truth_or_error(value[2], false))),
        2 => Some(Value::Cell(truth_or_error(value[2], true))),
        _ => Some(Value::Cell(Cell::Text(String::new()))),
    }
}

fn truth_or_error(value: u8, is_error: bool) -> Cell {
    if !is_error {
        return Cell::Text(if value == 0 { "FALSE" } else { "TRUE" }.to_owned());
    }
    let name = match value {
        0x00 => "#NULL!",
        0x07 => "#DIV/0!",
        0x0f => "#VALUE!",
        0x17 => "#REF!",
        0x1d => "#NAME?",
        0x24 => "#NUM!",
        _ => "#N/A",
    };
    Cell::Missing(name.to_owned())
}

/// A number packed into four bytes (MS-XLS 2.5.122).
fn rk(packed: u32) -> f64 {
    let value = if packed & 2 != 0 {
        f64::from((packed as i32) >> 2)
    } else {
        f64::from_bits(u64::from(packed & 0xffff_fffc) << 32)
    };
    if packed & 1 != 0 { value / 100.0 } else { value }
}

fn f64_at(bytes: &[u8], at: usize) -> Option<f64> {
    Some(f64::from_le_bytes(bytes.get(at..at + 8)?.try_into().ok()?))
}

fn merges(body: &[u8], sheet: &mut Sheet) {
    for range in body.get(2..).unwrap_or(&[]).chunks_exact(8) {
        let at = |index| u32::from(u16_at(range, index).unwrap_or(0));
        sheet.merge(Merge { rows: (at(0), at(2)), columns: (at(4), at(6)) });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn packed_numbers_are_unpacked() {
        assert_eq!(rk((75 << 2) | 2), 75.0);
        assert_eq!(rk((35 << 2) | 3), 0.35);
        assert_eq!(rk(0x3ff0_0000), 1.0);
        assert_eq!(rk((-7_i32 << 2) as u32 | 2), -7.0);
    }
}
