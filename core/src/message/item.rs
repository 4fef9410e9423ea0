//! Tokens into items: numbers, words with their meanings, fish, buyers. Places are found afterwards.

use std::borrow::Cow;

use super::Vocabulary;
use super::lexicon::{Lexicon, Meaning};
use super::names::Names;
use super::place_words::Mention;
use super::token::{Kind, Token};

/// What an item is.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum What {
    Number {
        value: f64,
        /// "7.2" may be bag 2 of box 7.
        parts: Option<(u32, u32)>,
        /// Spelled in letters.
        spelled: bool,
    },
    Clock(u32, u32),
    Date(i32, u32, u32),
    Mark(char),
    Line,
    Words(Cow<'static, [Meaning]>),
    /// The fish that the word may mean, by the vocabulary's names.
    Species(Vec<String>),
    Buyer(Vec<String>),
    Supplier(String),
    Crew,
    Place(Mention),
    /// A price: neither fish nor place.
    Money,
    Unknown,
}

/// One item and the tokens that it is made of.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Item {
    pub what: What,
    pub first: usize,
    /// Behind its last token.
    pub end: usize,
}

/// A meaning that lies over some tokens.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Layer {
    pub meaning: Meaning,
    pub first: usize,
    pub end: usize,
}

impl Item {
    #[inline]
    pub(crate) fn value(&self, class: &str) -> Option<&'static str> {
        match &self.what {
            What::Words(meanings) => meanings.iter().find(|m| m.class == class).map(|m| m.value),
            _ => None,
        }
    }

    #[inline]
    pub(crate) fn number(&self) -> Option<f64> {
        match self.what {
            What::Number { value, .. } => Some(value),
            _ => None,
        }
    }

    /// A whole number that can count fish.
    pub(crate) fn whole(&self) -> Option<u32> {
        self.number().and_then(whole)
    }
}

/// The number as whole fish or a name, if it is one.
pub(crate) fn whole(value: f64) -> Option<u32> {
    (value >= 0.0 && value.fract() == 0.0 && value <= 1_000_000.0).then_some(value as u32)
}

/// Splits tokens into items.
pub(crate) fn items(lexicon: &'static Lexicon, vocabulary: &Vocabulary, names: &Names, text: &[Token]) -> Vec<Item> {
    let mut out: Vec<Item> = Vec::new();
    let mut at = 0;
    while at < text.len() {
        let token = &text[at];
        let mut length = 1;
        let what = match token.kind {
            Kind::Line => What::Line,
            Kind::Clock(h, m) => What::Clock(h, m),
            Kind::Date(y, m, d) => What::Date(y, m, d),
            Kind::Number { value, parts } => What::Number { value, parts, spelled: false },
            Kind::Mark(_) | Kind::Word => {
                let behind_number = out.last().is_some_and(|item| item.number().is_some());
                let known =
                    lexicon.plain(text, at, behind_number).map(|found| word_of_phrase(lexicon, text, at, &out, found));
                let longest = known.map_or(0, |(_, n)| n);
                if let Some((fish, n)) = names.species_at(lexicon, vocabulary, text, at).filter(|(_, n)| *n >= longest)
                {
                    length = n;
                    What::Species(fish)
                } else if let Some((buyers, n)) = names.buyer_at(text, at).filter(|(_, n)| *n > longest) {
                    length = n;
                    What::Buyer(buyers)
                } else if let Some((supplier, n)) = names.supplier_at(text, at) {
                    length = n;
                    What::Supplier(supplier)
                } else if let Some((meanings, n)) = known {
                    length = n;
                    words(meanings, behind_number)
                } else if let Some(n) = names.is_unlisted_fish(lexicon, text, at) {
                    length = n;
                    What::Words(Cow::Borrowed(&[Meaning { class: "fish", value: "named" }]))
                } else if let Kind::Mark(c) = token.kind {
                    What::Mark(c)
                } else if names.is_crew(&token.text) {
                    What::Crew
                } else {
                    What::Unknown
                }
            }
        };
        out.push(Item { what, first: at, end: at + length });
        at += length;
        join_spelled(&mut out);
    }
    let joined = join_points(join_halves(out), text);
    read_ammonia(prices(joined, text), text)
}

/// Where a word says more by itself than the phrase that it opens: in "next bag flat" the bag is a place.
fn word_of_phrase(
    lexicon: &'static Lexicon,
    text: &[Token],
    at: usize,
    before: &[Item],
    (meanings, n): (&'static [Meaning], usize),
) -> (&'static [Meaning], usize) {
    let pointed = before
        .last()
        .and_then(|item| item.value("key"))
        .is_some_and(|key| matches!(key, "next" | "last" | "other" | "both" | "first" | "second"));
    // In "2 more gone in 7.2" fish are gone, nothing went in.
    let counted = before.last().is_some_and(|item| {
        let fish = matches!(item.what, What::Species(_)) || item.value("fish").is_some();
        let behind_number = before.len() > 1 && before[before.len() - 2].number().is_some();
        item.number().is_some() || item.value("key") == Some("more") || fish && behind_number
    });
    match lexicon.plain(&text[..=at], at, false) {
        Some(alone) if pointed && n > 1 && alone.0.iter().any(|m| m.value == "bag") => alone,
        Some(alone)
            if counted
                && n > 1
                && alone.0.iter().any(|m| m.class == "state")
                && meanings.iter().all(|m| m.value == "dose") =>
        {
            alone
        }
        _ => (meanings, n),
    }
}

/// "£7", "12 quid", "3.50 each" and "a tenner" are money.
fn prices(items: Vec<Item>, text: &[Token]) -> Vec<Item> {
    let word = |item: &Item| text[item.first].text.as_str();
    let coin = |item: &Item| {
        matches!(
            word(item),
            "quid" | "pounds" | "pound" | "pence" | "bucks" | "dollars" | "dollar" | "euros" | "euro" | "gbp" | "usd"
        )
    };
    let mut out: Vec<Item> = Vec::with_capacity(items.len());
    let mut at = 0;
    while let Some(item) = items.get(at) {
        let next = items.get(at + 1);
        let sign = matches!(item.what, What::Mark('£' | '$' | '€')) && next.is_some_and(|next| next.number().is_some());
        let cents = item.number().is_some() && word(item).split(['.', ',']).nth(1).is_some_and(|part| part.len() == 2);
        let each = next.is_some_and(|next| {
            matches!(word(next), "each" | "ea" | "apiece" | "per")
                || word(next) == "a"
                    && items.get(at + 2).is_some_and(|of| matches!(word(of), "fish" | "piece" | "pop" | "head"))
        });
        let counted = item.number().is_some() && next.is_some_and(|next| coin(next) || next.what == What::Mark('€'));
        let length = match item {
            _ if sign || counted => 2,
            _ if cents && each || matches!(word(item), "tenner" | "fiver" | "quid") => 1,
            _ => 0,
        };
        match items.get(at + length.max(1) - 1) {
            Some(last) if length > 0 => {
                out.push(Item { what: What::Money, first: item.first, end: last.end });
                at += length;
            }
            _ => {
                out.push(item.clone());
                at += 1;
            }
        }
    }
    out
}

/// "0.5 am" and "ph 7 am 1" speak of ammonia, "6 am" of the clock.
fn read_ammonia(mut items: Vec<Item>, text: &[Token]) -> Vec<Item> {
    let measured = items.iter().any(|item| item.value("measure").is_some());
    for at in 0..items.len() {
        let item = &items[at];
        if text[item.first].text != "am" || item.end - item.first != 1 {
            continue;
        }
        // The number of "A2 am 0.25" belongs to the tank.
        let apart = at.checked_sub(1).filter(|n| *n == 0 || text[items[*n].first].spaced);
        let before = apart.and_then(|n| items[n].number());
        let behind = items.get(at + 1).and_then(Item::number);
        let told = at > 1 && items[at - 2].value("measure").is_some();
        let clock = before.is_some_and(|n| n.fract() == 0.0 && (1.0..=12.0).contains(&n));
        let ammonia = match (before, behind) {
            (Some(_), _) if !clock => true,
            (Some(_), Some(n)) => told || measured && n.fract() != 0.0,
            (None, Some(n)) => {
                (measured || n.fract() != 0.0) && at.checked_sub(1).is_none_or(|n| text[items[n].first].text != "i")
            }
            _ => false,
        };
        if ammonia {
            items[at].what = What::Words(Cow::Borrowed(&[Meaning { class: "measure", value: "tan" }]));
        }
    }
    items
}

fn words(meanings: &'static [Meaning], behind_number: bool) -> What {
    if let Some(value) = meanings.iter().find(|m| m.class == "number").and_then(|m| m.value.parse().ok()) {
        return What::Number { value, parts: None, spelled: true };
    }
    if meanings.iter().all(|m| m.class != "shortunit") {
        return What::Words(Cow::Borrowed(meanings));
    }
    What::Words(
        meanings
            .iter()
            .filter(|m| m.class != "shortunit" || behind_number)
            .map(|m| if m.class == "shortunit" { Meaning { class: "unit", ..*m } } else { *m })
            .collect(),
    )
}

/// "twenty five" and "twenty-five" are one number.
fn join_spelled(out: &mut Vec<Item>) {
    let spelled = |item: &Item| match item.what {
        What::Number { value, spelled: true, .. } => Some(value),
        _ => None,
    };
    // "three hundred"
    if let [.., few, hundred] = out.as_slice()
        && spelled(hundred) == Some(100.0)
        && hundred.end - hundred.first == 1
        && let Some(few) = spelled(few).filter(|v| (1.0..10.0).contains(v))
    {
        let (at, end) = (out.len() - 2, hundred.end);
        out.truncate(at + 1);
        out[at] =
            Item { what: What::Number { value: few * 100.0, parts: None, spelled: true }, first: out[at].first, end };
        return;
    }
    let Some(units) = out.last().and_then(spelled).filter(|v| (1.0..10.0).contains(v)) else { return };
    let dash = out.len() >= 3 && out[out.len() - 2].what == What::Mark('-');
    let Some(before) = out.len().checked_sub(if dash { 3 } else { 2 }) else { return };
    let Some(tens) = spelled(&out[before]).filter(|v| *v >= 20.0 && *v < 1000.0 && v % 10.0 == 0.0) else { return };
    let end = out[out.len() - 1].end;
    out.truncate(before + 1);
    out[before] =
        Item { what: What::Number { value: tens + units, parts: None, spelled: true }, first: out[before].first, end };
}

/// "six point five" is one number, and may name a bag as "6.5" does.
fn join_points(items: Vec<Item>, text: &[Token]) -> Vec<Item> {
    let mut out: Vec<Item> = Vec::with_capacity(items.len());
    for item in items {
        let tenths = item.number().filter(|value| (0.0..10.0).contains(value) && value.fract() == 0.0);
        let word = out.last().map_or("", |last| text[last.first].text.as_str());
        // "bag 24 dash 4" as one dictates it; "2 dash 4 dead" says nothing of the sort.
        let bag = out.len().checked_sub(3).is_some_and(|n| matches!(out[n].value("key"), Some("bag" | "box")));
        let point = word == "point" || bag && matches!(word, "dash" | "slash" | "stroke");
        let whole = out.len().checked_sub(2).and_then(|n| out[n].number()).filter(|value| value.fract() == 0.0);
        match (tenths, point, whole) {
            (Some(tenths), true, Some(whole)) => {
                out.pop();
                let first = out.pop().map_or(item.first, |number| number.first);
                let parts = self::whole(whole).zip(self::whole(tenths)).filter(|(_, tenths)| *tenths > 0);
                let what = What::Number { value: whole + tenths / 10.0, parts, spelled: true };
                out.push(Item { what, first, end: item.end });
            }
            _ => out.push(item),
        }
    }
    out
}

/// "two and a half" is one number.
fn join_halves(items: Vec<Item>) -> Vec<Item> {
    let mut out: Vec<Item> = Vec::with_capacity(items.len());
    for item in items {
        let part = item.value("fraction").and_then(|value| value.parse::<f64>().ok());
        let article =
            usize::from(out.last().is_some_and(|last| last.value("glue").is_some() && last.end - last.first == 1));
        let and = out.len().checked_sub(1 + article).filter(|n| out[*n].value("key") == Some("and"));
        let number = and.and_then(|n| n.checked_sub(1)).filter(|n| out[*n].number().is_some());
        match (part.filter(|part| *part == 0.5 || *part == 0.25), number) {
            (Some(part), Some(n)) => {
                let what =
                    What::Number { value: out[n].number().unwrap_or_default() + part, parts: None, spelled: true };
                let joined = Item { what, first: out[n].first, end: item.end };
                out.truncate(n);
                out.push(joined);
            }
            _ => out.push(item),
        }
    }
    out
}

/// The layered meanings of a text.
pub(crate) fn layers(lexicon: &Lexicon, text: &[Token]) -> Vec<Layer> {
    (0..text.len())
        .flat_map(|at| {
            lexicon.layered(text, at).into_iter().map(move |(meaning, n)| Layer { meaning, first: at, end: at + n })
        })
        .collect()
}
