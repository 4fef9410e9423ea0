use std::collections::BTreeMap;

use anyhow::bail;
use chrono::{DateTime, Utc};
use holdfast_core::consignment::PackingList;
use holdfast_core::desk::{Input, What};
use holdfast_core::journal::{Class, Outgoing, OutgoingId, Person};
use holdfast_core::message::Place;
use insta::assert_snapshot;

use super::*;
use crate::clock::Clock;

/// Rooms that say what they were asked for.
struct Told;

struct Echo(ManualClock, BTreeMap<String, Person>);

impl Desk for Echo {
    fn now(&self) -> DateTime<Utc> {
        self.0.now()
    }

    fn take(&mut self, inputs: Vec<Input>) -> anyhow::Result<Vec<Outgoing>> {
        let said = inputs.into_iter().filter_map(|input| match input.what {
            What::Message { text, .. } => Some(Outgoing {
                id: OutgoingId { frame: 1, nth: 0 },
                chat: "crew".to_string(),
                topic: None,
                reply_to: None,
                class: Class::Answer,
                merge: false,
                replaces: None,
                body: format!("heard {text}"),
                buttons: Vec::new(),
                about: Vec::new(),
            }),
            _ => None,
        });
        Ok(said.collect())
    }

    fn next_wake(&self) -> Option<DateTime<Utc>> {
        None
    }

    fn places_of(&self, _sent: &str) -> Vec<Place> {
        Vec::new()
    }

    fn people(&self) -> &BTreeMap<String, Person> {
        &self.1
    }
}

impl Rooms for Told {
    type House = Echo;

    fn open(&self, folder: &Path, _settings: Settings) -> anyhow::Result<Echo> {
        bail!("opened {}", folder.display())
    }

    fn rehearse(&self, _settings: Settings, clock: ManualClock, _people: &[Enrolment]) -> anyhow::Result<Echo> {
        Ok(Echo(clock, BTreeMap::new()))
    }

    fn lists(&self) -> Lists {
        Lists { read: |_, _| PackingList::default(), read_text: |_| PackingList::default(), looks_like: |_| false }
    }

    fn read(&self, input: &mut dyn BufRead, output: &mut dyn Write) -> anyhow::Result<()> {
        let mut line = String::new();
        input.read_line(&mut line)?;
        Ok(write!(output, "read {line}")?)
    }

    fn reckon(&self, input: &mut dyn BufRead, output: &mut dyn Write) -> anyhow::Result<()> {
        let mut line = String::new();
        input.read_line(&mut line)?;
        Ok(write!(output, "reckoned {line}")?)
    }

    fn quantities(&self, output: &mut dyn Write) -> anyhow::Result<()> {
        Ok(write!(output, "quantities")?)
    }

    fn unread(&self, folder: &Path, _settings: &Settings, output: &mut dyn Write) -> anyhow::Result<()> {
        Ok(write!(output, "unread in {}", folder.display())?)
    }

    fn packing(&self, files: &[PathBuf], output: &mut dyn Write) -> anyhow::Result<bool> {
        writeln!(output, "{} files", files.len())?;
        Ok(files.len() == 1)
    }

    fn check(&self, folder: &Path, output: &mut dyn Write) -> anyhow::Result<bool> {
        writeln!(output, "checked {}", folder.display())?;
        Ok(folder == Path::new("good"))
    }

    fn export(&self, _folder: &Path, output: &mut dyn Write) -> anyhow::Result<()> {
        Ok(writeln!(output, "{{}}")?)
    }

    fn import(&self, folder: &Path, input: &mut dyn BufRead, output: &mut dyn Write) -> anyhow::Result<()> {
        let mut text = String::new();
        input.read_to_string(&mut text)?;
        Ok(write!(output, "{} gets {text}", folder.display())?)
    }
}

/// How a call ended, what it printed and what it complained of.
fn called(words: &[&str], input: &str) -> (Ended, String, String) {
    let words = ["holdfast"].iter().chain(words).map(OsString::from);
    let (mut output, mut errors) = (Vec::new(), Vec::new());
    let ended = run(&Told, words, &mut input.as_bytes(), &mut output, &mut errors);
    (ended, String::from_utf8(output).expect("text"), String::from_utf8(errors).expect("text"))
}

fn written(folder: &tempfile::TempDir, text: &str) -> String {
    let path = folder.path().join("a.night");
    std::fs::write(&path, text).expect("written");
    path.display().to_string()
}

#[test]
fn each_call_reaches_its_room() {
    assert_eq!(called(&["packing", "a.csv"], ""), (Ended::Well, "1 files\n".to_string(), String::new()));
    assert_eq!(called(&["packing", "a.csv", "b.csv"], ""), (Ended::Badly, "2 files\n".to_string(), String::new()));
    assert_eq!(called(&["check", "--data", "good"], "").0, Ended::Well);
    assert_eq!(called(&["check"], ""), (Ended::Badly, "checked ./holdfast-data\n".to_string(), String::new()));
    assert_eq!(called(&["export"], ""), (Ended::Well, "{}\n".to_string(), String::new()));
    assert_eq!(called(&["import", "-", "--data", "x"], "{}").1, "x gets {}");
    assert_eq!(called(&["read"], "{}\n").1, "read {}\n");
    assert_eq!(called(&["read", "--unread", "--data", "x"], "").1, "unread in x");
    assert_eq!(called(&["reckon"], "{}\n").1, "reckoned {}\n");
    assert_eq!(called(&["reckon", "--list"], "").1, "quantities");
}

#[test]
fn an_error_is_one_sentence_and_a_misread_call_is_told_apart() {
    assert_eq!(called(&["--data", "there"], ""), (Ended::Badly, String::new(), "holdfast: opened there\n".to_string()));
    let (ended, _, errors) = called(&["--settings", "/no/such.toml"], "");
    assert_eq!(ended, Ended::Badly);
    assert!(errors.starts_with("holdfast: the settings /no/such.toml cannot be read: "), "{errors}");
    assert_eq!(called(&["packing"], "").0, Ended::Misread);
    assert_eq!(called(&["rehearse", "--write"], "").0, Ended::Misread);
    assert_eq!(called(&["chek"], "").0, Ended::Misread);
}

#[test]
fn help_is_short_and_no_error() {
    let (ended, help, errors) = called(&["--help"], "");
    assert_eq!((ended, errors), (Ended::Well, String::new()));
    assert_snapshot!(help, @r"
    Chat assistant of a crew that receives live ornamental fish.
    Without a command it opens a chat in this terminal.

    Usage: holdfast [OPTIONS] [COMMAND]

    Commands:
      rehearse  Play a scripted night on a virtual clock and compare the replies written in it
      read      Read threads of messages (JSON lines on standard input) and print their acts
      reckon    Answer questions of chemistry and trade arithmetic (JSON lines on standard input)
      packing   Print what is read in packing lists, as JSON lines
      check     Verify the journal, the store made of it and the books
      export    Write the journal as JSON lines
      import    Make a new house of an exported journal

    Options:
          --data <DIR>       Folder of the journal and what is made of it [default: ./holdfast-data]
          --settings <FILE>  Settings file; without it ./holdfast.toml, if it is there
      -h, --help             Print help
      -V, --version          Print version
    ");
}

#[test]
fn an_export_never_overwrites_a_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("journal.jsonl").display().to_string();
    assert_eq!(called(&["export", &file], "").0, Ended::Well);
    assert_eq!(std::fs::read_to_string(&file).expect("readable"), "{}\n");
    let (ended, _, errors) = called(&["export", &file], "");
    assert_eq!(ended, Ended::Badly);
    assert!(errors.contains("cannot be made"), "{errors}");
}

#[test]
fn a_night_that_is_not_as_written_fails_and_shows_both() {
    let folder = tempfile::tempdir().expect("a folder");
    let script = written(&folder, "lead: dee\n22:10 dee: one\n  > heard two\n");
    let (ended, output, errors) = called(&["rehearse", &script], "");
    assert_eq!((ended, output.as_str()), (Ended::Badly, "22:10 dee: one\n  > heard one\n"));
    assert_snapshot!(errors.replace(&script, "a.night"), @r"
    a.night, line 3: 22:10 dee: one
     expected
      > heard two
     found
      > heard one
    ");
}

#[test]
fn the_replies_found_can_be_written_into_the_script() {
    let folder = tempfile::tempdir().expect("a folder");
    let script = written(&folder, "# A night.\nlead: dee\n\n22:10 dee: one\n  > heard two\n");
    assert_eq!(called(&["rehearse", &script, "--write"], "").0, Ended::Well);
    let text = std::fs::read_to_string(&script).expect("readable");
    assert_eq!(text, "# A night.\nlead: dee\n\n22:10 dee: one\n  > heard one\n");
    assert_eq!(called(&["rehearse", &script], "").0, Ended::Well);
}

#[test]
fn a_night_that_breaks_is_not_written() {
    let folder = tempfile::tempdir().expect("a folder");
    let script = written(&folder, "lead: dee\n22:10 dee presses: short\n");
    let (ended, _, errors) = called(&["rehearse", &script, "--write"], "");
    assert_eq!(ended, Ended::Badly);
    assert!(errors.ends_with(", line 2: there is no button \"short\"\n"), "{errors}");
    assert_eq!(std::fs::read_to_string(&script).expect("readable"), "lead: dee\n22:10 dee presses: short\n");
}

#[test]
fn a_script_that_cannot_be_read_says_where_and_why() {
    let folder = tempfile::tempdir().expect("a folder");
    let script = written(&folder, "lead: dee\n22:10 dee\n");
    let (ended, _, errors) = called(&["rehearse", &script], "");
    assert_eq!(ended, Ended::Badly);
    assert_snapshot!(errors.replace(&script, "a.night"), @r#"holdfast: a.night: line 2: expected "the clock", or somebody and a colon, like "ana: 7.2 36 ok""#);
}

/// An output whose reader has gone away.
struct Closed;

impl Write for Closed {
    fn write(&mut self, _: &[u8]) -> io::Result<usize> {
        Err(io::ErrorKind::BrokenPipe.into())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_reader_who_has_seen_enough_is_no_error() {
    let mut errors = Vec::new();
    let words = ["holdfast", "export"].map(OsString::from);
    assert_eq!(run(&Told, words, &mut io::empty(), &mut Closed, &mut errors), Ended::Well);
    assert_eq!(errors, b"");
}
