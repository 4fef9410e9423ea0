//! A night in a test: people, a packing list, typed words in, the assistant's words out. After every step the books'
//! law is checked against a second count of the movements, kept apart from the books.

use std::collections::BTreeMap;

use chrono::{DateTime, Duration, TimeZone, Utc};

use crate::consignment::{LineKey, ListLine, PackingList};
use crate::desk::{Actor, Input, Outcome, Refusal, What, step};
use crate::journal::{Event, Frame, Outgoing, State, Tally};
use crate::message::Place;
use crate::people::Role;
use crate::settings::Settings;
use crate::stock::Movement;

/// One row of a packing list: box, bag, bags, fish, how many.
pub type Row = (u32, Option<u32>, Option<u32>, &'static str, u32);

/// A night on a clock of its own.
#[derive(Clone)]
pub struct Night {
    pub state: State,
    pub settings: Settings,
    pub now: DateTime<Utc>,
    pub last: Outcome,
    pub frames: Vec<Frame>,
    /// Balances by line and account name, counted from the movements alone.
    second_count: BTreeMap<(LineKey, String), i64>,
    given: u64,
}

impl Night {
    /// A house whose lead is lea.
    pub fn new() -> Self {
        let now = Utc.with_ymd_and_hms(2026, 3, 3, 22, 0, 0).single().unwrap();
        let nothing = Input { key: "none".into(), said_at: now, heard_at: now, actor: None, what: What::Tick };
        let settings = Settings::default();
        let state = State::default();
        let last = step(&state, &settings, &nothing, now);
        let mut night =
            Night { state, settings, now, last, frames: Vec::new(), second_count: BTreeMap::new(), given: 0 };
        let enrol = What::Enrol { name: "lea".into(), role: Role::Lead };
        night.take(None, enrol);
        night
    }

    /// A house with the crew ana and bo, the office of, the buyers rita (Reef & River) and tom (Tank Town), and tanks.
    pub fn staffed() -> Self {
        let mut night = Night::new();
        for text in [
            "enrol ana as crew",
            "enrol bo as crew",
            "enrol olga as office",
            "buyer Reef & River",
            "enrol rita for Reef & River",
            "enrol tom for Tank Town",
            "tanks A1-A12 200 L",
            "trays 1-6",
        ] {
            night.says("lea", text);
        }
        for person in ["ana", "bo", "olga", "rita", "tom"] {
            night.says(person, "hello everybody");
        }
        night
    }

    /// A staffed house with one list: box 7 of three bags without numbers, box 8 of one bag, box 9 of two kinds.
    pub fn with_a_list() -> Self {
        let mut night = Night::staffed();
        night.imports("Rio Claro", &RIO);
        night
    }

    /// Sends a list as the lead and says yes to it.
    pub fn imports(&mut self, supplier: &str, rows: &[Row]) -> String {
        let offered = self.list("lea", supplier, rows);
        assert!(offered.contains("Import it?"), "{offered}");
        self.says("lea", "import")
    }

    pub fn list(&mut self, person: &str, supplier: &str, rows: &[Row]) -> String {
        let what = What::List(Box::new(packing_list(supplier, rows)));
        self.take(Some(person), what)
    }

    /// What the assistant answers to a typed message; empty where it says nothing.
    pub fn says(&mut self, person: &str, text: &str) -> String {
        self.take(Some(person), What::Message { text: text.into(), re: Vec::new() })
    }

    /// The same as a reply to a line about places.
    pub fn replies(&mut self, person: &str, re: &[Place], text: &str) -> String {
        self.take(Some(person), What::Message { text: text.into(), re: re.to_vec() })
    }

    /// Replies "undo" to the assistant's line that came of a frame.
    pub fn undoes(&mut self, person: &str, line: u64) -> String {
        self.take(Some(person), What::Reply { text: "undo".into(), re: Vec::new(), to: line })
    }

    /// Edits the message with this key.
    pub fn edits(&mut self, person: &str, of: &str, text: &str) -> String {
        self.take(Some(person), What::Edit { of: of.into(), text: text.into() })
    }

    /// Presses a button of the last answer.
    pub fn presses(&mut self, person: &str, label: &str) -> String {
        let button = self.last.outgoing.iter().flat_map(|message| &message.buttons).find(|b| b.label == label);
        let button = button.unwrap_or_else(|| panic!("no button {label}")).clone();
        self.take(Some(person), What::Button { question: button.question, choice: button.choice })
    }

    /// The key of the message taken last.
    pub fn key(&self) -> String {
        format!("k{}", self.given)
    }

    /// Time passes; the clock speaks whenever it has something to say. What it said comes back.
    pub fn wait(&mut self, minutes: i64) -> Vec<Outgoing> {
        let until = self.now + Duration::minutes(minutes);
        let mut said = Vec::new();
        while let Some(at) = crate::desk::next_wake(&self.state).filter(|at| *at <= until) {
            self.now = self.now.max(at);
            self.take(None, What::Tick);
            said.extend(self.last.outgoing.clone());
        }
        self.now = until;
        said
    }

    /// What the last step said to a chat besides the answer.
    pub fn told(&self, person: &str) -> Vec<String> {
        let chat = chat_of(person);
        let beside = self.last.outgoing.iter().filter(|message| message.reply_to.is_none() && message.chat == chat);
        beside.map(|message| message.body.clone()).collect()
    }

    /// Time passes and the clock says nothing.
    pub fn pause(&mut self, minutes: i64) {
        self.now += Duration::minutes(minutes);
    }

    /// Everything a person could take back, as text to compare: what was asked, said and numbered apart.
    pub fn fingerprint(&self) -> String {
        let state = &self.state;
        let people: Vec<_> = state.people.iter().map(|(name, person)| (name, person.role, &person.buyer)).collect();
        let entries: Vec<_> = state.entries.values().collect();
        let parts = (&state.consignments, &state.boxes, &state.bags, &state.vessels, &state.lots);
        let more = (&state.looks, &state.reservations, entries, people, &state.buyers, &state.names);
        format!("{:#?}\n{parts:#?}\n{more:#?}", state.books)
    }

    /// The only refusal of the last step.
    pub fn refused(&self) -> &Refusal {
        assert_eq!(self.last.refusals.len(), 1, "{:?}", self.last.outgoing);
        &self.last.refusals[0]
    }

    /// What became of all fish of the first consignment.
    pub fn books(&self) -> Tally {
        self.state.tally_consignment(crate::consignment::ConsignmentNo(1))
    }

    pub fn line(&self, line: u32) -> Tally {
        self.state.tally(LineKey { consignment: crate::consignment::ConsignmentNo(1), line })
    }

    /// Takes one input, applies its frame and checks the books.
    pub fn take(&mut self, person: Option<&str>, what: What) -> String {
        self.given += 1;
        self.now += Duration::seconds(20);
        let actor = person.map(|person| Actor { person: person.into(), chat: chat_of(person), topic: None });
        let input = Input { key: self.key(), said_at: self.now, heard_at: self.now, actor, what };
        let outcome = step(&self.state, &self.settings, &input, self.now);
        if outcome.makes_a_frame() {
            let frame = Frame {
                seq: self.state.seq + 1,
                at: self.now,
                cause: outcome.cause.clone(),
                events: outcome.events.clone(),
                outgoing: outcome.outgoing.clone(),
            };
            self.state.apply(&frame);
            for event in &frame.events {
                self.count_again(event);
            }
            self.frames.push(frame);
        }
        self.last = outcome;
        self.check();
        let answer = self.last.outgoing.iter().find(|message| message.reply_to.is_some());
        answer.map(|message| message.body.clone()).unwrap_or_default()
    }

    fn count_again(&mut self, event: &Event) {
        match event {
            Event::FishMoved(Movement { line, from, to, count }) => {
                for (purse, sign) in [(from, -1), (to, 1)] {
                    let key = (*line, format!("{:?}", purse.account));
                    *self.second_count.entry(key).or_default() += sign * i64::from(*count);
                }
            }
            Event::Withdrawn { undone, .. } => {
                for event in undone {
                    self.count_again(event);
                }
            }
            _ => {}
        }
    }

    /// The books' law.
    fn check(&self) {
        assert_eq!(self.state.books.faults(), Vec::new());
        let mut booked: BTreeMap<(LineKey, String), i64> = BTreeMap::new();
        for (purse, line, balance) in self.state.books.all() {
            *booked.entry((line, format!("{:?}", purse.account))).or_default() += balance;
        }
        booked.retain(|_, balance| *balance != 0);
        let mut second = self.second_count.clone();
        second.retain(|_, balance| *balance != 0);
        assert_eq!(booked, second, "the movements do not add up to the books");
        let mut sources: BTreeMap<LineKey, i64> = BTreeMap::new();
        let mut held: BTreeMap<LineKey, i64> = BTreeMap::new();
        for ((line, account), balance) in &second {
            let is_source = account == "Listed" || account == "Extra";
            *if is_source { &mut sources } else { &mut held }.entry(*line).or_default() += balance;
        }
        for (line, given) in &sources {
            assert_eq!(-given, held.get(line).copied().unwrap_or(0), "line {line:?}");
        }
        assert!(sources.len() >= held.len());
        assert!(sources.values().all(|given| *given <= 0));
    }
}

/// Crew, lead and office sit in one chat; a buyer, or a stranger, has its own.
pub fn chat_of(person: &str) -> String {
    match person {
        "lea" | "ana" | "bo" | "olga" => "house".into(),
        other => format!("chat of {other}"),
    }
}

/// Box 7: three bags of one kind, box 8: one bag, box 9: two kinds in numbered bags, box 12: one bag.
pub const RIO: [Row; 5] = [
    (7, None, Some(3), "clown loach", 120),
    (8, None, Some(1), "neon tetra", 100),
    (9, Some(1), None, "yoyo loach", 40),
    (9, Some(2), None, "neon tetra", 50),
    (12, None, Some(1), "kuhli loach", 30),
];

/// A packing list as its reader hands it over.
pub fn packing_list(supplier: &str, rows: &[Row]) -> PackingList {
    let lines: Vec<ListLine> = rows
        .iter()
        .map(|(number, bag, bags, species, qty)| ListLine {
            number: Some(*number),
            bag: *bag,
            bags: *bags,
            species: (*species).into(),
            scientific: None,
            size: None,
            qty: *qty,
            bonus: 0,
            unit_price: None,
            under: None,
        })
        .collect();
    PackingList {
        file: format!("{supplier}.csv"),
        supplier: Some(supplier.into()),
        invoice: Some(format!("invoice of {supplier}")),
        total_qty: lines.iter().map(|line| u64::from(line.qty)).sum(),
        lines,
        ..PackingList::default()
    }
}

/// Holds that a reply has all these parts.
pub(super) fn has(reply: &str, parts: &[&str]) {
    for part in parts {
        assert!(reply.contains(part), "no \"{part}\" in: {reply}");
    }
}

/// A night with a list and a stocked tank.
pub(super) fn stocked() -> Night {
    let mut night = Night::with_a_list();
    night.says("ana", "8 100 ok");
    night.says("ana", "8 into A2");
    night
}
