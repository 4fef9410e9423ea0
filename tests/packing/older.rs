//! Workbooks of the nineties: BIFF5, whose strings are bytes in a code page, bare or in a compound file; and those before it.

use holdfast_bot::packing::{self, Unreadable};

use crate::kit::{asks, clean};

fn record(kind: u16, body: &[u8]) -> Vec<u8> {
    [&kind.to_le_bytes(), &(body.len() as u16).to_le_bytes(), body].concat()
}

fn place(row: u16, column: u16, style: u16) -> Vec<u8> {
    [row.to_le_bytes(), column.to_le_bytes(), style.to_le_bytes()].concat()
}

fn label(row: u16, column: u16, text: &[u8]) -> Vec<u8> {
    record(0x0204, &[place(row, column, 0), (text.len() as u16).to_le_bytes().to_vec(), text.to_vec()].concat())
}

fn number(row: u16, column: u16, style: u16, value: f64) -> Vec<u8> {
    record(0x0203, &[place(row, column, style), value.to_le_bytes().to_vec()].concat())
}

/// A whole number packed into four bytes.
fn packed(row: u16, column: u16, value: i32) -> Vec<u8> {
    record(0x027e, &[place(row, column, 0), (value << 2 | 2).to_le_bytes().to_vec()].concat())
}

const BOF: [u8; 8] = [0x00, 0x05, 0x05, 0x00, 0, 0, 0, 0];
const BOF_SHEET: [u8; 8] = [0x00, 0x05, 0x10, 0x00, 0, 0, 0, 0];

/// A book of one sheet in a code page, whose second cell style shows a format.
fn book(code_page: u16, format: &[u8], cells: &[Vec<u8>]) -> Vec<u8> {
    let style = |format: u16| record(0x00e0, &[[0, 0], format.to_le_bytes(), [0, 0], [0, 0]].concat());
    let mut globals = record(0x0809, &BOF);
    globals.extend(record(0x0042, &code_page.to_le_bytes()));
    globals.extend(record(0x041e, &[&164_u16.to_le_bytes()[..], &[format.len() as u8], format].concat()));
    globals.extend([style(0), style(164)].concat());
    let name = b"PL";
    let after = globals.len() + 4 + 7 + name.len() + 4;
    let entry = [&(after as u32).to_le_bytes()[..], &[0, 0, name.len() as u8], name].concat();
    globals.extend(record(0x0085, &entry));
    globals.extend(record(0x000a, &[]));
    globals.extend(record(0x0809, &BOF_SHEET));
    globals.extend(cells.concat());
    globals.extend(record(0x000a, &[]));
    globals
}

fn czech_list() -> Vec<u8> {
    // "Krabice;Druh;Počet;Cena", "Neónka červená" in Windows-1250.
    let headings: [&[u8]; 4] = [b"Krabice", b"Druh", b"Po\xe8et", b"Cena"];
    let mut cells: Vec<Vec<u8>> = (0..).zip(headings).map(|(column, text)| label(0, column, text)).collect();
    cells.extend([packed(1, 0, 7), label(1, 1, b"Ne\xf3nka \xe8erven\xe1"), packed(1, 2, 50), number(1, 3, 1, 6.9)]);
    book(1250, b"0.00\\ \"K\xe8\"", &cells)
}

/// A compound file (MS-CFB) with one stream: header, one sector of the table, one of the directory, then the stream.
fn compound(name: &str, stream: &[u8]) -> Vec<u8> {
    let mut stream = stream.to_vec();
    // Streams of 4096 bytes and more stand in whole sectors.
    stream.resize(stream.len().max(4096).next_multiple_of(512), 0);
    let sectors = stream.len() / 512;
    let mut header = vec![0_u8; 512];
    header[..8].copy_from_slice(&[0xd0, 0xcf, 0x11, 0xe0, 0xa1, 0xb1, 0x1a, 0xe1]);
    header[30] = 9;
    header[44] = 1;
    header[48..52].copy_from_slice(&1_u32.to_le_bytes());
    header[56..60].copy_from_slice(&4096_u32.to_le_bytes());
    header[60..64].copy_from_slice(&0xffff_fffe_u32.to_le_bytes());
    header[68..72].copy_from_slice(&0xffff_fffe_u32.to_le_bytes());
    header[76..].fill(0xff);
    header[76..80].copy_from_slice(&0_u32.to_le_bytes());
    let mut table = vec![0xffff_fffd_u32, 0xffff_fffe];
    table.extend((1..sectors as u32).map(|sector| 2 + sector));
    table.push(0xffff_fffe);
    table.resize(128, 0xffff_ffff);
    let entry = |name: &str, kind: u8, start: u32, size: u32| {
        let mut entry = vec![0_u8; 128];
        for (at, unit) in name.encode_utf16().enumerate() {
            entry[2 * at..2 * at + 2].copy_from_slice(&unit.to_le_bytes());
        }
        entry[64] = 2 * (name.len() as u8 + 1);
        entry[66] = kind;
        entry[116..120].copy_from_slice(&start.to_le_bytes());
        entry[120..124].copy_from_slice(&size.to_le_bytes());
        entry
    };
    let mut directory = entry("Root Entry", 5, 0xffff_fffe, 0);
    directory.extend(entry(name, 2, 2, stream.len() as u32));
    directory.resize(512, 0);
    let table: Vec<u8> = table.into_iter().flat_map(u32::to_le_bytes).collect();
    [header, table, directory, stream].concat()
}

#[test]
fn strings_of_biff5_are_read_in_the_code_page_of_the_book() {
    for bytes in [czech_list(), compound("Book", &czech_list())] {
        let list = packing::read("list.xls", &bytes).unwrap();
        clean(&list, &["7 Neónka červená 50 @6.9"]);
        assert_eq!(list.currency.as_deref(), Some("CZK"));
    }
}

#[test]
fn biff5_holds_formulas_with_their_values_and_errors() {
    let formula =
        |row, column, value: [u8; 8]| record(0x0006, &[place(row, column, 0), value.to_vec(), vec![0; 8]].concat());
    let headings: [&[u8]; 3] = [b"Box", b"Species", b"Qty"];
    let mut cells: Vec<Vec<u8>> = (0..).zip(headings).map(|(column, text)| label(0, column, text)).collect();
    cells.extend([packed(1, 0, 1), formula(1, 1, [0, 0, 0, 0, 0, 0, 0xff, 0xff]), record(0x0207, b"\x04\x00Neon")]);
    cells.push(formula(1, 2, 50_f64.to_le_bytes()));
    cells.extend([packed(2, 0, 2), label(2, 1, b"Guppy"), formula(2, 2, [2, 0, 0x17, 0, 0, 0, 0xff, 0xff])]);
    let list = packing::read("list.xls", &book(1252, b"0.00", &cells)).unwrap();
    asks(&list, &["1 Neon 50"], &["Guppy", "#REF!"]);
}

#[test]
fn books_older_than_biff5_are_refused_with_advice() {
    for bof in [[0x09_u8, 0x00], [0x09, 0x02], [0x09, 0x04]] {
        let stream = [&bof[..], &[6, 0, 0, 0, 0x10, 0, 0, 0]].concat();
        let error = packing::read("list.xls", &stream).unwrap_err();
        assert_eq!(error, Unreadable::Ancient);
        assert!(error.to_string().contains("save it as .xlsx"));
    }
}
