//! Counts and prices as people type them.

use std::sync::LazyLock;

use regex::Regex;
use rust_decimal::Decimal;

use super::clean::fold;
use super::currency;
use super::limits;
use super::sheet::{Cell, plain_number};
use super::words::{Role, roles};

/// A count of fish.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Count {
    /// All fish, free ones included.
    pub fish: u64,
    /// How many of them are free.
    pub free: u64,
    /// Bags, where the count names them: 2 in `2 x 25`.
    pub bags: Option<u64>,
}

/// A whole number whose separators part thousands: `1.250`, `1,250`, `1'250`, `1 250`. `25,00` and `25.0` are 25.
pub fn whole(text: &str) -> Option<u64> {
    let text = text.trim();
    let groups: Vec<&str> = text.split(['.', ',', '\'', ' ']).collect();
    if !text.starts_with(|first: char| first.is_ascii_digit())
        || groups.iter().any(|group| group.is_empty() || !group.bytes().all(|byte| byte.is_ascii_digit()))
    {
        return None;
    }
    let separators: Vec<char> = text.chars().filter(|character| !character.is_ascii_digit()).collect();
    let (mut groups, mut separators) = (groups.as_slice(), separators.as_slice());
    if let ([rest @ .., last], [before @ .., '.' | ',']) = (groups, separators)
        && last.len() != 3
        && last.bytes().all(|byte| byte == b'0')
        && !before.contains(separators.last()?)
    {
        (groups, separators) = (rest, before);
    }
    let same = separators.windows(2).all(|pair| pair[0] == pair[1]);
    let thousands = groups.len() == 1 || (groups[0].len() <= 3 && groups[1..].iter().all(|group| group.len() == 3));
    if !same || !thousands {
        return None;
    }
    let digits = groups.concat();
    (digits.len() <= 12).then(|| digits.parse().ok()).flatten()
}

const NUMBER: &str = r"\d[\d.,' ]*";

static COUNT: LazyLock<Regex> = LazyLock::new(|| {
    let pattern = format!(
        r"^(?:(?P<times>{NUMBER})\s*(?P<vessel>[a-z]*\.?)\s*(?:x|\*|of)\s*)?\(?(?P<paid>{NUMBER})\s*(?P<unit>[a-z]*\.?)\s*(?:\(?\+\s*(?P<free>{NUMBER})\s*(?P<rest>[a-z. ]*)\)?\s*(?P<end>[a-z]*\.?))?\)?$"
    );
    Regex::new(&pattern).expect("a fixed pattern")
});

/// A count in a text: `50`, `50 pcs`, `10+1`, `2 x 25`, `5 pairs`. `None` where it is not a positive whole number.
pub fn count_text(text: &str) -> Option<Count> {
    let text = fold(text);
    let found = COUNT.captures(&text)?;
    let group = |name: &str| found.name(name).map_or("", |group| group.as_str()).trim();
    let mut each = fish_each(group("unit"))?;
    for word in group("rest").split_whitespace().chain([group("end")]) {
        let word = word.trim_end_matches('.');
        if !word.is_empty() && !roles(word).has(Role::Free) {
            each = each.max(fish_each(word)?);
        }
    }
    let paid = whole(group("paid"))?;
    let free = match found.name("free") {
        Some(free) => whole(free.as_str())?,
        None => 0,
    };
    let bags = match found.name("times") {
        Some(times) => {
            let vessel = group("vessel").trim_end_matches('.');
            if !vessel.is_empty() && !roles(vessel).any(&[Role::Bag, Role::Bags, Role::BagAny]) {
                return None;
            }
            Some(whole(times.as_str())?)
        }
        None => None,
    };
    let sets = bags.unwrap_or(1);
    let fish = paid.checked_add(free)?.checked_mul(each)?.checked_mul(sets)?;
    (paid > 0 && sets > 0 && fish <= limits::QUANTITY).then_some(Count { fish, free: free * each * sets, bags })
}

/// How many fish a unit counts; `None` where the word is no unit of fish.
fn fish_each(unit: &str) -> Option<u64> {
    let unit = unit.trim_end_matches('.');
    if unit.is_empty() {
        return Some(1);
    }
    let roles = roles(unit);
    if roles.has(Role::Trio) {
        Some(3)
    } else if roles.has(Role::Pair) {
        Some(2)
    } else {
        roles.any(&[Role::Piece, Role::Fish]).then_some(1)
    }
}

/// A count in a cell. `each` is how many fish the column counts by.
pub fn count(cell: &Cell, each: u64) -> Option<Count> {
    let mut count = match cell {
        Cell::Number(number) => {
            let rounded = number.round();
            let whole = (number - rounded).abs() <= 1e-9 * rounded.abs().max(1.0);
            if !whole || rounded < 1.0 || rounded > limits::QUANTITY as f64 {
                return None;
            }
            Count { fish: rounded as u64, free: 0, bags: None }
        }
        Cell::Text(text) => {
            let count = count_text(text)?;
            // `5 pairs` under a heading of pairs is five pairs, not ten.
            if each > 1 && fold(text).chars().any(|character| character.is_alphabetic() && character != 'x') {
                return Some(count);
            }
            count
        }
        Cell::Date(_) | Cell::Missing(_) => return None,
    };
    count.fish = count.fish.checked_mul(each).filter(|&fish| fish <= limits::QUANTITY)?;
    count.free *= each;
    Some(count)
}

/// The separator that a price certainly uses for decimals, as evidence for its column.
pub fn decimal_sign(text: &str) -> Option<char> {
    let digits = price_digits(text)?;
    match read_decimal(&digits) {
        Reading::Certain(_, sign) => sign,
        _ => None,
    }
}

enum Reading {
    /// Sure, with the decimal sign if it shows one.
    Certain(String, Option<char>),
    /// Three digits after one separator.
    Open {
        decimal: String,
        whole: String,
        sign: char,
    },
    None,
}

/// The digits and separators of a price, currency and units taken off. `None` where anything else stands there.
fn price_digits(text: &str) -> Option<String> {
    static PRICE: LazyLock<Regex> = LazyLock::new(|| {
        Regex::new(r"^\s*(\d[\d.,' ]*?)[.,]?\s*(?:[-/]|per\s|each|ea|je\s|pro\s|por\s|za\s)?\s*([a-z. ]*)$")
            .expect("a fixed pattern")
    });
    let text = fold(&currency::strip(text));
    let found = PRICE.captures(&text)?;
    let known = found[2].split_whitespace().all(|word| {
        let word = word.trim_matches('.');
        word.is_empty()
            || matches!(word, "ea" | "each")
            || roles(word).any(&[Role::Piece, Role::Fish, Role::Unit, Role::Pair, Role::Trio])
    });
    known.then(|| found[1].trim().to_owned())
}

fn read_decimal(digits: &str) -> Reading {
    let plain: String = digits.chars().filter(|character| !matches!(character, '\'' | ' ')).collect();
    let signs: Vec<char> = plain.chars().filter(|character| matches!(character, '.' | ',')).collect();
    let last = signs.last().copied();
    let with_point = |sign: char| -> String {
        plain.chars().filter(|c| c.is_ascii_digit() || *c == sign).collect::<String>().replace(sign, ".")
    };
    let bare = || plain.chars().filter(char::is_ascii_digit).collect::<String>();
    match (signs.len(), last) {
        (0, _) => Reading::Certain(plain, None),
        (1, Some(sign)) => {
            let after = plain.len() - plain.find(sign).map_or(0, |at| at + 1);
            if after != 3 || plain.starts_with('0') {
                Reading::Certain(with_point(sign), Some(sign))
            } else {
                Reading::Open { decimal: with_point(sign), whole: bare(), sign }
            }
        }
        (_, Some(sign)) => {
            let other = if sign == '.' { ',' } else { '.' };
            match signs.iter().filter(|&&each| each == sign).count() {
                count if count == signs.len() => Reading::Certain(bare(), Some(other)),
                1 => Reading::Certain(with_point(sign), Some(sign)),
                _ => Reading::None,
            }
        }
        _ => Reading::None,
    }
}

/// A price in a text. `sign` is the decimal separator the rest of the column shows.
pub fn price_text(text: &str, sign: Option<char>) -> Option<Decimal> {
    let digits = price_digits(text)?;
    let number = match read_decimal(&digits) {
        Reading::Certain(number, _) => number,
        Reading::Open { decimal, whole, sign: own } => {
            if sign.is_some_and(|sign| sign != own) {
                whole
            } else {
                decimal
            }
        }
        Reading::None => return None,
    };
    number.parse::<Decimal>().ok().map(|price| price.normalize())
}

/// A price or weight in a cell; negative numbers are none.
pub fn price(cell: &Cell, sign: Option<char>) -> Option<Decimal> {
    match cell {
        Cell::Number(number) if *number >= 0.0 => plain_number(*number).parse::<Decimal>().ok(),
        Cell::Text(text) => price_text(text, sign),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn counted(text: &str) -> Option<(u64, u64, Option<u64>)> {
        count_text(text).map(|count| (count.fish, count.free, count.bags))
    }

    #[test]
    fn a_separator_before_exactly_three_digits_parts_thousands() {
        for text in ["1250", "1.250", "1,250", "1'250", "1 250", "1,250.00", "1250,0"] {
            assert_eq!(whole(text), Some(1250), "{text}");
        }
        assert_eq!(whole("25,00"), Some(25));
        assert_eq!(whole("1.250.000"), Some(1_250_000));
        for text in ["12.5", "1.2500", "1.25", "1,250.500", "", "-5", "1..250", "1e3", "10^3"] {
            assert_eq!(whole(text), None, "{text}");
        }
    }

    #[test]
    fn counts_name_free_fish_bags_and_units() {
        assert_eq!(counted("10+1"), Some((11, 1, None)));
        assert_eq!(counted("50 + 2 pcs free"), Some((52, 2, None)));
        assert_eq!(counted("2 x 25"), Some((50, 0, Some(2))));
        assert_eq!(counted("2×25 Stk."), Some((50, 0, Some(2))));
        assert_eq!(counted("2 bags x 25 pcs"), Some((50, 0, Some(2))));
        assert_eq!(counted("4x30"), Some((120, 0, Some(4))));
        for text in ["50 pcs", "50pcs", "50 ekor", "50 ks", "50 Stk", "50 pzs", "50 un", "50 pcs."] {
            assert_eq!(counted(text), Some((50, 0, None)), "{text}");
        }
        assert_eq!(counted("5 pairs"), Some((10, 0, None)));
        assert_eq!(counted("5 pr"), Some((10, 0, None)));
        assert_eq!(counted("5 párů"), Some((10, 0, None)));
        assert_eq!(counted("4 Paar"), Some((8, 0, None)));
        assert_eq!(counted("3 trios"), Some((9, 0, None)));
        assert_eq!(counted("10+1 pr"), Some((22, 2, None)));
    }

    #[test]
    fn what_is_not_a_positive_whole_number_is_unreadable() {
        for text in [
            "", "0", "-5", "+5", "=5*5", "12.5", "1e3", "1E+03", "10^3", "TBA", "1000001", "50 kg", "50-60", "ca. 50",
            "0+1", "x", "2 x", "@5",
        ] {
            assert_eq!(counted(text), None, "{text}");
        }
        assert_eq!(count(&Cell::Number(12.5), 1), None);
        assert_eq!(count(&Cell::Number(-3.0), 1), None);
        assert_eq!(count(&Cell::Number(24.999_999_999_999), 1).map(|count| count.fish), Some(25));
    }

    #[test]
    fn pairs_are_not_doubled_twice() {
        assert_eq!(count(&Cell::Number(5.0), 2).map(|count| count.fish), Some(10));
        assert_eq!(count(&Cell::Text("5 pairs".into()), 2).map(|count| count.fish), Some(10));
        assert_eq!(count(&Cell::Text("5".into()), 2).map(|count| count.fish), Some(10));
    }

    #[test]
    fn prices_take_the_last_separator_for_decimals() {
        let price = |text: &str, sign| price_text(text, sign).map(|price| price.to_string());
        for (text, value) in [
            ("0.35", "0.35"),
            ("0,35", "0.35"),
            ("$1.5", "1.5"),
            ("1.234,50", "1234.5"),
            ("1,234.50", "1234.5"),
            ("1.2345", "1.2345"),
            ("0.125", "0.125"),
            ("0,125", "0.125"),
            ("1.234.567", "1234567"),
            ("1.250", "1.25"),
            ("Rp 1.500", "1.5"),
            ("0,85 € / ks", "0.85"),
            ("12", "12"),
            ("1 250,50", "1250.5"),
            ("USD 0.35/pc", "0.35"),
            ("0.30 each", "0.3"),
            ("5,-", "5"),
        ] {
            assert_eq!(price(text, None).as_deref(), Some(value), "{text}");
        }
        assert_eq!(price("1.500", Some(',')).as_deref(), Some("1500"));
        assert_eq!(price("1.500", Some('.')).as_deref(), Some("1.5"));
        for text in ["TBA", "-1", "", "1.2.3,4,5", "two", "0.35 or 0.40"] {
            assert_eq!(price(text, None), None, "{text}");
        }
    }
}
