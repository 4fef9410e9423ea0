//! The consignment's way to the house.

use super::{Bind, Fact};
use crate::message::Act;
use crate::message::act::Stage;
use crate::message::item::What;
use crate::message::message_text::Message;

impl Message<'_> {
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
                    // "on the van" by itself tells of the goods; beside anything else it is where somebody is.
                    let from_carrier = (at..stop).any(|n| {
                        self.key(n, "flight")
                            || matches!(
                                self.text_at(n),
                                "airport" | "handlers" | "agent" | "freight" | "cargo" | "shed" | "van"
                            )
                    });
                    let spot = matches!(words[0], "on" | "in");
                    let subject = goods || flight || from_carrier && !spot;
                    let measured = !goods && (from..to).any(|n| self.items[n].number().is_some());
                    let alone = (start..stop)
                        .all(|n| n >= at && n < end || self.is_glue(n) || matches!(self.items[n].what, What::Mark(_)));
                    !placed
                        && !own
                        && !counted
                        && !measured
                        && foreign <= 2
                        && (subject || telling && words.len() >= 3 && !spot || alone && telling)
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
                    + usize::from(self.any_key(behind, &["by", "about", "another", "more", "of"]))
                    + usize::from(self.value(behind, "about").is_some());
                self.minutes(skip).map(|(minutes, end)| (minutes, at, end))
            };
            let (minutes, first, end) = longest.or(before).or(after)?;
            Some((minutes.round() as u32, first, end))
        })
    }
}
