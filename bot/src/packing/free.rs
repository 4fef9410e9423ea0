//! Free lines: `Box 7:` sets the box, then items such as `2 x 25 Neon tetra M @ 0.08`.

use std::sync::LazyLock;

use holdfast_core::consignment::{Asks, ListLine};
use holdfast_core::say::packing as say;
use holdfast_core::species::Kind;
use regex::Regex;
use rust_decimal::Decimal;

use super::clean::{clean, fold, shorten};
use super::dates;
use super::group::kind_under;
use super::label::{self, BoxLabel};
use super::latin;
use super::limits;
use super::number::{self, Count};
use super::open::Unreadable;
use super::reading::{Draft, Reading, TotalAt};
use super::statement;
use super::totals::{Sum, TotalRow};
use super::words::{self, Label, Role, phrase, roles};

/// An item of a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// How many.
    pub count: Count,
    /// The name.
    pub species: String,
    /// The size at its end.
    pub size: Option<String>,
    /// The price, as typed.
    pub price: Option<String>,
}

/// Reads free lines. Rows count as lines of the text.
pub fn read(text: &str) -> Result<Reading, Unreadable> {
    let mut reading = Reading::default();
    let mut current: Vec<u32> = Vec::new();
    let (mut all, mut since) = (Sum::default(), Sum::default());
    let mut after_total = false;
    let mut under = None;
    let sign = text.lines().filter_map(|line| split_price(line).1).find_map(|price| number::decimal_sign(&price));
    for (row, line) in (0_u32..).zip(text.lines()) {
        for piece in line.split(';') {
            if reading.is_too_large() {
                return Err(Unreadable::TooLarge);
            }
            let piece = clean(piece);
            if piece.is_empty() {
                continue;
            }
            let (boxes, rest) = box_label(&piece);
            if let Some(boxes) = boxes {
                reading.name_boxes(row, &boxes);
                current = boxes;
                since = Sum::default();
            }
            let rest = rest.trim();
            if rest.is_empty() {
                continue;
            }
            let unbulleted = without_bullet(rest);
            if let Some(statement) =
                statement::read(unbulleted).filter(|said| said.kind.is_some() || said.boxes().is_some())
            {
                let fish = statement.kind.and(statement.fish());
                let total = TotalRow {
                    kind: statement.kind,
                    fish,
                    boxes: statement.boxes(),
                    other: fish.is_none(),
                    named: statement.named.clone(),
                    loose: statement.loose,
                    gross: None,
                };
                after_total |= !total.other
                    && total.named.is_none()
                    && total.kind != Some(statement::Kind::Sub)
                    && total.kind != Some(statement::Kind::Carried);
                reading.totals.push(TotalAt { row, total, all, since, under: current.clone() });
                continue;
            }
            let outside = current.is_empty() || after_total;
            let item = if outside { None } else { item(unbulleted) };
            match item {
                Some(item) => {
                    let place = say::place(None, row + 1);
                    if item.species.chars().count() > limits::NAME_CHARACTERS {
                        reading.questions.push((row, say::long_name(&place, item.species.chars().count())));
                        continue;
                    }
                    if item.count.fish > limits::FISH_OF_A_LINE {
                        let question = say::many_fish(&place, &shorten(&item.species, 60), item.count.fish);
                        reading.asks.push((row, question.clone(), Asks::Fish { choices: Vec::new(), each: true }));
                        reading.questions.push((row, question));
                    }
                    reading.rows.insert(row);
                    for &number in &current {
                        all.add(item.count.fish, item.count.free);
                        since.add(item.count.fish, item.count.free);
                        let line = line_of(&item, number, sign, under);
                        if item.price.is_some() && line.unit_price.is_none() {
                            let question = say::price_unreadable(&place, item.price.as_deref().unwrap_or_default());
                            reading.asks.push((row, question.clone(), Asks::Price { choices: Vec::new() }));
                            reading.questions.push((row, question));
                        }
                        reading.drafts.push(Draft { row, line, boxes: Vec::new() });
                    }
                }
                None => {
                    let has_number = rest.chars().any(|character| character.is_ascii_digit());
                    if !has_number {
                        under = kind_under(rest);
                    }
                    if has_number && !(outside && is_about_something_else(rest)) {
                        reading.questions.push((row, say::line_not_understood(row + 1, &shorten(rest, 80))));
                    }
                }
            }
        }
    }
    Ok(Reading { open: since, ..reading })
}

fn line_of(item: &Item, number: u32, sign: Option<char>, under: Option<Kind>) -> ListLine {
    ListLine {
        number: Some(number),
        bag: None,
        bags: item.count.bags.and_then(|bags| u32::try_from(bags).ok()),
        species: item.species.clone(),
        scientific: latin::in_brackets(&item.species),
        size: item.size.clone(),
        qty: item.count.fish as u32,
        bonus: item.count.free as u32,
        unit_price: item.price.as_deref().and_then(|price| price_of(price, sign)),
        under,
    }
}

fn price_of(price: &str, sign: Option<char>) -> Option<Decimal> {
    number::price_text(price, sign)
}

/// The boxes that a piece begins with, and what follows them.
fn box_label(piece: &str) -> (Option<Vec<u32>>, &str) {
    static LABEL: LazyLock<Regex> = LazyLock::new(|| {
        Regex::new(r"^[\s*•·>_-]*(#|[\p{L}]+(?:[./ ]{0,2}(?i:no|nº|nr|č)\.?)?)\s*[:#.]?\s*#?\d")
            .expect("a fixed pattern")
    });
    let is_label = LABEL.captures(without_bullet(piece)).is_some_and(|found| {
        &found[1] == "#" || phrase(&found[1]).first().is_some_and(|word| roles(word).any(&[Role::Box, Role::Boxes]))
    });
    if !is_label {
        return (None, piece);
    }
    let piece = without_bullet(piece);
    let start = piece.trim_start_matches(['*', '•', '·', '>', '_', '-', ' ']);
    let begins_with_sign = start.starts_with('#');
    let read = |text: &str| match label::parse(text) {
        BoxLabel::Boxes(boxes) if begins_with_sign || label::heading(text).is_some() => Some(boxes),
        _ => None,
    };
    // `Box 7:` and `Box 1-3 (14 kg):`, but not the colon of a total such as `Boxes: 12`.
    for (at, _) in start.match_indices(':') {
        if let Some(boxes) = read(&start[..at]) {
            return (Some(boxes), &start[at + 1..]);
        }
    }
    if let Some(boxes) = read(start) {
        return (Some(boxes), "");
    }
    if begins_with_sign {
        return (None, piece);
    }
    // Without a colon: the longest label whose rest is an item.
    let ends: Vec<usize> = start.match_indices([' ', ',']).map(|(at, _)| at).collect();
    for &at in ends.iter().rev() {
        let rest = start[at + 1..].trim_start_matches([' ', '-', '–', '—', ',']);
        let boxes = read(start[..at].trim_end_matches([' ', '-', '–', '—', ',']));
        let is_item = || item(rest).is_some() || statement::read(rest).is_some_and(|said| said.kind.is_some());
        if boxes.is_some() && is_item() {
            return (boxes, rest);
        }
    }
    (None, piece)
}

fn without_bullet(text: &str) -> &str {
    static BULLET: LazyLock<Regex> =
        LazyLock::new(|| Regex::new(r"^(?:[-*•·–—>+]+\s*|\d{1,3}\)\s+|\d{1,3}\.\s+)").expect("a fixed pattern"));
    match BULLET.find(text) {
        // `+5 neon` is no bullet before a five that is already an item: a sign before a number needs a blank.
        Some(found) if found.as_str() != "+" => &text[found.end()..],
        _ => text,
    }
}

fn split_price(text: &str) -> (&str, Option<String>) {
    match text.rsplit_once('@') {
        Some((before, price)) => (before.trim_end(), Some(price.trim().to_owned())),
        None => (text, None),
    }
}

/// An item in either order. `None` where the line is none.
pub fn item(text: &str) -> Option<Item> {
    static FIRST: LazyLock<Regex> = LazyLock::new(|| {
        Regex::new(r"^(?P<qty>\d[\d.,']*(?: \d{3}\b)*(?:\s*[x×*]\s*\d[\d.,']*)?(?:\s*\+\s*\d+)?)(?:\s*(?P<x>[x×])\b)?\s*(?P<rest>\p{L}.*|[^\d\s].*)$").expect("a fixed pattern")
    });
    static LAST: LazyLock<Regex> = LazyLock::new(|| {
        Regex::new(r"^(?P<name>.*?\S)(?P<sep>\s*[-–—:=]\s*|\s+[x×]\s*|\s+)(?P<qty>\d[\d.,']*(?: \d{3}\b)*(?:\s*[x×*]\s*\d[\d.,']*)?(?:\s*\+\s*\d+)?(?:\s*\p{L}{1,10}\.?)?)$").expect("a fixed pattern")
    });
    let (text, price) = split_price(text.trim().trim_end_matches([',', '.']));
    let text = text.trim().trim_end_matches(',');
    let make = |count: Count, name: &str| {
        let (species, size) = split_size(name.trim().trim_matches([',', ':', ' ', '-', '–']));
        let is_unit = |word: &String| {
            roles(word).any(&[Role::Piece, Role::Pair, Role::Trio, Role::Bag, Role::Bags, Role::Box, Role::Boxes])
        };
        let named = species.chars().filter(|character| character.is_alphabetic()).count() >= 2
            && !phrase(&species).iter().all(is_unit);
        // A comma before another number parts two items that one line must not hold.
        let several =
            species.split(',').skip(1).any(|part| part.trim_start().starts_with(|first: char| first.is_ascii_digit()));
        (named && !several).then(|| Item { count, species, size, price: price.clone() })
    };
    let last = LAST.captures(text).and_then(|found| {
        let count = number::count_text(&found["qty"])?;
        let explicit = found["sep"].contains(['-', '–', '—', ':', '=']);
        Some((explicit, make(count, &found["name"])?))
    });
    if let Some((true, item)) = &last {
        return Some(item.clone());
    }
    let first = FIRST.captures(text).and_then(|found| {
        let (unit, name) = unit_and_name(&found["rest"]);
        let count = number::count_text(&format!("{} {unit}", &found["qty"]))?;
        make(count, name)
    });
    first.or(last.map(|(_, item)| item))
}

/// The unit of fish that a name may begin with.
fn unit_and_name(text: &str) -> (&str, &str) {
    let (word, rest) = text.split_once(' ').unwrap_or((text, ""));
    let folded = fold(word.trim_end_matches('.'));
    let is_unit = roles(&folded).any(&[Role::Piece, Role::Pair, Role::Trio]) && !rest.trim().is_empty();
    if is_unit { (word, rest.trim_start().strip_prefix("of ").unwrap_or(rest)) } else { ("", text) }
}

/// Takes the size off the end of a name.
fn split_size(name: &str) -> (String, Option<String>) {
    static SIZE: LazyLock<Regex> = LazyLock::new(|| {
        let number = r"\d+(?:[.,]\d+)?";
        let letter = r"(?:XS|XXL|XL|SM|ML|S|M|L|J|Jumbo|Show)";
        let length = format!(
            r#"{number}(?:\s*[-–~/]\s*{number})?\s*(?:cm|mm|inch(?:es)?|in|["”″])(?:\s*[-–~/]\s*{number}\s*(?:cm|mm|inch(?:es)?|in|["”″]))?\+?"#
        );
        Regex::new(&format!(r"^(?P<name>.*\S)\s+(?P<size>{length}|(?i:{letter}(?:/{letter})?))$"))
            .expect("a fixed pattern")
    });
    let bare = name.trim_end_matches([')', ']']);
    match SIZE.captures(bare) {
        // `(3 cm)`: brackets around the size belong to it.
        Some(found) if bare.len() == name.len() => {
            (clean(found["name"].trim_end_matches([',', '-', '–', ' '])), Some(clean(&found["size"])))
        }
        _ => (clean(name), None),
    }
}

/// Addresses, dates, flights, airway bills, greetings and temperatures around the list.
fn is_about_something_else(text: &str) -> bool {
    static TEMPERATURE: LazyLock<Regex> =
        LazyLock::new(|| Regex::new(r"\d\s*(?:°|º|o)?\s*[cf]\b|\d\s*deg").expect("a fixed pattern"));
    let folded = fold(text);
    let words = phrase(text);
    let any = |role| words.iter().any(|word| roles(word).has(role));
    let named = [Label::Awb, Label::House, Label::Invoice, Label::Supplier, Label::Packed, Label::Gross, Label::Title]
        .iter()
        .any(|&label| words::names(&words, label));
    named
        || any(Role::Address)
        || any(Role::Greeting)
        || any(Role::Flight)
        || TEMPERATURE.is_match(&folded)
        || dates::parse(text, false).is_some()
        || dates::looks_like_date(text)
        || words.iter().any(|word| words::month(word).is_some())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Fish, free fish and bags, then name, size and price.
    fn parsed(text: &str) -> String {
        let Some(Item { count, species, size, price }) = item(text) else { return "none".to_owned() };
        let bags = count.bags.map(|bags| format!(" in {bags}")).unwrap_or_default();
        let (size, price) = (size.unwrap_or_default(), price.unwrap_or_default());
        format!("{}+{}{bags}|{species}|{size}|{price}", count.fish - count.free, count.free)
    }

    #[test]
    fn items_are_read_in_both_orders() {
        for (text, expected) in [
            ("25 Pearl gourami 6cm @ 0.55", "25+0|Pearl gourami|6cm|0.55"),
            ("100 Ember tetra", "100+0|Ember tetra||"),
            ("150 pcs Panda cory S/M @ 0.60", "150+0|Panda cory|S/M|0.60"),
            ("Neon tetra M: 250 pcs", "250+0|Neon tetra|M|"),
            ("Neon tetra 5-6 cm 50", "50+0|Neon tetra|5-6 cm|"),
            ("5 pairs Apistogramma cacatuoides", "10+0|Apistogramma cacatuoides||"),
            ("1,250 Neon tetra Jumbo", "1250+0|Neon tetra|Jumbo|"),
            ("5 Ancistrus L183", "5+0|Ancistrus L183||"),
            ("2 spot barb - 50", "50+0|2 spot barb||"),
            ("Honey gourami M - 4x30", "120+0 in 4|Honey gourami|M|"),
            ("10+1 Discus blue 3.5\" @ $9.50", "10+1|Discus blue|3.5\"|$9.50"),
            ("2 x 200 Neon tetra M", "400+0 in 2|Neon tetra|M|"),
        ] {
            assert_eq!(parsed(text), expected, "{text}");
        }
    }

    #[test]
    fn what_is_no_item_is_none() {
        for text in ["Angel 4\" x 10", "Angel 4\" × 10"] {
            assert_eq!(parsed(text), "10+0|Angel|4\"|", "{text}");
        }
        for text in ["keep warm", "200 neon, 100 ember", "02:40", "25C", "0 Neon", "same as box 6 please"] {
            assert_eq!(parsed(text), "none", "{text}");
        }
    }

    #[test]
    fn box_labels_set_the_box() {
        assert_eq!(box_label("Box 1: 2 x 200 Neon"), (Some(vec![1]), " 2 x 200 Neon"));
        assert_eq!(box_label("Box 3 & 4: 150 pcs Panda"), (Some(vec![3, 4]), " 150 pcs Panda"));
        assert_eq!(box_label("Box 2"), (Some(vec![2]), ""));
        assert_eq!(box_label("Box 7 - 25 Neon tetra"), (Some(vec![7]), "25 Neon tetra"));
        assert_eq!(box_label("Caja 7 (14 kg):"), (Some(vec![7]), ""));
        assert_eq!(box_label("1) Box 7: 25 Neon"), (Some(vec![7]), " 25 Neon"));
        for text in ["PO Box 7", "Boxes: 12", "Boxfish 7", "25 Neon"] {
            assert_eq!(box_label(text).0, None, "{text}");
        }
    }
}
