//! Playing a script and comparing what was said with what it foresees.

use std::collections::BTreeMap;
use std::fmt;
use std::path::Path;

use anyhow::{Context, anyhow};
use chrono::{DateTime, Days, NaiveDate, NaiveDateTime, NaiveTime, TimeZone, Utc};
use chrono_tz::Tz;
use holdfast_core::people::Role;
use holdfast_core::settings::Settings;

use super::print::{chat_line, print, reply_text};
use super::script::{Cast, Entry, Line, Part, Reply, Script};
use crate::channel::rehearsal::{Rehearsal, Scene, Step};
use crate::channel::{CREW_CHAT, Desk, Lists, serve};
use crate::clock::ManualClock;

/// The date of a script that gives none.
const SOME_DATE: Option<NaiveDate> = NaiveDate::from_ymd_opt(2026, 3, 2);

/// Somebody to be enrolled before a night begins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Enrolment {
    /// The name.
    pub name: String,
    /// The role.
    pub role: Role,
    /// The buyer's firm that the person speaks for.
    pub firm: Option<String>,
    /// The chat in which the person is reached.
    pub chat: String,
}

/// A night as it was played.
#[derive(Debug)]
pub struct Played {
    /// The script with the replies that were found.
    pub found: Script,
    /// Where these are not those written.
    pub differences: Vec<Difference>,
    /// Why the night could not be played to its end.
    pub broken: Option<anyhow::Error>,
}

impl Played {
    /// The chat as it would look.
    pub fn chat(&self) -> String {
        let shown: String = self.found.lines.iter().filter_map(|(_, line)| chat_line(line)).collect();
        shown.trim_start_matches('\n').to_string()
    }

    /// The script with the replies that were found, as text.
    pub fn script(&self) -> String {
        print(&self.found)
    }
}

/// A reply that is not as written. Its Display shows both.
#[derive(Debug, Clone, PartialEq)]
pub struct Difference {
    /// The number of the first line that differs.
    pub line: usize,
    /// What happened: the entry without its replies.
    pub at: String,
    /// What is written.
    pub expected: Vec<Reply>,
    /// What was said.
    pub found: Vec<Reply>,
}

impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let replies = |replies: &[Reply]| match replies {
            [] => "  (nothing)\n".to_string(),
            replies => replies.iter().map(reply_text).collect(),
        };
        writeln!(f, "line {}: {}", self.line, self.at)?;
        write!(f, " expected\n{} found\n{}", replies(&self.expected), replies(&self.found))
    }
}

/// Plays a script. `open` opens a house with these settings, this clock and these people; `folder` is where the files lie
/// that the script sends.
///
/// # Errors
/// Where the script cannot be begun: its settings are refused, a time does not exist, the house does not open. What goes
/// wrong later is in [`Played::broken`].
pub fn play<D: Desk>(
    script: &Script,
    folder: &Path,
    lists: Lists,
    open: impl FnOnce(Settings, ManualClock, &[Enrolment]) -> anyhow::Result<D>,
) -> anyhow::Result<Played> {
    let settings = settings(script)?;
    let zone = settings.zone;
    let steps = steps(script, zone)?;
    let (people, chats) = people(script);
    let clock = ManualClock::at(steps.first().map_or(DateTime::UNIX_EPOCH, |step| step.at));
    let mut desk = open(settings, clock.clone(), &people)?;
    let mut rehearsal = Rehearsal::new(steps, clock, zone, chats, folder.to_path_buf(), lists);
    let broken = serve(&mut desk, &mut rehearsal).err();
    let found = found(script, rehearsal.scenes(), zone);
    let differences = differences(script, rehearsal.scenes(), zone);
    Ok(Played { found, differences, broken })
}

fn settings(script: &Script) -> anyhow::Result<Settings> {
    let set: Vec<(usize, &str)> = script
        .lines
        .iter()
        .filter_map(|(number, line)| match line {
            Line::Set(text) => Some((*number, text.as_str())),
            _ => None,
        })
        .collect();
    let text = set.iter().map(|(_, text)| format!("{text}\n")).collect::<String>();
    let mut settings = crate::settings::read(&text).map_err(|refused| {
        let line = set.get(refused.line.saturating_sub(1)).map_or(0, |(number, _)| *number);
        anyhow!(crate::settings::Refused { line, what: refused.what })
    })?;
    for (_, line) in &script.lines {
        if let Line::Zone(zone) = line {
            settings.zone = *zone;
        }
    }
    Ok(settings)
}

fn people(script: &Script) -> (Vec<Enrolment>, BTreeMap<String, String>) {
    let (mut enrolled, mut chats) = (Vec::new(), BTreeMap::new());
    for (_, line) in &script.lines {
        let Line::People(role, people) = line else { continue };
        for Cast { name, firm, chat } in people {
            let chat = chat.clone().or_else(|| firm.clone()).unwrap_or_else(|| CREW_CHAT.to_string());
            chats.insert(name.clone(), chat.clone());
            if let Some(role) = role {
                enrolled.push(Enrolment { name: name.clone(), role: *role, firm: firm.clone(), chat });
            }
        }
    }
    // A house is founded by its lead: the first one enrolled must be one.
    enrolled.sort_by_key(|person| person.role != Role::Lead);
    (enrolled, chats)
}

/// The dates that the times of a script imply: one that is earlier than the time before it is on the next day.
struct Calendar {
    date: NaiveDate,
    last: Option<NaiveTime>,
}

impl Calendar {
    fn new() -> Self {
        Calendar { date: SOME_DATE.unwrap_or_default(), last: None }
    }

    fn turn_to(&mut self, date: NaiveDate) {
        self.date = date;
        self.last = None;
    }

    fn reach(&mut self, time: NaiveTime) -> NaiveDateTime {
        if self.last.is_some_and(|last| time < last) {
            self.date = self.date.checked_add_days(Days::new(1)).unwrap_or(self.date);
        }
        self.last = Some(time);
        self.date.and_time(time)
    }
}

fn steps(script: &Script, zone: Tz) -> anyhow::Result<Vec<Step>> {
    let mut calendar = Calendar::new();
    let mut steps: Vec<Step> = Vec::new();
    for (place, (line, what)) in script.lines.iter().enumerate() {
        match what {
            Line::Date(date) => calendar.turn_to(*date),
            Line::Entry(entry) => {
                let local = calendar.reach(entry.at);
                let before = steps.last().map(|step| step.at);
                // An hour that comes twice is the first one, unless that has passed.
                let times = zone.from_local_datetime(&local);
                let at = [times.earliest(), times.latest()]
                    .into_iter()
                    .flatten()
                    .map(|time| time.with_timezone(&Utc))
                    .find(|time| before.is_none_or(|before| before <= *time));
                let at = at.with_context(|| match times.earliest() {
                    None => format!("line {line}: {} does not exist on {} in {zone}", entry.at, local.date()),
                    Some(_) => format!("line {line}: this is earlier than the line before it"),
                })?;
                steps.push(Step { place, line: *line, at, entry: entry.clone() });
            }
            _ => {}
        }
    }
    Ok(steps)
}

/// The script with the replies that were said, and the times that it did not foresee put in.
fn found(script: &Script, scenes: &[Scene], zone: Tz) -> Script {
    let mut lines: Vec<(usize, Line)> = Vec::new();
    let mut copied = 0;
    for scene in scenes {
        match scene.place {
            Some(place) => {
                lines.extend(script.lines[copied..place].iter().cloned());
                if let (number, Line::Entry(entry)) = &script.lines[place] {
                    lines.push((*number, Line::Entry(Entry { replies: scene.found.clone(), ..entry.clone() })));
                }
                copied = place + 1;
            }
            None if scene.found.is_empty() => {}
            None => {
                if copied == 0 {
                    let first = script.lines.iter().position(|(_, line)| matches!(line, Line::Entry(_)));
                    copied = first.unwrap_or(script.lines.len());
                    lines.extend(script.lines[..copied].iter().cloned());
                }
                let local = scene.at.with_timezone(&zone).naive_local();
                let time = NaiveTime::parse_from_str(&local.format("%H:%M").to_string(), "%H:%M").unwrap_or_default();
                if implied(&lines, time) != local.date() {
                    lines.push((0, Line::Date(local.date())));
                }
                lines.push((0, Line::Entry(Entry { at: time, part: Part::Clock, replies: scene.found.clone() })));
            }
        }
    }
    lines.extend(script.lines[copied..].iter().cloned());
    Script { lines }
}

/// The date that `time` has behind these lines.
fn implied(lines: &[(usize, Line)], time: NaiveTime) -> NaiveDate {
    let mut calendar = Calendar::new();
    for (_, line) in lines {
        match line {
            Line::Date(date) => calendar.turn_to(*date),
            Line::Entry(entry) => {
                calendar.reach(entry.at);
            }
            _ => {}
        }
    }
    calendar.reach(time).date()
}

fn differences(script: &Script, scenes: &[Scene], zone: Tz) -> Vec<Difference> {
    let entries = || {
        script.lines.iter().filter_map(|(number, line)| match line {
            Line::Entry(entry) => Some((*number, entry)),
            _ => None,
        })
    };
    if entries().all(|(_, entry)| entry.replies.is_empty()) {
        return Vec::new();
    }
    let mut last_line = 1;
    let mut differences = Vec::new();
    for scene in scenes {
        let (line, at, expected) = match scene.place.map(|place| &script.lines[place]) {
            Some((number, Line::Entry(entry))) => {
                last_line = *number;
                let bare = Line::Entry(Entry { replies: Vec::new(), ..entry.clone() });
                (*number, chat_line(&bare).unwrap_or_default(), entry.replies.as_slice())
            }
            _ => {
                let time = scene.at.with_timezone(&zone).format("%H:%M");
                (last_line, format!("after it, {time} the clock"), &[][..])
            }
        };
        if let Some(line) = first_difference(line, expected, &scene.found) {
            differences.push(Difference {
                line,
                at: at.trim_end().to_string(),
                expected: expected.to_vec(),
                found: scene.found.clone(),
            });
        }
    }
    differences
}

/// The line at which the replies begin to differ: that of the entry where one more was said than is written.
fn first_difference(entry: usize, expected: &[Reply], found: &[Reply]) -> Option<usize> {
    for (nth, reply) in expected.iter().enumerate() {
        let Some(other) = found.get(nth) else { return Some(reply.line) };
        if reply.body != other.body {
            let same = reply.body.iter().zip(&other.body).take_while(|(one, other)| one == other).count();
            return Some(reply.line + same.min(reply.body.len() - 1));
        }
    }
    (found.len() > expected.len()).then_some(entry)
}
