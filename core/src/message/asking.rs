//! Questions that the assistant can answer.

use super::act::About;
use super::item::What;
use super::message_text::{Message, Mood};
use super::{Act, Place};

impl Message<'_> {
    /// The question a message asks, if the assistant can answer it.
    pub(crate) fn question(&self) -> Option<Act> {
        let words = self.tokens.iter().filter(|token| super::message_text::is_wordlike(token)).count();
        let mut at = 0;
        while at < self.items.len() {
            let (start, end) = self.sentence_bounds(at);
            if let Some(act) = self.sentence_question(start, end, words) {
                return Some(act);
            }
            at = end.max(at + 1);
        }
        None
    }

    fn sentence_question(&self, start: usize, end: usize, words: usize) -> Option<Act> {
        let topic = |value: &str| self.has_layer(start, end, "topic", value);
        let asked = (start..end).any(|n| self.mood[n] == Mood::Question);
        let shown = self.layer_at(self.head(start), "topic").is_some_and(|layer| layer.meaning.value == "show")
            || (asked && topic("show"));
        // A condition or plan that merely contains a question's word asks nothing.
        if self.mood[start..end].iter().all(|mood| matches!(mood, Mood::Condition)) {
            return None;
        }
        if self.layer(start, end, "aside").next().is_some() && !topic("board") && !topic("help") {
            return None;
        }
        let at = (start..end).find_map(|n| {
            self.place(n).filter(|mention| !mention.unknown).and_then(|mention| mention.places.first().cloned())
        });
        let species = (start..end).find_map(|n| match &self.items[n].what {
            What::Species(fish) if fish.len() == 1 => fish.first().cloned(),
            _ => None,
        });
        let ask = |about: About, at: Option<Place>, species: Option<String>| Some(Act::Ask { about, at, species });
        if topic("help") && (words <= 2 || asked) {
            return (words <= 2 || self.help_in_general(start, end)).then_some(Act::Ask {
                about: About::Help,
                at: None,
                species: None,
            });
        }
        let short = words <= 4;
        let q = |value: &str| self.layer(start, end, "q").any(|layer| layer.meaning.value == value);
        let reported = (start..end).any(|n| {
            self.mood[n] == Mood::Report
                && (self.value(n, "state").is_some() || self.value(n, "measure").is_some())
                && self.has_place(start, end)
        }) && !asked;
        if topic("board") && (asked || shown || short) && !reported && self.board_word(start, end, words) {
            return ask(About::Board, None, None);
        }
        if topic("plan")
            && (asked || shown || (short && self.text_at(self.head(start)) == "plan"))
            && self.plan_word(start, end)
        {
            return ask(About::Plan, at, species);
        }
        if !(asked || shown) {
            return None;
        }
        let open = ["what", "which", "howmany", "how", "who", "when", "any"].iter().any(|value| q(value)) || shown;
        // "deaths so far?": a topic with a question's mark, and no yes or no to it.
        let topical = asked && short && at.is_none() && self.layer_at(self.head(start), "aux").is_none();
        let open = open || topical;
        let which_box = self.text_at(self.head(start)) == "which"
            && (start..end).any(|n| self.key(n, "box"))
            && (start..end).any(|n| self.key(n, "next"))
            && at.is_none();
        if which_box {
            return ask(About::Order, None, species);
        }
        let to_colleague = (start..end).any(|n| self.items[n].what == What::Crew)
            || (self.buyer.is_none() && self.layer(start, end, "you").next().is_some() && !topic("stock"));
        if !open || to_colleague {
            return None;
        }
        let head = self.head(start);
        let head_q = self.layer_at(head, "q").map(|layer| layer.meaning.value);
        // "any" only asks at the head or behind a verb of the assistant's: "is there any".
        if head_q.is_none() && !shown && !topical && !self.inner_question(start, end) {
            return None;
        }
        if topic("claim") {
            return ask(About::Claim, at, species);
        }
        if (q("howmany") || q("any") || q("what") || topical) && topic("deaths") {
            return ask(About::Deaths, at, species);
        }
        let boxes = (start..end).any(|n| self.key(n, "box"));
        let opens = (start..end).any(|n| self.key(n, "open"));
        let next = (start..end).any(|n| self.any_key(n, &["next", "first", "open"]));
        if (q("which") || q("what") || q("how"))
            && at.is_none()
            && (topic("order") && !topic("due") && self.order_word(start, end) || (boxes && next) || (opens && next))
        {
            return ask(About::Order, None, species);
        }
        if topic("due") && (q("what") || q("which") || q("any") || q("when") || q("howmany") || q("who") || shown) {
            return ask(About::Due, at, species);
        }
        if q("when") {
            let looked = (start..end).any(|n| self.any_key(n, &["check", "recheck", "again"]));
            return (looked && (at.is_some() || next)).then_some(Act::Ask { about: About::Due, at, species });
        }
        let fishy = species.is_some() || (start..end).any(|n| matches!(self.items[n].what, What::Species(_)));
        if topic("buyers") && (q("who") || q("which") || q("what") || q("howmany") || q("any")) {
            return ask(About::Buyers, at, species);
        }
        if q("who") && (fishy || at.is_some()) && self.wanting(start, end) {
            return ask(About::Buyers, at, species);
        }
        if at.is_none()
            && topic("stock")
            && (q("what") || q("howmany") || q("which") || q("any") || q("how") || shown)
            && self.stock_word(start, end, fishy)
        {
            return ask(About::Stock, None, species);
        }
        if at.is_some() && (q("what") || q("how") || q("howmany") || q("which") || shown) && !self.is_method(start, end)
        {
            return ask(About::Place, at, species);
        }
        if fishy && (q("howmany") || q("any")) {
            return ask(About::Stock, None, species);
        }
        if species.is_some() && q("how") && !self.is_method(start, end) {
            return ask(About::Place, None, species);
        }
        None
    }

    /// "how do i move A1?" is for a colleague.
    fn is_method(&self, start: usize, end: usize) -> bool {
        (start..end).any(|n| {
            self.layer_at(n, "q").is_some_and(|layer| {
                layer.meaning.value == "how"
                    && matches!(
                        self.text_at(self.item_of_token(layer.end)),
                        "to" | "i" | "we" | "come" | "would" | "about"
                    )
                    && self.text_at(n) == "how"
            })
        })
    }

    fn help_in_general(&self, start: usize, end: usize) -> bool {
        self.layer(start, end, "topic").any(|layer| layer.meaning.value == "help" && layer.end - layer.first >= 3)
    }

    /// "summary" and "status" ask for the night; a place named beside them asks for the place.
    fn board_word(&self, start: usize, end: usize, words: usize) -> bool {
        let telling = self.layer(start, end, "topic").any(|layer| {
            layer.meaning.value == "board"
                && (matches!(self.tokens[layer.first].text.as_str(), "board" | "overview") || words <= 6)
        });
        telling
            && (!self.has_place(start, end) || (start..end).any(|n| matches!(self.text_at(n), "board" | "overview")))
    }

    fn plan_word(&self, start: usize, end: usize) -> bool {
        self.layer(start, end, "topic").any(|layer| layer.meaning.value == "plan")
            && (self.has_place(start, end)
                || (start..end)
                    .any(|n| matches!(self.items[n].what, What::Species(_)) || self.any_key(n, &["bag", "box"]))
                || (start..end).filter(|n| self.is_foreign(*n)).count() == 0)
    }

    fn order_word(&self, start: usize, end: usize) -> bool {
        self.layer(start, end, "topic").any(|layer| {
            layer.meaning.value == "order"
                && (layer.end - layer.first > 1
                    || (start..end).any(|n| self.any_key(n, &["open", "box", "next", "first"]))
                    || end - start <= 5)
        })
    }

    /// A question behind its subject: "box 9, whats in it", "tell me what is due".
    fn inner_question(&self, start: usize, end: usize) -> bool {
        (start..end).any(|n| {
            self.mood[n] == Mood::Question
                && self.layer_at(n, "q").is_some_and(|layer| {
                    matches!(layer.meaning.value, "what" | "which" | "howmany" | "how" | "who" | "when")
                        || (layer.meaning.value == "any"
                            && n > start
                            && (self.layer_at(n - 1, "aux").is_some()
                                || self.text_at(n - 1) == "there"
                                || self.buyer.is_some()))
                })
        })
    }

    fn wanting(&self, start: usize, end: usize) -> bool {
        (start..end).any(|n| {
            matches!(
                self.text_at(n),
                "wants"
                    | "want"
                    | "wanted"
                    | "reserved"
                    | "ordered"
                    | "has"
                    | "booked"
                    | "asked"
                    | "taking"
                    | "buying"
                    | "getting"
            )
        })
    }

    fn stock_word(&self, start: usize, end: usize, fishy: bool) -> bool {
        let telling = self
            .layer(start, end, "topic")
            .any(|layer| layer.meaning.value == "stock" && !matches!(self.tokens[layer.first].text.as_str(), "left"));
        let foreign = (start..end).filter(|n| self.is_foreign(*n)).count();
        fishy || (telling && foreign == 0)
    }
}
