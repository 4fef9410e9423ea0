//! Corrections inside one message: "3 no 4 dead", "ph 6.4 i mean 6.8", "5 not 4".

use super::item::{Item, Layer, What};
use super::place_words::Mention;
use super::token::Token;

/// What a message says about a correction.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Correction {
    /// A word of correction opens the message, or "5 not 4" stands in it.
    pub marked: bool,
    /// The words leave no other reading ("*5", "make that", "5 not 4").
    pub strong: bool,
    /// The word "correction" itself opens it.
    pub named: bool,
    /// The number that was wrong.
    pub old: Option<f64>,
    /// A place was named that should not have been: "A3 not A2".
    pub old_place: bool,
}

fn is_not(item: &Item) -> bool {
    matches!(&item.what, What::Words(meanings) if meanings.iter().any(|m| m.class == "key" && m.value == "not"))
}

fn class(item: &Item, class: &str) -> bool {
    item.value(class).is_some()
}

fn measures(item: &Item) -> bool {
    item.number().is_some() || class(item, "fraction")
}

fn mention(item: &Item) -> Option<&Mention> {
    match &item.what {
        What::Place(mention) => Some(mention),
        _ => None,
    }
}

/// Whether nothing but a greeting stands before this item on its line.
fn heads_line(items: &[Item], at: usize, layers: &[Layer], tokens: &[Token]) -> bool {
    let pointer =
        |item: &Item| matches!(tokens[item.first].text.as_str(), "that" | "thats" | "it" | "its" | "i" | "was" | "no");
    let polite = |item: &Item| {
        layers.iter().any(|layer| layer.meaning.class == "polite" && layer.first <= item.first && layer.end >= item.end)
    };
    items[..at]
        .iter()
        .rev()
        .take_while(|item| item.what != What::Line)
        .take(6)
        .all(|item| matches!(item.what, What::Mark(_) | What::Crew) || polite(item) || pointer(item))
}

/// Takes wrong values out of the items and puts the right ones in their stead.
pub(crate) fn correct(items: Vec<Item>, layers: &[Layer], tokens: &[Token]) -> (Vec<Item>, Correction) {
    let mut correction = Correction::default();
    let mut items = drop_negated(items, tokens, &mut correction);
    let marker_end = |items: &[Item], at: usize| -> Option<usize> {
        let item = &items[at];
        if item.what == What::Mark('*') {
            return Some(at + 1);
        }
        let first = item.first;
        let start = layers.partition_point(|layer| layer.first < first);
        let layer = layers[start..]
            .iter()
            .take_while(|layer| layer.first == first)
            .filter(|layer| layer.meaning.class == "fix")
            .max_by_key(|layer| layer.end);
        // "i wait in the van" corrects nothing.
        let waits = matches!(tokens[first].text.as_str(), "wait" | "hold" | "hang" | "rather")
            && at > 0
            && matches!(tokens[items[at - 1].first].text.as_str(), "i" | "we" | "to" | "can");
        // "short 2, should be 40" says how many were packed.
        let packed = matches!(tokens[first].text.as_str(), "should" | "was" | "supposed" | "meant")
            && items[..at].iter().any(|item| matches!(item.value("state"), Some("missing" | "extra")));
        if waits || packed {
            return None;
        }
        if let Some(layer) = layer {
            let end = items.partition_point(|item| item.first < layer.end);
            // "that was A3" corrects a place and nothing else.
            let placed = items.get(end).is_some_and(|item| mention(item).is_some()) && at > 0;
            return (layer.meaning.value != "was" || placed).then_some(end);
        }
        if matches!(tokens[first].text.as_str(), "thats" | "its")
            && at > 0
            && items.get(at + 1).is_some_and(|item| mention(item).is_some())
        {
            return Some(at + 1);
        }
        (tokens[first].text == "no"
            && items.get(at + 1).is_some_and(|next| {
                measures(next)
                    || mention(next).is_some()
                    || matches!(next.what, What::Buyer(_))
                    || tokens[next.first].text == ","
            }))
        .then_some(at + 1)
    };
    let mut at = 0;
    while at < items.len() {
        let Some(mut end) = marker_end(&items, at) else {
            at += 1;
            continue;
        };
        // "3*", "3* dead": the star stands behind the number.
        if at > 0
            && items[at].what == What::Mark('*')
            && measures(&items[at - 1])
            && heads_line(&items, at - 1, layers, tokens)
        {
            correction.marked = true;
            correction.strong = true;
            items.remove(at);
            continue;
        }
        // Several markers in a row are one: "no wait, sorry".
        while end < items.len() {
            match marker_end(&items, end) {
                Some(next) => end = next,
                None if items[end].what == What::Mark(',') => end += 1,
                None => break,
            }
        }
        let Some(value) = items.get(end).cloned() else { break };
        let before = items[..at].iter().rposition(|item| !matches!(item.what, What::Mark(_) | What::Line));
        let unit = |items: &[Item], at: usize| items.get(at).and_then(|item| item.value("unit"));
        if let (Some(_), Some(_)) = (before, mention(&value)) {
            // "A1 no A2 3 dead", "A1 3 dead sorry A2": the last place named holds.
            let named_before = items[..at].iter().rposition(|item| mention(item).is_some());
            let says_more = items[end + 1..]
                .iter()
                .any(|item| class(item, "state") || class(item, "sign") || measures(item) || class(item, "measure"));
            if let Some(n) = named_before
                && (!says_more || before == Some(n))
            {
                items[n].what = value.what.clone();
                items.drain(at..=end);
                at = at.min(items.len());
                continue;
            }
        }
        // "10 platies for teasel, no, low weir": a buyer or fish takes the place of the one before.
        let same_kind = |item: &Item| {
            matches!((&item.what, &value.what), (What::Buyer(_), What::Buyer(_)) | (What::Species(_), What::Species(_)))
        };
        if let Some(n) = items[..at].iter().rposition(same_kind) {
            items[n].what = value.what.clone();
            items.drain(at..=end);
            continue;
        }
        if measures(&value) && before.is_some() {
            let new_unit = unit(&items, end + 1);
            let named_behind = items.get(end + 1 + usize::from(new_unit.is_some())).is_some_and(|item| {
                class(item, "state")
                    || class(item, "sign")
                    || class(item, "product")
                    || class(item, "measure")
                    || class(item, "fish")
                    || matches!(item.what, What::Species(_))
            });
            let fits = |n: &usize| {
                let old_unit = unit(&items, n + 1);
                measures(&items[*n])
                    && (new_unit.is_none() || old_unit == new_unit || (old_unit.is_none() && !named_behind))
            };
            let old = (0..at).rev().find(fits);
            // "5 dead, no, 6 dead": the same thing said again is said right the second time.
            let name = items.get(end + 1);
            let again = name.and_then(|name| {
                ["state", "measure", "product"].iter().find_map(|c| {
                    let value = name.value(c)?;
                    (0..at).rev().find(|n| {
                        measures(&items[*n]) && items.get(n + 1).and_then(|item| item.value(c)) == Some(value)
                    })
                })
            });
            if let Some(n) = again {
                items[n].what = value.what.clone();
                items.drain(at..end + 2);
                continue;
            }
            // "3 no 4 dead": the first number has no name of its own, so it goes.
            if let Some(n) = old {
                if named_behind {
                    let bare = before == Some(n);
                    if bare {
                        items.drain(n..end);
                        at = n;
                        continue;
                    }
                } else {
                    items[n].what = value.what.clone();
                    let stop = end + 1 + usize::from(new_unit.is_some());
                    items.drain(at..stop.min(items.len()));
                    continue;
                }
            }
        }
        if heads_line(&items, at, layers, tokens) {
            correction.marked = true;
            correction.named |= tokens[items[at].first].text == "correction";
            correction.strong |= items[at].what == What::Mark('*') || tokens[items[at].first].text != "sorry";
        }
        at = end.max(at + 1);
    }
    (items, correction)
}

/// "5 not 4", "5 dead not 4", "not 4, 5": the wrong number goes and is remembered.
fn drop_negated(mut items: Vec<Item>, tokens: &[Token], correction: &mut Correction) -> Vec<Item> {
    let mut at = 0;
    while at < items.len() {
        let word = &tokens[items[at].first].text;
        if is_not(&items[at]) && word == "not" {
            let next = items.get(at + 1);
            if let Some(old) = next.and_then(Item::number) {
                let before = items[..at].iter().any(|item| item.number().is_some());
                let named_between = at > 0
                    && (items[at - 1].number().is_some()
                        || class(&items[at - 1], "state")
                        || class(&items[at - 1], "unit")
                        || items[at - 1].what == What::Mark(',')
                        || class(&items[at - 1], "fish")
                        || matches!(items[at - 1].what, What::Species(_))
                        || class(&items[at - 1], "product"));
                let behind = items
                    .get(at + 2)
                    .map(|item| item.what == What::Mark(','))
                    .is_some_and(|comma| comma && items.get(at + 3).is_some_and(|item| item.number().is_some()));
                if before && named_between || (!before && behind) {
                    correction.marked = true;
                    correction.strong = true;
                    correction.old = Some(old);
                    let unit = items.get(at + 2).is_some_and(|item| class(item, "unit")) && before;
                    items.drain(at..at + 2 + usize::from(unit));
                    continue;
                }
            }
            if next.is_some_and(|item| mention(item).is_some()) && at > 0 && mention(&items[at - 1]).is_some() {
                correction.old_place = true;
                correction.marked = true;
                items.drain(at..at + 2);
                continue;
            }
        }
        at += 1;
    }
    items
}
