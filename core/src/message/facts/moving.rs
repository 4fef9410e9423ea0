//! Fish moved.

use super::{Bind, Context, Fact};
use crate::message::item::What;
use crate::message::message_text::Message;
use crate::message::place_words::{box_of, nowhere};
use crate::message::{Act, Doubt, Place, Wanted};

impl Message<'_> {
    pub(super) fn moves(&mut self, facts: &mut Vec<Fact>, context: &Context) {
        let mut last_from: Option<Place> = context.moved_from.clone();
        // The place that held before the destination in this message.
        let mut source: Option<Place> = None;
        let mut at = 0;
        while at < self.items.len() {
            if let Some(end) = self.move_without_preposition(at, facts) {
                at = end;
                continue;
            }
            if let Some(mention) = self.place(at).filter(|_| self.free(at)) {
                if let [place] = mention.places.as_slice()
                    && !mention.unknown
                    && !self.is_destination(at)
                {
                    source = Some(place.clone());
                }
                at += 1;
                continue;
            }
            match self.move_at(at, facts, context, &mut source, &mut last_from) {
                Some(end) => at = end.max(at + 1),
                None => at += 1,
            }
        }
        self.moves_to_nowhere(facts);
    }

    /// "8.1 A3, 8.2 A4", "all guppy C3": what is moved and where to, and nothing else in the clause.
    fn move_without_preposition(&mut self, at: usize, facts: &mut Vec<Fact>) -> Option<usize> {
        let (start, end) = self.clause_bounds(at);
        if at != start || !self.reports(at) {
            return None;
        }
        let single = |n: usize| {
            self.place(n).filter(|mention| !mention.unknown && !mention.relative).and_then(|mention| {
                match mention.places.as_slice() {
                    [place] => Some(place.clone()),
                    _ => None,
                }
            })
        };
        let (from, species, destination) = match (single(at), self.item(at + 1).map(|item| &item.what)) {
            (Some(from @ (Place::Bag { .. } | Place::Box { .. } | Place::Tray { .. })), _) => {
                (Some(from), None, at + 1)
            }
            (None, Some(What::Species(fish))) if self.key(at, "all") && fish.len() == 1 => {
                (None, fish.first().cloned(), at + 2)
            }
            _ => return None,
        };
        let to = single(destination).filter(|to| match (&from, to) {
            (Some(Place::Tray { .. }), Place::Tank { .. }) => true,
            (Some(Place::Tray { .. }), _) => false,
            (_, to) => matches!(to, Place::Tank { .. } | Place::Tray { .. }),
        })?;
        let closes = (destination + 1..end).all(|n| matches!(self.items[n].what, What::Mark(_) | What::Line));
        if !closes || !self.free(at) {
            return None;
        }
        let mut fact = Fact::new(Act::Move { to, from, count: None, species, fix: false }, at, destination + 1);
        fact.bind = Bind::Settled;
        self.take(at, destination + 1);
        facts.push(fact);
        Some(destination + 1)
    }

    pub(super) fn is_destination(&self, at: usize) -> bool {
        at > 0 && (self.any_key(at - 1, &["into", "to"]) || self.mark(at - 1, '>'))
    }

    /// A destination with its preposition at `at`.
    fn move_at(
        &mut self,
        at: usize,
        facts: &mut Vec<Fact>,
        context: &Context,
        source: &mut Option<Place>,
        last_from: &mut Option<Place>,
    ) -> Option<usize> {
        let strong_into = matches!(
            self.text_at(at),
            "went" | "gone" | "put" | "poured" | "released" | "emptied" | "decanted" | "tipped"
        ) && self.key(at, "movestrong")
            && self.place(at + 1).is_some();
        // "A1 > A2"
        let arrow = self.mark(at, '>') && at > 0 && self.place(at - 1).is_some();
        let into = self.key(at, "into") || strong_into || arrow;
        let to = self.key(at, "to");
        let went = matches!(self.text_at(at), "went" | "gone") && self.key(at, "dose");
        let inside = self.any_key(at, &["in", "on"]) || went;
        if !(into || to || inside) || !self.free(at) || !self.reports(at) {
            return None;
        }
        let destination = at + 1 + usize::from(matches!(self.text_at(at + 1), "the"));
        let mention = self.place(destination)?.clone();
        let all_vessels = mention.places.iter().all(|place| matches!(place, Place::Tank { .. } | Place::Tray { .. }));
        if !all_vessels || mention.relative && inside {
            return None;
        }
        let load = self.load(at);
        let (from_clause, to_clause) = self.clause_bounds(at);
        // "put 5 down in A12" kills; it moves nothing.
        if at > from_clause
            && (self.text_at(at - 1) == "down"
                && (from_clause..at).any(|n| matches!(self.text_at(n), "put" | "putting"))
                || (from_clause..at).any(|n| self.key(n, "putdown")))
        {
            return None;
        }
        if (load.first..at).any(|n| !self.free(n) && self.place(n).is_none()) && !load.verb {
            return None;
        }
        let behind = destination + 1;
        // "36 to A12 from tray 3"
        let named_behind = self.key(behind, "from").then(|| self.place(behind + 1).cloned()).flatten();
        let placed_load = load.from.is_some();
        let something =
            load.count.is_some() || load.species.is_some() || load.rest || load.all || placed_load || load.vague;
        let dosing = (from_clause..at).any(|n| {
            self.value(n, "product").is_some()
                || self.dose_amount(n).is_some()
                || (self.key(n, "dose")
                    && !matches!(self.text_at(n), "put" | "putting" | "went" | "gone")
                    && load.species.is_none()
                    && !load.fishy)
        });
        if dosing
            || (from_clause..at).any(|n| self.any_key(n, &["ship", "check", "recheck", "hold", "swapstrong"]))
                && !load.verb
        {
            return None;
        }
        if (load.first..at).any(|n| self.negated(n)) || self.negated(at) {
            return None;
        }
        let moves = if into {
            something
                || load.verb
                || load.first == at
                    && (at == from_clause || self.is_glue(at - 1) || self.any_key(at - 1, &["and", "then"]))
        } else if to {
            load.verb
                || named_behind.is_some()
                || load.named_from
                || (something && self.nothing_else(from_clause, load.first))
        } else {
            let ends = self
                .item(behind)
                .is_none_or(|item| matches!(item.what, What::Mark(',' | '.' | '!' | ';') | What::Line))
                || self.any_key(behind, &["and", "now", "from", "done", "but"])
                || self.key(behind, "at") && self.clock(behind + 1, true).is_some()
                || self.is_glue(behind)
                    && self.item(behind + 1).is_none_or(|item| matches!(item.what, What::Mark(_) | What::Line));
            let bare = load.species.is_none() && !load.fishy && load.count.is_some();
            if self.key(at, "on") && bare && !load.verb
                || (from_clause..at).any(|n| self.key(n, "swapweak")) && !load.verb
            {
                return None;
            }
            let put = matches!(self.text_at(load.first.saturating_sub(1)), "put")
                || matches!(self.text_at(load.first), "put");
            let counted_before = facts.iter().any(|fact| matches!(fact.said.act, Act::Count(_)));
            let elliptic =
                load.count.is_some() && !load.fishy && load.species.is_none() && self.count_before(load.first);
            load.verb && !dosing && (something || ends)
                || (put && something)
                || (ends
                    && something
                    && !elliptic
                    && !counted_before
                    && !load.vague
                    && self.nothing_else(from_clause, load.first))
        };
        if !moves || !self.trusted(at, false) {
            return None;
        }
        let mut end = if named_behind.is_some() { behind + 2 } else { behind };
        let (destination_place, doubt) = match mention.places.as_slice() {
            _ if mention.unknown => (nowhere(), Some((Doubt::WhereTo, Wanted::Place))),
            [place] => (place.clone(), None),
            _ if load.each && load.count.is_some() => (mention.places[0].clone(), None),
            _ => (nowhere(), Some((Doubt::WhereTo, Wanted::Place))),
        };
        let mut count = load.count;
        // "from tray 1 to A3 10 fish"
        let mut fishy = load.fishy;
        if count.is_none()
            && !load.rest
            && let Some(n) = self.item(end).and_then(|item| item.whole()).filter(|_| self.free(end))
        {
            let fish = self.value(end + 1, "fish").is_some() || self.value(end + 1, "unit") == Some("pcs");
            if fish || self.item(end + 1).is_none_or(|item| matches!(item.what, What::Mark(',' | '.') | What::Line)) {
                count = Some(n);
                fishy = true;
                end += 1 + usize::from(fish);
            }
        }
        let explicit_from = named_behind.or_else(|| load.from.clone().filter(|_| true));
        let mut unknown_from = explicit_from.as_ref().is_some_and(|mention| mention.unknown);
        let carried = match context.carried.as_slice() {
            [place] => Some(place.clone()),
            _ => None,
        };
        let species_said = load.species.is_some();
        let lot_said =
            explicit_from.as_ref().is_some_and(|mention| matches!(mention.places.first(), Some(Place::Lot { .. })));
        let held = source.clone().filter(|place| *place != destination_place);
        let mut from = match &explicit_from {
            Some(mention) => match mention.places.as_slice() {
                [place] => Some(place.clone()),
                _ => None,
            },
            None => held.clone(),
        };
        let several_from = explicit_from.as_ref().is_some_and(|mention| mention.places.len() > 1);
        if load.rest {
            count = None;
            from = explicit_from.as_ref().and(from).or_else(|| last_from.clone()).or(held.clone());
        }
        // A bare number is that box if the house has it, unless the fish's place is known otherwise.
        if let Some(n) = count.filter(|_| !fishy && load.species.is_none() && from.is_none()) {
            let is_box = self.vocabulary.boxes.as_ref().is_some_and(|boxes| boxes.contains_key(&n));
            let elsewhere =
                carried.as_ref().is_some_and(|place| box_of(place) != Some(n) && *place != destination_place);
            // "make that 22 to T4" corrects the number.
            if is_box && !elsewhere && !self.correction.marked {
                from = Some(Place::Box { number: n });
                count = None;
            }
        }
        if from.is_none() && !load.rest && !species_said && !lot_said {
            from = carried.filter(|place| *place != destination_place);
        }
        let mut species = None;
        let mut species_doubt = None;
        match load.species.as_deref() {
            Some([fish]) => species = Some(fish.clone()),
            Some(several) => {
                species_doubt = Some((Doubt::WhichSpecies(several.to_vec()), Wanted::Species(several.to_vec())))
            }
            None => {}
        }
        unknown_from |= several_from && count.is_some();
        if load.each && doubt.is_none() {
            for to in mention.places.iter().skip(1) {
                let act = Act::Move { to: to.clone(), from: from.clone(), count, species: species.clone(), fix: false };
                let mut fact = Fact::new(act, load.first, end);
                fact.bind = Bind::Settled;
                facts.push(fact);
            }
        }
        let mut push = |from: Option<Place>, doubt| {
            let act = Act::Move { to: destination_place.clone(), from, count, species: species.clone(), fix: false };
            let mut fact = Fact::new(act, load.first, end);
            fact.bind = Bind::Settled;
            fact.doubt = doubt;
            facts.push(fact);
        };
        if unknown_from {
            push(None, Some((Doubt::WhichPlace, Wanted::Place)));
        } else if let (true, Some(mention)) = (several_from, &explicit_from) {
            for place in &mention.places {
                push(Some(place.clone()), doubt.clone());
            }
        } else if load.vague {
            push(from.clone(), Some((Doubt::HowMany("count".into()), Wanted::Number("count".into()))));
        } else {
            push(from.clone(), doubt.or(species_doubt));
        }
        *last_from = from.clone().or(last_from.take());
        if explicit_from.is_some() {
            *source = from;
        }
        self.take(load.first, end);
        // The verb that stands apart is spent too.
        for n in from_clause..to_clause.min(at) {
            if self.key(n, "movestrong") {
                self.take(n, n + 1);
            }
        }
        Some(end)
    }

    /// "moved 12 cardinals": where to?
    fn moves_to_nowhere(&mut self, facts: &mut Vec<Fact>) {
        for at in 0..self.items.len() {
            if !self.key(at, "movestrong") || !self.free(at) || !self.reports(at) || self.negated(at) {
                continue;
            }
            let (from, to) = self.clause_bounds(at);
            let foreign = (from..to).any(|n| self.is_foreign(n));
            let fish =
                (from..to).any(|n| matches!(self.items[n].what, What::Species(_)) || self.value(n, "fish").is_some());
            let place = (from..to).find_map(|n| self.place(n).filter(|_| self.free(n)));
            let numbered = self.item(at + 1).and_then(|item| item.whole());
            if foreign
                || !(fish || place.is_some() || numbered.is_some())
                || self.any_key(at + 1, &["in", "on"])
                || self.key(at + 1, "move_noun")
            {
                continue;
            }
            let explicit =
                matches!(self.text_at(at), "moved" | "transferred" | "netted" | "shifted" | "rehomed" | "relocated");
            if !explicit || self.text_at(at + 1) == "on" {
                continue;
            }
            let source = place.and_then(|mention| {
                mention.places.first().filter(|_| !mention.unknown && mention.places.len() == 1).cloned()
            });
            let fish = (at + 1..to.min(at + 4)).find_map(|n| match &self.items[n].what {
                What::Species(fish) if fish.len() == 1 => fish.first().cloned(),
                _ => None,
            });
            let act = Act::Move { to: nowhere(), from: source, count: numbered, species: fish, fix: false };
            let mut fact = Fact::new(act, at, at + 1);
            fact.bind = Bind::Settled;
            fact.doubt = Some((Doubt::WhereTo, Wanted::Place));
            let end = at + 1 + usize::from(numbered.is_some());
            self.take(at, end);
            facts.push(fact);
        }
    }
}
