//! Finding out which box, vessel or lot a place said in a message is.

use super::draft::{Draft, Query, Stop};
use super::refusal::Refusal;
use crate::consignment::{BoxKey, ConsignmentNo, LotNo, Pack, Standing};
use crate::journal::{Matter, Spot, Vessel};
use crate::message::{Act, Choice, Place, Said, VesselKind};
use crate::say;

/// The tap of a house that gave it no name. Its water is read; nothing else is said of it.
pub(super) const TAP: &str = "tap";

/// A place as the books know it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Where {
    /// A whole box.
    Box(BoxKey),
    /// A bag.
    Bag(Pack),
    /// A tray.
    Tray(String),
    /// A tank, tub, sump or tap.
    Tank(String),
    /// A lot, in its tank.
    Lot(LotNo, String),
}

impl Where {
    /// Where a log entry about it belongs.
    pub fn spot(&self) -> Spot {
        match self {
            Where::Box(of) => Spot::Pack(of.loose()),
            Where::Bag(pack) => Spot::Pack(*pack),
            Where::Tray(name) | Where::Tank(name) | Where::Lot(_, name) => Spot::Vessel(name.clone()),
        }
    }

    /// The tank or tray, if it is one.
    pub fn vessel(&self) -> Option<&str> {
        match self {
            Where::Tray(name) | Where::Tank(name) | Where::Lot(_, name) => Some(name),
            Where::Box(_) | Where::Bag(_) => None,
        }
    }
}

impl Draft<'_> {
    /// The box that bears the number, asked for by supplier where two open consignments have it.
    pub fn find_box(&self, number: u32, act: &Said) -> Result<BoxKey, Stop> {
        let found = self.state.boxes_numbered(number);
        match found.as_slice() {
            [] => Err(Refusal::NoSuchBox { number }.into()),
            [one] => Ok(*one),
            several => {
                if let Some(carried) = several.iter().find(|key| Some(key.consignment) == self.consignment) {
                    return Ok(*carried);
                }
                // Where all but one are done, the one still to do is meant; its supplier's name stands in the read-back.
                let mut to_do = several.iter().filter(|key| !self.is_done(**key));
                if let (Some(one), None) = (to_do.next(), to_do.next()) {
                    return Ok(*one);
                }
                let among: Vec<ConsignmentNo> = several.iter().map(|key| key.consignment).collect();
                let suppliers: Vec<String> = among.iter().map(|no| self.supplier(*no)).collect();
                let choices = choices(&suppliers);
                Err(Query::choice(
                    say::question::which_consignment(number, &suppliers),
                    Matter::WhichConsignment { acts: vec![act.clone()], among },
                    choices,
                )
                .into())
            }
        }
    }

    fn is_done(&self, of: BoxKey) -> bool {
        self.state.boxes.get(&of).is_none_or(|record| {
            record.finished.is_some() || matches!(record.standing, Standing::PassedOn(_) | Standing::Lost)
        })
    }

    /// A box number carried from another box of that number, which is done, is the one still to do when it is opened.
    pub fn carry_open_one(&mut self, said: &Said) {
        let number = match &said.act {
            Act::Open { at: Place::Box { number } | Place::Bag { number, .. } } => *number,
            Act::Count(count) if self.consignment.is_none() => match &count.at {
                Place::Box { number } | Place::Bag { number, .. } => *number,
                _ => return,
            },
            _ => return,
        };
        let found = self.state.boxes_numbered(number);
        if found.len() < 2 {
            return;
        }
        let carried = found.iter().find(|key| Some(key.consignment) == self.consignment);
        let to_do: Vec<_> = found.iter().filter(|key| !self.is_done(**key)).collect();
        if let [one] = to_do.as_slice()
            && carried.is_none_or(|carried| self.is_done(*carried))
        {
            self.consignment = Some(one.consignment);
        }
    }

    /// The supplier's name of a consignment, short enough for a line.
    pub fn supplier(&self, no: ConsignmentNo) -> String {
        match self.state.consignments.get(&no) {
            Some(consignment) if consignment.is_anonymous() => say::unlisted::no_list_yet().to_owned(),
            found => found.map(|consignment| consignment.supplier.clone()).unwrap_or_default(),
        }
    }

    /// What a place said in a message is. Any tray or tank is known while none of its kind was declared.
    pub fn find(&self, place: &Place, act: &Said) -> Result<Where, Stop> {
        match place {
            Place::Box { number } => Ok(Where::Box(self.find_box(*number, act)?)),
            Place::Bag { number, bag } => Ok(Where::Bag(self.find_box(*number, act)?.bag(*bag))),
            Place::Tray { tray } => self.find_vessel(tray, true, act).map(Where::Tray),
            Place::Tank { tank } => self.find_vessel(tank, false, act).map(Where::Tank),
            Place::Lot { lot } => {
                let no = LotNo(*lot);
                let record = self.state.lots.get(&no).filter(|_| self.may_know(no));
                let record = record.ok_or(Refusal::NoSuchLot { number: *lot })?;
                Ok(Where::Lot(no, record.tank.clone()))
            }
        }
    }

    fn find_vessel(&self, name: &str, tray: bool, act: &Said) -> Result<String, Stop> {
        let key = if tray { tray_key(name) } else { name.to_owned() };
        if self.state.vessels.contains_key(&key) || self.state.fish_in_vessel(&key) > 0 {
            return Ok(key);
        }
        if key == TAP && matches!(act.act, Act::Reading(_)) {
            return Ok(key);
        }
        let any_of_kind = self
            .state
            .vessels
            .values()
            .any(|vessel| (vessel.kind == VesselKind::Tray) == tray && !vessel_is_tap(vessel));
        if any_of_kind {
            return Err(Query::choice(
                say::question::new_vessel(name, tray),
                Matter::NewVessel { name: key, acts: vec![act.clone()] },
                say::question::yes_no(),
            )
            .into());
        }
        Ok(key)
    }

    /// The tray or tank that a vessel's key names.
    pub fn vessel_where(&self, vessel: &str) -> Where {
        let tray = self.state.is_tray(vessel, vessel.starts_with("tray "));
        if tray { Where::Tray(vessel.to_owned()) } else { Where::Tank(vessel.to_owned()) }
    }

    /// Refuses what cannot be done with a box that is not here.
    pub fn must_be_here(&self, of: BoxKey) -> Result<(), Stop> {
        let standing = match self.state.boxes.get(&of).map(|record| &record.standing) {
            Some(Standing::Lost) => "lost",
            Some(Standing::PassedOn(_)) => "passed on",
            _ => return Ok(()),
        };
        Err(Refusal::NotHere { number: of.number, standing }.into())
    }
}

/// The key of a tray among the vessels: trays and tanks may share a name, so a tray's carries its kind.
pub(crate) fn tray_key(name: &str) -> String {
    format!("tray {name}")
}

/// The place that the key of a vessel, or of a look at a bag or box, names.
pub(crate) fn vessel_place(key: &str) -> Place {
    let pack = || {
        if let Some(number) = key.strip_prefix("box ") {
            return number.parse().ok().map(|number| Place::Box { number });
        }
        let (number, bag) = key.split_once('.')?;
        Some(Place::Bag { number: number.parse().ok()?, bag: bag.parse().ok()? })
    };
    match key.strip_prefix("tray ") {
        Some(tray) => Place::Tray { tray: tray.to_owned() },
        None => pack().unwrap_or_else(|| Place::Tank { tank: key.to_owned() }),
    }
}

fn vessel_is_tap(vessel: &Vessel) -> bool {
    vessel.kind == VesselKind::Tap
}

/// Choices between names, each answered by its whole name or by any word that no other of them has: "kuhlis".
pub(super) fn choices(among: &[String]) -> Vec<Choice> {
    let words_of = |name: &str| -> Vec<String> {
        name.to_lowercase()
            .split(|letter: char| !letter.is_alphanumeric() && letter != '\'')
            .filter(|word| !word.is_empty())
            .map(str::to_owned)
            .collect()
    };
    among
        .iter()
        .map(|name| {
            let others: Vec<String> =
                among.iter().filter(|other| *other != name).flat_map(|other| words_of(other)).collect();
            let own = words_of(name).into_iter().filter(|word| !others.contains(word));
            let mut words = vec![name.to_lowercase(), format!("{}s", name.to_lowercase())];
            words.extend(own.flat_map(|word| [format!("{word}s"), word]));
            // "low tide" for Low Tide Farm.
            let lower = name.to_lowercase();
            let starts = lower.match_indices(' ').skip(1).map(|(at, _)| lower[..at].to_owned());
            let begins = |name: &String, start: &str| name.to_lowercase().starts_with(start);
            words.extend(starts.filter(|start| among.iter().filter(|other| begins(other, start)).count() == 1));
            Choice { label: name.clone(), words }
        })
        .collect()
}
