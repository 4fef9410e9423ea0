use super::lines;
use crate::say::look::*;

#[test]
fn a_look_is_asked_for_with_its_fish_and_who_wanted_it() {
    insta::assert_snapshot!(lines([
        due("A12", &fish(&[("clown loach".into(), 36), ("neon tetra".into(), 1)]), None, None),
        due("A12", &fish(&[]), Some("ana"), None),
        due("tray 3", "36 clown loach", Some("ana"), Some(75)),
    ]), @r"
    Look at A12 (36 clown loach, 1 neon tetra). How are they?
    Look at A12, as ana asked. How are they?
    Look at tray 3 (36 clown loach), as ana asked. How are they? I am 1 h 15 min late in asking.
    ");
}

#[test]
fn a_missed_look_is_asked_for_again_and_then_wakes_the_lead() {
    insta::assert_snapshot!(lines([
        missed("A12", "36 clown loach", "02:10", false),
        missed("tray 3 and A4", "", "02:10", true),
        wake("A12", "36 clown loach", "02:10"),
        wake("tray 3", "", "02:10"),
        told_awake("tray 3", "36 clown loach", "02:10"),
    ]), @r#"
    A12 (36 clown loach) was due at 02:10. Has anybody looked? "later" puts it off.
    Tray 3 and A4 were due at 02:10. Has anybody looked? "later" puts it off.
    Sorry to wake you: nobody has looked at A12 (36 clown loach), due since 02:10.
    Sorry to wake you: nobody has looked at tray 3, due since 02:10.
    Nobody has looked at tray 3 (36 clown loach), due since 02:10. You are up, so I wake nobody.
    "#);
}
