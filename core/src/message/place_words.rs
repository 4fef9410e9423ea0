//! Places in a message: which words name a box, bag, tray, tank or lot, and which of them the house has.

use std::collections::BTreeMap;

use super::Place;
use super::Vocabulary;
use super::item::{Item, What};
use super::token::{Kind, Token, tokens};

/// Places named together, in the order of the text.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Mention {
    /// What was named; where `unknown`, only the form of it.
    pub places: Vec<Place>,
    /// A name that the house does not have, or a "next bag" of nothing.
    pub unknown: bool,
    /// "all", "each" or a list: several places on purpose.
    pub relative: bool,
}

/// The place of an act while it is being asked for.
pub(crate) fn nowhere() -> Place {
    Place::Tank { tank: String::new() }
}

/// Whether a place still lacks its name or its box.
pub(crate) fn is_nowhere(place: &Place) -> bool {
    match place {
        Place::Tank { tank } => tank.is_empty(),
        Place::Bag { number, .. } => *number == 0,
        _ => false,
    }
}

pub(crate) fn box_of(place: &Place) -> Option<u32> {
    match place {
        Place::Box { number } | Place::Bag { number, .. } => Some(*number),
        _ => None,
    }
}

/// What the finder needs to know.
pub(crate) struct Finder<'a> {
    pub vocabulary: &'a Vocabulary,
    pub tokens: &'a [Token],
    pub items: &'a [Item],
    /// What "bag 2" and "next bag" count from: the carried places, then those named so far.
    pub here: Vec<Place>,
    pub re: &'a [Place],
    tanks: Vec<(String, String)>,
    trays: Vec<(String, String)>,
}

type Found = (Vec<Place>, bool, usize);

fn key(name: &str) -> String {
    name.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

impl<'a> Finder<'a> {
    pub(crate) fn new(
        vocabulary: &'a Vocabulary,
        tokens: &'a [Token],
        items: &'a [Item],
        here: Vec<Place>,
        re: &'a [Place],
    ) -> Self {
        let keyed = |names: &Option<Vec<String>>| {
            names.iter().flatten().map(|name| (key(name), name.clone())).filter(|(key, _)| !key.is_empty()).collect()
        };
        Finder { vocabulary, tokens, items, here, re, tanks: keyed(&vocabulary.tanks), trays: keyed(&vocabulary.trays) }
    }

    /// The items with places in the stead of the words that name them.
    pub(crate) fn run(mut self) -> Vec<Item> {
        let mut out = Vec::new();
        let mut at = 0;
        while at < self.items.len() {
            match self.mention(at) {
                Some((mention, next)) => {
                    if !mention.unknown {
                        self.here = mention.places.clone();
                    }
                    let (first, end) = (self.items[at].first, self.items[next - 1].end);
                    out.push(Item { what: What::Place(mention), first, end });
                    at = next;
                }
                None => {
                    out.push(self.items[at].clone());
                    at += 1;
                }
            }
        }
        out
    }

    fn item(&self, at: usize) -> Option<&Item> {
        self.items.get(at)
    }

    fn text(&self, at: usize) -> &str {
        self.item(at).and_then(|item| self.tokens.get(item.first)).map_or("", |token| token.text.as_str())
    }

    fn is(&self, at: usize, value: &str) -> bool {
        self.item(at).and_then(|item| item.value("key")) == Some(value)
    }

    fn mark(&self, at: usize, c: char) -> bool {
        self.item(at).is_some_and(|item| item.end - item.first == 1 && self.tokens[item.first].kind == Kind::Mark(c))
    }

    fn number(&self, at: usize) -> Option<u32> {
        self.item(at).and_then(Item::whole)
    }

    fn parts(&self, at: usize) -> Option<(u32, u32)> {
        match self.item(at)?.what {
            What::Number { parts, .. } => parts,
            _ => None,
        }
    }

    fn glued(&self, at: usize) -> bool {
        self.item(at).is_some_and(|item| !self.tokens[item.first].spaced)
    }

    fn mention(&self, at: usize) -> Option<(Mention, usize)> {
        if let Some((places, next)) = self.relative(at) {
            let unknown = places.iter().any(is_nowhere);
            return Some((Mention { places, unknown, relative: true }, next));
        }
        let (mut places, mut unknown, mut next) = self.one(at)?;
        // "A1-A4", "trays 1 to 3"
        if let Some((range, bad, end)) = self.range(at, places.last()?, next) {
            places.extend(range);
            unknown |= bad;
            next = end;
        }
        while let Some((more, bad, end)) = self.another(at, &places, next) {
            places.extend(more);
            unknown |= bad;
            next = end;
            if let Some(last) = places.last()
                && let Some((range, bad, end)) = self.range(at, last, next)
            {
                places.extend(range);
                unknown |= bad;
                next = end;
            }
        }
        // "bags 1 and 2 of box 7"
        if places.iter().all(|place| matches!(place, Place::Bag { number, .. } if *number == self.here_box()))
            && (self.is(at, "bag"))
            && (self.is(next, "of") || self.is(next, "in") || self.is(next, "from"))
            && let Some((number, end)) = self.box_name(next + 1)
        {
            places = places
                .into_iter()
                .map(|place| match place {
                    Place::Bag { bag, .. } => Place::Bag { number, bag },
                    other => other,
                })
                .collect();
            unknown = !places.iter().all(|place| self.known(place));
            next = end;
        }
        if unknown && places.iter().all(|place| self.known(place)) && !places.iter().any(is_nowhere) {
            unknown = false;
        }
        places.dedup();
        Some((Mention { places, unknown, relative: false }, next))
    }

    fn here_box(&self) -> u32 {
        self.here.last().and_then(box_of).unwrap_or(0)
    }

    /// "next bag", "other bag", "same box", "here", and what counts along a reply's places.
    fn relative(&self, at: usize) -> Option<(Vec<Place>, usize)> {
        let article = self.text(at) == "the" && self.item(at).is_some_and(|item| item.end - item.first == 1);
        let start = if article { at + 1 } else { at };
        let is_bag = |at: usize| self.is(at, "bag");
        let number = self.here_box();
        let bag =
            |bag: Option<u32>| Place::Bag { number: if bag.is_some() { number } else { 0 }, bag: bag.unwrap_or(0) };
        let words = self.vocabulary.boxes.as_ref().and_then(|boxes| boxes.get(&number));
        let bags = words.and_then(|words| words.bags);
        let spare = words.map_or(0, |words| words.spare_bags);
        let has = |bag: u32| number > 0 && bags.is_none_or(|bags| bag <= bags + spare);
        let current = match self.here.as_slice() {
            [Place::Bag { bag, .. }] => Some(*bag),
            _ => None,
        };
        let word = self.item(start)?.value("key");
        let noun = start + 1;
        match word {
            Some("next") if is_bag(noun) || (self.is_one(noun) && current.is_some()) => {
                let next = current.map_or(1, |bag| bag + 1);
                Some((vec![bag(Some(next).filter(|bag| has(*bag)))], noun + 1))
            }
            Some("last") if is_bag(noun) => Some((vec![bag(bags.filter(|_| number > 0))], noun + 1)),
            Some("other") if is_bag(noun) || self.is_one(noun) => {
                let other = current.filter(|bag| bags == Some(2) && *bag <= 2).map(|bag| 3 - bag);
                Some((vec![bag(other)], noun + 1))
            }
            Some("both") if is_bag(noun) => match bags.filter(|bags| *bags == 2 && number > 0) {
                Some(_) => Some((vec![bag(Some(1)), bag(Some(2))], noun + 1)),
                None => Some((vec![bag(None)], noun + 1)),
            },
            Some("first") if is_bag(noun) => Some((vec![bag(Some(1).filter(|bag| has(*bag)))], noun + 1)),
            Some("second") if is_bag(noun) => Some((vec![bag(Some(2).filter(|bag| has(*bag)))], noun + 1)),
            Some("all") if is_bag(noun) && bags.is_some_and(|n| n <= 60) && number > 0 => {
                Some(((1..=bags.unwrap_or(0)).map(|n| bag(Some(n))).collect(), noun + 1))
            }
            Some("next") if self.is(noun, "box") => {
                let known =
                    |number: &u32| self.vocabulary.boxes.as_ref().is_none_or(|boxes| boxes.contains_key(number));
                let next = Some(number + 1).filter(|_| number > 0).filter(known);
                Some((vec![next.map_or_else(nowhere, |number| Place::Box { number })], noun + 1))
            }
            Some("same") if self.is(noun, "box") && number > 0 => {
                let (place, next) = self.bag_behind(number, noun + 1);
                Some((vec![place], next))
            }
            Some("this" | "that") if self.is(noun, "box") && number > 0 && self.number(noun + 1).is_none() => {
                Some((vec![Place::Box { number }], noun + 1))
            }
            Some("same" | "this" | "that")
                if is_bag(noun)
                    && (self.number(noun + 1).is_none() || self.counts(noun + 2))
                    && self.text(start) != "thats" =>
            {
                Some((if current.is_some() { self.here.clone() } else { vec![bag(None)] }, noun + 1))
            }
            Some("here" | "there") if !self.here.is_empty() => Some((self.here.clone(), start + 1)),
            Some("first" | "second" | "last") if !self.re.is_empty() && (article || self.number(noun).is_none()) => {
                let place = match word {
                    Some("first") => self.re.first(),
                    Some("second") => self.re.get(1),
                    _ => self.re.last(),
                };
                let end = noun + usize::from(self.item(noun).is_some_and(|item| item.value("fish").is_some()));
                Some((vec![place.cloned().unwrap_or_else(nowhere)], end))
            }
            _ => None,
        }
    }

    /// The "one" of "the other one".
    fn is_one(&self, at: usize) -> bool {
        self.text(at) == "one" && !self.is(at + 1, "more")
    }

    /// Whether what stands here makes the number before it a number of fish.
    fn counts(&self, at: usize) -> bool {
        self.is(at, "more")
            || self.item(at).is_some_and(|item| {
                matches!(item.what, What::Species(_))
                    || ["state", "fish", "sign"].iter().any(|class| item.value(class).is_some())
            })
    }

    /// "bag 6" behind a named box, with or without marks between.
    fn bag_behind(&self, number: u32, at: usize) -> (Place, usize) {
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
    fn box_name(&self, at: usize) -> Option<(u32, usize)> {
        let noun = if self.is(at, "box") || (self.text(at) == "b" && self.glued(at + 1)) || self.mark(at, '#') {
            at + 1
        } else {
            at
        };
        let noun = noun + usize::from(self.mark(noun, '#'));
        Some((self.number(noun).filter(|n| *n > 0)?, noun + 1))
    }

    /// Whether the house has this place, or does not tell.
    fn known(&self, place: &Place) -> bool {
        known(self.vocabulary, place)
    }

    fn found(&self, place: Place, next: usize) -> Option<Found> {
        let unknown = !self.known(&place);
        Some((vec![place], unknown, next))
    }

    fn tank_named(&self, name: &str) -> Option<Place> {
        self.tanks.iter().find(|(key, _)| key == name).map(|(_, tank)| Place::Tank { tank: tank.clone() })
    }

    fn tray_named(&self, name: &str) -> Option<Place> {
        self.trays.iter().find(|(key, _)| key == name).map(|(_, tray)| Place::Tray { tray: tray.clone() })
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
        if matches!(self.item(digits)?.what, What::Number { spelled: true, .. }) || (!self.glued(digits) && !spaced) {
            return None;
        }
        let number = self.number(digits)?;
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
        let name_of = |keys: &[(String, String)]| {
            keys.iter()
                .filter_map(|(_, name)| {
                    let words = tokens(name, |_| false);
                    let lettered = words.first().is_some_and(|word| word.kind == Kind::Word);
                    let fits = lettered
                        && self.tokens.len() >= first + words.len()
                        && words.iter().zip(&self.tokens[first..]).all(|(word, said)| word.text == said.text);
                    // "A1" has rules of its own, lest "a 1 hour nap" name it.
                    let letters = key(name).chars().take_while(|c| c.is_alphabetic()).count();
                    let coded = letters <= 2 && key(name).chars().skip(letters).all(|c| c.is_ascii_digit());
                    if !fits || (coded && key(name).len() > letters) || key(name).len() < 2 {
                        return None;
                    }
                    let next = self.items.binary_search_by_key(&(first + words.len()), |item| item.end).ok()?;
                    Some((name.clone(), next + 1))
                })
                .max_by_key(|(_, next)| *next)
        };
        if let Some((tank, next)) = name_of(&self.tanks) {
            return Some((vec![Place::Tank { tank }], false, next));
        }
        name_of(&self.trays).map(|(tray, next)| (vec![Place::Tray { tray }], false, next))
    }

    /// One place named at `at`.
    fn one(&self, at: usize) -> Option<Found> {
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
    fn lettered(&self, at: usize) -> Option<Found> {
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

    fn at_start(&self, at: usize) -> bool {
        at == 0 || matches!(self.items[at - 1].what, What::Line)
    }

    /// Where a name of a place can stand.
    fn stands(&self, at: usize) -> bool {
        self.at_start(at)
            || self.items[at - 1].value("key").is_some_and(|key| {
                matches!(
                    key,
                    "in" | "of"
                        | "on"
                        | "for"
                        | "from"
                        | "to"
                        | "into"
                        | "bag"
                        | "open"
                        | "check"
                        | "recheck"
                        | "off"
                        | "out"
                        | "done"
                        | "and"
                        | "tank"
                        | "same"
                        | "at"
                )
            })
            || matches!(
                self.text(at - 1),
                "note"
                    | "bring"
                    | "bringing"
                    | "acclimate"
                    | "acclimatise"
                    | "drip"
                    | "float"
                    | "do"
                    | "doing"
                    | "plan"
                    | "thats"
                    | "is"
                    | "are"
                    | "how"
                    | "hows"
            )
            || matches!(self.items[at - 1].what, What::Mark(',' | ':' | ';' | '.' | '*' | '(' | '!'))
    }

    /// Whether a fact about fish or water starts at `at`.
    fn fact_follows(&self, at: usize) -> bool {
        self.fact_within(at, 5)
    }

    /// A fact behind at most so many words that carry nothing.
    fn fact_within(&self, at: usize, words: usize) -> bool {
        let skip =
            at + usize::from(self.mark(at, ':') || self.mark(at, '-') || self.mark(at, '=') || self.mark(at, ','));
        let Some(item) = self.item(skip) else { return false };
        match &item.what {
            What::Number { .. } | What::Species(_) => true,
            What::Words(meanings) => meanings.iter().any(|meaning| {
                matches!(meaning.class, "state" | "sign" | "sign?" | "nil" | "vague" | "fraction" | "water" | "product")
                    || (meaning.class == "measure" && self.has_number(skip + 1))
                    || (meaning.class == "key"
                        && matches!(
                            meaning.value,
                            "all"
                                | "another"
                                | "swapstrong"
                                | "swapweak"
                                | "open"
                                | "done"
                                | "both"
                                | "topup"
                                | "bag"
                                | "got"
                                | "not"
                                | "move"
                                | "movestrong"
                                | "into"
                                | "check"
                                | "recheck"
                                | "again"
                                | "count"
                                | "dose"
                                | "ship"
                                | "hold"
                                | "clear"
                        ))
                    || (meaning.class == "glue"
                        && words > 0
                        && skip + 1 < self.items.len()
                        && self.fact_within(skip + 1, words - 1))
            }),
            _ => false,
        }
    }

    /// Whether a reading's name has its own number at `at`.
    fn has_number(&self, at: usize) -> bool {
        (at..at + 3)
            .take_while(|at| {
                self.item(*at).is_some_and(|item| {
                    item.number().is_some()
                        || matches!(item.what, What::Mark(_))
                        || ["glue", "about", "over", "under", "nil"].iter().any(|class| item.value(class).is_some())
                })
            })
            .any(|at| self.item(at).is_some_and(|item| item.number().is_some() || item.value("nil").is_some()))
    }

    /// A bare number or pair of numbers as a place.
    fn numbered(&self, at: usize) -> Option<Found> {
        if matches!(self.item(at)?.what, What::Number { spelled: true, .. }) {
            return None;
        }
        self.pair(at).or_else(|| self.bare(at))
    }

    /// "7.2", "7/2", "7-2", "7,2".
    fn pair(&self, at: usize) -> Option<Found> {
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
        let unit = value("unit").is_some_and(|unit| unit != "pcs") && !self.tokens_apart(next);
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
        if value("measure").is_some() && !self.has_number(next + 1) {
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
        let here = self.at_start(at) || keyed || fact || headed;
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

    fn tokens_apart(&self, at: usize) -> bool {
        self.item(at).is_some_and(|item| self.tokens[item.first].spaced)
    }

    /// A number by itself as a box, else a tank.
    fn bare(&self, at: usize) -> Option<Found> {
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
            .any(|c| class(c))
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

    /// "9 still gasping" counts nine fish: only words that carry nothing stand between.
    fn vague_glue(&self, at: usize) -> bool {
        (at..self.items.len().min(at + 6))
            .find(|at| self.items[*at].value("glue").is_none())
            .is_some_and(|at| ["state", "sign", "sign?"].iter().any(|class| self.items[at].value(class).is_some()))
    }

    /// A range's second end behind the first.
    fn range(&self, start: usize, first: &Place, at: usize) -> Option<Found> {
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
        moving || (end >= self.items.len() && start == 0 && !self.plural(start))
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
    fn another(&self, start: usize, places: &[Place], at: usize) -> Option<Found> {
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

impl super::message_text::Message<'_> {
    /// The first place named in full that the house does not have, and what it has of that kind.
    pub(crate) fn not_here(&self) -> Option<(Place, Vec<Place>)> {
        let named = self.items.iter().filter_map(|item| match &item.what {
            What::Place(mention) if mention.unknown => Some(&mention.places),
            _ => None,
        });
        let said = named.flatten().find(|place| !is_nowhere(place) && !known(self.vocabulary, place)).cloned()?;
        let v = self.vocabulary;
        let boxes = || v.boxes.iter().flat_map(BTreeMap::keys).map(|number| Place::Box { number: *number }).collect();
        let there: Vec<Place> = match &said {
            Place::Bag { number, .. } => match v.boxes.as_ref().and_then(|boxes| boxes.get(number)) {
                Some(words) => (1..=words.bags?).map(|bag| Place::Bag { number: *number, bag }).collect(),
                None => boxes(),
            },
            Place::Box { .. } => boxes(),
            Place::Tray { .. } => v.trays.iter().flatten().map(|tray| Place::Tray { tray: tray.clone() }).collect(),
            Place::Tank { .. } => v.tanks.iter().flatten().map(|tank| Place::Tank { tank: tank.clone() }).collect(),
            Place::Lot { .. } => v.lots.iter().flat_map(BTreeMap::keys).map(|lot| Place::Lot { lot: *lot }).collect(),
        };
        (!there.is_empty()).then_some((said, there))
    }
}

/// Whether the house has a place, as far as it tells.
fn known(v: &Vocabulary, place: &Place) -> bool {
    match place {
        Place::Box { number } => v.boxes.as_ref().is_none_or(|boxes| boxes.contains_key(number)),
        Place::Bag { number, bag } => {
            *number > 0
                && *bag > 0
                && v.boxes.as_ref().is_none_or(|boxes| {
                    boxes.get(number).is_some_and(|words| words.bags.is_none_or(|bags| *bag <= bags + words.spare_bags))
                })
        }
        Place::Tray { tray } => v.trays.as_ref().is_none_or(|trays| trays.contains(tray)),
        Place::Tank { tank } => !tank.is_empty() && v.tanks.as_ref().is_none_or(|tanks| tanks.contains(tank)),
        Place::Lot { lot } => v.lots.as_ref().is_none_or(|lots| lots.contains_key(lot)),
    }
}
