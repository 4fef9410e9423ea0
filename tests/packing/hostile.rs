//! Files made to be large: refused, or read at the price of what is really in them.

use std::io::{Cursor, Write};
use std::time::{Duration, Instant};

use holdfast_bot::packing::{self, Unreadable};
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

use crate::kit::{clean, read};

fn package(parts: &[(&str, &str)]) -> Vec<u8> {
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, text) in parts {
        writer.start_file(*name, SimpleFileOptions::default().compression_level(Some(1))).unwrap();
        writer.write_all(text.as_bytes()).unwrap();
    }
    writer.finish().unwrap().into_inner()
}

const WORKBOOK: &str = r#"<workbook><sheets><sheet name="PL" r:id="rId1"/></sheets></workbook>"#;
const RELATIONS: &str =
    r#"<Relationships><Relationship Id="rId1" Type="x/worksheet" Target="worksheets/sheet1.xml"/></Relationships>"#;

/// A workbook of one sheet, from the inside of its `worksheet` element.
fn xlsx(sheet: &str) -> Vec<u8> {
    let sheet = format!("<worksheet>{sheet}</worksheet>");
    package(&[
        ("xl/workbook.xml", WORKBOOK),
        ("xl/_rels/workbook.xml.rels", RELATIONS),
        ("xl/worksheets/sheet1.xml", &sheet),
    ])
}

fn ods(table: &str) -> Vec<u8> {
    let content = format!(
        "<office:document-content><office:body><office:spreadsheet><table:table table:name=\"PL\">{table}</table:table></office:spreadsheet></office:body></office:document-content>"
    );
    package(&[("content.xml", &content)])
}

fn cell(text: &str) -> String {
    format!("<table:table-cell office:value-type=\"string\"><text:p>{text}</text:p></table:table-cell>")
}

fn row(cells: &[&str]) -> String {
    format!("<table:table-row>{}</table:table-row>", cells.iter().map(|text| cell(text)).collect::<String>())
}

#[track_caller]
fn within(seconds: u64, work: impl FnOnce()) {
    let start = Instant::now();
    work();
    assert!(start.elapsed() < Duration::from_secs(seconds), "{:?}", start.elapsed());
}

fn inline(reference: &str, text: &str) -> String {
    format!("<c r=\"{reference}\" t=\"inlineStr\"><is><t>{text}</t></is></c>")
}

fn small_list() -> String {
    let row = |number: u32, cells: [&str; 3]| {
        let cells: String = ["A", "B", "C"]
            .iter()
            .zip(cells)
            .map(|(column, text)| inline(&format!("{column}{number}"), text))
            .collect();
        format!("<row r=\"{number}\">{cells}</row>")
    };
    row(1, ["Box", "Species", "Qty"]) + &row(2, ["1", "Neon", "50"])
}

#[test]
fn a_claimed_size_and_far_cells_mean_nothing() {
    let far = inline("XFD1048576", "far");
    let sheet = format!(
        "<dimension ref=\"A1:XFD1048576\"/><sheetData>{}<row r=\"1048576\">{far}</row></sheetData>",
        small_list()
    );
    within(2, || clean(&packing::read("a.xlsx", &xlsx(&sheet)).unwrap(), &["1 Neon 50"]));
}

#[test]
fn merges_over_whole_sheets_cost_nothing() {
    let merges: String = (0..50_000).map(|_| "<mergeCell ref=\"A1:XFD1048576\"/>").collect();
    let sheet = format!("<sheetData>{}</sheetData><mergeCells>{merges}</mergeCells>", small_list());
    within(5, || {
        let _ = packing::read("a.xlsx", &xlsx(&sheet)).unwrap();
    });
}

#[test]
fn a_package_that_unpacks_to_too_much_is_refused() {
    let sheet = format!("<sheetData>{}</sheetData>", " ".repeat(70 << 20));
    let bytes = xlsx(&sheet);
    assert!(bytes.len() < 1 << 20);
    within(20, || assert_eq!(packing::read("a.xlsx", &bytes).unwrap_err(), Unreadable::TooLarge));
}

#[test]
fn more_cells_than_any_list_has_are_refused() {
    let sheet = format!("<sheetData><row r=\"1\">{}</row></sheetData>", "<c><v>1</v></c>".repeat(500_000));
    within(20, || assert_eq!(packing::read("a.xlsx", &xlsx(&sheet)).unwrap_err(), Unreadable::TooLarge));
}

#[test]
fn repeated_blank_cells_of_a_document_are_free_and_repeated_values_are_refused() {
    let list = row(&["Box", "Species", "Qty"]) + &row(&["1", "Neon", "50"]);
    let blanks = "<table:table-row table:number-rows-repeated=\"1048000\"><table:table-cell table:number-columns-repeated=\"16384\"/></table:table-row>";
    within(2, || {
        clean(
            &packing::read("a.ods", &ods(&format!("{list}{blanks}{}", row(&["2", "Guppy", "5"])))).unwrap(),
            &["1 Neon 50", "2 Guppy 5"],
        )
    });
    let values = "<table:table-row table:number-rows-repeated=\"1048000\"><table:table-cell table:number-columns-repeated=\"16384\" office:value-type=\"float\" office:value=\"1\"><text:p>1</text:p></table:table-cell></table:table-row>";
    within(10, || {
        assert_eq!(packing::read("a.ods", &ods(&format!("{list}{values}"))).unwrap_err(), Unreadable::TooLarge)
    });
}

#[test]
fn comments_and_drawings_are_not_the_text_of_a_cell() {
    let noted = "<table:table-cell office:value-type=\"string\"><office:annotation><text:p>look here</text:p></office:annotation><text:p>Neon<text:s/>tetra</text:p></table:table-cell>";
    let list = row(&["Box", "Species", "Qty"])
        + &format!("<table:table-row>{}{noted}{}</table:table-row>", cell("1"), cell("50"));
    clean(&packing::read("a.ods", &ods(&list)).unwrap(), &["1 Neon tetra 50"]);
}

#[test]
fn formulas_of_a_document_without_a_value_are_asked_about() {
    let formula = "<table:table-cell table:formula=\"of:=1+1\"/>";
    let error = "<table:table-cell table:formula=\"of:=A0\" office:value-type=\"string\" office:string-value=\"\"><text:p>#REF!</text:p></table:table-cell>";
    for broken in [formula, error] {
        let list = row(&["Box", "Species", "Qty"])
            + &row(&["1", "Neon", "50"])
            + &format!("<table:table-row>{}{}{broken}</table:table-row>", cell("2"), cell("Guppy"));
        let list = packing::read("a.ods", &ods(&list)).unwrap();
        assert_eq!(list.lines.len(), 1);
        assert_eq!(list.questions.len(), 2, "{:?}", list.questions);
    }
}

#[test]
fn hidden_tables_of_a_document_are_passed_over() {
    let table = |name: &str, style: &str, species: &str| {
        format!(
            "<table:table table:name=\"{name}\" table:style-name=\"{style}\">{}{}</table:table>",
            row(&["Box", "Species", "Qty"]),
            row(&["1", species, "50"])
        )
    };
    let content = format!(
        "<office:document-content><office:automatic-styles><style:style style:name=\"h\"><style:table-properties table:display=\"false\"/></style:style></office:automatic-styles><office:body><office:spreadsheet>{}{}</office:spreadsheet></office:body></office:document-content>",
        table("A", "h", "Old"),
        table("B", "v", "Neon")
    );
    clean(&packing::read("a.ods", &package(&[("content.xml", &content)])).unwrap(), &["1 Neon 50"]);
}

#[test]
fn cells_that_other_readers_stumble_over_are_read() {
    let odd = "<row r=\"3\"><c r=\"A3\" t=\"n\"><v>2</v><extLst/></c><c r=\"B3\" t=\"inlineStr\"><is><r><t>Gup</t></r><r><t>py</t></r></is></c><c r=\"C3\" t=\"e\"><f>X()</f><v>Err:509</v></c></row>";
    let list = packing::read("a.xlsx", &xlsx(&format!("<sheetData>{}{odd}</sheetData>", small_list()))).unwrap();
    assert_eq!(list.lines.len(), 1);
    assert_eq!(list.questions.len(), 2, "{:?}", list.questions);
    assert!(list.questions.iter().any(|question| question.contains("Err:509")));
}

#[test]
fn large_texts_are_read_or_refused_in_time() {
    let list = format!("Box;Species;Qty\n{}", "1;Neon;5\n".repeat(5_000));
    within(20, || assert_eq!(read(&list).lines.len(), 5_000));
    let dense = "1;2;3;4;5;6;7;8;9;10\n".repeat(60_000);
    within(20, || assert_eq!(packing::read("a.csv", dense.as_bytes()).unwrap_err(), Unreadable::TooLarge));
    let quotes = "\"a;".repeat(50_000);
    within(20, || {
        let _ = packing::read("a.csv", quotes.as_bytes());
    });
    let boxes = format!("Box;Species;Pcs/box\n{}", "1-500;Neon;5\n".repeat(200));
    within(20, || assert_eq!(packing::read("a.csv", boxes.as_bytes()).unwrap_err(), Unreadable::TooLarge));
    let words = "neon tetra box 7 ".repeat(20_000);
    within(20, || {
        let _ = packing::read("a.txt", words.as_bytes());
    });
}

#[test]
fn locked_workbooks_say_so() {
    let mut document = package(&[("META-INF/manifest.xml", "<manifest:encryption-data/>"), ("content.xml", "?")]);
    assert_eq!(packing::read("a.ods", &document).unwrap_err(), Unreadable::Locked);
    document.truncate(100);
    assert!(matches!(packing::read("a.ods", &document).unwrap_err(), Unreadable::Damaged(_)));
}

#[test]
fn currencies_of_a_document_are_those_of_its_cells_or_styles() {
    let rows = |price: &str| {
        row(&["Box", "Species", "Qty", "Price"])
            + &format!("<table:table-row>{}{}{}{price}</table:table-row>", cell("1"), cell("Neon"), cell("50"))
    };
    let document = |price: &str| {
        let styles = "<office:automatic-styles><number:currency-style style:name=\"N1\"><number:number number:decimal-places=\"2\"/><number:text> </number:text><number:currency-symbol number:language=\"cs\">Kč</number:currency-symbol></number:currency-style><style:style style:name=\"ce1\" style:family=\"table-cell\" style:data-style-name=\"N1\"/></office:automatic-styles>";
        package(&[(
            "content.xml",
            &format!(
                "<office:document-content>{styles}<office:body><office:spreadsheet><table:table table:name=\"PL\">{}</table:table></office:spreadsheet></office:body></office:document-content>",
                rows(price)
            ),
        )])
    };
    for (price, code) in [
        (
            "<table:table-cell office:value-type=\"currency\" office:currency=\"EUR\" office:value=\"0.5\"><text:p>0,50</text:p></table:table-cell>",
            Some("EUR"),
        ),
        (
            "<table:table-cell table:style-name=\"ce1\" office:value-type=\"float\" office:value=\"0.5\"><text:p>0,50 Kč</text:p></table:table-cell>",
            Some("CZK"),
        ),
        (
            "<table:table-cell office:value-type=\"float\" office:value=\"0.5\"><text:p>0,50</text:p></table:table-cell>",
            None,
        ),
    ] {
        let list = packing::read("list.ods", &document(price)).unwrap();
        clean(&list, &["1 Neon 50 @0.5"]);
        assert_eq!(list.currency.as_deref(), code);
    }
}

#[test]
fn a_cell_that_names_a_missing_text_is_asked_about_and_the_rest_is_read() {
    let sheet = format!(
        "<sheetData>{}<row r=\"3\"><c r=\"A3\"><v>2</v></c><c r=\"B3\" t=\"s\"><v>9999</v></c><c r=\"C3\"><v>5</v></c></row><row r=\"4\"><c r=\"A4\"><v>3</v></c>{}<c r=\"C4\" t=\"s\"><v>9</v></c></row></sheetData>",
        small_list(),
        inline("B4", "Guppy")
    );
    let list = packing::read("a.xlsx", &xlsx(&sheet)).unwrap();
    crate::kit::asks(&list, &["1 Neon 50"], &["subtotal says 5", "Guppy has no quantity", "no text", "no text"]);
}
