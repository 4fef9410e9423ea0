//! Laws: what is written in any layout reads back equal, and nothing that can be sent brings the reader down.

use std::time::{Duration, Instant};

use holdfast_bot::packing;
use holdfast_core::consignment::PackingList;
use proptest::prelude::*;

use crate::kit::Book;

/// Headings of one language: box, species, scientific, size, bags, per bag, quantity, price, total.
const LANGUAGES: [[&str; 9]; 6] = [
    ["C/No.", "Description", "Scientific name", "Size", "Bags/box", "Pcs/bag", "Qty", "Unit price", "Grand total"],
    [
        "Caja",
        "Nombre común",
        "Nombre científico",
        "Talla",
        "Bolsas por caja",
        "Cant. por bolsa",
        "Cantidad",
        "Precio",
        "Total general",
    ],
    ["Caixa", "Nome comum", "Nome científico", "Tamanho", "Sacos/caixa", "Un por saco", "Qtd.", "Preço", "Total geral"],
    [
        "Dus",
        "Nama ikan",
        "Nama ilmiah",
        "Ukuran",
        "Kantong per dus",
        "Isi per kantong",
        "Jumlah ekor",
        "Harga",
        "Jumlah",
    ],
    ["Krabice", "Druh", "Vědecký název", "Velikost", "Sáčky/krabice", "Ks v sáčku", "Počet ks", "Cena", "Celkem"],
    [
        "Karton",
        "Bezeichnung",
        "Wissenschaftlicher Name",
        "Größe",
        "Beutel/Karton",
        "Stück je Beutel",
        "Menge",
        "Preis",
        "Gesamt",
    ],
];

#[derive(Debug, Clone)]
struct Fish {
    name: &'static str,
    scientific: Option<&'static str>,
    size: Option<&'static str>,
    boxes: u32,
    bags: u32,
    per_bag: u32,
    free: u32,
    cents: Option<u32>,
}

#[derive(Debug, Clone, Copy)]
struct Layout {
    language: usize,
    by_bags: bool,
    boxes_as_headings: bool,
    ditto: bool,
    decimal_comma: bool,
    workbook: bool,
    total: bool,
    reversed: bool,
}

fn fish() -> impl Strategy<Value = Fish> {
    (
        prop::sample::select(vec![
            "Neon tetra",
            "Boxfish",
            "Sumatra barb",
            "Skalára, zlatá",
            "Neón cardenal",
            "Größerer Dornwels",
            "Ikan mas \"koki\"",
            "L046",
        ]),
        prop::option::of(prop::sample::select(vec!["Paracheirodon innesi", "Rineloricaria sp."])),
        prop::option::of(prop::sample::select(vec!["M", "S/M", "2\"", "5-6cm", "4.5\"", "10-12 cm", "XL"])),
        1..4_u32,
        1..6_u32,
        1..120_u32,
        0..3_u32,
        prop::option::of(1..5000_u32),
    )
        .prop_map(|(name, scientific, size, boxes, bags, per_bag, free, cents)| Fish {
            name,
            scientific,
            size,
            boxes,
            bags,
            per_bag,
            free,
            cents,
        })
}

fn layout() -> impl Strategy<Value = Layout> {
    (0..6_usize, any::<[bool; 7]>()).prop_map(
        |(language, [by_bags, boxes_as_headings, ditto, decimal_comma, workbook, total, reversed])| Layout {
            language,
            by_bags,
            boxes_as_headings,
            ditto,
            decimal_comma,
            workbook,
            total,
            reversed,
        },
    )
}

fn price(cents: u32, layout: Layout) -> String {
    let mark = if layout.decimal_comma { ',' } else { '.' };
    format!("{}{mark}{:02}", cents / 100, cents % 100)
}

/// The rows as people write them, and the lines that they mean: box, name, scientific, size, fish, free, bags, price.
type Meant = (Option<u32>, String, Option<String>, Option<String>, u32, u32, Option<u32>, Option<String>);

fn write(consignment: &[Fish], layout: Layout) -> (Vec<Vec<String>>, Vec<Meant>) {
    let words = LANGUAGES[layout.language];
    let mut headings = vec![words[1], words[2], words[3]];
    headings.extend(if layout.by_bags { vec![words[4], words[5]] } else { vec![words[6]] });
    headings.push(words[7]);
    if !layout.boxes_as_headings {
        headings.insert(0, words[0]);
    }
    let mut rows = vec![headings.iter().map(|text| text.to_string()).collect::<Vec<_>>()];
    let mut meant = Vec::new();
    let (mut next_box, mut total) = (1, 0);
    for fish in consignment {
        let last = next_box + fish.boxes - 1;
        let label = if fish.boxes == 1 { next_box.to_string() } else { format!("{next_box}-{last}") };
        let sum = |count: u32, free: u32| if free > 0 { format!("{count}+{free}") } else { count.to_string() };
        let per_box = fish.per_bag * fish.bags;
        let mut row =
            vec![fish.name.to_owned(), fish.scientific.unwrap_or("").to_owned(), fish.size.unwrap_or("").to_owned()];
        if layout.by_bags {
            row.extend([fish.bags.to_string(), sum(fish.per_bag, fish.free)]);
        } else {
            row.push(sum(per_box * fish.boxes, fish.free * fish.boxes));
        }
        row.push(fish.cents.map(|cents| price(cents, layout)).unwrap_or_default());
        if layout.boxes_as_headings {
            let mut heading = vec![String::new(); row.len()];
            heading[0] = format!("{} {label}", words[0]);
            rows.push(heading);
        } else {
            row.insert(0, label);
        }
        rows.push(row.clone());
        // The same fish again in the same boxes, by a blank or a ditto mark.
        if layout.ditto {
            let name = usize::from(!layout.boxes_as_headings);
            if name == 1 {
                row[0] = "\"".to_owned();
            }
            row[name] = "do.".to_owned();
            rows.push(row);
        }
        let free = if layout.by_bags { fish.free * fish.bags } else { fish.free };
        for _ in 0..if layout.ditto { 2 } else { 1 } {
            for number in next_box..=last {
                let bags = layout.by_bags.then_some(fish.bags);
                let price = fish.cents.map(decimal);
                meant.push((
                    Some(number),
                    fish.name.to_owned(),
                    fish.scientific.map(str::to_owned),
                    fish.size.map(str::to_owned),
                    per_box + free,
                    free,
                    bags,
                    price,
                ));
                total += per_box + free;
            }
        }
        next_box = last + 1;
    }
    if layout.total {
        let width = rows[0].len();
        let mut row = vec![String::new(); width];
        row[usize::from(!layout.boxes_as_headings)] = words[8].to_owned();
        row[width - 2] = total.to_string();
        rows.push(row);
    }
    if layout.reversed {
        rows.iter_mut().for_each(|row| row.reverse());
    }
    (rows, meant)
}

fn decimal(cents: u32) -> String {
    let text = format!("{}.{:02}", cents / 100, cents % 100);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn csv(rows: &[Vec<String>]) -> Vec<u8> {
    let quote = |cell: &String| {
        if cell.contains([';', '"', '\n']) { format!("\"{}\"", cell.replace('"', "\"\"")) } else { cell.clone() }
    };
    rows.iter().map(|row| row.iter().map(quote).collect::<Vec<_>>().join(";") + "\r\n").collect::<String>().into_bytes()
}

fn xlsx(rows: &[Vec<String>]) -> Vec<u8> {
    let rows: Vec<String> = rows.iter().map(|row| row.join(";")).collect();
    Book::new().sheet("Packing list", &rows.iter().map(String::as_str).collect::<Vec<_>>()).bytes()
}

fn lines(list: &PackingList) -> Vec<Meant> {
    list.lines
        .iter()
        .map(|line| {
            let price = line.unit_price.map(|price| price.normalize().to_string());
            (
                line.number,
                line.species.clone(),
                line.scientific.clone(),
                line.size.clone(),
                line.qty,
                line.bonus,
                line.bags,
                price,
            )
        })
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn what_is_written_in_any_layout_reads_back_equal(consignment in prop::collection::vec(fish(), 1..8), layout in layout()) {
        let (rows, meant) = write(&consignment, layout);
        let bytes = if layout.workbook { xlsx(&rows) } else { csv(&rows) };
        let list = packing::read("list", &bytes).unwrap();
        prop_assert_eq!(lines(&list), meant.clone(), "{:?} {:?}", list.questions, rows);
        prop_assert_eq!(list.total_qty, meant.iter().map(|line| u64::from(line.4)).sum::<u64>());
        prop_assert_eq!(list.stated_total.is_some(), layout.total);
        prop_assert_eq!(list.questions, Vec::<String>::new());
    }

    #[test]
    fn no_bytes_bring_the_reader_down(bytes in prop::collection::vec(any::<u8>(), 0..2000)) {
        let _ = packing::read("list", &bytes);
    }

    #[test]
    fn no_text_brings_the_reader_down(text in "(Box|Species|Qty|Total|bags|pcs/bag|[0-9]{1,5}|\\PC|[;,\t|\n\r\"@+x/:.-]|  | ){0,120}") {
        let list = packing::read_text("list", &text);
        prop_assert_eq!(list.total_qty, list.lines.iter().map(|line| u64::from(line.qty)).sum::<u64>());
        for line in &list.lines {
            prop_assert!(line.qty > 0 && line.bonus < line.qty && !line.species.is_empty());
        }
    }

    #[test]
    fn no_damaged_sample_brings_the_reader_down(sample in 0..SAMPLES.len(), changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..20), cut in prop::option::of(any::<prop::sample::Index>())) {
        let mut bytes = sample_bytes(sample);
        for (at, byte) in changes {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        if let Some(cut) = cut {
            bytes.truncate(cut.index(bytes.len()));
        }
        let start = Instant::now();
        let _ = packing::read("list", &bytes);
        prop_assert!(start.elapsed() < Duration::from_secs(5));
    }
}

const SAMPLES: [&str; 7] = [
    "seventeen-rivers.xlsx",
    "yurube.xlsx",
    "senjangan.ods",
    "moosbruennlein.xls",
    "trpyt.csv",
    "sempre-longe.tsv",
    "pasted-night.txt",
];

fn sample_bytes(sample: usize) -> Vec<u8> {
    std::fs::read(std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/packing").join(SAMPLES[sample]))
        .unwrap()
}
