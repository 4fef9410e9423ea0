//! The words of the trade as data: one file a language, read once. English is the language in which the reader's grammar is
//! written; [`tongue`] turns the others into it.
//!
//! A line is `class value: phrase | phrase`. A phrase may stand in several classes. Classes in [`LAYERED`] are matched beside the
//! others, so that "dead so far" can be the topic of a question while "dead" stays a state of fish.

use std::collections::HashMap;
use std::sync::OnceLock;

use super::token::{Kind, Token, tokens};
use super::word_map::{WordMap, WordSet};

mod spoken;
mod tongue;

pub(crate) use tongue::{answer, words};

const ENGLISH: &str = include_str!("en.txt");

/// Classes that lie over the plain reading of the words.
const LAYERED: [&str; 18] = [
    "topic",
    "mood",
    "q",
    "aux",
    "aside",
    "self",
    "you",
    "fix",
    "arrive",
    "late",
    "customs",
    "giveme",
    "later",
    "want",
    "putmedown",
    "undo",
    "note",
    "polite",
];

/// Classes whose longer words are understood with a slip of the finger.
const FORGIVING: [&str; 10] =
    ["state", "sign", "sign?", "measure", "product", "key", "arrive", "water", "unit", "weekday"];

/// One meaning: its class and the value in that class.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Meaning {
    pub class: &'static str,
    pub value: &'static str,
}

#[derive(Debug)]
struct Phrase {
    words: Vec<String>,
    meanings: Vec<Meaning>,
}

/// A word in which slips are forgiven.
#[derive(Debug)]
struct Forgiven {
    word: String,
    letters: u32,
}

/// What a word begins.
#[derive(Debug, Default)]
struct Entry {
    plain: Vec<Phrase>,
    layered: Vec<Phrase>,
}

/// The lexicon of one language.
#[derive(Debug, Default)]
pub(crate) struct Lexicon {
    /// Every single word with the phrases that it begins, so that a known word is never taken for a slip of another.
    words: WordMap<Entry>,
    /// Words of letters and digits, such as "nh3".
    mixed: WordSet,
    /// Words in which slips are forgiven, by their first letter, in the order of the alphabet.
    forgiving: HashMap<u8, Vec<Forgiven>>,
}

/// The English lexicon.
pub(crate) fn english() -> &'static Lexicon {
    static LEXICON: OnceLock<Lexicon> = OnceLock::new();
    LEXICON.get_or_init(|| Lexicon::parse(ENGLISH))
}

/// The lines of a file: each meaning with its phrases.
fn entries(data: &'static str) -> impl Iterator<Item = (Meaning, &'static str)> {
    data.lines().filter(|line| !line.starts_with('#')).filter_map(|line| {
        let (head, phrases) = line.split_once(": ")?;
        let (class, value) = head.split_once(' ')?;
        Some((Meaning { class, value }, phrases))
    })
}

impl Lexicon {
    fn parse(data: &'static str) -> Self {
        let mut lexicon = Lexicon::default();
        let lines = || entries(data);
        for (_, phrases) in lines() {
            for run in phrases.split(|c: char| !c.is_alphanumeric()) {
                if run.chars().any(char::is_alphabetic) && run.chars().any(|c| c.is_ascii_digit()) {
                    lexicon.mixed.insert(run.to_owned());
                }
            }
        }
        for (meaning, phrases) in lines() {
            for phrase in phrases.split('|').map(str::trim).filter(|phrase| !phrase.is_empty()) {
                lexicon.add(meaning, phrase);
            }
        }
        for entry in lexicon.words.values_mut() {
            for phrases in [&mut entry.plain, &mut entry.layered] {
                phrases.sort_by_key(|phrase| std::cmp::Reverse(phrase.words.len()));
            }
        }
        lexicon
    }

    fn add(&mut self, meaning: Meaning, phrase: &str) {
        let words: Vec<String> =
            tokens(phrase, |run| self.mixed.contains(run)).into_iter().map(|token| token.text).collect();
        let Some(first) = words.first().cloned() else { return };
        for word in &words {
            self.words.entry(word.clone()).or_default();
            if FORGIVING.contains(&meaning.class) && word.len() >= 4 && word.is_ascii() {
                let known = self.forgiving.entry(word.as_bytes()[0]).or_default();
                if let Err(at) = known.binary_search_by(|other| other.word.cmp(word)) {
                    known.insert(at, Forgiven { word: word.clone(), letters: letters_of(word) });
                }
            }
        }
        let entry = self.words.entry(first).or_default();
        let entries = if LAYERED.contains(&meaning.class) { &mut entry.layered } else { &mut entry.plain };
        match entries.iter_mut().find(|entry| entry.words == words) {
            Some(entry) if entry.meanings.contains(&meaning) => {}
            Some(entry) => entry.meanings.push(meaning),
            None => entries.push(Phrase { words, meanings: vec![meaning] }),
        }
    }

    /// The meanings of a phrase, in all classes.
    fn meanings(&self, words: &[String]) -> Vec<Meaning> {
        let first = words.first().map(String::as_str).unwrap_or_default();
        self.words
            .get(first)
            .into_iter()
            .flat_map(|entry| entry.plain.iter().chain(&entry.layered))
            .filter(|phrase| phrase.words == words)
            .flat_map(|phrase| phrase.meanings.iter().copied())
            .collect()
    }

    /// Whether a run of letters and digits is one word.
    pub(crate) fn is_mixed(&self, run: &str) -> bool {
        self.mixed.contains(run)
    }

    /// Whether this single word is known in any class.
    pub(crate) fn knows(&self, word: &str) -> bool {
        self.words.contains_key(word)
    }

    /// Whether a word is known for no more than being no slip of the finger, so that it may well name a fish ("zebra").
    pub(crate) fn is_everyday(&self, text: &[Token], at: usize) -> bool {
        self.plain(text, at, false).is_some_and(|(meanings, _)| meanings.iter().all(|meaning| meaning.class == "known"))
    }

    /// The longest plain phrase that starts at `at`, and how many tokens it takes.
    pub(crate) fn plain(&self, text: &[Token], at: usize, behind_number: bool) -> Option<(&[Meaning], usize)> {
        let allowed =
            |meanings: &[Meaning]| behind_number || meanings.iter().any(|meaning| meaning.class != "shortunit");
        // The phrases of a word stand in the order of their length, so that the first that fits is the longest.
        spellings(&text[at])
            .filter_map(|word| {
                self.words.get(word)?.plain.iter().find(|phrase| fits(phrase, text, at) && allowed(&phrase.meanings))
            })
            .max_by_key(|phrase| phrase.words.len())
            .map(|phrase| (phrase.meanings.as_slice(), phrase.words.len()))
    }

    /// All layered phrases that start at `at`, the longest first.
    pub(crate) fn layered(&self, text: &[Token], at: usize) -> Vec<(Meaning, usize)> {
        let mut found = Vec::new();
        for word in spellings(&text[at]) {
            for phrase in self.words.get(word).into_iter().flat_map(|entry| &entry.layered) {
                if fits(phrase, text, at) {
                    found.extend(phrase.meanings.iter().map(|meaning| (*meaning, phrase.words.len())));
                }
            }
        }
        found
    }

    /// The trade word that a misspelt one stands for. Short words, and words that are known, stand for themselves; a word of
    /// four letters is forgiven swapped letters only, as "daed", and one letter too many, as "deadd".
    pub(crate) fn forgive(&self, word: &str) -> Option<&str> {
        let length = word.len();
        if !(4..=16).contains(&length) || !word.is_ascii() || self.knows(word) {
            return None;
        }
        let letters = letters_of(word);
        self.forgiving
            .get(&word.as_bytes()[0])?
            .iter()
            .filter_map(|known| {
                let allowed = match (known.word.len(), length) {
                    (4, 4) => usize::from(same_letters(&known.word, word)),
                    (4, 5) => 1,
                    (4, _) | (_, 4) => 0,
                    (9.., 9..) => 2,
                    _ => 1,
                };
                // A slip changes two of a word's letters at most, so that few words have to be compared letter by letter.
                let far = known.word.len().abs_diff(length) > allowed
                    || (known.letters ^ letters).count_ones() as usize > 2 * allowed;
                if allowed == 0 || far {
                    return None;
                }
                let distance = strsim::osa_distance(&known.word, word);
                (distance <= allowed).then_some((distance, known.word.as_str()))
            })
            .min_by_key(|(distance, _)| *distance)
            .map(|(_, known)| known)
    }
}

/// Which letters a word holds, one bit for each.
fn letters_of(word: &str) -> u32 {
    word.bytes().fold(0, |letters, letter| letters | 1 << (letter & 31))
}

fn same_letters(a: &str, b: &str) -> bool {
    let sorted = |word: &str| {
        let mut letters: Vec<u8> = word.bytes().collect();
        letters.sort_unstable();
        letters
    };
    sorted(a) == sorted(b)
}

fn spellings(token: &Token) -> impl Iterator<Item = &str> {
    std::iter::once(token.text.as_str()).chain(token.base.as_deref())
}

fn fits(phrase: &Phrase, text: &[Token], at: usize) -> bool {
    text.len() >= at + phrase.words.len()
        && phrase
            .words
            .iter()
            .zip(&text[at..])
            .all(|(word, token)| (token.text == *word || token.base.as_ref() == Some(word)) && token.kind != Kind::Line)
}
