use proptest::prelude::*;

use super::{fault, lines};
use crate::journal::Tally;
use crate::message::Place;
use crate::say::answer::*;

fn due_line(place: &str, fish: &str, overdue: Option<i64>) -> DueLine {
    DueLine { place: place.into(), fish: fish.into(), at: "02:10".into(), overdue }
}

fn night() -> Tally {
    Tally { listed: 2114, packed: 200, in_trays: 80, held: 1800, doa: 30, short: 4, ..Tally::default() }
}

#[test]
fn what_is_due_is_said_with_its_fish_and_how_late_it_is() {
    insta::assert_snapshot!(lines([
        due(&[]),
        due(&[due_line("A12", "36 clown loach", Some(75)), due_line("tray 3", "", None)]),
    ]), @r"
    No look is due.
    02:10 A12 (36 clown loach), 1 h 15 min overdue
    02:10 tray 3
    ");
}

#[test]
fn looks_due_together_stand_in_one_line_and_the_tenth_line_counts_the_rest() {
    let at = |place: &str, at: &str| DueLine { at: at.into(), ..due_line(place, "36 clown loach", None) };
    let rack: Vec<DueLine> = ["A1", "A10", "A2", "A3", "A4", "A5", "A6", "tray 3"].map(|it| at(it, "03:00")).into();
    insta::assert_snapshot!(due(&rack), @"03:00 A1–A6, A10 and tray 3");
    let many: Vec<DueLine> = (10..34).map(|minute| at(&format!("B{minute}"), &format!("03:{minute}"))).collect();
    insta::assert_snapshot!(due(&many), @r"
    03:10 B10 (36 clown loach)
    03:11 B11 (36 clown loach)
    03:12 B12 (36 clown loach)
    03:13 B13 (36 clown loach)
    03:14 B14 (36 clown loach)
    03:15 B15 (36 clown loach)
    03:16 B16 (36 clown loach)
    03:17 B17 (36 clown loach)
    03:18 B18 (36 clown loach)
    and 15 more looks, the last at 03:33
    ");
    let late: Vec<DueLine> = (10..34).map(|minute| due_line(&format!("B{minute}"), "", Some(100 - minute))).collect();
    assert!(due(&late).ends_with("and 15 more looks, 15 of them overdue, the last at 02:10"), "{}", due(&late));
    assert_eq!(due(&many[..10]).lines().count(), 10);
    assert_eq!(due(&many).lines().count(), 10);
}

#[test]
fn the_board_has_a_line_for_each_consignment_and_the_next_look() {
    let line = |done, boxes, late, tally| {
        let supplier = "Rio Claro".into();
        BoardLine { supplier, done, boxes, late, unlisted: false, tally, uncounted: 0 }
    };
    let no_list = BoardLine {
        unlisted: true,
        supplier: "no list yet".into(),
        ..line(2, 4, 0, Tally { listed: 0, extra: 100, passed_on: 30, ..night() })
    };
    let by_the_list = BoardLine { uncounted: 1_200, ..line(2, 31, 1, night()) };
    let sold = Tally { held: 0, cleared: 20, reserved: 12, shipped: 4, ..night() };
    let all = Tally { doa: 1, daa: 2, short: 3, wrong: 4, culled: 5, unaccounted: 6, extra: 7, ..Tally::default() };
    insta::assert_snapshot!(lines([
        board(&[], &[]),
        board(&[line(2, 31, 1, night())], &[due_line("A12", "", None)]),
        board(&[by_the_list], &[]),
        board(&[no_list], &[]),
        board(&[line(0, 1, 0, Tally::default()), line(1, 1, 0, sold)], &[]),
        board(&[line(1, 2, 0, all)], &[]),
        board(&[], &[due_line("A12", "", None)]),
    ]), @r"
    Nothing is open. Send a packing list to begin.
    Rio Claro: 2 of 31 boxes done, 1 late; 2,114 fish listed, 2,080 counted alive, 1,880 placed; 30 DOA, 4 short
    Next look: A12 at 02:10
    Rio Claro: 2 of 31 boxes done, 1 late; 2,114 fish listed, 880 counted alive, 1,200 not counted yet, 1,880 placed; 30 DOA, 4 short
    no list yet: 2 of 4 boxes done; list to come, 2,080 counted alive, 1,880 placed; 30 DOA, 4 short; 30 passed on unopened
    Rio Claro: 0 of 1 box done; 0 fish listed, 0 counted alive, 0 placed
    Rio Claro: 1 of 1 box done; 2,114 fish listed, 312 counted alive, 116 placed; 30 DOA, 4 short; 20 cleared, 12 reserved, 4 shipped
    Rio Claro: 1 of 2 boxes done; 0 fish listed, 0 counted alive, 0 placed; 1 DOA, 2 DAA, 3 short, 4 wrong, 5 culled, 6 unaccounted, 7 extra
    Next look: A12 at 02:10
    ");
    assert_eq!(losses(&Tally::default()), None);
}

#[test]
fn deaths_are_said_apart_on_arrival_and_after() {
    let tally = Tally { listed: 40, doa: 4, daa: 1, ..Tally::default() };
    insta::assert_snapshot!(lines([deaths(&[]), deaths(&[("Rio Claro".into(), tally)])]), @r"
    No consignment with such fish in the books.
    Rio Claro: 4 DOA, 1 DAA of 40 fish listed
    ");
}

#[test]
fn the_opening_order_says_why() {
    let line = |name: &str, why: Vec<String>| OrderLine { name: name.into(), fish: "40 clown loach".into(), why };
    insta::assert_snapshot!(lines([
        order(&[], ""),
        order(&[line("7", vec!["delicate fish".into(), "30 h in the bag".into()]), line("8", Vec::new())], "Assumed, so the bands are wide: litres."),
    ]), @r"
    No box is waiting.
    Open next:
    box 7 (40 clown loach): delicate fish, 30 h in the bag
    box 8 (40 clown loach)
    Assumed, so the bands are wide: litres.
    ");
}

#[test]
fn a_place_nobody_spoke_of_is_said_to_be_unknown() {
    let at = Place::Tank { tank: "A12".into() };
    insta::assert_snapshot!(lines([
        place_stands(&at, &[]),
        place_stands(&at, &["A12 holds 36 clown loach".into(), "strong".into()]),
    ]), @r"
    Nothing is known of A12 yet.
    A12 holds 36 clown loach
    strong
    ");
}

#[test]
fn a_claim_names_only_what_was_counted() {
    let line = |fish, presumed, until: Option<&str>| ClaimLine {
        supplier: "Rio Claro".into(),
        fish,
        presumed,
        until: until.map(str::to_owned),
    };
    let loach = |doa, short, wrong| ("clown loach".to_owned(), doa, short, wrong);
    insta::assert_snapshot!(lines([
        claims(&[]),
        claims(&[line(vec![loach(4, 0, 0)], 0, None), line(vec![loach(1, 2, 3), loach(0, 2, 0)], 12, Some("Wed 06:10"))]),
        claims(&[line(vec![loach(0, 0, 0)], 1, None)]),
    ]), @r"
    Nothing to claim so far.
    Rio Claro: clown loach 4 DOA.
    Rio Claro: clown loach 1 DOA, 2 short, 3 wrong; clown loach 2 short. File by Wed 06:10 (the site's setting: check the supplier's terms). 12 fish not counted yet, not in it.
    Rio Claro: nothing counted to claim. 1 fish not counted yet, not in it.
    ");
}

#[test]
fn reservations_and_stock_are_said_by_kind() {
    insta::assert_snapshot!(lines([
        reservations(&[]),
        reservations(&[("Reef & River".into(), 12, "clown loach".into(), 43)]),
        stock(&[]),
        stock(&[("clown loach".into(), 36, 24), ("neon tetra".into(), 1, 0)]),
    ]), @r"
    Nothing is reserved.
    Reef & River: 12 clown loach, lot 43
    None in the house by the books.
    clown loach: 36 living, 24 free for sale
    neon tetra: 1 living, 0 free for sale
    ");
}

#[test]
fn help_is_by_job() {
    insta::assert_snapshot!(lines([help()]), @r"
    Open: boxes in the door · which box next · opening 7 · 7 done · box 12 late
    No list yet: consignment from NAME, 12 boxes · 7.1 38 clown loach alive 2 dead · box 7 no list
    Count: 7.2 36 ok 4 dead · 2 more dead 7.2 · 2.1 not clowns, yoyos, 38
    Water: 7.2 temp 24 ph 6.4 ammonia 3 · tray 3 wc 30% · 5 ml binder tray 3
    Move: plan for 7.2 · 7.2 into tray 3 · 36 from tray 3 to A12
    Look: A12 all good, eating · A12 2 dead · look at A12 again in 2h · later · what's due?
    Clear: hold A12 48h · clear A12 · clear 30 from A12
    Sell: 12 clown loach for Reef & River · A12 12 shipped to Reef & River · 12 13 straight through to Reef
    Put right: sorry 5 not 4 · undo
    Ask: board · how's A12 · how many dead so far · who has reserved what
    Set up: tanks A1-A24 200 L · enrol ana as crew · buyer NAME · enrol rita for NAME · price lot 43 2.50 EUR
    A packing list comes as a file, a photo with its place as the caption.
    ");
}

proptest! {
    #[test]
    fn no_claim_or_board_is_faulty(
        counts in proptest::collection::vec((0u32..3, 0u32..3, 0u32..3), 0..4),
        presumed in 0u32..3,
        dated in any::<bool>(),
        boxes in 0usize..3,
        late in 0usize..2,
    ) {
        let fish = counts.iter().map(|(doa, short, wrong)| ("neon tetra".to_owned(), *doa, *short, *wrong)).collect();
        let until = dated.then(|| "06:10".to_owned());
        let said = claims(&[ClaimLine { supplier: "Rio Claro".into(), fish, presumed, until }]);
        prop_assert_eq!(fault(&said), None, "{:?}", said);
        let tally = Tally { listed: 40, doa: presumed, cleared: presumed, ..Tally::default() };
        let said = board(&[BoardLine { supplier: "Rio Claro".into(), done: 0, boxes, late, unlisted: false, tally, uncounted: presumed }], &[]);
        prop_assert_eq!(fault(&said), None, "{:?}", said);
    }
}
