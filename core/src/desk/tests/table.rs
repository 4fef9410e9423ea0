//! Every act at every kind of place by every role: what comes of it, written out without a blank.
//!
//! R recorded, Q asked back, A answered, - silence; a refusal by its first letters: no power, NT not there, WK wrong
//! kind of place, NB no such box or lot, NR not ready, NC not cleared, TF too few cleared, NU nothing to undo, NP
//! nothing to put off, SB no such buyer, AO already opened, CA cleared already.

use super::night::Night;
use crate::desk::Refusal;
use crate::journal::Event;

/// The kinds of place: a box of three bags, a box of one, a bag, a tray, a tank, a lot, none.
const PLACES: [&str; 7] = ["7", "8", "7.1", "tray 1", "A2", "lot 1", ""];

/// Who says it, in the order of the columns: crew, lead, office, buyer, stranger.
const ROLES: [&str; 5] = ["ana", "lea", "olga", "rita", "mallory"];

/// A house with everything the table needs: box 12 in tray 1, box 9's neons in A2 as lot 1, cleared.
fn house() -> Night {
    let mut night = Night::with_a_list();
    for text in ["12 into tray 1", "9.2 50 ok", "9.2 into A2", "A2 all good, eating"] {
        night.says("ana", text);
    }
    night.says("lea", "clear lot 1 anyway the buyer waits");
    // The words spoken so far are not to be carried into the table's.
    night.pause(60);
    night
}

fn outcome(night: &Night) -> &'static str {
    if let Some(refusal) = night.last.refusals.first() {
        return match refusal {
            Refusal::MayNot { .. } => "no",
            Refusal::NotThere { .. } => "NT",
            Refusal::ClearedAlready { .. } => "CA",
            Refusal::WrongKindOfPlace { .. } => "WK",
            Refusal::NoSuchBox { .. } | Refusal::NoSuchLot { .. } => "NB",
            Refusal::NotReady { .. } => "NR",
            Refusal::NotCleared { .. } => "NC",
            Refusal::TooFewCleared { .. } => "TF",
            Refusal::NothingToUndo => "NU",
            Refusal::NothingToPutOff => "NP",
            Refusal::NoSuchBuyer { .. } => "SB",
            Refusal::AlreadyOpened { .. } => "AO",
            Refusal::AlreadyThere { .. } => "AT",
            other => panic!("{other:?}"),
        };
    }
    let recorded = night
        .last
        .events
        .iter()
        .any(|event| !matches!(event, Event::Heard { .. } | Event::QuestionSet { .. } | Event::PersonSet { .. }));
    let asked = night.last.events.iter().any(|event| match event {
        Event::Heard { dialogue, .. } => dialogue.question.is_some(),
        _ => false,
    });
    match (recorded, asked, night.last.outgoing.is_empty()) {
        (true, _, _) => "R",
        (false, true, _) => "Q",
        (false, false, false) => "A",
        (false, false, true) => "-",
    }
}

/// The acts as typed, `@` being the place.
const ACTS: [(&str, &str); 19] = [
    ("arrive", "@ boxes in the door"),
    ("open", "opening @"),
    ("done", "@ done"),
    ("count", "@ 2 dead"),
    ("reading", "@ ph 6.4"),
    ("swap", "@ wc 30%"),
    ("dose", "5 ml dechlor @"),
    ("move", "@ into A3"),
    ("observe", "@ gasping"),
    ("recheck", "look at @ again in 20 min"),
    ("hold", "hold @ 48h"),
    ("clear", "@ is clear"),
    ("reserve", "5 neon tetra from @ for Reef & River"),
    ("ship", "@ shipped to Reef & River"),
    ("later", "@ give me 20 min"),
    ("note", "note @ carton crushed"),
    ("ask", "how's @"),
    ("undo", "undo @"),
    ("vessels", "tanks C1-C3 90 L"),
];

/// A row for each act, a group for each place, a cell for each role.
const TABLE: &str = "\
arrive   | R  R  R  no -  | R  R  R  no -  | -  -  -  no -  | -  -  -  -  -  | -  -  -  -  -  | -  -  -  -  -  | R  R  R  no -
open     | R  R  no -  -  | R  R  no -  -  | R  R  no Q  -  | -  -  -  -  -  | -  -  -  -  -  | -  -  -  -  -  | -  -  -  -  -
done     | Q  Q  no -  -  | Q  Q  no -  -  | -  -  -  -  -  | -  -  -  -  -  | -  -  -  -  -  | -  -  -  -  -  | -  -  -  -  -
count    | R  R  no Q  -  | R  R  no Q  -  | R  R  no Q  -  | R  R  no Q  -  | R  R  no Q  -  | R  R  no no -  | Q  Q  Q  Q  -
reading  | R  R  no Q  -  | R  R  no Q  -  | R  R  no Q  -  | R  R  no Q  -  | R  R  no Q  -  | R  R  no no -  | Q  Q  Q  Q  -
swap     | R  R  no Q  -  | R  R  no Q  -  | R  R  no Q  -  | R  R  no Q  -  | R  R  no Q  -  | R  R  no no -  | Q  Q  Q  Q  -
dose     | Q  Q  Q  Q  -  | Q  Q  Q  Q  -  | Q  Q  Q  Q  -  | R  R  no Q  -  | R  R  no Q  -  | R  R  no no -  | Q  Q  Q  Q  -
move     | R  R  no Q  -  | R  R  no Q  -  | R  R  no Q  -  | R  R  no Q  -  | R  R  no Q  -  | R  R  no Q  -  | Q  Q  no Q  -
observe  | Q  Q  Q  Q  -  | Q  Q  Q  Q  -  | R  R  no Q  -  | R  R  no Q  -  | R  R  no Q  -  | R  R  no no -  | Q  Q  Q  Q  -
recheck  | R  R  no Q  -  | R  R  no Q  -  | R  R  no Q  -  | R  R  no Q  -  | R  R  no Q  -  | R  R  no no -  | Q  Q  Q  Q  -
hold     | NT NT NT Q  -  | NT NT NT Q  -  | NT NT NT Q  -  | NT NT NT Q  -  | R  R  R  Q  -  | R  R  R  no -  | Q  Q  Q  Q  -
clear    | Q  Q  Q  -  -  | Q  Q  Q  -  -  | Q  Q  Q  Q  -  | Q  Q  Q  Q  -  | no CA no Q  -  | no CA no no -  | -  -  -  -  -
reserve  | R  R  R  R  -  | R  R  R  R  -  | TF TF TF R  -  | TF TF TF Q  -  | R  R  R  Q  -  | R  R  R  R  -  | R  R  R  R  -
ship     | R  R  R  -  -  | R  R  R  -  -  | WK WK WK -  -  | WK WK WK -  -  | R  R  R  -  -  | R  R  R  -  -  | -  -  -  -  -
later    | -  -  -  -  -  | -  -  -  -  -  | -  -  -  -  -  | -  -  -  -  -  | -  -  -  -  -  | -  -  -  -  -  | NP NP no no -
note     | R  R  R  no -  | R  R  R  no -  | R  R  R  no -  | R  R  R  Q  -  | R  R  R  Q  -  | R  R  R  no -  | R  R  R  no -
ask      | A  A  A  -  -  | A  A  A  -  -  | A  A  A  -  -  | A  A  A  -  -  | A  A  A  -  -  | A  A  A  A  -  | -  -  -  -  -
undo     | Q  Q  NU NU -  | Q  Q  NU NU -  | Q  Q  NU NU -  | Q  Q  NU NU -  | Q  Q  NU NU -  | Q  Q  NU NU -  | Q  Q  NU NU -
vessels  | R  R  no no -  | R  R  no no -  | R  R  no no -  | R  R  no no -  | R  R  no no -  | R  R  no no -  | R  R  no no -
";

#[test]
fn every_act_at_every_place_by_every_role_comes_out_as_written() {
    let house = house();
    let mut table = String::new();
    for (name, text) in ACTS {
        let mut row = format!("{name:8}");
        for place in PLACES {
            row += " |";
            for role in ROLES {
                let mut night = house.clone();
                let words = text.replace('@', place);
                night.says(role, words.trim());
                row += &format!(" {:2}", outcome(&night));
            }
        }
        table += row.trim_end();
        table.push('\n');
    }
    assert_eq!(table.lines().count(), ACTS.len());
    assert_eq!(table, TABLE);
}

#[test]
fn a_stranger_changes_and_learns_nothing_and_a_buyer_nothing_of_the_house() {
    for row in TABLE.lines() {
        for group in row.split('|').skip(1) {
            let cells: Vec<&str> = group.split_whitespace().collect();
            assert_eq!(cells.len(), ROLES.len(), "{row}");
            assert_eq!(cells[4], "-", "{row}");
            // "lot 1 2 dead" of a buyer is read as a wish for two of lot 1: its own reservation, like any other.
            let own = row.starts_with("reserve") || row.starts_with("count");
            assert!(own || cells[3] != "R", "{row}");
        }
    }
}
