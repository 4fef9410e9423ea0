//! What was put into the water.

use super::Fact;
use crate::message::item::What;
use crate::message::message_text::Message;
use crate::message::place_words::nowhere;
use crate::message::{Act, DoseUnit, Doubt, Wanted};
use crate::quantity::Finite;

/// The unit of a dose that a word of the lexicon names.
pub(crate) fn dose_unit(unit: &str) -> Option<DoseUnit> {
    Some(match unit {
        "ml" => DoseUnit::Ml,
        "litre" => DoseUnit::L,
        "gram" => DoseUnit::G,
        "kg" => DoseUnit::Kg,
        "mg" => DoseUnit::Mg,
        "drop" => DoseUnit::Drop,
        "tsp" => DoseUnit::Tsp,
        "tbsp" => DoseUnit::Tbsp,
        "cap" => DoseUnit::Cap,
        "scoop" => DoseUnit::Scoop,
        "pinch" => DoseUnit::Pinch,
        "pump" => DoseUnit::Pump,
        "oz" => DoseUnit::Oz,
        "fl_oz" => DoseUnit::FlOz,
        "cup" => DoseUnit::Cup,
        _ => return None,
    })
}

impl Message<'_> {
    pub(super) fn doses(&mut self, facts: &mut Vec<Fact>) {
        let mut at = 0;
        while at < self.items.len() {
            if !self.free(at) || !self.reports(at) {
                at += 1;
                continue;
            }
            let next = self
                .dose_by_amount(at, facts)
                .or_else(|| self.dose_by_product(at, facts))
                .or_else(|| self.dose_by_verb(at, facts));
            at = match next {
                Some(end) => {
                    self.take(at, end);
                    end.max(at + 1)
                }
                None => at + 1,
            };
        }
    }

    /// A number with the unit of a dose at `at`: amount, unit (none for "spoons"), index behind.
    pub(crate) fn dose_amount(&self, at: usize) -> Option<(f64, Option<DoseUnit>, usize)> {
        let item = self.item(at)?;
        let (value, mut unit) = if let Some(fraction) = item.value("fraction") {
            (fraction.parse().ok()?, at + 1)
        } else if matches!(self.text_at(at), "a" | "an") && item.end - item.first == 1 {
            (1.0, at + 1)
        } else {
            let value = item.number()?;
            if self.mark(at + 1, '/')
                && let Some(below) = self.item(at + 2).and_then(|item| item.number()).filter(|n| *n > 0.0)
            {
                (value / below, at + 3)
            } else if let (Some(a), true, Some(b)) = (
                self.item(at + 1).and_then(|i| i.number()),
                self.mark(at + 2, '/'),
                self.item(at + 3).and_then(|i| i.number()),
            ) && a < b
            {
                (value + a / b, at + 4)
            } else {
                (value, at + 1)
            }
        };
        while matches!(self.text_at(unit), "a" | "of" | "more" | "level" | "heaped" | "big" | "small") && unit < at + 6
        {
            unit += 1;
        }
        let word = self.value(unit, "unit")?;
        if word == "spoon" {
            return Some((value, None, unit + 1));
        }
        let found = dose_unit(word)?;
        // "4,8 mg" of oxygen is spoken of elsewhere; "mg/l" is no dose.
        (!(self.mark(unit + 1, '/') && self.glued(unit + 1))).then_some((value, Some(found), unit + 1))
    }

    /// The words of these items as they were typed, in lower case.
    fn as_typed(&self, from: usize, to: usize) -> String {
        let (first, last) = (self.items[from].first, self.items[to - 1].end - 1);
        self.text[self.tokens[first].start..self.tokens[last].end].to_lowercase()
    }

    /// Whether a verb of dosing stands in the clause.
    pub(super) fn dose_verb(&self, at: usize) -> bool {
        let (from, to) = self.clause_bounds(at);
        (from..to).any(|n| self.key(n, "dose"))
    }

    fn dose_fact(
        &self,
        product: Option<String>,
        amount: Option<f64>,
        unit: Option<DoseUnit>,
        first: usize,
        end: usize,
    ) -> Fact {
        let named = product.is_some();
        let act = Act::Dose {
            at: nowhere(),
            product: product.unwrap_or_default(),
            amount: amount.and_then(Finite::new),
            unit,
            fix: false,
        };
        let fact = Fact::new(act, first, end);
        if !named {
            fact.doubted(Doubt::WhichProduct, Wanted::Product)
        } else if amount.is_none() {
            fact.doubted(Doubt::HowMuch, Wanted::Number("amount".into()))
        } else if unit.is_none() {
            fact.doubted(Doubt::WhichUnit, Wanted::Unit)
        } else {
            fact
        }
    }

    /// "5 ml binder", "half a tsp of bicarb", "250mg metronidazole".
    fn dose_by_amount(&mut self, at: usize, facts: &mut Vec<Fact>) -> Option<usize> {
        let (amount, unit, end) = self.dose_amount(at)?;
        let mut name = end;
        while self.any_key(name, &["of"]) || matches!(self.text_at(name), "more" | "the") {
            name += 1;
        }
        let same = self.clause.get(name) == self.clause.get(at);
        if let Some(product) = self.value(name, "product").filter(|_| same) {
            if self.negated(at) {
                return Some(name + 1);
            }
            if self.trusted(at, false)
                || self.dose_verb(at)
                    && self.layer(self.clause_bounds(at).0, self.clause_bounds(at).1, "aside").next().is_none()
            {
                facts.push(self.dose_fact(Some(product.to_owned()), Some(amount), unit, at, name + 1));
            }
            return Some(name + 1);
        }
        // The product may stand just before: "salt 2g", "thiosulfate 3 drops".
        let before = at
            .checked_sub(1)
            .map(|n| n - usize::from(n > 0 && (self.mark(n, ':') || self.mark(n, '-') || self.mark(n, '='))));
        if let Some(product) = before.and_then(|n| {
            self.value(n, "product").filter(|_| self.free(n) && self.clause.get(n) == self.clause.get(at))
        }) {
            let first = before.unwrap_or(at);
            if self.trusted(at, false) {
                self.take(first, end);
                facts.push(self.dose_fact(Some(product.to_owned()), Some(amount), unit, first, end));
            }
            return Some(end);
        }
        let measured = self.value(name, "measure").is_some() || self.value(at.saturating_sub(1), "measure").is_some();
        if measured
            || self.any_key(name, &["off", "out", "swapweak", "swapstrong", "topup"])
            || self.value(name, "water").is_some()
        {
            return None;
        }
        let (from, to) = self.clause_bounds(at);
        if (from..to).any(|n| self.any_key(n, &["swapstrong", "swapweak"])) {
            return None;
        }
        let verb = self.dose_verb(at);
        let placed = self.has_place(from, to);
        let unnamed = unit.is_none() || matches!(unit, Some(DoseUnit::L));
        if !(verb || placed) || self.layer(from, to, "aside").next().is_some() || (unnamed && !verb) {
            return None;
        }
        // "metronidazole 250mg": a word by itself before the amount.
        if at > from
            && self.is_unknown(at - 1)
            && self.is_foreign(at - 1)
            && self.free(at - 1)
            && !self.is_foreign(name)
        {
            let product = self.as_typed(at - 1, at);
            self.take(at - 1, end);
            facts.push(self.dose_fact(Some(product), Some(amount), unit, at - 1, end));
            return Some(end);
        }
        // Any other product as typed.
        let mut last = name;
        while last < to && last < name + 3 && self.is_foreign(last) && self.value(last, "known").is_none() {
            last += 1;
        }
        if last > name {
            let product = self.as_typed(name, last);
            facts.push(self.dose_fact(Some(product), Some(amount), unit, at, last));
            return Some(last);
        }
        let says_nothing_else =
            self.item(name).is_none_or(|item| matches!(item.what, What::Mark(_) | What::Line | What::Place(_)))
                || self.any_key(name, &["in", "into", "to", "at", "for", "here", "there"])
                || self.is_glue(name);
        if says_nothing_else && (verb || placed) && self.value(at, "number").is_none() {
            facts.push(self.dose_fact(None, Some(amount), unit, at, end));
            return Some(end);
        }
        None
    }

    /// "binder 5 ml", "binder went in tray 4", "a bit of salt in A2".
    fn dose_by_product(&mut self, at: usize, facts: &mut Vec<Fact>) -> Option<usize> {
        let product = self.value(at, "product")?;
        let mut number = at + 1;
        while self.mark(number, ':')
            || self.mark(number, '-')
            || self.mark(number, '=')
            || self.is_glue(number)
            || self.value(number, "about").is_some()
            || (number == at + 1 && self.place(number).is_some())
        {
            number += 1;
            if number > at + 4 {
                break;
            }
        }
        let same = self.clause.get(number) == self.clause.get(at);
        let (from, to) = self.clause_bounds(at);
        if self.negated(at) || self.layer(from, to, "aside").next().is_some() {
            return Some(at + 1);
        }
        if let Some((amount, unit, end)) = self.dose_amount(number).filter(|_| same && self.text_at(number) != "a")
            && self.value(end, "product").is_none()
        {
            if self.trusted(at, false) {
                facts.push(self.dose_fact(Some(product.to_owned()), Some(amount), unit, at, end));
            }
            return Some(end);
        }
        // "salt 35 ppt" measures, it doses nothing.
        if self.item(number).is_some_and(|item| item.number().is_some())
            && self.value(number + 1, "unit").is_some_and(|unit| matches!(unit, "ppt" | "percent" | "mgl"))
        {
            return Some(at + 1);
        }
        let placed = self.has_place(from, to);
        let foreign = (from..to).filter(|n| self.is_foreign(*n)).count();
        // "in" behind the product: it went into the water.
        let went = self.dose_verb(at) || self.any_key(at + 1, &["in", "into", "to"]);
        if !(went && (placed || foreign == 0)) && !(placed && foreign == 0 && to - from <= 4) {
            return None;
        }
        let bare_before = at
            .checked_sub(1)
            .and_then(|n| self.item(n))
            .and_then(|item| item.number().map(|n| (n, ())))
            .map(|(n, ())| n);
        match bare_before.filter(|_| self.free(at - 1)) {
            Some(amount) => {
                self.take(at - 1, at + 1);
                facts.push(self.dose_fact(Some(product.to_owned()), Some(amount), None, at - 1, at + 1));
            }
            None => {
                // "2 into A3 with binder" and the like keep their number.
                let amount = self.item(number).and_then(|item| item.number()).filter(|_| {
                    // "binder 5 in tray 3": five of what is asked.
                    let placed =
                        self.any_key(number + 1, &["in", "into", "to", "at"]) && self.place(number + 2).is_some();
                    let ends = self
                        .item(number + 1)
                        .is_none_or(|item| matches!(item.what, What::Mark(_) | What::Line | What::Place(_)));
                    same && (ends || placed)
                });
                facts.push(self.dose_fact(Some(product.to_owned()), amount, None, at, at + 1));
            }
        }
        Some(at + 1)
    }

    /// "dosed 5 in A2", "dosed A2".
    fn dose_by_verb(&mut self, at: usize, facts: &mut Vec<Fact>) -> Option<usize> {
        if !matches!(self.text_at(at), "dosed" | "dosing" | "medicated" | "treated") || self.negated(at) {
            return None;
        }
        let (from, to) = self.clause_bounds(at);
        if (from..to).any(|n| self.value(n, "product").is_some() || (n > at && self.dose_amount(n).is_some())) {
            return None;
        }
        let foreign = (from..to).any(|n| self.is_foreign(n));
        if !self.has_place(from, to) && foreign {
            return None;
        }
        let amount = (at + 1..to).find_map(|n| self.item(n).and_then(|item| item.number()).filter(|_| self.free(n)));
        facts.push(self.dose_fact(None, amount, None, at, at + 1));
        let end = if amount.is_some() {
            (at + 1..to).find(|n| self.item(*n).is_some_and(|item| item.number().is_some())).map_or(at + 1, |n| n + 1)
        } else {
            at + 1
        };
        Some(end)
    }
}
