//! `holdfast read --unread`: what the house did not understand, from its journal, so that a site sees which words it says
//! that the lexicon lacks.

use std::collections::BTreeMap;
use std::io::Write;
use std::path::Path;

use chrono::{DateTime, Utc};
use holdfast_core::journal::Frame;
use holdfast_core::say::terminal as say;

use crate::store::{Disk, each_frame};

/// What was not understood.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Unread {
    words: BTreeMap<String, u64>,
    asked: Vec<Asked>,
}

/// A message that the reader had to ask about.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Asked {
    said_at: DateTime<Utc>,
    person: String,
    text: String,
}

impl Unread {
    /// Takes a frame in.
    pub fn add(&mut self, frame: Frame) {
        let cause = frame.cause;
        for word in cause.unread {
            *self.words.entry(word.to_lowercase()).or_default() += 1;
        }
        if let (Some(text), Some(speaker)) = (cause.asked_about, cause.speaker) {
            self.asked.push(Asked { said_at: cause.said_at, person: speaker.person, text });
        }
    }

    /// The words with how often each was met, the most frequent first.
    pub fn words(&self) -> Vec<(&str, u64)> {
        let mut words: Vec<_> = self.words.iter().map(|(word, times)| (word.as_str(), *times)).collect();
        words.sort_by_key(|(_, times)| std::cmp::Reverse(*times));
        words
    }
}

/// Writes what the house in `folder` did not understand: the words, then the messages that it asked about, by the clock of
/// `zone`.
///
/// # Errors
/// Where the journal is wrong, or cannot be read or written.
pub fn list(disk: &dyn Disk, folder: &Path, zone: chrono_tz::Tz, output: &mut dyn Write) -> anyhow::Result<()> {
    let mut unread = Unread::default();
    each_frame(disk, folder, |frame| unread.add(frame))?;
    writeln!(output, "{}", say::words_not_read(&unread.words()))?;
    let asked = unread.asked.iter().map(|asked| {
        let at = asked.said_at.with_timezone(&zone).format("%Y-%m-%d %H:%M").to_string();
        (at, asked.person.as_str(), asked.text.as_str())
    });
    writeln!(output, "{}", say::messages_asked_about(asked))?;
    Ok(())
}

#[cfg(test)]
mod tests;
