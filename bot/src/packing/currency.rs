//! Currencies in headings, prices and text: ISO 4217 codes and the signs the trade types.

use std::collections::BTreeSet;
use std::sync::LazyLock;

use regex::Regex;

/// Codes looked for. Codes that are also words (ALL, TOP, TRY) are left out.
const CODES: [&str; 27] = [
    "USD", "EUR", "GBP", "SGD", "BRL", "CZK", "IDR", "MYR", "THB", "JPY", "CNY", "HKD", "AUD", "CAD", "NZD", "CHF",
    "COP", "PLN", "HUF", "LKR", "INR", "PHP", "VND", "TWD", "DKK", "SEK", "NOK",
];

/// Signs, those with letters before the bare ones that end them.
const SIGNS: [(&str, &str); 13] = [
    ("US$", "USD"),
    ("HK$", "HKD"),
    ("NZ$", "NZD"),
    ("NT$", "TWD"),
    ("S$", "SGD"),
    ("R$", "BRL"),
    ("A$", "AUD"),
    ("C$", "CAD"),
    ("€", "EUR"),
    ("£", "GBP"),
    ("฿", "THB"),
    ("$", "USD"),
    ("₫", "VND"),
];

static WORDS: LazyLock<Regex> =
    LazyLock::new(|| Regex::new(r"(?i)(?:^|[^\p{L}])(kč|rp|euros?|zł)(?:[^\p{L}]|$)").expect("a fixed pattern"));

/// The ISO codes of all currencies that a text names by their signs.
pub fn signs(text: &str) -> BTreeSet<&'static str> {
    signs_and_rest(text).0
}

/// The currencies named by signs, and the text without these, in capitals.
fn signs_and_rest(text: &str) -> (BTreeSet<&'static str>, String) {
    let mut found = BTreeSet::new();
    let mut rest = text.to_uppercase();
    for (sign, code) in SIGNS {
        if rest.contains(sign) {
            found.insert(code);
            rest = rest.replace(sign, " ");
        }
    }
    (found, rest)
}

/// The ISO codes of all currencies that a text names.
pub fn codes(text: &str) -> BTreeSet<&'static str> {
    let (mut found, rest) = signs_and_rest(text);
    for word in rest.split(|character: char| !character.is_alphabetic()) {
        if let Some(code) = CODES.iter().find(|code| **code == word) {
            found.insert(code);
        }
    }
    for word in WORDS.captures_iter(text) {
        found.insert(match word[1].to_lowercase().as_str() {
            "kč" => "CZK",
            "rp" => "IDR",
            "zł" => "PLN",
            _ => "EUR",
        });
    }
    found
}

/// The text without its currency words and signs, for the number in it.
pub fn strip(text: &str) -> String {
    let mut rest = text.to_uppercase();
    for (sign, _) in SIGNS {
        rest = rest.replace(sign, " ");
    }
    for code in CODES.iter().chain(&["KČ", "RP", "EUROS", "EURO", "ZŁ", "US"]) {
        rest = rest.replace(code, " ");
    }
    rest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_and_codes_are_told_apart() {
        for (text, code) in [
            ("$0.35", "USD"),
            ("US$ 1", "USD"),
            ("S$2", "SGD"),
            ("R$ 3,00", "BRL"),
            ("0,85 €", "EUR"),
            ("£1", "GBP"),
            ("12 Kč", "CZK"),
            ("Rp 1.500", "IDR"),
            ("Rp1500", "IDR"),
            ("Price (usd)", "USD"),
            ("Cena EUR", "EUR"),
            ("15 CZK", "CZK"),
        ] {
            assert_eq!(codes(text).into_iter().collect::<Vec<_>>(), [code], "{text}");
        }
        assert!(codes("all top ruffe euroa").is_empty());
        assert_eq!(codes("USD or EUR").len(), 2);
    }
}
