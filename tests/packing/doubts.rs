//! Questions that an answer settles: what they ask, and about which lines.

use std::path::Path;

use holdfast_bot::packing;
use holdfast_core::consignment::{Answer, Asks, PackingList};

use super::kit::{Book, shown, table};

/// Each doubt as "its lines: what it asks".
fn doubts(list: &PackingList) -> Vec<String> {
    list.doubts
        .iter()
        .map(|doubt| {
            let asks = match &doubt.asks {
                Asks::Fish { choices, each } => format!("fish {choices:?}{}", if *each { " each" } else { "" }),
                Asks::LeftOut { line, boxes } => format!("left out {} {boxes:?}", line.species),
                Asks::Box => "box".to_owned(),
                Asks::Split { boxes } => format!("split {boxes:?}"),
                Asks::Size => "size".to_owned(),
                Asks::Price { choices } => format!("price {choices:?}"),
                Asks::Currency { choices } => format!("currency {choices:?}"),
            };
            format!("{:?}: {asks}", doubt.lines)
        })
        .collect()
}

#[test]
fn each_doubt_says_which_lines_it_is_about_and_what_settles_it() {
    let list = table(&[
        "Box;Species;Size;Bags;Pcs/bag;Total pcs;Price USD",
        "1-2;Neon tetra;M;2;25;90;0.07",
        "3;Guppy;;1;30;TBA;0.1",
        "4-6;Platy;;;;100;0.2",
        "loose;Molly;;;;20;0.2",
        ";Swordtail;;;;10;TBA",
        "7;Danio;2026-06-05;;;40;0.1",
    ]);
    assert_eq!(
        doubts(&list),
        ["[0, 1]: fish [90, 100]", "[3]: split [4, 5, 6]", "[4, 5]: box", "[5]: price []", "[6]: size"],
        "{:?} {:?}",
        shown(&list),
        list.questions
    );
}

#[test]
fn a_row_that_was_left_out_keeps_what_could_be_read_of_it() {
    let mut list = table(&["Box;Bag no;Species;Size;Qty;Price", "7;2;Guppy;M;TBA;0.1", "8;;Neon tetra;;20;0.07"]);
    assert_eq!(doubts(&list), ["[]: left out Guppy [7]"]);
    list.settle_doubt(&Answer::Fish(vec![48])).unwrap();
    assert_eq!(shown(&list), ["8 Neon tetra 20 @0.07", "7 Guppy [M] 48 bag 2 @0.1"]);
}

#[test]
fn two_prices_and_two_currencies_are_offered() {
    let book = Book::new()
        .sheet("PL", &["Box;Species;Qty", "1;Neon tetra;20", "2;Guppy;10", "3;Neon tetra;5"])
        .sheet("INV", &["Species;Price USD", "Neon tetra;0.07", "Neon tetra;0.08", "Guppy;0.1"]);
    assert_eq!(doubts(&book.read()), ["[0, 2]: price [0.07, 0.08]"]);
    let list = table(&["Box;Species;Qty;Price", "1;Neon tetra;20;€0.07", "2;Guppy;10;$0.1"]);
    assert_eq!(doubts(&list), ["[]: currency [\"EUR\", \"USD\"]"]);
}

#[test]
fn every_doubt_is_among_the_questions_and_can_be_left_as_read() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/packing");
    let mut seen = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() || path.extension().is_some_and(|end| end == "rs" || end == "jsonl") {
            continue;
        }
        let Ok(mut list) = packing::read("list", &std::fs::read(&path).unwrap()) else { continue };
        seen += 1;
        let before = list.lines.clone();
        for doubt in &list.doubts {
            assert!(list.questions.contains(&doubt.text), "{}: {}", path.display(), doubt.text);
            assert!(doubt.lines.iter().all(|at| (*at as usize) < list.lines.len()), "{}", path.display());
        }
        while !list.doubts.is_empty() {
            list.settle_doubt(&Answer::AsRead).unwrap();
        }
        assert_eq!(list.lines, before);
    }
    assert!(seen > 5, "{seen} samples");
}
