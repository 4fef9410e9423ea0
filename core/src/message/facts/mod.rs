//! Facts: what a message claims, each with the words that say it, before it is known of which place.

mod amount;
mod arrival;
mod care;
mod census;
mod count;
mod dose;
mod exchange;
mod fish_named;
mod load;
mod moving;
mod opening;
mod reading;
mod sign_fact;
mod state;
mod swap;
mod trade;
mod uncounted;
mod vessels;
mod water_value;

pub(crate) use count::{FIELDS, get, set};
pub(crate) use dose::dose_unit;
pub(crate) use swap::Share;
pub(crate) use water_value::{Bound, Value, normal};

use super::item::What;
use super::message_text::{Message, Mood};
use super::place_words::Mention;
use super::{Act, Doubt, Place, Said, Wanted};

/// How a fact finds its place.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Bind {
    /// By the rules for what stands around it.
    Open,
    /// It names its own.
    Own(Mention),
    /// It needs none, or has it already.
    Settled,
}

/// One claim.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Fact {
    pub said: Said,
    pub bind: Bind,
    /// Its words, as items.
    pub first: usize,
    pub end: usize,
    /// What must be asked before it can be recorded.
    pub doubt: Option<(Doubt, Wanted)>,
    /// "each": one number is meant for every place.
    pub each: bool,
}

impl Fact {
    pub(crate) fn new(act: Act, first: usize, end: usize) -> Self {
        Fact { said: act.into(), bind: Bind::Open, first, end, doubt: None, each: false }
    }

    fn doubted(mut self, doubt: Doubt, wanted: Wanted) -> Self {
        self.doubt = Some((doubt, wanted));
        self
    }

    fn at(mut self, mention: &Mention) -> Self {
        self.bind = Bind::Own(mention.clone());
        self
    }
}

/// What the parsers of a message share besides its words.
#[derive(Debug, Clone, Default)]
pub(crate) struct Context {
    /// The places carried into the message.
    pub carried: Vec<Place>,
    /// Where the last move came from.
    pub moved_from: Option<Place>,
}

impl Message<'_> {
    /// All facts in the order of the text.
    pub(crate) fn facts(&mut self, context: &Context) -> Vec<Fact> {
        let mut facts = Vec::new();
        if let Some(vessels) = self.vessels() {
            return vec![vessels];
        }
        self.arrivals(&mut facts);
        self.each_clause(&mut facts, Self::rechecks);
        self.each_clause(&mut facts, Self::trade);
        self.each_clause(&mut facts, Self::holds);
        self.clears(&mut facts);
        self.moves(&mut facts, context);
        self.doses(&mut facts);
        self.swaps(&mut facts);
        self.readings(&mut facts);
        self.counts(&mut facts, context);
        self.openings(&mut facts);
        facts.sort_by_key(|fact| fact.first);
        self.add_times(&mut facts);
        facts
    }

    fn each_clause(&mut self, facts: &mut Vec<Fact>, parse: fn(&mut Self, usize, usize, &mut Vec<Fact>)) {
        let mut at = 0;
        while at < self.items.len() {
            let (start, end) = self.clause_bounds(at);
            parse(self, start, end, facts);
            at = end.max(at + 1);
        }
    }

    pub(crate) fn reports(&self, at: usize) -> bool {
        self.mood.get(at) == Some(&Mood::Report)
    }

    fn take(&mut self, first: usize, end: usize) {
        let end = end.min(self.used.len());
        if first < end {
            self.used[first..end].fill(true);
        }
    }

    fn free(&self, at: usize) -> bool {
        self.used.get(at) == Some(&false)
    }

    /// Whether a word of negation stands close before this item in its clause.
    pub(crate) fn negated(&self, at: usize) -> bool {
        let (start, _) = self.clause_bounds(at);
        let mut back = at;
        while back > start && at - back < 6 {
            back -= 1;
            if self.any_key(back, &["not", "stopped"]) || self.value(back, "nil").is_some() {
                return true;
            }
            let passes = self.is_glue(back)
                || self.any_key(back, &["or", "observe", "and", "more", "that"]) && self.nearby_negation(back, start)
                || (self.value(back, "sign").is_some() && self.any_key(back + 1, &["or"]))
                || self.value(back, "q").is_some()
                || self.text_at(back) == "any";
            if !passes {
                return false;
            }
        }
        false
    }

    fn nearby_negation(&self, at: usize, start: usize) -> bool {
        (start..at).rev().take(4).any(|back| self.key(back, "not") || self.value(back, "nil").is_some())
    }

    pub(crate) fn has_place(&self, from: usize, to: usize) -> bool {
        (from..to.min(self.items.len())).any(|at| self.place(at).is_some())
    }

    /// Whether a fact without a place in its sentence can be about fish at all: no talk of something else around it.
    pub(crate) fn trusted(&self, at: usize, soft: bool) -> bool {
        let (start, end) = self.sentence_bounds(at);
        let (from, to) = self.clause_bounds(at);
        let told = (from..to).any(|n| self.place(n).is_some() && !(soft && self.is_pointer(n)));
        if told {
            return true;
        }
        let belongs = self
            .layer(from, to, "self")
            .any(|layer| matches!(self.tokens[layer.first].text.as_str(), "my" | "your" | "his" | "mine" | "yours"));
        if belongs {
            return false;
        }
        let aside = self.layer(start, end, "aside").next().is_some();
        if aside {
            return self.has_place(start, from) && self.layer(from, to, "aside").next().is_none();
        }
        let placed = self.has_place(start, end);
        // "van temp 12" is nothing of the fish room.
        if !placed && (from..to).any(|n| matches!(self.text_at(n), "van" | "truck" | "lorry" | "car" | "house")) {
            return false;
        }
        if soft {
            let placed = (start..end).any(|n| self.place(n).is_some() && !self.is_pointer(n));
            return placed || (from..to).all(|n| self.is_fishy(n));
        }
        let foreign = (from..to).filter(|at| self.is_foreign(*at)).count();
        let own = self
            .layer(from, to, "self")
            .any(|layer| !matches!(self.tokens[layer.first].text.as_str(), "i" | "my" | "our" | "me"));
        foreign <= if placed { 4 } else { 2 } && !(own && foreign > 0)
    }

    /// "here" and "there" may as well be the room that people sit in.
    fn is_pointer(&self, at: usize) -> bool {
        matches!(self.text_at(at), "here" | "there" | "in" | "over")
    }

    /// Whether a word can stand in a clause about fish that names no place: signs, numbers, fish, fillers.
    fn is_fishy(&self, at: usize) -> bool {
        let word = self.text_at(at);
        let speaks = ["state", "sign", "sign?", "fish", "water", "measure", "vague", "size", "colour"];
        self.item(at).is_some_and(|item| {
            item.number().is_some()
                || matches!(item.what, What::Mark(_) | What::Line | What::Species(_))
                || speaks.iter().any(|class| item.value(class).is_some())
        }) || (self.is_glue(at) && !matches!(word, "was" | "were" | "that" | "thats" | "this" | "it" | "its" | "been"))
            || self.any_key(at, &["all", "and", "but", "not", "again", "rest", "bag", "both", "some"])
    }

    /// "A12 2 dead at 02:10": the last such time gone by, beside a report.
    fn add_times(&self, facts: &mut [Fact]) {
        for at in 0..self.items.len() {
            if !self.free(at) || !self.reports(at) {
                continue;
            }
            let marked = self.key(at, "at")
                || matches!(self.text_at(at), "around" | "about") && self.key(at.wrapping_sub(1), "at");
            let clock = if marked {
                self.clock(at + 1, true).filter(|_| self.free(at + 1))
            } else {
                let exact = matches!(self.items[at].what, What::Clock(..)) || self.value(at + 1, "half").is_some();
                (exact && !self.key(at.wrapping_sub(1), "at")).then(|| self.clock(at, false)).flatten()
            };
            let Some(time) = clock.and_then(|(clock, _)| clock.last(self.now)) else { continue };
            let (start, end) = self.sentence_bounds(at);
            let when = super::times::hh_mm(time);
            // The time belongs to the clause it closes, or to all facts that follow it at the head.
            let own: Vec<usize> = (0..facts.len())
                .filter(|n| facts[*n].first >= start && facts[*n].end <= end && facts[*n].timed())
                .collect();
            let (clause, _) = self.clause_bounds(at);
            let before: Vec<usize> = own.iter().copied().filter(|n| facts[*n].first < at).collect();
            let same: Vec<usize> = before.iter().copied().filter(|n| facts[*n].first >= clause).collect();
            let chosen = if !same.is_empty() {
                same
            } else if !before.is_empty() {
                before
            } else {
                own
            };
            for n in chosen {
                facts[n].said.when.get_or_insert_with(|| when.clone());
            }
        }
    }
}

impl Fact {
    /// Whether a time of happening can be said of it.
    fn timed(&self) -> bool {
        !matches!(
            self.said.act,
            Act::Recheck { .. }
                | Act::Hold { .. }
                | Act::Later { .. }
                | Act::Ask { .. }
                | Act::Note { .. }
                | Act::Reserve { .. }
                | Act::Undo
        )
    }
}
