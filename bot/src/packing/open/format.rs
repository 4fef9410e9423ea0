//! What the format of a number cell shows beside its digits: a date, or the sign of a currency.

use crate::packing::currency;
use crate::packing::sheet::Cell;

/// How a cell shows its number.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct NumberFormat {
    /// As a date or a time.
    pub is_date: bool,
    /// With the sign or name of one currency, as its ISO code.
    pub currency: Option<&'static str>,
}

impl NumberFormat {
    /// A format by its code, such as `[$€-2] #,##0.00`.
    pub fn of_code(code: &str) -> Self {
        Self { is_date: is_date_format(code), currency: one(&currency::codes(&literals(code))) }
    }

    /// A format that has only a number. Those of money show the sign of the reader's own machine, which tells nothing.
    pub fn built_in(id: u32) -> Self {
        Self { is_date: is_date_format_id(id), currency: None }
    }
}

/// The only code of a set.
fn one(codes: &std::collections::BTreeSet<&'static str>) -> Option<&'static str> {
    codes.first().copied().filter(|_| codes.len() == 1)
}

/// A currency by the text that a file gives for it: `EUR`, `€`.
pub fn currency_of(text: &str) -> Option<&'static str> {
    one(&currency::codes(text))
}

/// What a format code shows as it stands: quoted and escaped text, the sign in `[$€-2]`, and money signs.
fn literals(code: &str) -> String {
    let mut out = String::new();
    let mut characters = code.chars();
    while let Some(character) = characters.next() {
        match character {
            '"' => {
                out.push(' ');
                out.extend(characters.by_ref().take_while(|&c| c != '"'));
                out.push(' ');
            }
            '\\' => out.extend(characters.next()),
            // Room as wide as a character, or a character that fills the cell.
            '_' | '*' => {
                characters.next();
            }
            '[' => {
                let inside: String = characters.by_ref().take_while(|&c| c != ']').collect();
                if let Some(sign) = inside.strip_prefix('$') {
                    out.push(' ');
                    out.push_str(sign.rsplit_once('-').map_or(sign, |(sign, _)| sign));
                    out.push(' ');
                }
            }
            letter if letter.is_alphabetic() => out.push(' '),
            other => out.push(other),
        }
    }
    out
}

/// The built-in formats that show dates or times (ECMA-376, 18.8.30).
fn is_date_format_id(id: u32) -> bool {
    matches!(id, 14..=22 | 27..=36 | 45..=47 | 50..=58)
}

/// Whether a format code shows a date: letters of day, month, year or hour outside quotes, escapes and brackets.
fn is_date_format(code: &str) -> bool {
    let mut characters = code.chars();
    while let Some(character) = characters.next() {
        match character {
            '"' => {
                characters.by_ref().find(|&c| c == '"');
            }
            '\\' | '_' | '*' => {
                characters.next();
            }
            '[' => {
                characters.by_ref().find(|&c| c == ']');
            }
            'd' | 'D' | 'm' | 'M' | 'y' | 'Y' | 'h' | 'H' => return true,
            'G' | 'g' => return false,
            _ => {}
        }
    }
    false
}

/// A serial number as a date and time, or a time alone as text. Serials past year 9999 are no dates.
pub fn date_cell(serial: f64, from_1904: bool) -> Cell {
    if (0.0..1.0).contains(&serial) {
        let minutes = (serial * 1440.0).round() as u32;
        return Cell::Text(format!("{:02}:{:02}", minutes / 60 % 24, minutes % 60));
    }
    let base = if from_1904 {
        chrono::NaiveDate::from_ymd_opt(1904, 1, 1)
    } else if serial < 61.0 {
        // The 1900 system counts a 29 February 1900 that never was.
        chrono::NaiveDate::from_ymd_opt(1899, 12, 31)
    } else {
        chrono::NaiveDate::from_ymd_opt(1899, 12, 30)
    };
    let seconds = (serial * 86_400.0).round();
    if !(0.0..=3.0e11).contains(&seconds) {
        return Cell::Number(serial);
    }
    base.and_then(|date| date.and_hms_opt(0, 0, 0))
        .and_then(|start| start.checked_add_signed(chrono::TimeDelta::seconds(seconds as i64)))
        .map_or(Cell::Number(serial), Cell::Date)
}

/// An ISO 8601 date, with or without a time.
pub fn iso_date(text: &str) -> Option<chrono::NaiveDateTime> {
    let text = text.trim_end_matches('Z');
    chrono::NaiveDateTime::parse_from_str(text, "%Y-%m-%dT%H:%M:%S%.f")
        .or_else(|_| chrono::NaiveDateTime::parse_from_str(text, "%Y-%m-%dT%H:%M"))
        .ok()
        .or_else(|| chrono::NaiveDate::parse_from_str(text, "%Y-%m-%d").ok()?.and_hms_opt(0, 0, 0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_format_names_the_currency_it_shows() {
        for (code, currency) in [
            ("[$€-2]\\ #,##0.00", Some("EUR")),
            ("\"$\"#,##0.00", Some("USD")),
            ("\\$#,##0.00", Some("USD")),
            ("$#,##0.00_);[Red]($#,##0.00)", Some("USD")),
            ("[$$-409]#,##0.00", Some("USD")),
            ("[$Rp-421]#,##0", Some("IDR")),
            ("[$S$-4809]0.00", Some("SGD")),
            ("[$R$-416] #,##0.00;-[$R$-416] #,##0.00", Some("BRL")),
            ("#,##0.00\\ \"Kč\"", Some("CZK")),
            ("_-* #,##0.00\\ [$CZK]_-", Some("CZK")),
            ("_-* #,##0.00 \"€\"_-;-* #,##0.00 \"€\"_-;_-* \"-\"?? \"€\"_-;_-@_-", Some("EUR")),
            ("[$USD] 0.00", Some("USD")),
            ("0.00", None),
            ("General", None),
            ("[$-409]d-mmm;@", None),
            ("0 \"pcs\"", None),
            ("0.00E+00", None),
        ] {
            assert_eq!(NumberFormat::of_code(code).currency, currency, "{code}");
        }
    }

    #[test]
    fn date_formats_are_told_from_number_formats() {
        for code in ["dd/mm/yyyy", "[$-409]d-mmm;@", "yyyy\\-mm\\-dd", "h:mm"] {
            assert!(is_date_format(code), "{code}");
        }
        for code in ["General", "0.00", "#,##0 \"days\"", "[Red]0", "0\\d", "@"] {
            assert!(!is_date_format(code), "{code}");
        }
    }

    #[test]
    fn serials_become_dates_in_both_systems() {
        let text = |serial, from_1904| date_cell(serial, from_1904).text();
        assert_eq!(text(46_350.0, false), "2026-11-24");
        assert_eq!(text(46_350.895_833_333, false), "2026-11-24 21:30");
        assert_eq!(text(44_888.0, true), "2026-11-24");
        assert_eq!(text(59.0, false), "1900-02-28");
        assert_eq!(text(0.75, false), "18:00");
    }
}
