//! Nights by script: what is written under each message is what is said.

mod night_support;

use std::path::Path;
use std::sync::Arc;

use holdfast_bot::rehearse::{self, Line, Part, SAMPLE_NIGHT, Spoken};
use holdfast_bot::store::MemoryDisk;
use night_support::{play_on, tests_folder};

/// Every night there is: the built-in one and those in `tests/nights`.
fn nights() -> Vec<(String, String)> {
    let mut nights = vec![("the sample night".to_owned(), SAMPLE_NIGHT.to_owned())];
    let files = std::fs::read_dir(tests_folder().join("nights")).expect("the folder of nights");
    let mut paths: Vec<_> = files.map(|file| file.expect("a file").path()).collect();
    paths.retain(|path| path.extension().is_some_and(|end| end == "night"));
    paths.sort();
    for path in paths {
        let text = std::fs::read_to_string(&path).expect("a night is text");
        nights.push((path.display().to_string(), text));
    }
    nights
}

fn differences(text: &str) -> Vec<rehearse::Difference> {
    play_on(text, Arc::new(MemoryDisk::new()), Path::new("/house")).0.differences
}

#[test]
fn every_night_is_answered_as_it_is_written() {
    for (name, text) in nights() {
        assert!(text.contains("\n  > "), "{name} says what it expects");
        let (played, left) = play_on(&text, Arc::new(MemoryDisk::new()), Path::new("/house"));
        let found: String = played.differences.iter().map(|difference| format!("{name}, {difference}")).collect();
        assert!(found.is_empty(), "{found}");
        assert_eq!(left.state.books.faults(), [], "{name}: the books balance");
    }
}

#[test]
fn one_changed_digit_of_a_reply_is_found_and_its_line_shown() {
    let lines: Vec<&str> = SAMPLE_NIGHT.lines().collect();
    let with_digit: Vec<usize> = (0..lines.len())
        .filter(|nth| lines[*nth].starts_with("  > ") || lines[*nth].starts_with("  | "))
        .filter(|nth| lines[*nth].contains(|letter: char| letter.is_ascii_digit()))
        .collect();
    assert!(with_digit.len() > 150, "there is enough to change");
    // Some lines from the beginning, the middle and the end.
    for nth in with_digit.iter().step_by(with_digit.len() / 6).chain(with_digit.last()) {
        let place = lines[*nth].rfind(|letter: char| letter.is_ascii_digit()).expect("it has a digit");
        let digit = lines[*nth].as_bytes()[place];
        let changed = if digit == b'9' { '0' } else { char::from(digit + 1) };
        let mut line = lines[*nth].to_owned();
        line.replace_range(place..=place, &changed.to_string());
        let mut script = lines.clone();
        script[*nth] = &line;
        let found = differences(&script.join("\n"));
        assert_eq!(found.len(), 1, "{line}");
        assert_eq!(found[0].line, nth + 1, "{line}");
        let shown = found[0].to_string();
        assert!(shown.contains(line.trim_start_matches(['>', '|', ' '])), "{shown}");
        assert!(shown.contains(lines[*nth].trim_start_matches(['>', '|', ' '])), "{shown}");
    }
}

#[test]
fn the_sample_night_is_a_real_night() {
    let script = rehearse::parse(SAMPLE_NIGHT).expect("it is well formed");
    let mut people = 0;
    let mut typed = 0;
    let mut boxes = std::collections::BTreeSet::new();
    let mut suppliers = 0;
    let mut chats = std::collections::BTreeSet::new();
    for (_, line) in &script.lines {
        match line {
            Line::People(Some(_), cast) => people += cast.len(),
            Line::Entry(entry) => {
                let Part::Person { name, spoken, .. } = &entry.part else { continue };
                chats.insert(name.clone());
                match spoken {
                    Spoken::Says(_) | Spoken::Edits(_) | Spoken::Replies { .. } => typed += 1,
                    Spoken::List(list) => {
                        suppliers += 1;
                        let rows = list.lines().filter_map(|row| row.split(',').next()?.parse::<u32>().ok());
                        boxes.extend(rows.map(|number| (suppliers, number)));
                    }
                    _ => {}
                }
            }
            _ => {}
        }
    }
    assert_eq!(suppliers, 2, "two consignments");
    assert!(boxes.len() >= 30, "{} boxes", boxes.len());
    assert!(typed >= 150, "{typed} messages");
    assert!(people >= 4, "{people} people");
    assert!(chats.len() >= 4, "{chats:?} speak");
    let doubled = boxes.iter().filter(|(list, number)| *list == 1 && boxes.contains(&(2, *number))).count();
    assert!(doubled >= 1, "a box number that both have");
}
