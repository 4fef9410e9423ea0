//! What a cell states of totals: `Total boxes: 12`, `TOTAL DE PEIXES`, `1031 pcs, 4 boxes`, `Subtotal box 3`.

use std::sync::LazyLock;

use regex::Regex;

use super::clean::fold;
use super::currency;
use super::label::{self, BoxLabel};
use super::number::whole;
use super::words::{Role, Roles, phrase, roles};

/// What kind of total a label names.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// `Total`: a subtotal or the grand total, as its place shows.
    Plain,
    /// `Grand total`.
    Grand,
    /// `Subtotal`.
    Sub,
    /// `Carried forward`: all so far.
    Carried,
}

/// What a number counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// Fish.
    Fish,
    /// Boxes.
    Boxes,
    /// Bags, kilograms, money: nothing that is compared.
    Other,
}

/// A statement.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Statement {
    /// The kind of total, where a word for total is there.
    pub kind: Option<Kind>,
    /// What the label says is counted.
    pub unit: Option<Unit>,
    /// Numbers in the text with what they count.
    pub numbers: Vec<(u64, Option<Unit>)>,
    /// Boxes it names.
    pub named: Option<Vec<u32>>,
    /// Whether words stand in it that no total has: `Total tetras`. It may be the name of a fish.
    pub loose: bool,
}

impl Statement {
    /// The fish that the text states.
    pub fn fish(&self) -> Option<u64> {
        self.numbers
            .iter()
            .find(|(_, unit)| *unit == Some(Unit::Fish))
            .or_else(|| self.numbers.iter().find(|(_, unit)| unit.is_none()))
            .map(|(number, _)| *number)
    }

    /// The boxes that the text counts.
    pub fn boxes(&self) -> Option<u64> {
        self.numbers.iter().find(|(_, unit)| *unit == Some(Unit::Boxes)).map(|(number, _)| *number)
    }
}

enum Token {
    Word(String, Roles),
    Number(Option<u64>),
    Plus,
    Colon,
    Money,
}

static TOKEN: LazyLock<Regex> =
    LazyLock::new(|| Regex::new(r"\d[\d.,']*(?: \d{3}\b)*|[:=+]|[\p{L}/#.]+|[$€£]").expect("a fixed pattern"));

/// Reads a statement. `None` where the text is none.
pub fn read(text: &str) -> Option<Statement> {
    if text.chars().count() > 120 {
        return None;
    }
    let words = phrase(text);
    let all = words.iter().fold(Roles::default(), |all, word| all.with(roles(word)));
    let mut statement = Statement { kind: kind(all), unit: unit(&words), ..Statement::default() };
    let unknown = words.iter().any(|word| !is_vocabulary(word));
    if unknown {
        let first = roles(words.first()?);
        let begins = first.any(&[Role::Total, Role::Subtotal, Role::Carried, Role::Grand]);
        if !begins || statement.kind.is_none() {
            return None;
        }
        statement.loose = matches!(statement.kind, Some(Kind::Plain | Kind::Grand));
        statement.numbers = last_number(text).into_iter().collect();
        return Some(statement);
    }
    // `Boxes: 1-12` names them; `Boxes: 12` counts.
    let names = label::heading(text).is_some_and(|boxes| boxes.len() > 1);
    let counts = text.split_once(':').is_some_and(|(label, _)| !label.contains(|c: char| c.is_ascii_digit()));
    if statement.kind.is_none() && (names || (!counts && named_boxes(text, true).is_some())) {
        // `Box 7` and `P.O. Box 7` are labels; `Boxes: 7` would be a count.
        return None;
    }
    if let Some((named, rest)) = named_boxes(text, statement.kind.is_some()) {
        statement.named = Some(named);
        statement.unit = None;
        statement.numbers = numbers(&rest, None);
        return Some(statement);
    }
    statement.numbers = numbers(text, statement.unit);
    let says_something = statement.kind.is_some() || statement.boxes().is_some() || statement.unit == Some(Unit::Boxes);
    says_something.then_some(statement)
}

fn kind(all: Roles) -> Option<Kind> {
    if all.has(Role::Carried) {
        Some(Kind::Carried)
    } else if all.has(Role::Subtotal) {
        Some(Kind::Sub)
    } else if all.has(Role::Total) {
        Some(if all.has(Role::Grand) { Kind::Grand } else { Kind::Plain })
    } else {
        None
    }
}

fn unit_of(roles: Roles) -> Option<Unit> {
    if roles.any(&[Role::Box, Role::Boxes]) {
        Some(Unit::Boxes)
    } else if roles.any(&[
        Role::Bag,
        Role::Bags,
        Role::BagAny,
        Role::Weight,
        Role::Amount,
        Role::Price,
        Role::Species,
        Role::Item,
    ]) {
        Some(Unit::Other)
    } else if roles.any(&[Role::Fish, Role::Piece]) || (roles.has(Role::Count) && !roles.has(Role::Total)) {
        Some(Unit::Fish)
    } else {
        None
    }
}

/// What a label counts: the last word that says so, since `total qty of boxes` are boxes.
fn unit(words: &[String]) -> Option<Unit> {
    let words = words.iter().filter(|word| !word.bytes().all(|byte| byte.is_ascii_digit()));
    words
        .filter_map(|word| if currency::codes(word).is_empty() { unit_of(roles(word)) } else { Some(Unit::Other) })
        .next_back()
}

fn is_vocabulary(word: &str) -> bool {
    let digits = word.trim_start_matches(|character: char| character.is_ascii_digit());
    digits.is_empty()
        || (digits.len() == 1 && word.len() > 1)
        || matches!(word, "/" | "#")
        || !currency::codes(digits).is_empty()
        || roles(digits).any(&[
            Role::Total,
            Role::Grand,
            Role::Subtotal,
            Role::Carried,
            Role::Fish,
            Role::Piece,
            Role::Count,
            Role::Box,
            Role::Boxes,
            Role::Bag,
            Role::Bags,
            Role::BagAny,
            Role::Number,
            Role::Filler,
            Role::Of,
            Role::And,
            Role::Free,
            Role::Weight,
            Role::Gross,
            Role::Amount,
            Role::Price,
            Role::Unit,
            Role::Per,
            Role::Range,
            Role::Species,
            Role::Item,
        ])
}

/// `Total box 3: 500` names box 3; `Total boxes: 12` counts. What stands after the label is left for its number.
fn named_boxes(text: &str, is_total: bool) -> Option<(Vec<u32>, String)> {
    static BOX: LazyLock<Regex> = LazyLock::new(|| {
        Regex::new(r"(?:^|[^\p{L}])(?P<word>c/no\.?|[\p{L}]+)\s*\.?\s*(?:no\.?|nr\.?|#|c\.)?\s*(?P<label>\d+[a-z]?(?:\s*(?:-|,|&|\+|to|bis|az|a|ate|hasta|sd)\s*\d+[a-z]?)*)").expect("a fixed pattern")
    });
    if !is_total {
        return None;
    }
    let folded = fold(text);
    let found = BOX.captures_iter(&folded).find(|found| {
        &found["word"] != "c" && phrase(&found["word"]).iter().any(|word| roles(word).any(&[Role::Box, Role::Boxes]))
    })?;
    let word = phrase(&found["word"]).into_iter().next()?;
    let BoxLabel::Boxes(boxes) = label::parse(&found["label"]) else { return None };
    if boxes.len() == 1 && !roles(&word).has(Role::Box) {
        return None;
    }
    let whole = found.get(0)?;
    Some((boxes, format!("{} : {}", &folded[..whole.start()], &folded[whole.end()..])))
}

fn tokens(text: &str) -> Vec<Token> {
    let folded = fold(text);
    let mut tokens: Vec<Token> = TOKEN
        .find_iter(&folded)
        .map(|found| match found.as_str() {
            ":" | "=" => Token::Colon,
            "+" => Token::Plus,
            "$" | "€" | "£" => Token::Money,
            number if number.starts_with(|first: char| first.is_ascii_digit()) => {
                Token::Number(whole(number.trim_end_matches(['.', ',', '\''])))
            }
            word => {
                let joined = phrase(word);
                let roles = joined.iter().fold(Roles::default(), |all, word| all.with(roles(word)));
                Token::Word(joined.join(" "), roles)
            }
        })
        .collect();
    // `60+1` are 61: the free ones swim among the others.
    while let Some(at) = tokens
        .windows(3)
        .position(|three| matches!(three, [Token::Number(Some(_)), Token::Plus, Token::Number(Some(_))]))
    {
        if let (Token::Number(Some(paid)), Token::Number(Some(free))) = (&tokens[at], &tokens[at + 2]) {
            let sum = Token::Number(paid.checked_add(*free));
            tokens.splice(at..at + 3, [sum]);
        }
    }
    tokens.retain(|token| !matches!(token, Token::Plus));
    tokens
}

/// Numbers with the word after them, or after a colon the label before them.
fn numbers(text: &str, label: Option<Unit>) -> Vec<(u64, Option<Unit>)> {
    let tokens = tokens(text);
    let mut numbers = Vec::new();
    let mut before = None;
    let mut after_colon = false;
    let mut money = false;
    for (at, token) in tokens.iter().enumerate() {
        match token {
            Token::Colon => after_colon = true,
            Token::Plus => {}
            Token::Money => money = true,
            Token::Word(word, roles) => {
                money = !currency::codes(word).is_empty();
                before = unit_of(*roles).or(before);
                after_colon = false;
            }
            Token::Number(number) => {
                let after = tokens.get(at + 1).and_then(|next| match next {
                    Token::Word(word, roles) if currency::codes(word).is_empty() => unit_of(*roles),
                    Token::Word(..) | Token::Money => Some(Unit::Other),
                    _ => None,
                });
                let unit = if money {
                    Some(Unit::Other)
                } else if after_colon && before.is_some() {
                    before
                } else {
                    after.or(before).or(label)
                };
                numbers.extend(number.map(|number| (number, unit)));
                (before, after_colon, money) = (None, false, false);
            }
        }
    }
    numbers
}

fn last_number(text: &str) -> Option<(u64, Option<Unit>)> {
    numbers(text, None).into_iter().next_back()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(text: &str) -> (Option<Kind>, Option<u64>, Option<u64>, Option<Vec<u32>>) {
        read(text).map(|s| (s.kind, s.fish(), s.boxes(), s.named)).unwrap_or_default()
    }

    #[test]
    fn totals_say_what_they_count() {
        use Kind::*;
        for (text, expected) in [
            ("GRAND TOTAL", (Some(Grand), None, None, None)),
            ("TOTAL DE PEIXES", (Some(Plain), None, None, None)),
            ("Total boxes: 11", (Some(Plain), None, Some(11), None)),
            ("Celkem krabic: 4", (Some(Plain), None, Some(4), None)),
            ("Total 1031 pcs, 4 boxes", (Some(Plain), Some(1031), Some(4), None)),
            ("TOTAL: 1,031 PCS IN 4 BOXES", (Some(Plain), Some(1031), Some(4), None)),
            ("Boxes: 12 Fish: 3674", (None, Some(3674), Some(12), None)),
            ("12 ctns", (None, None, Some(12), None)),
            ("Total fish: 3674", (Some(Plain), Some(3674), None, None)),
            ("Jumlah ikan", (Some(Plain), None, None, None)),
            ("Zwischensumme", (Some(Sub), None, None, None)),
            ("Sub-total box 3", (Some(Sub), None, None, Some(vec![3]))),
            ("Total box 1-4: 2000", (Some(Plain), Some(2000), None, Some(vec![1, 2, 3, 4]))),
            ("Subtotal Caja 7: 150 pzs", (Some(Sub), Some(150), None, Some(vec![7]))),
            ("Carried forward", (Some(Carried), None, None, None)),
            ("Übertrag", (Some(Carried), None, None, None)),
            ("Suma y sigue", (Some(Carried), None, None, None)),
            ("Total USD 920.90", (Some(Plain), None, None, None)),
            ("Total weight: 112 kg", (Some(Plain), None, None, None)),
            ("Total 60 pcs + 1 free, 3 boxes", (Some(Plain), Some(60), Some(3), None)),
            ("Total: 60+1 pcs", (Some(Plain), Some(61), None, None)),
            ("Total 60 + 1 free", (Some(Plain), Some(61), None, None)),
            ("Total box 3+4: 500", (Some(Plain), Some(500), None, Some(vec![3, 4]))),
        ] {
            assert_eq!(said(text), expected, "{text}");
        }
    }

    #[test]
    fn names_of_fish_and_remarks_state_nothing() {
        for text in [
            "Sumatra barb",
            "Boxfish",
            "Neon tetra",
            "Total",
            "Box 7",
            "Fish fasted 48 h",
            "Keep boxes 5 and 6 apart",
            "Totalia red",
            "Page 2 of 3",
        ] {
            let statement = read(text);
            assert!(statement.is_none() || text == "Total", "{text}: {statement:?}");
        }
        assert!(read("Total tetras").is_some_and(|statement| statement.loose));
        assert!(read("Subtotal tetras").is_some_and(|statement| !statement.loose));
    }
}
