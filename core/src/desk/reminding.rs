//! What the clock says: looks that are due, missed, or missed for so long that the lead must know.

use chrono::{DateTime, Utc};

use super::draft::Draft;
use super::place::{Where, vessel_place};
use crate::journal::{Class, Event, Look, State};
use crate::message::Place;
use crate::people::Role;
use crate::say;
use crate::watch::{Minutes, Quiet, nudge, schedule};

impl Draft<'_> {
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
        let routine = look.asked_by.is_none()
            && self
                .seen(vessel, self.now)
                .is_some_and(|seen| schedule::can_wait(&schedule::LookRule::from(&self.settings.looks), &seen));
        if let Some(end) = Quiet::from(self.settings).ends(self.now).filter(|_| routine) {
            self.set_look(vessel, Look { next: Some(end), ..look });
            return None;
        }
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
        vessels.sort_by_cached_key(|vessel| say::place::natural(vessel));
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
                let awake = self.leads_awake();
                if awake.is_empty() {
                    let body = say::look::wake(&name, &fish, since);
                    self.tell_role(Role::Lead, Class::Alarm, &body, &about);
                }
                for chat in awake {
                    let body = say::look::told_awake(&name, &fish, since);
                    self.tell(chat, None, Class::Look, body, about.clone());
                }
            }
            nudge::NextStep::At(_) | nudge::NextStep::Nothing => {}
        }
    }

    /// The chats of leads who wrote just now: nobody is woken while one of them is up.
    fn leads_awake(&self) -> Vec<String> {
        let since = self.now - Minutes::nearest(self.settings.looks.awake).delta();
        let wrote = |name: &String| self.state.heard.get(name).is_some_and(|heard| *heard >= since);
        let leads = self.state.people.iter().filter(|(name, person)| person.role == Role::Lead && wrote(name));
        let mut chats: Vec<String> = leads.filter_map(|(_, person)| person.chat.clone()).collect();
        chats.sort();
        chats.dedup();
        chats
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
pub(super) const LATE_MINUTES: i64 = 10;

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

fn progress(look: &Look) -> nudge::Progress {
    nudge::Progress { due: look.due, announced: look.told, nudged: look.nudged, woken: look.woken }
}

/// The next moment at which the clock has something to say, if any.
pub fn next_wake(state: &State) -> Option<DateTime<Utc>> {
    state.looks.values().filter_map(|look| look.next).min()
}
