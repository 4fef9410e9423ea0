//! Headings of a group, such as PLANTS, between the lines.

use holdfast_core::species::{self, Kind};

/// The most words of a heading of a group.
const HEADING_WORDS: usize = 5;

/// What a heading of a group says of the lines below it. A heading of fish, and one that names no kind, says nothing: what
/// a name tells by itself then holds. A sentence is no heading.
pub fn kind_under(text: &str) -> Option<Kind> {
    let is_short = text.split_whitespace().nth(HEADING_WORDS).is_none() && text.len() < 200;
    is_short.then(|| species::kind_named(text)).flatten().filter(|kind| *kind != Kind::Fish)
}
