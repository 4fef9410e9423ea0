//! One act, said in many ways: places, numbers, words and their order vary, what is recorded does not.

use proptest::prelude::*;
use proptest::sample::{Index, select};
use serde_json::{Value, json};

use super::tests::said;

/// Something to say, with the words that say it.
type Said = (Value, Vec<&'static str>);

fn places() -> Vec<Said> {
    vec![
        (json!({"tank": "A12"}), vec!["A12", "a12", "tank a12", "tank A-12", "tank a twelve"]),
        (json!({"tray": "3"}), vec!["tray 3", "tr3", "tray three"]),
        (json!({"box": 7, "bag": 2}), vec!["7.2", "7/2", "7b2", "box 7 bag 2", "bag 2 of box 7", "bx7 bag two"]),
        (json!({"box": 7}), vec!["box 7", "bx7", "ctn 7", "#7"]),
    ]
}

/// Places in whose names no number stands by itself, so that they can be named anywhere.
fn plain_places() -> Vec<Said> {
    places()
        .into_iter()
        .map(|(at, names)| (at, names.into_iter().filter(|name| !name.starts_with('7')).collect()))
        .collect()
}

fn states() -> Vec<(&'static str, Vec<&'static str>)> {
    vec![
        ("dead", vec!["dead", "doa", "morts", "stiff"]),
        ("weak", vec!["weak"]),
        ("alive", vec!["alive", "living"]),
        ("sound", vec!["ok", "healthy", "good"]),
    ]
}

/// Values of water, each with the field that it is kept in.
fn waters() -> Vec<(&'static str, f64, Vec<&'static str>)> {
    vec![
        ("temp_c", 25.0, vec!["temp 25", "25C", "25 degrees", "77F", "temp is 77", "temperature 25c"]),
        ("ph", 6.4, vec!["ph 6.4", "pH 6,4", "ph is 6.4", "ph: 6.4", "ph=6.4", "ph about 6.4", "ph at 6.4"]),
        ("tan_mg_l", 3.0, vec!["ammonia 3", "amm 3ppm", "nh3 3", "TAN 3 mg/l", "3 ppm ammonia", "ammonia at 3"]),
        ("no2_mg_l", 0.5, vec!["nitrite 0.5", "no2 .5", "nitrite 0,5 ppm"]),
        ("no3_mg_l", 40.0, vec!["nitrate 40", "no3 40 ppm"]),
        ("do_mg_l", 5.1, vec!["do 5.1", "oxygen 5.1", "o2 5.1 mg/l"]),
        ("sal_ppt", 34.0, vec!["salinity 34", "sal 34ppt", "34 ppt"]),
    ]
}

fn signs() -> Vec<(&'static str, Vec<&'static str>)> {
    vec![
        ("gasping", vec!["gasping", "gasping at the surface", "piping"]),
        ("flashing", vec!["flashing", "scratching"]),
        ("off_feed", vec!["not eating", "off feed"]),
        ("feeding", vec!["eating", "feeding well"]),
        ("cloudy_water", vec!["cloudy water", "water is cloudy", "milky"]),
        ("white_spot", vec!["white spot", "ich"]),
        ("clamped_fins", vec!["clamped fins", "fins clamped"]),
    ]
}

fn products() -> Vec<(&'static str, Vec<&'static str>)> {
    vec![
        ("ammonia binder", vec!["binder", "ammonia remover"]),
        ("salt", vec!["salt"]),
        ("dechlorinator", vec!["dechlor", "conditioner"]),
        ("buffer", vec!["bicarb"]),
    ]
}

fn amounts() -> Vec<(f64, &'static str, Vec<&'static str>)> {
    vec![
        (5.0, "ml", vec!["5 ml", "5ml", "five ml"]),
        (2.0, "g", vec!["2g", "2 grams", "two g"]),
        (1.0, "tsp", vec!["1 tsp", "a teaspoon"]),
        (0.5, "tsp", vec!["half a tsp", "1/2 tsp"]),
    ]
}

fn one<'a>(pick: &Index, words: &[&'a str]) -> &'a str {
    words[pick.index(words.len())]
}

/// Puts words into a sentence.
fn fill(sentence: &str, words: &[(&str, &str)]) -> String {
    words.iter().fold(sentence.to_owned(), |text, (name, word)| text.replace(name, word))
}

/// What is recorded, in no order, and whether it asks.
fn recorded(text: &str) -> (Vec<String>, bool) {
    let reading = said(text);
    let mut acts: Vec<String> =
        reading.acts.iter().map(|said| serde_json::to_value(said).expect("an act is JSON").to_string()).collect();
    acts.sort_unstable();
    (acts, reading.ask.is_some())
}

fn only(act: Value) -> (Vec<String>, bool) {
    (vec![act.to_string()], false)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

    #[test]
    fn a_count_is_the_same_however_it_is_said(
        (at, names) in select(places()),
        (n, numbers) in select(vec![(4, vec!["4", "four"]), (12, vec!["12", "twelve", "a dozen"])]),
        (field, words) in select(states()),
        sentence in select(vec![
            "{p} {n} {s}", "{p}: {n} {s}", "{p} - {n} {s}", "{p}, {n} {s}", "{n} {s} in {p}", "{p} has {n} {s}", "{p} so far {n} {s}",
            "there are {n} {s} in {p}", "found {n} {s} in {p}", "{p} we have {n} {s}", "in {p} {n} {s}", "ok {p} {n} {s}",
            "checked {p}, {n} {s}", "{p} {n} fish {s}", "i see {n} {s} in {p}", "{n} fish {s} in {p}", "hi, {n} {s} in {p} :(",
        ]),
        pick in any::<[Index; 3]>(),
    ) {
        let text = fill(sentence, &[("{p}", one(&pick[0], &names)), ("{n}", one(&pick[1], &numbers)), ("{s}", one(&pick[2], &words))]);
        prop_assert_eq!(recorded(&text), only(json!({"act": "count", "at": at, field: n})), "{}", text);
    }

    #[test]
    fn a_count_keeps_its_fish_wherever_they_are_named(
        (at, names) in select(places()),
        (field, words) in select(states()[..3].to_vec()),
        (fish, called) in select(vec![("clown loach", vec!["loaches", "clown loaches"]), ("neon tetra", vec!["neons", "neon tetras"])]),
        sentence in select(vec![
            "{p} 4 {f} {s}", "{p} 4 {s} {f}", "4 {s} {f} in {p}", "4 {f} {s} in {p}", "{p}: {f}, 4 {s}", "{p} {f} 4 {s}", "{p} 4 of the {f} {s}",
        ]),
        pick in any::<[Index; 3]>(),
    ) {
        let text = fill(sentence, &[("{p}", one(&pick[0], &names)), ("{s}", one(&pick[1], &words)), ("{f}", one(&pick[2], &called))]);
        prop_assert_eq!(recorded(&text), only(json!({"act": "count", "at": at, field: 4, "species": fish})), "{}", text);
    }

    #[test]
    fn readings_are_the_same_in_any_order_and_with_any_marks(
        (at, names) in select(places()[..3].to_vec()),
        values in Just(waters()).prop_shuffle(),
        mark in select(vec![" ", ", ", " and ", "; ", " / ", "\n"]),
        pick in any::<[Index; 4]>(),
    ) {
        let said: Vec<&str> = values[..3].iter().zip(&pick).map(|((_, _, words), pick)| one(pick, words)).collect();
        let text = format!("{} {}", one(&pick[3], &names), said.join(mark));
        let mut act = json!({"act": "reading", "at": at});
        values[..3].iter().for_each(|(field, value, _)| act[*field] = json!(value));
        prop_assert_eq!(recorded(&text), only(act), "{}", text);
    }

    #[test]
    fn a_dose_is_the_same_however_it_is_said(
        (at, names) in select(plain_places()),
        (product, called) in select(products()),
        (amount, unit, words) in select(amounts()),
        sentence in select(vec![
            "{u} {m} {p}", "{p} {u} {m}", "{p}: {u} {m}", "put {u} of {m} in {p}", "{m} {u} in {p}", "dosed {p} with {u} {m}",
            "added {u} {m} to {p}", "{p} dosed {u} {m}", "{u} of {m} into {p}", "i put {u} {m} in {p}",
        ]),
        pick in any::<[Index; 3]>(),
    ) {
        let text = fill(sentence, &[("{p}", one(&pick[0], &names)), ("{m}", one(&pick[1], &called)), ("{u}", one(&pick[2], &words))]);
        let act = json!({"act": "dose", "at": at, "product": product, "amount": amount, "unit": unit});
        prop_assert_eq!(recorded(&text), only(act), "{}", text);
    }

    #[test]
    fn a_move_is_the_same_however_it_is_said(
        (from, names) in select(vec![
            (json!({"tray": "3"}), vec!["tray 3", "tr3"]),
            (json!({"box": 7, "bag": 2}), vec!["7.2", "box 7 bag 2"]),
            (json!({"tank": "A1"}), vec!["A1", "tank a1"]),
        ]),
        number in select(vec!["20", "twenty"]),
        (fish, called) in select(vec![(None, ""), (Some("neon tetra"), "neons "), (Some("clown loach"), "loaches ")]),
        sentence in select(vec![
            "moved {n} {f}from {a} to {b}", "{n} {f}from {a} to {b}", "{n} {f}from {a} into {b}", "transferred {n} {f}from {a} to {b}",
            "we moved {n} {f}from {a} into {b}", "put {n} {f}from {a} in {b}", "{n} {f}went from {a} to {b}", "{n} {f}out of {a} into {b}",
            "{a}: {n} {f}to {b}", "{a} {n} {f}into {b}",
        ]),
        to in select(vec!["A12", "a12", "tank a12"]),
        pick in any::<Index>(),
    ) {
        let text = fill(sentence, &[("{a}", one(&pick, &names)), ("{b}", to), ("{n}", number), ("{f}", called)]);
        let mut act = json!({"act": "move", "to": {"tank": "A12"}, "from": from, "count": 20});
        if let Some(fish) = fish {
            act["species"] = json!(fish);
        }
        prop_assert_eq!(recorded(&text), only(act), "{}", text);
    }

    #[test]
    fn a_sign_is_the_same_however_it_is_said(
        (at, names) in select(places()[..3].to_vec()),
        (sign, words) in select(signs()),
        sentence in select(vec![
            "{p} {s}", "{p}: {s}", "{p} are {s}", "fish in {p} {s}", "{s} in {p}", "{p} still {s}", "{p} they are {s}", "the fish in {p} are {s}",
        ]),
        pick in any::<[Index; 2]>(),
    ) {
        let text = fill(sentence, &[("{p}", one(&pick[0], &names)), ("{s}", one(&pick[1], &words))]);
        prop_assert_eq!(recorded(&text), only(json!({"act": "observe", "at": at, "signs": [sign]})), "{}", text);
    }

    /// Each fact says its own kind of thing of the same place, so none can be taken for a part of another.
    #[test]
    fn facts_of_one_place_are_the_same_in_any_order(
        (_, names) in select(places()[..3].to_vec()),
        facts in Just(vec!["4 dead", "2 weak", "ph 6.4", "ammonia 3", "5 ml binder", "gasping", "changed 30%", "36 alive"]).prop_shuffle(),
        many in 2..6usize,
        pick in any::<Index>(),
    ) {
        let mut sorted = facts[..many].to_vec();
        sorted.sort_unstable();
        let place = one(&pick, &names);
        let (text, other) = (format!("{place} {}", facts[..many].join(", ")), format!("{place} {}", sorted.join(", ")));
        prop_assert_eq!(recorded(&text), recorded(&other), "{} / {}", text, other);
        prop_assert!(!recorded(&text).1, "{} asks", text);
    }
}

/// Text that nobody would type, and how much of it was read.
#[test]
fn nothing_that_can_be_typed_stops_the_reader() {
    let pieces = [
        "🐟",
        "👩‍👩‍👧‍👦",
        "e\u{301}",
        "\u{202e}A12 2 dead\u{202c}",
        "مرحبا 4",
        "\0",
        "\u{feff}",
        "Z̷͓̈",
        "½",
        "٣",
        "٤ dead",
        "１２",
        "𝟜 dead",
        "7.2",
        "-",
        "--",
        "7.2.3",
        "1e9",
        "99999999999999999999",
        "0x10",
        "''",
        "\u{200b}",
        "ß",
        "İ",
        "ǆ",
        "A12",
        "\r\n",
        "\t",
        "°",
        "%",
        "5 ml",
        "ph",
        "box",
        "#",
        "##7",
        "7/",
        "/2",
        ":",
        "*",
        "sorry",
        "not",
        "?",
        "of of of",
        "bag bag",
        "to to A1",
    ];
    let mut state = 0x9e37_79b9_u32;
    let mut read = 0;
    for round in 0..2_000 {
        let mut text = String::new();
        for _ in 0..1 + round % 9 {
            // A linear congruential step (Numerical Recipes): the same texts on every machine.
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            text.push_str(pieces[(state >> 16) as usize % pieces.len()]);
            if state & 0x100 > 0 {
                text.push(' ');
            }
        }
        read += usize::from(!said(&text).acts.is_empty());
    }
    for piece in pieces {
        let _ = said(&piece.repeat(10_000 / piece.len().max(1)));
    }
    println!("2,000 texts and {} of 10,000 bytes; {read} of them say something", pieces.len());
    assert!(read > 0);
}
