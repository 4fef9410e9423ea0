//! Names of the house: fish, buyers, suppliers, crew.

use std::collections::{BTreeSet, HashSet};
use std::sync::LazyLock;

use super::Vocabulary;
use super::lexicon::Lexicon;
use super::token::{Kind, Token, tokens};
use crate::species::{self, Species};

/// The vocabulary's names, split into words once for a message.
#[derive(Debug, Default)]
pub(crate) struct Names {
    /// Words of a name, and the fish's name in the vocabulary.
    fish: Vec<(Vec<String>, String)>,
    buyers: Vec<(Vec<String>, String)>,
    suppliers: Vec<(Vec<String>, String)>,
    crew: BTreeSet<String>,
    /// Words of the names of tanks and trays.
    rooms: BTreeSet<String>,
}

/// Words of companies that name nobody in particular.
const COMMON: [&str; 24] = [
    "and",
    "the",
    "of",
    "co",
    "ltd",
    "llc",
    "inc",
    "fish",
    "aquatics",
    "aquatic",
    "aquaria",
    "aquarium",
    "aquariums",
    "pets",
    "pet",
    "shop",
    "store",
    "shed",
    "daughters",
    "sons",
    "exports",
    "export",
    "tropicals",
    "tropical",
];

fn words(name: &str) -> Vec<String> {
    tokens(name, |_| false)
        .into_iter()
        .filter(|token| matches!(token.kind, Kind::Word | Kind::Number { .. }))
        .map(|token| token.text)
        .collect()
}

impl Names {
    pub(crate) fn new(vocabulary: &Vocabulary) -> Self {
        let mut fish: BTreeSet<String> = vocabulary.species.iter().flatten().cloned().collect();
        if vocabulary.species.is_none() {
            fish.extend(vocabulary.boxes.iter().flatten().flat_map(|(_, words)| words.species.iter().cloned()));
            fish.extend(vocabulary.lots.iter().flatten().filter_map(|(_, words)| words.species.clone()));
        }
        let aliases = vocabulary.species_aliases.iter().map(|(alias, name)| (words(alias), name.clone()));
        let list = |names: &[String]| names.iter().map(|name| (words(name), name.clone())).collect();
        Names {
            fish: fish.into_iter().map(|name| (words(&name), name)).chain(aliases).collect(),
            buyers: list(vocabulary.buyers.as_deref().unwrap_or_default()),
            suppliers: list(&vocabulary.suppliers),
            rooms: vocabulary.tanks.iter().chain(&vocabulary.trays).flatten().flat_map(|name| words(name)).collect(),
            crew: vocabulary.crew.iter().filter_map(|name| words(name).into_iter().next()).collect(),
        }
    }

    /// The fish named at `at`: more than one where the words fit several.
    pub(crate) fn species_at(
        &self,
        lexicon: &Lexicon,
        vocabulary: &Vocabulary,
        text: &[Token],
        at: usize,
    ) -> Option<(Vec<String>, usize)> {
        if text[at].kind != Kind::Word {
            return None;
        }
        for length in (1..=4.min(text.len() - at)).rev() {
            let said = &text[at..at + length];
            if said.iter().any(|token| !matches!(token.kind, Kind::Word)) {
                continue;
            }
            let whole: Vec<&String> = self.fitting(said, |name, said| name.len() == said.len() && same(name, said));
            let found = if !whole.is_empty() {
                whole
            } else if length == 1 && lexicon.knows(&said[0].text) && !lexicon.is_everyday(text, at) {
                continue;
            } else {
                let part = self.fitting(said, |name, said| name.windows(said.len()).any(|window| same(window, said)));
                if part.is_empty() && length == 1 && !lexicon.knows(&said[0].text) {
                    self.fitting(said, short_form)
                } else {
                    part
                }
            };
            let fish: BTreeSet<String> = found.into_iter().cloned().collect();
            if !fish.is_empty() {
                return Some((fish.into_iter().collect(), length));
            }
        }
        self.known_elsewhere(lexicon, vocabulary, text, at)
    }

    /// A name that the trade has for a fish of the house ("otos" for otocinclus); where the house lists none, for any fish.
    fn known_elsewhere(
        &self,
        lexicon: &Lexicon,
        vocabulary: &Vocabulary,
        text: &[Token],
        at: usize,
    ) -> Option<(Vec<String>, usize)> {
        (1..=3.min(text.len() - at)).rev().find_map(|length| {
            let said = &text[at..at + length];
            if said.iter().any(|token| !matches!(token.kind, Kind::Word)) || length == 1 && lexicon.knows(&said[0].text)
            {
                return None;
            }
            let fish = named_whole(said);
            let of_house: BTreeSet<String> = self
                .fish
                .iter()
                .filter(|(words, _)| fish.iter().any(|fish| fish.common.iter().any(|name| self::words(name) == *words)))
                .map(|(_, name)| name.clone())
                .collect();
            let any = || match fish.as_slice() {
                [one] if vocabulary.species.is_none() && self.fish.is_empty() => Some(vec![one.name().to_owned()]),
                _ => None,
            };
            let found = if of_house.is_empty() { any()? } else { of_house.into_iter().collect() };
            Some((found, length))
        })
    }

    /// Whether the words are the whole name of a fish that the house does not list.
    pub(crate) fn is_unlisted_fish(&self, lexicon: &Lexicon, text: &[Token], at: usize) -> Option<usize> {
        (1..=3.min(text.len() - at)).rev().find(|length| {
            let said = &text[at..at + length];
            said.iter().all(|token| token.kind == Kind::Word && !lexicon.knows(&token.text))
                && !named_whole(said).is_empty()
        })
    }

    /// Whether a word belongs to any name of the house, so that it is no slip of the finger.
    pub(crate) fn holds(&self, token: &Token) -> bool {
        self.crew.contains(&token.text)
            || self.fish.iter().any(|(words, _)| {
                words.iter().any(|word| same_word(word, token)) || short_form(words, std::slice::from_ref(token))
            })
            || self
                .buyers
                .iter()
                .chain(&self.suppliers)
                .any(|(words, _)| words.iter().any(|word| same_word(word, token)))
            || self.rooms.iter().any(|word| *word == token.text)
    }

    fn fitting(&self, said: &[Token], fits: impl Fn(&[String], &[Token]) -> bool) -> Vec<&String> {
        self.fish.iter().filter(|(words, _)| fits(words, said)).map(|(_, name)| name).collect()
    }

    /// The buyers that the words at `at` may mean.
    pub(crate) fn buyer_at(&self, text: &[Token], at: usize) -> Option<(Vec<String>, usize)> {
        company_at(&self.buyers, text, at)
    }

    /// The supplier named at `at`.
    pub(crate) fn supplier_at(&self, text: &[Token], at: usize) -> Option<(String, usize)> {
        let (found, length) = company_at(&self.suppliers, text, at)?;
        (found.len() == 1).then(|| (found.into_iter().next().unwrap_or_default(), length))
    }

    /// Whether a word belongs to the name of a tank or tray.
    pub(crate) fn is_room_word(&self, word: &str) -> bool {
        self.rooms.contains(word)
    }

    pub(crate) fn is_crew(&self, word: &str) -> bool {
        self.crew.contains(word)
    }
}

/// "angels", "guppies", "loaches" and their singular are the same word.
fn singulars(word: &str) -> impl Iterator<Item = String> {
    let mut all = vec![word.to_owned()];
    if let Some(stem) = word.strip_suffix("ies") {
        all.push(format!("{stem}y"));
        all.push(format!("{stem}ie"));
    }
    if let Some(stem) = word.strip_suffix("es") {
        all.push(stem.to_owned());
    }
    if let Some(stem) = word.strip_suffix('s') {
        all.push(stem.to_owned());
    }
    all.into_iter()
}

fn same_word(name: &str, said: &Token) -> bool {
    std::iter::once(&said.text)
        .chain(&said.base)
        .any(|word| singulars(word).any(|said| singulars(name).any(|name| name == said)))
}

/// First words of all names in the table of species, in each number: most words of a message are none and cost no search.
static FIRST_WORDS: LazyLock<HashSet<String>> = LazyLock::new(|| {
    let names = species::table().iter().flat_map(|fish| &fish.common);
    names
        .filter_map(|name| words(name).into_iter().next())
        .flat_map(|word| singulars(&word).collect::<Vec<_>>())
        .collect()
});

/// The fish of which these words are a whole name, not a part of one.
fn named_whole(said: &[Token]) -> Vec<&'static Species> {
    if !singulars(&said[0].text).any(|word| FIRST_WORDS.contains(&word)) {
        return Vec::new();
    }
    let text: Vec<&str> = said.iter().map(|token| token.text.as_str()).collect();
    let mut fish = species::named(&text.join(" "));
    fish.retain(|fish| {
        fish.common.iter().any(|name| {
            let name = words(name);
            name.len() == said.len() && same(&name, said)
        })
    });
    fish
}

fn same(name: &[String], said: &[Token]) -> bool {
    name.iter().zip(said).all(|(name, said)| same_word(name, said))
}

/// "angels" for angelfish, "otos" for otocinclus: the start of a word of the name, of four letters or a plural of three.
fn short_form(name: &[String], said: &[Token]) -> bool {
    let word = said[0].text.as_str();
    singulars(word).any(|stem| {
        let plural = stem.len() < word.len();
        (stem.len() >= 4 || (plural && stem.len() >= 3))
            && name.iter().any(|name| name.starts_with(&stem) && *name != stem)
    })
}

fn company_at(names: &[(Vec<String>, String)], text: &[Token], at: usize) -> Option<(Vec<String>, usize)> {
    let significant = |word: &String| !COMMON.contains(&word.as_str());
    // "pims" stands for "Pim's"; "grey heron" for any run of a name's words that holds a word of its own.
    let run = |name: &[String]| {
        (0..name.len())
            .filter_map(|from| {
                let mut taken = 0;
                let mut token = at;
                let mut telling = false;
                for word in &name[from..] {
                    // "&" and "and" between the words of a name are the same.
                    while taken > 0
                        && text.get(token).is_some_and(|t| t.text == "&" || (t.text == "and" && word != "and"))
                    {
                        token += 1;
                    }
                    let fits = text.get(token).is_some_and(|said| {
                        said.text == *word
                            || said.base.as_ref() == Some(word)
                            || format!("{}s", said.text) == *word && word.len() > 3
                    });
                    if !fits {
                        break;
                    }
                    telling |= significant(word);
                    taken += 1;
                    token += 1;
                }
                telling.then_some((token - at, taken))
            })
            .max()
    };
    let found: Vec<((usize, usize), &String)> =
        names.iter().filter_map(|(words, name)| Some((run(words)?, name))).collect();
    let best = found.iter().map(|(length, _)| *length).max()?;
    let fitting: Vec<String> =
        found.into_iter().filter(|(length, _)| *length == best).map(|(_, name)| name.clone()).collect();
    Some((fitting, best.0))
}
