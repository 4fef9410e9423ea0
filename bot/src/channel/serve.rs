//! The loop: what is due, what is said, what is answered.

#[cfg(test)]
mod tests;

use std::collections::{BTreeMap, VecDeque};
use std::time::Duration;

use chrono::{DateTime, Utc};
use holdfast_core::desk::{Actor, Input, What};
use holdfast_core::journal::{Delivery, Outgoing, Person};
use holdfast_core::message::Place;

use super::{Channel, Heard, Incoming, Said, Sending};

/// What the loop needs of the house: inputs in, replies out once they are on disk.
pub trait Desk {
    /// The time by the house's clock.
    fn now(&self) -> DateTime<Utc>;

    /// Takes inputs in. What it returns may be said: it is journalled.
    ///
    /// # Errors
    /// Where it could not be recorded. Then nothing may be answered.
    fn take(&mut self, inputs: Vec<Input>) -> anyhow::Result<Vec<Outgoing>>;

    /// When the clock next has something to do.
    fn next_wake(&self) -> Option<DateTime<Utc>>;

    /// The places that an earlier line of ours spoke of, by the platform's id of it.
    fn places_of(&self, sent: &str) -> Vec<Place>;

    /// The frame that an earlier line of ours came of, by the platform's id of it; `None` where lines of several frames
    /// went out as one.
    fn frame_of(&self, _sent: &str) -> Option<u64> {
        None
    }

    /// The enrolled people by name.
    fn people(&self) -> &BTreeMap<String, Person>;

    /// What was journalled and never delivered when the program last stopped.
    fn undelivered(&mut self) -> Vec<Outgoing> {
        Vec::new()
    }
}

/// How often a message of unknown outcome is sent before it is parked.
const ATTEMPTS: u32 = 5;

/// How long after an unknown outcome a message is sent again.
const AGAIN_AFTER: Duration = Duration::from_secs(5);

/// How often the clock may ask for a time that has come before it is left alone until somebody speaks.
const SAME_WAKE: u32 = 50;

/// Serves a channel until nothing more will be said. What is due by then is still done.
///
/// # Errors
/// Where the house could not record, or the channel can hear no more.
pub fn serve(desk: &mut dyn Desk, channel: &mut dyn Channel) -> anyhow::Result<()> {
    let mut outbox = Outbox::default();
    outbox.put(desk.undelivered());
    outbox.deliver(desk, channel)?;
    // Lists that were to be read anew when the program last stopped.
    outbox.put(desk.take(Vec::new())?);
    let mut clock = Alarm::default();
    loop {
        while let Some(tick) = clock.tick(desk.next_wake(), desk.now()) {
            outbox.put(desk.take(vec![tick])?);
            outbox.deliver(desk, channel)?;
        }
        outbox.deliver(desk, channel)?;
        let wake = [clock.heeded(desk.next_wake()), outbox.next_attempt()].into_iter().flatten().min();
        channel.meet(desk.people());
        match channel.next(wake)? {
            Heard::Said(incoming) => {
                clock.rearm();
                let input = input(desk, *incoming);
                outbox.put(desk.take(vec![input])?);
                outbox.deliver(desk, channel)?;
            }
            Heard::Due => {}
            Heard::End => break,
        }
    }
    while let Some(tick) = clock.tick(desk.next_wake(), desk.now()) {
        outbox.put(desk.take(vec![tick])?);
        outbox.deliver(desk, channel)?;
    }
    Ok(())
}

/// What was said, as the desk takes it: replies become the places replied to.
fn input(desk: &dyn Desk, incoming: Incoming) -> Input {
    let places = |reply_to: Option<String>| reply_to.map(|sent| desk.places_of(&sent)).unwrap_or_default();
    let what = match incoming.said {
        Said::Text { text, reply_to } => match reply_to.as_deref().and_then(|sent| desk.frame_of(sent)) {
            Some(to) => What::Reply { text, re: places(reply_to), to },
            None => What::Message { text, re: places(reply_to) },
        },
        Said::Edit { of, text } => What::Edit { of, text },
        Said::Press { question, choice } => What::Button { question, choice },
        Said::List(list) => What::List(list),
        Said::Photo { path, caption, reply_to } => What::Photo { path, caption, re: places(reply_to) },
    };
    Input {
        key: incoming.key,
        said_at: incoming.said_at,
        heard_at: desk.now(),
        actor: Some(Actor { person: incoming.person, chat: incoming.chat, topic: incoming.topic }),
        what,
    }
}

/// The ticks of the clock. A time that is asked for again and again although it has come is left alone until somebody
/// speaks: a fault there must not stop the crew's messages.
#[derive(Default)]
struct Alarm {
    ticks: u64,
    last: Option<DateTime<Utc>>,
    repeats: u32,
    unheeded: bool,
}

impl Alarm {
    /// A tick, where `wake` has come.
    fn tick(&mut self, wake: Option<DateTime<Utc>>, now: DateTime<Utc>) -> Option<Input> {
        let wake = self.heeded(wake).filter(|wake| *wake <= now)?;
        self.repeats = if self.last == Some(wake) { self.repeats + 1 } else { 0 };
        self.last = Some(wake);
        if self.repeats >= SAME_WAKE {
            tracing::error!(%wake, "the clock asks for the same time again and again; it is left alone for now");
            self.unheeded = true;
            return None;
        }
        self.ticks += 1;
        // The count keeps two ticks of one instant apart: a rehearsal's clock stands still.
        let key = format!("tick {} {}", now.to_rfc3339(), self.ticks);
        Some(Input { key, said_at: now, heard_at: now, actor: None, what: What::Tick })
    }

    fn heeded(&self, wake: Option<DateTime<Utc>>) -> Option<DateTime<Utc>> {
        wake.filter(|wake| !(self.unheeded && self.last == Some(*wake)))
    }

    fn rearm(&mut self) {
        self.unheeded = false;
        self.repeats = 0;
    }
}

/// Replies on their way out, in order for each chat.
#[derive(Default)]
struct Outbox {
    waiting: VecDeque<Waiting>,
}

struct Waiting {
    outgoing: Outgoing,
    not_before: Option<DateTime<Utc>>,
    unknown: u32,
}

impl Outbox {
    fn put(&mut self, outgoing: Vec<Outgoing>) {
        self.waiting.extend(outgoing.into_iter().map(|outgoing| Waiting { outgoing, not_before: None, unknown: 0 }));
    }

    fn next_attempt(&self) -> Option<DateTime<Utc>> {
        self.waiting.iter().filter_map(|waiting| waiting.not_before).min()
    }

    /// Sends all that may be sent now and journals what became of it.
    fn deliver(&mut self, desk: &mut dyn Desk, channel: &mut dyn Channel) -> anyhow::Result<()> {
        // Bounded, because the word on a delivery says nothing itself.
        while self.attempt(desk, channel)? {}
        Ok(())
    }

    fn attempt(&mut self, desk: &mut dyn Desk, channel: &mut dyn Channel) -> anyhow::Result<bool> {
        let now = desk.now();
        let mut held: Vec<String> = Vec::new();
        let mut kept = VecDeque::new();
        let mut words = Vec::new();
        for mut waiting in self.waiting.drain(..) {
            let early = waiting.not_before.is_some_and(|time| time > now);
            if early || held.contains(&waiting.outgoing.chat) {
                held.push(waiting.outgoing.chat.clone());
                kept.push_back(waiting);
                continue;
            }
            let outcome = match channel.send(&waiting.outgoing) {
                Sending::Sent(id) => Delivery::Sent(id),
                Sending::Gone(why) => Delivery::Parked(why),
                Sending::Unknown if waiting.unknown + 1 >= ATTEMPTS => Delivery::Parked("no answer".to_string()),
                again => {
                    let after = match again {
                        Sending::Retry(after) => after,
                        _ => {
                            waiting.unknown += 1;
                            AGAIN_AFTER
                        }
                    };
                    waiting.not_before = Some(now + after);
                    held.push(waiting.outgoing.chat.clone());
                    kept.push_back(waiting);
                    continue;
                }
            };
            let id = waiting.outgoing.id;
            words.push(Input {
                key: format!("delivered {}.{}", id.frame, id.nth),
                said_at: now,
                heard_at: now,
                actor: None,
                what: What::Delivered { outgoing: id, outcome },
            });
        }
        self.waiting = kept;
        if words.is_empty() {
            return Ok(false);
        }
        let more = desk.take(words)?;
        let any = !more.is_empty();
        self.put(more);
        Ok(any)
    }
}
