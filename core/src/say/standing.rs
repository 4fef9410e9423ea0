//! Standing clauses: what is open after something was recorded.

use rust_decimal::Decimal;

use super::import::thousands;
use super::{place, time};
use crate::consignment::{Census, Standing};
use crate::message::{Place, VesselKind, Water};
use crate::people::Role;
use crate::quantity::Measure;
use crate::settings::AmmoniaBasis;
use crate::stock::Held;
use crate::watch::Condition;

/// The name under which fish stand that were in the house before.
pub const OLD_STOCK: &str = "old stock";

/// One line of what is in a box or bag.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Contents {
    /// The fish.
    pub species: String,
    /// How many.
    pub fish: u32,
    /// In how many bags, where known.
    pub bags: Option<u32>,
}

/// What is in a box or bag, per the list: "40 neon tetra in 2 bags".
pub fn contents(list: &[Contents]) -> String {
    let parts: Vec<String> = list
        .iter()
        .map(|line| match line.bags {
            Some(1) => format!("{} {} in 1 bag", line.fish, line.species),
            Some(bags) => format!("{} {} in {bags} bags", line.fish, line.species),
            None => format!("{} {}", line.fish, line.species),
        })
        .collect();
    parts.join(", ")
}

/// A box was opened.
pub fn opened(inside: &[Contents]) -> String {
    if inside.is_empty() { String::new() } else { format!("list says {}", contents(inside)) }
}

/// A bag was opened, and perhaps given its number.
pub fn opened_bag(inside: &[Contents], given: Option<u32>) -> String {
    let list = opened(inside);
    if given.is_some() { super::join(&[&list, "pen the number on it"]) } else { list }
}

/// A bag got its number.
pub fn pen(name: &str) -> String {
    format!("pen {name} on it")
}

/// A consignment that was announced, as taken back.
pub fn deed_announced(supplier: &str) -> String {
    format!("the consignment from {supplier}")
}

/// What a census says and leaves open.
#[derive(Debug, Clone, PartialEq)]
pub struct CensusLine {
    /// The fish, where the box holds several.
    pub species: Option<String>,
    /// The census.
    pub census: Census,
    /// Fish of it still in the bag.
    pub left: Held,
    /// The bag's name, where it got its number now.
    pub pen: Option<String>,
    /// Fish that came instead, with their number.
    pub other: Vec<(String, u32)>,
}

/// "40 of 40, balanced": what is known of a bag.
pub fn census(line: &CensusLine) -> String {
    let census = &line.census;
    let mut parts = Vec::new();
    if let Some(species) = &line.species {
        parts.push(species.clone());
    }
    let told = census.told();
    let room = census.room();
    if told >= room {
        parts.push(if told == room { format!("{told} of {room}, balanced") } else { format!("{told} seen of {room}") });
    } else if census.living().is_some() || census.wrong > 0 {
        parts.push(format!("{told} of {room}, {} to find", room - told));
    } else {
        let weak = census.weak.unwrap_or(0);
        let known = [(census.dead, "dead"), (weak, "weak"), (census.culled, "culled"), (census.missing, "short")];
        let known: Vec<String> =
            known.iter().filter(|(fish, _)| *fish > 0).map(|(fish, word)| format!("{fish} {word}")).collect();
        let known = if known.is_empty() { "none found dead".to_owned() } else { known.join(", ") };
        parts.push(format!("{known} of {room}, the rest not counted"));
    }
    if census.living().is_some() || census.wrong > 0 || told >= room {
        let lost = [(census.dead, "DOA"), (census.culled, "culled"), (census.missing, "short")];
        parts.extend(lost.iter().filter(|(fish, _)| *fish > 0).map(|(fish, word)| format!("{fish} {word}")));
    }
    if census.uneven > 0 {
        parts.push(format!("{} over its share, the other bags have fewer", census.uneven));
    }
    if census.extra > 0 {
        parts.push(format!("{} extra", census.extra));
    }
    if census.wrong > 0 {
        parts.push(format!("{} wrong fish", census.wrong));
    }
    for (name, fish) in &line.other {
        parts.push(format!("{fish} {name} booked instead"));
    }
    if let Some(name) = &line.pen {
        parts.push(pen(name));
    }
    parts.join(", ")
}

/// A finished box.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BoxDone {
    /// The box.
    pub name: String,
    /// Minutes it took, where its opening is known.
    pub minutes: Option<i64>,
    /// Fish listed in it.
    pub listed: u32,
    /// Dead in it.
    pub died: u32,
    /// Short in it.
    pub short: u32,
    /// Living fish still in its bags.
    pub left: u32,
    /// Living fish of the consignment.
    pub living: u32,
    /// Fish listed in the consignment.
    pub night_listed: u32,
    /// Boxes still to do.
    pub boxes_to_go: usize,
}

/// The running line after each finished box.
pub fn box_done(done: &BoxDone) -> String {
    let taken = done.minutes.map(|minutes| format!(" in {}", time::length(minutes))).unwrap_or_default();
    let mut box_parts = vec![format!("{} DOA of {} fish", done.died, done.listed)];
    if done.short > 0 {
        box_parts.push(format!("{} short", done.short));
    }
    if done.left > 0 {
        box_parts.push(format!("{} alive still in it", done.left));
    }
    let to_go = match done.boxes_to_go {
        0 => "last box done".to_owned(),
        count => super::to_go(count),
    };
    format!(
        "box {} done{taken}: {}. So far {} counted alive of {} listed, {to_go}",
        done.name,
        box_parts.join(", "),
        thousands(done.living.into()),
        thousands(done.night_listed.into())
    )
}

/// One group of fish in a tank or tray.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GroupLine {
    /// The fish.
    pub species: String,
    /// Living ones.
    pub living: u32,
    /// Of them, never counted.
    pub presumed: u32,
    /// Of them, free for sale.
    pub cleared: u32,
    /// Of them, promised.
    pub reserved: u32,
    /// Died here.
    pub daa: u32,
    /// The lot.
    pub lot: Option<u32>,
}

/// How a tank or tray stands.
pub fn vessel(at: &Place, groups: &[GroupLine]) -> String {
    if groups.is_empty() {
        return format!("{} is empty", place::name(at));
    }
    let parts: Vec<String> = groups.iter().map(group).collect();
    format!("{} holds {}", place::name(at), parts.join(", "))
}

fn group(line: &GroupLine) -> String {
    let mut facts = Vec::new();
    if let Some(lot) = line.lot {
        facts.push(format!("lot {lot}"));
    }
    if line.presumed > 0 {
        facts.push(format!("{} not counted", line.presumed));
    }
    if line.cleared > 0 {
        facts.push(format!("{} cleared", line.cleared));
    }
    if line.reserved > 0 {
        facts.push(format!("{} reserved", line.reserved));
    }
    if line.daa > 0 {
        facts.push(format!("{} DAA", line.daa));
    }
    let facts = if facts.is_empty() { String::new() } else { format!(" ({})", facts.join(", ")) };
    match line.living {
        0 => format!("no living {}{facts}", line.species),
        living => format!("{living} {}{facts}", line.species),
    }
}

/// Deaths were said of a tank or tray that has no fish in the books.
pub fn no_fish_booked(at: &Place) -> String {
    format!("kept in the log: the books have no fish in {}", place::name(at))
}

/// More dead were found than the books had living fish.
pub fn more_dead_than_booked(count: u32) -> String {
    format!("{count} more dead than the books had living there: kept in the log, in no account")
}

/// A count beyond the books was a slip.
pub fn not_recorded_count_again(at: &Place) -> String {
    format!("Nothing recorded of {}. Count again and tell me.", place::name(at))
}

/// A reservation was sent twice by mistake.
pub fn not_again() -> String {
    "Then it stays as it was, reserved once.".to_owned()
}

/// What was said long ago stands.
pub fn nothing_taken_back() -> String {
    "Nothing taken back.".to_owned()
}

/// Old stock was booked.
pub fn old_stock(lot: u32) -> String {
    format!("booked as old stock, lot {lot}, never claimed")
}

/// What a move did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MovedLine {
    /// How many.
    pub moved: u32,
    /// Of them, never counted.
    pub presumed: u32,
    /// How the box they came from stands.
    pub placed: Option<String>,
    /// How the destination stands.
    pub there: Option<String>,
    /// Cleared fish of the destination that are on hold again.
    pub stopped: u32,
}

/// "not counted yet; box 7: 36 of 40 placed, 4 DOA, balanced". How many moved stands in the recorded clause.
pub fn moved(line: &MovedLine) -> String {
    let mut parts = match line.presumed {
        0 => Vec::new(),
        some if some == line.moved => vec!["not counted yet".to_owned()],
        some => vec![format!("{some} of them not counted yet")],
    };
    if line.stopped > 0 {
        parts.push(format!("{} cleared there are on hold again", line.stopped));
    }
    parts.extend(line.placed.clone());
    parts.extend(line.there.clone());
    parts.join("; ")
}

/// How much of a box has been placed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlacedLine {
    /// The box.
    pub name: String,
    /// Fish in trays, tanks or beyond.
    pub placed: u32,
    /// Fish it had.
    pub of: u32,
    /// Dead in it.
    pub doa: u32,
    /// Short.
    pub short: u32,
    /// Something else instead.
    pub wrong: u32,
    /// Killed by the crew.
    pub culled: u32,
    /// Still in it.
    pub left: u32,
}

/// "box 7: 36 of 40 placed, 4 DOA, balanced".
pub fn placed(line: &PlacedLine) -> String {
    let mut parts = vec![format!("{} of {} placed", line.placed, line.of)];
    for (fish, word) in [(line.doa, "DOA"), (line.short, "short"), (line.wrong, "wrong"), (line.culled, "culled")] {
        if fish > 0 {
            parts.push(format!("{fish} {word}"));
        }
    }
    parts.push(if line.left == 0 { "balanced".to_owned() } else { format!("{} still in the box", line.left) });
    format!("box {}: {}", line.name, parts.join(", "))
}

/// Fish are held.
pub fn held(vessel: &str, until: Option<&str>, stopped: u32) -> String {
    let end =
        until.map_or_else(|| "on hold until a lead clears them".to_owned(), |until| format!("on hold until {until}"));
    let offers = if stopped > 0 { format!("{stopped} no longer for sale") } else { String::new() };
    super::join(&[vessel, &end, &offers])
}

/// One condition of the release policy with its fact.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ConditionLine {
    /// Whether it is met.
    pub met: bool,
    /// In words, with its fact.
    pub words: String,
}

/// Fish are cleared: each condition with its fact.
pub fn cleared(conditions: &[ConditionLine], past_policy: bool) -> String {
    let words: Vec<String> = conditions
        .iter()
        .map(|line| if line.met { line.words.clone() } else { format!("not met: {}", line.words) })
        .collect();
    let head = if past_policy { "cleared for sale past the policy, your reason is kept" } else { "cleared for sale" };
    if words.is_empty() { head.to_owned() } else { format!("{head} ({})", words.join("; ")) }
}

/// Fish are promised.
pub fn reserved(species: &str, left: u32) -> String {
    match left {
        0 => format!("no {species} left free"),
        left => format!("{left} {species} still free"),
    }
}

/// Fish left.
pub fn shipped(count: u32, buyer: &str, vessel: &str) -> String {
    format!("{count} fish gone to {buyer}; {vessel}")
}

/// A box was passed on unopened.
pub fn passed_on(count: u32, buyer: &str, to_go: usize) -> String {
    format!("passed on unopened to {buyer}, {count} fish as listed, {}", super::to_go(to_go))
}

/// The basis of an ammonia reading; where the site never set it, it is taken as N, and asked about once.
pub fn water(water: &Water, basis: Option<AmmoniaBasis>, ask: bool) -> String {
    if !water.values.contains_key(&Measure::TanMgL) {
        return String::new();
    }
    match basis {
        Some(AmmoniaBasis::Nitrogen) => "ammonia as N".to_owned(),
        Some(AmmoniaBasis::Ammonia) => "ammonia as NH3".to_owned(),
        None if ask => "ammonia taken as N. Does your kit say N or NH3? Set kit.ammonia".to_owned(),
        None => "ammonia taken as N".to_owned(),
    }
}

/// A stage was said before any list came.
pub fn no_list_yet() -> String {
    "kept; no packing list of it here yet".to_owned()
}

/// A consignment moved on.
pub fn arrived(supplier: &str, hours: Option<i64>, boxes: usize) -> String {
    let boxes = super::to_go(boxes);
    let bagged = hours.map(|hours| format!("{hours} h in the bag")).unwrap_or_default();
    super::join(&[supplier, &boxes, &bagged])
}

/// Vessels were declared.
pub fn declared(count: usize, kind: VesselKind, all: usize) -> String {
    let (one, many) = match kind {
        VesselKind::Tank => ("tank", "tanks"),
        VesselKind::Tray => ("tray", "trays"),
        VesselKind::Tub => ("tub", "tubs"),
        VesselKind::Sump => ("sump", "sumps"),
        VesselKind::Tap => ("tap", "taps"),
    };
    let all_of_them = super::counted(u64::try_from(all).unwrap_or(u64::MAX), one, many);
    if count == all { format!("{all_of_them} here") } else { format!("{all_of_them} here now") }
}

/// A tank or tray was added after the question.
pub fn added(at: &Place) -> String {
    format!("{} added", place::name(at))
}

/// A message was taken back.
pub fn undone(what: &str) -> String {
    if what.is_empty() { "taken back".to_owned() } else { format!("taken back: {what}") }
}

/// What somebody else said was taken back.
pub fn undone_of(person: &str, what: &str) -> String {
    if what.is_empty() { format!("taken back for {person}") } else { format!("taken back for {person}: {what}") }
}

/// What is named when an import is taken back.
pub fn deed_import(supplier: &str) -> String {
    format!("the import of {supplier}")
}

/// What is named when what was said of a supplier's columns is taken back.
pub fn deed_columns(supplier: &str) -> String {
    format!("what was said of the columns of {supplier}")
}

/// What is named when a corrected list is taken back.
pub fn deed_correction(supplier: &str) -> String {
    format!("the corrected list of {supplier}")
}

/// What is named when an order about a person is taken back.
pub fn deed_person(name: &str) -> String {
    format!("{name}'s enrolment")
}

/// What is named when an order about a buyer is taken back.
pub fn deed_buyer(name: &str) -> String {
    format!("buyer {name}")
}

/// What is named when an answer to a question is taken back.
pub fn deed_answer() -> String {
    "the last answer".to_owned()
}

/// What is named when an order about a box is taken back.
pub fn deed_box(name: &str) -> String {
    format!("what became of box {name}")
}

/// A correction or an edit could not be taken.
pub fn first_stands() -> String {
    "What was recorded before stands.".to_owned()
}

/// An order waited for the supplier's name.
pub fn say_it_again(supplier: &str) -> String {
    format!("{supplier}, then. Say it again, please.")
}

/// An answer came to a question that no longer stands.
pub fn settled() -> String {
    "That question is settled already.".to_owned()
}

/// Extra fish were booked after the question.
pub fn extra_booked(pack: &str, count: u32) -> String {
    format!("{pack} {count} extra")
}

/// One bag of a box was counted after the box was counted as a whole.
pub fn whole_forgotten(number: u32) -> String {
    format!("The count of box {number} as a whole no longer stands: count its other bags too.")
}

/// The person miscounted.
pub fn count_again(pack: &str) -> String {
    format!("Then count {pack} again and tell me; the first count stands until you do.")
}

/// Uncounted fish of a finished box are short.
pub fn short_booked(name: &str, count: u32) -> String {
    format!("box {name} {count} short")
}

/// Uncounted fish of a finished box are there.
pub fn as_listed(name: &str, count: u32) -> String {
    format!("box {name} {count} alive, as listed")
}

/// A box stays open.
pub fn still_open(name: &str) -> String {
    format!("Box {name} stays open.")
}

/// Nothing was written.
pub fn nothing_recorded() -> String {
    "Nothing recorded.".to_owned()
}

/// Deaths of which nobody knows the fish.
pub fn undetermined(clause: &str) -> String {
    format!("{clause}, not known of which fish, in no claim")
}

/// A stock-take was not booked.
pub fn books_stand(vessel: &str) -> String {
    format!("The books stand: {vessel}.")
}

/// A stock-take was booked.
pub fn stock_take_booked(count: u32, more: bool) -> String {
    if more { format!("{count} extra booked") } else { format!("{count} booked as unaccounted") }
}

/// What became of a box.
pub fn box_standing(name: &str, standing: &Standing) -> String {
    match standing {
        Standing::Expected => format!("box {name} is here"),
        Standing::Late => format!("box {name} is late"),
        Standing::Lost => format!("box {name} is lost"),
        Standing::PassedOn(buyer) => format!("box {name} passed on to {buyer}"),
    }
}

/// What that means for its fish.
pub fn box_standing_fish(standing: &Standing, fish: u32, to_go: usize) -> String {
    let meaning = match standing {
        Standing::Expected => format!("{fish} fish expected in it"),
        Standing::Late => format!("{fish} fish late, not short unless a lead says lost"),
        Standing::Lost => format!("{fish} fish short"),
        Standing::PassedOn(_) => format!("{fish} fish"),
    };
    format!("{meaning}, {}", super::to_go(to_go))
}

/// A buyer's firm is known.
pub fn buyer_known(name: &str) -> String {
    format!("buyer {name} is known. Enrol its person: enrol NAME for {name}")
}

/// A person is enrolled.
pub fn enrolled(name: &str, role: Role, buyer: Option<&str>) -> String {
    match buyer {
        Some(buyer) => format!("{name} buys for {buyer}"),
        None => format!("{name} is enrolled as {}", role.name()),
    }
}

/// A person lost access.
pub fn removed(name: &str) -> String {
    format!("{name} is no longer enrolled")
}

/// A lot has a price.
pub fn priced(lot: u32, species: &str, price: Decimal, currency: &str) -> String {
    format!("lot {lot} {species} {price} {currency} each")
}

/// A box is opened first.
pub fn pinned(name: &str) -> String {
    format!("box {name} is first")
}

/// When the next look is.
pub fn next_look(at: &str, late: Option<i64>) -> String {
    super::join(&[&self::late(late), &format!("next look {at}")])
}

fn late(minutes: Option<i64>) -> String {
    minutes.map(|minutes| format!("{} late", time::length(minutes))).unwrap_or_default()
}

/// A person asked to be reminded, perhaps in a message that was the late answer to a look.
pub fn will_remind(at: &str, late: Option<i64>) -> String {
    super::join(&[&self::late(late), &format!("I'll ask at {at}")])
}

/// How fish are, in one word of the trade.
pub fn condition_word(condition: Condition) -> &'static str {
    match condition {
        Condition::Strong => "strong",
        Condition::Fair => "fair",
        Condition::Weak => "weak",
        Condition::VeryWeak => "very weak",
    }
}

/// A reading with its time.
pub fn read_at(at: &str, clause: &str) -> String {
    format!("{at} {clause}")
}

/// A photo as a log entry.
pub fn photo(path: &str) -> String {
    format!("photo {path}")
}

/// A photo was kept.
pub fn photo_kept(at: Option<&Place>) -> String {
    match at {
        Some(at) => format!("photo of {} kept", place::name(at)),
        None => "photo kept, no place named".to_owned(),
    }
}
