//! What only workbooks have: merged cells, hidden sheets, formulas, dates, several sheets, invoices.

use holdfast_bot::packing::{self, Unreadable};

use crate::kit::{Book, asks, clean, shown};

const H: &str = "Box;Species;Size;Qty;Price";

#[test]
fn merged_cells_carry_box_and_species_down() {
    let book = Book::new().sheet("PL", &[H, ";;M;50;", ";;L;5;", "2;Molly;M;7;"]).merge((1, 0), (2, 0), "1").merge(
        (1, 1),
        (2, 1),
        "Neon",
    );
    clean(&book.read(), &["1 Neon [M] 50", "1 Neon [L] 5", "2 Molly [M] 7"]);
}

#[test]
fn upper_headings_reach_over_the_columns_they_are_merged_over() {
    let book = Book::new()
        .sheet("PL", &["Box;Species;;;Price", ";;bags;pcs/bag;", "1;Neon;2;25;0.1"])
        .merge((0, 2), (0, 3), "Quantity")
        .merge((0, 0), (1, 0), "Box")
        .merge((0, 1), (1, 1), "Species");
    clean(&book.read(), &["1 Neon 50 in 2 @0.1"]);
}

#[test]
fn a_range_that_became_a_date_is_asked() {
    let list = Book::new().sheet("PL", &[H, "2026-04-01;Neon;M;50;", "2;Guppy;2026-06-05;5;"]).read();
    asks(&list, &["? Neon [M] 50", "2 Guppy 5"], &["Sheet PL, row 2", "Sheet PL, row 3"]);
}

#[test]
fn formulas_give_their_saved_value_or_a_question() {
    clean(&Book::new().sheet("PL", &[H, "1;Neon;M;=25*2=>50;"]).read(), &["1 Neon [M] 50"]);
    let list = Book::new()
        .sheet("PL", &["Box;Species;Bags;Pcs/bag;Total pcs", "1;Neon;2;25;=C2*D2=>#REF!", "2;Guppy;1;5;5"])
        .read();
    asks(&list, &["1 Neon 50 in 2", "2 Guppy 5 in 1"], &["#REF!"]);
}

#[test]
fn number_cells_are_sizes_and_labels_too() {
    let list = Book::new()
        .sheet("PL", &["AWB;90044712080", H, "1.0;Neon;4.5;50;0.07000000000000001", "2;Guppy;4.0;5;"])
        .read();
    clean(&list, &["1 Neon [4.5] 50 @0.07", "2 Guppy [4] 5"]);
    assert_eq!(list.awb.as_deref(), Some("900-44712080"));
}

#[test]
fn hidden_sheets_are_passed_over_when_a_visible_one_is_there() {
    let book = Book::new().sheet("Old", &[H, "9;Old;M;1;"]).with(|sheet| {
        sheet.set_hidden(true);
    });
    clean(
        &book
            .sheet("PL", &[H, "1;Neon;M;50;"])
            .with(|sheet| {
                sheet.set_active(true);
            })
            .read(),
        &["1 Neon [M] 50"],
    );
    let book = Book::new().sheet("Cover", &["Hello"]).sheet("PL", &[H, "1;Neon;M;50;"]).with(|sheet| {
        sheet.set_hidden(true);
    });
    clean(&book.read(), &["1 Neon [M] 50"]);
}

#[test]
fn sheets_with_different_boxes_are_one_list_and_their_totals_add_up() {
    let list = Book::new()
        .sheet("A", &[H, "1;Neon;M;50;", "Total;;;50;"])
        .sheet("B", &[H, "2;Guppy;M;5;", "Total;;;5;"])
        .read();
    clean(&list, &["1 Neon [M] 50", "2 Guppy [M] 5"]);
    assert_eq!(list.stated_total, Some(55));
}

#[test]
fn of_sheets_with_the_same_boxes_the_one_that_calls_itself_packing_list_is_read() {
    let list =
        Book::new().sheet("Loading", &[H, "1;Neon;M;50;"]).sheet("Packing list", &[H, "1;Neon tetra;M;50;"]).read();
    clean(&list, &["1 Neon tetra [M] 50"]);
    let list = Book::new().sheet("A", &[H, "1;Neon;M;50;"]).sheet("B", &[H, "1;Neon tetra;M;50;"]).read();
    asks(&list, &["1 Neon [M] 50"], &["A and B"]);
}

#[test]
fn an_invoice_gives_prices_by_species_and_size() {
    let invoice = [
        "Species;Size;Qty;Price USD",
        "NEON;M;50;0.1",
        "Neon;L;5;0.2",
        "guppy;;6;0.3",
        "Molly;M;1;1",
        "Molly;M;2;2",
        "Total;;64;",
    ];
    let list = Book::new()
        .sheet("Invoice", &invoice)
        .sheet("PL", &["Box;Species;Size;Qty", "1;Neon;m;50", "2;Neon;L;5", ";Guppy;XL;6", ";Molly;M;3", ";Danio;M;1"])
        .read();
    asks(
        &list,
        &["1 Neon [m] 50 @0.1", "2 Neon [L] 5 @0.2", "2 Guppy [XL] 6 @0.3", "2 Molly [M] 3", "2 Danio [M] 1"],
        &["Molly", "64 fish, the packing list 65"],
    );
    assert_eq!(list.currency.as_deref(), Some("USD"));
}

#[test]
fn a_far_cell_costs_nothing() {
    let book = Book::new().sheet("PL", &[H, "1;Neon;M;50;"]).with(|sheet| {
        sheet.write_string(1_048_575, 16_383, "far").unwrap();
    });
    let start = std::time::Instant::now();
    clean(&book.read(), &["1 Neon [M] 50"]);
    assert!(start.elapsed().as_secs() < 2);
}

#[test]
fn the_extension_says_nothing() {
    let bytes = Book::new().sheet("PL", &[H, "1;Neon;M;50;"]).bytes();
    assert_eq!(shown(&packing::read("list.csv", &bytes).unwrap()), ["1 Neon [M] 50"]);
    assert_eq!(packing::read("list.xlsx", b"%PDF-1.7 ...").unwrap_err(), Unreadable::Unknown);
    assert_eq!(packing::read("list.csv", &[0, 1, 2, 3, 4, 255]).unwrap_err(), Unreadable::Unknown);
}

#[test]
fn a_cover_sheet_may_name_what_the_packing_sheet_does_not() {
    let list =
        Book::new().sheet("Cover", &["AWB;900-44712080", "Gross weight;88.5"]).sheet("PL", &[H, "1;Neon;M;50;"]).read();
    clean(&list, &["1 Neon [M] 50"]);
    assert_eq!(list.awb.as_deref(), Some("900-44712080"));
    assert_eq!(list.gross_kg.map(|weight| weight.to_string()).as_deref(), Some("88.5"));
}

#[test]
fn carried_forward_counts_over_the_sheets_and_subtotals_may_reach_back() {
    let second = |carried: u32| {
        Book::new()
            .sheet("p.1", &[H, "1;Neon;M;50;", "2;Guppy;M;20;", "Carried forward;;;70;"])
            .sheet(
                "p.2",
                &[H, &format!("Carried forward;;;{carried};"), "3;Molly;M;5;", "Subtotal;;;75;", "Grand total;;;75;"],
            )
            .read()
    };
    let lines = ["1 Neon [M] 50", "2 Guppy [M] 20", "3 Molly [M] 5"];
    clean(&second(70), &lines);
    asks(&second(69), &lines, &["69 are carried forward, the lines so far make 70"]);
}

#[test]
fn a_currency_that_only_number_formats_show_is_taken() {
    let priced = |heading: &str, formats: &[&str]| {
        let rows = [heading, "1;Neon;M;50;", "2;Guppy;L;5;"];
        let list = Book::new().sheet("PL", &rows).with(|sheet| {
            for (row, format) in (1..).zip(formats.iter().cycle()).take(2) {
                sheet
                    .write_number_with_format(row, 4, 0.5, &rust_xlsxwriter::Format::new().set_num_format(*format))
                    .unwrap();
            }
        });
        list.read()
    };
    for (format, code) in [
        ("[$€-2]\\ #,##0.00", Some("EUR")),
        ("\"$\"#,##0.00", Some("USD")),
        ("[$Rp-421]#,##0", Some("IDR")),
        ("_-* #,##0.00\\ \"Kč\"_-", Some("CZK")),
        ("[$-409]0.00", None),
        ("0.00", None),
    ] {
        let list = priced(H, &[format]);
        clean(&list, &["1 Neon [M] 50 @0.5", "2 Guppy [L] 5 @0.5"]);
        assert_eq!(list.currency.as_deref(), code, "{format}");
    }
    // The heading tells; what a machine's own format shows then does not matter.
    assert_eq!(priced("Box;Species;Size;Qty;Price USD", &["[$€-2] 0.00"]).currency.as_deref(), Some("USD"));
    let list = priced(H, &["[$€-2] 0.00", "\"$\"0.00"]);
    asks(&list, &["1 Neon [M] 50 @0.5", "2 Guppy [L] 5 @0.5"], &["EUR and USD"]);
    assert_eq!(list.currency, None);
}
