//! A small desk for tests of the store, and a night that is crashed at every call to the disk.
#![allow(dead_code, reason = "each test target uses its part")]

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Arc;

use chrono::{DateTime, Duration, Utc};
use holdfast_bot::house::{House, NextWake, Step};
use holdfast_bot::store::{Kept, MemoryDisk, Options, Store, StoreError};
use holdfast_core::consignment::{BoxKey, ConsignmentNo, LineKey};
use holdfast_core::desk::{Input, Outcome, What};
use holdfast_core::journal::{
    Cause, CauseKind, Class, Delivery, Entry, Event, Logged, Look, Outgoing, OutgoingId, Spot, State,
};
use holdfast_core::message::{Act, Place, Said};
use holdfast_core::settings::Settings;
use holdfast_core::stock::{Account, Movement};

/// Five in the afternoon of an invented day, and so many minutes.
pub fn at(minutes: i64) -> DateTime<Utc> {
    DateTime::from_timestamp(1_800_032_400, 0).expect("a moment in 2027") + Duration::minutes(minutes)
}

/// A message.
pub fn says(key: &str, text: &str, minutes: i64) -> Input {
    let what = What::Message { text: text.to_owned(), re: Vec::new() };
    Input { key: key.to_owned(), said_at: at(minutes), heard_at: at(minutes), actor: None, what }
}

/// The platform's word that a message was sent.
pub fn delivered(id: OutgoingId, platform_id: &str, now: DateTime<Utc>) -> Input {
    let outcome = Delivery::Sent(platform_id.to_owned());
    Input {
        key: format!("delivered:{}:{}", id.frame, id.nth),
        said_at: now,
        heard_at: now,
        actor: None,
        what: What::Delivered { outgoing: id, outcome },
    }
}

/// A desk that knows five things: "count N" moves N fish and notes it, "look T M" asks for a look at T in M minutes, a
/// tick announces looks that are due, "mumble" is nothing, and whatever else is noted and answered.
pub fn small_desk(state: &State, _settings: &Settings, input: &Input, now: DateTime<Utc>) -> Outcome {
    let frame = state.seq + 1;
    let mut events = Vec::new();
    let mut outgoing = Vec::new();
    let kind = match &input.what {
        What::Message { text, .. } => {
            let words: Vec<&str> = text.split(' ').collect();
            match words.as_slice() {
                ["mumble"] => {}
                ["count", number] => {
                    let count = number.parse().expect("a number");
                    let pack = BoxKey { consignment: ConsignmentNo(1), number: 7 }.bag(1);
                    events.push(Event::FishMoved(Movement {
                        line: LineKey { consignment: ConsignmentNo(1), line: 1 },
                        from: Account::Listed.counted(),
                        to: Account::Packed(pack).counted(),
                        count,
                    }));
                    outgoing.push(message(frame, 0, Class::Answer, format!("{count} counted"), 7));
                    outgoing.push(message(frame, 1, Class::Alarm, format!("{count} for the lead"), 8));
                }
                ["look", tank, minutes] => {
                    let due = now + Duration::minutes(minutes.parse().expect("a number"));
                    events.push(Event::LookSet { vessel: (*tank).to_owned(), to: Some(look(due)) });
                    outgoing.push(message(frame, 0, Class::Answer, format!("{tank}: look later"), 7));
                }
                _ => {
                    events.push(Event::EntrySet { no: frame, to: Some(note(text, now)) });
                    outgoing.push(message(frame, 0, Class::Answer, format!("noted: {text}"), 7));
                }
            }
            CauseKind::Message
        }
        What::Tick => {
            for (vessel, look) in state.looks.iter().filter(|(_, look)| look.due <= now && look.told.is_none()) {
                let mut told = look.clone();
                told.told = Some(now);
                events.push(Event::LookSet { vessel: vessel.clone(), to: Some(told) });
                let nth = outgoing.len() as u32;
                outgoing.push(message(frame, nth, Class::Look, format!("look at {vessel}"), 7));
            }
            CauseKind::Tick
        }
        What::Delivered { outgoing, outcome } => CauseKind::Delivered { outgoing: *outgoing, outcome: outcome.clone() },
        _ => CauseKind::Admin,
    };
    let cause = Cause {
        key: input.key.clone(),
        kind,
        speaker: None,
        said_at: input.said_at,
        acts: vec![],
        dialogue_before: None,
        unread: Vec::new(),
        asked_about: None,
    };
    Outcome { cause, events, outgoing, refusals: Vec::new() }
}

/// When [`small_desk`] has a look to announce.
pub fn small_wake(state: &State) -> Option<DateTime<Utc>> {
    state.looks.values().filter(|look| look.told.is_none()).map(|look| look.due).min()
}

fn message(frame: u64, nth: u32, class: Class, body: String, number: u32) -> Outgoing {
    Outgoing {
        id: OutgoingId { frame, nth },
        chat: "night".to_owned(),
        topic: None,
        reply_to: None,
        class,
        merge: false,
        replaces: None,
        body,
        buttons: Vec::new(),
        about: vec![Place::Box { number }],
    }
}

fn look(due: DateTime<Utc>) -> Look {
    Look {
        due,
        every_min: None,
        asked_by: None,
        chat: "night".to_owned(),
        topic: None,
        told: None,
        nudged: None,
        woken: None,
        next: Some(due),
    }
}

fn note(text: &str, now: DateTime<Utc>) -> Entry {
    let said = Said::from(Act::Note { text: text.to_owned(), at: None });
    Entry { spot: Spot::House, at: now, by: "mika".to_owned(), what: Logged::Act(said) }
}

/// A house with the small desk.
pub fn small_house(store: Store, state: State) -> House {
    House::with_desk(store, state, Settings::default(), Box::new(small_desk), Box::new(small_wake))
}

/// One round of a night: inputs that wait together, and the time at which they are taken.
pub struct Round {
    /// The time.
    pub now: DateTime<Utc>,
    /// The inputs.
    pub inputs: Vec<Input>,
}

/// A night to be crashed: how its desk is made, and its rounds.
pub struct Night<'a> {
    /// Makes the desk anew for each life of the process.
    pub desk: &'a dyn Fn() -> (Step, NextWake),
    /// The rounds.
    pub rounds: &'a [Round],
    /// What is chosen about the store.
    pub options: Options,
}

/// How a night ended.
pub struct Morning {
    /// The state.
    pub state: State,
    /// The journal's bytes.
    pub journal: Vec<u8>,
    /// How often each outgoing message was handed to the platform.
    pub sent: BTreeMap<OutgoingId, u32>,
    /// The most messages that waited at once: so many may be said twice after a crash, and no more.
    pub most_waiting: u32,
    /// Calls to the disk until the last round was done.
    pub calls: u64,
    /// Whether the crash came at all.
    pub crashed: bool,
}

const FOLDER: &str = "/house";

/// Crashes a night at every `stride`-th call to the disk, with each way in which a crash can forget, and holds that it
/// ends as the calm night does. Returns the number of crashes.
pub fn crash_everywhere(night: &Night, stride: usize) -> u64 {
    let calm = calm_night(night);
    assert!(!calm.crashed);
    assert!(calm.sent.values().all(|times| *times == 1), "a calm night says everything once");
    assert!(calm.state.books.faults().is_empty());
    let mut crashes = 0;
    for nth in (1..=calm.calls).step_by(stride) {
        for kept in [Kept::Nothing, Kept::Half, Kept::All] {
            let disk = MemoryDisk::new();
            disk.crash_at(nth);
            let morning = play(night, &disk, kept);
            let case = format!("crash at call {nth}, of what was not synced is kept: {kept:?}");
            assert!(morning.crashed, "{case}");
            assert!(morning.journal == calm.journal, "{case}: the journal differs from the calm night's");
            assert!(morning.state == calm.state, "{case}: the state differs from the calm night's");
            assert!(morning.sent.keys().eq(calm.sent.keys()), "{case}: not the same messages were sent");
            let again = morning.sent.values().map(|times| times - 1).sum::<u32>();
            assert!(again <= calm.most_waiting, "{case}: {again} messages were sent twice");
            crashes += 1;
        }
    }
    crashes
}

/// A night without a crash.
pub fn calm_night(night: &Night) -> Morning {
    play(night, &MemoryDisk::new(), Kept::All)
}

/// What was said so far, in every life of the process.
#[derive(Default, Clone)]
struct Spoken {
    /// How often each message was handed to the platform.
    sent: BTreeMap<OutgoingId, u32>,
    /// What was handed out, with its words.
    released: BTreeMap<OutgoingId, String>,
    /// What the platform confirmed, and the house knows it.
    confirmed: BTreeSet<OutgoingId>,
    /// The most messages that waited at once.
    most_waiting: u32,
}

impl Spoken {
    /// Starts a house and holds that it knows what it said.
    fn house(&self, night: &Night, disk: &MemoryDisk) -> Result<House, StoreError> {
        let (store, state, _) = Store::open_on(Arc::new(disk.clone()), Path::new(FOLDER), night.options)?;
        let waiting = store.undelivered();
        let again = waiting.iter().find(|waiting| self.confirmed.contains(&waiting.outgoing.id));
        assert!(again.is_none(), "a delivered message waits again: {again:?}");
        for (id, body) in &self.released {
            assert!(id.frame <= store.last().seq, "a reply was released and its frame is lost: {body}");
        }
        let (step, next_wake) = (night.desk)();
        Ok(House::with_desk(store, state, Settings::default(), step, next_wake))
    }

    /// One round; everything said in it is sent and confirmed before the next. `heard` is told of each message on its
    /// way out.
    fn round(&mut self, house: &mut House, round: &Round, heard: &mut dyn FnMut(&Spoken)) -> Result<(), StoreError> {
        house.take(round.inputs.clone(), round.now)?;
        if let Some(tick) = house.tick(round.now) {
            house.take(vec![tick], round.now)?;
        }
        let mut answers = Vec::new();
        let mut waiting = house.store().undelivered();
        waiting.sort_by_key(|waiting| waiting.outgoing.id);
        self.most_waiting = self.most_waiting.max(waiting.len() as u32);
        for waiting in waiting {
            let id = waiting.outgoing.id;
            self.released.insert(id, waiting.outgoing.body);
            house.store_mut().mark_in_flight(id)?;
            *self.sent.entry(id).or_insert(0) += 1;
            heard(self);
            answers.push(delivered(id, &format!("p{}-{}", id.frame, id.nth), round.now));
        }
        house.take(answers, round.now)?;
        self.confirmed.extend(self.released.keys());
        heard(self);
        Ok(())
    }

    /// How many messages were handed to the platform more than once.
    fn again(&self) -> u32 {
        self.sent.values().map(|times| times - 1).sum()
    }
}

/// Plays a night: each round is repeated, as a platform repeats it, until the house has taken it in.
fn play(night: &Night, disk: &MemoryDisk, kept: Kept) -> Morning {
    let mut spoken = Spoken::default();
    let mut crashed = false;
    let mut life = 0;
    let mut house: Option<House> = None;
    let mut round = 0;
    while round < night.rounds.len() || house.is_none() {
        let outcome: Result<(), StoreError> = (|| {
            if house.is_none() {
                house = Some(spoken.house(night, disk)?);
            }
            let house = house.as_mut().expect("opened just now");
            let Some(next) = night.rounds.get(round) else { return Ok(()) };
            spoken.round(house, next, &mut |_| {})
        })();
        match outcome {
            Ok(()) => round += 1,
            Err(_) => {
                assert!(disk.is_dead(), "only the crash may make a night fail");
                crashed = true;
                life += 1;
                assert!(life < 3, "the disk crashes once");
                house = None;
                disk.restart(kept);
            }
        }
    }
    let calls = disk.calls();
    // What a start after the night finds is what counts.
    drop(house);
    let (_, state, _) =
        Store::open_on(Arc::new(disk.clone()), Path::new(FOLDER), night.options).expect("the store opens");
    let Spoken { sent, most_waiting, .. } = spoken;
    Morning { state, journal: journal_of(disk), sent, most_waiting, calls, crashed }
}

fn journal_of(disk: &MemoryDisk) -> Vec<u8> {
    disk.contents(&Path::new(FOLDER).join(holdfast_bot::store::JOURNAL)).expect("a journal")
}

/// Crashes every call to the disk in those rounds of a night whose number leaves `share` when divided by `shares`, with
/// each way in which a crash can forget. Each crash must end as the calm round does: with the same journal, the same
/// state, and nothing left unsaid. What follows would be the calm night again, so it is not played again. Returns the
/// number of crashes.
pub fn crash_each_round(night: &Night, share: usize, shares: usize) -> u64 {
    let disk = MemoryDisk::new();
    let mut spoken = Spoken::default();
    let mut house = spoken.house(night, &disk).expect("the calm disk works");
    let mut crashes = 0;
    for (number, round) in night.rounds.iter().enumerate() {
        // Between two messages sled has flushed; that it has not for a whole night is for the shorter night's crashes.
        disk.settle();
        if number % shares != share {
            spoken.round(&mut house, round, &mut |_| {}).expect("the calm disk works");
            continue;
        }
        let mut heard = vec![(disk.calls(), spoken.clone())];
        disk.film();
        let calls = disk.clone();
        spoken.round(&mut house, round, &mut |spoken| heard.push((calls.calls(), spoken.clone()))).expect("it works");
        let calm = Calm { journal: journal_of(&disk), state: house.state(), spoken: &spoken };
        let mut played: Vec<(MemoryDisk, u64)> = Vec::new();
        for image in disk.take_film() {
            let (since, spoken) = heard.iter().rfind(|(calls, _)| *calls < image.call).expect("the round's beginning");
            for kept in [Kept::Nothing, Kept::Half, Kept::All] {
                crashes += 1;
                let after = image.disk.copy();
                after.restart(kept);
                // Where nothing was written in between, a crash leaves what the one before it left: it is played once.
                if played.iter().any(|(other, at)| at == since && other.holds_the_same(&after)) {
                    continue;
                }
                played.push((after.copy(), *since));
                let case = format!("round {number}, crash at call {}, kept: {kept:?}", image.call);
                calm.holds_after(night, &after, spoken.clone(), round, &case);
            }
        }
    }
    crashes
}

/// How a calm round ended.
struct Calm<'a> {
    journal: Vec<u8>,
    state: &'a State,
    spoken: &'a Spoken,
}

impl Calm<'_> {
    /// Starts again after a crash, repeats the round, and holds that all is as after the calm one.
    fn holds_after(&self, night: &Night, disk: &MemoryDisk, mut spoken: Spoken, round: &Round, case: &str) {
        let mut house = spoken.house(night, disk).unwrap_or_else(|error| panic!("{case}: {error}"));
        spoken.round(&mut house, round, &mut |_| {}).unwrap_or_else(|error| panic!("{case}: {error}"));
        assert!(journal_of(disk) == self.journal, "{case}: the journal differs from the calm night's");
        assert!(house.state() == self.state, "{case}: the state differs from the calm night's");
        assert!(house.store().undelivered().is_empty(), "{case}: something waits to be said");
        assert!(spoken.sent.keys().eq(self.spoken.sent.keys()), "{case}: not the same messages were sent");
        let again = spoken.again();
        assert!(again <= self.spoken.most_waiting, "{case}: {again} messages were sent twice");
    }
}

/// A first frame that no desk would make: it takes fish out of an empty tray.
pub fn taking_fish_that_are_not_there() -> holdfast_core::journal::Frame {
    let movement = Movement {
        line: LineKey { consignment: ConsignmentNo(1), line: 1 },
        from: Account::Tray("3".to_owned()).counted(),
        to: Account::Culled.counted(),
        count: 4,
    };
    let cause = Cause {
        key: "k".to_owned(),
        kind: CauseKind::Message,
        speaker: None,
        said_at: at(0),
        acts: vec![],
        dialogue_before: None,
        unread: Vec::new(),
        asked_about: None,
    };
    let events = vec![Event::FishMoved(movement)];
    holdfast_core::journal::Frame { seq: 1, at: at(0), cause, events, outgoing: Vec::new() }
}
