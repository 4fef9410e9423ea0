//! Crashes at every single call to the disk: nothing acknowledged is lost, nothing is applied twice.

mod store_support;

use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Command, Stdio};

use holdfast_bot::house::{NextWake, Step};
use holdfast_bot::store::{Options, RealDisk, Store, check};
use holdfast_core::consignment::{ListLine, PackingList};
use holdfast_core::desk::{Actor, Input, What};
use holdfast_core::people::Role;
use store_support::{Night, Round, at, calm_night, crash_everywhere, says, small_desk, small_house, small_wake};

fn small() -> (Step, NextWake) {
    (Box::new(small_desk), Box::new(small_wake))
}

fn rounds() -> Vec<Round> {
    vec![
        Round { now: at(0), inputs: vec![says("m1", "good evening", 0), says("m2", "count 40", 0)] },
        // The platform hands an update in twice, once in the same breath.
        Round {
            now: at(1),
            inputs: vec![says("m2", "count 40", 0), says("m3", "count 3", 1), says("m3", "count 3", 1)],
        },
        Round { now: at(2), inputs: vec![says("m4", "look A7 5", 2), says("m5", "mumble", 2)] },
        Round { now: at(8), inputs: vec![] },
        Round { now: at(9), inputs: vec![says("m6", "look A7 90", 9), says("m7", "count 1", 9)] },
    ]
}

#[test]
fn a_night_crashed_at_any_call_to_the_disk_ends_as_the_calm_night() {
    let rounds = rounds();
    let night = Night { desk: &small, rounds: &rounds, options: Options::default() };
    assert!(crash_everywhere(&night, 1) > 100);
}

#[test]
fn snapshots_change_nothing_about_crashes() {
    let rounds = rounds();
    // Snapshots all the time, so that crashes hit what comes before and after one.
    let night = Night { desk: &small, rounds: &rounds, options: Options { snapshot_floor: 1 } };
    assert!(crash_everywhere(&night, 1) > 100);
}

fn real() -> (Step, NextWake) {
    (Box::new(holdfast_core::desk::step), Box::new(holdfast_core::desk::next_wake))
}

fn lead(key: &str, minutes: i64, what: What) -> Input {
    let actor = Actor { person: "mika".to_owned(), chat: "night".to_owned(), topic: None };
    Input { key: key.to_owned(), said_at: at(minutes), heard_at: at(minutes), actor: Some(actor), what }
}

fn message(key: &str, minutes: i64, text: &str) -> Input {
    lead(key, minutes, What::Message { text: text.to_owned(), re: Vec::new() })
}

/// An invented list: two boxes of one fish.
fn list() -> PackingList {
    let line = |number| ListLine {
        number: Some(number),
        bag: Some(1),
        bags: Some(1),
        species: "neon tetra".to_owned(),
        scientific: None,
        size: None,
        qty: 40,
        bonus: 0,
        unit_price: None,
        under: None,
    };
    PackingList {
        file: "invented.csv".to_owned(),
        supplier: Some("Invented Fish Farm".to_owned()),
        lines: vec![line(7), line(8)],
        total_qty: 80,
        ..PackingList::default()
    }
}

/// A night at the real desk: import, counts, a move, a mistake taken back, a look that is missed, an edit.
fn real_rounds() -> Vec<Round> {
    let round = |minutes: i64, inputs: Vec<Input>| Round { now: at(minutes), inputs };
    let enrol = What::Enrol { name: "mika".to_owned(), role: Role::Lead };
    vec![
        round(0, vec![lead("e1", 0, enrol), message("m1", 0, "tanks A1-A3 200 l")]),
        round(1, vec![lead("f1", 1, What::List(Box::new(list())))]),
        round(2, vec![message("m2", 2, "yes")]),
        round(10, vec![message("m3", 10, "open 7"), message("m4", 10, "b7 bag 1: 36 alive 4 doa")]),
        round(12, vec![message("m5", 12, "ph 6.4 tan 3 24.5c"), message("m6", 12, "36 into A1")]),
        round(14, vec![message("m7", 14, "A1 2 dead")]),
        round(15, vec![message("m8", 15, "undo"), message("m9", 15, "recheck A1 in 20 min")]),
        round(
            20,
            vec![lead("m10", 20, What::Edit { of: "m4".to_owned(), text: "b7 bag 1: 36 alive 3 doa".to_owned() })],
        ),
        round(40, vec![]),
        round(80, vec![]),
        round(120, vec![message("m11", 120, "A1 all fine")]),
    ]
}

#[test]
fn a_night_at_the_real_desk_ends_as_the_calm_one_wherever_it_is_crashed() {
    let rounds = real_rounds();
    let night = Night { desk: &real, rounds: &rounds, options: Options { snapshot_floor: 4_000 } };
    let calm = calm_night(&night);
    assert!(calm.state.books.all().count() > 2, "fish were booked");
    assert!(!calm.state.entries.is_empty(), "the log was written");
    assert!(crash_everywhere(&night, 3) > 100);
}

const FOLDER_OF_THE_KILLED: &str = "HOLDFAST_TEST_FOLDER";

/// Not a test by itself: the process that the next one kills. It says the number of each frame that is on disk.
#[test]
#[ignore = "run by the test that kills it"]
fn a_process_that_writes_until_it_is_killed() {
    let Ok(folder) = std::env::var(FOLDER_OF_THE_KILLED) else { return };
    let (store, state, _) = Store::open(Path::new(&folder)).expect("the store opens");
    let mut house = small_house(store, state);
    let mut out = std::io::stdout();
    loop {
        let nth = house.state().seq as i64;
        house.take(vec![says(&format!("k{nth}"), &format!("look A{} 5", nth % 9), nth)], at(nth)).expect("it is taken");
        writeln!(out, "\nkept {}", house.state().seq).expect("somebody listens");
    }
}

#[test]
fn a_process_killed_at_any_moment_has_kept_what_it_said_it_kept() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut kept = 0;
    for life in 0_u64..8 {
        let mut child = Command::new(std::env::current_exe().expect("this test"))
            .args(["--exact", "a_process_that_writes_until_it_is_killed", "--ignored", "--nocapture"])
            .env(FOLDER_OF_THE_KILLED, folder.path())
            .stdout(Stdio::piped())
            .spawn()
            .expect("it starts");
        let mut lines = BufReader::new(child.stdout.take().expect("its words")).lines();
        // Some frames, a few more each life, and then it dies in the midst of the next.
        let mut heard = 0;
        while heard < 20 + 7 * life {
            let line = lines.next().expect("it is still there").expect("words");
            if let Some(seq) = line.strip_prefix("kept ") {
                kept = seq.parse().expect("a number");
                heard += 1;
            }
        }
        child.kill().expect("it is killed");
        for line in lines.map_while(Result::ok) {
            if let Some(seq) = line.strip_prefix("kept ") {
                kept = seq.parse().unwrap_or(kept);
            }
        }
        child.wait().expect("it is gone");
        let (store, state, _) = Store::open(folder.path()).expect("it opens after the kill");
        assert!(state.seq >= kept, "frame {kept} was said to be kept, the journal ends with {}", state.seq);
        assert_eq!(store.undelivered().len() as u64, state.seq, "each frame says one thing");
        drop(store);
        assert_eq!(check(&RealDisk, folder.path()).expect("it can be checked").problems, []);
    }
    assert!(kept > 300);
}
