use super::lines;
use crate::consignment::{BoxKey, ConsignmentNo, Pack};
use crate::message::Place;
use crate::say::place::*;

#[test]
fn a_place_is_named_as_a_person_writes_it() {
    let places = [
        Place::Bag { number: 7, bag: 2 },
        Place::Box { number: 7 },
        Place::Tray { tray: "3".into() },
        Place::Tank { tank: "A12".into() },
        Place::Tank { tank: "12".into() },
        Place::Lot { lot: 43 },
    ];
    insta::assert_snapshot!(lines(places.iter().map(name)), @r"
    7.2
    box 7
    tray 3
    A12
    tank 12
    lot 43
    ");
    insta::assert_snapshot!(lines(places.iter().map(|place| leading(&name(place)))), @r"
    7.2
    Box 7
    Tray 3
    A12
    Tank 12
    Lot 43
    ");
    assert_eq!(leading("q1"), "q1");
}

#[test]
fn a_pack_is_named_with_its_fish_where_they_must_be_told_apart() {
    let of = BoxKey { consignment: ConsignmentNo(1), number: 7 };
    insta::assert_snapshot!(lines([
        pack(Pack { of, bag: Some(2) }, None),
        pack(Pack { of, bag: None }, None),
        pack(Pack { of, bag: Some(2) }, Some("clown loach")),
    ]), @r"
    7.2
    box 7
    7.2 clown loach
    ");
}

#[test]
fn names_that_follow_each_other_are_said_as_one() {
    let said = |names: &str| ranged(&names.split(' ').map(|name| name.replace('_', " ")).collect::<Vec<_>>());
    insta::assert_snapshot!(lines([
        said("A1"),
        said("A2 A1"),
        said("A1 A10 A2 A3 B4"),
        said("A8 A9 A10 A11"),
        said("tray_1 tray_2 tray_3 A7"),
        said("A01 A02 A03 7.1 7.2 7.3"),
    ]), @r"
    A1
    A1 and A2
    A1–A3, A10 and B4
    A8–A11
    A7 and tray 1–3
    7.1, 7.2, 7.3 and A01–A03
    ");
}
