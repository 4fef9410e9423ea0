//! One message prepared for reading: its items, their clauses and the mood in which each is spoken.

use chrono::NaiveDateTime;

use super::correct::{Correction, correct};
use super::item::{Item, Layer, What, items, layers};
use super::lexicon::{self, english};
use super::place_words::{Finder, Mention};
use super::token::{Kind, Token};
use super::{Incoming, Place, Reader, Vocabulary, times};

/// In which mood a clause is spoken. Only reports record what happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mood {
    Report,
    Question,
    Plan,
    Condition,
    Order,
}

/// A message with all that its words may mean.
pub(crate) struct Message<'a> {
    pub vocabulary: &'a Vocabulary,
    pub text: &'a str,
    pub tokens: Vec<Token>,
    pub items: Vec<Item>,
    pub layers: Vec<Layer>,
    /// The house's local time at which it was said.
    pub now: NaiveDateTime,
    /// The buyer who speaks.
    pub buyer: Option<String>,
    pub clause: Vec<usize>,
    pub sentence: Vec<usize>,
    pub mood: Vec<Mood>,
    /// What a fact has taken already.
    pub used: Vec<bool>,
    pub correction: Correction,
    /// The tongue beside English that the sender speaks, empty for none.
    pub tongue: String,
}

impl<'a> Message<'a> {
    /// Prepares a message. `here` are the places that "bag 2" and "there" count from, `spoken` the tongue the sender spoke last.
    pub(crate) fn new(reader: &'a Reader<'a>, incoming: &'a Incoming, here: Vec<Place>, spoken: &str) -> Self {
        let lexicon = english();
        let Reader { vocabulary, names, rooms } = reader;
        let (mut text, tongue) = lexicon::words(names, vocabulary, &incoming.text, spoken);
        for token in text.iter_mut().filter(|token| token.kind == Kind::Word) {
            if let Some(word) = lexicon.forgive(&token.text).filter(|_| !names.holds(token)) {
                token.text = word.to_owned();
            }
        }
        let plain = items(lexicon, vocabulary, names, &text);
        let found = Finder { vocabulary, rooms, tokens: &text, items: &plain, here, re: &incoming.re }.run();
        let layers = layers(lexicon, &text);
        let (found, correction) = correct(found, &layers, &text);
        let buyer = vocabulary
            .buyers
            .iter()
            .flatten()
            .find(|buyer| buyer.to_lowercase() == incoming.from.to_lowercase())
            .cloned();
        let mut message = Message {
            vocabulary,
            text: &incoming.text,
            tokens: text,
            used: vec![false; found.len()],
            clause: vec![0; found.len()],
            sentence: vec![0; found.len()],
            mood: vec![Mood::Report; found.len()],
            items: found,
            layers,
            correction,
            tongue,
            now: times::local(incoming.at, vocabulary.tz),
            buyer,
        };
        message.split();
        message.set_moods();
        message
    }

    #[inline]
    pub(crate) fn item(&self, at: usize) -> Option<&Item> {
        self.items.get(at)
    }

    #[inline]
    pub(crate) fn text_at(&self, at: usize) -> &str {
        self.item(at).and_then(|item| self.tokens.get(item.first)).map_or("", |token| token.text.as_str())
    }

    #[inline]
    pub(crate) fn value(&self, at: usize, class: &str) -> Option<&'static str> {
        self.item(at).and_then(|item| item.value(class))
    }

    #[inline]
    pub(crate) fn key(&self, at: usize, value: &str) -> bool {
        match self.item(at).map(|item| &item.what) {
            Some(What::Words(meanings)) => meanings.iter().any(|m| m.class == "key" && m.value == value),
            _ => false,
        }
    }

    #[inline]
    pub(crate) fn any_key(&self, at: usize, values: &[&str]) -> bool {
        values.iter().any(|value| self.key(at, value))
    }

    #[inline]
    pub(crate) fn mark(&self, at: usize, c: char) -> bool {
        self.item(at).is_some_and(|item| item.what == What::Mark(c) || self.is_sign(item, c))
    }

    /// Signs such as "+" and "&" are words of the lexicon too.
    fn is_sign(&self, item: &Item, c: char) -> bool {
        item.end - item.first == 1 && self.tokens[item.first].kind == Kind::Mark(c)
    }

    pub(crate) fn glued(&self, at: usize) -> bool {
        self.item(at).is_some_and(|item| !self.tokens[item.first].spaced)
    }

    #[inline]
    pub(crate) fn place(&self, at: usize) -> Option<&Mention> {
        match self.item(at).map(|item| &item.what) {
            Some(What::Place(mention)) => Some(mention),
            _ => None,
        }
    }

    /// Layered meanings of a class that lie within these items.
    pub(crate) fn layer(&self, from: usize, to: usize, class: &str) -> impl Iterator<Item = &Layer> {
        let first = self.items.get(from).map_or(usize::MAX, |item| item.first);
        let end = to.checked_sub(1).and_then(|last| self.items.get(last)).map_or(0, |item| item.end);
        let start = self.layers.partition_point(|layer| layer.first < first);
        self.layers[start..]
            .iter()
            .take_while(move |layer| layer.first < end)
            .filter(move |layer| layer.end <= end && layer.meaning.class == class)
    }

    #[inline]
    pub(crate) fn layer_at(&self, at: usize, class: &str) -> Option<&Layer> {
        let first = self.item(at)?.first;
        let start = self.layers.partition_point(|layer| layer.first < first);
        self.layers[start..]
            .iter()
            .take_while(|layer| layer.first == first)
            .filter(|layer| layer.meaning.class == class)
            .max_by_key(|layer| layer.end)
    }

    pub(crate) fn has_layer(&self, from: usize, to: usize, class: &str, value: &str) -> bool {
        self.layer(from, to, class).any(|layer| layer.meaning.value == value)
    }

    /// The index of the first item that starts at or behind this token.
    pub(crate) fn item_of_token(&self, token: usize) -> usize {
        self.items.partition_point(|item| item.first < token)
    }

    /// Whether this item carries no meaning of its own.
    #[inline]
    pub(crate) fn is_glue(&self, at: usize) -> bool {
        self.item(at).is_some_and(|item| match &item.what {
            What::Words(meanings) => {
                meanings.iter().any(|m| m.class == "glue" || m.class == "size") || {
                    matches!(meanings.first(), Some(m) if m.class == "key" && matches!(m.value, "that" | "this"))
                }
            }
            _ => false,
        }) || (self.is_unknown(at) && self.layer_at(at, "polite").is_some())
    }

    /// Whether a word belongs to a phrase of courtesy ("good morning", "pleased to say", "wish me luck").
    pub(crate) fn is_courtesy(&self, at: usize) -> bool {
        self.item(at).is_some_and(|item| self.courtesy_covers(item.first, item.end))
    }

    fn courtesy_covers(&self, first: usize, end: usize) -> bool {
        let start = self.layers.partition_point(|layer| layer.first + 8 < first);
        self.layers[start..]
            .iter()
            .take_while(|layer| layer.first <= first)
            .any(|layer| layer.meaning.class == "polite" && layer.end >= end && layer.end - layer.first > 1)
    }

    /// Whether nothing at all is known of this word.
    pub(crate) fn is_unknown(&self, at: usize) -> bool {
        self.item(at).is_some_and(|item| item.what == What::Unknown)
    }

    /// A word of ordinary talk: unknown to the trade and no help to a report.
    pub(crate) fn is_foreign(&self, at: usize) -> bool {
        if at >= self.items.len() {
            return false;
        }
        let plain = self.is_unknown(at)
            || matches!(&self.items[at].what, What::Words(meanings) if meanings.iter().all(|m| m.class == "known"));
        (plain && !self.is_layered(at)) || self.layer_at(at, "aside").is_some()
    }

    /// Whether a layered meaning other than talk of something else lies over this word.
    fn is_layered(&self, at: usize) -> bool {
        let item = &self.items[at];
        let start = self.layers.partition_point(|layer| layer.first + 8 < item.first);
        self.layers[start..]
            .iter()
            .take_while(|layer| layer.first <= item.first)
            .any(|layer| layer.end >= item.end && layer.meaning.class != "aside")
    }

    /// The clause's first item and the index behind its last.
    pub(crate) fn clause_bounds(&self, at: usize) -> (usize, usize) {
        bounds(&self.clause, at)
    }

    /// The sentence's first item and the index behind its last.
    pub(crate) fn sentence_bounds(&self, at: usize) -> (usize, usize) {
        bounds(&self.sentence, at)
    }

    /// Numbers clauses and sentences.
    fn split(&mut self) {
        let (mut clause, mut sentence) = (0, 0);
        for at in 0..self.items.len() {
            let spaced_behind = self.items.get(at + 1).is_none_or(|next| self.tokens[next.first].spaced);
            let spaced = self.tokens[self.items[at].first].spaced;
            let (ends_sentence, ends_clause) = match self.items[at].what {
                What::Line | What::Mark('.' | '!' | '?' | ';' | '…') => (true, true),
                What::Mark(',') => (false, true),
                What::Mark('(' | ')') => (false, true),
                What::Mark('-' | '/') => (false, spaced && spaced_behind),
                _ => (false, false),
            };
            let opens = self.key(at, "but") || self.key(at, "then") || at > 0 && self.asks_behind(at);
            if opens {
                clause += 1;
            }
            self.clause[at] = clause;
            self.sentence[at] = sentence;
            // Marks in a row end one sentence.
            let again =
                matches!(self.items.get(at + 1).map(|next| &next.what), Some(What::Mark('.' | '!' | '?' | '…')));
            if ends_clause && !again {
                clause += 1;
            }
            if ends_sentence && !again {
                sentence += 1;
            }
        }
    }

    /// "lying on their sides is that ok": a question about what was just reported.
    fn asks_behind(&self, at: usize) -> bool {
        matches!(self.text_at(at), "is" | "are" | "isnt" | "arent")
            && self.layer_at(at - 1, "q").is_none()
            && matches!(self.text_at(at + 1), "that" | "this" | "it" | "they" | "these" | "those")
            && matches!(
                self.text_at(at + 2),
                "ok" | "okay"
                    | "normal"
                    | "fine"
                    | "right"
                    | "bad"
                    | "good"
                    | "alright"
                    | "usual"
                    | "expected"
                    | "serious"
            )
    }

    fn set_moods(&mut self) {
        let mut at = 0;
        while at < self.items.len() {
            let (start, end) = self.sentence_bounds(at);
            self.sentence_mood(start, end);
            at = end;
        }
    }

    fn sentence_mood(&mut self, start: usize, end: usize) {
        let mut clauses = Vec::new();
        let mut at = start;
        while at < end {
            let (from, to) = self.clause_bounds(at);
            clauses.push((from.max(start), to.min(end)));
            at = to;
        }
        let conditional = (start..end).any(|at| {
            self.layer_at(at, "mood").is_some_and(|layer| {
                layer.meaning.value == "if" && !self.courtesy_covers(layer.first, layer.end) && {
                    let word = self.tokens[layer.first].text.as_str();
                    // "once we" and "when we" only open a condition at the head of a clause.
                    matches!(word, "if" | "unless" | "in" | "assuming" | "provided" | "as")
                        || clauses.iter().any(|(from, _)| self.head(*from) == at)
                }
            })
        });
        if conditional {
            self.mood[start..end].fill(Mood::Condition);
            return;
        }
        let asks = (start..end).any(|at| self.mark(at, '?'));
        let mut previous = Mood::Report;
        for (n, &(from, to)) in clauses.iter().enumerate() {
            let last = n + 1 == clauses.len();
            let mut mood = self.clause_mood(from, to);
            if asks && last && mood != Mood::Question {
                // The whole sentence is the question, but for clauses that stand by themselves before a question's own form.
                self.mood[start..to].fill(Mood::Question);
                return;
            }
            if mood == Mood::Report
                && previous != Mood::Report
                && !(from..to).any(|at| self.place(at).is_some())
                && n > 0
            {
                let head = self.head(from);
                let goes_on = previous == Mood::Question
                    || self.any_key(
                        head,
                        &["then", "and", "open", "done", "dose", "movestrong", "swapweak", "swapstrong"],
                    )
                    || self.key(from, "then");
                if goes_on {
                    mood = previous;
                }
            }
            match self.tail_plan(from, to) {
                Some(plan) if mood == Mood::Plan => self.mood[plan..to].fill(Mood::Plan),
                _ => self.mood[from..to].fill(mood),
            }
            previous = mood;
        }
    }

    /// The first item of a clause that is more than a filler.
    pub(crate) fn head(&self, from: usize) -> usize {
        let mut at = from;
        while self.item(at).is_some_and(|item| {
            matches!(item.what, What::Mark(_) | What::Crew)
                || (self.layer_at(at, "polite").is_some() && self.layer_at(at, "q").is_none())
                || matches!(self.text_at(at), "so" | "and" | "also" | "but" | "now" | "ok" | "okay" | "then")
        }) {
            at += 1;
        }
        at
    }

    /// "plan 7.2 into A3", "plan for 7.2": the word plan before a place asks for the plan of it.
    fn asks_for_plan(&self, head: usize) -> bool {
        let next = head + 1 + usize::from(matches!(self.text_at(head + 1), "for" | "of"));
        self.text_at(head) == "plan" && self.place(next).is_some()
    }

    fn clause_mood(&self, from: usize, to: usize) -> Mood {
        let head = self.head(from).min(to);
        if self.question_form(head, to) || self.asks_for_plan(head) {
            return Mood::Question;
        }
        let moods: Vec<&Layer> = self.layer(from, to, "mood").collect();
        if moods.iter().any(|layer| layer.meaning.value == "order") {
            return Mood::Order;
        }
        let named = (from..to).any(|at| self.item(at).is_some_and(|item| item.what == What::Crew))
            || self.layer(from, to, "mood").any(|layer| layer.meaning.value == "order");
        let please = (from..to).any(|at| self.key(at, "please"));
        let imperative = |at: usize| {
            matches!(
                self.text_at(at),
                "open"
                    | "move"
                    | "dose"
                    | "add"
                    | "put"
                    | "change"
                    | "dump"
                    | "transfer"
                    | "shift"
                    | "cut"
                    | "give"
                    | "swap"
                    | "drain"
                    | "unpack"
                    | "net"
                    | "replace"
            )
        };
        let mut first = head;
        while self.key(first, "please") {
            first += 1;
        }
        if (named || please) && imperative(first) {
            return Mood::Order;
        }
        let planned = |layer: &&Layer| {
            layer.meaning.value == "future" && !self.is_month(layer) && !self.courtesy_covers(layer.first, layer.end)
        };
        if moods.iter().any(planned) {
            return Mood::Plan;
        }
        Mood::Report
    }

    fn is_month(&self, layer: &Layer) -> bool {
        self.tokens[layer.first].text == "may"
    }

    /// Where a plan starts behind a report in the same clause: "2 dead and i will dose later".
    fn tail_plan(&self, from: usize, to: usize) -> Option<usize> {
        let marker = self.layer(from, to, "mood").find(|layer| layer.meaning.value == "future")?;
        let mut at = self.item_of_token(marker.first);
        if at > from && self.layer_at(at - 1, "self").is_some() {
            at -= 1;
        }
        let joined = at > from && (self.any_key(at - 1, &["and"]) || matches!(self.text_at(at - 1), "so" | "but"));
        joined.then_some(at)
    }

    /// "what is", "how many", "is bag 1", "any dead": the form of a question, with or without its mark.
    fn question_form(&self, head: usize, to: usize) -> bool {
        if head >= to {
            return false;
        }
        if let Some(q) = self.layer_at(head, "q") {
            let behind = self.item_of_token(q.end);
            return match q.meaning.value {
                "when" => {
                    self.layer_at(behind, "aux").is_some()
                        || matches!(self.text_at(behind), "must")
                        || self.text_at(head) == "whens"
                }
                "any" => self.value(behind, "unit").is_none(),
                // "what a night", "how nice" ask nothing, and hold nothing either.
                _ => true,
            };
        }
        let Some(aux) = self.layer_at(head, "aux") else { return false };
        if self.value(head, "measure").is_some() && self.item(head + 1).is_some_and(|item| item.number().is_some()) {
            return false;
        }
        let subject = self.item_of_token(aux.end);
        let word = self.text_at(head);
        let has_subject = self.place(subject).is_some()
            || matches!(self.item(subject).map(|item| &item.what), Some(What::Species(_) | What::Crew))
            || self.layer_at(subject, "you").is_some()
            || self.layer_at(subject, "self").is_some()
            || self.value(subject, "fish").is_some()
            || self.layer_at(subject, "mood").is_some_and(|layer| layer.meaning.value == "order")
            || self.layer_at(subject, "q").is_some_and(|layer| layer.meaning.value == "any")
            || matches!(self.text_at(subject), "the" | "it" | "they" | "that" | "this" | "there" | "we" | "all" | "us");
        match word {
            // "has A12 been fed"
            "has" | "did" if self.place(subject).is_some() => true,
            "will" | "have" | "has" | "did" | "do" | "may" => {
                (self.layer_at(subject, "you").is_some()
                    || matches!(
                        self.text_at(subject),
                        "we" | "i" | "they" | "it" | "anyone" | "the" | "he" | "she" | "any"
                    ))
                    && has_subject
            }
            _ => has_subject,
        }
    }
}

fn bounds(numbers: &[usize], at: usize) -> (usize, usize) {
    let n = numbers.get(at).copied().unwrap_or(usize::MAX);
    (numbers.partition_point(|other| *other < n), numbers.partition_point(|other| *other <= n))
}

/// Whether a token is a word or number, not a mark.
pub(crate) fn is_wordlike(token: &Token) -> bool {
    !matches!(token.kind, Kind::Mark(_) | Kind::Line)
}
