//! Fish counted, and signs seen on them.

use std::collections::BTreeSet;

use super::{Context, Fact};
use crate::message::act::State as All;
use crate::message::item::What;
use crate::message::message_text::Message;
use crate::message::place_words::nowhere;
use crate::message::{Act, Count, Doubt, Sign, Wanted};

/// A number of fish as said.
#[derive(Debug, Clone, Default)]
struct Amount {
    /// `None` where no certain number is said.
    n: Option<u32>,
    of: Option<u32>,
    more: bool,
    all: bool,
    nil: bool,
    rest: bool,
    end: usize,
}

/// What stands between a number and its state.
#[derive(Debug, Default)]
struct Between {
    species: Option<Vec<String>>,
    more: bool,
    of: Option<u32>,
    foreign: bool,
    at: usize,
}

pub(crate) fn sign_of(value: &str) -> Option<Sign> {
    serde_json::from_value(serde_json::Value::String(value.to_owned())).ok()
}

/// Signs that make counted fish weak.
const WEAK: [Sign; 6] = [Sign::BellyUp, Sign::OnSide, Sign::Gasping, Sign::Listless, Sign::Pale, Sign::Poorly];

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
    pub(super) fn counts(&mut self, facts: &mut Vec<Fact>) {
        let mut at = 0;
        let mut species: Option<Vec<String>> = None;
        let mut last_state: Option<&'static str> = None;
        let context = Context::default();
        while at < self.items.len() {
            if self.place(at).is_some() {
                species = None;
            }
            if !self.free(at) || !self.reports(at) {
                at += 1;
                continue;
            }
            let next = self
                .instead(at, facts)
                .or_else(|| self.put_down(at, facts))
                .or_else(|| self.amount_first(at, facts, &mut species, &mut last_state, &context))
                .or_else(|| self.state_first(at, facts, &mut species, &mut last_state))
                .or_else(|| self.elliptic(at, facts, last_state))
                .or_else(|| self.nil_alone(at, facts, last_state))
                .or_else(|| self.sign_alone(at, facts));
            match next {
                Some(next) => {
                    self.take(at, next);
                    at = next.max(at + 1);
                }
                None => at += 1,
            }
        }
    }

    /// A number of fish at `at`.
    fn amount(&self, at: usize) -> Option<Amount> {
        let item = self.item(at)?;
        let vague = |end| Some(Amount { end, ..Amount::default() });
        if item.value("about").is_some()
            || item.value("over").is_some()
            || item.value("under").is_some()
            || self.mark(at, '~')
            || self.mark(at, '>')
            || self.mark(at, '<')
        {
            return (self.item(at + 1)?.whole().is_some() || self.value(at + 1, "vague").is_some())
                .then(|| vague(at + 2))?;
        }
        if item.value("vague").is_some() {
            return vague(at + 1);
        }
        if item.value("nil").is_some() {
            // "no more dead" and the like: none.
            let end = at + 1 + usize::from(self.key(at + 1, "more"));
            return Some(Amount { n: Some(0), nil: true, end, ..Amount::default() });
        }
        if self.key(at, "another") {
            let n = self.item(at + 1).and_then(|item| item.whole());
            return Some(Amount {
                n: Some(n.unwrap_or(1)),
                more: true,
                end: at + 1 + usize::from(n.is_some()),
                ..Amount::default()
            });
        }
        if self.key(at, "rest") {
            return Some(Amount { rest: true, end: at + 1, ..Amount::default() });
        }
        if self.key(at, "all") || self.key(at, "both") {
            if self.key(at, "both") && self.place(at + 1).is_some() {
                return None;
            }
            let skip = at + 1 + usize::from(self.key(at + 1, "of"));
            let skip = skip + usize::from(self.text_at(skip) == "the");
            if let Some(n) = self.item(skip).and_then(|item| item.whole()) {
                return Some(Amount { n: Some(n), end: skip + 1, ..Amount::default() });
            }
            return Some(Amount { all: true, end: skip, ..Amount::default() });
        }
        let n = item.whole()?;
        let mut amount = Amount { n: Some(n), end: at + 1, ..Amount::default() };
        // "one or two" keeps its parts apart; "7.2" is no number of fish.
        let glued_pair = self.glued(at + 1) && self.glued(at + 2);
        if self.mark(at + 1, '/')
            && let Some(of) = self.item(at + 2).and_then(|item| item.whole())
        {
            if n <= of {
                amount.of = Some(of);
                amount.end = at + 3;
                return Some(amount);
            }
            return None;
        }
        if self.mark(at + 1, '-') && glued_pair && self.item(at + 2).is_some_and(|item| item.whole().is_some()) {
            return vague(at + 3);
        }
        if (self.key(at + 1, "or") || self.key(at + 1, "to"))
            && self.item(at + 2).is_some_and(|item| item.whole().is_some())
        {
            let before_place = self.place(at + 2).is_some();
            return if before_place { Some(amount) } else { vague(at + 3) };
        }
        if self.mark(at + 1, '+') && self.glued(at + 1) && !self.glued(at + 2) {
            return vague(at + 2);
        }
        if self.value(at + 1, "about").is_some() && matches!(self.text_at(at + 1), "ish" | "or") {
            return vague(at + 2);
        }
        let mut of = at + 1;
        if self.key(of, "out") {
            of += 1;
        }
        if self.key(of, "of") || of > at + 1 {
            of += usize::from(self.key(of, "of"));
            of += usize::from(self.text_at(of) == "the");
            if let Some(total) = self.item(of).and_then(|item| item.whole()) {
                if total < n {
                    return None;
                }
                amount.of = Some(total);
                amount.end = of + 1;
            }
        }
        Some(amount)
    }

    /// Skips what may stand between a number and its state.
    fn between(&self, from: usize) -> Between {
        let mut between = Between { at: from, ..Between::default() };
        for _ in 0..9 {
            let at = between.at;
            let Some(item) = self.item(at) else { break };
            if self.place(at).is_some()
                || item.value("state").is_some()
                || item.value("sign").is_some()
                || item.value("sign?").is_some()
            {
                break;
            }
            let sized = item.number().is_some()
                && (self.value(at + 1, "unit") == Some("inch")
                    || self.mark(at + 1, '"')
                    || (self.key(at + 1, "in") && self.glued(at + 1)));
            match &item.what {
                What::Species(fish) => {
                    between.species = Some(fish.clone());
                    between.at += 1;
                }
                _ if sized => between.at += 2,
                _ if self.key(at, "more") => {
                    between.more = true;
                    between.at += 1;
                }
                _ if self.value(at, "fish").is_some()
                    || self.value(at, "unit") == Some("pcs")
                    || self.value(at, "unit") == Some("inch") =>
                {
                    between.at += 1;
                }
                _ if self.is_glue(at) || self.key(at, "that") || self.value(at, "colour").is_some() => between.at += 1,
                _ if self.key(at, "of") => {
                    let total = at + 1 + usize::from(self.text_at(at + 1) == "the");
                    if let Some(of) = self.item(total).and_then(|item| item.whole()) {
                        between.of = Some(of);
                        between.at = total + 1;
                    } else if self.text_at(at + 1) == "the"
                        || matches!(self.item(at + 1).map(|i| &i.what), Some(What::Species(_)))
                    {
                        between.at += 1;
                    } else {
                        break;
                    }
                }
                _ => {
                    between.foreign = self.is_foreign(at);
                    break;
                }
            }
        }
        between
    }

    /// "4 of 40 dead", "another dead", "all dead", "a few weak", "one on its side".
    fn amount_first(
        &mut self,
        at: usize,
        facts: &mut Vec<Fact>,
        species: &mut Option<Vec<String>>,
        last_state: &mut Option<&'static str>,
        _context: &Context,
    ) -> Option<usize> {
        let amount = self.amount(at)?;
        let between = self.between(amount.end);
        let here = self.found_dead(between.at).unwrap_or(between.at);
        let mut count = Count::at(nowhere());
        let of = amount.of.or(between.of);
        let Some(state) = self.value(here, "state").filter(|_| self.free(here)) else {
            return self.amount_of_sign(at, &amount, &between, facts);
        };
        if self.negation_between(amount.end, here) {
            return Some(here + 1);
        }
        if let Some(fish) = between.species {
            *species = Some(fish);
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
        self.add_species(&mut count, species.as_deref());
        let doubtful_fish = species.as_ref().filter(|fish| fish.len() > 1).cloned();
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
            fact = fact.doubted(Doubt::WhichSpecies(fish), Wanted::Number(String::new()));
        }
        facts.push(fact);
        Some(end)
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

    /// "A1 nil": no losses.
    fn nil_alone(&mut self, at: usize, facts: &mut Vec<Fact>, last_state: Option<&'static str>) -> Option<usize> {
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

    fn how_many(&self, mut count: Count, state: &str, first: usize, end: usize) -> Fact {
        set(&mut count, state, None);
        count.of = None;
        Fact::new(Act::Count(count), first, end)
            .doubted(Doubt::HowMany(state.to_owned()), Wanted::Number(state.to_owned()))
    }

    fn with_each(&self, mut fact: Fact) -> Fact {
        let (start, end) = self.sentence_bounds(fact.first);
        fact.each = (start..end).any(|at| self.key(at, "each"));
        fact
    }

    fn add_species(&self, count: &mut Count, species: Option<&[String]>) {
        if let Some([fish]) = species {
            count.species = Some(fish.clone());
        }
    }

    fn negation_between(&self, from: usize, to: usize) -> bool {
        (from..to).any(|at| self.key(at, "not"))
    }

    /// A noun of other talk directly behind a state.
    fn followed_by_noun(&self, at: usize) -> bool {
        self.is_foreign(at) && self.glue_free(at) && !self.has_place(self.clause_bounds(at.saturating_sub(1)).0, at)
    }

    fn glue_free(&self, at: usize) -> bool {
        at > 0 && self.clause.get(at) == self.clause.get(at - 1)
    }

    /// "one on its side", "3 flashing": a number beside a sign.
    fn amount_of_sign(
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

    /// "lost 4", "dead: 4", "weak 6", "losses nil".
    fn state_first(
        &mut self,
        at: usize,
        facts: &mut Vec<Fact>,
        species: &mut Option<Vec<String>>,
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
                if let Some(fish) = between.species {
                    *species = Some(fish);
                    end = between.at;
                }
                self.add_species(&mut count, species.as_deref());
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
                let fact = match (amount.n, species.as_ref().filter(|fish| fish.len() > 1)) {
                    (None, _) => self.how_many(count, state, at, end),
                    (_, Some(fish)) => Fact::new(Act::Count(count), at, end)
                        .doubted(Doubt::WhichSpecies(fish.clone()), Wanted::Number(String::new())),
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
                return true;
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
                if adverb || noun || self.beside_reading(at, facts) || self.value(end, "fish").is_some() && !placed {
                    return Some(end);
                }
                facts.push(Fact::new(Act::Observe { at: nowhere(), signs: BTreeSet::from([Sign::Well]) }, at, end));
            }
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
    fn elliptic(&mut self, at: usize, facts: &mut Vec<Fact>, last_state: Option<&'static str>) -> Option<usize> {
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

    /// "not clowns, yoyos, 38": other fish came than listed.
    fn instead(&mut self, at: usize, facts: &mut Vec<Fact>) -> Option<usize> {
        let name = |at: usize| match &self.item(at)?.what {
            What::Species(_) | What::Unknown => Some(self.text_at(at).to_owned()),
            _ => None,
        };
        let skip = |mut at: usize| {
            while self.mark(at, ',')
                || self.mark(at, ':')
                || self.mark(at, '-')
                || self.is_glue(at)
                || self.key(at, "but")
                || self.value(at, "fish").is_some()
            {
                at += 1;
            }
            at
        };
        let listed = |at: usize| matches!(self.item(at).map(|item| &item.what), Some(What::Species(_)));
        let mut count = Count::at(nowhere());
        // "38 yoyos not clowns"
        if let Some(n) = self.item(at)?.whole()
            && let Some(got) = name(at + 1)
            && (self.key(at + 2, "not") || self.key(at + 2, "instead"))
        {
            let other = at + 3 + usize::from(self.key(at + 3, "of"));
            if listed(other) || self.key(at + 2, "instead") {
                count.alive = Some(n);
                count.got = Some(got);
                let end = if listed(other) { other + 1 } else { at + 3 };
                facts.push(Fact::new(Act::Count(count), at, end));
                return Some(end);
            }
        }
        // "yoyos instead"
        if self.key(at + 1, "instead")
            && self.has_place(self.clause_bounds(at).0, at)
            && let Some(got) = name(at)
        {
            count.got = Some(got);
            facts.push(Fact::new(Act::Count(count), at, at + 2));
            return Some(at + 2);
        }
        if self.key(at, "not") && listed(at + 1) {
            let got_at = skip(at + 2);
            let got = name(got_at)?;
            let number = skip(got_at + 1);
            let n = self.item(number).and_then(|item| item.whole());
            // A state behind the number makes it a count of that state.
            let counted = n.is_some() && self.value(number + 1, "state").is_none();
            count.alive = n.filter(|_| counted);
            count.got = Some(got);
            let end = if counted { number + 1 } else { got_at + 1 };
            facts.push(Fact::new(Act::Count(count), at, end));
            return Some(end);
        }
        // "yoyos not clowns, 38"
        if matches!(self.item(at)?.what, What::Unknown | What::Species(_)) && self.key(at + 1, "not") && listed(at + 2)
        {
            let got = name(at)?;
            let number = skip(at + 3);
            let n = self.item(number).and_then(|item| item.whole());
            let counted = n.is_some() && self.value(number + 1, "state").is_none();
            count.alive = n.filter(|_| counted);
            count.got = Some(got);
            let end = if counted { number + 1 } else { at + 3 };
            facts.push(Fact::new(Act::Count(count), at, end));
            return Some(end);
        }
        None
    }

    /// "put 5 down", "put 5 to sleep", "put down 5".
    fn put_down(&mut self, at: usize, facts: &mut Vec<Fact>) -> Option<usize> {
        let (number, end) = if self.key(at, "putdown") {
            (at + 1, at + 2)
        } else if matches!(self.text_at(at), "put" | "putting") {
            let behind = at
                + 2
                + usize::from(
                    self.value(at + 2, "fish").is_some()
                        || self.key(at + 2, "more")
                        || self.value(at + 2, "state").is_some(),
                );
            let down = self.text_at(behind) == "down" && !self.any_key(behind + 1, &["for", "to"]);
            if !down {
                return None;
            }
            (at + 1, behind + 1)
        } else {
            return None;
        };
        let amount = self.amount(number)?;
        let mut count = Count::at(nowhere());
        count.culled = amount.n;
        let fact = if amount.n.is_none() {
            self.how_many(count, "culled", at, end)
        } else {
            Fact::new(Act::Count(count), at, end.max(amount.end))
        };
        facts.push(fact);
        Some(end.max(amount.end))
    }

    /// A sign without a number.
    fn sign_alone(&mut self, at: usize, facts: &mut Vec<Fact>) -> Option<usize> {
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
        let soft = hard.is_none();
        let (from, _) = self.clause_bounds(at);
        let personal = at > from
            && self.layer_at(at - 1, "self").is_some()
            && !matches!(self.text_at(at - 1), "her" | "his" | "u");
        if !self.trusted(at, soft) || personal {
            return Some(end);
        }
        facts.push(Fact::new(Act::Observe { at: nowhere(), signs: BTreeSet::from([sign]) }, at, end));
        Some(end)
    }
}
