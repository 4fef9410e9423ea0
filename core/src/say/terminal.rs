//! What the chat in the terminal says of itself. What the house says comes from elsewhere.

use crate::people::Role;

/// The word for a role.
pub fn role(role: Role) -> &'static str {
    match role {
        Role::Crew => "crew",
        Role::Lead => "lead",
        Role::Office => "office",
        Role::Buyer => "buyer",
    }
}

/// The first words on a new store: who speaks, and three lines to try.
pub fn first_run(name: &str, folder: &str) -> String {
    format!(
        "A new house. You are {name}, its lead; everything is kept in {folder}.\n\
         Three lines to try, one after the other:\n  sample\n  7.2 36 ok 4 doa\n  what's due?\n\
         (\"sample\" loads an invented consignment. /help shows the rest.)"
    )
}

/// The first words on a store that is known.
pub fn welcome(name: &str, of: Role) -> String {
    format!("You are {name} ({}). /help shows what this terminal can do.", role(of))
}

/// What can be typed besides messages.
pub fn help() -> &'static str {
    "Type as you would in the chat: 7.2 36 ok 4 doa\n\
     \x20 /as NAME            speak as another enrolled person; /as alone lists them\n\
     \x20 /file PATH          send a packing list (.xlsx .xls .ods .csv .tsv .txt)\n\
     \x20 /photo PATH WORDS   send a photo, with a caption if you like\n\
     \x20 /paste              paste several lines; a line with only a dot ends them\n\
     \x20 /edit TEXT          change your last message\n\
     \x20 /lines              the last lines of the assistant, numbered\n\
     \x20 /reply N TEXT       reply to one of them; 1 is the last\n\
     \x20 /button N           press a button; its number or label alone does too\n\
     \x20 /quit               leave; nothing is lost"
}

/// How a command is typed.
pub fn usage(command: &str) -> String {
    format!("That would be: {command}")
}

/// No such command.
pub fn unknown_command(word: &str) -> String {
    format!("There is no {word}. /help shows what there is.")
}

/// A person takes the keyboard.
pub fn speaking_as(name: &str, of: Role, chat: Option<&str>) -> String {
    match chat {
        Some(chat) => format!("You are {name} ({}), in the chat {chat}.", role(of)),
        None => format!("You are {name} ({}).", role(of)),
    }
}

/// A name that is not enrolled, and how a lead enrols it.
pub fn not_enrolled(name: &str) -> String {
    format!("{name} is not enrolled. A lead types: enrol {name} as crew")
}

/// The enrolled people.
pub fn people<'a>(people: impl Iterator<Item = (&'a str, Role)>) -> String {
    people.map(|(name, of)| format!("{name} ({})", role(of))).collect::<Vec<_>>().join(", ")
}

/// Words beside a report that were not understood, with how often each was met.
pub fn words_not_read(words: &[(&str, u64)]) -> String {
    if words.is_empty() {
        return "Every word beside a report was understood.".to_string();
    }
    let lines = words.iter().map(|(word, times)| format!("{times:>5} × {word}"));
    std::iter::once("Words that were not understood:".to_string()).chain(lines).collect::<Vec<_>>().join("\n")
}

/// Messages that the reader had to ask about: when, who, and the words.
pub fn messages_asked_about<'a>(asked: impl Iterator<Item = (String, &'a str, &'a str)>) -> String {
    let lines: Vec<String> = asked.map(|(at, person, text)| format!("{at} {person}: {text}")).collect();
    if lines.is_empty() {
        return "No message had to be asked about.".to_string();
    }
    std::iter::once("Messages that were asked about:".to_string()).chain(lines).collect::<Vec<_>>().join("\n")
}

/// No such line to reply to.
pub fn no_such_line(number: usize, there_are: usize) -> String {
    match there_are {
        0 => "The assistant has not said anything here yet.".to_string(),
        _ => format!("There is no line {number}; /lines shows 1 to {there_are}."),
    }
}

/// No message to edit.
pub fn nothing_to_edit() -> &'static str {
    "You have not written anything to edit since this chat was opened."
}

/// No button to press.
pub fn no_such_button(which: &str) -> String {
    format!("There is no button {which} under the last line.")
}

/// How a paste goes on.
pub fn pasting() -> &'static str {
    "Paste now; a line with only a dot ends it."
}

/// A paste was broken off.
pub fn paste_dropped() -> &'static str {
    "Dropped what was pasted."
}

/// A file that cannot be opened, with the system's reason.
pub fn unreadable(path: &str, why: &str) -> String {
    format!("{path} cannot be opened: {why}")
}

/// A file that is no packing list: what was read in it, and what is read.
pub fn no_list(name: &str, questions: &[String]) -> String {
    let why = questions.first().map(|question| format!(" {question}")).unwrap_or_default();
    format!(
        "{name} is no packing list that I can read.{why}\nI read .xlsx, .xls, .ods, .csv, .tsv and .txt with a box, a species \
         and a quantity on each line. A photo is sent with /photo."
    )
}

/// A file over the limit.
pub fn file_too_big(name: &str, limit_mb: u32) -> String {
    format!("{name} is over {limit_mb} MB, the limit of this site.")
}

/// A message over the limit.
pub fn too_long(limit: u32) -> String {
    format!("That is over {limit} characters, the limit of this site. A long packing list is better sent with /file.")
}

/// It cannot go on while somebody is typing.
pub fn stopping() -> &'static str {
    "This cannot go on: nothing more can be recorded. Press Enter to leave and to read why."
}

/// The last word.
pub fn goodbye() -> &'static str {
    "Everything you were answered is on disk. Good night."
}

/// What a verification found: that all holds, or what does not.
pub fn checked(frames: u64, problems: &[String]) -> String {
    match problems {
        [] => format!("All holds: {} in the journal, the look-up trees agree, the books balance.", in_frames(frames)),
        problems => format!("{} in the journal. Not as it should be:\n  {}", in_frames(frames), problems.join("\n  ")),
    }
}

/// What came in with an import. Messages never delivered where it comes from, as chat and words, are not sent.
pub fn imported(frames: u64, parked: &[(&str, &str)]) -> String {
    let mut text = format!("{} came in.", in_frames(frames));
    if !parked.is_empty() {
        text.push_str(" These messages were never delivered; they are kept back, not sent:");
        for (chat, body) in parked {
            text.push_str(&format!("\n  ({chat}) {body}"));
        }
    }
    text
}

fn in_frames(frames: u64) -> String {
    if frames == 1 { "1 frame".to_string() } else { format!("{frames} frames") }
}

#[cfg(test)]
mod tests {
    use insta::assert_snapshot;

    use super::*;

    #[test]
    fn a_new_house_says_who_you_are_and_what_to_try() {
        assert_snapshot!(first_run("dee", "./holdfast-data"), @r#"
        A new house. You are dee, its lead; everything is kept in ./holdfast-data.
        Three lines to try, one after the other:
          sample
          7.2 36 ok 4 doa
          what's due?
        ("sample" loads an invented consignment. /help shows the rest.)
        "#);
        assert_snapshot!(welcome("ana", Role::Crew), @"You are ana (crew). /help shows what this terminal can do.");
    }

    #[test]
    fn help_fits_a_narrow_terminal() {
        assert!(help().lines().all(|line| line.chars().count() <= 80));
    }

    #[test]
    fn changing_the_speaker_says_where_one_is() {
        assert_snapshot!(speaking_as("sam", Role::Buyer, Some("Reef & River")), @"You are sam (buyer), in the chat Reef & River.");
        assert_snapshot!(speaking_as("ana", Role::Crew, None), @"You are ana (crew).");
        assert_snapshot!(not_enrolled("ben"), @"ben is not enrolled. A lead types: enrol ben as crew");
        assert_snapshot!(people([("ana", Role::Crew), ("olga", Role::Office)].into_iter()), @"ana (crew), olga (office)");
    }

    #[test]
    fn a_refusal_says_what_would_do() {
        assert_snapshot!(usage("/edit TEXT"), @"That would be: /edit TEXT");
        assert_snapshot!(unknown_command("/ediz"), @"There is no /ediz. /help shows what there is.");
        assert_snapshot!(no_such_line(9, 3), @"There is no line 9; /lines shows 1 to 3.");
        assert_snapshot!(no_such_line(1, 0), @"The assistant has not said anything here yet.");
        assert_snapshot!(no_such_button("5"), @"There is no button 5 under the last line.");
        assert_snapshot!(no_list("a.pdf", &["No sheet in it.".to_string()]), @r"
        a.pdf is no packing list that I can read. No sheet in it.
        I read .xlsx, .xls, .ods, .csv, .tsv and .txt with a box, a species and a quantity on each line. A photo is sent with /photo.
        ");
        assert_snapshot!(file_too_big("a.xlsx", 20), @"a.xlsx is over 20 MB, the limit of this site.");
        assert_snapshot!(too_long(4000), @"That is over 4000 characters, the limit of this site. A long packing list is better sent with /file.");
        assert_snapshot!(unreadable("a.csv", "no such file"), @"a.csv cannot be opened: no such file");
    }
    #[test]
    fn a_verification_says_what_holds_and_what_does_not() {
        assert_snapshot!(checked(1, &[]), @"All holds: 1 frame in the journal, the look-up trees agree, the books balance.");
        assert_snapshot!(checked(12, &["the last line is torn".to_string()]), @r"
        12 frames in the journal. Not as it should be:
          the last line is torn
        ");
        assert_snapshot!(imported(12, &[]), @"12 frames came in.");
        assert_snapshot!(imported(12, &[("crew", "A12 is due.")]), @r"
        12 frames came in. These messages were never delivered; they are kept back, not sent:
          (crew) A12 is due.
        ");
    }
}
