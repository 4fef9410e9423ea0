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
    has(&night.says("ana", "7.1 38 clown loach 2 dead"), &["7.1 38 clown loach alive, 2 clown loach dead", "2 DOA"]);
    assert!(night.last.outgoing.iter().all(|message| message.buttons.is_empty()), "nothing is asked");
    has(&night.says("ana", "7.1 into A3"), &["38 from 7.1 into A3"]);
    assert_eq!((night.books().listed, night.books().extra, night.books().held, night.books().doa), (0, 40, 38, 2));
    night.says("ana", "8 100 neon tetra alive");
    let reply = night.list("lea", "Rio Claro", &RIO);
    has(
        &reply,
        &["Opened before the list came:", "box 7: 40 of 120 clown loach, 2 DOA", "box 8: 100 of 100 neon tetra"],
    );
    has(&reply, &["Import it?"]);
    let before = night.fingerprint();
    has(&night.says("lea", "yes"), &["Imported Rio Claro: 4 boxes, 340 fish.", "Boxes 7 and 8 stay as they were counted"]);
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
fn zz() {
    let show = |night: &mut Night, texts: &[&str]| {
        for text in texts {
            let (who, text) = text.split_once(": ").unwrap();
            let said = night.says(who, text);
            println!("{who}: {text}\n -> {said}");
            for who in ["rita", "tom"] {
                for told in night.told(who) {
                    println!(" ({who} hears) {told}");
                }
            }
        }
    };
    let mut night = Night::with_a_list();
    show(
        &mut night,
        &[
            "ana: 12 9 straight thru to Reef & River",
            "ana: undo",
            "ana: 12 straight through to Reef",
            "ana: opening 7",
            "ana: whole list straight through to tank",
            "ana: whole list straight through to tank",
            "lea: board",
            "ana: undo",
            "ana: 99 straight through to tank",
            "ana: 12 straight through to nobody",
            "rita: 12 straight through to tank",
        ],
    );
    println!(
        "{}",
        night.list("lea", "Rio Claro", &{
            let mut r = RIO;
            r[4].4 = 35;
            r[1].4 = 90;
            r
        })
    );
    show(&mut night, &["lea: yes", "lea: undo"]);
    println!("-- before");
    let mut night = Night::staffed();
    show(
        &mut night,
        &[
            "ana: 12 8 straight thru to Reef",
            "ana: undo",
            "ana: 12 8 straight thru to Reef",
            "ana: box 9 shipped to Tank Town",
            "ana: 7.1 38 clown loach 2 dead",
            "lea: board",
        ],
    );
    println!("{}", night.list("lea", "Rio Claro", &RIO));
    show(&mut night, &["lea: yes", "lea: board", "lea: undo"]);
    let mut night = Night::staffed();
    show(&mut night, &["ana: 12 8 straight thru to Reef"]);
    println!("{}", night.list("lea", "Rio Claro", &RIO));
    show(&mut night, &["lea: one by one", "lea: yes", "lea: no", "lea: yes"]);
}
