//! A packing list is talked about before it is booked: its doubts one by one, then what it is, then yes or no.

use std::collections::BTreeSet;

use rust_decimal::Decimal;

use super::answering::Next;
use super::draft::{Done, Draft, Query, Stop};
use super::refusal::Refusal;
use crate::consignment::{Answer, Asks, ColumnSaid, ConsignmentNo, PackingList};
use crate::journal::{Event, ListStage, Listing, Matter};
use crate::people::Power;
use crate::say;

impl Draft<'_> {
    /// Reads a list back and asks its first question; `said` is what it was told of its columns. Nothing is booked before the last one is answered.
    pub(super) fn offer_list(&mut self, list: &PackingList, said: Vec<ColumnSaid>) -> Result<Query, Stop> {
        self.require(Power::ImportList)?;
        if list.lines.is_empty() && list.doubts.is_empty() {
            return Err(Refusal::NothingOnList { questions: list.questions.clone() }.into());
        }
        self.forget_earlier_talk(list);
        let replaces = self.imported_as(list).or_else(|| self.with_the_same_boxes(list));
        let listing = Listing {
            list: list.clone(),
            asked: 0,
            replaces,
            gone: Vec::new(),
            whose: Vec::new(),
            theirs: Vec::new(),
            matched: Vec::new(),
            said,
            stage: ListStage::Doubt,
        };
        let head = self.list_in_words(list, true);
        self.next_about(listing, Some(head))
    }

    /// A file that is sent again starts anew: what was asked about it before is settled.
    fn forget_earlier_talk(&mut self, list: &PackingList) {
        let about_it = |other: &PackingList| {
            let same = |one: &Option<String>, two: &Option<String>| one.is_some() && one == two;
            list.kept.is_some() && list.kept == other.kept
                || same(&list.awb, &other.awb)
                || same(&list.invoice, &other.invoice) && list.supplier == other.supplier
        };
        let asked: Vec<u64> = self
            .state
            .questions
            .iter()
            .filter(|(_, pending)| match &pending.matter {
                Matter::Listing(listing) => pending.to.chat == self.speaker.chat && about_it(&listing.list),
                Matter::Import(other) => pending.to.chat == self.speaker.chat && about_it(other),
                _ => false,
            })
            .map(|(id, _)| *id)
            .collect();
        for id in asked {
            self.emit(Event::QuestionSet { id, to: None });
        }
    }

    /// The consignment that a list was booked as: its airway bill or its invoice tells. One that was finished long ago is
    /// another one, because invoice numbers come round.
    pub(super) fn imported_as(&self, list: &PackingList) -> Option<ConsignmentNo> {
        let same = |one: &Option<String>, other: &Option<String>| one.is_some() && one == other;
        let here = self.state.consignments.iter().rev().filter(|(no, consignment)| {
            **no != ConsignmentNo::HOUSE
                && consignment.finished.is_none_or(|at| self.now - at < chrono::Duration::days(STILL_THE_SAME_DAYS))
        });
        here.into_iter()
            .find(|(_, consignment)| {
                same(&consignment.awb, &list.awb)
                    || same(&consignment.invoice, &list.invoice)
                        && Some(&consignment.supplier) == list.supplier.as_ref()
            })
            .map(|(no, _)| *no)
    }

    /// The open consignment of the same supplier that a list may take the place of, where a person says so.
    fn may_replace(&self, list: &PackingList) -> Option<ConsignmentNo> {
        let supplier = list.supplier.as_ref()?;
        let open = self.state.open_consignments().filter(|(_, it)| it.supplier == *supplier && !it.unlisted);
        open.last().map(|(no, _)| no)
    }

    /// The open consignment that a list without numbers of its own looks like: of the same supplier, and most of its boxes.
    /// A second import would book every fish twice, so it is taken for a correction first.
    fn with_the_same_boxes(&self, list: &PackingList) -> Option<ConsignmentNo> {
        let no = self.may_replace(list)?;
        let consignment = self.state.consignments.get(&no)?;
        let differ = |one: &Option<String>, other: &Option<String>| one.is_some() && other.is_some() && one != other;
        if differ(&consignment.awb, &list.awb) || differ(&consignment.invoice, &list.invoice) {
            return None;
        }
        let known: BTreeSet<u32> = self.state.boxes_of(no).map(|(key, _)| key.number).collect();
        let listed: BTreeSet<u32> = super::importing::boxes_of(list).into_keys().collect();
        let common = known.intersection(&listed).count();
        (2 * common >= known.len() && 2 * common >= listed.len()).then_some(no)
    }

    /// The next question about a list: a doubt, a box that is gone, at last whether it is booked.
    fn next_about(&mut self, mut listing: Listing, head: Option<String>) -> Result<Query, Stop> {
        let first = head.is_some();
        let mut text: Vec<String> = head.into_iter().collect();
        if let Some(doubt) = listing.list.doubts.first() {
            listing.asked += 1;
            let of = listing.asked as usize + listing.list.doubts.len() - 1;
            text.push(say::import::doubt(listing.asked, of, &doubt.text));
            let choices = say::import::doubt_choices(&doubt.asks, listing.list.doubts.len() > 1);
            listing.stage = ListStage::Doubt;
            return Ok(Query::choice(text.join("\n"), Matter::Listing(Box::new(listing)), choices));
        }
        if listing.list.lines.is_empty() {
            return Err(Refusal::NothingOnList { questions: Vec::new() }.into());
        }
        if !first {
            text.push(self.list_in_words(&listing.list, false));
        }
        if let Some(no) = listing.replaces {
            return self.next_about_correction(no, listing, text);
        }
        if let Some((question, stage, choices)) = self.next_about_earlier(&listing) {
            text.push(question);
            listing.stage = stage;
            return Ok(Query::choice(text.join("\n"), Matter::Listing(Box::new(listing)), choices));
        }
        text.extend(self.opened_before_in_words(&listing));
        text.extend(self.warnings_of_list(&listing.list));
        text.push(say::import::import_it().to_owned());
        let replaces = self.may_replace(&listing.list).map(|no| self.supplier(no));
        listing.stage = ListStage::Confirm;
        let choices = say::import::import_choices(replaces.as_deref());
        Ok(Query::choice(text.join("\n"), Matter::Listing(Box::new(listing)), choices))
    }

    fn next_about_correction(
        &mut self,
        no: ConsignmentNo,
        mut listing: Listing,
        mut text: Vec<String>,
    ) -> Result<Query, Stop> {
        let supplier = self.supplier(no);
        let plan = self.relisting(no, &listing.list, &listing.gone);
        if plan.changes.is_empty() {
            let by = listing.list.awb.or(listing.list.invoice).unwrap_or(supplier);
            return Err(Refusal::AlreadyImported { by }.into());
        }
        self.require(Power::CorrectList)?;
        if let Some((number, found)) = self.opened_and_gone(&plan, &listing.gone) {
            text.push(say::import::gone_box(number, found));
            listing.stage = ListStage::Gone { number };
            let matter = Matter::Listing(Box::new(listing));
            return Ok(Query::choice(text.join("\n"), matter, say::import::gone_choices()));
        }
        // A list that takes another's place was read back with them a moment ago.
        if listing.stage != ListStage::Confirm {
            text.extend(self.warnings_of_new(no, &plan.after.lines));
        }
        text.push(say::import::changes(&supplier, &plan.changes));
        listing.stage = ListStage::Confirm;
        let matter = Matter::Listing(Box::new(listing));
        Ok(Query::choice(text.join("\n"), matter, say::import::change_choices()))
    }

    /// A list in numbers; at first also its columns and what no answer changes.
    fn list_in_words(&self, list: &PackingList, whole: bool) -> String {
        let doubted = |question: &String| list.doubts.iter().any(|doubt| doubt.text == *question);
        // A line whose box is still asked about has none yet, and nothing is to be said of it.
        let asked: BTreeSet<u32> = list
            .doubts
            .iter()
            .filter(|doubt| matches!(doubt.asks, Asks::Box | Asks::Split { .. }))
            .flat_map(|doubt| doubt.lines.iter().copied())
            .collect();
        let boxless = (0u32..).zip(&list.lines).filter(|(nth, line)| line.number.is_none() && !asked.contains(nth));
        let notes = list.questions.iter().filter(|question| whole && !doubted(question));
        say::import::read_back(&say::import::Summary {
            supplier: list.supplier.clone(),
            awb: list.awb.clone(),
            boxes: super::importing::boxes_of(list).len(),
            bags: list.lines.iter().map(super::importing::bags_of).sum(),
            fish: list.total_qty,
            species: super::importing::kinds_of(list).len(),
            stated: list.stated_total,
            no_box: boxless.count(),
            columns: if whole { list.columns.clone() } else { Vec::new() },
            currency: list.currency.clone(),
            notes: notes.cloned().collect(),
        })
    }

    /// Takes one of the choices of a question about a list.
    pub(super) fn settle_listing(&mut self, listing: Listing, chosen: usize) -> Result<Next, Stop> {
        self.require(Power::ImportList)?;
        let left = || Done { recorded: Some(String::new()), standing: say::standing::nothing_recorded(), ask: None };
        match listing.stage.clone() {
            ListStage::Doubt => self.settle_doubt_by_choice(listing, chosen).map(Next::Said),
            ListStage::Gone { number } => {
                let mut listing = listing;
                listing.gone.push((number, chosen == 0));
                let ask = self.next_about(listing, None)?;
                Ok(Next::Said(Done { recorded: Some(String::new()), standing: String::new(), ask: Some(ask) }))
            }
            ListStage::Match { .. } | ListStage::Whose { .. } | ListStage::Theirs { .. } => {
                let listing = super::reconciling::settled(listing, chosen);
                let ask = self.next_about(listing, None)?;
                Ok(Next::Said(Done { recorded: Some(String::new()), standing: String::new(), ask: Some(ask) }))
            }
            ListStage::Confirm => match (chosen, listing.replaces) {
                (0, None) => self.import(&listing).map(Next::Said),
                (0, Some(no)) => {
                    self.require(Power::CorrectList)?;
                    self.relist(no, &listing.list, &listing.gone).map(Next::Said)
                }
                (2, None) => {
                    self.require(Power::CorrectList)?;
                    let replaces = self.may_replace(&listing.list);
                    let ask = self.next_about(Listing { replaces, ..listing }, None)?;
                    Ok(Next::Said(Done { recorded: Some(String::new()), standing: String::new(), ask: Some(ask) }))
                }
                (2, Some(_)) => {
                    let ask = self.next_about(Listing { replaces: None, gone: Vec::new(), ..listing }, None)?;
                    Ok(Next::Said(Done { recorded: Some(String::new()), standing: String::new(), ask: Some(ask) }))
                }
                _ => Ok(Next::Said(left())),
            },
        }
    }

    fn settle_doubt_by_choice(&mut self, mut listing: Listing, chosen: usize) -> Result<Done, Stop> {
        let Some(doubt) = listing.list.doubts.first().cloned() else {
            return self.doubt_settled(listing, String::new());
        };
        let answer = match &doubt.asks {
            Asks::Fish { choices, .. } => choices.get(chosen).map(|fish| Answer::Fish(vec![*fish])),
            Asks::Price { choices } => choices.get(chosen).map(|price| Answer::Price(*price)),
            Asks::Currency { choices } => choices.get(chosen).map(|code| Answer::Words(code.clone())),
            Asks::LeftOut { .. } | Asks::Box | Asks::Split { .. } | Asks::Size => None,
        };
        let offered = match &doubt.asks {
            Asks::Fish { choices, .. } => choices.len(),
            Asks::Price { choices } => choices.len(),
            Asks::Currency { choices } => choices.len(),
            Asks::LeftOut { .. } | Asks::Box | Asks::Split { .. } | Asks::Size => 0,
        };
        if answer.is_none() && chosen > offered {
            let count = listing.list.doubts.len();
            listing.list.doubts.clear();
            return self.doubt_settled(listing, say::import::rest_as_read(count));
        }
        self.settle_doubt(listing, &answer.unwrap_or(Answer::AsRead))
    }

    fn settle_doubt(&mut self, mut listing: Listing, answer: &Answer) -> Result<Done, Stop> {
        let Some(doubt) = listing.list.doubts.first().cloned() else {
            return self.doubt_settled(listing, String::new());
        };
        if let Err(unfit) = listing.list.settle_doubt(answer) {
            listing.asked = listing.asked.saturating_sub(1);
            let ask = self.next_about(listing, Some(say::import::unfit(&unfit)))?;
            return Ok(Done { recorded: Some(String::new()), standing: String::new(), ask: Some(ask) });
        }
        let place = doubt.text.split_once(": ").map_or("", |(place, _)| place);
        self.doubt_settled(listing, say::import::settled(place, &doubt.asks, answer))
    }

    fn doubt_settled(&mut self, listing: Listing, said: String) -> Result<Done, Stop> {
        let ask = self.next_about(listing, None)?;
        Ok(Done { recorded: Some(said), standing: String::new(), ask: Some(ask) })
    }

    /// An answer in words to a doubt that waits for the speaker; `None` where the text is something else, which the
    /// reader is asked about.
    pub(super) fn listing_answer(&mut self, text: &str) -> Option<Result<Done, Stop>> {
        let spoken = self.state.dialogues.get(&self.speaker)?;
        let question = spoken.dialogue.question.as_ref().filter(|question| self.said_at <= question.expires)?;
        let id = question.id;
        let Matter::Listing(listing) = &self.state.questions.get(&id)?.matter else { return None };
        if listing.stage != ListStage::Doubt {
            return None;
        }
        let answer = answer_in(&listing.list.doubts.first()?.asks, text)?;
        let listing = Listing::clone(listing);
        Some(self.require(Power::ImportList).and_then(|()| {
            self.emit(Event::QuestionSet { id, to: None });
            self.settle_doubt(listing, &answer)
        }))
    }
}

/// How long after it was finished a consignment's list may still be corrected, days.
const STILL_THE_SAME_DAYS: i64 = 14;

/// What a text answers to a doubt, where it is nothing but an answer.
fn answer_in(asks: &Asks, text: &str) -> Option<Answer> {
    let text = text.trim().trim_end_matches(['.', '!']);
    let lower = text.to_lowercase();
    let words: Vec<&str> = lower.split_whitespace().collect();
    let number = |word: &str| word.parse::<u32>().ok();
    let boxed = |words: &[&str]| match words {
        ["box", word] | ["it", "is", "box", word] => number(word.trim_start_matches('#')),
        [word] => word.strip_prefix('#').and_then(number),
        _ => None,
    };
    match asks {
        Asks::Fish { .. } | Asks::LeftOut { .. } => match words.as_slice() {
            [word] | [word, "fish" | "pcs" | "pieces"] => number(word).map(|fish| Answer::Fish(vec![fish])),
            _ => None,
        },
        Asks::Box => match words.as_slice() {
            [word] if number(word).is_some() => number(word).map(Answer::Box),
            words => boxed(words).map(Answer::Box),
        },
        Asks::Split { .. } => {
            let parts: Option<Vec<u32>> = lower
                .split([' ', ',', '/', '+'])
                .filter(|part| !part.is_empty() && *part != "and")
                .map(number)
                .collect();
            parts.filter(|parts| !parts.is_empty()).map(Answer::Fish).or_else(|| boxed(&words).map(Answer::Box))
        }
        Asks::Size => is_size(&lower).then(|| Answer::Words(text.to_owned())),
        Asks::Price { .. } => {
            lower.replace(',', ".").parse::<Decimal>().ok().filter(|price| *price >= Decimal::ZERO).map(Answer::Price)
        }
        Asks::Currency { .. } => (text.len() == 3 && text.chars().all(|letter| letter.is_ascii_alphabetic()))
            .then(|| Answer::Words(text.to_uppercase())),
    }
}

/// Whether a text is a size as lists write it: a length or range with its unit, or letters.
fn is_size(lower: &str) -> bool {
    let letters = ["xs", "s", "sm", "m", "ml", "l", "xl", "xxl", "j", "jumbo", "show"];
    if lower.split('/').all(|part| letters.contains(&part.trim())) {
        return true;
    }
    let number = lower.trim_end_matches(['"', '+', ' ']);
    let bare = ["cm", "mm", "in", "inch"].iter().find_map(|unit| number.strip_suffix(unit)).unwrap_or(number);
    let has_unit = bare != lower;
    has_unit
        && bare.chars().any(|c| c.is_ascii_digit())
        && bare.chars().all(|c| c.is_ascii_digit() || " .,-–~/".contains(c))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn answers_are_taken_in_plain_words_and_nothing_else_is() {
        let fish = Asks::Fish { choices: vec![90, 100], each: false };
        assert_eq!(answer_in(&fish, "48"), Some(Answer::Fish(vec![48])));
        assert_eq!(answer_in(&fish, "48 fish."), Some(Answer::Fish(vec![48])));
        assert_eq!(answer_in(&Asks::Box, "box 7"), Some(Answer::Box(7)));
        assert_eq!(answer_in(&Asks::Box, "#7"), Some(Answer::Box(7)));
        assert_eq!(answer_in(&Asks::Box, "7"), Some(Answer::Box(7)));
        let split = Asks::Split { boxes: vec![1, 2, 3] };
        assert_eq!(answer_in(&split, "34, 33 and 33"), Some(Answer::Fish(vec![34, 33, 33])));
        assert_eq!(answer_in(&split, "box 2"), Some(Answer::Box(2)));
        for size in ["5-6 cm", "M/L", "2\"", "4.5cm", "Jumbo"] {
            assert_eq!(answer_in(&Asks::Size, size), Some(Answer::Words(size.to_owned())), "{size}");
        }
        let price = Asks::Price { choices: Vec::new() };
        assert_eq!(answer_in(&price, "0,35"), Some(Answer::Price(Decimal::new(35, 2))));
        for (asks, text) in [
            (&fish, "7.1 38 ok"),
            (&fish, "two"),
            (&Asks::Box, "box 7 4 dead"),
            (&split, "later"),
            (&Asks::Size, "7.1 38 ok"),
            (&Asks::Size, "48"),
            (&price, "who has the key"),
        ] {
            assert_eq!(answer_in(asks, text), None, "{text}");
        }
    }
}
