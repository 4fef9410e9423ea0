//! A number of fish without a state: "21.2 60", "58+2", "count is 39".

use super::{Context, Fact};
use crate::message::item::What;
use crate::message::message_text::Message;
use crate::message::place_words::nowhere;
use crate::message::{Act, Count, Place};

impl Message<'_> {
    /// A bare number right behind a bag is what was found alive in it; "count" says the same of any place.
    pub(super) fn bare_census(&mut self, at: usize, facts: &mut Vec<Fact>, context: &Context) -> Option<usize> {
        let alive = self.item(at)?.whole()?;
        // A correction finds by itself which number it is that was wrong.
        if self.correction.marked {
            return None;
        }
        let mut before = at;
        let lead = |n: usize| {
            self.mark(n, ':')
                || self.mark(n, '-')
                || self.mark(n, '=')
                || self.is_glue(n)
                || self.any_key(n, &["count", "got"])
        };
        while before > 0 && lead(before - 1) {
            before -= 1;
        }
        let counted = (before..at).any(|n| self.key(n, "count"));
        let bag = |places: &[Place]| matches!(places, [Place::Bag { .. }]);
        let behind_bag = before > 0 && self.place(before - 1).is_some_and(|m| !m.unknown && bag(&m.places));
        let (start, _) = self.sentence_bounds(at);
        let carried_bag = before == start && bag(&context.carried) && !self.has_place(0, self.items.len());
        let mut count = Count { alive: Some(alive), ..Count::at(nowhere()) };
        let mut end = at + 1;
        let second = self.item(end + 1).and_then(|item| item.whole());
        if self.mark(end, '/')
            && let Some(of) = second
        {
            if alive > of {
                return None;
            }
            count.of = Some(of);
            end += 2;
        } else if self.mark(end, '+')
            && let Some(dead) = second
        {
            // "58+2": alive and dead.
            count.dead = Some(dead);
            end += 2;
        }
        let paired = end > at + 1;
        while let Some(item) = self.item(end) {
            match &item.what {
                What::Species(fish) => self.add_species(&mut count, Some(fish)),
                _ if self.value(end, "fish").is_some()
                    || self.value(end, "unit") == Some("pcs")
                    || self.value(end, "colour").is_some()
                    || self.is_glue(end) => {}
                _ => break,
            }
            end += 1;
        }
        // "4 disc all good": a fish's name that nobody has listed.
        let well = |n: usize| self.value(n, "sign") == Some("well");
        if self.is_unknown(end) && self.is_foreign(end) && well(end + 1) {
            end += 1;
        }
        let closes = self.key(end, "and")
            || well(end)
            || self.item(end).is_none_or(|item| matches!(item.what, What::Mark(',' | '.' | ';' | '!') | What::Line));
        if !closes || !(behind_bag || counted || paired && carried_bag) || !self.trusted(at, false) {
            return None;
        }
        facts.push(Fact::new(Act::Count(count), at, end));
        Some(end)
    }
}
