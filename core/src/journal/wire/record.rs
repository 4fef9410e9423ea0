//! Wire types of vessels, lots, looks, reservations, people, log entries and questions.

use chrono::{DateTime, Utc};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::goods::{ColumnSaid, KeptFile, PackingList};
use super::mirror::mirror;
use crate::consignment::{BoxKey, ConsignmentNo, LineKey, LotNo, Pack};
use crate::message::{Question, Said, VesselKind};
use crate::quantity::Finite;
use crate::{journal, people};

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Speaker {
    chat: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    topic: Option<String>,
    person: String,
}

mirror!(struct Speaker, journal::Speaker { chat, topic, person });

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Vessel {
    kind: VesselKind,
    #[serde(skip_serializing_if = "Option::is_none")]
    litres: Option<Finite>,
    #[serde(skip_serializing_if = "Option::is_none")]
    system: Option<String>,
}

mirror!(struct Vessel, journal::Vessel { kind, litres, system });

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Lot {
    line: LineKey,
    tank: String,
    since: DateTime<Utc>,
    #[serde(skip_serializing_if = "Option::is_none")]
    hold: Option<HoldUntil>,
    weak: u32,
    #[serde(skip_serializing_if = "Option::is_none")]
    price: Option<(Decimal, String)>,
}

mirror!(struct Lot, journal::Lot { line, tank, since, hold: maybe, weak, price });

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct HoldUntil {
    #[serde(skip_serializing_if = "Option::is_none")]
    until: Option<DateTime<Utc>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    why: Option<String>,
}

mirror!(struct HoldUntil, journal::HoldUntil { until, why });

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Look {
    due: DateTime<Utc>,
    #[serde(skip_serializing_if = "Option::is_none")]
    every_min: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    asked_by: Option<String>,
    chat: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    topic: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    told: Option<DateTime<Utc>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    nudged: Option<DateTime<Utc>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    woken: Option<DateTime<Utc>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    next: Option<DateTime<Utc>>,
}

mirror!(struct Look, journal::Look { due, every_min, asked_by, chat, topic, told, nudged, woken, next });

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Reservation {
    lot: LotNo,
    buyer: String,
    promised: u32,
    at: DateTime<Utc>,
    #[serde(skip_serializing_if = "Option::is_none")]
    told_in: Option<(String, Option<String>)>,
}

mirror!(struct Reservation, journal::Reservation { lot, buyer, promised, at, told_in });

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(super) enum Spot {
    Pack(Pack),
    Vessel(String),
    Consignment(ConsignmentNo),
    House,
}

mirror!(enum Spot, journal::Spot { Pack(pack), Vessel(name), Consignment(no), House });

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Entry {
    spot: Spot,
    at: DateTime<Utc>,
    by: String,
    what: Logged,
}

mirror!(struct Entry, journal::Entry { spot, at, by, what });

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub(super) enum Logged {
    Act(Said),
    Deaths {
        count: u32,
        #[serde(skip_serializing_if = "Option::is_none")]
        line: Option<LineKey>,
        #[serde(skip_serializing_if = "Option::is_none")]
        lot: Option<LotNo>,
    },
    StockTake {
        living: u32,
        booked: u32,
        line: LineKey,
    },
    Cleared {
        lot: LotNo,
        count: u32,
        #[serde(skip_serializing_if = "Option::is_none")]
        anyway: Option<String>,
    },
    Shipped {
        #[serde(skip_serializing_if = "Option::is_none")]
        lot: Option<LotNo>,
        #[serde(skip_serializing_if = "Option::is_none")]
        through: Option<BoxKey>,
        count: u32,
        buyer: String,
    },
}

mirror!(enum Logged, journal::Logged {
    Act(said),
    Deaths { count, line, lot },
    StockTake { living, booked, line },
    Cleared { lot, count, anyway },
    Shipped { lot, through, count, buyer },
});

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(super) enum Role {
    Crew,
    Lead,
    Office,
    Buyer,
}

mirror!(enum Role, people::Role { Crew, Lead, Office, Buyer });

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Person {
    role: Role,
    #[serde(skip_serializing_if = "Option::is_none")]
    buyer: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    chat: Option<String>,
}

mirror!(struct Person, journal::Person { role, buyer, chat });

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Pending {
    to: Speaker,
    question: Question,
    matter: Matter,
}

mirror!(struct Pending, journal::Pending { to, question, matter });

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub(super) enum Matter {
    Extra { pack: Pack, line: u32, count: u32 },
    Left { of: BoxKey },
    WhichConsignment { acts: Vec<Said>, among: Vec<ConsignmentNo> },
    WhichLine { act: Box<Said>, among: Vec<String>, or_undetermined: bool },
    WhichBuyer { act: Box<Said>, among: Vec<String> },
    Unaccounted { vessel: String, line: LineKey, count: u32 },
    Surplus { vessel: String, line: LineKey, count: u32 },
    NewVessel { name: String, acts: Vec<Said> },
    Beyond { act: Box<Said>, dead: bool, more: u32 },
    Again { act: Box<Said> },
    LongAgo { frame: u64 },
    UnlistedBox { number: u32, among: Vec<ConsignmentNo>, acts: Vec<Said> },
    Announced { supplier: String, boxes: Option<u32>, opened: ConsignmentNo },
    Listing(Box<Listing>),
    Import(Box<PackingList>),
    WhichSpecies { consignment: ConsignmentNo, supplier: String, listed_as: String, among: Vec<String> },
}

mirror!(enum Matter, journal::Matter {
    Extra { pack, line, count },
    Left { of },
    WhichConsignment { acts, among },
    WhichLine { act, among, or_undetermined },
    WhichBuyer { act, among },
    Unaccounted { vessel, line, count },
    Surplus { vessel, line, count },
    NewVessel { name, acts },
    Beyond { act, dead, more },
    Again { act },
    LongAgo { frame },
    UnlistedBox { number, among, acts },
    Announced { supplier, boxes, opened },
    Listing(listing: boxed),
    Import(list: boxed),
    WhichSpecies { consignment, supplier, listed_as, among },
});

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Listing {
    list: PackingList,
    asked: u32,
    #[serde(skip_serializing_if = "Option::is_none")]
    replaces: Option<ConsignmentNo>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    gone: Vec<(u32, bool)>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    whose: Vec<(ConsignmentNo, bool)>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    theirs: Vec<(BoxKey, bool)>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    matched: Vec<(LineKey, Option<u32>)>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    said: Vec<ColumnSaid>,
    stage: ListStage,
}

mirror!(struct Listing, journal::Listing { list, asked, replaces, gone, whose, theirs, matched, said: list, stage });

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub(super) enum ListStage {
    Doubt,
    Gone { number: u32 },
    Match { of: BoxKey, line: u32, among: Vec<(u32, String)> },
    Whose { of: ConsignmentNo },
    Theirs { boxes: Vec<BoxKey> },
    Confirm,
}

mirror!(enum ListStage, journal::ListStage { Doubt, Gone { number }, Match { of, line, among }, Whose { of }, Theirs { boxes }, Confirm });

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Reread {
    file: KeptFile,
    name: String,
    columns: Vec<ColumnSaid>,
    to: Speaker,
    said_at: DateTime<Utc>,
}

mirror!(struct Reread, journal::Reread { file, name, columns: list, to, said_at });
