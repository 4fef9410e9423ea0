//! Undo, correction and edit.

use super::night::Night;
use crate::desk::Refusal;

fn has(reply: &str, parts: &[&str]) {
    for part in parts {
        assert!(reply.contains(part), "no \"{part}\" in: {reply}");
    }
}

/// (what was said before, what was said, its correction, the whole as it should have been said)
const CORRECTED: [(&[&str], &str, &str, &str); 7] = [
    (&[], "8 96 ok 4 dead", "sorry 5 not 4", "8 96 ok 5 dead"),
    (&["8 100 ok", "8 into A2"], "A2 4 dead", "sorry 5 not 4", "A2 5 dead"),
    (&["8 100 ok", "8 into A2"], "A2 ph 6.4", "i mean ph 6.8", "A2 ph 6.8"),
    (&["8 100 ok", "8 into A2"], "5 ml binder A2", "sorry 6 ml", "6 ml binder A2"),
    (&["8 100 ok"], "20 from box 8 into A2", "sorry 30 not 20", "30 from box 8 into A2"),
    (&["7.1 36 ok 4 dead"], "7.2 30 ok 6 weak 4 dead", "make that 5 weak", "7.2 30 ok 5 weak 4 dead"),
    (&["8 100 ok", "8 into A2", "12 30 ok", "12 into A2"], "A2 2 kuhli dead", "sorry 3 not 2", "A2 3 kuhli dead"),
];

#[test]
fn a_correction_gives_what_the_right_words_would_have_given_at_first() {
    for (before, said, correction, whole) in CORRECTED {
        let mut night = Night::with_a_list();
        for text in before {
            night.says("ana", text);
        }
        let mut right = night.clone();
        night.says("ana", said);
        let reply = night.says("ana", correction);
        assert!(night.last.refusals.is_empty() && !reply.is_empty(), "{said} / {correction}: {reply}");
        right.says("ana", whole);
        assert_eq!(night.fingerprint(), right.fingerprint(), "{said} / {correction}");
    }
}

#[test]
fn an_edit_gives_what_the_right_words_would_have_given_at_first() {
    for (before, said, _, whole) in CORRECTED {
        let mut night = Night::with_a_list();
        for text in before {
            night.says("ana", text);
        }
        let mut right = night.clone();
        night.says("ana", said);
        let key = night.key();
        night.pause(3);
        night.edits("ana", &key, whole);
        right.says("ana", whole);
        assert_eq!(night.fingerprint(), right.fingerprint(), "{said} → {whole}");
        let key = night.key();
        night.edits("ana", &key, "never mind");
        night.edits("ana", &key, whole);
    }
}

#[test]
fn an_edit_of_an_edit_and_of_a_correction_count_once() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 96 ok 4 dead");
    let first = night.key();
    night.edits("ana", &first, "8 95 ok 5 dead");
    night.edits("ana", &first, "8 94 ok 6 dead");
    assert_eq!(night.line(2).doa, 6);
    night.says("ana", "sorry 7 not 6");
    let fix = night.key();
    night.edits("ana", &fix, "sorry 8 not 6");
    assert_eq!(night.line(2).doa, 8);
    night.edits("ana", &first, "8 91 ok 9 dead");
    assert_eq!(night.line(2).doa, 9);
    night.says("ana", "8 into A2");
    night.says("ana", "A2 4 dead");
    let deaths = night.key();
    night.says("ana", "sorry 5 not 4");
    night.edits("ana", &deaths, "A2 5 dead");
    assert_eq!(night.line(2).daa, 5, "corrected twice over, counted once");
}

#[test]
fn an_edit_into_chatter_takes_the_report_back() {
    let mut night = Night::with_a_list();
    let before = night.fingerprint();
    night.says("ana", "8 96 ok 4 dead");
    let key = night.key();
    has(&night.edits("ana", &key, "long night"), &["taken back: box 8 96 sound, 4 dead"]);
    assert_eq!(night.fingerprint(), before);
}

#[test]
fn a_correction_that_is_refused_leaves_what_was_recorded() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 100 ok");
    night.says("ana", "20 from box 8 into A2");
    let before = night.fingerprint();
    let reply = night.says("ana", "sorry 300 not 20");
    has(&reply, &["300 asked, 100", "What was recorded before stands"]);
    assert_eq!(night.fingerprint(), before);
    assert!(night.last.cause.acts.is_empty());
}

#[test]
fn undo_names_what_stands_in_the_way() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 96 ok 4 dead");
    night.says("bo", "8 into A2");
    let reply = night.says("ana", "undo");
    has(&reply, &["bo said", "box 8 into A2", "builds on it"]);
    assert!(matches!(night.refused(), Refusal::StandsInTheWay { .. }));
    has(&night.says("bo", "undo"), &["taken back"]);
    has(&night.says("ana", "undo"), &["taken back: box 8 96 sound, 4 dead"]);
    night.says("ana", "undo");
    assert!(matches!(night.refused(), Refusal::NothingToUndo));
}

#[test]
fn an_answer_to_a_question_can_be_taken_back() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 104 ok");
    night.says("ana", "yes");
    assert_eq!(night.books().extra, 4);
    has(&night.says("ana", "undo"), &["taken back: the last answer"]);
    assert_eq!(night.books().extra, 0);
    has(&night.says("ana", "undo"), &["taken back: box 8 104 sound"]);
}

#[test]
fn an_import_can_be_taken_back_until_somebody_handles_a_box() {
    let mut night = Night::with_a_list();
    night.says("ana", "opening 8");
    night.says("lea", "undo");
    assert!(matches!(night.refused(), Refusal::StandsInTheWay { .. }));
    night.says("ana", "undo");
    has(&night.says("lea", "undo"), &["taken back: the import of Rio Claro"]);
    assert!(night.state.consignments.is_empty() && night.state.boxes.is_empty());
}

#[test]
fn looks_set_by_two_people_go_back_whoever_takes_back_first() {
    for order in [["ana", "bo"], ["bo", "ana"]] {
        let mut night = Night::with_a_list();
        night.says("lea", "8 100 ok");
        night.says("lea", "8 into A2");
        let before = night.fingerprint();
        night.says("ana", "A2 all good");
        night.pause(10);
        night.says("bo", "A2 eating");
        for person in order {
            has(&night.says(person, "undo"), &["taken back"]);
        }
        assert_eq!(night.fingerprint(), before, "{order:?}");
    }
}
