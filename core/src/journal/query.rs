//! Questions to the state that several rooms ask.

use std::collections::BTreeMap;

use super::record::{Lot, Reservation};
use super::state::State;
use crate::consignment::{
    BoxKey, BoxRecord, Consignment, ConsignmentNo, Line, LineKey, LotNo, Pack, ReservationNo, Standing,
};
use crate::message::VesselKind;
use crate::stock::{Account, Held};

/// Living fish of one lot, by what may be done with them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Living {
    /// On hold.
    pub held: Held,
    /// Free for sale.
    pub cleared: u32,
    /// Promised.
    pub reserved: u32,
}

impl Living {
    /// All of them.
    pub fn total(self) -> u32 {
        self.held.total() + self.cleared + self.reserved
    }
}

impl State {
    /// Consignments that are not finished, the house's own stock apart.
    pub fn open_consignments(&self) -> impl Iterator<Item = (ConsignmentNo, &Consignment)> {
        self.consignments
            .iter()
            .filter(|(no, consignment)| **no != ConsignmentNo::HOUSE && consignment.finished.is_none())
            .map(|(no, consignment)| (*no, consignment))
    }

    /// The boxes of a consignment in their order.
    pub fn boxes_of(&self, consignment: ConsignmentNo) -> impl Iterator<Item = (BoxKey, &BoxRecord)> {
        let low = BoxKey { consignment, number: 0 };
        self.boxes
            .range(low..)
            .take_while(move |(key, _)| key.consignment == consignment)
            .map(|(key, record)| (*key, record))
    }

    /// Boxes that bear this number: one for each open consignment that has it; where none has, that of the latest
    /// finished one.
    pub fn boxes_numbered(&self, number: u32) -> Vec<BoxKey> {
        let known = |consignment: ConsignmentNo| {
            Some(BoxKey { consignment, number }).filter(|key| self.boxes.contains_key(key))
        };
        let open: Vec<BoxKey> = self.open_consignments().filter_map(|(no, _)| known(no)).collect();
        if open.is_empty() {
            self.consignments.keys().rev().find_map(|no| known(*no)).into_iter().collect()
        } else {
            open
        }
    }

    /// Whether a box number is open in two consignments, so that the supplier's name must stand beside it.
    pub fn is_doubled(&self, number: u32) -> bool {
        self.boxes_numbered(number).len() > 1
    }

    /// The line's record.
    pub fn line(&self, key: LineKey) -> Option<&Line> {
        let index = usize::try_from(key.line).ok()?.checked_sub(1)?;
        self.consignments.get(&key.consignment)?.lines.get(index)
    }

    /// The crew's name of the line's fish.
    pub fn species(&self, key: LineKey) -> String {
        self.line(key).map_or_else(|| "fish".to_owned(), |line| line.species.clone())
    }

    /// The packs of a box: the loose part first, then the bags that have a number.
    pub fn packs_of(&self, of: BoxKey) -> Vec<Pack> {
        let mut packs = vec![of.loose()];
        packs.extend(self.bags.range(of.loose()..).take_while(|(pack, _)| pack.of == of).map(|(pack, _)| *pack));
        if let Some(record) = self.boxes.get(&of) {
            packs.extend(record.contents.iter().filter_map(|content| content.bag).map(|bag| of.bag(bag)));
        }
        packs.sort_unstable();
        packs.dedup();
        packs
    }

    /// How many bags the list says the box has, where it says so of each of its lines; a line without a number counts as one bag.
    pub fn listed_bags(&self, of: BoxKey) -> u32 {
        let Some(record) = self.boxes.get(&of) else { return 0 };
        let mut numbered: Vec<u32> = record.contents.iter().filter_map(|content| content.bag).collect();
        numbered.sort_unstable();
        numbered.dedup();
        let loose: u32 = record
            .contents
            .iter()
            .filter(|content| content.bag.is_none())
            .map(|content| content.bags.unwrap_or(1))
            .sum();
        loose + u32::try_from(numbered.len()).unwrap_or(u32::MAX)
    }

    /// Fish still in the box, by line, and in which pack.
    pub fn left_in_box(&self, of: BoxKey) -> BTreeMap<(Pack, LineKey), Held> {
        self.packs_of(of)
            .into_iter()
            .flat_map(|pack| {
                self.books.lines_in(&Account::Packed(pack)).into_iter().map(move |(line, held)| ((pack, line), held))
            })
            .collect()
    }

    /// Living fish of a lot.
    pub fn living(&self, no: LotNo) -> Living {
        let reserved = self
            .reservations
            .iter()
            .filter(|(_, reservation)| reservation.lot == no)
            .map(|(number, _)| self.books.total_in(&Account::Reserved(*number)).total())
            .sum();
        Living {
            held: self.books.total_in(&Account::Held(no)),
            cleared: self.books.total_in(&Account::Cleared(no)).total(),
            reserved,
        }
    }

    /// Lots with living fish in a tank, in the order in which they came.
    pub fn lots_in(&self, tank: &str) -> Vec<(LotNo, &Lot)> {
        self.lots
            .iter()
            .filter(|(no, lot)| lot.tank == tank && self.living(**no).total() > 0)
            .map(|(no, lot)| (*no, lot))
            .collect()
    }

    /// Fish in a tank or tray.
    pub fn fish_in_vessel(&self, vessel: &str) -> u32 {
        let tray = self.books.total_in(&Account::Tray(vessel.to_owned())).total();
        tray + self.lots_in(vessel).iter().map(|(no, _)| self.living(*no).total()).sum::<u32>()
    }

    /// Reservations on a lot that still hold fish, the oldest first.
    pub fn reservations_on(&self, lot: LotNo) -> Vec<(ReservationNo, &Reservation, u32)> {
        self.reservations
            .iter()
            .filter(|(_, reservation)| reservation.lot == lot)
            .map(|(no, reservation)| (*no, reservation, self.books.total_in(&Account::Reserved(*no)).total()))
            .filter(|(_, _, left)| *left > 0)
            .collect()
    }

    /// Whether a vessel is a tray; one that was never declared is what `otherwise` says.
    pub fn is_tray(&self, vessel: &str, otherwise: bool) -> bool {
        self.vessels.get(vessel).map_or(otherwise, |record| record.kind == VesselKind::Tray)
    }

    /// Boxes of a consignment that are here or expected and not yet finished.
    pub fn boxes_to_go(&self, consignment: ConsignmentNo) -> usize {
        let known = self.boxes_of(consignment).count();
        let announced = self.consignments.get(&consignment).and_then(|it| it.announced).unwrap_or(0) as usize;
        let to_go = self
            .boxes_of(consignment)
            .filter(|(_, record)| record.finished.is_none() && record.standing == Standing::Expected)
            .count();
        to_go + announced.saturating_sub(known)
    }

    /// Counts over one line: what became of its fish.
    pub fn tally(&self, line: LineKey) -> Tally {
        let mut tally = Tally::default();
        for (purse, of, balance) in self.books.all() {
            if of == line {
                tally.add(&purse.account, balance);
            }
        }
        tally
    }

    /// Counts over one box of one line or of all: dead, short, extra found in it.
    pub fn tally_box(&self, of: BoxKey) -> Tally {
        let mut tally = Tally::default();
        for pack in self.packs_of(of) {
            for account in [Account::Packed(pack), Account::Doa(pack), Account::Short(pack), Account::Wrong(pack)] {
                tally.add(&account, i64::from(self.books.total_in(&account).total()));
            }
        }
        tally.add(&Account::PassedOn(of), i64::from(self.books.total_in(&Account::PassedOn(of)).total()));
        tally
    }

    /// Counts over a whole consignment.
    pub fn tally_consignment(&self, consignment: ConsignmentNo) -> Tally {
        let mut tally = Tally::default();
        for (purse, of, balance) in self.books.all() {
            if of.consignment == consignment {
                tally.add(&purse.account, balance);
            }
        }
        tally
    }
}

/// What became of some fish.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[allow(missing_docs, reason = "each field is the account of its name")]
pub struct Tally {
    pub listed: u32,
    pub extra: u32,
    pub packed: u32,
    pub in_trays: u32,
    pub held: u32,
    pub cleared: u32,
    pub reserved: u32,
    pub shipped: u32,
    pub doa: u32,
    pub daa: u32,
    pub culled: u32,
    pub short: u32,
    pub wrong: u32,
    pub unaccounted: u32,
    pub returned: u32,
    pub passed_on: u32,
}

impl Tally {
    fn add(&mut self, account: &Account, balance: i64) {
        let fish = u32::try_from(balance.abs()).unwrap_or(u32::MAX);
        let field = match account {
            Account::Listed => &mut self.listed,
            Account::Extra => &mut self.extra,
            Account::Packed(_) => &mut self.packed,
            Account::Tray(_) => &mut self.in_trays,
            Account::Held(_) => &mut self.held,
            Account::Cleared(_) => &mut self.cleared,
            Account::Reserved(_) => &mut self.reserved,
            Account::Shipped(_) => &mut self.shipped,
            Account::Doa(_) => &mut self.doa,
            Account::DaaTray(_) | Account::DaaLot(_) | Account::DaaUndetermined(_) => &mut self.daa,
            Account::Culled => &mut self.culled,
            Account::Short(_) => &mut self.short,
            Account::Wrong(_) => &mut self.wrong,
            Account::Unaccounted => &mut self.unaccounted,
            Account::Returned => &mut self.returned,
            Account::PassedOn(_) => &mut self.passed_on,
        };
        *field = field.saturating_add(fish);
    }

    /// Living fish in the house.
    pub fn living(&self) -> u32 {
        self.packed + self.in_trays + self.held + self.cleared + self.reserved
    }

    /// Living fish that have reached a tray or tank, or left again.
    pub fn placed(&self) -> u32 {
        self.in_trays + self.held + self.cleared + self.reserved + self.shipped
    }
}
