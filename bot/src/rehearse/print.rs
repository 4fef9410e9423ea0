//! Scripts as text.

use std::fmt::Write;

use holdfast_core::people::Role;

use super::script::{Cast, Entry, Line, Part, Reply, Script, Spoken};

/// The words that head the lines of people.
pub(super) const ROLES: [(&str, Option<Role>); 5] = [
    ("crew", Some(Role::Crew)),
    ("lead", Some(Role::Lead)),
    ("office", Some(Role::Office)),
    ("buyer", Some(Role::Buyer)),
    ("guest", None),
];

/// The script as text; parsing it gives the same script.
pub fn print(script: &Script) -> String {
    script.lines.iter().map(|(_, line)| line_text(line)).collect()
}

/// A line as it is shown while a night is played: what only the rehearsal needs is left out.
pub fn chat_line(line: &Line) -> Option<String> {
    match line {
        Line::Blank | Line::Comment(_) | Line::Date(_) | Line::Entry(_) => Some(line_text(line)),
        Line::Zone(_) | Line::Set(_) | Line::People(..) => None,
    }
}

fn line_text(line: &Line) -> String {
    match line {
        Line::Blank => "\n".to_string(),
        Line::Comment(text) if text.is_empty() => "#\n".to_string(),
        Line::Comment(text) => format!("# {text}\n"),
        Line::Zone(zone) => format!("zone: {}\n", zone.name()),
        Line::Date(date) => format!("date: {date}\n"),
        Line::Set(text) => format!("set: {text}\n"),
        Line::People(role, people) => {
            let word = ROLES.iter().find(|(_, known)| known == role).map_or("guest", |(word, _)| *word);
            format!("{word}: {}\n", people.iter().map(cast).collect::<Vec<_>>().join(", "))
        }
        Line::Entry(entry) => entry_text(entry),
    }
}

fn cast(person: &Cast) -> String {
    let mut text = person.name.clone();
    for (word, value) in [("for", &person.firm), ("in", &person.chat)] {
        if let Some(value) = value {
            // Writing to a String does not fail.
            let _ = write!(text, " {word} {value}");
        }
    }
    text
}

fn entry_text(entry: &Entry) -> String {
    let time = entry.at.format("%H:%M");
    let mut text = match &entry.part {
        Part::Clock => format!("{time} the clock\n"),
        Part::Person { name, chat, spoken } => {
            let place = chat.as_ref().map(|chat| format!(" in {chat}")).unwrap_or_default();
            let (verb, words) = match spoken {
                Spoken::Says(words) => (String::new(), words),
                Spoken::Edits(words) => (" edits".to_string(), words),
                Spoken::Replies { to, text } => (format!(" replies to \"{to}\""), text),
                Spoken::Presses(words) => (" presses".to_string(), words),
                Spoken::List(words) => (" sends list".to_string(), words),
                Spoken::File(words) => (" sends file".to_string(), words),
                Spoken::Photo(words) => (" sends photo".to_string(), words),
            };
            let block = matches!(spoken, Spoken::List(_));
            format!("{time} {name}{place}{verb}:{}", words_text(words, block))
        }
    };
    for reply in &entry.replies {
        text.push_str(&reply_text(reply));
    }
    text
}

/// Words behind a colon: the first line there, the others indented; a list stands indented as a whole.
fn words_text(words: &str, block: bool) -> String {
    let mut text = String::new();
    for (nth, line) in words.lines().enumerate() {
        match (nth, block) {
            (0, false) => text.push_str(&format!(" {line}")),
            _ if line.is_empty() => text.push('\n'),
            _ => text.push_str(&format!("\n    {line}")),
        }
    }
    text.push('\n');
    text
}

/// A reply as it stands under an entry.
pub(super) fn reply_text(reply: &Reply) -> String {
    let mut text = String::new();
    for (nth, line) in reply.body.iter().enumerate() {
        let line = format!("  {} {line}", if nth == 0 { '>' } else { '|' });
        text.push_str(line.trim_end());
        text.push('\n');
    }
    text
}
