//! What must hold after any night.

use std::collections::BTreeMap;

use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};

use super::generator::{KINDS, Step, play};
use super::night::Night;
use crate::journal::{Frame, State, wire};

fn steps(count: std::ops::Range<usize>) -> impl Strategy<Value = Vec<Step>> {
    let step = (0..KINDS, 0..5000_u32, 0..5000_u32, 0..5000_u32).prop_map(|(kind, a, b, c)| Step { kind, a, b, c });
    proptest::collection::vec(step, count)
}

/// A house at the beginning of a night: with lists, or with none yet.
fn house(listed: bool) -> Night {
    if listed { started() } else { Night::staffed() }
}

fn started() -> Night {
    let mut night = Night::with_a_list();
    night.imports("Kali Besar", &super::boxes::KALI);
    night
}

/// A buyer hears no tank, no other buyer, nobody of the crew, and nothing of what died in the house.
fn a_buyer_learned_nothing(night: &Night) {
    for message in &night.last.outgoing {
        let (own, other) = match message.chat.as_str() {
            "chat of rita" => ("Reef & River", "Tank Town"),
            "chat of tom" => ("Tank Town", "Reef & River"),
            _ => continue,
        };
        let body = message.body.replace(own, "");
        for word in body.split(|letter: char| !letter.is_alphanumeric()) {
            let tank = word.strip_prefix('A').is_some_and(|rest| !rest.is_empty() && rest.parse::<u32>().is_ok());
            let secret = ["DOA", "DAA", "ana", "bo", "lea", "olga", "tray", "Rio", "Kali"].contains(&word);
            assert!(!tank && !secret, "{}: {}", message.chat, message.body);
        }
        assert!(!body.contains(other), "{}: {}", message.chat, message.body);
    }
}

fn replayed(frames: &[Frame]) -> State {
    let mut state = State::default();
    for frame in frames {
        let line = wire::line(frame, "");
        state.apply(&wire::read_line(&line).unwrap().frame);
    }
    state
}

proptest! {
    #![proptest_config(Config { cases: 12, max_shrink_iters: 400, ..Config::default() })]

    /// The books are checked by the night itself after every step.
    #[test]
    fn any_night_keeps_the_books_and_replays_to_the_same_state(listed: bool, steps in steps(20..70)) {
        let mut night = house(listed);
        for step in &steps {
            let before = night.frames.len();
            play(&mut night, *step);
            a_buyer_learned_nothing(&night);
            if step.kind == 37 {
                prop_assert_eq!(night.frames.len(), before, "a stranger was heard");
            }
        }
        prop_assert_eq!(&wire::restore(&wire::snapshot(&night.state)).unwrap(), &night.state);
        prop_assert_eq!(&replayed(&night.frames), &night.state);
    }

    /// The clock is left out: what it said stays said. So are the lead's undo and edit, which would
    /// reach behind the start.
    #[test]
    fn taking_everything_back_leaves_the_house_as_it_was(listed: bool, steps in steps(5..40)) {
        let mut night = house(listed);
        let before = night.fingerprint();
        let first = night.state.seq;
        for step in steps.iter().filter(|step| step.kind != 38 && (![31, 33].contains(&step.kind) || step.a % 3 != 2)) {
            play(&mut night, *step);
        }
        while let Some(person) = last_to_take_back(&night, first) {
            let seq = night.state.seq;
            let reply = night.says(&person, "undo");
            prop_assert!(night.last.refusals.is_empty(), "{person}: {reply}");
            prop_assert!(night.state.seq > seq);
        }
        pretty_assertions(&before, &night.fingerprint());
    }
}

fn last_to_take_back(night: &Night, first: u64) -> Option<String> {
    let standing = night.state.recent.range(first + 1..).rev().filter(|(_, recent)| !recent.withdrawn);
    let mut recorded = standing.filter(|(_, recent)| crate::desk::withdraw::recorded_something(recent));
    recorded.find_map(|(_, recent)| recent.cause.speaker.as_ref().map(|speaker| speaker.person.clone()))
}

/// Shows only the lines that differ.
fn pretty_assertions(one: &str, other: &str) {
    if one != other {
        let gone: Vec<&str> = one.lines().filter(|line| !other.contains(line)).collect();
        let come: Vec<&str> = other.lines().filter(|line| !one.contains(line)).collect();
        panic!("before: {gone:#?}\nafter: {come:#?}");
    }
}

/// How much of the desk the generator reaches.
#[test]
fn the_generator_reaches_every_act_and_every_refusal_and_most_is_taken() {
    let mut runner = TestRunner::new_with_rng(Config::default(), TestRng::from_seed(RngAlgorithm::ChaCha, &[7; 32]));
    let mut acts: BTreeMap<String, u32> = BTreeMap::new();
    let mut refusals: BTreeMap<String, u32> = BTreeMap::new();
    let (mut taken, mut all) = (0, 0);
    let (mut late, mut through) = (0, 0);
    for nth in 0..80 {
        let steps = steps(60..61).new_tree(&mut runner).unwrap().current();
        let mut night = house(nth % 4 > 0);
        for step in steps {
            all += 1;
            taken += u32::from(play(&mut night, step));
            let said = |words: &str| night.last.outgoing.iter().any(|message| message.body.contains(words));
            late += u32::from(said("counted or passed on."));
            through += u32::from(said("The list of your unopened boxes has come:"));
            for said in &night.last.cause.acts {
                let name = format!("{:?}", said.act);
                *acts.entry(name.split(['(', ' ']).next().unwrap_or_default().to_owned()).or_default() += 1;
            }
            for refusal in &night.last.refusals {
                let name = format!("{refusal:?}");
                *refusals.entry(name.split([' ', '(']).next().unwrap_or_default().to_owned()).or_default() += 1;
            }
        }
    }
    // What takes three turns is played out: the fish of a lost box are in the box again before the loss is taken back.
    let mut night = started();
    for (person, text) in [("lea", "box 12 lost"), ("bo", "box 12 here"), ("lea", "undo")] {
        night.says(person, text);
    }
    *refusals.entry(format!("{:?}", night.refused())).or_default() += 1;
    println!("{taken} of {all} taken\n{acts:?}\n{refusals:?}");
    assert!(late > 10 && through > 2, "{late} lists came after their boxes, {through} after they had left");
    assert!(taken * 10 >= all * 7, "{taken} of {all}");
    for act in [
        "Arrive", "Open", "Done", "Count", "Reading", "Swap", "Dose", "Move", "Observe", "Recheck", "Hold", "Clear",
        "Reserve", "Ship", "Later", "Note", "Ask", "Undo", "Vessels",
    ] {
        assert!(acts.contains_key(act), "no {act}: {acts:?}");
    }
    for refusal in [
        "MayNot",
        "NoSuchBox",
        "NoSuchLot",
        "WrongKindOfPlace",
        "NotThere",
        "NoSuchFish",
        "WhichFish",
        "FewerDead",
        "OtherConsignment",
        "AlreadyThere",
        "NotHere",
        "AlreadyOpened",
        "NotReady",
        "ClearedAlready",
        "NotCleared",
        "TooFewCleared",
        "NoSuchBuyer",
        "NothingToUndo",
        "OnlyTheHouse",
        "FishMovedOn",
        "StandsInTheWay",
        "NothingToFix",
        "NothingToPutOff",
        "AlreadyImported",
        "NothingOnList",
        "PastTime",
        "NoSuchPerson",
        "LastLead",
    ] {
        assert!(refusals.contains_key(refusal), "no {refusal}: {refusals:?}");
    }
}
