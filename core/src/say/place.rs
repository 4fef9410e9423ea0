//! How places are named.

use crate::consignment::Pack;
use crate::message::Place;

/// What fish are called while nobody knows their name.
pub const FISH: &str = "fish";

/// A place as a person writes it: "7.2", "box 7", "tray 3", "A12", "lot 43".
pub fn name(place: &Place) -> String {
    super::recorded::place(place)
}

/// A place's name at the start of a sentence. A tank's name stays as the house spells it.
pub fn leading(name: &str) -> String {
    let kind = ["box ", "tray ", "tank ", "lot "].iter().any(|kind| name.starts_with(kind));
    if kind { super::capital(name) } else { name.to_owned() }
}

/// A pack as a person writes it, with its fish where they must be told apart.
pub fn pack(pack: Pack, species: Option<&str>) -> String {
    let place = match pack.bag {
        Some(bag) => format!("{}.{bag}", pack.of.number),
        None => format!("box {}", pack.of.number),
    };
    species.map_or_else(|| place.clone(), |species| format!("{place} {species}"))
}

/// Several names: "A1, A2 and A5".
pub fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// A name for sorting as a person would: A2 before A10.
pub fn natural(name: &str) -> (String, u64, String) {
    let digits = name.find(|letter: char| letter.is_ascii_digit()).unwrap_or(name.len());
    let (letters, rest) = name.split_at(digits);
    let end = rest.find(|letter: char| !letter.is_ascii_digit()).unwrap_or(rest.len());
    (letters.to_owned(), rest[..end].parse().unwrap_or(0), rest[end..].to_owned())
}

/// Several names, those that follow each other as one: "A1–A6, A9 and tray 3". From three on, so that "A1 and A2" stays so.
pub fn ranged(names: &[String]) -> String {
    let mut sorted: Vec<(String, u64, String)> = names.iter().map(|name| natural(name)).collect();
    sorted.sort();
    sorted.dedup();
    let mut runs: Vec<Vec<&(String, u64, String)>> = Vec::new();
    for name in &sorted {
        match runs.last_mut() {
            Some(run) if run.last().is_some_and(|last| follows(last, name)) => run.push(name),
            _ => runs.push(vec![name]),
        }
    }
    let mut words = Vec::new();
    for run in runs {
        match run.as_slice() {
            [first, _, .., last] => {
                let last = spelled(last, names);
                // "tray 1–3": a kind is named once.
                let short = last.strip_prefix(&first.0).filter(|_| first.0.ends_with(' ')).unwrap_or(&last);
                words.push(format!("{}–{short}", spelled(first, names)));
            }
            few => words.extend(few.iter().map(|name| spelled(name, names))),
        }
    }
    listed(&words)
}

fn follows(one: &(String, u64, String), next: &(String, u64, String)) -> bool {
    one.0 == next.0 && one.2.is_empty() && next.2.is_empty() && one.1.checked_add(1) == Some(next.1)
}

/// The name as the house spells it: "A01" stays "A01".
fn spelled(name: &(String, u64, String), names: &[String]) -> String {
    names.iter().find(|known| natural(known) == *name).cloned().unwrap_or_default()
}
