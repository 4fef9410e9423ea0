use std::cell::RefCell;
use std::io::{Cursor, Write};
use std::rc::Rc;

use chrono::{Duration as Span, TimeZone};
use holdfast_core::consignment::{ListLine, PackingList};
use holdfast_core::journal::{Class, Delivery, OutgoingId};
use holdfast_core::message::Place;
use insta::assert_snapshot;

use super::*;

/// Lists: one line for each line of the file that begins with a digit; text with two lines of it looks like one.
const LISTS: Lists = Lists {
    read: |name, bytes| listed(name, &String::from_utf8_lossy(bytes)),
    read_text: |text| listed("pasted text", text),
    looks_like: |text| listed("", text).lines.len() > 1,
};

fn listed(file: &str, text: &str) -> PackingList {
    let line = |row: &str| ListLine {
        number: None,
        bag: None,
        bags: None,
        species: row.to_string(),
        scientific: None,
        size: None,
        qty: 1,
        bonus: 0,
        unit_price: None,
        under: None,
    };
    let rows = text.lines().filter(|row| row.starts_with(|first: char| first.is_ascii_digit()));
    let lines: Vec<ListLine> = rows.map(line).collect();
    let questions = if lines.is_empty() { vec!["No row begins with a number.".to_string()] } else { Vec::new() };
    PackingList { file: file.to_string(), lines, questions, ..PackingList::default() }
}

/// A desk that says what it took; "ask" puts two buttons, "sam" speaks for a buyer, "late" is due at once.
#[derive(Default)]
struct Echo {
    people: BTreeMap<String, Person>,
    frames: u64,
    sent: BTreeMap<String, u64>,
    due: Vec<DateTime<Utc>>,
    keys: Vec<String>,
}

fn noon() -> DateTime<Utc> {
    Utc.timestamp_opt(1_772_452_800, 0).single().expect("an instant of 2026")
}

impl Desk for Echo {
    fn now(&self) -> DateTime<Utc> {
        noon()
    }

    fn take(&mut self, inputs: Vec<Input>) -> anyhow::Result<Vec<Outgoing>> {
        let mut said = Vec::new();
        for input in inputs {
            self.frames += 1;
            self.keys.push(input.key);
            let mut buttons = Vec::new();
            let chat = input.actor.as_ref().map_or(CREW_CHAT, |actor| &actor.chat).to_string();
            let who = input.actor.as_ref().map_or("clock", |actor| &actor.person).to_string();
            let body = match input.what {
                What::Message { text, re } | What::Reply { text, re, .. } => {
                    if text == "ask" {
                        let button = |label: &str, choice| Button { label: label.to_string(), question: 7, choice };
                        buttons = vec![button("short", 0), button("as listed", 1)];
                    }
                    if text == "late" {
                        self.due.push(noon() - Span::minutes(5));
                    }
                    format!("{who}: {}{}", text.replace('\n', "|"), if re.is_empty() { "" } else { " (about box 1)" })
                }
                What::Edit { text, .. } => format!("{who} now says: {text}"),
                What::Button { question, choice } => format!("{who} answers {question}: {choice}"),
                What::List(list) | What::ReadAnew { list, .. } => {
                    format!("{who} sends {} of {} lines", list.file, list.lines.len())
                }
                What::Photo { caption, .. } => format!("{who} shows: {caption}"),
                What::Tick => {
                    self.due.clear();
                    "it is time".to_string()
                }
                What::Delivered { outgoing, outcome: Delivery::Sent(id) } => {
                    self.sent.insert(id, outgoing.frame);
                    continue;
                }
                What::Delivered { .. } => continue,
                What::Enrol { name, role } => {
                    let buyer = (role == Role::Buyer).then(|| "Reef & River".to_string());
                    self.people.insert(name, Person { role, buyer, chat: None });
                    continue;
                }
            };
            said.push(Outgoing {
                id: OutgoingId { frame: self.frames, nth: 0 },
                chat,
                topic: None,
                reply_to: None,
                class: Class::Answer,
                merge: false,
                replaces: None,
                body,
                buttons,
                about: Vec::new(),
            });
        }
        Ok(said)
    }

    fn next_wake(&self) -> Option<DateTime<Utc>> {
        self.due.first().copied()
    }

    fn places_of(&self, sent: &str) -> Vec<Place> {
        self.sent.get(sent).map(|_| Place::Box { number: 1 }).into_iter().collect()
    }

    fn people(&self) -> &BTreeMap<String, Person> {
        &self.people
    }
}

/// What a terminal printed.
#[derive(Clone, Default)]
struct Paper(Rc<RefCell<Vec<u8>>>);

impl Write for Paper {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.0.borrow_mut().write(bytes)
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

/// Types `input` on a house of dee (lead), ana (crew) and sam (buyer), and gives what was printed and the desk.
fn typed_at(folder: &Path, input: &str) -> (String, Echo) {
    let mut desk = Echo::default();
    for (name, role) in [("dee", Role::Lead), ("ana", Role::Crew), ("sam", Role::Buyer)] {
        let what = What::Enrol { name: name.to_string(), role };
        let input = Input { key: String::new(), said_at: noon(), heard_at: noon(), actor: None, what };
        desk.take(vec![input]).expect("an echo takes all");
    }
    let paper = Paper::default();
    let lines = Lines::piped(Cursor::new(input.to_string().into_bytes()), paper.clone());
    let limits = Limits { message_chars: 100, file_mb: 1 };
    let mut terminal = Terminal::new(lines, folder.to_path_buf(), LISTS, limits, noon);
    open(&mut desk, &mut terminal, Some("root".to_string()), false).expect("an echo takes all");
    serve(&mut desk, &mut terminal).expect("an echo takes all");
    let printed = String::from_utf8(paper.0.borrow().clone()).expect("text");
    (printed, desk)
}

fn typed(input: &str) -> String {
    typed_at(Path::new("."), input).0
}

#[test]
fn a_line_is_answered_and_the_end_of_the_input_ends_the_chat() {
    assert_snapshot!(typed("7.2 36 ok 4 doa\n\n  what's due?  "), @r"
    dee: 7.2 36 ok 4 doa
    dee: what's due?
    ");
}

#[test]
fn what_is_due_is_said_before_the_chat_ends() {
    assert_snapshot!(typed("late"), @r"
    dee: late
    it is time
    ");
}

#[test]
fn a_new_house_enrols_whoever_sits_at_the_terminal_as_lead() {
    for (login, name) in [(Some("d.ee"), "dee"), (Some("--"), "lead"), (None, "lead")] {
        let mut desk = Echo::default();
        let paper = Paper::default();
        let lines = Lines::piped(Cursor::new(b"hi".to_vec()), paper.clone());
        let mut terminal = Terminal::new(lines, PathBuf::from("."), LISTS, Limits::default(), noon);
        open(&mut desk, &mut terminal, login.map(String::from), true).expect("an echo takes all");
        serve(&mut desk, &mut terminal).expect("an echo takes all");
        assert_eq!(desk.people.get(name).map(|person| person.role), Some(Role::Lead));
        let printed = String::from_utf8(paper.0.borrow().clone()).expect("text");
        assert!(printed.starts_with(&format!("A new house. You are {name}, its lead;")), "{printed}");
        assert!(printed.ends_with(&format!("{name}: hi\n")), "{printed}");
    }
}

#[test]
fn another_person_takes_the_keyboard_and_a_stranger_does_not() {
    assert_snapshot!(typed("/as ANA\nhi\n/as ben\nhi\n/as sam\nwhat have you got\n/as"), @r"
    You are ana (crew).
    ana: hi
    ben is not enrolled. A lead types: enrol ben as crew
    ana: hi
    You are sam (buyer), in the chat Reef & River.
    sam: what have you got
    ana (crew), dee (lead), sam (buyer)
    ");
}

#[test]
fn what_is_said_in_another_chat_names_it() {
    assert_snapshot!(typed("/as sam\nhello\nlate\n/as dee\n/reply 1 ok"), @r"
    You are sam (buyer), in the chat Reef & River.
    sam: hello
    sam: late
    (crew) it is time
    You are dee (lead).
    dee: ok (about box 1)
    ");
}

#[test]
fn buttons_are_pressed_by_number_by_label_or_by_command() {
    assert_snapshot!(typed("ask\n2\nask\nAs Listed\nask\nhm\n/button 1\n/button 9\n2"), @r"
    dee: ask
    [1] short  [2] as listed
    dee answers 7: 1
    dee: ask
    [1] short  [2] as listed
    dee answers 7: 1
    dee: ask
    [1] short  [2] as listed
    dee: hm
    dee answers 7: 0
    There is no button 9 under the last line.
    dee: 2
    ");
}

#[test]
fn lines_are_numbered_back_from_the_last() {
    assert_snapshot!(typed("/reply 1 ok\n/lines\none\ntwo\n/lines\n/reply 2 ok\n/reply 9 ok\n/reply ok"), @r"
    The assistant has not said anything here yet.
    The assistant has not said anything here yet.
    dee: one
    dee: two
    2  dee: one
    1  dee: two
    dee: ok (about box 1)
    There is no line 9; /lines shows 1 to 3.
    That would be: /reply N TEXT
    ");
}

#[test]
fn each_person_edits_their_own_last_message() {
    assert_snapshot!(typed("/edit x\n7.2 4 doa\n/as ana\n/edit x\n/as dee\n/edit 7.2 5 doa"), @r"
    You have not written anything to edit since this chat was opened.
    dee: 7.2 4 doa
    You are ana (crew).
    You have not written anything to edit since this chat was opened.
    You are dee (lead).
    dee now says: 7.2 5 doa
    ");
}

#[test]
fn a_paste_that_looks_like_a_list_is_one_and_any_other_is_a_message() {
    assert_snapshot!(typed("/paste\n7 neon\n8 loach\n.\n/paste\nhello\nyou\n.\n/paste\n1 a\n2 b"), @r"
    Paste now; a line with only a dot ends it.
    dee sends pasted text of 2 lines
    Paste now; a line with only a dot ends it.
    dee: hello|you
    Paste now; a line with only a dot ends it.
    dee sends pasted text of 2 lines
    ");
}

#[test]
fn a_file_is_sent_if_it_is_a_list_and_else_refused_with_what_is_read() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = |name: &str| folder.path().join(name).display().to_string();
    std::fs::write(path("list.csv"), "7 neon\n8 loach").expect("written");
    std::fs::write(path("letter.txt"), "Dear all").expect("written");
    std::fs::write(path("huge.csv"), vec![b'1'; 1_000_001]).expect("written");
    let input = format!("/file {}\n/file {}\n/file {}\nsample", path("list.csv"), path("letter.txt"), path("huge.csv"));
    assert_snapshot!(typed_at(folder.path(), &input).0, @r"
    dee sends list.csv of 2 lines
    letter.txt is no packing list that I can read. No row begins with a number.
    I read .xlsx, .xls, .ods, .csv, .tsv and .txt with a box, a species and a quantity on each line. A photo is sent with /photo.
    huge.csv is over 1 MB, the limit of this site.
    dee sends sample.csv of 5 lines
    ");
    assert!(typed("/file /no/such/list.csv").starts_with("/no/such/list.csv cannot be opened: "));
}

#[test]
fn a_photo_is_kept_beside_the_journal() {
    let folder = tempfile::tempdir().expect("a folder");
    let photo = folder.path().join("a b.jpg");
    std::fs::write(&photo, b"jpeg").expect("written");
    let (printed, _) = typed_at(folder.path(), &format!("/photo \"{}\" box 7 crushed", photo.display()));
    assert_eq!(printed, "dee shows: box 7 crushed\n");
    let kept = std::fs::read_dir(folder.path().join("photos")).expect("a folder of photos").next().expect("one photo");
    assert_eq!(std::fs::read(kept.expect("readable").path()).expect("readable"), b"jpeg");
}

#[test]
fn a_message_over_the_limit_is_not_taken() {
    let (printed, desk) = typed_at(Path::new("."), &"x".repeat(101));
    assert!(printed.starts_with("That is over 100 characters"));
    assert!(!desk.keys.iter().any(|key| key.starts_with("terminal")));
}

#[test]
fn no_two_messages_share_a_key() {
    let (_, desk) = typed_at(Path::new("."), "a\na\n/edit b\nask\n1\nlate");
    let keys: Vec<_> = desk.keys.iter().filter(|key| !key.is_empty()).collect();
    let distinct: std::collections::BTreeSet<_> = keys.iter().collect();
    assert_eq!(keys.len(), distinct.len(), "{keys:?}");
}

#[test]
fn bytes_that_are_no_text_are_a_message_too() {
    let paper = Paper::default();
    let mut lines = Lines::piped(Cursor::new(b"caf\xe9\r\n".to_vec()), paper);
    assert_eq!(lines.next("", None), Some(Typed::Line("caf\u{fffd}".to_string())));
    assert_eq!(lines.next("", None), Some(Typed::End));
}

#[test]
fn the_sample_is_a_list_without_questions() {
    let list = (Lists::HOUSE.read)(SAMPLE_NAME, SAMPLE_LIST.as_bytes());
    assert_eq!(list.questions, Vec::<String>::new());
    assert_eq!((list.lines.len(), list.total_qty, list.stated_total), (5, 155, Some(155)));
    assert_eq!(list.awb.as_deref(), Some("900-12345675"));
    assert_eq!(list.supplier.as_deref(), Some("Invented Ornamentals (sample data)"));
}
