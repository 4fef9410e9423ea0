//! Answers to a question that waits: a place, a number, a unit, a product, a choice.

use super::attach::{place_of, put};
use super::facts::Value;
use super::item::What;
use super::message_text::Message;
use super::place_words::is_nowhere;
use super::{Act, Doubt, Place, Said, Wanted};
use crate::quantity::{Finite, Measure};

/// What is still missing in an act that waits, in the order in which it is asked.
pub(crate) fn missing(act: &Act) -> Option<(Doubt, Wanted)> {
    let how_many = |field: &str| Some((Doubt::HowMany(field.into()), Wanted::Number(field.into())));
    let place = match act {
        Act::Reserve { count: None, fix: false, .. } => return how_many("count"),
        Act::Dose { product, .. } if product.is_empty() => return Some((Doubt::WhichProduct, Wanted::Product)),
        Act::Dose { amount: None, fix: false, .. } => return Some((Doubt::HowMuch, Wanted::Number("amount".into()))),
        Act::Dose { unit: None, fix: false, .. } => return Some((Doubt::WhichUnit, Wanted::Unit)),
        other => place_of(other),
    };
    let which = match place {
        Some(Place::Bag { .. }) => Doubt::WhichBag,
        _ if matches!(act, Act::Move { .. }) => Doubt::WhereTo,
        _ => Doubt::WhichPlace,
    };
    place.is_some_and(is_nowhere).then_some((which, Wanted::Place))
}

/// The index of the choice that a text names by its label, one of its words or, where no number is asked for, its number.
pub(crate) fn choice(wanted: &Wanted, text: &str) -> Option<usize> {
    let choices = wanted.choices();
    let plain = |text: &str| {
        text.split(|c: char| !c.is_alphanumeric())
            .filter(|word| !word.is_empty())
            .map(str::to_lowercase)
            .filter(|word| !matches!(word.as_str(), "please" | "pls" | "the" | "thanks" | "mate"))
            .collect::<Vec<_>>()
            .join(" ")
    };
    let said = plain(text);
    if said.is_empty() {
        return None;
    }
    let mut named = choices
        .iter()
        .enumerate()
        .filter(|(_, choice)| plain(&choice.label) == said || choice.words.iter().any(|word| plain(word) == said));
    if let Some((index, _)) = named.next() {
        return named.next().is_none().then_some(index);
    }
    let number = said.parse::<usize>().ok().filter(|n| (1..=choices.len()).contains(n)).map(|n| n - 1);
    let number = number.filter(|_| matches!(wanted, Wanted::Choice(_)));
    let yes = ["yes", "y", "yep", "yeah", "yup", "ok", "sure", "aye", "ye", "correct", "right"];
    let no = ["no", "n", "nope", "nah", "not"];
    let means = |words: &[&str]| {
        let mut fitting = choices.iter().enumerate().filter(|(_, choice)| {
            std::iter::once(&choice.label).chain(&choice.words).any(|word| words.contains(&plain(word).as_str()))
        });
        fitting.next().map(|(index, _)| index).filter(|_| words.contains(&said.as_str()))
    };
    number.or_else(|| means(&yes)).or_else(|| means(&no))
}

impl Message<'_> {
    /// Whether these items say nothing but what `content` accepts.
    fn only(&self, content: impl Fn(usize) -> bool) -> bool {
        let mut some = false;
        for n in 0..self.items.len() {
            if content(n) {
                some = true;
                continue;
            }
            let filler = self.is_glue(n)
                || matches!(self.items[n].what, What::Mark(_) | What::Line | What::Crew)
                || self.any_key(
                    n,
                    &[
                        "in", "on", "of", "from", "to", "into", "please", "thanks", "that", "this", "at", "for", "all",
                        "both",
                    ],
                )
                || self.layers.iter().any(|layer| {
                    matches!(layer.meaning.class, "polite" | "fix" | "self")
                        && layer.first <= self.items[n].first
                        && layer.end >= self.items[n].end
                })
                || self.value(n, "nil").is_some() && self.text_at(n) == "no" && n == 0;
            if !filler {
                return false;
            }
        }
        some
    }

    /// The completed acts, where the message gives what was asked and nothing else; an error where it tries to and fails.
    pub(crate) fn answer(&self, wanted: &Wanted, partial: &[Said]) -> Option<Vec<Said>> {
        match wanted {
            Wanted::Place | Wanted::Lot => self.answer_place(partial),
            Wanted::Number(field) | Wanted::NumberOr(field, _) => self.answer_number(field, partial),
            Wanted::Unit => self.answer_unit(partial),
            Wanted::Product => self.answer_product(partial),
            Wanted::Species(among) => self.answer_species(among, partial),
            Wanted::Choice(_) => None,
        }
    }

    fn answer_place(&self, partial: &[Said]) -> Option<Vec<Said>> {
        if let Some(done) = self.answer_fish(partial) {
            return Some(done);
        }
        let mentioned = (0..self.items.len()).find(|n| self.place(*n).is_some());
        let places = match mentioned {
            Some(n) if self.only(|at| self.place(at).is_some()) && self.one_place() => {
                let last = (n..self.items.len()).rev().find_map(|at| self.place(at))?;
                (!last.unknown).then(|| last.places.clone())?
            }
            _ if self.only(|n| self.items[n].number().is_some()) => {
                let n = (0..self.items.len()).find(|n| self.items[*n].number().is_some())?;
                vec![self.bare_place(n)?]
            }
            _ => return None,
        };
        let mut done = Vec::new();
        for said in partial {
            for place in &places {
                let mut said = said.clone();
                let full = match (place_of(&said.act), place) {
                    (Some(Place::Bag { number: 0, bag }), Place::Box { number }) if *bag > 0 => {
                        Place::Bag { number: *number, bag: *bag }
                    }
                    _ => place.clone(),
                };
                // "both" and lists answer "which of these" too.
                if matches!(said.act, Act::Clear { .. }) && !matches!(full, Place::Tank { .. } | Place::Lot { .. }) {
                    return None;
                }
                put(&mut said.act, full);
                done.push(said);
            }
        }
        Some(done)
    }

    /// The fish of a reservation that has neither fish nor lot.
    fn answer_fish(&self, partial: &[Said]) -> Option<Vec<Said>> {
        let fish = self.items.iter().find_map(|item| match &item.what {
            What::Species(fish) if fish.len() == 1 => fish.first(),
            _ => None,
        })?;
        if !self.only(|n| matches!(self.items[n].what, What::Species(_))) {
            return None;
        }
        let mut done = partial.to_vec();
        for said in &mut done {
            match &mut said.act {
                Act::Reserve { species, at: None, .. } if species.is_none() => *species = Some(fish.clone()),
                _ => return None,
            }
        }
        Some(done)
    }

    /// Whether one place is named, or a second one corrects the first.
    fn one_place(&self) -> bool {
        self.correction.marked || (0..self.items.len()).filter(|n| self.place(*n).is_some()).count() == 1
    }

    /// A bare number as a place: a box, else a tank, else a bag.
    fn bare_place(&self, n: usize) -> Option<Place> {
        if let What::Number { parts: Some((number, bag)), .. } = self.items[n].what {
            let known = self.vocabulary.boxes.as_ref().is_none_or(|boxes| {
                boxes.get(&number).is_some_and(|words| words.bags.is_none_or(|bags| bag <= bags + words.spare_bags))
            });
            return (known && bag > 0 && number > 0).then_some(Place::Bag { number, bag });
        }
        let number = self.items[n].whole().filter(|n| *n > 0)?;
        if self.vocabulary.boxes.as_ref().is_some_and(|boxes| boxes.contains_key(&number)) {
            return Some(Place::Box { number });
        }
        let name = number.to_string();
        let tank = self.vocabulary.tanks.as_ref().is_some_and(|tanks| tanks.contains(&name));
        tank.then_some(Place::Tank { tank: name })
    }

    fn answer_number(&self, field: &str, partial: &[Said]) -> Option<Vec<Said>> {
        // "K2 nitrate 160" behind a question about K1 is a report of its own.
        let elsewhere = |said: &Said| {
            (0..self.items.len())
                .filter_map(|n| self.place(n))
                .any(|mention| place_of(&said.act).is_some_and(|place| !mention.places.contains(place)))
        };
        if partial.iter().any(elsewhere) {
            return None;
        }
        let numbers: Vec<usize> = (0..self.items.len())
            .filter(|n| {
                self.items[*n].number().is_some()
                    || self.value(*n, "nil").is_some_and(|_| self.text_at(*n) != "no")
                    || self.value(*n, "fraction").is_some()
            })
            .collect();
        let at = *numbers.first()?;
        if numbers.len() > 1 && field != "percent" {
            return None;
        }
        let state = field;
        let unit_like = |n: usize| {
            self.value(n, "unit").is_some() || self.value(n, "half").is_some() || self.value(n, "over").is_some()
        };
        let only = self.only(|n| {
            n == at
                || numbers.contains(&n)
                || self.value(n, "state") == Some(state)
                || unit_like(n)
                || self.value(n, "fish").is_some()
                || self.value(n, "time").is_some()
                || matches!(self.items[n].what, What::Clock(..) | What::Species(_))
                || self.value(n, "measure").is_some()
        });
        if !only {
            return None;
        }
        let whole = self.items[at].whole().or(self.value(at, "nil").map(|_| 0));
        let bare_unit = self.value(at + 1, "unit").is_none_or(|unit| unit == "pcs");
        let mut done = partial.to_vec();
        for said in &mut done {
            match &mut said.act {
                Act::Count(count) if bare_unit => super::facts_set(count, field, Some(whole?)),
                Act::Reading(water) => {
                    let Value { value, bound, unit, .. } = self.water_value(at)?;
                    let measure = Measure::ALL.into_iter().find(|measure| measure.key() == field)?;
                    if bound == super::facts::Bound::Doubtful {
                        return None;
                    }
                    let (measure, value) = super::facts_normal(measure, value, unit).ok()?;
                    water.values.insert(measure, Finite::new(value)?);
                    if bound == super::facts::Bound::Over {
                        water.over.insert(measure);
                    }
                }
                Act::Move { count, .. }
                | Act::Reserve { count, .. }
                | Act::Clear { count, .. }
                | Act::Ship { count, .. }
                    if bare_unit =>
                {
                    *count = Some(whole?);
                }
                Act::Dose { amount, unit, .. } => match self.dose_amount(at) {
                    Some((value, Some(said_unit), _)) => {
                        *amount = Finite::new(value);
                        *unit = Some(said_unit);
                    }
                    _ => *amount = Finite::new(self.items[at].number()?),
                },
                Act::Swap { percent, litres, .. } => {
                    let value = self.items[at].number();
                    match self.share(at) {
                        Some((super::facts_share::Percent(value), _)) => *percent = Finite::new(value),
                        Some((super::facts_share::Litres(value), _)) => *litres = Finite::new(value),
                        _ => *percent = Finite::new(value.filter(|value| (0.0..=100.0).contains(value))?),
                    }
                }
                Act::Recheck { in_min, clock, .. } => match (self.minutes(at), self.clock(at, false)) {
                    (Some((minutes, _)), _) => *in_min = Some(minutes.round() as u32),
                    (_, Some((time, _))) => *clock = time.next(self.now).map(super::times::hh_mm),
                    _ => *in_min = whole,
                },
                Act::Hold { hours, until, .. } => match self.minutes(at) {
                    Some((minutes, _)) => *hours = Finite::new(minutes / 60.0),
                    None => match self.clock(at, false) {
                        Some((time, _)) => {
                            *until = time.next(self.now).map(|time| time.format("%Y-%m-%dT%H:%M").to_string())
                        }
                        None => *hours = Finite::new(f64::from(whole?)),
                    },
                },
                _ => return None,
            }
        }
        Some(done)
    }

    fn answer_unit(&self, partial: &[Said]) -> Option<Vec<Said>> {
        let at = (0..self.items.len()).find(|n| self.unit_word(*n).is_some())?;
        if !self.only(|n| n == at || self.items[n].number().is_some()) {
            return None;
        }
        let word = self.unit_word(at)?;
        let mut done = partial.to_vec();
        for said in &mut done {
            match &mut said.act {
                Act::Dose { unit, amount, .. } => {
                    *unit = Some(super::facts_dose_unit(word)?);
                    if let Some(value) = at.checked_sub(1).and_then(|n| self.items[n].number()) {
                        *amount = Finite::new(value);
                    }
                }
                Act::Reading(water) => {
                    let values = std::mem::take(&mut water.values);
                    for (measure, value) in values {
                        let (measure, value) = super::facts_normal(measure, value.get(), Some(word)).ok()?;
                        water.values.insert(measure, Finite::new(value)?);
                    }
                }
                _ => return None,
            }
        }
        Some(done)
    }

    /// A unit by itself; "F", "C", "g" and "l" count here without a number before them.
    fn unit_word(&self, at: usize) -> Option<&'static str> {
        self.value(at, "unit").or_else(|| match self.text_at(at) {
            "c" => Some("c"),
            "f" => Some("f"),
            "g" => Some("gram"),
            "l" => Some("litre"),
            _ => None,
        })
    }

    fn answer_product(&self, partial: &[Said]) -> Option<Vec<Said>> {
        let named = (0..self.items.len()).find_map(|n| Some((n, self.value(n, "product")?.to_owned())));
        let (_, product) = match named {
            Some((at, product)) if self.only(|n| n == at || self.key(n, "dose")) => (at, product),
            Some(_) => return None,
            None => {
                let words: Vec<&str> = self.tokens.iter().map(|token| token.text.as_str()).collect();
                let plain = (1..=3).contains(&words.len()) && self.only(|n| self.is_unknown(n));
                if !plain {
                    return None;
                }
                (0, words.join(" "))
            }
        };
        let mut done = partial.to_vec();
        for said in &mut done {
            match &mut said.act {
                Act::Dose { product: name, .. } => name.clone_from(&product),
                _ => return None,
            }
        }
        Some(done)
    }

    /// The fish that was asked for: by a name that fits one of those offered, or by a word that only one of them has.
    fn answer_species(&self, among: &[String], partial: &[Said]) -> Option<Vec<Said>> {
        let named = (0..self.items.len()).find_map(|n| match &self.items[n].what {
            What::Species(fish) => Some((n, fish)),
            _ => None,
        });
        let fits = |name: &&String| match named {
            Some((_, fish)) => fish.contains(name),
            None => self.tokens.iter().any(|token| {
                token.text.chars().count() > 2 && name.split_whitespace().any(|word| word.to_lowercase() == token.text)
            }),
        };
        let mut fitting = among.iter().filter(fits);
        let fish = fitting.next().filter(|_| fitting.next().is_none())?;
        let short = self.tokens.len() <= 4;
        if !named.map_or(short, |(at, _)| self.only(|n| n == at || self.value(n, "fish").is_some())) {
            return None;
        }
        let mut done = partial.to_vec();
        for said in &mut done {
            said.act.set_species(fish);
        }
        Some(done)
    }

    /// The first number of the message.
    pub(crate) fn bare_number_at(&self) -> Option<usize> {
        (0..self.items.len()).find(|n| self.items[*n].number().is_some() || self.value(*n, "fraction").is_some())
    }

    /// Whether a number stands among the words that nothing has used.
    pub(crate) fn bare_number_left(&self) -> bool {
        (0..self.items.len()).any(|n| !self.used[n] && self.items[n].number().is_some())
    }

    /// Whether the whole message is a number by itself.
    pub(crate) fn bare_number(&self) -> bool {
        let numbers = (0..self.items.len()).filter(|n| self.items[*n].number().is_some()).count();
        numbers == 1 && self.only(|n| self.items[n].number().is_some())
    }
}
