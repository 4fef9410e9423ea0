//! The reader: what a message says, in which order its readings are tried, and what is kept for the next one.

use chrono::Duration;

use super::answer;
use super::attach::{Outcome, Surroundings, place_of};
use super::facts::Context;
use super::item::What;
use super::lexicon;
use super::message_text::{Message, Mood};
use super::place_words::is_nowhere;
use super::{Act, Ask, Carried, Dialogue, Doubt, Incoming, Place, Question, Reading, Said, Vocabulary, Wanted};

/// How long a place is carried and a question stands.
const CARRY: Duration = Duration::minutes(20);
/// How many earlier acts a correction can reach.
const EARLIER: usize = 24;

/// Reads one message. Never fails: what it cannot read it leaves out, or asks.
pub fn read(vocabulary: &Vocabulary, dialogue: &Dialogue, incoming: &Incoming) -> Reading {
    let standing = dialogue.question.as_ref().filter(|question| incoming.at <= question.expires);
    if let Some(Question { id, wanted: Wanted::Choice(choices), .. }) = standing
        && let Some(index) = answer::choice(choices, lexicon::answer(&incoming.text))
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
    let message = Message::new(vocabulary, incoming, here, &dialogue.tongue);
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

    /// "note box 7 outer carton crushed".
    fn note(&mut self) -> Option<Reading> {
        let message = &self.message;
        let head = message.head(0);
        // "A1 note the lid is cracked"
        let led = message.place(head).is_some_and(|mention| !mention.unknown && mention.places.len() == 1);
        let word =
            head + usize::from(led) + usize::from(led && (message.mark(head + 1, ':') || message.mark(head + 1, ',')));
        let layer = *message.layer_at(word, "note")?;
        let mut at = message.item_of_token(layer.end);
        while matches!(message.items.get(at).map(|item| &item.what), Some(What::Mark(':' | '-' | ',')))
            || matches!(message.text_at(at), "for" | "on" | "re" | "about" | "that") && message.place(at).is_none()
        {
            at += 1;
        }
        let named = if led && message.place(at).is_none() { head } else { at };
        let place =
            message.place(named).filter(|mention| !mention.unknown).and_then(|mention| mention.places.first().cloned());
        let start = at + usize::from(place.is_some() && named == at);
        let unknown = message.place(at).is_some_and(|mention| mention.unknown);
        let text = message.words_from(start, message.items.len())?;
        let act: Said = Act::Note { text, at: place }.into();
        if unknown {
            let said = act.clone();
            return Some(self.finish(Vec::new(), vec![(Doubt::WhichPlace, Wanted::Place, said)], Vec::new()));
        }
        Some(self.finish(vec![act], Vec::new(), Vec::new()))
    }

    /// "give me 20 min", "later".
    fn later(&self) -> Option<Act> {
        let message = &self.message;
        if message.items.is_empty() || message.items.iter().any(|item| matches!(item.what, What::Place(_))) {
            return None;
        }
        if message.mood.contains(&Mood::Question) || message.mood.contains(&Mood::Condition) {
            return None;
        }
        let end = message.items.len();
        let minutes = (0..end).find_map(|n| message.minutes(n).map(|(minutes, next)| (n, minutes, next)));
        let put_off = message.layer(0, end, "giveme").next();
        let later = message.layer(0, end, "later").next();
        let allowed = |n: usize| {
            minutes.is_some_and(|(from, _, to)| n >= from && n < to)
                || (n + 1 == end && n > 0 && message.items[n].whole().is_some() && covered(message, n - 1, "giveme"))
                || message.is_glue(n)
                || matches!(message.items[n].what, What::Mark(_) | What::Line)
                || ["giveme", "later", "polite", "self", "fix", "you"].iter().any(|class| covered(message, n, class))
                || message.any_key(
                    n,
                    &["please", "in", "for", "more", "another", "about", "to", "and", "again", "thanks", "at", "with"],
                )
                || message.value(n, "about").is_some()
                || message.value(n, "time").is_some()
        };
        if !(0..end).all(allowed) {
            return None;
        }
        // "give me 15"
        let bare = (0..end).find_map(|n| {
            message.items[n].whole().filter(|_| n + 1 == end && n > 0 && covered(message, n - 1, "giveme"))
        });
        if let (None, Some(_), Some(minutes)) = (minutes, put_off, bare) {
            return Some(Act::Later { in_min: Some(minutes) });
        }
        match (minutes, put_off, later) {
            (Some((_, minutes, _)), Some(_), _) | (Some((_, minutes, _)), _, Some(_)) => {
                Some(Act::Later { in_min: (minutes >= 1.0).then_some(minutes.round() as u32) })
            }
            // "later" by itself; "see you later" is a farewell.
            (None, None, Some(_)) if (0..end).all(|n| !covered(message, n, "you")) => Some(Act::Later { in_min: None }),
            (Some((_, minutes, _)), None, None)
                if message.value(0, "unit").is_none() && end <= 4 && (0..end).all(|n| !covered(message, n, "self")) =>
            {
                let plain = (0..end).any(|n| message.any_key(n, &["more", "another", "please", "in"])) || end <= 3;
                (plain && minutes >= 1.0 && self.message.value(0, "fraction").is_none())
                    .then_some(Act::Later { in_min: Some(minutes.round() as u32) })
            }
            _ => None,
        }
    }

    /// "undo", "scratch that, 5 dead", "sorry 5 not 4".
    fn correction(&mut self) -> Option<Reading> {
        let head = self.message.head(0);
        let undo = (0..self.message.items.len().min(4))
            .find_map(|n| self.message.layer_at(n, "undo").copied())
            .filter(|layer| {
                let word = self.message.tokens[layer.first].text.as_str();
                layer.end - layer.first > 1 || word == "undo" || self.message.tokens.len() <= 3
            })
            .filter(|_| !self.message.mood.contains(&Mood::Question) && !self.message.mood.contains(&Mood::Plan))
            .filter(|_| (0..self.message.items.len()).filter(|n| self.message.is_foreign(*n)).count() <= 1);
        let was = self.message.layer(0, self.message.items.len(), "fix").any(|layer| layer.meaning.value == "was");
        let marked = self.message.correction.marked;
        let misplaced = self.message.correction.old_place;
        if let Some(layer) = undo {
            let from = self.message.item_of_token(layer.first);
            let to = self.message.item_of_token(layer.end);
            self.message.used[from..to].fill(true);
            return Some(self.undone());
        }
        let placed = self.message.items.iter().any(|item| matches!(item.what, What::Place(_)));
        let trailing = !marked && self.trailing_apology();
        if !(marked || trailing || was && head < self.message.items.len()) {
            return None;
        }
        let Outcome { acts, waiting, used } = self.plain();
        if acts.is_empty() && waiting.is_empty() {
            // "D1 3 not 2": the number is what is wrong, where the act it corrects stands at that place.
            if marked
                && placed
                && self.message.bare_number_at().is_some()
                && let Some(reading) = self.bare_correction()
                && reading.acts.iter().all(|said| self.names(place_of(&said.act)))
                && !reading.acts.is_empty()
            {
                return Some(reading);
            }
            if placed && (misplaced || was || marked) && !self.dialogue.last.is_empty() && self.only_a_place() {
                return Some(self.doubting(Vec::new(), Doubt::WhichPlaceCorrected, (Wanted::Place, Vec::new())));
            }
            if was && !placed && self.wrong_place() {
                return Some(self.doubting(Vec::new(), Doubt::WhichPlaceCorrected, (Wanted::Place, Vec::new())));
            }
            let named = (0..self.message.items.len()).any(|n| {
                self.message.value(n, "product").is_some()
                    || matches!(self.message.items[n].what, What::Species(_))
                    || self.message.value(n, "state").is_some_and(|state| state != "sound")
            });
            if (marked || was)
                && named
                && !self.dialogue.last.is_empty()
                && self.message.bare_number_at().is_none()
                && self.only_a_place()
            {
                return Some(self.doubting(Vec::new(), Doubt::WhatCorrected, (Wanted::Place, Vec::new())));
            }
            return if marked { self.bare_correction() } else { None };
        }
        if !(marked || trailing) {
            return Some(self.finish(acts, waiting, used));
        }
        // "actually only 34 moved", "make it 18 for teasel": what is missing stands in the earlier act.
        if acts.is_empty()
            && let Some(reading) = self.bare_correction()
            && !reading.acts.is_empty()
        {
            return Some(reading);
        }
        // A corrected dose needs no unit again, a corrected reservation no fish.
        let (named, waiting): (Vec<_>, Vec<_>) = waiting.into_iter().partition(|(doubt, _, said)| {
            matches!(doubt, Doubt::WhichUnit | Doubt::WhichFish) && self.as_fix(said.clone()).act.is_fix()
        });
        let acts =
            acts.into_iter().chain(named.into_iter().map(|(_, _, said)| said)).map(|said| self.as_fix(said)).collect();
        Some(self.finish(acts, waiting, used))
    }

    /// "5 dead sorry": the apology behind the number.
    fn trailing_apology(&self) -> bool {
        let end = self.message.items.len();
        end > 1
            && self.message.layer_at(end - 1, "fix").is_some_and(|layer| layer.meaning.value == "sorry")
            && self.message.layer_at(0, "fix").is_none()
    }

    /// Whether the message holds a place and nothing that is said of it.
    fn only_a_place(&self) -> bool {
        (0..self.message.items.len()).filter(|n| self.message.is_foreign(*n)).count() <= 1
    }

    fn wrong_place(&self) -> bool {
        self.message
            .layer(0, self.message.items.len(), "fix")
            .any(|layer| self.message.tokens[layer.first].text == "wrong" && layer.end - layer.first == 2)
    }

    fn undone(&mut self) -> Reading {
        let Outcome { acts, waiting, used } = self.plain();
        if acts.is_empty() && waiting.is_empty() {
            if self.message.bare_number_left() && !self.dialogue.last.is_empty() {
                self.message.correction.marked = true;
                if let Some(reading) = self.bare_correction() {
                    return reading;
                }
            }
            return self.finish(vec![Act::Undo.into()], Vec::new(), Vec::new());
        }
        let fixed: Vec<Said> = acts.iter().cloned().map(|said| self.as_fix(said)).collect();
        if !fixed.is_empty() && fixed.iter().all(|said| said.act.is_fix()) {
            return self.finish(fixed, waiting, used);
        }
        let mut all = vec![Act::Undo.into()];
        all.extend(acts);
        self.finish(all, waiting, used)
    }

    /// Marks an act as the correction of an earlier one of its kind and place.
    fn as_fix(&self, mut said: Said) -> Said {
        let earlier = self.dialogue.last.iter().chain(&self.dialogue.earlier);
        let same = |old: &&Said| {
            std::mem::discriminant(&old.act) == std::mem::discriminant(&said.act)
                && match (&old.act, &said.act) {
                    (Act::Reserve { species: a, at: p, .. }, Act::Reserve { species: b, at: q, .. }) => {
                        a == b && p == q
                    }
                    (Act::Dose { product: a, at: p, .. }, Act::Dose { product: b, at: q, .. }) => a == b && p == q,
                    (a, b) => place_of(a) == place_of(b),
                }
        };
        let found = earlier.clone().find(same).cloned();
        // "correction:" and nothing else says so by itself; what is corrected is found by the desk.
        let old = match found {
            Some(old) => old,
            None if self.says_correction() => said.clone(),
            None => return said,
        };
        match (&mut said.act, &old.act) {
            (Act::Count(count), _) => count.fix = true,
            (Act::Reading(water), _) => water.fix = true,
            (Act::Swap { fix, .. }, _) => *fix = true,
            (Act::Dose { fix, .. }, _) => *fix = true,
            (Act::Move { fix, from, .. }, _) => {
                *fix = true;
                // Only what was corrected is said again.
                *from = None;
            }
            (Act::Reserve { fix, buyer, .. }, Act::Reserve { buyer: old, .. }) => {
                *fix = true;
                if buyer == old && !self.says_correction() {
                    *buyer = None;
                }
            }
            (Act::Ship { fix, buyer, .. }, Act::Ship { buyer: old, .. }) => {
                *fix = true;
                if buyer == old && !self.says_correction() {
                    *buyer = None;
                }
            }
            _ => {}
        }
        said
    }

    /// Whether the message names this place.
    fn names(&self, place: Option<&Place>) -> bool {
        self.message.items.iter().any(|item| match &item.what {
            What::Place(mention) => place.is_some_and(|place| mention.places.contains(place)),
            _ => false,
        })
    }

    fn says_correction(&self) -> bool {
        self.message.correction.named
    }

    /// "sorry 5 not 4", "*5", "sorry 6 ml": a number by itself corrects the last act that has one.
    fn bare_correction(&self) -> Option<Reading> {
        let message = &self.message;
        let at = (0..message.items.len())
            .find(|n| message.items[*n].number().is_some() || message.value(*n, "fraction").is_some())?;
        let foreign = (0..message.items.len()).filter(|n| message.is_foreign(*n)).count();
        let clock = (0..message.items.len()).any(|n| matches!(message.items[n].what, What::Clock(..)));
        if foreign > 0 || clock {
            return None;
        }
        let unplaced = || self.doubting(Vec::new(), Doubt::WhatCorrected, (Wanted::Number(String::new()), Vec::new()));
        let mut found: Vec<Said> = Vec::new();
        for old in &self.dialogue.last {
            found.extend(
                super::fixing::corrected(message, at, &old.act, message.correction.old).into_iter().map(Said::from),
            );
        }
        if found.is_empty() && message.correction.old.is_some() {
            for old in self.dialogue.earlier.iter().rev() {
                found.extend(
                    super::fixing::corrected(message, at, &old.act, message.correction.old).into_iter().map(Said::from),
                );
                if !found.is_empty() {
                    break;
                }
            }
        }
        match found.as_slice() {
            [said] if self.reachable(&said.act) => Some(self.finish(vec![said.clone()], Vec::new(), Vec::new())),
            [] if self.dialogue.last.is_empty() && !message.correction.strong => None,
            _ => Some(unplaced()),
        }
    }

    /// A correction without a place reaches the carried place only.
    fn reachable(&self, act: &Act) -> bool {
        match act {
            Act::Reserve { .. } => true,
            _ => !self.carried.is_empty() || !self.incoming.re.is_empty(),
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
                    super::attach::put(&mut said.act, place.clone());
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
            Ask { doubt: doubt.clone(), question }
        });
        match &ask {
            Some(ask) => dialogue.question = Some(ask.question.clone()),
            None if reports => dialogue.question = None,
            None => {}
        }
        // What the message is about: reports, questions and plans name places; chatter names none.
        let about_work = !acts.is_empty() || ask.is_some() || message.mood.iter().any(|mood| *mood != Mood::Report);
        let places = self.last_place(&acts).filter(|_| about_work).or_else(|| (!used.is_empty()).then_some(used));
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
        Reading { acts, ask, unread, chosen: None, supplier, dialogue }
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

fn covered(message: &Message<'_>, n: usize, class: &str) -> bool {
    let item = &message.items[n];
    message
        .layers
        .iter()
        .any(|layer| layer.meaning.class == class && layer.first <= item.first && item.end <= layer.end)
}
