//! Questions back to the sender: short, kind, one thing at a time.

use super::recorded::place;
use crate::message::{Doubt, Place};
use crate::quantity::Measure;

/// The question that a doubt becomes.
pub fn question(doubt: &Doubt) -> String {
    match doubt {
        Doubt::WhichPlace => "Which tank, tray or bag was that?".into(),
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
}
