//! Places with their kind or letters: "box 7 bag 2", "tank a 12", "tr3", "7b2", "quarantine left".

use super::{Finder, Found, Place, key};
use crate::message::item::What;
use crate::message::token::Kind;

impl Finder<'_> {
    /// "bag 6" behind a named box, with or without marks between.
    pub(super) fn bag_behind(&self, number: u32, at: usize) -> (Place, usize) {
        let skip =
            at + usize::from(self.mark(at, ',') || self.mark(at, '/') || self.mark(at, '-') || self.mark(at, ':'));
        let noun =
            if self.is(skip, "bag") || (self.text(skip) == "b" && self.glued(skip + 1)) { skip + 1 } else { skip };
        if noun > skip
            && let Some(bag) = self.number(noun).filter(|n| *n > 0)
        {
            return (Place::Bag { number, bag }, noun + 1);
        }
        (Place::Box { number }, at)
    }

    /// A box's number behind "of": "box 7", "7", "b7".
    pub(super) fn box_name(&self, at: usize) -> Option<(u32, usize)> {
        let noun = if self.is(at, "box") || (self.text(at) == "b" && self.glued(at + 1)) || self.mark(at, '#') {
            at + 1
        } else {
            at
        };
        let noun = noun + usize::from(self.mark(noun, '#'));
        Some((self.number(noun).filter(|n| *n > 0)?, noun + 1))
    }

    /// Letters and digits of up to three items that make one name ("a12", "A-12", "q1"), and the index behind it.
    fn joined(&self, at: usize, spaced: bool) -> Option<(String, usize)> {
        let item = self.item(at)?;
        if item.end - item.first != 1 || self.tokens[item.first].kind != Kind::Word {
            return None;
        }
        let letters = self.text(at);
        // The "h" of "6h30" belongs to the number before it.
        if self.glued(at) && at > 0 && self.items[at - 1].number().is_some() {
            return None;
        }
        if letters.chars().count() > 12 {
            return None;
        }
        let dash = usize::from(self.mark(at + 1, '-') && self.glued(at + 1) && self.glued(at + 2));
        let digits = at + 1 + dash;
        let spelled = matches!(self.item(digits)?.what, What::Number { spelled: true, .. });
        if !self.glued(digits) && !spaced {
            return None;
        }
        let number = self.number(digits)?;
        // "tank r three"
        if spelled {
            let short = letters.chars().count() <= 2 && at > 0 && self.is(at - 1, "tank");
            return short.then(|| (format!("{letters}{number}"), digits + 1));
        }
        let run = &self.tokens[self.item(digits)?.first].text;
        let tail = self.tail(digits);
        match tail {
            Some(tail) if self.tank_named(&format!("{letters}{run}{tail}")).is_some() => {
                Some((format!("{letters}{run}{tail}"), digits + 2))
            }
            _ if run.chars().all(|c| c.is_ascii_digit()) && number < 10_000 => {
                Some((format!("{letters}{run}"), digits + 1))
            }
            _ => None,
        }
    }

    /// A letter glued behind a number, as in "A1b".
    fn tail(&self, digits: usize) -> Option<&str> {
        let next = self.item(digits + 1)?;
        (self.glued(digits + 1) && self.tokens[next.first].kind == Kind::Word && next.end - next.first == 1)
            .then(|| self.text(digits + 1))
    }

    /// A tank or tray whose name is made of words ("quarantine left", "qt").
    fn worded(&self, at: usize) -> Option<Found> {
        let first = self.item(at)?.first;
        let ends = |words: usize| self.items.binary_search_by_key(&(first + words), |item| item.end).ok();
        let (place, last) = self.rooms.worded(&self.tokens[first..], ends)?;
        Some((vec![place], false, last + 1))
    }

    /// One place named at `at`.
    pub(super) fn one(&self, at: usize) -> Option<Found> {
        let item = self.item(at)?;
        // The world's own spelling comes first, unless "bag" follows a "b4".
        if let Some(found) = self.worded(at) {
            let bag = self.is(found.2, "bag") && self.number(found.2 + 1).is_some();
            if !(bag && self.text(at) == "b") {
                return Some(found);
            }
        }
        match item.value("key") {
            Some("box") => {
                let noun = at + 1 + usize::from(self.mark(at + 1, '#'));
                let noun = noun + usize::from(self.text(noun) == "no" || self.text(noun) == "number");
                return self.box_at(noun);
            }
            Some("bag") => return self.bag_at(at),
            Some("tray") => {
                let tray = self.tokens[self.item(at + 1)?.first].text.clone();
                if self.number(at + 1).is_some() {
                    return self.found(Place::Tray { tray: self.number(at + 1)?.to_string() }, at + 2);
                }
                if let Some((name, next)) = self.joined(at + 1, false) {
                    return match self.tray_named(&name) {
                        Some(tray) => Some((vec![tray], false, next)),
                        None => Some((vec![Place::Tray { tray: name.to_uppercase() }], true, next)),
                    };
                }
                let place = self.tray_named(&key(&tray))?;
                return Some((vec![place], false, at + 2));
            }
            Some("tank") => return self.tank_at(at + 1),
            Some("lot") => {
                let noun = at + 1 + usize::from(self.mark(at + 1, '#'));
                let noun = noun + usize::from(self.text(noun) == "no" || self.text(noun) == "number");
                return self.found(Place::Lot { lot: self.number(noun)? }, noun + 1);
            }
            _ => {}
        }
        if self.mark(at, '#') && self.glued(at + 1) {
            return self.box_at(at + 1);
        }
        if let Some(found) = self.lettered(at) {
            return Some(found);
        }
        self.numbered(at)
    }

    /// A box's number at `at`, with the bag that may follow.
    fn box_at(&self, at: usize) -> Option<Found> {
        if let Some((number, bag)) = self.parts(at)
            && !self.is(at + 1, "bag")
            && number > 0
        {
            return self.found(Place::Bag { number, bag }, at + 1);
        }
        let number = self.number(at).filter(|n| *n > 0)?;
        if (self.mark(at + 1, '/') || self.mark(at + 1, '-'))
            && self.glued(at + 1)
            && self.glued(at + 2)
            && let Some(bag) = self.number(at + 2)
            && self.known(&Place::Bag { number, bag })
            && self.text(at.saturating_sub(1)) != "boxes"
        {
            return self.found(Place::Bag { number, bag }, at + 3);
        }
        let (place, next) = self.bag_behind(number, at + 1);
        self.found(place, next)
    }

    /// "bag 2", "bag two", "bag 2 of box 7", "bag 7.2".
    fn bag_at(&self, at: usize) -> Option<Found> {
        let noun = at + 1 + usize::from(self.mark(at + 1, '#'));
        let noun = noun + usize::from(self.text(noun) == "no" || self.text(noun) == "number");
        if let Some((number, bag)) = self.parts(noun) {
            return self.found(Place::Bag { number, bag }, noun + 1);
        }
        let bag = self.number(noun).filter(|n| *n > 0)?;
        if (self.mark(noun + 1, '/') || self.mark(noun + 1, '-'))
            && self.glued(noun + 1)
            && self.glued(noun + 2)
            && self.text(at) != "bags"
            && let Some(second) = self.number(noun + 2)
            && self.known(&Place::Bag { number: bag, bag: second })
        {
            return self.found(Place::Bag { number: bag, bag: second }, noun + 3);
        }
        let of = noun + 1 + usize::from(self.mark(noun + 1, ','));
        if (self.is(of, "of") || self.is(of, "in") || self.is(of, "from") || self.is(of, "box"))
            && let Some((number, next)) = self.box_name(if self.is(of, "box") { of } else { of + 1 })
            && (self.is(of, "of")
                || self.is(of, "box")
                || self.is(of + 1, "box")
                || self.vocabulary.boxes.as_ref().is_none_or(|boxes| boxes.contains_key(&number)))
        {
            return self.found(Place::Bag { number, bag }, next);
        }
        self.found(Place::Bag { number: self.here_box(), bag }, noun + 1)
    }

    /// A tank's name behind the word "tank".
    fn tank_at(&self, at: usize) -> Option<Found> {
        if let Some((name, next)) = self.joined(at, true) {
            let place = self.tank_named(&name);
            let unknown = place.is_none() && self.vocabulary.tanks.is_some();
            return Some((vec![place.unwrap_or(Place::Tank { tank: name.to_uppercase() })], unknown, next));
        }
        if let Some(found) = self.worded(at) {
            return Some(found);
        }
        let number = self.number(at)?;
        let unit = self.item(at + 1).is_some_and(|item| item.value("unit").is_some_and(|unit| unit != "pcs"));
        if unit && self.tank_named(&number.to_string()).is_none() {
            return None;
        }
        self.found(Place::Tank { tank: number.to_string() }, at + 1)
    }

    /// "a12", "b4", "t3", "7b2", "c 2".
    pub(super) fn lettered(&self, at: usize) -> Option<Found> {
        // "7b2" and "7 bag two"
        if let Some(number) = self.number(at).filter(|n| *n > 0)
            && !matches!(self.item(at)?.what, What::Number { spelled: true, .. })
        {
            let b = self.text(at + 1) == "b" && self.glued(at + 1) && self.glued(at + 2);
            if (b || self.is(at + 1, "bag"))
                && self.text(at + 1) != "bags"
                && let Some(bag) = self.number(at + 2)
                && (b || self.stands(at))
            {
                return self.found(Place::Bag { number, bag }, at + 3);
            }
        }
        let short = self.text(at).chars().count() <= 2;
        if let Some((name, next)) = self.joined(at, false).filter(|_| short) {
            let letters: String = name.chars().take_while(|c| c.is_alphabetic()).collect();
            let number: u32 = name[letters.len()..].parse().ok()?;
            let bag_follows = self.is(next, "bag") && self.number(next + 1).is_some();
            if let Some(tank) = self.tank_named(&name).filter(|_| !(letters == "b" && bag_follows)) {
                return Some((vec![tank], false, next));
            }
            if let Some(tray) = self.tray_named(&name) {
                return Some((vec![tray], false, next));
            }
            let boxes = self.vocabulary.boxes.as_ref();
            if letters == "b" && number > 0 {
                let is_box = boxes.map_or(bag_follows, |boxes| boxes.contains_key(&number)) || bag_follows;
                if is_box {
                    let (place, next) = self.bag_behind(number, next);
                    return self.found(place, next);
                }
            }
            if letters == "t" && !(self.vocabulary.trays.is_none() && self.vocabulary.tanks.is_none()) {
                return self.found(Place::Tray { tray: number.to_string() }, next);
            }
            if letters == "t" {
                return self.found(Place::Tray { tray: number.to_string() }, next);
            }
            // A word or a unit with a number behind it is no name.
            if self.item(at)?.value("measure").is_some() || self.item(at)?.value("half").is_some() {
                return None;
            }
            if self.vocabulary.tanks.is_none() {
                return Some((vec![Place::Tank { tank: name.to_uppercase() }], false, next));
            }
            let ordinary = letters == "x" || self.item(at)?.value("key").is_some_and(|key| key != "of");
            return (!ordinary).then(|| (vec![Place::Tank { tank: name.to_uppercase() }], true, next));
        }
        // "c 2" where a name can stand and the house has it
        let (name, next) = self.joined(at, true).filter(|_| self.text(at).chars().count() == 1)?;
        let tank = self.tank_named(&name)?;
        let behind = self.item(next);
        let noun = behind.is_some_and(|item| item.value("unit").is_some() || item.what == What::Unknown);
        (self.stands(at) && !noun).then(|| (vec![tank], false, next))
    }
}
