//! Fish counted.

use std::collections::BTreeSet;

use super::fish_named::FishNamed;
use super::{Context, Fact};
use crate::message::act::State as All;
use crate::message::message_text::Message;
use crate::message::place_words::nowhere;
use crate::message::{Act, Count, Doubt, Sign, Wanted};

/// Sets the field of a count that a state names.
pub(crate) fn set(count: &mut Count, field: &str, n: Option<u32>) {
    match field {
        "sound" => count.sound = n,
        "alive" => count.alive = n,
        "weak" => count.weak = n,
        "dead" => count.dead = n,
        "missing" => count.missing = n,
        "extra" => count.extra = n,
        "revived" => count.revived = n,
        "culled" => count.culled = n,
        _ => {}
    }
}

/// The number in a field of a count.
pub(crate) fn get(count: &Count, field: &str) -> Option<u32> {
    match field {
        "sound" => count.sound,
        "alive" => count.alive,
        "weak" => count.weak,
        "dead" => count.dead,
        "missing" => count.missing,
        "extra" => count.extra,
        "revived" => count.revived,
        "culled" => count.culled,
        "of" => count.of,
        _ => None,
    }
}

/// The fields of a count that hold numbers.
pub(crate) const FIELDS: [&str; 8] = ["sound", "alive", "weak", "dead", "missing", "extra", "revived", "culled"];

impl Message<'_> {
    pub(super) fn counts(&mut self, facts: &mut Vec<Fact>, context: &Context) {
        let mut at = 0;
        let mut fish = FishNamed::default();
        fish.next_place(facts);
        let mut last_state: Option<&'static str> = None;
        while at < self.items.len() {
            if self.place(at).is_some() {
                fish.next_place(facts);
            }
            if !self.free(at) || !self.reports(at) {
                at += 1;
                continue;
            }
            if let Some(named) = self.fish_before_number(at) {
                fish.name(named);
            }
            let known = facts.len();
            let next = self
                .instead(at, facts)
                .or_else(|| self.put_down(at, facts))
                .or_else(|| self.amount_first(at, facts, &mut fish, &mut last_state))
                .or_else(|| self.state_first(at, facts, &mut fish, &mut last_state))
                .or_else(|| self.uncounted(at, facts, &mut fish))
                .or_else(|| self.elliptic(at, facts, last_state))
                .or_else(|| self.bare_census(at, facts, context))
                .or_else(|| self.nil_alone(at, facts, last_state))
                .or_else(|| self.sign_alone(at, facts));
            match next {
                Some(next) => {
                    let counted = facts.len() > known && fish.now.is_none();
                    let behind = counted.then(|| self.fish_behind_state(next)).flatten();
                    let end = behind.as_ref().map_or(next, |(_, end)| *end);
                    if let Some((named, _)) = behind {
                        fish.name_behind(named, facts);
                    }
                    self.take(at, end);
                    at = end.max(at + 1);
                }
                None => at += 1,
            }
        }
        fish.next_place(facts);
    }

    /// "4 of 40 dead", "another dead", "all dead", "a few weak", "one on its side".
    fn amount_first(
        &mut self,
        at: usize,
        facts: &mut Vec<Fact>,
        fish: &mut FishNamed,
        last_state: &mut Option<&'static str>,
    ) -> Option<usize> {
        let amount = self.amount(at)?;
        let between = self.between(amount.end);
        let here = self
            .found_dead(between.at)
            .or(self.weak_died(amount.end, between.at))
            .or(self.dead_revived(amount.end, between.at))
            .unwrap_or(between.at);
        let mut count = Count::at(nowhere());
        let of = amount.of.or(between.of);
        // A fish that jumped may have been put back: only "found dead" says what became of it.
        let jumped = self.key(here, "jumped") && self.free(here) && !amount.nil && !amount.rest;
        if jumped && !self.followed_by_noun(here + 1) && self.trusted(at, false) && self.reached(at) {
            let back = (here + 1..self.sentence_bounds(at).1).any(|n| self.key(n, "back") || self.text_at(n) == "back");
            if !back {
                facts.push(self.how_many(count, "dead", at, here + 1));
            }
            return Some(here + 1);
        }
        let Some(state) = self.value(here, "state").filter(|_| self.free(here)) else {
            return self.amount_of_sign(at, &amount, &between, facts);
        };
        if self.negation_between(amount.end, here) {
            return Some(here + 1);
        }
        if let Some(named) = between.species {
            fish.name(named);
        }
        let mut end = here + 1;
        if amount.rest {
            // "rest ok" adds nothing; "rest dead" leaves the number to be asked.
            if matches!(state, "dead" | "weak" | "missing" | "culled")
                && self.trusted(at, false)
                && self.has_place(0, self.items.len())
            {
                facts.push(self.how_many(count, state, at, end));
            }
            return Some(end);
        }
        // A noun behind the state that is no fish: "2 lost gloves". "2 good ones" is fish.
        if self.followed_by_noun(end) {
            return None;
        }
        if !self.trusted(at, false) {
            return Some(end);
        }
        *last_state = Some(state);
        // "3 2 dead": two numbers, and no telling which.
        let stray = at > 0
            && self.item(at - 1).is_some_and(|item| item.number().is_some())
            && self.free(at - 1)
            && self.item(at).is_some_and(|item| item.number().is_some())
            && self.clause.get(at - 1) == self.clause.get(at);
        if stray {
            facts.push(self.how_many(count, state, at, end));
            return Some(end);
        }
        // "2 of 60 short", "2 short of 60"
        count.of = of;
        if self.key(end, "of")
            && let Some(total) =
                self.item(end + 1 + usize::from(self.text_at(end + 1) == "the")).and_then(|item| item.whole())
            && self.place(end + 1).is_none()
        {
            count.of = Some(total);
            end += 2 + usize::from(self.text_at(end + 1) == "the");
        }
        count.more = amount.more || between.more || self.key(end, "more");
        if self.key(end, "more") {
            end += 1;
        }
        self.add_species(&mut count, fish.now.as_deref());
        let doubtful_fish = fish.now.clone().filter(|fish| fish.len() > 1);
        if amount.all {
            let all = match state {
                "dead" => Some(All::Dead),
                "weak" => Some(All::Weak),
                "alive" => Some(All::Alive),
                _ => None,
            };
            let Some(all) = all else {
                if state == "sound" {
                    facts.push(Fact::new(Act::Observe { at: nowhere(), signs: BTreeSet::from([Sign::Well]) }, at, end));
                }
                return Some(end);
            };
            // "all dead bar 3", "all dead but 3"
            let but = self.any_key(end, &["but", "stopped"]) || matches!(self.text_at(end), "minus");
            let number = self.item(end + 1).is_some_and(|item| item.whole().is_some());
            if self.key(end, "except") || but && number {
                facts.push(self.how_many(count, state, at, end + 1));
                // "but 3 alive" is a count of its own.
                let own = self.value(end + 2, "state").is_some();
                return Some(end + 1 + usize::from(number && !own));
            }
            count.all = Some(all);
            facts.push(self.with_each(Fact::new(Act::Count(count), at, end)));
            return Some(end);
        }
        if amount.nil && state == "alive" {
            count.all = Some(All::Dead);
            facts.push(self.with_each(Fact::new(Act::Count(count), at, end)));
            return Some(end);
        }
        if amount.nil && state == "sound" {
            return Some(end);
        }
        set(&mut count, state, amount.n);
        // "2 alive but weak"
        if state == "alive" && self.key(end, "butweak") && amount.n.is_some() {
            count.weak = amount.n;
            end += 1;
        }
        let mut fact = self.with_each(Fact::new(Act::Count(count.clone()), at, end));
        if amount.n.is_none() {
            fact = self.how_many(count, state, at, end);
        } else if let Some(fish) = doubtful_fish {
            fact = fact.which_species(fish);
        }
        facts.push(fact);
        Some(end)
    }

    /// Whether the clause or what stands before it names a place.
    fn reached(&self, at: usize) -> bool {
        self.has_place(self.sentence_bounds(at).0, self.clause_bounds(at).1)
    }

    /// "1 of the weak ones died": what became of them, behind the state they had.
    fn weak_died(&self, from: usize, at: usize) -> Option<usize> {
        if self.value(at, "state") != Some("weak") || !(from..at).any(|n| self.key(n, "of")) {
            return None;
        }
        let (_, end) = self.clause_bounds(at);
        let died = (at + 1..end.min(at + 6)).find(|n| self.value(*n, "state") == Some("dead"))?;
        (at + 1..died).all(|n| self.is_glue(n) || self.value(n, "fish").is_some()).then_some(died)
    }

    /// "3 of the dead in 7.2 woke up": what became of them, behind the state they were counted in.
    fn dead_revived(&self, from: usize, at: usize) -> Option<usize> {
        if self.value(at, "state") != Some("dead") || !(from..at).any(|n| self.key(n, "of")) {
            return None;
        }
        let (_, end) = self.clause_bounds(at);
        let revived = (at + 1..end.min(at + 7)).find(|n| self.value(*n, "state") == Some("revived"))?;
        let passes = |n: usize| {
            self.is_glue(n)
                || self.place(n).is_some()
                || self.value(n, "fish").is_some()
                || self.any_key(n, &["in", "on", "from", "of"])
        };
        (at + 1..revived).all(passes).then_some(revived)
    }

    /// "one jumped, found dead": where the state stands.
    fn found_dead(&self, at: usize) -> Option<usize> {
        if !self.key(at, "jumped") {
            return None;
        }
        (at + 1..at + 6).find(|n| self.value(*n, "state") == Some("dead")).filter(|dead| {
            (at + 1..*dead).all(|n| {
                self.is_glue(n)
                    || self.mark(n, ',')
                    || self.any_key(n, &["and", "on", "in", "jumped"])
                    || self.is_unknown(n)
            })
        })
    }

    pub(super) fn how_many(&self, mut count: Count, state: &str, first: usize, end: usize) -> Fact {
        set(&mut count, state, None);
        count.of = None;
        Fact::new(Act::Count(count), first, end)
            .doubted(Doubt::HowMany(state.to_owned()), Wanted::Number(state.to_owned()))
    }

    pub(super) fn with_each(&self, mut fact: Fact) -> Fact {
        let (start, end) = self.sentence_bounds(fact.first);
        fact.each = (start..end).any(|at| self.key(at, "each"));
        fact
    }

    pub(super) fn add_species(&self, count: &mut Count, species: Option<&[String]>) {
        if let Some([fish]) = species {
            count.species = Some(fish.clone());
        }
    }

    pub(super) fn negation_between(&self, from: usize, to: usize) -> bool {
        (from..to).any(|at| self.key(at, "not"))
    }

    /// A noun of other talk directly behind a state.
    pub(super) fn followed_by_noun(&self, at: usize) -> bool {
        self.is_foreign(at) && self.glue_free(at) && !self.has_place(self.clause_bounds(at.saturating_sub(1)).0, at)
    }

    fn glue_free(&self, at: usize) -> bool {
        at > 0 && self.clause.get(at) == self.clause.get(at - 1)
    }
}
