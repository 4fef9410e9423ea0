//! Questions back to the sender: short, kind, one thing at a time.

use super::recorded::place;
use crate::message::{Doubt, Place};
use crate::quantity::Measure;

/// The question that a doubt becomes.
pub fn question(doubt: &Doubt) -> String {
    match doubt {
        Doubt::WhichPlace => "Which tank, tray or bag was that?".into(),
        Doubt::NotHere { said, there } => format!("No {} here. Which one: {}?", place(said), spans(there)),
        Doubt::WhichBag => "Which box and bag was that?".into(),
        Doubt::WhichOf(places) => format!("Which one: {}?", list(places)),
        Doubt::WhereTo => "Which tank did they go to?".into(),
        Doubt::HowMany(field) => match field.as_str() {
            "dead" => "How many dead?".into(),
            "weak" => "How many weak?".into(),
            "alive" => "How many alive?".into(),
            "sound" => "How many sound?".into(),
            "missing" => "How many short?".into(),
            "extra" => "How many extra?".into(),
            "revived" => "How many came round?".into(),
            "culled" => "How many were put down?".into(),
            _ => "How many fish?".into(),
        },
        Doubt::WhichValue(measure) => format!("What did the {} read, as one number?", name(*measure)),
        Doubt::Implausible(measure) => format!("That {} looks off to me. What did it read?", name(*measure)),
        Doubt::WhichUnit => "In which unit?".into(),
        Doubt::WhichProduct => "Of which product?".into(),
        Doubt::HowMuch => "How much, please?".into(),
        Doubt::WhichSpecies(species) => format!("Which fish: {}?", species.join(" or ")),
        Doubt::WhichFish => "Of which fish or lot?".into(),
        Doubt::WhichBuyer => "Which buyer is that for?".into(),
        Doubt::WhenExactly => "When exactly?".into(),
        Doubt::WhatNumber => "What is that number for?".into(),
        Doubt::WhatCorrected => "What shall I correct, and where?".into(),
        Doubt::WhichPlaceCorrected => {
            "That one is written down already. Please undo it and tell me again with the right place.".into()
        }
        Doubt::ClearedOut => "Cleared out: is the tank empty, or are its fish free for sale?".into(),
    }
}

fn list(places: &[Place]) -> String {
    let names: Vec<String> = places.iter().map(place).collect();
    match names.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        _ => names.join(", "),
    }
}

/// How many spans of names a question shows.
const SPANS: usize = 6;

/// Names in order, with runs written as spans: "A1-A12, B1-B4 or C7".
fn spans(places: &[Place]) -> String {
    let mut named: Vec<Name> = places.iter().map(|at| parted(&place(at))).collect();
    named.sort();
    named.dedup();
    let mut spans: Vec<(&Name, &Name)> = Vec::new();
    for name in &named {
        match spans.last_mut() {
            Some((_, last)) if last.0 == name.0 && last.1.zip(name.1).is_some_and(|(a, b)| a + 1 == b) => *last = name,
            _ => spans.push((name, name)),
        }
    }
    let more = spans.len() > SPANS;
    let mut words: Vec<String> = spans
        .iter()
        .take(SPANS)
        .map(|(first, last)| {
            // "tray 1-3", but "A1-A3": what a person would type.
            let end =
                last.2.strip_prefix(first.0.as_str()).filter(|_| first.0.ends_with([' ', '.'])).unwrap_or(&last.2);
            if first == last { first.2.clone() } else { format!("{}-{end}", first.2) }
        })
        .collect();
    if more {
        return format!("{} and others", words.join(", "));
    }
    match words.pop() {
        Some(last) if !words.is_empty() => format!("{} or {last}", words.join(", ")),
        last => last.unwrap_or_default(),
    }
}

/// A name's letters, the number at its end, and the whole.
type Name = (String, Option<u64>, String);

fn parted(name: &str) -> Name {
    let letters = name.trim_end_matches(|letter: char| letter.is_ascii_digit());
    (letters.to_owned(), name[letters.len()..].parse().ok(), name.to_owned())
}

/// The name of a reading, as one says it.
pub(crate) fn name(measure: Measure) -> &'static str {
    match measure {
        Measure::TempC => "temperature",
        Measure::Ph => "pH",
        Measure::TanMgL => "total ammonia",
        Measure::Nh3MgL => "free ammonia",
        Measure::No2MgL => "nitrite",
        Measure::No3MgL => "nitrate",
        Measure::DoMgL | Measure::DoPercent => "oxygen",
        Measure::SalPpt => "salinity",
        Measure::Sg => "specific gravity",
        Measure::CondUsCm => "conductivity",
        Measure::TdsMgL => "dissolved solids",
        Measure::AlkMgL => "alkalinity",
        Measure::GhMgL => "general hardness",
        Measure::ChlorineMgL => "chlorine",
        Measure::Co2MgL => "CO2",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_question_names_one_thing_and_ends_as_one() {
        insta::assert_snapshot!(question(&Doubt::HowMany("dead".into())), @"How many dead?");
        insta::assert_snapshot!(question(&Doubt::Implausible(Measure::Ph)), @"That pH looks off to me. What did it read?");
        insta::assert_snapshot!(
            question(&Doubt::WhichOf(vec![Place::Tank { tank: "A1".into() }, Place::Tray { tray: "2".into() }])),
            @"Which one: A1 or tray 2?"
        );
        insta::assert_snapshot!(
            question(&Doubt::WhichSpecies(vec!["clown loach".into(), "kuhli loach".into()])),
            @"Which fish: clown loach or kuhli loach?"
        );
    }

    #[test]
    fn a_place_that_is_not_here_is_named_with_what_is_here_in_short() {
        let tank = |name: &str| Place::Tank { tank: name.into() };
        let asks = |said: Place, there: Vec<Place>| question(&Doubt::NotHere { said, there });
        let tanks: Vec<Place> = ["A1", "A10", "A2", "A3", "B4", "Q1", "Q2"].into_iter().map(tank).collect();
        insta::assert_snapshot!(asks(tank("C9"), tanks), @"No C9 here. Which one: A1-A3, A10, B4 or Q1-Q2?");
        let trays: Vec<Place> = (1..=3).map(|tray: u32| Place::Tray { tray: tray.to_string() }).collect();
        insta::assert_snapshot!(asks(Place::Tray { tray: "9".into() }, trays), @"No tray 9 here. Which one: tray 1-3?");
        let bags: Vec<Place> = (1..=3).map(|bag| Place::Bag { number: 7, bag }).collect();
        insta::assert_snapshot!(asks(Place::Bag { number: 7, bag: 9 }, bags), @"No 7.9 here. Which one: 7.1-3?");
        insta::assert_snapshot!(asks(tank("C9"), vec![tank("A1")]), @"No C9 here. Which one: A1?");
        let many: Vec<Place> = (1..=20).map(|number| tank(&format!("A{}", number * 2))).collect();
        insta::assert_snapshot!(asks(tank("A1"), many), @"No A1 here. Which one: A2, A4, A6, A8, A10, A12 and others?");
    }
}
