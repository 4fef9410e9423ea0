//! Water measured, poured off, dosed.

use super::{Bind, Fact};
use crate::message::item::What;
use crate::message::message_text::Message;
use crate::message::place_words::nowhere;
use crate::message::{Act, DoseUnit, Doubt, Gallon, Wanted, Water};
use crate::quantity::{Finite, Measure};

/// How a value is meant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Bound {
    Exact,
    Over,
    /// A range, an upper bound, "off the chart" without a number.
    Doubtful,
}

/// A value as said, with its unit.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Value {
    pub value: f64,
    pub bound: Bound,
    pub unit: Option<&'static str>,
    pub end: usize,
}

/// mg/L as CaCO3 of one German degree of hardness.
const PER_DEGREE: f64 = 17.848;
/// mg/L as CaCO3 of one meq/L.
const PER_MEQ: f64 = 50.04;
/// Litres of a US gallon.
const US_GALLON: f64 = 3.785;
/// Litres of an imperial gallon.
const UK_GALLON: f64 = 4.546;
/// Percentages that fractions are written as.
const FRACTIONS: [(f64, f64); 5] = [(0.5, 50.0), (1.0 / 3.0, 33.0), (2.0 / 3.0, 67.0), (0.25, 25.0), (0.75, 75.0)];

pub(crate) fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

/// Takes away what binary arithmetic adds behind the sixth place.
fn clean(value: f64) -> f64 {
    (value * 1e6).round() / 1e6
}

/// The measure that a word of the lexicon names.
pub(crate) fn measure_of(word: &str) -> Option<Measure> {
    Some(match word {
        "temp" => Measure::TempC,
        "ph" => Measure::Ph,
        "tan" => Measure::TanMgL,
        "nh3" => Measure::Nh3MgL,
        "no2" => Measure::No2MgL,
        "no3" => Measure::No3MgL,
        "do" => Measure::DoMgL,
        "sal" => Measure::SalPpt,
        "sg" => Measure::Sg,
        "cond" => Measure::CondUsCm,
        "tds" => Measure::TdsMgL,
        "alk" => Measure::AlkMgL,
        "gh" => Measure::GhMgL,
        "chlorine" => Measure::ChlorineMgL,
        "co2" => Measure::Co2MgL,
        _ => return None,
    })
}

/// A value in the unit of its measure, or why it cannot be told.
pub(crate) fn normal(measure: Measure, value: f64, unit: Option<&str>) -> Result<(Measure, f64), (Doubt, Wanted)> {
    let name = || Wanted::Number(measure.key().to_owned());
    let (measure, value) = match (measure, unit) {
        (Measure::TempC, Some("f")) => (measure, tenth((value - 32.0) / 1.8)),
        (Measure::TempC, Some("c")) => (measure, tenth(value)),
        (Measure::TempC, _) if value >= 45.0 => (measure, tenth((value - 32.0) / 1.8)),
        (Measure::TempC, _) if value >= 34.0 => return Err((Doubt::WhichUnit, Wanted::Unit)),
        (Measure::TempC, _) => (measure, tenth(value)),
        (Measure::AlkMgL | Measure::GhMgL, Some("dkh")) => (measure, tenth(value * PER_DEGREE)),
        (Measure::AlkMgL | Measure::GhMgL, Some("meq")) => (measure, tenth(value * PER_MEQ)),
        (Measure::AlkMgL | Measure::GhMgL, Some("mgl" | "mg")) => (measure, value),
        (Measure::AlkMgL | Measure::GhMgL, _) if value < 25.0 => (measure, tenth(value * PER_DEGREE)),
        (Measure::DoMgL, Some("percent")) => (Measure::DoPercent, value),
        (Measure::CondUsCm, Some("ms")) => (measure, clean(value * 1000.0)),
        (Measure::SalPpt | Measure::Sg, None) if (0.99..1.1).contains(&value) => (Measure::Sg, value),
        _ => (measure, value),
    };
    let (low, high) = measure.plausible();
    if !(low..=high).contains(&value) {
        return Err((Doubt::Implausible(measure), name()));
    }
    Ok((measure, value))
}

/// Whether a unit can belong to a measure.
fn unit_fits(measure: Measure, unit: &str) -> bool {
    match unit {
        "c" | "f" | "deg" => {
            matches!(measure, Measure::TempC) || (unit == "deg" && matches!(measure, Measure::AlkMgL | Measure::GhMgL))
        }
        "percent" => matches!(measure, Measure::DoMgL),
        "mgl" | "mg" => !matches!(measure, Measure::TempC | Measure::Ph | Measure::Sg),
        "dkh" | "meq" => matches!(measure, Measure::AlkMgL | Measure::GhMgL),
        "us" | "ms" => matches!(measure, Measure::CondUsCm),
        "ppt" => matches!(measure, Measure::SalPpt),
        _ => false,
    }
}

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

/// How much water was poured off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Share {
    Percent(f64),
    Litres(f64),
    Unsaid,
    Doubtful,
}

impl Message<'_> {
    /// A value with its bound and unit at `at`.
    pub(crate) fn water_value(&self, at: usize) -> Option<Value> {
        let mut at = at;
        let mut bound = Bound::Exact;
        loop {
            if self.value(at, "over").is_some() || self.mark(at, '>') {
                bound = Bound::Over;
            } else if self.value(at, "under").is_some() || self.mark(at, '<') || self.key(at, "between") {
                bound = Bound::Doubtful;
            } else if !(self.mark(at, '~')
                || self.value(at, "about").is_some()
                || (bound != Bound::Exact && self.mark(at, '=')))
            {
                break;
            }
            at += 1;
        }
        if self.value(at, "nil").is_some() && self.text_at(at) != "no" || self.value(at, "nilread").is_some() {
            return Some(Value { value: 0.0, bound: Bound::Exact, unit: None, end: at + 1 });
        }
        if self.value(at, "offchart").is_some() {
            // "off the scale, 8+"
            let skip = at + 1 + usize::from(self.mark(at + 1, ','));
            if self.item(skip).is_some_and(|item| item.number().is_some())
                && let Some(value) = self.water_value(skip).filter(|value| value.bound == Bound::Over)
            {
                return Some(value);
            }
            return Some(Value { value: 0.0, bound: Bound::Doubtful, unit: None, end: at + 1 });
        }
        let value = self.item(at)?.number()?;
        let mut end = at + 1;
        if self.value(end, "about").is_some() && matches!(self.text_at(end), "ish" | "or" | "approx") {
            end += 1;
        }
        if self.mark(end, '+') {
            bound = Bound::Over;
            end += 1;
        }
        let mut unit = self.reading_unit(end);
        if let Some((_, next)) = unit {
            end = next;
        }
        if self.mark(end, '+') && self.glued(end) {
            bound = Bound::Over;
            end += 1;
        }
        if self.text_at(end) == "plus"
            && self.item(end + 1).is_none_or(|item| matches!(item.what, What::Mark(_) | What::Line))
        {
            bound = Bound::Over;
            end += 1;
        }
        // "74-76F", "1 or 2", "between 1 and 2"
        let spread = (self.mark(end, '-') && self.glued(end))
            || self.any_key(end, &["or", "to"])
            || (bound == Bound::Doubtful && self.key(end, "and"))
            || (self.mark(end, '/') && self.glued(end));
        if spread && self.item(end + 1).is_some_and(|item| item.number().is_some()) && self.place(end + 1).is_none() {
            bound = Bound::Doubtful;
            end += 2;
            if let Some((found, next)) = self.reading_unit(end) {
                unit = unit.or(Some((found, next)));
                end = next;
            }
        }
        Some(Value { value, bound, unit: unit.map(|(unit, _)| unit), end })
    }

    /// A unit of a reading at `at`, and the index behind it.
    fn reading_unit(&self, at: usize) -> Option<(&'static str, usize)> {
        let unit = self.value(at, "unit")?;
        let known = matches!(unit, "c" | "f" | "deg" | "percent" | "mgl" | "mg" | "dkh" | "meq" | "us" | "ms" | "ppt");
        if !known {
            return None;
        }
        // "°" and "C" are one unit.
        if unit == "deg"
            && let Some(scale @ ("c" | "f")) = self.value(at + 1, "unit")
        {
            return Some((scale, at + 2));
        }
        if unit == "deg"
            && matches!(self.text_at(at + 1), "c" | "f")
            && self.item(at + 1)?.end - self.item(at + 1)?.first == 1
        {
            return Some((if self.text_at(at + 1) == "c" { "c" } else { "f" }, at + 2));
        }
        let per_litre = (self.mark(at + 1, '/') && self.value(at + 2, "unit") == Some("litre"))
            || (self.mark(at + 1, '/') && self.text_at(at + 2) == "l");
        if matches!(unit, "mg") && per_litre {
            return Some(("mgl", at + 3));
        }
        if matches!(unit, "us" | "ms") && self.mark(at + 1, '/') {
            return Some((unit, at + 3));
        }
        Some((unit, at + 1))
    }

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
            return None;
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
    fn dose_verb(&self, at: usize) -> bool {
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
                    same && self.item(number + 1).is_none_or(|item| matches!(item.what, What::Mark(_) | What::Line))
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
