//! Scripted nights for tests: played on a house whose disk the test keeps, with every input written down.
#![allow(dead_code, reason = "each test target uses its part")]

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::rc::Rc;
use std::sync::Arc;

use chrono::{DateTime, Utc};
use holdfast_bot::channel::{Desk, Lists};
use holdfast_bot::clock::{Clock, ManualClock};
use holdfast_bot::house::House;
use holdfast_bot::rehearse::{self, Enrolment, Played};
use holdfast_bot::store::{Disk, Options, Store};
use holdfast_core::desk::{Actor, Input, What};
use holdfast_core::journal::{Outgoing, Person, State};
use holdfast_core::message::Place;
use holdfast_core::people::Role;
use holdfast_core::settings::Settings;

/// The folder in which `tests` lies.
pub fn tests_folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests")
}

/// What was taken in at one time.
#[derive(Clone)]
pub struct Taken {
    /// The time.
    pub now: DateTime<Utc>,
    /// The inputs, none where only the clock came.
    pub inputs: Vec<Input>,
}

/// What a house leaves behind for the test.
#[derive(Default)]
pub struct Left {
    /// What came in, in order, without the words on deliveries and the clock's own.
    pub taken: Vec<Taken>,
    /// The state in the end.
    pub state: State,
    /// The site's settings.
    pub settings: Settings,
    /// What was said, by chat, without what was said before the night.
    pub said: Vec<(String, String)>,
}

/// A house that writes down what comes in.
pub struct Recorder {
    house: House,
    clock: ManualClock,
    left: Rc<RefCell<Left>>,
}

impl Recorder {
    fn note(&self, inputs: &[Input]) {
        let mut inputs: Vec<Input> = inputs.to_vec();
        let ticks = inputs.iter().any(|input| input.what == What::Tick);
        inputs.retain(|input| !matches!(input.what, What::Tick | What::Delivered { .. }));
        if ticks || !inputs.is_empty() {
            self.left.borrow_mut().taken.push(Taken { now: self.clock.now(), inputs });
        }
    }
}

impl Desk for Recorder {
    fn now(&self) -> DateTime<Utc> {
        self.clock.now()
    }

    fn take(&mut self, inputs: Vec<Input>) -> anyhow::Result<Vec<Outgoing>> {
        self.note(&inputs);
        let said = self.house.take(inputs, self.clock.now())?;
        let mut left = self.left.borrow_mut();
        left.state = self.house.state().clone();
        left.said.extend(said.iter().map(|outgoing| (outgoing.chat.clone(), outgoing.body.clone())));
        Ok(said)
    }

    fn next_wake(&self) -> Option<DateTime<Utc>> {
        self.house.next_wake()
    }

    fn places_of(&self, sent: &str) -> Vec<Place> {
        self.house.store().sent(sent).expect("the store answers").map(|sent| sent.about).unwrap_or_default()
    }

    fn people(&self) -> &BTreeMap<String, Person> {
        &self.house.state().people
    }
}

/// The people of a script, enrolled as the program enrols them before a night.
fn enrolments(people: &[Enrolment], now: DateTime<Utc>) -> Vec<Input> {
    let input = |key: String, chat: &str, by: &str, what: What| Input {
        key,
        said_at: now,
        heard_at: now,
        actor: Some(Actor { person: by.to_owned(), chat: chat.to_owned(), topic: None }),
        what,
    };
    let mut inputs: Vec<Input> = people
        .iter()
        .map(|person| {
            let what = What::Enrol { name: person.name.clone(), role: person.role };
            input(format!("enrol {}", person.name), &person.chat, &person.name, what)
        })
        .collect();
    let lead = people.iter().find(|person| person.role == Role::Lead).expect("a lead");
    for (person, firm) in people.iter().filter_map(|person| Some((person, person.firm.as_ref()?))) {
        let text = format!("enrol {} for {firm}", person.name);
        let what = What::Message { text, re: Vec::new() };
        inputs.push(input(format!("firm of {}", person.name), &lead.chat, &lead.name, what));
    }
    inputs
}

/// Plays a script on a house in `folder` of `disk`.
pub fn play_on(text: &str, disk: Arc<dyn Disk>, folder: &Path) -> (Played, Left) {
    let script = rehearse::parse(text).unwrap_or_else(|unreadable| panic!("{unreadable}"));
    let left = Rc::new(RefCell::new(Left::default()));
    let open = |settings: Settings, clock: ManualClock, people: &[Enrolment]| {
        let (store, state, _) = Store::open_on(disk, folder, Options::default())?;
        left.borrow_mut().settings = settings.clone();
        let house = House::new(store, state, settings);
        let mut recorder = Recorder { house, clock, left: left.clone() };
        for input in enrolments(people, recorder.now()) {
            let _before_the_night = recorder.take(vec![input])?;
        }
        left.borrow_mut().said.clear();
        Ok(recorder)
    };
    let nights = tests_folder().join("nights");
    let played = rehearse::play(&script, &nights, Lists::HOUSE, open).expect("the night begins");
    assert!(played.broken.is_none(), "{:?}", played.broken);
    (played, Rc::into_inner(left).expect("the house is gone").into_inner())
}
