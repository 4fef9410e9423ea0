//! What is no fish: the headings over lines say so. A box and its bag in one cell.

use holdfast_core::species::Kind;

use super::kit::{asks, clean, table};

fn under(rows: &[&str]) -> Vec<Option<Kind>> {
    table(rows).lines.iter().map(|line| line.under).collect()
}

#[test]
fn the_heading_of_a_group_says_what_the_lines_below_it_are() {
    use Kind::{Invertebrate, Plant};
    let rows = [
        "Box;Species;Qty",
        "1;Neon tetra;100",
        "INVERTEBRATES;;",
        "2;Red devil;40",
        "PLANTS;;",
        "3;Red devil;20",
        "3;Green devil;20",
        "CICHLIDS;;",
        "4;Red devil;10",
    ];
    assert_eq!(under(&rows), [None, Some(Invertebrate), Some(Plant), Some(Plant), None]);
}

#[test]
fn the_heading_of_a_group_is_read_in_the_languages_of_the_lists() {
    for heading in ["PLANTAS", "Tanaman air", "Rostliny", "Wasserpflanzen", "AQUARIUM PLANTS"] {
        let kinds = under(&["Box;Species;Qty", "1;Red devil;4", &format!("{heading};;"), "3;Blue wonder;20"]);
        assert_eq!(kinds, [None, Some(Kind::Plant)], "{heading}");
    }
}

#[test]
fn a_remark_about_plants_is_no_heading_of_a_group() {
    let rows = ["Box;Species;Qty", "1;Red devil;4", "Plants in box 3 must be kept warm;;", "3;Blue wonder;20"];
    assert_eq!(under(&rows), [None, None]);
}

#[test]
fn free_lines_may_have_such_headings_too() {
    let kinds = under(&["Box 1:", "100 Neon tetra", "PLANTS", "Box 2:", "20 Blue wonder", "10 Red devil"]);
    assert_eq!(kinds, [None, Some(Kind::Plant), Some(Kind::Plant)]);
}

#[test]
fn a_box_and_its_bag_in_one_cell_are_told_apart() {
    for heading in ["Box/Bag", "Box / Bag No.", "Box-Bag", "Caja/Bolsa", "Caixa/Saco", "Krabice/Sáček", "Karton/Beutel"]
    {
        for (first, second) in [("3/1", "3/2"), ("3-1", "3-2"), ("3.1", "3.2")] {
            let rows = [
                format!("{heading};Species;Qty"),
                format!("{first};Neon tetra;100"),
                format!("{second};Guppy;50"),
                "4;Molly;20".to_owned(),
            ];
            let rows: Vec<&str> = rows.iter().map(String::as_str).collect();
            clean(&table(&rows), &["3 Neon tetra 100 bag 1", "3 Guppy 50 bag 2", "4 Molly 20"]);
        }
    }
}

#[test]
fn several_bags_of_a_box_in_one_cell_are_counted() {
    clean(&table(&["Box/Bag;Species;Qty", "3/1-2;Neon tetra;100"]), &["3 Neon tetra 100 in 2"]);
    asks(&table(&["Box/Bag;Species;Qty", "3/?;Neon tetra;100"]), &["? Neon tetra 100"], &["3/?"]);
}

#[test]
fn bags_of_each_box_stay_a_count() {
    clean(&table(&["Box;Bags/Box;Species;Pcs/bag", "3;2;Neon tetra;50"]), &["3 Neon tetra 100 in 2"]);
    clean(&table(&["Box;Box/Bag;Species;Pcs/bag", "3;2;Neon tetra;50"]), &["3 Neon tetra 100 in 2"]);
}
