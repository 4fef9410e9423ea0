//! Questions about a packing list. Each names the place and, where numbers differ, both of them.

/// Where something stands: the sheet, if the file has sheets, and the row as the spreadsheet counts it.
pub fn place(sheet: Option<&str>, row: u32) -> String {
    match sheet {
        Some(sheet) => format!("Sheet {sheet}, row {row}"),
        None => format!("Row {row}"),
    }
}

/// A file that could not be read, and why.
pub fn unread(file: &str, reason: &str) -> String {
    format!("{file} was not read: {reason}. Can it be sent again?")
}

/// A file that the house kept and finds no more.
pub fn gone(file: &str) -> String {
    format!("{file} is not kept any more. Can it be sent again?")
}

/// A file with nothing in it.
pub fn empty() -> String {
    "There is nothing in it. Was another file meant?".to_owned()
}

/// No heading row.
pub fn no_headings() -> String {
    "No row of headings with a species and a quantity was found, so this is not taken for a packing list. Is it one?"
        .to_owned()
}

/// Headings, but no boxes.
pub fn no_boxes() -> String {
    "It names species and quantities but no boxes, so this is not taken for a packing list. Which boxes are they in?"
        .to_owned()
}

/// Headings and boxes, but no lines.
pub fn no_lines() -> String {
    "No line with a species and a quantity was found. Is a part missing?".to_owned()
}

/// A row left out because it has no readable quantity.
pub fn no_quantity(place: &str, species: &str, typed: Option<&str>) -> String {
    match typed {
        Some(typed) => format!(
            "{place}: the quantity of {species} reads \"{typed}\", which is not a number of fish. The row is left out. How many are there?"
        ),
        None => format!("{place}: {species} has no quantity. The row is left out. How many are there?"),
    }
}

/// A row with more fish than a line usually has.
pub fn many_fish(place: &str, species: &str, fish: u64) -> String {
    format!("{place}: {fish} {species} on one line, more than 3000. Is that right?")
}

/// A cell too long for a name.
pub fn long_name(place: &str, characters: usize) -> String {
    format!("{place}: the species has {characters} characters, over 200. The row is left out. Which fish is it?")
}

/// A box label that the spreadsheet turned into a date.
pub fn box_is_a_date(place: &str, typed: &str) -> String {
    format!("{place}: the box reads {typed}, a date. Which boxes were meant?")
}

/// A box label without a readable number.
pub fn box_without_number(place: &str, typed: &str) -> String {
    format!("{place}: no box number can be read from \"{typed}\". Which box is it?")
}

/// A line above the first box.
pub fn no_box_yet(place: &str) -> String {
    format!("{place}: no box is named here or above. Which box is it?")
}

/// A size that the spreadsheet turned into a date.
pub fn size_is_a_date(place: &str, typed: &str) -> String {
    format!("{place}: the size reads {typed}, a date. Which size was meant?")
}

/// Bags that cannot be read.
pub fn bags_unclear(place: &str, typed: &str) -> String {
    format!("{place}: no bags can be read from \"{typed}\". How many, or which number?")
}

/// A total beside bags times pieces that make something else.
pub fn total_differs_from_product(place: &str, total: u64, product: u64) -> String {
    format!(
        "{place}: the total says {total} fish, the other columns make {product}. The total is kept. Which is right?"
    )
}

/// A total that does not divide over its boxes.
pub fn not_divisible(place: &str, fish: u64, boxes: u64) -> String {
    format!(
        "{place}: {fish} fish do not divide over {boxes} boxes. They are kept as one line without a box. How many are in each?"
    )
}

/// A subtotal that differs from its lines.
pub fn subtotal_differs(place: &str, stated: u64, counted: u64) -> String {
    format!("{place}: the subtotal says {stated}, the lines above make {counted}. Which is right?")
}

/// A sum carried forward that differs from all lines so far.
pub fn carried_differs(place: &str, stated: u64, counted: u64) -> String {
    format!("{place}: {stated} are carried forward, the lines so far make {counted}. Which is right?")
}

/// A stated total that the lines do not make, with or without the free fish.
pub fn stated_total_differs(stated: u64, fish: u64, free: u64) -> String {
    match free {
        0 => format!("The list states {stated} fish, its lines make {fish}. Is a line missing or wrong?"),
        free => format!(
            "The list states {stated} fish, its lines make {fish}, or {} without the free ones. Is a line missing or wrong?",
            fish - free
        ),
    }
}

/// Two totals that differ.
pub fn two_totals(above: u64, below: u64) -> String {
    format!("Above the lines the list states {above} fish, below them {below}. Which is right?")
}

/// A stated number of boxes that differs from the boxes listed.
pub fn boxes_differ(place: &str, stated: u64, listed: u64) -> String {
    let boxes = if stated == 1 { "1 box is stated".to_owned() } else { format!("{stated} boxes are stated") };
    let listed = if listed == 1 { "1 is listed".to_owned() } else { format!("{listed} are listed") };
    format!("{place}: {boxes}, {listed}. Is one missing?")
}

/// Lines below a total that was taken for the last one.
pub fn lines_after_total(place: &str, total_row: u32) -> String {
    format!(
        "{place}: fish with a box of their own stand below the total of row {total_row} and are left out. Are they part of the consignment?"
    )
}

/// A column with values that nobody understands. `heading` may be empty.
pub fn column_not_understood(sheet: Option<&str>, column: &str, heading: &str, first_row: u32) -> String {
    let place = place(sheet, first_row);
    if heading.is_empty() {
        format!("{place}: column {column} has values but no heading. It is left aside. What is it?")
    } else {
        format!("{place}: column {column}, \"{heading}\", is not understood. It is left aside. What is it?")
    }
}

/// Formulas without saved values, or error values, read as blank.
pub fn values_missing(
    sheet: Option<&str>,
    column: &str,
    heading: &str,
    count: u32,
    first_row: u32,
    what: &str,
) -> String {
    let place = place(sheet, first_row);
    let heading = if heading.is_empty() { String::new() } else { format!(", \"{heading}\"") };
    let cells = if count == 1 { "1 cell".to_owned() } else { format!("{count} cells from there on") };
    format!(
        "{place}: column {column}{heading} has no usable value in {cells} ({what}); read as blank. Can the file be saved again with its values?"
    )
}

/// A price that cannot be read.
pub fn price_unreadable(place: &str, typed: &str) -> String {
    format!("{place}: no price can be read from \"{typed}\". What is it?")
}

/// Two prices on the invoice for one fish.
pub fn two_prices(species: &str, size: Option<&str>, one: &str, other: &str) -> String {
    let size = size.map(|size| format!(" {size}")).unwrap_or_default();
    format!("The invoice has two prices for {species}{size}: {one} and {other}. Which holds?")
}

/// Several currencies.
pub fn two_currencies(codes: &[&str]) -> String {
    format!("Prices are named in {}. Which currency holds?", codes.join(" and "))
}

/// An airway bill whose check digit is wrong.
pub fn awb_check_digit(place: &str, typed: &str) -> String {
    format!("{place}: the check digit of airway bill {typed} is wrong. Is it typed right?")
}

/// Something labelled as an airway bill that has not eleven digits.
pub fn awb_form(place: &str, typed: &str) -> String {
    format!("{place}: airway bill {typed} has not the usual eleven digits. Is it typed right?")
}

/// Two airway bills.
pub fn two_awbs(first: &str, second: &str) -> String {
    format!("Two airway bills are named, {first} and {second}. The first is kept. Which is right?")
}

/// A packing date that may be read in two ways.
pub fn date_ambiguous(place: &str, typed: &str) -> String {
    format!("{place}: {typed} may be day first or month first. When was it packed?")
}

/// A packing date that cannot be read.
pub fn date_unreadable(place: &str, typed: &str) -> String {
    format!("{place}: no date can be read from \"{typed}\". When was it packed?")
}

/// A gross weight in something else than kilograms.
pub fn weight_not_kilograms(place: &str, typed: &str) -> String {
    format!("{place}: the gross weight reads {typed}. How many kilograms is it?")
}

/// An invoice total that agrees with neither sum.
pub fn invoice_total_differs(place: &str, stated: u64, fish: u64, free: u64) -> String {
    match free {
        0 => format!("{place}: the invoice counts {stated} fish, the packing list {fish}. Which is right?"),
        free => format!(
            "{place}: the invoice counts {stated} fish, the packing list {fish}, or {} without the free ones. Which is right?",
            fish - free
        ),
    }
}

/// Sheets that list the same boxes.
pub fn same_boxes(sheets: &[String]) -> String {
    format!("Sheets {} list the same boxes. The first is read. Is it the right one?", sheets.join(" and "))
}

/// A pasted line that is neither a box nor an item.
pub fn line_not_understood(line: u32, text: &str) -> String {
    format!("Line {line} is not understood: \"{text}\". What is meant?")
}

/// More doubts than anyone reads at once.
pub fn more_questions(count: usize) -> String {
    let questions = super::counted(u64::try_from(count).unwrap_or(u64::MAX), "question", "questions");
    let questions = questions.replacen(' ', " more ", 1);
    format!("And {questions} of this kind. Is it the right file?")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_question_names_its_place_and_both_numbers() {
        let place = place(Some("PL"), 12);
        let all = [
            unread("a.xls", "it is locked with a password"),
            gone("a.xls"),
            empty(),
            no_headings(),
            no_boxes(),
            no_lines(),
            no_quantity(&place, "Neon tetra", Some("TBA")),
            no_quantity(&place, "Neon tetra", None),
            many_fish(&place, "Neon tetra", 4000),
            long_name(&place, 240),
            box_is_a_date(&place, "2026-01-04"),
            box_without_number(&place, "loose"),
            no_box_yet(&place),
            size_is_a_date(&place, "2026-06-05"),
            bags_unclear(&place, "?a"),
            total_differs_from_product(&place, 90, 100),
            not_divisible(&place, 100, 3),
            subtotal_differs(&place, 500, 510),
            carried_differs(&place, 500, 510),
            stated_total_differs(500, 510, 0),
            stated_total_differs(500, 510, 5),
            two_totals(500, 510),
            boxes_differ(&place, 12, 11),
            lines_after_total(&place, 9),
            column_not_understood(None, "F", "Kd", 7),
            column_not_understood(Some("PL"), "F", "", 7),
            values_missing(Some("PL"), "G", "Total", 3, 7, "#REF!"),
            price_unreadable(&place, "TBA"),
            two_prices("Neon tetra", Some("M"), "0.07", "0.08"),
            two_currencies(&["EUR", "USD"]),
            awb_check_digit(&place, "900-44712081"),
            awb_form(&place, "900-447"),
            two_awbs("900-44712080", "930-61200370"),
            date_ambiguous(&place, "05/06/2026"),
            date_unreadable(&place, "32/13"),
            weight_not_kilograms(&place, "250 lbs"),
            invoice_total_differs(&place, 500, 510, 5),
            same_boxes(&["A".to_owned(), "B".to_owned()]),
            line_not_understood(4, "7 maybe 8"),
            more_questions(12),
        ];
        insta::assert_snapshot!(all.join("\n"), @r#"
        a.xls was not read: it is locked with a password. Can it be sent again?
        a.xls is not kept any more. Can it be sent again?
        There is nothing in it. Was another file meant?
        No row of headings with a species and a quantity was found, so this is not taken for a packing list. Is it one?
        It names species and quantities but no boxes, so this is not taken for a packing list. Which boxes are they in?
        No line with a species and a quantity was found. Is a part missing?
        Sheet PL, row 12: the quantity of Neon tetra reads "TBA", which is not a number of fish. The row is left out. How many are there?
        Sheet PL, row 12: Neon tetra has no quantity. The row is left out. How many are there?
        Sheet PL, row 12: 4000 Neon tetra on one line, more than 3000. Is that right?
        Sheet PL, row 12: the species has 240 characters, over 200. The row is left out. Which fish is it?
        Sheet PL, row 12: the box reads 2026-01-04, a date. Which boxes were meant?
        Sheet PL, row 12: no box number can be read from "loose". Which box is it?
        Sheet PL, row 12: no box is named here or above. Which box is it?
        Sheet PL, row 12: the size reads 2026-06-05, a date. Which size was meant?
        Sheet PL, row 12: no bags can be read from "?a". How many, or which number?
        Sheet PL, row 12: the total says 90 fish, the other columns make 100. The total is kept. Which is right?
        Sheet PL, row 12: 100 fish do not divide over 3 boxes. They are kept as one line without a box. How many are in each?
        Sheet PL, row 12: the subtotal says 500, the lines above make 510. Which is right?
        Sheet PL, row 12: 500 are carried forward, the lines so far make 510. Which is right?
        The list states 500 fish, its lines make 510. Is a line missing or wrong?
        The list states 500 fish, its lines make 510, or 505 without the free ones. Is a line missing or wrong?
        Above the lines the list states 500 fish, below them 510. Which is right?
        Sheet PL, row 12: 12 boxes are stated, 11 are listed. Is one missing?
        Sheet PL, row 12: fish with a box of their own stand below the total of row 9 and are left out. Are they part of the consignment?
        Row 7: column F, "Kd", is not understood. It is left aside. What is it?
        Sheet PL, row 7: column F has values but no heading. It is left aside. What is it?
        Sheet PL, row 7: column G, "Total" has no usable value in 3 cells from there on (#REF!); read as blank. Can the file be saved again with its values?
        Sheet PL, row 12: no price can be read from "TBA". What is it?
        The invoice has two prices for Neon tetra M: 0.07 and 0.08. Which holds?
        Prices are named in EUR and USD. Which currency holds?
        Sheet PL, row 12: the check digit of airway bill 900-44712081 is wrong. Is it typed right?
        Sheet PL, row 12: airway bill 900-447 has not the usual eleven digits. Is it typed right?
        Two airway bills are named, 900-44712080 and 930-61200370. The first is kept. Which is right?
        Sheet PL, row 12: 05/06/2026 may be day first or month first. When was it packed?
        Sheet PL, row 12: no date can be read from "32/13". When was it packed?
        Sheet PL, row 12: the gross weight reads 250 lbs. How many kilograms is it?
        Sheet PL, row 12: the invoice counts 500 fish, the packing list 510, or 505 without the free ones. Which is right?
        Sheets A and B list the same boxes. The first is read. Is it the right one?
        Line 4 is not understood: "7 maybe 8". What is meant?
        And 12 more questions of this kind. Is it the right file?
        "#);
    }
}
