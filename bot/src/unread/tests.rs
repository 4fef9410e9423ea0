use std::sync::Arc;

use holdfast_core::desk::{Actor, Input, What};
use holdfast_core::people::Role;
use holdfast_core::settings::Settings;

use super::*;
use crate::house::House;
use crate::store::{MemoryDisk, Options, Store};

fn at(minutes: i64) -> DateTime<Utc> {
    DateTime::UNIX_EPOCH + chrono::Duration::minutes(minutes)
}

/// What is listed of a house in which a lead says these lines, a minute apart.
fn listed(lines: &[&str]) -> String {
    let disk = MemoryDisk::new();
    let folder = Path::new("/house");
    let (store, state, _) = Store::open_on(Arc::new(disk.clone()), folder, Options::default()).expect("it opens");
    let mut house = House::new(store, state, Settings::default());
    let input = |key: &str, minutes, what| Input {
        key: key.to_owned(),
        said_at: at(minutes),
        heard_at: at(minutes),
        actor: Some(Actor { person: "dee".to_owned(), chat: "crew".to_owned(), topic: None }),
        what,
    };
    let enrol = What::Enrol { name: "dee".to_owned(), role: Role::Lead };
    house.take(vec![input("enrol", 0, enrol)], at(0)).expect("it is recorded");
    for (minutes, line) in (1..).zip(lines) {
        let what = What::Message { text: (*line).to_owned(), re: Vec::new() };
        house.take(vec![input(line, minutes, what)], at(minutes)).expect("it is recorded");
    }
    let mut output = Vec::new();
    list(&disk, folder, chrono_tz::UTC, &mut output).expect("the journal is read");
    String::from_utf8(output).expect("text")
}

#[test]
fn words_are_listed_by_how_often_they_were_met_and_messages_by_when_they_were_asked_about() {
    let said = ["tanks A1-A3", "A1 2 dead xyzzy", "A2 1 dead plugh xyzzy", "A1 a few dead"];
    insta::assert_snapshot!(listed(&said), @r"
    Words that were not understood:
        2 × xyzzy
        1 × plugh
    Messages that were asked about:
    1970-01-01 00:04 dee: A1 a few dead
    ");
}

#[test]
fn what_was_understood_and_what_was_chatter_is_not_listed() {
    insta::assert_snapshot!(listed(&["tanks A1-A3", "A1 2 dead", "lovely frobnicated evening"]), @r"
    Every word beside a report was understood.
    No message had to be asked about.
    ");
}
