//! A state of fish that comes before its number, or without one: "lost 4", "A2 fine", "lost 3 in A2, 1 in A5".

use std::collections::BTreeSet;

use super::Fact;
use super::amount::Amount;
use super::count::set;
use super::fish_named::FishNamed;
use crate::message::act::State as All;
use crate::message::item::What;
use crate::message::message_text::Message;
use crate::message::place_words::nowhere;
use crate::message::{Act, Count, Sign};

impl Message<'_> {
    /// "lost 4", "dead: 4", "weak 6", "losses nil".
    pub(super) fn state_first(
        &mut self,
        at: usize,
        facts: &mut Vec<Fact>,
        fish: &mut FishNamed,
        last_state: &mut Option<&'static str>,
    ) -> Option<usize> {
        let state = self.value(at, "state")?;
        if self.negated(at) {
            return Some(at + 1);
        }
        // "dead: A1 2, A2 0": the state leads a list.
        if self.mark(at + 1, ':') && self.place(at + 2).is_some() {
            *last_state = Some(state);
            return Some(at + 2);
        }
        let mut number = at + 1;
        while self.mark(number, ':')
            || self.mark(number, '=')
            || (self.is_glue(number) && !self.key(number, "that"))
            || self.key(number, "by")
        {
            number += 1;
            if number > at + 4 {
                break;
            }
        }
        let same_clause = self.clause.get(number) == self.clause.get(at);
        let amount = same_clause.then(|| self.amount(number)).flatten().filter(|amount| !amount.rest);
        if let Some(amount) = amount.filter(|amount| self.free(number) && self.belongs_before(number, amount, state)) {
            let between = self.between(amount.end);
            let pair_ends = self.value(between.at, "state").is_none() && self.value(between.at, "sign").is_none();
            if pair_ends || self.pairs_lead(at) {
                let end = amount.end;
                if (between.foreign || self.is_foreign(end))
                    && !self.has_place(self.clause_bounds(at).0, self.clause_bounds(at).1)
                {
                    return Some(end);
                }
                if self.value(end, "unit").is_some_and(|unit| unit != "pcs")
                    || self.mark(end, '%')
                    || !self.trusted(at, false)
                {
                    return Some(end);
                }
                let score = amount.n.is_none() && self.mark(number + 1, '-');
                if score && !self.has_place(0, self.items.len()) {
                    return Some(end);
                }
                let mut count = Count::at(nowhere());
                let mut end = end;
                if let Some(named) = between.species {
                    fish.name(named);
                    end = between.at;
                }
                self.add_species(&mut count, fish.now.as_deref());
                count.of = amount.of.or(between.of);
                count.more = amount.more || between.more;
                if between.more || between.of.is_some() {
                    end = end.max(between.at);
                }
                *last_state = Some(state);
                if amount.all {
                    count.all = match state {
                        "dead" => Some(All::Dead),
                        "weak" => Some(All::Weak),
                        "alive" => Some(All::Alive),
                        _ => None,
                    };
                    if count.all.is_some() {
                        facts.push(self.with_each(Fact::new(Act::Count(count), at, end)));
                    }
                    return Some(end);
                }
                if amount.nil && state == "sound" {
                    return Some(at + 1);
                }
                set(&mut count, state, amount.n);
                let fact = match (amount.n, fish.now.as_ref().filter(|fish| fish.len() > 1)) {
                    (None, _) => self.how_many(count, state, at, end),
                    (_, Some(several)) => Fact::new(Act::Count(count), at, end).which_species(several.clone()),
                    _ => self.with_each(Fact::new(Act::Count(count), at, end)),
                };
                facts.push(fact);
                return Some(end);
            }
        }
        self.state_alone(at, state, facts)
    }

    /// Whether the number behind a state is its own and not that of a fact that follows.
    fn belongs_before(&self, number: usize, amount: &Amount, state: &str) -> bool {
        let verb = matches!(self.text_at(number.saturating_sub(1)), "lost" | "culled" | "missing" | "short" | "losing");
        if amount.all && state == "sound" || self.mark(number, '-') {
            return false;
        }
        let next = amount.end;
        // "dead 5ml binder" and "ok 25C" are not numbers of fish.
        let measured =
            self.value(next, "unit").is_some_and(|unit| unit != "pcs") || self.value(next, "product").is_some();
        !measured && (verb || state != "sound" || amount.n.is_some())
    }

    /// "dead 2 weak 3 ok 30": a run in which every number stands behind its state.
    fn pairs_lead(&self, at: usize) -> bool {
        let mut at = at;
        for _ in 0..8 {
            if self.value(at, "state").is_none() {
                return false;
            }
            let mut number = at + 1;
            while self.mark(number, ':') || self.mark(number, '=') {
                number += 1;
            }
            let Some(amount) = self.amount(number) else { return false };
            let mut next = amount.end;
            while self.mark(next, ',') || self.key(next, "and") {
                next += 1;
            }
            if self.value(next, "state").is_none() {
                // "ok 2 stiff 1 still gasping": every number stands before what is said of it.
                let said = (next..next + 3).find(|n| !self.is_glue(*n));
                return said.is_none_or(|n| self.value(n, "sign").is_none());
            }
            at = next;
        }
        false
    }

    /// A state without a number: "A2 fine" is a sign, "A2 dead" asks.
    fn state_alone(&mut self, at: usize, state: &'static str, facts: &mut Vec<Fact>) -> Option<usize> {
        let (from, to) = self.clause_bounds(at);
        let end = at + 1;
        let placed = self.has_place(from, to);
        match state {
            "sound" => {
                let word = self.text_at(at);
                let behind_place =
                    at > 0 && (self.place(at - 1).is_some() || self.is_glue(at - 1) || self.mark(at - 1, ':'));
                let adverb = word == "well" && !behind_place;
                let noun = self.is_foreign(end) && self.clause.get(end) == self.clause.get(at);
                // "ok i write it better", "good morning"
                let opens = self.head(0) > at && self.layer_at(end, "self").is_some();
                let greets = self.is_courtesy(at);
                if adverb
                    || noun
                    || opens
                    || greets
                    || self.beside_reading(at, facts)
                    || self.value(end, "fish").is_some() && !placed
                {
                    return Some(end);
                }
                facts.push(Fact::new(Act::Observe { at: nowhere(), signs: BTreeSet::from([Sign::Well]) }, at, end));
            }
            // "gone cloudy", "gone pale": become so.
            "dead"
                if self.text_at(at) == "gone"
                    && (end..end + 3).find(|n| !self.is_glue(*n)).is_some_and(|n| {
                        self.value(n, "sign").or(self.value(n, "sign?")).or(self.value(n, "colour")).is_some()
                    }) => {}
            "dead" | "weak" | "missing" if placed || self.sole(at) => {
                let one = (1..4).any(|back| at >= back && matches!(self.text_at(at - back), "a" | "an"))
                    && (self.value(end, "fish").is_some()
                        || matches!(self.text_at(at), "dead" | "weak" | "stiff" | "mort" | "floater"))
                    && matches!(self.text_at(at), "dead" | "weak" | "stiff" | "mort" | "goner" | "death");
                let singular = one && !self.text_at(end).ends_with('s');
                let mut count = Count::at(nowhere());
                if singular {
                    set(&mut count, state, Some(1));
                    let mut last = end + usize::from(self.value(end, "fish").is_some());
                    if let Some(What::Species(fish)) = self.item(last).map(|item| item.what.clone()) {
                        self.add_species(&mut count, Some(&fish));
                        last += 1;
                    }
                    facts.push(Fact::new(Act::Count(count), at, last));
                    return Some(last);
                }
                let foreign = (from..to).any(|at| self.is_foreign(at));
                let already = facts
                    .iter()
                    .any(|fact| fact.first >= from && fact.end <= to && matches!(fact.said.act, Act::Count(_)));
                if !foreign && !already {
                    facts.push(self.how_many(count, state, at, end));
                }
            }
            _ => {}
        }
        Some(end)
    }

    /// Whether the clause is made of this word and fillers only.
    fn sole(&self, at: usize) -> bool {
        let (from, to) = self.sentence_bounds(at);
        let fish =
            (from..to).any(|i| self.value(i, "fish").is_some() || matches!(self.items[i].what, What::Species(_)));
        fish && (from..to).all(|i| {
            i == at
                || self.is_glue(i)
                || matches!(self.items[i].what, What::Mark(_) | What::Species(_))
                || self.value(i, "fish").is_some()
        })
    }

    fn beside_reading(&self, at: usize, facts: &[Fact]) -> bool {
        let (from, to) = self.clause_bounds(at);
        let (start, _) = self.sentence_bounds(at);
        let read = |fact: &Fact| matches!(fact.said.act, Act::Reading(_)) && fact.first >= start;
        let plain = matches!(self.text_at(at), "ok" | "okay" | "good" | "fine" | "perfect" | "great" | "spot");
        // "ph fine" is said of the water's number, not of fish.
        let named = (from..at).any(|n| self.value(n, "measure").is_some());
        if plain && named {
            return true;
        }
        let in_clause = facts.iter().any(|fact| read(fact) && fact.first >= from && fact.end <= to);
        let before = from > start
            && !self.has_place(from, to)
            && facts.iter().any(|fact| read(fact) && fact.end <= from && fact.end + 2 > from);
        plain && (in_clause || before)
    }

    /// "lost 3 in A2, 1 in A5" and "A1 2 dead, A2 3": the state said before goes on.
    pub(super) fn elliptic(
        &mut self,
        at: usize,
        facts: &mut Vec<Fact>,
        last_state: Option<&'static str>,
    ) -> Option<usize> {
        let state = last_state?;
        let amount = self.amount(at).filter(|amount| !amount.all && !amount.rest)?;
        let end = amount.end;
        let behind_place = at > 0
            && (self.place(at - 1).is_some() || (self.mark(at - 1, ':') && at > 1 && self.place(at - 2).is_some()));
        let before_place = self.any_key(end, &["in", "on", "from", "at"]) && self.place(end + 1).is_some();
        let closes =
            self.item(end).is_none_or(|item| matches!(item.what, What::Mark(',' | '.' | ';' | '!') | What::Line))
                || self.key(end, "and");
        if !((behind_place && closes) || before_place) {
            return None;
        }
        let mut count = Count::at(nowhere());
        set(&mut count, state, amount.n);
        count.of = amount.of;
        let fact = if amount.n.is_none() {
            self.how_many(count, state, at, end)
        } else {
            Fact::new(Act::Count(count), at, end)
        };
        facts.push(fact);
        Some(end)
    }

    /// "A1 nil": no losses.
    pub(super) fn nil_alone(
        &mut self,
        at: usize,
        facts: &mut Vec<Fact>,
        last_state: Option<&'static str>,
    ) -> Option<usize> {
        self.value(at, "nil")?;
        if !matches!(self.text_at(at), "nil" | "none" | "zero") || last_state.is_some_and(|state| state != "dead") {
            return None;
        }
        let behind_place = at > 0
            && (self.place(at - 1).is_some() || (self.mark(at - 1, ':') && at > 1 && self.place(at - 2).is_some()));
        let closes =
            self.item(at + 1).is_none_or(|item| matches!(item.what, What::Mark(',' | '.' | ';' | '!') | What::Line));
        if !behind_place || !closes {
            return None;
        }
        let count = Count { dead: Some(0), ..Count::at(nowhere()) };
        facts.push(Fact::new(Act::Count(count), at, at + 1));
        Some(at + 1)
    }
}
