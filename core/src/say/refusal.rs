//! Refusals: the reason, with the arithmetic, and the way out.

use chrono_tz::Tz;

use super::place;
use crate::desk::Refusal;

/// A refusal in words.
pub fn words(refusal: &Refusal, zone: Tz) -> String {
    match refusal {
        Refusal::MayNot { power } => format!("You may not {}. Ask a lead.", power.words()),
        Refusal::NoSuchBox { number } => format!("No box {number} on an open list."),
        Refusal::NoSuchVessel { name } => format!("No tank or tray {name} here. Add it: tanks {name}"),
        Refusal::NoSuchLot { number } => format!("No lot {number} here."),
        Refusal::WrongKindOfPlace { at, wanted } => format!("{} is not {wanted}.", capital(&place::name(at))),
        Refusal::NotThere { at, species, there, asked, promised } => {
            not_there(at, species.as_deref(), *there, *asked, *promised)
        }
        Refusal::NoSuchFish { at: Some(at), species } => format!("No {species} in {} by the books.", place::name(at)),
        Refusal::NoSuchFish { at: None, species } => format!("No {species} in an opened box or tray. Say from where."),
        Refusal::WhichFish { at } => {
            format!("The books have no fish in {0}. Say which fish they are: {0} has 40 neon tetra", place::name(at))
        }
        Refusal::FewerDead { at, dead, revived } => {
            format!("{} has {dead} dead in the books, {revived} cannot come round.", capital(&place::name(at)))
        }
        Refusal::OtherConsignment { to } => {
            format!("{} belongs to another consignment. Into a tray or tank instead?", capital(&place::name(to)))
        }
        Refusal::AlreadyThere { at } => format!("They are in {} already.", place::name(at)),
        Refusal::NotHere { number, standing } => {
            format!("Box {number} is {standing}. If it is in your hands: box {number} here")
        }
        Refusal::AlreadyOpened { number } => format!("Box {number} was opened already."),
        Refusal::NotReady { at, unmet, met } => {
            let met = if met.is_empty() { String::new() } else { format!(" Met: {}.", met.join("; ")) };
            format!(
                "{} is not ready. Not met: {}.{met} To go past it, a lead types: clear {} anyway and the reason.",
                capital(&place::name(at)),
                unmet.join("; "),
                place::name(at)
            )
        }
        Refusal::ClearedAlready { at, fish } => {
            format!("{} is cleared already: {fish} for sale or reserved.", capital(&place::name(at)))
        }
        Refusal::NotCleared { at, cleared, asked: 0 } => {
            format!("Nothing in {} may go: {cleared} cleared or reserved for them.", place::name(at))
        }
        Refusal::NotCleared { at, cleared, asked } => {
            format!(
                "{asked} asked, {cleared} in {} are cleared or reserved for them. A lead clears the rest first.",
                place::name(at)
            )
        }
        Refusal::TooFewCleared { species, free, asked } => {
            format!("{asked} {species} asked, {free} are free for sale.")
        }
        Refusal::NoSuchBuyer { name: Some(name) } => format!("No buyer {name} here. Add it: buyer {name}"),
        Refusal::NoSuchBuyer { name: None } => "For which buyer?".to_owned(),
        Refusal::NothingToUndo => "Nothing of yours left to take back.".to_owned(),
        Refusal::StandsInTheWay { at, by, what } => {
            let at = at.with_timezone(&zone).format("%H:%M");
            format!("Not taken back: at {at} {by} said \"{what}\", which builds on it. Take that back first.")
        }
        Refusal::FishMovedOn => "Not taken back: those fish have moved on since. Move them back first.".to_owned(),
        Refusal::NothingToFix { at: Some(at) } => {
            format!("Nothing of yours about {} to correct. Say it whole.", place::name(at))
        }
        Refusal::NothingToFix { at: None } => "Nothing of yours to correct. Say it whole.".to_owned(),
        Refusal::NothingToPutOff => "No look is waiting here.".to_owned(),
        Refusal::AlreadyImported { by } => format!("That list is here already ({by}). Nothing changed."),
        Refusal::NothingOnList { questions } => {
            let mut lines = vec!["I found no boxes with fish on that list.".to_owned()];
            lines.extend(questions.iter().map(|question| format!("? {question}")));
            lines.join("\n")
        }
        Refusal::PastTime { said } => format!("{said} is past or no time I know."),
        Refusal::NeedsPlace => "Where?".to_owned(),
        Refusal::NoSuchPerson { name } => format!("Nobody called {name} is enrolled."),
        Refusal::LastLead => "That is the only lead. Enrol another lead first.".to_owned(),
    }
}

fn not_there(at: &crate::message::Place, species: Option<&str>, there: u32, asked: u32, promised: u32) -> String {
    let fish = species.unwrap_or(place::FISH);
    let promised = if promised > 0 { format!(", {promised} more are reserved") } else { String::new() };
    match (there, asked) {
        (0, 0) => format!("No {fish} in {} by the books{promised}.", place::name(at)),
        (_, 0) => format!("{there} {fish} in {} by the books{promised}.", place::name(at)),
        _ => format!(
            "{asked} asked, {there} {fish} in {} by the books{promised}: {} too many.",
            place::name(at),
            asked.saturating_sub(there)
        ),
    }
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}
