use chrono_tz::Europe;
use proptest::prelude::*;

use super::{fault, lines};
use crate::desk::Refusal;
use crate::message::Place;
use crate::people::Power;
use crate::say::refusal::words;

fn a12() -> Place {
    Place::Tank { tank: "A12".into() }
}

fn tray() -> Place {
    Place::Tray { tray: "3".into() }
}

fn bag() -> Place {
    Place::Bag { number: 7, bag: 2 }
}

fn said(refusals: impl IntoIterator<Item = Refusal>) -> String {
    lines(refusals.into_iter().map(|refusal| words(&refusal, Europe::London)))
}

/// A variant that is new is added to the snapshots below, then here.
fn is_below(refusal: &Refusal) {
    match refusal {
        Refusal::MayNot { .. }
        | Refusal::NoSuchBox { .. }
        | Refusal::NoSuchLot { .. }
        | Refusal::WrongKindOfPlace { .. }
        | Refusal::NotThere { .. }
        | Refusal::NoSuchFish { .. }
        | Refusal::WhichFish { .. }
        | Refusal::FewerDead { .. }
        | Refusal::OtherConsignment { .. }
        | Refusal::AlreadyThere { .. }
        | Refusal::NotHere { .. }
        | Refusal::AlreadyOpened { .. }
        | Refusal::NothingToPassOn
        | Refusal::NotReady { .. }
        | Refusal::ClearedAlready { .. }
        | Refusal::NotCleared { .. }
        | Refusal::TooFewCleared { .. }
        | Refusal::NoSuchBuyer { .. }
        | Refusal::NothingToUndo
        | Refusal::NothingInLine
        | Refusal::UndoByReply { .. }
        | Refusal::StandsInTheWay { .. }
        | Refusal::FishMovedOn
        | Refusal::OnlyTheHouse
        | Refusal::NothingToFix { .. }
        | Refusal::NothingToPutOff
        | Refusal::AlreadyImported { .. }
        | Refusal::NoListAtHand
        | Refusal::NothingOnList { .. }
        | Refusal::PastTime { .. }
        | Refusal::NoSuchPerson { .. }
        | Refusal::LastLead => {}
    }
}

#[test]
fn who_may_not_is_told_whom_to_ask() {
    is_below(&Refusal::LastLead);
    insta::assert_snapshot!(said(Power::ALL.iter().map(|power| Refusal::MayNot { power: *power })), @r"
    You may not record counts, water, signs and doses. Ask a lead.
    You may not record arrival, delay and notes. Ask a lead.
    You may not move fish. Ask a lead.
    You may not open and finish boxes. Ask a lead.
    You may not import a packing list. Ask a lead.
    You may not correct a packing list. Ask a lead.
    You may not declare tanks, trays and other vessels. Ask a lead.
    You may not put a box first in the opening order. Ask a lead.
    You may not put a look off. Ask a lead.
    You may not hold fish from sale. Ask a lead.
    You may not clear fish for sale. Ask a lead.
    You may not clear fish against the policy, with a reason. Ask a lead.
    You may not reserve for a buyer. Ask a lead.
    Only a buyer reserves for oneself. Say who they are for: 12 of lot 43 for NAME
    You may not ship fish. Ask a lead.
    You may not set prices. Ask a lead.
    You may not see costs and claims. Ask a lead.
    You may not enrol and remove people. Ask a lead.
    You may not name buyers. Ask a lead.
    You may not take back what one said oneself. Ask a lead.
    You may not take back what others said. Ask a lead.
    You may not ask about anything in the house. Ask a lead.
    You may not ask for cleared stock. Ask a lead.
    ");
}

#[test]
fn what_is_not_known_here_says_how_to_make_it_known() {
    insta::assert_snapshot!(said([
        Refusal::NoSuchBox { number: 9 },
        Refusal::NoSuchLot { number: 44 },
        Refusal::NoSuchFish { at: Some(a12()), species: "clown loach".into() },
        Refusal::NoSuchFish { at: None, species: "clown loach".into() },
        Refusal::WhichFish { at: a12() },
        Refusal::NoSuchBuyer { name: Some("Blue Door".into()) },
        Refusal::NoSuchBuyer { name: None },
        Refusal::NoSuchPerson { name: "ben".into() },
        Refusal::LastLead,
    ]), @r"
    No box 9 on an open list. Check the number, or send its packing list. Without one: box 9 no list
    No lot 44 here. Check the number, or name the tank.
    No clown loach in A12 by the books. To see what is there: what's in A12?
    No clown loach in an opened box or tray. Say where they are from.
    The books have no fish in A12. Say which they are, like: A12 40 neon tetra alive
    No buyer Blue Door here. Add it: buyer Blue Door
    Not recorded: no buyer was named. Say it again with the buyer's name.
    Nobody called ben is enrolled. Check the spelling.
    That is the only lead, and a house needs one. First: enrol NAME as lead
    ");
}

#[test]
fn too_few_fish_are_refused_with_the_arithmetic() {
    let not_there = |at, species: Option<&str>, there, asked, promised| Refusal::NotThere {
        at,
        species: species.map(str::to_owned),
        there,
        asked,
        promised,
    };
    insta::assert_snapshot!(said([
        not_there(a12(), None, 0, 0, 0),
        not_there(a12(), Some("clown loach"), 0, 0, 12),
        not_there(tray(), None, 24, 0, 0),
        not_there(a12(), Some("clown loach"), 24, 30, 12),
        not_there(bag(), None, 1, 2, 0),
        not_there(bag(), None, 0, 2, 0),
        Refusal::FewerDead { at: bag(), dead: 2, revived: 3 },
        Refusal::TooFewCleared { species: "clown loach".into(), free: 24, asked: 30 },
        Refusal::TooFewCleared { species: "clown loach".into(), free: 1, asked: 2 },
        Refusal::TooFewCleared { species: "clown loach".into(), free: 0, asked: 12 },
        Refusal::TooFewCleared { species: "clown loach".into(), free: 24, asked: 0 },
    ]), @r"
    No fish in A12 for that by the books. To see what is there: what's in A12?
    No clown loach in A12 for that by the books, 12 more are reserved. To see what is there: what's in A12?
    24 fish in tray 3 by the books. Say how many.
    30 asked, 24 clown loach in A12 by the books, 12 more are reserved: 6 too many. Say fewer, or count them again first.
    2 asked, 1 fish in 7.2 by the books: 1 too many. Say fewer, or count them again first.
    2 asked, 0 fish in 7.2 by the books: 2 too many. Say fewer, or count them again first.
    7.2 has 2 dead in the books, so 3 cannot have come round. Count the dead again and tell me.
    30 clown loach asked, 24 are free for sale. Ask for 24 or fewer, or wait until more are cleared.
    2 clown loach asked, 1 is free for sale. Ask for 1, or wait until more are cleared.
    No clown loach are free for sale right now. Buyers hear when some are cleared.
    Not reserved: say how many clown loach you want. 24 are free for sale.
    ");
}

#[test]
fn what_cannot_be_done_there_says_where_it_can() {
    insta::assert_snapshot!(said([
        Refusal::WrongKindOfPlace { at: tray(), wanted: "a tank, a lot or an unopened box" },
        Refusal::OtherConsignment { to: Place::Box { number: 9 } },
        Refusal::AlreadyThere { at: a12() },
        Refusal::NotHere { number: 12, standing: "late" },
        Refusal::AlreadyOpened { number: 7 },
        Refusal::NothingToPassOn,
        Refusal::PastTime { said: "2026-03-02T06:00".into() },
        Refusal::PastTime { said: "25:00".into() },
    ]), @r"
    Tray 3 is not a tank, a lot or an unopened box. Name a tank, a lot or an unopened box.
    Box 9 belongs to another consignment. Put them into a tray or tank instead.
    They are in A12 already, nothing moved. Say where they went.
    Box 12 is late. If it is in your hands: box 12 here
    Box 7 was opened already, so it stays as it is. Count and move its fish instead.
    No unopened box is left to pass on. Nothing recorded.
    2026-03-02 06:00 is past, or no time I know. Say a time to come, like 06:30.
    25:00 is past, or no time I know. Say a time to come, like 06:30.
    ");
}

#[test]
fn fish_that_are_not_ready_say_what_is_met_and_what_is_not() {
    insta::assert_snapshot!(said([
        Refusal::NotReady { at: a12(), unmet: vec!["not seen feeding yet".into()], met: Vec::new() },
        Refusal::NotReady {
            at: Place::Lot { lot: 43 },
            unmet: vec!["rested 12 h of 48 h".into(), "nobody has looked yet".into()],
            met: vec!["36 fish counted".into(), "0 of 36 fish died in 48 h".into()],
        },
        Refusal::NotCleared { at: a12(), cleared: 0, asked: 0 },
        Refusal::NotCleared { at: a12(), cleared: 12, asked: 0 },
        Refusal::NotCleared { at: a12(), cleared: 12, asked: 24 },
        Refusal::NotCleared { at: a12(), cleared: 0, asked: 24 },
        Refusal::ClearedAlready { at: a12(), fish: 36 },
    ]), @r"
    A12 is not ready. Not met: not seen feeding yet. To go past it, a lead types: clear A12 anyway, REASON
    Lot 43 is not ready. Not met: rested 12 h of 48 h; nobody has looked yet. Met: 36 fish counted; 0 of 36 fish died in 48 h. To go past it, a lead types: clear lot 43 anyway, REASON
    Not shipped: 0 in A12 cleared or reserved for them. A lead clears first: clear A12
    Not shipped: 12 in A12 cleared or reserved for them. A lead clears first: clear A12
    Not shipped: 24 asked, 12 in A12 cleared or reserved for them, 12 too many. Ship fewer, or a lead clears more first.
    Not shipped: 24 asked, 0 in A12 cleared or reserved for them, 24 too many. Ship fewer, or a lead clears more first.
    A12 is cleared already: 36 for sale or reserved.
    ");
}

#[test]
fn what_cannot_be_taken_back_says_what_stands_in_the_way() {
    insta::assert_snapshot!(said([
        Refusal::NothingToUndo,
        Refusal::NothingInLine,
        Refusal::UndoByReply { name: "ana".into() },
        Refusal::StandsInTheWay {
            at: "2026-07-02T22:10:00Z".parse().unwrap(),
            by: "ana".into(),
            what: "36 from 7.2 into A12".into(),
        },
        Refusal::FishMovedOn,
        Refusal::OnlyTheHouse,
        Refusal::NothingToFix { at: Some(bag()) },
        Refusal::NothingToFix { at: None },
        Refusal::NothingToPutOff,
    ]), @r#"
    Nothing of yours is left to take back. If a number is wrong, tell me the right one.
    Nothing that line recorded is left to take back.
    Which one of ana's? A lead replies to its line with: undo
    Not taken back: at 23:10 ana said "36 from 7.2 into A12", which builds on it. Take that back first.
    Not taken back: those fish have moved on since. Move them back first.
    That has moved on. Please ask the house.
    I have nothing of yours about 7.2 to correct. Say it in full, please.
    I have nothing of yours to correct. Say it in full, please.
    No look is waiting in this chat. To see them all: what's due?
    "#);
}

#[test]
fn a_list_that_is_not_imported_says_why() {
    insta::assert_snapshot!(said([
        Refusal::NoListAtHand,
        Refusal::AlreadyImported { by: "AWB 900-44712080".into() },
        Refusal::NothingOnList { questions: Vec::new() },
        Refusal::NothingOnList { questions: vec!["Row 12: no box is named here or above. Which box is it?".into()] },
    ]), @r"
    There is no list to read again here. Send the file, then say it.
    That list is here already (AWB 900-44712080) and says the same. Nothing changes.
    I found no boxes with fish on that list, so nothing was imported.
    I found no boxes with fish on that list, so nothing was imported.
    ? Row 12: no box is named here or above. Which box is it?
    ");
}

proptest! {
    #[test]
    fn no_arithmetic_makes_a_faulty_refusal(there in 0u32..4, asked in 0u32..4, promised in 0u32..2, named in any::<bool>()) {
        let species = named.then(|| "neon tetra".to_owned());
        for refusal in [
            Refusal::NotThere { at: a12(), species, there, asked, promised },
            Refusal::NotCleared { at: a12(), cleared: there, asked },
            Refusal::TooFewCleared { species: "neon tetra".into(), free: there, asked },
        ] {
            let said = words(&refusal, Europe::London);
            prop_assert_eq!(fault(&said), None, "{:?}", said);
        }
    }
}
