//! A scripted night as a channel. It moves the clock that the house goes by.

use std::collections::{BTreeMap, VecDeque};
use std::path::PathBuf;

use anyhow::{Context, anyhow, bail};
use chrono::{DateTime, Duration, Timelike, Utc};
use chrono_tz::Tz;
use holdfast_core::journal::{Button, Outgoing};

use super::{CREW_CHAT, Channel, Heard, Incoming, Lists, Said, Sending, buttons_line};
use crate::clock::{Clock, ManualClock};
use crate::rehearse::{Entry, Part, Reply, Spoken};

/// An entry of a script with the instant at which it happens.
#[derive(Debug, Clone)]
pub struct Step {
    /// Where it stands among the lines of the script.
    pub place: usize,
    /// The number of its line.
    pub line: usize,
    /// When.
    pub at: DateTime<Utc>,
    /// What, and what is said to it.
    pub entry: Entry,
}

/// What was said to one entry, or because a time had come.
#[derive(Debug, Clone, PartialEq)]
pub struct Scene {
    /// When.
    pub at: DateTime<Utc>,
    /// Where the entry stands among the lines of the script; `None` for a time that the script does not foresee.
    pub place: Option<usize>,
    /// What was said.
    pub found: Vec<Reply>,
}

struct SentLine {
    id: String,
    chat: String,
    body: String,
    buttons: Vec<Button>,
}

/// A scripted night.
pub struct Rehearsal {
    steps: VecDeque<Step>,
    clock: ManualClock,
    zone: Tz,
    /// The chat of each person of the script.
    chats: BTreeMap<String, String>,
    folder: PathBuf,
    lists: Lists,
    sent: Vec<SentLine>,
    last_keys: BTreeMap<(String, String), String>,
    scenes: Vec<Scene>,
}

impl Rehearsal {
    /// A night of these steps. Files are looked for in `folder`.
    pub fn new(
        steps: Vec<Step>,
        clock: ManualClock,
        zone: Tz,
        chats: BTreeMap<String, String>,
        folder: PathBuf,
        lists: Lists,
    ) -> Self {
        Rehearsal {
            steps: steps.into(),
            clock,
            zone,
            chats,
            folder,
            lists,
            sent: Vec::new(),
            last_keys: BTreeMap::new(),
            scenes: Vec::new(),
        }
    }

    /// What was said, in order.
    pub fn scenes(&self) -> &[Scene] {
        &self.scenes
    }

    fn minute(&self, at: DateTime<Utc>) -> (chrono::NaiveDate, u32, u32) {
        let local = at.with_timezone(&self.zone);
        (local.date_naive(), local.hour(), local.minute())
    }

    /// Opens the scene of a time that has come: that of the entry which foresees it, else one of its own.
    fn clock_scene(&mut self, at: DateTime<Utc>) {
        let foreseen = self.steps.front().filter(|step| step.entry.part == Part::Clock);
        let place = foreseen.filter(|step| self.minute(step.at) == self.minute(at)).map(|step| step.place);
        let goes_on = self.scenes.last().is_some_and(|last| {
            place == last.place && self.minute(last.at) == self.minute(at) && (place.is_some() || last.found.is_empty())
        });
        if !goes_on {
            self.scenes.push(Scene { at, place, found: Vec::new() });
        }
    }

    fn spoken(&mut self, step: &Step, name: &str, chat: Option<&String>, spoken: &Spoken) -> anyhow::Result<Incoming> {
        let own = self.chats.get(name).map_or(CREW_CHAT, String::as_str);
        let chat = chat.map_or(own, String::as_str).to_string();
        let key = format!("rehearsal {}", step.line);
        let speaker = (name.to_string(), chat.clone());
        let said = match spoken {
            Spoken::Says(text) => self.lists.text_or_list(text.clone(), None),
            Spoken::List(text) => Said::List(Box::new((self.lists.read_text)(text))),
            Spoken::Edits(text) => {
                let of = self.last_keys.get(&speaker).ok_or_else(|| anyhow!("{name} has no message to edit"))?;
                Said::Edit { of: of.clone(), text: text.clone() }
            }
            Spoken::Replies { to, text } => {
                let line = self.sent.iter().rev().find(|line| line.chat == chat && line.body.contains(to.as_str()));
                let line = line.ok_or_else(|| anyhow!("no line of the assistant holds \"{to}\""))?;
                self.lists.text_or_list(text.clone(), Some(line.id.clone()))
            }
            Spoken::Presses(which) => {
                let mut lines = self.sent.iter().rev().filter(|line| line.chat == chat && !line.buttons.is_empty());
                let button = lines.find_map(|line| button_of(&line.buttons, which));
                let button = button.ok_or_else(|| anyhow!("there is no button \"{which}\""))?;
                Said::Press { question: button.question, choice: button.choice }
            }
            Spoken::File(file) => {
                let path = self.folder.join(file);
                let bytes = std::fs::read(&path).with_context(|| format!("{} cannot be read", path.display()))?;
                let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
                Said::List(Box::new((self.lists.read)(&name, &bytes)))
            }
            Spoken::Photo(words) => {
                let (path, caption) = words.split_once(' ').unwrap_or((words, ""));
                Said::Photo { path: path.to_string(), caption: caption.trim().to_string(), reply_to: None }
            }
        };
        if matches!(said, Said::Text { .. } | Said::List(_) | Said::Photo { .. }) {
            self.last_keys.insert(speaker, key.clone());
        }
        Ok(Incoming { key, person: name.to_string(), chat, topic: None, said_at: self.clock.now(), said })
    }
}

/// The button so labelled or, from 1, so numbered.
pub(super) fn button_of<'a>(buttons: &'a [Button], which: &str) -> Option<&'a Button> {
    let which = which.trim();
    let labelled = buttons.iter().find(|button| button.label.to_lowercase() == which.to_lowercase());
    labelled.or_else(|| buttons.get(which.parse::<usize>().ok()?.checked_sub(1)?))
}

/// Moves a clock on; never back.
fn move_on(clock: &ManualClock, to: DateTime<Utc>) {
    clock.set(clock.now().max(to));
}

impl Channel for Rehearsal {
    fn next(&mut self, wake: Option<DateTime<Utc>>) -> anyhow::Result<Heard> {
        loop {
            let Some(step) = self.steps.front() else { return Ok(Heard::End) };
            // An entry of the clock stands for its whole minute.
            let until = match step.entry.part {
                Part::Clock => step.at + Duration::seconds(60) - Duration::nanoseconds(1),
                Part::Person { .. } => step.at,
            };
            if let Some(wake) = wake.filter(|wake| *wake <= until) {
                move_on(&self.clock, wake);
                self.clock_scene(wake);
                return Ok(Heard::Due);
            }
            move_on(&self.clock, step.at);
            let Some(step) = self.steps.pop_front() else { bail!("a step was there and is gone") };
            if self.scenes.last().is_none_or(|scene| scene.place != Some(step.place)) {
                self.scenes.push(Scene { at: step.at, place: Some(step.place), found: Vec::new() });
            }
            if let Part::Person { name, chat, spoken } = &step.entry.part {
                let incoming = self.spoken(&step, name, chat.as_ref(), spoken);
                return Ok(Heard::Said(Box::new(incoming.with_context(|| format!("line {}", step.line))?)));
            }
        }
    }

    fn send(&mut self, outgoing: &Outgoing) -> Sending {
        let chat = if outgoing.chat == CREW_CHAT { String::new() } else { format!("({}) ", outgoing.chat) };
        let shown = format!("{chat}{}\n{}", outgoing.body, buttons_line(outgoing));
        let body = shown.trim_end().lines().map(|line| line.trim_end().to_string()).collect();
        if self.scenes.is_empty() {
            self.scenes.push(Scene { at: self.clock.now(), place: None, found: Vec::new() });
        }
        if let Some(scene) = self.scenes.last_mut() {
            scene.found.push(Reply { line: 0, body });
        }
        let id = format!("line {}", self.sent.len() + 1);
        self.sent.push(SentLine {
            id: id.clone(),
            chat: outgoing.chat.clone(),
            body: outgoing.body.clone(),
            buttons: outgoing.buttons.clone(),
        });
        Sending::Sent(id)
    }
}
