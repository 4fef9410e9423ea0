//! Water poured off.

use super::Fact;
use super::water_value::{clean, tenth};
use crate::message::item::What;
use crate::message::message_text::Message;
use crate::message::place_words::nowhere;
use crate::message::{Act, Doubt, Gallon, Wanted};
use crate::quantity::Finite;

/// Litres of a US gallon.
const US_GALLON: f64 = 3.785;

/// Litres of an imperial gallon.
const UK_GALLON: f64 = 4.546;

/// Percentages that fractions are written as.
const FRACTIONS: [(f64, f64); 5] = [(0.5, 50.0), (1.0 / 3.0, 33.0), (2.0 / 3.0, 67.0), (0.25, 25.0), (0.75, 75.0)];

/// How much water was poured off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Share {
    Percent(f64),
    Litres(f64),
    Unsaid,
    Doubtful,
}

impl Message<'_> {
    /// A share or volume of water at `at`.
    pub(crate) fn share(&self, at: usize) -> Option<(Share, usize)> {
        let mut at = at;
        while self.value(at, "about").is_some()
            || self.mark(at, '~')
            || matches!(self.text_at(at), "the" | "another" | "a" | "of") && self.item(at)?.value("fraction").is_none()
        {
            at += 1;
        }
        let item = self.item(at)?;
        if let Some(fraction) = item.value("fraction") {
            let fraction: f64 = fraction.parse().ok()?;
            // "half a gallon"
            let unit = at + 1 + usize::from(self.text_at(at + 1) == "a");
            if let Some(litres) = self.litres(fraction, unit) {
                return Some((Share::Litres(litres), unit + 1));
            }
            let timed = self.time_unit(unit).is_some();
            return (!timed).then_some((Share::Percent((fraction * 100.0).round()), at + 1));
        }
        if self.key(at, "allofit") || (self.key(at, "all") && self.text_at(at) != "every") {
            return Some((Share::Percent(100.0), at + 1));
        }
        if self.key(at, "mostofit") || item.value("vague").is_some() {
            return Some((Share::Unsaid, at + 1));
        }
        let mut value = item.number()?;
        let mut end = at + 1;
        if (self.mark(end, '-') || self.key(end, "to") || self.key(end, "or"))
            && self.item(end + 1).is_some_and(|item| item.number().is_some())
        {
            let unit = self.value(end + 2, "unit");
            return matches!(unit, Some("percent" | "litre" | "gallon")).then_some((Share::Doubtful, end + 3));
        }
        if self.mark(end, '/')
            && let Some(below) = self.item(end + 1).and_then(|item| item.number()).filter(|below| *below > value)
            && self.value(end + 2, "unit") != Some("percent")
        {
            let fraction = value / below;
            let written = FRACTIONS.iter().find(|(known, _)| (known - fraction).abs() < 0.001);
            let percent = written.map_or((fraction * 100.0).round(), |(_, percent)| *percent);
            return Some((Share::Percent(percent), end + 2));
        }
        if matches!(self.item(at)?.what, What::Number { spelled: false, .. })
            && value < 1.0
            && self.tokens[item.first].text.chars().next().is_some_and(|c| !c.is_ascii_digit() && c != '.')
        {
            return Some((Share::Percent((value * 100.0).round()), at + 1));
        }
        if self.mark(end, '+') {
            end += 1;
        }
        match self.value(end, "unit") {
            Some("percent") => {
                value = clean(value);
                Some(((if (0.0..=100.0).contains(&value) { Share::Percent(value) } else { Share::Doubtful }), end + 1))
            }
            _ => self.litres(value, end).map(|litres| (Share::Litres(litres), end + 1)),
        }
    }

    /// Litres of so many of the unit at `at`.
    pub(crate) fn litres(&self, value: f64, at: usize) -> Option<f64> {
        let scale = match self.value(at, "unit")? {
            "litre" => return Some(clean(value)),
            "gallon" => match self.vocabulary.gallon {
                Gallon::Us => US_GALLON,
                Gallon::Imperial => UK_GALLON,
            },
            "gallon_us" => US_GALLON,
            "gallon_uk" => UK_GALLON,
            _ => return None,
        };
        Some(tenth(value * scale))
    }

    pub(super) fn swaps(&mut self, facts: &mut Vec<Fact>) {
        for at in 0..self.items.len() {
            if !self.free(at) || !self.reports(at) || self.negated(at) {
                continue;
            }
            let strong = self.key(at, "swapstrong");
            let weak = self.key(at, "swapweak");
            // "quarter off the next bag"
            let share_off = !strong
                && !weak
                && self.share(at).is_some_and(|(share, end)| {
                    !matches!(share, Share::Unsaid)
                        && self.any_key(end, &["off", "out"])
                        && self.clause.get(end) == self.clause.get(at)
                });
            let (first, last) = self.clause_bounds(at);
            let talk = share_off && !self.has_place(first, last) && (first..last).any(|n| self.is_foreign(n));
            if talk || !(strong || weak || share_off) {
                continue;
            }
            let (from, to) = self.clause_bounds(at);
            let near = |message: &Self, start: usize| {
                (start..(start + 5).min(to)).take_while(|n| message.free(*n) || message.place(*n).is_some()).find_map(
                    |n| {
                        let between = (start..n).all(|n| {
                            message.is_glue(n)
                                || message.place(n).is_some()
                                || message.value(n, "water").is_some()
                                || message.any_key(
                                    n,
                                    &["in", "on", "of", "off", "out", "by", "for", "from", "swapweak", "swapstrong"],
                                )
                                || message.mark(n, ':')
                                || matches!(message.text_at(n), "a" | "out" | "another")
                        });
                        between.then(|| message.share(n)).flatten().map(|(share, end)| (n, share, end))
                    },
                )
            };
            let ahead = near(self, if share_off { at } else { at + 1 });
            let behind = (1..=6).rev().filter(|back| at >= from + *back).find_map(|back| {
                let n = at - back;
                let (share, end) = self.free(n).then(|| self.share(n)).flatten()?;
                let gap = (end..at).all(|n| {
                    self.is_glue(n) || self.any_key(n, &["of", "off", "out"]) || self.value(n, "water").is_some()
                });
                (end <= at && gap && !matches!(share, Share::Unsaid)).then_some((n, share, end))
            });
            let unit_less_number = |found: &Option<(usize, Share, usize)>| found.is_some();
            // "water changed in A1 and A2, 20% each"
            let after = (strong && to < self.items.len() && self.clause.get(to) == Some(&(self.clause[at] + 1)))
                .then(|| self.share(to).map(|(share, end)| (to, share, end)))
                .flatten()
                .filter(|(n, share, _)| self.free(*n) && !matches!(share, Share::Unsaid));
            let amount = ahead.or(behind).or(after);
            // The common verbs need an amount, or the word water.
            let watery = (from..to).any(|n| self.value(n, "water").is_some());
            let replaced = watery
                && self.value(at + 1, "water").is_some()
                && !matches!(self.text_at(at), "took" | "did" | "pulled");
            if weak && !unit_less_number(&amount) && !replaced {
                continue;
            }
            if weak
                && matches!(amount, Some((_, Share::Unsaid, _)))
                && !self.any_key(amount.map_or(at, |(n, _, _)| n), &["mostofit"])
            {
                continue;
            }
            // "put 20 L in", "all of it" of something else, a dose's litres.
            if let Some((n, _, end)) = amount
                && (self.value(end, "product").is_some()
                    || (self.text_at(at) == "dropped" && self.value(n, "unit").is_some()))
            {
                continue;
            }
            if !self.trusted(at, false) {
                continue;
            }
            let first = amount.map_or(at, |(n, _, _)| n.min(at));
            let end = amount.map_or(at + 1, |(_, _, end)| end.max(at + 1));
            let finite = Finite::new;
            let (percent, litres) = match amount.map(|(_, share, _)| share) {
                Some(Share::Percent(percent)) => (finite(percent), None),
                Some(Share::Litres(litres)) => (None, finite(litres)),
                _ => (None, None),
            };
            let mut fact = Fact::new(Act::Swap { at: nowhere(), percent, litres, fix: false }, first, end);
            if matches!(amount, Some((_, Share::Doubtful, _))) {
                fact = fact.doubted(Doubt::HowMuch, Wanted::Number("percent".into()));
            }
            // Everything about the pouring off is one act: "dumped half and topped up".
            let mut last = end;
            while last < to
                && (self.any_key(last, &["off", "out", "topup", "swapweak", "swapstrong", "of", "water_again"])
                    || self.value(last, "water").is_some()
                    || (self.is_glue(last) && self.place(last + 1).is_none()))
                && self.share(last).is_none()
            {
                last += 1;
            }
            self.take(first, last);
            // "30% wc": the amount that was found ahead of the verb is gone too.
            if let Some((n, _, end)) = amount {
                self.take(n, end);
            }
            self.take(at, at + 1);
            facts.push(fact);
        }
    }
}
