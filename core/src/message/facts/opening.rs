//! Boxes and bags opened, boxes finished.

use super::Fact;
use crate::message::item::What;
use crate::message::message_text::Message;
use crate::message::place_words::{is_nowhere, nowhere};
use crate::message::{Act, Place};

impl Message<'_> {
    /// "opening 7", "7 open", "that's 7 done", "box 7 empty".
    pub(super) fn openings(&mut self, facts: &mut Vec<Fact>) {
        for at in 0..self.items.len() {
            let open = self.key(at, "open");
            let done = self.key(at, "done");
            if !(open || done) || !self.free(at) || !self.reports(at) || self.negated(at) {
                continue;
            }
            let (from, to) = self.clause_bounds(at);
            let ahead = (at + 1..to.min(at + 4)).find_map(|n| {
                let joined =
                    (at + 1..n).all(|n| self.is_glue(n) || self.any_key(n, &["with", "on", "up", "of", "open", "for"]));
                self.place(n).filter(|_| joined).map(|mention| (n, mention.clone()))
            });
            let behind = (1..=4).filter(|back| at >= from + *back).find_map(|back| {
                let n = at - back;
                let joined = (n + 1..at).all(|n| {
                    self.is_glue(n)
                        || self.key(n, "that")
                        || self.layer_at(n, "self").is_some()
                        || self.text_at(n) == "am"
                        || matches!(self.items[n].what, What::Mark(':'))
                        || self.any_key(n, &["all", "open"])
                });
                self.place(n).filter(|_| joined).map(|mention| (n, mention.clone()))
            });
            let colon = at > from && self.mark(at.saturating_sub(1), ':') && at >= 2;
            let behind =
                behind.or_else(|| colon.then(|| self.place(at - 2).map(|mention| (at - 2, mention.clone()))).flatten());
            // "8 done 7 open": each has its own box before it.
            let led = behind.as_ref().is_some_and(|(n, _)| n + 1 == at)
                && ahead.as_ref().is_some_and(|(n, _)| self.any_key(n + 1, &["open", "done"]));
            let Some((n, mention)) = (if led { behind } else { ahead.or(behind) }) else { continue };
            let boxes = mention.places.iter().all(|place| matches!(place, Place::Box { .. }));
            let bags = mention.places.iter().all(|place| matches!(place, Place::Bag { .. }));
            // "next box open" where no box is carried: which one?
            let unknown = mention.unknown && mention.relative && mention.places.iter().all(is_nowhere);
            if !(boxes || (open && bags) || unknown) {
                continue;
            }
            let act = if open { Act::Open { at: nowhere() } } else { Act::Done { at: nowhere() } };
            let (first, end) = (n.min(at), n.max(at) + 1);
            facts.push(Fact::new(act, first, end).at(&mention));
            self.take(at, at + 1);
        }
    }
}
