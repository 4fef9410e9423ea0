//! From sheets to one list: which sheets count, what their totals say, and where prices come from.

use std::collections::{BTreeMap, BTreeSet, HashSet};

use holdfast_core::consignment::{Asks, ListDoubt, PackingList};
use holdfast_core::say::packing as say;

use super::Understanding;
use super::currency;
use super::free;
use super::headings::{ColumnMeaning, ColumnOverride, Table, Wanted, meanings, tables};
use super::invoice::{self, Invoice, Priced};
use super::labels::{self, Labels, Scope};
use super::limits;
use super::meaning::Meaning;
use super::number;
use super::open::{Unreadable, grids};
use super::reading::{Draft, Reading};
use super::rows;
use super::sheet::{Cell, Sheet, letters};
use super::totals::{self, Before, Sum};
use super::words;

/// A sheet with its tables read.
struct Part<'a> {
    sheet: &'a Sheet,
    tables: Vec<Table>,
    readings: Vec<Reading>,
    labels: Labels,
    has_boxes: bool,
    /// The grand total row's fish, all tables of the sheet together.
    grand: Option<u64>,
}

impl Part<'_> {
    fn boxes(&self) -> BTreeSet<u32> {
        self.readings.iter().flat_map(Reading::all_boxes).collect()
    }

    fn sum(&self) -> Sum {
        let mut sum = Sum::default();
        for draft in self.readings.iter().flat_map(|reading| &reading.drafts) {
            sum.add(u64::from(draft.line.qty), u64::from(draft.line.bonus));
        }
        sum
    }

    fn has_lines(&self) -> bool {
        self.readings.iter().any(|reading| !reading.drafts.is_empty() || !reading.rows.is_empty())
    }

    fn calls_itself_packing_list(&self) -> bool {
        self.labels.titled || self.sheet.name.as_deref().is_some_and(invoice::names_a_packing_list)
    }
}

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

fn free_part<'a>(sheet: &'a Sheet, text: &str, reading: Reading) -> Part<'a> {
    let words: Vec<String> = words::phrase(text.get(..text.len().min(4000)).unwrap_or(text));
    let english = words::is_english(words.iter().map(String::as_str));
    let heading = reading.boxes.values().min().copied().unwrap_or(u32::MAX);
    let mut labels = labels::read(&Scope { sheet, skip: &reading.rows, heading, english });
    // Of an item the price may name the currency; a sign names it anywhere.
    for item in text.split(['\n', ';']) {
        labels.currencies.extend(item.rsplit_once('@').map(|(_, price)| currency::codes(price)).unwrap_or_default());
        labels.currencies.extend(currency::signs(item));
    }
    let has_boxes = !reading.boxes.is_empty();
    close(Part { sheet, tables: Vec::new(), readings: vec![reading], labels, has_boxes, grand: None })
}

fn part(sheet: &Sheet, tables: Vec<Table>, readings: Vec<Reading>) -> Part<'_> {
    let mut skip: BTreeSet<u32> = readings.iter().flat_map(|reading| reading.rows.iter().copied()).collect();
    skip.extend(tables.iter().flat_map(|table| table.rows.0..=table.rows.1));
    let heading = tables.first().map_or(u32::MAX, |table| table.rows.0);
    let english = tables.first().is_none_or(|table| table.english);
    let mut labels = labels::read(&Scope { sheet, skip: &skip, heading, english });
    for table in &tables {
        for column in &table.columns {
            labels.currencies.extend(currency::codes(&column.text));
            if column.meaning == Meaning::Price {
                let texts = skip.iter().filter_map(|row| sheet.get(*row, column.index)).map(Cell::text);
                labels.currencies.extend(texts.flat_map(|text| currency::codes(&text)));
            }
        }
        labels.shown.extend(shown_currencies(sheet, table, &skip));
        labels.shown.extend(amount_currencies(sheet, table, &skip));
    }
    let has_boxes = tables.iter().any(|table| table.column(Meaning::Box).is_some())
        || readings.iter().any(|reading| !reading.boxes.is_empty());
    close(Part { sheet, tables, readings, labels, has_boxes, grand: None })
}

/// The currencies that formats show: those of prices, else of anything on the lines, such as an amount.
fn shown_currencies(sheet: &Sheet, table: &Table, rows: &BTreeSet<u32>) -> BTreeSet<&'static str> {
    let of = |column: u32| rows.iter().filter_map(move |row| sheet.shown_currency(*row, column));
    let prices: BTreeSet<_> = table.column(Meaning::Price).into_iter().flat_map(|column| of(column.index)).collect();
    if !prices.is_empty() {
        return prices;
    }
    table.columns.iter().flat_map(|column| of(column.index)).collect()
}

/// The currencies typed beside amounts: `€ 12.50` in a column that is no price.
fn amount_currencies(sheet: &Sheet, table: &Table, rows: &BTreeSet<u32>) -> BTreeSet<&'static str> {
    let columns = table.columns.iter().filter(|column| column.meaning == Meaning::Unused);
    columns
        .flat_map(|column| rows.iter().filter_map(|row| sheet.get(*row, column.index)))
        .filter_map(|cell| match cell {
            Cell::Text(text) if number::price_text(text, None).is_some() => Some(currency::codes(text)),
            _ => None,
        })
        .flatten()
        .collect()
}

/// Ends each table at its grand total.
fn close(mut part: Part<'_>) -> Part<'_> {
    let mut grand: Option<u64> = None;
    let mut last_row = None;
    for reading in &mut part.readings {
        let at = totals::grand(reading);
        reading.grand = at;
        if let Some(at) = at.map(|at| reading.totals[at].clone()) {
            if at.all.fish > 0
                && at.total.kind != Some(super::statement::Kind::Grand)
                && let Some(row) = reading
                    .own_box
                    .range(at.row + 1..)
                    .find(|row| reading.drafts.iter().any(|draft| draft.row == **row))
            {
                let question = say::lines_after_total(&say::place(part.sheet.name.as_deref(), row + 1), at.row + 1);
                reading.questions.push((at.row, question));
            }
            if at.all.fish > 0 {
                reading.end_at(at.row);
                last_row = last_row.max(Some(at.row));
            }
            grand = match (grand, at.total.fish) {
                (Some(one), Some(other)) => Some(one + other),
                (one, other) => one.or(other),
            };
            part.labels.gross_kg = part.labels.gross_kg.or(at.total.gross);
        }
    }
    if let Some(row) = last_row {
        part.readings.iter_mut().for_each(|reading| reading.end_at(row));
    }
    part.grand = grand;
    part
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

/// Subtotals and sums carried forward may count from the sheet before on.
fn check_subtotals(chosen: &mut [Part<'_>]) {
    let mut before = Before::default();
    for part in chosen {
        for reading in &mut part.readings {
            let questions = totals::check(part.sheet, reading, before);
            before.add(reading);
            reading.questions.extend(questions);
        }
    }
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

/// Takes each field from the first sheet that has it.
fn fill<'l>(list: &mut PackingList, labels: impl Iterator<Item = &'l Labels>) {
    let (mut currencies, mut shown) = (BTreeSet::new(), BTreeSet::new());
    let mut asked: HashSet<String> = list.questions.iter().cloned().collect();
    let mut first_line = None;
    for labels in labels {
        list.awb = list.awb.take().or_else(|| labels.awb.clone());
        list.invoice = list.invoice.take().or_else(|| labels.invoice.clone());
        list.supplier = list.supplier.take().or_else(|| labels.supplier.clone());
        first_line = first_line.or_else(|| labels.first_line.clone());
        list.packed_at = list.packed_at.take().or_else(|| labels.packed_at.clone());
        list.gross_kg = list.gross_kg.or(labels.gross_kg);
        currencies.extend(labels.currencies.iter().copied());
        shown.extend(labels.shown.iter().copied());
        for question in &labels.questions {
            if asked.insert(question.clone()) {
                list.questions.push(question.clone());
            }
        }
    }
    list.supplier = list.supplier.take().or(first_line);
    if currencies.is_empty() {
        currencies = shown;
    }
    match currencies.len() {
        0 => {}
        1 => list.currency = currencies.first().map(|code| (*code).to_owned()),
        _ => {
            let codes: Vec<&str> = currencies.into_iter().collect();
            let text = say::two_currencies(&codes);
            list.questions.push(text.clone());
            let choices = codes.into_iter().map(str::to_owned).collect();
            list.doubts.push(ListDoubt { text, lines: Vec::new(), asks: Asks::Currency { choices } });
        }
    }
}

/// A cover sheet may name what the packing sheet does not.
fn fill_from_covers<'l>(list: &mut PackingList, covers: impl Iterator<Item = &'l Labels>) {
    for labels in covers {
        list.awb = list.awb.take().or_else(|| labels.awb.clone());
        list.invoice = list.invoice.take().or_else(|| labels.invoice.clone());
        list.supplier = list.supplier.take().or_else(|| labels.supplier.clone()).or_else(|| labels.first_line.clone());
        list.packed_at = list.packed_at.take().or_else(|| labels.packed_at.clone());
        list.gross_kg = list.gross_kg.or(labels.gross_kg);
    }
}

fn column_questions(part: &Part<'_>, questions: &mut Vec<String>) {
    let sheet = part.sheet.name.as_deref();
    for (table, reading) in part.tables.iter().zip(&part.readings) {
        let heading = |column: u32| {
            table.columns.iter().find(|known| known.index == column).map(|known| known.text.clone()).unwrap_or_default()
        };
        for (column, row) in &reading.unknown {
            questions.push(say::column_not_understood(sheet, &letters(*column), &heading(*column), row + 1));
        }
        for (column, (count, row, what)) in &reading.missing {
            questions.push(say::values_missing(sheet, &letters(*column), &heading(*column), *count, row + 1, what));
        }
    }
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

fn line_number(lines: usize) -> u32 {
    // A list is cut off long before.
    u32::try_from(lines).unwrap_or(u32::MAX)
}

/// What the questions about rows ask, each with the lines of its row: below a label that names no box, all up to the next label.
fn row_doubts(chosen: &[Part<'_>], list: &mut PackingList) {
    let mut doubts = Vec::new();
    let mut first = 0;
    for reading in chosen.iter().flat_map(|part| &part.readings) {
        let mut asks: Vec<_> = reading.asks.iter().collect();
        asks.sort_by_key(|(row, _, _)| *row);
        for (row, text, asks) in asks {
            let of_row = |draft: &Draft| match asks {
                Asks::Box => draft.row >= *row && draft.line.number.is_none() && draft.boxes.is_empty(),
                _ => draft.row == *row,
            };
            let lines = reading.drafts.iter().enumerate().skip_while(|(_, draft)| draft.row < *row);
            let lines = lines.take_while(|(_, draft)| of_row(draft));
            let lines: Vec<u32> = lines.map(|(at, _)| line_number(first + at)).collect();
            if lines.is_empty() && !matches!(asks, Asks::LeftOut { .. }) {
                continue;
            }
            doubts.push(ListDoubt { text: text.clone(), lines, asks: asks.clone() });
        }
        first += reading.drafts.len();
    }
    doubts.append(&mut list.doubts);
    list.doubts = doubts;
}

/// The stated total: grand total rows add up over sheets; else what is labelled above the lists.
fn state_total(chosen: &[Part<'_>], list: &mut PackingList) {
    let mut sum = Sum::default();
    for part in chosen {
        let part = part.sum();
        sum.add(part.fish, part.free);
    }
    let one_of = |values: Vec<u64>| -> Option<u64> {
        let added = values.iter().copied().reduce(|one, other| one.saturating_add(other))?;
        // One sheet may state the total of all of them.
        let fits = std::iter::once(added).chain(values.iter().copied()).find(|&stated| sum.agrees(stated));
        Some(fits.unwrap_or(added))
    };
    let below = one_of(chosen.iter().filter_map(|part| part.grand).collect());
    let above = one_of(chosen.iter().filter_map(|part| part.labels.total_fish).collect());
    list.stated_total = below.or(above);
    if let Some(stated) = list.stated_total.filter(|&stated| !sum.agrees(stated)) {
        list.questions.push(say::stated_total_differs(stated, sum.fish, sum.free));
    }
    if let (Some(below), Some(above)) = (below, above)
        && below != above
        && !(sum.agrees(below) && sum.agrees(above))
    {
        list.questions.push(say::two_totals(above, below));
    }
}

fn count_boxes(chosen: &[Part<'_>], questions: &mut Vec<String>) {
    let all: BTreeSet<u32> = chosen.iter().flat_map(Part::boxes).collect();
    let mut asked = HashSet::new();
    for part in chosen {
        let own = part.boxes().len() as u64;
        let below = part
            .readings
            .iter()
            .flat_map(|reading| &reading.totals)
            .filter(|at| at.total.kind != Some(super::statement::Kind::Sub))
            .filter_map(|at| Some((at.row, at.total.boxes?)));
        for (row, stated) in part.labels.boxes.iter().copied().chain(below) {
            if stated != own && stated != all.len() as u64 {
                let question =
                    say::boxes_differ(&say::place(part.sheet.name.as_deref(), row + 1), stated, all.len() as u64);
                if asked.insert(question.clone()) {
                    questions.push(question);
                }
            }
        }
    }
}

fn invoice_totals(invoices: &[(&Sheet, Invoice)], list: &mut PackingList) {
    let sum = Sum { fish: list.total_qty, free: list.lines.iter().map(|line| u64::from(line.bonus)).sum() };
    for (sheet, invoice) in invoices {
        if let Some((row, stated)) = invoice.total_fish.filter(|(_, stated)| !sum.agrees(*stated)) {
            list.questions.push(say::invoice_total_differs(
                &say::place(sheet.name.as_deref(), row + 1),
                stated,
                sum.fish,
                sum.free,
            ));
        }
    }
}

/// A list full of doubts is told as far as anyone will read.
fn shorten_questions(questions: &mut Vec<String>) {
    let more = questions.len().saturating_sub(limits::QUESTIONS);
    if more > 0 {
        questions.truncate(limits::QUESTIONS);
        questions.push(say::more_questions(more));
    }
}
