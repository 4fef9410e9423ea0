//! The watch: when a tank or tray is looked at again, whom to remind, and what a lot still lacks.

use std::collections::BTreeSet;

use chrono::{DateTime, Duration, Utc};

use super::draft::{Done, Draft, Stop};
use super::place::{Where, vessel_place};
use super::refusal::Refusal;
use super::reminding::LATE_MINUTES;
use super::reporting::is_about_fish;
use crate::consignment::{LineKey, LotNo};
use crate::journal::{Entry, Event, Logged, Look, Spot};
use crate::message::{Act, Place, Said, Sign, VesselKind};
use crate::people::Power;
use crate::say;
use crate::species::{self, Kind, Species};
use crate::watch::condition::tells_of;
use crate::watch::{Condition, Minutes, Quiet, clock, condition, policy, schedule};

/// Minutes a look is put off when the person does not say.
const LATER_MINUTES: u32 = 20;

impl Draft<'_> {
    /// Plans the next look at a vessel from how its fish are. A look that a person asked for, and that comes sooner, stays.
    pub(super) fn plan_look(&mut self, vessel: &str, looked: DateTime<Utc>) -> Option<DateTime<Utc>> {
        if self.state.fish_in_vessel(vessel) == 0 || self.only_plants_in(vessel) && !self.is_asked_for(vessel, looked) {
            self.forget_look_of_empty(vessel);
            return None;
        }
        let seen = self.seen(vessel, looked)?;
        let rule = &schedule::LookRule::from(&self.settings.looks);
        let due = schedule::next_look(rule, &seen, &Quiet::from(self.settings))?;
        let asked = self.state.looks.get(vessel).filter(|look| look.asked_by.is_some() && look.told.is_none());
        if asked.is_some_and(|look| look.due > looked && look.due <= due) {
            return asked.map(|look| look.due);
        }
        let look = Look {
            due,
            every_min: minutes_between(looked, due),
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

    /// Whether a person asked for a look that is still to come.
    fn is_asked_for(&self, vessel: &str, looked: DateTime<Utc>) -> bool {
        let asked = self.state.looks.get(vessel).filter(|look| look.asked_by.is_some() && look.told.is_none());
        asked.is_some_and(|look| look.due > looked)
    }

    /// What the look rules go by: how the fish of a vessel are at a look, and since when they are there.
    pub(super) fn seen(&self, vessel: &str, looked: DateTime<Utc>) -> Option<schedule::Seen> {
        Some(schedule::Seen {
            kind: self.kind_of(vessel),
            condition: self.condition_of(vessel)?,
            grave: self.grave_sign_in(vessel),
            arrived: self.arrived(vessel).unwrap_or(looked),
            looked,
        })
    }

    /// Whether the last look saw a sign that is grave for any of the fish there.
    fn grave_sign_in(&self, vessel: &str) -> bool {
        let signs = self.signs_of(vessel);
        let grave = |species| signs.iter().any(|sign| is_about_fish(*sign) && condition::is_grave(*sign, species));
        if !self.kinds_in(vessel).contains(&Kind::Fish) {
            return false;
        }
        let lots = self.state.lots_in(vessel);
        let fish = |line: LineKey| self.kind_of_line(line) == Kind::Fish;
        if lots.is_empty() {
            grave(None)
        } else {
            lots.iter().any(|(_, lot)| fish(lot.line) && grave(self.known_species(lot.line)))
        }
    }

    /// A word or a number about the fish answers the look that was due, or nearly, and plans the next. The next is said
    /// once for a vessel: by the last of the message's acts that speaks of it.
    pub(super) fn answer_look(&mut self, vessel: &str, at: DateTime<Utc>) -> Option<String> {
        let late = self
            .state
            .looks
            .get(vessel)
            .filter(|look| look.told.is_some() && at - look.due >= Duration::minutes(LATE_MINUTES))
            .map(|look| (at - look.due).num_minutes());
        let late = self.take_unsaid(vessel).or(late);
        if self.asked_now.iter().any(|asked| asked == vessel) {
            return None;
        }
        if let Some(look) = self.state.looks.get(vessel).filter(|look| self.is_answered(look, at)).cloned() {
            // Answered: what a person asked for is done too.
            self.emit(Event::LookSet { vessel: vessel.to_owned(), to: Some(Look { asked_by: None, ..look }) });
        }
        let next = self.plan_look(vessel, at)?;
        if self.more_to_come.iter().any(|later| later == vessel) {
            self.unsaid.push((vessel.to_owned(), late));
            return None;
        }
        Some(say::standing::next_look(&self.local(next), late))
    }

    /// Whether a word at this time is the look that was to be: it is due, or a little early.
    fn is_answered(&self, look: &Look, at: DateTime<Utc>) -> bool {
        let early = Minutes::nearest(self.settings.looks.early);
        schedule::is_that_look(early, look.every_min.map(Minutes::nearest), look.due, at)
    }

    /// How late the answer was that an act of the same message gave without saying the next look.
    fn take_unsaid(&mut self, vessel: &str) -> Option<i64> {
        let nth = self.unsaid.iter().position(|(unsaid, _)| unsaid == vessel)?;
        self.unsaid.remove(nth).1
    }

    /// The next looks that no act of the message said after all, because a later one was refused.
    pub(super) fn say_unsaid_looks(&mut self) {
        for (vessel, late) in std::mem::take(&mut self.unsaid) {
            if let Some(due) = self.state.looks.get(&vessel).map(|look| look.due) {
                let name = say::place::name(&vessel_place(&vessel));
                self.lines.push(say::line(&name, &say::standing::next_look(&self.local(due), late)));
            }
        }
    }

    /// What a vessel is; one that was never declared is what its name says.
    fn kind_of(&self, vessel: &str) -> VesselKind {
        let otherwise =
            if matches!(self.vessel_where(vessel), Where::Tray(_)) { VesselKind::Tray } else { VesselKind::Tank };
        self.state.vessels.get(vessel).map_or(otherwise, |record| record.kind)
    }

    /// A word or a number about the fish of a bag or box answers the look that somebody asked for, if it is due, or nearly.
    pub(super) fn answer_pack_look(&mut self, place: &Place, at: DateTime<Utc>) {
        let name = say::place::name(place);
        if self.state.looks.get(&name).is_some_and(|look| self.is_answered(look, at)) {
            self.emit(Event::LookSet { vessel: name, to: None });
        }
    }

    fn arrived(&self, vessel: &str) -> Option<DateTime<Utc>> {
        self.state.lots_in(vessel).into_iter().map(|(_, lot)| lot.since).max()
    }

    /// How the fish of a vessel are: the worst of its lots, or of a tray's fish.
    pub(super) fn condition_of(&self, vessel: &str) -> Option<Condition> {
        let signs = self.signs_of(vessel);
        let rule = &condition::ConditionRule::from(&self.settings.condition);
        let since = self.now - rule.deaths_window.delta();
        let dead_lately = self.deaths_since(vessel, None, since);
        let lots = self.state.lots_in(vessel);
        if lots.is_empty() {
            let living = self.state.fish_in_vessel(vessel);
            let kinds = self.kinds_in(vessel);
            let signs = signs.into_iter().filter(|sign| kinds.iter().any(|kind| tells_of(*sign, *kind))).collect();
            let facts = condition::Facts { living, weak: 0, dead_lately, signs: &signs, species: None };
            return condition::condition(facts, rule);
        }
        lots.into_iter()
            .filter_map(|(no, lot)| {
                let known = self.known_species(lot.line);
                let kind = self.kind_of_line(lot.line);
                let signs = signs.iter().copied().filter(|sign| tells_of(*sign, kind)).collect();
                let facts = condition::Facts {
                    living: self.state.living(no).total(),
                    weak: lot.weak,
                    dead_lately: self.deaths_since(vessel, Some(no), since),
                    signs: &signs,
                    species: known,
                };
                let found = condition::condition(facts, rule)?;
                let sensitivity = known.map_or(species::Sensitivity::Ordinary, |species| species.sensitivity);
                Some(condition::watched_as(found, sensitivity))
            })
            .min()
    }

    /// The known species of a line's fish.
    pub(super) fn known_species(&self, line: LineKey) -> Option<&'static Species> {
        self.state.line(line).and_then(Self::species_of)
    }

    fn entries_of(&self, vessel: &str) -> impl Iterator<Item = &Entry> {
        let spot = Spot::Vessel(vessel.to_owned());
        self.state.entries.values().map(AsRef::as_ref).filter(move |entry| entry.spot == spot)
    }

    /// Signs of the fish seen at the last look that named any.
    pub(super) fn signs_of(&self, vessel: &str) -> BTreeSet<Sign> {
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

    pub(super) fn deaths_since(&self, vessel: &str, lot: Option<LotNo>, since: DateTime<Utc>) -> u32 {
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
        self.last_look_entry(vessel).map(|entry| entry.at)
    }

    /// The last word or number about the fish of a vessel.
    pub(super) fn last_look_entry(&self, vessel: &str) -> Option<&Entry> {
        self.entries_of(vessel)
            .filter(|entry| match &entry.what {
                Logged::Act(Said { act: Act::Observe { signs, .. }, .. }) => {
                    signs.iter().any(|sign| is_about_fish(*sign))
                }
                Logged::Deaths { .. } | Logged::StockTake { .. } | Logged::Act(Said { act: Act::Count(_), .. }) => true,
                _ => false,
            })
            .max_by_key(|entry| entry.at)
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
            kind: self.kind_of_line(lot.line),
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
        self.ask_for_look(&vessel, due, Some(self.speaker.person.clone()));
        let late = self.take_unsaid(&vessel);
        self.asked_now.push(vessel);
        Ok(Done::standing(say::standing::will_remind(&self.local(due), late)))
    }

    fn recheck_time(&self, vessel: &str, in_min: Option<u32>, clock_time: Option<&str>) -> Result<DateTime<Utc>, Stop> {
        if let Some(minutes) = in_min {
            return Ok(self.said_at + Duration::minutes(i64::from(minutes)));
        }
        if let Some(text) = clock_time {
            let next = clock::next_local(self.said_at, self.settings.zone, text);
            return next.ok_or_else(|| Refusal::PastTime { said: text.to_owned() }.into());
        }
        let unknown = schedule::Seen {
            kind: self.kind_of(vessel),
            condition: Condition::Fair,
            grave: false,
            arrived: self.said_at,
            looked: self.said_at,
        };
        let seen = self.seen(vessel, self.said_at).unwrap_or(unknown);
        // What a person asks for is not kept back.
        let next = schedule::next_look(&(&self.settings.looks).into(), &seen, &Quiet::default());
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
        self.ask_for_look(&name, due, Some(self.speaker.person.clone()));
        Ok(Done::standing(say::standing::will_remind(&self.local(due), None)))
    }

    /// Sets a look that a person asked for, or that what the person said calls for.
    pub(super) fn ask_for_look(&mut self, vessel: &str, due: DateTime<Utc>, asked_by: Option<String>) {
        let look = Look {
            due,
            every_min: minutes_between(self.said_at, due),
            asked_by,
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
        let every_min = minutes_between(self.said_at, due);
        let to =
            Some(Look { due, every_min, asked_by, told: None, nudged: None, woken: None, next: Some(due), ..look });
        self.emit(Event::LookSet { vessel: vessel.clone(), to });
        Ok(Done {
            recorded: Some(say::place::name(&vessel_place(&vessel))),
            standing: say::standing::will_remind(&self.local(due), None),
            ask: None,
        })
    }
}

/// Whole minutes from one moment to another; none where that is less than nothing.
fn minutes_between(from: DateTime<Utc>, until: DateTime<Utc>) -> Option<u32> {
    u32::try_from((until - from).num_minutes()).ok()
}
