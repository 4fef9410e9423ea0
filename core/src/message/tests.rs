//! Laws of the reader. The contract's examples are in `tests/messages/contract.txt` of the workspace.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, Utc};
use proptest::prelude::*;

use super::*;
use crate::quantity::{Finite, Measure};
use crate::say::recorded::clause;

const SIGNS: [Sign; 34] = [
    Sign::BellyUp,
    Sign::Bloated,
    Sign::BrownGills,
    Sign::ClampedFins,
    Sign::ClearWater,
    Sign::CloudyEye,
    Sign::CloudyWater,
    Sign::Cold,
    Sign::Dark,
    Sign::ExcessMucus,
    Sign::Fed,
    Sign::Feeding,
    Sign::Fighting,
    Sign::FinDamage,
    Sign::FlatBag,
    Sign::Flashing,
    Sign::FoulSmell,
    Sign::Fungus,
    Sign::Gasping,
    Sign::Huddled,
    Sign::Leaking,
    Sign::Listless,
    Sign::Lively,
    Sign::OffFeed,
    Sign::OnSide,
    Sign::Pale,
    Sign::Poorly,
    Sign::Popeye,
    Sign::RedStreaks,
    Sign::Spinning,
    Sign::Thin,
    Sign::Warm,
    Sign::Well,
    Sign::WhiteSpot,
];

fn vocabulary() -> Vocabulary {
    let boxes = [(7, 3), (8, 2), (21, 6)].map(|(number, bags)| {
        (number, BoxWords { bags: Some(bags), spare_bags: 0, species: vec!["clown loach".into()] })
    });
    let lots = [(43, "A1"), (44, "B2")]
        .map(|(lot, tank)| (lot, LotWords { species: Some("neon tetra".into()), tank: Some(tank.into()) }));
    Vocabulary {
        tanks: Some(["A1", "A2", "A12", "B2", "16"].map(String::from).to_vec()),
        trays: Some(["1", "2", "3"].map(String::from).to_vec()),
        boxes: Some(boxes.into()),
        lots: Some(lots.into()),
        species: Some(["clown loach", "neon tetra", "angelfish"].map(String::from).to_vec()),
        species_aliases: BTreeMap::new(),
        buyers: Some(["Reef & River", "Otterby Pets"].map(String::from).to_vec()),
        suppliers: vec!["Senjangan Exports".into()],
        crew: vec!["ana".into(), "dee".into()],
        tz: chrono_tz::Europe::London,
        gallon: Gallon::Us,
    }
}

fn now() -> DateTime<Utc> {
    DateTime::from_timestamp(1_772_500_000, 0).expect("a time in 2026")
}

fn said_by(from: &str, text: &str, dialogue: &Dialogue) -> Reading {
    let incoming = Incoming { from: from.into(), at: now(), text: text.into(), re: Vec::new() };
    super::read(&vocabulary(), dialogue, &incoming)
}

pub(super) fn said(text: &str) -> Reading {
    said_by("ana", text, &Dialogue::default())
}

fn tank(name: &str) -> Place {
    Place::Tank { tank: name.into() }
}

#[test]
fn a_supplier_named_before_a_box_is_told_to_the_desk() {
    let reading = said("senjangan 7.2 36 ok");
    assert_eq!(reading.supplier.as_deref(), Some("Senjangan Exports"));
    let found = Count { sound: Some(36), ..Count::at(Place::Bag { number: 7, bag: 2 }) };
    assert_eq!(reading.acts, [Said::from(Act::Count(found))]);
}

#[test]
fn a_choice_is_taken_by_its_number_its_label_and_its_words() {
    let choice = |label: &str, words: &[&str]| Choice {
        label: label.into(),
        words: words.iter().map(|word| (*word).to_owned()).collect(),
    };
    let question = Question {
        id: 9,
        partial: Vec::new(),
        wanted: Wanted::Choice(vec![choice("Yes, 4 extra", &["yes", "y"]), choice("No", &["no"])]),
        expires: now(),
    };
    let dialogue = Dialogue { question: Some(question), ..Dialogue::default() };
    for (text, index) in
        [("yes", 0), ("Yep!", 0), ("y", 0), ("1", 0), ("yes, 4 extra", 0), ("no", 1), ("nope", 1), ("2.", 1)]
    {
        assert_eq!(said_by("ana", text, &dialogue).chosen, Some((9, index)), "{text}");
    }
    for text in ["3", "maybe", "A1 2 dead", ""] {
        assert_eq!(said_by("ana", text, &dialogue).chosen, None, "{text}");
    }
}

#[test]
fn another_report_drops_a_question_and_chatter_leaves_it_standing() {
    let asked = said("2 dead").dialogue;
    assert!(asked.question.is_some());
    assert!(said_by("ana", "kettle on", &asked).dialogue.question.is_some());
    assert!(said_by("ana", "A1 2 dead", &asked).dialogue.question.is_none());
}

#[test]
fn words_not_understood_beside_an_act_are_quoted() {
    assert_eq!(said("A12 2 dead near the zorbulator").unread, ["near", "zorbulator"]);
    assert_eq!(said("zorbulator").unread, Vec::<String>::new());
}

#[test]
fn a_number_behind_a_bag_is_what_lives_in_it_and_behind_a_tank_is_nothing() {
    let bag = Place::Bag { number: 7, bag: 2 };
    let found = Count { alive: Some(36), ..Count::at(bag.clone()) };
    assert_eq!(said("7.2 36").acts, [Said::from(Act::Count(found))]);
    let both = Count { alive: Some(36), dead: Some(2), ..Count::at(bag) };
    assert_eq!(said("7.2 36+2").acts, [Said::from(Act::Count(both))]);
    assert_eq!(said("A1 36").acts, []);
}

#[test]
fn a_price_is_neither_fish_nor_place() {
    let dead = Act::Count(Count { dead: Some(3), ..Count::at(tank("A1")) });
    for text in ["A1 3 dead 3.50 each", "A1 3 dead, thats £7 gone", "A1 3 dead at 12 quid", "A1 3 dead thats a tenner"]
    {
        assert_eq!(said(text).acts, [Said::from(dead.clone())], "{text}");
    }
}

#[test]
fn a_fish_of_the_trade_that_the_house_does_not_list_is_counted_without_its_name() {
    let dead = Act::Count(Count { dead: Some(3), ..Count::at(tank("A1")) });
    assert_eq!(said("A1 3 discus dead").acts, [Said::from(dead)]);
}

#[test]
fn ten_thousand_characters_of_anything_are_read_to_the_end() {
    for piece in [
        "A1 2 dead, ",
        "7.2 ",
        "the ",
        "no ",
        "sorry 5 not 4 ",
        "a1 to a2 ",
        "🐟\0",
        "e\u{301}",
        "((((",
        "12345678901234567890",
    ] {
        let text = piece.repeat(10_000 / piece.len());
        let reading = said(&text);
        assert!(reading.acts.len() <= text.len(), "{piece:?}");
    }
}

fn place() -> impl Strategy<Value = Place> {
    prop_oneof![bag_or_box(), vessel(), prop_oneof![Just(43), Just(44)].prop_map(|lot| Place::Lot { lot })]
}

fn bag_or_box() -> impl Strategy<Value = Place> {
    let bags = prop_oneof![(Just(7), 1..=3u32), (Just(8), 1..=2u32), (Just(21), 1..=6u32)];
    (bags, any::<bool>())
        .prop_map(|((number, bag), whole)| if whole { Place::Box { number } } else { Place::Bag { number, bag } })
}

fn a_box() -> impl Strategy<Value = Place> {
    prop_oneof![Just(7), Just(8), Just(21)].prop_map(|number| Place::Box { number })
}

fn vessel() -> impl Strategy<Value = Place> {
    prop_oneof![
        prop_oneof![Just("A1"), Just("A2"), Just("A12"), Just("B2"), Just("16")].prop_map(tank),
        prop_oneof![Just("1"), Just("2"), Just("3")].prop_map(|tray| Place::Tray { tray: tray.into() }),
    ]
}

fn some_tank() -> impl Strategy<Value = Place> {
    prop_oneof![
        prop_oneof![Just("A1"), Just("A12"), Just("16")].prop_map(tank),
        prop_oneof![Just(43), Just(44)].prop_map(|lot| Place::Lot { lot })
    ]
}

fn species() -> impl Strategy<Value = String> {
    prop_oneof![Just("clown loach"), Just("neon tetra"), Just("angelfish")].prop_map(String::from)
}

fn buyer() -> impl Strategy<Value = String> {
    prop_oneof![Just("Reef & River"), Just("Otterby Pets")].prop_map(String::from)
}

fn words() -> impl Strategy<Value = String> {
    prop_oneof![
        Just("vet wants samples"),
        Just("waiting on the lab"),
        Just("Outer carton crushed"),
        Just("2 dead by the inlet")
    ]
    .prop_map(String::from)
}

fn clock() -> impl Strategy<Value = String> {
    (0..24u32, 0..60u32).prop_map(|(hour, minute)| format!("{hour:02}:{minute:02}"))
}

fn number(most: u32) -> impl Strategy<Value = Option<u32>> {
    prop::option::of(0..=most)
}

fn finite(value: f64) -> Finite {
    Finite::new(value).expect("a finite number")
}

fn count() -> BoxedStrategy<Act> {
    let numbers = (number(200), number(200), number(200), number(200), number(20), number(20), number(9), number(9));
    let rest = (prop::option::of(200..=400u32), any::<bool>(), prop::option::of(species()), 0..8u8);
    (place(), numbers, rest, any::<bool>())
        .prop_map(|(at, numbers, (of, more, species, all), fix)| {
            let (sound, alive, weak, dead, missing, extra, revived, culled) = numbers;
            let mut found =
                Count { sound, alive, weak, dead, missing, extra, revived, culled, species, fix, ..Count::at(at) };
            match all {
                0 => {
                    found = Count { all: Some(AllOf::Dead), fix, species: found.species, ..Count::at(found.at) };
                }
                1 => found = Count { alive: found.alive, got: Some("yoyos".into()), fix, ..Count::at(found.at) },
                _ => {
                    found.of = of;
                    found.more = more && matches!(found.at, Place::Box { .. } | Place::Bag { .. });
                    if [sound, alive, weak, dead, missing, extra, revived, culled].iter().all(Option::is_none) {
                        found.dead = Some(0);
                    }
                }
            }
            Act::Count(found)
        })
        .boxed()
}

fn water() -> BoxedStrategy<Act> {
    let value = (0..Measure::ALL.len(), 0.0..1.0f64, any::<bool>());
    (place(), prop::collection::vec(value, 1..6), any::<bool>())
        .prop_map(|(at, values, fix)| {
            let mut water = Water { at, values: BTreeMap::new(), over: BTreeSet::new(), fix };
            for (measure, share, over) in values {
                let measure = Measure::ALL[measure];
                let (low, high) = measure.plausible();
                let fine = if measure == Measure::Sg { 1000.0 } else { 10.0 };
                let value = ((low + share * (high - low)) * fine).round() / fine;
                water.values.insert(measure, finite(value));
                if over {
                    water.over.insert(measure);
                }
            }
            Act::Reading(water)
        })
        .boxed()
}

fn simple() -> BoxedStrategy<Act> {
    let signs = prop::collection::btree_set(prop::sample::select(SIGNS.to_vec()), 1..4);
    prop_oneof![
        bag_or_box().prop_map(|at| Act::Open { at }),
        a_box().prop_map(|at| Act::Done { at }),
        (place(), prop::option::of(1..=100u32), prop::option::of(1..=900u32), any::<bool>()).prop_map(
            |(at, percent, litres, fix)| Act::Swap {
                at,
                percent: percent.map(|n| finite(f64::from(n))),
                litres: litres.filter(|_| percent.is_none()).map(|n| finite(f64::from(n) / 10.0)),
                fix,
            }
        ),
        (place(), signs).prop_map(|(at, signs)| Act::Observe { at, signs }),
        (vessel(), prop::option::of(bag_or_box()), number(300), prop::option::of(species()), any::<bool>()).prop_map(
            |(to, from, count, species, fix)| Act::Move { to, from: from.filter(|_| !fix), count, species, fix }
        ),
        (some_tank(), prop::option::of(1..=300u32), prop::option::of(buyer()), any::<bool>())
            .prop_map(|(at, count, buyer, fix)| Act::Ship { at, count, buyer, fix }),
    ]
    .boxed()
}

fn planned() -> BoxedStrategy<Act> {
    prop_oneof![
        (place(), prop::option::of(1..=2000u32), prop::option::of(clock()))
            .prop_map(|(at, in_min, clock)| { Act::Recheck { at, in_min, clock: clock.filter(|_| in_min.is_none()) } }),
        (place(), prop::option::of(1..=200u32), any::<bool>(), prop::option::of(words())).prop_map(
            |(at, hours, day, why)| Act::Hold {
                at,
                hours: hours.map(|n| finite(f64::from(n) / 2.0)),
                until: (hours.is_none() && day).then(|| "2026-03-09T14:00".into()),
                why,
            }
        ),
        (some_tank(), prop::option::of(1..=300u32), prop::option::of(words()))
            .prop_map(|(at, count, anyway)| Act::Clear { at, count, anyway }),
        (1..=300u32, prop::option::of(some_tank()), species(), prop::option::of(buyer()), any::<bool>()).prop_map(
            |(count, at, species, buyer, fix)| Act::Reserve {
                count: Some(count),
                species: at.is_none().then_some(species),
                at,
                buyer,
                fix,
            }
        ),
        prop::option::of(1..=300u32).prop_map(|in_min| Act::Later { in_min }),
        (words(), prop::option::of(place())).prop_map(|(text, at)| Act::Note { text, at }),
        Just(Act::Undo),
        (prop::option::of(1..=2000u32), 0..4u8).prop_map(|(litres, system)| Act::Vessels {
            names: vec!["C1".into(), "C2".into(), "D7".into()],
            kind: Some(VesselKind::Tub),
            litres: litres.map(|n| finite(f64::from(n))).or(Some(finite(9.5))),
            system: (system == 0).then(|| "north".into()),
        }),
        (prop::option::of(0..4u8), prop::option::of(1..=900u32)).prop_map(|(stage, delay_min)| {
            let stage = stage.map(|stage| match stage {
                0 => Stage::Landed,
                1 => Stage::CustomsCleared,
                2 => Stage::Collected,
                _ => Stage::InHouse,
            });
            Act::Arrive { delay_min: delay_min.or(stage.is_none().then_some(45)), stage }
        }),
    ]
    .boxed()
}

fn dose() -> BoxedStrategy<Act> {
    let units = [
        DoseUnit::Ml,
        DoseUnit::L,
        DoseUnit::G,
        DoseUnit::Kg,
        DoseUnit::Mg,
        DoseUnit::Drop,
        DoseUnit::Tsp,
        DoseUnit::Tbsp,
        DoseUnit::Cap,
        DoseUnit::Scoop,
        DoseUnit::Pinch,
        DoseUnit::Pump,
        DoseUnit::Oz,
        DoseUnit::FlOz,
        DoseUnit::Cup,
    ];
    let product = prop_oneof![
        Just("ammonia binder"),
        Just("dechlorinator"),
        Just("salt"),
        Just("buffer"),
        Just("methylene blue"),
        Just("bacteria"),
        Just("metronidazole")
    ];
    (place(), product, 1..=500u32, prop::sample::select(units.to_vec()), any::<bool>())
        .prop_map(|(at, product, amount, unit, fix)| Act::Dose {
            at,
            product: product.into(),
            amount: Some(finite(f64::from(amount) / 4.0)),
            unit: Some(unit),
            fix,
        })
        .boxed()
}

fn question() -> BoxedStrategy<Act> {
    (0..10u8, prop::option::of(place()), prop::option::of(species()))
        .prop_map(|(about, at, species)| {
            let ask = |about, at, species| Act::Ask { about, at, species };
            match about {
                0 => ask(About::Due, at, None),
                1 => ask(About::Board, None, None),
                2 if at.is_some() => ask(About::Place, at, None),
                2 | 3 => ask(About::Stock, None, species),
                4 => ask(About::Deaths, at, species),
                5 => ask(About::Order, None, None),
                6 => ask(About::Plan, at, species),
                7 => ask(About::Claim, None, None),
                8 => ask(About::Buyers, None, species),
                _ => ask(About::Help, None, None),
            }
        })
        .boxed()
}

/// Any act, and a time of happening where one can be said.
fn any_said() -> BoxedStrategy<Said> {
    prop_oneof![
        (prop_oneof![count(), water(), simple(), dose()], prop::option::of(clock()))
            .prop_map(|(act, when)| Said { act, when }),
        prop_oneof![planned(), question()].prop_map(Said::from),
    ]
    .boxed()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn what_is_read_back_reads_as_the_same_act(expected in any_said()) {
        let text = clause(&expected);
        let reading = said(&text);
        prop_assert_eq!(&reading.acts, &vec![expected], "{}", text);
        prop_assert!(reading.ask.is_none(), "{} asks {:?}", text, reading.ask);
    }

    #[test]
    fn capitals_change_nothing(expected in prop_oneof![count(), water(), simple(), dose(), planned()]) {
        let without_words = matches!(&expected, Act::Note { .. } | Act::Hold { why: Some(_), .. } | Act::Clear { anyway: Some(_), .. } | Act::Vessels { .. });
        prop_assume!(!without_words);
        let text = clause(&expected.into());
        prop_assert_eq!(said(&text.to_uppercase()).acts, said(&text.to_lowercase()).acts, "{}", text);
    }

    #[test]
    fn chatter_around_a_report_changes_nothing(
        expected in prop_oneof![count(), water(), simple(), dose()],
        before in prop::sample::select(vec!["", "hi all\n", "right then.\n", "coffee is cold again\n", "haha 😂\n"]),
        after in prop::sample::select(vec!["", "\nthanks", "\nwho ate my sandwich", "\nmy hands are cold", "\n👍"]),
    ) {
        let text = clause(&expected.into());
        let plain = said(&text).acts;
        let text = format!("{before}{text}{after}");
        prop_assert_eq!(said(&text).acts, plain, "{}", text);
    }

    #[test]
    fn a_question_mark_never_adds_a_record(expected in prop_oneof![count(), water(), simple(), dose(), planned()], at in 0..60usize) {
        let text = clause(&expected.into());
        let plain = said(&text).acts;
        let at = text.char_indices().map(|(at, _)| at).filter(|n| text[*n..].starts_with(' ')).nth(at % 6).unwrap_or(text.len());
        let asked = format!("{}?{}", &text[..at], &text[at..]);
        for act in said(&format!("{text}?")).acts.into_iter().filter(|said| !matches!(said.act, Act::Ask { .. })) {
            prop_assert!(plain.contains(&act), "{text}? records {act:?}");
        }
        let _ = said(&asked);
    }

    #[test]
    fn any_text_is_read_without_a_panic(text in "\\PC{0,200}") {
        let _ = said(&text);
    }

    #[test]
    fn any_run_of_trade_words_is_read_without_a_panic(
        words in prop::collection::vec(
            prop::sample::select(vec![
                "A1", "7.2", "box", "7", "bag", "next", "dead", "weak", "ok", "not", "no", "sorry", "5", "ml", "binder", "into", "from",
                "tray", "to", "all", "ph", "6.4", "-", "/", ",", ".", "?", "half", "and", "a", "hold", "until", "friday", "clear", "anyway",
                "recheck", "in", "2h", "at", "6", "for", "Reef", "&", "River", "shipped", "scratch", "that", "*", "%", "loaches", "more",
                "rest", "of", "40", "note", "undo", "later", "which", "what's", "due", "é", "½", "\n", "🐟", "\0", "lot", "43", "gasping",
                "on", "its", "side", "F", "77", "+", ">", "off", "the", "chart", "between", "1-2", "3 or 4", "each", "last", "other",
            ]),
            0..30,
        ),
        re in prop::collection::vec(place(), 0..3),
        second in "\\PC{0,40}",
    ) {
        let incoming = Incoming { from: "ana".into(), at: now(), text: words.join(" "), re };
        let first = super::read(&vocabulary(), &Dialogue::default(), &incoming);
        let mut dialogue = first.dialogue;
        for text in [second.as_str(), "7", "A3", "tsp", "binder", "sorry 5 not 4", "rest into A12", "next bag 3 dead"] {
            dialogue = said_by("ana", text, &dialogue).dialogue;
        }
        for act in &first.acts {
            if let Some(place) = super::attach::place_of(&act.act) {
                prop_assert!(!super::place_words::is_nowhere(place), "{:?} is nowhere in {:?}", act, words.join(" "));
            }
        }
    }
}
