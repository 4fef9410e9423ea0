//! "undo", "scratch that, 5 dead", "sorry 5 not 4": what is said of earlier acts.

use super::Turn;
use crate::message::attach::{Outcome, place_of};
use crate::message::item::{Layer, What};
use crate::message::message_text::Mood;
use crate::message::{Act, Doubt, Place, Reading, Said, Wanted, fixing};
use crate::message::{facts_fields, facts_get, facts_set};

impl Turn<'_> {
    /// "undo", "scratch that, 5 dead", "sorry 5 not 4".
    pub(super) fn correction(&mut self) -> Option<Reading> {
        let head = self.message.head(0);
        let undo = (0..self.message.items.len().min(4))
            .find_map(|n| self.message.layer_at(n, "undo").copied())
            .filter(|layer| {
                let word = self.message.tokens[layer.first].text.as_str();
                layer.end - layer.first > 1 || word == "undo" || self.message.tokens.len() <= 3
            })
            .filter(|_| !self.message.mood.contains(&Mood::Question) && !self.message.mood.contains(&Mood::Plan))
            .filter(|_| (0..self.message.items.len()).filter(|n| self.message.is_foreign(*n)).count() <= 1);
        let was = self.message.layer(0, self.message.items.len(), "fix").any(|layer| layer.meaning.value == "was");
        let marked = self.message.correction.marked;
        let misplaced = self.message.correction.old_place;
        if let Some(layer) = undo {
            let from = self.message.item_of_token(layer.first);
            let to = self.message.item_of_token(layer.end);
            self.message.used[from..to].fill(true);
            return Some(self.undone());
        }
        let placed = self.message.items.iter().any(|item| matches!(item.what, What::Place(_)));
        let trailing = !marked && self.trailing_apology();
        if !(marked || trailing || was && head < self.message.items.len()) {
            return None;
        }
        let Outcome { acts, waiting, used } = self.plain();
        if acts.is_empty() && waiting.is_empty() {
            // "D1 3 not 2": the number is what is wrong, where the act it corrects stands at that place.
            if marked
                && placed
                && self.message.bare_number_at().is_some()
                && let Some(reading) = self.bare_correction()
                && reading.acts.iter().all(|said| self.names(place_of(&said.act)))
                && !reading.acts.is_empty()
            {
                return Some(reading);
            }
            if placed && (misplaced || was || marked) && !self.dialogue.last.is_empty() && self.only_a_place() {
                return Some(self.doubting(Vec::new(), Doubt::WhichPlaceCorrected, (Wanted::Place, Vec::new())));
            }
            if was && !placed && self.wrong_place() {
                return Some(self.doubting(Vec::new(), Doubt::WhichPlaceCorrected, (Wanted::Place, Vec::new())));
            }
            let named = (0..self.message.items.len()).any(|n| {
                self.message.value(n, "product").is_some()
                    || matches!(self.message.items[n].what, What::Species(_))
                    || self.message.value(n, "state").is_some_and(|state| state != "sound")
            });
            if (marked || was)
                && named
                && !self.dialogue.last.is_empty()
                && self.message.bare_number_at().is_none()
                && self.only_a_place()
            {
                return Some(self.doubting(Vec::new(), Doubt::WhatCorrected, (Wanted::Place, Vec::new())));
            }
            return if marked || trailing { self.bare_correction() } else { None };
        }
        if !(marked || trailing) {
            return Some(self.finish(acts, waiting, used));
        }
        // "actually only 34 moved", "make it 18 for teasel": what is missing stands in the earlier act.
        if acts.is_empty()
            && let Some(reading) = self.bare_correction()
            && !reading.acts.is_empty()
        {
            return Some(reading);
        }
        // A corrected dose needs no unit again, a corrected reservation no fish.
        let (named, waiting): (Vec<_>, Vec<_>) = waiting.into_iter().partition(|(doubt, _, said)| {
            matches!(doubt, Doubt::WhichUnit | Doubt::WhichFish) && self.as_fix(said.clone()).act.is_fix()
        });
        let mut acts: Vec<Said> =
            acts.into_iter().chain(named.into_iter().map(|(_, _, said)| said)).map(|said| self.as_fix(said)).collect();
        self.add_first_number(&mut acts);
        Some(self.finish(acts, waiting, used))
    }

    /// "sorry 43 and 2 doa" after "40 ok 1 doa": the number without a state is the one that had another state before.
    fn add_first_number(&self, acts: &mut [Said]) {
        let message = &self.message;
        let [Said { act: Act::Count(count), .. }] = acts else { return };
        let left: Vec<usize> =
            (0..message.items.len()).filter(|n| !message.used[*n] && message.items[*n].number().is_some()).collect();
        let [at] = left.as_slice() else { return };
        let joined = message.key(at + 1, "and") || message.mark(at + 1, ',') || message.mark(at + 1, '+');
        let (Some(n), true, true) = (message.items[*at].whole(), joined, count.fix) else { return };
        let old = self.dialogue.last.iter().chain(&self.dialogue.earlier).find_map(|said| match &said.act {
            Act::Count(old) if old.at == count.at => Some(old),
            _ => None,
        });
        let Some(old) = old else { return };
        let open: Vec<&str> = facts_fields()
            .iter()
            .copied()
            .filter(|field| facts_get(old, field).is_some() && facts_get(count, field).is_none())
            .collect();
        if let [field] = open.as_slice() {
            facts_set(count, field, Some(n));
        }
    }

    /// "5 dead sorry", "ph 6.8 i mean": the apology behind the number.
    fn trailing_apology(&self) -> bool {
        let message = &self.message;
        let closes = |layer: &&Layer| {
            layer.end == message.tokens.len()
                && layer.first > 0
                && (layer.meaning.value == "sorry"
                    || matches!(message.tokens[layer.first].text.as_str(), "i" | "sorry" | "meant"))
        };
        message.layers.iter().filter(|layer| layer.meaning.class == "fix").any(|layer| closes(&layer))
            && message.layer_at(0, "fix").is_none()
    }

    /// Whether the message holds a place and nothing that is said of it.
    fn only_a_place(&self) -> bool {
        (0..self.message.items.len()).filter(|n| self.message.is_foreign(*n)).count() <= 1
    }

    fn wrong_place(&self) -> bool {
        self.message
            .layer(0, self.message.items.len(), "fix")
            .any(|layer| self.message.tokens[layer.first].text == "wrong" && layer.end - layer.first == 2)
    }

    fn undone(&mut self) -> Reading {
        let Outcome { acts, waiting, used } = self.plain();
        if acts.is_empty() && waiting.is_empty() {
            if self.message.bare_number_left() && !self.dialogue.last.is_empty() {
                self.message.correction.marked = true;
                if let Some(reading) = self.bare_correction() {
                    return reading;
                }
            }
            return self.finish(vec![Act::Undo.into()], Vec::new(), Vec::new());
        }
        let fixed: Vec<Said> = acts.iter().cloned().map(|said| self.as_fix(said)).collect();
        if !fixed.is_empty() && fixed.iter().all(|said| said.act.is_fix()) {
            return self.finish(fixed, waiting, used);
        }
        let mut all = vec![Act::Undo.into()];
        all.extend(acts);
        self.finish(all, waiting, used)
    }

    /// Marks an act as the correction of an earlier one of its kind and place.
    fn as_fix(&self, mut said: Said) -> Said {
        let earlier = self.dialogue.last.iter().chain(&self.dialogue.earlier);
        let same = |old: &&Said| {
            std::mem::discriminant(&old.act) == std::mem::discriminant(&said.act)
                && match (&old.act, &said.act) {
                    (Act::Reserve { species: a, at: p, .. }, Act::Reserve { species: b, at: q, .. }) => {
                        a == b && p == q
                    }
                    (Act::Dose { product: a, at: p, .. }, Act::Dose { product: b, at: q, .. }) => a == b && p == q,
                    (a, b) => place_of(a) == place_of(b),
                }
        };
        let found = earlier.clone().find(same).cloned();
        // "correction:" and nothing else says so by itself; what is corrected is found by the desk.
        let old = match found {
            Some(old) => old,
            None if self.says_correction() => said.clone(),
            None => return said,
        };
        match (&mut said.act, &old.act) {
            (Act::Count(count), _) => count.fix = true,
            (Act::Reading(water), _) => water.fix = true,
            (Act::Swap { fix, .. }, _) => *fix = true,
            (Act::Dose { fix, .. }, _) => *fix = true,
            (Act::Move { fix, from, .. }, _) => {
                *fix = true;
                // Only what was corrected is said again.
                *from = None;
            }
            (Act::Reserve { fix, buyer, .. }, Act::Reserve { buyer: old, .. }) => {
                *fix = true;
                if buyer == old && !self.says_correction() {
                    *buyer = None;
                }
            }
            (Act::Ship { fix, buyer, .. }, Act::Ship { buyer: old, .. }) => {
                *fix = true;
                if buyer == old && !self.says_correction() {
                    *buyer = None;
                }
            }
            _ => {}
        }
        said
    }

    /// Whether the message names this place.
    pub(super) fn names(&self, place: Option<&Place>) -> bool {
        self.message.items.iter().any(|item| match &item.what {
            What::Place(mention) => place.is_some_and(|place| mention.places.contains(place)),
            _ => false,
        })
    }

    fn says_correction(&self) -> bool {
        self.message.correction.named
    }

    /// "sorry 5 not 4", "*5", "sorry 6 ml": a number by itself corrects the last act that has one.
    fn bare_correction(&self) -> Option<Reading> {
        let message = &self.message;
        let at = (0..message.items.len())
            .find(|n| message.items[*n].number().is_some() || message.value(*n, "fraction").is_some())?;
        // What is said in another clause than the number's does not touch it: "sorry 5 not 4, wet hands lol".
        let (from, to) = message.clause_bounds(at);
        let foreign = (from..to).filter(|n| message.is_foreign(*n)).count();
        let clock = (0..message.items.len()).any(|n| matches!(message.items[n].what, What::Clock(..)));
        if foreign > 0 || clock {
            return None;
        }
        let unplaced = || self.doubting(Vec::new(), Doubt::WhatCorrected, (Wanted::Number(String::new()), Vec::new()));
        let mut found: Vec<Said> = Vec::new();
        for old in &self.dialogue.last {
            found.extend(fixing::corrected(message, at, &old.act, message.correction.old).into_iter().map(Said::from));
        }
        if found.is_empty() && message.correction.old.is_some() {
            for old in self.dialogue.earlier.iter().rev() {
                found.extend(
                    fixing::corrected(message, at, &old.act, message.correction.old).into_iter().map(Said::from),
                );
                if !found.is_empty() {
                    break;
                }
            }
        }
        match found.as_slice() {
            [said] if self.reachable(&said.act) => Some(self.finish(vec![said.clone()], Vec::new(), Vec::new())),
            [] if self.dialogue.last.is_empty() && !message.correction.strong => None,
            _ => Some(unplaced()),
        }
    }

    /// A correction without a place reaches the carried place only.
    fn reachable(&self, act: &Act) -> bool {
        match act {
            Act::Reserve { .. } => true,
            _ => !self.carried.is_empty() || !self.incoming.re.is_empty(),
        }
    }
}
