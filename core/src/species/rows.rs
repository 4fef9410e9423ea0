//! The embedded table and its parser.

use std::sync::LazyLock;

use super::{Caution, Cautioned, Kind, Mark, Sensitivity, Span, Species, Water};

const FACTS: &str = include_str!("facts.csv");
const COLUMNS: [&str; 13] = [
    "common_names",
    "scientific_name",
    "also_scientific",
    "adult_size_cm",
    "family",
    "water",
    "temp_c",
    "ph",
    "kind",
    "cautions",
    "sensitivity",
    "notes",
    "source",
];

// A test parses the same embedded text, so that a malformed row never reaches a user.
static TABLE: LazyLock<Vec<Species>> = LazyLock::new(|| parse(FACTS).expect("the embedded table is parsed by a test"));

/// Every species known, in the order of the file.
pub fn table() -> &'static [Species] {
    &TABLE
}

/// Why a row of the table cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: {column}: cannot read {found:?}")]
pub struct RowError {
    /// Line in the file, from 1.
    pub line: usize,
    /// The column that cannot be read.
    pub column: &'static str,
    /// What stands there.
    pub found: String,
}

/// Splits one line of RFC 4180 text. Line breaks inside quotes do not occur in this table.
pub(super) fn split(line: &str) -> Vec<String> {
    let mut cells = vec![String::new()];
    let mut quoted = false;
    let mut chars = line.chars().peekable();
    while let Some(c) = chars.next() {
        // There is always a last cell.
        let cell = cells.last_mut().expect("never empty");
        match c {
            '"' if quoted && chars.peek() == Some(&'"') => {
                chars.next();
                cell.push('"');
            }
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(String::new()),
            _ => cell.push(c),
        }
    }
    cells
}

/// Parses the whole table, its heading row included.
pub(super) fn parse(text: &str) -> Result<Vec<Species>, RowError> {
    let mut lines = text.lines().enumerate();
    let heading = lines.next().map(|(_, line)| split(line)).unwrap_or_default();
    if heading != COLUMNS {
        return Err(RowError { line: 1, column: "heading", found: heading.join(",") });
    }
    lines.filter(|(_, line)| !line.is_empty()).map(|(index, line)| row(index + 1, &split(line))).collect()
}

fn row(line: usize, cells: &[String]) -> Result<Species, RowError> {
    let wrong = |column: usize| RowError {
        line,
        column: COLUMNS[column],
        found: cells.get(column).cloned().unwrap_or_default(),
    };
    let [common, scientific, also, size, family, water, temp, ph, kind, cautions, sensitivity, notes, source] = cells
    else {
        return Err(RowError { line, column: "number of cells", found: cells.len().to_string() });
    };
    let common: Vec<String> = list(common).map(str::to_lowercase).collect();
    if common.is_empty() || source.is_empty() || family.is_empty() {
        return Err(wrong(if common.is_empty() { 0 } else { 12 }));
    }
    let mut binomials: Vec<String> = binomial(scientific).into_iter().collect();
    binomials.extend(list(also).map(str::to_owned));
    Ok(Species {
        common,
        scientific: scientific.clone(),
        binomials,
        adult_size_cm: size
            .parse()
            .ok()
            .filter(|size: &f64| *size > 0.0 && size.is_finite())
            .ok_or_else(|| wrong(3))?,
        family: family.clone(),
        water: match water.as_str() {
            "fresh" => Water::Fresh,
            "brackish" => Water::Brackish,
            "marine" => Water::Marine,
            _ => return Err(wrong(5)),
        },
        temp_c: span(temp).ok_or_else(|| wrong(6))?,
        ph: span(ph).filter(|ph| ph.high <= 14.0).ok_or_else(|| wrong(7))?,
        kind: match kind.as_str() {
            "fish" => Kind::Fish,
            "invertebrate" => Kind::Invertebrate,
            "plant" => Kind::Plant,
            _ => return Err(wrong(8)),
        },
        cautions: list(cautions).map(cautioned).collect::<Option<_>>().ok_or_else(|| wrong(9))?,
        sensitivity: match sensitivity.as_str() {
            "delicate" => Sensitivity::Delicate,
            "" | "ordinary" => Sensitivity::Ordinary,
            "hardy" => Sensitivity::Hardy,
            _ => return Err(wrong(10)),
        },
        notes: notes.clone(),
        source: source.clone(),
    })
}

fn list(cell: &str) -> impl Iterator<Item = &str> {
    cell.split(';').map(str::trim).filter(|part| !part.is_empty())
}

fn span(cell: &str) -> Option<Span> {
    let (low, high) = cell.split_once('-')?;
    let (low, high): (f64, f64) = (low.parse().ok()?, high.parse().ok()?);
    (low.is_finite() && high.is_finite() && low <= high).then_some(Span { low, high })
}

/// A caution's word, with `+` behind it where a public page was read for it.
fn cautioned(word: &str) -> Option<Cautioned> {
    let (word, mark) = match word.strip_suffix('+') {
        Some(word) => (word, Mark::Verified),
        None => (word, Mark::FromMemory),
    };
    Some(Cautioned { caution: Caution::from_word(word)?, mark })
}

/// The binomial a scientific name begins with: "Osteogaster aenea (Corydoras aeneus)" is *Osteogaster aenea*, "Ancistrus spp." none.
fn binomial(scientific: &str) -> Option<String> {
    let mut words = scientific.split_whitespace();
    let (genus, epithet) = (words.next()?, words.next()?);
    let plain = |word: &str| word.len() > 2 && word.chars().all(|c| c.is_ascii_alphabetic());
    let named =
        genus.starts_with(|c: char| c.is_ascii_uppercase()) && plain(genus) && plain(epithet) && epithet != "and";
    named.then(|| format!("{genus} {epithet}"))
}
