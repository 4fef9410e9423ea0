//! What is brought to a place: how many fish, which, and from where.

use crate::message::item::What;
use crate::message::message_text::Message;
use crate::message::place_words::Mention;

/// What stands before a destination.
#[derive(Debug, Default)]
pub(super) struct Load {
    pub(super) first: usize,
    pub(super) count: Option<u32>,
    /// "36 fish": always a number.
    pub(super) fishy: bool,
    pub(super) vague: bool,
    pub(super) species: Option<Vec<String>>,
    pub(super) from: Option<Mention>,
    /// "from" stands before the place.
    pub(super) named_from: bool,
    pub(super) verb: bool,
    pub(super) rest: bool,
    pub(super) all: bool,
    pub(super) each: bool,
}

impl Message<'_> {
    /// Reads back from a destination what is brought there.
    pub(super) fn load(&self, at: usize) -> Load {
        let (start, _) = self.clause_bounds(at);
        let mut load = Load { first: at, ..Load::default() };
        let mut n = at;
        while n > start {
            n -= 1;
            let item = &self.items[n];
            let free = self.free(n);
            if let Some(mention) = self.place(n) {
                // A destination is never where the next ones come from.
                if load.from.is_some() || self.is_destination(n) {
                    break;
                }
                let named = n > start && self.key(n - 1, "from") || n > start + 1 && self.key(n - 2, "from");
                // "A3 ok 20 to A4" stops at the state; a place reached through fillers is where they come from.
                load.from = Some(mention.clone());
                load.named_from = named;
                load.first = n;
                continue;
            }
            if self.key(n, "movestrong") {
                load.verb = true;
                load.first = n;
                continue;
            }
            if !free {
                break;
            }
            match &item.what {
                What::Species(fish) if load.species.is_none() => {
                    load.species = Some(fish.clone());
                    load.first = n;
                }
                What::Number { .. } if item.whole().is_some() && load.count.is_none() => {
                    let sized = self.value(n + 1, "unit").is_some_and(|unit| unit == "inch") || self.mark(n + 1, '"');
                    if self.value(n + 1, "unit").is_some_and(|unit| unit != "pcs" && unit != "inch") {
                        break;
                    }
                    if sized {
                        continue;
                    }
                    load.count = item.whole();
                    load.first = n;
                    if n > start && (self.value(n - 1, "about").is_some() || self.mark(n - 1, '~')) {
                        load.vague = true;
                    }
                    if n > start + 1
                        && (self.mark(n - 1, '-') || self.key(n - 1, "or"))
                        && self.items[n - 2].whole().is_some()
                    {
                        load.vague = true;
                    }
                }
                What::Mark(':' | '-' | '"') | What::Crew => {}
                _ if self.key(n, "rest") => {
                    load.rest = true;
                    load.first = n;
                }
                _ if self.any_key(n, &["all", "both"]) => {
                    load.all = true;
                    load.first = n;
                }
                _ if self.key(n, "each") => load.each = true,
                // "half of tray 1" is a number that nobody has counted.
                _ if item.value("vague").is_some() || item.value("fraction").is_some() => {
                    load.vague = true;
                    load.first = n;
                }
                _ if self.value(n, "fish").is_some() || self.value(n, "unit") == Some("pcs") => {
                    load.fishy |= !matches!(self.text_at(n), "they" | "them" | "em");
                    load.all |= matches!(self.text_at(n), "they" | "them" | "em");
                }
                _ if self.value(n, "unit") == Some("inch")
                    || item.value("size").is_some()
                    || item.value("colour").is_some() => {}
                _ if self.value(n, "state") == Some("sound")
                    && matches!(self.text_at(n), "good" | "healthy" | "strong" | "live" | "fine")
                    && self
                        .items
                        .get(n + 1)
                        .is_some_and(|next| matches!(next.what, What::Species(_)) || next.value("fish").is_some()) => {}
                _ if self.any_key(n, &["from", "away", "of", "out", "back", "and", "then", "dose"])
                    || self.is_glue(n)
                    || self.layer_at(n, "self").is_some() =>
                {
                    if self.key(n, "dose") {
                        load.first = n;
                    }
                }
                _ => break,
            }
        }
        if load.count.is_some_and(|_| load.from.is_some()) {
            load.fishy = true;
        }
        load
    }

    /// "lost 3 in A2, 1 in A5": a count went before, so this number continues it.
    pub(super) fn count_before(&self, first: usize) -> bool {
        let (start, _) = self.sentence_bounds(first);
        (start..first).any(|n| self.value(n, "state").is_some() || self.value(n, "sign").is_some())
    }

    /// Whether only fillers and places stand between the clause's start and the load.
    pub(super) fn nothing_else(&self, from: usize, first: usize) -> bool {
        (from..first).all(|n| {
            self.is_glue(n)
                || self.place(n).is_some()
                || matches!(self.items[n].what, What::Mark(_) | What::Crew)
                || self.layer_at(n, "self").is_some()
                || self.layer_at(n, "fix").is_some()
                || self.any_key(n, &["and", "then", "but", "from"])
                || self.used.get(n).is_some_and(|used| *used)
        })
    }
}
