//! Refusals: the reason, with the arithmetic, and the way out.

use chrono_tz::Tz;

use super::place;
use crate::desk::Refusal;
use crate::people::Power;

/// A refusal in words.
pub fn words(refusal: &Refusal, zone: Tz) -> String {
    match refusal {
        // Even a lead lacks this one.
        Refusal::MayNot { power: Power::ReserveForOneself } => {
            "Only a buyer reserves for oneself. Say who they are for: 12 of lot 43 for NAME".to_owned()
        }
        Refusal::MayNot { power } => format!("You may not {}. Ask a lead.", power.words()),
        Refusal::NoSuchBox { number } => {
            format!(
                "No box {number} on an open list. Check the number, or send its packing list. Without one: box {number} no list"
            )
        }
        Refusal::NoSuchLot { number } => format!("No lot {number} here. Check the number, or name the tank."),
        Refusal::WrongKindOfPlace { at, wanted } => {
            format!("{} is not {wanted}. Name {wanted}.", place::leading(&place::name(at)))
        }
        Refusal::NotThere { at, species, there, asked, promised } => {
            not_there(at, species.as_deref(), *there, *asked, *promised)
        }
        Refusal::NoSuchFish { at: Some(at), species } => {
            format!("No {species} in {0} by the books. To see what is there: what's in {0}?", place::name(at))
        }
        Refusal::NoSuchFish { at: None, species } => {
            format!("No {species} in an opened box or tray. Say where they are from.")
        }
        Refusal::WhichFish { at } => {
            format!("The books have no fish in {0}. Say which they are, like: {0} 40 neon tetra alive", place::name(at))
        }
        Refusal::FewerDead { at, dead, revived } => format!(
            "{} has {dead} dead in the books, so {revived} cannot have come round. Count the dead again and tell me.",
            place::leading(&place::name(at))
        ),
        Refusal::OtherConsignment { to } => format!(
            "{} belongs to another consignment. Put them into a tray or tank instead.",
            place::leading(&place::name(to))
        ),
        Refusal::AlreadyThere { at } => {
            format!("They are in {} already, nothing moved. Say where they went.", place::name(at))
        }
        Refusal::NotHere { number, standing } => {
            format!("Box {number} is {standing}. If it is in your hands: box {number} here")
        }
        Refusal::NothingToPassOn => super::through::none_to_pass(),
        Refusal::AlreadyOpened { number } => {
            format!("Box {number} was opened already, so it stays as it is. Count and move its fish instead.")
        }
        Refusal::NotReady { at, unmet, met } => {
            let met = if met.is_empty() { String::new() } else { format!(" Met: {}.", met.join("; ")) };
            format!(
                "{} is not ready. Not met: {}.{met} To go past it, a lead types: clear {} anyway, REASON",
                place::leading(&place::name(at)),
                unmet.join("; "),
                place::name(at)
            )
        }
        Refusal::ClearedAlready { at, fish } => {
            format!("{} is cleared already: {fish} for sale or reserved.", place::leading(&place::name(at)))
        }
        Refusal::NotCleared { at, cleared, asked: 0 } => {
            let at = place::name(at);
            format!("Not shipped: {cleared} in {at} cleared or reserved for them. A lead clears first: clear {at}")
        }
        Refusal::NotCleared { at, cleared, asked } => {
            format!(
                "Not shipped: {asked} asked, {cleared} in {} cleared or reserved for them, {} too many. Ship fewer, or a lead clears more first.",
                place::name(at),
                asked.saturating_sub(*cleared)
            )
        }
        Refusal::TooFewCleared { species, free, asked } => too_few_cleared(species, *free, *asked),
        Refusal::NoSuchBuyer { name: Some(name) } => format!("No buyer {name} here. Add it: buyer {name}"),
        Refusal::NoSuchBuyer { name: None } => {
            "Not recorded: no buyer was named. Say it again with the buyer's name.".to_owned()
        }
        Refusal::NothingToUndo => {
            "Nothing of yours is left to take back. If a number is wrong, tell me the right one.".to_owned()
        }
        Refusal::NothingInLine => "Nothing that line recorded is left to take back.".to_owned(),
        Refusal::UndoByReply { name } => {
            format!("Which one of {name}'s? A lead replies to its line with: undo")
        }
        Refusal::StandsInTheWay { at, by, what } => {
            let at = at.with_timezone(&zone).format("%H:%M");
            format!("Not taken back: at {at} {by} said \"{what}\", which builds on it. Take that back first.")
        }
        Refusal::FishMovedOn => "Not taken back: those fish have moved on since. Move them back first.".to_owned(),
        Refusal::OnlyTheHouse => "That has moved on. Please ask the house.".to_owned(),
        Refusal::NothingToFix { at: Some(at) } => {
            format!("I have nothing of yours about {} to correct. Say it in full, please.", place::name(at))
        }
        Refusal::NothingToFix { at: None } => "I have nothing of yours to correct. Say it in full, please.".to_owned(),
        Refusal::NothingToPutOff => "No look is waiting in this chat. To see them all: what's due?".to_owned(),
        Refusal::AlreadyImported { by } => {
            format!("That list is here already ({by}) and says the same. Nothing changes.")
        }
        Refusal::NoListAtHand => "There is no list to read again here. Send the file, then say it.".to_owned(),
        Refusal::NothingOnList { questions } => {
            let mut lines = vec!["I found no boxes with fish on that list, so nothing was imported.".to_owned()];
            lines.extend(questions.iter().map(|question| format!("? {question}")));
            lines.join("\n")
        }
        Refusal::PastTime { said } => {
            format!("{} is past, or no time I know. Say a time to come, like 06:30.", said.replacen('T', " ", 1))
        }
        Refusal::NoSuchPerson { name } => format!("Nobody called {name} is enrolled. Check the spelling."),
        Refusal::LastLead => "That is the only lead, and a house needs one. First: enrol NAME as lead".to_owned(),
    }
}

fn too_few_cleared(species: &str, free: u32, asked: u32) -> String {
    match (free, asked) {
        (0, _) => format!("No {species} are free for sale right now. Buyers hear when some are cleared."),
        (_, 0) => format!("Not reserved: say how many {species} you want. {free} are free for sale."),
        (1, _) => format!("{asked} {species} asked, 1 is free for sale. Ask for 1, or wait until more are cleared."),
        _ => format!(
            "{asked} {species} asked, {free} are free for sale. Ask for {free} or fewer, or wait until more are cleared."
        ),
    }
}

fn not_there(at: &crate::message::Place, species: Option<&str>, there: u32, asked: u32, promised: u32) -> String {
    let fish = species.unwrap_or(place::FISH);
    let promised = if promised > 0 { format!(", {promised} more are reserved") } else { String::new() };
    match (there, asked) {
        (0, 0) => format!(
            "No {fish} in {0} for that by the books{promised}. To see what is there: what's in {0}?",
            place::name(at)
        ),
        (_, 0) => format!("{there} {fish} in {} by the books{promised}. Say how many.", place::name(at)),
        _ => format!(
            "{asked} asked, {there} {fish} in {} by the books{promised}: {} too many. Say fewer, or count them again first.",
            place::name(at),
            asked.saturating_sub(there)
        ),
    }
}
