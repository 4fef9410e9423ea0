//! A number of fish as it is said, and what stands between it and its state.

use crate::message::item::What;
use crate::message::message_text::Message;

/// A number of fish as said.
#[derive(Debug, Clone, Default)]
pub(super) struct Amount {
    /// `None` where no certain number is said.
    pub(super) n: Option<u32>,
    pub(super) of: Option<u32>,
    pub(super) more: bool,
    pub(super) all: bool,
    pub(super) nil: bool,
    pub(super) rest: bool,
    pub(super) end: usize,
}

/// What stands between a number and its state.
#[derive(Debug, Default)]
pub(super) struct Between {
    pub(super) species: Option<Vec<String>>,
    pub(super) more: bool,
    pub(super) of: Option<u32>,
    pub(super) foreign: bool,
    pub(super) at: usize,
}

impl Message<'_> {
    /// A number of fish at `at`.
    pub(super) fn amount(&self, at: usize) -> Option<Amount> {
        let item = self.item(at)?;
        let vague = |end| Some(Amount { end, ..Amount::default() });
        if item.value("about").is_some() && !self.is_courtesy(at)
            || item.value("over").is_some()
            || item.value("under").is_some()
            || self.mark(at, '~')
            || self.mark(at, '>')
            || self.mark(at, '<')
        {
            return (self.item(at + 1)?.whole().is_some()
                || self.value(at + 1, "vague").is_some()
                || self.key(at + 1, "all") && self.value(at, "about").is_some())
            .then(|| vague(at + 2 + usize::from(self.is_roughly(at + 2))))?;
        }
        if item.value("vague").is_some() {
            // "some 40 odd"
            let number = self.item(at + 1).is_some_and(|item| item.whole().is_some()) && self.is_roughly(at + 2);
            return vague(if number { at + 3 } else { at + 1 });
        }
        // "half of them dead"
        if item.value("fraction").is_some() {
            let of = at + 1 + usize::from(self.key(at + 1, "of") && self.value(at + 1, "fish").is_none());
            let of = of + usize::from(of > at + 1 && self.text_at(of) == "the");
            let fish = self.value(of, "fish").is_some() || matches!(self.item(of)?.what, What::Species(_));
            return fish.then(|| vague(of))?;
        }
        if item.value("nil").is_some() {
            // "no more dead" and the like: none.
            let end = at + 1 + usize::from(self.key(at + 1, "more"));
            return Some(Amount { n: Some(0), nil: true, end, ..Amount::default() });
        }
        if self.key(at, "another") {
            let n = self.item(at + 1).and_then(|item| item.whole());
            return Some(Amount {
                n: Some(n.unwrap_or(1)),
                more: true,
                end: at + 1 + usize::from(n.is_some()),
                ..Amount::default()
            });
        }
        if self.key(at, "rest") {
            return Some(Amount { rest: true, end: at + 1, ..Amount::default() });
        }
        if self.key(at, "all") || self.key(at, "both") {
            if self.key(at, "both") && self.place(at + 1).is_some() {
                return None;
            }
            let skip = at + 1 + usize::from(self.key(at + 1, "of"));
            let skip = skip + usize::from(self.text_at(skip) == "the");
            if let Some(n) = self.item(skip).and_then(|item| item.whole()) {
                return Some(Amount { n: Some(n), end: skip + 1, ..Amount::default() });
            }
            return Some(Amount { all: true, end: skip, ..Amount::default() });
        }
        let n = item.whole()?;
        let mut amount = Amount { n: Some(n), end: at + 1, ..Amount::default() };
        // "one or two" keeps its parts apart; "7.2" is no number of fish.
        let glued_pair = self.glued(at + 1) && self.glued(at + 2);
        if self.mark(at + 1, '/')
            && let Some(of) = self.item(at + 2).and_then(|item| item.whole())
        {
            if n <= of {
                amount.of = Some(of);
                amount.end = at + 3;
                return Some(amount);
            }
            return None;
        }
        if self.mark(at + 1, '-') && glued_pair && self.item(at + 2).is_some_and(|item| item.whole().is_some()) {
            return vague(at + 3);
        }
        if (self.key(at + 1, "or") || self.key(at + 1, "to"))
            && self.item(at + 2).is_some_and(|item| item.whole().is_some())
        {
            let before_place = self.place(at + 2).is_some();
            return if before_place { Some(amount) } else { vague(at + 3) };
        }
        if self.mark(at + 1, '+') && self.glued(at + 1) && !self.glued(at + 2) {
            return vague(at + 2);
        }
        if self.is_roughly(at + 1) {
            return vague(at + 2);
        }
        let mut of = at + 1;
        if self.key(of, "out") {
            of += 1;
        }
        if self.key(of, "of") || of > at + 1 {
            of += usize::from(self.key(of, "of"));
            of += usize::from(self.text_at(of) == "the");
            if let Some(total) = self.item(of).and_then(|item| item.whole()) {
                if total < n {
                    return None;
                }
                amount.of = Some(total);
                amount.end = of + 1;
            }
        }
        Some(amount)
    }

    /// "ish", "or so", "odd" behind a number.
    fn is_roughly(&self, at: usize) -> bool {
        self.value(at, "about").is_some() && matches!(self.text_at(at), "ish" | "or" | "odd" | "thereabouts")
    }

    /// Skips what may stand between a number and its state.
    pub(super) fn between(&self, from: usize) -> Between {
        let mut between = Between { at: from, ..Between::default() };
        for _ in 0..9 {
            let at = between.at;
            let Some(item) = self.item(at) else { break };
            if self.place(at).is_some()
                || item.value("state").is_some()
                || item.value("sign").is_some()
                || item.value("sign?").is_some()
            {
                break;
            }
            let sized = item.number().is_some()
                && (self.value(at + 1, "unit") == Some("inch")
                    || self.mark(at + 1, '"')
                    || (self.key(at + 1, "in") && self.glued(at + 1)));
            match &item.what {
                What::Species(fish) => {
                    between.species = Some(fish.clone());
                    between.at += 1;
                }
                _ if sized => between.at += 2,
                _ if self.key(at, "more") => {
                    between.more = true;
                    between.at += 1;
                }
                _ if self.value(at, "fish").is_some()
                    || self.value(at, "unit") == Some("pcs")
                    || self.value(at, "unit") == Some("inch") =>
                {
                    between.at += 1;
                }
                _ if self.is_glue(at) || self.key(at, "that") || self.value(at, "colour").is_some() => between.at += 1,
                _ if self.key(at, "of") => {
                    let total = at + 1 + usize::from(self.text_at(at + 1) == "the");
                    if let Some(of) = self.item(total).and_then(|item| item.whole()) {
                        between.of = Some(of);
                        between.at = total + 1;
                    } else if self.text_at(at + 1) == "the"
                        || matches!(self.item(at + 1).map(|i| &i.what), Some(What::Species(_)))
                    {
                        between.at += 1;
                    } else {
                        break;
                    }
                }
                _ => {
                    between.foreign = self.is_foreign(at);
                    break;
                }
            }
        }
        between
    }
}
