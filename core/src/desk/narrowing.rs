//! A word that fits several fish of the house ("snails") means the one that is in the place spoken of, or in hand.

use std::collections::BTreeSet;

use super::draft::Draft;
use super::withdraw::place_of_act;
use crate::message::{self, Act, Ask, Dialogue, Doubt, Incoming, Reading, Said, Vocabulary};
use crate::stock::Account;

impl Draft<'_> {
    /// The same message read again with the fish of its places alone, where the first reading asked which fish were meant,
    /// or left them open although several are there.
    pub(super) fn narrowed(
        &self,
        reading: Reading,
        mut vocabulary: Vocabulary,
        dialogue: &Dialogue,
        incoming: &Incoming,
    ) -> Reading {
        let asks_which =
            |reading: &Reading| matches!(&reading.ask, Some(ask) if matches!(ask.doubt, Doubt::WhichSpecies(_)));
        let asked = asks_which(&reading);
        let open = |said: &Said| matches!(&said.act, Act::Count(count) if count.species.is_none());
        if !asked && !reading.acts.iter().any(open) {
            return reading;
        }
        let there = self.fish_of(reading.acts.iter().chain(reading.ask.iter().flat_map(|ask| &ask.question.partial)));
        if there.is_empty() || !asked && there.len() < 2 {
            return reading;
        }
        let (species, aliases) = self.species_words(Some(&there));
        (vocabulary.species, vocabulary.species_aliases) = (Some(species), aliases);
        let again = message::read(&vocabulary, dialogue, incoming);
        let certain = again.ask.is_none() && again.chosen.is_none();
        let only_names_more = || {
            let bare = |acts: &[Said]| acts.iter().map(without_species).collect::<Vec<_>>();
            again.acts != reading.acts && bare(&again.acts) == bare(&reading.acts)
        };
        let better = if asked { !asks_which(&again) && !again.acts.is_empty() } else { certain && only_names_more() };
        if better { again } else { reading }
    }

    /// Fish that are moved by a name that fits several are those that have been met: what still lies in closed boxes is in
    /// nobody's hands.
    pub(super) fn of_fish_at_hand(&self, mut reading: Reading) -> Reading {
        let Some(Ask { doubt: Doubt::WhichSpecies(among), question }) = &reading.ask else { return reading };
        if !question.partial.iter().all(|said| matches!(said.act, Act::Move { .. })) {
            return reading;
        }
        let met: BTreeSet<String> = self
            .state
            .books
            .all()
            .filter(|(purse, _, held)| *held > 0 && self.is_met(&purse.account))
            .map(|(_, line, _)| self.state.species(line))
            .collect();
        let mut fitting = among.iter().filter(|fish| met.contains(*fish));
        let (Some(fish), None) = (fitting.next(), fitting.next()) else { return reading };
        let mut acts = question.partial.clone();
        for said in &mut acts {
            said.act.set_species(fish);
        }
        reading.dialogue.question = None;
        reading.dialogue.last.extend(acts.iter().cloned());
        reading.acts.extend(acts);
        reading.ask = None;
        reading
    }

    /// Living fish that a person has seen: in an open box, in a tray or in a tank.
    fn is_met(&self, account: &Account) -> bool {
        match account {
            Account::Packed(pack) => self.state.boxes.get(&pack.of).is_some_and(|record| record.opened.is_some()),
            Account::Tray(_) | Account::Held(_) | Account::Cleared(_) | Account::Reserved(_) => true,
            _ => false,
        }
    }

    /// The fish in the places of some acts, by the names that acts carry.
    fn fish_of<'s>(&self, acts: impl Iterator<Item = &'s Said>) -> BTreeSet<String> {
        acts.filter_map(|said| self.find(place_of_act(&said.act)?, said).ok())
            .flat_map(|found| self.lines_at(&found))
            .map(|key| self.state.species(key))
            .collect()
    }
}

fn without_species(said: &Said) -> Said {
    let mut said = said.clone();
    if let Act::Count(count) = &mut said.act {
        count.species = None;
    }
    said
}
