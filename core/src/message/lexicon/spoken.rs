//! In which tongue a message is spoken: decided once, from all of its words.

use super::english;
use super::tongue::{Tongue, all, names_tank};
use crate::message::Vocabulary;
use crate::message::names::Names;
use crate::message::token::{Kind, Token};

/// Classes of English words that speak rather than name a thing of the trade: a message full of them is English.
const SPEECH: [&str; 10] = ["glue", "q", "aux", "self", "you", "mood", "number", "known", "vague", "polite"];
/// Small words of the class "key" that speak too.
const SMALL: [&str; 24] = [
    "in", "on", "at", "of", "off", "out", "from", "into", "to", "for", "with", "by", "and", "or", "but", "then", "not",
    "all", "each", "both", "rest", "more", "this", "that",
];

/// What speaks for a tongue, the weightiest first.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord)]
struct Weight {
    /// Words that only it knows, less English words that it does not.
    own: i64,
    /// The sender spoke it last.
    carried: bool,
    /// Words that it knows.
    known: usize,
    /// Whether any word of its own was said.
    told: bool,
}

impl Tongue {
    /// Whether a word that English does not know is one of this tongue, or a slip of one.
    fn may_say(&self, said: &Token) -> bool {
        let word = said.text.as_str();
        said.kind == Kind::Word
            && !english().knows(word)
            && (self.knows(word)
                || self.short.contains_key(word)
                || word.len() >= 5 && self.words.forgive(word).is_some())
    }

    /// How much speaks for this tongue: words that only it knows, against English words that it does not.
    fn weight(&self, names: &Names, vocabulary: &Vocabulary, plain: &[Token], spoken: &str) -> Option<Weight> {
        // Most messages hold no word of another tongue, and are told so at once.
        if self.name != spoken && !plain.iter().any(|token| self.may_say(token)) {
            return None;
        }
        let mut all = plain.to_vec();
        self.lengthen(&mut all);
        let english_words = covered(plain);
        let mut weight = Weight { carried: self.name == spoken, ..Weight::default() };
        let (mut own, mut slips, mut speech, mut other) = (0, 0, 0, 0);
        let mut at = 0;
        while at < all.len() {
            let name = self.name(names, vocabulary, &all, at);
            let said = plain[at].text.as_str();
            if name > 0 || plain[at].kind != Kind::Word || names_tank(plain, at) {
                at += name.max(1);
                continue;
            }
            let here = self.knows(&all[at].text) || self.short.contains_key(said);
            weight.known += usize::from(here);
            if english_words[at] || plain[at].base.is_some() {
                speech += i64::from(!here && speaks(plain, at));
                other += usize::from(!here);
            } else if english().knows(said) {
                // A part of English phrases that stands alone here tells neither way.
            } else if here {
                own += i64::from(said.len() > 1);
            } else if said.len() >= 5 && english().forgive(said).is_none() && self.words.forgive(said).is_some() {
                slips += 1;
            }
            at += 1;
        }
        weight.own = own - speech;
        weight.told = own > 0;
        let likely = own == 0 && speech == 0 && (slips > 0 || weight.carried && other == 0 && weight.known > 0);
        (own > 0 && own >= speech || likely).then_some(weight)
    }
}

/// The tongue beside English in which a message is spoken, and whether its words tell so.
pub(super) fn tongue_of(
    names: &Names,
    vocabulary: &Vocabulary,
    plain: &[Token],
    spoken: &str,
) -> Option<(&'static Tongue, bool)> {
    let mut best: Option<(&Tongue, Weight)> = None;
    for tongue in all() {
        if let Some(weight) = tongue.weight(names, vocabulary, plain, spoken)
            && best.is_none_or(|(_, other)| weight > other)
        {
            best = Some((tongue, weight));
        }
    }
    best.map(|(tongue, weight)| (tongue, weight.told))
}

/// Which tokens belong to a phrase that English has.
fn covered(text: &[Token]) -> Vec<bool> {
    let mut covered = vec![false; text.len()];
    for at in 0..text.len() {
        let plain = english().plain(text, at, false).map_or(0, |(_, n)| n);
        let layered = english().layered(text, at).into_iter().map(|(_, n)| n).max().unwrap_or(0);
        covered[at..(at + plain.max(layered)).min(text.len())].fill(true);
    }
    covered
}

/// Whether an English word speaks rather than names a thing of the trade.
pub(super) fn speaks(text: &[Token], at: usize) -> bool {
    let plain = english().plain(text, at, false).map(|(meanings, _)| meanings.to_vec()).unwrap_or_default();
    let layered = english().layered(text, at);
    let all = plain.iter().chain(layered.iter().map(|(meaning, _)| meaning));
    all.into_iter()
        .any(|meaning| SPEECH.contains(&meaning.class) || (meaning.class == "key" && SMALL.contains(&meaning.value)))
}
