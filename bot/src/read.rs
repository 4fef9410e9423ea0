//! `holdfast read`: threads in, one JSON object a line; what their messages say out, one object a line.

use std::collections::BTreeMap;
use std::io::{self, BufRead, Write};

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use holdfast_core::message::{self, BoxWords, Dialogue, Gallon, Incoming, LotWords, Place, Said, Vocabulary};
use holdfast_core::say;
use serde::{Deserialize, Serialize};

/// One name or several.
#[derive(Debug, Deserialize)]
#[serde(untagged)]
enum OneOrMany {
    One(String),
    Many(Vec<String>),
}

impl OneOrMany {
    fn into_list(self) -> Vec<String> {
        match self {
            OneOrMany::One(name) => vec![name],
            OneOrMany::Many(names) => names,
        }
    }
}

#[derive(Debug, Deserialize)]
struct WireBox {
    bags: Option<u32>,
    species: Option<OneOrMany>,
}

#[derive(Debug, Deserialize)]
struct WireLot {
    species: Option<String>,
    tank: Option<String>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct World {
    tanks: Option<Vec<String>>,
    trays: Option<Vec<String>>,
    boxes: Option<BTreeMap<u32, WireBox>>,
    lots: Option<BTreeMap<u32, WireLot>>,
    species: Option<Vec<String>>,
    buyers: Option<Vec<String>>,
    suppliers: Vec<String>,
    tz: Option<String>,
    gallon: Option<String>,
}

#[derive(Debug, Deserialize)]
struct WireMessage {
    from: String,
    at: DateTime<Utc>,
    text: String,
    #[serde(default)]
    re: Vec<Place>,
}

#[derive(Debug, Deserialize)]
struct Thread {
    id: serde_json::Value,
    #[serde(default)]
    world: Option<World>,
    messages: Vec<WireMessage>,
}

#[derive(Debug, Serialize)]
struct Entry {
    acts: Vec<Said>,
    ask: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    unread: Vec<String>,
}

#[derive(Debug, Serialize)]
struct Answer {
    id: serde_json::Value,
    read: Vec<Entry>,
}

#[derive(Debug, Serialize)]
struct Failure {
    #[serde(skip_serializing_if = "Option::is_none")]
    id: Option<serde_json::Value>,
    error: String,
}

/// Reads threads line by line and writes what they say, line by line. A line that is no thread gets an object with `error`,
/// and the next is read.
///
/// # Errors
/// Only those of the input and output themselves.
pub fn run(mut input: impl BufRead, mut output: impl Write) -> io::Result<()> {
    let mut line = Vec::new();
    loop {
        line.clear();
        if input.read_until(b'\n', &mut line)? == 0 {
            return output.flush();
        }
        let text = String::from_utf8_lossy(&line);
        let text = text.trim_start_matches('\u{feff}').trim();
        if text.is_empty() {
            continue;
        }
        match answer(text) {
            Ok(answer) => serde_json::to_writer(&mut output, &answer)?,
            Err(failure) => serde_json::to_writer(&mut output, &failure)?,
        }
        writeln!(output)?;
    }
}

fn answer(line: &str) -> Result<Answer, Failure> {
    let value: serde_json::Value =
        serde_json::from_str(line).map_err(|error| Failure { id: None, error: error.to_string() })?;
    let id = value.get("id").cloned();
    let thread: Thread =
        serde_json::from_value(value).map_err(|error| Failure { id: id.clone(), error: error.to_string() })?;
    read(thread).map_err(|error| Failure { id, error })
}

fn read(thread: Thread) -> Result<Answer, String> {
    let vocabulary = vocabulary(thread.world.unwrap_or_default(), &thread.messages)?;
    let reader = message::Reader::new(&vocabulary);
    let mut dialogues: BTreeMap<String, Dialogue> = BTreeMap::new();
    let mut read = Vec::with_capacity(thread.messages.len());
    for WireMessage { from, at, text, re } in thread.messages {
        let dialogue = dialogues.entry(from.clone()).or_default();
        let reading = reader.read(dialogue, &Incoming { from, at, text, re });
        *dialogue = reading.dialogue;
        read.push(Entry {
            acts: reading.acts,
            ask: reading.ask.map(|ask| say::ask::question(&ask.doubt)),
            unread: reading.unread,
        });
    }
    Ok(Answer { id: thread.id, read })
}

fn vocabulary(world: World, messages: &[WireMessage]) -> Result<Vocabulary, String> {
    let tz: Tz = match &world.tz {
        Some(name) => name.parse().map_err(|_| format!("no such time zone: {name}"))?,
        None => Tz::UTC,
    };
    // Who writes in the thread and does not buy belongs to the crew.
    let is_buyer = |name: &str| world.buyers.iter().flatten().any(|buyer| buyer.eq_ignore_ascii_case(name));
    let crew = messages.iter().map(|message| message.from.to_lowercase()).filter(|name| !is_buyer(name)).collect();
    let gallon = match world.gallon.as_deref() {
        Some("imperial") => Gallon::Imperial,
        _ => Gallon::Us,
    };
    let boxes = world.boxes.map(|boxes| {
        boxes
            .into_iter()
            .map(|(number, words)| {
                (
                    number,
                    BoxWords {
                        bags: words.bags,
                        spare_bags: 0,
                        species: words.species.map(OneOrMany::into_list).unwrap_or_default(),
                    },
                )
            })
            .collect()
    });
    let lots = world.lots.map(|lots| {
        lots.into_iter().map(|(number, lot)| (number, LotWords { species: lot.species, tank: lot.tank })).collect()
    });
    Ok(Vocabulary {
        tanks: world.tanks,
        trays: world.trays,
        boxes,
        lots,
        species: world.species,
        species_aliases: BTreeMap::new(),
        buyers: world.buyers,
        suppliers: world.suppliers,
        crew,
        tz,
        gallon,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(input: &str) -> Vec<serde_json::Value> {
        let mut output = Vec::new();
        run(input.as_bytes(), &mut output).expect("memory does not fail");
        String::from_utf8(output)
            .expect("JSON is UTF-8")
            .lines()
            .map(|line| serde_json::from_str(line).expect("JSON"))
            .collect()
    }

    #[test]
    fn a_thread_is_answered_message_by_message() {
        let thread = r#"{"id":"t","world":{"boxes":{"7":{"bags":3,"species":["clown loach"]}}},
            "messages":[{"from":"ana","at":"2026-03-02T22:10:00Z","text":"box 7 bag 2: 4 dead 6 weak"},
                        {"from":"ana","at":"2026-03-02T22:11:00Z","text":"tea?"}]}"#
            .replace('\n', " ");
        let read = lines(&thread);
        assert_eq!(
            read,
            [serde_json::json!({"id": "t", "read": [
                {"acts": [{"act": "count", "at": {"box": 7, "bag": 2}, "dead": 4, "weak": 6}], "ask": null},
                {"acts": [], "ask": null}
            ]})]
        );
    }

    #[test]
    fn a_bad_line_says_so_and_the_next_is_read() {
        let read = lines("not json\n{\"id\": 3}\n\n{\"id\":\"t\",\"messages\":[]}\n");
        assert_eq!(read.len(), 3);
        assert!(read[0]["error"].is_string());
        assert_eq!(read[1]["id"], 3);
        assert!(read[1]["error"].is_string());
        assert_eq!(read[2], serde_json::json!({"id": "t", "read": []}));
    }
}
