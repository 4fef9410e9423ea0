//! Other tongues than English, each a file of data.
//!
//! The reader's grammar looks at English words. A message in another tongue is turned into them before it is read, phrase by
//! phrase, each new word standing for the bytes of what was said: "pasa la 7 a A12" becomes "move 7 to A12". English words
//! among the others stay as they are, since trade words are mixed, and a message in English is not touched at all. In which
//! tongue a message is spoken is decided once, from all of its words.
//!
//! A line is `class value: phrases`, as in `en.txt`; what is said becomes the first English phrase of that meaning.
//! `class value = words: phrases` gives other English words for it. These lines have no English meaning of their own:
//!
//! - `say words: phrases` turns phrases into English words without more ado ("que caja sigue" into "which box next").
//! - `drop article: words` are left out where no phrase holds them, so that "la 7" is the number 7.
//! - `drop box: la` does the same, but before the number of a box that the house has it says that it is one.
//! - `short de: del` makes one word of the tongue out of another before anything else.
//! - `accent at: às` gives the English word of one whose accent was typed; elsewhere accents make no difference.
//! - `minutes 30: y media` behind an hour makes a clock time of it.
//! - `decimal comma: ,` says that "1,024" is no thousand.
//! - `answer yes: sí` are the answers to a choice.

use std::collections::HashMap;
use std::sync::OnceLock;

use super::spoken::{speaks, tongue_of};
use super::{Lexicon, Meaning, english, entries};
use crate::message::Vocabulary;
use crate::message::names::Names;
use crate::message::token::{Kind, Token, tokens};
use crate::message::word_map::{WordMap, WordSet};

/// One file a language. English is always beside them.
const TONGUES: [(&str, &str); 2] = [("es", include_str!("es.txt")), ("pt", include_str!("pt.txt"))];

/// Stands for "more" before a number, which English says behind it.
const MORE_BEFORE: &str = "more #";

/// What a phrase of the tongue becomes.
#[derive(Debug)]
struct Phrase {
    words: Vec<String>,
    meaning: Meaning,
    english: &'static str,
}

/// One language beside English.
#[derive(Debug)]
pub(crate) struct Tongue {
    /// The language's code, which names its file.
    pub name: &'static str,
    phrases: WordMap<Vec<Phrase>>,
    articles: WordSet,
    /// Those that say "box" before the number of one.
    of_boxes: WordSet,
    pub(super) short: WordMap<&'static str>,
    accents: WordMap<&'static str>,
    decimal_comma: bool,
    /// The tongue's words as a lexicon of their own: which are known, and which slips are forgiven.
    pub(super) words: Lexicon,
}

pub(super) fn all() -> &'static [Tongue] {
    static ALL: OnceLock<Vec<Tongue>> = OnceLock::new();
    ALL.get_or_init(|| TONGUES.iter().map(|(name, data)| Tongue::parse(name, data)).collect())
}

/// The first English phrase of each meaning.
fn first_english() -> &'static HashMap<(&'static str, &'static str), &'static str> {
    static FIRST: OnceLock<HashMap<(&'static str, &'static str), &'static str>> = OnceLock::new();
    FIRST.get_or_init(|| {
        let mut first = HashMap::new();
        for (meaning, phrases) in entries(super::ENGLISH) {
            let phrase = phrases.split('|').next().unwrap_or_default().trim();
            first.entry((meaning.class, meaning.value)).or_insert(phrase);
        }
        first
    })
}

impl Tongue {
    fn parse(name: &'static str, data: &'static str) -> Self {
        let mut tongue = Tongue {
            name,
            phrases: WordMap::default(),
            articles: WordSet::default(),
            of_boxes: WordSet::default(),
            short: WordMap::default(),
            accents: WordMap::default(),
            decimal_comma: false,
            words: Lexicon::default(),
        };
        let split = |phrases: &'static str| phrases.split('|').map(str::trim).filter(|phrase| !phrase.is_empty());
        let plain = |word: &str| tokens(word, |_| false).into_iter().map(|token| token.text).collect::<String>();
        // What makes words of words is known before any phrase is split.
        for (meaning, phrases) in entries(data) {
            for word in split(phrases) {
                match meaning.class {
                    "drop" => {
                        tongue.articles.insert(plain(word));
                        if meaning.value == "box" {
                            tongue.of_boxes.insert(plain(word));
                        }
                    }
                    "short" => drop(tongue.short.insert(plain(word), meaning.value)),
                    "accent" => drop(tongue.accents.insert(word.to_owned(), meaning.value)),
                    "decimal" => tongue.decimal_comma = true,
                    _ => {}
                }
            }
        }
        for (meaning, phrases) in entries(data) {
            if matches!(meaning.class, "drop" | "short" | "accent" | "decimal" | "answer") {
                split(phrases).for_each(|word| tongue.words.add(meaning, word));
                continue;
            }
            let (value, english) = match meaning.value.split_once(" = ") {
                Some((value, english)) => (value, english),
                None if meaning.class == "say" => (meaning.value, meaning.value),
                None => {
                    let first = first_english().get(&(meaning.class, meaning.value));
                    (meaning.value, first.copied().unwrap_or_default())
                }
            };
            let meaning = Meaning { class: meaning.class, value };
            for phrase in split(phrases) {
                tongue.words.add(meaning, phrase);
                let words = tongue.split(phrase).into_iter().map(|token| token.text).collect::<Vec<_>>();
                let Some(first) = words.first().cloned() else { continue };
                let known = tongue.phrases.entry(first).or_default();
                // What is said first of a phrase holds.
                if !known.iter().any(|other| other.words == words) {
                    known.push(Phrase { words, meaning, english });
                }
            }
        }
        tongue
    }

    /// A text as words of this tongue, long forms for short ones.
    fn split(&self, text: &str) -> Vec<Token> {
        let mut all = tokens(text, |run| english().is_mixed(run));
        self.lengthen(&mut all);
        all
    }

    pub(super) fn lengthen(&self, all: &mut [Token]) {
        for at in 0..all.len() {
            if all[at].kind == Kind::Word
                && !names_tank(all, at)
                && let Some(word) = self.short.get(&all[at].text)
            {
                all[at].text = (*word).to_owned();
            }
        }
    }

    /// The English word of a word whose accent was typed and tells it from another.
    fn accented(&self, text: &str, token: &Token) -> Option<&'static str> {
        self.accents.get(&text.get(token.start..token.end)?.to_lowercase()).copied()
    }

    pub(super) fn knows(&self, word: &str) -> bool {
        self.words.knows(word)
    }

    /// How many tokens from `at` on say this phrase. Articles between its words do not count.
    fn fits(&self, phrase: &Phrase, text: &[Token], at: usize) -> Option<usize> {
        let mut next = at;
        for (n, word) in phrase.words.iter().enumerate() {
            while n > 0
                && text.get(next).is_some_and(|token| token.text != *word && self.articles.contains(&token.text))
            {
                next += 1;
            }
            let token = text.get(next)?;
            if token.text != *word || token.kind == Kind::Line || names_tank(text, next) {
                return None;
            }
            next += 1;
        }
        Some(next - at)
    }

    fn phrase(&self, text: &[Token], at: usize) -> Option<(&Phrase, usize)> {
        self.phrases
            .get(&text[at].text)?
            .iter()
            .filter_map(|phrase| Some((phrase, self.fits(phrase, text, at)?)))
            .max_by_key(|(phrase, length)| (*length, phrase.words.len()))
    }

    /// How many tokens at `at` are a name of the house: one of their words is no word of this tongue, or they are several.
    pub(super) fn name(&self, names: &Names, vocabulary: &Vocabulary, text: &[Token], at: usize) -> usize {
        let word = &text[at];
        if word.kind != Kind::Word {
            return 0;
        }
        if names.is_crew(&word.text) || (word.text.len() > 1 && names.is_room_word(&word.text)) {
            return 1;
        }
        let fish = names.species_at(english(), vocabulary, text, at).map_or(0, |(_, n)| n);
        let buyer = names.buyer_at(text, at).map_or(0, |(_, n)| n);
        let supplier = names.supplier_at(text, at).map_or(0, |(_, n)| n);
        let length = fish.max(buyer).max(supplier);
        if length > 1 || !self.knows(&word.text) { length } else { 0 }
    }

    /// The message in English words.
    fn translate(&self, names: &Names, vocabulary: &Vocabulary, text: &str, plain: Vec<Token>) -> Vec<Token> {
        let mut all = plain;
        self.lengthen(&mut all);
        for at in 0..all.len() {
            let word = &all[at];
            if word.kind == Kind::Word
                && !english().knows(&word.text)
                && self.name(names, vocabulary, &all, at) == 0
                && let Some(right) = self.words.forgive(&word.text)
            {
                all[at].text = right.to_owned();
            }
            if self.decimal_comma {
                decimal(&mut all[at]);
            }
        }
        let mut out: Vec<Token> = Vec::with_capacity(all.len());
        // The last whole number said, for the minutes behind an hour.
        let mut hour = None;
        // Articles left out: the next word stands for their bytes too.
        let mut from: Option<(usize, bool)> = None;
        let mut at = 0;
        while at < all.len() {
            let name = self.name(names, vocabulary, &all, at);
            let found = if name > 0 { None } else { self.phrase(&all, at) };
            let (start, spaced) = from.unwrap_or((all[at].start, all[at].spaced));
            let accented = self.accented(text, &all[at]).filter(|_| found.is_none_or(|(_, length)| length == 1));
            match found {
                _ if name == 0 && accented.is_some() => {
                    render(accented.unwrap_or_default(), start, all[at].end, spaced, &mut out);
                    hour = None;
                    at += 1;
                }
                Some((phrase, length)) if phrase.meaning.class == "minutes" => {
                    let behind = all.get(at + length).and_then(|_| self.phrase(&all, at + length));
                    let lasts = behind.is_some_and(|(phrase, _)| phrase.meaning.class == "unit");
                    let clock = hour.filter(|_| !lasts).and_then(|hour| past(hour, phrase.meaning.value));
                    if let (Some((hour, minute)), Some(last)) = (clock, out.last_mut()) {
                        last.kind = Kind::Clock(hour, minute);
                        last.text = format!("{hour}:{minute:02}");
                        last.end = all[at + length - 1].end;
                        at += length;
                    } else {
                        // No hour stands before it: its words are read one by one.
                        let single =
                            self.phrases.get(&all[at].text).and_then(|all| all.iter().find(|p| p.words.len() == 1));
                        let words = single.map_or(all[at].text.as_str(), |phrase| phrase.english);
                        render(words, start, all[at].end, spaced, &mut out);
                        at += 1;
                    }
                    hour = None;
                }
                Some((phrase, length)) => {
                    let english = self.in_place(names, &all, at + length, phrase, &out);
                    if english == MORE_BEFORE
                        && let Some(number) = all.get(at + length)
                    {
                        // "más 2 muertos" is "2 more dead".
                        let said = self.phrase(&all, at + length).filter(|_| number.kind == Kind::Word);
                        let words = said.map_or(number.text.as_str(), |(phrase, _)| phrase.english);
                        let end = number.end;
                        render(words, start, end, spaced, &mut out);
                        render("more", start, end, true, &mut out);
                        at += length + 1;
                        (from, hour) = (None, None);
                        continue;
                    }
                    render(english, start, all[at + length - 1].end, spaced, &mut out);
                    hour = (phrase.meaning.class == "number").then(|| phrase.meaning.value.parse().ok()).flatten();
                    at += length;
                }
                None if name == 0 && self.names_box(names, vocabulary, &all, at) => {
                    render("box", start, all[at].end, spaced, &mut out);
                    hour = None;
                    at += 1;
                }
                None if name == 0 && self.is_article(&all, at) => {
                    from = Some((start, spaced));
                    at += 1;
                    continue;
                }
                None => {
                    let length = name.max(1);
                    hour = match all[at].kind {
                        Kind::Number { value, parts: None } if value.fract() == 0.0 => Some(value as u32),
                        _ => None,
                    };
                    out.extend(all[at..at + length].iter().cloned());
                    if let Some(first) = out.len().checked_sub(length).and_then(|n| out.get_mut(n)) {
                        (first.start, first.spaced) = (start, spaced);
                    }
                    at += length;
                }
            }
            from = None;
        }
        out
    }

    /// The English of a phrase where its neighbours decide it; `next` is the token behind it.
    fn in_place(&self, names: &Names, all: &[Token], next: usize, phrase: &Phrase, out: &[Token]) -> &'static str {
        let number = |at: usize| {
            all.get(at).is_some_and(|token| {
                matches!(token.kind, Kind::Number { .. })
                    || self
                        .phrase(all, at)
                        .is_some_and(|(phrase, length)| length == 1 && phrase.meaning.class == "number")
            })
        };
        let fish = |at: usize| {
            at < all.len()
                && self
                    .phrase(all, at)
                    .is_some_and(|(phrase, _)| matches!(phrase.meaning.class, "state" | "sign" | "sign?" | "fish"))
        };
        let after_word = out.last().is_some_and(|last| last.kind == Kind::Word);
        let after_number = out.last().is_some_and(|last| matches!(last.kind, Kind::Number { .. }));
        match (phrase.meaning.class, phrase.meaning.value) {
            // One word is "for" a buyer and "to" a place.
            ("key", "for") if self.place_follows(names, all, next) => "to",
            // "2 dead plus 1 weak" adds; "más 2 muertos" are more.
            ("key", "more") if number(next) && after_word && fish(next + 1) => "and",
            ("key", "more") if number(next) => MORE_BEFORE,
            // "3 no 4 muertos": the second number has the name.
            ("key", "not") if after_number && number(next) && fish(next + 1) => "no",
            ("vague", _) if number(next) => "about",
            _ => phrase.english,
        }
    }

    /// Whether the name of a tank or tray or the word for one stands at `at`: one word is "for" a buyer and "to" a place.
    fn place_follows(&self, names: &Names, text: &[Token], at: usize) -> bool {
        let at = at + usize::from(at + 1 < text.len() && self.is_article(text, at));
        text.get(at).is_some_and(|token| {
            names_tank(text, at)
                || names.is_room_word(&token.text)
                || self.phrase(text, at).is_some_and(|(phrase, _)| {
                    phrase.meaning.class == "key" && matches!(phrase.meaning.value, "tank" | "tray")
                })
        })
    }

    /// Whether an article at `at` stands before the number of a box, and not before so many fish.
    fn names_box(&self, names: &Names, vocabulary: &Vocabulary, text: &[Token], at: usize) -> bool {
        let number = match text.get(at + 1).map(|token| token.kind) {
            Some(Kind::Number { parts: Some((number, _)), .. }) => number,
            Some(Kind::Number { value, parts: None }) if value.fract() == 0.0 => value as u32,
            _ => return false,
        };
        let boxes = vocabulary.boxes.as_ref();
        let counted = at + 2 < text.len()
            && (self.name(names, vocabulary, text, at + 2) > 0
                || self.phrase(text, at + 2).is_some_and(|(phrase, _)| {
                    matches!(phrase.meaning.class, "state" | "fish" | "unit" | "size")
                        && !matches!(phrase.meaning.value, "sound")
                }));
        self.is_article(text, at)
            && self.of_boxes.contains(&text[at].text)
            && boxes.is_some_and(|boxes| boxes.contains_key(&number))
            && !counted
            && !(at > 0 && matches!(text[at - 1].kind, Kind::Number { .. }))
    }

    fn is_article(&self, text: &[Token], at: usize) -> bool {
        text[at].kind == Kind::Word
            && self.articles.contains(&text[at].text)
            && !names_tank(text, at)
            && text.get(at + 1).is_some_and(|next| next.kind != Kind::Line)
    }
}

/// The words of a message as the reader knows them, whichever tongue they were said in, and the tongue that the sender speaks
/// from now on, where `spoken` was the last.
pub(crate) fn words(names: &Names, vocabulary: &Vocabulary, text: &str, spoken: &str) -> (Vec<Token>, String) {
    let plain = tokens(text, |run| english().is_mixed(run));
    match tongue_of(names, vocabulary, &plain, spoken) {
        Some((tongue, told)) => {
            let spoken = if told { tongue.name } else { spoken };
            (tongue.translate(names, vocabulary, text, plain), spoken.to_owned())
        }
        None => {
            let speech = !spoken.is_empty() && (0..plain.len()).any(|at| !names_tank(&plain, at) && speaks(&plain, at));
            (plain, if speech { String::new() } else { spoken.to_owned() })
        }
    }
}

/// The English "yes" or "no" of an answer in any tongue, else the text itself.
pub(crate) fn answer(text: &str) -> &str {
    let words: Vec<String> =
        tokens(text, |_| false).into_iter().filter(|token| token.kind == Kind::Word).map(|token| token.text).collect();
    let means = |tongue: &Tongue| tongue.words.meanings(&words).into_iter().find(|meaning| meaning.class == "answer");
    all().iter().find_map(means).map_or(text, |meaning| meaning.value)
}

/// Whether a letter belongs to the number glued behind it ("a12").
pub(super) fn names_tank(text: &[Token], at: usize) -> bool {
    text[at].text.chars().count() == 1
        && text.get(at + 1).is_some_and(|next| {
            matches!(next.kind, Kind::Number { .. })
                && (!next.spaced
                    || (at == 0 && text.get(at + 2).is_some_and(|third| matches!(third.kind, Kind::Number { .. }))))
        })
}

/// "1,024" is no thousand where commas are decimal.
fn decimal(token: &mut Token) {
    if let Kind::Number { value, parts: None } = &mut token.kind
        && let Some((whole, part)) = token.text.split_once(',')
        && let Ok(number) = format!("{whole}.{part}").parse()
    {
        *value = number;
    }
}

/// The clock time so many minutes past an hour, or before it.
fn past(hour: u32, minutes: &str) -> Option<(u32, u32)> {
    let minutes: i64 = minutes.parse().ok()?;
    (hour <= 24).then_some(())?;
    let all = (i64::from(hour) * 60 + minutes).rem_euclid(24 * 60);
    // Said hours are below 13 mostly; "12 menos cuarto" stays before noon and "1 menos cuarto" comes after it.
    let all = if hour == 1 && minutes < 0 { 12 * 60 + 60 + minutes } else { all };
    Some(((all / 60) as u32, (all % 60) as u32))
}

/// English words in the stead of a phrase; each stands for all of its bytes.
fn render(words: &str, start: usize, end: usize, spaced: bool, out: &mut Vec<Token>) {
    for (n, mut token) in tokens(words, |run| english().is_mixed(run)).into_iter().enumerate() {
        token.start = start;
        token.end = end;
        token.spaced = if n == 0 { spaced } else { token.spaced };
        out.push(token);
    }
}

#[cfg(test)]
#[path = "tongue_tests.rs"]
mod tests;
