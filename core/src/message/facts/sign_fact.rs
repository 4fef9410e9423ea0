//! Signs seen on fish and water, with and without a number.

use std::collections::BTreeSet;

use super::Fact;
use super::amount::{Amount, Between};
use crate::message::item::What;
use crate::message::message_text::Message;
use crate::message::place_words::nowhere;
use crate::message::{Act, Count, Sign};

pub(crate) fn sign_of(value: &str) -> Option<Sign> {
    serde_json::from_value(serde_json::Value::String(value.to_owned())).ok()
}

/// Signs that make counted fish weak.
const WEAK: [Sign; 6] = [Sign::BellyUp, Sign::OnSide, Sign::Gasping, Sign::Listless, Sign::Pale, Sign::Poorly];

impl Message<'_> {
    /// "one on its side", "3 flashing": a number beside a sign.
    pub(super) fn amount_of_sign(
        &mut self,
        at: usize,
        amount: &Amount,
        between: &Between,
        facts: &mut Vec<Fact>,
    ) -> Option<usize> {
        let here = between.at;
        let value = self.value(here, "sign").or_else(|| self.value(here, "sign?")).filter(|_| self.free(here))?;
        let sign = sign_of(value)?;
        if amount.rest {
            // "rest ok" adds nothing; that the rest feed is news.
            if sign != Sign::Well && self.trusted(at, true) {
                facts.push(Fact::new(Act::Observe { at: nowhere(), signs: BTreeSet::from([sign]) }, at, here + 1));
            }
            return Some(here + 1);
        }
        if amount.nil || self.negation_between(amount.end, here) {
            return Some(here + 1);
        }
        let soft = self.value(here, "sign?").is_some();
        if !self.trusted(at, soft) || (here > at + 1 && between.foreign) {
            return Some(here + 1);
        }
        let mut end = here + 1;
        facts.push(Fact::new(Act::Observe { at: nowhere(), signs: BTreeSet::from([sign]) }, here, end));
        // A state close behind the sign says what the number is: "2 gasping but alive", "2 pale and weak".
        if WEAK.contains(&sign) && !amount.all {
            let mut count = Count::at(nowhere());
            count.weak = amount.n;
            count.of = amount.of.or(between.of);
            count.more = amount.more || between.more;
            let species = between.species.clone();
            self.add_species(&mut count, species.as_deref());
            if self.any_key(end, &["and", "butweak"]) {
                let state = end + usize::from(self.key(end, "and"));
                if self.key(end, "butweak") || self.value(state, "state") == Some("weak") {
                    end = state + 1;
                }
            }
            let fact = if amount.n.is_none() {
                self.how_many(count, "weak", at, end)
            } else {
                self.with_each(Fact::new(Act::Count(count), at, end))
            };
            facts.push(fact);
        }
        Some(end)
    }

    /// A sign without a number.
    pub(super) fn sign_alone(&mut self, at: usize, facts: &mut Vec<Fact>) -> Option<usize> {
        let hard = self.value(at, "sign");
        let value = hard.or_else(|| self.value(at, "sign?"))?;
        let sign = sign_of(value)?;
        let end = at + 1;
        if self.value(at, "unit").is_some() {
            return None;
        }
        // "no longer gasping", "not cloudy"; "not bad" and "not eating" are phrases of their own.
        if self.negated(at) || (at > 0 && self.key(at - 1, "rest")) {
            return Some(end);
        }
        // "poor sods": pity, where a noun follows that is no state of fish.
        let pitied = self.text_at(at) == "poor"
            && self.item(end).is_some_and(|item| !matches!(item.what, What::Mark(_) | What::Line))
            && !self.is_glue(end)
            && !matches!(self.text_at(end), "shape" | "condition" | "nick" | "colour" | "color" | "state");
        // "we been feeding em", "tank 18 wants feeding": what people do, or shall do.
        let fed_by_us = sign == Sign::Feeding
            && self.text_at(at) == "feeding"
            && (0..4).filter_map(|back| at.checked_sub(back + 1)).any(|n| {
                matches!(
                    self.text_at(n),
                    "we" | "i" | "been" | "wants" | "needs" | "want" | "need" | "after" | "before"
                )
            });
        if pitied || fed_by_us {
            return Some(end);
        }
        let soft = hard.is_none();
        let (from, _) = self.clause_bounds(at);
        // "i am also pale"
        let spoken = |n: usize| n + 1 < at && (self.is_glue(n) || matches!(self.text_at(n), "am"));
        let head = (from..at).rev().find(|n| !(spoken(*n) || self.is_glue(*n))).unwrap_or(from);
        let personal = at > from
            && (self.layer_at(at - 1, "self").is_some() && !matches!(self.text_at(at - 1), "her" | "his" | "u")
                || matches!(self.text_at(head), "i" | "im"));
        if !self.trusted(at, soft) || personal || self.speaks_of_somebody(at) {
            return Some(end);
        }
        facts.push(Fact::new(Act::Observe { at: nowhere(), signs: BTreeSet::from([sign]) }, at, end));
        Some(end)
    }

    /// "tolek is hiding in the corner", "the boss looks pale": the clause opens with somebody, not with fish.
    fn speaks_of_somebody(&self, at: usize) -> bool {
        let (from, to) = self.clause_bounds(at);
        let head = self.head(from);
        let head = head + usize::from(self.text_at(head) == "the");
        if head >= at || self.has_place(from, to) {
            return false;
        }
        let named = matches!(self.items[head].what, What::Crew) || self.is_foreign(head);
        let text = self.text_at(head);
        let contracted = self.tokens[self.items[head].first].base.is_some();
        let verb =
            matches!(self.text_at(head + 1), "is" | "was" | "looks" | "looked" | "seems" | "feels" | "isnt" | "wasnt");
        let plural = text.ends_with('s') && !text.ends_with("ss");
        named && (verb && !plural || contracted)
    }
}
