//! Lists and ranges of places: "A1-A4", "trays 1, 2 and 4", "7 and 8".

use super::{Finder, Found, Place, key};
use crate::message::item::What;
use crate::message::token::Kind;

fn kind_rank(place: &Place) -> u8 {
    match place {
        Place::Box { .. } => 0,
        Place::Bag { .. } => 1,
        Place::Tray { .. } => 2,
        Place::Tank { .. } => 3,
        Place::Lot { .. } => 4,
    }
}

/// The part of a name before its number, and the number.
fn stem(place: &Place) -> Option<(String, u32)> {
    let split = |name: &str| {
        let digits = name.chars().rev().take_while(char::is_ascii_digit).count();
        let (prefix, number) = name.split_at(name.len() - digits);
        Some((prefix.to_lowercase(), number.parse().ok()?))
    };
    match place {
        Place::Box { number } => Some((String::new(), *number)),
        Place::Bag { number, bag } => Some((format!("bag of {number}"), *bag)),
        Place::Tray { tray } => split(tray),
        Place::Tank { tank } => split(tank),
        Place::Lot { lot } => Some((String::new(), *lot)),
    }
}

fn with_number(like: &Place, prefix: &str, n: u32) -> Place {
    match like {
        Place::Box { .. } => Place::Box { number: n },
        Place::Bag { number, .. } => Place::Bag { number: *number, bag: n },
        Place::Tray { .. } => Place::Tray { tray: format!("{}{n}", prefix.to_uppercase()) },
        Place::Tank { .. } => Place::Tank { tank: format!("{}{n}", prefix.to_uppercase()) },
        Place::Lot { .. } => Place::Lot { lot: n },
    }
}

impl Finder<'_> {
    /// A range's second end behind the first.
    pub(super) fn range(&self, start: usize, first: &Place, at: usize) -> Option<Found> {
        let dash = self.mark(at, '-');
        let to = self.is(at, "to") || self.is(at, "range") || self.is(at, "until");
        if !(dash || to) {
            return None;
        }
        if to && self.is_move(start, at) {
            return None;
        }
        let second = at + 1;
        let (last, next) = match self.one_named_like(first, second) {
            Some(found) => found,
            None => {
                // "A1-4", "trays 1-3"
                let number = self.number(second).filter(|_| !dash || self.glued(at) && self.glued(second))?;
                if dash && self.item(second + 1).is_some_and(|item| item.value("unit").is_some()) {
                    return None;
                }
                if to && !(start..at).any(|at| self.plural(at)) {
                    return None;
                }
                (number, second + 1)
            }
        };
        let (prefix, from) = stem(first)?;
        if last <= from || last - from > 200 {
            return None;
        }
        let places: Vec<Place> = (from + 1..=last).map(|n| with_number(first, &prefix, n)).collect();
        let places: Vec<Place> = places
            .into_iter()
            .map(|place| match place {
                Place::Tank { tank } => self.tank_named(&key(&tank)).unwrap_or(Place::Tank { tank }),
                other => other,
            })
            .collect();
        let unknown = places.iter().any(|place| !self.known(place));
        Some((places, unknown, next))
    }

    fn plural(&self, start: usize) -> bool {
        matches!(self.text(start), "trays" | "boxes" | "tanks" | "bags" | "lots" | "tubs" | "cartons" | "ctns" | "bxs")
    }

    /// Whether "A1 to A4" moves fish rather than names a range.
    fn is_move(&self, start: usize, at: usize) -> bool {
        let before = self.items[..start].iter().rev().take_while(|item| !matches!(item.what, What::Line));
        let moving = before.into_iter().any(|item| matches!(item.value("key"), Some("movestrong" | "from" | "ship")));
        // Behind a range something is said of it.
        let (_, end) = match self.one(at + 1) {
            Some((_, _, next)) => ((), next),
            None => ((), at + 2),
        };
        // "20 C1 to C5"
        let noun = |at: usize| {
            self.item(at).is_some_and(|item| {
                matches!(item.what, What::Species(_))
                    || item.value("fish").is_some()
                    || item.value("unit") == Some("pcs")
            })
        };
        let counted = start > 0 && self.number(start - 1).is_some()
            || start > 1 && noun(start - 1) && self.number(start - 2).is_some();
        moving || (end >= self.items.len() && (start == 0 || counted) && !self.plural(start))
    }

    /// The number of a place of the same kind and stem as `first`.
    fn one_named_like(&self, first: &Place, at: usize) -> Option<(u32, usize)> {
        if self.number(at).is_some() {
            return None;
        }
        let (places, _, next) = self.one(at)?;
        let [place] = places.as_slice() else { return None };
        let ((a, _), (b, number)) = (stem(first)?, stem(place)?);
        (a == b && std::mem::discriminant(first) == std::mem::discriminant(place)).then_some((number, next))
    }

    /// One more place of a list.
    pub(super) fn another(&self, start: usize, places: &[Place], at: usize) -> Option<Found> {
        let mut next = at;
        // "A1 A2 A3 ok", "trays 1 2 3": names in a row are a list.
        let last_place = places.last()?;
        if let Some((more, bad, end)) = self.row(start, last_place, next) {
            return Some((more, bad, end));
        }
        let comma = self.mark(next, ',');
        let sign = self.is(next, "and") || self.mark(next, '/') || self.mark(next, '+') || self.mark(next, '&');
        if !(comma || sign) {
            return None;
        }
        next += 1;
        let and = comma && self.is(next, "and");
        if and {
            next += 1;
        }
        // "4 dead in A1, A2 ok": a place that closes a fact starts no list with a comma.
        let closes = start > 0
            && self.items[start - 1]
                .value("key")
                .is_some_and(|key| matches!(key, "in" | "on" | "of" | "off" | "from" | "at"))
            && start > 1;
        if closes && comma && !and && !self.list_ends(next) {
            return None;
        }
        let last = places.last()?;
        if let Some((more, bad, end)) = self.one(next) {
            let same = more.first().is_some_and(|place| kind_rank(place) == kind_rank(last));
            let bare = self.number(next).is_some()
                && self.item(next).is_some_and(|i| i.end - i.first == 1)
                && self.parts(next).is_none();
            let followed_by_kind = !self.is(end, "bag");
            if same && !bare && followed_by_kind {
                return Some((more, bad, end));
            }
            if !bare {
                return None;
            }
        }
        // "trays 1, 2 and 4", "7 and 8 open": a number by itself.
        let number = self.number(next)?;
        if matches!(self.item(next)?.what, What::Number { spelled: true, .. }) && !self.plural(start) {
            return None;
        }
        let counted = self.item(next + 1).is_some_and(|item| {
            ["state", "sign", "sign?", "unit", "product", "fish", "size"]
                .iter()
                .any(|class| item.value(class).is_some())
                || matches!(item.what, What::Species(_))
                || item.value("key").is_some_and(|key| matches!(key, "more" | "of"))
        });
        let measured = self.item(next + 1).is_some_and(|item| item.value("unit").is_some()) || self.mark(next + 1, '%');
        if measured {
            return None;
        }
        let listed = self.plural(start) || self.number(start).is_some() || !comma || self.numbers_end_with_and(next);
        if counted && !self.plural(start) || !listed {
            return None;
        }
        let (prefix, _) = stem(last)?;
        if !prefix.is_empty() && !self.plural(start) {
            return None;
        }
        let place = match with_number(last, &prefix, number) {
            Place::Tank { tank } => self.tank_named(&key(&tank)).unwrap_or(Place::Tank { tank }),
            other => other,
        };
        if !self.known(&place) && !self.plural(start) {
            return None;
        }
        self.found(place, next + 1)
    }

    /// One more place without any mark before it.
    fn row(&self, start: usize, last: &Place, at: usize) -> Option<Found> {
        if self.plural(start)
            && let Some(number) = self.number(at)
            && let Some((prefix, _)) = stem(last)
            && (self.number(at + 1).is_some()
                || self.tokens.get(self.item(at)?.end).is_some_and(|token| token.kind == Kind::Word))
        {
            let counted = self.counts(at + 1) || self.item(at + 1).is_some_and(|item| item.value("unit").is_some());
            let place = with_number(last, &prefix, number);
            return (!counted && self.known(&place)).then(|| (vec![place], false, at + 1));
        }
        let (more, bad, end) = self.lettered(at).or_else(|| self.parts(at).and_then(|_| self.pair(at)))?;
        let same = more.first().is_some_and(|place| kind_rank(place) == kind_rank(last));
        (same && !bad && start + 1 < self.items.len()).then_some((more, bad, end))
    }

    /// "3 and 4" behind "tray 2,": whether a list of numbers ends with "and".
    fn numbers_end_with_and(&self, at: usize) -> bool {
        let mut at = at;
        for _ in 0..12 {
            if self.number(at).is_none() || self.counts(at + 1) {
                return false;
            }
            if self.is(at + 1, "and") && self.number(at + 2).is_some() {
                return !self.counts(at + 3);
            }
            if !self.mark(at + 1, ',') {
                return false;
            }
            at += 2;
        }
        false
    }

    /// Whether nothing but the end of the clause follows the place at `at`.
    fn list_ends(&self, at: usize) -> bool {
        self.one(at).is_some_and(|(_, _, end)| {
            end >= self.items.len()
                || matches!(self.items[end].what, What::Line | What::Mark('.' | ';'))
                || (self.is(end, "and") && self.one(end + 1).is_some())
        })
    }
}
