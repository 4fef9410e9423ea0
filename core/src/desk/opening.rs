//! Opening boxes and bags, and finishing boxes.

use chrono::{DateTime, Utc};

use super::draft::{Done, Draft, Query, Stop};
use super::place::{Where, choices};
use super::refusal::Refusal;
use crate::consignment::{BagRecord, BoxKey, Census, ConsignmentNo, LineKey, Pack, Standing};
use crate::journal::{Event, Matter};
use crate::message::{Place, Said};
use crate::people::Power;
use crate::say;
use crate::stock::{Account, Certainty};

impl Draft<'_> {
    /// A box or bag is opened.
    pub(super) fn open(&mut self, place: &Place, act: &Said, at: DateTime<Utc>) -> Result<Done, Stop> {
        self.require(Power::OpenBoxes)?;
        match self.find(place, act)? {
            Where::Box(of) => {
                let expected = self.expected_on_opening(of, at);
                self.open_box(of, at)?;
                if self.is_unlisted(of) {
                    return Ok(Done::standing(say::unlisted::opened(of.number, self.awaits_list(of))));
                }
                Ok(Done::standing(say::join(&[&say::standing::opened(&self.contents_in_words(of)), &expected])))
            }
            Where::Bag(pack) => {
                self.open_box(pack.of, at)?;
                // In a mixed box nobody knows yet which fish the bag holds: the first count says so.
                let number = match self.bag_met(pack, act, at) {
                    Ok(number) => number,
                    Err(Stop::Asked(_)) => pack.bag,
                    Err(refused) => return Err(refused),
                };
                Ok(Done::standing(say::standing::opened_bag(&self.pack_in_words(pack), number)))
            }
            _ => Err(Refusal::WrongKindOfPlace { at: place.clone(), wanted: "a box or a bag" }.into()),
        }
    }

    /// What to expect of a box that is opened now, where it is worth a word: the first of its consignment stands for the
    /// others, and a bag whose oxygen may be spent is said of each.
    fn expected_on_opening(&self, of: BoxKey, at: DateTime<Utc>) -> String {
        let opened = |of: BoxKey| self.state.boxes.get(&of).is_none_or(|record| record.opened.is_some());
        if opened(of) {
            return String::new();
        }
        let Some(expected) = self.forecast_of_box(of, &self.learned(of.consignment), at) else { return String::new() };
        let nh3 = expected.forecast.nh3_opened;
        let first = !self.state.boxes_of(of.consignment).any(|(_, record)| record.opened.is_some());
        let worth = first && nh3.high > self.settings.alarm.nh3_acute.get();
        say::order::on_opening(worth.then_some(nh3), expected.forecast.oxygen_spent)
    }

    /// Marks a box opened, if it was not. A box that was late is here now.
    pub(super) fn open_box(&mut self, of: BoxKey, at: DateTime<Utc>) -> Result<(), Stop> {
        self.must_be_here(of)?;
        let Some(record) = self.state.boxes.get(&of) else {
            return Err(Refusal::NoSuchBox { number: of.number }.into());
        };
        if record.opened.is_none() || record.standing == Standing::Late {
            let mut record = record.clone();
            record.opened = record.opened.or(Some(at));
            record.standing = Standing::Expected;
            self.emit(Event::BoxSet { key: of, to: Some(record) });
        }
        Ok(())
    }

    /// Makes sure that a bag has its number and its share of the box's fish. Returns the number where it was given now.
    ///
    /// A bag without a number on the list gets the next share of its line: what is left of the line in the box, evenly
    /// over the bags that have no number yet.
    pub(super) fn bag_in_use(
        &mut self,
        pack: Pack,
        species: Option<&str>,
        act: &Said,
        at: DateTime<Utc>,
    ) -> Result<Option<u32>, Stop> {
        if self.state.bags.contains_key(&pack) {
            return Ok(None);
        }
        let listed = self.state.books.lines_in(&Account::Packed(pack));
        if !listed.is_empty() {
            let census = listed
                .iter()
                .map(|(line, held)| (line.line, Census { expected: held.total(), ..Census::default() }))
                .collect();
            self.emit(Event::BagSet { key: pack, to: Some(BagRecord { opened: Some(at), census }) });
            return Ok(None);
        }
        let line = self.line_of_new_bag(pack, species, act)?;
        let share = self.share_of_new_bag(pack.of, line);
        let census = [(line, Census { expected: share, ..Census::default() })].into();
        self.emit(Event::BagSet { key: pack, to: Some(BagRecord { opened: Some(at), census }) });
        self.take_share(pack, line, share);
        Ok(pack.bag)
    }

    /// A bag is met without being counted: it gets its number, unless its box was counted as a whole.
    pub(super) fn bag_met(&mut self, pack: Pack, act: &Said, at: DateTime<Utc>) -> Result<Option<u32>, Stop> {
        if self.is_counted_whole(pack.of) { Ok(None) } else { self.bag_in_use(pack, None, act, at) }
    }

    /// Which line the fish of a bag without a number are of.
    fn line_of_new_bag(&self, pack: Pack, species: Option<&str>, act: &Said) -> Result<u32, Stop> {
        let mut lines = self.lines_without_number(pack.of);
        if lines.is_empty() {
            // More bags than the list says: the crew holds one in its hands, so it is one of the box's fish.
            lines = self.lines_of_box(pack.of);
        }
        if let Some(species) = species {
            let named: Vec<u32> =
                lines.iter().copied().filter(|line| self.is_named(self.key(pack.of, *line), species)).collect();
            if named.is_empty() {
                let at = Some(Place::Box { number: pack.of.number });
                return Err(Refusal::NoSuchFish { at, species: species.to_owned() }.into());
            }
            lines = named;
        }
        match lines.as_slice() {
            [] => Err(Refusal::NoSuchBox { number: pack.of.number }.into()),
            [one] => Ok(*one),
            several => {
                let among: Vec<String> =
                    several.iter().map(|line| self.line_in_words(self.key(pack.of, *line))).collect();
                let place = Place::Bag { number: pack.of.number, bag: pack.bag.unwrap_or_default() };
                let text = say::question::which_fish(&place, &among);
                let choices = choices(&among);
                let matter = Matter::WhichLine { act: Box::new(act.clone()), among, or_undetermined: false };
                Err(Query::choice(text, matter, choices).into())
            }
        }
    }

    /// Lines of the box that still have bags without a number.
    pub(super) fn lines_without_number(&self, of: BoxKey) -> Vec<u32> {
        let Some(record) = self.state.boxes.get(&of) else { return Vec::new() };
        let mut lines: Vec<u32> = record
            .contents
            .iter()
            .filter(|content| content.bag.is_none())
            .filter(|content| content.bags.is_none_or(|bags| bags > self.numbered(of, content.line)))
            .map(|content| content.line)
            .collect();
        lines.dedup();
        lines
    }

    /// Bags of a line in a box that have a number already.
    fn numbered(&self, of: BoxKey, line: u32) -> u32 {
        let bags = self
            .state
            .packs_of(of)
            .into_iter()
            .filter(|pack| pack.bag.is_some())
            .filter(|pack| self.state.bags.get(pack).is_some_and(|bag| bag.census.contains_key(&line)))
            .count();
        u32::try_from(bags).unwrap_or(u32::MAX)
    }

    /// The fish presumed in the next bag of a line that gets a number: of what the list says, also where uncounted fish
    /// were moved on already.
    pub(super) fn share_of_new_bag(&self, of: BoxKey, line: u32) -> u32 {
        let Some(record) = self.state.boxes.get(&of) else { return 0 };
        let unnumbered = record.contents.iter().filter(|content| content.line == line && content.bag.is_none());
        let listed: u32 = unnumbered.clone().map(|content| content.fish).sum();
        let numbered_on_list = |pack: &Pack| record.contents.iter().any(|content| content.bag == pack.bag);
        let given: u32 = self
            .state
            .packs_of(of)
            .into_iter()
            .filter(|pack| pack.bag.is_some() && !numbered_on_list(pack))
            .filter_map(|pack| self.state.bags.get(&pack)?.census.get(&line).map(|census| census.expected))
            .sum();
        let left = listed.saturating_sub(given);
        match unnumbered.clone().find_map(|content| content.bags) {
            Some(bags) => left.div_ceil(bags.saturating_sub(self.numbered(of, line)).max(1)),
            // How many bags there are is not known: the first is presumed to hold all, and what a counted one leaves
            // over is presumed in the next.
            None => left + self.left_over(of, line).iter().map(|(_, fish)| fish).sum::<u32>(),
        }
    }

    /// What counted bags of the line hold beyond their count.
    fn left_over(&self, of: BoxKey, line: u32) -> Vec<(Pack, u32)> {
        let key = self.key(of, line);
        self.state
            .packs_of(of)
            .into_iter()
            .filter(|pack| pack.bag.is_some())
            .filter(|pack| {
                let census = self.state.bags.get(pack).and_then(|bag| bag.census.get(&line));
                census.is_some_and(|census| census.living().is_some())
            })
            .map(|pack| (pack, self.state.books.held(&Account::Packed(pack), key).presumed))
            .filter(|(_, fish)| *fish > 0)
            .collect()
    }

    fn take_share(&mut self, pack: Pack, line: u32, share: u32) {
        let key = self.key(pack.of, line);
        let to = Account::Packed(pack);
        let mut wanted = self.transfer_some(key, &Account::Packed(pack.of.loose()), &to, share, Certainty::Presumed);
        self.expect_fewer(pack.of.loose(), line, share - wanted);
        for (from, fish) in self.left_over(pack.of, line) {
            let taken = wanted.min(fish);
            if from == pack || taken == 0 {
                continue;
            }
            self.transfer(key, Account::Packed(from).presumed(), to.clone().presumed(), taken);
            self.expect_fewer(from, line, taken);
            wanted -= taken;
        }
    }

    pub(super) fn expect_fewer(&mut self, pack: Pack, line: u32, fish: u32) {
        if let Some(mut bag) = self.state.bags.get(&pack).cloned() {
            if let Some(census) = bag.census.get_mut(&line) {
                census.expected = census.expected.saturating_sub(fish);
                census.take_living(census.told().saturating_sub(census.room()));
            }
            self.emit(Event::BagSet { key: pack, to: Some(bag) });
        }
    }

    /// The lines of a box, in the list's order.
    pub(super) fn lines_of_box(&self, of: BoxKey) -> Vec<u32> {
        let mut lines: Vec<u32> = self
            .state
            .boxes
            .get(&of)
            .map(|record| record.contents.iter().map(|content| content.line).collect())
            .unwrap_or_default();
        lines.sort_unstable();
        lines.dedup();
        lines
    }

    /// The key of a line of the box's consignment.
    pub(super) fn key(&self, of: BoxKey, line: u32) -> LineKey {
        LineKey { consignment: of.consignment, line }
    }

    /// A line as a person would name it: the fish, with its size where another line of the consignment has the same fish.
    pub(super) fn line_in_words(&self, key: LineKey) -> String {
        let species = self.state.species(key);
        let twins = self
            .state
            .consignments
            .get(&key.consignment)
            .map_or(0, |consignment| consignment.lines.iter().filter(|line| line.species == species).count());
        match self.state.line(key).and_then(|line| line.size.clone()) {
            Some(size) if twins > 1 => format!("{species} {size}"),
            _ => species,
        }
    }

    /// Whether a line is what a person means by a name, with or without the size.
    pub(super) fn is_named(&self, key: LineKey, species: &str) -> bool {
        self.state.species(key) == species || self.line_in_words(key) == species
    }

    /// What lies in a box: fish by line, with the bags where they are known.
    pub(super) fn contents_in_words(&self, of: BoxKey) -> Vec<say::standing::Contents> {
        let Some(record) = self.state.boxes.get(&of) else { return Vec::new() };
        let mut found: Vec<say::standing::Contents> = Vec::new();
        for content in &record.contents {
            let species = self.line_in_words(self.key(of, content.line));
            let bags = content.bags.or(content.bag.map(|_| 1));
            match found.iter_mut().find(|other| other.species == species) {
                Some(other) => {
                    other.fish += content.fish;
                    other.bags = other.bags.zip(bags).map(|(some, more)| some + more);
                }
                None => found.push(say::standing::Contents { species, fish: content.fish, bags }),
            }
        }
        found
    }

    fn pack_in_words(&self, pack: Pack) -> Vec<say::standing::Contents> {
        self.state
            .books
            .lines_in(&Account::Packed(pack))
            .into_iter()
            .map(|(line, held)| say::standing::Contents {
                species: self.line_in_words(line),
                fish: held.total(),
                bags: None,
            })
            .collect()
    }

    /// A box is finished: what nobody counted is asked about first.
    pub(super) fn done(&mut self, place: &Place, act: &Said, at: DateTime<Utc>) -> Result<Done, Stop> {
        self.require(Power::OpenBoxes)?;
        let of = match self.find(place, act)? {
            Where::Box(of) => of,
            Where::Bag(pack) => pack.of,
            _ => return Err(Refusal::WrongKindOfPlace { at: place.clone(), wanted: "a box" }.into()),
        };
        self.open_box(of, at)?;
        let uncounted: Vec<(String, u32)> = self
            .state
            .left_in_box(of)
            .into_iter()
            .filter(|(_, held)| held.presumed > 0)
            .map(|((pack, line), held)| (say::place::pack(pack, Some(&self.line_in_words(line))), held.presumed))
            .collect();
        if !uncounted.is_empty() {
            return Err(Query::choice(
                say::question::left_in_box(of.number, &uncounted),
                Matter::Left { of },
                say::question::left_choices(),
            )
            .into());
        }
        Ok(Done { recorded: Some(String::new()), standing: self.finish_box(of, at), ask: None })
    }

    /// Marks a box finished and says how the night stands. The consignment is finished with its last box.
    pub(super) fn finish_box(&mut self, of: BoxKey, at: DateTime<Utc>) -> String {
        let mut minutes = None;
        if let Some(mut record) = self.state.boxes.get(&of).cloned() {
            minutes = record.opened.map(|opened| (at - opened).num_minutes().max(0));
            record.finished = Some(at);
            self.emit(Event::BoxSet { key: of, to: Some(record) });
        }
        self.settle_like(|matter| *matter == Matter::Left { of });
        self.finish_consignment(of, at);
        let box_listed: u32 =
            self.state.boxes.get(&of).map_or(0, |record| record.contents.iter().map(|content| content.fish).sum());
        let night = self.state.tally_consignment(of.consignment);
        if self.awaits_list(of) {
            let inside = self.state.tally_box(of);
            return say::unlisted::box_done(&say::unlisted::BoxDone {
                name: self.box_name(of),
                minutes,
                died: inside.doa,
                left: inside.packed,
                living: self.counted_living(of.consignment),
                boxes_to_go: self.state.boxes_to_go(of.consignment),
            });
        }
        say::standing::box_done(&say::standing::BoxDone {
            name: self.box_name(of),
            minutes,
            listed: box_listed,
            died: self.state.tally_box(of).doa,
            short: self.state.tally_box(of).short,
            left: self.state.tally_box(of).packed,
            living: self.counted_living(of.consignment),
            night_listed: night.listed,
            boxes_to_go: self.state.boxes_to_go(of.consignment),
        })
    }

    /// Living fish of a consignment that somebody counted, those that left again included.
    fn counted_living(&self, no: ConsignmentNo) -> u32 {
        let living = |account: &Account| {
            matches!(
                account,
                Account::Packed(_)
                    | Account::Tray(_)
                    | Account::Held(_)
                    | Account::Cleared(_)
                    | Account::Reserved(_)
                    | Account::Shipped(_)
            )
        };
        let counted = self.state.books.all().filter(|(purse, line, _)| {
            line.consignment == no && purse.certainty == Certainty::Counted && living(&purse.account)
        });
        counted.map(|(_, _, balance)| u32::try_from(balance).unwrap_or(0)).sum()
    }

    /// The box's number, with the supplier where another open consignment has the same.
    pub(super) fn box_name(&self, of: BoxKey) -> String {
        if self.state.is_doubled(of.number) {
            format!("{} {}", self.supplier(of.consignment), of.number)
        } else {
            of.number.to_string()
        }
    }

    /// A consignment is finished when none of its boxes is still to do or still to come.
    pub(super) fn finish_consignment(&mut self, of: BoxKey, at: DateTime<Utc>) {
        let mut open = self.state.boxes_of(of.consignment).any(|(_, record)| {
            record.finished.is_none() && matches!(record.standing, Standing::Expected | Standing::Late)
        });
        open |= self.state.boxes_to_go(of.consignment) > 0;
        // A consignment that was announced is open before its first box.
        let unlisted = self.state.consignments.get(&of.consignment).is_some_and(|it| it.unlisted);
        open |= unlisted && self.state.boxes_of(of.consignment).next().is_none();
        if let Some(mut consignment) = self.state.consignments.get(&of.consignment).cloned() {
            let finished = if open { None } else { consignment.finished.or(Some(at)) };
            if consignment.finished != finished {
                consignment.finished = finished;
                self.emit(Event::ConsignmentSet { no: of.consignment, to: Some(consignment) });
            }
        }
    }
}
