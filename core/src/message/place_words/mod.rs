//! Places in a message: which words name a box, bag, tray, tank or lot, and which of them the house has.

mod absent;
mod listed;
mod named;
mod numbered;
mod relative;
mod rooms;

pub(crate) use rooms::Rooms;

use super::Place;
use super::Vocabulary;
use super::item::{Item, What};
use super::token::{Kind, Token};

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
    pub rooms: &'a Rooms,
}

type Found = (Vec<Place>, bool, usize);

fn key(name: &str) -> String {
    name.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

impl Finder<'_> {
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

    #[inline]
    fn item(&self, at: usize) -> Option<&Item> {
        self.items.get(at)
    }

    #[inline]
    fn text(&self, at: usize) -> &str {
        self.item(at).and_then(|item| self.tokens.get(item.first)).map_or("", |token| token.text.as_str())
    }

    #[inline]
    fn is(&self, at: usize, value: &str) -> bool {
        self.item(at).and_then(|item| item.value("key")) == Some(value)
    }

    #[inline]
    fn mark(&self, at: usize, c: char) -> bool {
        self.item(at).is_some_and(|item| item.end - item.first == 1 && self.tokens[item.first].kind == Kind::Mark(c))
    }

    #[inline]
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

    /// Whether what stands here makes the number before it a number of fish.
    fn counts(&self, at: usize) -> bool {
        self.is(at, "more")
            || self.item(at).is_some_and(|item| {
                matches!(item.what, What::Species(_))
                    || ["state", "fish", "sign"].iter().any(|class| item.value(class).is_some())
            })
    }

    /// Whether the house has this place, or does not tell.
    fn known(&self, place: &Place) -> bool {
        absent::known(self.vocabulary, place)
    }

    fn found(&self, place: Place, next: usize) -> Option<Found> {
        let unknown = !self.known(&place);
        Some((vec![place], unknown, next))
    }

    fn tank_named(&self, name: &str) -> Option<Place> {
        self.rooms.tank(name)
    }

    fn tray_named(&self, name: &str) -> Option<Place> {
        self.rooms.tray(name)
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
                matches!(
                    meaning.class,
                    "state" | "sign" | "sign?" | "nil" | "vague" | "fraction" | "water" | "product" | "uncountable"
                ) || (meaning.class == "measure" && self.has_number(skip + 1))
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
                        || matches!(item.value("key"), Some("at" | "of"))
                })
            })
            .any(|at| self.item(at).is_some_and(|item| item.number().is_some() || item.value("nil").is_some()))
    }
}
