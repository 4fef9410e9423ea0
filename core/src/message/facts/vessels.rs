//! Tanks, trays, tubs, sumps and taps declared.

use super::{Bind, Fact};
use crate::message::act::VesselKind;
use crate::message::item::What;
use crate::message::message_text::Message;
use crate::message::{Act, Place};
use crate::quantity::Finite;

impl Message<'_> {
    /// "tanks A1-A24 200 L, system north".
    pub(crate) fn vessels(&mut self) -> Option<Fact> {
        let mut at = 0;
        while matches!(self.text_at(at), "new" | "add" | "set" | "up" | "we" | "have" | "got" | "a")
            || self.mark(at, ':')
            || self.layer_at(at, "polite").is_some()
        {
            at += 1;
        }
        let first = self.item(at)?.first;
        // "sump S1": the word for it is no part of the name.
        at += usize::from(self.any_key(at, &["sump", "tap"]));
        let mention = self.place(at)?.clone();
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
