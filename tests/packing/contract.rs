//! The contract, section by section, in text files.

use holdfast_bot::packing::{self, ColumnOverride, Meaning};

use crate::kit::{asks, clean, read, shown, table};

const H: &str = "Box;Species;Size;Qty;Price";

// Section 1: which rows are lines.

#[test]
fn headings_stand_within_thirty_rows() {
    let blank = vec![";;;;"; 28];
    let mut rows = vec!["Firm;;;;"];
    rows.extend(&blank);
    rows.extend([H, "1;Neon;M;50;0.1"]);
    clean(&table(&rows), &["1 Neon [M] 50 @0.1"]);
    rows.insert(0, "Another;;;;");
    asks(&table(&rows), &[], &["headings"]);
}

#[test]
fn without_headings_or_boxes_it_is_no_packing_list() {
    asks(&table(&["Species;Qty", "Neon;50"]), &[], &["no boxes"]);
    asks(&read(""), &[], &["nothing"]);
    asks(&read("\u{feff}  \n\n"), &[], &["nothing"]);
    asks(&read("Dear all,\nthe fish are fine.\n"), &[], &["headings"]);
}

#[test]
fn headings_may_be_two_rows_high() {
    let list = table(&["Box;Species;Quantity;;Price", ";;bags;pcs/bag;USD", "1;Neon;2;250;0.07"]);
    clean(&list, &["1 Neon 500 in 2 @0.07"]);
    assert_eq!(list.currency.as_deref(), Some("USD"));
}

#[test]
fn rows_that_are_not_lines_are_passed_over() {
    let list = table(&[
        H,
        "TETRAS;;;;",
        ";TETRAS;;;",
        "1;Neon;M;50;0.1",
        ";;;;",
        H,
        ";Cardinal;M;30;0.2",
        "Subtotal;;;80;",
        "Remarks: keep warm;;;;",
        "2;Guppy;L;20;0.1",
        "Carried forward;;;100;",
        "3;Molly;L;10;0.1",
        "Note;two bags leaked;;;",
        "GRAND TOTAL;;;110;",
        "4;Not a fish;M;99;1",
    ]);
    clean(&list, &["1 Neon [M] 50 @0.1", "1 Cardinal [M] 30 @0.2", "2 Guppy [L] 20 @0.1", "3 Molly [L] 10 @0.1"]);
    assert_eq!(list.stated_total, Some(110));
}

#[test]
fn names_of_fish_may_begin_with_the_words_for_totals_and_boxes() {
    let list = table(&[
        H,
        "1;Boxfish;M;5;",
        ";Bagrid catfish;M;6;",
        ";Sumatra barb;M;7;",
        ";Totalia;M;8;",
        ";Noteworthy guppy;M;9;",
        ";Kisslips;M;3;",
        ";Pairfish;S;2;",
        ";Stkfish;S;2;",
    ]);
    assert_eq!(list.lines.len(), 8, "{:?}", list.questions);
    assert!(list.questions.is_empty(), "{:?}", list.questions);
}

#[test]
fn numbers_without_a_species_are_a_subtotal() {
    clean(
        &table(&[H, "1;Neon;M;50;", ";Guppy;M;30;", ";;;80;", "2;Molly;L;10;", ";;;10;"]),
        &["1 Neon [M] 50", "1 Guppy [M] 30", "2 Molly [L] 10"],
    );
    asks(
        &table(&[H, "1;Neon;M;50;", ";;;60;"]),
        &["1 Neon [M] 50"],
        &["Row 3: the subtotal says 60, the lines above make 50"],
    );
}

#[test]
fn a_species_without_a_readable_quantity_is_left_out_and_asked() {
    for quantity in ["", "0", "-5", "12.5", "1e3", "10^3", "TBA", "1000001", "=5*5", "+5"] {
        let list = table(&[H, "1;Guppy;M;10;", &format!("2;Neon;M;{quantity};")]);
        asks(&list, &["1 Guppy [M] 10"], &["Row 3"]);
    }
    asks(&table(&[H, "1;Neon;M;3001;"]), &["1 Neon [M] 3001"], &["3001"]);
    clean(&table(&[H, "1;Neon;M;3000;"]), &["1 Neon [M] 3000"]);
    clean(&table(&[H, "1-2;Neon;M;6000;"]), &["1 Neon [M] 3000", "2 Neon [M] 3000"]);
}

#[test]
fn a_long_cell_is_no_name() {
    let long = "x".repeat(201);
    asks(&table(&[H, &format!("1;{long};M;5;"), ";Neon;M;5;"]), &["1 Neon [M] 5"], &["201"]);
    let name = "y".repeat(200);
    assert_eq!(table(&[H, &format!("1;{name};M;5;")]).lines.len(), 1);
}

#[test]
fn cells_that_begin_like_formulas_are_text() {
    clean(
        &table(&[H, "1;=Neon;-M;50;", ";@Guppy;+L;5;", ";-Molly;M;6;"]),
        &["1 =Neon [-M] 50", "1 @Guppy [+L] 5", "1 -Molly [M] 6"],
    );
}

#[test]
fn headings_that_repeat_to_the_right_are_lists_of_their_own() {
    let list = table(&[
        "Box;Species;Qty;;Box;Species;Qty",
        "1;Neon;50;;3;Guppy;20",
        ";Cardinal;30;;;Molly;10",
        "2;Danio;5;;4;Betta;1",
        "Total;;116;;;;",
    ]);
    clean(&list, &["1 Neon 50", "1 Cardinal 30", "2 Danio 5", "3 Guppy 20", "3 Molly 10", "4 Betta 1"]);
    assert_eq!(list.stated_total, Some(116));
    let list = table(&["Box;Species;Qty;Box;Species;Qty", "1;Neon;50;;Guppy;20"]);
    asks(&list, &["1 Neon 50", "? Guppy 20"], &["no box"]);
}

// Section 2: boxes and bags.

#[test]
fn split_boxes_are_parts_of_one_box() {
    clean(
        &table(&[H, "7A;Neon;M;50;", "7-B;Guppy;M;5;", "7 split;Molly;M;6;"]),
        &["7 Neon [M] 50", "7 Guppy [M] 5", "7 Molly [M] 6"],
    );
}

#[test]
fn blank_and_ditto_cells_carry_the_box_above_down() {
    for mark in ["", "\"", "do.", "-\"-", "ditto", "idem", "sda", "dto", "dtto"] {
        clean(
            &table(&[H, "1-2;Neon;M;50;", &format!("{mark};Guppy;S;4;")]),
            &["1 Neon [M] 25", "2 Neon [M] 25", "1 Guppy [S] 2", "2 Guppy [S] 2"],
        );
    }
}

#[test]
fn ditto_carries_in_any_column() {
    clean(
        &table(&[H, "1;Neon;M;50;0.1", "2;\";\";\";\"", "3;do.;L;ditto;idem"]),
        &["1 Neon [M] 50 @0.1", "2 Neon [M] 50 @0.1", "3 Neon [L] 50 @0.1"],
    );
}

#[test]
fn rows_that_hold_only_a_box_label_set_the_box() {
    for label in ["BOX 7", "Caja 7", "Box 7 - 14.2 kg", "Krabice 7", "C/No 7", "Box No. 7", "Kiste Nr. 7:"] {
        clean(
            &table(&["Species;Size;Qty", &format!("{label};;"), "Neon;M;50", "Guppy;S;4"]),
            &["7 Neon [M] 50", "7 Guppy [S] 4"],
        );
    }
    clean(&table(&[H, "7;;;;", ";Neon;M;50;", "8;;;;", ";Guppy;M;5;"]), &["7 Neon [M] 50", "8 Guppy [M] 5"]);
}

#[test]
fn a_date_or_a_label_without_a_number_leaves_the_box_open() {
    asks(&table(&[H, "04-Jan;Neon;M;50;"]), &["? Neon [M] 50"], &["date"]);
    asks(&table(&[H, "loose;Neon;M;50;", "2;Guppy;M;5;"]), &["? Neon [M] 50", "2 Guppy [M] 5"], &["loose"]);
    asks(&table(&[H, "1;Neon;05-Jun;50;"]), &["1 Neon 50"], &["size"]);
}

#[test]
fn a_bag_is_a_number_and_bags_are_a_count() {
    clean(
        &table(&["Box;Bag;Species;Qty", "1;1;Neon;50", ";2;Neon;50", ";1-3;Guppy;30"]),
        &["1 Neon 50 bag 1", "1 Neon 50 bag 2", "1 Guppy 30 in 3"],
    );
    clean(&table(&["Box;Bags;Species;Qty", "1;3;Neon;60"]), &["1 Neon 60 in 3"]);
    clean(&table(&["Karton;Beutel;Art;Stück je Beutel", "1;3;Neon;20"]), &["1 Neon 60 in 3"]);
    clean(
        &table(&["Box;Bag no;Species;Pcs/bag", "1;4;Neon;20", ";5-6;Guppy;10"]),
        &["1 Neon 20 bag 4", "1 Guppy 20 in 2"],
    );
}

#[test]
fn gaps_are_no_question_but_a_stated_number_of_boxes_is() {
    clean(&table(&[H, "1;Neon;M;50;", "5;Guppy;M;5;"]), &["1 Neon [M] 50", "5 Guppy [M] 5"]);
    for stated in ["Total boxes: 3;;;;", "3 ctns;;;;", "Total boxes;3;;;"] {
        asks(
            &table(&[H, "1;Neon;M;50;", "5;Guppy;M;5;", stated]),
            &["1 Neon [M] 50", "5 Guppy [M] 5"],
            &["3 boxes are stated, 2"],
        );
    }
    asks(&table(&["No. of boxes: 3;;;;", H, "1;Neon;M;50;"]), &["1 Neon [M] 50"], &["3 boxes are stated, 1"]);
    assert!(table(&[H, "1-2;Neon;M;50;", "Total boxes: 2;;;;"]).questions.is_empty());
}

// Section 3: quantity.

#[test]
fn free_fish_bags_and_pairs_in_a_quantity() {
    clean(
        &table(&[
            H,
            "1;Neon;M;10+1;2",
            ";Guppy;M;2 x 25;",
            ";Apisto;M;5 pairs;3",
            ";Molly;M;50 ekor;",
            ";Trio;M;2 trios;",
        ]),
        &["1 Neon [M] 11 (1 free) @2", "1 Guppy [M] 50 in 2", "1 Apisto [M] 10 @3", "1 Molly [M] 50", "1 Trio [M] 6"],
    );
}

#[test]
fn per_bag_times_bags_and_plain_quantities_are_not_multiplied() {
    clean(
        &table(&["Box;Species;Bags;Pcs/bag", "1-2;Neon;3;10+1"]),
        &["1 Neon 33 (3 free) in 3", "2 Neon 33 (3 free) in 3"],
    );
    clean(&table(&["Box;Species;Bags;Qty", "1;Neon;3;30"]), &["1 Neon 30 in 3"]);
    clean(&table(&["Box;Species;Pcs/bag", "1;Neon;30"]), &["1 Neon 30"]);
    clean(&table(&["Box;Species;Pcs/box", "1-3;Neon;30"]), &["1 Neon 30", "2 Neon 30", "3 Neon 30"]);
}

#[test]
fn a_bare_total_is_fish_unless_another_total_is_there() {
    clean(&table(&["Box;Species;Bags;Pcs/bag;Total", "1;Neon;3;10;30"]), &["1 Neon 30 in 3"]);
    clean(&table(&["Box;Species;Qty;Price;Total", "1;Neon;30;0.5;15"]), &["1 Neon 30 @0.5"]);
    clean(&table(&["Box;Species;Bags;Pcs/bag;Price;Total", "1;Neon;3;10;0.25;7.50"]), &["1 Neon 30 in 3 @0.25"]);
}

#[test]
fn a_row_total_stands_and_a_different_product_is_asked() {
    asks(
        &table(&["Box;Species;Bags;Pcs/bag;Total pcs", "1;Neon;3;10;31"]),
        &["1 Neon 31 in 3"],
        &["31 fish, the other columns make 30"],
    );
}

#[test]
fn a_row_total_over_several_boxes_is_divided_if_exact() {
    clean(&table(&["Box;Species;Qty", "1-3;Neon;45"]), &["1 Neon 15", "2 Neon 15", "3 Neon 15"]);
    asks(&table(&["Box;Species;Bags;Qty", "1-3;Neon;5;46"]), &["? Neon 46 in 5"], &["46 fish do not divide over 3"]);
    clean(&table(&["Box;Species;Bags;Pcs/bag;Total", "1-2;Neon;4;25;100"]), &["1 Neon 50 in 2", "2 Neon 50 in 2"]);
    clean(&table(&["Box;Species;Bags;Pcs/bag;Total", "1-2;Neon;4;25;200"]), &["1 Neon 100 in 4", "2 Neon 100 in 4"]);
    asks(
        &table(&["Box;Species;Bags;Pcs/bag;Total", "1-2;Neon;4;25;120"]),
        &["1 Neon 60 in 4", "2 Neon 60 in 4"],
        &["120 fish"],
    );
    clean(&table(&["Box;Species;Bags;Qty", "1-3;Neon;4;45"]), &["1 Neon 15", "2 Neon 15", "3 Neon 15"]);
    clean(
        &table(&["Box;Species;Bags/box;Pcs/bag;Total pcs", "1-4;Neon;2;250;2000"]),
        &["1 Neon 500 in 2", "2 Neon 500 in 2", "3 Neon 500 in 2", "4 Neon 500 in 2"],
    );
}

#[test]
fn separators_part_thousands_in_counts_and_decimals_in_prices() {
    for count in ["1.250", "1,250", "1'250", "1 250", "1250"] {
        clean(&table(&[H, &format!("1;Neon;M;{count};0,35")]), &["1 Neon [M] 1250 @0.35"]);
    }
    clean(&table(&[H, "1;Neon;M;1;1.234,50", ";Guppy;M;1;1.500"]), &["1 Neon [M] 1 @1234.5", "1 Guppy [M] 1 @1500"]);
    clean(
        &table(&[H, "1;Neon;M;1;1,234.50", ";Guppy;M;1;1.500", ";Molly;M;1;0,125"]),
        &["1 Neon [M] 1 @1234.5", "1 Guppy [M] 1 @1.5", "1 Molly [M] 1 @0.125"],
    );
    clean(&table(&[H, "1;Neon;M;1;1.500"]), &["1 Neon [M] 1 @1.5"]);
}

// Section 4: other fields.

#[test]
fn species_and_scientific_names() {
    let list = table(&[
        "Box;Common name;Scientific name;Qty",
        "1; Neon\u{a0}\u{a0}tetra\u{200b} ;Paracheirodon innesi;5",
        ";;Danio rerio;6",
        ";Garra (Garra flavatra);;7",
    ]);
    assert_eq!(shown(&list), ["1 Neon tetra 5", "1 Danio rerio 6", "1 Garra (Garra flavatra) 7"]);
    let names: Vec<_> = list.lines.iter().map(|line| line.scientific.as_deref().unwrap_or("-")).collect();
    assert_eq!(names, ["Paracheirodon innesi", "Danio rerio", "Garra flavatra"]);
    let list = table(&["Box;Latin name;Qty", "1;Danio rerio;6"]);
    clean(&list, &["1 Danio rerio 6"]);
    assert_eq!(list.lines[0].scientific.as_deref(), Some("Danio rerio"));
}

#[test]
fn an_amount_is_no_price_and_currencies_are_told() {
    for (heading, code) in [
        ("Price €", "EUR"),
        ("Price (S$)", "SGD"),
        ("Preço R$", "BRL"),
        ("Cena Kč", "CZK"),
        ("Harga (Rp)", "IDR"),
        ("Price £", "GBP"),
        ("Price US$", "USD"),
        ("Price $", "USD"),
    ] {
        let list = table(&[&format!("Box;Species;Qty;{heading};Amount"), "1;Neon;10;2;20"]);
        clean(&list, &["1 Neon 10 @2"]);
        assert_eq!(list.currency.as_deref(), Some(code), "{heading}");
    }
    let list = table(&["Box;Species;Qty;Price", "1;Neon;10;$2.00", ";Guppy;5;€1.00"]);
    asks(&list, &["1 Neon 10 @2", "1 Guppy 5 @1"], &["EUR and USD"]);
    assert_eq!(list.currency, None);
}

#[test]
fn airway_bills() {
    for (row, awb) in [
        ("AWB;900-44712080;;;", "900-44712080"),
        ("AWB No.: 900 4471 2080;;;;", "900-44712080"),
        ("MAWB;90044712080;;;", "900-44712080"),
        ("HAWB;930-61200370;MAWB;900-44712080;", "900-44712080"),
        ("Guía aérea;900-4471 2080;;;", "900-44712080"),
        ("Air waybill no.;;900–44712080;;", "900-44712080"),
    ] {
        let list = table(&[row, H, "1;Neon;M;5;"]);
        clean(&list, &["1 Neon [M] 5"]);
        assert_eq!(list.awb.as_deref(), Some(awb), "{row}");
    }
    let list = table(&["AWB;900-44712081;;;", H, "1;Neon;M;5;"]);
    asks(&list, &["1 Neon [M] 5"], &["900-44712081"]);
    assert_eq!(list.awb.as_deref(), Some("900-44712081"));
    let list = table(&["HAWB;930-61200370;;;", H, "1;Neon;M;5;"]);
    assert_eq!(list.awb, None);
}

#[test]
fn invoice_shipper_weight_and_packing_date() {
    let list = table(&[
        "Lagoon Nine Aquatics;;;;",
        "12 Quiet Road;;;;",
        "PACKING LIST;;;;",
        "Invoice No.;LN-77/26;Invoice date;20/11/2026;",
        "Packed;24/11/2026;21:30;;",
        "Gross weight: 88.5 kg;;;;",
        H,
        "1;Neon;M;5;",
    ]);
    clean(&list, &["1 Neon [M] 5"]);
    assert_eq!(list.supplier.as_deref(), Some("Lagoon Nine Aquatics"));
    assert_eq!(list.invoice.as_deref(), Some("LN-77/26"));
    assert_eq!(list.packed_at.as_deref(), Some("2026-11-24T21:30"));
    assert_eq!(list.gross_kg.map(|weight| weight.to_string()).as_deref(), Some("88.5"));
    let list = table(&["Packing list;;;;", "Exporter:;Blue Delta Fish;Consignee:;Nobody;", H, "1;Neon;M;5;"]);
    assert_eq!(list.supplier.as_deref(), Some("Blue Delta Fish"));
}

#[test]
fn gross_weight_may_come_from_the_total_row_of_its_column() {
    let list = table(&["Box;Species;Qty;G.W. (kg)", "1;Neon;50;14.2", "2;Guppy;5;13.8", "Total;;55;28"]);
    clean(&list, &["1 Neon 50", "2 Guppy 5"]);
    assert_eq!(list.gross_kg.map(|weight| weight.to_string()).as_deref(), Some("28"));
    assert_eq!(list.stated_total, Some(55));
}

#[test]
fn an_ambiguous_english_date_is_asked() {
    let list = table(&["Packed;05/06/2026;;;", H, "1;Neon;M;5;"]);
    asks(&list, &["1 Neon [M] 5"], &["05/06/2026"]);
    assert_eq!(list.packed_at, None);
    let list = table(&["Empacado;05/06/2026;;", "Caja;Especie;Talla;Cantidad", "1;Neon;M;5"]);
    assert_eq!(list.packed_at.as_deref(), Some("2026-06-05"));
}

#[test]
fn stated_totals_agree_with_or_without_the_free_fish() {
    for stated in ["55", "50"] {
        clean(&table(&[H, "1;Neon;M;50+5;", &format!("TOTAL;;;{stated};")]), &["1 Neon [M] 55 (5 free)"]);
    }
    asks(
        &table(&[H, "1;Neon;M;50+5;", "TOTAL;;;54;"]),
        &["1 Neon [M] 55 (5 free)"],
        &["states 54 fish, its lines make 55, or 50"],
    );
    assert_eq!(table(&["Total fish: 50;;;;", H, "1;Neon;M;50;"]).stated_total, Some(50));
    assert_eq!(table(&[H, "1;Neon;M;50;", "Total fish;50;;;"]).stated_total, Some(50));
    assert_eq!(table(&[H, "1;Neon;M;50;", "Total: 50 pcs in 1 box;;;;"]).stated_total, Some(50));
    let list = table(&[H, "1;Neon;M;50;", "Total weight: 14 kg;;;;", "Total USD 12.50;;;;"]);
    clean(&list, &["1 Neon [M] 50"]);
    assert_eq!(list.stated_total, None);
    assert_eq!(table(&[H, "1;Neon;M;50;"]).stated_total, None);
}

#[test]
fn subtotals_are_of_all_since_the_last_or_of_the_boxes_they_name() {
    clean(
        &table(&[
            H,
            "1;Neon;M;50;",
            "2;Guppy;M;5;",
            "Subtotal;;;55;",
            "3;Molly;M;6;",
            "Total box 1;;;50;",
            "Subtotal box 1-2;;;55;",
            "4;Danio;M;7;",
            "Total;;;68;",
        ]),
        &["1 Neon [M] 50", "2 Guppy [M] 5", "3 Molly [M] 6", "4 Danio [M] 7"],
    );
    asks(
        &table(&[H, "1;Neon;M;50;", "Subtotal;;;51;", "2;Guppy;M;5;", "Total;;;55;"]),
        &["1 Neon [M] 50", "2 Guppy [M] 5"],
        &["51"],
    );
    asks(
        &table(&[H, "1;Neon;M;50;", "Carried forward;;;49;", "2;Guppy;M;5;", "Total;;;55;"]),
        &["1 Neon [M] 50", "2 Guppy [M] 5"],
        &["49"],
    );
    let list = table(&[H, "1;Neon;M;50;", "Total;;;50;", "2;Guppy;M;5;", "Total;;;5;", "3;Molly;M;6;", "Total;;;6;"]);
    clean(&list, &["1 Neon [M] 50", "2 Guppy [M] 5", "3 Molly [M] 6"]);
    assert_eq!(list.stated_total, None);
}

#[test]
fn below_the_last_total_nothing_is_a_line() {
    let list = table(&[H, "1;Neon;M;50;", "TOTAL;;;50;", "Out of stock:;;;;", ";Guppy;M;500;"]);
    clean(&list, &["1 Neon [M] 50"]);
}

// Section 6: text files.

#[test]
fn encodings_and_separators() {
    let text = "Caixa;Espécie;Qtd\n1;Acará;5\n";
    let expected = ["1 Acará 5"];
    clean(&read(text), &expected);
    clean(&read(&format!("\u{feff}{text}")), &expected);
    let latin: Vec<u8> = text.chars().map(|character| character as u8).collect();
    clean(&packing::read("a.csv", &latin).unwrap(), &expected);
    for (mark, big) in [([0xff, 0xfe], false), ([0xfe, 0xff], true)] {
        let mut bytes = mark.to_vec();
        bytes.extend(text.encode_utf16().flat_map(|unit| if big { unit.to_be_bytes() } else { unit.to_le_bytes() }));
        clean(&packing::read("a.csv", &bytes).unwrap(), &expected);
    }
    clean(&read(&text.replace(';', ",")), &expected);
    clean(&read(&text.replace(';', "\t")), &expected);
    clean(&read(&format!("sep=;\r\n{}", text.replace('\n', "\r\n"))), &expected);
    clean(&read(&format!("sep=,\n{}", text.replace(';', ","))), &expected);
}

#[test]
fn inch_marks_do_not_open_quotes() {
    clean(
        &read("Box,Species,Size,Qty\n1,Neon,2\",50\n2,\"Discus, blue\",4.5\",3\n3,Loach,\"3\"\"\",7\n"),
        &["1 Neon [2\"] 50", "2 Discus, blue [4.5\"] 3", "3 Loach [3\"] 7"],
    );
}

#[test]
fn pasted_tables_are_parted_by_tabs_bars_or_blanks() {
    clean(
        &read("| Box | Species | Qty |\n|---|---|---|\n| 1 | Neon | 50 |\n| | Guppy | 5 |\n"),
        &["1 Neon 50", "1 Guppy 5"],
    );
    clean(
        &read(
            "Box   Species         Size   Qty\n1     Neon tetra      M      50\n      Guppy           L       5\n2     Molly                   7\n",
        ),
        &["1 Neon tetra [M] 50", "1 Guppy [L] 5", "2 Molly 7"],
    );
    clean(&read("Box\tSpecies\tQty\n1\tNeon\t50\n\tGuppy\t5\n"), &["1 Neon 50", "1 Guppy 5"]);
}

#[test]
fn free_lines_are_items_in_boxes() {
    let list = read(
        "Hello,\nAWB 900-44712080\nflight ZQ 417 at 02:40\n12 Quiet Road\nBox 1\n- 2 x 25 Neon tetra M @ $0.08\n* Guppy mixed L: 30\nBox 2-3:\n10+1 Betta; 5 pairs Apisto 4cm\nmind box 3 leaks twice 2 times?\nTotal 152 pcs, 3 boxes\nkeep at 25C\n",
    );
    asks(
        &list,
        &[
            "1 Neon tetra [M] 50 in 2 @0.08",
            "1 Guppy mixed [L] 30",
            "2 Betta 11 (1 free)",
            "3 Betta 11 (1 free)",
            "2 Apisto [4cm] 10",
            "3 Apisto [4cm] 10",
        ],
        &["mind box 3 leaks", "152"],
    );
    assert_eq!(list.awb.as_deref(), Some("900-44712080"));
    assert_eq!(list.currency.as_deref(), Some("USD"));
    assert_eq!(list.stated_total, Some(152));
}

#[test]
fn sizes_stand_at_the_end_of_an_item() {
    for (item, expected) in [
        ("50 Neon XS", "1 Neon [XS] 50"),
        ("50 Neon S/M", "1 Neon [S/M] 50"),
        ("50 Neon jumbo", "1 Neon [jumbo] 50"),
        ("50 Neon Show", "1 Neon [Show] 50"),
        ("50 Neon 3-4 cm", "1 Neon [3-4 cm] 50"),
        ("50 Neon 2in", "1 Neon [2in] 50"),
        ("50 Neon 2\"", "1 Neon [2\"] 50"),
        ("50 Neon 35mm", "1 Neon [35mm] 50"),
        ("50 Neon ML", "1 Neon [ML] 50"),
        ("50 Neon XXL", "1 Neon [XXL] 50"),
        ("50 Pleco L183", "1 Pleco L183 50"),
    ] {
        clean(&read(&format!("Box 1\n{item}")), &[expected]);
    }
}

#[test]
fn a_column_nobody_understands_is_asked_once() {
    asks(
        &table(&["Box;Species;Qty;Kd;Notes", "1;Neon;5;x4;a", ";Guppy;6;x2;b"]),
        &["1 Neon 5", "1 Guppy 6"],
        &["\"Kd\""],
    );
    asks(
        &table(&["Box;Species;Qty;", "1;Neon;5;x4", ";Guppy;6;x2"]),
        &["1 Neon 5", "1 Guppy 6"],
        &["column D has values but no heading"],
    );
    clean(&table(&["Box;Species;Qty;Kd", "1;Neon;5;", ";Guppy;6;"]), &["1 Neon 5", "1 Guppy 6"]);
}

#[test]
fn a_person_may_say_what_a_column_is() {
    let text = "Box;Species;Bags;Kd\n1;Neon;2;25\n";
    let list = packing::read("a.csv", text.as_bytes()).unwrap();
    assert!(list.lines.is_empty());
    let overrides = [ColumnOverride { sheet: None, column: "D".into(), meaning: Meaning::PerBag }];
    let understanding = packing::understand("a.csv", text.as_bytes(), &overrides).unwrap();
    clean(&understanding.list, &["1 Neon 50 in 2"]);
}

#[test]
fn talk_is_not_taken_for_a_list() {
    for talk in [
        "box 7 25 neon dead",
        "Box 7: 2 dead neon",
        "hi\nall fine\nbox 3 leaks",
        "12 boxes landed\nall in the house\nthanks 5 of you",
    ] {
        assert!(!packing::looks_like_list(talk), "{talk}");
    }
    assert!(packing::looks_like_list("Box 1:\n25 neon\nBox 2: 30 guppy"));
    assert!(packing::looks_like_list("Box\tSpecies\tQty\n1\tNeon\t5\n2\tGuppy\t6"));
}

#[test]
fn a_total_above_the_lines_does_not_end_them() {
    let list = table(&[H, "TOTAL;;;55;", "1;Neon;M;50;", "2;Guppy;M;5;"]);
    clean(&list, &["1 Neon [M] 50", "2 Guppy [M] 5"]);
    assert_eq!(list.stated_total, Some(55));
}

#[test]
fn addresses_and_times_around_free_lines_are_no_boxes_and_no_labels() {
    let list = read(
        "Shipper: Lagoon Nine Aquatics\nP.O. Box 77\nPacked 24/11/2026 at 21:30\nBox 1\n50 neon\n20 pcs\nTotal 50",
    );
    asks(&list, &["1 neon 50"], &["20 pcs"]);
    assert_eq!(list.packed_at.as_deref(), Some("2026-11-24T21:30"));
    assert_eq!(list.supplier.as_deref(), Some("Lagoon Nine Aquatics"));
}

#[test]
fn no_bags_are_no_fish_and_unreadable_bags_are_asked() {
    let list = table(&["Box;Species;Bags;Pcs/bag", "1;Neon;0;25", "2;Guppy;?;25", "3;Molly;;25"]);
    asks(&list, &["2 Guppy 25", "3 Molly 25"], &["\"0\"", "Row 2", "\"?\""]);
}

#[test]
fn boxes_named_above_the_list_are_not_counted() {
    clean(&table(&["Boxes: 1-2;;;;", H, "1;Neon;M;50;", "2;Guppy;M;5;"]), &["1 Neon [M] 50", "2 Guppy [M] 5"]);
}

// What lists by other hands taught.

#[test]
fn any_letter_or_short_word_may_stand_before_a_box_number() {
    for prefix in
        ["A", "B", "C", "D", "E", "N", "O", "S", "X", "Y", "Z", "Č", "BX", "KRT", "CTN", "Box", "Caja", "No", "Nr"]
    {
        for joined in ["-", "", " ", ".", "_", "/", " - ", "#"] {
            let list = table(&[
                "Box;Species;Qty",
                &format!("{prefix}{joined}07;Neon;5"),
                &format!("{prefix}{joined}8;Guppy;6"),
            ]);
            clean(&list, &["7 Neon 5", "8 Guppy 6"]);
        }
        let list = table(&[
            "Box;Species;Qty",
            &format!("{prefix}-01 - {prefix}-03;Neon;9"),
            &format!("{prefix}-04 mitad;Guppy;6"),
        ]);
        clean(&list, &["1 Neon 3", "2 Neon 3", "3 Neon 3", "4 Guppy 6"]);
    }
}

#[test]
fn split_boxes_may_name_several_parts() {
    for label in ["7A-C", "7A/B", "7 A+B", "7A & B", "7-A", "7 half"] {
        clean(&table(&["Box;Species;Qty", &format!("{label};Neon;5")]), &["7 Neon 5"]);
    }
}

#[test]
fn a_first_bar_is_a_frame_only_where_the_headings_have_one() {
    for text in [
        "Box | Species | Qty\n1 | Neon | 50\n | Guppy | 5\n | TOTAL | 55\n",
        "| Box | Species | Qty |\n|---|---|---|\n| 1 | Neon | 50 |\n| | Guppy | 5 |\n| | TOTAL | 55 |\n",
    ] {
        let list = read(text);
        clean(&list, &["1 Neon 50", "1 Guppy 5"]);
        assert_eq!(list.stated_total, Some(55), "{text}");
    }
}

#[test]
fn a_currency_in_any_price_of_a_free_line_counts() {
    let list = read("Box 1: 50 Neon @ 0,19 €; 5 Guppy @ 0,24\nBox 2: 5 Molly\nBox 3: 5 Danio @ 1\n");
    assert_eq!(list.currency.as_deref(), Some("EUR"), "{list:?}");
}

#[test]
fn a_label_that_stands_in_brackets_as_a_whole_names_its_box() {
    clean(
        &table(&["Box;Species;Qty", "[7];Neon;5", "(8);Guppy;6", "9 (14 kg);Molly;7"]),
        &["7 Neon 5", "8 Guppy 6", "9 Molly 7"],
    );
}

#[test]
fn of_two_columns_for_names_the_one_without_codes_is_taken() {
    let list = table(&["Box;Art.;Bezeichnung;Menge", "1;A1;Neon;50", "2;A2;Guppy;5"]);
    clean(&list, &["1 Neon 50", "2 Guppy 5"]);
}

#[test]
fn a_currency_beside_an_amount_counts_where_none_is_named_elsewhere() {
    let list = table(&["Box;Species;Qty;Price;Amount", "1;Neon;50;0.10;€ 5.00"]);
    assert_eq!(list.currency.as_deref(), Some("EUR"));
    let list = table(&["Box;Species;Qty;Price USD;Amount", "1;Neon;50;0.10;€ 5.00"]);
    assert_eq!(list.currency.as_deref(), Some("USD"));
}

#[test]
fn a_sum_in_english_is_a_total() {
    let list = table(&["Box;Species;Qty", "1;Neon;50", "SUM;;50"]);
    clean(&list, &["1 Neon 50"]);
    assert_eq!(list.stated_total, Some(50));
}

#[test]
fn free_fish_in_a_total_are_told_from_the_others() {
    for (total, stated) in [("Total 60 pcs + 1 free, 3 boxes", 60), ("Total: 60+1 pcs", 61), ("Total fish: 61", 61)] {
        let list = read(&format!("Box 1 & 2: 25 Neon M\nBox 3: 10+1 Discus 4.5\"\n{total}\n"));
        clean(&list, &["1 Neon [M] 25", "2 Neon [M] 25", "3 Discus [4.5\"] 11 (1 free)"]);
        assert_eq!(list.stated_total, Some(stated), "{total}");
    }
}
