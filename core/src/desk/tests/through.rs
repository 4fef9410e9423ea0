//! Boxes that go straight through to a buyer, with their list or before it.

use super::night::{Night, RIO, has};
use crate::consignment::ConsignmentNo;

#[test]
fn a_whole_list_goes_straight_through_and_the_buyer_hears_what_is_in_it() {
    let mut night = Night::with_a_list();
    let before = night.fingerprint();
    let reply = night.says("ana", "whole list straight through to Reef");
    has(
        &reply,
        &["boxes 7, 8, 9 and 12 straight through to Reef & River, unopened", "340 fish as listed, no box to go"],
    );
    assert!(night.state.questions.is_empty(), "no bag is asked about");
    let told = night.told("rita");
    assert_eq!(told.len(), 1);
    has(&told[0], &["box 7: 120 clown loach in 3 bags", "box 9: 40 yoyo loach in 1 bag, 50 neon tetra in 1 bag"]);
    assert!(night.told("tom").is_empty());
    assert_eq!((night.books().passed_on, night.books().living(), night.books().packed), (340, 0, 0));
    assert!(night.state.looks.is_empty() && night.state.lots.is_empty());
    assert!(night.wait(600).is_empty(), "nobody is woken for them");
    night.says("ana", "undo");
    night.says("ana", "yes");
    has(&night.told("rita")[0], &["Correction: boxes 7, 8, 9 and 12 are not on the way to you yet."]);
    assert_eq!(night.fingerprint(), before);
}

#[test]
fn named_boxes_go_all_or_none() {
    let mut night = Night::with_a_list();
    night.says("ana", "opening 9");
    has(&night.says("ana", "12 9 straight thru to Reef"), &["Box 9 was opened already"]);
    assert_eq!(night.books().passed_on, 0);
    assert!(night.told("rita").is_empty());
    has(&night.says("ana", "8 and 12 straight thru to Reef"), &["boxes 8 and 12", "130 fish as listed, 2 boxes to go"]);
    has(&night.says("ana", "whole list straight thru to Tank Town"), &["box 7 ", "box 9 was opened and stays"]);
    assert_eq!(night.told("tom").len(), 1);
    has(&night.says("ana", "7 straight through to nobody"), &["No buyer nobody here"]);
    for chatter in ["we went straight to bed", "everything straight to bed", "lea straight through to reef"] {
        assert_eq!(night.says("ana", chatter), "", "{chatter}");
    }
    has(&night.says("rita", "7 straight through to Reef"), &["You may not ship"]);
}

#[test]
fn two_messages_of_one_sender_about_several_boxes_are_one_for_the_buyer() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 and 12 shipped to Reef & River");
    assert_eq!(night.told("rita").len(), 1);
    has(&night.told("rita")[0], &["box 8: 100 neon tetra", "box 12: 30 kuhli loach"]);
}

#[test]
fn boxes_that_left_before_their_list_are_told_when_it_comes() {
    let mut night = Night::staffed();
    has(&night.says("ana", "12 8 straight thru to Reef"), &["list to come, the buyer is told then"]);
    has(&night.told("rita")[0], &["box 12: the list is not here yet, you will be told"]);
    night.says("ana", "7.1 38 clown loach 2 dead");
    has(
        &night.list("lea", "Rio Claro", &RIO),
        &["box 12: went unopened to Reef & River, 30 fish listed", "Import it?"],
    );
    night.says("lea", "yes");
    let told = night.told("rita");
    has(&told[0], &["The list of your unopened boxes has come:", "box 8: 100 neon tetra", "box 12: 30 kuhli loach"]);
    assert!(!told[0].contains("clown") && night.told("tom").is_empty());
    let tally = night.state.tally_consignment(ConsignmentNo(2));
    assert_eq!((tally.listed, tally.passed_on, tally.packed, tally.doa), (340, 130, 208, 2));
    night.says("lea", "undo");
    has(&night.told("rita")[0], &["what you were told is in boxes 8 and 12 no longer stands"]);
}

#[test]
fn whose_boxes_left_unopened_is_asked_where_only_their_number_tells() {
    let mut night = Night::staffed();
    night.says("ana", "12 8 straight thru to Reef");
    has(
        &night.list("lea", "Rio Claro", &RIO),
        &["Boxes 8 and 12 left unopened before a list came. Are they of Rio Claro?"],
    );
    has(&night.says("lea", "one by one"), &["Box 8 left unopened"]);
    has(&night.says("lea", "yes"), &["Box 12 left unopened"]);
    has(&night.says("lea", "no"), &["Box 12 goes on waiting for its list.", "Import it?"]);
    night.says("lea", "yes");
    has(&night.told("rita")[0], &["box 8: 100 neon tetra"]);
    assert!(!night.told("rita")[0].contains("box 12"));
}

#[test]
fn a_corrected_list_is_told_to_who_has_the_box() {
    let mut night = Night::with_a_list();
    night.says("ana", "12 straight through to Reef");
    let mut rows = RIO;
    rows[4].4 = 35;
    night.list("lea", "Rio Claro", &rows);
    night.says("lea", "yes");
    has(&night.told("rita")[0], &["box 12: 35 kuhli loach"]);
    night.says("lea", "undo");
    has(&night.told("rita")[0], &["box 12: 30 kuhli loach"]);
}
