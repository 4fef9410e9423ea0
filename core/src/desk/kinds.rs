//! What is no fish: invertebrates and plants are counted, moved, sold and claimed like fish, but what fish show is not said of them.

use std::collections::{BTreeMap, BTreeSet};

use super::draft::{Draft, Query};
use super::place::Where;
use crate::consignment::{Line, LineKey};
use crate::message::{Act, Count, Place, Said, Sign};
use crate::say;
use crate::species::{self, Kind, Match, Species};
use crate::stock::Account;
use crate::watch::condition::tells_of;

/// What lives in a place that holds no fish: the names by kind, one at least.
pub(super) type NoFish = BTreeMap<Kind, BTreeSet<String>>;

impl Draft<'_> {
    /// Whether a line is fish; one that nobody knows of is taken for fish.
    pub(super) fn kind_of_line(&self, key: LineKey) -> Kind {
        self.state.line(key).map(|line| line.kind).unwrap_or_default()
    }

    /// What is in a place by the books: in a tank or tray what lives there, in a bag or box what was packed there.
    pub(super) fn lines_at(&self, found: &Where) -> BTreeSet<LineKey> {
        let packed = |pack| self.state.books.lines_in(&Account::Packed(pack)).into_keys();
        match found {
            Where::Lot(no, _) => self.state.lots.get(no).map(|lot| lot.line).into_iter().collect(),
            Where::Tank(name) | Where::Tray(name) => {
                let tray = self.state.books.lines_in(&Account::Tray(name.clone())).into_keys();
                tray.chain(self.state.lots_in(name).into_iter().map(|(_, lot)| lot.line)).collect()
            }
            Where::Box(of) => {
                let listed = self.state.boxes.get(of).into_iter().flat_map(|record| &record.contents);
                let listed = listed.map(|content| self.key(*of, content.line));
                self.state.packs_of(*of).into_iter().flat_map(packed).chain(listed).collect()
            }
            Where::Bag(pack) => {
                let listed = self.state.boxes.get(&pack.of).into_iter().flat_map(|record| &record.contents);
                let numbered = |bag| listed.clone().filter(move |content| content.bag == bag);
                let own: BTreeSet<LineKey> =
                    numbered(pack.bag).map(|content| self.key(pack.of, content.line)).chain(packed(*pack)).collect();
                if !own.is_empty() {
                    return own;
                }
                // A bag that the list does not number can hold whatever lies loose in its box.
                numbered(None).map(|content| self.key(pack.of, content.line)).collect()
            }
        }
    }

    /// What lives in a place that holds something, but no fish; `None` where there is a fish, or nothing.
    pub(super) fn no_fish_in(&self, found: &Where) -> Option<NoFish> {
        let mut all = NoFish::new();
        for key in self.lines_at(found) {
            all.entry(self.kind_of_line(key)).or_default().insert(self.state.species(key));
        }
        (!all.is_empty() && !all.contains_key(&Kind::Fish)).then_some(all)
    }

    /// Whether only plants are in a tank or tray: nobody looks at those at night.
    pub(super) fn only_plants_in(&self, vessel: &str) -> bool {
        self.no_fish_in(&self.vessel_where(vessel)).is_some_and(|all| all.keys().all(|kind| *kind == Kind::Plant))
    }

    /// The signs that tell nothing of what lives in a place.
    pub(super) fn signs_of_fish_alone(&self, found: &Where, signs: &BTreeSet<Sign>) -> BTreeSet<Sign> {
        let Some(all) = self.no_fish_in(found) else { return BTreeSet::new() };
        signs.iter().copied().filter(|sign| !all.keys().any(|kind| tells_of(*sign, *kind))).collect()
    }

    /// Asks where fish were seen to do what nothing in the place named can do. What was counted beside it waits for the place too.
    pub(super) fn sign_of_fish(&mut self, place: &Place, found: &Where, signs: BTreeSet<Sign>, act: &Said) -> Query {
        let names: Vec<String> = self.no_fish_in(found).unwrap_or_default().into_values().flatten().collect();
        let text = say::question::sign_of_fish(place, &names, &signs);
        let here = |said: &Said| matches!(&said.act, Act::Count(count) if count.at == *place);
        let (mut partial, others): (Vec<Said>, Vec<Said>) = self.withheld.drain(..).partition(here);
        self.withheld = others;
        partial.push(Said { act: Act::Observe { at: place.clone(), signs }, ..act.clone() });
        Query { partial, ..Query::place(text, act.clone()) }
    }

    /// Whether a number of weak ones came of a sign, in the same message, that is asked about: "3 gasping" of shrimp is
    /// wrong as a whole, not by half.
    pub(super) fn hangs_on_sign_of_fish(&self, said: &Said, all: &[Said]) -> bool {
        let Act::Count(Count { at, weak: Some(_), .. }) = &said.act else { return false };
        all.iter().any(|other| match &other.act {
            Act::Observe { at: place, signs } => {
                place == at
                    && self.find(at, other).is_ok_and(|found| !self.signs_of_fish_alone(&found, signs).is_empty())
            }
            _ => false,
        })
    }

    /// What a product does to what lives where it is dosed: copper kills what has no backbone.
    pub(super) fn caution_of_copper(&self, product: &str, found: &Where) -> Option<String> {
        let names: BTreeSet<String> = self
            .lines_at(found)
            .into_iter()
            .filter(|key| self.kind_of_line(*key) == Kind::Invertebrate)
            .map(|key| self.state.species(key))
            .collect();
        let copper = product.to_lowercase().split(|c: char| !c.is_alphanumeric()).any(|word| word == "copper");
        (copper && !names.is_empty()).then(|| say::caution::copper(&names.into_iter().collect::<Vec<_>>()))
    }

    /// The known species of a line.
    pub(super) fn species_of(line: &Line) -> Option<&'static Species> {
        match species::resolve(&line.species, line.scientific.as_deref()) {
            Match::One(found) => Some(found),
            _ => None,
        }
    }

    /// The kinds of which something lives in a tank or tray, fish where nothing is known.
    pub(super) fn kinds_in(&self, vessel: &str) -> BTreeSet<Kind> {
        let found = self.vessel_where(vessel);
        let all: BTreeSet<Kind> = self.lines_at(&found).into_iter().map(|key| self.kind_of_line(key)).collect();
        if all.is_empty() { BTreeSet::from([Kind::Fish]) } else { all }
    }
}
