//! A generator of nights: numbers in, typed words out that fit the state as it is.

use super::night::Night;
use crate::consignment::{BoxKey, Standing};
use crate::desk::What;

/// One step as the shrinker knows it: what kind, and numbers to choose by.
#[derive(Debug, Clone, Copy)]
pub struct Step {
    pub kind: u8,
    pub a: u32,
    pub b: u32,
    pub c: u32,
}

/// How many kinds of step there are.
pub const KINDS: u8 = 67;

/// What a step does.
#[derive(Debug, Clone)]
pub enum Deed {
    Says(&'static str, String),
    Edits(&'static str, String, String),
    Presses(usize),
    Waits(i64),
    Lists(&'static str),
    /// A list of Rio Claro that differs from the first one.
    Corrects(u32, u32),
    /// A box is said to have no list, which is to come.
    Unlists(u32),
    /// A list for boxes that may have been opened before, talked about to its end.
    Late(u32, u32),
}

const CREW: [&str; 3] = ["ana", "bo", "lea"];
const BUYERS: [&str; 2] = ["rita", "tom"];
const FIRMS: [&str; 2] = ["Reef & River", "Tank Town"];

fn pick<T: Clone>(among: &[T], by: u32) -> Option<T> {
    if among.is_empty() { None } else { among.get(by as usize % among.len()).cloned() }
}

/// The step in words, for the state as it is.
pub fn deed(night: &Night, step: Step) -> Deed {
    let Step { kind, a, b, c } = step;
    let crew = CREW[a as usize % 3];
    let says = |text: String| Deed::Says(crew, text);
    let state = &night.state;
    let boxes: Vec<BoxKey> = state
        .open_consignments()
        .flat_map(|(no, _)| state.boxes_of(no).collect::<Vec<_>>())
        .filter(|(_, record)| record.finished.is_none() && record.standing == Standing::Expected)
        .map(|(key, _)| key)
        .collect();
    let full: Vec<(crate::consignment::Pack, u32, String)> = boxes
        .iter()
        .flat_map(|key| state.left_in_box(*key))
        .filter(|(_, held)| held.total() > 0)
        .map(|((pack, line), held)| (pack, held.total(), state.species(line)))
        .collect();
    let tanks: Vec<(String, u32, String)> = state
        .lots
        .iter()
        .filter(|(no, _)| state.living(**no).total() > 0)
        .map(|(no, lot)| (lot.tank.clone(), state.living(*no).total(), state.species(lot.line)))
        .collect();
    let cleared: Vec<(u32, String, u32)> = state
        .lots
        .iter()
        .filter(|(no, _)| state.living(**no).cleared > 0)
        .map(|(no, lot)| (no.0, state.species(lot.line), state.living(*no).cleared))
        .collect();
    let promised: Vec<(String, String, u32)> = state
        .lots
        .keys()
        .flat_map(|no| state.reservations_on(*no))
        .filter_map(|(_, reservation, left)| {
            Some((state.lots.get(&reservation.lot)?.tank.clone(), reservation.buyer.clone(), left))
        })
        .collect();
    let place = |pack: &crate::consignment::Pack| match pack.bag {
        Some(bag) => format!("{}.{bag}", pack.of.number),
        None if state.listed_bags(pack.of) > 1 => {
            let next = state.packs_of(pack.of).iter().filter_map(|pack| pack.bag).max().unwrap_or(0) + 1;
            format!("{}.{next}", pack.of.number)
        }
        None => format!("box {}", pack.of.number),
    };
    let tank = format!("A{}", 1 + b % 4);
    let chatter = || says("long night".into());
    match kind {
        0 if c % 3 == 0 => {
            let gone = state.boxes.iter().filter(|(_, record)| record.standing != Standing::Expected);
            let gone: Vec<u32> = gone.map(|(key, _)| key.number).collect();
            pick(&gone, b).map_or_else(chatter, |number| says(format!("opening {number}")))
        }
        0 => pick(&boxes, b).map_or_else(chatter, |key| says(format!("opening {}", key.number))),
        1..=4 => pick(&full, b).map_or_else(chatter, |(pack, fish, _)| {
            let share = match pack.bag {
                None => fish.div_ceil(state.listed_bags(pack.of).max(1)),
                Some(_) => fish,
            };
            let dead = c % 5.min(share + 1);
            let place = place(&pack);
            match kind {
                1 => says(format!("{place} {} ok {dead} dead", share - dead)),
                2 => says(format!("{place} {} ok", share + c % 4)),
                3 => says(format!("{place} {dead} dead")),
                _ => says(format!("{place} {} ok {} weak {dead} dead", (share - dead) / 2, (share - dead).div_ceil(2))),
            }
        }),
        5 => pick(&full, b).map_or_else(chatter, |(pack, _, _)| says(format!("{} {} more dead", place(&pack), c % 3))),
        6 => pick(&full, b).map_or_else(chatter, |(pack, _, _)| says(format!("{}: 1 came round", place(&pack)))),
        7 => pick(&full, b).map_or_else(chatter, |(pack, _, _)| says(format!("{}: culled 1", place(&pack)))),
        8..=10 => {
            pick(&full, b).map_or_else(chatter, |(pack, _, _)| says(format!("{} into A{}", place(&pack), 1 + c % 4)))
        }
        11 => pick(&full, b)
            .map_or_else(chatter, |(pack, _, _)| says(format!("{} into tray {}", place(&pack), 1 + c % 2))),
        12 => pick(&tanks, b).map_or_else(chatter, |(tank, fish, species)| {
            says(format!("{} {species} from {tank} to A{}", 1 + c % fish, 1 + (b + 1 + c) % 4))
        }),
        13 => {
            pick(&tanks, b).map_or_else(chatter, |(tank, _, species)| says(format!("{tank} {} {species} dead", c % 3)))
        }
        14 => pick(&tanks, b).map_or_else(chatter, |(tank, _, _)| says(format!("{tank} {} dead", c % 3))),
        15 => pick(&tanks, b).map_or_else(chatter, |(tank, fish, species)| {
            says(format!("{tank} {} {species} alive", (fish + 1).saturating_sub(c % 3)))
        }),
        16 => pick(&tanks, b).map_or_else(chatter, |(tank, _, _)| says(format!("{tank} all good, eating"))),
        17 => pick(&tanks, b)
            .map_or_else(chatter, |(tank, _, _)| says(format!("{tank} ph 7.{}, ammonia 0.{}", c % 9, c % 5))),
        18 => says(format!("{tank} wc {}%", 10 + c % 50)),
        19 => says(format!("{} ml dechlor {tank}", 1 + c % 20)),
        20 => pick(&tanks, b)
            .map_or_else(chatter, |(tank, _, _)| says(format!("look at {tank} again in {} min", 10 + c % 60))),
        21 => says("give me 20 min".into()),
        22 => pick(&tanks, b).map_or_else(chatter, |(tank, _, _)| says(format!("hold {tank} {}h", 2 + c % 48))),
        23 => pick(&tanks, b)
            .map_or_else(chatter, |(tank, _, _)| Deed::Says("lea", format!("clear {tank} anyway the buyer waits"))),
        24 => pick(&tanks, b).map_or_else(chatter, |(tank, _, _)| Deed::Says("lea", format!("clear {tank}"))),
        25 => pick(&cleared, b).map_or_else(chatter, |(lot, _, free)| {
            Deed::Says(BUYERS[a as usize % 2], format!("can we get {} of lot {lot}", 1 + c % (free + 1)))
        }),
        26 => pick(&cleared, b).map_or_else(chatter, |(_, species, free)| {
            says(format!("{} {species} for {}", 1 + c % free, FIRMS[c as usize % 2]))
        }),
        27 => pick(&promised, b)
            .map_or_else(chatter, |(tank, buyer, left)| says(format!("{tank} {left} shipped to {buyer}"))),
        28 => pick(&boxes, b).map_or_else(chatter, |key| says(format!("{} done", key.number))),
        29 | 30 => Deed::Presses(b as usize),
        31 => says("undo".into()),
        32 => says(format!("sorry {} not {}", c % 6, b % 6)),
        33 => {
            let mine = state.recent.values().rev().find(|recent| {
                !recent.withdrawn
                    && recent.cause.acts.len() == 1
                    && recent.cause.speaker.as_ref().is_some_and(|s| s.person == crew)
            });
            match mine.map(|recent| (recent.cause.key.clone(), recent.cause.acts[0].clone())) {
                Some((key, said)) => match said.act {
                    crate::message::Act::Count(count) => {
                        let at = crate::say::place::name(&count.at);
                        Deed::Edits(crew, key, format!("{at} {} dead", c % 6))
                    }
                    _ => Deed::Edits(crew, key, "never mind".into()),
                },
                None => chatter(),
            }
        }
        34 => says("note the driver was late".into()),
        35 => says(["plane's down", "cleared customs", "boxes in the door"][c as usize % 3].into()),
        36 => {
            let who = ["ana", "lea", "olga", "rita", "tom"][a as usize % 5];
            let text = [
                "what's due?",
                "board",
                "how's A1",
                "what's for sale?",
                "how many dead so far",
                "which box next",
                "claims?",
                "who has reserved what",
                "help",
                "how many neon tetra do we have",
                "how's A2",
            ][c as usize % 11];
            Deed::Says(who, text.into())
        }
        37 => Deed::Says(
            "mallory",
            ["A1 4 dead", "clear A1", "board", "undo", "enrol mallory as lead"][c as usize % 5].into(),
        ),
        38 => Deed::Waits(i64::from(c % 240)),
        39 => {
            let key = state
                .open_consignments()
                .flat_map(|(no, _)| state.boxes_of(no).map(|(key, _)| key).collect::<Vec<_>>())
                .collect::<Vec<_>>();
            pick(&key, b).map_or_else(chatter, |key| {
                let what = ["late", "lost", "here", "first"][c as usize % 4];
                Deed::Says(if what == "here" { "bo" } else { "lea" }, format!("box {} {what}", key.number))
            })
        }
        40 => pick(&full, b).map_or_else(chatter, |(pack, fish, species)| {
            says(format!("{} not {species}, guppies, {}", place(&pack), 1 + c % fish))
        }),
        41 => match pick(&boxes, b) {
            Some(key) if c % 2 == 0 => says(format!("box {} shipped to {}", key.number, FIRMS[a as usize % 2])),
            Some(key) => says(format!("{}.1 into {}.2", key.number, key.number)),
            None => chatter(),
        },
        42..=48 => wrongly(b, c),
        49 => Deed::Says(BUYERS[a as usize % 2], "undo".into()),
        52 | 53 => Deed::Corrects(b, c),
        54..=60 => says(without_list(b, c)),
        61 => match c % 3 {
            0 => Deed::Says("lea", format!("consignment from {}, {} boxes", LATE[b as usize % 4], 2 + b % 3)),
            1 => Deed::Unlists(40 + b % 15),
            _ => Deed::Presses(b as usize),
        },
        62 | 63 => says(match c % 4 {
            0 => format!("box {} shipped to {}", 40 + b % 15, FIRMS[a as usize % 2]),
            1 | 2 => format!("{} {} straight thru to {}", 40 + b % 15, 40 + c % 15, ["reef", "tank"][a as usize % 2]),
            _ => format!("whole {} list straight through to Reef", LATE[b as usize % 4]),
        }),
        64..=66 => Deed::Late(b, c),
        _ => match c % 3 {
            0 => says(format!("A{} has {} yoyos", 5 + b % 3, 1 + c % 30)),
            1 => says(format!("tanks C1-C{} 90 L", 2 + c % 5)),
            _ => Deed::Lists("Kali Besar"),
        },
    }
}

/// Suppliers whose lists come late, or never.
const LATE: [&str; 4] = ["Mar Azul", "Serra Verde", "Lago Frio", "Monte Alto"];

/// Something done with a box of which no list is here.
fn without_list(b: u32, c: u32) -> String {
    let fish = ["guppy", "neon tetra", "yoyo loach"][c as usize % 3];
    let number = 40 + b % 15;
    match (b / 15) % 6 {
        0 => format!("opening {number}"),
        1 => format!("{number} {} {fish}", 10 + c % 40),
        2 => format!("{number}.{} {} {fish} {} dead", 1 + c % 2, 10 + c % 40, c % 4),
        3 => format!("{number}.{} {} {fish} alive", 1 + c % 3, 1 + c % 60),
        4 => format!("{number}.1 into A{}", 1 + c % 4),
        _ => format!("{number} done"),
    }
}

/// The list that comes late: boxes with one bag, with several, with two kinds.
fn late_rows(b: u32, c: u32) -> Vec<super::night::Row> {
    let first = 40 + 5 * (b % 3);
    vec![
        (first, None, Some(1), "guppy", 10 + c % 40),
        (first + 1, None, Some(1 + b % 3), "neon tetra", 20 + c % 60),
        (first + 2, Some(1), None, "yoyo loach", 30),
        (first + 2, Some(2), None, "guppy", 15),
        (first + 3, None, None, "neon tetra", 25),
    ]
}

/// What must be refused, or may be.
fn wrongly(b: u32, c: u32) -> Deed {
    let text = |who: &'static str, text: &str| Deed::Says(who, text.into());
    match b % 20 {
        0 => text("ana", "box 99 late"),
        1 => text("lea", "remove nobody"),
        2 => text("lea", "remove lea"),
        3 => text("olga", "price lot 99 2 EUR"),
        4 => text("ana", "A9 30 alive"),
        5 => text("ana", "A9 into A8"),
        6 => text("ana", "tray 1 shipped to Reef & River"),
        7 => text("rita", "undo"),
        8 => text("ana", "sorry 5 not 4 in A11"),
        9 => text("ana", "enrol bob as crew"),
        10 => Deed::Says("ana", format!("A{0} into A{0}", 1 + c % 4)),
        11 => text("tom", "can we get 900 neons"),
        12 => Deed::Says("lea", format!("hold A{} until 2020-01-01", 1 + c % 4)),
        13 => text("ana", "31.1 into 8.1"),
        14 => Deed::Says("ana", format!("A{} 500 came round", 1 + c % 4)),
        15 => Deed::Says("ana", format!("A{} {} shipped to Reef & River", 1 + c % 4, if c % 8 < 4 { 900 } else { 1 })),
        16 => text("ana", "A1 900 shipped"),
        17 => Deed::Says("ana", format!("A{} 3 yoyo loach dead", 1 + c % 4)),
        18 => Deed::Lists("Rio Claro"),
        _ => match c % 3 {
            0 => Deed::Lists(""),
            1 => text("lea", "box 7 late"),
            _ => text("ana", "7 120 ok"),
        },
    }
}

/// Does a step; `None` where the house was silent, else whether it was taken.
pub fn play(night: &mut Night, step: Step) -> bool {
    match deed(night, step) {
        Deed::Says(who, text) => drop(night.says(who, &text)),
        Deed::Edits(who, of, text) => drop(night.edits(who, &of, &text)),
        Deed::Waits(minutes) => drop(night.wait(minutes)),
        Deed::Lists("") => drop(night.list("lea", "Nobody", &[])),
        Deed::Lists(supplier) => {
            let rows = if supplier == "Rio Claro" { &super::night::RIO[..] } else { &super::boxes::KALI[..] };
            night.list("lea", supplier, rows);
        }
        Deed::Corrects(by, how) => {
            let rows = corrected(by, how);
            night.list("lea", "Rio Claro", &rows);
            // It is talked about to its end, one box that is gone after the other.
            while let Some(stage) = asked(night) {
                night.presses("lea", if stage == "keep it" && how % 2 == 0 { "extra" } else { stage });
            }
        }
        Deed::Unlists(number) => {
            night.says("bo", &format!("box {number} no list"));
            if night.last.outgoing.iter().flat_map(|message| &message.buttons).any(|it| it.label == "list to come") {
                night.presses("bo", "list to come");
            }
        }
        Deed::Late(by, how) => {
            night.list("lea", LATE[(how / 3) as usize % 4], &late_rows(by, how));
            for turn in 0..12_u32 {
                let buttons = night.last.outgoing.iter().map(|message| &message.buttons).find(|them| !them.is_empty());
                let Some(buttons) = buttons.cloned() else { break };
                let labels: Vec<&str> = buttons.iter().map(|button| button.label.as_str()).collect();
                let chosen = if labels.contains(&"import") { 0 } else { (by + turn * how) as usize % labels.len() };
                let label = labels[chosen].to_owned();
                night.presses("lea", &label);
                if labels.contains(&"import") {
                    break;
                }
            }
        }
        Deed::Presses(by) => {
            let waiting: Vec<(u64, String, usize)> = night
                .state
                .questions
                .iter()
                .map(|(id, pending)| {
                    let choices = pending.question.wanted.choices().len();
                    (*id, pending.to.person.clone(), choices)
                })
                .collect();
            if let Some((id, person, choices)) = waiting.last().cloned() {
                night.take(Some(&person), What::Button { question: id, choice: by % choices.max(1) });
            }
        }
    }
    night.last.refusals.is_empty()
}

/// The first list with one box changed, dropped or added.
fn corrected(by: u32, how: u32) -> Vec<super::night::Row> {
    let mut rows = super::night::RIO.to_vec();
    let at = by as usize % rows.len();
    match how % 5 {
        0 => drop(rows.remove(at)),
        1 => rows.push((20 + by % 3, None, Some(2), "guppy", 10 + how % 50)),
        2 => rows[at].3 = "guppy",
        _ => rows[at].4 = 1 + (rows[at].4 + how % 40).saturating_sub(20),
    }
    rows
}

/// The first way to answer what was asked about a list just now.
fn asked(night: &Night) -> Option<&'static str> {
    let buttons: Vec<&str> =
        night.last.outgoing.iter().flat_map(|message| &message.buttons).map(|button| button.label.as_str()).collect();
    ["keep it", "change it"].into_iter().find(|label| buttons.contains(label))
}
