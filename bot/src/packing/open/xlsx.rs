//! Office Open XML workbooks (ECMA-376 part 1): cells as a stream, so that a far cell costs no more than a near one.

use std::collections::HashMap;

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use super::Unreadable;
use super::format::{NumberFormat, date_cell, iso_date};
use super::package::{Package, attribute, push_reference};
use crate::packing::limits;
use crate::packing::sheet::{Cell, Merge, Sheet, column_of};

const DAMAGED: Unreadable = Unreadable::Damaged("xlsx");

/// Reads all worksheets.
pub fn read(package: &mut Package<'_>) -> Result<Vec<Sheet>, Unreadable> {
    let root = package.part("_rels/.rels")?.unwrap_or_default();
    let workbook_path = relations(&root, "")?
        .into_values()
        .find(|relation| relation.kind.ends_with("/officeDocument"))
        .map_or("xl/workbook.xml".to_owned(), |relation| relation.target);
    let Some(workbook) = package.part(&workbook_path)? else {
        return Err(Unreadable::Unknown);
    };
    let (folder, file) = workbook_path.rsplit_once('/').unwrap_or(("", &workbook_path));
    let rels_path =
        if folder.is_empty() { format!("_rels/{file}.rels") } else { format!("{folder}/_rels/{file}.rels") };
    let rels = package.part(&rels_path)?.unwrap_or_default();
    let relations = relations(&rels, folder)?;
    let of_kind = |kind: &str| {
        relations.values().find(|relation| relation.kind.ends_with(kind)).map(|relation| relation.target.clone())
    };
    let strings = match of_kind("/sharedStrings") {
        Some(path) => shared_strings(&package.part(&path)?.unwrap_or_default())?,
        None => Vec::new(),
    };
    let formats = match of_kind("/styles") {
        Some(path) => number_formats(&package.part(&path)?.unwrap_or_default())?,
        None => Vec::new(),
    };
    let (entries, from_1904) = workbook_entries(&workbook)?;
    let mut sheets = Vec::new();
    let mut cells = 0;
    for entry in entries.into_iter().take(limits::SHEETS) {
        let Some(relation) = relations.get(&entry.relation) else { continue };
        if !relation.kind.ends_with("/worksheet") {
            continue;
        }
        let Some(part) = package.part(&relation.target)? else { continue };
        let mut sheet = Sheet::new(Some(entry.name), entry.hidden);
        worksheet(&part, &Workbook { strings: &strings, formats: &formats, from_1904 }, &mut sheet)?;
        cells += sheet.count();
        if cells > limits::CELLS {
            return Err(Unreadable::TooLarge);
        }
        sheets.push(sheet);
    }
    Ok(sheets)
}

struct Relation {
    kind: String,
    target: String,
}

/// Relations by id, targets as full part names.
fn relations(xml: &str, folder: &str) -> Result<HashMap<String, Relation>, Unreadable> {
    let mut relations = HashMap::new();
    let mut reader = Reader::from_str(xml);
    loop {
        match reader.read_event().map_err(|_| DAMAGED)? {
            Event::Start(element) | Event::Empty(element) if element.local_name().as_ref() == "Relationship" => {
                let target = attribute(&element, "Target").unwrap_or_default();
                let target = match target.strip_prefix('/') {
                    Some(absolute) => absolute.to_owned(),
                    None => join(folder, &target),
                };
                relations.insert(
                    attribute(&element, "Id").unwrap_or_default(),
                    Relation { kind: attribute(&element, "Type").unwrap_or_default(), target },
                );
            }
            Event::Eof => return Ok(relations),
            _ => {}
        }
    }
}

/// A target relative to a folder, `..` resolved.
fn join(folder: &str, target: &str) -> String {
    let mut parts: Vec<&str> = folder.split('/').filter(|part| !part.is_empty()).collect();
    for part in target.split('/') {
        match part {
            "" | "." => {}
            ".." => {
                parts.pop();
            }
            name => parts.push(name),
        }
    }
    parts.join("/")
}

struct Entry {
    name: String,
    hidden: bool,
    relation: String,
}

/// The sheets in tab order, and whether dates count from 1904.
fn workbook_entries(xml: &str) -> Result<(Vec<Entry>, bool), Unreadable> {
    let mut entries = Vec::new();
    let mut from_1904 = false;
    let mut reader = Reader::from_str(xml);
    loop {
        match reader.read_event().map_err(|_| DAMAGED)? {
            Event::Start(element) | Event::Empty(element) => match element.local_name().as_ref() {
                "workbookPr" => {
                    from_1904 = matches!(attribute(&element, "date1904").as_deref(), Some("1" | "true"));
                }
                "sheet" => entries.push(Entry {
                    name: attribute(&element, "name").unwrap_or_default(),
                    hidden: attribute(&element, "state").is_some_and(|state| state != "visible"),
                    relation: attribute(&element, "id").unwrap_or_default(),
                }),
                _ => {}
            },
            Event::Eof => return Ok((entries, from_1904)),
            _ => {}
        }
    }
}

fn shared_strings(xml: &str) -> Result<Vec<String>, Unreadable> {
    let mut strings = Vec::new();
    let mut reader = Reader::from_str(xml);
    loop {
        match reader.read_event().map_err(|_| DAMAGED)? {
            Event::Start(element) if element.local_name().as_ref() == "si" => {
                let text = rich_text(&mut reader, "si")?;
                strings.push(text);
            }
            Event::Empty(element) if element.local_name().as_ref() == "si" => strings.push(String::new()),
            Event::Eof => return Ok(strings),
            _ => {}
        }
        if strings.len() > limits::CELLS {
            return Err(Unreadable::TooLarge);
        }
    }
}

/// The text runs up to the end of an element; phonetic hints for East Asian names are left out.
fn rich_text(reader: &mut Reader<&[u8]>, end: &str) -> Result<String, Unreadable> {
    let (mut text, mut in_text, mut phonetic) = (String::new(), false, false);
    loop {
        match reader.read_event().map_err(|_| DAMAGED)? {
            Event::Start(element) => match element.local_name().as_ref() {
                "t" => in_text = !phonetic,
                "rPh" => phonetic = true,
                _ => {}
            },
            Event::End(element) => match element.local_name().as_ref() {
                "t" => in_text = false,
                "rPh" => phonetic = false,
                name if name == end => return Ok(unescape(&text)),
                _ => {}
            },
            Event::Text(piece) if in_text => text.push_str(&piece.xml10_content()),
            Event::CData(piece) if in_text => text.push_str(&piece.xml10_content()),
            Event::GeneralRef(reference) if in_text => push_reference(&reference, &mut text),
            Event::Eof => return Err(DAMAGED),
            _ => {}
        }
    }
}

/// Control characters are stored as `_x000D_` (ECMA-376, 22.9.2.19); those that matter here are white space.
fn unescape(text: &str) -> String {
    if !text.contains("_x00") {
        return text.to_owned();
    }
    text.replace("_x000D_", "\r").replace("_x000A_", "\n").replace("_x0009_", "\t").replace("_x005F_", "_")
}

/// For each cell style, how it shows a number.
fn number_formats(xml: &str) -> Result<Vec<NumberFormat>, Unreadable> {
    let mut formats: HashMap<u32, NumberFormat> = HashMap::new();
    let mut styles = Vec::new();
    let mut in_cell_styles = false;
    let mut reader = Reader::from_str(xml);
    loop {
        match reader.read_event().map_err(|_| DAMAGED)? {
            Event::Start(element) | Event::Empty(element) => {
                let number = |name: &str| attribute(&element, name).and_then(|value| value.parse().ok());
                match element.local_name().as_ref() {
                    "numFmt" => {
                        let code = attribute(&element, "formatCode").unwrap_or_default();
                        formats.insert(number("numFmtId").unwrap_or(0), NumberFormat::of_code(&code));
                    }
                    "cellXfs" => in_cell_styles = true,
                    "xf" if in_cell_styles => {
                        let id = number("numFmtId").unwrap_or(0);
                        styles.push(formats.get(&id).copied().unwrap_or_else(|| NumberFormat::built_in(id)));
                    }
                    _ => {}
                }
            }
            Event::End(element) if element.local_name().as_ref() == "cellXfs" => in_cell_styles = false,
            Event::Eof => return Ok(styles),
            _ => {}
        }
    }
}

struct Workbook<'a> {
    strings: &'a [String],
    formats: &'a [NumberFormat],
    from_1904: bool,
}

impl Workbook<'_> {
    /// How a cell shows its number.
    fn format(&self, cell: &BytesStart<'_>) -> NumberFormat {
        attribute(cell, "s")
            .and_then(|style| style.parse::<usize>().ok())
            .and_then(|style| self.formats.get(style).copied())
            .unwrap_or_default()
    }
}

/// Reads the cells and merged ranges of one sheet.
fn worksheet(xml: &str, workbook: &Workbook<'_>, sheet: &mut Sheet) -> Result<(), Unreadable> {
    let mut reader = Reader::from_str(xml);
    let (mut row, mut column) = (0_u32, 0_u32);
    let mut before_first_row = true;
    loop {
        match reader.read_event().map_err(|_| DAMAGED)? {
            Event::Start(element) => match element.local_name().as_ref() {
                "row" => start_row(&element, &mut row, &mut column, &mut before_first_row),
                "c" => {
                    place(&element, &mut row, &mut column);
                    let format = workbook.format(&element);
                    if let Some(cell) = cell(&mut reader, &element, format, workbook)? {
                        let is_number = matches!(cell, Cell::Number(_));
                        sheet.put(row, column, cell)?;
                        if let Some(code) = format.currency.filter(|_| is_number) {
                            sheet.show_currency(row, column, code);
                        }
                    }
                    column = column.saturating_add(1);
                }
                "mergeCell" => merge(&element, sheet),
                _ => {}
            },
            Event::Empty(element) => match element.local_name().as_ref() {
                "row" => start_row(&element, &mut row, &mut column, &mut before_first_row),
                "c" => {
                    place(&element, &mut row, &mut column);
                    column = column.saturating_add(1);
                }
                "mergeCell" => merge(&element, sheet),
                _ => {}
            },
            Event::Eof => return Ok(()),
            _ => {}
        }
    }
}

fn start_row(element: &BytesStart<'_>, row: &mut u32, column: &mut u32, before_first: &mut bool) {
    let stated =
        attribute(element, "r").and_then(|number| number.parse::<u32>().ok()).and_then(|number| number.checked_sub(1));
    *row = match stated {
        Some(row) => row,
        None if *before_first => 0,
        None => row.saturating_add(1),
    };
    *before_first = false;
    *column = 0;
}

fn place(element: &BytesStart<'_>, row: &mut u32, column: &mut u32) {
    if let Some((stated_row, stated_column)) = attribute(element, "r").as_deref().and_then(reference) {
        *row = stated_row;
        *column = stated_column;
    }
}

/// A reference such as `B12`, as row and column from zero.
fn reference(text: &str) -> Option<(u32, u32)> {
    let text = text.replace('$', "");
    let split = text.find(|character: char| character.is_ascii_digit())?;
    let column = column_of(&text[..split])?;
    let row = text[split..].parse::<u32>().ok()?.checked_sub(1)?;
    Some((row, column))
}

fn merge(element: &BytesStart<'_>, sheet: &mut Sheet) {
    let Some(range) = attribute(element, "ref") else { return };
    let (from, to) = range.split_once(':').unwrap_or((&range, &range));
    if let (Some(from), Some(to)) = (reference(from), reference(to)) {
        sheet.merge(Merge { rows: (from.0, to.0), columns: (from.1, to.1) });
    }
}

/// One cell's value; `None` where it is blank.
fn cell(
    reader: &mut Reader<&[u8]>,
    start: &BytesStart<'_>,
    format: NumberFormat,
    workbook: &Workbook<'_>,
) -> Result<Option<Cell>, Unreadable> {
    let kind = attribute(start, "t").unwrap_or_else(|| "n".to_owned());
    let (mut value, mut inline, mut formula) = (None::<String>, None, false);
    let mut in_value = false;
    loop {
        match reader.read_event().map_err(|_| DAMAGED)? {
            Event::Start(element) => match element.local_name().as_ref() {
                "v" => {
                    in_value = true;
                    value.get_or_insert_default();
                }
                "f" => formula = true,
                "is" => inline = Some(rich_text(reader, "is")?),
                _ => {}
            },
            Event::Empty(element) if element.local_name().as_ref() == "f" => formula = true,
            Event::Text(text) if in_value => value.get_or_insert_default().push_str(&text.xml10_content()),
            Event::CData(text) if in_value => value.get_or_insert_default().push_str(&text.xml10_content()),
            Event::GeneralRef(reference) if in_value => push_reference(&reference, value.get_or_insert_default()),
            Event::End(element) => match element.local_name().as_ref() {
                "v" => in_value = false,
                "c" => break,
                _ => {}
            },
            Event::Eof => return Err(DAMAGED),
            _ => {}
        }
    }
    if let Some(text) = inline {
        return Ok(Some(Cell::Text(text)));
    }
    let value = value.unwrap_or_default();
    if value.trim().is_empty() {
        // An empty string is a value that a formula may have; only a number that was never worked out is missing.
        return Ok((formula && kind != "str").then(|| Cell::Missing("no value".to_owned())));
    }
    Ok(Some(match kind.as_str() {
        "s" => match value.trim().parse::<usize>().ok().and_then(|index| workbook.strings.get(index)) {
            Some(text) => Cell::Text(text.clone()),
            // One odd cell is no reason to give up a list.
            None => Cell::Missing("no text".to_owned()),
        },
        "str" | "inlineStr" => Cell::Text(unescape(&value)),
        "e" => Cell::Missing(value.trim().to_owned()),
        "b" => Cell::Text(if matches!(value.trim(), "1" | "true") { "TRUE" } else { "FALSE" }.to_owned()),
        "d" => iso_date(value.trim()).map_or(Cell::Text(value), Cell::Date),
        _ => match value.trim().parse::<f64>() {
            Ok(number) if format.is_date => date_cell(number, workbook.from_1904),
            Ok(number) => Cell::Number(number),
            Err(_) => Cell::Text(value),
        },
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_target_is_joined_to_its_folder() {
        assert_eq!(join("xl", "worksheets/sheet1.xml"), "xl/worksheets/sheet1.xml");
        assert_eq!(join("xl", "../custom/s.xml"), "custom/s.xml");
    }
}
