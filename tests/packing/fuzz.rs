//! Damaged and altered lists by the thousand: none may bring the reader down, take long, or give lines that cannot be.
//!
//! The suite runs a short share with a fixed seed. For a long run:
//! `HOLDFAST_FUZZ_SECONDS=300 HOLDFAST_FUZZ_SEED=7 cargo test --release -p holdfast-bot --test packing fuzz -- --nocapture`

use std::io::{Cursor, Read, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use holdfast_bot::packing;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

/// Longest time that one case may take, seconds; a debug build on a busy machine stays far below.
const SECONDS_A_CASE: u64 = 20;

/// Numbers without rhyme (splitmix64), the same ones for the same seed.
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A number below an end, or 0.
    fn below(&mut self, end: usize) -> usize {
        (self.roll() % end.max(1) as u64) as usize
    }

    fn pick<'a, T>(&mut self, from: &'a [T]) -> &'a T {
        &from[self.below(from.len())]
    }

    /// A range within a length, mostly a short one.
    fn range(&mut self, length: usize) -> std::ops::Range<usize> {
        let from = self.below(length + 1);
        let most = if self.below(4) == 0 { length } else { 40 };
        from..(from + self.below(most)).min(length)
    }
}

/// Pieces that readers of numbers, labels and markup trip over.
const PIECES: [&str; 62] = [
    "0",
    "1",
    "-1",
    "65535",
    "65536",
    "1048576",
    "4294967295",
    "4294967296",
    "18446744073709551616",
    "1e308",
    "-1e-308",
    "1e3",
    "NaN",
    "inf",
    "0.1",
    "1.250",
    "1,250.00",
    "46350.9",
    "2958466",
    "3000001",
    "1-500",
    "1-4294967295",
    "7/20",
    "10+1",
    "2 x 25",
    "999999 x 999999",
    "500000 pairs",
    "+1000000",
    "Box",
    "Box 7:",
    "Total",
    "Grand total",
    "Subtotal",
    "Carried forward",
    "Species",
    "Qty",
    "pcs/bag",
    "bags",
    "AWB 900-12345675",
    "\"",
    "\"\"",
    "''",
    "do.",
    ";",
    "\t",
    "|",
    "@",
    "\n",
    "\r",
    "  ",
    "\u{feff}",
    "\u{0}",
    "\u{202e}",
    "ř",
    "🐟",
    "<c>",
    "</row>",
    "<v/>",
    "&#0;",
    "&amp;",
    "]]>",
    "XFD1048576",
];

/// Alters bytes in one way.
fn alter(dice: &mut Dice, bytes: &mut Vec<u8>, others: &[Vec<u8>]) {
    let length = bytes.len();
    match dice.below(9) {
        0 if length > 0 => {
            let at = dice.below(length);
            bytes[at] ^= 1 << dice.below(8);
        }
        1 if length > 0 => {
            let at = dice.below(length);
            bytes[at] = dice.roll() as u8;
        }
        2 => bytes.truncate(dice.below(length + 1)),
        3 => drop(bytes.drain(dice.range(length))),
        4 => {
            let copy = bytes[dice.range(length)].to_vec();
            let at = dice.below(length + 1);
            bytes.splice(at..at, copy);
        }
        5 => {
            let other = dice.pick(others);
            let piece = other[dice.range(other.len())].to_vec();
            bytes.splice(dice.range(length), piece);
        }
        6 => {
            let piece = dice.pick(&PIECES).as_bytes().to_vec();
            bytes.splice(dice.range(length), piece);
        }
        7 => {
            let piece = dice.pick(&PIECES).as_bytes().to_vec();
            let at = dice.below(length + 1);
            bytes.splice(at..at, piece);
        }
        // Lengths, places and counts of binary records.
        _ if length >= 4 => {
            let at = dice.below(length - 3);
            let number = *dice.pick(&[0_u32, 1, 0xff, 0xffff, 0x7fff_ffff, 0xffff_fffe, 0xffff_ffff, length as u32]);
            let width = if dice.below(2) == 0 { 2 } else { 4 };
            bytes[at..at + width].copy_from_slice(&number.to_le_bytes()[..width]);
        }
        _ => {}
    }
}

/// Alters markup in one way that keeps it markup: a number, a value, an element.
fn alter_markup(dice: &mut Dice, text: &mut String) {
    let spots = |text: &str, wanted: &dyn Fn(char) -> bool| -> Vec<usize> {
        text.char_indices().filter(|(_, character)| wanted(*character)).map(|(at, _)| at).collect()
    };
    let run = |text: &str, from: usize, within: &dyn Fn(char) -> bool| {
        from + text[from..].find(|character| !within(character)).unwrap_or(text.len() - from)
    };
    match dice.below(4) {
        0 => {
            let digits = spots(text, &|character| character.is_ascii_digit());
            if !digits.is_empty() {
                let from = *dice.pick(&digits);
                text.replace_range(from..run(text, from, &|c: char| c.is_ascii_digit()), PIECES[dice.below(28)]);
            }
        }
        1 => {
            let quotes = spots(text, &|character| character == '"');
            if !quotes.is_empty() {
                let from = *dice.pick(&quotes) + 1;
                let piece = dice.pick(&PIECES).replace(['<', '&', '"'], "");
                text.replace_range(from..run(text, from, &|c| c != '"'), &piece);
            }
        }
        2 => {
            // An element, or what lies between two, goes or comes twice.
            let opens = spots(text, &|character| character == '<');
            if opens.len() > 1 {
                let from = dice.below(opens.len() - 1);
                let to = (from + 1 + dice.below(6)).min(opens.len() - 1);
                let piece = text[opens[from]..opens[to]].to_owned();
                let again = if dice.below(2) == 0 { String::new() } else { piece.clone() + &piece };
                text.replace_range(opens[from]..opens[to], &again);
            }
        }
        _ => {
            let closes = spots(text, &|character| character == '>');
            if !closes.is_empty() {
                let from = *dice.pick(&closes) + 1;
                let piece = dice.pick(&PIECES).replace(['<', '&'], "");
                text.replace_range(from..run(text, from, &|c| c != '<'), &piece);
            }
        }
    }
}

/// The parts of a package.
fn unpack(bytes: &[u8]) -> Option<Vec<(String, Vec<u8>)>> {
    let mut archive = ZipArchive::new(Cursor::new(bytes)).ok()?;
    (0..archive.len())
        .map(|index| {
            let mut part = archive.by_index(index).ok()?;
            let mut bytes = Vec::new();
            part.read_to_end(&mut bytes).ok()?;
            Some((part.name().ok()?.into_owned(), bytes))
        })
        .collect()
}

fn pack(parts: &[(String, Vec<u8>)]) -> Option<Vec<u8>> {
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in parts {
        let stored = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
        writer.start_file(name.as_str(), stored).ok()?;
        writer.write_all(bytes).ok()?;
    }
    Some(writer.finish().ok()?.into_inner())
}

/// One altered list.
fn case(dice: &mut Dice, samples: &[Vec<u8>]) -> Vec<u8> {
    let mut bytes = dice.pick(samples).clone();
    let times = 1 + dice.below(8);
    // Most packages are altered inside: damage outside seldom gets past the check sums.
    if dice.below(5) > 0
        && let Some(mut parts) = unpack(&bytes)
        && !parts.is_empty()
    {
        for _ in 0..times {
            let at = dice.below(parts.len());
            match dice.below(20) {
                0 if parts.len() > 1 => drop(parts.remove(at)),
                1 => alter(dice, &mut parts[at].1, samples),
                _ => {
                    let mut text = String::from_utf8_lossy(&parts[at].1).into_owned();
                    alter_markup(dice, &mut text);
                    parts[at].1 = text.into_bytes();
                }
            }
        }
        return pack(&parts).unwrap_or(bytes);
    }
    for _ in 0..times {
        alter(dice, &mut bytes, samples);
    }
    bytes
}

fn samples() -> Vec<Vec<u8>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/packing");
    let mut paths: Vec<PathBuf> = [folder.clone(), folder.join("unlike")]
        .iter()
        .flat_map(|folder| std::fs::read_dir(folder).unwrap())
        .map(|entry| entry.unwrap().path())
        .filter(|path| {
            let kind = path.extension().unwrap_or_default().to_string_lossy().into_owned();
            ["xlsx", "xls", "ods", "csv", "tsv", "txt"].contains(&kind.as_str())
        })
        .collect();
    paths.sort();
    paths.iter().map(|path| std::fs::read(path).unwrap()).collect()
}

#[test]
fn fuzz_no_altered_list_brings_the_reader_down() {
    let number = |name: &str| std::env::var(name).ok().and_then(|value| value.parse::<u64>().ok());
    let seconds = number("HOLDFAST_FUZZ_SECONDS");
    let seed = number("HOLDFAST_FUZZ_SEED").unwrap_or(1);
    let samples = samples();
    assert_eq!(samples.len(), 19);
    let (start, mut cases, mut read, mut with_lines, mut slowest) =
        (Instant::now(), 0_u64, 0_u64, 0_u64, Duration::ZERO);
    while seconds.map_or(cases < 1_500, |seconds| start.elapsed().as_secs() < seconds) {
        let bytes = case(&mut Dice(seed.wrapping_mul(1 << 32).wrapping_add(cases)), &samples);
        let begun = Instant::now();
        let result = catch_unwind(AssertUnwindSafe(|| packing::read("list", &bytes)))
            .unwrap_or_else(|_| panic!("case {cases} of seed {seed} brought the reader down"));
        slowest = slowest.max(begun.elapsed());
        assert!(begun.elapsed().as_secs() < SECONDS_A_CASE, "case {cases} of seed {seed} took {:?}", begun.elapsed());
        cases += 1;
        let Ok(list) = result else { continue };
        read += 1;
        with_lines += u64::from(!list.lines.is_empty());
        assert_eq!(list.total_qty, list.lines.iter().map(|line| u64::from(line.qty)).sum::<u64>());
        assert!(!list.lines.is_empty() || !list.questions.is_empty(), "case {} of seed {seed} says nothing", cases - 1);
        for line in &list.lines {
            let sound = (1..=1_000_000).contains(&line.qty)
                && line.bonus < line.qty
                && line.number != Some(0)
                && !line.species.is_empty()
                && line.species.chars().count() <= 200;
            assert!(sound, "case {} of seed {seed}: {line:?}", cases - 1);
        }
    }
    println!("{cases} cases, {read} read, {with_lines} with lines, slowest {slowest:?}");
    assert!(with_lines * 4 > cases, "most cases must get past the door: {with_lines} of {cases}");
}
