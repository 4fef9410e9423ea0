//! Looks to come, holds and releases.

use super::Fact;
use crate::message::item::What;
use crate::message::message_text::{Message, Mood};
use crate::message::place_words::nowhere;
use crate::message::times::{Until, hh_mm};
use crate::message::{Act, Doubt, Place, Wanted};
use crate::quantity::Finite;

/// Words that are no reason when they open one.
const OPENERS: [&str; 22] = [
    "because",
    "bc",
    "cos",
    "coz",
    "cuz",
    "since",
    "as",
    "for",
    "anyway",
    "please",
    "pls",
    "plz",
    "thanks",
    "thx",
    "ta",
    "cheers",
    "cause",
    "anyways",
    "despite",
    "regardless",
    "and",
    "so",
];
/// Words that are no reason when they close one.
const CLOSERS: [&str; 10] = ["please", "pls", "plz", "thanks", "thx", "ta", "cheers", "anyway", "anyways", "because"];

impl Message<'_> {
    /// The sender's own words from this item on, without openers, closers and marks.
    pub(crate) fn words_from(&self, at: usize, to: usize) -> Option<String> {
        let first = self.items.get(at)?.first;
        let end = self.items.get(to.checked_sub(1)?)?.end;
        if first >= end {
            return None;
        }
        let (mut first, mut end) = (first, end);
        let mark = |n: usize| !crate::message::message_text::is_wordlike(&self.tokens[n]);
        let quote = |n: usize| matches!(self.tokens[n].text.as_str(), "%" | "°" | "\"" | "#" | "£" | "€");
        while first < end
            && (mark(first) && !matches!(self.tokens[first].text.as_str(), "#" | "£" | "€")
                || OPENERS.contains(&self.tokens[first].text.as_str()))
        {
            first += 1;
        }
        while end > first && (mark(end - 1) && !quote(end - 1) || CLOSERS.contains(&self.tokens[end - 1].text.as_str()))
        {
            end -= 1;
        }
        (first < end).then(|| self.text[self.tokens[first].start..self.tokens[end - 1].end].trim().to_owned())
    }

    /// The end of the reason that starts at `at`: a new place with something to say closes it.
    fn reason_end(&self, at: usize) -> usize {
        let mut n = at;
        while n < self.items.len() {
            if matches!(self.items[n].what, What::Line) {
                return n;
            }
            let breaks = n > at && matches!(self.items[n - 1].what, What::Mark('.' | ',' | ';' | '!'));
            if breaks
                && self.place(n).is_some()
                && n + 1 < self.items.len()
                && !matches!(self.items[n + 1].what, What::Unknown)
            {
                return n;
            }
            n += 1;
        }
        n
    }

    /// "recheck A1 in 40 min", "look at A12 again in 2h", "b3 check @ 0515".
    pub(super) fn rechecks(&mut self, start: usize, end: usize, facts: &mut Vec<Fact>) {
        let mood = self.mood.get(start).copied().unwrap_or(Mood::Report);
        let requested = self.layer(start, end, "mood").any(|layer| layer.meaning.value == "order");
        if start >= end || mood == Mood::Condition || (mood == Mood::Question && !requested) {
            return;
        }
        let trigger = (start..end).find(|n| self.key(*n, "recheck"));
        let check = (start..end).find(|n| self.key(*n, "check"));
        let again = (start..end).find(|n| self.key(*n, "again"));
        let placed = self.has_place(start, end);
        let strong = trigger.is_some() || (check.is_some() && again.is_some());
        let Some(at) = trigger.or(check).or(again.filter(|_| placed)) else { return };
        if self.negated(at) || (start..at).any(|n| matches!(self.text_at(n), "no" | "dont" | "never")) {
            return;
        }
        // "4 dead again", "rechecked, all ok": what was seen, not what is to come.
        let mut time = None;
        for n in start..end {
            let Some((minutes, next)) = self.minutes(n) else { continue };
            let marked = n > start
                && (self.any_key(n - 1, &["in", "for"])
                    || matches!(self.text_at(n - 1), "about" | "another" | "like" | "after" | "within"));
            let bare = n == at + 1 || (n > start && self.place(n - 1).is_some() && trigger.is_some());
            if marked || bare || self.text_at(next) == "time" {
                time = Some((When::In(minutes.round() as u32), n, next));
                break;
            }
        }
        if time.is_none() {
            for n in start..end {
                let marked =
                    n > start && (self.key(n - 1, "at") || matches!(self.text_at(n - 1), "by" | "around" | "about"));
                let Some((clock, next)) = self.clock(n, marked) else { continue };
                let telling = marked
                    || self.is_clock(n)
                        && self.item(n).is_some_and(|item| {
                            item.number().is_none() || self.value(n + 1, "half").is_some() || self.text_at(n).len() == 4
                        });
                if telling && let Some(to_come) = clock.next(self.now) {
                    time = Some((When::At(hh_mm(to_come)), n, next));
                    break;
                }
            }
        }
        // "in 40" without a unit are minutes in nobody's book; "in a bit" is no time.
        let vague = (start..end).find(|n| {
            self.value(*n, "time") == Some("vaguetime")
                || matches!(self.value(*n, "time"), Some("tomorrow" | "morning"))
        });
        let unitless = (start..end).find(|n| {
            self.key(*n, "in")
                && self.item(n + 1).is_some_and(|item| item.number().is_some())
                && self.item(n + 2).is_none_or(|item| matches!(item.what, What::Mark(_) | What::Line))
                && time.is_none()
        });
        // "again in 45" are minutes; of "in 2" one cannot be sure.
        if let Some(n) = unitless
            && let Some(minutes) = self.items[n + 1].whole().filter(|minutes| (5..=240).contains(minutes))
        {
            time = Some((When::In(minutes), n, n + 2));
        }
        let unitless = unitless.filter(|_| time.is_none());
        let plan = mood == Mood::Plan || mood == Mood::Order;
        let facts_inside = (start..end).any(|n| self.value(n, "state").is_some() || self.value(n, "sign").is_some());
        match (&time, strong) {
            (None, true) if plan || (trigger.is_none() && facts_inside) => return,
            (None, false) if !placed || (vague.is_none() && unitless.is_none()) || plan || facts_inside => return,
            (Some(_), false) if check.is_none() && facts_inside => return,
            _ => {}
        }
        if trigger.is_none() && check.is_none() && time.is_none() && unitless.is_none() && vague.is_none() {
            return;
        }
        if !self.trusted(at, false) {
            return;
        }
        // What is looked at stands behind the word ("into A9 and recheck A9"), else before it.
        let own =
            (at..end).find_map(|n| self.place(n)).or_else(|| (start..at).rev().find_map(|n| self.place(n))).cloned();
        let (in_min, clock) = match &time {
            Some((When::In(minutes), _, _)) => (Some(*minutes), None),
            Some((When::At(clock), _, _)) => (None, Some(clock.clone())),
            None => (None, None),
        };
        let mut fact = Fact::new(Act::Recheck { at: nowhere(), in_min, clock }, at, at + 1);
        // The place in the clause is what is looked at; one before holds otherwise.
        if let Some(mention) = own {
            fact = fact.at(&mention);
        }
        if time.is_none() && (vague.is_some() || unitless.is_some()) {
            fact.doubt = Some((Doubt::WhenExactly, Wanted::Number("in_min".into())));
        }
        let taken: Vec<usize> =
            (start..end).filter(|n| self.any_key(*n, &["recheck", "check", "again", "in", "at"])).collect();
        for n in taken {
            self.take(n, n + 1);
        }
        if let Some((_, n, next)) = time {
            self.take(n, next);
        }
        if let Some(n) = vague {
            self.take(n, n + 1);
        }
        if let Some(n) = unitless {
            self.take(n, n + 2);
        }
        facts.push(fact);
    }

    /// "hold A12 48h because the vet wants samples", "keep B4 till friday".
    pub(super) fn holds(&mut self, start: usize, end: usize, facts: &mut Vec<Fact>) {
        let mood = self.mood.get(start).copied().unwrap_or(Mood::Report);
        if start >= end || matches!(mood, Mood::Question | Mood::Condition) {
            return;
        }
        let Some(at) = (start..end).find(|n| self.any_key(*n, &["hold", "keep"]) && self.free(*n)) else { return };
        if self.negated(at) && !matches!(self.text_at(at), "not" | "no" | "dont" | "do") {
            return;
        }
        if (start..end).any(|n| matches!(self.items[n].what, What::Buyer(_))) {
            return;
        }
        // "hold on a sec" and "hold off" hold nothing.
        if matches!(self.text_at(at + 1), "on" | "off") && self.place(at + 2).is_none() {
            return;
        }
        let keep = self.key(at, "keep");
        let mut last = at + 1;
        let mut own = None;
        let mut hours = None;
        let mut until = None;
        let mut doubt = None;
        let mut back = false;
        for n in start..end {
            if let Some(mention) = self.place(n) {
                // A place behind the length belongs to the reason.
                if own.is_none() && (n < at || (hours.is_none() && until.is_none())) {
                    own = Some(mention.clone());
                    last = last.max(n + 1);
                }
            }
            if n > at && self.key(n, "back") && n <= at + 3 {
                back = true;
                last = last.max(n + 1);
            }
        }
        let mut n = at + 1;
        while n < end {
            if self.key(n, "until")
                || (self.text_at(n) == "to"
                    && until.is_none()
                    && self.item(n + 1).is_some_and(|item| item.value("weekday").is_some()))
            {
                match self.until(n + 1) {
                    Some((Until::At(time), next)) => {
                        until = Some(time);
                        last = last.max(next);
                    }
                    Some((Until::Open, next)) => last = last.max(next),
                    Some((Until::Doubtful, next)) => {
                        doubt = Some((Doubt::WhenExactly, Wanted::Number("hours".into())));
                        last = last.max(next);
                    }
                    None => doubt = Some((Doubt::WhenExactly, Wanted::Number("hours".into()))),
                }
                break;
            }
            if self.key(n, "because") && self.text_at(n) != "for" {
                break;
            }
            if hours.is_none()
                && let Some((minutes, next)) = self.minutes(n)
            {
                hours = Some(minutes / 60.0);
                last = last.max(next);
                n = next;
                continue;
            }
            n += 1;
        }
        // "24h hold"
        if hours.is_none() && until.is_none() && doubt.is_none() {
            hours = (start..at)
                .find_map(|n| self.minutes(n))
                .filter(|(_, end)| *end <= at)
                .map(|(minutes, _)| minutes / 60.0);
        }
        // The day may stand behind a comma or a full line: "hold A12, till friday".
        let timed = hours.is_some() || until.is_some() || doubt.is_some();
        let quarantine = self.text_at(at).starts_with("quarantin");
        if keep && !(timed || back) {
            // "keep A1 warm" wishes; it tells nothing of the fish.
            self.take(at, end);
            return;
        }
        if keep && hours.is_some() && until.is_none() && !back && own.is_none() {
            return;
        }
        if own.is_none() && !timed {
            return;
        }
        if quarantine && own.is_none() && !timed || !self.trusted(at, false) && own.is_none() {
            return;
        }
        // "hold A12 48": of what?
        if !timed
            && let Some(n) = (last..end).find(|n| self.item(*n).is_some_and(|item| item.number().is_some()))
            && n == last
        {
            doubt = Some((Doubt::WhenExactly, Wanted::Number("hours".into())));
            last = n + 1;
        }
        let vague = (last..end).find(|n| self.value(*n, "time") == Some("vaguetime"));
        if let Some(n) = vague.filter(|_| !timed) {
            doubt = Some((Doubt::WhenExactly, Wanted::Number("hours".into())));
            last = n + 1;
        }
        let reason = self.reason_end(last);
        let why = if last < reason { self.words_from(last, reason) } else { None };
        let act = Act::Hold { at: nowhere(), hours: hours.and_then(Finite::new), until, why };
        let mut fact = Fact::new(act, at, last);
        if let Some(mention) = own {
            fact = fact.at(&mention);
        }
        fact.doubt = doubt;
        self.take(at, reason);
        // What leads up to the word is spent, but for facts of their own.
        for n in start..at {
            if self.place(n).is_none() && self.is_glue(n) {
                self.take(n, n + 1);
            }
        }
        facts.push(fact);
    }

    /// "A12 is clear", "release 30 from A12", "clear A4 anyway, boss signed it off".
    pub(super) fn clears(&mut self, facts: &mut Vec<Fact>) {
        for at in 0..self.items.len() {
            let release = self.key(at, "release");
            let cleared_out = self.key(at, "clearedout");
            if !(self.key(at, "clear") || release || cleared_out) || !self.free(at) || !self.reports(at) {
                continue;
            }
            let (from, to) = self.clause_bounds(at);
            let (start, stop) = self.sentence_bounds(at);
            if (start..stop).any(|n| matches!(self.text_at(n), "customs"))
                || self.negated(at)
                || self.is_not_yet(at, to)
            {
                continue;
            }
            // "clear eyes" is no release.
            let behind = at + 1;
            let noun = behind < to
                && self.place(behind).is_none()
                && (self.is_foreign(behind)
                    || self.value(behind, "sign").is_some()
                    || self.value(behind, "measure").is_some())
                && !release;
            if noun {
                continue;
            }
            // "release 30 into A12" is a move.
            if (at..to).any(|n| self.key(n, "into")) {
                continue;
            }
            let watery = (from..to).any(|n| self.value(n, "water").is_some());
            if watery && !release {
                if self.text_at(at).starts_with("clear") && !cleared_out {
                    let signs = std::collections::BTreeSet::from([crate::message::Sign::ClearWater]);
                    facts.push(Fact::new(Act::Observe { at: nowhere(), signs }, at, at + 1));
                }
                self.take(at, at + 1);
                continue;
            }
            let own = (from..to).find_map(|n| self.place(n).cloned());
            let referred = (at + 1..to).any(|n| matches!(self.text_at(n), "it" | "them"));
            if own.is_none() && !referred {
                continue;
            }
            if cleared_out {
                if own.as_ref().is_some_and(|mention| {
                    mention.places.iter().any(|place| matches!(place, Place::Tank { .. } | Place::Lot { .. }))
                }) {
                    let act = Act::Clear { at: nowhere(), count: None, anyway: None };
                    let fact = Fact::new(act, at, at + 1).doubted(Doubt::ClearedOut, Wanted::Number("count".into()));
                    facts.push(match &own {
                        Some(mention) => fact.at(mention),
                        None => fact,
                    });
                }
                self.take(at, at + 1);
                continue;
            }
            let foreign_object = own.is_none() && (from..to).any(|n| self.is_foreign(n));
            if foreign_object {
                continue;
            }
            let anyway_at = (at..self.items.len())
                .take_while(|n| self.sentence[*n] == self.sentence[at])
                .find(|n| self.key(*n, "anyway"));
            let anyway = anyway_at.and_then(|n| self.words_from(n, self.reason_end(n)));
            let number = (from..to).chain(to..stop).find_map(|n| {
                let count =
                    self.item(n)?.whole().filter(|_| self.free(n) && anyway_at.is_none_or(|other| n < other))?;
                let fishy = self.value(n + 1, "fish").is_some()
                    || self.any_key(n + 1, &["from", "of", "in"])
                    || matches!(self.item(n + 1).map(|item| &item.what), Some(What::Species(_)));
                let next_to = n == at + 1 || n + 1 == at || self.place(n.wrapping_sub(1)).is_some();
                let unit = self.value(n + 1, "unit").is_some_and(|unit| unit != "pcs");
                let state = self.value(n + 1, "state").is_some_and(|state| state != "sound")
                    || self.value(n + 1, "sign").is_some();
                // "A1 clear, 40 pcs"
                let alone = n == to
                    && self.value(n + 1, "unit") == Some("pcs")
                    && self.item(n + 2).is_none_or(|item| matches!(item.what, What::Mark(_) | What::Line));
                (fishy || alone || n < to && next_to).then_some((n, count)).filter(|_| !unit && !state)
            });
            let act = Act::Clear { at: nowhere(), count: number.map(|(_, count)| count), anyway };
            let mut fact = Fact::new(act, at, at + 1);
            if let Some(mention) = &own {
                let kinds = mention.places.iter().all(|place| matches!(place, Place::Tank { .. } | Place::Lot { .. }));
                if kinds || mention.unknown {
                    fact = fact.at(mention);
                } else {
                    fact.bind = super::Bind::Settled;
                    fact.doubt = Some((Doubt::WhichPlace, Wanted::Place));
                }
                if mention.places.len() > 1 && number.is_some() {
                    fact.doubt = Some((Doubt::HowMany("count".into()), Wanted::Number("count".into())));
                }
            }
            if let Some((n, _)) = number {
                let end = n + 1 + usize::from(self.value(n + 1, "fish").is_some());
                self.take(n, end);
            }
            self.take(at, at + 1);
            if let Some(n) = anyway_at {
                let end = self.reason_end(n);
                self.take(n, end);
            }
            facts.push(fact);
        }
    }

    fn is_not_yet(&self, at: usize, to: usize) -> bool {
        self.text_at(at + 1) == "yet" && at + 2 >= to && self.negated(at)
    }
}

enum When {
    In(u32),
    At(String),
}
