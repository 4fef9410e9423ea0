use std::cell::RefCell;
use std::rc::Rc;

use anyhow::bail;
use chrono::Duration as Span;
use holdfast_core::journal::{Class, OutgoingId};

use super::*;
use crate::clock::{Clock, ManualClock};

/// A desk that answers "A text" in chat A, is due at `wakes`, and remembers what it was told of deliveries.
struct Desktop {
    clock: ManualClock,
    wakes: Vec<DateTime<Utc>>,
    /// Whether a tick settles what is due.
    heeds: bool,
    undelivered: Vec<Outgoing>,
    delivered: Vec<String>,
    people: BTreeMap<String, Person>,
    frames: u64,
    ticks: u32,
}

impl Desktop {
    fn new() -> Self {
        Desktop {
            clock: ManualClock::at(moment(0)),
            wakes: Vec::new(),
            heeds: true,
            undelivered: Vec::new(),
            delivered: Vec::new(),
            people: BTreeMap::new(),
            frames: 0,
            ticks: 0,
        }
    }
}

fn moment(seconds: i64) -> DateTime<Utc> {
    DateTime::UNIX_EPOCH + Span::seconds(seconds)
}

fn outgoing(frame: u64, chat: &str, body: &str) -> Outgoing {
    Outgoing {
        id: OutgoingId { frame, nth: 0 },
        chat: chat.to_string(),
        topic: None,
        reply_to: None,
        class: Class::Answer,
        merge: false,
        replaces: None,
        body: body.to_string(),
        buttons: Vec::new(),
        about: Vec::new(),
    }
}

impl Desk for Desktop {
    fn now(&self) -> DateTime<Utc> {
        self.clock.now()
    }

    fn take(&mut self, inputs: Vec<Input>) -> anyhow::Result<Vec<Outgoing>> {
        let mut said = Vec::new();
        for input in inputs {
            match input.what {
                What::Message { text, .. } if text == "disk full" => bail!("the disk is full"),
                What::Message { text, .. } => {
                    self.frames += 1;
                    let (chat, body) = text.split_at(1);
                    said.push(outgoing(self.frames, chat, body.trim()));
                }
                What::Delivered { outgoing, outcome } => self.delivered.push(format!("{} {outcome:?}", outgoing.frame)),
                What::Tick => {
                    self.ticks += 1;
                    let now = self.now();
                    if self.heeds {
                        self.wakes.retain(|wake| *wake > now);
                    }
                }
                _ => {}
            }
        }
        Ok(said)
    }

    fn next_wake(&self) -> Option<DateTime<Utc>> {
        self.wakes.iter().min().copied()
    }

    fn places_of(&self, _sent: &str) -> Vec<Place> {
        Vec::new()
    }

    fn people(&self) -> &BTreeMap<String, Person> {
        &self.people
    }

    fn undelivered(&mut self) -> Vec<Outgoing> {
        std::mem::take(&mut self.undelivered)
    }
}

/// A channel on which these things are said at these seconds, and whose sendings end as told, then well.
struct Platform {
    clock: ManualClock,
    said: VecDeque<(i64, &'static str)>,
    outcomes: VecDeque<Sending>,
    sent: Rc<RefCell<Vec<String>>>,
}

impl Channel for Platform {
    fn next(&mut self, wake: Option<DateTime<Utc>>) -> anyhow::Result<Heard> {
        let next = self.said.front().map(|(at, _)| moment(*at));
        if let Some(wake) = wake.filter(|wake| next.is_none_or(|next| *wake <= next)) {
            self.clock.set(wake);
            return Ok(Heard::Due);
        }
        let Some((at, text)) = self.said.pop_front() else { return Ok(Heard::End) };
        self.clock.set(moment(at));
        Ok(Heard::Said(Box::new(Incoming {
            key: format!("{at} {text}"),
            person: "ana".to_string(),
            chat: "A".to_string(),
            topic: None,
            said_at: self.clock.now(),
            said: Said::Text { text: text.to_string(), reply_to: None },
        })))
    }

    fn send(&mut self, outgoing: &Outgoing) -> Sending {
        let outcome = self.outcomes.pop_front().unwrap_or_else(|| Sending::Sent(format!("id{}", outgoing.id.frame)));
        let seconds = (self.clock.now() - moment(0)).num_seconds();
        self.sent.borrow_mut().push(format!("{seconds} {} {}", outgoing.chat, outgoing.body));
        outcome
    }
}

/// Serves to the end. Gives what was handed to the platform and how serving ended.
fn served(
    desk: &mut Desktop,
    said: &[(i64, &'static str)],
    outcomes: Vec<Sending>,
) -> (Vec<String>, anyhow::Result<()>) {
    let sent = Rc::new(RefCell::new(Vec::new()));
    let clock = desk.clock.clone();
    let mut platform =
        Platform { clock, said: said.iter().copied().collect(), outcomes: outcomes.into(), sent: sent.clone() };
    let ended = serve(desk, &mut platform);
    (sent.take(), ended)
}

#[test]
fn a_chat_that_must_wait_keeps_its_order_and_holds_up_no_other() {
    let mut desk = Desktop::new();
    let retry = Sending::Retry(Duration::from_secs(10));
    let (sent, ended) = served(&mut desk, &[(0, "A one"), (1, "A two"), (2, "B three")], vec![retry]);
    assert!(ended.is_ok());
    assert_eq!(sent, ["0 A one", "2 B three", "10 A one", "10 A two"]);
    assert_eq!(desk.delivered, ["3 Sent(\"id3\")", "1 Sent(\"id1\")", "2 Sent(\"id2\")"]);
}

#[test]
fn a_message_of_unknown_outcome_is_sent_again_and_at_last_parked() {
    let mut desk = Desktop::new();
    let (sent, _) = served(&mut desk, &[(0, "A one")], vec![Sending::Unknown; 9]);
    assert_eq!(sent, ["0 A one", "5 A one", "10 A one", "15 A one", "20 A one"]);
    assert_eq!(desk.delivered, ["1 Parked(\"no answer\")"]);
}

#[test]
fn a_closed_chat_parks_its_message_with_the_reason() {
    let mut desk = Desktop::new();
    served(&mut desk, &[(0, "A one")], vec![Sending::Gone("the group was left".to_string())]).1.expect("no error");
    assert_eq!(desk.delivered, ["1 Parked(\"the group was left\")"]);
}

#[test]
fn what_was_not_delivered_before_goes_out_first() {
    let mut desk = Desktop::new();
    desk.undelivered = vec![outgoing(9, "A", "from yesterday")];
    assert_eq!(served(&mut desk, &[(0, "A one")], Vec::new()).0, ["0 A from yesterday", "0 A one"]);
}

#[test]
fn a_wake_that_is_never_settled_does_not_stop_the_messages() {
    let mut desk = Desktop::new();
    desk.heeds = false;
    desk.wakes = vec![moment(0)];
    assert_eq!(served(&mut desk, &[(1, "A one"), (2, "A two")], Vec::new()).0, ["1 A one", "2 A two"]);
    assert!(desk.ticks <= 3 * SAME_WAKE, "{} ticks", desk.ticks);
}

#[test]
fn what_could_not_be_recorded_is_not_answered() {
    let mut desk = Desktop::new();
    let (sent, ended) = served(&mut desk, &[(0, "A one"), (1, "disk full"), (2, "A two")], Vec::new());
    assert_eq!(ended.expect_err("the disk is full").to_string(), "the disk is full");
    assert_eq!(sent, ["0 A one"]);
}
