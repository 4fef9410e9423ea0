//! A draft: the state as it will be, the events that make it so, and what is to be said.

use chrono::{DateTime, Duration, Utc};

use super::refusal::Refusal;
use crate::consignment::{BoxKey, ConsignmentNo, LineKey, LotNo, ReservationNo};
use crate::journal::{
    Button, Class, Entry, Event, Logged, Matter, Outgoing, OutgoingId, Pending, Speaker, Spot, State, fold, inverse_of,
};
use crate::message::{Choice, Place, Question, Said, Wanted};
use crate::people::{Power, Role, may};
use crate::say;
use crate::settings::Settings;
use crate::stock::{Account, Certainty, Movement, Purse};

/// How long a question stands.
const QUESTION_MINUTES: i64 = 20;

/// Why an act does not simply go through.
#[derive(Debug)]
pub(super) enum Stop {
    /// The domain says no.
    Refused(Box<Refusal>),
    /// The person is asked first; nothing is recorded.
    Asked(Box<Query>),
}

impl From<Refusal> for Stop {
    fn from(refusal: Refusal) -> Self {
        Stop::Refused(Box::new(refusal))
    }
}

impl From<Query> for Stop {
    fn from(query: Query) -> Self {
        Stop::Asked(Box::new(query))
    }
}

/// A question to the speaker.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Query {
    /// Its words.
    pub text: String,
    /// What the answer decides, where the desk decides.
    pub matter: Option<Matter>,
    /// The acts that wait for a place, a number or a unit, where the reader completes them.
    pub partial: Vec<Said>,
    /// What answers it.
    pub wanted: Wanted,
}

impl Query {
    /// A question with choices that the desk acts on.
    pub fn choice(text: String, matter: Matter, choices: Vec<Choice>) -> Self {
        Query { text, matter: Some(matter), partial: Vec::new(), wanted: Wanted::Choice(choices) }
    }

    /// A question for a number that completes an act, or for one of the choices, on which the desk acts.
    pub fn number_or(text: String, field: &str, act: Said, matter: Matter, choices: Vec<Choice>) -> Self {
        let wanted = Wanted::NumberOr(field.to_owned(), choices);
        Query { text, matter: Some(matter), partial: vec![act], wanted }
    }

    /// A question for a place that completes an act.
    pub fn place(text: String, act: Said) -> Self {
        Query { text, matter: None, partial: vec![act], wanted: Wanted::Place }
    }
}

/// What an act that went through says.
#[derive(Debug, Default)]
pub(super) struct Done {
    /// What was written, where it is not the act's own clause.
    pub recorded: Option<String>,
    /// What is open now.
    pub standing: String,
    /// What has to be asked now.
    pub ask: Option<Query>,
}

impl Done {
    /// Nothing to add but this.
    pub fn standing(standing: String) -> Self {
        Done { standing, ..Done::default() }
    }
}

/// Everything one input changes, before it is journalled.
pub(super) struct Draft<'a> {
    /// The state with the draft's events applied.
    pub state: State,
    /// The site's settings.
    pub settings: &'a Settings,
    /// When the house heard it.
    pub now: DateTime<Utc>,
    /// When it was said.
    pub said_at: DateTime<Utc>,
    /// Who speaks where; the house itself for the clock.
    pub speaker: Speaker,
    /// The speaker's role.
    pub role: Role,
    /// The buyer that the speaker speaks for.
    pub buyer: Option<String>,
    /// The consignment meant when a box number is open in two.
    pub consignment: Option<ConsignmentNo>,
    /// What was decided so far.
    pub events: Vec<Event>,
    /// Messages to others than the speaker.
    pub outgoing: Vec<Outgoing>,
    /// Why the domain said no, so far.
    pub refusals: Vec<Refusal>,
    /// The lines of the answer.
    pub lines: Vec<String>,
    /// Lines that follow the act's own line: what else it meant.
    pub also: Vec<String>,
    /// Lines of the answer that cannot wait.
    pub alarms: Vec<String>,
    /// Vessels of which a later act of the message says the next look.
    pub more_to_come: Vec<String>,
    /// Vessels for which the message asked a look at its own time.
    pub asked_now: Vec<String>,
    /// Vessels whose next look was planned but not said yet, each with the minutes by which the answer was late.
    pub unsaid: Vec<(String, Option<i64>)>,
    /// Buttons under the answer.
    pub buttons: Vec<Button>,
    /// The question that now waits for the speaker.
    pub question: Option<Question>,
    /// Places the answer speaks of.
    pub about: Vec<Place>,
    /// The correction that is being put into an earlier act: a question about it is a question about the correction.
    pub correcting: Option<Said>,
    /// The last question about a number that cannot be; it is put again where a correction is taken back for it.
    pub doubted: Option<Query>,
    /// Counts of the message that wait for the place of a sign beside them.
    pub withheld: Vec<Said>,
    /// Whether the speaker has just said that what looks like a repetition is meant.
    pub meant: bool,
    /// The tank that a question for a plan names.
    pub planned_into: Option<Place>,
    /// Boxes of which buyers are told something in the end.
    pub passed: Vec<(super::through::News, BoxKey)>,
    /// The frame of the assistant's line that the message replies to.
    pub replied: Option<u64>,
    inverse: Vec<Event>,
    given: u64,
}

#[derive(Debug)]
/// Where a draft stood: what [`Draft::back_to`] returns to.
pub(super) struct Mark {
    events: usize,
    inverse: usize,
    outgoing: usize,
    consignment: Option<ConsignmentNo>,
}

impl<'a> Draft<'a> {
    /// A draft on a copy of the state.
    pub fn new(
        state: &State,
        settings: &'a Settings,
        speaker: Speaker,
        said_at: DateTime<Utc>,
        now: DateTime<Utc>,
    ) -> Self {
        let person = state.people.get(&speaker.person);
        let spoken = state.dialogues.get(&speaker);
        Draft {
            state: state.clone(),
            settings,
            now,
            said_at,
            role: person.map_or(Role::Crew, |person| person.role),
            buyer: person.and_then(|person| person.buyer.clone()),
            consignment: spoken.and_then(|spoken| spoken.consignment),
            speaker,
            events: Vec::new(),
            outgoing: Vec::new(),
            refusals: Vec::new(),
            lines: Vec::new(),
            also: Vec::new(),
            alarms: Vec::new(),
            more_to_come: Vec::new(),
            asked_now: Vec::new(),
            unsaid: Vec::new(),
            buttons: Vec::new(),
            question: None,
            about: Vec::new(),
            correcting: None,
            doubted: None,
            withheld: Vec::new(),
            meant: false,
            planned_into: None,
            passed: Vec::new(),
            replied: None,
            inverse: Vec::new(),
            given: 0,
        }
    }

    /// Refuses where the speaker's role does not have the power.
    pub fn require(&self, power: Power) -> Result<(), Stop> {
        if may(self.role, power) { Ok(()) } else { Err(Refusal::MayNot { power }.into()) }
    }

    /// Records an event.
    pub fn emit(&mut self, event: Event) {
        self.inverse.extend(inverse_of(&self.state, &event));
        fold(&mut self.state, &event);
        self.events.push(event);
    }

    /// The recorded clause of an act, temperatures in the scale of the site.
    pub fn recorded(&self, said: &Said) -> String {
        say::recorded::clause_in(said, self.settings.temperature)
    }

    /// Moves fish, if there are any to move.
    pub fn transfer(&mut self, line: LineKey, from: Purse, to: Purse, count: u32) {
        if count > 0 && from != to {
            self.emit(Event::FishMoved(Movement { line, from, to, count }));
        }
    }

    /// Moves fish of one account into another, those of the first certainty named first; their certainty goes with them.
    /// Returns how many could not be moved because they are not there.
    pub fn transfer_some(&mut self, line: LineKey, from: &Account, to: &Account, count: u32, first: Certainty) -> u32 {
        let order = match first {
            Certainty::Presumed => [Certainty::Presumed, Certainty::Counted],
            Certainty::Counted => [Certainty::Counted, Certainty::Presumed],
        };
        let mut wanted = count;
        for certainty in order {
            let purse = Purse { account: from.clone(), certainty };
            let there = u32::try_from(self.state.books.balance(&purse, line)).unwrap_or(0);
            let taken = wanted.min(there);
            self.transfer(line, purse, Purse { account: to.clone(), certainty }, taken);
            wanted -= taken;
        }
        wanted
    }

    /// Takes fish out of an account as counted ones: somebody saw what became of them. Returns how many are not there.
    pub fn transfer_seen(&mut self, line: LineKey, from: &Account, to: &Account, count: u32) -> u32 {
        let mut wanted = count;
        for certainty in [Certainty::Presumed, Certainty::Counted] {
            let purse = Purse { account: from.clone(), certainty };
            let there = u32::try_from(self.state.books.balance(&purse, line)).unwrap_or(0);
            let taken = wanted.min(there);
            self.transfer(line, purse, to.clone().counted(), taken);
            wanted -= taken;
        }
        wanted
    }

    /// Writes a log entry.
    pub fn log(&mut self, spot: Spot, at: DateTime<Utc>, what: Logged) {
        let no = self.number();
        let by = self.speaker.person.clone();
        self.emit(Event::EntrySet { no, to: Some(Entry { spot, at, by, what }) });
    }

    /// A number that no other record of its kind has: the frame's, and a running one in it.
    pub fn number(&mut self) -> u64 {
        self.given += 1;
        (self.state.seq + 1) * 1000 + self.given
    }

    /// The next lot's number.
    pub fn next_lot(&self) -> LotNo {
        LotNo(self.state.lots.last_key_value().map_or(1, |(no, _)| no.0 + 1))
    }

    /// The next reservation's number.
    pub fn next_reservation(&self) -> ReservationNo {
        ReservationNo(self.state.reservations.last_key_value().map_or(1, |(no, _)| no.0 + 1))
    }

    /// Where the draft stands.
    pub fn mark(&self) -> Mark {
        Mark {
            events: self.events.len(),
            inverse: self.inverse.len(),
            outgoing: self.outgoing.len(),
            consignment: self.consignment,
        }
    }

    /// Takes back everything since the mark.
    pub fn back_to(&mut self, mark: &Mark) {
        while self.inverse.len() > mark.inverse {
            if let Some(event) = self.inverse.pop() {
                fold(&mut self.state, &event);
            }
        }
        self.events.truncate(mark.events);
        self.outgoing.truncate(mark.outgoing);
        self.consignment = mark.consignment;
        self.also.clear();
    }

    /// Puts a question to the speaker: it waits in the dialogue, and in the state where the desk decides.
    pub fn ask(&mut self, query: Query) {
        let id = self.number();
        let question = Question {
            id,
            partial: query.partial,
            wanted: query.wanted,
            // It stands from when it can be read, which may be later than what it asks about was said.
            expires: self.now.max(self.said_at) + Duration::minutes(QUESTION_MINUTES),
        };
        self.buttons.extend(question.wanted.choices().iter().enumerate().map(|(choice, words)| Button {
            label: words.label.clone(),
            question: id,
            choice,
        }));
        if let Some(matter) = query.matter {
            self.settle_like(|other| *other == matter || is_about_the_same(other, &matter));
            let to = self.speaker.clone();
            self.emit(Event::QuestionSet { id, to: Some(Pending { to, question: question.clone(), matter }) });
        }
        self.lines.push(query.text);
        self.question = Some(question);
    }

    /// Questions that wait and that newer words have settled: their buttons must not book anything any more.
    pub fn settle_like(&mut self, settled: impl Fn(&Matter) -> bool) {
        let dead: Vec<u64> =
            self.state.questions.iter().filter(|(_, pending)| settled(&pending.matter)).map(|(id, _)| *id).collect();
        for id in dead {
            self.emit(Event::QuestionSet { id, to: None });
        }
    }

    /// Sends something to a chat other than as the answer.
    pub fn tell(&mut self, chat: String, topic: Option<String>, class: Class, body: String, about: Vec<Place>) {
        let id = OutgoingId { frame: self.state.seq + 1, nth: 0 };
        self.outgoing.push(Outgoing {
            id,
            chat,
            topic,
            reply_to: None,
            class,
            merge: false,
            replaces: None,
            body,
            buttons: Vec::new(),
            about,
        });
    }

    /// Tells every person of a role who has a chat, each in that chat; the speaker, who is answered anyway, is left out.
    pub fn tell_role(&mut self, role: Role, class: Class, body: &str, about: &[Place]) {
        let chats: Vec<String> = self
            .state
            .people
            .iter()
            .filter(|(name, person)| person.role == role && **name != self.speaker.person)
            .filter_map(|(_, person)| person.chat.clone())
            .collect();
        let mut told: Vec<String> = Vec::new();
        for chat in chats {
            // What the answer in this chat says already is not said twice.
            if chat == self.speaker.chat && self.lines.iter().chain(&self.also).any(|line| line == body) {
                continue;
            }
            if !told.contains(&chat) {
                self.tell(chat.clone(), None, class, body.to_owned(), about.to_vec());
                told.push(chat);
            }
        }
    }
}

/// Whether a question stands in for another: both ask what became of the same fish, box or frame, with newer numbers.
fn is_about_the_same(one: &Matter, other: &Matter) -> bool {
    match (one, other) {
        (Matter::Extra { pack, line, .. }, Matter::Extra { pack: of, line: other, .. }) => pack == of && line == other,
        (Matter::Left { of }, Matter::Left { of: other }) => of == other,
        (
            Matter::Unaccounted { vessel, line, .. } | Matter::Surplus { vessel, line, .. },
            Matter::Unaccounted { vessel: of, line: other, .. } | Matter::Surplus { vessel: of, line: other, .. },
        ) => vessel == of && line == other,
        (Matter::LongAgo { frame }, Matter::LongAgo { frame: other }) => frame == other,
        _ => false,
    }
}
