//! The words that packing lists are made of, one table a language, as data beside this file.

use std::collections::{BTreeMap, HashMap};
use std::sync::LazyLock;

use serde::Deserialize;

use super::clean::{fold, words};

macro_rules! roles {
    ($($name:ident = $key:literal),* $(,)?) => {
        /// What a word may stand for. A word may stand for several things.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        #[repr(u32)]
        #[allow(missing_docs)]
        pub enum Role { $($name),* }
        const ROLES: &[(&str, Role)] = &[$(($key, Role::$name)),*];
    };
}

roles! {
    Box = "box", Boxes = "boxes", Bag = "bag", Bags = "bags", BagAny = "bag_any",
    Species = "species", Common = "common", Name = "name", Fish = "fish", Scientific = "scientific",
    Size = "size", Count = "count", Piece = "piece", Contents = "contents", Price = "price", Unit = "unit",
    Amount = "amount", Weight = "weight", Gross = "gross", Total = "total", Grand = "grand",
    Subtotal = "subtotal", Carried = "carried", Per = "per", Number = "number", Code = "code",
    Known = "known", Remark = "remark", Item = "item", Pair = "pair", Trio = "trio", Filler = "filler",
    Range = "range", Of = "of", And = "and", Free = "free", Address = "address", Greeting = "greeting",
    Flight = "flight",
}

/// A set of roles.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Roles(u64);

impl Roles {
    /// Whether the role is in the set.
    pub fn has(self, role: Role) -> bool {
        self.0 & (1 << role as u32) != 0
    }

    /// Whether one of the roles is in the set.
    pub fn any(self, roles: &[Role]) -> bool {
        roles.iter().any(|&role| self.has(role))
    }

    /// Both sets together.
    pub fn with(self, other: Roles) -> Roles {
        Roles(self.0 | other.0)
    }

    /// Whether nothing is known of the word.
    pub fn is_empty(self) -> bool {
        self.0 == 0
    }

    fn add(&mut self, role: Role) {
        self.0 |= 1 << role as u32;
    }
}

/// What a label names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Label {
    /// The title of a packing list.
    Title,
    /// Airway bill (master).
    Awb,
    /// House airway bill.
    House,
    /// Invoice.
    Invoice,
    /// A word beside another label that turns it into something else: invoice *date*.
    Elsewhere,
    /// Shipper.
    Supplier,
    /// When it was packed.
    Packed,
    /// Gross weight.
    Gross,
    /// Name of a sheet that calls itself a packing list.
    PackingSheet,
}

const LABELS: &[(&str, Label)] = &[
    ("title", Label::Title),
    ("awb", Label::Awb),
    ("house", Label::House),
    ("invoice", Label::Invoice),
    ("elsewhere", Label::Elsewhere),
    ("supplier", Label::Supplier),
    ("packed", Label::Packed),
    ("gross", Label::Gross),
    ("packing_sheet", Label::PackingSheet),
];

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Language {
    roles: BTreeMap<String, Vec<String>>,
    labels: BTreeMap<String, Vec<String>>,
    calendar: Calendar,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Calendar {
    months: Vec<Vec<String>>,
}

/// English stands first: where as many words are English as anything else, the list is English.
const LANGUAGES: [&str; 6] = [
    include_str!("en.toml"),
    include_str!("es.toml"),
    include_str!("pt.toml"),
    include_str!("id.toml"),
    include_str!("cs.toml"),
    include_str!("de.toml"),
];

#[derive(Default)]
struct Tables {
    exact: HashMap<String, Entry>,
    starts: Vec<(String, Entry)>,
    ends: Vec<(String, Entry)>,
    labels: Vec<(Label, Vec<String>)>,
    months: HashMap<String, u32>,
}

#[derive(Clone, Copy, Default)]
struct Entry {
    roles: Roles,
    languages: u8,
}

static TABLES: LazyLock<Tables> = LazyLock::new(|| {
    let mut tables = Tables::default();
    for (index, text) in LANGUAGES.iter().enumerate() {
        // The tables are part of the program and a test reads them all.
        let language: Language = toml::from_str(text).expect("the word tables are well formed");
        for (key, patterns) in &language.roles {
            let (_, role) = *ROLES.iter().find(|(name, _)| name == key).expect("the word tables name known roles");
            for pattern in patterns {
                tables.add(pattern, role, 1 << index);
            }
        }
        for (key, phrases) in &language.labels {
            let (_, label) = *LABELS.iter().find(|(name, _)| name == key).expect("the word tables name known labels");
            tables.labels.extend(phrases.iter().map(|phrase| (label, words(phrase))));
        }
        for (month, names) in (1..).zip(&language.calendar.months) {
            tables.months.extend(names.iter().map(|name| (name.clone(), month)));
        }
    }
    tables
});

impl Tables {
    fn add(&mut self, pattern: &str, role: Role, language: u8) {
        let entry = if let Some(root) = pattern.strip_suffix('*') {
            self.starts.push((root.to_owned(), Entry::default()));
            &mut self.starts.last_mut().expect("just pushed").1
        } else if let Some(ending) = pattern.strip_prefix('*') {
            self.ends.push((ending.to_owned(), Entry::default()));
            &mut self.ends.last_mut().expect("just pushed").1
        } else {
            self.exact.entry(pattern.to_owned()).or_default()
        };
        entry.roles.add(role);
        entry.languages |= language;
    }

    fn find(&self, word: &str) -> Entry {
        let mut found = self.exact.get(word).copied().unwrap_or_default();
        let roots = self.starts.iter().filter(|(root, _)| word.starts_with(root.as_str()));
        let endings = self.ends.iter().filter(|(ending, _)| word.ends_with(ending.as_str()));
        for (_, entry) in roots.chain(endings) {
            found.roles = found.roles.with(entry.roles);
            found.languages |= entry.languages;
        }
        found
    }
}

/// What a folded word stands for. `#` is a number word.
pub fn roles(word: &str) -> Roles {
    if word == "#" {
        let mut roles = Roles::default();
        roles.add(Role::Number);
        return roles;
    }
    TABLES.find(word).roles
}

/// The words of a text with short forms that are written with dots or bars joined: `c/no`, `g.w.`, `sub total`.
pub fn phrase(text: &str) -> Vec<String> {
    let mut joined = Vec::new();
    let mut rest = words(&fold(text)).into_iter().peekable();
    while let Some(word) = rest.next() {
        let last = joined.last().map(String::as_str);
        match (last, word.as_str(), rest.peek().map(String::as_str)) {
            (_, "c", Some("/")) => {
                rest.next();
                match rest.peek().map(String::as_str) {
                    Some("no" | "nos" | "n" | "nr") => {
                        rest.next();
                        joined.push("ctn".to_owned());
                    }
                    Some("f" | "fwd") => {
                        rest.next();
                        joined.push("carried".to_owned());
                    }
                    _ => joined.extend([word, "/".to_owned()]),
                }
            }
            (_, "b", Some("/")) => {
                rest.next();
                if matches!(rest.peek().map(String::as_str), Some("f" | "fwd")) {
                    rest.next();
                    joined.push("brought".to_owned());
                } else {
                    joined.extend([word, "/".to_owned()]);
                }
            }
            (_, "c", Some("no" | "nos")) => {
                rest.next();
                joined.push("ctn".to_owned());
            }
            (Some("p"), "o", _) => *joined.last_mut().expect("there is a last word") = "po".to_owned(),
            (Some("g"), "w" | "wt", _) => *joined.last_mut().expect("there is a last word") = "gw".to_owned(),
            (Some("n"), "w" | "wt", _) => *joined.last_mut().expect("there is a last word") = "nw".to_owned(),
            (Some("sub"), "total" | "totals", _) => {
                *joined.last_mut().expect("there is a last word") = "subtotal".to_owned()
            }
            _ => joined.push(word),
        }
    }
    joined
}

/// The month that a folded word names, 1 to 12.
pub fn month(word: &str) -> Option<u32> {
    TABLES.months.get(word).copied()
}

/// Whether the words name a label, as one of its phrases, word for word.
pub fn names(words: &[String], label: Label) -> bool {
    TABLES
        .labels
        .iter()
        .any(|(named, phrase)| *named == label && words.windows(phrase.len()).any(|window| window == phrase.as_slice()))
}

/// Whether a list with these heading words is English rather than anything else.
pub fn is_english<'w>(headings: impl Iterator<Item = &'w str>) -> bool {
    let mut votes = [0_u32; LANGUAGES.len()];
    for word in headings {
        let languages = TABLES.find(word).languages;
        for (index, vote) in votes.iter_mut().enumerate() {
            *vote += u32::from(languages >> index & 1);
        }
    }
    votes[1..].iter().all(|&vote| vote <= votes[0])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_table_reads_and_names_twelve_months() {
        for text in LANGUAGES {
            let language: Language = toml::from_str(text).unwrap();
            assert_eq!(language.calendar.months.len(), 12);
        }
        assert!(roles("qty").has(Role::Count));
    }

    #[test]
    fn roots_and_endings_match_longer_words() {
        assert!(roles("wissenschaftlicher").has(Role::Scientific));
        assert!(roles("artikelbezeichnung").has(Role::Species));
        assert!(roles("boxfish").is_empty());
        assert!(roles("baggage").is_empty());
    }

    #[test]
    fn short_forms_are_joined() {
        assert_eq!(phrase("C/No."), ["ctn"]);
        assert_eq!(phrase("G.W. (kg)"), ["gw", "kg"]);
        assert_eq!(phrase("SUB-TOTAL"), ["subtotal"]);
        assert_eq!(phrase("c/f"), ["carried"]);
    }

    #[test]
    fn the_language_is_that_of_most_words() {
        assert!(is_english(["box", "species", "qty"].into_iter()));
        assert!(!is_english(["caja", "especie", "cantidad"].into_iter()));
    }
}
