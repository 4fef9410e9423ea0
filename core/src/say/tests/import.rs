use chrono::NaiveDate;
use proptest::prelude::*;

use super::{fault, lines};
use crate::consignment::{Answer, Asks, ColumnUse, ListColumn, Unfit};
use crate::say::import::*;
use crate::species;

fn list() -> Summary {
    Summary {
        supplier: Some("Rio Claro".into()),
        awb: Some("900-44712080".into()),
        boxes: 31,
        bags: 74,
        fish: 2114,
        species: 19,
        stated: Some(2114),
        no_box: 0,
        columns: Vec::new(),
        currency: None,
        notes: Vec::new(),
    }
}

#[test]
fn a_list_is_read_back_in_numbers_beside_its_own_total() {
    let one = Summary { supplier: None, boxes: 1, bags: 1, fish: 1, species: 1, stated: None, no_box: 1, ..list() };
    let doubts = Summary {
        awb: None,
        stated: Some(2100),
        no_box: 3,
        notes: vec!["Row 12: Neon tetra has no quantity. How many are there?".into()],
        ..list()
    };
    insta::assert_snapshot!(lines([
        read_back(&list()),
        read_back(&one),
        read_back(&doubts),
        read_back(&Summary { supplier: None, awb: None, ..list() }),
        read_back(&Summary { stated: Some(3200), ..list() }),
    ]), @r"
    Rio Claro, AWB 900-44712080: 31 boxes, 74 bags, 2,114 fish, 19 species; list says 2,114.
    AWB 900-44712080: 1 box, 1 bag, 1 fish, 1 species; the list states no total.
    1 line has no box number: it stands under box 0.
    Rio Claro: 31 boxes, 74 bags, 2,114 fish, 19 species; list says 2,100, 14 fewer.
    ? Row 12: Neon tetra has no quantity. How many are there?
    3 lines have no box number: they stand under box 0.
    31 boxes, 74 bags, 2,114 fish, 19 species; list says 2,114.
    Rio Claro, AWB 900-44712080: 31 boxes, 74 bags, 2,114 fish, 19 species; list says 3,200, 1,086 more.
    ");
}

#[test]
fn an_import_is_told_with_what_to_mind() {
    let day = NaiveDate::from_ymd_opt(2026, 3, 2).unwrap();
    let certain = species::cites("Hippocampus kuda", day).unwrap();
    let possible = species::cites("Potamotrygon sp.", day).unwrap();
    insta::assert_snapshot!(lines([
        imported("Rio Claro", 31, 2114, &[]),
        imported("Rio Claro", 1, 1, &[]),
        unnamed_supplier(3),
        matched("Botia mac.", "clown loach"),
        not_fish(&["cherry shrimp".into(), "nerite snail".into()], &[]),
        not_fish(&["cherry shrimp".into()], &["java fern".into()]),
        listed_species(&[("common seahorse".into(), certain)]),
        listed_species(&[("common seahorse".into(), certain), ("stingray".into(), possible)]),
    ]), @r#"
    Imported Rio Claro: 31 boxes, 2,114 fish.
    Imported Rio Claro: 1 box, 1 fish.
    consignment 3
    "Botia mac." is clown loach, kept for this supplier
    Not fish: invertebrates cherry shrimp, nerite snail.
    Not fish: invertebrates cherry shrimp; plants java fern.
    CITES: common seahorse, Appendix II (Hippocampus spp.). Check its papers. This is not legal advice.
    CITES: common seahorse, Appendix II (Hippocampus spp.); stingray maybe, Appendix II (Potamotrygon albimaculata). Check their papers. This is not legal advice.
    "#);
}

#[test]
fn thousands_stand_apart() {
    for (number, said) in [(0, "0"), (7, "7"), (999, "999"), (1000, "1,000"), (2114, "2,114"), (1_234_567, "1,234,567")]
    {
        assert_eq!(thousands(number), said);
    }
}

fn column(sheet: Option<&str>, column: &str, meaning: ColumnUse) -> ListColumn {
    ListColumn { sheet: sheet.map(Into::into), column: column.into(), heading: column.into(), meaning }
}

#[test]
fn columns_are_read_back_one_line_a_sheet_and_notes_are_not_endless() {
    use ColumnUse::*;
    let all = [Box, Species, Unused, Bags, Quantity, Price, Unknown];
    let one: Vec<ListColumn> =
        "ACEDFGH".chars().zip(all).map(|(letter, meaning)| column(None, &letter.to_string(), meaning)).collect();
    let two = vec![column(Some("PL 1"), "A", Box), column(Some("PL 1"), "B", Species), column(Some("PL 2"), "A", Box)];
    let noted = Summary { notes: (1..=12).map(|row| format!("Row {row}: odd.")).collect(), ..list() };
    insta::assert_snapshot!(lines([
        read_back(&Summary { columns: one, currency: Some("USD".into()), ..list() }),
        read_back(&Summary { columns: two, ..list() }),
        column_is("F", PerBag, Some("Rio Claro")),
        column_is("F", Unused, None),
        read_back(&noted).lines().skip(9).collect::<Vec<_>>().join("\n"),
    ]), @r"
    Rio Claro, AWB 900-44712080: 31 boxes, 74 bags, 2,114 fish, 19 species; list says 2,114.
    Columns: A box · C species · D bags · F total pieces · G price USD
    Rio Claro, AWB 900-44712080: 31 boxes, 74 bags, 2,114 fish, 19 species; list says 2,114.
    Columns: PL 1: A box · B species
    Columns: PL 2: A box
    column F is pieces per bag, kept for Rio Claro
    column F is ignored
    ? Row 9: odd.
    ? Row 10: odd.
    ? and 2 more
    ");
}

#[test]
fn doubts_are_asked_by_number_and_their_answers_read_back() {
    let fish = Asks::Fish { choices: vec![90, 100], each: false };
    let labels = |choices: Vec<crate::message::Choice>| {
        choices.into_iter().map(|choice| choice.label).collect::<Vec<_>>().join(" | ")
    };
    insta::assert_snapshot!(lines([
        doubt(1, 3, "Row 12: which is right?"),
        doubt(1, 1, "Row 12: which is right?"),
        labels(doubt_choices(&fish, true)),
        labels(doubt_choices(&Asks::Box, false)),
        settled("Row 12", &fish, &Answer::Fish(vec![90])),
        settled("Row 12", &fish, &Answer::AsRead),
        settled("Row 12", &Asks::Box, &Answer::Box(7)),
        settled("", &Asks::Currency { choices: Vec::new() }, &Answer::Words("EUR".into())),
        rest_as_read(1),
        rest_as_read(4),
        unfit(&Unfit::NotAsked),
        unfit(&Unfit::NotDivisible { fish: 100, boxes: 3 }),
        unfit(&Unfit::NotDivisible { fish: 0, boxes: 1 }),
        unfit(&Unfit::NotForEachBox { boxes: vec![1, 2, 3] }),
    ]), @r#"
    1 of 3: Row 12: which is right?
    Row 12: which is right?
    90 | 100 | leave it | rest as read
    leave it
    Row 12: 90 fish
    Row 12: as read
    Row 12: box 7
    EUR
    1 question left as read
    4 questions left as read
    That does not answer it.
    100 do not divide over 3 boxes.
    No fish at all is "leave it".
    Say one number for each of boxes 1, 2, 3, or one box.
    "#);
}

#[test]
fn a_corrected_list_is_told_by_what_it_changes() {
    let all = vec![
        Change::Paper { what: "invoice", is: "RC-12".into() },
        Change::Prices(1),
        Change::Prices(4),
        Change::Fish { number: 7, species: "cardinal tetra".into(), was: 40, is: 45 },
        Change::Fish { number: 7, species: "guppy".into(), was: 0, is: 5 },
        Change::Fish { number: 8, species: "guppy".into(), was: 5, is: 0 },
        Change::Bags { number: 9 },
        Change::New { number: 12, fish: 30 },
        Change::Gone { number: 13, kept: false },
        Change::Gone { number: 14, kept: true },
        Change::Bags { number: 15 },
    ];
    insta::assert_snapshot!(lines([
        changes("Rio Claro", &all),
        changes("Rio Claro", &all[..1]),
        corrected("Rio Claro", 31, 2114, &[found_against_list(1, (10, 0), (0, 0)), found_against_list(2, (0, 0), (3, 1))]),
        gone_box(9, 38),
    ]), @r"
    This changes the list of Rio Claro:
    invoice RC-12
    1 price
    4 prices
    box 7: 40 → 45 cardinal tetra
    box 7: 5 guppy new
    box 8: 5 guppy gone
    box 9: the same fish in other bags
    box 12 new, 30 fish
    box 13 gone
    box 14 gone, but opened: stays as it was listed
    and 1 more change
    What was counted stays counted. Change it?
    This changes the list of Rio Claro:
    invoice RC-12
    What was counted stays counted. Change it?
    Corrected Rio Claro: 31 boxes, 2,114 fish listed.
    box 1: balanced now, was 10 short
    box 2: 3 short, 1 extra now, was balanced
    Box 9 is not on the new list, but it was opened: 38 fish found in it. Keep it as listed, or are they extra?
    ");
}

proptest! {
    #[test]
    fn no_read_back_is_faulty(
        (supplier, awb, stated) in (any::<bool>(), any::<bool>(), any::<bool>()),
        boxes in 0usize..3, bags in 0u32..3, fish in 0u64..3, no_box in 0usize..3,
    ) {
        let Summary { supplier: name, awb: bill, .. } = list();
        let said = read_back(&Summary {
            supplier: name.filter(|_| supplier),
            awb: bill.filter(|_| awb),
            stated: stated.then_some(fish),
            boxes, bags, fish, no_box,
            ..list()
        });
        prop_assert_eq!(fault(&said), None, "{:?}", said);
        for wrong in ["1 boxes", "1 bags", "1 lines"] {
            prop_assert!(!said.starts_with(wrong) && !said.contains(&format!(" {wrong}")), "{}", said);
        }
    }

    #[test]
    fn thousands_read_back_as_the_number(number in any::<u64>()) {
        prop_assert_eq!(thousands(number).replace(',', "").parse::<u64>().ok(), Some(number));
    }
}
