//! Keys: how consignments, boxes, bags and lines are named inside.

use serde::{Deserialize, Serialize};

/// A consignment's number, given at import. Zero is the house's own old stock.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct ConsignmentNo(pub u32);

impl ConsignmentNo {
    /// Fish that were in the house before any consignment: never claimable.
    pub const HOUSE: ConsignmentNo = ConsignmentNo(0);
}

/// A line of a consignment: one kind of fish of one size at one price, whatever boxes it lies in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct LineKey {
    /// The consignment.
    pub consignment: ConsignmentNo,
    /// The line's number in it, from 1.
    pub line: u32,
}

/// A box of a consignment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct BoxKey {
    /// The consignment.
    pub consignment: ConsignmentNo,
    /// The number written on the box.
    pub number: u32,
}

/// Where packed fish lie: in a known bag of a box, or in the box, the bag not told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Pack {
    /// The box.
    pub of: BoxKey,
    /// The bag's number, or `None` for fish of bags that have no number yet.
    pub bag: Option<u32>,
}

/// A lot: fish of one line that came into one tank.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct LotNo(pub u32);

/// A promise of fish of one lot to one buyer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct ReservationNo(pub u32);

impl BoxKey {
    /// The key of a line of the box's consignment.
    pub fn line(self, line: u32) -> LineKey {
        LineKey { consignment: self.consignment, line }
    }

    /// The fish of the box whose bag is not told.
    pub fn loose(self) -> Pack {
        Pack { of: self, bag: None }
    }

    /// A bag of the box.
    pub fn bag(self, number: u32) -> Pack {
        Pack { of: self, bag: Some(number) }
    }
}
