//! The reader: what a message says, in which order its readings are tried, and what is kept for the next one.

mod aside;
mod correcting;

use chrono::Duration;

use super::answer;
use super::attach::{Outcome, Surroundings, place_of};
use super::facts::Context;
use super::item::What;
use super::lexicon;
use super::message_text::{Message, Mood};
use super::names::Names;
use super::place_words::{Rooms, is_nowhere};
use super::{Act, Ask, Carried, Dialogue, Doubt, Incoming, Place, Question, Reading, Said, Vocabulary, Wanted};

/// How long a place is carried and a question stands.
const CARRY: Duration = Duration::minutes(20);
/// How many earlier acts a correction can reach.
const EARLIER: usize = 24;

/// The reader made ready for one vocabulary: what does not change from message to message is worked out once.
#[derive(Debug)]
pub struct Reader<'a> {
    pub(super) vocabulary: &'a Vocabulary,
    pub(super) names: Names,
    pub(super) rooms: Rooms,
}

/// Words with which vessels are declared, at the head of a message.
const DECLARED: [&str; 14] =
    ["tank", "tanks", "tray", "trays", "tub", "tubs", "sump", "sumps", "tap", "taps", "vat", "vats", "new", "add"];

impl<'a> Reader<'a> {
    /// Splits the vocabulary's names into words. That costs as much as some messages: keep it as long as the names hold.
    pub fn new(vocabulary: &'a Vocabulary) -> Self {
        Reader { vocabulary, names: Names::new(vocabulary), rooms: Rooms::new(vocabulary) }
    }

    /// Reads one message. Never fails: what it cannot read it leaves out, or asks.
    pub fn read(&self, dialogue: &Dialogue, incoming: &Incoming) -> Reading {
        read_with(self, dialogue, incoming)
    }
}

/// Reads one message by itself, as [`Reader::read`] does.
pub fn read(vocabulary: &Vocabulary, dialogue: &Dialogue, incoming: &Incoming) -> Reading {
    Reader::new(vocabulary).read(dialogue, incoming)
}

fn read_with(reader: &Reader<'_>, dialogue: &Dialogue, incoming: &Incoming) -> Reading {
    let standing = dialogue.question.as_ref().filter(|question| incoming.at <= question.expires);
    if let Some(Question { id, wanted, .. }) = standing
        && let Some(index) = answer::choice(wanted, lexicon::answer(&incoming.text))
    {
        let dialogue = Dialogue { question: None, ..dialogue.clone() };
        return Reading { chosen: Some((*id, index)), dialogue, ..Reading::default() };
    }
    let carried: Vec<Place> = dialogue
        .carried
        .as_ref()
        .filter(|carried| incoming.at - carried.at <= CARRY)
        .map(|carried| carried.places.clone())
        .unwrap_or_default();
    let here = if incoming.re.is_empty() { carried.clone() } else { incoming.re.clone() };
    // "tanks X1-X4 90 L": what is declared is not among the names known so far.
    let head = incoming.text.split(|letter: char| !letter.is_alphabetic()).find(|word| !word.is_empty());
    if head.is_some_and(|head| DECLARED.contains(&head.to_lowercase().as_str())) {
        let open = Vocabulary { tanks: None, trays: None, ..reader.vocabulary.clone() };
        let open = Reader::new(&open);
        let message = || Message::new(&open, incoming, here.clone(), &dialogue.tongue);
        if message().vessels().is_some() {
            return Turn { dialogue, incoming, carried, standing, message: message() }.read();
        }
    }
    let message = Message::new(reader, incoming, here, &dialogue.tongue);
    Turn { dialogue, incoming, carried, standing, message }.read()
}

/// One message and what is remembered of its sender.
struct Turn<'a> {
    dialogue: &'a Dialogue,
    incoming: &'a Incoming,
    carried: Vec<Place>,
    standing: Option<&'a Question>,
    message: Message<'a>,
}

impl Turn<'_> {
    fn read(mut self) -> Reading {
        if let Some(reading) = self.note() {
            return reading;
        }
        if let Some(question) = self.standing
            && let Some(acts) = self.message.answer(&question.wanted, &question.partial)
        {
            return self.answered(acts);
        }
        if self.dialogue.question.is_some() && self.message.bare_number() && !self.message.correction.marked {
            return self.doubting(Vec::new(), Doubt::WhatNumber, self.unanswered());
        }
        if let Some(ask) = self.message.question() {
            let others = self.facts_beside();
            let mut acts = others;
            acts.push(ask.into());
            return self.finish(acts, Vec::new(), Vec::new());
        }
        if let Some(reading) = self.correction() {
            return reading;
        }
        if let Some(later) = self.later() {
            return self.finish(vec![later.into()], Vec::new(), Vec::new());
        }
        let Outcome { acts, waiting, used } = self.plain();
        self.finish(acts, waiting, used)
    }

    fn context(&self) -> Context {
        Context { carried: self.carried.clone(), moved_from: self.dialogue.moved_from.clone() }
    }

    fn plain(&mut self) -> Outcome {
        let context = self.context();
        let facts = self.message.facts(&context);
        self.message.acts(facts, Surroundings { re: &self.incoming.re, carried: &self.carried })
    }

    /// Certain facts that stand beside a question: "A1 2 dead, what's due?".
    fn facts_beside(&mut self) -> Vec<Said> {
        self.plain().acts
    }

    fn unanswered(&self) -> (Wanted, Vec<Said>) {
        match self.standing {
            Some(question) => (question.wanted.clone(), question.partial.clone()),
            None => (Wanted::Place, Vec::new()),
        }
    }

    fn answered(&self, acts: Vec<Said>) -> Reading {
        let mut complete = Vec::new();
        let mut waiting = Vec::new();
        for said in acts {
            match answer::missing(&said.act) {
                Some((doubt, wanted)) => waiting.push((doubt, wanted, said)),
                None => complete.push(said),
            }
        }
        // The place that the dialogue carries completes what waits for a place alone.
        let mut still = Vec::new();
        for (doubt, wanted, mut said) in waiting {
            match self.carried.as_slice() {
                [place] if wanted == Wanted::Place && !matches!(place_of(&said.act), Some(Place::Bag { .. })) => {
                    crate::message::attach::put(&mut said.act, place.clone());
                    complete.push(said);
                }
                _ => still.push((doubt, wanted, said)),
            }
        }
        self.finish(complete, still, Vec::new())
    }

    fn doubting(&self, acts: Vec<Said>, doubt: Doubt, (wanted, partial): (Wanted, Vec<Said>)) -> Reading {
        let mut reading = self.finish(acts, Vec::new(), Vec::new());
        let question = Question { id: 0, partial, wanted, expires: self.incoming.at + CARRY };
        reading.dialogue.question = Some(question.clone());
        reading.ask = Some(Ask { doubt, question });
        reading
    }

    /// The reading and the memory after it.
    fn finish(&self, acts: Vec<Said>, waiting: Vec<(Doubt, Wanted, Said)>, used: Vec<Place>) -> Reading {
        let message = &self.message;
        let mut dialogue = self.dialogue.clone();
        dialogue.tongue.clone_from(&message.tongue);
        let reports =
            acts.iter().any(|said| !matches!(said.act, Act::Ask { .. } | Act::Later { .. } | Act::Note { .. }));
        let ask = waiting.first().map(|(doubt, wanted, _)| {
            let partial =
                waiting.iter().filter(|(_, other, _)| other == wanted).map(|(_, _, said)| said.clone()).collect();
            let question = Question { id: 0, partial, wanted: wanted.clone(), expires: self.incoming.at + CARRY };
            Ask { doubt: self.named_doubt(doubt), question }
        });
        match &ask {
            Some(ask) => dialogue.question = Some(ask.question.clone()),
            None if reports => dialogue.question = None,
            None => {}
        }
        // What the message is about: reports, questions and plans name places; chatter names none.
        let about_work = !acts.is_empty() || ask.is_some() || message.mood.iter().any(|mood| *mood != Mood::Report);
        let places = self.last_place(&acts).filter(|_| about_work).or_else(|| (!used.is_empty()).then(|| used.clone()));
        if let Some(places) = places {
            dialogue.carried = Some(Carried { places, at: self.incoming.at });
        } else if about_work && self.named_unknown() {
            dialogue.carried = None;
        }
        if reports {
            let moved = acts.iter().rev().find_map(|said| match &said.act {
                Act::Move { from: Some(from), fix: false, .. } => Some(from.clone()),
                _ => None,
            });
            dialogue.moved_from = moved.or(dialogue.moved_from);
            let last = std::mem::take(&mut dialogue.last);
            if acts.iter().any(|said| said.act == Act::Undo) {
                dialogue.last = acts.iter().filter(|said| said.act != Act::Undo).cloned().collect();
            } else {
                dialogue.earlier.splice(0..0, last);
                dialogue.earlier.truncate(EARLIER);
                dialogue.last = acts.clone();
            }
        }
        let supplier = message.items.iter().find_map(|item| match &item.what {
            What::Supplier(name) => Some(name.clone()),
            _ => None,
        });
        // The words of a note are kept as they are.
        let noted = acts.iter().any(|said| matches!(said.act, Act::Note { .. }));
        let unread = if acts.is_empty() || noted { Vec::new() } else { self.unread() };
        Reading { acts, ask, unread, chosen: None, supplier, carried: used, dialogue }
    }

    /// Where a place was named that is not here, the question names it and what is here instead.
    fn named_doubt(&self, doubt: &Doubt) -> Doubt {
        let not_here = match doubt {
            Doubt::WhichPlace | Doubt::WhichBag | Doubt::WhereTo => self.message.not_here(),
            _ => None,
        };
        not_here.map_or_else(|| doubt.clone(), |(said, there)| Doubt::NotHere { said, there })
    }

    /// The place last in the text; after a move the place moved to.
    fn last_place(&self, acts: &[Said]) -> Option<Vec<Place>> {
        let message = &self.message;
        let mention = message.items.iter().enumerate().rev().find_map(|(n, item)| match &item.what {
            What::Place(mention) if !mention.unknown => Some((n, mention)),
            _ => None,
        });
        let to = acts.iter().rev().find_map(|said| match &said.act {
            Act::Move { to, from, fix: false, .. } if !is_nowhere(to) => Some((to, from)),
            _ => None,
        });
        match (mention, to) {
            (Some((_, mention)), Some((to, Some(from)))) if mention.places.contains(from) => Some(vec![to.clone()]),
            (Some((_, mention)), _) => Some(mention.places.clone()),
            (None, Some((to, _))) => Some(vec![to.clone()]),
            // An answer carries the place of the act that it completes.
            (None, None) => {
                let last = acts.last().and_then(|said| match &said.act {
                    Act::Reserve { .. } | Act::Note { .. } | Act::Ask { .. } => None,
                    act => place_of(act),
                })?;
                let all: Vec<Place> =
                    if self.incoming.re.len() > 1 { vec![last.clone()] } else { self.same_breath(acts, last) };
                Some(all)
            }
        }
    }

    /// The places of the last kind of act, in order: one act for several places carries them all.
    fn same_breath(&self, acts: &[Said], last: &Place) -> Vec<Place> {
        if self.carried.len() > 1 && self.carried.contains(last) {
            return self.carried.clone();
        }
        let _ = acts;
        vec![last.clone()]
    }

    fn named_unknown(&self) -> bool {
        self.message
            .items
            .iter()
            .any(|item| matches!(&item.what, What::Place(mention) if mention.unknown && !mention.places.iter().any(is_nowhere)))
    }

    /// Words beside an act that nothing was made of.
    fn unread(&self) -> Vec<String> {
        let message = &self.message;
        (0..message.items.len())
            .filter(|n| message.is_unknown(*n) && !message.used[*n] && message.is_foreign(*n))
            .map(|n| message.tokens[message.items[n].first].text.clone())
            .take(12)
            .collect()
    }
}
