use proptest::prelude::*;
use rust_decimal::Decimal;

use super::{fault, lines};
use crate::consignment::{Census, Standing};
use crate::message::{Place, VesselKind, Water};
use crate::people::Role;
use crate::quantity::{Finite, Measure};
use crate::say::standing::*;
use crate::settings::AmmoniaBasis;
use crate::stock::Held;
use crate::watch::Condition;

fn a12() -> Place {
    Place::Tank { tank: "A12".into() }
}

fn contents(fish: u32, bags: Option<u32>) -> Contents {
    Contents { species: "clown loach".into(), fish, bags }
}

#[test]
fn an_opened_box_says_what_the_list_says() {
    insta::assert_snapshot!(lines([
        opened(&[contents(40, None)]),
        opened(&[contents(1, Some(1)), contents(120, Some(3))]),
        opened_bag(&[contents(40, None)], Some(2)),
        opened_bag(&[contents(40, None)], None),
        opened_bag(&[], Some(2)),
        pen("7.2"),
    ]), @r"
    list says 40 clown loach
    list says 1 clown loach in 1 bag, 120 clown loach in 3 bags
    list says 40 clown loach, pen the number on it
    list says 40 clown loach
    pen the number on it
    pen 7.2 on it
    ");
    assert_eq!(opened(&[]), "");
    assert_eq!(opened_bag(&[], None), "");
}

fn census_line(census: Census) -> CensusLine {
    CensusLine { species: None, census, left: Held::default(), pen: None, other: Vec::new() }
}

#[test]
fn a_census_says_whether_it_balances_and_what_is_to_find() {
    let of_40 = Census { expected: 40, ..Census::default() };
    let said = [
        census_line(Census { alive: Some(40), ..of_40 }),
        census_line(Census { sound: Some(30), weak: Some(6), dead: 4, ..of_40 }),
        census_line(Census { alive: Some(36), dead: 3, ..of_40 }),
        census_line(Census { dead: 4, ..of_40 }),
        census_line(Census { dead: 40, ..of_40 }),
        census_line(of_40),
        census_line(Census { dead: 4, weak: Some(6), missing: 2, culled: 1, ..of_40 }),
        census_line(Census { weak: Some(6), ..of_40 }),
        census_line(Census { alive: Some(44), ..of_40 }),
        census_line(Census { alive: Some(44), extra: 4, ..of_40 }),
        census_line(Census { expected: 44, alive: Some(44), uneven: 4, ..of_40 }),
        census_line(Census { alive: Some(38), missing: 2, ..of_40 }),
        census_line(Census { alive: Some(35), culled: 5, ..of_40 }),
        CensusLine {
            species: Some("clown loach".into()),
            pen: Some("7.2".into()),
            other: vec![("yoyo loach".into(), 38)],
            ..census_line(Census { wrong: 38, ..of_40 })
        },
        census_line(Census { expected: 1, alive: Some(1), ..Census::default() }),
    ];
    insta::assert_snapshot!(lines(said.iter().map(census)), @r"
    40 of 40, balanced
    40 of 40, balanced, 4 DOA
    39 of 40, 1 to find, 3 DOA
    4 dead of 40, the rest not counted
    40 of 40, balanced, 40 DOA
    none found dead of 40, the rest not counted
    4 dead, 6 weak, 1 culled, 2 short of 40, the rest not counted
    6 weak of 40, the rest not counted
    44 seen of 40
    44 of 44, balanced, 4 extra
    44 of 44, balanced, 4 over its share, the other bags have fewer
    40 of 40, balanced, 2 short
    40 of 40, balanced, 5 culled
    clown loach, 38 of 40, 2 to find, 38 wrong fish, 38 yoyo loach booked instead, pen 7.2 on it
    1 of 1, balanced
    ");
}

#[test]
fn a_finished_box_says_how_the_night_stands() {
    let done = |minutes, short, boxes_to_go| BoxDone {
        name: "7".into(),
        minutes,
        listed: 40,
        died: 4,
        short,
        left: 0,
        living: 1210,
        night_listed: 2114,
        boxes_to_go,
    };
    insta::assert_snapshot!(lines([
        box_done(&done(Some(14), 0, 12)),
        box_done(&done(None, 2, 1)),
        box_done(&done(Some(125), 0, 0)),
        box_done(&BoxDone { left: 31, ..done(None, 2, 12) }),
    ]), @r"
    box 7 done in 14 min: 4 DOA of 40 fish. So far 1,210 counted alive of 2,114 listed, 12 boxes to go
    box 7 done: 4 DOA of 40 fish, 2 short. So far 1,210 counted alive of 2,114 listed, 1 box to go
    box 7 done in 2 h 05 min: 4 DOA of 40 fish. So far 1,210 counted alive of 2,114 listed, last box done
    box 7 done: 4 DOA of 40 fish, 2 short, 31 alive still in it. So far 1,210 counted alive of 2,114 listed, 12 boxes to go
    ");
}

fn loach(living: u32) -> GroupLine {
    GroupLine { species: "clown loach".into(), living, presumed: 0, cleared: 0, reserved: 0, daa: 0, lot: None }
}

#[test]
fn a_tank_says_what_it_holds() {
    let full = GroupLine { presumed: 6, cleared: 12, reserved: 8, daa: 2, lot: Some(43), ..loach(36) };
    insta::assert_snapshot!(lines([
        vessel(&a12(), &[]),
        vessel(&a12(), &[loach(36)]),
        vessel(&a12(), &[full, loach(1)]),
        vessel(&a12(), &[GroupLine { daa: 36, lot: Some(43), ..loach(0) }]),
        no_fish_booked(&a12()),
        old_stock(43),
        not_recorded_count_again(&a12()),
        added(&a12()),
        not_again(),
        nothing_taken_back(),
        undone_of("ana", "A12 2 dead"),
        undone_of("ana", ""),
    ]), @r"
    A12 is empty
    A12 holds 36 clown loach
    A12 holds 36 clown loach (lot 43, 6 not counted, 12 cleared, 8 reserved, 2 DAA), 1 clown loach
    A12 holds no living clown loach (lot 43, 36 DAA)
    kept in the log: the books have no fish in A12
    booked as old stock, lot 43, never claimed
    Nothing recorded of A12. Count again and tell me.
    A12 added
    Then it stays as it was, reserved once.
    Nothing taken back.
    taken back for ana: A12 2 dead
    taken back for ana
    ");
}

#[test]
fn a_move_says_how_the_box_and_the_tank_stand() {
    let moved_line = |presumed, placed: Option<&str>, there: Option<&str>, stopped| MovedLine {
        moved: 36,
        presumed,
        placed: placed.map(str::to_owned),
        there: there.map(str::to_owned),
        stopped,
    };
    let placed_line = |doa, short, wrong, culled, left| PlacedLine {
        name: "7".into(),
        placed: 36,
        of: 40,
        doa,
        short,
        wrong,
        culled,
        left,
    };
    insta::assert_snapshot!(lines([
        moved(&moved_line(0, Some("box 7: 36 of 40 placed, 4 DOA, balanced"), None, 0)),
        moved(&moved_line(36, None, Some("A12 holds 36 clown loach"), 12)),
        moved(&moved_line(6, None, None, 0)),
        placed(&placed_line(4, 0, 0, 0, 0)),
        placed(&placed_line(1, 1, 1, 1, 0)),
        placed(&placed_line(0, 0, 0, 0, 4)),
    ]), @r"
    box 7: 36 of 40 placed, 4 DOA, balanced
    not counted yet; 12 cleared there are on hold again; A12 holds 36 clown loach
    6 of them not counted yet
    box 7: 36 of 40 placed, 4 DOA, balanced
    box 7: 36 of 40 placed, 1 DOA, 1 short, 1 wrong, 1 culled, balanced
    box 7: 36 of 40 placed, 4 still in the box
    ");
}

#[test]
fn holding_and_clearing_say_until_when_and_on_what_ground() {
    let line = |met, words: &str| ConditionLine { met, words: words.into() };
    insta::assert_snapshot!(lines([
        held("A12 holds 36 clown loach", None, 0),
        held("A12 holds 36 clown loach", Some("Wed 22:10"), 12),
        cleared(&[line(true, "rested 51 h of 48 h"), line(true, "36 fish counted")], false),
        cleared(&[line(false, "not seen feeding yet"), line(true, "36 fish counted")], true),
        cleared(&[], false),
    ]), @r"
    A12 holds 36 clown loach, on hold until a lead clears them
    A12 holds 36 clown loach, on hold until Wed 22:10, 12 no longer for sale
    cleared for sale (rested 51 h of 48 h; 36 fish counted)
    cleared for sale past the policy, your reason is kept (not met: not seen feeding yet; 36 fish counted)
    cleared for sale
    ");
}

#[test]
fn sales_say_what_is_left() {
    insta::assert_snapshot!(lines([
        reserved("clown loach", 24),
        reserved("clown loach", 0),
        shipped(12, "Reef & River", "A12 holds 24 clown loach"),
        passed_on(40, "Reef & River", 12),
        passed_on(40, "Reef & River", 1),
        passed_on(40, "Reef & River", 0),
        priced(43, "clown loach", Decimal::new(250, 2), "EUR"),
    ]), @r"
    24 clown loach still free
    no clown loach left free
    12 fish gone to Reef & River; A12 holds 24 clown loach
    passed on unopened to Reef & River, 40 fish as listed, 12 boxes to go
    passed on unopened to Reef & River, 40 fish as listed, 1 box to go
    passed on unopened to Reef & River, 40 fish as listed, no box to go
    lot 43 clown loach 2.50 EUR each
    ");
}

fn ammonia() -> Water {
    Water {
        at: a12(),
        values: [(Measure::TanMgL, Finite::new(3.0).unwrap())].into(),
        over: Default::default(),
        fix: false,
    }
}

#[test]
fn an_ammonia_reading_names_its_basis() {
    insta::assert_snapshot!(lines([
        water(&ammonia(), Some(AmmoniaBasis::Nitrogen), true),
        water(&ammonia(), Some(AmmoniaBasis::Ammonia), true),
        water(&ammonia(), None, true),
        water(&ammonia(), None, false),
    ]), @r"
    ammonia as N
    ammonia as NH3
    ammonia taken as N. Does your kit say N or NH3? Set kit.ammonia
    ammonia taken as N
    ");
    assert_eq!(water(&Water { values: Default::default(), ..ammonia() }, None, true), "");
}

#[test]
fn arrivals_and_boxes_say_how_many_are_to_go() {
    let passed = Standing::PassedOn("Reef & River".into());
    insta::assert_snapshot!(lines([
        no_list_yet(),
        arrived("Rio Claro", Some(30), 31),
        arrived("Rio Claro", None, 1),
        arrived("Rio Claro", None, 0),
        box_standing("12", &Standing::Expected),
        box_standing("12", &Standing::Late),
        box_standing("12", &Standing::Lost),
        box_standing("12", &passed),
        box_standing_fish(&Standing::Expected, 40, 12),
        box_standing_fish(&Standing::Late, 40, 1),
        box_standing_fish(&Standing::Lost, 40, 0),
        box_standing_fish(&passed, 1, 12),
        pinned("12"),
    ]), @r"
    kept; no packing list of it here yet
    Rio Claro, 31 boxes to go, 30 h in the bag
    Rio Claro, 1 box to go
    Rio Claro, no box to go
    box 12 is here
    box 12 is late
    box 12 is lost
    box 12 passed on to Reef & River
    40 fish expected in it, 12 boxes to go
    40 fish late, not short unless a lead says lost, 1 box to go
    40 fish short, no box to go
    1 fish, 12 boxes to go
    box 12 is first
    ");
}

#[test]
fn the_house_says_what_it_knows_now() {
    insta::assert_snapshot!(lines([
        declared(1, VesselKind::Tank, 1),
        declared(24, VesselKind::Tank, 24),
        declared(1, VesselKind::Tray, 6),
        declared(1, VesselKind::Tub, 1),
        declared(2, VesselKind::Tub, 2),
        declared(1, VesselKind::Sump, 1),
        declared(2, VesselKind::Sump, 2),
        declared(1, VesselKind::Tap, 1),
        declared(2, VesselKind::Tap, 2),
        buyer_known("Reef & River"),
        enrolled("rita", Role::Buyer, Some("Reef & River")),
        enrolled("ana", Role::Crew, None),
        enrolled("dee", Role::Lead, None),
        removed("ana"),
    ]), @r"
    1 tank here
    24 tanks here
    6 trays here now
    1 tub here
    2 tubs here
    1 sump here
    2 sumps here
    1 tap here
    2 taps here
    buyer Reef & River is known. Enrol its person: enrol NAME for Reef & River
    rita buys for Reef & River
    ana is enrolled as crew
    dee is enrolled as lead
    ana is no longer enrolled
    ");
}

#[test]
fn an_answer_says_what_was_booked_and_what_was_not() {
    insta::assert_snapshot!(lines([
        undone("7.2 4 dead"),
        undone(""),
        settled(),
        extra_booked("7.2", 4),
        count_again("7.2"),
        short_booked("7", 2),
        as_listed("7", 40),
        still_open("7"),
        nothing_recorded(),
        undetermined("tray 3 2 dead"),
        books_stand("A12 holds 36 clown loach"),
        stock_take_booked(6, false),
        stock_take_booked(4, true),
    ]), @r"
    taken back: 7.2 4 dead
    taken back
    That question is settled already.
    7.2 4 extra
    Then count 7.2 again and tell me; the first count stands until you do.
    box 7 2 short
    box 7 40 alive, as listed
    Box 7 stays open.
    Nothing recorded.
    tray 3 2 dead, not known of which fish, in no claim
    The books stand: A12 holds 36 clown loach.
    6 booked as unaccounted
    4 extra booked
    ");
}

#[test]
fn looks_say_when_the_next_one_is() {
    let all = [Condition::Strong, Condition::Fair, Condition::Weak, Condition::VeryWeak];
    insta::assert_snapshot!(lines([
        next_look("04:10", None),
        next_look("04:10", Some(14)),
        will_remind("04:10", None),
        will_remind("04:10", Some(14)),
        read_at("01:10", "7.2 pH 6.4"),
    ]), @r"
    next look 04:10
    14 min late, next look 04:10
    I'll ask at 04:10
    14 min late, I'll ask at 04:10
    01:10 7.2 pH 6.4
    ");
    insta::assert_snapshot!(lines(all.map(|it| condition_word(it).to_owned())), @r"
    strong
    fair
    weak
    very weak
    ");
}

#[test]
fn a_photo_is_kept_under_its_place() {
    insta::assert_snapshot!(lines([photo("2026/a12.jpg"), photo_kept(Some(&a12())), photo_kept(None)]), @r"
    photo 2026/a12.jpg
    photo of A12 kept
    photo kept, no place named
    ");
}

proptest! {
    #[test]
    fn no_standing_clause_is_faulty(
        (expected, alive, dead, missing, extra, wrong) in (0u32..4, 0u32..4, 0u32..4, 0u32..3, 0u32..3, 0u32..3),
        (counted, named) in any::<(bool, bool)>(),
        to_go in 0usize..3,
    ) {
        let census_said = Census {
            expected,
            alive: counted.then_some(alive),
            dead, missing, extra, wrong,
            ..Census::default()
        };
        let line = CensusLine { species: named.then(|| "neon tetra".to_owned()), ..census_line(census_said) };
        let group = GroupLine { presumed: dead, cleared: missing, reserved: extra, daa: wrong, ..loach(alive) };
        let all = [
            census(&line),
            vessel(&a12(), &[group]),
            passed_on(expected, "Reef & River", to_go),
            box_standing_fish(&Standing::Late, expected, to_go),
            arrived("Rio Claro", counted.then_some(30), to_go),
        ];
        for said in all {
            prop_assert_eq!(fault(&said), None, "{:?}", said);
            prop_assert!(!said.contains(" 1 boxes"), "{}", said);
        }
    }
}
