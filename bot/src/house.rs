//! The house: one writer, who alone owns the state and the store.
//!
//! It takes all inputs that wait, decides each on the state as it then stands, writes all frames at once, and only then
//! hands out what is to be said. [`House`] does one such round and is all that a rehearsal needs; [`run`] is the thread
//! around it.

use std::collections::BTreeSet;
use std::sync::Arc;
use std::sync::mpsc::{self, RecvTimeoutError};
use std::time::Duration;

use chrono::{DateTime, Utc};
use holdfast_core::consignment::{KeptFile, Original};
use holdfast_core::desk::{self, Actor, Input, Outcome, What};
use holdfast_core::journal::{CauseKind, Frame, Outgoing, Reread, Speaker, State};
use holdfast_core::people::Role;
use holdfast_core::settings::Settings;
use tokio::sync::{mpsc as async_mpsc, oneshot};

use crate::clock::Clock;
use crate::packing;
use crate::store::{Store, StoreError, Waiting};

/// The desk as the house sees it: the real one, or one that a test wrote.
pub type Step = Box<dyn Fn(&State, &Settings, &Input, DateTime<Utc>) -> Outcome + Send>;
/// When the clock has something to do next.
pub type NextWake = Box<dyn Fn(&State) -> Option<DateTime<Utc>> + Send>;

/// State and store, and the desk that decides.
pub struct House {
    state: State,
    store: Store,
    settings: Settings,
    step: Step,
    next_wake: NextWake,
}

impl House {
    /// A house with the real desk, on a store that was just opened.
    pub fn new(store: Store, state: State, settings: Settings) -> Self {
        House::with_desk(store, state, settings, Box::new(desk::step), Box::new(desk::next_wake))
    }

    /// A house with another desk.
    pub fn with_desk(store: Store, state: State, settings: Settings, step: Step, next_wake: NextWake) -> Self {
        House { state, store, settings, step, next_wake }
    }

    /// Everything known.
    pub fn state(&self) -> &State {
        &self.state
    }

    /// The store, for look-ups.
    pub fn store(&self) -> &Store {
        &self.store
    }

    /// The store, for noting what is in flight.
    pub fn store_mut(&mut self) -> &mut Store {
        &mut self.store
    }

    /// What the site decided.
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// When the clock has something to do next.
    pub fn next_wake(&self) -> Option<DateTime<Utc>> {
        (self.next_wake)(&self.state)
    }

    /// Takes inputs in, in their order, and returns what is to be said, which is on disk then. An input whose key was
    /// taken in before is dropped. One that changes nothing and is answered by nothing makes no frame.
    ///
    /// # Errors
    /// Those of the store. Then nothing may be said and the program must stop: the state in memory is ahead of what is
    /// known to be on disk.
    pub fn take(&mut self, inputs: Vec<Input>, now: DateTime<Utc>) -> Result<Vec<Outgoing>, StoreError> {
        let mut frames = Vec::new();
        let mut keys = BTreeSet::new();
        for input in inputs {
            if keys.contains(&input.key) || self.store.seen(&input.key)?.is_some() {
                tracing::debug!(key = input.key, "taken in before");
                continue;
            }
            let input = self.with_file_kept(input)?;
            let key = input.key.clone();
            if let Some(frame) = self.decide(&input, now) {
                frames.push(frame);
                keys.insert(key);
            }
        }
        // The state tells what is to be read anew, and each reading takes one away from it.
        while let Some((of, reread)) = self.state.rereads.first_key_value().map(|(of, reread)| (*of, reread.clone())) {
            let input = self.reading(of, &reread, now)?;
            match self.decide(&input, now) {
                Some(frame) if !self.state.rereads.contains_key(&of) => frames.push(frame),
                _ => break,
            }
        }
        self.store.commit(&frames, &self.state)?;
        Ok(frames.into_iter().flat_map(|frame| frame.outgoing).collect())
    }

    /// What comes of one input, applied to the state; `None` where it makes no frame.
    fn decide(&mut self, input: &Input, now: DateTime<Utc>) -> Option<Frame> {
        // The refusals are in words among the outgoing already.
        let Outcome { cause, events, outgoing, refusals: _ } = (self.step)(&self.state, &self.settings, input, now);
        let is_delivery = matches!(cause.kind, CauseKind::Delivered { .. });
        if events.is_empty() && outgoing.is_empty() && !is_delivery {
            return None;
        }
        debug_assert_eq!(cause.key, input.key, "a frame keeps the key of its input");
        let frame = Frame { seq: self.state.seq + 1, at: now, cause, events, outgoing };
        self.state.apply(&frame);
        Some(frame)
    }

    /// A list whose file is kept, read by what was said of the columns of its supplier's lists. Nothing is kept for
    /// strangers and buyers.
    fn with_file_kept(&self, mut input: Input) -> Result<Input, StoreError> {
        let known = |actor: &Actor| self.state.people.get(&actor.person).is_some_and(|it| it.role != Role::Buyer);
        let known = input.actor.as_ref().is_some_and(known);
        let What::List(list) = &mut input.what else { return Ok(input) };
        let Some(original) = list.original.take().filter(|_| known) else { return Ok(input) };
        let kept = KeptFile { sha256: self.store.keep_file(&original.bytes)?, pasted: original.pasted };
        let said = list.supplier.as_ref().and_then(|supplier| self.state.columns.get(supplier));
        if let Some(said) = said {
            **list = packing::for_the_chat(&list.file, original, said);
            list.original = None;
        }
        list.kept = Some(kept);
        Ok(input)
    }

    /// A kept list, read anew.
    fn reading(&self, of: u64, reread: &Reread, now: DateTime<Utc>) -> Result<Input, StoreError> {
        let mut list = match self.store.kept_file(&reread.file.sha256)? {
            Some(bytes) => {
                let original = Original { bytes: bytes.into(), pasted: reread.file.pasted };
                packing::for_the_chat(&reread.name, original, &reread.columns)
            }
            None => packing::gone(&reread.name),
        };
        list.original = None;
        list.kept = Some(reread.file.clone());
        let Speaker { chat, topic, person } = reread.to.clone();
        Ok(Input {
            key: format!("read anew {of}"),
            said_at: reread.said_at,
            heard_at: now,
            actor: Some(Actor { person, chat, topic }),
            what: What::ReadAnew { of, list: Box::new(list) },
        })
    }

    /// The clock's own input, if something is due.
    pub fn tick(&self, now: DateTime<Utc>) -> Option<Input> {
        self.next_wake().filter(|wake| *wake <= now)?;
        // With the frame's number, so that a second tick of the same moment has a key of its own. A tick that made no
        // frame may well be repeated under its key.
        let key = format!("tick:{}:{}", now.timestamp_millis(), self.state.seq);
        Some(Input { key, said_at: now, heard_at: now, actor: None, what: What::Tick })
    }
}

/// What can be asked of the house's thread.
pub enum Order {
    /// An input. The sender is told when it is on disk; if the house stops first, the channel closes instead.
    Take(Box<Input>, Option<oneshot::Sender<()>>),
    /// Something to be done with the house between two rounds: a look-up, a paper, a mark in the outbox.
    Visit(Visit),
}

/// Something to be done with the house.
pub type Visit = Box<dyn FnOnce(&mut House) + Send>;

/// The way to the house's thread. Dropping the last one ends it.
#[derive(Clone)]
pub struct Door {
    orders: mpsc::Sender<Order>,
}

/// The house has stopped.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the house has stopped")]
pub struct Closed;

impl Door {
    /// A door, and the end of it that [`run`] takes.
    pub fn new() -> (Door, mpsc::Receiver<Order>) {
        let (orders, taken) = mpsc::channel();
        (Door { orders }, taken)
    }

    /// Hands in an input and waits until it is on disk: only then may a platform's offset move on.
    ///
    /// # Errors
    /// Where the house has stopped; whether the input is kept is not known then.
    pub async fn take(&self, input: Input) -> Result<(), Closed> {
        self.hand_in(input)?.await.map_err(|_| Closed)
    }

    /// Hands in an input. What is returned is told when it is on disk.
    ///
    /// # Errors
    /// Where the house has stopped.
    pub fn hand_in(&self, input: Input) -> Result<oneshot::Receiver<()>, Closed> {
        let (done, told) = oneshot::channel();
        self.orders.send(Order::Take(Box::new(input), Some(done))).map_err(|_| Closed)?;
        Ok(told)
    }

    /// Does something with the house between two rounds and brings back the answer.
    ///
    /// # Errors
    /// Where the house has stopped.
    pub async fn visit<T: Send + 'static>(
        &self,
        act: impl FnOnce(&mut House) -> T + Send + 'static,
    ) -> Result<T, Closed> {
        let (done, told) = oneshot::channel();
        let visit: Visit = Box::new(move |house| {
            // Whoever asked may have gone; then nobody misses the answer.
            let _ = done.send(act(house));
        });
        self.orders.send(Order::Visit(visit)).map_err(|_| Closed)?;
        told.await.map_err(|_| Closed)
    }
}

/// Inputs of one round at most, so that an answer does not wait for all of a long backlog.
const MOST_AT_ONCE: usize = 256;
/// A wake that leaves the next one as due as before is not repeated at once.
const AFTER_A_TICK: Duration = Duration::from_secs(1);
/// How long the house waits when nothing is due.
const IDLE: Duration = Duration::from_secs(3600);

/// Runs the house on this thread until every [`Door`] is dropped. First hands out what was not delivered before.
///
/// # Errors
/// Those of the store. Nothing of the failed round was handed out; the program must stop.
pub fn run(
    mut house: House,
    clock: Arc<dyn Clock>,
    orders: mpsc::Receiver<Order>,
    released: async_mpsc::UnboundedSender<Waiting>,
) -> Result<House, StoreError> {
    for waiting in house.store.undelivered() {
        // Nobody listens only where the program is stopping already; what is not sent waits for the next start.
        let _ = released.send(waiting);
    }
    // Lists that were to be read anew when the program last stopped.
    for message in house.take(Vec::new(), clock.now())? {
        let _ = released.send(Waiting::untried(message));
    }
    let mut fruitless = false;
    loop {
        let patience = match house.next_wake() {
            Some(_) if fruitless => AFTER_A_TICK,
            Some(wake) => clock.patience(wake),
            None => IDLE,
        };
        let first = match orders.recv_timeout(patience) {
            Ok(order) => Some(order),
            Err(RecvTimeoutError::Timeout) => None,
            Err(RecvTimeoutError::Disconnected) => return Ok(house),
        };
        let mut inputs = Vec::new();
        let mut told = Vec::new();
        let mut visits = Vec::new();
        for order in first.into_iter().chain(orders.try_iter()).take(MOST_AT_ONCE) {
            match order {
                Order::Take(input, done) => {
                    inputs.push(*input);
                    told.extend(done);
                }
                Order::Visit(visit) => visits.push(visit),
            }
        }
        let now = clock.now();
        let mut outgoing = house.take(inputs, now)?;
        // After the inputs: a look that one of them answered is not asked for any more.
        if let Some(tick) = house.tick(now) {
            outgoing.extend(house.take(vec![tick], now)?);
        }
        fruitless = house.next_wake().is_some_and(|wake| wake <= now);
        for done in told {
            // Whoever handed it in may have gone; it is on disk all the same.
            let _ = done.send(());
        }
        for message in outgoing {
            let _ = released.send(Waiting::untried(message));
        }
        for visit in visits {
            visit(&mut house);
        }
    }
}

#[cfg(test)]
mod tests;
