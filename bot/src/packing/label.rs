//! Box labels: which boxes a cell names.

use super::clean::fold;
use super::dates;
use super::limits;
use super::sheet::Cell;
use super::words::{Role, phrase, roles};

/// What a box cell says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum BoxLabel {
    /// The boxes, rising, each once.
    Boxes(Vec<u32>),
    /// A date: a range that the spreadsheet changed.
    Date,
    /// No box can be read from it.
    Unclear,
}

/// Reads the label in a cell.
pub fn of_cell(cell: &Cell) -> BoxLabel {
    match cell {
        Cell::Number(number) if *number >= 1.0 && *number == number.trunc() && *number < 1e7 => {
            BoxLabel::Boxes(vec![*number as u32])
        }
        Cell::Date(_) => BoxLabel::Date,
        Cell::Text(text) => parse(text),
        Cell::Number(_) | Cell::Missing(_) => BoxLabel::Unclear,
    }
}

/// Under `Box/Bag`: the box, and the label of the bag or bags in it; `None` where the cell names no bag.
pub fn box_and_bag(cell: &Cell) -> Option<(u32, BoxLabel)> {
    static PAIR: std::sync::LazyLock<regex::Regex> = std::sync::LazyLock::new(|| {
        regex::Regex::new(r"^(\D*\d+[a-z]?)\s*[-/.,:|\\ ]\s*([^\d-]*\d.*)$").expect("a fixed pattern")
    });
    if matches!(cell, Cell::Date(_) | Cell::Missing(_)) {
        return None;
    }
    let text = fold(&cell.text());
    let pair = PAIR.captures(&text)?;
    match (parse(&pair[1]), without_bag_words(&pair[2])) {
        (BoxLabel::Boxes(boxes), bag) if boxes.len() == 1 => Some((boxes[0], parse(&bag))),
        _ => None,
    }
}

fn without_bag_words(text: &str) -> String {
    let is_bag = |word: &&str| roles(word.trim_end_matches('.')).any(&[Role::Bag, Role::Bags, Role::BagAny]);
    text.split_whitespace().filter(|word| !is_bag(word)).collect::<Vec<_>>().join(" ")
}

#[derive(Debug, Clone, PartialEq)]
enum Token {
    Number(u32),
    Word(String),
    Sign(char),
}

/// Reads a label in a text: `7`, `B-07`, `Box 7`, `7/20`, `1-4`, `5 & 6`, `1-3, 7`, `7A`.
pub fn parse(text: &str) -> BoxLabel {
    if dates::looks_like_date(text) {
        return BoxLabel::Date;
    }
    match boxes(&tokens(&without_asides(&fold(text)))) {
        Some(mut boxes) if !boxes.is_empty() => {
            boxes.sort_unstable();
            boxes.dedup();
            BoxLabel::Boxes(boxes)
        }
        _ => BoxLabel::Unclear,
    }
}

/// A heading row's label: the text begins with the word for box and names boxes. `Boxes: 12` is a count, not a label.
pub fn heading(text: &str) -> Option<Vec<u32>> {
    let words = phrase(text);
    let first = words.first().map(|word| roles(word))?;
    // `Box7` is one word; the letters before its digits say what it is.
    let glued =
        words.first().map(|word| word.trim_end_matches(|character: char| character.is_ascii_digit()).to_owned())?;
    let singular = first.has(Role::Box) || (glued.len() > 1 && roles(&glued).has(Role::Box));
    let plural = first.has(Role::Boxes) || (glued.len() > 1 && roles(&glued).has(Role::Boxes));
    if !singular && !plural {
        return None;
    }
    // The number follows the word, with at most a short prefix: `Box crab 5` is a fish.
    let follows =
        words.iter().skip(usize::from(glued == words[0])).find(|word| !roles(word).has(Role::Number) || word.len() > 6);
    if !follows.is_some_and(|word| {
        word.trim_start_matches(char::is_alphabetic).starts_with(|c: char| c.is_ascii_digit()) || word.len() <= 2
    }) {
        return None;
    }
    match parse(text) {
        BoxLabel::Boxes(boxes) if singular || boxes.len() > 1 => Some(boxes),
        _ => None,
    }
}

/// Takes off what stands in brackets, and weights.
fn without_asides(text: &str) -> String {
    static ASIDES: std::sync::LazyLock<regex::Regex> = std::sync::LazyLock::new(|| {
        regex::Regex::new(r"\([^)]*\)|\[[^\]]*\]|[-,;:/@]?\s*\b\d+(?:[.,]\d+)?\s*(?:kgs?|lbs?)\b\.?")
            .expect("a fixed pattern")
    });
    let text = text.replace("s/d", " sd ");
    let bare = ASIDES.replace_all(&text, " ");
    // A label that stands in brackets as a whole is no aside.
    if bare.contains(|character: char| character.is_ascii_digit()) {
        bare.into_owned()
    } else {
        text.replace(['(', ')', '[', ']'], " ")
    }
}

fn tokens(text: &str) -> Vec<Token> {
    let mut tokens = Vec::new();
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let length = |test: fn(char) -> bool| rest.find(|character| !test(character)).unwrap_or(rest.len());
        if first.is_ascii_digit() {
            let end = length(|character| character.is_ascii_digit());
            tokens.push(rest[..end].parse().map_or(Token::Sign('?'), Token::Number));
            rest = &rest[end..];
        } else if first.is_alphabetic() {
            let end = length(char::is_alphabetic);
            tokens.push(Token::Word(rest[..end].to_owned()));
            rest = &rest[end..];
        } else {
            if !first.is_whitespace() {
                tokens.push(Token::Sign(first));
            }
            rest = &rest[first.len_utf8()..];
        }
    }
    // Marks around numbers and words that only say "box" or "number" carry nothing, nor does what joins them to a number.
    let mut plain: Vec<Token> = Vec::new();
    let mut dropped = false;
    for (index, token) in tokens.iter().enumerate() {
        let next_is_number = matches!(tokens.get(index + 1), Some(Token::Number(_)));
        let after_number = matches!(plain.last(), Some(Token::Number(_)));
        match token {
            Token::Sign('#' | ':' | '\'' | '"' | '_' | '*') => dropped = true,
            Token::Sign('.') if !(next_is_number && after_number) => {}
            Token::Sign('-' | '/') if dropped && !after_number => {}
            Token::Word(word) if is_box_word(word, &plain) => dropped = true,
            Token::Sign('/') if matches!(tokens.get(index + 1), Some(Token::Word(word)) if matches!(word.as_str(), "no" | "nos")) =>
            {
                // The bar of `c/no`: what stood before it was the `c`.
                if matches!(plain.last(), Some(Token::Word(word)) if word == "c") {
                    plain.pop();
                }
            }
            other => {
                plain.push(other.clone());
                dropped = false;
            }
        }
    }
    plain
}

fn is_box_word(word: &str, before: &[Token]) -> bool {
    let known = roles(word);
    let at_start = !matches!(before.last(), Some(Token::Number(_)));
    // A single letter is a prefix, whatever it may be short for.
    word.len() > 1 && (known.any(&[Role::Box, Role::Boxes]) || (known.has(Role::Number) && at_start))
}

/// The grammar: items parted by `,` `&` `+`, each a number with its letter, a range, or `7/20`.
fn boxes(tokens: &[Token]) -> Option<Vec<u32>> {
    let mut found = Vec::new();
    let mut at = 0;
    loop {
        skip_prefix(tokens, &mut at);
        let first = number(tokens, &mut at)?;
        skip_suffix(tokens, &mut at);
        let mut last = first;
        if is_range(tokens, at) {
            at += 1;
            skip_prefix(tokens, &mut at);
            last = number(tokens, &mut at)?;
            skip_suffix(tokens, &mut at);
        }
        if is_of(tokens, at) {
            at += 1;
            let all = number(tokens, &mut at)?;
            if all < last {
                return None;
            }
        }
        if first == 0
            || last < first
            || last - first >= limits::BOXES_OF_A_LABEL
            || found.len() > limits::BOXES_OF_A_LABEL as usize
        {
            return None;
        }
        found.extend(first..=last);
        match tokens.get(at) {
            None => return Some(found),
            Some(Token::Sign(',' | '&' | '+' | ';')) => at += 1,
            Some(Token::Word(word)) if roles(word).has(Role::And) => at += 1,
            Some(_) => return None,
        }
        if at == tokens.len() {
            return Some(found);
        }
    }
}

fn number(tokens: &[Token], at: &mut usize) -> Option<u32> {
    match tokens.get(*at) {
        Some(Token::Number(number)) => {
            *at += 1;
            Some(*number)
        }
        _ => None,
    }
}

/// Letters before a number: the `B-` of `B-07`.
fn skip_prefix(tokens: &[Token], at: &mut usize) {
    if let Some(Token::Word(_)) = tokens.get(*at) {
        match tokens.get(*at + 1..) {
            Some([Token::Number(_), ..]) => *at += 1,
            Some([Token::Sign('-' | '.' | '/'), Token::Number(_), ..]) => *at += 2,
            _ => {}
        }
    }
}

/// A letter or a word after a number: the `A` of `7A`, `7-B`, `7 split`.
fn skip_suffix(tokens: &[Token], at: &mut usize) {
    let joins = |word: &str| roles(word).any(&[Role::Range, Role::Of, Role::And]);
    let ends = |place: usize| !number_follows(tokens, place);
    match tokens.get(*at..) {
        Some([Token::Word(word), ..]) if !joins(word) || ends(*at + 1) => *at += 1,
        Some([Token::Sign('-' | '/' | '.'), Token::Word(_), ..]) if ends(*at + 1) => *at += 2,
        _ => return,
    }
    // Several parts of a box: `7A-C`, `7 A+B`.
    while let Some([Token::Sign('-' | '/' | '+' | '&' | ','), Token::Word(word), ..]) = tokens.get(*at..) {
        if word.len() > 1 || !ends(*at + 1) {
            break;
        }
        *at += 2;
    }
}

/// Whether a number comes next, perhaps behind a prefix such as the `B-` of `B-07`.
fn number_follows(tokens: &[Token], at: usize) -> bool {
    matches!(
        tokens.get(at..),
        Some(
            [Token::Number(_), ..]
                | [Token::Word(_), Token::Number(_), ..]
                | [Token::Word(_), Token::Sign('-' | '.' | '/'), Token::Number(_), ..]
        )
    )
}

fn is_range(tokens: &[Token], at: usize) -> bool {
    number_follows(tokens, at + 1)
        && match tokens.get(at) {
            Some(Token::Sign('-')) => true,
            Some(Token::Word(word)) => roles(word).has(Role::Range),
            _ => false,
        }
}

fn is_of(tokens: &[Token], at: usize) -> bool {
    matches!(tokens.get(at + 1), Some(Token::Number(_)))
        && match tokens.get(at) {
            Some(Token::Sign('/')) => true,
            Some(Token::Word(word)) => roles(word).has(Role::Of),
            _ => false,
        }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Vec<u32> {
        match parse(text) {
            BoxLabel::Boxes(boxes) => boxes,
            BoxLabel::Date => vec![9999],
            BoxLabel::Unclear => vec![],
        }
    }

    #[test]
    fn one_box_in_all_its_spellings() {
        for text in [
            "7",
            "07",
            "B-07",
            "Box 7",
            "C/No 7",
            "C/No. 7",
            "#7",
            "7/20",
            "7 of 20",
            "7A/20",
            "7A",
            "7-B",
            "7 split",
            "7 half",
            "Box No. 7",
            "Caja Nº 7",
            "Krabice č. 7",
            "Karton Nr. 7",
            "Box7",
            "B7",
            "7.",
            "No. 7",
            "Box 7 - 14.2 kg",
            "Box 7 (14,2 kg)",
            "7 (cont.)",
            "Ctn #7",
            "CTN. 07/20",
            "7 de 20",
            "7 a",
        ] {
            assert_eq!(read(text), [7], "{text}");
        }
    }

    #[test]
    fn several_boxes_in_all_their_spellings() {
        for text in [
            "1-4",
            "1–4",
            "1~4",
            "1 to 4",
            "1 a 4",
            "1 až 4",
            "1 bis 4",
            "1 hasta 4",
            "1 até 4",
            "1 s/d 4",
            "01-04",
            "B-01 - B-04",
            "B01-B04",
            "Box 1-4",
            "1 - 4",
            "Box 1 - Box 4",
            "1-4/20",
            "#1-#4",
            "1A-4B",
        ] {
            assert_eq!(read(text), [1, 2, 3, 4], "{text}");
        }
        for text in ["5,6", "5 & 6", "5+6", "5, 6", "5 and 6", "5 y 6", "5 und 6", "6,5", "5A, 6A"] {
            assert_eq!(read(text), [5, 6], "{text}");
        }
        assert_eq!(read("1-3, 7"), [1, 2, 3, 7]);
        assert_eq!(read("7A,7B"), [7]);
    }

    #[test]
    fn dates_and_labels_without_a_number_are_told() {
        for text in ["04-Jan", "Jan-04", "1/4/2026", "2026-01-04", "4. ledna", "5-Jun"] {
            assert_eq!(parse(text), BoxLabel::Date, "{text}");
        }
        for text in ["A", "TBA", "loose", "7.5", "0", "4-1", "20/7", "-", "1-100000", "99999999999999"] {
            assert_eq!(parse(text), BoxLabel::Unclear, "{text}");
        }
    }

    #[test]
    fn a_box_and_a_bag_stand_in_one_cell() {
        for text in
            ["3/2", "3-2", "3.2", "3 / 2", "3,2", "03-02", "Box 3 Bag 2", "B3/2", "3A/2", "3–2", "3:2", "3 bag 2"]
        {
            let cell = Cell::Text(text.to_owned());
            assert_eq!(box_and_bag(&cell), Some((3, BoxLabel::Boxes(vec![2]))), "{text}");
        }
        assert_eq!(box_and_bag(&Cell::Number(3.2)), Some((3, BoxLabel::Boxes(vec![2]))));
        assert_eq!(box_and_bag(&Cell::Text("3/1-2".into())), Some((3, BoxLabel::Boxes(vec![1, 2]))));
        for text in ["3", "Box 3", "loose", "/2"] {
            assert_eq!(box_and_bag(&Cell::Text(text.into())), None, "{text}");
        }
    }

    #[test]
    fn heading_rows_begin_with_the_word_for_box() {
        assert_eq!(heading("BOX 7"), Some(vec![7]));
        assert_eq!(heading("Krabice 3-4"), Some(vec![3, 4]));
        assert_eq!(heading("Box 7 - 14.2 kg"), Some(vec![7]));
        assert_eq!(heading("Boxes 1-4"), Some(vec![1, 2, 3, 4]));
        for text in ["Boxes: 12", "Boxfish 7", "PO Box 7", "Box", "Neon 7", "Box 7 must be kept warm", "Box crab 5"] {
            assert_eq!(heading(text), None, "{text}");
        }
    }
}
