//! The watch: when a tank or tray is looked at again, whom to remind, and what a lot still lacks.

use std::collections::BTreeSet;

use chrono::{DateTime, Duration, Utc};

use super::draft::{Done, Draft, Stop};
use super::place::{Where, vessel_place};
use super::refusal::Refusal;
use super::reporting::is_about_fish;
use crate::consignment::LotNo;
use crate::journal::{Class, Entry, Event, Logged, Look, Spot, State};
use crate::message::{Act, Place, Said, Sign, VesselKind};
use crate::people::{Power, Role};
use crate::say;
use crate::species::{self, Match, Species};
use crate::watch::{Condition, clock, condition, nudge, policy, schedule};

/// Minutes a look is put off when the person does not say.
const LATER_MINUTES: u32 = 20;

impl Draft<'_> {
    /// Plans the next look at a vessel from how its fish are. A look that a person asked for, and that comes sooner, stays.
    pub(super) fn plan_look(&mut self, vessel: &str, looked: DateTime<Utc>) -> Option<DateTime<Utc>> {
        if self.state.fish_in_vessel(vessel) == 0 {
            self.forget_look_of_empty(vessel);
            return None;
        }
        let kind = self.state.vessels.get(vessel).map_or(VesselKind::Tank, |record| record.kind);
        let arrived = self.arrived(vessel).unwrap_or(looked);
        let condition = self.condition_of(vessel)?;
        let rule = &schedule::LookRule::from(&self.settings.looks);
        let minutes = schedule::interval(rule, kind, condition, arrived, looked)?;
        let due = looked + minutes.delta();
        let asked = self.state.looks.get(vessel).filter(|look| look.asked_by.is_some() && look.told.is_none());
        if asked.is_some_and(|look| look.due > looked && look.due <= due) {
            return asked.map(|look| look.due);
        }
        let look = Look {
            due,
            every_min: Some(minutes.get()),
            asked_by: None,
            chat: self.speaker.chat.clone(),
            topic: self.speaker.topic.clone(),
            told: None,
            nudged: None,
            woken: None,
            next: Some(due),
        };
        self.emit(Event::LookSet { vessel: vessel.to_owned(), to: Some(look) });
        Some(due)
    }

    /// A word or a number about the fish answers the look that was due, and plans the next.
    pub(super) fn answer_look(&mut self, vessel: &str, at: DateTime<Utc>) -> Option<String> {
        let late = self
            .state
            .looks
            .get(vessel)
            .filter(|look| look.told.is_some() && at - look.due >= Duration::minutes(LATE_MINUTES))
            .map(|look| (at - look.due).num_minutes());
        if let Some(look) = self.state.looks.get(vessel).filter(|look| look.due <= at).cloned() {
            // Answered: what a person asked for is done too.
            self.emit(Event::LookSet { vessel: vessel.to_owned(), to: Some(Look { asked_by: None, ..look }) });
        }
        let next = self.plan_look(vessel, at)?;
        Some(say::standing::next_look(&self.local(next), late))
    }

    fn arrived(&self, vessel: &str) -> Option<DateTime<Utc>> {
        self.state.lots_in(vessel).into_iter().map(|(_, lot)| lot.since).max()
    }

    /// How the fish of a vessel are: the worst of its lots, or of a tray's fish.
    pub(super) fn condition_of(&self, vessel: &str) -> Option<Condition> {
        let signs = self.signs_of(vessel);
        let dead_lately =
            self.deaths_since(vessel, None, self.now - condition::ConditionRule::default().deaths_window.delta());
        let lots = self.state.lots_in(vessel);
        if lots.is_empty() {
            let living = self.state.fish_in_vessel(vessel);
            let facts = condition::Facts { living, weak: 0, dead_lately, signs: &signs, species: None };
            return condition::condition(facts, &condition::ConditionRule::default());
        }
        lots.into_iter()
            .filter_map(|(no, lot)| {
                let known = self.known_species(lot.line);
                let facts = condition::Facts {
                    living: self.state.living(no).total(),
                    weak: lot.weak,
                    dead_lately: self.deaths_since(
                        vessel,
                        Some(no),
                        self.now - condition::ConditionRule::default().deaths_window.delta(),
                    ),
                    signs: &signs,
                    species: known,
                };
                let found = condition::condition(facts, &condition::ConditionRule::default())?;
                let sensitivity = known.map_or(species::Sensitivity::Ordinary, |species| species.sensitivity);
                Some(condition::watched_as(found, sensitivity))
            })
            .min()
    }

    /// The known species of a line's fish.
    pub(super) fn known_species(&self, line: crate::consignment::LineKey) -> Option<&'static Species> {
        let record = self.state.line(line)?;
        match species::resolve(&record.species, record.scientific.as_deref()) {
            Match::One(found) => Some(found),
            _ => None,
        }
    }

    fn entries_of(&self, vessel: &str) -> impl Iterator<Item = &Entry> {
        let spot = Spot::Vessel(vessel.to_owned());
        self.state.entries.values().map(AsRef::as_ref).filter(move |entry| entry.spot == spot)
    }

    /// Signs of the fish seen at the last look that named any.
    fn signs_of(&self, vessel: &str) -> BTreeSet<Sign> {
        self.entries_of(vessel)
            .filter_map(|entry| match &entry.what {
                Logged::Act(Said { act: Act::Observe { signs, .. }, .. }) => Some((entry.at, signs)),
                _ => None,
            })
            .filter(|(_, signs)| signs.iter().any(|sign| is_about_fish(*sign)))
            .max_by_key(|(at, _)| *at)
            .map(|(_, signs)| signs.clone())
            .unwrap_or_default()
    }

    fn deaths_since(&self, vessel: &str, lot: Option<LotNo>, since: DateTime<Utc>) -> u32 {
        self.entries_of(vessel)
            .filter(|entry| entry.at >= since)
            .filter_map(|entry| match &entry.what {
                // Deaths of which nobody knows the lot count against each.
                Logged::Deaths { count, lot: of, .. } if lot.is_none() || of.is_none() || *of == lot => Some(*count),
                _ => None,
            })
            .sum()
    }

    fn last_sign(&self, vessel: &str, wanted: &[Sign], since: DateTime<Utc>) -> Option<DateTime<Utc>> {
        self.entries_of(vessel)
            .filter(|entry| entry.at >= since)
            .filter(|entry| match &entry.what {
                Logged::Act(Said { act: Act::Observe { signs, .. }, .. }) => {
                    wanted.iter().any(|sign| signs.contains(sign))
                }
                _ => false,
            })
            .map(|entry| entry.at)
            .max()
    }

    /// When somebody last said a word or a number about the fish of a vessel.
    pub(super) fn last_look(&self, vessel: &str) -> Option<DateTime<Utc>> {
        self.entries_of(vessel)
            .filter(|entry| match &entry.what {
                Logged::Act(Said { act: Act::Observe { signs, .. }, .. }) => {
                    signs.iter().any(|sign| is_about_fish(*sign))
                }
                Logged::Deaths { .. } | Logged::StockTake { .. } => true,
                _ => false,
            })
            .map(|entry| entry.at)
            .max()
    }

    /// Each condition of the release policy with its fact.
    pub(super) fn conditions(&self, no: LotNo) -> Vec<say::standing::ConditionLine> {
        let verdict = self.verdict(no);
        verdict
            .map(|verdict| {
                verdict
                    .requirements
                    .iter()
                    .map(|requirement| say::standing::ConditionLine {
                        met: requirement.met,
                        words: say::release::requirement(requirement, self.now, self.settings.zone),
                    })
                    .collect()
            })
            .unwrap_or_default()
    }

    pub(super) fn verdict(&self, no: LotNo) -> Option<policy::Verdict> {
        let lot = self.state.lots.get(&no)?;
        let rule = &policy::Policy::from(&self.settings.release);
        let held = self.state.living(no).held;
        let hold_asked = match &lot.hold {
            Some(hold) => match (&hold.why, hold.until) {
                (_, None) => policy::Asked::WithoutEnd,
                // The site's own rest is the first requirement already.
                (None, Some(until)) if until == lot.since + rule.hold.delta() => policy::Asked::No,
                (_, Some(until)) => policy::Asked::Until(until),
            },
            None => policy::Asked::No,
        };
        let facts = policy::Facts {
            hold_since: lot.since,
            hold_asked,
            living: self.state.living(no).total(),
            counted: held.presumed == 0,
            deaths_lately: self.deaths_since(&lot.tank, Some(no), self.now - rule.deaths_window.delta()),
            feeding_seen: self.last_sign(&lot.tank, &[Sign::Feeding], lot.since),
            off_feed_seen: self.last_sign(&lot.tank, &[Sign::OffFeed], lot.since),
            last_look: self.last_look(&lot.tank),
            signs: self.signs_of(&lot.tank),
            species: self.known_species(lot.line),
            shared_water_since: self.shared_water_since(&lot.tank),
        };
        Some(policy::verdict(&facts, rule, self.now))
    }

    /// When the last lot came into the same water system; `None` where the tank shares none.
    fn shared_water_since(&self, tank: &str) -> Option<DateTime<Utc>> {
        let system = self.state.vessels.get(tank)?.system.as_ref()?;
        self.state
            .vessels
            .iter()
            .filter(|(_, vessel)| vessel.system.as_ref() == Some(system))
            .flat_map(|(name, _)| self.state.lots_in(name))
            .map(|(_, lot)| lot.since)
            .max()
    }

    /// Somebody wants to look again, at a time or by the schedule.
    pub(super) fn recheck(
        &mut self,
        place: &Place,
        in_min: Option<u32>,
        clock_time: Option<&str>,
        act: &Said,
    ) -> Result<Done, Stop> {
        self.require(Power::RecordCounts)?;
        let vessel = match self.find(place, act)? {
            Where::Tray(name) | Where::Tank(name) | Where::Lot(_, name) => name,
            Where::Box(_) | Where::Bag(_) => return self.recheck_pack(place, in_min, clock_time, act),
        };
        let due = self.recheck_time(&vessel, in_min, clock_time)?;
        self.ask_for_look(&vessel, due);
        Ok(Done::standing(say::standing::will_remind(&self.local(due))))
    }

    fn recheck_time(&self, vessel: &str, in_min: Option<u32>, clock_time: Option<&str>) -> Result<DateTime<Utc>, Stop> {
        if let Some(minutes) = in_min {
            return Ok(self.said_at + Duration::minutes(i64::from(minutes)));
        }
        if let Some(text) = clock_time {
            let next = clock::next_local(self.said_at, self.settings.zone, text);
            return next.ok_or_else(|| Refusal::PastTime { said: text.to_owned() }.into());
        }
        let kind = self.state.vessels.get(vessel).map_or(VesselKind::Tank, |record| record.kind);
        let condition = self.condition_of(vessel).unwrap_or(Condition::Fair);
        let arrived = self.arrived(vessel).unwrap_or(self.said_at);
        let next = schedule::next_look(
            &schedule::LookRule::from(&self.settings.looks),
            kind,
            condition,
            arrived,
            self.said_at,
        );
        Ok(next.unwrap_or(self.said_at + Duration::hours(1)))
    }

    /// A bag or box is looked at again under its own name.
    fn recheck_pack(
        &mut self,
        place: &Place,
        in_min: Option<u32>,
        clock_time: Option<&str>,
        _act: &Said,
    ) -> Result<Done, Stop> {
        let name = say::place::name(place);
        let due = self.recheck_time(&name, in_min.or(clock_time.is_none().then_some(LATER_MINUTES)), clock_time)?;
        self.ask_for_look(&name, due);
        Ok(Done::standing(say::standing::will_remind(&self.local(due))))
    }

    fn ask_for_look(&mut self, vessel: &str, due: DateTime<Utc>) {
        let look = Look {
            due,
            every_min: None,
            asked_by: Some(self.speaker.person.clone()),
            chat: self.speaker.chat.clone(),
            topic: self.speaker.topic.clone(),
            told: None,
            nudged: None,
            woken: None,
            next: Some(due),
        };
        self.emit(Event::LookSet { vessel: vessel.to_owned(), to: Some(look) });
    }

    /// The look announced last in this chat is put off.
    pub(super) fn later(&mut self, in_min: Option<u32>) -> Result<Done, Stop> {
        self.require(Power::Postpone)?;
        let last = self
            .state
            .looks
            .iter()
            .filter(|(_, look)| look.told.is_some() && look.chat == self.speaker.chat)
            .max_by_key(|(_, look)| look.nudged.or(look.told))
            .map(|(vessel, look)| (vessel.clone(), look.clone()));
        let Some((vessel, look)) = last else { return Err(Refusal::NothingToPutOff.into()) };
        let due = self.said_at + Duration::minutes(i64::from(in_min.unwrap_or(LATER_MINUTES)));
        let asked_by = Some(self.speaker.person.clone());
        let to = Some(Look { due, asked_by, told: None, nudged: None, woken: None, next: Some(due), ..look });
        self.emit(Event::LookSet { vessel: vessel.clone(), to });
        Ok(Done {
            recorded: Some(say::place::name(&vessel_place(&vessel))),
            standing: say::standing::will_remind(&self.local(due)),
            ask: None,
        })
    }

    /// What the clock has to say now: looks that are due, missed, or missed for so long that the lead is woken.
    pub(super) fn tick(&mut self) {
        let due: Vec<(String, Look)> = self
            .state
            .looks
            .iter()
            .filter(|(_, look)| look.next.is_some_and(|next| next <= self.now))
            .map(|(vessel, look)| (vessel.clone(), look.clone()))
            .collect();
        let mut reminders: Vec<(Reminder, Vec<String>)> = Vec::new();
        for (vessel, look) in due {
            let Some(reminder) = self.remind(&vessel, look) else { continue };
            match reminders.iter_mut().find(|(known, _)| *known == reminder) {
                Some((_, vessels)) => vessels.push(vessel),
                None => reminders.push((reminder, vec![vessel])),
            }
        }
        for (reminder, vessels) in reminders {
            self.speak_of_looks(&reminder, vessels);
        }
    }

    /// The next step of a look that nobody has answered. Returns what is to be said of it.
    fn remind(&mut self, vessel: &str, look: Look) -> Option<Reminder> {
        let rule = nudge::NudgeRule::from(&self.settings.looks);
        let step = nudge::stage(&progress(&look), self.now, &rule);
        let minutes = (self.now - look.due).num_minutes();
        let reminder = Reminder {
            step,
            chat: look.chat.clone(),
            topic: look.topic.clone(),
            since: self.local(look.due),
            asked_by: look.asked_by.clone(),
            late: (minutes >= LATE_MINUTES).then_some(minutes),
        };
        let mut look = look;
        let speaks = match step {
            nudge::NextStep::Announce => look.told.replace(self.now).is_none(),
            nudge::NextStep::Nudge => look.nudged.replace(self.now).is_none(),
            nudge::NextStep::Wake => look.woken.replace(self.now).is_none(),
            nudge::NextStep::At(_) | nudge::NextStep::Nothing => false,
        };
        look.next = match nudge::stage(&progress(&look), self.now, &rule) {
            nudge::NextStep::At(at) => Some(at),
            nudge::NextStep::Nothing => None,
            // A step that is due at once is taken at the next tick.
            _ => Some(self.now),
        };
        self.set_look(vessel, look);
        speaks.then_some(reminder)
    }

    /// Looks that are due together are spoken of in one line: a phone that rings twelve times is put away.
    fn speak_of_looks(&mut self, reminder: &Reminder, mut vessels: Vec<String>) {
        vessels.sort_by_key(|vessel| natural(vessel));
        let about: Vec<Place> = vessels.iter().map(|vessel| vessel_place(vessel)).collect();
        let (name, fish) = match vessels.as_slice() {
            [one] => (say::place::name(&vessel_place(one)), self.fish_in_words(one)),
            several => {
                let names: Vec<String> = several.iter().map(|vessel| say::place::name(&vessel_place(vessel))).collect();
                (say::place::listed(&names), String::new())
            }
        };
        let many = vessels.len() > 1;
        let Reminder { step, chat, topic, since, asked_by, late } = reminder;
        match step {
            nudge::NextStep::Announce => {
                let body = say::look::due(&name, &fish, asked_by.as_deref(), *late);
                self.tell(chat.clone(), topic.clone(), Class::Look, body, about);
            }
            nudge::NextStep::Nudge => {
                let body = say::look::missed(&name, &fish, since, many);
                self.tell(chat.clone(), topic.clone(), Class::Look, body, about);
            }
            nudge::NextStep::Wake => {
                let body = say::look::wake(&name, &fish, since);
                self.tell_role(Role::Lead, Class::Alarm, &body, &about);
            }
            nudge::NextStep::At(_) | nudge::NextStep::Nothing => {}
        }
    }

    fn set_look(&mut self, vessel: &str, look: Look) {
        self.emit(Event::LookSet { vessel: vessel.to_owned(), to: Some(look) });
    }

    fn fish_in_words(&self, vessel: &str) -> String {
        let groups: Vec<(String, u32)> = [Where::Tank(vessel.to_owned()), Where::Tray(vessel.to_owned())]
            .iter()
            .flat_map(|at| self.groups_at(at))
            .map(|group| (self.line_in_words(group.line), self.living_of(&group)))
            .collect();
        say::look::fish(&groups)
    }
}

/// From how many minutes on a look counts as late.
const LATE_MINUTES: i64 = 10;

/// What is said of a look; looks of which the same is said are said together.
#[derive(PartialEq)]
struct Reminder {
    step: nudge::NextStep,
    chat: String,
    topic: Option<String>,
    since: String,
    asked_by: Option<String>,
    late: Option<i64>,
}

/// A name for sorting as a person would: A2 before A10.
fn natural(name: &str) -> (String, u64, String) {
    let digits = name.find(|letter: char| letter.is_ascii_digit()).unwrap_or(name.len());
    let (letters, rest) = name.split_at(digits);
    let end = rest.find(|letter: char| !letter.is_ascii_digit()).unwrap_or(rest.len());
    (letters.to_owned(), rest[..end].parse().unwrap_or(0), rest[end..].to_owned())
}

fn progress(look: &Look) -> nudge::Progress {
    nudge::Progress { due: look.due, announced: look.told, nudged: look.nudged, woken: look.woken }
}

/// The next moment at which the clock has something to say, if any.
pub fn next_wake(state: &State) -> Option<DateTime<Utc>> {
    state.looks.values().filter_map(|look| look.next).min()
}
