//! "next bag", "the other one", "same box", "here": places told from the place where the sender is.

use super::{Finder, Place, nowhere};

impl Finder<'_> {
    /// "next bag", "other bag", "same box", "here", and what counts along a reply's places.
    pub(super) fn relative(&self, at: usize) -> Option<(Vec<Place>, usize)> {
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
            // "last one 40 ok" in the middle of a box
            Some("last") if self.re.is_empty() && current.is_some() && self.ends_in_one(start) => {
                Some((vec![bag(bags.filter(|_| number > 0))], start + 1))
            }
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

    /// Whether the word is said as "last one".
    fn ends_in_one(&self, at: usize) -> bool {
        self.item(at).is_some_and(|item| item.end - item.first == 2 && self.tokens[item.end - 1].text == "one")
    }

    /// The "one" of "the other one".
    fn is_one(&self, at: usize) -> bool {
        self.text(at) == "one" && !self.is(at + 1, "more")
    }
}
