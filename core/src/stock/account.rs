//! The accounts a fish can be in.

use crate::consignment::{BoxKey, LotNo, Pack, ReservationNo};

/// Where a fish is, or what became of it. `Listed` and `Extra` are the two sources; every other account holds fish.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Account {
    /// Source: fish the packing list promised, or old stock as it was booked.
    Listed,
    /// Source: fish found beyond the list.
    Extra,
    /// In a box or bag.
    Packed(Pack),
    /// In an acclimation tray.
    Tray(String),
    /// In a tank, not yet free for sale.
    Held(LotNo),
    /// In a tank, free for sale.
    Cleared(LotNo),
    /// In a tank, promised to a buyer.
    Reserved(ReservationNo),
    /// Gone to a buyer.
    Shipped(LotNo),
    /// Dead on arrival: dead in the bag when it was opened.
    Doa(Pack),
    /// Dead after arrival, in a tray.
    DaaTray(String),
    /// Dead after arrival, in a tank.
    DaaLot(LotNo),
    /// Dead after arrival in a vessel that held several lines, which line not told: kept out of claims.
    DaaUndetermined(String),
    /// Killed by the crew.
    Culled,
    /// Listed and not there.
    Short(Pack),
    /// Listed, and something else was sent instead.
    Wrong(Pack),
    /// Missing at a stock-take, never seen dead.
    Unaccounted,
    /// Sent back.
    Returned,
    /// Passed on unopened with its box.
    PassedOn(BoxKey),
}

impl Account {
    /// Sources give fish and never hold any.
    pub fn is_source(&self) -> bool {
        matches!(self, Account::Listed | Account::Extra)
    }
}

/// Whether somebody counted the fish, or the list is merely believed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Certainty {
    /// Believed from the list, not counted. Never enters a claim.
    Presumed,
    /// Counted by a person.
    Counted,
}

/// An account and how sure its fish are: what a movement takes from and puts into.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Purse {
    /// The account.
    pub account: Account,
    /// Presumed or counted.
    pub certainty: Certainty,
}

impl Account {
    /// Its counted fish.
    pub fn counted(self) -> Purse {
        Purse { account: self, certainty: Certainty::Counted }
    }

    /// Its presumed fish.
    pub fn presumed(self) -> Purse {
        Purse { account: self, certainty: Certainty::Presumed }
    }
}
