//! Scripts from text. Every error names the line and what was expected there.

use std::fmt;

use chrono::{NaiveDate, NaiveTime};
use chrono_tz::Tz;

use super::print::ROLES;
use super::script::{Cast, Entry, Line, Part, Reply, Script, Spoken};

/// Why a text is no script. Its Display is the sentence for whoever wrote it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unreadable {
    /// The line, from 1.
    pub line: usize,
    /// What was expected there.
    pub expected: Expected,
}

/// What was expected on a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Expected {
    /// A time and what happens, a head line, or a comment.
    SomeLine,
    /// The name of a time zone.
    Zone(String),
    /// A date.
    Date(String),
    /// Names.
    Names,
    /// A name that another line does not give too.
    NameOnce(String),
    /// A time.
    Time(String),
    /// Somebody, a colon, words.
    Speaker,
    /// A person that the head names.
    Declared {
        /// The name as written.
        name: String,
        /// The nearest name in the head.
        nearest: Option<String>,
    },
    /// Words behind the colon.
    Words,
    /// The quoted words of the line replied to.
    Quote,
    /// An entry above a reply or further words.
    EntryAbove,
    /// A `  >` above a `  |`.
    ReplyAbove,
    /// No head line below the first time.
    HeadAbove,
}

impl fmt::Display for Unreadable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: ", self.line)?;
        match &self.expected {
            Expected::SomeLine => write!(
                f,
                "expected a time (\"22:10 ana: 7.2 36 ok\"), a head line (\"crew: ana\"), or a comment (\"# …\")"
            ),
            Expected::Zone(found) => {
                write!(f, "expected the name of a time zone, like Europe/London, found \"{found}\"")
            }
            Expected::Date(found) => write!(f, "expected a date, like 2026-03-02, found \"{found}\""),
            Expected::Names => write!(f, "expected names, like \"ana, ben\" or \"sam for Reef & River\""),
            Expected::NameOnce(name) => write!(f, "\"{name}\" has a line already"),
            Expected::Time(found) => write!(f, "expected a time, like 22:10, found \"{found}\""),
            Expected::Speaker => write!(f, "expected \"the clock\", or somebody and a colon, like \"ana: 7.2 36 ok\""),
            Expected::Declared { name, nearest } => {
                write!(f, "nobody is called \"{name}\" in the head of the script")?;
                match nearest {
                    Some(nearest) => write!(f, "; did you mean \"{nearest}\"?"),
                    None => write!(f, "; a line \"crew: {name}\" would do"),
                }
            }
            Expected::Words => write!(f, "expected words behind the colon"),
            Expected::Quote => write!(f, "expected quoted words and a colon, like: ana replies to \"A12\": ok"),
            Expected::EntryAbove => write!(f, "expected a time above this line"),
            Expected::ReplyAbove => write!(f, "expected a reply (\"  > …\") above this line"),
            Expected::HeadAbove => write!(f, "expected this line before the first time"),
        }
    }
}

impl std::error::Error for Unreadable {}

/// Reads a script.
///
/// # Errors
/// The first line that cannot be read, and what was expected there.
pub fn parse(text: &str) -> Result<Script, Unreadable> {
    let mut parser = Parser { lines: Vec::new(), blanks: Vec::new(), block: None, started: false };
    for (nth, line) in text.lines().enumerate() {
        if !line.trim_end().is_empty() && !line.starts_with("    ") {
            parser.close_block()?;
        }
        parser.line(nth + 1, line).map_err(|expected| Unreadable { line: nth + 1, expected })?;
    }
    parser.close_block()?;
    parser.flush_blanks();
    Ok(Script { lines: parser.lines })
}

struct Parser {
    lines: Vec<(usize, Line)>,
    /// Empty lines that belong to indented words if more of these follow, and else stand for themselves.
    blanks: Vec<usize>,
    /// The line of an announced list whose indented lines are awaited.
    block: Option<usize>,
    started: bool,
}

impl Parser {
    fn line(&mut self, number: usize, line: &str) -> Result<(), Expected> {
        let line = line.trim_end();
        if line.is_empty() {
            self.blanks.push(number);
            return Ok(());
        }
        if let Some(words) = line.strip_prefix("    ") {
            return self.further_words(words);
        }
        self.flush_blanks();
        if let Some(body) = line.strip_prefix("  >") {
            let reply = Reply { line: number, body: vec![body.strip_prefix(' ').unwrap_or(body).to_string()] };
            self.entry_above()?.replies.push(reply);
        } else if let Some(body) = line.strip_prefix("  |") {
            let reply = self.entry_above()?.replies.last_mut().ok_or(Expected::ReplyAbove)?;
            reply.body.push(body.strip_prefix(' ').unwrap_or(body).to_string());
        } else if let Some(comment) = line.strip_prefix('#') {
            self.lines.push((number, Line::Comment(comment.strip_prefix(' ').unwrap_or(comment).to_string())));
        } else if line.starts_with(|first: char| first.is_ascii_digit()) {
            let entry = self.entry(line)?;
            if matches!(&entry.part, Part::Person { spoken: Spoken::List(text), .. } if text.is_empty()) {
                self.block = Some(number);
            }
            self.started = true;
            self.lines.push((number, Line::Entry(entry)));
        } else {
            let head = self.head(line)?;
            self.lines.push((number, head));
        }
        Ok(())
    }

    fn flush_blanks(&mut self) {
        self.lines.extend(self.blanks.drain(..).map(|number| (number, Line::Blank)));
    }

    /// An announced list needs lines.
    fn close_block(&mut self) -> Result<(), Unreadable> {
        match self.block.take() {
            Some(line) => Err(Unreadable { line, expected: Expected::Words }),
            None => Ok(()),
        }
    }

    fn entry_above(&mut self) -> Result<&mut Entry, Expected> {
        match self.lines.last_mut() {
            Some((_, Line::Entry(entry))) => Ok(entry),
            _ => Err(Expected::EntryAbove),
        }
    }

    /// Indented words go on with those of the entry above.
    fn further_words(&mut self, words: &str) -> Result<(), Expected> {
        let blanks = std::mem::take(&mut self.blanks).len();
        self.block = None;
        let entry = self.entry_above()?;
        if !entry.replies.is_empty() {
            return Err(Expected::EntryAbove);
        }
        let Part::Person { spoken, .. } = &mut entry.part else { return Err(Expected::EntryAbove) };
        let text = match spoken {
            Spoken::Says(text) | Spoken::Edits(text) | Spoken::List(text) | Spoken::Replies { text, .. } => text,
            Spoken::Presses(_) | Spoken::File(_) | Spoken::Photo(_) => return Err(Expected::EntryAbove),
        };
        if !text.is_empty() {
            text.push('\n');
        }
        text.push_str(&"\n".repeat(blanks));
        text.push_str(words);
        Ok(())
    }

    fn head(&self, line: &str) -> Result<Line, Expected> {
        let (word, rest) = line.split_once(':').ok_or(Expected::SomeLine)?;
        let rest = rest.trim();
        let head = match word {
            "date" => {
                let date = NaiveDate::parse_from_str(rest, "%Y-%m-%d");
                return date.map(Line::Date).map_err(|_| Expected::Date(rest.to_string()));
            }
            "zone" => Line::Zone(rest.parse::<Tz>().map_err(|_| Expected::Zone(rest.to_string()))?),
            "set" if rest.is_empty() => return Err(Expected::Words),
            "set" => Line::Set(rest.to_string()),
            _ => {
                let (_, role) = ROLES.iter().find(|(known, _)| *known == word).ok_or(Expected::SomeLine)?;
                let mut people: Vec<Cast> = Vec::new();
                for text in rest.split(',') {
                    let person = cast(text.trim()).ok_or(Expected::Names)?;
                    if self.people().chain(&people).any(|other| other.name == person.name) {
                        return Err(Expected::NameOnce(person.name));
                    }
                    people.push(person);
                }
                Line::People(*role, people)
            }
        };
        if self.started { Err(Expected::HeadAbove) } else { Ok(head) }
    }

    fn people(&self) -> impl Iterator<Item = &Cast> {
        self.lines.iter().flat_map(|(_, line)| match line {
            Line::People(_, people) => people.as_slice(),
            _ => &[],
        })
    }

    fn entry(&self, line: &str) -> Result<Entry, Expected> {
        let (time, rest) = line.split_once(' ').unwrap_or((line, ""));
        let at = NaiveTime::parse_from_str(time, "%H:%M").map_err(|_| Expected::Time(time.to_string()))?;
        let rest = rest.trim();
        let part = if rest == "the clock" { Part::Clock } else { self.spoken(rest)? };
        Ok(Entry { at, part, replies: Vec::new() })
    }

    fn spoken(&self, rest: &str) -> Result<Part, Expected> {
        const REPLIES: &str = " replies to \"";
        let (colon, quote) = (rest.find(':').unwrap_or(rest.len()), rest.find(REPLIES).unwrap_or(rest.len()));
        if quote < colon {
            let quoted = &rest[quote + REPLIES.len()..];
            let (to, text) = quoted.split_once("\":").ok_or(Expected::Quote)?;
            if to.is_empty() {
                return Err(Expected::Quote);
            }
            let text = some_words(text)?;
            return self.part(&rest[..quote], Spoken::Replies { to: to.to_string(), text });
        }
        let (head, words) = rest.split_once(':').ok_or(Expected::Speaker)?;
        if let Some(who) = head.strip_suffix(" sends list") {
            return self.part(who, Spoken::List(words.trim().to_string()));
        }
        if let Some(who) = head.strip_suffix(" edits") {
            return self.part(who, Spoken::Edits(some_words(words)?));
        }
        if let Some(who) = head.strip_suffix(" presses") {
            return self.part(who, Spoken::Presses(some_words(words)?));
        }
        if let Some(who) = head.strip_suffix(" sends file") {
            return self.part(who, Spoken::File(some_words(words)?));
        }
        if let Some(who) = head.strip_suffix(" sends photo") {
            return self.part(who, Spoken::Photo(some_words(words)?));
        }
        // Who speaks is looked at first: a slip in the name is more likely than a message without words.
        let part = self.part(head, Spoken::Says(words.trim().to_string()))?;
        some_words(words).map(|_| part)
    }

    /// The speaker and the chat of `head`: a name of the script, and `in` another chat.
    fn part(&self, head: &str, spoken: Spoken) -> Result<Part, Expected> {
        let who = who_of(head.trim());
        if !self.people().any(|person| person.name == who[0]) {
            return Err(self.undeclared(who[0]));
        }
        Ok(Part::Person { name: who[0].to_string(), chat: who.get(1).map(|chat| (*chat).to_string()), spoken })
    }

    fn undeclared(&self, name: &str) -> Expected {
        if name.is_empty() {
            return Expected::Speaker;
        }
        let near = self.people().map(|person| (strsim::damerau_levenshtein(name, &person.name), &person.name));
        let nearest = near.filter(|(distance, _)| *distance <= 1 + name.chars().count() / 4).min();
        Expected::Declared { name: name.to_string(), nearest: nearest.map(|(_, name)| name.clone()) }
    }
}

fn some_words(words: &str) -> Result<String, Expected> {
    let words = words.trim();
    if words.is_empty() { Err(Expected::Words) } else { Ok(words.to_string()) }
}

/// A name and, where one is given, a chat; never empty.
fn who_of(head: &str) -> Vec<&str> {
    head.splitn(2, " in ").map(str::trim).collect()
}

/// `NAME [for FIRM] [in CHAT]`.
fn cast(text: &str) -> Option<Cast> {
    let (text, chat) = match text.split_once(" in ") {
        Some((text, chat)) => (text, Some(chat.trim().to_string())),
        None => (text, None),
    };
    let (name, firm) = match text.split_once(" for ") {
        Some((name, firm)) => (name, Some(firm.trim().to_string())),
        None => (text, None),
    };
    let name = name.trim();
    let good = !name.is_empty() && !name.contains([':', '"']) && name != "the clock";
    good.then(|| Cast { name: name.to_string(), firm, chat })
}
