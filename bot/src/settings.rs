//! The settings file: one TOML file, every key optional.
//!
//! An unknown key is refused with the nearest known one, a wrong value with what is allowed, each with its line: a
//! misspelt `hold_hours` that is silently ignored would release fish early.

mod keys;
#[cfg(test)]
mod tests;

use std::fmt;
use std::path::Path;

use anyhow::Context;
use holdfast_core::settings::Settings;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use keys::{KEYS, Key};

/// The file that is read where none is named and it is there.
pub const DEFAULT_FILE: &str = "holdfast.toml";

/// Why a settings file was refused. Its Display is the sentence for whoever wrote the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// The line, from 1.
    pub line: usize,
    /// What is wrong there.
    pub what: Wrong,
}

/// What is wrong in a settings file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Wrong {
    /// It is no TOML.
    Syntax(String),
    /// No such key.
    UnknownKey {
        /// The key as written, with its section.
        key: String,
        /// The known key that is nearest, where one is near.
        nearest: Option<String>,
    },
    /// No such section.
    UnknownSection {
        /// The section as written.
        section: String,
        /// The known section that is nearest, where one is near.
        nearest: Option<String>,
    },
    /// A key's value is not among what it may be.
    Value {
        /// The key, with its section.
        key: String,
        /// The value as written.
        found: String,
        /// What it may be.
        allowed: String,
        /// What it is where the file says nothing.
        default: String,
    },
}

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: ", self.line)?;
        let (unknown, nearest) = match &self.what {
            Wrong::Syntax(message) => return write!(f, "{message}"),
            Wrong::Value { key, found, allowed, default } => {
                return write!(f, "{key} = {found}: it may be {allowed}; left out it is {default}");
            }
            Wrong::UnknownKey { key, nearest } => {
                write!(f, "there is no setting `{key}`")?;
                (key, nearest)
            }
            Wrong::UnknownSection { section, nearest } => {
                write!(f, "there is no section `[{section}]`")?;
                (section, nearest)
            }
        };
        match nearest {
            Some(nearest) if nearest != unknown => write!(f, "; did you mean `{nearest}`?"),
            _ => Ok(()),
        }
    }
}

impl std::error::Error for Refused {}

/// Reads the settings of `file`, or of [`DEFAULT_FILE`] where that is there, or takes the defaults.
///
/// # Errors
/// A named file that cannot be read, and a file that is refused.
pub fn load(file: Option<&Path>) -> anyhow::Result<Settings> {
    let path = match file {
        Some(path) => path,
        None if Path::new(DEFAULT_FILE).exists() => Path::new(DEFAULT_FILE),
        None => return Ok(Settings::default()),
    };
    let text =
        std::fs::read_to_string(path).with_context(|| format!("the settings {} cannot be read", path.display()))?;
    read(&text).with_context(|| format!("the settings {} are refused", path.display()))
}

/// Reads settings from the text of a file.
///
/// # Errors
/// The first thing that is wrong in it, with its line.
pub fn read(text: &str) -> Result<Settings, Refused> {
    let line_at = |offset: usize| text[..offset.min(text.len())].matches('\n').count() + 1;
    let table = DeTable::parse(text).map_err(|error| Refused {
        line: error.span().map_or(1, |span| line_at(span.start)),
        what: Wrong::Syntax(error.message().to_string()),
    })?;
    let mut settings = Settings::default();
    walk(table.get_ref(), "", &mut settings).map_err(|(offset, what)| Refused { line: line_at(offset), what })?;
    Ok(settings)
}

/// Sets what one table says, sections inside it included. An error carries its byte offset in the file.
fn walk(table: &DeTable<'_>, section: &str, settings: &mut Settings) -> Result<(), (usize, Wrong)> {
    let mut entries: Vec<_> = table.iter().collect();
    entries.sort_by_key(|(name, _)| name.span().start);
    for (name, value) in entries {
        let path =
            if section.is_empty() { name.get_ref().to_string() } else { format!("{section}.{}", name.get_ref()) };
        if let Some(key) = KEYS.iter().find(|key| key.path == path) {
            set(key, value, settings).map_err(|what| (value.span().start, what))?;
        } else if let DeValue::Table(inner) = value.get_ref() {
            if !sections().any(|known| known == path) {
                let nearest = nearest(&path, sections());
                return Err((name.span().start, Wrong::UnknownSection { section: path, nearest }));
            }
            walk(inner, &path, settings)?;
        } else {
            let nearest = nearest(&path, KEYS.iter().map(|key| key.path));
            return Err((name.span().start, Wrong::UnknownKey { key: path, nearest }));
        }
    }
    Ok(())
}

fn set(key: &Key, value: &Spanned<DeValue<'_>>, settings: &mut Settings) -> Result<(), Wrong> {
    key.kind.set(value.get_ref(), settings).ok_or_else(|| Wrong::Value {
        key: key.path.to_string(),
        found: as_written(value.get_ref()),
        allowed: key.kind.allowed(),
        default: key.kind.show(&Settings::default()),
    })
}

fn as_written(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => format!("{text:?}"),
        DeValue::Integer(number) => number.as_str().to_string(),
        DeValue::Float(number) => number.as_str().to_string(),
        DeValue::Boolean(flag) => flag.to_string(),
        DeValue::Datetime(time) => time.to_string(),
        DeValue::Array(_) => "a list".to_string(),
        DeValue::Table(_) => "a section".to_string(),
    }
}

/// Sections that hold a key, and those around them.
fn sections() -> impl Iterator<Item = &'static str> {
    KEYS.iter().flat_map(|key| key.path.match_indices('.').map(|(end, _)| &key.path[..end]))
}

/// The known name that is near enough to be a slip of the fingers, or the same key in another section.
fn nearest(written: &str, known: impl Iterator<Item = &'static str>) -> Option<String> {
    let last = |path: &str| path.rsplit('.').next().unwrap_or_default().to_string();
    let distance = |known: &str| {
        let whole = strsim::damerau_levenshtein(written, known);
        // A key in the wrong section is one slip, whatever the sections are called.
        whole.min(strsim::damerau_levenshtein(&last(written), &last(known)) + 1)
    };
    known
        .map(|known| (distance(known), known))
        .filter(|(distance, known)| *distance <= 1 + last(known).chars().count() / 3)
        .min()
        .map(|(_, known)| known.to_string())
}
