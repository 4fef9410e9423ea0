use std::collections::BTreeSet;

use super::{fault, lines};
use crate::message::Sign;
use crate::say::caution::*;
use crate::settings::Temperature;
use crate::species::Caution;

#[test]
fn a_dose_that_can_hurt_says_so() {
    let products = [
        "formalin",
        "potassium permanganate",
        "hydrochloric acid",
        "chlorine",
        "clove oil",
        "antibiotic",
        "kanamycin",
        "methylene blue",
        "copper sulphate",
        "metronidazole",
        "praziquantel",
        "salt",
        "marine salt",
        "buffer",
        "baking soda",
    ];
    let said = products.map(|product| format!("{product}: {}", dose(product).unwrap_or("nothing")));
    insta::assert_snapshot!(lines(said), @r"
    formalin: gloves and goggles, fresh air, never mix it; by the label and your vet
    potassium permanganate: gloves and goggles, never mix it, follow the label
    hydrochloric acid: gloves and goggles, never mix it, follow the label
    chlorine: gloves and goggles, never mix it, follow the label
    clove oil: it can kill: a trained person only, by the vet's method and local law
    antibiotic: antibiotic: only as your vet prescribes
    kanamycin: antibiotic: only as your vet prescribes
    methylene blue: medicine: by the label and your vet
    copper sulphate: medicine: by the label and your vet
    metronidazole: medicine: by the label and your vet
    praziquantel: medicine: by the label and your vet
    salt: some loaches, catfish and plants bear salt badly
    marine salt: some loaches, catfish and plants bear salt badly
    buffer: as pH climbs, ammonia turns toxic: read both first
    baking soda: as pH climbs, ammonia turns toxic: read both first
    ");
}

#[test]
fn a_dose_that_cannot_hurt_says_nothing() {
    for product in ["ammonia binder", "dechlorinator", "chlorine remover", "bacteria", "epsom salt", ""] {
        assert_eq!(dose(product), None, "{product}");
    }
}

#[test]
fn no_caution_names_a_dose() {
    for product in ["formalin", "clove oil", "tricaine", "copper", "amoxicillin", "salt"] {
        let said = dose(product).unwrap_or_default();
        assert!(!said.contains(|letter: char| letter.is_ascii_digit()), "{said}");
    }
    assert!(!killing().contains(|letter: char| letter.is_ascii_digit()));
}

#[test]
fn the_gravest_sign_speaks() {
    let say = |of: &[Sign]| signs(&of.iter().copied().collect::<BTreeSet<_>>()).unwrap_or("nothing");
    insta::assert_snapshot!(lines([
        say(&[Sign::Gasping, Sign::WhiteSpot]),
        say(&[Sign::Leaking, Sign::WhiteSpot]),
        say(&[Sign::WhiteSpot]),
        say(&[Sign::Well, Sign::Feeding]),
        say(&[]),
    ]), @r"
    read the water now and tell the lead
    fish into other water now; near power, switch off at the wall first
    own net for these fish, waterproof gloves, cuts covered; ask a vet if it spreads
    nothing
    nothing
    ");
}

#[test]
fn killing_and_mains_power_have_their_caution() {
    insta::assert_snapshot!(lines([killing(), electricity()]), @r"
    putting fish down is for a trained person, by the vet's method and local law
    dry hands, power off at the wall before you reach in; every tank circuit on an RCD
    ");
}

#[test]
fn a_note_of_mains_equipment_brings_the_caution_and_no_other_note_does() {
    for text in ["heater stuck on", "air pumps dead in rack 2", "Plug sparked"] {
        assert_eq!(note(text), Some(electricity()), "{text}");
    }
    for text in ["outer carton crushed", "the driver was late", "box is light", "label unplugged"] {
        assert_eq!(note(text), None, "{text}");
    }
}

#[test]
fn every_caution_of_the_species_table_has_its_words() {
    let said = Caution::WORDS.map(|(caution, word)| species(word, caution, Temperature::Celsius));
    insta::assert_snapshot!(lines(said), @r"
    life_threatening_venom: venom that can kill, dead fish too. Solid container, never a hand or net. If stung: emergency number at once, then water as hot as borne, not over 45 °C.
    venomous_spines: venomous spines, dead fish too. Solid container, not a net. If stung: water as hot as borne, not over 45 °C, and medical help; trouble breathing or collapse: emergency number at once.
    sting: it stings, even when dead. Solid container, no bare hands. If stung: water as hot as borne, not over 45 °C, and medical help; a ray, trouble breathing or collapse: emergency number at once.
    bites: it bites. Tools, not hands.
    scalpel: blades at the tail. Thick gloves, solid container.
    weak_electric: weak electric organ, harmless to hands. Faulty equipment upsets it.
    toxic_flesh: poisonous flesh or skin. Gloves, wash hands, never eat it.
    fouls_own_water: it poisons its own water when frightened. Own bag, own tray.
    spines_catch_nets: its spines catch in nets. Move it in a cup, never cut a spine.
    tears_bags: its spines tear bags. Double bag, check for leaks.
    keep_under_water: never lift it into air. Move it in a container under water.
    jumper: it jumps. Cover tray and tank.
    escapes: it leaves through any gap. Close the lid.
    pack_singly: it fights. One to a bag.
    fin_nipper: it bites fins when crowded. Keep it with its own kind.
    lies_on_side: lying on its side or keeping still is normal, not by itself weak.
    gulps_air: gulping air is normal, not by itself gasping.
    hides: it hides. Count twice before you say short.
    cool_water: cool water. Do not warm it to the tropical stock.
    needs_oxygen: it needs much oxygen. Move it early, air in the tank.
    ammonia_sensitive: it takes ammonia badly. Out of the bag early.
    medicine_sensitive: it takes many medicines or salt badly. By the label and your vet.
    copper_sensitive: copper kills it.
    salinity_sensitive: changes of salt harm it. Match the water first.
    notifiable_disease: checked for notifiable diseases in several countries. Ask the authority if many die. This is not legal advice.
    local_law: its trade is limited or forbidden in some places. Check first. This is not legal advice.
    ");
}

#[test]
fn venom_is_treated_as_the_sources_say() {
    for caution in [Caution::LifeThreateningVenom, Caution::VenomousSpines, Caution::Sting] {
        let said = species("fish", caution, Temperature::Celsius);
        assert_eq!(fault(&said), None);
        for part in ["Solid container", "dead", "as hot as borne, not over 45 °C", "emergency number at once"] {
            assert!(said.contains(part), "{said} lacks {part}");
        }
    }
}

#[test]
fn hot_water_is_said_in_the_scale_of_the_site() {
    let said = species("lionfish", Caution::VenomousSpines, Temperature::Fahrenheit);
    assert!(said.contains("not over 113 °F") && !said.contains("°C"), "{said}");
}

#[test]
fn copper_is_told_by_what_it_kills() {
    insta::assert_snapshot!(copper(&["cherry shrimp".into(), "nerite snail".into()]), @"copper kills cherry shrimp and nerite snail");
}
