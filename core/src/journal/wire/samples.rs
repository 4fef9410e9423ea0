//! Generators of frames for property tests: any shape the types allow, whether a desk would make it or not.
//! Boxed throughout, because nested unboxed they outgrow a test thread's stack.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, Utc};
use proptest::collection::{btree_map, vec};
use proptest::option::of;
use proptest::prelude::*;
use rust_decimal::Decimal;

use crate::consignment::*;
use crate::journal::*;
use crate::message::{
    Act, AllOf, Carried, Choice, Count, Dialogue, DoseUnit, Place, Question, Said, Sign, Stage, VesselKind, Wanted,
    Water,
};
use crate::people::Role;
use crate::quantity::{Finite, Measure};
use crate::species::Kind;
use crate::stock::{Account, Certainty, Movement, Purse};

/// Frames numbered from 1, some minutes or hours apart.
pub fn frames(most: usize) -> BoxedStrategy<Vec<Frame>> {
    vec((frame(), 0_i64..500_000), 0..most)
        .prop_map(|drawn| {
            let mut at = DateTime::from_timestamp(1_800_000_000, 0).expect("a moment in 2027");
            let mut frames = Vec::new();
            for (nth, (mut frame, later)) in drawn.into_iter().enumerate() {
                at += chrono::Duration::milliseconds(later * 100);
                frame.at = at;
                frame.seq = nth as u64 + 1;
                frames.push(frame);
            }
            frames
        })
        .boxed()
}

/// One frame.
pub fn frame() -> BoxedStrategy<Frame> {
    (any::<u64>(), moment(), cause(), vec(event(), 0..6), vec(outgoing(), 0..3))
        .prop_map(|(seq, at, cause, events, outgoing)| Frame { seq, at, cause, events, outgoing })
        .boxed()
}

fn word() -> BoxedStrategy<String> {
    prop_oneof!["[a-z]{1,3}", "[A-Z][0-9]", Just("neón \"x\"\n".to_owned()), Just(String::new())].boxed()
}

fn moment() -> BoxedStrategy<DateTime<Utc>> {
    (0_i64..4_000_000_000, prop_oneof![Just(0), 0_u32..1_000_000_000])
        .prop_map(|(seconds, nanos)| DateTime::from_timestamp(seconds, nanos).expect("within chrono's years"))
        .boxed()
}

fn finite() -> BoxedStrategy<Finite> {
    prop_oneof![any::<f64>(), (-500_i32..500).prop_map(|tenths| f64::from(tenths) / 10.0)]
        .prop_filter_map("finite", Finite::new)
        .boxed()
}

fn money() -> BoxedStrategy<Decimal> {
    (any::<i64>(), 0_u32..6).prop_map(|(units, scale)| Decimal::new(units, scale)).boxed()
}

fn consignment_no() -> BoxedStrategy<ConsignmentNo> {
    (0_u32..4).prop_map(ConsignmentNo).boxed()
}

fn line_key() -> BoxedStrategy<LineKey> {
    (consignment_no(), 0_u32..4).prop_map(|(consignment, line)| LineKey { consignment, line }).boxed()
}

fn box_key() -> BoxedStrategy<BoxKey> {
    (consignment_no(), 0_u32..5).prop_map(|(consignment, number)| BoxKey { consignment, number }).boxed()
}

fn pack() -> BoxedStrategy<Pack> {
    (box_key(), of(0_u32..4)).prop_map(|(of, bag)| Pack { of, bag }).boxed()
}

fn lot_no() -> BoxedStrategy<LotNo> {
    (0_u32..5).prop_map(LotNo).boxed()
}

/// A place as a message names it.
pub fn place() -> BoxedStrategy<Place> {
    prop_oneof![
        (0_u32..50, 0_u32..9).prop_map(|(number, bag)| Place::Bag { number, bag }),
        (0_u32..50).prop_map(|number| Place::Box { number }),
        word().prop_map(|tray| Place::Tray { tray }),
        word().prop_map(|tank| Place::Tank { tank }),
        (0_u32..50).prop_map(|lot| Place::Lot { lot }),
    ]
    .boxed()
}

fn said() -> BoxedStrategy<Said> {
    (act(), of(Just("03:40".to_owned()))).prop_map(|(act, when)| Said { act, when }).boxed()
}

fn act() -> BoxedStrategy<Act> {
    prop_oneof![
        (of(stage()), of(any::<u32>())).prop_map(|(stage, delay_min)| Act::Arrive { stage, delay_min }),
        place().prop_map(|at| Act::Open { at }),
        count().prop_map(Act::Count),
        reading().prop_map(Act::Reading),
        (place(), word(), of(finite()), of(Just(DoseUnit::FlOz)), any::<bool>())
            .prop_map(|(at, product, amount, unit, fix)| Act::Dose { at, product, amount, unit, fix }),
        (place(), of(place()), of(any::<u32>()), of(word()), any::<bool>())
            .prop_map(|(to, from, count, species, fix)| Act::Move { to, from, count, species, fix }),
        (place(), Just(BTreeSet::from([Sign::Gasping, Sign::WhiteSpot])))
            .prop_map(|(at, signs)| Act::Observe { at, signs }),
        Just(Act::Undo),
        (vec(word(), 0..3), of(vessel_kind()), of(finite()), of(word()))
            .prop_map(|(names, kind, litres, system)| Act::Vessels { names, kind, litres, system }),
    ]
    .boxed()
}

fn count() -> BoxedStrategy<Count> {
    (place(), of(any::<u32>()), of(any::<u32>()), of(Just(AllOf::Dead)), of(word()), any::<bool>())
        .prop_map(|(at, alive, dead, all, species, fix)| Count {
            alive,
            dead,
            all,
            species,
            fix,
            more: fix,
            ..Count::at(at)
        })
        .boxed()
}

fn reading() -> BoxedStrategy<Water> {
    let measure = prop_oneof![Just(Measure::Ph), Just(Measure::TempC), Just(Measure::Nh3MgL), Just(Measure::AlkMgL)];
    (place(), btree_map(measure, finite(), 0..3), any::<bool>())
        .prop_map(|(at, values, over)| Water {
            at,
            over: if over { values.keys().copied().collect() } else { BTreeSet::new() },
            values,
            fix: false,
        })
        .boxed()
}

fn stage() -> BoxedStrategy<Stage> {
    prop_oneof![Just(Stage::Landed), Just(Stage::CustomsCleared), Just(Stage::Collected), Just(Stage::InHouse)].boxed()
}

fn vessel_kind() -> BoxedStrategy<VesselKind> {
    prop_oneof![Just(VesselKind::Tank), Just(VesselKind::Tray), Just(VesselKind::Sump)].boxed()
}

fn question() -> BoxedStrategy<Question> {
    let choice = (word(), vec(word(), 0..2)).prop_map(|(label, words)| Choice { label, words });
    let wanted = prop_oneof![
        Just(Wanted::Place),
        word().prop_map(Wanted::Number),
        Just(Wanted::Unit),
        Just(Wanted::Product),
        vec(choice.clone(), 0..3).prop_map(Wanted::Choice),
        (word(), vec(choice, 0..3)).prop_map(|(field, choices)| Wanted::NumberOr(field, choices)),
    ];
    (any::<u64>(), vec(said(), 0..2), wanted, moment())
        .prop_map(|(id, partial, wanted, expires)| Question { id, partial, wanted, expires })
        .boxed()
}

fn dialogue() -> BoxedStrategy<Dialogue> {
    let carried = (vec(place(), 0..3), moment()).prop_map(|(places, at)| Carried { places, at });
    (of(carried), of(question()), vec(said(), 0..2), vec(said(), 0..2), of(place()))
        .prop_map(|(carried, question, last, earlier, moved_from)| Dialogue {
            carried,
            question,
            tongue: if moved_from.is_some() { "pt".to_owned() } else { String::new() },
            last,
            earlier,
            moved_from,
        })
        .boxed()
}

fn speaker() -> BoxedStrategy<Speaker> {
    (word(), of(word()), word()).prop_map(|(chat, topic, person)| Speaker { chat, topic, person }).boxed()
}

fn outgoing_id() -> BoxedStrategy<OutgoingId> {
    (any::<u64>(), any::<u32>()).prop_map(|(frame, nth)| OutgoingId { frame, nth }).boxed()
}

fn cause() -> BoxedStrategy<Cause> {
    let delivery = prop_oneof![word().prop_map(Delivery::Sent), word().prop_map(Delivery::Parked)];
    let kind = prop_oneof![
        Just(CauseKind::Message),
        word().prop_map(|of| CauseKind::Edit { of }),
        (any::<u64>(), any::<usize>()).prop_map(|(question, choice)| CauseKind::Button { question, choice }),
        Just(CauseKind::Tick),
        word().prop_map(|name| CauseKind::File { name }),
        (outgoing_id(), delivery).prop_map(|(outgoing, outcome)| CauseKind::Delivered { outgoing, outcome }),
        Just(CauseKind::Admin),
    ];
    (word(), kind, of(speaker()), moment(), vec(said(), 0..3), of(dialogue()), vec(word(), 0..3), of(word()))
        .prop_map(|(key, kind, speaker, said_at, acts, dialogue_before, unread, asked_about)| Cause {
            key,
            kind,
            speaker,
            said_at,
            acts,
            dialogue_before,
            unread,
            asked_about,
        })
        .boxed()
}

/// An outgoing message.
pub fn outgoing() -> BoxedStrategy<Outgoing> {
    let class = prop_oneof![Just(Class::Alarm), Just(Class::Look), Just(Class::Answer), Just(Class::Notice)];
    let button =
        (word(), any::<u64>(), any::<usize>()).prop_map(|(label, question, choice)| Button { label, question, choice });
    let head = (outgoing_id(), word(), of(word()), of(word()), class);
    let rest = (any::<bool>(), of(outgoing_id()), word(), vec(button, 0..3), vec(place(), 0..3));
    (head, rest)
        .prop_map(|((id, chat, topic, reply_to, class), (merge, replaces, body, buttons, about))| Outgoing {
            id,
            chat,
            topic,
            reply_to,
            class,
            merge,
            replaces,
            body,
            buttons,
            about,
        })
        .boxed()
}

fn purse() -> BoxedStrategy<Purse> {
    let account = prop_oneof![
        Just(Account::Listed),
        Just(Account::Extra),
        pack().prop_map(Account::Packed),
        word().prop_map(Account::Tray),
        lot_no().prop_map(Account::Held),
        lot_no().prop_map(Account::Cleared),
        (0_u32..4).prop_map(|no| Account::Reserved(ReservationNo(no))),
        lot_no().prop_map(Account::Shipped),
        pack().prop_map(Account::Doa),
        word().prop_map(Account::DaaTray),
        lot_no().prop_map(Account::DaaLot),
        word().prop_map(Account::DaaUndetermined),
        Just(Account::Culled),
        pack().prop_map(Account::Short),
        pack().prop_map(Account::Wrong),
        Just(Account::Unaccounted),
        Just(Account::Returned),
        box_key().prop_map(Account::PassedOn),
    ];
    let certainty = prop_oneof![Just(Certainty::Presumed), Just(Certainty::Counted)];
    (account, certainty).prop_map(|(account, certainty)| Purse { account, certainty }).boxed()
}

fn movement() -> BoxedStrategy<Movement> {
    (line_key(), purse(), purse(), prop_oneof![0_u32..100, any::<u32>()])
        .prop_map(|(line, from, to, count)| Movement { line, from, to, count })
        .boxed()
}

fn consignment() -> BoxedStrategy<Consignment> {
    let line = (word(), word(), kind(), of(word()), of(word()), of(money()), of(any::<u32>())).prop_map(
        |(listed_as, species, kind, scientific, size, unit_price, instead_of)| Line {
            listed_as,
            species,
            kind,
            scientific,
            size,
            unit_price,
            instead_of,
        },
    );
    let head = (word(), of(word()), of(word()), of(word()), of(word()), of(money()));
    let rest = (vec(line, 0..3), btree_map(stage(), moment(), 0..3), of(any::<u32>()), of(moment()));
    (head, rest, any::<bool>(), of(any::<u32>()))
        .prop_map(
            |(
                (supplier, awb, invoice, packed_at, currency, gross_kg),
                (lines, stages, delay_min, finished),
                unlisted,
                announced,
            )| {
                Consignment {
                    supplier,
                    awb,
                    invoice,
                    packed_at,
                    currency,
                    gross_kg,
                    unlisted,
                    announced,
                    lines,
                    stages,
                    delay_min,
                    finished,
                }
            },
        )
        .boxed()
}

fn kind() -> BoxedStrategy<Kind> {
    prop_oneof![Just(Kind::Fish), Just(Kind::Invertebrate), Just(Kind::Plant)].boxed()
}

fn box_record() -> BoxedStrategy<BoxRecord> {
    let content = (any::<u32>(), of(any::<u32>()), of(any::<u32>()), any::<u32>(), 0_u32..3)
        .prop_map(|(line, bag, bags, fish, free)| Content { line, bag, bags, fish, free });
    let standing = prop_oneof![
        Just(Standing::Expected),
        Just(Standing::Late),
        Just(Standing::Lost),
        word().prop_map(Standing::PassedOn)
    ];
    (vec(content, 0..3), of(moment()), of(moment()), standing, any::<bool>())
        .prop_map(|(contents, opened, finished, standing, pinned)| BoxRecord {
            contents,
            opened,
            finished,
            standing,
            pinned,
        })
        .boxed()
}

fn bag_record() -> BoxedStrategy<BagRecord> {
    let census = (any::<[u32; 7]>(), of(any::<u32>()), of(any::<u32>()), of(any::<u32>())).prop_map(
        |([expected, dead, culled, missing, extra, wrong, uneven], sound, alive, weak)| Census {
            uneven,
            expected,
            sound,
            alive,
            weak,
            dead,
            culled,
            missing,
            extra,
            wrong,
        },
    );
    (of(moment()), btree_map(any::<u32>(), census, 0..3))
        .prop_map(|(opened, census)| BagRecord { opened, census })
        .boxed()
}

fn lot() -> BoxedStrategy<Lot> {
    let hold = (of(moment()), of(word())).prop_map(|(until, why)| HoldUntil { until, why });
    (line_key(), word(), moment(), of(hold), any::<u32>(), of((money(), word())))
        .prop_map(|(line, tank, since, hold, weak, price)| Lot { line, tank, since, hold, weak, price })
        .boxed()
}

fn look() -> BoxedStrategy<Look> {
    let told = (of(moment()), of(moment()), of(moment()), of(moment()));
    (moment(), of(any::<u32>()), of(word()), word(), of(word()), told)
        .prop_map(|(due, every_min, asked_by, chat, topic, (told, nudged, woken, next))| Look {
            due,
            every_min,
            asked_by,
            chat,
            topic,
            told,
            nudged,
            woken,
            next,
        })
        .boxed()
}

fn reservation() -> BoxedStrategy<Reservation> {
    (lot_no(), word(), any::<u32>(), moment(), of((word(), of(word()))))
        .prop_map(|(lot, buyer, promised, at, told_in)| Reservation { lot, buyer, promised, at, told_in })
        .boxed()
}

fn entry() -> BoxedStrategy<Entry> {
    let spot = prop_oneof![
        pack().prop_map(Spot::Pack),
        word().prop_map(Spot::Vessel),
        consignment_no().prop_map(Spot::Consignment),
        Just(Spot::House),
    ];
    let what = prop_oneof![
        said().prop_map(Logged::Act),
        (any::<u32>(), of(line_key()), of(lot_no())).prop_map(|(count, line, lot)| Logged::Deaths { count, line, lot }),
        (any::<u32>(), any::<u32>(), line_key()).prop_map(|(living, booked, line)| Logged::StockTake {
            living,
            booked,
            line
        }),
        (lot_no(), any::<u32>(), of(word())).prop_map(|(lot, count, anyway)| Logged::Cleared { lot, count, anyway }),
        (of(lot_no()), of(box_key()), any::<u32>(), word()).prop_map(|(lot, through, count, buyer)| Logged::Shipped {
            lot,
            through,
            count,
            buyer
        }),
    ];
    (spot, moment(), word(), what).prop_map(|(spot, at, by, what)| Entry { spot, at, by, what }).boxed()
}

fn packing_list() -> BoxedStrategy<PackingList> {
    let line = (of(any::<u32>()), of(any::<u32>()), word(), of(word()), any::<u32>(), of(money()), of(kind()))
        .prop_map(|(number, bag, species, size, qty, unit_price, under)| ListLine {
            number,
            bag,
            bags: bag,
            species,
            scientific: size.clone(),
            size,
            qty,
            bonus: 0,
            unit_price,
            under,
        });
    let line = line.boxed();
    let seen = (vec(list_doubt(line.clone()), 0..3), vec(list_column(), 0..3), of((word(), any::<bool>())));
    ((word(), of(word()), of(money()), vec(line, 0..3), any::<u64>(), vec(word(), 0..2)), seen)
        .prop_map(|((file, awb, gross_kg, lines, total_qty, questions), (doubts, columns, kept))| PackingList {
            file,
            invoice: awb.clone(),
            awb,
            supplier: None,
            packed_at: None,
            currency: Some("USD".to_owned()),
            gross_kg,
            lines,
            total_qty,
            stated_total: Some(total_qty),
            questions,
            doubts,
            columns,
            kept: kept.map(|(sha256, pasted)| KeptFile { sha256, pasted }),
            original: None,
        })
        .boxed()
}

fn list_doubt(line: BoxedStrategy<ListLine>) -> BoxedStrategy<ListDoubt> {
    let numbers = || vec(any::<u32>(), 0..3);
    let asks = prop_oneof![
        (numbers(), any::<bool>()).prop_map(|(choices, each)| Asks::Fish { choices, each }),
        (line, numbers()).prop_map(|(line, boxes)| Asks::LeftOut { line: Box::new(line), boxes }),
        Just(Asks::Box),
        numbers().prop_map(|boxes| Asks::Split { boxes }),
        Just(Asks::Size),
        vec(money(), 0..3).prop_map(|choices| Asks::Price { choices }),
        vec(word(), 0..3).prop_map(|choices| Asks::Currency { choices }),
    ];
    (word(), numbers(), asks).prop_map(|(text, lines, asks)| ListDoubt { text, lines, asks }).boxed()
}

fn column_use() -> BoxedStrategy<ColumnUse> {
    prop_oneof![
        Just(ColumnUse::Box),
        Just(ColumnUse::BagNumber),
        Just(ColumnUse::BagsPerBox),
        Just(ColumnUse::PerBag),
        Just(ColumnUse::Quantity),
        Just(ColumnUse::GrossWeight),
        Just(ColumnUse::Unused),
        Just(ColumnUse::Unknown),
    ]
    .boxed()
}

fn list_column() -> BoxedStrategy<ListColumn> {
    (of(word()), word(), word(), column_use())
        .prop_map(|(sheet, column, heading, meaning)| ListColumn { sheet, column, heading, meaning })
        .boxed()
}

fn column_said() -> BoxedStrategy<ColumnSaid> {
    (word(), column_use()).prop_map(|(column, meaning)| ColumnSaid { column, meaning }).boxed()
}

fn reread() -> BoxedStrategy<Reread> {
    (word(), any::<bool>(), word(), vec(column_said(), 0..3), speaker(), moment())
        .prop_map(|(sha256, pasted, name, columns, to, said_at)| Reread {
            file: KeptFile { sha256, pasted },
            name,
            columns,
            to,
            said_at,
        })
        .boxed()
}

fn listing() -> BoxedStrategy<Listing> {
    let stage =
        prop_oneof![
            Just(ListStage::Doubt),
            any::<u32>().prop_map(|number| ListStage::Gone { number }),
            (box_key(), any::<u32>(), vec((any::<u32>(), word()), 0..3))
                .prop_map(|(of, line, among)| ListStage::Match { of, line, among }),
            consignment_no().prop_map(|of| ListStage::Whose { of }),
            vec(box_key(), 0..3).prop_map(|boxes| ListStage::Theirs { boxes }),
            Just(ListStage::Confirm)
        ];
    let gone = vec((any::<u32>(), any::<bool>()), 0..3);
    let whose = vec((consignment_no(), any::<bool>()), 0..3);
    let theirs = vec((box_key(), any::<bool>()), 0..3);
    let matched = vec((line_key(), of(any::<u32>())), 0..3);
    let earlier = (whose, theirs, matched);
    (packing_list(), any::<u32>(), of(consignment_no()), gone, earlier, vec(column_said(), 0..3), stage)
        .prop_map(|(list, asked, replaces, gone, (whose, theirs, matched), said, stage)| Listing {
            list,
            asked,
            replaces,
            gone,
            whose,
            theirs,
            matched,
            said,
            stage,
        })
        .boxed()
}

fn pending() -> BoxedStrategy<Pending> {
    let matter = prop_oneof![
        (pack(), any::<u32>(), any::<u32>()).prop_map(|(pack, line, count)| Matter::Extra { pack, line, count }),
        box_key().prop_map(|of| Matter::Left { of }),
        (vec(said(), 0..2), vec(consignment_no(), 0..3))
            .prop_map(|(acts, among)| Matter::WhichConsignment { acts, among }),
        (said(), vec(word(), 0..3), any::<bool>()).prop_map(|(act, among, or_undetermined)| Matter::WhichLine {
            act: Box::new(act),
            among,
            or_undetermined
        }),
        (said(), vec(word(), 0..3)).prop_map(|(act, among)| Matter::WhichBuyer { act: Box::new(act), among }),
        (word(), line_key(), any::<u32>()).prop_map(|(vessel, line, count)| Matter::Unaccounted {
            vessel,
            line,
            count
        }),
        (word(), line_key(), any::<u32>()).prop_map(|(vessel, line, count)| Matter::Surplus { vessel, line, count }),
        (word(), vec(said(), 0..2)).prop_map(|(name, acts)| Matter::NewVessel { name, acts }),
        (said(), any::<bool>(), any::<u32>()).prop_map(|(act, dead, more)| Matter::Beyond {
            act: Box::new(act),
            dead,
            more
        }),
        said().prop_map(|act| Matter::Again { act: Box::new(act) }),
        any::<u64>().prop_map(|frame| Matter::LongAgo { frame }),
        packing_list().prop_map(|list| Matter::Import(Box::new(list))),
        (any::<u32>(), vec(consignment_no(), 0..3), vec(said(), 0..2))
            .prop_map(|(number, among, acts)| Matter::UnlistedBox { number, among, acts }),
        (word(), of(any::<u32>()), consignment_no()).prop_map(|(supplier, boxes, opened)| Matter::Announced {
            supplier,
            boxes,
            opened
        }),
        listing().prop_map(|listing| Matter::Listing(Box::new(listing))),
        (consignment_no(), word(), word(), vec(word(), 0..3)).prop_map(|(consignment, supplier, listed_as, among)| {
            Matter::WhichSpecies { consignment, supplier, listed_as, among }
        }),
    ];
    (speaker(), question(), matter).prop_map(|(to, question, matter)| Pending { to, question, matter }).boxed()
}

/// One event, a withdrawal of others among them.
pub fn event() -> BoxedStrategy<Event> {
    let plain = plain_event();
    prop_oneof![
        9 => plain.clone(),
        1 => (1_u64..12, vec(plain, 0..3)).prop_map(|(frame, undone)| Event::Withdrawn { frame, undone }),
    ]
    .boxed()
}

fn plain_event() -> BoxedStrategy<Event> {
    let vessel =
        (vessel_kind(), of(finite()), of(word())).prop_map(|(kind, litres, system)| Vessel { kind, litres, system });
    let role = prop_oneof![Just(Role::Crew), Just(Role::Lead), Just(Role::Office), Just(Role::Buyer)];
    let person = (role, of(word()), of(word())).prop_map(|(role, buyer, chat)| Person { role, buyer, chat });
    prop_oneof![
        (speaker(), dialogue(), of(consignment_no())).prop_map(|(speaker, dialogue, consignment)| Event::Heard {
            speaker,
            dialogue,
            consignment
        }),
        movement().prop_map(Event::FishMoved),
        (consignment_no(), of(consignment())).prop_map(|(no, to)| Event::ConsignmentSet { no, to }),
        (box_key(), of(box_record())).prop_map(|(key, to)| Event::BoxSet { key, to }),
        (pack(), of(bag_record())).prop_map(|(key, to)| Event::BagSet { key, to }),
        (word(), of(vessel)).prop_map(|(name, to)| Event::VesselSet { name, to }),
        (lot_no(), of(lot())).prop_map(|(no, to)| Event::LotSet { no, to }),
        (word(), of(look())).prop_map(|(vessel, to)| Event::LookSet { vessel, to }),
        ((0_u32..4).prop_map(ReservationNo), of(reservation())).prop_map(|(no, to)| Event::ReservationSet { no, to }),
        (0_u64..6, of(entry())).prop_map(|(no, to)| Event::EntrySet { no, to }),
        (word(), of(person)).prop_map(|(name, to)| Event::PersonSet { name, to }),
        (word(), any::<bool>()).prop_map(|(name, known)| Event::BuyerSet { name, known }),
        (word(), word(), of(word())).prop_map(|(supplier, listed_as, to)| Event::NameMatched {
            supplier,
            listed_as,
            to
        }),
        (word(), of(vec(column_said(), 0..3))).prop_map(|(supplier, to)| Event::ColumnsSet { supplier, to }),
        (0_u64..4, of(reread())).prop_map(|(no, to)| Event::RereadSet { no, to }),
        (any::<u64>(), of(pending())).prop_map(|(id, to)| Event::QuestionSet { id, to }),
    ]
    .boxed()
}

/// The state that frames make.
pub fn state_of(frames: &[Frame]) -> State {
    let mut state = State::default();
    for frame in frames {
        state.apply(frame);
    }
    state
}

/// Every kind of event once, by name, so that a test can tell that none is forgotten.
pub fn names_in(frames: &[Frame]) -> BTreeMap<String, u64> {
    let mut names = BTreeMap::new();
    for frame in frames {
        let line: serde_json::Value = serde_json::from_str(&super::line(frame, "")).expect("a line is JSON");
        for event in line["events"].as_array().expect("a list") {
            let name = event["event"].as_str().expect("a name").to_owned();
            names.insert(name, event["v"].as_u64().expect("a version"));
        }
    }
    names
}
