//! Fish moved, boxes opened and finished, the consignment's way to the house, vessels declared.

use super::{Bind, Context, Fact};
use crate::message::act::{Stage, VesselKind};
use crate::message::item::What;
use crate::message::message_text::Message;
use crate::message::place_words::{Mention, box_of, nowhere};
use crate::message::{Act, Doubt, Place, Wanted};
use crate::quantity::Finite;

/// What stands before a destination.
#[derive(Debug, Default)]
struct Load {
    first: usize,
    count: Option<u32>,
    /// "36 fish": always a number.
    fishy: bool,
    vague: bool,
    species: Option<Vec<String>>,
    from: Option<Mention>,
    /// "from" stands before the place.
    named_from: bool,
    verb: bool,
    rest: bool,
    all: bool,
    each: bool,
}

impl Message<'_> {
    pub(super) fn moves(&mut self, facts: &mut Vec<Fact>, context: &Context) {
        let mut last_from: Option<Place> = context.moved_from.clone();
        // The place that held before the destination in this message.
        let mut source: Option<Place> = None;
        let mut at = 0;
        while at < self.items.len() {
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

    fn is_destination(&self, at: usize) -> bool {
        at > 0 && self.any_key(at - 1, &["into", "to"])
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
        let into = self.key(at, "into") || strong_into;
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
            something || load.verb || load.first == at && (at == from_clause || self.is_glue(at - 1))
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
            if is_box && !elsewhere {
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
                species_doubt = Some((Doubt::WhichSpecies(several.to_vec()), Wanted::Number(String::new())))
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

    /// "lost 3 in A2, 1 in A5": a count went before, so this number continues it.
    fn count_before(&self, first: usize) -> bool {
        let (start, _) = self.sentence_bounds(first);
        (start..first).any(|n| self.value(n, "state").is_some() || self.value(n, "sign").is_some())
    }

    /// Whether only fillers and places stand between the clause's start and the load.
    fn nothing_else(&self, from: usize, first: usize) -> bool {
        (from..first).all(|n| {
            self.is_glue(n)
                || self.place(n).is_some()
                || matches!(self.items[n].what, What::Mark(_) | What::Crew)
                || self.layer_at(n, "self").is_some()
                || self.layer_at(n, "fix").is_some()
                || self.any_key(n, &["and", "then", "but", "from"])
                || self.used.get(n).is_some_and(|used| *used)
        })
    }

    /// Reads back from a destination what is brought there.
    fn load(&self, at: usize) -> Load {
        let (start, _) = self.clause_bounds(at);
        let mut load = Load { first: at, ..Load::default() };
        let mut n = at;
        while n > start {
            n -= 1;
            let item = &self.items[n];
            let free = self.free(n);
            if let Some(mention) = self.place(n) {
                if load.from.is_some() {
                    break;
                }
                let named = n > start && self.key(n - 1, "from") || n > start + 1 && self.key(n - 2, "from");
                // "A3 ok 20 to A4" stops at the state; a place reached through fillers is where they come from.
                load.from = Some(mention.clone());
                load.named_from = named;
                load.first = n;
                continue;
            }
            if self.key(n, "movestrong") {
                load.verb = true;
                load.first = n;
                continue;
            }
            if !free {
                break;
            }
            match &item.what {
                What::Species(fish) if load.species.is_none() => {
                    load.species = Some(fish.clone());
                    load.first = n;
                }
                What::Number { .. } if item.whole().is_some() && load.count.is_none() => {
                    let sized = self.value(n + 1, "unit").is_some_and(|unit| unit == "inch") || self.mark(n + 1, '"');
                    if self.value(n + 1, "unit").is_some_and(|unit| unit != "pcs" && unit != "inch") {
                        break;
                    }
                    if sized {
                        continue;
                    }
                    load.count = item.whole();
                    load.first = n;
                    if n > start && (self.value(n - 1, "about").is_some() || self.mark(n - 1, '~')) {
                        load.vague = true;
                    }
                    if n > start + 1
                        && (self.mark(n - 1, '-') || self.key(n - 1, "or"))
                        && self.items[n - 2].whole().is_some()
                    {
                        load.vague = true;
                    }
                }
                What::Mark(':' | '-' | '"') | What::Crew => {}
                _ if self.key(n, "rest") => {
                    load.rest = true;
                    load.first = n;
                }
                _ if self.any_key(n, &["all", "both"]) => {
                    load.all = true;
                    load.first = n;
                }
                _ if self.key(n, "each") => load.each = true,
                // "half of tray 1" is a number that nobody has counted.
                _ if item.value("vague").is_some() || item.value("fraction").is_some() => {
                    load.vague = true;
                    load.first = n;
                }
                _ if self.value(n, "fish").is_some() || self.value(n, "unit") == Some("pcs") => {
                    load.fishy |= !matches!(self.text_at(n), "they" | "them" | "em");
                    load.all |= matches!(self.text_at(n), "they" | "them" | "em");
                }
                _ if self.value(n, "unit") == Some("inch")
                    || item.value("size").is_some()
                    || item.value("colour").is_some() => {}
                _ if self.value(n, "state") == Some("sound")
                    && matches!(self.text_at(n), "good" | "healthy" | "strong" | "live" | "fine")
                    && self
                        .items
                        .get(n + 1)
                        .is_some_and(|next| matches!(next.what, What::Species(_)) || next.value("fish").is_some()) => {}
                _ if self.any_key(n, &["from", "away", "of", "out", "back", "and", "then", "dose"])
                    || self.is_glue(n)
                    || self.layer_at(n, "self").is_some() =>
                {
                    if self.key(n, "dose") {
                        load.first = n;
                    }
                }
                _ => break,
            }
        }
        if load.count.is_some_and(|_| load.from.is_some()) {
            load.fishy = true;
        }
        load
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

    /// "opening 7", "7 open", "that's 7 done", "box 7 empty".
    pub(super) fn openings(&mut self, facts: &mut Vec<Fact>) {
        for at in 0..self.items.len() {
            let open = self.key(at, "open");
            let done = self.key(at, "done");
            if !(open || done) || !self.free(at) || !self.reports(at) || self.negated(at) {
                continue;
            }
            let (from, to) = self.clause_bounds(at);
            let ahead = (at + 1..to.min(at + 4)).find_map(|n| {
                let joined =
                    (at + 1..n).all(|n| self.is_glue(n) || self.any_key(n, &["with", "on", "up", "of", "open", "for"]));
                self.place(n).filter(|_| joined).map(|mention| (n, mention.clone()))
            });
            let behind = (1..=4).filter(|back| at >= from + *back).find_map(|back| {
                let n = at - back;
                let joined = (n + 1..at).all(|n| {
                    self.is_glue(n)
                        || self.key(n, "that")
                        || matches!(self.items[n].what, What::Mark(':'))
                        || self.any_key(n, &["all", "open"])
                });
                self.place(n).filter(|_| joined).map(|mention| (n, mention.clone()))
            });
            let colon = at > from && self.mark(at.saturating_sub(1), ':') && at >= 2;
            let behind =
                behind.or_else(|| colon.then(|| self.place(at - 2).map(|mention| (at - 2, mention.clone()))).flatten());
            let Some((n, mention)) = ahead.or(behind) else { continue };
            let boxes = mention.places.iter().all(|place| matches!(place, Place::Box { .. }));
            let bags = mention.places.iter().all(|place| matches!(place, Place::Bag { .. }));
            let unknown = mention.unknown && (boxes || bags);
            if !(boxes || (open && bags)) {
                continue;
            }
            // "7.2 done: 36 ok": a bag is not finished, a box is not empty of gas.
            if unknown || boxes || bags {
                let act = if open { Act::Open { at: nowhere() } } else { Act::Done { at: nowhere() } };
                let (first, end) = (n.min(at), n.max(at) + 1);
                facts.push(Fact::new(act, first, end).at(&mention));
                self.take(at, at + 1);
            }
        }
    }

    /// The consignment's way to the house.
    pub(super) fn arrivals(&mut self, facts: &mut Vec<Fact>) {
        let layers: Vec<_> = self.layers.iter().copied().filter(|layer| layer.meaning.class == "arrive").collect();
        let mut stage: Option<(Stage, usize, usize)> = None;
        for layer in layers {
            let at = self.item_of_token(layer.first);
            let end = self.item_of_token(layer.end);
            if !self.reports(at) || self.negated(at) {
                continue;
            }
            let (start, stop) = self.sentence_bounds(at);
            let (from, to) = self.clause_bounds(at);
            let words: Vec<&str> =
                self.tokens[layer.first..layer.end].iter().map(|token| token.text.as_str()).collect();
            let phrase = words.join(" ");
            let flight = (start..stop).any(|n| self.key(n, "flight"));
            let goods = (from..to).any(|n| {
                self.any_key(n, &["box", "all"])
                    || self.value(n, "fish").is_some()
                    || matches!(self.text_at(n), "everything" | "them" | "they" | "theyre" | "lot")
                    || matches!(self.items[n].what, What::Species(_))
            });
            let foreign = (from..to).filter(|n| (*n < at || *n >= end) && self.is_foreign(*n)).count();
            let aside =
                self.layer(start, stop, "aside").any(|other| other.first < layer.first || other.end > layer.end);
            let placed = (from..to).any(|n| self.place(n).is_some_and(|mention| !mention.relative));
            let buyer = (start..stop).any(|n| matches!(self.items[n].what, What::Buyer(_)));
            if aside || buyer && layer.meaning.value != "in_house" && layer.meaning.value != "landed" {
                continue;
            }
            let counted = (from..to).any(|n| self.items[n].whole().is_some() && self.value(n + 1, "state").is_some());
            let own = self.layer(from, to, "self").any(|layer| {
                matches!(self.tokens[layer.first].text.as_str(), "my" | "your" | "his" | "her" | "he" | "she")
            });
            let accepted = match layer.meaning.value {
                "customs_cleared" => true,
                "landed" => {
                    let telling = matches!(
                        phrase.as_str(),
                        "landed"
                            | "has landed"
                            | "touched down"
                            | "wheels down"
                            | "flight in"
                            | "flight is in"
                            | "plane in"
                            | "plane is in"
                    );
                    !placed
                        && ((telling && !own && foreign <= 2) || (flight && !self.key(at.wrapping_sub(1), "putdown")))
                }
                "collected" => {
                    let telling = words.len() >= 3 || words.contains(&"collected") || words.contains(&"loaded");
                    let from_carrier = (at..stop).any(|n| {
                        self.key(n, "flight")
                            || matches!(
                                self.text_at(n),
                                "airport" | "handlers" | "agent" | "freight" | "cargo" | "shed" | "van"
                            )
                    });
                    let subject = goods || flight || from_carrier;
                    !placed && !own && !counted && foreign <= 2 && (subject || telling && words.len() >= 3)
                }
                _ => {
                    let arrived = matches!(phrase.as_str(), "arrived");
                    let bare = (from..to).all(|n| {
                        self.is_glue(n)
                            || (n >= at && n < end)
                            || matches!(self.items[n].what, What::Mark(_))
                            || self.key(n, "all")
                            || self.layer_at(n, "self").is_some()
                            || self.layer_at(n, "arrive").is_some()
                    });
                    let subject = goods
                        || flight
                        || phrase.contains("boxes")
                        || phrase.contains("they")
                        || phrase.starts_with("all ")
                        || phrase.starts_with("are ");
                    !placed && !counted && !own && foreign <= 2 && (subject || (bare && (words.len() >= 2 || arrived)))
                }
            };
            if !accepted {
                continue;
            }
            let found = match layer.meaning.value {
                "landed" => Stage::Landed,
                "customs_cleared" => Stage::CustomsCleared,
                "collected" => Stage::Collected,
                _ if phrase == "arrived"
                    && (from..to).any(|n| matches!(self.text_at(n), "flight" | "plane" | "aircraft" | "flite")) =>
                {
                    Stage::Landed
                }
                _ => Stage::InHouse,
            };
            // The furthest stage said is where they are.
            if stage.is_none_or(|(stage, _, _)| found >= stage) {
                stage = Some((found, at, end));
            }
            self.take(at, end);
        }
        let delay = self.delay(stage.is_some());
        if stage.is_none() && delay.is_none() {
            return;
        }
        let (first, end) =
            stage.map(|(_, first, end)| (first, end)).or(delay.map(|(_, first, end)| (first, end))).unwrap_or_default();
        let act =
            Act::Arrive { stage: stage.map(|(stage, _, _)| stage), delay_min: delay.map(|(minutes, _, _)| minutes) };
        let mut fact = Fact::new(act, first, end);
        fact.bind = Bind::Settled;
        if let Some((_, first, end)) = delay {
            self.take(first, end);
        }
        // Numbers and states in the same sentence speak of the way, not of fish: "all 4 on the van".
        let (start, stop) = self.sentence_bounds(first);
        for n in start..stop {
            let clock = matches!(self.items[n].what, What::Clock(..))
                || self.key(n, "at")
                || (n > 0 && self.key(n - 1, "at"))
                || self.value(n + 1, "half").is_some()
                || self.value(n, "half").is_some();
            if !self.has_place(start, stop) && !clock {
                self.take(n, n + 1);
            }
        }
        facts.push(fact);
    }

    /// "3h late", "delayed by 2 hours": minutes and the words that say so.
    fn delay(&self, arrived: bool) -> Option<(u32, usize, usize)> {
        self.layers.iter().filter(|layer| layer.meaning.class == "late").find_map(|layer| {
            let at = self.item_of_token(layer.first);
            let behind = self.item_of_token(layer.end);
            if !self.reports(at) {
                return None;
            }
            let (start, stop) = self.sentence_bounds(at);
            let flight = (start..stop).any(|n| self.key(n, "flight") || self.key(n, "box"));
            if !(flight || arrived) || self.has_place(start, stop) {
                return None;
            }
            if self.layer(start, stop, "aside").next().is_some() {
                return None;
            }
            let before = (start..at).rev().take(6).find_map(|n| {
                let (minutes, end) = self.minutes(n)?;
                (end == at || (end + 1 == at && self.is_glue(end))).then_some((minutes, n, behind))
            });
            let longest = before.and_then(|(_, n, _)| {
                (start..=n).find_map(|n| {
                    self.minutes(n)
                        .filter(|(_, end)| *end == at || *end + 1 == at)
                        .map(|(minutes, _)| (minutes, n, behind))
                })
            });
            let after = {
                let skip = behind
                    + usize::from(self.any_key(behind, &["by", "about", "another", "more"]))
                    + usize::from(self.value(behind, "about").is_some());
                self.minutes(skip).map(|(minutes, end)| (minutes, at, end))
            };
            let (minutes, first, end) = longest.or(before).or(after)?;
            Some((minutes.round() as u32, first, end))
        })
    }

    /// "tanks A1-A24 200 L, system north".
    pub(super) fn vessels(&mut self) -> Option<Fact> {
        let mut at = 0;
        while matches!(self.text_at(at), "new" | "add" | "set" | "up" | "we" | "have" | "got" | "a")
            || self.mark(at, ':')
            || self.layer_at(at, "polite").is_some()
        {
            at += 1;
        }
        let mention = self.place(at)?.clone();
        let first = self.items[at].first;
        let kind = match self.tokens[first].text.trim_end_matches('s') {
            "tank" | "aquarium" => VesselKind::Tank,
            "tray" => VesselKind::Tray,
            "tub" | "vat" => VesselKind::Tub,
            "sump" => VesselKind::Sump,
            "tap" => VesselKind::Tap,
            _ => return None,
        };
        let names: Vec<String> = mention
            .places
            .iter()
            .filter_map(|place| match place {
                Place::Tank { tank } => Some(tank.clone()),
                Place::Tray { tray } => Some(tray.clone()),
                _ => None,
            })
            .collect();
        if names.is_empty() || names.iter().any(String::is_empty) {
            return None;
        }
        let (mut litres, mut system) = (None, None);
        let mut n = at + 1;
        while n < self.items.len() {
            if let Some(value) = self.item(n).and_then(|item| item.number())
                && let Some(found) = self.litres(value, n + 1)
            {
                litres = Some(found);
                n += 2;
            } else if self.text_at(n) == "system" {
                let name = n + 1 + usize::from(self.mark(n + 1, ':'));
                let end = (name..self.items.len())
                    .find(|n| matches!(self.items[*n].what, What::Mark(_) | What::Line))
                    .unwrap_or(self.items.len());
                if name < end {
                    system = Some(
                        self.text
                            [self.tokens[self.items[name].first].start..self.tokens[self.items[end - 1].end - 1].end]
                            .to_owned(),
                    );
                }
                n = end.max(n + 1);
            } else if self.is_glue(n)
                || matches!(self.items[n].what, What::Mark(',' | ':' | '.' | '-' | '(' | ')'))
                || self.any_key(n, &["each", "of", "on", "with", "and", "in"])
                || matches!(self.text_at(n), "are" | "at")
                || self.key(n, "at")
            {
                n += 1;
            } else {
                return None;
            }
        }
        // Names alone declare where the word is a plural or "new", and the house does not have them all.
        let says_so = at > 0 || self.tokens[first].text.ends_with('s');
        let known = match kind {
            VesselKind::Tray => &self.vocabulary.trays,
            _ => &self.vocabulary.tanks,
        };
        let has_all = known.as_ref().is_some_and(|known| names.iter().all(|name| known.contains(name)));
        if litres.is_none() && system.is_none() && (!says_so || has_all) {
            return None;
        }
        let act = Act::Vessels { names, kind: Some(kind), litres: litres.and_then(Finite::new), system };
        let mut fact = Fact::new(act, 0, self.items.len());
        fact.bind = Bind::Settled;
        self.take(0, self.items.len());
        Some(fact)
    }
}
