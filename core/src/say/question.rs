//! What the desk asks. Each question can be answered by a word or a button.

use std::collections::BTreeSet;

use super::place;
use crate::message::{Choice, Place, Sign};

/// Two open consignments have the box.
pub fn which_consignment(number: u32, suppliers: &[String]) -> String {
    format!("Whose box {number}: {}?", suppliers.join(" or "))
}

/// A stage or delay fits several consignments.
pub fn which_supplier(suppliers: &[String]) -> String {
    format!("Which consignment: {}?", suppliers.join(" or "))
}

/// The way to answer [`which_supplier`] with every one.
pub fn all_of_them(count: usize) -> Choice {
    if count == 2 { words("both", &["both of them", "all"]) } else { words("all", &["all of them"]) }
}

/// A vessel was never declared.
pub fn new_vessel(name: &str, tray: bool) -> String {
    let kind = if tray { "tray" } else { "tank" };
    format!("No {kind} {name} here yet. Add it?")
}

/// Yes or no.
pub fn yes_no() -> Vec<Choice> {
    vec![words("yes", &["y", "yep", "yeah", "ok", "sure", "add"]), words("no", &["n", "nope", "nah"])]
}

/// A finished box has fish nobody counted.
pub fn left_in_box(number: u32, left: &[(String, u32)]) -> String {
    let parts: Vec<String> = left.iter().map(|(name, fish)| format!("{fish} in {name}")).collect();
    format!("Box {number}, not counted: {}. Short, all there as listed, or not done yet?", parts.join(", "))
}

/// The ways to answer [`left_in_box`].
pub fn left_choices() -> Vec<Choice> {
    vec![
        words("short", &["missing", "not there", "they are short"]),
        words("all there", &["as listed", "there", "all alive"]),
        words("not done yet", &["not yet", "no", "still counting", "not done"]),
    ]
}

/// Fish of several lines could be meant.
pub fn which_fish(at: &Place, among: &[String]) -> String {
    format!("{}: which fish, {}?", place::leading(&place::name(at)), among.join(" or "))
}

/// The way to leave it open which fish died.
pub fn undetermined() -> Choice {
    words("can't tell", &["cant tell", "undetermined", "don't know", "dont know", "no idea"])
}

/// A box of several bags was named without its bag.
pub fn which_bag(number: u32, bags: u32) -> String {
    format!("Box {number} has {}. Which one?", super::counted(bags.into(), "bag", "bags"))
}

/// More fish than the books have.
pub fn extra(pack: &str, seen: u32, room: u32, over: u32) -> String {
    format!("{}: {seen} seen, {room} on the list. {over} extra?", place::leading(pack))
}

/// A stock-take below the books.
pub fn unaccounted(at: &Place, species: &str, living: u32, booked: u32) -> String {
    let missing = booked.saturating_sub(living);
    format!(
        "{}: {living} {species}, the books say {booked}. Book {missing} as unaccounted?",
        place::leading(&place::name(at))
    )
}

/// More fish than the books have in a tank or tray.
pub fn surplus(at: &Place, species: &str, more: u32) -> String {
    format!("{}: {more} more {species} than in the books. Extra?", place::leading(&place::name(at)))
}

/// More dead or weak were said than the books have there.
pub fn beyond(at: &Place, species: &str, there: u32, said: u32, state: &str) -> String {
    format!(
        "{} has {there} {species} by the books, not {said}. {}, how many, or a slip?",
        place::leading(&place::name(at)),
        super::capital(&all_of(there, state))
    )
}

/// The ways to answer [`beyond`] other than by a number: all of them, none, or that many more than the books have.
pub fn beyond_choices(there: u32, state: &str, more: Option<u32>) -> Vec<Choice> {
    let all = all_of(there, state);
    let mut choices = vec![
        words(&all, &["all", &format!("all {state}"), "all of them", "yes", "y", "yes all", "yep", "every one"]),
        words("a slip", &["no", "n", "nope", "slip", "typo", "none", "my mistake", "wrong"]),
    ];
    if let Some(more) = more {
        let label = format!("{more} extra");
        choices.push(words(&label, &["extra", &format!("{more} more"), &format!("{more} extra {state}")]));
    }
    choices
}

fn all_of(there: u32, state: &str) -> String {
    if there == 1 { format!("that one {state}") } else { format!("all {there} {state}") }
}

/// The same reservation was made minutes ago.
pub fn again(buyer: Option<&str>, species: &str, count: u32) -> String {
    match buyer {
        Some(buyer) => format!("{buyer} has {count} {species} reserved already. {count} more?"),
        None => format!("You have {count} {species} reserved already. {count} more?"),
    }
}

/// The last thing that can be taken back was said long ago.
pub fn take_back(what: &str, at: &str) -> String {
    format!("Take back {what}, from {at}?")
}

/// A move without an origin.
pub fn move_from(to: &Place) -> String {
    format!("Into {} from where?", place::name(to))
}

/// The fish named lie in several places.
pub fn move_from_which(species: &str, places: &[Place]) -> String {
    let names: Vec<String> = places.iter().map(place::name).collect();
    format!("{} are in {}. From which?", super::capital(species), names.join(" and "))
}

/// A part of one lot of several is meant.
pub fn which_lot(at: &Place, lots: &[u32]) -> String {
    let names: Vec<String> = lots.iter().map(|lot| format!("lot {lot}")).collect();
    format!("{} holds {}. Which one?", place::leading(&place::name(at)), names.join(" and "))
}

/// Fish go to one of several buyers.
pub fn which_buyer(buyers: &[String]) -> String {
    format!("To whom: {}?", buyers.join(" or "))
}

/// Fish were seen to do something where there are none.
pub fn sign_of_fish(at: &Place, living: &[String], signs: &BTreeSet<Sign>) -> String {
    let signs: Vec<&str> = signs.iter().map(|sign| super::recorded::sign(*sign)).collect();
    let (at, living) = (place::leading(&place::name(at)), super::names(living));
    format!("{at} has no fish, only {living}: \"{}\" is not written down. Where was it?", signs.join(", "))
}

/// A name on a list fits several fish.
pub fn which_species(supplier: &str, listed_as: &str, among: &[String]) -> String {
    format!("{supplier} lists \"{listed_as}\": {}?", among.join(" or "))
}

/// The way to keep a name as it is listed.
pub fn as_listed_name() -> Choice {
    words("as listed", &["neither", "none", "other", "something else"])
}

fn words(label: &str, others: &[&str]) -> Choice {
    let mut words = vec![label.to_owned()];
    words.extend(others.iter().map(|word| (*word).to_owned()));
    Choice { label: label.to_owned(), words }
}
