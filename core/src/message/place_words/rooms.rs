//! The tanks and trays of the house, by what may be said of them.

use super::super::{Place, Vocabulary};
use super::key;
use crate::message::token::{Kind, Token, tokens};
use crate::message::word_map::WordMap;

/// Names of tanks and trays, split once for all messages that are read with them.
#[derive(Debug, Default)]
pub(crate) struct Rooms {
    tanks: Named,
    trays: Named,
}

/// Names of one kind.
#[derive(Debug, Default)]
struct Named {
    /// By its letters and digits.
    keys: WordMap<String>,
    /// Names of words ("quarantine left"), by the first of them.
    worded: WordMap<Vec<(Vec<String>, String)>>,
}

impl Rooms {
    pub(crate) fn new(vocabulary: &Vocabulary) -> Self {
        let named = |names: &Option<Vec<String>>| Named::new(names.iter().flatten());
        Rooms { tanks: named(&vocabulary.tanks), trays: named(&vocabulary.trays) }
    }

    pub(super) fn tank(&self, key: &str) -> Option<Place> {
        self.tanks.keys.get(key).map(|tank| Place::Tank { tank: tank.clone() })
    }

    pub(super) fn tray(&self, key: &str) -> Option<Place> {
        self.trays.keys.get(key).map(|tray| Place::Tray { tray: tray.clone() })
    }

    /// The room whose name's words these tokens begin with, the longest that ends where `ends` allows, and what `ends` tells.
    pub(super) fn worded(&self, said: &[Token], ends: impl Fn(usize) -> Option<usize>) -> Option<(Place, usize)> {
        let tank = self.tanks.worded(said, &ends).map(|(tank, end)| (Place::Tank { tank: tank.to_owned() }, end));
        tank.or_else(|| self.trays.worded(said, &ends).map(|(tray, end)| (Place::Tray { tray: tray.to_owned() }, end)))
    }
}

impl Named {
    fn new<'a>(names: impl Iterator<Item = &'a String>) -> Self {
        let mut named = Named::default();
        for name in names {
            let key = key(name);
            if key.is_empty() {
                continue;
            }
            // "A1" has rules of its own, lest "a 1 hour nap" name it.
            let letters = key.chars().take_while(|c| c.is_alphabetic()).count();
            let coded =
                letters <= 2 && letters < key.chars().count() && key.chars().skip(letters).all(|c| c.is_ascii_digit());
            let words = tokens(name, |_| false);
            let lettered = words.first().is_some_and(|word| word.kind == Kind::Word);
            if lettered && !coded && key.len() >= 2 {
                let words: Vec<String> = words.into_iter().map(|word| word.text).collect();
                named.worded.entry(words[0].clone()).or_default().push((words, name.clone()));
            }
            named.keys.entry(key).or_insert_with(|| name.clone());
        }
        named
    }

    fn worded(&self, said: &[Token], ends: impl Fn(usize) -> Option<usize>) -> Option<(&str, usize)> {
        let names = self.worded.get(&said.first()?.text)?;
        names
            .iter()
            .filter(|(words, _)| {
                words.len() <= said.len() && words.iter().zip(said).all(|(word, said)| *word == said.text)
            })
            .filter_map(|(words, name)| Some((name.as_str(), ends(words.len())?)))
            .max_by_key(|(_, end)| *end)
    }
}
