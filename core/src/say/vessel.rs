//! How a tank or tray is, in six lines at most.

use super::time;
use crate::message::Sign;
use crate::quantity::{Finite, Measure};
use crate::settings::{AmmoniaBasis, Kit, OxideBasis, Temperature};
use crate::watch::Condition;

/// Readings of one time: measure, value, whether it was over that.
pub type Readings = Vec<(Measure, Finite, bool)>;

/// What is known of a tank or tray.
#[derive(Debug, Clone, PartialEq)]
pub struct VesselStands {
    /// Its fish, as a clause: "A2 holds 36 clown loach (lot 3)".
    pub fish: String,
    /// How they are, where any live.
    pub condition: Option<Condition>,
    /// The last look, where there was one.
    pub looked: Option<Looked>,
    /// The next look, where one is planned.
    pub next: Option<NextLook>,
    /// The last reading of each kind, by local time, the newest first.
    pub water: Vec<(String, Readings)>,
    /// What the numbers of the kits mean.
    pub kit: Kit,
    /// The scale of temperatures.
    pub scale: Temperature,
    /// Fish found dead lately.
    pub dead: u32,
    /// Within how many hours.
    pub dead_hours: u32,
    /// Its lots.
    pub lots: Vec<LotLine>,
}

/// A look that was given.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Looked {
    /// When, local.
    pub at: String,
    /// By whom.
    pub by: String,
    /// The signs last seen.
    pub signs: Vec<Sign>,
}

/// A look that is to come.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NextLook {
    /// When, local.
    pub at: String,
    /// Minutes it is overdue.
    pub overdue: Option<i64>,
}

/// A lot and whether it may be sold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LotLine {
    /// Its number.
    pub lot: u32,
    /// Whether it may be sold.
    pub sale: Sale,
}

/// Whether a lot may be sold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Sale {
    /// All of it.
    Cleared,
    /// Some of it.
    Partly {
        /// Fish cleared.
        cleared: u32,
        /// Of how many.
        of: u32,
    },
    /// Not before this local time.
    HeldUntil(String),
    /// The hold ended at this local time, and no lead has cleared it.
    HoldOver(String),
    /// Not before a lead says so.
    Held,
}

/// How a tank or tray is. What is not known has no line.
pub fn stands(it: &VesselStands) -> String {
    let next = it.next.as_ref().map(|next| {
        let overdue = next.overdue.map(|minutes| format!("{} overdue", time::length(minutes))).unwrap_or_default();
        super::join(&[&format!("Next look {}", next.at), &overdue])
    });
    let dead = (it.dead > 0).then(|| format!("{} found dead in the last {} h", it.dead, it.dead_hours));
    let lots: Vec<String> = it.lots.iter().map(lot).collect();
    let lines = [
        Some(it.fish.clone()),
        looked(it),
        next,
        (!it.water.is_empty()).then(|| water(it)),
        dead,
        (!lots.is_empty()).then(|| super::capital(&lots.join("; "))),
    ];
    lines.into_iter().flatten().collect::<Vec<_>>().join("\n")
}

fn looked(it: &VesselStands) -> Option<String> {
    let condition = it.condition.map(super::standing::condition_word);
    let Some(looked) = &it.looked else {
        return condition.map(|word| format!("Nobody has looked yet, {word} by the counts"));
    };
    let signs: Vec<&str> = looked.signs.iter().map(|sign| super::recorded::sign(*sign)).collect();
    let by = format!("Last look {} by {}", looked.at, looked.by);
    let how = super::join(&[condition.unwrap_or_default(), &signs.join(", ")]);
    Some(if how.is_empty() { by } else { format!("{by}: {how}") })
}

fn water(it: &VesselStands) -> String {
    let groups: Vec<String> = it
        .water
        .iter()
        .map(|(at, values)| {
            let words: Vec<String> = values
                .iter()
                .map(|(measure, value, over)| {
                    let words = super::recorded::measured(*measure, *value, *over, it.scale);
                    format!("{words}{}", basis(*measure, &it.kit))
                })
                .collect();
            format!("{} at {at}", words.join(", "))
        })
        .collect();
    format!("Water: {}", groups.join("; "))
}

/// The basis of a chemistry figure; a kit whose basis was never set is taken as N, and that is said.
fn basis(measure: Measure, kit: &Kit) -> &'static str {
    let oxide = |basis: Option<OxideBasis>, ion| match basis {
        Some(OxideBasis::Nitrogen) => " as N",
        Some(OxideBasis::Ion) => ion,
        None => " taken as N",
    };
    match measure {
        Measure::TanMgL => match kit.ammonia {
            Some(AmmoniaBasis::Nitrogen) => " as N",
            Some(AmmoniaBasis::Ammonia) => " as NH3",
            None => " taken as N",
        },
        Measure::No2MgL => oxide(kit.nitrite, " as NO2"),
        Measure::No3MgL => oxide(kit.nitrate, " as NO3"),
        _ => "",
    }
}

fn lot(line: &LotLine) -> String {
    let state = match &line.sale {
        Sale::Cleared => " cleared for sale".to_owned(),
        Sale::Partly { cleared, of } => format!(": {cleared} of {of} cleared for sale, the rest on hold"),
        Sale::HeldUntil(until) => format!(" on hold until {until}"),
        Sale::HoldOver(since) => format!(" hold over since {since}, not cleared yet"),
        Sale::Held => " on hold until a lead clears it".to_owned(),
    };
    format!("lot {}{state}", line.lot)
}
