//! One step: reading the input, taking its acts one by one, and answering.

use chrono::{DateTime, Utc};

use super::answering::Next;
use super::columns;
use super::draft::{Done, Draft, Mark, Query, Stop};
use super::input::{Actor, Input, Outcome, What};
use super::moving::Moving;
use super::naming;
use super::ordering::{self, Reported};
use super::place::{Where, tray_key};
use super::planning;
use super::refusal::Refusal;
use super::reporting::is_about_fish;
use super::selling::Shipping;
use super::withdraw::{place_of_act, recorded_something};
use crate::consignment::ConsignmentNo;
use crate::journal::{Cause, CauseKind, Class, Event, Matter, Outgoing, OutgoingId, Person, Speaker, State};
use crate::message::{self, About, Act, Carried, Count, Dialogue, Incoming, Place, Reading, Said, Vocabulary, Wanted};
use crate::people::{Power, Role, may};
use crate::say;
use crate::settings::Settings;
use crate::watch::clock;

/// Decides what comes of one input. Changes nothing: the frame made of the outcome is applied by whoever journals it.
///
/// The frame made of it has the number `state.seq + 1`. An outcome without events and outgoing messages makes no frame,
/// unless it is the platform's word on a delivery.
pub fn step(state: &State, settings: &Settings, input: &Input, now: DateTime<Utc>) -> Outcome {
    let nobody = Speaker { chat: String::new(), topic: None, person: String::new() };
    let speaker = input.actor.as_ref().map_or(nobody, speaker_of);
    let draft = Draft::new(state, settings, speaker, input.said_at, now);
    let desk = Desk { draft, input, acts: Vec::new(), dialogue_before: None, unread: Vec::new(), asked: false };
    match (&input.what, &input.actor) {
        (What::Enrol { name, role }, _) => desk.enrol_from_outside(name, *role),
        (What::Tick, _) => desk.tick(),
        (What::Delivered { .. }, _) => desk.outcome(),
        (What::ReadAnew { of, .. }, Some(actor)) if !state.people.contains_key(&actor.person) => desk.drop_reread(*of),
        (_, Some(actor)) if state.people.contains_key(&actor.person) => desk.hear(),
        _ => desk.outcome(),
    }
}

fn speaker_of(actor: &Actor) -> Speaker {
    Speaker { chat: actor.chat.clone(), topic: actor.topic.clone(), person: actor.person.clone() }
}

struct Desk<'a> {
    draft: Draft<'a>,
    input: &'a Input,
    acts: Vec<Said>,
    dialogue_before: Option<Dialogue>,
    unread: Vec<String>,
    asked: bool,
}

impl Desk<'_> {
    /// The first lead is enrolled by whoever runs the program.
    fn enrol_from_outside(mut self, name: &str, role: Role) -> Outcome {
        let chat = self.input.actor.as_ref().map(|actor| actor.chat.clone());
        let person = Person { role, buyer: None, chat };
        self.draft.emit(Event::PersonSet { name: name.to_owned(), to: Some(person) });
        self.outcome()
    }

    /// Who asked for a list to be read anew is here no more.
    fn drop_reread(mut self, of: u64) -> Outcome {
        self.draft.emit(Event::RereadSet { no: of, to: None });
        self.outcome()
    }

    fn tick(mut self) -> Outcome {
        self.draft.tick();
        self.outcome()
    }

    /// Somebody enrolled speaks.
    fn hear(mut self) -> Outcome {
        self.remember_chat();
        let dialogue = self.dialogue();
        self.dialogue_before = Some(dialogue.clone());
        let after = match &self.input.what {
            What::Message { text, re } => self.message(text, re, &dialogue),
            What::Reply { text, re, to } => {
                self.draft.replied = Some(*to);
                self.message(text, re, &dialogue)
            }
            What::Edit { of, text } => self.edit(of, text, dialogue),
            What::Button { question, choice } => {
                self.take_answer(*question, *choice);
                without_question(dialogue, *question)
            }
            What::List(list) => {
                let said = list.supplier.as_ref().and_then(|supplier| self.draft.state.columns.get(supplier)).cloned();
                match self.draft.offer_list(list, said.unwrap_or_default()) {
                    Ok(query) => self.draft.ask(query),
                    Err(stop) => self.stopped(stop),
                }
                dialogue
            }
            What::ReadAnew { of, list } => {
                if let Err(stop) = self.draft.read_anew(*of, list) {
                    self.stopped(stop);
                }
                dialogue
            }
            What::Photo { path, caption, re } => self.photo(path, caption, re, &dialogue),
            What::Tick | What::Delivered { .. } | What::Enrol { .. } => dialogue,
        };
        self.draft.tell_of_passed();
        self.heard(after);
        self.outcome()
    }

    /// A person is reached in the chat in which the person was heard last.
    fn remember_chat(&mut self) {
        let name = self.draft.speaker.person.clone();
        let chat = self.draft.speaker.chat.clone();
        if let Some(person) = self.draft.state.people.get(&name).filter(|person| person.chat.as_ref() != Some(&chat)) {
            let person = Person { chat: Some(chat), ..person.clone() };
            self.draft.emit(Event::PersonSet { name, to: Some(person) });
        }
    }

    fn dialogue(&self) -> Dialogue {
        let spoken = self.draft.state.dialogues.get(&self.draft.speaker);
        spoken.map(|spoken| spoken.dialogue.clone()).unwrap_or_default()
    }

    fn message(&mut self, text: &str, re: &[Place], dialogue: &Dialogue) -> Dialogue {
        if let Some(done) = self.draft.listing_answer(text) {
            let answered = dialogue.question.as_ref().map(|question| question.id);
            self.answer_act("", done);
            return answered.map_or_else(|| dialogue.clone(), |id| without_question(dialogue.clone(), id));
        }
        if let Some(sayings) = columns::read(text).filter(|_| self.draft.list_at_hand().is_some()) {
            let done = self.draft.columns_said(&sayings);
            self.answer_act("", done);
            return dialogue.clone();
        }
        if let Some(order) = self.draft.order_in(text) {
            let done = self.draft.order(order);
            self.answer_act("", done);
            return dialogue.clone();
        }
        if let Some(name) = self.draft.undo_of_another(text) {
            self.stopped(Refusal::UndoByReply { name }.into());
            return dialogue.clone();
        }
        let reading = match self.read_plan(text, re, dialogue) {
            Some(reading) => reading,
            None => self.read(text, re, dialogue),
        };
        let reading = self.plan_at_hand(text, reading, dialogue);
        let nothing = reading.acts.is_empty() && reading.ask.is_none() && reading.chosen.is_none();
        if nothing && let Some((tray, name)) = ordering::vessel_alone(text) {
            self.new_vessel(tray, &name);
        }
        self.take_reading(reading, None)
    }

    /// "plan for 7.2 into A3": the question is the part before, the tank the part behind.
    fn read_plan(&mut self, text: &str, re: &[Place], dialogue: &Dialogue) -> Option<Reading> {
        let (asked, into) = planning::parts(text)?;
        let reading = self.plan_at_hand(asked, self.read(asked, re, dialogue), dialogue);
        let [Said { act: Act::Ask { about: About::Plan, .. }, .. }] = reading.acts.as_slice() else { return None };
        let tank = self.read(&format!("how's {into}?"), &[], &Dialogue::default());
        let [Said { act: Act::Ask { at: Some(into), .. }, .. }] = tank.acts.as_slice() else { return None };
        self.draft.planned_into = Some(into.clone());
        Some(reading)
    }

    /// A plan whose only place is a bare number is for that box; one without a place is for the bag, box or tray that the
    /// speaker spoke of last.
    fn plan_at_hand(&self, text: &str, mut reading: Reading, dialogue: &Dialogue) -> Reading {
        if let [Said { act: Act::Ask { about: About::Plan, at: at @ None, .. }, .. }] = reading.acts.as_mut_slice() {
            let number = text.split_whitespace().last().and_then(|word| word.trim_end_matches('?').parse().ok());
            let here = |number: &u32| !self.draft.state.boxes_numbered(*number).is_empty();
            let carried = dialogue.carried.as_ref().filter(|carried| carried.at + CARRIED >= self.input.said_at);
            let places = carried.map(|carried| carried.places.as_slice()).unwrap_or_default();
            let held = |place: &&Place| matches!(place, Place::Box { .. } | Place::Bag { .. } | Place::Tray { .. });
            *at = match number.filter(here) {
                Some(number) => Some(Place::Box { number }),
                None => places.iter().find(held).cloned(),
            };
        }
        reading
    }

    /// A tank or tray named by itself that is not here: one to be added, or a slip. It is asked.
    fn new_vessel(&mut self, tray: bool, name: &str) {
        let key = if tray { tray_key(name) } else { name.to_owned() };
        if may(self.draft.role, Power::DeclareVessels) && !self.draft.state.vessels.contains_key(&key) {
            let text = say::question::new_vessel(name, tray);
            let matter = Matter::NewVessel { name: key, acts: Vec::new() };
            self.draft.ask(Query::choice(text, matter, say::question::yes_no()));
        }
    }

    fn read(&self, text: &str, re: &[Place], dialogue: &Dialogue) -> Reading {
        let from = self.draft.buyer.clone().unwrap_or_else(|| self.draft.speaker.person.clone());
        let incoming = Incoming { from, at: self.draft.said_at, text: text.to_owned(), re: re.to_vec() };
        let mut vocabulary = self.draft.vocabulary(text);
        let mut reading = message::read(&vocabulary, dialogue, &incoming);
        if let Some(words) = self.named_fish(&mut vocabulary, &reading, text, dialogue) {
            reading = message::read(&vocabulary, dialogue, &Incoming { text: words, ..incoming.clone() });
        }
        let nothing = reading.acts.is_empty() && reading.chosen.is_none();
        match ordering::plain_report(text).filter(|_| nothing) {
            Some(Reported::Act(said)) => {
                let mut dialogue = reading.dialogue;
                dialogue.last = vec![said.clone()];
                let places = place_of_act(&said.act).cloned().into_iter().collect();
                dialogue.carried = Some(Carried { places, at: self.draft.said_at });
                Reading { acts: vec![said], dialogue, supplier: reading.supplier, ..Reading::default() }
            }
            Some(Reported::Words(words)) => message::read(&vocabulary, dialogue, &Incoming { text: words, ..incoming }),
            None => self.draft.narrowed(reading, vocabulary, dialogue, &incoming),
        }
    }

    /// The words of a count of fish by name, where it is one: the living called so, and a fish of which no list is here
    /// taken by the name that is said.
    fn named_fish(
        &self,
        vocabulary: &mut Vocabulary,
        reading: &Reading,
        text: &str,
        dialogue: &Dialogue,
    ) -> Option<String> {
        let counted =
            naming::named_count(text).filter(|_| self.draft.role != Role::Buyer && reading.chosen.is_none())?;
        let carried = dialogue.carried.as_ref().and_then(|carried| carried.places.first());
        let number = counted.number.or(match carried {
            Some(Place::Box { number } | Place::Bag { number, .. }) => Some(*number),
            _ => None,
        })?;
        let house = vocabulary.species.as_ref().is_some_and(|known| known.contains(&counted.fish));
        let known = crate::species::named(&counted.fish);
        if house || vocabulary.species_aliases.contains_key(&counted.fish) {
            return Some(counted.words);
        }
        if let [one] = known.as_slice() {
            // The full name of a known fish, whatever words of it the fish of the house have too.
            let name = one.name().to_owned();
            vocabulary.species.get_or_insert_default().push(name.clone());
            if name != counted.fish {
                vocabulary.species_aliases.insert(counted.fish, name);
            }
        } else if known.len() > 1 {
            // A name of several fish ("neons") is kept as it is said; the list will tell which they were.
            if !self.draft.may_be_unlisted(number) {
                return None;
            }
            vocabulary.species.get_or_insert_default().push(counted.fish);
        } else {
            let unread = reading.unread.join(" ").to_lowercase();
            let not_read = counted.plain && reading.acts.is_empty() && reading.ask.is_none();
            let some_unread = counted.fish.split(' ').any(|word| unread.contains(word));
            if !self.draft.may_be_unlisted(number) || !(not_read || some_unread) {
                return None;
            }
            vocabulary.species.get_or_insert_default().push(counted.fish);
        }
        Some(counted.words)
    }

    fn take_reading(&mut self, reading: Reading, edits: Option<u64>) -> Dialogue {
        let reading = self.draft.of_fish_at_hand(reading);
        if let Some(supplier) = &reading.supplier {
            self.draft.consignment = self.consignment_of(supplier);
        }
        if let Some((question, choice)) = reading.chosen {
            self.take_answer(question, choice);
            return without_question(reading.dialogue, question);
        }
        if edits.is_none() {
            self.lapse(&reading.dialogue);
        }
        self.take_with_corrections(&reading.acts, &reading.carried, edits);
        let mut dialogue = in_hand(reading.dialogue, &self.acts);
        if let Some(ask) = reading.ask {
            self.asked = true;
            self.draft.lines.push(say::ask::question(&ask.doubt));
            let mut question = ask.question;
            question.id = self.draft.number();
            dialogue.question = Some(question);
        }
        if !reading.unread.is_empty() && !self.draft.lines.is_empty() {
            self.draft.lines.push(say::unread(&reading.unread));
            self.unread = reading.unread;
        }
        dialogue
    }

    /// A question that a number answers has its answer, or has lapsed, once the speaker reports anything: its buttons
    /// would book the same fish a second time.
    fn lapse(&mut self, after: &Dialogue) {
        let before = self.dialogue_before.as_ref().and_then(|dialogue| dialogue.question.as_ref());
        let Some(question) = before.filter(|question| after.question.as_ref() != Some(question)) else { return };
        if matches!(question.wanted, Wanted::NumberOr(..)) && self.draft.state.questions.contains_key(&question.id) {
            self.draft.emit(Event::QuestionSet { id: question.id, to: None });
        }
    }

    fn consignment_of(&self, supplier: &str) -> Option<ConsignmentNo> {
        let found = self.draft.state.open_consignments().find(|(_, consignment)| consignment.supplier == supplier);
        found.map(|(no, _)| no)
    }

    /// Puts corrections into what they correct: the earlier frame is taken back, its acts are taken again, corrected.
    /// Where the corrected acts are refused, what was recorded before stands.
    fn take_with_corrections(&mut self, acts: &[Said], carried: &[Place], edits: Option<u64>) {
        let mark = self.mark();
        let mut taken = Vec::new();
        for said in acts {
            if !said.act.is_fix() {
                taken.push(said.clone());
                continue;
            }
            let before = self.draft.mark();
            match self.draft.corrected(said, edits) {
                Ok(corrected) => taken.extend(corrected),
                Err(stop) => {
                    self.draft.back_to(&before);
                    self.stopped(stop);
                }
            }
        }
        let taken: Vec<Said> = taken.iter().map(|said| self.draft.in_bag_at_hand(said, carried)).collect();
        self.acts.clone_from(&taken);
        self.draft.correcting = acts.iter().find(|said| said.act.is_fix()).cloned();
        let all_taken = self.take(&taken);
        let asked = self.draft.correcting.take().and(self.draft.doubted.take());
        if let Some(query) = asked {
            self.as_before(mark);
            self.draft.ask(query);
        } else if !all_taken && acts.iter().any(|said| said.act.is_fix()) {
            self.as_before(mark);
        }
    }

    /// Where the draft and its answer stand.
    fn mark(&self) -> (Mark, usize, usize) {
        (self.draft.mark(), self.draft.lines.len(), self.draft.refusals.len())
    }

    /// Takes back everything since the mark but why it was refused.
    fn as_before(&mut self, (mark, lines, refusals): (Mark, usize, usize)) {
        self.draft.back_to(&mark);
        self.draft.lines.truncate(lines);
        self.draft.buttons.clear();
        self.draft.question = None;
        self.acts.clear();
        for refusal in &self.draft.refusals[refusals..] {
            self.draft.lines.push(say::refusal::words(refusal, self.draft.settings.zone));
        }
        self.draft.lines.push(say::standing::first_stands());
    }

    /// Takes acts one by one; says whether none was refused.
    fn take(&mut self, acts: &[Said]) -> bool {
        let refused = self.draft.refusals.len();
        let mut seen: Vec<(String, Vec<String>)> = Vec::new();
        self.draft.asked_now.clear();
        self.draft.withheld =
            acts.iter().filter(|said| self.draft.hangs_on_sign_of_fish(said, acts)).cloned().collect();
        let withheld = self.draft.withheld.clone();
        let mut looked: Vec<Option<String>> = acts.iter().map(|said| self.looked_at(said)).collect();
        looked.reverse();
        for said in acts {
            looked.pop();
            if withheld.contains(said) {
                continue;
            }
            self.draft.more_to_come = looked.iter().flatten().cloned().collect();
            self.draft.carry_open_one(said);
            let clause =
                if matches!(said.act, Act::Ask { .. } | Act::Undo) { String::new() } else { self.clause(said) };
            let mark = self.draft.mark();
            let lines = self.draft.lines.len();
            let done = self.draft.meet_unlisted(said).and_then(|()| self.act(said));
            if done.is_err() {
                self.draft.back_to(&mark);
            } else if let Some(place) = place_of_act(&said.act) {
                self.draft.about.push(place.clone());
            }
            self.answer_act(&clause, done);
            if matches!(said.act, Act::Observe { .. }) && self.draft.lines.len() == lines + 1 {
                self.join_alike(said, &mut seen);
            }
        }
        for (rest, names) in seen {
            let joined = format!("{}{rest}", say::place::listed(&names));
            let first = format!("{}{rest}", names[0]);
            for line in self.draft.lines.iter_mut().filter(|line| **line == first) {
                line.clone_from(&joined);
            }
        }
        self.draft.say_unsaid_looks();
        self.draft.refusals.len() == refused
    }

    /// The vessel of which an act will say when the next look is.
    fn looked_at(&self, said: &Said) -> Option<String> {
        let place = match &said.act {
            Act::Count(count) => &count.at,
            Act::Observe { at, signs } if signs.iter().any(|sign| is_about_fish(*sign)) => at,
            Act::Recheck { at, .. } => at,
            _ => return None,
        };
        self.draft.find(place, said).ok()?.vessel().map(str::to_owned)
    }

    /// Places of which the very same was seen stand in one line: nobody reads twenty lines with wet hands.
    fn join_alike(&mut self, said: &Said, seen: &mut Vec<(String, Vec<String>)>) {
        let Some(name) = place_of_act(&said.act).map(say::place::name) else { return };
        let Some(rest) = self.draft.lines.last().and_then(|line| line.strip_prefix(&name)).map(str::to_owned) else {
            return;
        };
        match seen.iter_mut().find(|(known, _)| *known == rest) {
            Some((_, names)) => {
                names.push(name);
                self.draft.lines.pop();
            }
            None => seen.push((rest, vec![name])),
        }
    }

    /// The recorded clause of an act; the supplier's name stands before a box number that is open in two.
    fn clause(&self, said: &Said) -> String {
        let clause = self.draft.recorded(said);
        let number = match place_of_act(&said.act) {
            Some(Place::Box { number } | Place::Bag { number, .. }) => *number,
            _ => return clause,
        };
        match self.draft.consignment {
            Some(no) if self.draft.state.is_doubled(number) => format!("{} {clause}", self.draft.supplier(no)),
            _ => clause,
        }
    }

    fn answer_act(&mut self, clause: &str, done: Result<Done, Stop>) {
        match done {
            Ok(done) => {
                let recorded = done.recorded.unwrap_or_else(|| clause.to_owned());
                let line = say::line(&recorded, &done.standing);
                if !line.is_empty() {
                    self.draft.lines.push(line);
                }
                let also = std::mem::take(&mut self.draft.also);
                self.draft.lines.extend(also);
                if let Some(query) = done.ask {
                    self.draft.ask(query);
                }
            }
            Err(stop) => self.stopped(stop),
        }
    }

    fn stopped(&mut self, stop: Stop) {
        match stop {
            Stop::Refused(refusal) => {
                self.draft.lines.push(say::refusal::words(&refusal, self.draft.settings.zone));
                self.draft.refusals.push(*refusal);
            }
            Stop::Asked(query) => {
                if matches!(query.wanted, Wanted::NumberOr(..)) {
                    self.draft.doubted = Some((*query).clone());
                }
                self.draft.ask(*query);
            }
        }
    }

    fn take_answer(&mut self, question: u64, choice: usize) {
        let mark = self.draft.mark();
        let to = self.draft.state.questions.get(&question).map(|pending| &pending.to);
        let speaker = &self.draft.speaker;
        // Anybody of the same chat may answer; a buyer only what it was asked itself.
        if to.is_some_and(|to| to.chat != speaker.chat || self.draft.role == Role::Buyer && to != speaker) {
            self.draft.lines.push(say::standing::settled());
            return;
        }
        match self.draft.answer(question, choice) {
            Ok(Next::Said(done)) => self.answer_act("", Ok(done)),
            Ok(Next::Take(acts)) => self.take_with_corrections(&acts, &[], None),
            Err(stop) => {
                self.draft.back_to(&mark);
                self.stopped(stop);
            }
        }
    }

    /// An edited text is read with the dialogue as it stood before the original, whose record is taken back first.
    fn edit(&mut self, of: &str, text: &str, dialogue: Dialogue) -> Dialogue {
        let Some((frame, original)) = self.edited(of) else {
            return self.message(text, &[], &dialogue);
        };
        let Some(recent) = self.draft.state.recent.get(&frame).cloned() else { return dialogue };
        let before = original.dialogue_before.clone().unwrap_or_default();
        let now = self.draft.said_at;
        self.draft.said_at = original.said_at;
        let order = self.draft.order_in(text);
        let reading = if order.is_none() { self.read(text, &[], &before) } else { Reading::default() };
        if order.is_none() && reading.chosen.is_none() && reading.acts == recent.cause.acts {
            return dialogue;
        }
        let mark = self.mark();
        let corrects = reading.acts.iter().any(|said| said.act.is_fix());
        if !corrects && recorded_something(&recent) {
            let deeds = self.draft.deeds_in_words(frame);
            if let Err(stop) = self.draft.withdraw(frame) {
                self.stopped(stop);
                self.as_before(mark);
                return dialogue;
            }
            if order.is_none() && reading.acts.is_empty() && reading.ask.is_none() && reading.chosen.is_none() {
                self.draft.lines.push(say::standing::undone(&deeds));
            }
        }
        let after = match order {
            Some(order) => {
                let done = self.draft.order(order);
                self.answer_act("", done);
                dialogue.clone()
            }
            None => self.take_reading(reading, Some(frame)),
        };
        if self.draft.refusals.len() > mark.2 {
            self.as_before(mark);
        }
        // What was said since the original is what the speaker remembers.
        let spoke_since = dialogue.carried.as_ref().is_some_and(|carried| carried.at > original.said_at);
        self.draft.said_at = now;
        if spoke_since { dialogue } else { after }
    }

    /// The frame that holds what an edited message recorded, and the cause of the message itself. A message that was
    /// corrected or edited before stands in the later frame; one that was taken back stands in none.
    fn edited(&self, of: &str) -> Option<(u64, Cause)> {
        let mut recent = self.draft.state.recent.iter();
        let (frame, original) = recent.find(|(_, recent)| recent.cause.key == of)?;
        Some((self.draft.standing_in(*frame)?, original.cause.clone()))
    }

    /// A photo is kept where its caption, or the line it replies to, says.
    fn photo(&mut self, path: &str, caption: &str, re: &[Place], dialogue: &Dialogue) -> Dialogue {
        let after = if caption.is_empty() { dialogue.clone() } else { self.message(caption, re, dialogue) };
        let at = re.first().cloned().or_else(|| {
            let carried = after.carried.as_ref().filter(|carried| carried.at + CARRIED >= self.input.said_at);
            carried.and_then(|carried| carried.places.first().cloned())
        });
        let note = Act::Note { text: say::standing::photo(path), at: at.clone() };
        let said = Said::from(note);
        let done = self.draft.note(at.as_ref(), &said, self.input.said_at);
        let clause = say::standing::photo_kept(at.as_ref());
        self.answer_act(&clause, done);
        after
    }

    /// Takes one act.
    fn act(&mut self, said: &Said) -> Result<Done, Stop> {
        if let Some(power) = power_for(&said.act, self.draft.role) {
            self.draft.require(power)?;
        }
        let at = self.happened(said);
        let draft = &mut self.draft;
        match &said.act {
            Act::Arrive { stage, delay_min } => draft.arrive(*stage, *delay_min, said, at),
            Act::Open { at: place } => draft.open(place, said, at),
            Act::Done { at: place } => draft.done(place, said, at),
            Act::Count(count) => {
                let found = draft.find(&count.at, said)?;
                let mut done = match &found {
                    Where::Box(of) => draft.count_box(*of, count, said, at)?,
                    Where::Bag(pack) => draft.count_bag(*pack, count, said, at)?,
                    vessel => draft.count_vessel(vessel, count, said, at)?,
                };
                if let Some(vessel) = found.vessel() {
                    let next = draft.answer_look(vessel, at).unwrap_or_default();
                    done.standing = say::join(&[&done.standing, &next]);
                } else {
                    draft.answer_pack_look(&count.at, at);
                }
                if count.culled.is_some_and(|culled| culled > 0) {
                    done.standing = say::join(&[&done.standing, say::caution::killing()]);
                }
                Ok(done)
            }
            Act::Reading(water) => draft.read_water(water, said, at),
            Act::Swap { at: place, .. } | Act::Dose { at: place, .. } => draft.treat(place, said, at),
            Act::Move { to, from, count, species, .. } => {
                let moving = Moving { to, from: from.as_ref(), count: *count, species: species.as_deref() };
                draft.move_fish(&moving, said, at)
            }
            Act::Observe { at: place, .. } => draft.observe(place, said, at),
            Act::Recheck { at: place, in_min, clock } => draft.recheck(place, *in_min, clock.as_deref(), said),
            Act::Hold { at: place, hours, until, why } => {
                draft.hold(place, *hours, until.as_deref(), why.as_deref(), said)
            }
            Act::Clear { at: place, count, anyway } => draft.clear(place, *count, anyway.as_deref(), said),
            Act::Reserve { count, at: place, species, buyer, .. } => {
                draft.reserve(count.unwrap_or(0), place.as_ref(), species.as_deref(), buyer.as_deref(), said)
            }
            Act::Ship { at: place, count, buyer, .. } => {
                draft.ship(&Shipping { at: place, count: *count, buyer: buyer.as_deref() }, said)
            }
            Act::Later { in_min } => draft.later(*in_min),
            Act::Note { at: place, .. } => draft.note(place.as_ref(), said, at),
            Act::Ask { about, at: place, species } => {
                let answer = draft.reply(*about, place.as_ref(), species.as_deref(), said)?;
                Ok(Done { recorded: Some(String::new()), standing: answer, ask: None })
            }
            Act::Undo => {
                let standing = draft.undo()?;
                Ok(Done { recorded: Some(String::new()), standing, ask: None })
            }
            Act::Vessels { names, kind, litres, system } => draft.declare(names, *kind, *litres, system.as_deref()),
        }
    }

    /// When it happened: the last time the clock showed what was said, else when it was said.
    fn happened(&self, said: &Said) -> DateTime<Utc> {
        let zone = self.draft.settings.zone;
        let told = said.when.as_deref().and_then(|when| clock::last_local(self.draft.said_at, zone, when));
        told.unwrap_or(self.draft.said_at)
    }

    fn heard(&mut self, mut dialogue: Dialogue) {
        if let Some(question) = self.draft.question.take() {
            dialogue.question = Some(question);
        }
        let speaker = self.draft.speaker.clone();
        let consignment = self.draft.consignment.filter(|no| {
            self.draft.state.consignments.get(no).is_some_and(|consignment| consignment.finished.is_none())
        });
        self.draft.emit(Event::Heard { speaker, dialogue, consignment });
    }

    fn outcome(self) -> Outcome {
        let Desk { draft, input, acts, dialogue_before, unread, asked } = self;
        let mut outgoing = draft.outgoing;
        if !draft.lines.is_empty() {
            // A line that was taken back is no alarm any more.
            let alarm = draft.alarms.iter().any(|alarm| draft.lines.contains(alarm));
            let answer = Outgoing {
                id: OutgoingId { frame: draft.state.seq + 1, nth: 0 },
                chat: draft.speaker.chat.clone(),
                topic: draft.speaker.topic.clone(),
                // Nobody's message is answered by a list that was read anew.
                reply_to: (!matches!(input.what, What::ReadAnew { .. })).then(|| input.key.clone()),
                class: if alarm { Class::Alarm } else { Class::Answer },
                merge: draft.buttons.is_empty() && !alarm,
                replaces: None,
                body: draft.lines.join("\n"),
                buttons: draft.buttons,
                about: draft.about,
            };
            outgoing.insert(0, answer);
        }
        for (nth, message) in outgoing.iter_mut().enumerate() {
            message.id = OutgoingId { frame: draft.state.seq + 1, nth: u32::try_from(nth).unwrap_or(u32::MAX) };
        }
        let cause = Cause {
            key: input.key.clone(),
            kind: kind_of(&input.what),
            speaker: input.actor.as_ref().map(|_| draft.speaker),
            said_at: input.said_at,
            acts,
            dialogue_before,
            unread,
            asked_about: text_of(&input.what).filter(|_| asked).map(str::to_owned),
        };
        Outcome { cause, events: draft.events, outgoing, refusals: draft.refusals }
    }
}

/// How long a place is carried.
const CARRIED: chrono::Duration = chrono::Duration::minutes(20);

/// What the speaker must be allowed before an act is looked at. What may be asked is decided with the answer.
fn power_for(act: &Act, role: Role) -> Option<Power> {
    Some(match act {
        Act::Arrive { .. } | Act::Note { .. } => Power::RecordArrival,
        Act::Open { .. } | Act::Done { .. } => Power::OpenBoxes,
        Act::Count(_)
        | Act::Reading(_)
        | Act::Swap { .. }
        | Act::Dose { .. }
        | Act::Observe { .. }
        | Act::Recheck { .. } => Power::RecordCounts,
        Act::Move { .. } => Power::MoveFish,
        Act::Hold { .. } => Power::Hold,
        Act::Clear { .. } => Power::Clear,
        Act::Reserve { .. } if role == Role::Buyer => Power::ReserveForOneself,
        Act::Reserve { .. } => Power::ReserveForBuyer,
        Act::Ship { .. } => Power::Ship,
        Act::Later { .. } => Power::Postpone,
        Act::Vessels { .. } => Power::DeclareVessels,
        Act::Undo => Power::UndoOwn,
        Act::Ask { .. } => return None,
    })
}

/// What is carried on, and may be corrected, is the bag that a count of its box was booked in.
fn in_hand(mut dialogue: Dialogue, acts: &[Said]) -> Dialogue {
    let booked = acts.iter().find_map(|said| match &said.act {
        Act::Count(Count { at: Place::Bag { number, bag }, .. }) => Some((*number, *bag)),
        _ => None,
    });
    let Some((number, bag)) = booked else { return dialogue };
    let of_box = Place::Box { number };
    if let Some(carried) = dialogue.carried.as_mut().filter(|carried| carried.places == [of_box.clone()]) {
        carried.places = vec![Place::Bag { number, bag }];
    }
    for said in &mut dialogue.last {
        if let Act::Count(count) = &mut said.act
            && count.at == of_box
        {
            count.at = Place::Bag { number, bag };
        }
    }
    dialogue
}

fn without_question(mut dialogue: Dialogue, id: u64) -> Dialogue {
    if dialogue.question.as_ref().is_some_and(|question| question.id == id) {
        dialogue.question = None;
    }
    dialogue
}

fn text_of(what: &What) -> Option<&str> {
    match what {
        What::Message { text, .. } | What::Reply { text, .. } | What::Edit { text, .. } => Some(text),
        _ => None,
    }
}

fn kind_of(what: &What) -> CauseKind {
    match what {
        What::Message { .. } | What::Reply { .. } | What::Photo { .. } => CauseKind::Message,
        What::Edit { of, .. } => CauseKind::Edit { of: of.clone() },
        What::Button { question, choice } => CauseKind::Button { question: *question, choice: *choice },
        What::Tick => CauseKind::Tick,
        What::List(list) | What::ReadAnew { list, .. } => CauseKind::File { name: list.file.clone() },
        What::Delivered { outgoing, outcome } => CauseKind::Delivered { outgoing: *outgoing, outcome: outcome.clone() },
        What::Enrol { .. } => CauseKind::Admin,
    }
}
