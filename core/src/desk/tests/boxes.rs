//! Boxes and bags: opening, counting, finishing, late, lost and passed on.

use super::night::{Night, Row};
use crate::desk::Refusal;
use crate::stock::Certainty;

fn has(reply: &str, parts: &[&str]) {
    for part in parts {
        assert!(reply.contains(part), "no \"{part}\" in: {reply}");
    }
}

#[test]
fn unnumbered_bags_get_the_next_number_and_their_share() {
    let mut night = Night::with_a_list();
    has(&night.says("ana", "opening 7"), &["120 clown loach in 3 bags"]);
    has(&night.says("ana", "7.1 40 ok"), &["40 of 40, balanced", "pen 7.1 on it"]);
    has(&night.says("ana", "7.2 36 ok 4 dead"), &["40 of 40, balanced, 4 DOA", "pen 7.2 on it"]);
    has(&night.says("ana", "7.3 39 ok"), &["39 of 40, 1 to find"]);
    assert_eq!((night.books().doa, night.books().packed), (4, 336));
}

#[test]
fn a_box_of_three_bags_counted_as_a_whole_gives_way_to_the_count_of_a_bag() {
    let mut night = Night::with_a_list();
    has(&night.says("ana", "7 110 ok 10 dead"), &["120 of 120, balanced, 10 DOA"]);
    assert_eq!(night.line(1).doa, 10);
    has(&night.says("ana", "7.1 36 ok 4 dead"), &["40 of 40", "The count of box 7 as a whole no longer stands"]);
    assert_eq!((night.line(1).doa, night.line(1).packed), (4, 116));
    has(&night.says("ana", "7 90 ok"), &["Which one?"]);
}

#[test]
fn water_of_a_bag_does_not_undo_the_count_of_its_box() {
    let mut night = Night::with_a_list();
    night.says("ana", "7 110 ok 10 dead");
    night.says("ana", "7.1 ph 6.4");
    assert_eq!(night.line(1).doa, 10);
    has(&night.says("ana", "7.1 into tray 3"), &["from 7.1 into tray 3"]);
    assert_eq!(night.line(1).living(), 110);
}

#[test]
fn uncounted_bags_can_be_moved_and_stay_presumed() {
    let mut night = Night::with_a_list();
    has(&night.says("ana", "8 into A2"), &["100 from box 8 into A2 · not counted yet", "100 not counted"]);
    has(&night.says("olga", "claims?"), &["Nothing to claim"]);
    has(&night.says("ana", "8 96 ok 4 dead"), &["100 of 100, balanced, 4 DOA"]);
    has(&night.says("ana", "how's A2"), &["96 neon tetra (lot 1)"]);
    let presumed = night.state.books.all().any(|(purse, line, balance)| {
        line.line == 2
            && balance > 0
            && purse.certainty == Certainty::Presumed
            && line.consignment.0 == 1
            && !matches!(purse.account, crate::stock::Account::Packed(_))
    });
    assert!(!presumed, "a census of the bag counts its fish where they are");
}

#[test]
fn a_box_done_with_fish_nobody_counted_asks_short_all_there_or_not_yet() {
    for (answer, packed, short, finished) in
        [("short", 0, 100, true), ("all there", 100, 0, true), ("not yet", 100, 0, false)]
    {
        let mut night = Night::with_a_list();
        night.says("ana", "opening 8");
        has(
            &night.says("ana", "8 done"),
            &["not counted: 100 in box 8 neon tetra", "Short, all there as listed, or not done yet?"],
        );
        night.says("ana", answer);
        assert_eq!((night.line(2).packed - 50, night.line(2).short), (packed, short), "{answer}");
        let key = night.state.boxes_numbered(8)[0];
        assert_eq!(night.state.boxes[&key].finished.is_some(), finished, "{answer}");
    }
}

#[test]
fn a_box_done_with_every_fish_counted_or_moved_is_done_at_once() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 96 ok 4 dead");
    has(&night.says("ana", "8 done"), &["box 8 done", "4 DOA of 100", "3 boxes to go"]);
}

#[test]
fn more_found_than_listed_asks_extra_and_books_it_on_yes_only() {
    let mut night = Night::with_a_list();
    has(&night.says("ana", "8 104 ok"), &["104 seen, 100 on the list. 4 extra?"]);
    assert_eq!(night.books().extra, 0);
    has(&night.says("ana", "yes"), &["4 extra", "104 of 104, balanced"]);
    assert_eq!((night.books().extra, night.line(2).packed), (4, 154));
    let mut night = Night::with_a_list();
    night.says("ana", "8 104 ok");
    has(&night.says("ana", "no"), &["count", "again"]);
    assert_eq!((night.books().extra, night.line(2).packed), (0, 150));
}

#[test]
fn dead_fish_beyond_the_list_are_asked_about_and_never_refused() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 100 ok");
    night.says("ana", "8 into A2");
    has(&night.says("ana", "8 2 more dead"), &["2 extra?"]);
    has(&night.says("ana", "yes"), &["2 extra"]);
    assert_eq!((night.line(2).doa, night.line(2).held, night.line(2).extra), (2, 100, 2));
}

#[test]
fn a_second_census_replaces_the_first_and_more_adds() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 90 ok 6 weak 4 dead");
    has(&night.says("ana", "8 94 ok 6 dead"), &["100 of 100, balanced, 6 DOA"]);
    assert_eq!(night.line(2).doa, 6);
    has(&night.says("ana", "8 2 more dead"), &["100 of 100, balanced, 8 DOA"]);
    assert_eq!((night.line(2).doa, night.line(2).packed), (8, 142));
}

#[test]
fn missing_fish_that_turn_up_are_no_longer_short() {
    let mut night = Night::with_a_list();
    has(&night.says("ana", "8 97 ok 3 missing"), &["100 of 100, balanced"]);
    assert_eq!(night.line(2).short, 3);
    has(&night.says("ana", "8 100 ok"), &["100 of 100, balanced"]);
    assert_eq!(night.line(2).short, 0);
}

#[test]
fn fish_that_came_round_are_taken_back_from_the_dead() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 96 ok 4 dead");
    has(&night.says("ana", "3 came round"), &["100 of 100, balanced, 1 DOA"]);
    assert_eq!((night.line(2).doa, night.line(2).packed), (1, 149));
    night.says("ana", "8 2 came round");
    assert!(matches!(night.refused(), Refusal::FewerDead { dead: 1, revived: 2, .. }));
}

#[test]
fn culled_fish_are_neither_dead_nor_short() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 90 ok 10 weak");
    has(&night.says("ana", "8: culled 5"), &["100 of 100, balanced", "a trained person, by the vet's method"]);
    let line = night.line(2);
    assert_eq!((line.culled, line.doa, line.short, line.packed), (5, 0, 0, 145));
}

#[test]
fn wrong_fish_are_booked_wrong_and_what_came_is_a_line_of_its_own() {
    let mut night = Night::with_a_list();
    let reply = night.says("ana", "9.1 not yoyos, kuhlis, 38");
    has(&reply, &["38 kuhli loach booked instead", "38 wrong fish"]);
    assert_eq!((night.line(3).wrong, night.line(3).packed), (38, 2));
    let came = night.line(5);
    assert_eq!((came.extra, came.packed), (38, 38));
    has(&night.says("ana", "9.1 into A3"), &["from 9.1 into A3"]);
}

#[test]
fn a_leaking_bag_is_poured_into_another_and_keeps_its_count() {
    let mut night = Night::with_a_list();
    night.says("ana", "7.1 36 ok 4 dead");
    night.says("ana", "7.2 40 ok");
    has(&night.says("ana", "7.1 into 7.2"), &["36 from 7.1 into 7.2"]);
    assert_eq!((night.line(1).doa, night.line(1).packed), (4, 116));
    has(&night.says("ana", "7.2 76 ok"), &["76 of 76, balanced"]);
    has(&night.says("ana", "7.1 4 dead"), &["4 of 4, balanced"]);
}

#[test]
fn moving_what_is_not_there_is_refused_with_the_arithmetic() {
    let mut night = Night::with_a_list();
    night.says("ana", "7.1 36 ok 4 dead");
    let reply = night.says("ana", "40 from 7.1 into A1");
    has(&reply, &["40 asked, 36 fish in 7.1 by the books: 4 too many."]);
    assert!(matches!(night.refused(), Refusal::NotThere { there: 36, asked: 40, .. }));
    assert_eq!(night.books().placed(), 0);
}

#[test]
fn a_box_is_passed_on_unopened_to_a_buyer_as_listed() {
    let mut night = Night::with_a_list();
    let reply = night.says("ana", "box 12 shipped to Reef & River");
    has(&reply, &["passed on unopened to Reef & River, 30 fish as listed"]);
    assert_eq!(night.line(4).passed_on, 30);
    assert_eq!(night.told("rita").len(), 1);
    assert!(night.told("tom").is_empty());
    has(&night.says("ana", "12 30 ok"), &["Box 12 is passed on"]);
    has(&night.says("ana", "box 12 here"), &["30 fish expected in it"]);
    assert_eq!((night.line(4).passed_on, night.line(4).packed), (0, 30));
    night.says("ana", "12 30 ok");
    night.says("ana", "box 12 shipped to Reef & River");
    assert!(matches!(night.refused(), Refusal::AlreadyOpened { number: 12 }));
}

#[test]
fn a_box_on_a_later_flight_is_late_and_not_short_until_a_lead_says_lost() {
    let mut night = Night::with_a_list();
    has(&night.says("bo", "box 12 late"), &["30 fish late, not short"]);
    assert_eq!((night.line(4).short, night.line(4).packed), (0, 30));
    night.says("bo", "box 12 lost");
    assert!(matches!(night.refused(), Refusal::MayNot { .. }));
    has(&night.says("lea", "box 12 lost"), &["30 fish short"]);
    assert_eq!((night.line(4).short, night.line(4).packed), (30, 0));
    has(&night.says("bo", "box 12 here"), &["30 fish expected in it"]);
    assert_eq!((night.line(4).short, night.line(4).packed), (0, 30));
    has(&night.says("bo", "12 30 ok"), &["30 of 30, balanced"]);
}

#[test]
fn the_last_box_finishes_the_consignment_and_a_lost_box_found_reopens_it() {
    let mut night = Night::with_a_list();
    for text in ["7 120 ok", "7 done", "8 100 ok", "8 done", "9.1 40 ok", "9.2 50 ok", "9 done"] {
        night.says("ana", text);
    }
    night.says("lea", "box 12 lost");
    assert_eq!(night.state.open_consignments().count(), 0);
    has(&night.says("lea", "box 12 here"), &["box 12 is here"]);
    assert_eq!(night.state.open_consignments().count(), 1);
}

pub const KALI: [Row; 2] = [(7, None, Some(1), "neon tetra", 80), (31, None, Some(1), "guppy", 20)];

#[test]
fn a_number_open_in_two_consignments_asks_once_by_supplier_and_is_carried() {
    let mut night = Night::with_a_list();
    night.imports("Kali Besar", &KALI);
    has(&night.says("ana", "7 78 ok 2 dead"), &["Whose box 7: Rio Claro or Kali Besar?"]);
    assert_eq!(night.books().doa, 0);
    has(&night.says("ana", "kali"), &["Kali Besar box 7", "80 of 80, balanced, 2 DOA"]);
    has(&night.says("ana", "7 into A4"), &["78 from box 7 into A4", "Kali Besar"]);
    has(&night.says("bo", "opening 7"), &["Whose box 7"]);
    has(&night.says("bo", "1"), &["Rio Claro box 7"]);
    has(&night.says("bo", "7.1 40 ok"), &["Rio Claro"]);
    night.says("ana", "7 done");
    night.says("ana", "31 20 ok");
    night.says("ana", "31 done");
    let reply = night.says("ana", "7.2 40 ok");
    has(&reply, &["7.2", "40 of 40"]);
    assert!(!reply.contains("Rio Claro"), "one is finished: the name is needed no more: {reply}");
}

#[test]
fn an_order_about_a_doubled_box_does_nothing_but_ask_for_the_supplier() {
    let mut night = Night::with_a_list();
    night.imports("Kali Besar", &KALI);
    for order in ["box 7 late", "box 7 first"] {
        has(&night.says("lea", order), &["Whose box 7"]);
        has(&night.says("lea", "rio"), &["Rio Claro, then. Say it again"]);
        let opened = night.state.boxes.values().any(|record| record.opened.is_some() || record.finished.is_some());
        assert!(!opened);
        has(&night.says("lea", order), &["Rio Claro 7"]);
        night.says("lea", "undo");
        night = Night::with_a_list();
        night.imports("Kali Besar", &KALI);
    }
}

#[test]
fn the_same_list_is_not_imported_twice() {
    let mut night = Night::with_a_list();
    let reply = night.list("lea", "Rio Claro", &super::night::RIO);
    has(&reply, &["here already"]);
    assert!(matches!(night.refused(), Refusal::AlreadyImported { .. }));
    night.list("lea", "Empty", &[]);
    assert!(matches!(night.refused(), Refusal::NothingOnList { .. }));
}
#[test]
fn fish_go_back_only_into_bags_of_their_own_consignment() {
    let mut night = Night::with_a_list();
    night.imports("Kali Besar", &KALI);
    night.says("ana", "31 20 ok");
    night.says("ana", "31.1 into 8.1");
    assert!(matches!(night.refused(), Refusal::OtherConsignment { .. }));
}

#[test]
fn a_question_is_answered_by_a_button_of_its_own_chat_only() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 104 ok");
    let asked = night.clone();
    has(&night.presses("rita", "yes"), &["settled already"]);
    assert_eq!(night.books().extra, 0);
    let mut night = asked;
    has(&night.presses("bo", "yes"), &["4 extra"]);
    assert_eq!(night.books().extra, 4);
}

#[test]
fn a_fish_of_another_bag_of_the_box_is_counted_in_that_bag() {
    let mut night = Night::with_a_list();
    has(&night.says("ana", "9.1 38 ok 2 dead"), &["yoyo loach"]);
    has(&night.says("ana", "neons 49 ok 1 dead"), &["9.2 49 neon tetra sound, 1 dead", "50 of 50, balanced"]);
    assert_eq!(night.line(3).doa, 2);
    has(&night.says("ana", "9.1 neons 5 dead"), &["No neon tetra in 9.1"]);
    has(&night.says("ana", "box 9 yoyos 40 alive"), &["9.1 40 yoyo loach alive"]);
}

#[test]
fn a_name_that_fits_several_fish_means_the_one_in_hand() {
    let mut night = Night::with_a_list();
    night.says("ana", "7.1 40 ok");
    has(&night.says("ana", "box 9 loaches 3 dead"), &["9.1 3 yoyo loach dead"]);
    night.says("ana", "undo");
    night.says("ana", "7.2 40 ok");
    has(&night.says("ana", "loaches into A1"), &["120 clown loach into A1"]);
    has(&night.says("ana", "9.1 40 ok"), &["40 of 40"]);
    has(&night.says("ana", "loaches into A2"), &["Which fish: "]);
    has(&night.says("ana", "yoyo"), &["40 yoyo loach into A2"]);
}
