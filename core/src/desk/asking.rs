//! Answers: what is due, how a place is, what may be sold. A buyer hears of cleared stock and its own reservations only.

use std::collections::BTreeMap;

use chrono::Duration;

use super::draft::{Draft, Stop};
use super::place::{Where, vessel_place};
use crate::consignment::{ConsignmentNo, LineKey, LotNo, Standing};
use crate::journal::{Logged, Spot};
use crate::message::{About, Place, Said};
use crate::people::{Power, Role};
use crate::say;
use crate::say::answer::{BoardLine, ClaimLine, DueLine};
use crate::stock::{Account, Certainty};

impl Draft<'_> {
    /// Answers a question.
    pub(super) fn reply(
        &mut self,
        about: About,
        at: Option<&Place>,
        species: Option<&str>,
        act: &Said,
    ) -> Result<String, Stop> {
        if self.role == Role::Buyer {
            return self.reply_to_buyer(about, species);
        }
        self.require(Power::AskHouse)?;
        Ok(match about {
            About::Due => say::answer::due(&self.due_lines()),
            About::Board => say::answer::board(&self.board_lines(), &self.due_lines()),
            About::Place => match at {
                Some(place) => self.how_is(place, act)?,
                None => say::answer::board(&self.board_lines(), &self.due_lines()),
            },
            About::Stock => say::answer::stock(&self.stock_lines(species)),
            About::Deaths => self.deaths(at, species, act)?,
            About::Order => {
                let (lines, assumed) = self.opening_order();
                say::answer::order(&lines, &say::order::assumed(&assumed))
            }
            About::Plan => self.plan_for(at, act)?,
            About::Claim => {
                self.require(Power::SeeMoney)?;
                say::answer::claims(&self.claim_lines())
            }
            About::Buyers => say::answer::reservations(&self.reservation_lines(None)),
            About::Help => say::answer::help(),
        })
    }

    fn reply_to_buyer(&self, about: About, species: Option<&str>) -> Result<String, Stop> {
        self.require(Power::AskStock)?;
        match about {
            About::Stock | About::Place | About::Board => {
                let offers: Vec<_> = self
                    .state
                    .lots
                    .keys()
                    .filter(|no| self.state.living(**no).cleared > 0)
                    .map(|no| self.offer(*no))
                    .filter(|offer| species.is_none_or(|wanted| offer.species == wanted))
                    .collect();
                Ok(say::buyer::for_sale(&offers))
            }
            About::Buyers => {
                let buyer = self.buyer.clone().unwrap_or_default();
                Ok(say::buyer::own(&self.own_reservations(&buyer)))
            }
            _ => Ok(say::buyer::only_stock()),
        }
    }

    fn due_lines(&self) -> Vec<DueLine> {
        let mut looks: Vec<_> = self.state.looks.iter().collect();
        looks.sort_by_key(|(_, look)| look.due);
        looks
            .into_iter()
            .map(|(vessel, look)| {
                let overdue = (self.now - look.due).num_minutes();
                let groups: Vec<(String, u32)> = self
                    .groups_at(&self.vessel_where(vessel))
                    .iter()
                    .map(|group| (self.line_in_words(group.line), self.living_of(group)))
                    .collect();
                DueLine {
                    place: say::place::name(&vessel_place(vessel)),
                    fish: say::look::fish(&groups),
                    at: self.local(look.due),
                    overdue: (overdue > 0).then_some(overdue),
                }
            })
            .collect()
    }

    fn board_lines(&self) -> Vec<BoardLine> {
        let living = |no: &ConsignmentNo| self.state.tally_consignment(*no).living() > 0;
        self.state
            .consignments
            .iter()
            .filter(|(no, consignment)| **no != ConsignmentNo::HOUSE && (consignment.finished.is_none() || living(no)))
            .map(|(no, consignment)| {
                let boxes: Vec<_> = self.state.boxes_of(*no).map(|(_, record)| record).collect();
                BoardLine {
                    supplier: self.supplier(*no),
                    done: boxes
                        .iter()
                        .filter(|record| {
                            record.finished.is_some()
                                || matches!(record.standing, Standing::PassedOn(_) | Standing::Lost)
                        })
                        .count(),
                    boxes: boxes.len().max(consignment.announced.unwrap_or(0) as usize),
                    unlisted: consignment.unlisted,
                    late: boxes.iter().filter(|record| record.standing == Standing::Late).count(),
                    tally: self.state.tally_consignment(*no),
                    uncounted: self.uncounted(*no),
                }
            })
            .collect()
    }

    /// Living fish of a consignment that nobody has counted yet: believed from the list.
    fn uncounted(&self, no: ConsignmentNo) -> u32 {
        let here = |account: &Account| {
            matches!(
                account,
                Account::Packed(_) | Account::Tray(_) | Account::Held(_) | Account::Cleared(_) | Account::Reserved(_)
            )
        };
        let presumed = self.state.books.all().filter(|(purse, line, _)| {
            line.consignment == no && purse.certainty == Certainty::Presumed && here(&purse.account)
        });
        presumed.map(|(_, _, balance)| u32::try_from(balance).unwrap_or(0)).sum()
    }

    fn how_is(&mut self, place: &Place, act: &Said) -> Result<String, Stop> {
        let at = self.find(place, act)?;
        let mut parts = Vec::new();
        match &at {
            Where::Box(of) => {
                parts.push(say::standing::opened(&self.contents_in_words(*of)));
                parts.push(self.placed_in_words(*of));
            }
            Where::Bag(pack) => {
                if let Some(bag) = self.state.bags.get(pack) {
                    for (line, census) in &bag.census {
                        let key = self.key(pack.of, *line);
                        let line = say::standing::CensusLine {
                            species: Some(self.line_in_words(key)),
                            census: *census,
                            left: self.state.books.held(&Account::Packed(*pack), key),
                            pen: None,
                            other: Vec::new(),
                        };
                        parts.push(say::standing::census(&line));
                    }
                }
                parts.push(self.placed_in_words(pack.of));
            }
            Where::Tray(vessel) | Where::Tank(vessel) | Where::Lot(_, vessel) => {
                return Ok(self.how_is_vessel(vessel));
            }
        }
        parts.extend(self.readings_at(&at.spot()));
        parts.retain(|part| !part.is_empty());
        Ok(say::answer::place_stands(place, &parts))
    }

    /// The last water reading of a place, as a line with its time.
    fn readings_at(&self, spot: &Spot) -> Vec<String> {
        self.state
            .entries
            .values()
            .filter(|entry| entry.spot == *spot)
            .filter_map(|entry| match &entry.what {
                Logged::Act(said) if matches!(said.act, crate::message::Act::Reading(_)) => Some((entry.at, said)),
                _ => None,
            })
            .max_by_key(|(at, _)| *at)
            .map(|(at, said)| say::standing::read_at(&self.local(at), &self.recorded(said)))
            .into_iter()
            .collect()
    }

    fn stock_lines(&self, species: Option<&str>) -> Vec<(String, u32, u32)> {
        let mut lines: BTreeMap<String, (u32, u32)> = BTreeMap::new();
        for (no, lot) in &self.state.lots {
            let living = self.state.living(*no);
            if living.total() > 0 {
                let sums = lines.entry(self.state.species(lot.line)).or_default();
                sums.0 += living.total();
                sums.1 += living.cleared;
            }
        }
        for (purse, line, balance) in self.state.books.all() {
            if matches!(purse.account, Account::Tray(_) | Account::Packed(_)) {
                lines.entry(self.state.species(line)).or_default().0 += u32::try_from(balance).unwrap_or(0);
            }
        }
        lines
            .into_iter()
            .filter(|(name, _)| species.is_none_or(|wanted| name == wanted))
            .map(|(name, (living, cleared))| (name, living, cleared))
            .collect()
    }

    fn deaths(&mut self, at: Option<&Place>, species: Option<&str>, act: &Said) -> Result<String, Stop> {
        if let Some(place) = at {
            return match self.find(place, act)? {
                Where::Box(of) => Ok(self.placed_in_words(of)),
                Where::Bag(pack) => Ok(self.placed_in_words(pack.of)),
                vessel => Ok(self.vessel_in_words(vessel.vessel().unwrap_or_default())),
            };
        }
        let mut lines = Vec::new();
        for (no, consignment) in &self.state.consignments {
            if let Some(species) = species {
                for (index, _) in consignment.lines.iter().enumerate().filter(|(_, line)| line.species == species) {
                    let key = LineKey { consignment: *no, line: u32::try_from(index + 1).unwrap_or(u32::MAX) };
                    lines.push((format!("{} {}", self.supplier(*no), self.line_in_words(key)), self.state.tally(key)));
                }
            } else if *no != ConsignmentNo::HOUSE {
                lines.push((self.supplier(*no), self.state.tally_consignment(*no)));
            }
        }
        Ok(say::answer::deaths(&lines))
    }

    /// What may be claimed: counted fish only, by consignment, never the house's own stock.
    fn claim_lines(&self) -> Vec<ClaimLine> {
        let mut lines = Vec::new();
        for (no, consignment) in self.state.consignments.iter().filter(|(no, _)| **no != ConsignmentNo::HOUSE) {
            let mut fish: BTreeMap<LineKey, (u32, u32, u32)> = BTreeMap::new();
            let mut presumed = 0;
            for (purse, line, balance) in self.state.books.all().filter(|(_, line, _)| line.consignment == *no) {
                let count = u32::try_from(balance).unwrap_or(0);
                if purse.certainty == Certainty::Presumed && !purse.account.is_source() {
                    presumed += count;
                    continue;
                }
                let sums = fish.entry(line).or_default();
                match purse.account {
                    Account::Doa(_) => sums.0 += count,
                    Account::Short(_) => sums.1 += count,
                    Account::Wrong(_) => sums.2 += count,
                    _ => {}
                }
            }
            let fish: Vec<_> = fish
                .into_iter()
                .filter(|(_, sums)| *sums != (0, 0, 0))
                .map(|(line, (doa, short, wrong))| (self.line_in_words(line), doa, short, wrong))
                .collect();
            if fish.is_empty() {
                continue;
            }
            let from = consignment.stages.get(&self.settings.claims.from).copied();
            let until = from.map(|from| from + Duration::hours(i64::from(self.settings.claims.window_hours)));
            lines.push(ClaimLine {
                supplier: self.supplier(*no),
                fish,
                presumed,
                until: until.map(|until| self.local(until)),
            });
        }
        lines
    }

    /// A buyer's own reservations that still hold fish.
    pub(super) fn own_reservations(&self, buyer: &str) -> Vec<(String, u32)> {
        self.reservation_lines(Some(buyer)).into_iter().map(|(_, count, species, _)| (species, count)).collect()
    }

    fn reservation_lines(&self, buyer: Option<&str>) -> Vec<(String, u32, String, u32)> {
        self.state
            .reservations
            .iter()
            .filter(|(_, reservation)| buyer.is_none_or(|buyer| reservation.buyer == buyer))
            .filter_map(|(no, reservation)| {
                let left = self.state.books.total_in(&Account::Reserved(*no)).total();
                let LotNo(lot) = reservation.lot;
                let line = self.state.lots.get(&reservation.lot)?.line;
                (left > 0).then(|| (reservation.buyer.clone(), left, self.line_in_words(line), lot))
            })
            .collect()
    }
}
