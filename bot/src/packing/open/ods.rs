//! OpenDocument spreadsheets (OASIS ODF 1.3 part 3): repeated cells are counted, never unrolled where they are blank.

use std::collections::{HashMap, HashSet};

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use super::Unreadable;
use super::format::{currency_of, iso_date};
use super::package::{Package, attribute, push_reference};

use crate::packing::limits;
use crate::packing::sheet::{Cell, Merge, Sheet};

const DAMAGED: Unreadable = Unreadable::Damaged("ods");

/// Reads all tables.
pub fn read(package: &mut Package<'_>) -> Result<Vec<Sheet>, Unreadable> {
    let manifest = package.part("META-INF/manifest.xml")?.unwrap_or_default();
    if manifest.contains("encryption-data") {
        return Err(Unreadable::Locked);
    }
    let Some(content) = package.part("content.xml")? else {
        return Err(DAMAGED);
    };
    let mut reader = Reader::from_str(&content);
    let mut hidden_styles = HashSet::new();
    let mut style = String::new();
    let mut currencies = Currencies::default();
    let mut sheets = Vec::new();
    let mut cells = 0;
    loop {
        match reader.read_event().map_err(|_| DAMAGED)? {
            Event::Start(element) | Event::Empty(element) if element.local_name().as_ref() == "style" => {
                style = attribute(&element, "name").unwrap_or_default();
                currencies.style(&style, &element);
            }
            Event::Start(element) if element.local_name().as_ref() == "currency-style" => {
                let name = attribute(&element, "name").unwrap_or_default();
                currencies.format(name, &mut reader)?;
            }
            Event::Start(element) | Event::Empty(element)
                if element.local_name().as_ref() == "table-properties"
                    && attribute(&element, "display").as_deref() == Some("false") =>
            {
                hidden_styles.insert(style.clone());
            }
            Event::Start(element) if element.local_name().as_ref() == "table" => {
                let hidden = attribute(&element, "style-name").is_some_and(|name| hidden_styles.contains(&name));
                let mut sheet = Sheet::new(Some(attribute(&element, "name").unwrap_or_default()), hidden);
                table(&mut reader, &mut sheet, &currencies)?;
                cells += sheet.count();
                if cells > limits::CELLS || sheets.len() >= limits::SHEETS {
                    return Err(Unreadable::TooLarge);
                }
                sheets.push(sheet);
            }
            Event::Eof => return Ok(sheets),
            _ => {}
        }
    }
}

/// The currencies that cell styles show.
#[derive(Default)]
struct Currencies {
    formats: HashMap<String, &'static str>,
    /// Cell styles with the format they name; a style may stand before its format.
    styles: HashMap<String, String>,
}

impl Currencies {
    fn style(&mut self, name: &str, element: &BytesStart<'_>) {
        if let Some(format) = attribute(element, "data-style-name") {
            self.styles.insert(name.to_owned(), format);
        }
    }

    /// Reads a format of money up to its end: its symbol names the currency.
    fn format(&mut self, name: String, reader: &mut Reader<&[u8]>) -> Result<(), Unreadable> {
        let (mut symbol, mut in_symbol) = (String::new(), false);
        loop {
            match reader.read_event().map_err(|_| DAMAGED)? {
                Event::Start(element) if element.local_name().as_ref() == "currency-symbol" => in_symbol = true,
                Event::Text(text) if in_symbol => symbol.push_str(&text.xml10_content()),
                Event::End(element) => match element.local_name().as_ref() {
                    "currency-symbol" => in_symbol = false,
                    "currency-style" => break,
                    _ => {}
                },
                Event::Eof => return Err(DAMAGED),
                _ => {}
            }
        }
        self.formats.extend(currency_of(&symbol).map(|code| (name, code)));
        Ok(())
    }

    /// The currency of a cell: the one it names, else that of its style.
    fn of(&self, cell: &BytesStart<'_>) -> Option<&'static str> {
        attribute(cell, "currency").and_then(|code| currency_of(&code)).or_else(|| {
            let format = self.styles.get(&attribute(cell, "style-name")?)?;
            self.formats.get(format).copied()
        })
    }
}

/// A filled cell of a row: its column, and the currency that its format shows.
struct Filled {
    column: u32,
    cell: Cell,
    currency: Option<&'static str>,
}

/// Reads one table up to its end.
fn table(reader: &mut Reader<&[u8]>, sheet: &mut Sheet, currencies: &Currencies) -> Result<(), Unreadable> {
    let mut row = 0_u32;
    let mut row_repeat = 1_u32;
    let mut filled: Vec<Filled> = Vec::new();
    let mut column = 0_u32;
    loop {
        match reader.read_event().map_err(|_| DAMAGED)? {
            Event::Start(element) => match element.local_name().as_ref() {
                "table-row" => {
                    row_repeat = repeat(&element, "number-rows-repeated");
                    column = 0;
                    filled.clear();
                }
                name @ ("table-cell" | "covered-table-cell") => {
                    let covered = name == "covered-table-cell";
                    let columns = repeat(&element, "number-columns-repeated");
                    let cell = cell(reader, &element, name)?;
                    if !covered {
                        span(&element, row, column, sheet);
                        fill(&mut filled, column, columns, cell, currencies.of(&element))?;
                    }
                    column = column.saturating_add(columns);
                }
                // Drawings and a table within a table are not cells of this one.
                "shapes" | "table" => skip(reader, &element)?,
                _ => {}
            },
            Event::Empty(element) => match element.local_name().as_ref() {
                "table-row" => row = row.saturating_add(repeat(&element, "number-rows-repeated")),
                name @ ("table-cell" | "covered-table-cell") => {
                    let columns = repeat(&element, "number-columns-repeated");
                    if name == "table-cell" {
                        span(&element, row, column, sheet);
                        let cell = value(&element, String::new());
                        fill(&mut filled, column, columns, cell, currencies.of(&element))?;
                    }
                    column = column.saturating_add(columns);
                }
                _ => {}
            },
            Event::End(element) => match element.local_name().as_ref() {
                "table-row" => {
                    if !filled.is_empty() {
                        for copy in 0..row_repeat {
                            for Filled { column, cell, currency } in &filled {
                                let row = row.saturating_add(copy);
                                sheet.put(row, *column, cell.clone())?;
                                if let Some(code) = currency.filter(|_| matches!(cell, Cell::Number(_))) {
                                    sheet.show_currency(row, *column, code);
                                }
                            }
                        }
                    }
                    row = row.saturating_add(row_repeat);
                }
                "table" => return Ok(()),
                _ => {}
            },
            Event::Eof => return Err(DAMAGED),
            _ => {}
        }
    }
}

fn repeat(element: &BytesStart<'_>, name: &str) -> u32 {
    attribute(element, name).and_then(|count| count.parse().ok()).unwrap_or(1).max(1)
}

fn fill(
    filled: &mut Vec<Filled>,
    column: u32,
    columns: u32,
    cell: Option<Cell>,
    currency: Option<&'static str>,
) -> Result<(), Unreadable> {
    let Some(cell) = cell else { return Ok(()) };
    if columns as usize + filled.len() > limits::CELLS {
        return Err(Unreadable::TooLarge);
    }
    filled.extend((0..columns).map(|copy| Filled {
        column: column.saturating_add(copy),
        cell: cell.clone(),
        currency,
    }));
    Ok(())
}

fn span(element: &BytesStart<'_>, row: u32, column: u32, sheet: &mut Sheet) {
    let rows = repeat(element, "number-rows-spanned");
    let columns = repeat(element, "number-columns-spanned");
    if rows > 1 || columns > 1 {
        sheet.merge(Merge {
            rows: (row, row.saturating_add(rows - 1)),
            columns: (column, column.saturating_add(columns - 1)),
        });
    }
}

/// Reads a cell's text up to its end. Comments and drawings inside are not its text.
fn cell(reader: &mut Reader<&[u8]>, start: &BytesStart<'_>, end: &str) -> Result<Option<Cell>, Unreadable> {
    let mut text = String::new();
    let mut paragraphs = 0;
    loop {
        match reader.read_event().map_err(|_| DAMAGED)? {
            Event::Start(element) => match element.local_name().as_ref() {
                "p" => {
                    if paragraphs > 0 {
                        text.push('\n');
                    }
                    paragraphs += 1;
                }
                "annotation" | "frame" | "table" | "custom-shape" => skip(reader, &element)?,
                "s" | "tab" => text.push(' '),
                "line-break" => text.push('\n'),
                _ => {}
            },
            Event::Empty(element) => match element.local_name().as_ref() {
                "s" | "tab" => text.push(' '),
                "line-break" => text.push('\n'),
                _ => {}
            },
            Event::Text(piece) if paragraphs > 0 => text.push_str(&piece.xml10_content()),
            Event::CData(piece) if paragraphs > 0 => text.push_str(&piece.xml10_content()),
            Event::GeneralRef(reference) if paragraphs > 0 => push_reference(&reference, &mut text),
            Event::End(element) if element.local_name().as_ref() == end => return Ok(value(start, text)),
            Event::Eof => return Err(DAMAGED),
            _ => {}
        }
    }
}

/// The value of a cell from its attributes, else its text.
fn value(element: &BytesStart<'_>, text: String) -> Option<Cell> {
    let kind = attribute(element, "value-type");
    let number = || attribute(element, "value").and_then(|value| value.parse::<f64>().ok());
    let is_formula = attribute(element, "formula").is_some();
    let is_error =
        is_formula && (text.starts_with("Err:") || (text.starts_with('#') && text.ends_with(['!', '?', 'A'])));
    if is_error {
        return Some(Cell::Missing(text));
    }
    match kind.as_deref() {
        Some("float" | "percentage" | "currency") => match number() {
            Some(number) => Some(Cell::Number(number)),
            None if is_formula => Some(Cell::Missing("no value".to_owned())),
            None => Some(Cell::Text(text)),
        },
        Some("date") => attribute(element, "date-value")
            .as_deref()
            .and_then(iso_date)
            .map_or(Some(Cell::Text(text)), |date| Some(Cell::Date(date))),
        Some("boolean") => Some(Cell::Text(text.to_uppercase())),
        Some(_) => {
            let stated = attribute(element, "string-value").filter(|_| text.is_empty());
            Some(Cell::Text(stated.unwrap_or(text)))
        }
        None if is_formula && text.trim().is_empty() => Some(Cell::Missing("no value".to_owned())),
        None if text.is_empty() => None,
        None => Some(Cell::Text(text)),
    }
}

/// Passes over an element with all that it holds.
fn skip(reader: &mut Reader<&[u8]>, start: &BytesStart<'_>) -> Result<(), Unreadable> {
    reader.read_to_end(start.name()).map(|_| ()).map_err(|_| DAMAGED)
}
