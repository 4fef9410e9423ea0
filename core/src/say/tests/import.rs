use chrono::NaiveDate;
use proptest::prelude::*;

use super::{fault, lines};
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
        questions: Vec::new(),
    }
}

#[test]
fn a_list_is_read_back_in_numbers_beside_its_own_total() {
    let one = Summary { supplier: None, boxes: 1, bags: 1, fish: 1, species: 1, stated: None, no_box: 1, ..list() };
    let doubts = Summary {
        awb: None,
        stated: Some(2100),
        no_box: 3,
        questions: vec!["Row 12: Neon tetra has no quantity. How many are there?".into()],
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
    Import it?
    AWB 900-44712080: 1 box, 1 bag, 1 fish, 1 species; the list states no total.
    1 line has no box number: it stands under box 0.
    Import it?
    Rio Claro: 31 boxes, 74 bags, 2,114 fish, 19 species; list says 2,100, 14 fewer.
    ? Row 12: Neon tetra has no quantity. How many are there?
    3 lines have no box number: they stand under box 0.
    Import it?
    31 boxes, 74 bags, 2,114 fish, 19 species; list says 2,114.
    Import it?
    Rio Claro, AWB 900-44712080: 31 boxes, 74 bags, 2,114 fish, 19 species; list says 3,200, 1,086 more.
    Import it?
    ");
}

#[test]
fn an_import_is_told_with_what_to_mind() {
    let day = NaiveDate::from_ymd_opt(2026, 3, 2).unwrap();
    let certain = species::cites("Hippocampus kuda", day).unwrap();
    let possible = species::cites("Potamotrygon sp.", day);
    insta::assert_snapshot!(lines([
        imported("Rio Claro", 31, 2114, &[]),
        imported("Rio Claro", 1, 1, &["lionfish: venomous spines.".into()]),
        unnamed_supplier(3),
        matched("Botia mac.", "clown loach"),
        listed_species("common seahorse", &certain),
    ]), @r#"
    Imported Rio Claro: 31 boxes, 2,114 fish.
    Imported Rio Claro: 1 box, 1 fish.
    lionfish: venomous spines.
    consignment 3
    "Botia mac." is clown loach, kept for this supplier
    common seahorse is in CITES Appendix II (Hippocampus spp.): check its papers. This is not legal advice.
    "#);
    let possible = possible.unwrap();
    insta::assert_snapshot!(lines([listed_species("motoro stingray", &possible)]), @"motoro stingray may be in CITES Appendix II (Potamotrygon albimaculata): check its papers. This is not legal advice.");
}

#[test]
fn thousands_stand_apart() {
    for (number, said) in [(0, "0"), (7, "7"), (999, "999"), (1000, "1,000"), (2114, "2,114"), (1_234_567, "1,234,567")]
    {
        assert_eq!(thousands(number), said);
    }
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
