//! Every wording a person sees, pure and snapshot-tested.

pub mod answer;
pub mod ask;
pub mod buyer;
pub mod caution;
pub mod import;
pub mod look;
pub mod notice;
pub mod packing;
pub mod place;
pub mod question;
pub mod recorded;
pub mod refusal;
pub mod release;
pub mod standing;
pub mod terminal;
pub mod time;

/// Joins clauses that are not empty.
pub fn join(clauses: &[&str]) -> String {
    let kept: Vec<&str> = clauses.iter().copied().filter(|clause| !clause.is_empty()).collect();
    kept.join(", ")
}

/// A recorded clause and what stands open, as one line.
pub fn line(recorded: &str, standing: &str) -> String {
    match (recorded.is_empty(), standing.is_empty()) {
        (false, false) => format!("{recorded} · {standing}"),
        (false, true) => recorded.to_owned(),
        (true, _) => standing.to_owned(),
    }
}

/// Words beside an act that were not understood.
pub fn unread(words: &[String]) -> String {
    let quoted: Vec<String> = words.iter().map(|word| format!("\"{word}\"")).collect();
    format!("not read: {}", quoted.join(" "))
}
