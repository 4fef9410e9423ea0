//! The chat in a terminal: one keyboard, everybody of the house in turn.

mod command;
mod lines;
#[cfg(test)]
mod tests;

use std::collections::{BTreeMap, VecDeque};
use std::io::IsTerminal;
use std::path::{Path, PathBuf};
use std::time::Duration;

use chrono::{DateTime, Utc};
use holdfast_core::desk::{Input, What};
use holdfast_core::journal::{Button, Outgoing, Person};
use holdfast_core::people::Role;
use holdfast_core::say::terminal as say;
use holdfast_core::settings::Limits;

use super::rehearsal::button_of;
use super::{CREW_CHAT, Channel, Desk, Heard, Incoming, Lists, Said, Sending, buttons_line, serve};
use command::Command;
use lines::{Lines, Typed};

/// An invented consignment, which the word "sample" sends as a packing list.
pub const SAMPLE_LIST: &str = include_str!("sample.csv");

/// The name of that file.
const SAMPLE_NAME: &str = "sample.csv";

/// How many lines of the assistant can be replied to.
const LINES_KEPT: usize = 30;

/// How long the terminal waits at once: the machine's clock may be set, or the machine may sleep.
const PATIENCE: Duration = Duration::from_secs(30);

/// Opens the chat on a house whose data are in `folder`, and stays until the person leaves or the input ends. The first
/// person of a new house is enrolled as its lead.
///
/// # Errors
/// Where the house could not record.
pub fn chat(desk: &mut dyn Desk, folder: &Path, lists: Lists, limits: &Limits) -> anyhow::Result<()> {
    let keyboard = std::io::stdin().is_terminal() && std::io::stdout().is_terminal();
    let lines = if keyboard {
        Lines::keyboard(folder.join("history.txt"))?
    } else {
        Lines::piped(std::io::BufReader::new(std::io::stdin()), std::io::stdout())
    };
    let login = ["USER", "LOGNAME", "USERNAME"].iter().find_map(|name| std::env::var(name).ok());
    let mut terminal = Terminal::new(lines, folder.to_path_buf(), lists, limits.clone(), Utc::now);
    open(desk, &mut terminal, login, keyboard)?;
    let served = serve(desk, &mut terminal);
    match &served {
        Ok(()) if keyboard => terminal.lines.print(say::goodbye()),
        Err(_) if keyboard => terminal.lines.settle(say::stopping()),
        _ => {}
    }
    served
}

/// Enrols the first lead of a new house, and seats somebody at the keyboard.
fn open(desk: &mut dyn Desk, terminal: &mut Terminal, login: Option<String>, greet: bool) -> anyhow::Result<()> {
    let fresh = desk.people().is_empty();
    let login = login.map(|name| name.chars().filter(|letter| letter.is_alphanumeric()).collect::<String>());
    if fresh {
        let name = login.filter(|name| !name.is_empty()).unwrap_or_else(|| "lead".to_string());
        let now = desk.now();
        desk.take(vec![Input {
            key: format!("enrol {name}"),
            said_at: now,
            heard_at: now,
            actor: None,
            what: What::Enrol { name: name.clone(), role: Role::Lead },
        }])?;
        terminal.person = name;
    } else {
        let known = login.filter(|name| desk.people().contains_key(name));
        let lead = || desk.people().iter().find(|(_, person)| person.role == Role::Lead).map(|(name, _)| name.clone());
        let anybody = || desk.people().keys().next().cloned();
        terminal.person = known.or_else(lead).or_else(anybody).unwrap_or_default();
    }
    terminal.meet(desk.people());
    if greet {
        let name = terminal.person.clone();
        let greeting = match terminal.people.get(&name) {
            _ if fresh => say::first_run(&name, &terminal.folder.display().to_string()),
            person => say::welcome(&name, person.map_or(Role::Lead, |person| person.role)),
        };
        terminal.lines.print(&greeting);
    }
    Ok(())
}

struct SentLine {
    id: String,
    chat: String,
    body: String,
    buttons: Vec<Button>,
}

/// A terminal.
pub struct Terminal {
    lines: Lines,
    folder: PathBuf,
    lists: Lists,
    limits: Limits,
    now: fn() -> DateTime<Utc>,
    /// What makes this session's keys its own.
    session: i64,
    said: u64,
    person: String,
    people: BTreeMap<String, Person>,
    pasting: Option<String>,
    sent: VecDeque<SentLine>,
    last_keys: BTreeMap<String, String>,
}

impl Terminal {
    fn new(lines: Lines, folder: PathBuf, lists: Lists, limits: Limits, now: fn() -> DateTime<Utc>) -> Self {
        Terminal {
            lines,
            folder,
            lists,
            limits,
            now,
            session: now().timestamp_micros(),
            said: 0,
            person: String::new(),
            people: BTreeMap::new(),
            pasting: None,
            sent: VecDeque::new(),
            last_keys: BTreeMap::new(),
        }
    }

    /// The chat in which the person at the keyboard speaks: a buyer has one of its own.
    fn chat(&self) -> String {
        match self.people.get(&self.person) {
            Some(Person { role: Role::Buyer, buyer, chat }) => {
                chat.clone().or_else(|| buyer.clone()).unwrap_or_else(|| self.person.clone())
            }
            _ => CREW_CHAT.to_string(),
        }
    }

    fn prompt(&self) -> String {
        match self.pasting {
            Some(_) => "| ".to_string(),
            None => format!("{}> ", self.person),
        }
    }

    /// The lines of the assistant in this chat, the last one first.
    fn recent(&self) -> impl Iterator<Item = &SentLine> {
        let chat = self.chat();
        self.sent.iter().rev().filter(move |line| line.chat == chat)
    }

    /// What a typed line says to the house, if anything; else it is answered here.
    fn typed(&mut self, line: &str) -> Option<Heard> {
        if let Some(pasted) = &mut self.pasting {
            if line.trim() != "." {
                pasted.push_str(line);
                pasted.push('\n');
                return None;
            }
            let pasted = self.pasting.take().unwrap_or_default();
            return self.message(pasted.trim_end(), None);
        }
        let shown = match command::read(line) {
            Command::Say(text) if text == "sample" => return self.list(SAMPLE_NAME, SAMPLE_LIST.as_bytes()),
            Command::Say(text) => {
                let pressed = button_in(self.recent().next(), &text);
                return match pressed {
                    Some(said) => Some(self.heard(said)),
                    None => self.message(&text, None),
                };
            }
            Command::Quit => return Some(Heard::End),
            Command::File(path) => return self.file(&path),
            Command::Photo { path, caption } => return self.photo(&path, caption),
            Command::Edit(text) => match self.last_keys.get(&self.person).cloned() {
                Some(of) => return Some(self.heard(Said::Edit { of, text })),
                None => say::nothing_to_edit().to_string(),
            },
            Command::Reply { line, text } => {
                let replied = line.checked_sub(1).and_then(|back| self.recent().nth(back)).map(|sent| sent.id.clone());
                match replied {
                    Some(id) => return self.message(&text, Some(id)),
                    None => say::no_such_line(line, self.recent().count()),
                }
            }
            Command::Button(which) => {
                let pressed = button_in(self.recent().find(|line| !line.buttons.is_empty()), &which);
                match pressed {
                    Some(said) => return Some(self.heard(said)),
                    None => say::no_such_button(&which),
                }
            }
            Command::Lines => {
                let numbered: Vec<_> =
                    self.recent().enumerate().map(|(nth, line)| format!("{}  {}", nth + 1, line.body)).collect();
                match numbered.is_empty() {
                    true => say::no_such_line(1, 0),
                    false => numbered.into_iter().rev().collect::<Vec<_>>().join("\n"),
                }
            }
            Command::As(Some(name)) => self.seat(&name),
            Command::As(None) => say::people(self.people.iter().map(|(name, person)| (name.as_str(), person.role))),
            Command::Paste => {
                self.pasting = Some(String::new());
                say::pasting().to_string()
            }
            Command::Help => say::help().to_string(),
            Command::Usage(usage) => say::usage(usage),
            Command::Unknown(word) => say::unknown_command(&word),
        };
        self.lines.print(&shown);
        None
    }

    /// Hands the keyboard to an enrolled person, whatever the case of the letters.
    fn seat(&mut self, name: &str) -> String {
        let known = self.people.keys().find(|known| known.to_lowercase() == name.to_lowercase());
        let Some(known) = known.cloned() else { return say::not_enrolled(name) };
        self.person = known;
        let chat = self.chat();
        let role = self.people.get(&self.person).map_or(Role::Crew, |person| person.role);
        say::speaking_as(&self.person, role, (chat != CREW_CHAT).then_some(chat.as_str()))
    }

    fn message(&mut self, text: &str, reply_to: Option<String>) -> Option<Heard> {
        if text.is_empty() {
            return None;
        }
        let said = self.lists.text_or_list(text.to_string(), reply_to);
        let long = u32::try_from(text.chars().count()).map_or(true, |length| length > self.limits.message_chars);
        // A pasted list is a file that happens to come by keyboard.
        if long && matches!(said, Said::Text { .. }) {
            let shown = say::too_long(self.limits.message_chars);
            self.lines.print(&shown);
            return None;
        }
        Some(self.heard(said))
    }

    fn file(&mut self, path: &str) -> Option<Heard> {
        let (name, bytes) = self.bytes(path)?;
        self.list(&name, &bytes)
    }

    fn list(&mut self, name: &str, bytes: &[u8]) -> Option<Heard> {
        let list = (self.lists.read)(name, bytes);
        if list.lines.is_empty() && list.doubts.is_empty() {
            let shown = say::no_list(name, &list.questions);
            self.lines.print(&shown);
            return None;
        }
        Some(self.heard(Said::List(Box::new(list))))
    }

    /// A photo is copied, so that a claim still has it when the phone's card is empty.
    fn photo(&mut self, path: &str, caption: String) -> Option<Heard> {
        let (name, bytes) = self.bytes(path)?;
        let folder = self.folder.join("photos");
        let kept = folder.join(format!("{}-{}-{name}", self.session, self.said + 1));
        let written = std::fs::create_dir_all(&folder).and_then(|()| std::fs::write(&kept, bytes));
        if let Err(error) = written {
            let shown = say::unreadable(&kept.display().to_string(), &error.to_string());
            self.lines.print(&shown);
            return None;
        }
        Some(self.heard(Said::Photo { path: kept.display().to_string(), caption, reply_to: None }))
    }

    /// The base name and the bytes of a file, unless it cannot be read or is over the limit.
    fn bytes(&mut self, path: &str) -> Option<(String, Vec<u8>)> {
        let path = match path.strip_prefix("~/").zip(std::env::home_dir()) {
            Some((rest, home)) => home.join(rest),
            None => PathBuf::from(path),
        };
        let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let limit = u64::from(self.limits.file_mb) * 1_000_000;
        let shown = match std::fs::metadata(&path) {
            Ok(metadata) if metadata.len() > limit => say::file_too_big(&name, self.limits.file_mb),
            Ok(_) => match std::fs::read(&path) {
                Ok(bytes) => return Some((name, bytes)),
                Err(error) => say::unreadable(&path.display().to_string(), &error.to_string()),
            },
            Err(error) => say::unreadable(&path.display().to_string(), &error.to_string()),
        };
        self.lines.print(&shown);
        None
    }

    fn heard(&mut self, said: Said) -> Heard {
        self.said += 1;
        let key = format!("terminal {} {}", self.session, self.said);
        if matches!(said, Said::Text { .. } | Said::List(_) | Said::Photo { .. }) {
            self.last_keys.insert(self.person.clone(), key.clone());
        }
        Heard::Said(Box::new(Incoming {
            key,
            person: self.person.clone(),
            chat: self.chat(),
            topic: None,
            said_at: (self.now)(),
            said,
        }))
    }
}

/// The press of a button of this line, by number or label.
fn button_in(line: Option<&SentLine>, which: &str) -> Option<Said> {
    let button = button_of(&line?.buttons, which)?;
    Some(Said::Press { question: button.question, choice: button.choice })
}

impl Channel for Terminal {
    fn meet(&mut self, people: &BTreeMap<String, Person>) {
        if self.people != *people {
            self.people = people.clone();
        }
    }

    fn next(&mut self, wake: Option<DateTime<Utc>>) -> anyhow::Result<Heard> {
        loop {
            let now = (self.now)();
            if wake.is_some_and(|wake| wake <= now) {
                return Ok(Heard::Due);
            }
            let patience = wake.map(|wake| (wake - now).to_std().unwrap_or_default().min(PATIENCE));
            let prompt = self.prompt();
            match self.lines.next(&prompt, patience) {
                None => {}
                Some(Typed::Line(line)) => {
                    if let Some(heard) = self.typed(&line) {
                        return Ok(heard);
                    }
                }
                Some(Typed::Interrupted) if self.pasting.take().is_some() => self.lines.print(say::paste_dropped()),
                // A paste that the end of the input cuts off is said all the same.
                Some(Typed::End) if self.pasting.is_some() => {
                    if let Some(heard) = self.typed(".") {
                        return Ok(heard);
                    }
                }
                Some(Typed::Interrupted | Typed::End) => return Ok(Heard::End),
            }
        }
    }

    fn send(&mut self, outgoing: &Outgoing) -> Sending {
        let chat = if outgoing.chat == self.chat() { String::new() } else { format!("({}) ", outgoing.chat) };
        let shown = format!("{chat}{}\n{}", outgoing.body, buttons_line(outgoing));
        self.lines.print(shown.trim_end());
        let id = format!("terminal {}.{}", outgoing.id.frame, outgoing.id.nth);
        self.sent.push_back(SentLine {
            id: id.clone(),
            chat: outgoing.chat.clone(),
            body: outgoing.body.clone(),
            buttons: outgoing.buttons.clone(),
        });
        if self.sent.len() > LINES_KEPT {
            self.sent.pop_front();
        }
        Sending::Sent(id)
    }
}
