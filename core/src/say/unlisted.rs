//! What is said of boxes that are opened before their list comes, and of a list that comes late.

use super::import::thousands;
use super::place;
use crate::message::Choice;

/// How many boxes are told; the rest is counted.
const MOST_LINES: usize = 12;

/// The name of boxes whose list has not come.
pub fn no_list_yet() -> &'static str {
    "no list yet"
}

/// A box that is on no list is kept. `to_come` says whether its list may still come.
pub fn unlisted_box(number: u32, supplier: Option<&str>, to_come: bool) -> String {
    match supplier {
        Some(supplier) if to_come => format!("box {number} of {supplier}, its list is to come"),
        Some(supplier) => format!("box {number} of {supplier}, on no list: what is found in it is extra"),
        None => format!("box {number}, no list yet: what is found in it waits for its list"),
    }
}

/// A box that was said to have no list is known.
pub fn box_is_known(number: u32, supplier: &str) -> String {
    format!("box {number} is here already: {supplier}")
}

/// A box is on no list, and it may be of several consignments.
pub fn whose_unlisted(number: u32, suppliers: &[String]) -> String {
    format!("Box {number} is on no open list. Whose is it: {}, or is its list to come?", suppliers.join(", "))
}

/// The way to answer that a box's list is to come.
pub fn no_list_choice() -> Choice {
    words("list to come", &["no list yet", "none", "none of them", "to come", "neither"])
}

/// Boxes were opened before a consignment was announced.
pub fn are_they_of(numbers: &[u32], supplier: &str) -> String {
    let names: Vec<String> = numbers.iter().map(u32::to_string).collect();
    let names = place::listed(&names);
    match numbers {
        [_] => format!("Box {names} has no list yet. Is it of {supplier}?"),
        _ => format!("Boxes {names} have no list yet. Are they of {supplier}?"),
    }
}

/// A consignment was announced; `opened` are boxes of it that are here.
pub fn announced(supplier: &str, boxes: Option<u32>, opened: &[u32]) -> String {
    let boxes = boxes.map(|boxes| format!(", {}", super::in_boxes(boxes as usize))).unwrap_or_default();
    let names: Vec<String> = opened.iter().map(u32::to_string).collect();
    let names = place::listed(&names);
    let opened = match opened {
        [] => String::new(),
        [_] => format!("; box {names} is of it"),
        _ => format!("; boxes {names} are of it"),
    };
    format!("consignment from {supplier}{boxes}, its list is to come{opened}")
}

/// A consignment was announced that is here with its list.
pub fn is_listed(supplier: &str, boxes: usize) -> String {
    format!("{supplier} is here already with its list, {}. Nothing changed.", super::in_boxes(boxes))
}

/// What was found in a bag or box before its list comes. `to_come` says whether a list may still come.
pub fn found(species: Option<&str>, fish: u32, dead: u32, to_come: bool) -> String {
    let species = species.map(|species| format!(" {species}")).unwrap_or_default();
    let dead = if dead > 0 { format!(", {dead} DOA") } else { String::new() };
    let list = if to_come { "list to come" } else { "not on the list, all extra" };
    format!("{fish}{species} in all{dead}, {list}")
}

/// A box without a list was opened.
pub fn opened(number: u32, to_come: bool) -> String {
    let list = if to_come { "no list yet" } else { "on no list" };
    format!("{list}: say the fish, like {number}.1 38 neon tetra 2 dead")
}

/// A box without a list that is finished.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BoxDone {
    /// The box.
    pub name: String,
    /// Minutes it took, where its opening is known.
    pub minutes: Option<i64>,
    /// Dead in it.
    pub died: u32,
    /// Living fish still in its bags.
    pub left: u32,
    /// Living fish counted in all boxes whose list is to come with it.
    pub living: u32,
    /// Boxes still to do, of those known or announced.
    pub boxes_to_go: usize,
}

/// The running line after each finished box whose list is to come.
pub fn box_done(done: &BoxDone) -> String {
    let taken = done.minutes.map(|minutes| format!(" in {}", super::time::length(minutes))).unwrap_or_default();
    let left = if done.left > 0 { format!(", {} alive still in it", done.left) } else { String::new() };
    let to_go = if done.boxes_to_go > 0 { format!(", {}", super::to_go(done.boxes_to_go)) } else { String::new() };
    let living = thousands(done.living.into());
    format!(
        "box {} done{taken}: {} DOA{left}. So far {living} counted alive, list to come{to_go}",
        done.name, done.died
    )
}

/// A list may be of a consignment that was announced.
pub fn whose_list(announced: &str, supplier: Option<&str>) -> String {
    match supplier {
        Some(supplier) => format!("This list is of {supplier}. Is it the list of the consignment from {announced}?"),
        None => format!("This list names no supplier. Is it the list of the consignment from {announced}?"),
    }
}

/// Why it is doubtful whether boxes are of a list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Doubt {
    /// What was found in them is not what it has there.
    OtherFish,
    /// They left unopened: nothing but their numbers tells.
    LeftUnopened,
    /// It does not have them.
    NotOnList,
}

/// Boxes opened, or passed on, before a list came that may not be of it.
pub fn their_boxes(numbers: &[u32], doubt: Doubt, supplier: Option<&str>) -> String {
    let names: Vec<String> = numbers.iter().map(u32::to_string).collect();
    let (boxes, were, them) = match numbers {
        [_] => ("Box", "was", "it"),
        _ => ("Boxes", "were", "them"),
    };
    let of = supplier.map_or("of this consignment".to_owned(), |supplier| format!("of {supplier}"));
    let names = place::listed(&names);
    let (is, they) = if numbers.len() == 1 { ("Is", "it") } else { ("Are", "they") };
    match doubt {
        Doubt::OtherFish => format!(
            "{boxes} {names} {were} opened before a list came, and what was found in {them} is not what this list has there. {is} {they} {of}?"
        ),
        Doubt::LeftUnopened => {
            format!("{boxes} {names} left unopened before a list came. {is} {they} {of}?")
        }
        Doubt::NotOnList => {
            let is_not = is.to_lowercase();
            format!("{boxes} {names} {were} opened and {is_not} not on this list. {is} {they} {of} all the same?")
        }
    }
}

/// The ways to answer [`their_boxes`].
pub fn their_choices(several: bool) -> Vec<Choice> {
    let mut choices = vec![
        words("yes", &["y", "ok", "yep", "yeah", "they are", "it is", "all the same"]),
        words("no", &["n", "nope", "another", "another's", "list to come"]),
    ];
    if several {
        choices.push(words("one by one", &["singly", "some", "some of them", "one after the other"]));
    }
    choices
}

/// Fish found before the list came whose name the list does not have in that box.
pub fn which_listed(number: u32, found: &str, among: &[String]) -> String {
    format!("Box {number}: {found} found in it, the list has {} there. Are they that?", among.join(" or "))
}

/// The way to answer that fish are not on the list.
pub fn not_listed() -> Choice {
    words("not on the list", &["no", "none", "neither", "extra", "not listed"])
}

/// The way to answer that a box is another consignment's, though its number is on the list.
pub fn another_box() -> Choice {
    words("another consignment", &["another", "another consignment's", "another box", "other consignment"])
}

/// Fish found in a box before its list came.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct OpenedBefore {
    /// The box.
    pub number: u32,
    /// The fish; empty for a box in which nothing was counted.
    pub species: String,
    /// The list's name of the fish, where it is another.
    pub listed_as: Option<String>,
    /// How many were found, the dead included.
    pub found: u32,
    /// How many of them were dead.
    pub dead: u32,
    /// How many the list has; `None` where it has none.
    pub listed: Option<u32>,
    /// Bags counted and bags listed, where more were counted.
    pub bags: Option<(u32, u32)>,
    /// Whether the box is done: what was not found is not to be found.
    pub done: bool,
    /// The buyer to whom the box went unopened.
    pub passed_to: Option<String>,
    /// Whether the box is on the list.
    pub on_list: bool,
}

/// What was found in boxes of a list before it came, the boxes that go on waiting for theirs, and the boxes announced
/// and listed where these differ.
pub fn opened_before(boxes: &[OpenedBefore], waiting: Vec<u32>, announced: Option<(u32, usize)>) -> Vec<String> {
    let mut lines = Vec::new();
    if !boxes.is_empty() {
        lines.push("Before the list came:".to_owned());
        lines.extend(boxes.iter().take(MOST_LINES).map(box_before));
        if boxes.len() > MOST_LINES {
            lines.push(format!("and {} more", boxes.len() - MOST_LINES));
        }
    }
    if let Some((said, listed)) = announced {
        lines.push(format!("{} were announced, the list has {listed}.", super::in_boxes(said as usize)));
    }
    let names: Vec<String> = waiting.iter().map(u32::to_string).collect();
    match waiting.len() {
        0 => {}
        1 => lines.push(format!("Box {} goes on waiting for its list.", names[0])),
        _ => lines.push(format!("Boxes {} go on waiting for their list.", place::listed(&names))),
    }
    lines
}

/// What was found in boxes before their list came, now that it is booked.
pub fn kept(numbers: &[u32]) -> Option<String> {
    let names: Vec<String> = numbers.iter().map(u32::to_string).collect();
    match numbers {
        [] => None,
        [_] => Some(format!("Box {} stays as it was counted or passed on.", names[0])),
        _ => Some(format!("Boxes {} stay as they were counted or passed on.", place::listed(&names))),
    }
}

fn box_before(it: &OpenedBefore) -> String {
    let number = it.number;
    if let Some(buyer) = &it.passed_to {
        let fish =
            it.listed.map_or("not on the list".to_owned(), |fish| format!("{} fish listed", thousands(fish.into())));
        return format!("box {number}: went unopened to {buyer}, {fish}");
    }
    if it.species.is_empty() {
        let listed = if it.on_list { "" } else { ", not on the list" };
        return format!("box {number}: nothing counted yet{listed}");
    }
    let dead = if it.dead > 0 { format!(", {} DOA", it.dead) } else { String::new() };
    let (found, species) = (it.found, &it.species);
    let Some(listed) = it.listed else {
        return format!("box {number}: {found} {species}{dead}, not on the list: extra");
    };
    let named = it.listed_as.as_ref().map(|name| format!(" (listed as {name})")).unwrap_or_default();
    let differs = if found > listed {
        format!(", {} extra", found - listed)
    } else if found < listed && it.done {
        format!(", {} not found", listed - found)
    } else {
        String::new()
    };
    let bags = it.bags.map(|(counted, bags)| format!(", {counted} bags counted, {bags} listed")).unwrap_or_default();
    format!("box {number}: {found} of {listed} {species}{named}{dead}{differs}{bags}")
}

fn words(label: &str, others: &[&str]) -> Choice {
    let mut words = vec![label.to_lowercase()];
    words.extend(others.iter().map(|word| (*word).to_owned()));
    Choice { label: label.to_owned(), words }
}
