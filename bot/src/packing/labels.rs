//! Labelled values around the lines: airway bill, invoice, shipper, packing date, gross weight, currency, totals.

use std::collections::BTreeSet;
use std::sync::LazyLock;

use holdfast_core::say::packing as say;
use regex::Regex;
use rust_decimal::Decimal;

use super::air_waybill::{awb, unlabelled_awb};
use super::caption::label_of;
use super::clean::{clean, fold, shorten};
use super::currency;
use super::dates::{self, Moment};
use super::number;
use super::sheet::{Cell, Sheet};
use super::statement::{self, Unit};
use super::words::{self, Label, Role, phrase, roles};

/// What the labels of a sheet say.
#[derive(Debug, Default, Clone)]
pub struct Labels {
    /// Master airway bill, as it is given out.
    pub awb: Option<String>,
    /// Invoice number.
    pub invoice: Option<String>,
    /// Shipper named by a label.
    pub supplier: Option<String>,
    /// The first line above the title.
    pub first_line: Option<String>,
    /// ISO packing date.
    pub packed_at: Option<String>,
    /// Gross weight, kg.
    pub gross_kg: Option<Decimal>,
    /// ISO currencies named.
    pub currencies: BTreeSet<&'static str>,
    /// ISO currencies that the formats of prices show; they count where none is named.
    pub shown: BTreeSet<&'static str>,
    /// Total fish, labelled above the list.
    pub total_fish: Option<u64>,
    /// Numbers of boxes stated above the list, with their rows.
    pub boxes: Vec<(u32, u64)>,
    /// Whether a title calls it a packing list.
    pub titled: bool,
    /// What is doubtful.
    pub questions: Vec<String>,
}

/// Where to look: all rows but those of lines and headings.
pub struct Scope<'a> {
    /// The sheet.
    pub sheet: &'a Sheet,
    /// Rows that are lines or were left out, and heading rows.
    pub skip: &'a BTreeSet<u32>,
    /// The first heading row.
    pub heading: u32,
    /// Whether dates may be month first.
    pub english: bool,
}

/// A cell, cut where line breaks and bars part several labels.
struct Piece {
    row: u32,
    column: u32,
    text: String,
    last: bool,
}

/// Reads the labels of a sheet.
pub fn read(scope: &Scope<'_>) -> Labels {
    let mut labels = Labels::default();
    let pieces = pieces(scope);
    let mut plain_awb = None;
    for (at, piece) in pieces.iter().enumerate() {
        labels.currencies.extend(currency::codes(&piece.text));
        if piece.row < scope.heading {
            totals_above(scope, piece, &mut labels);
        }
        let Some((label, inline)) = label_of(&piece.text) else {
            // The value beside the label of a house bill is not the master's.
            let beside_house = at > 0
                && pieces[at - 1].row == piece.row
                && matches!(label_of(&pieces[at - 1].text), Some((Label::House, _)));
            if plain_awb.is_none() && !beside_house {
                plain_awb = unlabelled_awb(&piece.text);
            }
            continue;
        };
        let value = || value(scope, &pieces, at, &inline);
        match label {
            Label::Title => labels.titled = true,
            Label::Awb => awb(scope, piece.row, value(), &mut labels),
            Label::Invoice if labels.invoice.is_none() => {
                labels.invoice = value()
                    .filter(|cell| !matches!(cell, Cell::Date(_)))
                    .map(|cell| without_date(&cell.text()))
                    .filter(|text| text.chars().any(|c| c.is_ascii_digit()));
            }
            Label::Supplier if labels.supplier.is_none() => {
                labels.supplier = value().map(|cell| cell.text()).filter(|text| text.chars().any(char::is_alphabetic));
            }
            Label::Packed if labels.packed_at.is_none() => packed(scope, piece, value(), &mut labels),
            Label::Gross if labels.gross_kg.is_none() => {
                if let Some(cell) = value() {
                    match kilograms(&cell) {
                        Ok(weight) => labels.gross_kg = weight,
                        Err(text) => labels.questions.push(say::weight_not_kilograms(&place(scope, piece.row), &text)),
                    }
                }
            }
            _ => {}
        }
    }
    labels.awb = labels.awb.or(plain_awb);
    labels.first_line = first_line(&pieces, scope.heading);
    labels
}

pub(super) fn place(scope: &Scope<'_>, row: u32) -> String {
    say::place(scope.sheet.name.as_deref(), row + 1)
}

fn pieces(scope: &Scope<'_>) -> Vec<Piece> {
    let mut pieces = Vec::new();
    for (row, cells) in scope.sheet.rows().filter(|(row, _)| !scope.skip.contains(row)) {
        for (column, cell) in cells {
            let Cell::Text(text) = cell else { continue };
            let parts: Vec<&str> = text
                .split(['\n', '\r', '|', '\t', ';'])
                .flat_map(|part| part.split("   "))
                .filter(|part| !clean(part).is_empty())
                .collect();
            for (index, part) in parts.iter().enumerate() {
                pieces.push(Piece { row, column: *column, text: clean(part), last: index + 1 == parts.len() });
            }
        }
    }
    pieces
}

/// The value of a label: behind it, in the next piece of its cell, right of it, or below it.
fn value(scope: &Scope<'_>, pieces: &[Piece], at: usize, inline: &str) -> Option<Cell> {
    if !inline.is_empty() {
        return Some(Cell::Text(inline.to_owned()));
    }
    let piece = &pieces[at];
    if !piece.last {
        return pieces.get(at + 1).map(|next| Cell::Text(next.text.clone()));
    }
    let is_label = |cell: &Cell| matches!(cell, Cell::Text(text) if label_of(text.lines().next().unwrap_or_default()).is_some() || text.trim_end().ends_with(':'));
    let right =
        scope.sheet.row(piece.row)?.range(piece.column + 1..).map(|(_, cell)| cell).find(|cell| !cell.is_blank());
    let below = || scope.sheet.get(piece.row + 1, piece.column).filter(|_| !scope.skip.contains(&(piece.row + 1)));
    let cell = match right {
        Some(cell) if !is_label(cell) => Some(cell),
        _ => below().filter(|cell| !is_label(cell)),
    }?;
    Some(match cell {
        Cell::Text(text) => Cell::Text(text.trim().lines().next().unwrap_or_default().to_owned()),
        other => other.clone(),
    })
}

/// An invoice number without the date that may follow it: `INV-1, date 24/11/2026`.
fn without_date(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    let is_date_word = |word: &str| {
        phrase(word)
            .iter()
            .all(|word| words::names(std::slice::from_ref(word), Label::Elsewhere) || roles(word).has(Role::Of))
    };
    for at in 1..words.len() {
        let tail = words[at..].join(" ");
        let is_date = |tail: &str| {
            let tail = tail.trim_matches(|c: char| !c.is_alphanumeric());
            dates::looks_like_date(tail) || dates::parse(tail, false).is_some()
        };
        let behind_word = words.get(at + 1..).map(|rest| rest.join(" ")).filter(|_| is_date_word(words[at]));
        if is_date(&tail) || behind_word.is_some_and(|rest| is_date(&rest)) {
            return words[..at].join(" ").trim_end_matches([',', ';', '-', '/', ' ', '(']).to_owned();
        }
    }
    text.to_owned()
}

fn packed(scope: &Scope<'_>, piece: &Piece, value: Option<Cell>, labels: &mut Labels) {
    let Some(cell) = value else { return };
    let question = match &cell {
        Cell::Date(moment) => {
            let text = Cell::Date(*moment).text();
            labels.packed_at = Some(text.replace(' ', "T"));
            None
        }
        Cell::Text(text) => match dates::parse(text, scope.english) {
            Some(Moment::Iso(date)) => {
                labels.packed_at = Some(date);
                None
            }
            Some(Moment::Ambiguous) => Some(say::date_ambiguous(&place(scope, piece.row), &shorten(&clean(text), 40))),
            None if text.bytes().filter(u8::is_ascii_digit).count() > 2 && dates::time_only(text).is_none() => {
                Some(say::date_unreadable(&place(scope, piece.row), &shorten(&clean(text), 40)))
            }
            None => None,
        },
        _ => None,
    };
    labels.questions.extend(question);
    // The time may stand in a cell of its own behind the date.
    if let Some(date) = labels.packed_at.as_mut().filter(|date| !date.contains('T')) {
        let cells = scope
            .sheet
            .row(piece.row)
            .into_iter()
            .flat_map(|cells| cells.range(piece.column + 1..))
            .filter(|(_, cell)| !cell.is_blank())
            .take(2);
        if let Some(time) =
            cells.filter_map(|(_, cell)| if let Cell::Text(text) = cell { dates::time_only(text) } else { None }).next()
        {
            *date = format!("{date}T{time}");
        }
    }
}

/// A weight in kilograms; `Err` with the text where it is in pounds.
pub fn kilograms(cell: &Cell) -> Result<Option<Decimal>, String> {
    static WEIGHT: LazyLock<Regex> =
        LazyLock::new(|| Regex::new(r"^\D*?(\d[\d.,' ]*)\s*([a-z]*)").expect("a fixed pattern"));
    match cell {
        Cell::Number(_) => Ok(number::price(cell, None)),
        Cell::Text(text) => {
            let folded = fold(text);
            let Some(found) = WEIGHT.captures(&folded) else { return Ok(None) };
            if matches!(&found[2], "lb" | "lbs" | "pounds" | "g" | "t") {
                return Err(shorten(&clean(text), 40));
            }
            Ok(number::price_text(found[1].trim(), None))
        }
        _ => Ok(None),
    }
}

/// Totals that stand above the list.
fn totals_above(scope: &Scope<'_>, piece: &Piece, labels: &mut Labels) {
    let Some(statement) = statement::read(&piece.text) else { return };
    let beside = || {
        let cell = scope
            .sheet
            .row(piece.row)?
            .range(piece.column + 1..)
            .map(|(_, cell)| cell)
            .find(|cell| !cell.is_blank())?;
        match cell {
            Cell::Text(text) => statement::read(text)
                .and_then(|said| said.boxes().or_else(|| said.fish()))
                .or_else(|| number::count_text(text).map(|count| count.fish)),
            cell => number::count(cell, 1).map(|count| count.fish),
        }
    };
    let numberless = statement.numbers.is_empty();
    if let Some(boxes) =
        statement.boxes().or_else(|| (numberless && statement.unit == Some(Unit::Boxes)).then(beside).flatten())
    {
        labels.boxes.push((piece.row, boxes));
    }
    let says_fish = statement.kind.is_some()
        && (statement.unit == Some(Unit::Fish) || statement.numbers.iter().any(|(_, unit)| *unit == Some(Unit::Fish)));
    if says_fish && labels.total_fish.is_none() {
        let stated = statement.numbers.iter().find(|(_, unit)| *unit == Some(Unit::Fish)).map(|(number, _)| *number);
        labels.total_fish = stated.or_else(|| if numberless { beside() } else { None });
    }
}

/// The first line above the title, unless it is a labelled value itself.
fn first_line(pieces: &[Piece], heading: u32) -> Option<String> {
    let title = pieces
        .iter()
        .position(|piece| piece.row < heading && matches!(label_of(&piece.text), Some((Label::Title, _))))?;
    let first = pieces[..title].first()?;
    let is_value = label_of(&first.text).is_some() || first.text.contains(':');
    (!is_value && first.text.chars().any(char::is_alphabetic) && statement::read(&first.text).is_none())
        .then(|| first.text.clone())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_invoice_number_ends_before_its_date() {
        for text in [
            "INV-1",
            "INV-1, date 24/11/2026",
            "INV-1 24.11.2026",
            "INV-1 / 2026-11-24",
            "INV-1 (24 Nov 2026)",
            "INV-1 of 24/11/2026",
        ] {
            assert_eq!(without_date(text), "INV-1", "{text}");
        }
        assert_eq!(without_date("2026 118 0"), "2026 118 0");
    }
}
