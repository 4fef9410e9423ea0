//! Which fish a number is of: named before it, behind it, or once for all that is counted in a place.

use super::Fact;
use crate::message::item::What;
use crate::message::message_text::Message;
use crate::message::{Act, Doubt, Wanted};

/// The fish named so far among the counts of one place.
#[derive(Debug, Default)]
pub(super) struct FishNamed {
    /// The fish of the numbers that follow: more than one name where the words fit several.
    pub(super) now: Option<Vec<String>>,
    /// Every fish named in this place.
    all: Vec<Vec<String>>,
    /// The first fact of this place.
    from: usize,
}

impl FishNamed {
    /// These fish are spoken of from here.
    pub(super) fn name(&mut self, fish: Vec<String>) {
        if !self.all.contains(&fish) {
            self.all.push(fish.clone());
        }
        self.now = Some(fish);
    }

    /// These fish were named behind the counts before them that have none.
    pub(super) fn name_behind(&mut self, fish: Vec<String>, facts: &mut [Fact]) {
        for fact in facts.iter_mut().skip(self.from) {
            fact.name_fish(&fish);
        }
        self.name(fish);
        self.now = None;
    }

    /// One fish named for all the counts of a place is the fish of each; then the next place begins.
    pub(super) fn next_place(&mut self, facts: &mut [Fact]) {
        if let [fish] = self.all.as_slice() {
            for fact in facts.iter_mut().skip(self.from) {
                fact.name_fish(fish);
            }
        }
        *self = FishNamed { from: facts.len(), ..FishNamed::default() };
    }
}

impl Fact {
    /// Names the fish of a count that has none.
    fn name_fish(&mut self, fish: &[String]) {
        let Act::Count(count) = &mut self.said.act else { return };
        if count.species.is_some() || count.got.is_some() {
            return;
        }
        match fish {
            [one] => count.species = Some(one.clone()),
            several => {
                let doubt = (Doubt::WhichSpecies(several.to_vec()), Wanted::Species(several.to_vec()));
                self.doubt.get_or_insert(doubt);
            }
        }
    }

    /// A name that fits several fish.
    pub(super) fn which_species(self, among: Vec<String>) -> Fact {
        let wanted = Wanted::Species(among.clone());
        self.doubted(Doubt::WhichSpecies(among), wanted)
    }
}

impl Message<'_> {
    /// "cherry barbs 40 alive", "neons: 3 dead": fish named before their number.
    pub(super) fn fish_before_number(&self, at: usize) -> Option<Vec<String>> {
        let What::Species(fish) = &self.item(at)?.what else { return None };
        let (_, end) = self.sentence_bounds(at);
        let mut next = at + 1;
        while next < end
            && (self.is_glue(next)
                || self.value(next, "fish").is_some()
                || [':', ',', '-', '='].iter().any(|mark| self.mark(next, *mark)))
        {
            next += 1;
        }
        let counted = self.amount(next).is_some() || self.value(next, "state").is_some() || self.is_vague(next);
        (next < end && self.free(next) && counted).then(|| fish.clone())
    }

    /// "plecos in box 18 bag 1 are 12 alive": fish at the head of a clause, whose place follows before their number.
    pub(super) fn fish_before_place(&self, at: usize) -> Option<Vec<String>> {
        let (start, _) = self.clause_bounds(at);
        let head = self.head(start);
        let head = head + usize::from(self.text_at(head) == "the");
        let What::Species(fish) = &self.item(head)?.what else { return None };
        let near =
            head + 1 < at && (head + 1..at).all(|n| self.is_glue(n) || self.any_key(n, &["in", "of", "from", "on"]));
        let counted = self.amount(at + 1).is_some() || self.is_glue(at + 1) && self.amount(at + 2).is_some();
        (near && counted && self.free(head)).then(|| fish.clone())
    }

    /// "4 dead neons", "38 alive of the clowns": fish named behind the state.
    pub(super) fn fish_behind_state(&self, end: usize) -> Option<(Vec<String>, usize)> {
        let (_, close) = self.clause_bounds(end.saturating_sub(1));
        let at = (end..close).find(|n| !(self.is_glue(*n) || self.key(*n, "of") || self.text_at(*n) == "the"))?;
        let What::Species(fish) = &self.item(at)?.what else { return None };
        self.free(at).then(|| (fish.clone(), at + 1))
    }

    fn is_vague(&self, at: usize) -> bool {
        self.value(at, "vague").is_some() || self.value(at, "about").is_some()
    }
}

#[cfg(test)]
mod tests {
    use crate::message::tests::{counts, said};

    #[test]
    fn fish_are_named_before_their_number_or_behind_it() {
        for text in [
            "7.2 neons 36 alive 4 dead",
            "7.2: neons, 36 alive, 4 dead",
            "7.2 36 alive 4 dead neons",
            "7.2 36 neons alive, 4 dead",
        ] {
            assert_eq!(counts(&said(text)), ["7.2 neon tetra alive 36 dead 4"], "{text}");
        }
    }

    #[test]
    fn two_fish_of_a_place_keep_their_own_numbers() {
        let both = ["7.2 clown loach dead 4", "7.2 neon tetra alive 36"];
        for text in [
            "7.2 4 dead clowns 36 alive neons",
            "7.2 clowns 4 dead, neons 36 alive",
            "7.2: 4 clowns dead, 36 neons alive",
        ] {
            assert_eq!(counts(&said(text)), both, "{text}");
        }
    }

    #[test]
    fn fish_that_are_moved_or_ail_are_not_those_that_were_counted() {
        assert_eq!(counts(&said("A1 2 dead, clowns flashing")), ["A1 dead 2"]);
        assert_eq!(counts(&said("7.2 2 dead, moved the clowns to A2")), ["7.2 dead 2"]);
    }
}
