//! Reminders: what the watch says.

use super::time;

/// The fish of a place in a few words.
pub fn fish(groups: &[(String, u32)]) -> String {
    let parts: Vec<String> = groups.iter().map(|(species, count)| format!("{count} {species}")).collect();
    parts.join(", ")
}

/// A look is due, or was while nobody could be told.
pub fn due(place: &str, fish: &str, asked_by: Option<&str>, late: Option<i64>) -> String {
    let fish = if fish.is_empty() { String::new() } else { format!(" ({fish})") };
    let who = asked_by.map(|name| format!(", as {name} asked")).unwrap_or_default();
    let late = late.map(|minutes| format!(" I am {} late in asking.", time::length(minutes))).unwrap_or_default();
    format!("Look at {place}{fish}{who}. How are they?{late}")
}

/// Nobody answered.
pub fn missed(place: &str, fish: &str, since: &str, many: bool) -> String {
    let was = if many { "were" } else { "was" };
    let fish = if fish.is_empty() { String::new() } else { format!(" ({fish})") };
    format!("{}{fish} {was} due at {since}. Has anybody looked? \"later\" puts it off.", super::place::leading(place))
}

/// A lead who is up is told instead of woken.
pub fn told_awake(place: &str, fish: &str, since: &str) -> String {
    let fish = if fish.is_empty() { String::new() } else { format!(" ({fish})") };
    format!("Nobody has looked at {place}{fish}, due since {since}. You are up, so I wake nobody.")
}

/// The lead is woken.
pub fn wake(place: &str, fish: &str, since: &str) -> String {
    let fish = if fish.is_empty() { String::new() } else { format!(" ({fish})") };
    format!("Sorry to wake you: nobody has looked at {place}{fish}, due since {since}.")
}
