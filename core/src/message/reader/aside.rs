//! What is written down or put off: "note box 7 outer carton crushed", "give me 20 min".

use super::Turn;
use crate::message::item::What;
use crate::message::message_text::{Message, Mood};
use crate::message::{Act, Doubt, Reading, Said, Wanted};

/// The longest time in minutes that puts off without a word for it.
const LONGEST_BARE_MINUTES: f64 = 240.0;

fn covered(message: &Message<'_>, n: usize, class: &str) -> bool {
    let item = &message.items[n];
    message
        .layers
        .iter()
        .any(|layer| layer.meaning.class == class && layer.first <= item.first && item.end <= layer.end)
}

impl Turn<'_> {
    /// "note box 7 outer carton crushed".
    pub(super) fn note(&mut self) -> Option<Reading> {
        let message = &self.message;
        let head = message.head(0);
        // "A1 note the lid is cracked"
        let led = message.place(head).is_some_and(|mention| !mention.unknown && mention.places.len() == 1);
        let word =
            head + usize::from(led) + usize::from(led && (message.mark(head + 1, ':') || message.mark(head + 1, ',')));
        let layer = *message.layer_at(word, "note")?;
        let mut at = message.item_of_token(layer.end);
        while matches!(message.items.get(at).map(|item| &item.what), Some(What::Mark(':' | '-' | ',')))
            || matches!(message.text_at(at), "for" | "on" | "re" | "about" | "that") && message.place(at).is_none()
        {
            at += 1;
        }
        let named = if led && message.place(at).is_none() { head } else { at };
        let place =
            message.place(named).filter(|mention| !mention.unknown).and_then(|mention| mention.places.first().cloned());
        let start = at + usize::from(place.is_some() && named == at);
        let unknown = message.place(at).is_some_and(|mention| mention.unknown);
        let text = message.words_from(start, message.items.len())?;
        let act: Said = Act::Note { text, at: place }.into();
        if unknown {
            let said = act.clone();
            return Some(self.finish(Vec::new(), vec![(Doubt::WhichPlace, Wanted::Place, said)], Vec::new()));
        }
        Some(self.finish(vec![act], Vec::new(), Vec::new()))
    }

    /// "give me 20 min", "later".
    pub(super) fn later(&self) -> Option<Act> {
        let message = &self.message;
        if message.items.is_empty() || message.items.iter().any(|item| matches!(item.what, What::Place(_))) {
            return None;
        }
        if message.mood.contains(&Mood::Question) || message.mood.contains(&Mood::Condition) {
            return None;
        }
        let end = message.items.len();
        let minutes = (0..end).find_map(|n| message.minutes(n).map(|(minutes, next)| (n, minutes, next)));
        let put_off = message.layer(0, end, "giveme").next();
        let later = message.layer(0, end, "later").next();
        let allowed = |n: usize| {
            minutes.is_some_and(|(from, _, to)| n >= from && n < to)
                || (n + 1 == end && n > 0 && message.items[n].whole().is_some() && covered(message, n - 1, "giveme"))
                || message.is_glue(n)
                || matches!(message.items[n].what, What::Mark(_) | What::Line)
                || ["giveme", "later", "polite", "self", "fix", "you"].iter().any(|class| covered(message, n, class))
                || message.any_key(
                    n,
                    &["please", "in", "for", "more", "another", "about", "to", "and", "again", "thanks", "at", "with"],
                )
                || message.value(n, "about").is_some()
                || message.value(n, "time").is_some()
        };
        // "gimme 5 min im elbow deep", "i need 15 minutes, the phone": why comes behind, and reports nothing.
        let asked = message.layer_at(message.head(0), "giveme").map(|layer| message.item_of_token(layer.end));
        let excused = |n: usize| {
            let behind = minutes.filter(|(from, _, _)| asked == Some(*from)).map(|(_, _, to)| to);
            behind.is_some_and(|to| {
                n >= to
                    && (message.clause.get(to) != message.clause.get(to - 1)
                        || message.mark(to, ',')
                        || covered(message, to, "self"))
            }) && message.items[n].number().is_none()
        };
        if !(0..end).all(|n| allowed(n) || excused(n)) {
            return None;
        }
        // "give me 15"
        let bare = (0..end).find_map(|n| {
            message.items[n].whole().filter(|_| n + 1 == end && n > 0 && covered(message, n - 1, "giveme"))
        });
        if let (None, Some(_), Some(minutes)) = (minutes, put_off, bare) {
            return Some(Act::Later { in_min: Some(minutes) });
        }
        match (minutes, put_off, later) {
            (Some((_, minutes, _)), Some(_), _) | (Some((_, minutes, _)), _, Some(_)) => {
                Some(Act::Later { in_min: (minutes >= 1.0).then_some(minutes.round() as u32) })
            }
            // "later" by itself; "see you later" is a farewell.
            (None, None, Some(_)) if (0..end).all(|n| !covered(message, n, "you")) => Some(Act::Later { in_min: None }),
            (Some((_, minutes, _)), None, None)
                if message.value(0, "unit").is_none() && end <= 4 && (0..end).all(|n| !covered(message, n, "self")) =>
            {
                let plain = (0..end).any(|n| message.any_key(n, &["more", "another", "please", "in"])) || end <= 3;
                // "48h" is no time to put a question off for.
                (plain
                    && (1.0..=LONGEST_BARE_MINUTES).contains(&minutes)
                    && self.message.value(0, "fraction").is_none())
                .then_some(Act::Later { in_min: Some(minutes.round() as u32) })
            }
            _ => None,
        }
    }
}
