//! Importing a packing list: read back first, then booked, then its names matched to the crew's.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::draft::{Done, Draft, Query, Stop};
use super::place::choices;
use super::refusal::Refusal;
use crate::consignment::{BoxKey, BoxRecord, Consignment, ConsignmentNo, Content, Line, ListLine, PackingList};
use crate::journal::{Event, Listing, Matter};
use crate::say;
use crate::species::{self, Fit, Kind, Match, Species};

/// The number under which lines without a box number are kept.
const NO_BOX: u32 = 0;

impl Draft<'_> {
    /// Books a list that was confirmed.
    pub(super) fn import(&mut self, listing: &Listing) -> Result<Done, Stop> {
        let list = &listing.list;
        if let Some(no) = self.imported_as(list) {
            return Err(Refusal::AlreadyImported { by: self.supplier(no) }.into());
        }
        let no = self.next_consignment();
        let supplier = self.supplier_listed(listing).unwrap_or_else(|| say::import::unnamed_supplier(no.0));
        let kinds = kinds_of(list);
        let numbers: Vec<u32> = (1..).take(kinds.len()).collect();
        let mut doubts = Vec::new();
        let lines = kinds.iter().map(|kind| self.line_from(kind, &supplier, &mut doubts)).collect();
        let consignment = Consignment {
            supplier: supplier.clone(),
            awb: list.awb.clone(),
            invoice: list.invoice.clone(),
            packed_at: list.packed_at.clone(),
            currency: list.currency.clone(),
            gross_kg: list.gross_kg,
            lines,
            ..Consignment::default()
        };
        self.emit(Event::ConsignmentSet { no, to: Some(consignment) });
        for (number, lines) in boxes_of(list) {
            let key = BoxKey { consignment: no, number };
            let contents = contents_of(&lines, &kinds, &numbers);
            self.emit(Event::BoxSet {
                key,
                to: Some(BoxRecord { contents: contents.clone(), ..BoxRecord::default() }),
            });
            self.fill(key, &contents);
        }
        let kept: Vec<u32> = self.theirs(listing).iter().map(|of| of.number).collect();
        self.reconcile_earlier(no, listing);
        let notes: Vec<String> = say::unlisted::kept(&kept).into_iter().collect();
        let standing = say::import::imported(&supplier, boxes_of(list).len(), list.total_qty, &notes);
        let ask = self.next_doubt(no, &supplier, &doubts);
        Ok(Done { recorded: Some(String::new()), standing, ask })
    }

    /// A line of the consignment, its name matched to a known species, or to what the site said of this supplier before.
    pub(super) fn line_from(&self, kind: &ListLine, supplier: &str, doubts: &mut Vec<String>) -> Line {
        let known = self.state.names.get(&(supplier.to_owned(), kind.species.clone())).cloned();
        let (species, scientific) = match known {
            Some(name) => (name, None),
            None => match species::resolve(&kind.species, kind.scientific.as_deref()) {
                Match::One(found) => (found.name().to_owned(), Some(found.scientific.to_owned())),
                Match::Several(_) => {
                    doubts.push(kind.species.clone());
                    (kind.species.to_lowercase(), None)
                }
                Match::None => (kind.species.to_lowercase(), None),
            },
        };
        let names_kind = species::kind_of(&kind.species, kind.scientific.as_deref(), kind.under);
        let named_kind = species::kind_of(&species, None, names_kind);
        Line {
            listed_as: kind.species.clone(),
            kind: named_kind.unwrap_or_default(),
            species,
            scientific: kind.scientific.clone().or(scientific),
            size: kind.size.clone(),
            unit_price: kind.unit_price,
            instead_of: None,
        }
    }

    /// The question for the next name that fits several fish, if any.
    pub(super) fn next_doubt(&self, consignment: ConsignmentNo, supplier: &str, doubts: &[String]) -> Option<Query> {
        let listed_as = doubts.first()?.clone();
        let Match::Several(found) = species::resolve(&listed_as, None) else { return None };
        let among: Vec<String> = found.iter().map(|species| species.name().to_owned()).collect();
        let mut choices: Vec<_> = choices(&among);
        choices.push(say::question::as_listed_name());
        let text = say::question::which_species(supplier, &listed_as, &among);
        let matter = Matter::WhichSpecies { consignment, supplier: supplier.to_owned(), listed_as, among };
        Some(Query::choice(text, matter, choices))
    }

    /// Keeps the answer for the supplier, names the consignment's lines by it, and asks about the next doubt.
    pub(super) fn match_name(&mut self, no: ConsignmentNo, supplier: &str, listed_as: &str, name: String) -> Done {
        self.emit(Event::NameMatched {
            supplier: supplier.to_owned(),
            listed_as: listed_as.to_owned(),
            to: Some(name.clone()),
        });
        let mut warnings = Vec::new();
        if let Some(mut consignment) = self.state.consignments.get(&no).cloned() {
            for line in consignment.lines.iter_mut().filter(|line| line.listed_as == listed_as) {
                line.species.clone_from(&name);
                line.kind = species::kind_of(&name, line.scientific.as_deref(), Some(line.kind)).unwrap_or_default();
                // The list's own name was read back with what it may be; which of them it is, is known only now.
                warnings = self.warnings_of(std::slice::from_ref(line));
            }
            self.emit(Event::ConsignmentSet { no, to: Some(consignment) });
        }
        let doubts = self.doubts_of(no, supplier);
        Done {
            recorded: Some(warned(&say::import::matched(listed_as, &name), &warnings)),
            standing: String::new(),
            ask: self.next_doubt(no, supplier, &doubts),
        }
    }

    fn doubts_of(&self, no: ConsignmentNo, supplier: &str) -> Vec<String> {
        let Some(consignment) = self.state.consignments.get(&no) else { return Vec::new() };
        let mut doubts: Vec<String> = consignment
            .lines
            .iter()
            .filter(|line| !self.state.names.contains_key(&(supplier.to_owned(), line.listed_as.clone())))
            .filter(|line| matches!(species::resolve(&line.listed_as, line.scientific.as_deref()), Match::Several(_)))
            .map(|line| line.listed_as.clone())
            .collect();
        doubts.dedup();
        doubts
    }

    /// What must be known of a list's fish before anybody says yes to it: listings, and what can hurt a person.
    pub(super) fn warnings_of_list(&self, list: &PackingList) -> Vec<String> {
        let supplier = list.supplier.clone().unwrap_or_default();
        let lines: Vec<Line> =
            kinds_of(list).iter().map(|kind| self.line_from(kind, &supplier, &mut Vec::new())).collect();
        self.warnings_of(&lines)
    }

    /// The same of the fish that a corrected list brings and that were not on the list before.
    pub(super) fn warnings_of_new(&self, no: ConsignmentNo, lines: &[Line]) -> Vec<String> {
        let before = self.state.consignments.get(&no).map_or(&[][..], |consignment| &consignment.lines);
        let is_new = |line: &&Line| !before.iter().any(|known| known.species == line.species);
        self.warnings_of(&lines.iter().filter(is_new).cloned().collect::<Vec<_>>())
    }

    /// The same of lines. Listed species stand together, so that their papers are looked for once.
    pub(super) fn warnings_of(&self, lines: &[Line]) -> Vec<String> {
        let today = self.today();
        let mut listed: Vec<(String, species::Listing)> = Vec::new();
        let mut dangers: Vec<String> = Vec::new();
        for line in lines {
            for listing in listings_of(line, today) {
                if !listed.iter().any(|(name, known)| *name == line.species && known.listed_as == listing.listed_as) {
                    listed.push((line.species.clone(), listing));
                }
            }
            let cautions = Self::species_of(line).into_iter().flat_map(Species::harms_people);
            for caution in cautions {
                let words = say::caution::species(&line.species, caution.caution, self.settings.temperature);
                if !dangers.contains(&words) {
                    dangers.push(words);
                }
            }
        }
        let of = |kind| {
            let mut names: Vec<String> =
                lines.iter().filter(|line| line.kind == kind).map(|line| line.species.clone()).collect();
            let mut seen = BTreeSet::new();
            names.retain(|name| seen.insert(name.clone()));
            names
        };
        let (invertebrates, plants) = (of(Kind::Invertebrate), of(Kind::Plant));
        let other = !invertebrates.is_empty() || !plants.is_empty();
        let other = other.then(|| say::import::not_fish(&invertebrates, &plants));
        let listed = (!listed.is_empty()).then(|| say::import::listed_species(&listed));
        other.into_iter().chain(listed).chain(dangers).collect()
    }

    /// The site's date now.
    pub(super) fn today(&self) -> NaiveDate {
        self.now.with_timezone(&self.settings.zone).date_naive()
    }
}

/// The listings of a line's fish on a day; where its name fits several fish, of each that it may be.
fn listings_of(line: &Line, today: NaiveDate) -> Vec<species::Listing> {
    if let Some(listing) = line.scientific.as_deref().and_then(|name| species::cites(name, today)) {
        return vec![listing];
    }
    match species::resolve(&line.species, line.scientific.as_deref()) {
        Match::Several(among) => {
            let binomials = among.iter().flat_map(|one| &one.binomials);
            let maybe = |listing| species::Listing { fit: Fit::Possible, ..listing };
            binomials.filter_map(|name| species::cites(name, today)).map(maybe).collect()
        }
        Match::One(found) => found.binomials.iter().find_map(|name| species::cites(name, today)).into_iter().collect(),
        Match::None => Vec::new(),
    }
}

/// What was recorded, and on lines of their own what must be known of it.
fn warned(recorded: &str, warnings: &[String]) -> String {
    std::iter::once(recorded).chain(warnings.iter().map(String::as_str)).collect::<Vec<_>>().join("\n")
}

/// The list's lines by box.
pub(super) fn boxes_of(list: &PackingList) -> BTreeMap<u32, Vec<ListLine>> {
    let mut boxes: BTreeMap<u32, Vec<ListLine>> = BTreeMap::new();
    for line in &list.lines {
        boxes.entry(line.number.unwrap_or(NO_BOX)).or_default().push(line.clone());
    }
    boxes
}

/// One list line for each kind of fish, size and price, in the order of the list.
pub(super) fn kinds_of(list: &PackingList) -> Vec<ListLine> {
    let mut kinds: Vec<ListLine> = Vec::new();
    for line in &list.lines {
        if !kinds.iter().any(|kind| same_kind(kind, line)) {
            kinds.push(line.clone());
        }
    }
    kinds
}

pub(super) fn same_kind(one: &ListLine, other: &ListLine) -> bool {
    one.species == other.species
        && one.scientific == other.scientific
        && one.size == other.size
        && one.unit_price == other.unit_price
}

/// What a box holds: rows of the same kind without a bag number are one content. `numbers` are the lines of the kinds.
pub(super) fn contents_of(lines: &[ListLine], kinds: &[ListLine], numbers: &[u32]) -> Vec<Content> {
    let mut contents: Vec<Content> = Vec::new();
    for row in lines {
        let index = kinds.iter().position(|kind| same_kind(kind, row)).unwrap_or(0);
        let line = numbers.get(index).copied().unwrap_or(1);
        let found = contents.iter_mut().find(|content| content.line == line && content.bag == row.bag);
        match found {
            Some(content) => {
                content.fish += row.qty;
                content.free += row.bonus;
                content.bags = match (content.bags, row.bags, row.bag) {
                    (_, _, Some(_)) => content.bags,
                    (one, other, None) => Some(one.unwrap_or(1) + other.unwrap_or(1)),
                };
            }
            None => contents.push(Content { line, bag: row.bag, bags: row.bags, fish: row.qty, free: row.bonus }),
        }
    }
    contents
}

/// Bags of a line, one where it does not say.
pub(super) fn bags_of(line: &ListLine) -> u32 {
    line.bags.or(line.bag.map(|_| 1)).unwrap_or(1)
}
