//! Boxes opened before their list came, and the list that comes late.

use super::night::{Night, RIO, has};
use crate::consignment::ConsignmentNo;

fn nothing_is_left_without_a_list(night: &Night) {
    assert!(night.state.consignments.values().all(|consignment| !consignment.unlisted));
    let orphans: Vec<_> =
        night.state.boxes.keys().filter(|of| !night.state.consignments.contains_key(&of.consignment)).collect();
    assert!(orphans.is_empty(), "{orphans:?}");
    let lines: Vec<_> = night.state.books.all().filter(|(_, line, _)| night.state.line(*line).is_none()).collect();
    assert!(lines.is_empty(), "{lines:?}");
}

#[test]
fn a_box_counted_before_its_list_is_extra_until_the_list_says_what_was_to_be_in_it() {
    let mut night = Night::staffed();
    has(&night.says("ana", "7.1 38 clown loach 2 dead"), &["7.1 38 clown loach alive, 2 dead", "2 DOA"]);
    assert!(night.last.outgoing.iter().all(|message| message.buttons.is_empty()), "nothing is asked");
    has(&night.says("ana", "7.1 into A3"), &["38 from 7.1 into A3"]);
    assert_eq!((night.books().listed, night.books().extra, night.books().held, night.books().doa), (0, 40, 38, 2));
    night.says("ana", "8 100 neon tetra alive");
    let reply = night.list("lea", "Rio Claro", &RIO);
    has(&reply, &["Before the list came:", "box 7: 40 of 120 clown loach, 2 DOA", "box 8: 100 of 100 neon tetra"]);
    has(&reply, &["Import it?"]);
    let before = night.fingerprint();
    has(
        &night.says("lea", "yes"),
        &["Imported Rio Claro: 4 boxes, 340 fish.", "Boxes 7 and 8 stay as they were counted"],
    );
    nothing_is_left_without_a_list(&night);
    let tally = night.state.tally_consignment(ConsignmentNo(2));
    assert_eq!((tally.listed, tally.extra, tally.held, tally.doa, tally.packed), (340, 0, 38, 2, 300));
    has(&night.says("ana", "how's A3"), &["38 clown loach"]);
    has(&night.says("ana", "7.2 40 ok"), &["40 of 40, balanced"]);
    has(&night.says("ana", "8 done"), &["box 8 done"]);
    night.says("ana", "undo");
    night.says("ana", "undo");
    has(&night.says("lea", "undo"), &["taken back: the import of Rio Claro"]);
    assert_eq!(night.fingerprint(), before);
}

#[test]
fn short_and_extra_follow_from_the_list_when_it_comes() {
    let mut night = Night::staffed();
    night.says("ana", "8 104 neon tetra");
    night.says("ana", "8 done");
    night.says("ana", "12 28 kuhli loach");
    night.says("ana", "12 done");
    night.imports("Rio Claro", &RIO);
    let tally = night.state.tally_consignment(ConsignmentNo(2));
    assert_eq!((tally.listed, tally.extra, tally.short), (340, 4, 0));
    has(&night.says("ana", "12 done"), &["not counted: 2 in 12.1 kuhli loach"]);
    night.says("ana", "short");
    assert_eq!(night.state.tally_consignment(ConsignmentNo(2)).short, 2);
}

#[test]
fn fish_of_another_name_are_asked_about_before_the_list_is_booked() {
    for (answer, extra) in [("clown loach", 0), ("not on the list", 40)] {
        let mut night = Night::staffed();
        night.says("ana", "7.1 40 yoyo loach alive");
        let reply = night.list("lea", "Rio Claro", &RIO);
        has(&reply, &["Box 7: yoyo loach found in it, the list has clown loach there. Are they that?"]);
        has(&night.says("lea", answer), &["Import it?"]);
        night.says("lea", "yes");
        let tally = night.state.tally_consignment(ConsignmentNo(2));
        assert_eq!((tally.listed, tally.extra, tally.packed), (340, extra, 340 + extra), "{answer}");
        nothing_is_left_without_a_list(&night);
    }
}

#[test]
fn a_bag_without_a_name_is_asked_for_it_and_the_next_bag_has_it() {
    let mut night = Night::staffed();
    has(&night.says("ana", "7.1 38 ok 2 dead"), &["Say which they are"]);
    assert!(night.state.boxes.is_empty());
    night.says("ana", "opening 7");
    night.says("ana", "7.1 38 clown loach alive");
    has(&night.says("ana", "7.2 36 ok 4 dead"), &["4 DOA"]);
    assert_eq!(night.books().extra, 78);
    has(&night.says("ana", "7.2 38 ok 2 dead"), &["2 DOA"]);
    assert_eq!((night.books().extra, night.books().doa), (78, 2));
}

#[test]
fn boxes_that_the_list_does_not_have_wait_for_theirs() {
    let mut night = Night::staffed();
    night.says("ana", "7.1 40 clown loach alive");
    night.says("ana", "31 20 guppy alive");
    has(&night.list("lea", "Rio Claro", &RIO), &["Box 31 was opened and is not on this list. Is it of Rio Claro"]);
    has(&night.says("lea", "no"), &["box 7: 40 of 120", "Box 31 goes on waiting for its list.", "Import it?"]);
    night.says("lea", "yes");
    assert_eq!(night.state.tally_consignment(ConsignmentNo(1)).extra, 20);
    has(&night.says("bo", "31 18 ok 2 dead"), &["2 DOA"]);
    night.imports("Kali Besar", &super::boxes::KALI);
    nothing_is_left_without_a_list(&night);
    let tally = night.state.tally_consignment(ConsignmentNo(3));
    assert_eq!((tally.listed, tally.extra, tally.doa), (100, 0, 2));
}

#[test]
fn while_lists_are_open_a_box_without_one_is_said_to_be_and_its_consignment_is_asked_for() {
    let mut night = Night::with_a_list();
    night.imports("Kali Besar", &super::boxes::KALI);
    night.says("ana", "40 20 guppy alive");
    assert!(night.state.boxes_numbered(40).is_empty(), "it may be a slip");
    let reply = night.says("ana", "box 40 no list");
    has(&reply, &["Whose is it: Rio Claro, Kali Besar, or is its list to come?"]);
    has(&night.says("ana", "kali"), &["box 40 of Kali Besar, on no list"]);
    has(&night.says("ana", "40 20 guppy alive"), &["20 in all, not on the list, all extra"]);
    assert_eq!(night.state.tally_consignment(ConsignmentNo(2)).extra, 20);
    night.says("ana", "box 41 no list");
    has(&night.says("ana", "list to come"), &["box 41, no list yet"]);
    has(&night.says("ana", "box 41 no list"), &["box 41 is here already"]);
}

#[test]
fn the_first_box_without_a_list_can_be_taken_back_after_others() {
    let mut night = Night::staffed();
    let before = night.fingerprint();
    night.says("ana", "7.1 40 clown loach alive");
    night.says("bo", "8 100 neon tetra alive");
    has(&night.says("ana", "undo"), &["taken back"]);
    assert!(night.state.boxes_numbered(7).is_empty());
    assert_eq!(night.books().extra, 100);
    night.says("bo", "undo");
    assert_eq!(night.fingerprint(), before);
}

#[test]
fn boxes_of_another_consignment_keep_waiting_when_a_list_with_their_numbers_comes() {
    let mut night = Night::staffed();
    for text in ["7.1 38 angelfish 2 dead", "8.1 30 guppy", "15 20 guppy"] {
        night.says("ana", text);
    }
    has(
        &night.list("lea", "Rio Claro", &RIO),
        &["Boxes 7 and 8 were opened before a list came", "Are they of Rio Claro?"],
    );
    has(&night.says("lea", "no"), &["Boxes 7, 8 and 15 go on waiting for their list.", "Import it?"]);
    night.says("lea", "yes");
    let tally = night.state.tally_consignment(ConsignmentNo(2));
    assert_eq!((tally.listed, tally.extra, tally.packed, tally.doa), (340, 0, 340, 0));
    // Both have a box 7 now: it is asked, and the answer is carried to the next box that is on no list.
    has(&night.says("ana", "7.2 20 angelfish"), &["Whose box 7: no list yet or Rio Claro?"]);
    has(&night.says("ana", "no list yet"), &["20 in all, list to come"]);
    has(&night.says("ana", "16 10 guppy"), &["10 in all, list to come"]);
    has(&night.says("ana", "9.1 40 ok"), &["40 of 40, balanced"]);
    let later = [(7, None, Some(2), "angelfish", 60), (8, None, None, "guppy", 30), (15, None, None, "guppy", 25)];
    has(
        &night.list("lea", "Kali Besar", &later),
        &["Box 16 was opened and is not on this list. Is it of Kali Besar all the same?"],
    );
    has(&night.says("lea", "yes"), &["box 7: 60 of 60 angelfish, 2 DOA", "box 16: 10 guppy, not on the list: extra"]);
    night.says("lea", "yes");
    nothing_is_left_without_a_list(&night);
    let tally = night.state.tally_consignment(ConsignmentNo(3));
    assert_eq!((tally.listed, tally.extra, tally.doa, tally.packed), (115, 10, 2, 123));
}

#[test]
fn a_consignment_is_announced_by_word_and_its_list_takes_its_boxes_over() {
    let mut night = Night::with_a_list();
    let before = night.fingerprint();
    has(&night.says("lea", "consignment from Kali Besar, 3 boxes"), &["Kali Besar, 3 boxes, its list is to come"]);
    has(&night.says("lea", "undo"), &["taken back: the consignment from Kali Besar"]);
    assert_eq!(night.fingerprint(), before);
    night.says("lea", "consignment from Kali Besar, 3 boxes");
    has(&night.says("ana", "31 18 guppy 2 dead"), &["Box 31 is on no open list. Whose is it: Rio Claro, Kali Besar"]);
    has(&night.says("ana", "kali"), &["18 guppy alive", "20 in all, 2 DOA, list to come"]);
    has(&night.says("lea", "landed"), &["Kali Besar, 3 boxes to go"]);
    has(&night.says("lea", "board"), &["Kali Besar: 0 of 3 boxes done"]);
    has(
        &night.list("lea", "Besar Fish Co", &super::boxes::KALI),
        &["This list is of Besar Fish Co. Is it the list of the consignment from Kali Besar?"],
    );
    let asked = night.says("lea", "yes");
    has(&asked, &["box 31: 20 of 20 guppy, 2 DOA", "3 boxes were announced, the list has 2.", "Import it?"]);
    night.says("lea", "yes");
    nothing_is_left_without_a_list(&night);
    let tally = night.state.tally_consignment(ConsignmentNo(3));
    assert_eq!((tally.listed, tally.extra, tally.doa, tally.packed), (100, 0, 2, 98));
    assert_eq!(night.state.consignments[&ConsignmentNo(3)].stages.len(), 1, "when it landed is kept");
}

#[test]
fn boxes_opened_before_their_supplier_was_named_are_of_it() {
    let mut night = Night::staffed();
    night.says("ana", "7.1 40 clown loach");
    has(&night.says("lea", "consignment from Rio Claro"), &["Box 7 has no list yet. Is it of Rio Claro?"]);
    has(&night.says("lea", "yes"), &["box 7 is of it"]);
    // A box of it that the list does not have is extra; nobody is asked.
    night.says("ana", "31 20 guppy");
    let asked = night.list("lea", "Rio Claro Ornamentals", &RIO);
    has(&asked, &["box 7: 40 of 120 clown loach", "box 31: 20 guppy, not on the list: extra", "Import it?"]);
    night.says("lea", "yes");
    let tally = night.state.tally_consignment(ConsignmentNo(2));
    assert_eq!((tally.listed, tally.extra, tally.packed), (340, 20, 360));
    nothing_is_left_without_a_list(&night);
    has(&night.says("lea", "consignment from rio claro"), &["here already with its list"]);
}

#[test]
fn bags_fuller_than_their_share_are_no_extra_where_the_line_holds_them() {
    let mut night = Night::staffed();
    night.says("ana", "7.1 45 clown loach");
    night.says("ana", "7.2 35 clown loach");
    night.imports("Rio Claro", &RIO);
    assert_eq!(night.state.tally_consignment(ConsignmentNo(2)).extra, 0);
    has(&night.says("ana", "7.3 40 ok"), &["balanced"]);
    has(&night.says("ana", "7 done"), &["box 7 done"]);
}

#[test]
fn a_fish_that_no_book_knows_is_kept_by_the_name_that_is_said() {
    let mut night = Night::staffed();
    has(&night.says("ana", "4.1 12 striped snakehead 2 dead"), &["12 striped snakehead alive", "14 in all, 2 DOA"]);
    assert_eq!(night.books().extra, 14);
}

#[test]
fn a_box_number_of_last_night_is_another_box() {
    let mut night = Night::staffed();
    night.says("ana", "7.1 40 clown loach");
    night.says("ana", "7.1 into A1");
    night.says("ana", "7 done");
    night.pause(60 * 20);
    night.says("ana", "7.1 25 guppy");
    assert_eq!(night.state.tally_consignment(ConsignmentNo(1)).extra, 40);
    assert_eq!(night.state.tally_consignment(ConsignmentNo(2)).extra, 25);
}

#[test]
fn an_announced_consignment_of_which_no_box_was_opened_becomes_the_listed_one() {
    let mut night = Night::staffed();
    night.says("lea", "consignment from Rio Claro, 4 boxes");
    has(&night.says("ana", "7.1 38 clown loach 2 dead"), &["40 in all, 2 DOA, list to come"]);
    night.says("ana", "undo");
    night.imports("Rio Claro", &RIO);
    nothing_is_left_without_a_list(&night);
    assert_eq!(night.state.open_consignments().count(), 1);
}

#[test]
fn several_words_of_a_suppliers_name_answer_whose_box_it_is() {
    let mut night = Night::with_a_list();
    night.says("lea", "consignment from Low Tide Farm");
    has(&night.says("ana", "40 20 guppy"), &["Whose is it: Rio Claro, Low Tide Farm, or is its list to come?"]);
    has(&night.says("ana", "low tide"), &["20 in all, list to come"]);
}

#[test]
fn a_name_that_fits_several_fish_is_kept_as_it_is_said_until_the_list_tells() {
    let mut night = Night::staffed();
    night.says("ana", "opening box 5");
    has(&night.says("ana", "5.1 38 neons 2 dead"), &["5.1 38 neons alive, 2 dead", "40 in all, 2 DOA, list to come"]);
}
