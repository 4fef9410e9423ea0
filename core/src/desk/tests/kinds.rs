//! What is no fish: counted, moved and sold like fish; what fish show is not said of it.

use super::night::{Night, Row, has, packing_list};
use crate::desk::What;
use crate::message::{Act, Said, Sign};
use crate::species::Kind;

/// Fish, shrimp, snails and two plants of one supplier; box 4 holds two kinds that are no fish, box 5 fish and snails.
const MIXED: [Row; 8] = [
    (1, None, Some(1), "neon tetra", 100),
    (2, None, Some(2), "cherry shrimp", 60),
    (3, None, Some(1), "Crypt. wendtii green", 20),
    (4, Some(1), None, "nerite snail", 50),
    (4, Some(2), None, "java fern", 30),
    (5, None, Some(1), "zebra danio", 40),
    (5, None, Some(1), "assassin snail", 25),
    (6, None, Some(1), "seahorse", 6),
];

fn night() -> Night {
    let mut night = Night::staffed();
    night.imports("Mixed Waters", &MIXED);
    night
}

/// Shrimp in A1, crypts in A2, neon tetras and snails together in A3.
fn stocked() -> Night {
    let mut night = night();
    for text in
        ["2 60 ok", "2 into A1", "3 18 ok 2 doa", "3 into A2", "1 100 ok", "1 into A3", "4.1 50 ok", "4.1 into A3"]
    {
        night.says("ana", text);
    }
    night
}

fn signs_kept(night: &Night) -> Vec<Sign> {
    let kept = night.state.entries.values().filter_map(|entry| match &entry.what {
        crate::journal::Logged::Act(Said { act: Act::Observe { signs, .. }, .. }) => Some(signs.clone()),
        _ => None,
    });
    kept.flatten().collect()
}

#[test]
fn a_lines_kind_is_understood_from_the_list() {
    let night = night();
    let kinds: Vec<Kind> = night.state.consignments.values().next().unwrap().lines.iter().map(|l| l.kind).collect();
    use Kind::{Fish, Invertebrate, Plant};
    assert_eq!(kinds, [Fish, Invertebrate, Plant, Invertebrate, Plant, Fish, Invertebrate, Fish]);
}

#[test]
fn a_sign_of_fish_said_where_there_are_none_is_asked_about_and_goes_where_it_belongs() {
    let mut night = stocked();
    let reply = night.says("ana", "A1 gasping");
    has(&reply, &["A1 has no fish, only cherry shrimp", "gasping", "Where was it?"]);
    assert_eq!(signs_kept(&night), []);
    has(&night.says("ana", "A3"), &["A3 gasping"]);
    assert_eq!(signs_kept(&night), [Sign::Gasping]);
}

#[test]
fn fish_signs_are_asked_about_in_bags_and_boxes_without_fish_too() {
    for (text, living) in [
        ("box 2 flashing", "cherry shrimp"),
        ("4.2 on their side", "java fern"),
        ("box 4 gasping", "nerite snail and java fern"),
        ("box 3 off feed", "crypt. wendtii green"),
    ] {
        let mut night = night();
        has(&night.says("ana", text), &[living, "no fish", "Where was it?"]);
        assert_eq!(signs_kept(&night), [], "{text}");
    }
}

#[test]
fn what_holds_for_any_animal_is_kept_of_shrimp_and_water_is_water() {
    for text in ["A1 all good", "A1 eating", "A1 listless", "A1 cloudy water", "A2 foul smell", "A2 pale"] {
        let mut night = stocked();
        let reply = night.says("ana", text);
        assert!(!reply.contains("no fish") && signs_kept(&night).len() == 1, "{text}: {reply}");
    }
}

#[test]
fn of_several_signs_those_that_hold_are_kept_and_the_others_asked_about() {
    let mut night = stocked();
    let reply = night.says("ana", "A1 listless, flashing");
    has(&reply, &["A1 listless", "no fish", "flashing"]);
    assert!(!reply.contains("listless, flashing"), "{reply}");
    assert_eq!(signs_kept(&night), [Sign::Listless]);
}

#[test]
fn a_number_that_came_of_such_a_sign_waits_with_it() {
    let mut night = stocked();
    has(&night.says("ana", "A1 3 gasping"), &["no fish", "Where was it?"]);
    let weak = |night: &Night| night.state.lots.values().map(|lot| lot.weak).sum::<u32>();
    assert_eq!(weak(&night), 0);
    let reply = night.says("ana", "A3");
    assert!(reply.contains("A3 gasping"), "{reply}");
}

#[test]
fn a_vessel_of_fish_and_others_keeps_the_rules_of_fish() {
    let mut night = stocked();
    night.says("ana", "A3 gasping");
    assert_eq!(signs_kept(&night), [Sign::Gasping]);
    assert_eq!((night.state.looks["A3"].due - night.now).num_minutes(), 15);
    let mut night = self::night();
    assert!(!night.says("ana", "box 5 gasping").contains("no fish"), "danios are in box 5");
}

#[test]
fn shrimp_are_looked_at_by_their_numbers_and_plants_not_at_all() {
    let mut night = stocked();
    assert!(!night.state.looks.contains_key("A2"), "plants");
    let strong = night.state.looks["A1"].due - night.now;
    night.says("ana", "A1 30 weak");
    assert!(night.state.looks["A1"].due - night.now < strong, "many are weak");
    night.says("ana", "look at A2 again in 1h");
    assert!(night.state.looks.contains_key("A2"), "somebody asked");
}

#[test]
fn what_is_no_fish_is_not_asked_to_feed_before_it_is_sold() {
    let mut night = stocked();
    let ready = |night: &mut Night, tank: &str| night.says("lea", &format!("{tank} is clear"));
    night.pause(49 * 60);
    night.says("ana", "A1 60 ok");
    night.says("ana", "A3 all good");
    night.says("ana", "A2 18 ok");
    let shrimp = ready(&mut night, "A1");
    assert!(!shrimp.contains("feeding"), "{shrimp}");
    let plants = ready(&mut night, "A2");
    assert!(!plants.contains("feeding") && !plants.contains("look"), "{plants}");
}

#[test]
fn counts_deaths_moves_sales_and_claims_are_those_of_fish() {
    let mut night = stocked();
    has(&night.says("ana", "A1 4 dead"), &["56 cherry shrimp"]);
    has(&night.says("ana", "20 from A1 to A4"), &["A4 holds 20 cherry shrimp"]);
    night.pause(49 * 60);
    night.says("ana", "A4 20 ok");
    night.says("lea", "A4 is clear");
    has(&night.says("lea", "12 cherry shrimp for Reef & River"), &["12", "Reef & River"]);
    has(&night.says("lea", "claim?"), &["crypt. wendtii green"]);
}

#[test]
fn the_crews_words_for_a_group_find_its_line() {
    let mut night = night();
    has(&night.says("ana", "box 2 shrimp 4 dead"), &["2", "4 dead"]);
    has(&night.says("ana", "box 4 snails 2 dead"), &["2 dead"]);
    assert_eq!(night.line(4).doa, 2, "nerite snail");
    has(&night.says("ana", "3 snails dead in box 5"), &["3 dead"]);
    assert_eq!(night.line(7).doa, 3, "assassin snail: those of box 4 are not meant");
    has(&night.says("ana", "box 3 crypts 1 dead"), &["1 dead"]);
    assert_eq!(night.line(3).doa, 1);
    has(&night.says("ana", "box 4 plants 5 dead"), &["5 dead"]);
    assert_eq!(night.line(5).doa, 5, "java fern, the only plant of box 4");
}

#[test]
fn a_word_that_fits_two_of_the_house_means_the_one_that_is_in_the_place() {
    let mut night = night();
    night.says("ana", "2 snails dead in 4.1");
    assert_eq!((night.line(4).doa, night.line(7).doa), (2, 0));
    has(&night.says("ana", "lost 2 snails"), &["2 dead"]);
    has(&night.says("bo", "2 snails dead"), &["Which fish: assassin snail or nerite snail?"]);
}

#[test]
fn copper_where_shrimp_live_is_warned_of() {
    let mut night = stocked();
    has(&night.says("ana", "2 ml copper A1"), &["copper kills cherry shrimp"]);
    has(&night.says("ana", "2 ml copper A3"), &["copper kills nerite snail"]);
    assert!(!night.says("ana", "2 ml copper A2").contains("kills"));
}

#[test]
fn what_was_taken_for_no_fish_is_told_before_the_yes() {
    let mut night = Night::staffed();
    let offered = night.list("lea", "Mixed Waters", &MIXED);
    let kinds =
        "Not fish: invertebrates cherry shrimp, nerite snail, assassin snail; plants crypt. wendtii green, java fern.";
    has(&offered, &[kinds]);
}

#[test]
fn listed_and_dangerous_species_stand_in_the_read_back_and_not_again_behind_the_yes() {
    let mut night = Night::staffed();
    let rows: [Row; 3] =
        [(1, None, None, "seahorse", 6), (2, None, None, "red lionfish", 2), (3, None, None, "neon tetra", 50)];
    let offered = night.list("lea", "Salt Line", &rows);
    has(&offered, &["CITES: ", "Hippocampus spp.", "venomous spines", "This is not legal advice.", "Import it?"]);
    assert!(offered.ends_with("Import it?") && !offered.contains("Not fish"), "{offered}");
    let imported = night.says("lea", "yes");
    assert!(!imported.contains("CITES") && !imported.contains("venomous"), "{imported}");
}

#[test]
fn a_name_that_may_be_a_listed_species_is_pointed_out_as_such_and_told_when_it_is_known() {
    let mut night = Night::staffed();
    let offered = night.list("lea", "Salt Line", &[(1, None, None, "arowana 20cm", 2)]);
    has(&offered, &["CITES: arowana 20cm maybe, Appendix I (Scleropages formosus)"]);
    night.says("lea", "yes");
    let reply = night.presses("lea", "asian arowana");
    has(&reply, &["CITES: asian arowana, Appendix I"]);
    let mut list = packing_list("Salt Line", &[(1, None, None, "arowana 20cm", 3)]);
    list.invoice = Some("another".into());
    let again = night.take(Some("lea"), What::List(Box::new(list)));
    has(&again, &["CITES: asian arowana, Appendix I"]);
    let imported = night.says("lea", "yes");
    assert!(!imported.contains("lists \""), "asked once for the supplier: {imported}");
}

#[test]
fn a_corrected_list_points_out_only_what_it_brings() {
    let mut night = Night::staffed();
    night.imports("Salt Line", &[(1, None, None, "seahorse", 6)]);
    let rows: [Row; 2] = [(1, None, None, "seahorse", 8), (2, None, None, "red lionfish", 2)];
    let offered = night.list("lea", "Salt Line", &rows);
    has(&offered, &["This changes", "lionfish: venomous spines"]);
    assert!(!offered.contains("CITES"), "{offered}");
    assert!(!night.says("lea", "yes").contains("venomous"));
}
