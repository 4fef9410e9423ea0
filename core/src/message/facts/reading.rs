//! Water measured.

use super::water_value::{Bound, Value, measure_of, normal, unit_fits};
use super::{Bind, Fact};
use crate::message::item::What;
use crate::message::message_text::Message;
use crate::message::place_words::nowhere;
use crate::message::{Act, Doubt, Wanted, Water};
use crate::quantity::{Finite, Measure};

impl Message<'_> {
    pub(super) fn readings(&mut self, facts: &mut Vec<Fact>) {
        let mut at = 0;
        let mut last: Option<Measure> = None;
        while at < self.items.len() {
            if !self.free(at) || !self.reports(at) {
                at += 1;
                continue;
            }
            let found = self
                .measure_first(at, facts, &mut last)
                .or_else(|| self.value_first(at, facts, &mut last))
                .or_else(|| self.elliptic_reading(at, facts, last));
            at = match found {
                Some(end) => {
                    self.take(at, end);
                    end.max(at + 1)
                }
                None => at + 1,
            };
        }
    }

    fn push_reading(
        &self,
        facts: &mut Vec<Fact>,
        measure: Measure,
        value: &Value,
        first: usize,
        end: usize,
    ) -> Option<Measure> {
        let mut water = Water { at: nowhere(), values: Default::default(), over: Default::default(), fix: false };
        let act = |water| Act::Reading(water);
        if value.bound == Bound::Doubtful {
            let doubt = (Doubt::WhichValue(measure), Wanted::Number(measure.key().to_owned()));
            facts.push(Fact::new(act(water), first, end).doubted(doubt.0, doubt.1));
            return Some(measure);
        }
        match normal(measure, value.value, value.unit).map(|(m, v)| (m, Finite::new(v))) {
            Ok((measure, Some(finite))) => {
                water.values.insert(measure, finite);
                if value.bound == Bound::Over {
                    water.over.insert(measure);
                }
                facts.push(Fact::new(act(water), first, end));
                Some(measure)
            }
            Ok((measure, None)) => {
                facts.push(
                    Fact::new(act(water), first, end)
                        .doubted(Doubt::Implausible(measure), Wanted::Number(measure.key().to_owned())),
                );
                Some(measure)
            }
            Err((doubt, wanted)) => {
                // The number is kept while its unit is asked for.
                if wanted == Wanted::Unit
                    && let Some(finite) = Finite::new(value.value)
                {
                    water.values.insert(measure, finite);
                }
                facts.push(Fact::new(act(water), first, end).doubted(doubt, wanted));
                Some(measure)
            }
        }
    }

    /// "ph is now 6.4", "ammonia in B2 3.5".
    fn measure_first(&mut self, at: usize, facts: &mut Vec<Fact>, last: &mut Option<Measure>) -> Option<usize> {
        let measure = measure_of(self.value(at, "measure")?)?;
        let mut number = at + 1;
        let mut own = None;
        for _ in 0..7 {
            if let Some(mention) = self.place(number) {
                if own.is_some() {
                    break;
                }
                own = Some((number, mention.clone()));
                number += 1;
            } else if self.is_glue(number)
                || self.mark(number, ':')
                || self.mark(number, '=')
                || (self.mark(number, '-') && self.tokens[self.items[number].first].spaced && !self.glued(number + 1))
                || self
                    .any_key(number, &["at", "to", "in", "of", "for", "on", "that", "here", "there", "from", "count"])
                || self.value(number, "water").is_some()
                || (matches!(
                    self.text_at(number),
                    "dropped" | "rose" | "risen" | "fell" | "climbed" | "fallen" | "crept" | "gone" | "level"
                ))
                || (self.value(number, "unit").is_some() && own.is_none() && number == at + 1)
            {
                number += 1;
            } else {
                break;
            }
        }
        let same = self.clause.get(number) == self.clause.get(at);
        // "from 7 to 6.5": where it came to counts.
        if self.key(number - 1, "from")
            && let Some(was) = self.item(number).and_then(|item| item.number().map(|_| number + 1))
            && self.key(was, "to")
            && self.item(was + 1).is_some_and(|item| item.number().is_some())
        {
            number = was + 1;
        }
        let mut value = same.then(|| self.water_value(number)).flatten()?;
        // "ph was 6.4 now 6.8": what it is now.
        let now = value.end + usize::from(self.mark(value.end, ','));
        if self.text_at(now) == "now"
            && let Some(later) = self.water_value(now + 1)
        {
            value = later;
        }
        // "do 3 boxes", "do 7 next": "do" is a verb unless its number ends the fact.
        if self.text_at(at) == "do" && !self.ends_reading(value.end, &value) {
            return None;
        }
        let worded = self.value(at, "unit").filter(|unit| *unit == "dkh" && value.unit.is_none());
        if worded.is_some() {
            value.unit = worded;
        }
        // A number that already counts fish or time is no reading.
        if value.unit.is_none() && value.bound == Bound::Exact && self.counts_something(value.end) {
            return None;
        }
        if let Some(unit) = value.unit
            && !unit_fits(measure, unit)
        {
            // "sg 1.025 dkh 8": what looks like the unit is the name of the next reading.
            if self.value(value.end - 1, "measure").is_none() || self.water_value(value.end).is_none() {
                return None;
            }
            value.unit = None;
            value.end -= 1;
        }
        if self.negated(at) || !self.trusted(at, false) && own.is_none() {
            return Some(value.end);
        }
        // "sal 2 ppt" is salinity; "salt 2 g" never comes here.
        *last = self.push_reading(facts, measure, &value, at, value.end);
        // "DO 5.5 mg/L 68%"
        let mut end = value.end;
        if measure == Measure::DoMgL
            && let Some(second) = self.water_value(end + usize::from(self.mark(end, ',')))
            && second.unit == Some("percent")
            && value.unit != Some("percent")
        {
            self.push_reading(facts, measure, &second, end, second.end);
            end = second.end;
        }
        if let (Some((_, mention)), Some(fact)) = (own, facts.last_mut()) {
            fact.bind = Bind::Own(mention);
        }
        Some(end)
    }

    fn ends_reading(&self, at: usize, value: &Value) -> bool {
        value.unit.is_some()
            || value.value.fract() != 0.0
            || self.item(at).is_none_or(|item| {
                matches!(item.what, What::Mark(_) | What::Line | What::Place(_))
                    || item.value("measure").is_some()
                    || self.any_key(at, &["and", "in", "at", "here", "there", "but"])
                    || (self.is_glue(at) && !matches!(self.text_at(at), "the"))
            })
    }

    fn counts_something(&self, at: usize) -> bool {
        self.value(at, "state").is_some_and(|state| state != "sound")
            || self.value(at, "fish").is_some()
            || self.value(at, "unit").is_some_and(|unit| !matches!(unit, "ppt" | "us" | "ms" | "inch"))
            || matches!(self.item(at).map(|item| &item.what), Some(What::Species(_)))
            || self.value(at, "product").is_some()
    }

    /// "3.5ppm amonia", "9 dgh", "75F", "19 degrees".
    fn value_first(&mut self, at: usize, facts: &mut Vec<Fact>, last: &mut Option<Measure>) -> Option<usize> {
        if self.value(at, "nil").is_some() {
            // "no ammonia", "zero nitrite"
            return self.nothing_of(at, facts, last);
        }
        let value = self.water_value(at)?;

        let named = value.end + usize::from(self.key(value.end, "of"));
        let same = self.clause.get(named) == self.clause.get(at);
        let measure = self.value(named, "measure").filter(|_| same).and_then(measure_of);
        let hardness = self.value(named, "unit") == Some("dkh");
        let mut value = value;
        // "9 dgh" is hardness and its unit in one word.
        let in_one =
            (value.unit == Some("dkh")).then(|| self.value(value.end - 1, "measure")).flatten().and_then(measure_of);
        if let Some(measure) = in_one.filter(|_| self.trusted(at, false)) {
            *last = self.push_reading(facts, measure, &value, at, value.end);
            return Some(value.end);
        }
        if let Some(measure) = measure.filter(|measure| value.unit.is_none_or(|unit| unit_fits(*measure, unit))) {
            let product = self.value(named, "product").is_some();
            if !product && (value.unit.is_some() || self.names_follow_numbers(named)) && self.text_at(named) != "do" {
                if hardness {
                    value.unit = Some("dkh");
                }
                if !self.trusted(at, false) {
                    return Some(named + 1);
                }
                *last = self.push_reading(facts, measure, &value, at, named + 1);
                return Some(named + 1);
            }
        }
        if hardness && self.value(value.end, "measure").is_none() {
            return None;
        }
        // "added 2 g/L salt" says how strong it was to be, not what was read.
        if value.unit == Some("ppt") && (self.dose_verb(at) || self.value(at.saturating_sub(1), "product").is_some()) {
            return None;
        }
        let measure = match value.unit? {
            "c" | "f" | "deg" => Measure::TempC,
            "us" | "ms" => Measure::CondUsCm,
            "ppt" => Measure::SalPpt,
            "dkh" => Measure::AlkMgL,
            _ => return None,
        };
        if self.key(value.end, "out") || self.text_at(value.end) == "outside" || !self.trusted(at, false) {
            return Some(value.end);
        }
        *last = self.push_reading(facts, measure, &value, at, value.end);
        Some(value.end)
    }

    fn nothing_of(&mut self, at: usize, facts: &mut Vec<Fact>, last: &mut Option<Measure>) -> Option<usize> {
        let named = at + 1;
        let measure = self.value(named, "measure").and_then(measure_of)?;
        let chemical = matches!(
            measure,
            Measure::TanMgL
                | Measure::Nh3MgL
                | Measure::No2MgL
                | Measure::No3MgL
                | Measure::ChlorineMgL
                | Measure::Co2MgL
        );
        let own = self.water_value(named + 1).is_some_and(|value| value.end > named + 1);
        if !chemical || own || !self.trusted(at, false) {
            return None;
        }
        let value = Value { value: 0.0, bound: Bound::Exact, unit: None, end: named + 1 };
        *last = self.push_reading(facts, measure, &value, at, named + 1);
        Some(named + 1)
    }

    /// Whether in this run numbers stand before their names: "6.2 ph 4 ammonia".
    fn names_follow_numbers(&self, named: usize) -> bool {
        let mut at = named + 1;
        for _ in 0..8 {
            while self.mark(at, ',') || self.key(at, "and") {
                at += 1;
            }
            let Some(value) = self.water_value(at) else { return true };
            if self.value(value.end, "measure").is_none() {
                return value.unit.is_some() || self.counts_something(value.end);
            }
            at = value.end + 1;
        }
        true
    }

    /// "ph A1 6.8, A2 7.0": the name said before goes on.
    fn elliptic_reading(&mut self, at: usize, facts: &mut Vec<Fact>, last: Option<Measure>) -> Option<usize> {
        let measure = last?;
        let previous = facts.iter().filter(|fact| fact.end <= at).max_by_key(|fact| fact.end)?;
        let behind_place = at > 0
            && (self.place(at - 1).is_some() || (self.mark(at - 1, ':') && at > 1 && self.place(at - 2).is_some()));
        if !matches!(previous.said.act, Act::Reading(_)) || !behind_place {
            return None;
        }
        let value = self.water_value(at)?;
        let closes = self.place(value.end).is_some()
            || self
                .item(value.end)
                .is_none_or(|item| matches!(item.what, What::Mark(',' | '.' | ';' | '/') | What::Line))
            || self.key(value.end, "and");
        if !closes || value.unit.is_some_and(|unit| !unit_fits(measure, unit)) {
            return None;
        }
        self.push_reading(facts, measure, &value, at, value.end);
        Some(value.end)
    }
}
