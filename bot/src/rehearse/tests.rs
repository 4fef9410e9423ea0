use std::collections::BTreeMap;
use std::path::Path;

use chrono::{DateTime, Duration, NaiveDate, NaiveTime, Utc};
use holdfast_core::consignment::{ListLine, PackingList};
use holdfast_core::desk::{Input, What};
use holdfast_core::journal::{Button, Class, Delivery, Outgoing, OutgoingId, Person};
use holdfast_core::message::Place;
use holdfast_core::people::Role;
use insta::assert_snapshot;
use proptest::prelude::*;

use super::*;
use crate::channel::{Desk, Lists};
use crate::clock::{Clock, ManualClock};

/// A desk that repeats what it hears. "wake N" makes it speak N seconds later, "ask" puts a question with two buttons.
struct Echo {
    clock: ManualClock,
    wakes: Vec<DateTime<Utc>>,
    frames: u64,
    sent: BTreeMap<String, u64>,
    people: BTreeMap<String, Person>,
}

impl Echo {
    fn new(clock: ManualClock, people: &[Enrolment]) -> Self {
        let people = people.iter().map(|person| {
            let known = Person { role: person.role, buyer: person.firm.clone(), chat: Some(person.chat.clone()) };
            (person.name.clone(), known)
        });
        Echo { clock, wakes: Vec::new(), frames: 0, sent: BTreeMap::new(), people: people.collect() }
    }
}

impl Desk for Echo {
    fn now(&self) -> DateTime<Utc> {
        self.clock.now()
    }

    fn take(&mut self, inputs: Vec<Input>) -> anyhow::Result<Vec<Outgoing>> {
        let mut said = Vec::new();
        for input in inputs {
            self.frames += 1;
            let (chat, person) = match &input.actor {
                Some(actor) if !self.people.contains_key(&actor.person) => continue,
                Some(actor) => (actor.chat.clone(), actor.person.clone()),
                None => ("crew".to_string(), "the clock".to_string()),
            };
            let mut buttons = Vec::new();
            let body = match input.what {
                What::Message { text, .. } if text == "chatter" => continue,
                What::Message { text, re } | What::Reply { text, re, .. } => {
                    if let Some(seconds) = text.strip_prefix("wake ") {
                        let seconds = seconds.parse()?;
                        self.wakes.push(self.now() + Duration::seconds(seconds));
                    }
                    if text == "ask" {
                        let button = |label: &str, choice| Button { label: label.to_string(), question: 7, choice };
                        buttons = vec![button("short", 0), button("as listed", 1)];
                    }
                    format!("{person}: {text}{}", if re.is_empty() { String::new() } else { format!(" re {re:?}") })
                }
                What::Edit { of, text } => format!("{person} changes {of}: {text}"),
                What::Button { question, choice } => format!("{person} answers {question}: {choice}"),
                What::List(list) | What::ReadAnew { list, .. } => {
                    format!("{person} lists {} of {}", list.total_qty, list.file)
                }
                What::Photo { path, caption, .. } => format!("{person} shows {path}: {caption}"),
                What::Tick => {
                    let now = self.now();
                    self.wakes.retain(|wake| *wake > now);
                    format!("it is {}", now.format("%d %H:%M:%S"))
                }
                What::Delivered { outgoing, outcome: Delivery::Sent(id) } => {
                    self.sent.insert(id, outgoing.frame);
                    continue;
                }
                What::Delivered { .. } | What::Enrol { .. } => continue,
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
        self.wakes.iter().min().copied()
    }

    fn places_of(&self, sent: &str) -> Vec<Place> {
        let frame = self.sent.get(sent).copied().unwrap_or_default();
        vec![Place::Box { number: u32::try_from(frame).expect("few frames") }]
    }

    fn people(&self) -> &BTreeMap<String, Person> {
        &self.people
    }
}

/// Counts the lines of a list; text with "40 neon" in its second line looks like one.
const LISTS: Lists = Lists {
    read: |name, bytes| listed(name, &String::from_utf8_lossy(bytes)),
    read_text: |text| listed("pasted text", text),
    looks_like: |text| text.contains("\n40 neon"),
};

fn listed(file: &str, text: &str) -> PackingList {
    let lines: Vec<ListLine> = Vec::new();
    let total_qty = u64::try_from(text.lines().count()).expect("few lines");
    PackingList { file: file.to_string(), lines, total_qty, ..PackingList::default() }
}

fn played(text: &str) -> Played {
    let script = parse(text).expect("the script is well formed");
    play(&script, Path::new("."), LISTS, |_, clock, people| Ok(Echo::new(clock, people))).expect("it begins")
}

fn unreadable(text: &str) -> String {
    parse(text).expect_err("the script is wrong").to_string()
}

#[test]
fn a_night_shows_who_said_what_and_what_was_answered() {
    let night = played(
        "# An invented night.\nzone: Europe/London\ndate: 2026-07-01\nlead: dee\nbuyer: sam for Reef & River\nguest: kit\n\n\
         22:10 dee: 7.2 36 ok\n22:11 dee edits: 7.2 35 ok\n22:12 dee: ask\n22:13 dee presses: As listed\n\
         22:14 dee presses: 1\n22:15 dee replies to \"36 ok\": ok\n22:16 sam: what's for sale\n22:17 kit: hello\n\
         22:18 dee sends list:\n    Box 7\n\n    40 neon tetra\n22:19 dee: a\n    40 neon\n22:20 dee sends photo: c.jpg crushed box\n\
         22:21 dee in Reef & River: hi\n    there\n",
    );
    assert!(night.broken.is_none(), "{:?}", night.broken);
    assert_snapshot!(night.chat(), @r#"
    # An invented night.
    date: 2026-07-01

    22:10 dee: 7.2 36 ok
      > dee: 7.2 36 ok
    22:11 dee edits: 7.2 35 ok
      > dee changes rehearsal 8: 7.2 35 ok
    22:12 dee: ask
      > dee: ask
      | [1] short  [2] as listed
    22:13 dee presses: As listed
      > dee answers 7: 1
    22:14 dee presses: 1
      > dee answers 7: 0
    22:15 dee replies to "36 ok": ok
      > dee: ok re [Box { number: 1 }]
    22:16 sam: what's for sale
      > (Reef & River) sam: what's for sale
    22:17 kit: hello
    22:18 dee sends list:
        Box 7

        40 neon tetra
      > dee lists 3 of pasted text
    22:19 dee: a
        40 neon
      > dee lists 2 of pasted text
    22:20 dee sends photo: c.jpg crushed box
      > dee shows c.jpg: crushed box
    22:21 dee in Reef & River: hi
        there
      > (Reef & River) dee: hi
      | there
    "#);
}

#[test]
fn what_is_due_between_two_lines_is_said_at_its_own_time() {
    let night = played("date: 2026-03-02\nlead: dee\n22:00 dee: wake 19830\n\n# The morning.\n06:00 dee: morning\n");
    assert_snapshot!(night.script(), @r"
    date: 2026-03-02
    lead: dee
    22:00 dee: wake 19830
      > dee: wake 19830
    03:30 the clock
      > it is 03 03:30:30

    # The morning.
    06:00 dee: morning
      > dee: morning
    ");
    let again = played(&night.script());
    assert_eq!(again.differences, Vec::new());
    assert_eq!(again.script(), night.script());
}

#[test]
fn a_leap_of_days_says_what_is_due_on_each() {
    let night = played(
        "date: 2026-03-02\nlead: dee\n22:00 dee: wake 3600\n22:00 dee: wake 93600\ndate: 2026-03-05\n08:00 dee: morning\n",
    );
    assert_snapshot!(night.script(), @r"
    date: 2026-03-02
    lead: dee
    22:00 dee: wake 3600
      > dee: wake 3600
    22:00 dee: wake 93600
      > dee: wake 93600
    23:00 the clock
      > it is 02 23:00:00
    date: 2026-03-04
    00:00 the clock
      > it is 04 00:00:00
    date: 2026-03-05
    08:00 dee: morning
      > dee: morning
    ");
    assert_eq!(played(&night.script()).differences, Vec::new());
}

#[test]
fn the_clock_skips_the_hour_that_summer_time_takes() {
    let night = played("zone: Europe/London\ndate: 2026-03-29\nlead: dee\n00:30 dee: wake 3600\n03:00 dee: ok\n");
    assert!(night.script().contains("\n02:30 the clock\n  > it is 29 01:30:00\n"), "{}", night.script());
    let script = parse("zone: Europe/London\ndate: 2026-03-29\nlead: dee\n01:30 dee: ok\n").expect("well formed");
    let error =
        play(&script, Path::new("."), LISTS, |_, clock, people| Ok(Echo::new(clock, people))).expect_err("no time");
    assert_eq!(error.to_string(), "line 4: 01:30:00 does not exist on 2026-03-29 in Europe/London");
}

#[test]
fn replies_as_written_are_no_difference() {
    let night = played("lead: dee\n22:10 dee: one\n  > dee: one\n22:11 dee: chatter\n");
    assert_eq!(night.differences, Vec::new());
}

#[test]
fn a_reply_other_than_written_is_shown_with_its_line() {
    let night = played(
        "lead: dee\n22:10 dee: one\n    two\n  > dee: one\n  | three\n22:11 dee: chatter\n  > dee: chatter\n22:12 dee: more\n",
    );
    let shown: String = night.differences.iter().map(|difference| difference.to_string()).collect();
    assert_snapshot!(shown, @r"
    line 5: 22:10 dee: one
        two
     expected
      > dee: one
      | three
     found
      > dee: one
      | two
    line 7: 22:11 dee: chatter
     expected
      > dee: chatter
     found
      (nothing)
    line 8: 22:12 dee: more
     expected
      (nothing)
     found
      > dee: more
    ");
}

#[test]
fn a_reminder_that_is_not_written_is_a_difference() {
    let night = played("lead: dee\n22:10 dee: wake 600\n  > dee: wake 600\n22:40 dee: chatter\n");
    let shown: String = night.differences.iter().map(|difference| difference.to_string()).collect();
    assert_snapshot!(shown, @r"
    line 2: after it, 22:20 the clock
     expected
      (nothing)
     found
      > it is 02 22:20:00
    ");
}

#[test]
fn a_script_without_replies_is_only_played() {
    assert_eq!(played("lead: dee\n22:10 dee: one\n").differences, Vec::new());
}

#[test]
fn what_cannot_be_done_stops_the_night_and_names_the_line() {
    let broken = |line: &str| {
        let night = played(&format!("lead: dee\n22:10 dee: ask\n22:11 {line}\n22:12 dee: more\n"));
        assert!(night.script().ends_with("22:12 dee: more\n"), "what was found so far and the rest as written");
        format!("{:#}", night.broken.expect("the night is broken"))
    };
    assert_snapshot!(broken("dee presses: long"), @r#"line 3: there is no button "long""#);
    assert_snapshot!(broken("dee replies to \"A12\": ok"), @r#"line 3: no line of the assistant holds "A12""#);
    assert!(broken("dee sends file: no-such-file.csv").starts_with("line 3: ./no-such-file.csv cannot be read"));
}

#[test]
fn settings_of_the_script_are_those_of_the_settings_file() {
    let script = parse("lead: dee\nset: looks.tray = 45\n\nset: looks.nudge = 5\n").expect("well formed");
    let error =
        play(&script, Path::new("."), LISTS, |_, clock, people| Ok(Echo::new(clock, people))).expect_err("no key");
    assert_eq!(error.to_string(), "line 4: there is no setting `looks.nudge`");
}

#[test]
fn a_line_that_cannot_be_read_is_named_with_what_was_expected() {
    assert_snapshot!(unreadable("hello"), @r##"line 1: expected a time ("22:10 ana: 7.2 36 ok"), a head line ("crew: ana"), or a comment ("# …")"##);
    assert_snapshot!(unreadable("zone: London"), @r#"line 1: expected the name of a time zone, like Europe/London, found "London""#);
    assert_snapshot!(unreadable("date: 2.3.26"), @r#"line 1: expected a date, like 2026-03-02, found "2.3.26""#);
    assert_snapshot!(unreadable("crew: ana,"), @r#"line 1: expected names, like "ana, ben" or "sam for Reef & River""#);
    assert_snapshot!(unreadable("crew: ana\nlead: ana"), @r#"line 2: "ana" has a line already"#);
    assert_snapshot!(unreadable("crew: ana\n25:10 ana: hi"), @r#"line 2: expected a time, like 22:10, found "25:10""#);
    assert_snapshot!(unreadable("crew: ana\n22:10 ana hi"), @r#"line 2: expected "the clock", or somebody and a colon, like "ana: 7.2 36 ok""#);
    assert_snapshot!(unreadable("crew: anna\n22:10 ana: hi"), @r#"line 2: nobody is called "ana" in the head of the script; did you mean "anna"?"#);
    assert_snapshot!(unreadable("22:10 ana: hi"), @r#"line 1: nobody is called "ana" in the head of the script; a line "crew: ana" would do"#);
    assert_snapshot!(unreadable("crew: ana\n22:10 ana:"), @"line 2: expected words behind the colon");
    assert_snapshot!(unreadable("crew: ana\n\n22:10 ana sends list:\n22:11 ana: hi"), @"line 3: expected words behind the colon");
    assert_snapshot!(unreadable("crew: ana\n22:10 ana replies to \"x: hi"), @r#"line 2: expected quoted words and a colon, like: ana replies to "A12": ok"#);
    assert_snapshot!(unreadable("crew: ana\n  > hi"), @"line 2: expected a time above this line");
    assert_snapshot!(unreadable("crew: ana\n22:10 ana: hi\n  | hi"), @r#"line 3: expected a reply ("  > …") above this line"#);
    assert_snapshot!(unreadable("crew: ana\n22:10 ana: hi\ncrew: ben"), @"line 3: expected this line before the first time");
}

#[test]
fn the_sample_night_passes_as_it_is_written() {
    let night = played(SAMPLE_NIGHT);
    assert_eq!(print(&parse(SAMPLE_NIGHT).expect("well formed")), SAMPLE_NIGHT);
    assert!(night.broken.is_none());
}

fn name() -> impl Strategy<Value = String> {
    "[a-z]{3}( [A-Z&][a-z]{1,3})?".prop_map(|name| name.replace(" in ", "").replace(" for ", ""))
}

fn words() -> impl Strategy<Value = String> {
    let line = "[!-~éž][ -~éž]{0,12}[!-~é]|[!-~]";
    (line, prop::collection::vec(prop_oneof![Just(String::new()), line.prop_map(String::from)], 0..3), line)
        .prop_map(|(first, middle, last)| [vec![first], middle, vec![last]].concat().join("\n"))
}

fn one_line() -> impl Strategy<Value = String> {
    "[!-~é][ -~é]{0,12}[!-~é]"
}

fn spoken() -> impl Strategy<Value = Spoken> {
    prop_oneof![
        words().prop_map(Spoken::Says),
        words().prop_map(Spoken::Edits),
        ("[a-z0-9 :.']{1,8}", words()).prop_map(|(to, text)| Spoken::Replies { to, text }),
        one_line().prop_map(Spoken::Presses),
        words().prop_map(Spoken::List),
        one_line().prop_map(Spoken::File),
        one_line().prop_map(Spoken::Photo),
    ]
}

prop_compose! {
    fn entry(names: Vec<String>)(
        minute in 0..1440_u32,
        who in prop::option::weighted(0.8, (prop::sample::select(names), prop::option::of(name()), spoken())),
        bodies in prop::collection::vec(prop::collection::vec(prop_oneof![Just(String::new()), one_line()], 1..3), 0..3),
    ) -> Line {
        let part = match who {
            Some((name, chat, spoken)) => Part::Person { name, chat, spoken },
            None => Part::Clock,
        };
        let at = NaiveTime::from_hms_opt(minute / 60, minute % 60, 0).expect("a minute of the day");
        Line::Entry(Entry { at, part, replies: bodies.into_iter().map(|body| Reply { line: 0, body }).collect() })
    }
}

prop_compose! {
    fn a_script()(names in prop::collection::btree_set(name(), 1..4))(
        lines in prop::collection::vec(prop_oneof![
            1 => Just(Line::Blank),
            1 => one_line().prop_map(Line::Comment),
            1 => (0..40_u64).prop_map(|day| Line::Date(NaiveDate::default() + chrono::Days::new(day))),
            5 => entry(names.iter().cloned().collect()),
        ], 0..12),
        firm in prop::option::of(name()),
        chat in prop::option::of(name()),
        role in prop::sample::select(vec![None, Some(Role::Crew), Some(Role::Buyer)]),
        names in Just(names),
    ) -> Script {
        let cast = names.into_iter().map(|name| Cast { name, firm: firm.clone(), chat: chat.clone() }).collect();
        let head = [
            Line::Zone(chrono_tz::Asia::Singapore),
            Line::Set("looks.tray = 45".to_string()),
            Line::People(role, cast),
        ];
        Script { lines: head.into_iter().chain(lines).map(|line| (0, line)).collect() }
    }
}

/// The script without the numbers of its lines.
fn unnumbered(mut script: Script) -> Script {
    for (number, line) in &mut script.lines {
        *number = 0;
        if let Line::Entry(entry) = line {
            entry.replies.iter_mut().for_each(|reply| reply.line = 0);
        }
    }
    script
}

proptest! {
    #[test]
    fn a_printed_script_is_read_as_the_same_script(script in a_script()) {
        let text = print(&script);
        let read = parse(&text);
        prop_assert_eq!(read.map(unnumbered), Ok(script), "{}", text);
    }

    #[test]
    fn no_text_makes_the_parser_panic(text in "(crew: a\n)?([0-9]{2}:[0-9]{2} a( edits)?: ?x?\n|  >|  \\||    y|\n|é| |#|:|[a-z]){0,12}") {
        let _ = parse(&text);
    }
}
