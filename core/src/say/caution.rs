//! Cautions, each at the moment of need, each one clause. They say no dose, name no disease, and defer to a vet, the label and local law.

use std::collections::BTreeSet;

use crate::message::Sign;
use crate::settings::Temperature;
use crate::species::Caution;

/// What must be said beside a dose, by the words of the product, lower case; `None` where nothing must.
///
/// Sources: gloves, goggles and never mixing are what labels and safety data sheets of these chemicals say; antibiotics only by
/// veterinary prescription is law in the UK (Veterinary Medicines Regulations 2013) and no antibiotic for ornamentals is approved over the
/// counter in the US (FDA). Who may kill and how: AVMA Guidelines for the Euthanasia of Animals, 2020. That ammonia turns toxic as pH
/// climbs: J. Fish. Res. Board Can. 32:2379. That some fish bear salt badly is common knowledge of the trade, not read in a source.
pub fn dose(product: &str) -> Option<&'static str> {
    let words: Vec<&str> = product.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let has = |names: &[&str]| words.iter().any(|word| names.contains(word));
    let ends = |endings: &[&str]| words.iter().any(|word| endings.iter().any(|ending| word.ends_with(ending)));
    // "chlorine remover" takes away what "chlorine" adds.
    if has(&["remover", "binder", "neutraliser", "neutralizer"]) {
        return None;
    }
    let harsh = ["permanganate", "hydrochloric", "muriatic", "sulphuric", "sulfuric", "acid", "chlorine", "bleach"];
    if has(&["formalin", "formaldehyde"]) {
        Some("gloves and goggles, fresh air, never mix it; by the label and your vet")
    } else if has(&harsh) || has(&["hypochlorite", "peroxide", "hydroxide"]) {
        Some("gloves and goggles, never mix it, follow the label")
    } else if has(&["clove", "eugenol", "tricaine", "benzocaine", "phenoxyethanol"]) {
        Some("it can kill: a trained person only, by the vet's method and local law")
    } else if has(&["antibiotic", "antibiotics", "nitrofurazone"]) || ends(&["cillin", "cycline", "mycin", "floxacin"])
    {
        Some("antibiotic: only as your vet prescribes")
    } else if has(&MEDICINES) || ends(&["azole", "quantel"]) {
        Some("medicine: by the label and your vet")
    } else if has(&["salt"]) && !has(&["epsom"]) {
        Some("some loaches, catfish and plants bear salt badly")
    } else if has(&["buffer", "bicarb", "bicarbonate", "soda"]) {
        Some("as pH climbs, ammonia turns toxic: read both first")
    } else {
        None
    }
}

/// Medicines by their generic names, as a label names the substance.
const MEDICINES: [&str; 14] = [
    "medicine",
    "medication",
    "meds",
    "methylene",
    "malachite",
    "copper",
    "acriflavine",
    "levamisole",
    "trichlorfon",
    "quinine",
    "chloroquine",
    "ivermectin",
    "wormer",
    "dewormer",
];

/// What to do about signs, the graver first; never a diagnosis. `None` where nothing must be said.
///
/// Sources: signs that call for a water reading, Merck Veterinary Manual, fish (gasping, spinning, brown gills stand beside low oxygen,
/// ammonia and nitrite). Gloves and covered cuts against *Mycobacterium marinum*: public-health pages (such as Berkeley Wellness, 2018, and the
/// occupational health advice of UCLA to aquarium workers). Power off before reaching into water: state electrical-safety pages.
pub fn signs(signs: &BTreeSet<Sign>) -> Option<&'static str> {
    let any = |of: &[Sign]| of.iter().any(|sign| signs.contains(sign));
    if any(&[Sign::Gasping, Sign::Spinning, Sign::BrownGills]) {
        Some("read the water now and tell the lead")
    } else if any(&[Sign::Leaking]) {
        Some("fish into other water now; near power, switch off at the wall first")
    } else if any(&[Sign::WhiteSpot, Sign::Fungus, Sign::RedStreaks, Sign::ExcessMucus, Sign::Popeye, Sign::Bloated]) {
        Some("own net for these fish, waterproof gloves, cuts covered; ask a vet if it spreads")
    } else {
        None
    }
}

/// What copper does to what has no backbone. Source: the species table, "copper in water or medicines kills".
pub fn copper(names: &[String]) -> String {
    format!("copper kills {}", super::names(names))
}

/// What to say where fish were, or are to be, put down. Never a dose.
///
/// Source: AVMA Guidelines for the Euthanasia of Animals, 2020, fish: a trained person, a method that suits the species.
pub fn killing() -> &'static str {
    "putting fish down is for a trained person, by the vet's method and local law"
}

/// What must be said beside a note, by its words: mains equipment that fails stands in water. `None` where nothing must.
pub fn note(text: &str) -> Option<&'static str> {
    let lower = text.to_lowercase();
    let mut words = lower.split(|letter: char| !letter.is_alphanumeric());
    words.any(|word| MAINS.contains(&word.strip_suffix('s').unwrap_or(word))).then(electricity)
}

/// What hangs on mains power around a tank, in the singular, and what tells of it.
const MAINS: [&str; 18] = [
    "heater",
    "chiller",
    "pump",
    "powerhead",
    "blower",
    "compressor",
    "filter",
    "skimmer",
    "lamp",
    "socket",
    "plug",
    "cable",
    "wire",
    "fuse",
    "breaker",
    "rcd",
    "electric",
    "electricity",
];

/// What to say where hands, water and mains power meet.
///
/// Source: state electrical-safety pages: dry hands, a residual-current device on every circuit, isolate before reaching in.
pub fn electricity() -> &'static str {
    "dry hands, power off at the wall before you reach in; every tank circuit on an RCD"
}

/// What can hurt a person who handles the fish, or the fish themselves, as one sentence behind the fish's name.
///
/// Sources: solid container, dead fish still sting, hot water "not over 45 °C" for 30 to 90 min and medical help: Atkinson and others,
/// Emergency Medicine Journal 2006, 23:503–508, and poison-centre pages; emergency number for stonefish, rays and trouble breathing:
/// first-aid pages. The other cautions are those of the species table, each marked there as read or from memory.
pub fn species(name: &str, caution: Caution, scale: Temperature) -> String {
    match scale {
        Temperature::Celsius => format!("{name}: {}.", words(caution)),
        // 45 °C is 113 °F.
        Temperature::Fahrenheit => format!("{name}: {}.", words(caution).replace("45 °C", "113 °F")),
    }
}

fn words(caution: Caution) -> &'static str {
    match caution {
        Caution::LifeThreateningVenom => {
            "venom that can kill, dead fish too. Solid container, never a hand or net. If stung: emergency number at once, then water as hot as borne, not over 45 °C"
        }
        Caution::VenomousSpines => {
            "venomous spines, dead fish too. Solid container, not a net. If stung: water as hot as borne, not over 45 °C, and medical help; trouble breathing or collapse: emergency number at once"
        }
        Caution::Sting => {
            "it stings, even when dead. Solid container, no bare hands. If stung: water as hot as borne, not over 45 °C, and medical help; a ray, trouble breathing or collapse: emergency number at once"
        }
        Caution::Bites => "it bites. Tools, not hands",
        Caution::Scalpel => "blades at the tail. Thick gloves, solid container",
        Caution::WeakElectric => "weak electric organ, harmless to hands. Faulty equipment upsets it",
        Caution::ToxicFlesh => "poisonous flesh or skin. Gloves, wash hands, never eat it",
        Caution::FoulsOwnWater => "it poisons its own water when frightened. Own bag, own tray",
        Caution::SpinesCatchNets => "its spines catch in nets. Move it in a cup, never cut a spine",
        Caution::TearsBags => "its spines tear bags. Double bag, check for leaks",
        Caution::KeepUnderWater => "never lift it into air. Move it in a container under water",
        Caution::Jumper => "it jumps. Cover tray and tank",
        Caution::Escapes => "it leaves through any gap. Close the lid",
        Caution::PackSingly => "it fights. One to a bag",
        Caution::FinNipper => "it bites fins when crowded. Keep it with its own kind",
        Caution::LiesOnSide => "lying on its side or keeping still is normal, not by itself weak",
        Caution::GulpsAir => "gulping air is normal, not by itself gasping",
        Caution::Hides => "it hides. Count twice before you say short",
        Caution::CoolWater => "cool water. Do not warm it to the tropical stock",
        Caution::NeedsOxygen => "it needs much oxygen. Move it early, air in the tank",
        Caution::AmmoniaSensitive => "it takes ammonia badly. Out of the bag early",
        Caution::MedicineSensitive => "it takes many medicines or salt badly. By the label and your vet",
        Caution::CopperSensitive => "copper kills it",
        Caution::SalinitySensitive => "changes of salt harm it. Match the water first",
        Caution::NotifiableDisease => {
            "checked for notifiable diseases in several countries. Ask the authority if many die. This is not legal advice"
        }
        Caution::LocalLaw => "its trade is limited or forbidden in some places. Check first. This is not legal advice",
    }
}
