//! The opening order and what is expected of closed bags.

use rust_decimal::Decimal;

use super::alarm::figures;
use crate::water::{Band, Missing};

/// Why a box stands where it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Why {
    /// A lead wants it first.
    pub pinned: bool,
    /// NH3 to expect once the bag has aired, mg/L as N.
    pub nh3: Option<Band>,
    /// Whether the oxygen may be spent.
    pub oxygen_spent: bool,
    /// Dead of the same fish in boxes already opened, 0 to 1.
    pub doa_share: f64,
    /// Whether its fish are delicate.
    pub delicate: bool,
    /// Hours in the bag.
    pub hours: Option<i64>,
    /// What its fish cost, where they cost more than those of any other box that waits.
    pub dearest: Option<(Decimal, String)>,
    /// Whether they cost nearly as much.
    pub dear: bool,
    /// Whether the asker may know what they cost.
    pub money: bool,
}

/// The grounds, the weightiest first.
pub fn why(why: &Why) -> Vec<String> {
    let mut words = Vec::new();
    if why.pinned {
        words.push("a lead wants it first".to_owned());
    }
    if why.doa_share > 0.0 {
        let percent = why.doa_share * 100.0;
        words.push(match percent {
            ..1.0 => "under 1 % DOA of the same fish so far".to_owned(),
            _ => format!("{percent:.0} % DOA of the same fish so far"),
        });
    }
    words.extend(why.nh3.map(forecast));
    if why.oxygen_spent {
        words.push("oxygen may be spent".to_owned());
    }
    if why.delicate {
        words.push("delicate fish".to_owned());
    }
    words.extend(why.hours.map(|hours| format!("{hours} h in the bag")));
    match &why.dearest {
        Some((value, currency)) if why.money => words.push(format!("dearest box, {value:.2} {currency}")),
        Some(_) => words.push("dearest box".to_owned()),
        None if why.dear => words.push("dear fish".to_owned()),
        None => {}
    }
    words
}

/// NH3 to expect once carbon dioxide has left an opened bag.
pub fn forecast(nh3: Band) -> String {
    format!("forecast NH3 {} mg/L as N once aired ({} to {})", figures(nh3.mid), figures(nh3.low), figures(nh3.high))
}

/// What is worth saying as a box is opened.
pub fn on_opening(nh3: Option<Band>, oxygen_spent: bool) -> String {
    let nh3 = nh3.map(|nh3| format!("{}: bags shut until the fish can leave", forecast(nh3))).unwrap_or_default();
    let spent = if oxygen_spent { "oxygen may be spent: this one now" } else { "" };
    super::join(&[&nh3, spent])
}

/// What was assumed of the boxes named; empty where nothing was.
pub fn assumed(missing: &[Missing]) -> String {
    let words: Vec<String> = missing
        .iter()
        .map(|missing| match missing {
            Missing::Size => "fish sizes",
            Missing::Litres => "litres",
            Missing::Hours => "hours in the bag",
            Missing::Temperature => "temperature on the way",
            Missing::PackingWater => "alkalinity of the packing water",
        })
        .map(str::to_owned)
        .collect();
    if words.is_empty() { String::new() } else { format!("Assumed, so the bands are wide: {}.", super::names(&words)) }
}
