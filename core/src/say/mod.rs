//! Every wording a person sees, pure and snapshot-tested.

pub mod alarm;
pub mod answer;
pub mod ask;
pub mod buyer;
pub mod caution;
pub mod import;
pub mod look;
pub mod notice;
pub mod order;
pub mod packing;
pub mod place;
pub mod plan;
pub mod question;
pub mod recorded;
pub mod refusal;
pub mod release;
pub mod standing;
pub mod terminal;
pub mod through;
pub mod time;
pub mod unlisted;
pub mod vessel;

#[cfg(test)]
mod tests;

/// Joins clauses that are not empty.
pub fn join(clauses: &[&str]) -> String {
    let kept: Vec<&str> = clauses.iter().copied().filter(|clause| !clause.is_empty()).collect();
    kept.join(", ")
}

/// Names as one reads them: "one", "one and another", "one, another and a third".
pub(crate) fn names(names: &[String]) -> String {
    match names.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => names.join(", "),
    }
}

/// A recorded clause and what stands open, as one line.
pub fn line(recorded: &str, standing: &str) -> String {
    match (recorded.is_empty(), standing.is_empty()) {
        (false, false) => format!("{recorded} · {standing}"),
        (false, true) => recorded.to_owned(),
        (true, _) => standing.to_owned(),
    }
}

/// A number with its noun: "1 box", "2 boxes". Names of fish take no plural: the trade says "36 clown loach".
pub fn counted(count: u64, one: &str, many: &str) -> String {
    format!("{} {}", import::thousands(count), if count == 1 { one } else { many })
}

/// Boxes still to do: "1 box to go".
pub(crate) fn to_go(boxes: usize) -> String {
    match boxes {
        0 => "no box to go".to_owned(),
        boxes => format!("{} to go", in_boxes(boxes)),
    }
}

/// "1 box", "31 boxes".
pub(crate) fn in_boxes(boxes: usize) -> String {
    counted(u64::try_from(boxes).unwrap_or(u64::MAX), "box", "boxes")
}

/// The words with a capital letter first.
pub(crate) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// Words beside an act that were not understood; empty where there are none.
pub fn unread(words: &[String]) -> String {
    if words.is_empty() {
        return String::new();
    }
    let quoted: Vec<String> = words.iter().map(|word| format!("\"{word}\"")).collect();
    format!("not read: {}", quoted.join(" "))
}
