use chrono::DateTime;
use proptest::prelude::*;
use proptest::strategy::ValueTree;

use super::samples::{frame, frames, names_in, outgoing, state_of};
use super::*;
use crate::consignment::{BoxKey, BoxRecord, ConsignmentNo};
use crate::journal::{Cause, CauseKind, Event, Speaker};
use crate::message::{Act, Place, Said};

fn opened() -> Frame {
    let at = DateTime::from_timestamp(1_800_000_000, 0).unwrap();
    Frame {
        seq: 7,
        at,
        cause: Cause {
            key: "chat:41".to_owned(),
            kind: CauseKind::Message,
            speaker: Some(Speaker { chat: "night".to_owned(), topic: None, person: "mika".to_owned() }),
            said_at: at,
            acts: vec![Said::from(Act::Open { at: Place::Box { number: 7 } })],
            dialogue_before: None,
            unread: Vec::new(),
            asked_about: None,
        },
        events: vec![Event::BoxSet {
            key: BoxKey { consignment: ConsignmentNo(1), number: 7 },
            to: Some(BoxRecord { opened: Some(at), ..BoxRecord::default() }),
        }],
        outgoing: Vec::new(),
    }
}

#[test]
fn a_frame_is_one_line_of_json_that_leaves_out_what_is_none() {
    insta::assert_snapshot!(line(&opened(), "00ff"), @r#"{"seq":7,"prev":"00ff","at":"2027-01-15T08:00:00Z","cause":{"key":"chat:41","kind":"message","speaker":{"chat":"night","person":"mika"},"said_at":"2027-01-15T08:00:00Z","acts":[{"act":"open","at":{"box":7}}]},"events":[{"event":"box_set","v":1,"key":{"consignment":1,"number":7},"to":{"contents":[],"opened":"2027-01-15T08:00:00Z","standing":"expected","pinned":false}}],"outgoing":[]}"#);
}

#[test]
fn an_unknown_event_is_an_error_that_names_it() {
    let newer = line(&opened(), "").replace("\"box_set\"", "\"box_weighed\"");
    let error = read_line(&newer).unwrap_err();
    assert_eq!(error, Unreadable::UnknownEvent { event: "box_weighed".to_owned(), version: 1 });
}

#[test]
fn an_unknown_version_of_an_event_is_an_error_that_names_it() {
    let newer = line(&opened(), "").replace("\"v\":1", "\"v\":2");
    let error = read_line(&newer).unwrap_err();
    assert_eq!(error, Unreadable::UnknownEvent { event: "box_set".to_owned(), version: 2 });
    assert_eq!(error.to_string(), "event \"box_set\" version 2 is not known to this program; a newer one wrote it");
}

#[test]
fn an_unknown_event_inside_a_withdrawal_is_named_too() {
    let mut frame = opened();
    frame.events = vec![Event::Withdrawn { frame: 3, undone: frame.events }];
    let newer = line(&frame, "").replace("\"box_set\"", "\"box_weighed\"");
    assert!(matches!(read_line(&newer), Err(Unreadable::UnknownEvent { event, .. }) if event == "box_weighed"));
}

#[test]
fn a_field_that_is_not_known_is_an_error_and_never_dropped() {
    let newer = line(&opened(), "").replace("\"pinned\":false", "\"pinned\":false,\"weight\":3");
    assert!(matches!(read_line(&newer), Err(Unreadable::Malformed(_))));
}

#[test]
fn every_kind_of_event_is_drawn_and_is_among_the_known() {
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let mut drawn = std::collections::BTreeMap::new();
    for _ in 0..200 {
        drawn.extend(names_in(&[frame().new_tree(&mut runner).unwrap().current()]));
    }
    let mut known: Vec<(&str, u64)> = event::KNOWN.iter().map(|(name, v)| (*name, u64::from(*v))).collect();
    known.sort_unstable();
    assert_eq!(drawn.iter().map(|(name, v)| (name.as_str(), *v)).collect::<Vec<_>>(), known);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn a_frame_reads_back_as_it_was_written(frame in frame()) {
        let text = line(&frame, "00ff");
        prop_assert!(!text.contains('\n'));
        let linked = read_line(&text).unwrap();
        prop_assert_eq!(&line(&linked.frame, &linked.prev), &text);
        prop_assert_eq!(linked, Linked { frame, prev: "00ff".to_owned(), hash: None });
    }

    #[test]
    fn an_outgoing_message_reads_back_as_it_was_written(message in outgoing()) {
        prop_assert_eq!(read_outgoing(&super::outgoing(&message)).unwrap(), message);
    }

    #[test]
    fn a_restored_state_is_the_state_the_snapshot_was_taken_of(frames in frames(12)) {
        let state = state_of(&frames);
        prop_assert_eq!(restore(&snapshot(&state)).unwrap(), state);
    }

    #[test]
    fn a_restored_state_goes_on_like_the_one_it_was_taken_of(frames in frames(12), cut in 0_usize..12) {
        let cut = cut.min(frames.len());
        let mut restored = restore(&snapshot(&state_of(&frames[..cut]))).unwrap();
        for frame in &frames[cut..] {
            restored.apply(frame);
        }
        prop_assert_eq!(restored, state_of(&frames));
    }

    #[test]
    fn no_text_makes_reading_panic(text in ".{0,200}") {
        let _ = read_line(&text);
        let _ = restore(text.as_bytes());
    }
}
