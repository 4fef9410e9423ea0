//! Other fish than listed, and fish put down.

use super::Fact;
use crate::message::item::What;
use crate::message::message_text::Message;
use crate::message::place_words::nowhere;
use crate::message::{Act, Count};

impl Message<'_> {
    /// "not clowns, yoyos, 38": other fish came than listed.
    pub(super) fn instead(&mut self, at: usize, facts: &mut Vec<Fact>) -> Option<usize> {
        let name = |at: usize| match &self.item(at)?.what {
            What::Species(_) | What::Unknown => Some(self.text_at(at).to_owned()),
            _ if self.value(at, "fish") == Some("named") => Some(self.text_at(at).to_owned()),
            _ => None,
        };
        let skip = |mut at: usize| {
            while self.mark(at, ',')
                || self.mark(at, ':')
                || self.mark(at, '-')
                || self.is_glue(at)
                || self.key(at, "but")
                || self.value(at, "fish") == Some("fish")
            {
                at += 1;
            }
            at
        };
        let listed = |at: usize| matches!(self.item(at).map(|item| &item.what), Some(What::Species(_)));
        let mut count = Count::at(nowhere());
        // "38 yoyos not clowns"
        if let Some(n) = self.item(at)?.whole()
            && let Some(got) = name(at + 1)
            && (self.key(at + 2, "not") || self.key(at + 2, "instead"))
        {
            let other = at + 3 + usize::from(self.key(at + 3, "of"));
            if listed(other) || self.key(at + 2, "instead") {
                count.alive = Some(n);
                count.got = Some(got);
                let end = if listed(other) { other + 1 } else { at + 3 };
                facts.push(Fact::new(Act::Count(count), at, end));
                return Some(end);
            }
        }
        // "yoyos instead"
        if self.key(at + 1, "instead")
            && self.has_place(self.clause_bounds(at).0, at)
            && let Some(got) = name(at)
        {
            count.got = Some(got);
            facts.push(Fact::new(Act::Count(count), at, at + 2));
            return Some(at + 2);
        }
        if self.key(at, "not") && listed(at + 1) {
            let got_at = skip(at + 2);
            let got = name(got_at)?;
            let number = skip(got_at + 1);
            let n = self.item(number).and_then(|item| item.whole());
            // A state behind the number makes it a count of that state.
            let counted = n.is_some() && self.value(number + 1, "state").is_none();
            count.alive = n.filter(|_| counted);
            count.got = Some(got);
            let end = if counted { number + 1 } else { got_at + 1 };
            facts.push(Fact::new(Act::Count(count), at, end));
            return Some(end);
        }
        // "yoyos not clowns, 38"
        if name(at).is_some() && self.key(at + 1, "not") && listed(at + 2) {
            let got = name(at)?;
            let number = skip(at + 3);
            let n = self.item(number).and_then(|item| item.whole());
            let counted = n.is_some() && self.value(number + 1, "state").is_none();
            count.alive = n.filter(|_| counted);
            count.got = Some(got);
            let end = if counted { number + 1 } else { at + 3 };
            facts.push(Fact::new(Act::Count(count), at, end));
            return Some(end);
        }
        None
    }

    /// "put 5 down", "put 5 to sleep", "put down 5".
    pub(super) fn put_down(&mut self, at: usize, facts: &mut Vec<Fact>) -> Option<usize> {
        let (number, end) = if self.key(at, "putdown") {
            (at + 1, at + 2)
        } else if matches!(self.text_at(at), "put" | "putting") {
            let behind = at
                + 2
                + usize::from(
                    self.value(at + 2, "fish").is_some()
                        || self.key(at + 2, "more")
                        || self.value(at + 2, "state").is_some(),
                );
            let down = self.text_at(behind) == "down" && !self.any_key(behind + 1, &["for", "to"]);
            if !down {
                return None;
            }
            (at + 1, behind + 1)
        } else {
            return None;
        };
        let amount = self.amount(number)?;
        let mut count = Count::at(nowhere());
        count.culled = amount.n;
        let fact = if amount.n.is_none() {
            self.how_many(count, "culled", at, end)
        } else {
            Fact::new(Act::Count(count), at, end.max(amount.end))
        };
        facts.push(fact);
        Some(end.max(amount.end))
    }
}
