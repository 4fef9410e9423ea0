//! Text to grids: comma, semicolon, tab, bars, or columns parted by two and more blanks.

use super::Unreadable;
use crate::packing::sheet::{Cell, Sheet};

/// Longest quoted field, so that a quote that never closes costs little.
const QUOTED_BYTES: usize = 8 << 10;

/// The layouts a text may have. A first line `sep=;` leaves one.
pub fn grids(text: &str) -> Result<Vec<Sheet>, Unreadable> {
    let (first, rest) = text.split_once('\n').unwrap_or((text, ""));
    let stated = first.trim().to_ascii_lowercase().strip_prefix("sep=").and_then(|mark| {
        let mut marks = mark.chars();
        marks.next().filter(|_| marks.next().is_none())
    });
    // `sep=` followed by a tab is trimmed to nothing by `trim`.
    let stated = stated.or_else(|| first.trim_end_matches('\r').eq_ignore_ascii_case("sep=\t").then_some('\t'));
    if let Some(mark) = stated {
        // Rows keep the numbers that a person sees in the file.
        return Ok(vec![marked(rest, mark, 1)?]);
    }
    let mut grids = Vec::new();
    for mark in ['\t', ';', ','] {
        if text.contains(mark) {
            grids.push(marked(text, mark, 0)?);
        }
    }
    if text.contains('|') {
        grids.push(bars(text)?);
    }
    if text.contains("  ") {
        grids.push(blanks(text)?);
    }
    Ok(grids)
}

fn marked(text: &str, mark: char, first_row: u32) -> Result<Sheet, Unreadable> {
    let mut sheet = Sheet::default();
    let (mut row, mut column) = (first_row, 0_u32);
    let mut rest = text;
    while !rest.is_empty() {
        let (field, lines, after) = field(rest, mark);
        sheet.put(row, column, Cell::Text(field))?;
        let mut next = after.chars();
        match next.next() {
            Some(character) if character == mark => {
                column += 1;
                rest = next.as_str();
            }
            Some('\r') => {
                rest = next.as_str().strip_prefix('\n').unwrap_or(next.as_str());
                row += 1 + lines;
                column = 0;
            }
            Some('\n') => {
                rest = next.as_str();
                row += 1 + lines;
                column = 0;
            }
            _ => break,
        }
    }
    Ok(sheet)
}

/// One field, the line breaks inside it, and what follows it.
fn field(text: &str, mark: char) -> (String, u32, &str) {
    if let Some(quoted) = text.strip_prefix('"')
        && let Some((value, after)) = quoted_field(quoted, mark)
    {
        let lines = value.matches('\n').count() as u32;
        return (value, lines, after);
    }
    // A quote inside an unquoted cell is an inch mark.
    let end = text.find([mark, '\n', '\r']).unwrap_or(text.len());
    (text[..end].to_owned(), 0, &text[end..])
}

/// The field after its opening quote; `None` where the quote is a ditto or inch mark.
fn quoted_field(text: &str, mark: char) -> Option<(String, &str)> {
    let ends = |rest: &str| rest.is_empty() || rest.starts_with([mark, '\n', '\r']);
    // A lone quote is a ditto mark: no field of a list begins with the parting character.
    if ends(text) {
        return None;
    }
    let mut value = String::new();
    let mut rest = text;
    loop {
        let quote = rest.find('"')?;
        if value.len() + quote > QUOTED_BYTES {
            return None;
        }
        value.push_str(&rest[..quote]);
        rest = &rest[quote + 1..];
        if let Some(after) = rest.strip_prefix('"') {
            value.push('"');
            rest = after;
            continue;
        }
        let after = rest.trim_start_matches(' ');
        return ends(after).then_some((value, after));
    }
}

fn bars(text: &str) -> Result<Sheet, Unreadable> {
    let mut sheet = Sheet::default();
    // Bars around the table are those that the headings begin with; elsewhere a first bar follows a blank cell.
    let headings = crate::packing::headings::first_heading_line(text.lines().map(|line| line.split('|').collect()));
    let framed = match headings.and_then(|at| text.lines().nth(at)) {
        Some(line) => line.trim_start().starts_with('|'),
        None => text.lines().filter(|line| line.contains('|')).all(|line| line.trim_start().starts_with('|')),
    };
    for (row, line) in text.lines().enumerate() {
        let line = line.trim();
        let is_rule =
            line.contains('-') && line.chars().all(|character| matches!(character, '|' | '-' | ':' | '+' | '=' | ' '));
        if is_rule {
            continue;
        }
        let line = line.strip_prefix('|').filter(|_| framed).unwrap_or(line);
        for (column, cell) in line.split('|').enumerate() {
            sheet.put(row as u32, column as u32, Cell::Text(cell.to_owned()))?;
        }
    }
    Ok(sheet)
}

/// Where a run of text stands in its line, in characters.
struct Run {
    from: usize,
    to: usize,
    text: String,
}

/// Columns by the place of the widest line of runs: a blank cell leaves its column to the next.
fn blanks(text: &str) -> Result<Sheet, Unreadable> {
    let lines: Vec<Vec<Run>> = text.lines().map(runs).collect();
    let mut sheet = Sheet::default();
    // The headings are the first line with the most runs; a row with as many is taken in order.
    let widest = lines.iter().map(Vec::len).max().unwrap_or(0);
    let headings = crate::packing::headings::first_heading_line(
        lines.iter().map(|line| line.iter().map(|run| run.text.as_str()).collect::<Vec<_>>()),
    )
    .or_else(|| lines.iter().position(|line| line.len() == widest));
    for (row, line) in lines.iter().enumerate() {
        let frame = headings.filter(|&top| row > top).map(|top| &lines[top]);
        let mut next = 0;
        for (index, run) in line.iter().enumerate() {
            let column = match frame {
                Some(frame) if frame.len() != line.len() => nearest(frame, run, next),
                _ => index,
            };
            next = column + 1;
            sheet.put(row as u32, column as u32, Cell::Text(run.text.clone()))?;
        }
    }
    Ok(sheet)
}

fn nearest(frame: &[Run], run: &Run, from: usize) -> usize {
    let distance = |heading: &Run| {
        let overlap = run.to.min(heading.to).saturating_sub(run.from.max(heading.from));
        let gap = run.from.abs_diff(heading.from).min(run.to.abs_diff(heading.to));
        (overlap == 0, gap)
    };
    (from..frame.len()).min_by_key(|&index| distance(&frame[index])).unwrap_or(from)
}

fn runs(line: &str) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::new();
    let mut blanks = 2;
    for (place, character) in line.chars().enumerate() {
        if character == ' ' || character == '\u{a0}' {
            blanks += 1;
            continue;
        }
        match runs.last_mut() {
            Some(run) if blanks < 2 => {
                run.text.extend(std::iter::repeat_n(' ', blanks));
                run.text.push(character);
                run.to = place + 1;
            }
            _ => runs.push(Run { from: place, to: place + 1, text: character.to_string() }),
        }
        blanks = 0;
    }
    runs
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(text: &str, mark: char) -> Vec<String> {
        let sheet = marked(text, mark, 0).unwrap();
        let cells = sheet.row(0).cloned().unwrap_or_default();
        let last = cells.keys().last().copied().unwrap_or(0);
        (0..=last).map(|column| cells.get(&column).map(Cell::text).unwrap_or_default()).collect()
    }

    #[test]
    fn quotes_follow_the_standard_and_inch_marks_do_not_open_them() {
        assert_eq!(row("\"a;b\";\"2\"\"\";c", ';'), ["a;b", "2\"", "c"]);
        assert_eq!(row("Neon;2\";4.5\" long;7", ';'), ["Neon", "2\"", "4.5\" long", "7"]);
    }

    #[test]
    fn a_lone_quote_is_a_ditto_mark() {
        assert_eq!(row("\";Neon;M;50\n\";Guppy;S;20", ';'), ["\"", "Neon", "M", "50"]);
        assert_eq!(row("\";Neon;\"", ';'), ["\"", "Neon", "\""]);
        assert_eq!(row("\"\"\"\";Neon", ';'), ["\"", "Neon"]);
        assert_eq!(row("2;\";\";b", ';'), ["2", "\"", "\"", "b"]);
    }

    #[test]
    fn a_quote_that_never_closes_stays_text() {
        assert_eq!(row("\"big one;50", ';'), ["\"big one", "50"]);
        assert_eq!(row("\"big\" one;50", ';'), ["\"big\" one", "50"]);
    }
}
