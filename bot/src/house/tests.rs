use std::path::Path;

use holdfast_core::journal::{Cause, Class, Event, OutgoingId};

use super::*;
use crate::channel::Lists;
use crate::clock::ManualClock;
use crate::store::{Disk, MemoryDisk, Options};

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

/// A list whose column E, "total", counts the fish in each bag.
const LIST: &str = "Shipper: Invented Hill Fish\nInvoice: IH 1\nCarton,Description,Bags,Remark,Total\n1,Neon tetra,3,,25\n2,Guppy,2,,30\n";

fn real_house_on(disk: &MemoryDisk) -> House {
    let (store, state, _) = Store::open_on(Arc::new(disk.clone()), Path::new("/h"), Options::default()).unwrap();
    House::new(store, state, Settings::default())
}

fn from(person: &str, key: &str, what: What) -> Input {
    let actor = Some(Actor { person: person.to_owned(), chat: "crew".to_owned(), topic: None });
    Input { key: key.to_owned(), said_at: at(0), heard_at: at(0), actor, what }
}

fn text(key: &str, text: &str) -> Input {
    from("lea", key, What::Message { text: text.to_owned(), re: Vec::new() })
}

fn sent(key: &str, text: &str) -> Input {
    from("lea", key, What::List(Box::new((Lists::HOUSE.read)("list.csv", text.as_bytes()))))
}

fn with_a_lead(house: &mut House) {
    house.take(vec![from("lea", "0", What::Enrol { name: "lea".to_owned(), role: Role::Lead })], at(0)).unwrap();
}

#[test]
fn a_list_is_read_anew_when_a_lead_says_what_a_column_is_and_so_is_the_next_of_that_supplier() {
    let disk = MemoryDisk::new();
    let mut house = real_house_on(&disk);
    with_a_lead(&mut house);
    let said = house.take(vec![sent("1", LIST)], at(0)).unwrap();
    assert!(said[0].body.contains("55 fish"), "{}", said[0].body);
    assert!(said[0].body.contains("Columns: A box · B species · C bags · E total pieces"), "{}", said[0].body);
    let said = house.take(vec![text("2", "column E is pieces per bag")], at(0)).unwrap();
    assert_eq!(said[0].body, "column E is pieces per bag, kept for Invented Hill Fish");
    assert!(said[1].body.contains("135 fish"), "{}", said[1].body);
    assert!(said[1].body.contains("E pieces per bag"), "{}", said[1].body);
    assert_eq!(house.take(vec![], at(1)).unwrap(), [], "it is done once");
    assert_eq!(house.state().rereads.len(), 0);
    assert_eq!(house.state().questions.len(), 1);
    drop(house);
    let mut house = real_house_on(&disk);
    let next = LIST.replace("IH 1", "IH 2").replace("25", "40");
    let said = house.take(vec![sent("3", &next)], at(2)).unwrap();
    assert!(said[0].body.contains("180 fish"), "{}", said[0].body);
}

#[test]
fn a_list_that_was_to_be_read_anew_when_the_power_went_is_read_at_the_next_start_and_once() {
    let disk = MemoryDisk::new();
    let mut house = real_house_on(&disk);
    with_a_lead(&mut house);
    house.take(vec![sent("1", LIST)], at(0)).unwrap();
    let House { state, mut store, .. } = house;
    let outcome = desk::step(&state, &Settings::default(), &text("2", "E is per bag"), at(0));
    let Outcome { cause, events, outgoing, .. } = outcome;
    let frame = Frame { seq: state.seq + 1, at: at(0), cause, events, outgoing };
    store
        .commit(std::slice::from_ref(&frame), &{
            let mut after = state.clone();
            after.apply(&frame);
            after
        })
        .unwrap();
    drop(store);
    let mut house = real_house_on(&disk);
    assert_eq!(house.state().rereads.len(), 1);
    let said = house.take(vec![], at(5)).unwrap();
    assert!(said.len() == 1 && said[0].body.contains("135 fish"), "{said:?}");
    let frames = house.state().seq;
    drop(house);
    let mut house = real_house_on(&disk);
    assert_eq!(house.take(vec![], at(6)).unwrap(), []);
    assert_eq!(house.state().seq, frames);
}

#[test]
fn a_kept_file_that_is_gone_is_said_and_asked_for_no_more() {
    let mut house = real_house_on(&MemoryDisk::new());
    with_a_lead(&mut house);
    house.take(vec![sent("1", LIST)], at(0)).unwrap();
    let sha256 = house.state().questions.values().find_map(|pending| match &pending.matter {
        holdfast_core::journal::Matter::Listing(listing) => listing.list.kept.clone(),
        _ => None,
    });
    let sha256 = sha256.expect("it is kept").sha256;
    assert_eq!(house.store().kept_file(&sha256).unwrap().as_deref(), Some(LIST.as_bytes()));
    assert_eq!(house.store().keep_file(LIST.as_bytes()).unwrap(), sha256, "kept once");
    assert_eq!(house.store().kept_file("../journal.jsonl").unwrap(), None);
    let mut moved = real_house_on(&MemoryDisk::new());
    moved.state = house.state.clone();
    moved.state.seq = 0;
    let said = moved.take(vec![text("2", "column E is per bag")], at(1)).unwrap();
    assert!(said[1].body.contains("list.csv is not kept any more"), "{}", said[1].body);
    assert!(moved.state().rereads.is_empty());
}

#[test]
fn the_file_of_a_stranger_is_not_kept() {
    let disk = MemoryDisk::new();
    let mut house = real_house_on(&disk);
    with_a_lead(&mut house);
    let stranger =
        Input { actor: Some(Actor { person: "mal".into(), chat: "m".into(), topic: None }), ..sent("1", LIST) };
    assert_eq!(house.take(vec![stranger], at(0)).unwrap(), []);
    assert!(!disk.exists(Path::new("/h/files")).unwrap());
}
