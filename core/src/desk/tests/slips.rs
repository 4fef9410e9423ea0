//! Slips of the finger and second thoughts: what is asked before it is booked, and who takes back what.

use super::night::Night;
use crate::desk::Refusal;

fn has(reply: &str, parts: &[&str]) {
    for part in parts {
        assert!(reply.contains(part), "no \"{part}\" in: {reply}");
    }
}

/// 41 neon tetra counted into A2.
fn forty_one() -> Night {
    let mut night = Night::with_a_list();
    night.says("ana", "8 41 ok 59 dead");
    night.says("ana", "8 into A2");
    night
}

#[test]
fn more_dead_than_the_tank_holds_asks_first_and_books_nothing() {
    let mut night = forty_one();
    let before = night.fingerprint();
    let reply = night.says("ana", "A2 100 dead");
    has(&reply, &["A2 has 41 neon tetra by the books, not 100. All 41 dead, how many, or a slip?"]);
    assert_eq!(night.fingerprint(), before);
    has(&night.says("ana", "no"), &["Nothing recorded of A2"]);
    assert_eq!(night.fingerprint(), before);
}

#[test]
fn a_count_beyond_the_books_is_booked_as_it_was_answered() {
    for (answer, daa, extra) in
        [("all", 41, 0), ("10", 10, 0), ("10 dead", 10, 0), ("1", 1, 0), ("2", 2, 0), ("59 extra", 100, 59)]
    {
        let mut night = forty_one();
        night.says("ana", "A2 100 dead");
        let reply = night.says("ana", answer);
        assert_eq!((night.books().daa, night.books().extra), (daa, extra), "{answer}: {reply}");
    }
    let mut night = forty_one();
    night.says("ana", "A2 100 dead");
    has(&night.says("ana", "90"), &["not 90", "All 41 dead"]);
    night.says("ana", "all");
    assert_eq!(night.books().daa, 41);
    has(&night.says("ana", "undo"), &["taken back"]);
    assert_eq!(night.books().daa, 0);
}

#[test]
fn the_buttons_of_a_question_that_a_number_answered_book_nothing_more() {
    let mut night = forty_one();
    night.says("ana", "A2 100 dead");
    let asked = night.clone();
    night.says("ana", "10");
    let button = asked.last.outgoing[0].buttons.iter().find(|button| button.label == "all 41 dead").unwrap().clone();
    let what = crate::desk::What::Button { question: button.question, choice: button.choice };
    has(&night.take(Some("bo"), what), &["settled already"]);
    assert_eq!(night.books().daa, 10);
}

#[test]
fn more_weak_than_the_tank_holds_asks_too() {
    let mut night = forty_one();
    has(&night.says("ana", "A2 50 weak"), &["All 41 weak, how many, or a slip?"]);
    night.says("ana", "5");
    assert_eq!(night.state.lots.values().next().unwrap().weak, 5);
    has(&night.says("ana", "A2 38 dead 5 weak"), &["not 5. All 3 weak"]);
    night.says("ana", "all");
    assert_eq!((night.books().daa, night.state.lots.values().next().unwrap().weak), (38, 3));
}

#[test]
fn more_dead_than_a_tank_of_two_lots_holds_asks_before_it_asks_which() {
    let mut night = Night::with_a_list();
    for text in ["8 100 ok", "8 into A2", "12 30 ok", "12 into A2"] {
        night.says("ana", text);
    }
    has(&night.says("ana", "A2 200 dead"), &["A2 has 130 fish by the books, not 200"]);
    night.says("ana", "20");
    night.says("ana", "can't tell");
    assert_eq!(night.books().daa, 20);
    night.says("ana", "A2 200 dead");
    has(&night.says("ana", "all"), &["A2"]);
    assert_eq!(night.books().daa, 130);
    assert!(night.state.looks.is_empty(), "an empty tank needs no look");
}

#[test]
fn a_correction_beyond_the_books_leaves_the_first_number_until_it_is_answered() {
    let mut night = forty_one();
    night.says("ana", "A2 4 dead");
    let reply = night.says("ana", "sorry 400 not 4");
    has(&reply, &["What was recorded before stands", "not 400"]);
    assert_eq!(night.books().daa, 4);
    has(&night.says("ana", "40"), &["A2 40 dead"]);
    assert_eq!(night.books().daa, 40);
    night.says("ana", "sorry 400 not 40");
    night.says("ana", "all");
    assert_eq!(night.books().daa, 41);
    night.says("ana", "undo");
    assert_eq!(night.books().daa, 0);
}

#[test]
fn a_lead_takes_back_what_another_said_by_replying_to_its_line() {
    let mut night = forty_one();
    night.says("ana", "A2 4 dead");
    let line = night.state.seq;
    night.says("ana", "A2 ph 6.8");
    night.undoes("bo", line);
    assert!(matches!(night.refused(), Refusal::MayNot { power: crate::people::Power::UndoOthers }));
    assert_eq!(night.books().daa, 4);
    has(&night.undoes("lea", line), &["taken back for ana: A2 4 dead"]);
    assert_eq!(night.books().daa, 0);
    night.undoes("lea", line);
    assert!(matches!(night.refused(), Refusal::NothingInLine));
}

#[test]
fn a_reply_takes_back_the_line_replied_to_not_the_last_one() {
    let mut night = forty_one();
    night.says("ana", "A2 ph 6.8");
    let line = night.state.seq;
    night.says("ana", "tray 1 ph 7.2");
    has(&night.undoes("ana", line), &["taken back: A2 pH 6.8"]);
    night.says("ana", "A2 4 dead");
    let line = night.state.seq;
    night.says("ana", "sorry 5 not 4");
    has(&night.undoes("lea", line), &["taken back for ana: A2 5 dead"]);
    assert_eq!(night.books().daa, 0);
}

#[test]
fn undo_of_a_named_person_asks_for_a_reply_and_touches_nobodys_words() {
    let mut night = forty_one();
    night.says("ana", "A2 4 dead");
    night.says("lea", "A2 ph 6.8");
    let before = night.fingerprint();
    for text in ["undo ana", "undo ana's last"] {
        has(&night.says("lea", text), &["Which one of ana's? A lead replies to its line with: undo"]);
    }
    assert_eq!(night.fingerprint(), before);
}

#[test]
fn an_undo_that_reaches_far_back_asks_first() {
    let mut night = forty_one();
    night.says("ana", "A2 4 dead");
    night.pause(45);
    has(&night.says("ana", "undo"), &["Take back A2 4 dead, from 22:", "?"]);
    assert_eq!(night.books().daa, 4);
    has(&night.says("ana", "no"), &["Nothing taken back"]);
    night.says("ana", "undo");
    has(&night.says("ana", "yes"), &["taken back: A2 4 dead"]);
    assert_eq!(night.books().daa, 0);
    night.says("ana", "A2 4 dead");
    night.pause(20);
    has(&night.says("ana", "undo"), &["taken back: A2 4 dead"]);
}

#[test]
fn the_same_order_twice_within_minutes_asks_whether_it_is_meant_twice() {
    let mut night = forty_one();
    night.says("lea", "clear A2 anyway the buyer waits");
    night.says("rita", "can we get 12 neons");
    has(&night.says("rita", "can we get 12 neons"), &["You have 12 neon tetra reserved already. 12 more?"]);
    assert_eq!(night.books().reserved, 12);
    has(&night.says("rita", "no"), &["reserved once"]);
    night.says("rita", "can we get 12 neons");
    has(&night.says("rita", "yes"), &["reserved 12 neon tetra"]);
    assert_eq!(night.books().reserved, 24);
    night.says("ana", "5 neons for Tank Town");
    has(&night.says("bo", "5 neons for Tank Town"), &["Tank Town has 5 neon tetra reserved already. 5 more?"]);
    night.pause(30);
    night.says("bo", "5 neons for Tank Town");
    assert_eq!(night.books().reserved, 34);
}

#[test]
fn a_newer_count_settles_what_an_older_one_asked() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 104 ok");
    let first = night.clone();
    night.says("ana", "8 103 ok");
    assert_eq!(night.state.questions.len(), 1);
    let button = first.last.outgoing[0].buttons[0].clone();
    let what = crate::desk::What::Button { question: button.question, choice: button.choice };
    has(&night.take(Some("ana"), what), &["settled already"]);
    assert_eq!(night.books().extra, 0);
    night.says("ana", "8 100 ok");
    assert!(night.state.questions.is_empty());
}

#[test]
fn a_question_that_nobody_answers_is_dropped_when_it_can_no_longer_be_taken_back() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 104 ok");
    night.pause(47 * 60);
    night.says("ana", "long night");
    assert_eq!(night.state.questions.len(), 1);
    night.pause(3 * 60);
    night.says("ana", "long night");
    assert!(night.state.questions.is_empty());
}

#[test]
fn the_board_tells_the_counted_from_those_of_which_only_the_list_tells() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 96 ok 4 dead");
    has(&night.says("lea", "board"), &["340 fish listed, 96 counted alive, 240 not counted yet, 0 placed"]);
    night.says("ana", "box 12 into A2");
    has(&night.says("lea", "board"), &["96 counted alive, 240 not counted yet, 30 placed"]);
}

#[test]
fn a_box_done_with_living_fish_in_it_says_how_many() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 96 ok 4 dead");
    has(&night.says("ana", "8 done"), &["4 DOA of 100 fish, 96 alive still in it"]);
    night.says("ana", "12 30 ok");
    night.says("ana", "box 12 into A2");
    let reply = night.says("ana", "12 done");
    assert!(!reply.contains("still in it"), "{reply}");
}

#[test]
fn a_place_that_is_not_here_is_named_with_what_is_here() {
    let mut night = forty_one();
    has(&night.says("ana", "C9 2 dead"), &["No C9 here. Which one: A1-A12?"]);
    has(&night.says("ana", "A2"), &["A2 2 dead"]);
    has(&night.says("ana", "8 into C9"), &["No C9 here. Which one: A1-A12?"]);
    has(&night.says("ana", "tray 9 3 dead"), &["No tray 9 here. Which one: tray 1-6?"]);
    has(&night.says("ana", "box 99 3 dead"), &["No box 99 here. Which one: box 7-9 or box 12?"]);
    has(&night.says("ana", "7.9 3 dead"), &["No 7.9 here. Which one: 7.1-3?"]);
    has(&night.says("ana", "3 dead"), &["Which"]);
}

#[test]
fn a_tank_named_by_itself_is_added_when_that_is_said() {
    let mut night = forty_one();
    has(&night.says("ana", "tank C9"), &["No tank C9 here yet. Add it?"]);
    assert!(!night.state.vessels.contains_key("C9"));
    has(&night.says("ana", "yes"), &["C9 added"]);
    assert!(night.state.vessels.contains_key("C9"));
    assert_eq!(night.says("ana", "tank A1"), "");
    has(&night.says("ana", "tray 9"), &["No tray 9 here yet. Add it?"]);
    night.says("ana", "yes");
    has(&night.says("ana", "tray 9 ph 7"), &["tray 9 pH 7"]);
    assert_eq!(night.says("rita", "tank C10"), "");
}

#[test]
fn a_note_of_a_heater_cautions_once_a_night_and_each_person() {
    let mut night = forty_one();
    has(&night.says("ana", "note A2 heater stuck on"), &["power off at the wall"]);
    let again = night.says("ana", "note A2 heater still on");
    assert!(!again.is_empty() && !again.contains("wall"), "{again}");
    has(&night.says("bo", "note A3 heater cracked"), &["power off at the wall"]);
}
