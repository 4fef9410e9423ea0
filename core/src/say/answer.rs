//! Answers to questions.

use super::import::thousands;
use super::{place, time};
use crate::journal::Tally;
use crate::message::Place;

/// A look that is due.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DueLine {
    /// Where.
    pub place: String,
    /// The fish.
    pub fish: String,
    /// When.
    pub at: String,
    /// Minutes it is overdue.
    pub overdue: Option<i64>,
}

/// What must be looked at and when.
pub fn due(lines: &[DueLine]) -> String {
    if lines.is_empty() {
        return "No look is due.".to_owned();
    }
    let mut groups: Vec<Vec<&DueLine>> = Vec::new();
    for line in lines {
        match groups.iter_mut().find(|group| (&group[0].at, group[0].overdue) == (&line.at, line.overdue)) {
            Some(group) => group.push(line),
            None => groups.push(vec![line]),
        }
    }
    let shown = if groups.len() > DUE_LINES { DUE_LINES - 1 } else { groups.len() };
    let mut words: Vec<String> = groups[..shown].iter().map(|group| due_together(group)).collect();
    if let Some(last) = groups[shown..].last() {
        let rest: usize = groups[shown..].iter().map(Vec::len).sum();
        let overdue = groups[shown..].iter().flatten().filter(|line| line.overdue.is_some()).count();
        let overdue = if overdue > 0 { format!(", {overdue} of them overdue") } else { String::new() };
        words.push(format!("and {rest} more looks{overdue}, the last at {}", last[0].at));
    }
    words.join("\n")
}

/// What is due stands in as many lines at most: more is not read at night.
const DUE_LINES: usize = 10;

/// Looks that are due at the same time; the fish are named where it is one place.
fn due_together(group: &[&DueLine]) -> String {
    let names: Vec<String> = group.iter().map(|line| line.place.clone()).collect();
    let fish = match group {
        [one] if !one.fish.is_empty() => format!(" ({})", one.fish),
        _ => String::new(),
    };
    let late = group[0].overdue.map(|minutes| format!(", {} overdue", time::length(minutes))).unwrap_or_default();
    format!("{} {}{fish}{late}", group[0].at, place::ranged(&names))
}

/// One consignment on the board.
#[derive(Debug, Clone, PartialEq)]
pub struct BoardLine {
    /// The supplier.
    pub supplier: String,
    /// Boxes finished or passed on.
    pub done: usize,
    /// Boxes in all.
    pub boxes: usize,
    /// Boxes on a later flight.
    pub late: usize,
    /// Whether its list is to come.
    pub unlisted: bool,
    /// Its fish.
    pub tally: Tally,
    /// Of its living fish, those that nobody has counted yet.
    pub uncounted: u32,
}

/// The whole night.
pub fn board(consignments: &[BoardLine], due: &[DueLine]) -> String {
    if consignments.is_empty() && due.is_empty() {
        return "Nothing is open. Send a packing list to begin.".to_owned();
    }
    let mut lines: Vec<String> = consignments.iter().map(board_line).collect();
    if let Some(next) = due.first() {
        lines.push(format!("Next look: {} at {}", next.place, next.at));
    }
    lines.join("\n")
}

fn board_line(line: &BoardLine) -> String {
    let tally = &line.tally;
    let late = if line.late > 0 { format!(", {} late", line.late) } else { String::new() };
    let mut parts = vec![
        format!("{}: {} of {} done{late}", line.supplier, line.done, super::in_boxes(line.boxes)),
        if line.unlisted {
            format!("list to come, {}", living(line))
        } else {
            format!("{} fish listed, {}", thousands(tally.listed.into()), living(line))
        },
    ];
    // Without a list nothing is beyond it.
    parts.extend(losses(&Tally { extra: if line.unlisted { 0 } else { tally.extra }, ..*tally }));
    if tally.passed_on > 0 {
        parts.push(format!("{} passed on unopened", thousands(tally.passed_on.into())));
    }
    if tally.cleared + tally.reserved + tally.shipped > 0 {
        parts.push(format!("{} cleared, {} reserved, {} shipped", tally.cleared, tally.reserved, tally.shipped));
    }
    parts.join("; ")
}

/// Living fish that somebody counted, those of which only the list tells, and how many were placed.
fn living(line: &BoardLine) -> String {
    let counted = line.tally.living().saturating_sub(line.uncounted);
    let mut parts = vec![format!("{} counted alive", thousands(counted.into()))];
    if line.uncounted > 0 {
        parts.push(format!("{} not counted yet", thousands(line.uncounted.into())));
    }
    parts.push(format!("{} placed", thousands(line.tally.placed().into())));
    parts.join(", ")
}

/// What was lost, in the trade's words; never merged.
pub fn losses(tally: &Tally) -> Option<String> {
    let words: Vec<String> = [
        (tally.doa, "DOA"),
        (tally.daa, "DAA"),
        (tally.short, "short"),
        (tally.wrong, "wrong"),
        (tally.culled, "culled"),
        (tally.unaccounted, "unaccounted"),
        (tally.extra, "extra"),
    ]
    .iter()
    .filter(|(fish, _)| *fish > 0)
    .map(|(fish, word)| format!("{fish} {word}"))
    .collect();
    (!words.is_empty()).then(|| words.join(", "))
}

/// How many died so far.
pub fn deaths(lines: &[(String, Tally)]) -> String {
    if lines.is_empty() {
        return "No consignment with such fish in the books.".to_owned();
    }
    let words: Vec<String> = lines
        .iter()
        .map(|(name, tally)| format!("{name}: {} DOA, {} DAA of {} fish listed", tally.doa, tally.daa, tally.listed))
        .collect();
    words.join("\n")
}

/// One box of the opening order, with why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OrderLine {
    /// The box.
    pub name: String,
    /// What is in it.
    pub fish: String,
    /// Why it stands here.
    pub why: Vec<String>,
}

/// Which box next, and what was assumed of them.
pub fn order(lines: &[OrderLine], assumed: &str) -> String {
    if lines.is_empty() {
        return "No box is waiting.".to_owned();
    }
    let words: Vec<String> = lines
        .iter()
        .map(|line| {
            let why = if line.why.is_empty() { String::new() } else { format!(": {}", line.why.join(", ")) };
            format!("box {} ({}){why}", line.name, line.fish)
        })
        .collect();
    let order = format!("Open next:\n{}", words.join("\n"));
    if assumed.is_empty() { order } else { format!("{order}\n{assumed}") }
}

/// How a place is.
pub fn place_stands(at: &Place, parts: &[String]) -> String {
    if parts.is_empty() { format!("Nothing is known of {} yet.", place::name(at)) } else { parts.join("\n") }
}

/// One consignment's claim, by the trade's words; only what was counted.
#[derive(Debug, Clone, PartialEq)]
pub struct ClaimLine {
    /// The supplier.
    pub supplier: String,
    /// Counted dead on arrival, short and wrong, by fish.
    pub fish: Vec<(String, u32, u32, u32)>,
    /// Fish presumed, not counted, kept out of it.
    pub presumed: u32,
    /// Until when, by the site's terms.
    pub until: Option<String>,
}

/// Claims and their dates.
pub fn claims(lines: &[ClaimLine]) -> String {
    if lines.is_empty() {
        return "Nothing to claim so far.".to_owned();
    }
    let words: Vec<String> = lines.iter().map(claim).collect();
    words.join("\n")
}

fn claim(line: &ClaimLine) -> String {
    let fish: Vec<String> = line
        .fish
        .iter()
        .filter(|(_, doa, short, wrong)| doa + short + wrong > 0)
        .map(|(species, doa, short, wrong)| {
            let parts: Vec<String> = [(*doa, "DOA"), (*short, "short"), (*wrong, "wrong")]
                .iter()
                .filter(|(count, _)| *count > 0)
                .map(|(count, word)| format!("{count} {word}"))
                .collect();
            format!("{species} {}", parts.join(", "))
        })
        .collect();
    let until = line
        .until
        .as_ref()
        .map(|until| format!(" File by {until} (the site's setting: check the supplier's terms)."))
        .unwrap_or_default();
    let presumed =
        if line.presumed > 0 { format!(" {} fish not counted yet, not in it.", line.presumed) } else { String::new() };
    let fish = if fish.is_empty() { "nothing counted to claim".to_owned() } else { fish.join("; ") };
    format!("{}: {fish}.{until}{presumed}", line.supplier)
}

/// Who wants or has reserved what.
pub fn reservations(lines: &[(String, u32, String, u32)]) -> String {
    if lines.is_empty() {
        return "Nothing is reserved.".to_owned();
    }
    let words: Vec<String> =
        lines.iter().map(|(buyer, count, species, lot)| format!("{buyer}: {count} {species}, lot {lot}")).collect();
    words.join("\n")
}

/// Fish in the house by kind.
pub fn stock(lines: &[(String, u32, u32)]) -> String {
    if lines.is_empty() {
        return "None in the house by the books.".to_owned();
    }
    let words: Vec<String> = lines
        .iter()
        .map(|(species, living, cleared)| format!("{species}: {living} living, {cleared} free for sale"))
        .collect();
    words.join("\n")
}

/// Help, by job.
pub fn help() -> String {
    [
        "Open: boxes in the door · which box next · opening 7 · 7 done · box 12 late",
        "No list yet: consignment from NAME, 12 boxes · 7.1 38 clown loach alive 2 dead · box 7 no list",
        "Count: 7.2 36 ok 4 dead · 2 more dead 7.2 · 2.1 not clowns, yoyos, 38",
        "Water: 7.2 temp 24 ph 6.4 ammonia 3 · tray 3 wc 30% · 5 ml binder tray 3",
        "Move: plan for 7.2 · 7.2 into tray 3 · 36 from tray 3 to A12",
        "Look: A12 all good, eating · A12 2 dead · look at A12 again in 2h · later · what's due?",
        "Clear: hold A12 48h · clear A12 · clear 30 from A12",
        "Sell: 12 clown loach for Reef & River · A12 12 shipped to Reef & River · 12 13 straight through to Reef",
        "Put right: sorry 5 not 4 · undo",
        "Ask: board · how's A12 · how many dead so far · who has reserved what",
        "Set up: tanks A1-A24 200 L · enrol ana as crew · buyer NAME · enrol rita for NAME · price lot 43 2.50 EUR",
        "A packing list comes as a file, a photo with its place as the caption.",
    ]
    .join("\n")
}
