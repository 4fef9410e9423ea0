use super::lines;
use crate::say::standing::Contents;
use crate::say::through::*;

fn inside() -> Vec<(u32, Vec<Contents>)> {
    let fish = |species: &str, fish, bags| Contents { species: species.into(), fish, bags };
    vec![
        (12, vec![fish("kuhli loach", 30, Some(1))]),
        (9, vec![fish("yoyo loach", 40, Some(1)), fish("neon tetra 2 cm", 500, Some(2))]),
        (14, Vec::new()),
    ]
}

#[test]
fn boxes_go_straight_through_and_the_house_hears_what_is_left() {
    insta::assert_snapshot!(lines([
        boxes_to(&[12], "Reef & River"),
        boxes_to(&[12, 13, 14], "Reef & River"),
        sent_on(Some(1310), &[], 3),
        sent_on(Some(310), &[7], 0),
        sent_on(None, &[7, 8], 1),
        unlisted_sent_on("Reef & River"),
        none_to_pass(),
        whose(&["Rio Claro".into(), "Kali Besar".into()]),
    ]), @r"
    box 12 straight through to Reef & River, unopened
    boxes 12, 13 and 14 straight through to Reef & River, unopened
    1,310 fish as listed, 3 boxes to go
    310 fish as listed, box 7 was opened and stays, no box to go
    list to come, the buyer is told then, boxes 7 and 8 were opened and stay, 1 box to go
    passed on unopened to Reef & River, list to come, the buyer is told then
    No unopened box is left to pass on. Nothing recorded.
    All unopened boxes of which: Rio Claro or Kali Besar?
    ");
}

#[test]
fn a_buyer_hears_what_is_in_its_unopened_boxes() {
    let caution = ["lionfish: venomous spines.".to_owned()];
    insta::assert_snapshot!(lines([
        on_the_way(&inside(), &caution),
        list_came(&inside()[..1], &[]),
        list_corrected(&inside()[1..2], &[]),
        on_the_way(&inside()[2..], &[]),
        not_on_the_way(&[12]),
        not_on_the_way(&[12, 9]),
        list_taken_back(&[12]),
    ]), @r"
    On the way to you unopened, as listed:
    box 12: 30 kuhli loach in 1 bag
    box 9: 40 yoyo loach in 1 bag, 500 neon tetra 2 cm in 2 bags
    box 14: the list is not here yet, you will be told
    lionfish: venomous spines.
    Photograph each box before you open it.
    The list of your unopened boxes has come:
    box 12: 30 kuhli loach in 1 bag
    Correction by the packer's list of your unopened boxes:
    box 9: 40 yoyo loach in 1 bag, 500 neon tetra 2 cm in 2 bags
    On the way to you unopened:
    box 14: the list is not here yet, you will be told
    Photograph each box before you open it.
    Correction: box 12 is not on the way to you yet.
    Correction: boxes 12 and 9 are not on the way to you yet.
    Correction: what you were told is in box 12 no longer stands. You will hear when the list comes again.
    ");
}
