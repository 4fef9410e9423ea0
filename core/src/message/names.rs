//! Names of the house: fish, buyers, suppliers, crew.

use std::borrow::Cow;
use std::collections::BTreeSet;
use std::sync::LazyLock;

use super::Vocabulary;
use super::lexicon::{Lexicon, english};
use super::token::{Kind, Token, tokens};
use super::word_map::{WordMap, WordSet};
use crate::species::{self, Species};

/// The vocabulary's names, split into words once for all messages that are read with it.
#[derive(Debug, Default)]
pub(crate) struct Names {
    fish: Vec<Fish>,
    /// Every number in which a word of a fish's name may be said: the name, and which of its words it is.
    fish_words: WordMap<Vec<(usize, usize)>>,
    /// The words of all fish names in the order of the alphabet, for short forms; each with its name.
    fish_starts: Vec<(String, usize)>,
    buyers: Companies,
    suppliers: Companies,
    crew: BTreeSet<String>,
    /// Words of the names of tanks and trays.
    rooms: BTreeSet<String>,
}

/// One name of a fish and the fish's name in the vocabulary.
#[derive(Debug)]
struct Fish {
    words: Vec<Word>,
    name: String,
}

/// A word of a name in every number in which it may be said.
#[derive(Debug)]
struct Word {
    text: String,
    numbers: Vec<String>,
}

impl Word {
    fn new(text: String) -> Self {
        let numbers = singulars(&text).map(Cow::into_owned).collect();
        Word { text, numbers }
    }

    fn is(&self, said: &Token) -> bool {
        spellings(said).any(|said| self.numbers.iter().any(|number| *number == said))
    }
}

/// Names of companies, by words.
#[derive(Debug, Default)]
struct Companies {
    names: Vec<(Vec<String>, String)>,
    /// The words of all names, and each that is said without its last "s": most words of a message are none of them.
    said: WordSet,
    /// The words of all names in every number.
    numbers: WordSet,
    /// Words that tell one company from others, in the order of the alphabet, each with its company.
    telling: Vec<(String, usize)>,
}

impl Companies {
    fn new<'a>(names: impl Iterator<Item = &'a String>) -> Self {
        let names: Vec<(Vec<String>, String)> = names.map(|name| (words(name), name.clone())).collect();
        let all = || names.iter().flat_map(|(words, _)| words);
        let short = |word: &'_ String| word.strip_suffix('s').filter(|_| word.len() > 3).map(str::to_owned);
        let said = all().cloned().chain(all().filter_map(short)).collect();
        let numbers = all().flat_map(|word| singulars(word)).map(Cow::into_owned).collect();
        let mut telling: Vec<(String, usize)> = names
            .iter()
            .enumerate()
            .flat_map(|(n, (words, _))| words.iter().filter(|word| tells(word)).map(move |word| (word.clone(), n)))
            .collect();
        telling.sort_unstable();
        Companies { said, numbers, telling, names }
    }

    /// The companies that the words at `at` may mean.
    fn at(&self, text: &[Token], at: usize) -> Option<(Vec<String>, usize)> {
        let token = &text[at];
        let known = self.said.contains(&token.text) || token.base.as_ref().is_some_and(|base| self.said.contains(base));
        if known { company_at(&self.names, text, at) } else { self.short_for(token) }
    }

    /// "kiesel" for Kieselteich: the start of a telling word, where it is no word of its own.
    fn short_for(&self, said: &Token) -> Option<(Vec<String>, usize)> {
        let word = said.text.as_str();
        if word.len() < 5 || said.kind != Kind::Word || english().knows(word) {
            return None;
        }
        let from = self.telling.partition_point(|(name, _)| name.as_str() < word);
        let mut found: Vec<usize> =
            self.telling[from..].iter().take_while(|(name, _)| name.starts_with(word)).map(|(_, n)| *n).collect();
        found.sort_unstable();
        found.dedup();
        (!found.is_empty()).then(|| (found.into_iter().map(|n| self.names[n].1.clone()).collect(), 1))
    }
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
        let fish: Vec<Fish> = fish
            .into_iter()
            .map(|name| (words(&name), name))
            .chain(aliases)
            .map(|(words, name)| Fish { words: words.into_iter().map(Word::new).collect(), name })
            .collect();
        let mut fish_words: WordMap<Vec<(usize, usize)>> = WordMap::default();
        let mut fish_starts = Vec::new();
        for (n, fish) in fish.iter().enumerate() {
            for (at, word) in fish.words.iter().enumerate() {
                fish_starts.push((word.text.clone(), n));
                for number in &word.numbers {
                    fish_words.entry(number.clone()).or_default().push((n, at));
                }
            }
        }
        fish_starts.sort_unstable();
        Names {
            fish,
            fish_words,
            fish_starts,
            buyers: Companies::new(vocabulary.buyers.iter().flatten()),
            suppliers: Companies::new(vocabulary.suppliers.iter()),
            rooms: vocabulary.tanks.iter().chain(&vocabulary.trays).flatten().flat_map(|name| words(name)).collect(),
            crew: vocabulary.crew.iter().filter_map(|name| words(name).into_iter().next()).collect(),
        }
    }

    /// Each name of a fish that holds this word, and where.
    fn holding(&self, said: &Token) -> Vec<(usize, usize)> {
        let mut found: Vec<(usize, usize)> =
            spellings(said).filter_map(|said| self.fish_words.get(said.as_ref())).flatten().copied().collect();
        found.sort_unstable();
        found.dedup();
        found
    }

    /// Fish of whose names a word is the start: "angels" for angelfish, "otos" for otocinclus.
    fn short_for(&self, word: &str) -> impl Iterator<Item = usize> {
        short_forms(word).flat_map(|stem| {
            let from = self.fish_starts.partition_point(|(name, _)| name.as_str() < &*stem);
            let starts = self.fish_starts[from..].iter().take_while({
                let stem = stem.clone();
                move |(name, _)| name.starts_with(&*stem)
            });
            starts.filter(move |(name, _)| *name != *stem).map(|(_, fish)| *fish)
        })
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
        let holding = self.holding(&text[at]);
        for length in (1..=4.min(text.len() - at)).rev() {
            let said = &text[at..at + length];
            if said.iter().any(|token| !matches!(token.kind, Kind::Word)) || length > 1 && holding.is_empty() {
                continue;
            }
            let known = length == 1 && lexicon.knows(&said[0].text);
            let rest = |words: &[Word], first: usize| {
                words.len() >= first + length
                    && words[first + 1..first + length].iter().zip(&said[1..]).all(|(word, said)| word.is(said))
            };
            let part: Vec<(usize, usize)> =
                holding.iter().copied().filter(|(fish, word)| rest(&self.fish[*fish].words, *word)).collect();
            let mut found: Vec<usize> = part
                .iter()
                .filter(|(fish, word)| *word == 0 && self.fish[*fish].words.len() == length)
                .map(|(fish, _)| *fish)
                .collect();
            if found.is_empty() {
                if known && !lexicon.is_everyday(text, at) {
                    continue;
                }
                found.extend(part.iter().map(|(fish, _)| *fish));
                if found.is_empty() && length == 1 && !known {
                    found.extend(self.short_for(&said[0].text));
                }
            }
            let fish: BTreeSet<&String> = found.into_iter().map(|fish| &self.fish[fish].name).collect();
            if !fish.is_empty() {
                return Some((fish.into_iter().cloned().collect(), length));
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
        let whole = whole_names(&text[at]);
        if whole.is_empty() {
            return None;
        }
        (1..=3.min(text.len() - at)).rev().find_map(|length| {
            let said = &text[at..at + length];
            if said.iter().any(|token| !matches!(token.kind, Kind::Word)) || length == 1 && lexicon.knows(&said[0].text)
            {
                return None;
            }
            let fish = named_whole(&whole, said);
            if fish.is_empty() {
                return None;
            }
            let named = |words: &[Word], name: &str| {
                let name = self::words(name);
                name.len() == words.len() && name.iter().zip(words).all(|(name, word)| *name == word.text)
            };
            let of_house: BTreeSet<String> = self
                .fish
                .iter()
                .filter(|house| fish.iter().any(|fish| fish.common.iter().any(|name| named(&house.words, name))))
                .map(|house| house.name.clone())
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
        let whole = whole_names(&text[at]);
        if whole.is_empty() {
            return None;
        }
        (1..=3.min(text.len() - at)).rev().find(|length| {
            let said = &text[at..at + length];
            said.iter().all(|token| token.kind == Kind::Word && !lexicon.knows(&token.text))
                && !named_whole(&whole, said).is_empty()
        })
    }

    /// Whether a word belongs to any name of the house, so that it is no slip of the finger.
    pub(crate) fn holds(&self, token: &Token) -> bool {
        let company = |said: &str| self.buyers.numbers.contains(said) || self.suppliers.numbers.contains(said);
        self.crew.contains(&token.text)
            || spellings(token).any(|said| self.fish_words.contains_key(said.as_ref()) || company(&said))
            || self.short_for(&token.text).next().is_some()
            || self.rooms.contains(&token.text)
    }

    /// The buyers that the words at `at` may mean.
    pub(crate) fn buyer_at(&self, text: &[Token], at: usize) -> Option<(Vec<String>, usize)> {
        self.buyers.at(text, at)
    }

    /// The supplier named at `at`.
    pub(crate) fn supplier_at(&self, text: &[Token], at: usize) -> Option<(String, usize)> {
        let (found, length) = self.suppliers.at(text, at)?;
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
fn singulars(word: &str) -> impl Iterator<Item = Cow<'_, str>> {
    let stem = |end: &str| word.strip_suffix(end).filter(|stem| !stem.is_empty());
    let ies = stem("ies").into_iter().flat_map(|stem| [format!("{stem}y"), format!("{stem}ie")]);
    std::iter::once(word).chain(stem("es")).chain(stem("s")).map(Cow::Borrowed).chain(ies.map(Cow::Owned))
}

/// A token in every number in which it may have been said, with and without the "'s" behind it.
fn spellings(said: &Token) -> impl Iterator<Item = Cow<'_, str>> {
    std::iter::once(&said.text).chain(&said.base).flat_map(|said| singulars(said))
}

/// The stems that stand for a longer word: of four letters, or the singular of a plural with three.
fn short_forms(word: &str) -> impl Iterator<Item = Cow<'_, str>> {
    singulars(word).filter(move |stem| stem.len() >= 4 || (stem.len() < word.len() && stem.len() >= 3))
}

/// All names in the table of species by each number of their first word: most words of a message begin none and cost no search.
static WHOLE_NAMES: LazyLock<WordMap<Vec<Vec<Word>>>> = LazyLock::new(|| {
    let mut all: WordMap<Vec<Vec<Word>>> = WordMap::default();
    for name in species::table().iter().flat_map(|fish| &fish.common) {
        let Some(first) = words(name).into_iter().next() else { continue };
        for number in singulars(&first) {
            all.entry(number.into_owned()).or_default().push(words(name).into_iter().map(Word::new).collect());
        }
    }
    all
});

/// The names in the table of species that this word begins.
fn whole_names(first: &Token) -> Vec<&'static Vec<Word>> {
    singulars(&first.text).filter_map(|word| WHOLE_NAMES.get(&*word)).flatten().collect()
}

/// The fish of which these words are a whole name, not a part of one; `whole` are the names that the first of them begins.
fn named_whole(whole: &[&Vec<Word>], said: &[Token]) -> Vec<&'static Species> {
    let same = |name: &[Word]| name.len() == said.len() && name.iter().zip(said).all(|(name, said)| name.is(said));
    if !whole.iter().any(|name| same(name)) {
        return Vec::new();
    }
    let text: Vec<&str> = said.iter().map(|token| token.text.as_str()).collect();
    let mut fish = species::named(&text.join(" "));
    fish.retain(|fish| {
        fish.common.iter().any(|name| {
            let name: Vec<Word> = words(name).into_iter().map(Word::new).collect();
            same(&name)
        })
    });
    fish
}

/// Whether a word tells a company from others.
fn tells(word: &str) -> bool {
    !COMMON.contains(&word)
}

fn company_at(names: &[(Vec<String>, String)], text: &[Token], at: usize) -> Option<(Vec<String>, usize)> {
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
                    telling |= tells(word);
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
