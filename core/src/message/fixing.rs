//! A bare number as the correction of an earlier act.

use super::facts::Bound;
use super::message_text::Message;
use super::{Act, Count, Water};
use crate::quantity::Finite;

/// The corrections that the number at `at` may make in `act`: one for each field it fits.
pub(crate) fn corrected(message: &Message<'_>, at: usize, act: &Act, old: Option<f64>) -> Vec<Act> {
    let was = |value: f64| old.is_none_or(|old| (old - value).abs() < 1e-9);
    let unit = message.value(at + 1, "unit");
    let whole = message.items[at].whole().filter(|_| unit.is_none_or(|unit| unit == "pcs"));
    let finite = |value: f64| Finite::new(value);
    match act {
        Act::Count(count) => {
            let Some(n) = whole else { return Vec::new() };
            super::facts_fields()
                .iter()
                .filter(|field| super::facts_get(count, field).is_some_and(|value| was(f64::from(value))))
                .map(|field| {
                    let mut fixed = Count::at(count.at.clone());
                    fixed.fix = true;
                    fixed.species.clone_from(&count.species);
                    super::facts_set(&mut fixed, field, Some(n));
                    Act::Count(fixed)
                })
                .collect()
        }
        Act::Reading(water) => {
            let Some(value) = message.water_value(at).filter(|value| value.bound != Bound::Doubtful) else {
                return Vec::new();
            };
            water
                .values
                .iter()
                .filter(|(_, known)| was(known.get()))
                .filter_map(|(measure, _)| {
                    let (measure, number) = super::facts_normal(*measure, value.value, value.unit).ok()?;
                    let mut fixed =
                        Water { at: water.at.clone(), values: Default::default(), over: Default::default(), fix: true };
                    fixed.values.insert(measure, Finite::new(number)?);
                    if value.bound == Bound::Over {
                        fixed.over.insert(measure);
                    }
                    Some(Act::Reading(fixed))
                })
                .collect()
        }
        Act::Dose { at: place, product, amount, .. } => {
            let (value, said) = match message.dose_amount(at) {
                Some((value, said, _)) => (value, said),
                None if unit.is_none() => match message.items[at].number() {
                    Some(value) => (value, None),
                    None => return Vec::new(),
                },
                None => return Vec::new(),
            };
            if !amount.is_some_and(|amount| was(amount.get())) {
                return Vec::new();
            }
            vec![Act::Dose {
                at: place.clone(),
                product: product.clone(),
                amount: finite(value),
                unit: said,
                fix: true,
            }]
        }
        Act::Swap { at: place, percent, litres, .. } => {
            let known = percent.or(*litres);
            if old.is_some() && !known.is_some_and(|known| was(known.get())) {
                return Vec::new();
            }
            let (percent, litres) = match message.share(at) {
                Some((super::facts_share::Percent(value), _)) => (finite(value), None),
                Some((super::facts_share::Litres(value), _)) => (None, finite(value)),
                _ if unit.is_none() && percent.is_some() => (message.items[at].number().and_then(finite), None),
                _ if unit.is_none() && litres.is_some() => (None, message.items[at].number().and_then(finite)),
                _ => return Vec::new(),
            };
            vec![Act::Swap { at: place.clone(), percent, litres, fix: true }]
        }
        Act::Move { to, count: Some(known), species, .. } if was(f64::from(*known)) => whole
            .map(|n| Act::Move { to: to.clone(), from: None, count: Some(n), species: species.clone(), fix: true })
            .into_iter()
            .collect(),
        Act::Reserve { count: Some(known), at: place, species, .. } if was(f64::from(*known)) => whole
            .map(|n| Act::Reserve {
                count: Some(n),
                at: place.clone(),
                species: species.clone(),
                buyer: None,
                fix: true,
            })
            .into_iter()
            .collect(),
        Act::Ship { count: Some(known), at: place, .. } if was(f64::from(*known)) => {
            whole.map(|n| Act::Ship { at: place.clone(), count: Some(n), buyer: None, fix: true }).into_iter().collect()
        }
        Act::Recheck { at: place, .. } => match message.minutes(at) {
            Some((minutes, _)) => {
                vec![Act::Recheck { at: place.clone(), in_min: Some(minutes.round() as u32), clock: None }]
            }
            None => Vec::new(),
        },
        Act::Hold { at: place, why, .. } => match message.minutes(at) {
            Some((minutes, _)) => {
                vec![Act::Hold { at: place.clone(), hours: finite(minutes / 60.0), until: None, why: why.clone() }]
            }
            None => Vec::new(),
        },
        _ => Vec::new(),
    }
}
