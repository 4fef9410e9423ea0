//! Which box next and why: what waits in the bags, how the fish bear it, deaths in sister boxes, hours, value.

use std::collections::BTreeMap;

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::draft::Draft;
use super::forecasting::BoxForecast;
use crate::consignment::{BoxKey, ConsignmentNo, LineKey};
use crate::people::{Power, may};
use crate::say;
use crate::say::answer::OrderLine;
use crate::say::order::Why;
use crate::species::{Kind, Sensitivity};
use crate::stock::Account;
use crate::water::{Learned, Missing};

/// How many boxes the opening order names.
const NEXT_BOXES: usize = 3;
/// What each ground weighs, in points: a choice. A box with twice the NH3 of another stands one point before it.
const DELICATE: f64 = 1.5;
const HARDY: f64 = -1.0;
/// Every fish of a sister box dead.
const ALL_DEAD: f64 = 10.0;
const OXYGEN_SPENT: f64 = 2.0;
/// Fish of which nothing can be forecast: as if their NH3 were at the limit.
const UNKNOWN: f64 = 1.0;
/// A day in the bag, beyond what the forecast holds.
const DAY: f64 = 0.25;
/// The dearest box that waits; a box is dear from this share of it.
const MOST_VALUE: f64 = 0.5;
const DEAR: f64 = 0.5;

/// What puts a box before others.
#[derive(Debug, Clone, PartialEq)]
struct Rank {
    pinned: bool,
    fish: bool,
    doa_share: f64,
    sensitivity: Sensitivity,
    hours: Option<i64>,
    value: Option<(Decimal, String)>,
    forecast: Option<BoxForecast>,
    dear: bool,
    points: f64,
}

impl Draft<'_> {
    /// Which boxes next, with what was assumed of their bags. The lead's own first, then by points, then by number.
    pub(super) fn opening_order(&self) -> (Vec<OrderLine>, Vec<Missing>) {
        let waiting = self.waiting_boxes();
        let mut learned: BTreeMap<ConsignmentNo, Learned> = BTreeMap::new();
        for key in &waiting {
            learned.entry(key.consignment).or_insert_with(|| self.learned(key.consignment));
        }
        let mut ranked: Vec<(BoxKey, Rank)> =
            waiting.into_iter().map(|key| (key, self.rank(key, &learned[&key.consignment]))).collect();
        // Values are compared within their currency only.
        let mut dearest: BTreeMap<String, Decimal> = BTreeMap::new();
        for (value, currency) in ranked.iter().filter_map(|(_, rank)| rank.value.as_ref()) {
            let most = dearest.entry(currency.clone()).or_insert(*value);
            *most = (*most).max(*value);
        }
        for (_, rank) in &mut ranked {
            let share = rank.value.as_ref().and_then(|(value, currency)| value.checked_div(*dearest.get(currency)?));
            let share = share.and_then(|share| share.to_f64()).unwrap_or(0.0);
            rank.dear = share >= DEAR;
            rank.points = self.points(rank) + MOST_VALUE * share;
        }
        ranked.sort_by(|(one, rank), (other, second)| {
            second.pinned.cmp(&rank.pinned).then(second.points.total_cmp(&rank.points)).then(one.cmp(other))
        });
        ranked.truncate(NEXT_BOXES);
        let acute = self.settings.alarm.nh3_acute.get();
        let money = may(self.role, Power::SeeMoney);
        let assumed = ranked.iter().filter_map(|(_, rank)| rank.forecast.as_ref());
        let mut assumed: Vec<Missing> = assumed.flat_map(|of| of.forecast.missing.iter().copied()).collect();
        assumed.sort();
        assumed.dedup();
        let lines = ranked.into_iter().map(|(key, rank)| OrderLine {
            name: self.box_name(key),
            fish: say::look::fish(
                &self.contents_in_words(key).into_iter().map(|line| (line.species, line.fish)).collect::<Vec<_>>(),
            ),
            why: say::order::why(&Why {
                pinned: rank.pinned,
                nh3: rank.forecast.as_ref().map(|of| of.forecast.nh3_opened).filter(|nh3| nh3.high > acute),
                oxygen_spent: rank.forecast.as_ref().is_some_and(|of| of.forecast.oxygen_spent),
                doa_share: rank.doa_share,
                delicate: rank.sensitivity == Sensitivity::Delicate,
                hours: rank.hours,
                dearest: rank.value.filter(|(value, currency)| dearest.get(currency) == Some(value)),
                dear: rank.dear,
                money,
            }),
        });
        (lines.collect(), assumed)
    }

    fn rank(&self, key: BoxKey, learned: &Learned) -> Rank {
        let consignment = self.state.consignments.get(&key.consignment);
        let lines: Vec<LineKey> = self.lines_of_box(key).into_iter().map(|line| self.key(key, line)).collect();
        let mut sensitivity = None;
        let mut doa_share: f64 = 0.0;
        for of in &lines {
            let tally = self.state.tally(*of);
            let opened = tally.listed.saturating_sub(self.unopened(*of));
            if opened > 0 {
                doa_share = doa_share.max(f64::from(tally.doa) / f64::from(opened));
            }
            let of = self.known_species(*of).map_or(Sensitivity::Ordinary, |known| known.sensitivity);
            sensitivity = Some(sensitivity.map_or(of, |worst: Sensitivity| worst.min(of)));
        }
        Rank {
            pinned: self.state.boxes.get(&key).is_some_and(|record| record.pinned),
            fish: lines.iter().any(|line| self.kind_of_line(*line) == Kind::Fish),
            doa_share,
            sensitivity: sensitivity.unwrap_or(Sensitivity::Ordinary),
            hours: consignment
                .and_then(|consignment| consignment.packed_at.as_deref())
                .and_then(|packed| self.hours_since(packed, self.now)),
            value: self.value_of(key),
            forecast: self.forecast_of_box(key, learned, self.now),
            dear: false,
            points: 0.0,
        }
    }

    fn points(&self, rank: &Rank) -> f64 {
        let water = match &rank.forecast {
            Some(of) => {
                let limit = self.settings.alarm.nh3_acute.get();
                let spent = if of.forecast.oxygen_spent { OXYGEN_SPENT } else { 0.0 };
                (1.0 + of.forecast.nh3_opened.mid / limit).log2() + spent
            }
            None if rank.fish => UNKNOWN,
            None => 0.0,
        };
        let hours = rank.hours.map_or(0.0, |hours| hours as f64 / 24.0 * DAY);
        let borne = match rank.sensitivity {
            Sensitivity::Delicate => DELICATE,
            Sensitivity::Ordinary => 0.0,
            Sensitivity::Hardy => HARDY,
        };
        water + hours + borne + ALL_DEAD * rank.doa_share
    }

    /// What the fish of a box cost by its list, in the list's currency; `None` where a price is not on it.
    fn value_of(&self, key: BoxKey) -> Option<(Decimal, String)> {
        let currency = self.state.consignments.get(&key.consignment)?.currency.clone()?;
        let contents = &self.state.boxes.get(&key)?.contents;
        let mut sum = Decimal::ZERO;
        for content in contents {
            let price = self.state.line(self.key(key, content.line))?.unit_price?;
            sum = sum.checked_add(price.checked_mul(Decimal::from(content.fish.saturating_sub(content.free)))?)?;
        }
        (sum > Decimal::ZERO).then_some((sum, currency))
    }

    /// Fish of a line in boxes nobody has opened.
    fn unopened(&self, line: LineKey) -> u32 {
        self.state
            .books
            .all()
            .filter(|(purse, of, balance)| *of == line && *balance > 0 && self.in_closed_box(&purse.account))
            .map(|(_, _, balance)| u32::try_from(balance).unwrap_or(0))
            .sum()
    }

    fn in_closed_box(&self, account: &Account) -> bool {
        match account {
            Account::Packed(pack) => self.state.boxes.get(&pack.of).is_some_and(|record| record.opened.is_none()),
            _ => false,
        }
    }
}
