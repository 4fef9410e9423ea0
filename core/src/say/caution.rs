//! Cautions, each at the moment of need. They defer to a vet, local law and the label.

use std::collections::BTreeSet;

use crate::message::Sign;
use crate::species::Caution;

/// What must be said beside a dose.
pub fn dose(product: &str) -> Option<&'static str> {
    match product {
        "formalin"
        | "formaldehyde"
        | "potassium permanganate"
        | "permanganate"
        | "acid"
        | "hydrochloric acid"
        | "chlorine"
        | "bleach" => Some("gloves and goggles, never mix with anything, read the label"),
        "salt" => Some("some loaches, catfish and plants bear salt badly"),
        "methylene blue" | "malachite green" | "copper" | "praziquantel" | "antibiotic" | "metronidazole" => {
            Some("medicine: by the label and your vet")
        }
        _ => None,
    }
}

/// What to do about signs: never a diagnosis.
pub fn signs(signs: &BTreeSet<Sign>) -> Option<&'static str> {
    let grave = [Sign::Gasping, Sign::Spinning, Sign::BrownGills];
    let sick = [Sign::WhiteSpot, Sign::Fungus, Sign::RedStreaks, Sign::Popeye, Sign::Bloated];
    if grave.iter().any(|sign| signs.contains(sign)) {
        Some("read the water now and tell the lead")
    } else if sick.iter().any(|sign| signs.contains(sign)) {
        Some("own net for this tank; gloves over cuts; a vet if it spreads")
    } else {
        None
    }
}

/// What can hurt a person who handles the fish.
pub fn species(name: &str, caution: Caution) -> String {
    let words = match caution {
        Caution::LifeThreateningVenom => {
            "venom that can kill: solid container, never a hand or net; if stung, emergency number at once"
        }
        Caution::VenomousSpines => {
            "venomous spines, dead ones too: solid container, not a net; if stung, hot water up to 45 °C and medical help"
        }
        Caution::Sting => "it stings, dead ones too: solid container; if stung, medical help at once",
        Caution::Bites => "it bites: tools, not hands",
        Caution::Scalpel => "blades at the tail: thick gloves",
        Caution::ToxicFlesh => "toxic when it dies or is stressed: gloves, own water",
        Caution::WeakElectric => "weak electric organ: harmless to hold, stressed by bad equipment",
        _ => "handle with care",
    };
    format!("{name}: {words}")
}
