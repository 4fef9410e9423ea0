//! Every wording as it stands, file by file. What no wording may ever be is checked on the way through [`lines`].

use proptest::prelude::*;

mod alarm;
mod answer;
mod buyer;
mod caution;
mod help;
mod import;
mod look;
mod order;
mod packing;
mod place;
mod question;
mod refusal;
mod release;
mod standing;
mod terminal;
mod through;
mod time;
mod unlisted;
mod vessel;

/// What is wrong with a wording whatever it says: an empty line, two spaces, an empty clause, a space at an end.
fn fault(wording: &str) -> Option<&'static str> {
    if wording.lines().any(|line| line.trim().is_empty()) || wording.ends_with('\n') {
        Some("an empty line")
    } else if wording.contains("  ") {
        Some("two spaces")
    } else if ["· ·", ", ,", "; ;", "()", "..", ",,", " ,", " ;"].iter().any(|pair| wording.contains(pair)) {
        Some("an empty clause")
    } else if wording.lines().any(|line| line.trim() != line) {
        Some("a space at an end")
    } else {
        None
    }
}

/// Wordings one below the other, each of them sound.
#[track_caller]
fn lines<T: AsRef<str>>(wordings: impl IntoIterator<Item = T>) -> String {
    let wordings: Vec<T> = wordings.into_iter().collect();
    let wordings: Vec<&str> = wordings.iter().map(AsRef::as_ref).collect();
    for wording in &wordings {
        assert_eq!(fault(wording), None, "{wording:?}");
    }
    wordings.join("\n")
}

#[test]
fn a_faulty_wording_is_found() {
    for wording in ["a\n\nb", "a  b", "a · · b", "a ", "a, , b", "a ()", "a\n"] {
        assert!(fault(wording).is_some(), "{wording:?}");
    }
    assert_eq!(fault("a\nb · c"), None);
}

#[test]
fn clauses_are_joined_without_the_empty_ones() {
    insta::assert_snapshot!(lines([
        super::join(&["36 clown loach", "", "on hold"]),
        super::join(&["36 clown loach"]),
        super::line("7.2 4 dead", "36 of 40, 4 to find"),
        super::line("7.2 4 dead", ""),
        super::line("", "36 of 40, 4 to find"),
    ]), @r"
    36 clown loach, on hold
    36 clown loach
    7.2 4 dead · 36 of 40, 4 to find
    7.2 4 dead
    36 of 40, 4 to find
    ");
    assert_eq!(super::join(&["", ""]), "");
    assert_eq!(super::line("", ""), "");
}

#[test]
fn words_not_read_are_quoted() {
    insta::assert_snapshot!(lines([super::unread(&["blue".into(), "stickers".into()])]), @r#"not read: "blue" "stickers""#);
    assert_eq!(super::unread(&[]), "");
}

#[test]
fn one_is_said_as_one() {
    insta::assert_snapshot!(lines([
        super::counted(0, "bag", "bags"),
        super::counted(1, "bag", "bags"),
        super::counted(2114, "bag", "bags"),
        super::to_go(0),
        super::to_go(1),
        super::to_go(12),
    ]), @r"
    0 bags
    1 bag
    2,114 bags
    no box to go
    1 box to go
    12 boxes to go
    ");
}

/// Clauses as other wordings make them: never with spaces at their ends.
fn clause() -> impl Strategy<Value = String> {
    prop_oneof![Just(String::new()), "[a-z0-9]{1,6}( [a-z0-9]{1,6}){0,3}"]
}

proptest! {
    #[test]
    fn joined_clauses_are_never_faulty(clauses in proptest::collection::vec(clause(), 0..6), recorded in clause()) {
        let clauses: Vec<&str> = clauses.iter().map(String::as_str).collect();
        let joined = super::join(&clauses);
        prop_assert_eq!(fault(&joined), None, "{:?}", joined);
        let line = super::line(&recorded, &joined);
        prop_assert_eq!(fault(&line), None, "{:?}", line);
    }
}
