//! Dates as lists write them. Day first, unless the list is English and the month may stand first as well.

use std::sync::LazyLock;

use chrono::NaiveDate;
use regex::Regex;

use super::clean::{fold, words};
use super::words::month;

/// A date that was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Moment {
    /// ISO 8601, local: `2026-11-24` or `2026-11-24T14:30`.
    Iso(String),
    /// Day and month could change places.
    Ambiguous,
}

static NUMBERS: LazyLock<Regex> = LazyLock::new(|| {
    Regex::new(r"(?:^|[^\d])(\d{1,4})\s?[-./]\s?(\d{1,2})\s?[-./]\s?(\d{2,4})(?:[^\d]|$)").expect("a fixed pattern")
});
static CLOCK: LazyLock<Regex> = LazyLock::new(|| {
    Regex::new(r"(?:^|[^\d.])([01]?\d|2[0-3])\s?[:h]\s?([0-5]\d)(?::[0-5]\d)?\s*(am|pm|a\.m\.|p\.m\.)?")
        .expect("a fixed pattern")
});
static DOTTED_CLOCK: LazyLock<Regex> = LazyLock::new(|| {
    Regex::new(r"(?:^|\s)([01]?\d|2[0-3])\.([0-5]\d)\s*(?:h|hrs|uhr|hod|wib)?\.?$").expect("a fixed pattern")
});

/// Reads a date with or without a time. `None` where there is none.
pub fn parse(text: &str, english: bool) -> Option<Moment> {
    let folded = fold(text);
    let (date, rest) = match NUMBERS.captures(&folded) {
        Some(found) => {
            let whole = found.get(0)?;
            let number = |index: usize| found[index].parse::<u32>().ok();
            let date = numeric(number(1)?, number(2)?, number(3)?, found[1].len(), found[3].len(), english)?;
            // The date takes its separators with it, but leaves the sign that parts it from the time.
            let third = found.get(3)?;
            (date, format!("{} {}", &folded[..whole.start()], &folded[third.end()..]))
        }
        None => (named(&folded)?, folded.clone()),
    };
    let Some(date) = date else { return Some(Moment::Ambiguous) };
    Some(Moment::Iso(match clock(&rest) {
        Some((hour, minute)) => format!("{}T{hour:02}:{minute:02}", date.format("%Y-%m-%d")),
        None => date.format("%Y-%m-%d").to_string(),
    }))
}

/// `Some(None)` where the date is ambiguous.
fn numeric(
    first: u32,
    second: u32,
    third: u32,
    first_length: usize,
    third_length: usize,
    english: bool,
) -> Option<Option<NaiveDate>> {
    if first_length == 4 {
        return NaiveDate::from_ymd_opt(first as i32, second, third).map(Some);
    }
    if third_length == 3 || first_length == 3 {
        return None;
    }
    let year = if third_length == 2 { 2000 + third } else { third } as i32;
    let day_first = NaiveDate::from_ymd_opt(year, second, first);
    let month_first = NaiveDate::from_ymd_opt(year, first, second);
    match (day_first, month_first) {
        (Some(day_first), Some(month_first)) if english && day_first != month_first => Some(None),
        (Some(date), _) | (None, Some(date)) => Some(Some(date)),
        (None, None) => None,
    }
}

/// A date with the month's name: `24 Nov 2026`, `November 24, 2026`, `24. listopadu 2026`.
fn named(folded: &str) -> Option<Option<NaiveDate>> {
    let words = words(&folded.replace('-', " "));
    let at = words.iter().position(|word| month(word).is_some())?;
    let month = month(&words[at])?;
    let numbers: Vec<(usize, u32)> = words
        .iter()
        .enumerate()
        .filter_map(|(index, word)| {
            word.trim_end_matches(char::is_alphabetic).parse().ok().map(|number| (index, number))
        })
        .filter(|(index, _)| index.abs_diff(at) <= 3)
        .collect();
    let day = numbers
        .iter()
        .filter(|(_, number)| (1..=31).contains(number))
        .min_by_key(|(index, _)| (index.abs_diff(at), *index > at))?;
    let year = numbers
        .iter()
        .find(|(index, number)| *index != day.0 && (*number >= 2000 && *number < 2200))
        .map(|(_, year)| *year)
        .or_else(|| {
            numbers
                .iter()
                .find(|(index, number)| *index != day.0 && *index > at && *number < 100)
                .map(|(_, year)| 2000 + year)
        })?;
    NaiveDate::from_ymd_opt(year as i32, month, day.1).map(Some)
}

fn clock(text: &str) -> Option<(u32, u32)> {
    if let Some(found) = CLOCK.captures(text) {
        let (hour, minute): (u32, u32) = (found[1].parse().ok()?, found[2].parse().ok()?);
        let half = found.get(3).map_or("", |half| half.as_str());
        return Some(match half.chars().next() {
            Some('p') if hour < 12 => (hour + 12, minute),
            Some('a') if hour == 12 => (0, minute),
            _ => (hour, minute),
        });
    }
    let found = DOTTED_CLOCK.captures(text)?;
    Some((found[1].parse().ok()?, found[2].parse().ok()?))
}

/// A time alone, such as `21:30`.
pub fn time_only(text: &str) -> Option<String> {
    let folded = fold(text);
    (folded.len() <= 12 && parse(text, false).is_none())
        .then(|| clock(&folded))
        .flatten()
        .map(|(hour, minute)| format!("{hour:02}:{minute:02}"))
}

/// Whether a label or a size is really a date, as spreadsheets make of `1-4`.
pub fn looks_like_date(text: &str) -> bool {
    static WITH_YEAR: LazyLock<Regex> = LazyLock::new(|| {
        Regex::new(r"^(?:\d{1,2}-\d{1,2}-(?:\d{4}|\d{2})|\d{1,2}\.\s?\d{1,2}\.\s?(?:\d{4}|\d{2})|\d{1,2}/\d{1,2}/(?:\d{4}|\d{2})|\d{4}-\d{1,2}-\d{1,2})(?:[ t]\d{1,2}:\d{2}(?::\d{2})?)?$").expect("a fixed pattern")
    });
    let folded = fold(text);
    if WITH_YEAR.is_match(&folded) {
        return true;
    }
    let words: Vec<String> = words(&folded.replace('-', " ")).into_iter().filter(|word| word != "/").collect();
    let is_number = |word: &String| word.bytes().all(|byte| byte.is_ascii_digit());
    (2..=3).contains(&words.len())
        && words.iter().filter(|word| month(word).is_some()).count() == 1
        && words.iter().all(|word| is_number(word) || month(word).is_some())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn iso(text: &str, english: bool) -> String {
        match parse(text, english) {
            Some(Moment::Iso(text)) => text,
            Some(Moment::Ambiguous) => "ambiguous".to_owned(),
            None => "none".to_owned(),
        }
    }

    #[test]
    fn dates_are_read_day_first() {
        for (text, expected) in [
            ("24/11/2026 21:30", "2026-11-24T21:30"),
            ("23/11/2026", "2026-11-23"),
            ("24-11-2026 18:00", "2026-11-24T18:00"),
            ("25.11.2026 4:15", "2026-11-25T04:15"),
            ("2026-11-24", "2026-11-24"),
            ("2026-11-24T14:30", "2026-11-24T14:30"),
            ("2026-11-24 14:30:10", "2026-11-24T14:30"),
            ("24 Nov 2026", "2026-11-24"),
            ("24-NOV-26", "2026-11-24"),
            ("Nov 24, 2026", "2026-11-24"),
            ("November 24th, 2026, 9:30 PM", "2026-11-24T21:30"),
            ("24 de noviembre de 2026", "2026-11-24"),
            ("24. listopadu 2026", "2026-11-24"),
            ("24.11.26", "2026-11-24"),
            ("05.06.2026", "2026-06-05"),
            ("24/11/2026 21.30", "2026-11-24T21:30"),
            ("21:30 24/11/2026", "2026-11-24T21:30"),
        ] {
            assert_eq!(iso(text, false), expected, "{text}");
        }
    }

    #[test]
    fn english_dates_may_be_ambiguous() {
        assert_eq!(iso("05/06/2026", true), "ambiguous");
        assert_eq!(iso("11/11/2026", true), "2026-11-11");
        assert_eq!(iso("11/24/2026", true), "2026-11-24");
        assert_eq!(iso("24/11/2026", true), "2026-11-24");
        assert_eq!(iso("2026-05-06", true), "2026-05-06");
    }

    #[test]
    fn texts_without_a_date_have_none() {
        for text in ["tomorrow", "40/40/2026", "", "B-07", "24"] {
            assert_eq!(iso(text, false), "none", "{text}");
        }
    }

    #[test]
    fn a_range_that_became_a_date_is_seen() {
        for text in ["05-Jun", "5-Jun", "Jun-05", "1/4/2026", "2026-04-01", "2026-04-01 00:00", "5. června"] {
            assert!(looks_like_date(text), "{text}");
        }
        for text in ["1-4", "7/20", "5-6cm", "M", "1-3, 7", "may", "Jan 1-4 x"] {
            assert!(!looks_like_date(text), "{text}");
        }
    }
}
