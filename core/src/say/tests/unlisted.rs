use super::lines;
use crate::say::unlisted::*;

#[test]
fn a_box_without_a_list_is_taken_and_what_it_waits_for_is_said() {
    let suppliers = ["Rio Claro".to_owned(), "Kali Besar".to_owned()];
    insta::assert_snapshot!(lines([
        no_list_yet().to_owned(),
        opened(4, true),
        opened(4, false),
        found(None, 40, 2, true),
        found(Some("guppy"), 40, 0, true),
        found(None, 40, 0, false),
        unlisted_box(4, None, true),
        unlisted_box(4, Some("Rio Claro"), true),
        unlisted_box(4, Some("Rio Claro"), false),
        box_is_known(4, "Rio Claro"),
        whose_unlisted(4, &suppliers),
    ]), @r"
    no list yet
    no list yet: say the fish, like 4.1 38 neon tetra 2 dead
    on no list: say the fish, like 4.1 38 neon tetra 2 dead
    40 in all, 2 DOA, list to come
    40 guppy in all, list to come
    40 in all, not on the list, all extra
    box 4, no list yet: what is found in it waits for its list
    box 4 of Rio Claro, its list is to come
    box 4 of Rio Claro, on no list: what is found in it is extra
    box 4 is here already: Rio Claro
    Box 4 is on no open list. Whose is it: Rio Claro, Kali Besar, or is its list to come?
    ");
}

#[test]
fn a_finished_box_whose_list_is_to_come_says_how_the_night_stands() {
    let done =
        |boxes_to_go, left| BoxDone { name: "4".into(), minutes: Some(12), died: 2, left, living: 1204, boxes_to_go };
    insta::assert_snapshot!(lines([box_done(&done(0, 0)), box_done(&done(9, 38))]), @r"
    box 4 done in 12 min: 2 DOA. So far 1,204 counted alive, list to come
    box 4 done in 12 min: 2 DOA, 38 alive still in it. So far 1,204 counted alive, list to come, 9 boxes to go
    ");
}

#[test]
fn a_consignment_is_announced_before_its_list() {
    insta::assert_snapshot!(lines([
        are_they_of(&[7], "Rio Claro"),
        are_they_of(&[7, 8], "Rio Claro"),
        announced("Rio Claro", Some(12), &[]),
        announced("Rio Claro", None, &[7]),
        announced("Rio Claro", Some(1), &[7, 8, 9]),
        is_listed("Rio Claro", 4),
    ]), @r"
    Box 7 has no list yet. Is it of Rio Claro?
    Boxes 7 and 8 have no list yet. Are they of Rio Claro?
    consignment from Rio Claro, 12 boxes, its list is to come
    consignment from Rio Claro, its list is to come; box 7 is of it
    consignment from Rio Claro, 1 box, its list is to come; boxes 7, 8 and 9 are of it
    Rio Claro is here already with its list, 4 boxes. Nothing changed.
    ");
}

#[test]
fn what_is_doubtful_of_boxes_opened_before_their_list_is_asked() {
    let of = Some("Rio Claro");
    insta::assert_snapshot!(lines([
        whose_list("Kali", of),
        whose_list("Kali", None),
        their_boxes(&[7], Doubt::OtherFish, of),
        their_boxes(&[7, 8, 12], Doubt::OtherFish, None),
        their_boxes(&[7], Doubt::LeftUnopened, of),
        their_boxes(&[7, 8], Doubt::LeftUnopened, None),
        their_boxes(&[31], Doubt::NotOnList, of),
        their_boxes(&[31, 32], Doubt::NotOnList, of),
        which_listed(7, "yoyo loach", &["clown loach".into(), "neon tetra".into()]),
    ]), @r"
    This list is of Rio Claro. Is it the list of the consignment from Kali?
    This list names no supplier. Is it the list of the consignment from Kali?
    Box 7 was opened before a list came, and what was found in it is not what this list has there. Is it of Rio Claro?
    Boxes 7, 8 and 12 were opened before a list came, and what was found in them is not what this list has there. Are they of this consignment?
    Box 7 left unopened before a list came. Is it of Rio Claro?
    Boxes 7 and 8 left unopened before a list came. Are they of this consignment?
    Box 31 was opened and is not on this list. Is it of Rio Claro all the same?
    Boxes 31 and 32 were opened and are not on this list. Are they of Rio Claro all the same?
    Box 7: yoyo loach found in it, the list has clown loach or neon tetra there. Are they that?
    ");
    let labels = |choices: Vec<crate::message::Choice>| {
        choices.into_iter().map(|choice| choice.label).collect::<Vec<_>>().join(" | ")
    };
    insta::assert_snapshot!(lines([
        labels(their_choices(false)),
        labels(their_choices(true)),
        labels(vec![not_listed(), another_box(), no_list_choice()]),
    ]), @r"
    yes | no
    yes | no | one by one
    not on the list | another consignment | list to come
    ");
}

#[test]
fn what_was_found_before_the_list_stands_beside_what_it_lists() {
    let base = OpenedBefore { number: 7, species: "clown loach".into(), on_list: true, ..OpenedBefore::default() };
    let found = |found, dead, listed| OpenedBefore { found, dead, listed, ..base.clone() };
    let boxes = [
        found(40, 2, Some(120)),
        found(124, 0, Some(120)),
        OpenedBefore { done: true, ..found(118, 1, Some(120)) },
        OpenedBefore { listed_as: Some("botia macracanthus".into()), ..found(40, 0, Some(40)) },
        OpenedBefore { bags: Some((4, 3)), ..found(120, 0, Some(120)) },
        found(20, 1, None),
        OpenedBefore { species: String::new(), ..base.clone() },
        OpenedBefore { species: String::new(), on_list: false, ..base.clone() },
        OpenedBefore { passed_to: Some("Reef & River".into()), ..found(0, 0, Some(1240)) },
        OpenedBefore { passed_to: Some("Reef & River".into()), ..found(0, 0, None) },
    ];
    let whole = opened_before(&boxes, vec![31], Some((12, 10)));
    let many: Vec<OpenedBefore> = vec![base.clone(); 14];
    let many = opened_before(&many, vec![31, 32], None);
    insta::assert_snapshot!(lines(whole.into_iter().chain(many.into_iter().rev().take(2))), @r"
    Before the list came:
    box 7: 40 of 120 clown loach, 2 DOA
    box 7: 124 of 120 clown loach, 4 extra
    box 7: 118 of 120 clown loach, 1 DOA, 2 not found
    box 7: 40 of 40 clown loach (listed as botia macracanthus)
    box 7: 120 of 120 clown loach, 4 bags counted, 3 listed
    box 7: 20 clown loach, 1 DOA, not on the list: extra
    box 7: nothing counted yet
    box 7: nothing counted yet, not on the list
    box 7: went unopened to Reef & River, 1,240 fish listed
    box 7: went unopened to Reef & River, not on the list
    12 boxes were announced, the list has 10.
    Box 31 goes on waiting for its list.
    Boxes 31 and 32 go on waiting for their list.
    and 2 more
    ");
    insta::assert_snapshot!(lines(kept(&[7]).into_iter().chain(kept(&[7, 8, 12])).chain(kept(&[]))), @r"
    Box 7 stays as it was counted or passed on.
    Boxes 7, 8 and 12 stay as they were counted or passed on.
    ");
    assert_eq!(opened_before(&[], Vec::new(), None), Vec::<String>::new());
}
