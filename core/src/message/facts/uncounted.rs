//! Fish of which no number is told, though one was looked for: "300ish neons", "7.3 soup cant count", "next bag same".

use super::Fact;
use super::fish_named::FishNamed;
use crate::message::item::What;
use crate::message::message_text::Message;
use crate::message::place_words::nowhere;
use crate::message::{Act, Count, Place};

impl Message<'_> {
    /// What is said of a box or bag in the stead of a number asks for the number.
    pub(super) fn uncounted(&mut self, at: usize, facts: &mut Vec<Fact>, fish: &mut FishNamed) -> Option<usize> {
        self.about_so_many(at, facts, fish)
            .or_else(|| self.uncountable(at, facts))
            .or_else(|| self.same_again(at, facts))
    }

    /// "box 9 about 60 gouramis", "neons, 300ish": how many there are alive.
    fn about_so_many(&mut self, at: usize, facts: &mut Vec<Fact>, fish: &mut FishNamed) -> Option<usize> {
        let amount = self.amount(at).filter(|amount| amount.n.is_none() && !amount.rest && !amount.all)?;
        let numbered = (at..amount.end).any(|n| self.item(n).is_some_and(|item| item.whole().is_some()));
        let (start, _) = self.sentence_bounds(at);
        let packed = (start..at).rev().find_map(|n| self.place(n)).is_some_and(|mention| {
            mention.places.iter().all(|place| matches!(place, Place::Box { .. } | Place::Bag { .. }))
        });
        if !numbered || !packed || !self.trusted(at, false) {
            return None;
        }
        let between = self.between(amount.end);
        let said =
            self.value(between.at, "state").or(self.value(between.at, "sign")).or(self.value(between.at, "unit"));
        let inside = self.any_key(amount.end, &["in", "here", "there"]);
        if said.is_some() || !(fish.now.is_some() || between.species.is_some() || inside) {
            return None;
        }
        if let Some(named) = between.species {
            fish.name(named);
        }
        let mut count = Count::at(nowhere());
        self.add_species(&mut count, fish.now.as_deref());
        facts.push(self.how_many(count, "alive", at, between.at.max(amount.end)));
        Some(between.at.max(amount.end))
    }

    /// "7.3 soup cant count": how many died.
    fn uncountable(&mut self, at: usize, facts: &mut Vec<Fact>) -> Option<usize> {
        self.value(at, "uncountable")?;
        let (from, to) = self.sentence_bounds(at);
        if !self.has_place(from, to) {
            return None;
        }
        let counted = facts.iter().any(|fact| fact.first >= from && matches!(fact.said.act, Act::Count(_)));
        if !counted {
            facts.push(self.how_many(Count::at(nowhere()), "dead", at, at + 1));
        }
        Some(at + 1)
    }

    /// "next bag same": the same as what, in numbers?
    fn same_again(&mut self, at: usize, facts: &mut Vec<Fact>) -> Option<usize> {
        let same = |n: usize| self.key(n, "same") || matches!(self.text_at(n), "equal" | "ditto" | "likewise");
        if !same(at) {
            return None;
        }
        let (from, to) = self.sentence_bounds(at);
        let bag = (from..at).rev().find(|n| self.place(*n).is_some())?;
        let is_bag = self
            .place(bag)
            .is_some_and(|mention| mention.places.iter().all(|place| matches!(place, Place::Bag { .. })));
        let fills = |n: usize| {
            same(n)
                || self.is_glue(n)
                || self.any_key(n, &["and", "again"])
                || self.value(n, "about").is_some()
                || matches!(self.items[n].what, What::Mark(_))
                || matches!(self.text_at(n), "thing" | "number" | "numbers" | "result" | "story" | "count" | "before")
        };
        if !is_bag || !(bag + 1..to).all(fills) {
            return None;
        }
        facts.push(self.how_many(Count::at(nowhere()), "alive", at, to));
        Some(to)
    }
}
