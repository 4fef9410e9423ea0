use std::path::Path;

use holdfast_core::journal::{Cause, Class, Event, OutgoingId};

use super::*;
use crate::clock::ManualClock;
use crate::store::{MemoryDisk, Options};

fn at(minutes: i64) -> DateTime<Utc> {
    DateTime::UNIX_EPOCH + chrono::Duration::minutes(minutes)
}

fn says(key: &str, text: &str) -> Input {
    let what = What::Message { text: text.to_owned(), re: Vec::new() };
    Input { key: key.to_owned(), said_at: at(0), heard_at: at(0), actor: None, what }
}

/// Names buyers by what is said, answers with how many there are, and is silent for an empty text. A tick is answered
/// once, at minute 30.
fn step(state: &State, _: &Settings, input: &Input, _: DateTime<Utc>) -> Outcome {
    let (text, kind) = match &input.what {
        What::Message { text, .. } => (text.clone(), CauseKind::Message),
        _ => ("the clock".to_owned(), CauseKind::Tick),
    };
    let cause = Cause {
        key: input.key.clone(),
        kind,
        speaker: None,
        said_at: input.said_at,
        acts: Vec::new(),
        dialogue_before: None,
        unread: Vec::new(),
        asked_about: None,
    };
    let mut outcome = Outcome { cause, events: Vec::new(), outgoing: Vec::new(), refusals: Vec::new() };
    if !text.is_empty() {
        outcome.outgoing.push(Outgoing {
            id: OutgoingId { frame: state.seq + 1, nth: 0 },
            chat: "night".to_owned(),
            topic: None,
            reply_to: None,
            class: Class::Answer,
            merge: false,
            replaces: None,
            body: format!("{text}, after {}", state.buyers.len()),
            buttons: Vec::new(),
            about: Vec::new(),
        });
        outcome.events.push(Event::BuyerSet { name: text, known: true });
    }
    outcome
}

fn next_wake(state: &State) -> Option<DateTime<Utc>> {
    (!state.buyers.contains("the clock")).then(|| at(30))
}

fn house_on(disk: &MemoryDisk) -> House {
    let (store, state, _) = Store::open_on(Arc::new(disk.clone()), Path::new("/h"), Options::default()).unwrap();
    House::with_desk(store, state, Settings::default(), Box::new(step), Box::new(next_wake))
}

fn bodies(outgoing: &[Outgoing]) -> Vec<&str> {
    outgoing.iter().map(|outgoing| outgoing.body.as_str()).collect()
}

#[test]
fn each_input_is_decided_on_the_state_the_one_before_left() {
    let mut house = house_on(&MemoryDisk::new());
    let outgoing = house.take(vec![says("1", "ana"), says("2", "ben"), says("3", "cleo")], at(1)).unwrap();
    assert_eq!(bodies(&outgoing), ["ana, after 0", "ben, after 1", "cleo, after 2"]);
}

#[test]
fn an_input_that_comes_twice_is_taken_once_in_one_group_too() {
    let mut house = house_on(&MemoryDisk::new());
    let outgoing = house.take(vec![says("1", "ana"), says("1", "ana"), says("2", "ben")], at(1)).unwrap();
    assert_eq!(bodies(&outgoing), ["ana, after 0", "ben, after 1"]);
    assert_eq!(house.take(vec![says("2", "ben")], at(2)).unwrap(), []);
    assert_eq!(house.state().seq, 2);
}

#[test]
fn a_group_is_synced_once() {
    let disk = MemoryDisk::new();
    let mut house = house_on(&disk);
    let calls = |house: &mut House, inputs| {
        let before = disk.calls();
        house.take(inputs, at(1)).unwrap();
        disk.calls() - before
    };
    // One look-up for each key, and then append, sync and trees once.
    assert_eq!(calls(&mut house, vec![says("1", "ana")]), 1 + 3);
    assert_eq!(calls(&mut house, (2..12).map(|n| says(&n.to_string(), "ben")).collect()), 10 + 3);
}

#[test]
fn what_changes_nothing_and_is_not_answered_makes_no_frame_and_no_call_but_the_look_up() {
    let disk = MemoryDisk::new();
    let mut house = house_on(&disk);
    let before = disk.calls();
    assert_eq!(house.take(vec![says("1", "")], at(1)).unwrap(), []);
    assert_eq!((house.state().seq, disk.calls() - before), (0, 1));
}

#[test]
fn the_clock_speaks_only_when_something_is_due() {
    let mut house = house_on(&MemoryDisk::new());
    assert_eq!(house.tick(at(29)), None);
    let tick = house.tick(at(30)).expect("something is due");
    assert_eq!(bodies(&house.take(vec![tick], at(30)).unwrap()), ["the clock, after 0"]);
    assert_eq!(house.tick(at(31)), None);
}

#[test]
fn a_tick_of_the_same_moment_after_a_start_has_a_key_of_its_own() {
    let disk = MemoryDisk::new();
    let mut house = house_on(&disk);
    let first = house.tick(at(30)).unwrap().key;
    assert_eq!(house.tick(at(30)).unwrap().key, first, "no frame was made, so it is the same tick");
    house.take(vec![says("1", "ana")], at(30)).unwrap();
    drop(house);
    assert_ne!(house_on(&disk).tick(at(30)).unwrap().key, first);
}

struct Running {
    door: Door,
    released: async_mpsc::UnboundedReceiver<Waiting>,
    clock: ManualClock,
    thread: std::thread::JoinHandle<Result<House, StoreError>>,
}

fn start(disk: &MemoryDisk) -> Running {
    let house = house_on(disk);
    let (door, orders) = Door::new();
    let (release, released) = async_mpsc::unbounded_channel();
    let clock = ManualClock::at(at(0));
    let shared = Arc::new(clock.clone());
    let thread = std::thread::spawn(move || run(house, shared, orders, release));
    Running { door, released, clock, thread }
}

async fn next_body(running: &mut Running) -> String {
    let within = tokio::time::timeout(Duration::from_secs(10), running.released.recv());
    within.await.expect("in time").expect("the house runs").outgoing.body
}

#[tokio::test]
async fn an_input_is_told_to_be_taken_only_when_it_is_on_disk() {
    let disk = MemoryDisk::new();
    let mut running = start(&disk);
    running.door.take(says("1", "ana")).await.unwrap();
    let journal = disk.contents(&Path::new("/h").join(crate::store::JOURNAL)).unwrap();
    assert!(String::from_utf8(journal).unwrap().contains("\"ana\""));
    assert_eq!(next_body(&mut running).await, "ana, after 0");
    drop(running.door);
    assert_eq!(running.thread.join().unwrap().unwrap().state().seq, 1);
}

#[tokio::test]
async fn the_house_wakes_by_itself_when_something_is_due() {
    let mut running = start(&MemoryDisk::new());
    running.door.take(says("1", "ana")).await.unwrap();
    assert_eq!(next_body(&mut running).await, "ana, after 0");
    running.clock.set(at(30));
    assert_eq!(next_body(&mut running).await, "the clock, after 1");
}

#[tokio::test]
async fn what_was_not_delivered_is_released_again_after_a_start() {
    let disk = MemoryDisk::new();
    house_on(&disk).take(vec![says("1", "ana")], at(0)).unwrap();
    let mut running = start(&disk);
    assert_eq!(next_body(&mut running).await, "ana, after 0");
}

#[tokio::test]
async fn a_visitor_sees_the_house_between_two_rounds() {
    let running = start(&MemoryDisk::new());
    running.door.take(says("1", "ana")).await.unwrap();
    let seen = running.door.visit(|house| house.store().seen("1").unwrap()).await;
    assert_eq!(seen, Ok(Some(1)));
}

#[tokio::test]
async fn a_disk_that_fails_stops_the_house_and_nothing_is_said() {
    let disk = MemoryDisk::new();
    let mut running = start(&disk);
    running.door.take(says("1", "ana")).await.unwrap();
    assert_eq!(next_body(&mut running).await, "ana, after 0");
    // The look-up, the append, and then the sync.
    disk.fail_at(3);
    assert_eq!(running.door.take(says("2", "ben")).await, Err(Closed));
    assert!(running.thread.join().unwrap().is_err());
    assert_eq!(running.released.recv().await, None);
    assert_eq!(running.door.take(says("3", "cleo")).await, Err(Closed));
}
