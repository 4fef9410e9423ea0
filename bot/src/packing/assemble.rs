//! From sheets to one list: which sheets count, and where prices come from.

use std::collections::{BTreeMap, BTreeSet};

use holdfast_core::consignment::{Asks, ListDoubt, PackingList};
use holdfast_core::say::packing as say;

use super::Understanding;
use super::checks::{
    check_subtotals, column_questions, count_boxes, invoice_totals, row_doubts, shorten_questions, state_total,
};
use super::currency;
use super::fields::{fill, fill_from_covers};
use super::free;
use super::headings::{Wanted, tables};
use super::invoice::{self, Invoice, Priced};
use super::labels::{self, Labels, Scope};
use super::meaning::Meaning;
use super::open::{Unreadable, grids};
use super::part::{Part, free_part, part, shown_currencies};
use super::rows;
use super::sheet::{Cell, Sheet};
use super::table::{ColumnMeaning, ColumnOverride, Table, meanings};

/// Reads a workbook.
pub fn from_sheets(name: &str, sheets: &[Sheet], overrides: &[ColumnOverride]) -> Result<Understanding, Unreadable> {
    if sheets.iter().all(|sheet| sheet.count() == 0) {
        return Ok(nothing(name, say::empty()));
    }
    let mut parts = Vec::new();
    for sheet in sheets {
        let tables = tables(sheet, Wanted::Fish, overrides);
        let readings = tables.iter().map(|table| rows::read(sheet, table)).collect::<Result<Vec<_>, _>>()?;
        parts.push(part(sheet, tables, readings));
    }
    assemble(name, parts, sheets, overrides)
}

/// Reads a text: a table in one of its layouts, else free lines.
pub fn from_text(name: &str, text: &str, overrides: &[ColumnOverride]) -> Result<Understanding, Unreadable> {
    if text.trim().is_empty() {
        return Ok(nothing(name, say::empty()));
    }
    // Lone carriage returns ended lines once.
    let text = &text.replace("\r\n", "\n").replace('\r', "\n");
    let grids = grids(text)?;
    let mut best: Option<(usize, Sheet)> = None;
    for sheet in grids {
        let found = tables(&sheet, Wanted::Fish, overrides);
        let used =
            found.iter().flat_map(|table| &table.columns).filter(|column| column.meaning != Meaning::Unknown).count();
        if used > best.as_ref().map_or(0, |(most, _)| *most) {
            best = Some((used, sheet));
        }
    }
    if let Some((_, sheet)) = &best {
        let understanding = from_sheets(name, std::slice::from_ref(sheet), overrides)?;
        if !understanding.list.lines.is_empty() {
            return Ok(understanding);
        }
    }
    let lines = lines_as_sheet(text)?;
    let reading = free::read(text)?;
    if reading.drafts.is_empty() {
        return match best {
            Some((_, sheet)) => from_sheets(name, &[sheet], overrides),
            None => {
                let part = free_part(&lines, text, reading);
                let question = if part.has_boxes { say::no_lines() } else { say::no_headings() };
                Ok(headed(name, &[part], question))
            }
        };
    }
    let part = free_part(&lines, text, reading);
    assemble(name, vec![part], &[], overrides)
}

fn lines_as_sheet(text: &str) -> Result<Sheet, Unreadable> {
    let mut sheet = Sheet::default();
    for (row, line) in (0_u32..).zip(text.lines()) {
        sheet.put(row, 0, Cell::Text(line.to_owned()))?;
    }
    Ok(sheet)
}

fn nothing(name: &str, question: String) -> Understanding {
    let list = PackingList { file: name.to_owned(), questions: vec![question], ..PackingList::default() };
    Understanding { list, columns: Vec::new() }
}

/// The fields around the lines, where there are no lines to give.
fn headed(name: &str, parts: &[Part<'_>], question: String) -> Understanding {
    let mut list = PackingList { file: name.to_owned(), ..PackingList::default() };
    fill(&mut list, parts.iter().map(|part| &part.labels));
    list.questions.insert(0, question);
    Understanding { list, columns: Vec::new() }
}

fn assemble(
    name: &str,
    parts: Vec<Part<'_>>,
    sheets: &[Sheet],
    overrides: &[ColumnOverride],
) -> Result<Understanding, Unreadable> {
    let is_packing = |part: &Part<'_>| {
        part.has_boxes
            && (part.tables.is_empty() || part.tables.iter().any(Table::counts_fish))
            && !part.readings.is_empty()
    };
    let visible = parts.iter().any(|part| is_packing(part) && !part.sheet.hidden);
    let (mut packing, others): (Vec<Part<'_>>, Vec<Part<'_>>) =
        parts.into_iter().partition(|part| is_packing(part) && (!visible || !part.sheet.hidden));
    if packing.is_empty() {
        let question =
            if others.iter().any(|part| !part.readings.is_empty()) { say::no_boxes() } else { say::no_headings() };
        return Ok(headed(name, &others, question));
    }
    if packing.iter().any(Part::has_lines) {
        packing.retain(Part::has_lines);
    }
    let mut list = PackingList { file: name.to_owned(), ..PackingList::default() };
    let mut chosen = choose(packing, &mut list.questions);
    check_subtotals(&mut chosen);
    let (invoices, invoice_labels) = invoices(sheets, &others, overrides);
    let mut labels: Vec<&Labels> = chosen.iter().map(|part| &part.labels).collect();
    labels.extend(invoice_labels.iter());
    fill(&mut list, labels.into_iter());
    let covers = others.iter().filter(|part| !part.sheet.hidden && part.tables.is_empty());
    fill_from_covers(&mut list, covers.map(|part| &part.labels));
    for part in &chosen {
        for reading in &part.readings {
            let mut questions: Vec<&(u32, String)> = reading.questions.iter().collect();
            questions.sort_by_key(|(row, _)| *row);
            list.questions.extend(questions.into_iter().map(|(_, question)| question.clone()));
        }
        column_questions(part, &mut list.questions);
    }
    lines(&chosen, &invoices, &mut list);
    state_total(&chosen, &mut list);
    count_boxes(&chosen, &mut list.questions);
    invoice_totals(&invoices, &mut list);
    if list.lines.is_empty() && list.questions.is_empty() {
        list.questions.push(say::no_lines());
    }
    row_doubts(&chosen, &mut list);
    shorten_questions(&mut list.questions);
    list.doubts.retain(|doubt| list.questions.contains(&doubt.text));
    let columns: Vec<ColumnMeaning> =
        chosen.iter().flat_map(|part| part.tables.iter().flat_map(|table| meanings(part.sheet, table))).collect();
    list.columns = columns.iter().map(ColumnMeaning::in_list).collect();
    Ok(Understanding { list, columns })
}

/// Sheets with different boxes make one list; of those with the same boxes one is taken.
fn choose<'a>(packing: Vec<Part<'a>>, questions: &mut Vec<String>) -> Vec<Part<'a>> {
    let mut groups: Vec<Vec<Part<'a>>> = Vec::new();
    for part in packing {
        let boxes = part.boxes();
        let same = groups.iter().position(|group| {
            group.iter().any(|other| {
                let others = other.boxes();
                let shared = boxes.intersection(&others).count();
                // Sheets may share the box in which one ends and the next begins.
                shared > 0 && shared * 2 > boxes.len().min(others.len())
            })
        });
        match same {
            Some(at) => groups[at].push(part),
            None => groups.push(vec![part]),
        }
    }
    let mut chosen = Vec::new();
    for mut group in groups {
        if group.len() > 1 {
            let named: Vec<usize> = (0..group.len()).filter(|&at| group[at].calls_itself_packing_list()).collect();
            let at = match named.as_slice() {
                [one] => *one,
                _ => {
                    let names: Vec<String> =
                        group.iter().map(|part| part.sheet.name.clone().unwrap_or_default()).collect();
                    questions.push(say::same_boxes(&names));
                    0
                }
            };
            chosen.push(group.swap_remove(at));
        } else {
            chosen.append(&mut group);
        }
    }
    chosen
}

/// Invoice sheets: species and price, no boxes; hidden ones only where no visible one is there.
fn invoices<'a>(
    sheets: &'a [Sheet],
    others: &[Part<'_>],
    overrides: &[ColumnOverride],
) -> (Vec<(&'a Sheet, Invoice)>, Vec<Labels>) {
    let mut found = Vec::new();
    for sheet in sheets {
        let other = others.iter().find(|part| std::ptr::eq(part.sheet, sheet));
        if other.is_none_or(|part| part.has_boxes) {
            continue;
        }
        let tables: Vec<Table> = tables(sheet, Wanted::Prices, overrides)
            .into_iter()
            .filter(|table| table.prices_fish() && table.column(Meaning::Box).is_none())
            .collect();
        if !tables.is_empty() {
            found.push((sheet, tables));
        }
    }
    if found.iter().any(|(sheet, _)| !sheet.hidden) {
        found.retain(|(sheet, _)| !sheet.hidden);
    }
    let mut labels = Vec::new();
    let mut invoices = Vec::new();
    for (sheet, tables) in found {
        let mut invoice = Invoice::default();
        for table in &tables {
            invoice::read(sheet, table, &mut invoice);
        }
        let skip: BTreeSet<u32> = tables.iter().flat_map(|table| table.rows.0..=table.rows.1).collect();
        let rows: BTreeSet<u32> = sheet.rows().map(|(row, _)| row).collect();
        let mut read =
            labels::read(&Scope { sheet, skip: &skip, heading: tables[0].rows.0, english: tables[0].english });
        read.currencies
            .extend(tables.iter().flat_map(|table| &table.columns).flat_map(|column| currency::codes(&column.text)));
        read.shown.extend(tables.iter().flat_map(|table| shown_currencies(sheet, table, &rows)));
        // The first line of an invoice is above another title.
        read.first_line = None;
        labels.push(read);
        invoices.push((sheet, invoice));
    }
    (invoices, labels)
}

fn lines(chosen: &[Part<'_>], invoices: &[(&Sheet, Invoice)], list: &mut PackingList) {
    let mut doubtful: BTreeMap<String, ListDoubt> = BTreeMap::new();
    for part in chosen {
        for draft in part.readings.iter().flat_map(|reading| &reading.drafts) {
            let mut line = draft.line.clone();
            if line.unit_price.is_none() {
                let priced = invoices
                    .iter()
                    .map(|(_, invoice)| invoice.price(&line.species, line.size.as_deref()))
                    .find(|priced| *priced != Priced::None);
                match priced {
                    Some(Priced::One(price)) => line.unit_price = Some(price),
                    Some(Priced::Several(one, other)) => {
                        let text =
                            say::two_prices(&line.species, line.size.as_deref(), &one.to_string(), &other.to_string());
                        let asks = Asks::Price { choices: vec![one, other] };
                        let doubt = ListDoubt { text: text.clone(), lines: Vec::new(), asks };
                        doubtful.entry(text).or_insert(doubt).lines.push(line_number(list.lines.len()));
                    }
                    _ => {}
                }
            }
            list.total_qty += u64::from(line.qty);
            list.lines.push(line);
        }
    }
    list.questions.extend(doubtful.keys().cloned());
    list.doubts.extend(doubtful.into_values());
}

pub(super) fn line_number(lines: usize) -> u32 {
    // A list is cut off long before.
    u32::try_from(lines).unwrap_or(u32::MAX)
}
