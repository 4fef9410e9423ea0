//! Fish promised and fish sent.

use super::{Bind, Fact};
use crate::message::item::What;
use crate::message::message_text::{Message, Mood};
use crate::message::place_words::{Mention, nowhere};
use crate::message::{Act, Doubt, Place, Wanted};

/// What a clause of trade names.
#[derive(Debug, Default)]
struct Deal {
    count: Option<(usize, u32)>,
    vague: bool,
    place: Option<(usize, Mention)>,
    species: Option<Vec<String>>,
    buyer: Option<(usize, Vec<String>)>,
}

impl Message<'_> {
    fn deal(&self, start: usize, end: usize) -> Deal {
        let mut deal = Deal::default();
        for n in start..end {
            match &self.items[n].what {
                What::Place(mention) if deal.place.is_none() => deal.place = Some((n, mention.clone())),
                What::Species(fish) if deal.species.is_none() => deal.species = Some(fish.clone()),
                What::Buyer(buyers) if deal.buyer.is_none() => deal.buyer = Some((n, buyers.clone())),
                What::Number { .. } => {
                    let unit = self.value(n + 1, "unit").is_some_and(|unit| unit != "pcs");
                    let sized = self.mark(n + 1, '"') || (self.key(n + 1, "in") && self.glued(n + 1));
                    let clock = n > 0 && self.key(n - 1, "at");
                    let total = n > 0 && self.key(n - 1, "of") && deal.count.is_some();
                    if let Some(count) =
                        self.items[n].whole().filter(|_| !unit && !sized && !clock && !total && deal.count.is_none())
                    {
                        deal.count = Some((n, count));
                        let before = n > start
                            && (self.value(n - 1, "about").is_some()
                                || self.mark(n - 1, '~')
                                || (self.mark(n - 1, '-') || self.key(n - 1, "or"))
                                    && n > 1
                                    && self.items[n - 2].whole().is_some());
                        let after = (self.mark(n + 1, '-') || self.any_key(n + 1, &["or", "to"]))
                            && self.item(n + 2).is_some_and(|item| item.whole().is_some());
                        deal.vague |= before || after;
                    }
                }
                _ if self.value(n, "vague").is_some() => deal.vague = true,
                _ => {}
            }
        }
        deal
    }

    pub(super) fn trade(&mut self, start: usize, end: usize, facts: &mut Vec<Fact>) {
        if start >= end || !(start..end).any(|n| self.free(n)) {
            return;
        }
        let mood = self.mood[start];
        if let Some(buyer) = self.buyer.clone() {
            // What arrived dead or weak at the buyer's is a report like any other.
            let reported = |n: usize| {
                self.value(n, "state").is_some_and(|state| matches!(state, "dead" | "weak" | "missing"))
                    || self.value(n, "sign").is_some_and(|sign| sign != "well")
            };
            if mood != Mood::Report || !(start..end).any(reported) {
                // "guppies, 10 please"
                let (_, stop) = self.sentence_bounds(start);
                let parted = self.parted(start, end) && self.parted(end, stop) && !(end..stop).any(reported);
                self.request(buyer, start, if parted { stop } else { end }, facts);
            }
            return;
        }
        if mood == Mood::Question || mood == Mood::Condition {
            return;
        }
        let ship = (start..end).find(|n| self.key(*n, "ship") && self.free(*n));
        let reserve = (start..end).find(|n| self.key(*n, "reserve") && self.free(*n));
        // Most clauses speak of no trade at all.
        let buyer = (start..end).any(|n| matches!(self.items[n].what, What::Buyer(_)));
        if ship.is_none() && reserve.is_none() && !buyer {
            return;
        }
        let deal = self.deal(start, end);
        if let Some(at) = ship {
            if mood == Mood::Report && !self.negated(at) {
                self.shipment(at, start, end, &deal, facts);
            }
            return;
        }
        let put_down = self.layer(start, end, "putmedown").next().is_some()
            || (deal.buyer.is_some()
                && (start..end).any(|n| matches!(self.text_at(n), "put"))
                && (start..end).any(|n| self.text_at(n) == "down"));
        let for_buyer = deal.buyer.as_ref().is_some_and(|(n, _)| {
            *n > start && (self.key(n - 1, "for") || self.text_at(n - 1) == "the" && self.key(n.wrapping_sub(2), "for"))
        });
        let hold_for = for_buyer && (start..end).any(|n| self.any_key(n, &["hold", "keep"]));
        let names_fish = deal.species.is_some()
            || deal.place.as_ref().is_some_and(|(_, mention)| {
                mention.places.iter().all(|place| matches!(place, Place::Lot { .. } | Place::Tank { .. }))
            });
        let plain = for_buyer && (deal.count.is_some() || deal.vague && names_fish) && mood == Mood::Report;
        let counted = (start..end)
            .any(|n| self.value(n, "state").is_some_and(|state| state != "sound") || self.value(n, "sign").is_some());
        let asked = reserve.is_some() && (deal.count.is_some() || deal.vague) && (names_fish || deal.buyer.is_some());
        if counted
            || !(plain || hold_for && (deal.count.is_some() || deal.vague) || put_down && deal.buyer.is_some() || asked)
        {
            return;
        }
        if mood != Mood::Report && !(put_down || asked && mood != Mood::Plan) {
            return;
        }
        if let Some(at) = reserve
            && self.negated(at)
        {
            return;
        }
        let pairs = self.pairs(start, end);
        if pairs.len() > 1 && deal.place.is_none() && !deal.vague {
            for (count, species) in pairs {
                let one =
                    Deal { count: Some(count), species: Some(species), buyer: deal.buyer.clone(), ..Deal::default() };
                self.reservation(&one, None, start, end, facts);
            }
            return;
        }
        self.reservation(&deal, None, start, end, facts);
    }

    /// Whether a clause holds a fish or a number of them, but not both.
    fn parted(&self, start: usize, end: usize) -> bool {
        let deal = self.deal(start, end);
        start < end && self.mood[start] == Mood::Report && deal.species.is_some() != deal.count.is_some()
    }

    /// "20 swords and 12 platies": each number with the fish behind it.
    fn pairs(&self, start: usize, end: usize) -> Vec<((usize, u32), Vec<String>)> {
        (start..end)
            .filter_map(|n| {
                let count = self.items[n].whole()?;
                let fish = (n + 1..end.min(n + 4)).find(|m| matches!(self.items[*m].what, What::Species(_)))?;
                let plain = (n + 1..fish).all(|m| self.is_glue(m) || self.value(m, "colour").is_some());
                match (&self.items[fish].what, plain) {
                    (What::Species(species), true) => Some(((n, count), species.clone())),
                    _ => None,
                }
            })
            .collect()
    }

    /// A buyer's own request, in any form.
    fn request(&mut self, buyer: String, start: usize, end: usize, facts: &mut Vec<Fact>) {
        let deal = self.deal(start, end);
        let wants = self.layer(start, end, "want").next().is_some()
            || self.layer(start, end, "putmedown").next().is_some()
            || (start..end).any(|n| self.key(n, "reserve"));
        let asks_stock = (start..end).any(|n| {
            self.layer_at(n, "q").is_some_and(|layer| {
                matches!(layer.meaning.value, "howmany" | "what" | "which" | "how" | "when" | "who")
            })
        });
        let named = deal.species.is_some()
            || deal.place.as_ref().is_some_and(|(_, mention)| {
                mention.places.iter().all(|place| matches!(place, Place::Lot { .. } | Place::Tank { .. }))
            });
        if asks_stock || self.mood[start] == Mood::Condition {
            return;
        }
        let yes_no = self.mood[start] == Mood::Question && !wants;
        let foreign = (start..end).filter(|n| self.is_foreign(*n)).count();
        if yes_no
            && !matches!(self.text_at(self.head(start)), "can" | "could" | "may")
            && deal.count.is_none_or(|_| self.layer(start, end, "aux").next().is_some())
        {
            return;
        }
        let pairs = self.pairs(start, end);
        if pairs.len() > 1 && deal.place.is_none() && !deal.vague && foreign <= 3 {
            for (count, species) in pairs {
                let one = Deal { count: Some(count), species: Some(species), ..Deal::default() };
                self.reservation(&one, Some(buyer.clone()), start, end, facts);
            }
            return;
        }
        let enough = (deal.count.is_some() || deal.vague) && (named || wants) && foreign <= 3;
        if enough || (wants && named) {
            self.reservation(&deal, Some(buyer), start, end, facts);
        }
    }

    fn reservation(&mut self, deal: &Deal, sender: Option<String>, start: usize, end: usize, facts: &mut Vec<Fact>) {
        let mut doubt = None;
        let mut place = None;
        if let Some((_, mention)) = &deal.place {
            match mention.places.as_slice() {
                _ if mention.unknown => doubt = Some((Doubt::WhichPlace, Wanted::Place)),
                [only] => place = Some(only.clone()),
                _ => doubt = Some((Doubt::WhichPlace, Wanted::Place)),
            }
        }
        let species = match deal.species.as_deref() {
            Some([fish]) => Some(fish.clone()),
            Some(several) => {
                doubt = Some((Doubt::WhichSpecies(several.to_vec()), Wanted::Species(several.to_vec())));
                None
            }
            None => None,
        };
        let buyer = sender.or_else(|| match &deal.buyer {
            Some((_, buyers)) if buyers.len() == 1 => buyers.first().cloned(),
            _ => None,
        });
        if buyer.is_none() && deal.buyer.is_some() {
            doubt = Some((Doubt::WhichBuyer, Wanted::Number(String::new())));
        }
        let count = deal.count.map(|(_, count)| count).filter(|_| !deal.vague);
        if count.is_none() {
            doubt = doubt.or(Some((Doubt::HowMany("count".into()), Wanted::Number("count".into()))));
        } else if place.is_none() && species.is_none() && doubt.is_none() {
            doubt = Some((Doubt::WhichFish, Wanted::Place));
        }
        let mut fact = Fact::new(Act::Reserve { count, at: place, species, buyer, fix: false }, start, end);
        fact.bind = Bind::Settled;
        fact.doubt = doubt;
        self.take(start, end);
        facts.push(fact);
    }

    /// "A1 30 shipped to otterby", "10 from lot 22 sent to mudlark".
    fn shipment(&mut self, at: usize, start: usize, end: usize, deal: &Deal, facts: &mut Vec<Fact>) {
        let explicit = matches!(
            self.text_at(at),
            "shipped" | "despatched" | "dispatched" | "shipping" | "collected" | "picked" | "ship"
        );
        let phrase = self.items[at].end - self.items[at].first > 1;
        let explicit = explicit || (phrase && matches!(self.text_at(at), "sent" | "went" | "gone"));
        let collected = matches!(self.text_at(at), "collected" | "picked") && deal.buyer.is_none();
        let (from, _) = self.sentence_bounds(at);
        // A place named before in the sentence holds: "A12, 24 shipped to Reef".
        let placed = deal.place.is_some() || self.has_place(from, start);
        let fish = deal.count.is_some() || deal.species.is_some() || deal.place.is_some();
        if collected || !(deal.buyer.is_some() && fish || explicit && (placed || deal.count.is_some())) {
            return;
        }
        if deal.place.as_ref().is_some_and(|(n, _)| *n > start && self.any_key(n - 1, &["into"]))
            || !self.trusted(at, false)
        {
            return;
        }
        let counted = (start..end).any(|n| self.value(n, "state").is_some_and(|state| state != "sound"));
        let count = deal.count.map(|(_, count)| count).filter(|_| !deal.vague && !counted);
        let buyer = match &deal.buyer {
            Some((_, buyers)) if buyers.len() == 1 => buyers.first().cloned(),
            _ => None,
        };
        let mut fact = Fact::new(Act::Ship { at: nowhere(), count, buyer, fix: false }, start, end);
        if let Some((_, mention)) = &deal.place {
            fact = fact.at(mention);
            if mention.places.len() > 1 && count.is_some() {
                fact.doubt = Some((Doubt::HowMany("count".into()), Wanted::Number("count".into())));
            }
        }
        if deal.vague {
            fact.doubt = Some((Doubt::HowMany("count".into()), Wanted::Number("count".into())));
        } else if deal.buyer.as_ref().is_some_and(|(_, buyers)| buyers.len() > 1) {
            fact.doubt = Some((Doubt::WhichBuyer, Wanted::Number(String::new())));
        }
        self.take(start, end);
        facts.push(fact);
    }
}
