//! Packing lists: doubts one by one, corrected lists, boxes that were opened before their list came.

use super::night::{Night, RIO, Row, packing_list};
use crate::consignment::{Asks, ConsignmentNo, ListDoubt, PackingList};
use crate::desk::{Refusal, What};

fn has(reply: &str, parts: &[&str]) {
    for part in parts {
        assert!(reply.contains(part), "no \"{part}\" in: {reply}");
    }
}

fn sends(night: &mut Night, person: &str, list: PackingList) -> String {
    night.take(Some(person), What::List(Box::new(list)))
}

/// A list with three doubts: two numbers, a box that is not named, a row that was left out.
fn doubtful() -> PackingList {
    let mut list = packing_list("Rio Claro", &RIO);
    list.lines[1].number = None;
    let mut left_out = list.lines[0].clone();
    (left_out.species, left_out.qty, left_out.number) = ("guppy".into(), 0, None);
    let doubts = [
        (
            "Row 3: the total says 120 fish, the other columns make 126. Which is right?",
            vec![0],
            Asks::Fish { choices: vec![120, 126], each: false },
        ),
        ("Row 4: no box number can be read from \"?\". Which box is it?", vec![1], Asks::Box),
        (
            "Row 9: guppy has no quantity. How many are there?",
            vec![],
            Asks::LeftOut { line: Box::new(left_out), boxes: vec![14] },
        ),
    ];
    list.doubts = doubts.into_iter().map(|(text, lines, asks)| ListDoubt { text: text.into(), lines, asks }).collect();
    list.questions = list.doubts.iter().map(|doubt| doubt.text.clone()).collect();
    list.questions.push("Two airway bills are named. Which is right?".into());
    list
}

#[test]
fn doubts_are_asked_one_by_one_and_the_answers_change_what_is_imported() {
    let mut night = Night::staffed();
    let reply = sends(&mut night, "lea", doubtful());
    has(&reply, &["340 fish", "? Two airway bills", "1 of 3: Row 3: the total says 120"]);
    assert!(!reply.contains("no box number"), "its box is still asked about: {reply}");
    assert!(!reply.contains("Row 4"), "one at a time: {reply}");
    let reply = night.presses("lea", "126");
    has(&reply, &["Row 3: 126 fish", "2 of 3: Row 4: no box"]);
    let reply = night.says("lea", "box 8");
    has(&reply, &["Row 4: box 8", "3 of 3: Row 9: guppy"]);
    assert!(night.state.consignments.is_empty(), "nothing is booked before yes");
    let reply = night.says("lea", "48");
    has(&reply, &["Row 9: 48 fish", "5 boxes", "394 fish", "Import it?"]);
    has(&night.says("lea", "yes"), &["Imported Rio Claro: 5 boxes, 394 fish."]);
    assert_eq!((night.line(1).listed, night.line(2).listed, night.books().listed), (126, 150, 394));
}

#[test]
fn as_read_is_always_a_choice_and_the_rest_can_be_left_at_once() {
    let mut night = Night::staffed();
    sends(&mut night, "lea", doubtful());
    has(&night.says("lea", "leave it"), &["Row 3: as read", "2 of 3"]);
    has(
        &night.says("lea", "skip all"),
        &["2 questions left as read", "340 fish", "1 line has no box number", "Import it?"],
    );
    night.says("lea", "import");
    assert_eq!(night.books().listed, 340);
}

#[test]
fn an_answer_that_does_not_fit_is_said_and_the_question_stands() {
    let mut night = Night::staffed();
    let mut list = doubtful();
    list.doubts[2].asks = Asks::LeftOut {
        line: match &list.doubts[2].asks {
            Asks::LeftOut { line, .. } => line.clone(),
            _ => unreachable!(),
        },
        boxes: vec![14, 15],
    };
    list.doubts.drain(..2);
    sends(&mut night, "lea", list);
    has(&night.says("lea", "33"), &["33 do not divide over 2 boxes.", "Row 9: guppy has no quantity"]);
    has(&night.says("lea", "34"), &["Row 9: 34 fish", "Import it?"]);
}

#[test]
fn the_night_goes_on_while_a_list_is_asked_about() {
    let mut night = Night::with_a_list();
    let mut list = doubtful();
    (list.supplier, list.invoice) = (Some("Kali Besar".into()), Some("kb 1".into()));
    sends(&mut night, "lea", list);
    has(&night.says("lea", "8 96 ok 4 dead"), &["100 of 100, balanced, 4 DOA"]);
    has(&night.says("ana", "126"), &[]);
}

#[test]
fn a_file_sent_again_starts_its_questions_anew() {
    let mut night = Night::staffed();
    sends(&mut night, "lea", doubtful());
    night.presses("lea", "126");
    let old = night.last.outgoing[0].buttons[0].clone();
    has(&sends(&mut night, "lea", doubtful()), &["1 of 3: Row 3"]);
    let reply = night.take(Some("lea"), What::Button { question: old.question, choice: old.choice });
    has(&reply, &["settled already"]);
    assert_eq!(night.state.questions.len(), 1);
}

/// The rows of the first list with some of them changed.
fn rows(change: impl Fn(&mut Vec<Row>)) -> Vec<Row> {
    let mut rows = RIO.to_vec();
    change(&mut rows);
    rows
}

#[test]
fn a_corrected_list_shows_what_changes_and_changes_only_on_yes() {
    let mut night = Night::with_a_list();
    let corrected = rows(|rows| {
        rows[0].4 = 126;
        rows[4] = (13, None, Some(1), "kuhli loach", 30);
    });
    let reply = night.list("lea", "Rio Claro", &corrected);
    has(
        &reply,
        &["This changes the list of Rio Claro:", "box 7: 120 → 126 clown loach", "box 12 gone", "box 13 new, 30 fish"],
    );
    assert_eq!(night.line(1).listed, 120);
    let before = night.fingerprint();
    has(&night.says("lea", "yes"), &["Corrected Rio Claro: 4 boxes, 346 fish listed."]);
    assert_eq!((night.line(1).listed, night.line(1).packed, night.line(4).packed), (126, 126, 30));
    assert!(night.state.boxes_numbered(12).is_empty());
    has(&night.says("lea", "undo"), &["taken back: the corrected list of Rio Claro"]);
    assert_eq!(night.fingerprint(), before);
    night.says("ana", "correct the list");
    has(&night.list("ana", "Rio Claro", &corrected), &["You may not correct a packing list"]);
}

#[test]
fn what_was_counted_stays_counted_and_what_is_listed_more_is_to_find() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 96 ok 4 dead");
    night.says("ana", "8 into A2");
    night.says("ana", "8 done");
    night.list("lea", "Rio Claro", &rows(|rows| rows[1].4 = 105));
    night.says("lea", "change it");
    assert_eq!((night.line(2).listed, night.line(2).held, night.line(2).doa), (155, 96, 4));
    let left: u32 = night.state.left_in_box(night.state.boxes_numbered(8)[0]).values().map(|held| held.presumed).sum();
    assert_eq!(left, 5, "five are to find");
    has(&night.says("ana", "8 done"), &["not counted: 5 in 8.1 neon tetra"]);
    night.says("ana", "short");
    assert_eq!((night.line(2).short, night.line(2).held, night.line(2).doa), (5, 96, 4));
}

#[test]
fn extra_fish_that_are_listed_after_all_are_extra_no_more() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 104 ok");
    night.says("ana", "yes");
    assert_eq!(night.line(2).extra, 4);
    night.list("lea", "Rio Claro", &rows(|rows| rows[1].4 = 106));
    night.says("lea", "yes");
    assert_eq!((night.line(2).listed, night.line(2).extra, night.line(2).packed), (156, 0, 156));
    has(&night.says("ana", "how's 8.1"), &["104 of 106", "2 to find"]);
}

#[test]
fn fish_that_are_listed_no_more_are_first_those_to_find_then_the_short_then_extra() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 90 ok 4 dead 3 missing");
    let shorter = |fish| rows(move |rows| rows[1].4 = fish);
    let mut now = |fish| {
        night.list("lea", "Rio Claro", &shorter(fish));
        night.says("lea", "yes");
        let line = night.line(2);
        (line.listed - 50, line.packed - 50, line.doa, line.short, line.extra)
    };
    assert_eq!(now(97), (97, 90, 4, 3, 0), "three were to find");
    assert_eq!(now(95), (95, 90, 4, 1, 0), "two of the short were never listed");
    assert_eq!(now(92), (92, 90, 4, 0, 2), "94 were found");
    assert_eq!(now(94), (94, 90, 4, 0, 0));
}

#[test]
fn a_corrected_list_says_what_became_of_the_short_and_the_extra() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 90 ok 4 dead 6 missing");
    night.list("lea", "Rio Claro", &rows(|rows| rows[1].4 = 94));
    has(&night.says("lea", "yes"), &["box 8: balanced now, was 6 short"]);
    night.list("lea", "Rio Claro", &rows(|rows| rows[1].4 = 92));
    has(&night.says("lea", "yes"), &["box 8: 2 extra now, was balanced"]);
}

#[test]
fn an_opened_box_that_is_on_the_list_no_more_is_asked_about() {
    for (answer, listed, extra) in [("keep it", 150, 0), ("extra", 50, 100)] {
        let mut night = Night::with_a_list();
        night.says("ana", "8 96 ok 4 dead");
        let reply = night.list("lea", "Rio Claro", &rows(|rows| rows.retain(|row| row.0 != 8)));
        has(&reply, &["Box 8 is not on the new list, but it was opened: 100 fish found"]);
        assert!(!reply.contains("This changes"), "{reply}");
        has(&night.says("lea", answer), &["This changes the list of Rio Claro:", "box 8 gone"]);
        night.says("lea", "yes");
        let line = night.line(2);
        assert_eq!((line.listed, line.extra, line.doa, line.packed), (listed, extra, 4, 146), "{answer}");
    }
}

#[test]
fn a_lost_and_a_passed_on_box_follow_the_list_where_they_are() {
    let mut night = Night::with_a_list();
    night.says("lea", "box 8 lost");
    night.says("lea", "box 12 shipped to Reef & River");
    night.list("lea", "Rio Claro", &rows(|rows| (rows[1].4, rows[4].4) = (90, 35)));
    night.says("lea", "yes");
    assert_eq!((night.line(2).short, night.line(4).passed_on), (90, 35));
}

#[test]
fn a_list_with_another_invoice_replaces_the_one_here_where_a_lead_says_so() {
    let mut night = Night::with_a_list();
    let mut list = packing_list("Rio Claro", &rows(|rows| rows[1].4 = 90));
    list.invoice = Some("RC-2".into());
    let reply = sends(&mut night, "lea", list);
    has(&reply, &["Import it?"]);
    let reply = night.says("lea", "it replaces the list");
    has(&reply, &["This changes the list of Rio Claro:", "invoice RC-2", "box 8: 100 → 90 neon tetra"]);
    night.says("lea", "yes");
    assert_eq!(night.state.open_consignments().count(), 1);
    assert_eq!(night.state.consignments[&ConsignmentNo(1)].invoice.as_deref(), Some("RC-2"));
}

#[test]
fn a_correction_is_not_taken_back_under_a_later_count_of_its_box() {
    let mut night = Night::with_a_list();
    night.list("lea", "Rio Claro", &rows(|rows| rows[0].4 = 126));
    night.says("lea", "yes");
    night.says("ana", "7.1 42 ok");
    night.says("lea", "undo");
    assert!(matches!(night.refused(), Refusal::StandsInTheWay { .. }));
}

#[test]
fn a_list_without_numbers_that_has_the_same_boxes_is_taken_for_a_correction_first() {
    let mut night = Night::staffed();
    let plain = |by: u32| {
        let mut list = super::night::packing_list("Rio Claro", &rows(|rows| rows[1].4 += by));
        list.invoice = None;
        list
    };
    sends(&mut night, "lea", plain(0));
    night.says("lea", "yes");
    has(&sends(&mut night, "lea", plain(5)), &["This changes the list of Rio Claro:", "box 8: 100 → 105 neon tetra"]);
    night.says("lea", "another consignment");
    night.says("lea", "leave it");
    assert_eq!(night.books().listed, 340);
    sends(&mut night, "lea", plain(5));
    has(&night.says("lea", "yes"), &["Corrected Rio Claro"]);
    assert_eq!(night.books().listed, 345);
    let other = super::night::packing_list("Rio Claro", &[(31, None, Some(1), "guppy", 50)]);
    has(&sends(&mut night, "lea", other), &["Import it?"]);
}
