//! Facts find their places, and become acts.

use super::facts::{Bind, Fact};
use super::item::What;
use super::message_text::Message;
use super::place_words::{Mention, is_nowhere, nowhere};
use super::{Act, Count, Doubt, Place, Said, Sign, Wanted};

/// Acts that are certain, and those that wait for an answer.
#[derive(Debug, Default)]
pub(crate) struct Outcome {
    pub acts: Vec<Said>,
    pub waiting: Vec<(Doubt, Wanted, Said)>,
    /// The places that facts took from the reply or the dialogue.
    pub used: Vec<Place>,
}

/// Where a fact without a place of its own looks for one.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Surroundings<'a> {
    pub re: &'a [Place],
    pub carried: &'a [Place],
}

/// The place of an act, where it has exactly one.
pub(crate) fn place_of(act: &Act) -> Option<&Place> {
    match act {
        Act::Open { at } | Act::Done { at } | Act::Swap { at, .. } | Act::Dose { at, .. } | Act::Observe { at, .. } => {
            Some(at)
        }
        Act::Recheck { at, .. } | Act::Hold { at, .. } | Act::Clear { at, .. } | Act::Ship { at, .. } => Some(at),
        Act::Count(count) => Some(&count.at),
        Act::Reading(water) => Some(&water.at),
        Act::Move { to, .. } => Some(to),
        Act::Reserve { at, .. } | Act::Note { at, .. } | Act::Ask { at, .. } => at.as_ref(),
        Act::Arrive { .. } | Act::Later { .. } | Act::Undo | Act::Vessels { .. } => None,
    }
}

/// Gives an act its place.
pub(crate) fn put(act: &mut Act, place: Place) {
    match act {
        Act::Open { at } | Act::Done { at } | Act::Swap { at, .. } | Act::Dose { at, .. } | Act::Observe { at, .. } => {
            *at = place
        }
        Act::Recheck { at, .. } | Act::Hold { at, .. } | Act::Clear { at, .. } | Act::Ship { at, .. } => *at = place,
        Act::Count(count) => count.at = place,
        Act::Reading(water) => water.at = place,
        Act::Move { to, .. } => *to = place,
        Act::Reserve { at, .. } | Act::Note { at, .. } | Act::Ask { at, .. } => *at = Some(place),
        Act::Arrive { .. } | Act::Later { .. } | Act::Undo | Act::Vessels { .. } => {}
    }
}

impl Message<'_> {
    /// Binds facts to the places that stand around them.
    pub(crate) fn bind(&self, facts: &mut [Fact]) {
        let mentions: Vec<usize> = (0..self.items.len()).filter(|n| self.place(*n).is_some()).collect();
        let mut current: Option<Mention> = None;
        let mut held: Vec<Option<Mention>> = vec![None; facts.len()];
        let inside_move = |n: usize, facts: &[Fact]| {
            facts.iter().position(|fact| matches!(fact.said.act, Act::Move { .. }) && fact.first <= n && n < fact.end)
        };
        for fact in facts.iter_mut().filter(|fact| fact.bind == Bind::Open) {
            // A place among the words of a fact is its own.
            if let Some(&n) = mentions.iter().find(|n| fact.first < **n && **n < fact.end) {
                fact.bind = self.place(n).cloned().map_or(Bind::Open, Bind::Own);
            }
        }
        let mut next_fact = 0;
        let mut previous: Option<usize> = None;
        for (nth, &n) in mentions.iter().enumerate() {
            // Facts that end before this mention hold what was named before.
            while next_fact < facts.len() && facts[next_fact].first < n {
                if let Act::Move { to, .. } = &facts[next_fact].said.act {
                    if !is_nowhere(to) {
                        current = Some(Mention { places: vec![to.clone()], unknown: false, relative: false });
                    }
                } else if facts[next_fact].bind == Bind::Open {
                    held[next_fact] = current.clone();
                }
                next_fact += 1;
            }
            let Some(mention) = self.place(n).cloned() else { continue };
            if inside_move(n, facts).is_some() {
                previous = Some(n);
                continue;
            }
            let (start, end) = self.clause_bounds(n);
            let since = previous.map_or(start, |p| p + 1).max(start);
            let own: Vec<usize> = (0..facts.len())
                .filter(|f| facts[*f].bind == Bind::Open && facts[*f].first >= since && facts[*f].end <= n)
                .collect();
            // "2 dead A1 3 dead A2": every place stands behind its facts.
            if self.places_trail(start, end, facts) && !own.is_empty() {
                for f in own {
                    held[f] = Some(mention.clone());
                }
                current = Some(mention);
                previous = Some(n);
                continue;
            }
            let behind_prep = self.behind_preposition(n);
            let last = nth + 1 == mentions.len() && self.nothing_follows(n + 1);
            let clause_final = n + 1 >= end || self.closes(n + 1, end);
            let pending: Vec<usize> = (0..next_fact)
                .filter(|f| facts[*f].bind == Bind::Open && held[*f].is_none() && facts[*f].end <= n)
                .collect();
            if behind_prep && let Some(&nearest) = own.last().filter(|f| self.close(facts[**f].end, n)) {
                held[nearest] = Some(mention.clone());
                // One clause, one place: what has none yet takes it too.
                for f in pending.iter().chain(&own) {
                    held[*f].get_or_insert_with(|| mention.clone());
                }
                // "2 gasping in A3": the sign and its number are one saying.
                for f in own
                    .iter()
                    .filter(|f| facts[**f].first + 3 >= facts[nearest].first && overlaps(&facts[**f], &facts[nearest]))
                {
                    held[*f] = Some(mention.clone());
                }
            } else if last {
                for f in &pending {
                    held[*f] = Some(mention.clone());
                }
                if clause_final
                    && !own.is_empty()
                    && start > 0
                    && held_elsewhere(&own, &held, &mention)
                    && self.own_words(since, n)
                {
                    for f in own {
                        held[f] = Some(mention.clone());
                    }
                }
            } else if clause_final && !own.is_empty() && since == start {
                for f in own {
                    held[f] = Some(mention.clone());
                }
            }
            current = Some(mention);
            previous = Some(n);
        }
        for f in next_fact..facts.len() {
            if let Act::Move { to, .. } = &facts[f].said.act {
                if !is_nowhere(to) {
                    current = Some(Mention { places: vec![to.clone()], unknown: false, relative: false });
                }
            } else if facts[f].bind == Bind::Open {
                held[f] = current.clone();
            }
        }
        for (fact, held) in facts.iter_mut().zip(held) {
            if let Some(mention) = held
                && fact.bind == Bind::Open
            {
                fact.bind = Bind::Own(mention);
            }
        }
    }

    /// Whether in this clause each of several places stands behind facts of its own.
    fn places_trail(&self, start: usize, end: usize, facts: &[Fact]) -> bool {
        let mentions: Vec<usize> = (start..end).filter(|n| self.place(*n).is_some()).collect();
        let Some(&last) = mentions.last().filter(|_| mentions.len() > 1) else { return false };
        if !self.closes(last + 1, end) {
            return false;
        }
        let mut from = start;
        for n in mentions {
            if !facts.iter().any(|fact| fact.bind == Bind::Open && fact.first >= from && fact.end <= n) {
                return false;
            }
            from = n + 1;
        }
        true
    }

    fn behind_preposition(&self, n: usize) -> bool {
        let prep = |n: usize| self.any_key(n, &["in", "on", "of", "off", "from", "at", "out", "into", "to"]);
        n > 0 && (prep(n - 1) || (n > 1 && self.text_at(n - 1) == "the" && prep(n - 2)))
    }

    /// Whether only fillers and a preposition stand between a fact's end and a place.
    fn close(&self, end: usize, n: usize) -> bool {
        n >= end
            && n - end <= 5
            && (end..n).all(|at| {
                self.is_glue(at)
                    || self.any_key(
                        at,
                        &["in", "on", "of", "off", "from", "at", "out", "into", "to", "more", "again", "here", "there"],
                    )
                    || self.value(at, "fish").is_some()
                    || self.value(at, "water").is_some()
                    || matches!(self.items[at].what, What::Species(_))
                    || self.value(at, "unit").is_some()
                    || self.used[at]
            })
    }

    fn nothing_follows(&self, at: usize) -> bool {
        (at..self.items.len()).all(|n| {
            matches!(self.items[n].what, What::Mark(_) | What::Line | What::Crew)
                || self.is_glue(n)
                || self.is_unknown(n)
                || self.any_key(n, &["please", "thanks", "again", "at"])
                || self.layer_at(n, "polite").is_some()
                || (matches!(self.items[n].what, What::Clock(..)) || self.value(n, "half").is_some())
                || (self.items[n].number().is_some() && n > 0 && self.key(n - 1, "at"))
        })
    }

    /// Whether the clause has nothing more to say behind a place.
    fn closes(&self, at: usize, end: usize) -> bool {
        (at..end).all(|n| {
            matches!(self.items[n].what, What::Mark(_) | What::Line)
                || self.layer_at(n, "polite").is_some()
                || matches!(self.text_at(n), "again" | "now" | "too" | "though" | "tho")
        })
    }

    fn own_words(&self, since: usize, n: usize) -> bool {
        (since..n).all(|at| self.place(at).is_none())
    }

    /// Places facts, splits them over several places and joins what belongs to one act.
    pub(crate) fn acts(&self, mut facts: Vec<Fact>, around: Surroundings<'_>) -> Outcome {
        self.bind(&mut facts);
        self.drop_bare_well(&mut facts, around);
        let mut outcome = Outcome::default();
        let mut acts: Vec<(Said, Option<(Doubt, Wanted)>)> = Vec::new();
        for fact in facts {
            // A bare "ok" is never worth the question where.
            let well =
                matches!(&fact.said.act, Act::Observe { signs, .. } if signs.len() == 1 && signs.contains(&Sign::Well));
            if well && fact.bind == Bind::Open && around.re.is_empty() && around.carried.is_empty() {
                continue;
            }
            let (places, mut doubt) = match &fact.bind {
                Bind::Settled => {
                    acts.push((fact.said, fact.doubt));
                    continue;
                }
                Bind::Own(mention) if mention.unknown => {
                    let blank =
                        mention.places.first().filter(|place| is_nowhere(place) && matches!(place, Place::Bag { .. }));
                    let doubt = if matches!(mention.places.first(), Some(Place::Bag { .. })) {
                        Doubt::WhichBag
                    } else {
                        Doubt::WhichPlace
                    };
                    (vec![blank.cloned().unwrap_or_else(nowhere)], Some((doubt, Wanted::Place)))
                }
                Bind::Own(mention) => (mention.places.clone(), None),
                Bind::Open if !around.re.is_empty() => {
                    outcome.used = around.re.to_vec();
                    (around.re.to_vec(), None)
                }
                Bind::Open if !around.carried.is_empty() => {
                    outcome.used = around.carried.to_vec();
                    (around.carried.to_vec(), None)
                }
                Bind::Open => (vec![nowhere()], Some((Doubt::WhichPlace, Wanted::Place))),
            };
            if let Act::Done { .. } | Act::Open { .. } = fact.said.act
                && doubt.is_some()
                && places.iter().any(|place| !matches!(place, Place::Box { .. } | Place::Bag { .. }))
                && fact.bind == Bind::Open
            {
                continue;
            }
            if places.len() > 1 && !fact.each && one_number(&fact.said.act) {
                doubt = Some((Doubt::WhichOf(places.clone()), Wanted::Place));
                let mut said = fact.said.clone();
                put(&mut said.act, nowhere());
                acts.push((said, doubt));
                continue;
            }
            for place in places {
                let mut said = fact.said.clone();
                let place = fitting(&said.act, place);
                let unfit =
                    matches!(&said.act, Act::Clear { .. }) && !matches!(place, Place::Tank { .. } | Place::Lot { .. });
                put(&mut said.act, if unfit { nowhere() } else { place });
                let place_doubt = if unfit { Some((Doubt::WhichPlace, Wanted::Place)) } else { doubt.clone() };
                // The fact's own doubt is asked first; its place follows when that is answered.
                acts.push((said, fact.doubt.clone().or(place_doubt)));
            }
        }
        for (said, doubt) in acts {
            match doubt {
                None => merge(&mut outcome.acts, said),
                Some((doubt, wanted)) => outcome.waiting.push((doubt, wanted, said)),
            }
        }
        for said in &mut outcome.acts {
            settle(&mut said.act);
        }
        outcome
    }

    /// A bare "ok" that names no place acknowledges and records nothing.
    fn drop_bare_well(&self, facts: &mut Vec<Fact>, around: Surroundings<'_>) {
        let well = |fact: &Fact| {
            matches!(&fact.said.act, Act::Observe { signs, .. } if signs.len() == 1 && signs.contains(&Sign::Well))
                && fact.bind == Bind::Open
        };
        let thanks =
            (0..self.items.len()).any(|n| self.key(n, "thanks") || matches!(self.text_at(n), "will" | "cool" | "nice"));
        // "they look good" is said of fish.
        let of_fish = |fact: &Fact| fact.first > 0 && self.value(fact.first - 1, "fish").is_some();
        let spoken = facts.iter().any(|fact| {
            !well(fact) && !matches!(fact.said.act, Act::Arrive { .. } | Act::Open { .. } | Act::Done { .. })
        });
        if thanks || (around.re.is_empty() && !spoken) {
            facts.retain(|fact| !well(fact) || !thanks && of_fish(fact));
        }
    }
}

fn overlaps(a: &Fact, b: &Fact) -> bool {
    a.first < b.end && b.first < a.end
}

fn held_elsewhere(own: &[usize], held: &[Option<Mention>], mention: &Mention) -> bool {
    own.iter().all(|f| held[*f].as_ref().is_some_and(|other| other != mention))
}

/// A box is what is finished, also where its bag is spoken of.
fn fitting(act: &Act, place: Place) -> Place {
    match (act, place) {
        (Act::Done { .. }, Place::Bag { number, .. }) => Place::Box { number },
        (_, place) => place,
    }
}

/// Whether the act states one number of fish above none.
fn one_number(act: &Act) -> bool {
    match act {
        Act::Count(count) => {
            super::facts_fields().iter().any(|field| super::facts_get(count, field).is_some_and(|n| n > 0))
        }
        Act::Clear { count, .. } | Act::Ship { count, .. } => count.is_some(),
        _ => false,
    }
}

/// What depends on the kind of place.
fn settle(act: &mut Act) {
    if let Act::Count(count) = act
        && matches!(count.at, Place::Tray { .. } | Place::Tank { .. } | Place::Lot { .. })
    {
        // Deaths in a tray or tank add up anyway.
        count.more = false;
    }
}

/// Joins an act to one of its kind and place, or adds it.
pub(crate) fn merge(acts: &mut Vec<Said>, new: Said) {
    for old in acts.iter_mut() {
        let joined = match (&mut old.act, &new.act) {
            (Act::Count(a), Act::Count(b)) => {
                a.at == b.at && (a.species == b.species || b.species.is_none()) && join_counts(a, b)
            }
            (Act::Reading(a), Act::Reading(b)) if a.at == b.at => {
                for (measure, value) in &b.values {
                    a.values.insert(*measure, *value);
                    a.over.remove(measure);
                }
                a.over.extend(&b.over);
                true
            }
            (Act::Observe { at, signs }, Act::Observe { at: b, signs: more }) if at == b => {
                signs.extend(more);
                true
            }
            (Act::Dose { at, product, .. }, Act::Dose { at: b, product: other, .. }) => {
                at == b && product == other && {
                    old.act = new.act.clone();
                    true
                }
            }
            (Act::Move { to, from, .. }, Act::Move { to: b, from: other, .. }) => {
                to == b && from == other && {
                    old.act = new.act.clone();
                    true
                }
            }
            (a, b)
                if std::mem::discriminant(a) == std::mem::discriminant(b)
                    && place_of(a) == place_of(b)
                    && !matches!(a, Act::Reserve { .. } | Act::Ask { .. }) =>
            {
                *a = b.clone();
                true
            }
            _ => false,
        };
        if joined {
            old.when = new.when.or(old.when.take());
            return;
        }
    }
    acts.push(new);
}

/// Adds the fields of a second finding at the same place; the same state said twice of different fish adds up.
fn join_counts(a: &mut Count, b: &Count) -> bool {
    for field in super::facts_fields() {
        if let Some(n) = super::facts_get(b, field) {
            let sum = super::facts_get(a, field).map_or(n, |old| old.saturating_add(n));
            super::facts_set(a, field, Some(sum));
        }
    }
    a.of = b.of.or(a.of);
    a.all = b.all.or(a.all);
    a.more |= b.more;
    if b.got.is_some() {
        a.got.clone_from(&b.got);
    }
    true
}
