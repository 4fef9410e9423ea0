//! Messages a second on one core, against one pass of a plain tokeniser over the same text.
//!
//! `cargo bench -p holdfast-core --bench reader`

use std::collections::BTreeMap;
use std::hint::black_box;

use chrono_tz::Tz;
use divan::Bencher;
use divan::counter::ItemsCount;
use holdfast_core::message::{BoxWords, Dialogue, Gallon, Incoming, LotWords, Reader, Vocabulary, read};
use regex::Regex;
use serde_json::Value;

const THREADS: &str = include_str!("../../tests/messages/samples.jsonl");

fn main() {
    divan::main();
}

/// The messages of a thread, in the house that the thread speaks of.
struct Thread {
    vocabulary: Vocabulary,
    messages: Vec<Incoming>,
}

fn threads() -> Vec<Thread> {
    THREADS.lines().map(|line| thread(&serde_json::from_str(line).expect("a thread is JSON"))).collect()
}

fn texts(threads: &[Thread]) -> impl Iterator<Item = &str> {
    threads.iter().flat_map(|thread| &thread.messages).map(|message| message.text.as_str())
}

fn count(threads: &[Thread]) -> ItemsCount {
    ItemsCount::new(texts(threads).count())
}

fn names(value: &Value) -> Option<Vec<String>> {
    match value {
        Value::Array(names) => Some(names.iter().filter_map(Value::as_str).map(str::to_owned).collect()),
        Value::String(name) => Some(vec![name.clone()]),
        _ => None,
    }
}

fn numbered<T>(value: &Value, make: impl Fn(&Value) -> T) -> Option<BTreeMap<u32, T>> {
    let numbered = value.as_object()?.iter();
    numbered.map(|(number, it)| Some((number.parse().ok()?, make(it)))).collect()
}

fn thread(value: &Value) -> Thread {
    let world = &value["world"];
    let text = |value: &Value| value.as_str().map(str::to_owned);
    let of_box = |it: &Value| BoxWords {
        bags: it["bags"].as_u64().and_then(|bags| u32::try_from(bags).ok()),
        species: names(&it["species"]).unwrap_or_default(),
        ..BoxWords::default()
    };
    let vocabulary = Vocabulary {
        tanks: names(&world["tanks"]),
        trays: names(&world["trays"]),
        boxes: numbered(&world["boxes"], of_box),
        lots: numbered(&world["lots"], |it| LotWords { species: text(&it["species"]), tank: text(&it["tank"]) }),
        species: names(&world["species"]),
        buyers: names(&world["buyers"]),
        species_aliases: BTreeMap::new(),
        suppliers: Vec::new(),
        crew: Vec::new(),
        tz: Tz::UTC,
        gallon: Gallon::Us,
    };
    let messages = value["messages"].as_array().expect("messages").iter().map(|message| Incoming {
        from: message["from"].as_str().expect("a sender").to_owned(),
        at: message["at"].as_str().and_then(|at| at.parse().ok()).expect("a time"),
        text: message["text"].as_str().expect("words").to_owned(),
        re: Vec::new(),
    });
    Thread { vocabulary, messages: messages.collect() }
}

#[divan::bench]
fn tokens_by_one_pattern(bencher: Bencher) {
    let threads = threads();
    let pattern = Regex::new(r"\w+|[^\w\s]").expect("a pattern");
    bencher.counter(count(&threads)).bench(|| {
        for text in texts(black_box(&threads)) {
            for token in pattern.find_iter(text) {
                black_box(token.as_str());
            }
        }
    });
}

/// Four times the text must not take much more than four times as long.
#[divan::bench(args = [2_500, 10_000])]
fn one_long_message(bencher: Bencher, characters: usize) {
    let mut threads = threads();
    let mut thread = threads.swap_remove(0);
    let mut message = thread.messages.swap_remove(0);
    message.text = "A1 2 dead, 7.2 38 ok, ".chars().cycle().take(characters).collect();
    bencher.bench(|| read(&thread.vocabulary, &Dialogue::default(), black_box(&message)));
}

#[divan::bench]
fn acts_by_the_reader(bencher: Bencher) {
    let threads = threads();
    // As in the house, whose names change less often than it is spoken to.
    let readers: Vec<Reader<'_>> = threads.iter().map(|thread| Reader::new(&thread.vocabulary)).collect();
    bencher.counter(count(&threads)).bench(|| {
        for (thread, reader) in black_box(&threads).iter().zip(&readers) {
            let mut dialogues: BTreeMap<&str, Dialogue> = BTreeMap::new();
            for message in &thread.messages {
                let dialogue = dialogues.entry(&message.from).or_default();
                let reading = reader.read(dialogue, message);
                *dialogue = reading.dialogue;
                black_box(&reading.acts);
            }
        }
    });
}
