//! Bags of one line that were packed unevenly.

use super::night::{Night, Row};

fn has(reply: &str, parts: &[&str]) {
    for part in parts {
        assert!(reply.contains(part), "no \"{part}\" in: {reply}");
    }
}

#[test]
fn a_bag_with_more_than_its_share_is_recorded_and_its_sisters_have_fewer() {
    let mut night = Night::with_a_list();
    has(&night.says("ana", "7.1 44 ok"), &["44 of 44, balanced, 4 over its share, the other bags have fewer"]);
    assert!(night.state.questions.is_empty());
    has(&night.says("ana", "7.2 36 ok 2 dead"), &["38 of 38, balanced, 2 DOA"]);
    has(&night.says("ana", "7.3 38 ok"), &["38 of 38, balanced"]);
    let line = night.line(1);
    assert_eq!((line.packed, line.doa, line.extra, line.short), (118, 2, 0, 0));
}

#[test]
fn fish_to_find_in_one_bag_are_found_in_the_last_one() {
    let mut night = Night::with_a_list();
    has(&night.says("ana", "7.1 36 ok"), &["36 of 40, 4 to find"]);
    has(&night.says("ana", "7.2 40 ok"), &["40 of 40, balanced"]);
    has(&night.says("ana", "7.3 44 ok"), &["44 of 44, balanced"]);
    has(&night.says("ana", "how's 7.1"), &["36 of 36, balanced"]);
    has(&night.says("ana", "7 done"), &["0 DOA of 120 fish"]);
}

#[test]
fn extra_is_asked_only_for_what_the_line_cannot_hold() {
    let mut night = Night::with_a_list();
    night.says("ana", "7.1 40 ok");
    night.says("ana", "7.2 40 ok");
    has(&night.says("ana", "7.3 43 ok"), &["7.3: 43 seen, 40 on the list. 3 extra?"]);
    night.says("ana", "yes");
    assert_eq!((night.line(1).extra, night.line(1).packed), (3, 123));
    let mut night = Night::with_a_list();
    night.says("ana", "7.1 39 ok");
    night.says("ana", "7.2 40 ok");
    has(&night.says("ana", "7.3 43 ok"), &["43 seen, 41 on the list. 2 extra?"]);
}

#[test]
fn dead_fish_beyond_the_share_are_dead_on_arrival_all_the_same() {
    let mut night = Night::with_a_list();
    has(&night.says("ana", "7.1 30 ok 14 dead"), &["44 of 44, balanced, 14 DOA"]);
    assert_eq!((night.line(1).doa, night.line(1).packed), (14, 106));
}

#[test]
fn a_second_count_that_finds_fewer_gives_the_others_their_share_back() {
    let mut night = Night::with_a_list();
    night.says("ana", "7.1 44 ok");
    has(&night.says("ana", "7.1 40 ok"), &["40 of 40, balanced"]);
    has(&night.says("ana", "7.2 40 ok"), &["40 of 40, balanced"]);
    has(&night.says("ana", "7.3 40 ok"), &["40 of 40, balanced"]);
    assert_eq!((night.line(1).packed, night.line(1).extra), (120, 0));
}

#[test]
fn an_uneven_count_can_be_taken_back_and_corrected_after_another_bag_was_counted() {
    let mut night = Night::with_a_list();
    let before = night.fingerprint();
    night.says("ana", "7.1 44 ok");
    night.says("bo", "7.2 38 ok");
    has(&night.says("ana", "sorry 42 not 44"), &["7.1 42 sound"]);
    night.says("ana", "undo");
    night.says("bo", "undo");
    assert_eq!(night.fingerprint(), before);
}

#[test]
fn bags_that_the_list_numbers_even_out_too_but_never_across_fish_or_boxes() {
    const ROWS: [Row; 4] = [
        (41, Some(1), None, "cherry barb", 60),
        (41, Some(2), None, "cherry barb", 60),
        (41, Some(3), None, "guppy", 20),
        (42, Some(1), None, "cherry barb", 60),
    ];
    let mut night = Night::with_a_list();
    night.imports("Kali Besar", &ROWS);
    has(&night.says("ana", "41.1 63 ok"), &["63 of 63, balanced"]);
    has(&night.says("ana", "41.2 57 ok"), &["57 of 57, balanced"]);
    has(&night.says("ana", "41.3 22 ok"), &["2 extra?"]);
    has(&night.says("ana", "42.1 62 ok"), &["2 extra?"]);
}
