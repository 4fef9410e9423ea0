//! Wire types of accounts and movements.

use serde::{Deserialize, Serialize};

use super::mirror::mirror;
use crate::consignment::{BoxKey, LineKey, LotNo, Pack, ReservationNo};
use crate::stock;

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(super) enum Account {
    Listed,
    Extra,
    Packed(Pack),
    Tray(String),
    Held(LotNo),
    Cleared(LotNo),
    Reserved(ReservationNo),
    Shipped(LotNo),
    Doa(Pack),
    DaaTray(String),
    DaaLot(LotNo),
    DaaUndetermined(String),
    Culled,
    Short(Pack),
    Wrong(Pack),
    Unaccounted,
    Returned,
    PassedOn(BoxKey),
}

mirror!(enum Account, stock::Account {
    Listed,
    Extra,
    Packed(pack),
    Tray(tray),
    Held(lot),
    Cleared(lot),
    Reserved(no),
    Shipped(lot),
    Doa(pack),
    DaaTray(tray),
    DaaLot(lot),
    DaaUndetermined(vessel),
    Culled,
    Short(pack),
    Wrong(pack),
    Unaccounted,
    Returned,
    PassedOn(key),
});

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(super) enum Certainty {
    Presumed,
    Counted,
}

mirror!(enum Certainty, stock::Certainty { Presumed, Counted });

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Purse {
    account: Account,
    certainty: Certainty,
}

mirror!(struct Purse, stock::Purse { account, certainty });

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Movement {
    line: LineKey,
    from: Purse,
    to: Purse,
    count: u32,
}

mirror!(struct Movement, stock::Movement { line, from, to, count });
