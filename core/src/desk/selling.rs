//! Holding, clearing, promising and shipping.

use std::collections::BTreeMap;

use chrono::{DateTime, Duration, Utc};

use super::draft::{Done, Draft, Query, Stop};
use super::moving::later_hold;
use super::place::{Where, choices};
use super::refusal::Refusal;
use crate::consignment::{LineKey, LotNo};
use crate::journal::{Class, Event, HoldUntil, Logged, Matter, Reservation, Spot};
use crate::message::{Place, Said};
use crate::people::{Power, Role};
use crate::quantity::Finite;
use crate::say;
use crate::stock::{Account, Certainty};
use crate::watch::clock;

/// A shipment as said.
pub(super) struct Shipping<'a> {
    /// From where.
    pub at: &'a Place,
    /// How many.
    pub count: Option<u32>,
    /// To whom.
    pub buyer: Option<&'a str>,
}

/// How long the same reservation by the same buyer is taken for a repetition, minutes.
const AGAIN_MINUTES: i64 = 10;

impl Draft<'_> {
    /// Lots are kept from sale.
    pub(super) fn hold(
        &mut self,
        place: &Place,
        hours: Option<Finite>,
        until: Option<&str>,
        why: Option<&str>,
        act: &Said,
    ) -> Result<Done, Stop> {
        self.require(Power::Hold)?;
        let at = self.find(place, act)?;
        let lots = self.lots_at(&at);
        if lots.is_empty() {
            return Err(Refusal::NotThere { at: place.clone(), species: None, there: 0, asked: 0, promised: 0 }.into());
        }
        let until = match (hours, until) {
            (Some(hours), _) => Some(self.said_at + minutes(hours.get() * 60.0)),
            (None, Some(text)) => Some(
                clock::until_local(text, self.settings.zone)
                    .filter(|until| *until > self.said_at)
                    .ok_or_else(|| Refusal::PastTime { said: text.to_owned() })?,
            ),
            (None, None) => None,
        };
        let mut stopped = 0;
        let mut ends = None;
        for no in lots {
            let wanted = HoldUntil { until, why: why.map(str::to_owned) };
            let standing = self.state.lots.get(&no).and_then(|lot| lot.hold.clone());
            // Only a lead shortens a hold.
            let hold = if self.role == Role::Lead { Some(wanted) } else { later_hold(Some(wanted), standing) };
            let Some(hold) = hold else { continue };
            ends = ends.max(Some(hold.until));
            stopped += self.state.living(no).cleared;
            self.uncleared(no, hold);
        }
        let vessel = at.vessel().unwrap_or_default().to_owned();
        let end = ends.flatten();
        let local = end.map(|until| self.local(until));
        Ok(Done::standing(say::standing::held(&self.vessel_in_words(&vessel), local.as_deref(), stopped)))
    }

    /// The lots with living fish at a tank or lot.
    fn lots_at(&self, at: &Where) -> Vec<LotNo> {
        match at {
            Where::Tank(tank) => self.state.lots_in(tank).into_iter().map(|(no, _)| no).collect(),
            Where::Lot(no, _) if self.state.living(*no).total() > 0 => vec![*no],
            _ => Vec::new(),
        }
    }

    /// A lead frees fish for sale: by the policy, or past it with a reason.
    pub(super) fn clear(
        &mut self,
        place: &Place,
        count: Option<u32>,
        anyway: Option<&str>,
        act: &Said,
    ) -> Result<Done, Stop> {
        self.require(Power::Clear)?;
        let at = self.find(place, act)?;
        let lots = self.lots_at(&at);
        let held: u32 = lots.iter().map(|no| self.state.living(*no).held.total()).sum();
        let free: u32 =
            lots.iter().map(|no| self.state.living(*no)).map(|living| living.cleared + living.reserved).sum();
        if held == 0 && free > 0 {
            return Err(Refusal::ClearedAlready { at: place.clone(), fish: free }.into());
        }
        if held == 0 || count.is_some_and(|count| count > held) {
            let asked = count.unwrap_or(0);
            return Err(Refusal::NotThere { at: place.clone(), species: None, there: held, asked, promised: 0 }.into());
        }
        let held_lots: Vec<LotNo> = lots.into_iter().filter(|no| self.state.living(*no).held.total() > 0).collect();
        if held_lots.len() > 1 && count.is_some_and(|count| count < held) {
            let text = say::question::which_lot(place, &held_lots.iter().map(|no| no.0).collect::<Vec<_>>());
            return Err(Query::place(text, act.clone()).into());
        }
        let mut conditions: Vec<say::standing::ConditionLine> = Vec::new();
        for no in &held_lots {
            let of = self.state.lots.get(no).map(|lot| self.line_in_words(lot.line)).filter(|_| held_lots.len() > 1);
            conditions.extend(self.conditions(*no).into_iter().map(|line| match &of {
                Some(fish) => say::standing::ConditionLine { words: format!("{fish} {}", line.words), ..line },
                None => line,
            }));
        }
        let unmet: Vec<String> = conditions.iter().filter(|line| !line.met).map(|line| line.words.clone()).collect();
        if !unmet.is_empty() {
            match anyway {
                None => {
                    let met = conditions.iter().filter(|line| line.met).map(|line| line.words.clone()).collect();
                    return Err(Refusal::NotReady { at: place.clone(), unmet, met }.into());
                }
                Some(_) => self.require(Power::ClearAnyway)?,
            }
        }
        let mut left = count.unwrap_or(held);
        for no in &held_lots {
            let share = left.min(self.state.living(*no).held.total());
            left -= share;
            self.clear_lot(*no, share, anyway);
        }
        Ok(Done::standing(say::standing::cleared(&conditions, anyway.is_some() && !unmet.is_empty())))
    }

    fn clear_lot(&mut self, no: LotNo, count: u32, anyway: Option<&str>) {
        let Some(mut lot) = self.state.lots.get(&no).cloned() else { return };
        self.transfer_some(lot.line, &Account::Held(no), &Account::Cleared(no), count, Certainty::Counted);
        if self.state.living(no).held.total() == 0 {
            lot.hold = None;
            self.emit(Event::LotSet { no, to: Some(lot.clone()) });
        }
        let what = Logged::Cleared { lot: no, count, anyway: anyway.map(str::to_owned) };
        self.log(Spot::Vessel(lot.tank.clone()), self.said_at, what);
        self.tell_buyers(no);
    }

    /// Tells every buyer what is for sale in a lot.
    fn tell_buyers(&mut self, no: LotNo) {
        let offer = self.offer(no);
        let body = say::buyer::cleared(&offer);
        self.tell_role(Role::Buyer, Class::Notice, &body, &[Place::Lot { lot: no.0 }]);
    }

    /// A lot as a buyer may know it.
    pub(super) fn offer(&self, no: LotNo) -> say::buyer::Offer {
        let lot = self.state.lots.get(&no);
        let line = lot.map(|lot| lot.line);
        say::buyer::Offer {
            lot: no.0,
            species: line.map(|line| self.state.species(line)).unwrap_or_default(),
            size: line.and_then(|line| self.state.line(line)).and_then(|line| line.size.clone()),
            fish: self.state.living(no).cleared,
            price: lot.and_then(|lot| lot.price.clone()),
        }
    }

    /// Cleared fish are promised to a buyer.
    pub(super) fn reserve(
        &mut self,
        count: u32,
        place: Option<&Place>,
        species: Option<&str>,
        buyer: Option<&str>,
        act: &Said,
    ) -> Result<Done, Stop> {
        let buyer = match &self.buyer {
            Some(own) => {
                self.require(Power::ReserveForOneself)?;
                own.clone()
            }
            None => {
                self.require(Power::ReserveForBuyer)?;
                self.known_buyer(buyer)?
            }
        };
        let mut lots = match place {
            Some(place) => {
                let at = self.find(place, act)?;
                self.lots_at(&at)
            }
            None => self.state.lots.keys().copied().filter(|no| self.state.living(*no).cleared > 0).collect(),
        };
        if let Some(species) = species {
            lots.retain(|no| self.state.lots.get(no).is_some_and(|lot| self.state.species(lot.line) == species));
        }
        let free: u32 = lots.iter().map(|no| self.state.living(*no).cleared).sum();
        let name = species
            .map(str::to_owned)
            .or_else(|| lots.first().and_then(|no| self.state.lots.get(no)).map(|lot| self.state.species(lot.line)));
        if count > free || count == 0 {
            let species = name.unwrap_or_else(|| say::place::FISH.to_owned());
            return Err(Refusal::TooFewCleared { species, free, asked: count }.into());
        }
        if !self.meant && self.has_just_reserved(&buyer, &lots, count) {
            let species = name.unwrap_or_default();
            let to = Some(buyer.as_str()).filter(|_| self.buyer.is_none());
            let text = say::question::again(to, &species, count);
            let matter = Matter::Again { act: Box::new(act.clone()) };
            return Err(Query::choice(text, matter, say::question::yes_no()).into());
        }
        let mut left = count;
        for no in lots {
            let share = left.min(self.state.living(no).cleared);
            if share > 0 {
                self.promise(no, share, &buyer);
                left -= share;
            }
        }
        let name = name.unwrap_or_default();
        self.tell_of_reservation(&name, count, &buyer);
        Ok(Done::standing(say::standing::reserved(&name, free - count)))
    }

    /// Whether the buyer was promised as many of these lots minutes ago: the same words sent twice are one wish, as a
    /// phone that lost its network sends them.
    fn has_just_reserved(&self, buyer: &str, lots: &[LotNo], count: u32) -> bool {
        let mut lately: BTreeMap<DateTime<Utc>, u32> = BTreeMap::new();
        for (_, reservation, left) in lots.iter().flat_map(|no| self.state.reservations_on(*no)) {
            let ago = self.said_at - reservation.at;
            if reservation.buyer == buyer && left == reservation.promised && ago <= Duration::minutes(AGAIN_MINUTES) {
                *lately.entry(reservation.at).or_default() += left;
            }
        }
        lately.values().any(|promised| *promised == count)
    }

    fn promise(&mut self, lot: LotNo, count: u32, buyer: &str) {
        let Some(line) = self.state.lots.get(&lot).map(|record| record.line) else { return };
        let no = self.next_reservation();
        let told_in = self.chat_of_buyer(buyer);
        let reservation = Reservation { lot, buyer: buyer.to_owned(), promised: count, at: self.said_at, told_in };
        self.emit(Event::ReservationSet { no, to: Some(reservation) });
        self.transfer_some(line, &Account::Cleared(lot), &Account::Reserved(no), count, Certainty::Counted);
    }

    /// The crew hears of a buyer's own reservation, the buyer of one that the crew made.
    fn tell_of_reservation(&mut self, species: &str, count: u32, buyer: &str) {
        if self.buyer.is_some() {
            let body = say::notice::reserved_by(buyer, species, count);
            self.tell_role(Role::Lead, Class::Notice, &body, &[]);
        } else if let Some((chat, topic)) = self.chat_of_buyer(buyer) {
            self.tell(chat, topic, Class::Notice, say::buyer::reserved(species, count), Vec::new());
        }
    }

    /// Says something to a buyer's person, where there is one.
    pub(super) fn tell_buyer(&mut self, buyer: &str, body: String) {
        if let Some((chat, topic)) = self.chat_of_buyer(buyer) {
            self.tell(chat, topic, Class::Notice, body, Vec::new());
        }
    }

    fn chat_of_buyer(&self, buyer: &str) -> Option<(String, Option<String>)> {
        self.state
            .people
            .values()
            .find(|person| person.buyer.as_deref() == Some(buyer))
            .and_then(|person| person.chat.clone())
            .map(|chat| (chat, None))
    }

    fn known_buyer(&self, said: Option<&str>) -> Result<String, Stop> {
        let found = said.and_then(|name| self.state.buyers.iter().find(|known| known.eq_ignore_ascii_case(name)));
        found.cloned().ok_or_else(|| Refusal::NoSuchBuyer { name: said.map(str::to_owned) }.into())
    }

    /// Takes fish out of reservations on a lot, the latest promise first, and tells who was promised them.
    /// Returns how many are still wanted.
    pub(super) fn cut_reservations(&mut self, lot: LotNo, line: LineKey, to: &Account, count: u32) -> u32 {
        let mut wanted = count;
        let mut promises: Vec<_> = self
            .state
            .reservations_on(lot)
            .into_iter()
            .map(|(no, reservation, left)| (no, reservation.clone(), left))
            .collect();
        promises.reverse();
        for (no, reservation, left) in promises {
            let taken = wanted.min(left);
            if taken == 0 {
                break;
            }
            self.transfer_seen(line, &Account::Reserved(no), to, taken);
            wanted -= taken;
            let species = self.state.species(line);
            let still = left - taken;
            if let Some((chat, topic)) = reservation.told_in.clone() {
                let about = vec![Place::Lot { lot: lot.0 }];
                self.tell(chat, topic, Class::Notice, say::buyer::cut(&species, taken, still), about);
            }
            let body = say::notice::reservation_cut(&reservation.buyer, &species, still, reservation.promised);
            // A lead in the speaker's chat reads the answer there.
            self.also.push(body.clone());
            self.tell_role(Role::Lead, Class::Notice, &body, &[Place::Lot { lot: lot.0 }]);
        }
        wanted
    }

    /// Fish leave the house.
    pub(super) fn ship(&mut self, shipping: &Shipping, act: &Said) -> Result<Done, Stop> {
        self.require(Power::Ship)?;
        let at = self.find(shipping.at, act)?;
        match at {
            Where::Box(of) => {
                let buyer = self.known_buyer(shipping.buyer)?;
                self.pass_on(of, &buyer)
            }
            Where::Tank(_) | Where::Lot(..) => self.ship_from(&at, shipping, act),
            Where::Bag(_) | Where::Tray(_) => {
                let wanted = "a tank, a lot or an unopened box";
                Err(Refusal::WrongKindOfPlace { at: shipping.at.clone(), wanted }.into())
            }
        }
    }

    fn ship_from(&mut self, at: &Where, shipping: &Shipping, act: &Said) -> Result<Done, Stop> {
        let lots = self.lots_at(at);
        let buyer = self.buyer_of_shipment(&lots, shipping)?;
        let promised: u32 = lots.iter().map(|no| self.promised_to(*no, &buyer)).sum();
        let cleared: u32 = lots.iter().map(|no| self.state.living(*no).cleared).sum();
        let asked = shipping.count.unwrap_or(if promised > 0 { promised } else { cleared });
        let may_go = promised + cleared;
        let living: u32 = lots.iter().map(|no| self.state.living(*no).total()).sum();
        if asked > living {
            let (at, there) = (shipping.at.clone(), living);
            return Err(Refusal::NotThere { at, species: None, there, asked, promised: 0 }.into());
        }
        if asked == 0 || asked > may_go {
            let at = shipping.at.clone();
            return Err(Refusal::NotCleared { at, cleared: may_go, asked: shipping.count.unwrap_or(0) }.into());
        }
        if asked < promised + cleared && asked != promised && lots.len() > 1 {
            let text = say::question::which_lot(shipping.at, &lots.iter().map(|no| no.0).collect::<Vec<_>>());
            return Err(Query::place(text, act.clone()).into());
        }
        let mut left = asked;
        for no in &lots {
            left = self.ship_promised(*no, &buyer, left);
        }
        for no in &lots {
            left = self.ship_cleared(*no, &buyer, left);
        }
        let tank = at.vessel().unwrap_or_default().to_owned();
        self.forget_look_of_empty(&tank);
        if let Some((chat, topic)) = self.chat_of_buyer(&buyer) {
            let species = lots.first().and_then(|no| self.state.lots.get(no)).map(|lot| self.state.species(lot.line));
            let body = say::buyer::shipped(&species.unwrap_or_default(), asked);
            self.tell(chat, topic, Class::Notice, body, Vec::new());
        }
        let standing = say::standing::shipped(asked, &buyer, &self.vessel_in_words(&tank));
        Ok(Done::standing(standing))
    }

    fn buyer_of_shipment(&self, lots: &[LotNo], shipping: &Shipping) -> Result<String, Stop> {
        if shipping.buyer.is_some() {
            return self.known_buyer(shipping.buyer);
        }
        let mut buyers: Vec<String> = lots
            .iter()
            .flat_map(|no| self.state.reservations_on(*no))
            .map(|(_, reservation, _)| reservation.buyer.clone())
            .collect();
        buyers.sort();
        buyers.dedup();
        match buyers.as_slice() {
            [one] => Ok(one.clone()),
            [] => Err(Refusal::NoSuchBuyer { name: None }.into()),
            several => {
                let act = crate::message::Act::Ship {
                    at: shipping.at.clone(),
                    count: shipping.count,
                    buyer: None,
                    fix: false,
                };
                let choices = choices(several);
                let matter = Matter::WhichBuyer { act: Box::new(act.into()), among: several.to_vec() };
                Err(Query::choice(say::question::which_buyer(several), matter, choices).into())
            }
        }
    }

    fn promised_to(&self, lot: LotNo, buyer: &str) -> u32 {
        self.state
            .reservations_on(lot)
            .into_iter()
            .filter(|(_, reservation, _)| reservation.buyer == buyer)
            .map(|(_, _, left)| left)
            .sum()
    }

    fn ship_promised(&mut self, lot: LotNo, buyer: &str, count: u32) -> u32 {
        let mut wanted = count;
        let Some(line) = self.state.lots.get(&lot).map(|record| record.line) else { return wanted };
        let promises: Vec<_> = self
            .state
            .reservations_on(lot)
            .into_iter()
            .filter(|(_, reservation, _)| reservation.buyer == buyer)
            .map(|(no, _, left)| (no, left))
            .collect();
        for (no, left) in promises {
            let taken = wanted.min(left);
            self.transfer_some(line, &Account::Reserved(no), &Account::Shipped(lot), taken, Certainty::Counted);
            wanted -= taken;
        }
        self.log_shipped(lot, count - wanted, buyer);
        wanted
    }

    fn ship_cleared(&mut self, lot: LotNo, buyer: &str, count: u32) -> u32 {
        let Some(line) = self.state.lots.get(&lot).map(|record| record.line) else { return count };
        let left = self.transfer_some(line, &Account::Cleared(lot), &Account::Shipped(lot), count, Certainty::Counted);
        self.log_shipped(lot, count - left, buyer);
        left
    }

    fn log_shipped(&mut self, lot: LotNo, count: u32, buyer: &str) {
        if count == 0 {
            return;
        }
        let Some(tank) = self.state.lots.get(&lot).map(|record| record.tank.clone()) else { return };
        let what = Logged::Shipped { lot: Some(lot), through: None, count, buyer: buyer.to_owned() };
        self.log(Spot::Vessel(tank), self.said_at, what);
    }

    /// A moment as the site's people say it: "02:10", with the weekday where it is not within a day.
    pub(super) fn local(&self, at: DateTime<Utc>) -> String {
        say::time::moment(at, self.now, self.settings.zone)
    }
}

fn minutes(count: f64) -> Duration {
    // A hold of more than a year of minutes is not a hold; the reader has refused it before.
    Duration::seconds((count.clamp(0.0, 600_000.0) * 60.0).round() as i64)
}
