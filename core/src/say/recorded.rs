//! The read-back: one clause for each act, in normal units, places and numbers first. Typed as a message it is read as the same act.

use crate::message::{About, Act, AllOf, Count, DoseUnit, Place, Said, Sign, Stage, VesselKind, Water};
use crate::quantity::{Finite, Measure};
use crate::settings::Temperature;

/// A place as a crew writes it.
pub fn place(place: &Place) -> String {
    match place {
        Place::Bag { number, bag } => format!("{number}.{bag}"),
        Place::Box { number } => format!("box {number}"),
        Place::Tray { tray } => format!("tray {tray}"),
        // A tank whose name is a number would read as a box.
        Place::Tank { tank } if tank.chars().all(|c| c.is_ascii_digit()) => format!("tank {tank}"),
        Place::Tank { tank } => tank.clone(),
        Place::Lot { lot } => format!("lot {lot}"),
    }
}

/// What was recorded, as one clause, temperatures in °C.
pub fn clause(said: &Said) -> String {
    clause_in(said, Temperature::Celsius)
}

/// What was recorded, as one clause, temperatures in the scale of the site.
pub fn clause_in(said: &Said, scale: Temperature) -> String {
    let body = act(&said.act, scale);
    match &said.when {
        Some(when) => format!("{body}, at {}", clock_words(when)),
        None => body,
    }
}

fn act(act: &Act, scale: Temperature) -> String {
    match act {
        Act::Arrive { stage, delay_min } => arrival(*stage, *delay_min),
        Act::Open { at } => format!("{} opened", place(at)),
        Act::Done { at } => format!("{} done", place(at)),
        Act::Count(found) => fixed(found.fix, count(found)),
        Act::Reading(water) => fixed(water.fix, reading(water, scale)),
        Act::Swap { at, percent, litres, fix } => fixed(*fix, swap(at, *percent, *litres)),
        Act::Dose { at, product, amount, unit, fix } => fixed(*fix, dose(at, product, *amount, *unit)),
        Act::Move { to, from, count, species, fix } => {
            fixed(*fix, moved(to, from.as_ref(), *count, species.as_deref()))
        }
        Act::Observe { at, signs } => {
            format!("{} {}", place(at), signs.iter().map(|sign| self::sign(*sign)).collect::<Vec<_>>().join(", "))
        }
        Act::Recheck { at, in_min, clock } => match (in_min, clock) {
            (Some(minutes), _) => format!("{} recheck in {minutes} min", place(at)),
            (None, Some(time)) => format!("{} recheck at {}", place(at), clock_words(time)),
            (None, None) => format!("{} recheck", place(at)),
        },
        Act::Hold { at, hours, until, why } => {
            let length = match (hours, until) {
                (Some(hours), _) => format!(" {} h", number(*hours)),
                (None, Some(until)) => format!(" until {}", until.replace('T', " ")),
                (None, None) => String::new(),
            };
            let why = why.as_ref().map(|why| format!(" because {why}")).unwrap_or_default();
            format!("{} hold{length}{why}", place(at))
        }
        Act::Clear { at, count, anyway } => {
            let anyway = anyway.as_ref().map(|anyway| format!(" anyway, {anyway}")).unwrap_or_default();
            match count {
                Some(count) => format!("release {count} from {}{anyway}", place(at)),
                None => format!("{} clear{anyway}", place(at)),
            }
        }
        Act::Reserve { count, at, species, buyer, fix } => {
            fixed(*fix, reserve(*count, at.as_ref(), species.as_deref(), buyer.as_deref()))
        }
        Act::Ship { at, count, buyer, fix } => {
            let count = count.map(|count| format!(" {count}")).unwrap_or_default();
            let buyer = buyer.as_ref().map(|buyer| format!(" to {buyer}")).unwrap_or_default();
            fixed(*fix, format!("{}{count} shipped{buyer}", place(at)))
        }
        Act::Later { in_min: Some(minutes) } => format!("later, in {minutes} min"),
        Act::Later { in_min: None } => "later".into(),
        Act::Note { text, at: Some(at) } => format!("note {}: {text}", place(at)),
        Act::Note { text, at: None } => format!("note: {text}"),
        Act::Ask { about, at, species } => ask(*about, at.as_ref(), species.as_deref()),
        Act::Undo => "undo".into(),
        Act::Vessels { names, kind, litres, system } => vessels(names, *kind, *litres, system.as_deref()),
    }
}

/// A clock time that can be read in one way only: from 10 to 12 the half of the day is said.
fn clock_words(time: &str) -> String {
    match time.get(..2) {
        Some("10" | "11") => format!("{time} am"),
        Some("12") => format!("{time} pm"),
        _ => time.to_owned(),
    }
}

fn fixed(fix: bool, text: String) -> String {
    if fix { format!("correction: {text}") } else { text }
}

fn number(value: Finite) -> String {
    format!("{}", value.get())
}

fn arrival(stage: Option<Stage>, delay: Option<u32>) -> String {
    let stage = stage.map(|stage| match stage {
        Stage::Landed => "landed",
        Stage::CustomsCleared => "customs cleared",
        Stage::Collected => "boxes collected",
        Stage::InHouse => "boxes in the house",
    });
    match (stage, delay) {
        (Some(stage), Some(delay)) => format!("{stage}, {delay} min late"),
        (Some(stage), None) => stage.into(),
        (None, delay) => format!("flight {} min late", delay.unwrap_or(0)),
    }
}

fn count(found: &Count) -> String {
    let species = found.species.as_ref().map(|species| format!(" {species}")).unwrap_or_default();
    let more = if found.more { " more" } else { "" };
    let mut parts = Vec::new();
    let mut of = found.of;
    if let Some(all) = found.all {
        parts.push(match all {
            AllOf::Alive => format!("all{species} alive"),
            AllOf::Weak => format!("all{species} weak"),
            AllOf::Dead => format!("all{species} dead"),
        });
    }
    let fields = [
        (found.sound, "sound"),
        (found.alive.filter(|_| found.got.is_none()), "alive"),
        (found.weak, "weak"),
        (found.dead, "dead"),
        (found.missing, "short"),
        (found.extra, "extra"),
        (found.revived, "came round"),
        (found.culled, "culled"),
    ];
    for (value, word) in fields {
        let Some(value) = value else { continue };
        // The total stands once, behind the first number.
        let total = of.take().map(|of| format!(" of {of}")).unwrap_or_default();
        // "more" and the name stand once, and speak of the numbers behind them too.
        let (more, species) = if parts.is_empty() { (more, species.as_str()) } else { ("", "") };
        parts.push(format!("{value}{total}{more}{species} {word}"));
    }
    if let Some(got) = &found.got {
        parts.push(match found.alive {
            Some(alive) => format!("{alive} {got} instead"),
            None => format!("{got} instead"),
        });
    }
    format!("{} {}", place(&found.at), parts.join(", "))
}

/// A temperature, kept in °C, in the scale of the site, to at least 0.1.
fn temperature(celsius: Finite, over: &str, scale: Temperature) -> String {
    match scale {
        Temperature::Celsius if number(celsius).contains('.') => format!("{over}{} °C", number(celsius)),
        Temperature::Celsius => format!("{over}{}.0 °C", number(celsius)),
        Temperature::Fahrenheit => format!("{over}{:.1} °F", celsius.get() * 1.8 + 32.0),
    }
}

/// A reading with its name and unit.
pub(super) fn measured(measure: Measure, value: Finite, over: bool, scale: Temperature) -> String {
    let over = if over { "over " } else { "" };
    let name = super::ask::name(measure);
    let plain = number(value);
    match measure {
        Measure::TempC => temperature(value, over, scale),
        Measure::DoPercent => format!("{name} {over}{plain} %"),
        Measure::Ph | Measure::Sg => format!("{name} {over}{plain}"),
        Measure::SalPpt => format!("{name} {over}{plain} ppt"),
        Measure::CondUsCm => format!("{name} {over}{plain} µS/cm"),
        Measure::AlkMgL | Measure::GhMgL => format!("{name} {over}{plain} mg/L as CaCO3"),
        _ => format!("{name} {over}{plain} mg/L"),
    }
}

fn reading(water: &Water, scale: Temperature) -> String {
    let values: Vec<String> = water
        .values
        .iter()
        .map(|(measure, value)| measured(*measure, *value, water.over.contains(measure), scale))
        .collect();
    format!("{} {}", place(&water.at), values.join(", "))
}

fn swap(at: &Place, percent: Option<Finite>, litres: Option<Finite>) -> String {
    match (percent, litres) {
        (Some(percent), _) => format!("{} water change {} %", place(at), number(percent)),
        (None, Some(litres)) => format!("{} water change {} L", place(at), number(litres)),
        (None, None) => format!("{} water change", place(at)),
    }
}

fn dose(at: &Place, product: &str, amount: Option<Finite>, unit: Option<DoseUnit>) -> String {
    let unit = unit.map(|unit| match unit {
        DoseUnit::Ml => "ml",
        DoseUnit::L => "L",
        DoseUnit::G => "g",
        DoseUnit::Kg => "kg",
        DoseUnit::Mg => "mg",
        DoseUnit::Drop => "drops",
        DoseUnit::Tsp => "tsp",
        DoseUnit::Tbsp => "tbsp",
        DoseUnit::Cap => "caps",
        DoseUnit::Scoop => "scoops",
        DoseUnit::Pinch => "pinches",
        DoseUnit::Pump => "pumps",
        DoseUnit::Oz => "oz",
        DoseUnit::FlOz => "fl oz",
        DoseUnit::Cup => "cups",
    });
    match (amount, unit) {
        (Some(amount), Some(unit)) => format!("{} dosed {} {unit} {product}", place(at), number(amount)),
        (Some(amount), None) => format!("{} {} {product}", place(at), number(amount)),
        _ => format!("{} {product}", place(at)),
    }
}

fn moved(to: &Place, from: Option<&Place>, count: Option<u32>, species: Option<&str>) -> String {
    let to = place(to);
    let from = from.map(place);
    // A bare number before "into" is a box, unless it is said where they are from.
    match (count, species, from) {
        (Some(count), Some(species), Some(from)) => format!("{count} {species} from {from} into {to}"),
        (Some(count), Some(species), None) => format!("{count} {species} into {to}"),
        (Some(count), None, Some(from)) => format!("{count} from {from} into {to}"),
        (Some(count), None, None) => format!("{count} fish into {to}"),
        (None, Some(species), Some(from)) => format!("{species} from {from} into {to}"),
        (None, Some(species), None) => format!("{species} into {to}"),
        (None, None, Some(from)) => format!("{from} into {to}"),
        (None, None, None) => format!("moved into {to}"),
    }
}

fn reserve(count: Option<u32>, at: Option<&Place>, species: Option<&str>, buyer: Option<&str>) -> String {
    let count = count.map(|count| format!(" {count}")).unwrap_or_default();
    let species = species.map(|species| format!(" {species}")).unwrap_or_default();
    let at = at.map(|at| format!(" of {}", place(at))).unwrap_or_default();
    let buyer = buyer.map(|buyer| format!(" for {buyer}")).unwrap_or_default();
    format!("reserved{count}{species}{at}{buyer}")
}

fn ask(about: About, at: Option<&Place>, species: Option<&str>) -> String {
    let at = at.map(|at| format!(" in {}", place(at))).unwrap_or_default();
    let species = species.map(|species| format!(" {species}")).unwrap_or_default();
    match about {
        About::Due => format!("what is due{at}{species}?"),
        About::Board => "board".into(),
        About::Place => format!("how is it{at}{species}?"),
        About::Stock => format!("what is in stock{species}?"),
        About::Deaths => format!("how many{species} dead{at}?"),
        About::Order => "which box next?".into(),
        About::Plan => format!("what is the plan for{species}{at}?"),
        About::Claim => format!("what about the claim{at}{species}?"),
        About::Buyers => format!("which buyers are waiting for{species}{at}?"),
        About::Help => "help".into(),
    }
}

fn vessels(names: &[String], kind: Option<VesselKind>, litres: Option<Finite>, system: Option<&str>) -> String {
    let kind = match kind {
        Some(VesselKind::Tray) => "trays",
        Some(VesselKind::Tub) => "tubs",
        Some(VesselKind::Sump) => "sumps",
        Some(VesselKind::Tap) => "taps",
        Some(VesselKind::Tank) | None => "tanks",
    };
    let litres = litres.map(|litres| format!(", {} L", number(litres))).unwrap_or_default();
    let system = system.map(|system| format!(", system {system}")).unwrap_or_default();
    format!("{kind} {}{litres}{system}", names.join(", "))
}

/// A sign in words.
pub fn sign(sign: Sign) -> &'static str {
    match sign {
        Sign::BellyUp => "belly up",
        Sign::Bloated => "bloated",
        Sign::BrownGills => "brown gills",
        Sign::ClampedFins => "clamped fins",
        Sign::ClearWater => "clear water",
        Sign::CloudyEye => "cloudy eyes",
        Sign::CloudyWater => "cloudy water",
        Sign::Cold => "cold",
        Sign::Dark => "dark",
        Sign::ExcessMucus => "excess mucus",
        Sign::Fed => "fed",
        Sign::Feeding => "feeding",
        Sign::Fighting => "fighting",
        Sign::FinDamage => "torn fins",
        Sign::FlatBag => "flat bag",
        Sign::Flashing => "flashing",
        Sign::FoulSmell => "foul smell",
        Sign::Fungus => "fungus",
        Sign::Gasping => "gasping",
        Sign::Huddled => "huddled",
        Sign::Leaking => "leaking",
        Sign::Listless => "listless",
        Sign::Lively => "lively",
        Sign::OffFeed => "off feed",
        Sign::OnSide => "on their side",
        Sign::Pale => "pale",
        Sign::Poorly => "poorly",
        Sign::Popeye => "popeye",
        Sign::RedStreaks => "red streaks",
        Sign::Spinning => "spinning",
        Sign::Thin => "thin",
        Sign::Warm => "warm",
        Sign::Well => "all well",
        Sign::WhiteSpot => "white spots",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tank(name: &str) -> Place {
        Place::Tank { tank: name.into() }
    }

    #[test]
    fn a_census_names_the_bag_and_its_numbers_first() {
        let found =
            Count { sound: Some(36), weak: Some(6), dead: Some(4), ..Count::at(Place::Bag { number: 7, bag: 2 }) };
        insta::assert_snapshot!(clause(&Act::Count(found).into()), @"7.2 36 sound, 6 weak, 4 dead");
    }

    #[test]
    fn a_reading_is_said_in_normal_units() {
        let values = [(Measure::TempC, 26.0), (Measure::Ph, 6.4), (Measure::TanMgL, 3.0)];
        let water = Water {
            at: tank("A12"),
            values: values.into_iter().filter_map(|(measure, value)| Some((measure, Finite::new(value)?))).collect(),
            over: Default::default(),
            fix: false,
        };
        insta::assert_snapshot!(clause(&Act::Reading(water).into()), @"A12 26.0 °C, pH 6.4, total ammonia 3 mg/L");
    }

    #[test]
    fn a_temperature_is_shown_in_the_scale_of_the_site_with_its_unit() {
        let shown =
            |celsius: f64, over: bool, scale| measured(Measure::TempC, Finite::new(celsius).unwrap(), over, scale);
        insta::assert_snapshot!(shown(26.0, false, Temperature::Celsius), @"26.0 °C");
        insta::assert_snapshot!(shown(26.25, false, Temperature::Celsius), @"26.25 °C");
        insta::assert_snapshot!(shown(26.0, false, Temperature::Fahrenheit), @"78.8 °F");
        insta::assert_snapshot!(shown(30.0, true, Temperature::Fahrenheit), @"over 86.0 °F");
        insta::assert_snapshot!(shown(-1.0, false, Temperature::Fahrenheit), @"30.2 °F");
    }

    #[test]
    fn a_correction_shows_the_corrected_field_only() {
        let found = Count { dead: Some(5), fix: true, ..Count::at(tank("A12")) };
        insta::assert_snapshot!(clause(&Act::Count(found).into()), @"correction: A12 5 dead");
    }

    #[test]
    fn a_time_said_stands_behind_the_fact() {
        let said = Said { act: Act::Open { at: Place::Box { number: 7 } }, when: Some("02:10".into()) };
        insta::assert_snapshot!(clause(&said), @"box 7 opened, at 02:10");
    }
}
