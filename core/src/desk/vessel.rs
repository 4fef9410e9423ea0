//! How a tank or tray is: its fish, looks, water, deaths and whether they may be sold.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};

use super::draft::Draft;
use crate::journal::{Logged, Spot};
use crate::message::{Act, Said};
use crate::quantity::{Finite, Measure};
use crate::say;
use crate::say::vessel::{Looked, LotLine, NextLook, Readings, Sale, VesselStands};
use crate::watch::Hours;

impl Draft<'_> {
    /// Everything that a person standing before the tank asks for, in a few lines.
    pub(super) fn how_is_vessel(&self, vessel: &str) -> String {
        let looked = self.last_look_entry(vessel).map(|entry| Looked {
            at: self.local(entry.at),
            by: entry.by.clone(),
            signs: self.signs_of(vessel).into_iter().collect(),
        });
        let next = self.state.looks.get(vessel).map(|look| NextLook {
            at: self.local(look.due),
            overdue: Some((self.now - look.due).num_minutes()).filter(|minutes| *minutes > 0),
        });
        let window = Hours::nearest(self.settings.condition.deaths_window_hours);
        say::vessel::stands(&VesselStands {
            fish: self.vessel_in_words(vessel),
            condition: self.condition_of(vessel),
            looked,
            next,
            water: self.water_of(vessel),
            kit: self.settings.kit.clone(),
            scale: self.settings.temperature,
            dead: self.deaths_since(vessel, None, self.now - window.delta()),
            dead_hours: window.get(),
            lots: self.lots_for_sale(vessel),
        })
    }

    /// The last reading of each kind, those of one time together, the newest first.
    fn water_of(&self, vessel: &str) -> Vec<(String, Readings)> {
        let spot = Spot::Vessel(vessel.to_owned());
        let mut last: BTreeMap<Measure, (DateTime<Utc>, Finite, bool)> = BTreeMap::new();
        for entry in self.state.entries.values().filter(|entry| entry.spot == spot) {
            let Logged::Act(Said { act: Act::Reading(water), .. }) = &entry.what else { continue };
            for (measure, value) in &water.values {
                if last.get(measure).is_none_or(|(at, ..)| *at <= entry.at) {
                    last.insert(*measure, (entry.at, *value, water.over.contains(measure)));
                }
            }
        }
        let mut by_time: BTreeMap<DateTime<Utc>, Readings> = BTreeMap::new();
        for (measure, (at, value, over)) in last {
            by_time.entry(at).or_default().push((measure, value, over));
        }
        by_time.into_iter().rev().map(|(at, values)| (self.local(at), values)).collect()
    }

    fn lots_for_sale(&self, vessel: &str) -> Vec<LotLine> {
        let lots = self.state.lots_in(vessel).into_iter();
        lots.filter_map(|(no, lot)| {
            let living = self.state.living(no);
            let free = living.cleared + living.reserved;
            let sale = if living.total() == 0 {
                return None;
            } else if living.held.total() == 0 {
                Sale::Cleared
            } else if free > 0 {
                Sale::Partly { cleared: free, of: living.total() }
            } else {
                match lot.hold.as_ref().and_then(|hold| hold.until) {
                    Some(until) if until > self.now => Sale::HeldUntil(self.local(until)),
                    Some(until) => Sale::HoldOver(self.local(until)),
                    None => Sale::Held,
                }
            };
            Some(LotLine { lot: no.0, sale })
        })
        .collect()
    }
}
