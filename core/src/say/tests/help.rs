//! Every example in the help does what it says: it is read into acts by the reader, or is an order of the desk.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};

use super::lines;
use crate::desk::{self, Actor, Input, Refusal, What};
use crate::journal::{Event, Person, State, fold};
use crate::message::{self, BoxWords, Dialogue, Gallon, Incoming, LotWords, Place, Vocabulary};
use crate::people::{Power, Role};
use crate::say::{answer, recorded, refusal};
use crate::settings::Settings;

fn at() -> DateTime<Utc> {
    "2026-03-02T22:10:00Z".parse().unwrap()
}

/// A small house: two boxes, twenty-four tanks, three trays, one lot, one buyer.
fn house() -> Vocabulary {
    let words = |bags, species: &str| BoxWords { bags: Some(bags), spare_bags: 0, species: vec![species.to_owned()] };
    Vocabulary {
        tanks: Some((1..=24).map(|no| format!("A{no}")).collect()),
        trays: Some(["1", "2", "3"].map(str::to_owned).to_vec()),
        boxes: Some(BTreeMap::from([
            (2, words(2, "clown loach")),
            (7, words(3, "clown loach")),
            (12, words(1, "neon tetra")),
        ])),
        lots: Some(BTreeMap::from([(
            43,
            LotWords { species: Some("clown loach".to_owned()), tank: Some("A12".to_owned()) },
        )])),
        species: Some(["clown loach", "yoyo loach", "neon tetra"].map(str::to_owned).to_vec()),
        species_aliases: BTreeMap::new(),
        buyers: Some(vec!["Reef & River".to_owned()]),
        suppliers: vec!["Rio Claro".to_owned()],
        crew: vec!["ana".to_owned()],
        tz: chrono_tz::Europe::London,
        gallon: Gallon::default(),
    }
}

/// The examples of the help, in order, without the name of the job.
fn examples() -> Vec<String> {
    answer::help()
        .lines()
        .filter_map(|line| line.split_once(": "))
        .flat_map(|(_, examples)| examples.split(" · ").map(str::to_owned).collect::<Vec<_>>())
        .collect()
}

/// Whether the desk takes it as an order: it decides something or refuses it with a reason, where the reader would have read nothing.
fn is_order(text: &str) -> bool {
    let mut state = State::default();
    let lead = Person { role: Role::Lead, buyer: None, chat: Some("crew".to_owned()) };
    fold(&mut state, &Event::PersonSet { name: "dee".to_owned(), to: Some(lead) });
    let actor = Actor { person: "dee".to_owned(), chat: "crew".to_owned(), topic: None };
    let what = What::Message { text: text.to_owned(), re: Vec::new() };
    let input = Input { key: "1".to_owned(), said_at: at(), heard_at: at(), actor: Some(actor), what };
    let outcome = desk::step(&state, &Settings::default(), &input, at());
    let decided = outcome.events.iter().any(|event| !matches!(event, Event::Heard { .. }));
    outcome.cause.acts.is_empty() && (decided || !outcome.refusals.is_empty())
}

/// How each text is taken, one after the other by one sender: an order, or the acts as they are read back.
#[track_caller]
fn taken(texts: impl IntoIterator<Item = String>) -> String {
    let vocabulary = house();
    let mut dialogue = Dialogue::default();
    let mut said = Vec::new();
    for text in texts {
        if is_order(&text) {
            said.push(format!("{text} => an order"));
            continue;
        }
        let incoming = Incoming { from: "dee".to_owned(), at: at(), text: text.clone(), re: Vec::new() };
        let reading = message::read(&vocabulary, &dialogue, &incoming);
        assert_eq!(reading.ask.map(|ask| ask.doubt), None, "{text} asks back");
        assert_eq!(reading.unread, Vec::<String>::new(), "{text} is not read whole");
        assert!(!reading.acts.is_empty(), "{text} is read as nothing");
        dialogue = reading.dialogue;
        let clauses: Vec<String> = reading.acts.iter().map(recorded::clause).collect();
        said.push(format!("{text} => {}", clauses.join(" + ")));
    }
    lines(said)
}

#[test]
fn every_example_in_the_help_is_read_as_it_says() {
    insta::assert_snapshot!(taken(examples()), @r"
    boxes in the door => boxes in the house
    which box next => which box next?
    opening 7 => box 7 opened
    7 done => box 7 done
    box 12 late => an order
    consignment from NAME, 12 boxes => an order
    7.1 38 clown loach alive 2 dead => 7.1 38 clown loach alive, 2 dead
    box 7 no list => an order
    7.2 36 ok 4 dead => 7.2 36 sound, 4 dead
    2 more dead 7.2 => 7.2 2 more dead
    2.1 not clowns, yoyos, 38 => 2.1 38 yoyos instead
    7.2 temp 24 ph 6.4 ammonia 3 => 7.2 24.0 °C, pH 6.4, total ammonia 3 mg/L
    tray 3 wc 30% => tray 3 water change 30 %
    5 ml binder tray 3 => tray 3 dosed 5 ml ammonia binder
    plan for 7.2 => what is the plan for in 7.2?
    7.2 into tray 3 => 7.2 into tray 3
    36 from tray 3 to A12 => 36 from tray 3 into A12
    A12 all good, eating => A12 feeding, all well
    A12 2 dead => A12 2 dead
    look at A12 again in 2h => A12 recheck in 120 min
    later => later
    what's due? => what is due?
    hold A12 48h => A12 hold 48 h
    clear A12 => A12 clear
    clear 30 from A12 => release 30 from A12
    12 clown loach for Reef & River => reserved 12 clown loach for Reef & River
    A12 12 shipped to Reef & River => A12 12 shipped to Reef & River
    12 13 straight through to Reef => an order
    sorry 5 not 4 => correction: 7.2 5 dead
    undo => undo
    board => board
    how's A12 => how is it in A12?
    how many dead so far => how many dead?
    who has reserved what => which buyers are waiting for?
    tanks A1-A24 200 L => tanks A1, A2, A3, A4, A5, A6, A7, A8, A9, A10, A11, A12, A13, A14, A15, A16, A17, A18, A19, A20, A21, A22, A23, A24, 200 L
    enrol ana as crew => an order
    buyer NAME => an order
    enrol rita for NAME => an order
    price lot 43 2.50 EUR => an order
    ");
}

/// What stands behind the last colon of each refusal that says what to type.
#[test]
fn every_way_out_that_a_refusal_names_is_read() {
    let a12 = || Place::Tank { tank: "A12".to_owned() };
    let refusals = [
        Refusal::NoSuchFish { at: Some(a12()), species: "clown loach".to_owned() },
        Refusal::NotThere { at: Place::Bag { number: 7, bag: 2 }, species: None, there: 0, asked: 0, promised: 0 },
        Refusal::NotThere { at: Place::Lot { lot: 43 }, species: None, there: 0, asked: 0, promised: 0 },
        Refusal::WhichFish { at: a12() },
        Refusal::NotHere { number: 12, standing: "late" },
        Refusal::NotReady { at: a12(), unmet: vec!["nobody has looked yet".to_owned()], met: Vec::new() },
        Refusal::NotReady { at: Place::Lot { lot: 43 }, unmet: vec!["not counted".to_owned()], met: Vec::new() },
        Refusal::NotCleared { at: a12(), cleared: 0, asked: 0 },
        Refusal::NoSuchBuyer { name: Some("Blue Door".to_owned()) },
        Refusal::NothingToPutOff,
        Refusal::LastLead,
        Refusal::MayNot { power: Power::ReserveForOneself },
    ];
    let texts = refusals.map(|refusal| {
        let words = refusal::words(&refusal, chrono_tz::UTC);
        let typed = words.rsplit_once(": ").unwrap().1;
        typed.replace("for NAME", "for Reef & River").replace("REASON", "buyer is waiting")
    });
    insta::assert_snapshot!(taken(texts), @r"
    what's in A12? => how is it in A12?
    what's in 7.2? => how is it in 7.2?
    what's in lot 43? => how is it in lot 43?
    A12 40 neon tetra alive => A12 40 neon tetra alive
    box 12 here => an order
    clear A12 anyway, buyer is waiting => A12 clear anyway, buyer is waiting
    clear lot 43 anyway, buyer is waiting => lot 43 clear anyway, buyer is waiting
    clear A12 => A12 clear
    buyer Blue Door => an order
    what's due? => what is due?
    enrol NAME as lead => an order
    12 of lot 43 for Reef & River => reserved 12 of lot 43 for Reef & River
    ");
}
