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
