use super::lines;
use crate::message::{Choice, Place};
use crate::say::question::*;

fn names(names: &[&str]) -> Vec<String> {
    names.iter().map(|name| (*name).to_owned()).collect()
}

fn tray() -> Place {
    Place::Tray { tray: "3".into() }
}

#[test]
fn each_question_names_its_place_and_ends_as_one() {
    let bag = Place::Bag { number: 7, bag: 2 };
    let said = [
        which_consignment(7, &names(&["Rio Claro", "Blue Delta"])),
        which_supplier(&names(&["Rio Claro", "Blue Delta"])),
        new_vessel("A13", false),
        new_vessel("4", true),
        left_in_box(7, &[("7.2".into(), 40), ("7.3".into(), 1)]),
        which_fish(&tray(), &names(&["clown loach", "yoyo loach"])),
        which_fish(&bag, &names(&["clown loach", "yoyo loach"])),
        which_bag(7, 3),
        which_bag(7, 1),
        extra("7.2", 44, 40, 4),
        extra("box 7", 41, 40, 1),
        unaccounted(&tray(), "clown loach", 30, 36),
        surplus(&tray(), "clown loach", 4),
        beyond(&tray(), "clown loach", 41, 100, "dead"),
        beyond(&tray(), "fish", 1, 3, "weak"),
        again(None, "clown loach", 40),
        again(Some("Reef & River"), "clown loach", 40),
        take_back("7.2 4 dead", "22:40"),
        move_from(&tray()),
        move_from_which("clown loach", &[bag, tray()]),
        which_lot(&Place::Tank { tank: "A12".into() }, &[43, 44]),
        which_buyer(&names(&["Reef & River", "Blue Door"])),
        which_species("Rio Claro", "Botia", &names(&["clown loach", "yoyo loach"])),
    ];
    assert!(said.iter().all(|question| question.ends_with('?')));
    insta::assert_snapshot!(lines(said), @r#"
    Whose box 7: Rio Claro or Blue Delta?
    Which consignment: Rio Claro or Blue Delta?
    No tank A13 here yet. Add it?
    No tray 4 here yet. Add it?
    Box 7, not counted: 40 in 7.2, 1 in 7.3. Short, all there as listed, or not done yet?
    Tray 3: which fish, clown loach or yoyo loach?
    7.2: which fish, clown loach or yoyo loach?
    Box 7 has 3 bags. Which one?
    Box 7 has 1 bag. Which one?
    7.2: 44 seen, 40 on the list. 4 extra?
    Box 7: 41 seen, 40 on the list. 1 extra?
    Tray 3: 30 clown loach, the books say 36. Book 6 as unaccounted?
    Tray 3: 4 more clown loach than in the books. Extra?
    Tray 3 has 41 clown loach by the books, not 100. All 41 dead, how many, or a slip?
    Tray 3 has 1 fish by the books, not 3. That one weak, how many, or a slip?
    You have 40 clown loach reserved already. 40 more?
    Reef & River has 40 clown loach reserved already. 40 more?
    Take back 7.2 4 dead, from 22:40?
    Into tray 3 from where?
    Clown loach are in 7.2 and tray 3. From which?
    A12 holds lot 43 and lot 44. Which one?
    To whom: Reef & River or Blue Door?
    Rio Claro lists "Botia": clown loach or yoyo loach?
    "#);
}

#[test]
fn the_ways_to_answer_do_not_overlap() {
    let all = [
        yes_no(),
        left_choices(),
        crate::say::import::import_choices(None),
        vec![undetermined()],
        vec![as_listed_name()],
        beyond_choices(41, "dead", Some(59)),
        beyond_choices(1, "weak", None),
    ];
    for choices in &all {
        let mut words: Vec<&String> = choices.iter().flat_map(|choice: &Choice| &choice.words).collect();
        let said = words.len();
        words.sort();
        words.dedup();
        assert_eq!(words.len(), said, "{choices:?}");
        assert!(words.iter().all(|word| **word == word.to_lowercase()), "{choices:?}");
    }
    let labels =
        all.iter().map(|choices| choices.iter().map(|choice| choice.label.as_str()).collect::<Vec<_>>().join(" / "));
    insta::assert_snapshot!(lines(labels), @r"
    yes / no
    short / all there / not done yet
    import / leave it
    can't tell
    as listed
    all 41 dead / a slip / 59 extra
    that one weak / a slip
    ");
}

#[test]
fn a_sign_of_fish_where_there_are_none_is_asked_about() {
    use std::collections::BTreeSet;

    use crate::message::Sign;
    let signs = BTreeSet::from([Sign::Gasping, Sign::OnSide]);
    insta::assert_snapshot!(sign_of_fish(&tray(), &names(&["cherry shrimp", "java fern"]), &signs), @r#"Tray 3 has no fish, only cherry shrimp and java fern: "gasping, on their side" is not written down. Where was it?"#);
}
