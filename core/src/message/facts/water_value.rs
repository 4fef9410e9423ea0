//! A value as it is said of water: its bound, its unit, and what it comes to in the unit of its measure.

use crate::message::item::What;
use crate::message::message_text::Message;
use crate::message::{Doubt, Wanted};
use crate::quantity::Measure;

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

pub(crate) fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

/// Takes away what binary arithmetic adds behind the sixth place.
pub(super) fn clean(value: f64) -> f64 {
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
pub(super) fn unit_fits(measure: Measure, unit: &str) -> bool {
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
            || (self.mark(end, '/') && self.glued(end) && unit.is_none());
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
}
