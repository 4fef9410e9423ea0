//! Bare numbers as places: "7.2", "7/2", "7".

use super::{Finder, Found, Place};
use crate::message::item::{Item, What};

impl Finder<'_> {
    /// A bare number or pair of numbers as a place.
    pub(super) fn numbered(&self, at: usize) -> Option<Found> {
        if matches!(self.item(at)?.what, What::Number { spelled: true, parts: None, .. }) {
            return self.spelled(at);
        }
        self.pair(at).or_else(|| self.bare(at))
    }

    /// "seven two all forty alive", "seven all dead": a box or bag in words, at the start and before a number or "all".
    fn spelled(&self, at: usize) -> Option<Found> {
        let boxes = self.vocabulary.boxes.as_ref().filter(|_| self.at_start(at))?;
        let number = self.number(at)?;
        if self.text(at + 1) == "all" && boxes.contains_key(&number) {
            return Some((vec![Place::Box { number }], false, at + 1));
        }
        if !matches!(self.item(at + 1)?.what, What::Number { spelled: true, .. }) {
            return None;
        }
        let place = Place::Bag { number, bag: self.number(at + 1)? };
        let said = self.number(at + 2).is_some() || self.text(at + 2) == "all" || self.mark(at + 2, ':');
        (said && self.known(&place)).then(|| (vec![place], false, at + 2))
    }

    /// "7.2", "7/2", "7-2", "7,2".
    pub(super) fn pair(&self, at: usize) -> Option<Found> {
        let (number, bag, next, sign) = match self.parts(at) {
            Some((number, bag)) => (number, bag, at + 1, '.'),
            None => {
                let sign = ['/', '-'].into_iter().find(|c| self.mark(at + 1, *c))?;
                if !(self.glued(at + 1) && self.glued(at + 2)) {
                    return None;
                }
                (self.number(at)?, self.number(at + 2)?, at + 3, sign)
            }
        };
        if number == 0 || bag == 0 {
            return None;
        }
        let behind = self.item(next);
        let value = |class: &str| behind.and_then(|item| item.value(class));
        let unit = value("unit").is_some_and(|unit| unit != "pcs") && !self.stands_apart(next);
        if unit || value("unit").is_some_and(|unit| !matches!(unit, "pcs" | "drop" | "litre")) {
            return None;
        }
        // "+" or a bound: a reading.
        if self.mark(next, '+') || self.mark(next, '%') {
            return None;
        }
        let before = |class: &str| at > 0 && self.items[at - 1].value(class).is_some();
        let measured = (1..=3).any(|back| {
            at >= back
                && self.items[at - back].value("measure").is_some()
                && (1..back).all(|b| {
                    let item = &self.items[at - b];
                    ["glue", "about", "over", "under", "fix"].iter().any(|class| item.value(class).is_some())
                        || matches!(item.what, What::Mark(_))
                        || self.is(at - b, "at")
                })
        });
        if measured || before("over") || before("about") || before("under") {
            return None;
        }
        // In "25C 7.4 ph 0.5 ammonia" every number stands before its name.
        let numeric = |at: usize| self.item(at).is_some_and(|item| item.number().is_some());
        let run = !self.at_start(at)
            && self.item(next + 2).is_some_and(|item| item.value("measure").is_some())
            && !numeric(next + 3);
        if value("measure").is_some() && (!self.has_number(next + 1) || run) {
            return None;
        }
        let state = value("state").is_some() || value("fish").is_some();
        let place = Place::Bag { number, bag };
        let possible = self.known(&place);
        if sign == '/' || sign == '-' {
            // "38/40 alive" counts fish, "3-4 dead" is a range, "1/2 the water" a half.
            if state && (sign == '-' || number <= bag || !possible) {
                return None;
            }
            let water = |item: Option<&Item>| {
                item.is_some_and(|item| {
                    item.value("water").is_some()
                        || item.value("key").is_some_and(|key| {
                            matches!(key, "swapstrong" | "swapweak" | "off" | "topup" | "out" | "of")
                        })
                })
            };
            let weak_swap = |item: Option<&Item>| water(item) && item.and_then(|item| item.value("key")) != Some("of");
            let previous = at.checked_sub(1).and_then(|at| self.item(at));
            if sign == '/'
                && number < bag
                && bag <= 10
                && (weak_swap(previous) || (water(behind) && !(possible && self.swap_amount(next))))
            {
                return None;
            }
        }
        if sign == '.' && state && !possible {
            return None;
        }
        let fact = self.fact_follows(next);
        let keyed =
            at > 0 && self.stands(at) && !self.at_start(at) && !matches!(self.items[at - 1].what, What::Mark(_));
        let alone = next == self.items.len() && self.at_start(at);
        // "correction: 7.1 …" starts behind its colon.
        let headed = at > 1 && self.mark(at - 1, ':') && (2..=3).any(|back| at >= back && self.at_start(at - back));
        // "put 7.1 in tray 1"
        let moved = (self.is(next, "in") || self.is(next, "into") || self.is(next, "to") || self.mark(next, '>'))
            && possible
            && self.one(next + 1).is_some_and(|(places, unknown, _)| {
                !unknown && places.iter().all(|place| matches!(place, Place::Tank { .. } | Place::Tray { .. }))
            });
        let here = self.at_start(at) || keyed || fact || headed || moved;
        if !here {
            return None;
        }
        if possible {
            if self.vocabulary.boxes.is_none() && !(fact || keyed || alone) {
                return None;
            }
            return Some((vec![place], false, next));
        }
        // A bag that the house does not have asks only where nothing else can be meant.
        let certain =
            (self.at_start(at) && fact) || (keyed && matches!(self.items[at - 1].value("key"), Some("bag" | "open")));
        (certain && sign != '-').then(|| (vec![place], true, next))
    }

    /// "4/3 dumped 1/4": the water word has an amount of its own behind it.
    fn swap_amount(&self, at: usize) -> bool {
        (at + 1..at + 4).any(|at| {
            self.item(at).is_some_and(|item| item.number().is_some() || item.value("fraction").is_some())
                || self.item(at).is_some_and(|item| item.value("key") == Some("mostofit"))
        })
    }

    fn stands_apart(&self, at: usize) -> bool {
        self.item(at).is_some_and(|item| self.tokens[item.first].spaced)
    }

    /// A number by itself as a box, else a tank.
    pub(super) fn bare(&self, at: usize) -> Option<Found> {
        let number = self.number(at)?;
        self.parts(at).is_none().then_some(())?;
        if self.tokens[self.item(at)?.first].text.starts_with('0') || number == 0 {
            return None;
        }
        let next = at + 1;
        let boxes = self.vocabulary.boxes.as_ref();
        let is_box = boxes.is_none_or(|boxes| boxes.contains_key(&number));
        let tank = self.tank_named(&number.to_string());
        let box_place = Place::Box { number };
        let either = |strict: bool| match (&tank, is_box && (boxes.is_some() || !strict)) {
            (_, true) => Some(box_place.clone()),
            (Some(tank), false) => Some(tank.clone()),
            _ => None,
        };
        let key_of = |at: usize| self.item(at).and_then(|item| item.value("key"));
        let behind = self.item(next);
        let class = |class: &str| behind.is_some_and(|item| item.value(class).is_some());
        let previous = at.checked_sub(1).and_then(key_of);
        // "opened up 11", "done with 12"
        let through = matches!(self.text(at.wrapping_sub(1)), "up" | "with" | "on")
            .then(|| at.checked_sub(2).and_then(key_of))
            .flatten();
        let previous = through.filter(|key| matches!(*key, "open" | "done")).or(previous);
        // "ph dropped from 7 to 6.5": numbers of the water.
        if matches!(previous, Some("from" | "to")) && self.measured_before(at) {
            return None;
        }
        // "recheck in 15" is a time.
        if previous == Some("in")
            && at
                .checked_sub(2)
                .and_then(key_of)
                .is_some_and(|key| matches!(key, "recheck" | "check" | "again" | "hold" | "keep"))
        {
            return None;
        }
        let time_mark = self.mark(next, '%') || self.mark(next, '"') || self.mark(next, '/');
        if time_mark || (self.mark(next, '-') && self.glued(next)) || (self.mark(next, '+') && self.glued(next)) {
            return None;
        }
        let quantity = ["state", "sign", "sign?", "unit", "product", "fish", "size", "time", "half", "oclock", "past"]
            .iter()
            .any(|c| class(c) && !(*c == "time" && self.text(next) == "in"))
            || matches!(behind.map(|item| &item.what), Some(What::Species(_) | What::Clock(..)))
            || matches!(key_of(next), Some("more" | "of" | "or" | "for" | "out"));
        // "14 3in oscars": a number before a size counts fish.
        let sized = self.number(next).is_some()
            && (self.item(next + 1).is_some_and(|item| item.value("unit") == Some("inch"))
                || self.mark(next + 1, '"')
                || (self.is(next + 1, "in") && self.glued(next + 1)));
        if sized {
            return None;
        }
        if self.text(next) == "all"
            || matches!(behind.map(|item| &item.what), Some(What::Words(m)) if m.iter().any(|m| m.value == "well") && self.text(next) == "all")
        {
            if let Some(place) = either(false) {
                return (self.at_start(at) || self.stands(at)).then_some((vec![place], false, next));
            }
            return None;
        }
        if key_of(next) == Some("open") || key_of(next) == Some("done") || class("arrive_open") {
            // "7 open", "that's 7 done", "7 is done"
            return is_box.then(|| (vec![box_place.clone()], false, next));
        }
        match previous {
            Some("open") | Some("done") if !quantity => {
                return if is_box {
                    Some((vec![box_place], false, next))
                } else {
                    either(true).map(|p| (vec![p], false, next))
                };
            }
            Some("recheck" | "check" | "hold" | "keep" | "clear") if !quantity => {
                return either(true).map(|place| (vec![place], false, next));
            }
            Some("into" | "in" | "on" | "from" | "off") if !quantity || (class("state") && previous == Some("in")) => {
                let last = next >= self.items.len();
                let place = if previous == Some("into") { tank.clone() } else { either(true) };
                if let Some(place) = place
                    && (previous != Some("on") || last)
                    && (tank.is_some()
                        || last
                        || key_of(next).is_some()
                        || matches!(behind.map(|i| &i.what), Some(What::Mark(_))))
                {
                    return Some((vec![place], false, next));
                }
            }
            Some("to") if !quantity => {
                if let Some(tank) = tank.clone() {
                    return Some((vec![tank], false, next));
                }
            }
            _ => {}
        }
        if matches!(self.text(at.wrapping_sub(1)), "hows" | "how" | "is") && next >= self.items.len() {
            return either(true).map(|place| (vec![place], false, next));
        }
        if !self.at_start(at) || quantity {
            return None;
        }
        // "12 moved to A3": which it is depends on where the fish come from, so the move decides.
        let mover = (next..self.items.len().min(next + 4))
            .find(|at| self.item(*at).is_some_and(|item| item.value("glue").is_none()));
        if mover.and_then(key_of).is_some_and(|key| matches!(key, "move" | "movestrong" | "into" | "to")) {
            return None;
        }
        // "1: 38 ok" in an open box is its bag.
        let bag = Place::Bag { number: self.here_box(), bag: number };
        let has_bag = |place: &Place| self.vocabulary.boxes.is_some() && self.known(place);
        if self.mark(next, ':') && self.fact_follows(next) && tank.is_none() && !is_box && has_bag(&bag) {
            return Some((vec![bag], false, next));
        }
        // At the start, before something that is said of a place.
        // "12 not 10" corrects a number.
        if key_of(next) == Some("not") && self.number(next + 1).is_some() {
            return None;
        }
        let said = self.fact_follows(next)
            || self.mark(next, ':')
            || class("measure") && self.has_number(next + 1)
            || matches!(
                key_of(next),
                Some(
                    "hold"
                        | "keep"
                        | "clear"
                        | "recheck"
                        | "check"
                        | "again"
                        | "swapstrong"
                        | "swapweak"
                        | "open"
                        | "done"
                        | "not"
                        | "into"
                        | "move"
                        | "movestrong"
                        | "ship"
                        | "and"
                        | "release"
                )
            );
        let counted = matches!(key_of(next), Some("to" | "into" | "in"));
        if counted {
            return None;
        }
        let glue_first = class("glue") && !matches!(self.text(next), "is" | "are" | "was" | "has");
        if !said || (glue_first && self.vague_glue(next)) {
            return None;
        }
        match either(false) {
            Some(place) => Some((vec![place], false, next)),
            None => {
                let sure = behind.is_some_and(|item| item.number().is_some()) || class("measure");
                let listed = boxes.is_some() && sure && !self.mark(next, ':');
                listed.then(|| (vec![Place::Box { number }], true, next))
            }
        }
    }

    /// Whether the name of a reading stands before this number, with no mark between.
    fn measured_before(&self, at: usize) -> bool {
        (at.saturating_sub(6)..at)
            .rev()
            .take_while(|n| !matches!(self.items[*n].what, What::Mark(_) | What::Line | What::Place(_)))
            .any(|n| self.items[n].value("measure").is_some())
    }

    /// "9 still gasping" counts nine fish: only words that carry nothing stand between.
    fn vague_glue(&self, at: usize) -> bool {
        (at..self.items.len().min(at + 6))
            .find(|at| self.items[*at].value("glue").is_none())
            .is_some_and(|at| ["state", "sign", "sign?"].iter().any(|class| self.items[at].value(class).is_some()))
    }
}
