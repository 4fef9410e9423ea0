//! Published tables, worked examples and values of general-purpose libraries, through `holdfast reckon`'s own door. The rows
//! of the check files name their sources.

use std::collections::BTreeMap;
use std::io::Write;

use holdfast_bot::reckon;
use serde_json::{Value, json};

/// The answers to these questions, in order.
fn asked(questions: &str) -> Vec<Value> {
    let mut output = Vec::new();
    reckon::run(questions.as_bytes(), &mut output).expect("memory is written to");
    let text = String::from_utf8(output).expect("JSON is text");
    text.lines().map(|line| serde_json::from_str(line).expect("each line is an object")).collect()
}

fn one(quantity: &str, inputs: Value) -> Value {
    asked(&json!({"id": 1, "quantity": quantity, "inputs": inputs}).to_string()).remove(0)
}

fn error(answer: &Value) -> &str {
    answer["error"].as_str().unwrap_or_else(|| panic!("no error in {answer}"))
}

/// The cells of a file of comma-separated values with quotes as in RFC 4180, by the names of its columns.
fn rows(text: &str) -> Vec<BTreeMap<String, String>> {
    let mut lines = text.lines().map(|line| {
        let (mut cells, mut quoted) = (vec![String::new()], false);
        let mut letters = line.chars().peekable();
        while let Some(letter) = letters.next() {
            match letter {
                '"' if quoted && letters.peek() == Some(&'"') => {
                    cells.last_mut().unwrap().push(letters.next().unwrap())
                }
                '"' => quoted = !quoted,
                ',' if !quoted => cells.push(String::new()),
                other => cells.last_mut().unwrap().push(other),
            }
        }
        cells
    });
    let names = lines.next().expect("a heading");
    lines.map(|cells| names.iter().cloned().zip(cells).collect()).collect()
}

#[test]
fn every_row_of_the_water_checks_is_within_its_tolerance() {
    let checks = rows(include_str!("reckon/water-checks.csv"));
    assert!(checks.len() >= 190);
    let mut outside = Vec::new();
    for row in &checks {
        let answer = one(&row["quantity"], serde_json::from_str(&row["inputs"]).unwrap());
        let number = |name: &str| row[name].parse::<f64>().unwrap();
        let (expected, tolerance) = (number("expected"), number("tolerance_abs"));
        let allowed = tolerance.max(number("tolerance_rel") * expected.abs());
        match answer["value"].as_f64() {
            Some(value) if (value - expected).abs() <= allowed => {}
            _ => outside.push(format!("{} {}: {answer}, expected {expected}", row["id"], row["quantity"])),
        }
    }
    assert!(outside.is_empty(), "{}", outside.join("\n"));
}

#[test]
fn the_trade_checks_that_have_their_quantity_come_out() {
    let mut known = BTreeMap::<String, usize>::new();
    for row in rows(include_str!("reckon/trade-checks.csv")) {
        let quantity = &row["quantity"];
        if reckon::quantities().all(|known| known.name != quantity) {
            continue;
        }
        *known.entry(quantity.clone()).or_default() += 1;
        let answer = one(quantity, serde_json::from_str(&row["inputs"]).unwrap());
        let expected: Value = serde_json::from_str(&row["expected"]).unwrap();
        let close = match (answer["value"].as_f64(), expected.as_f64()) {
            (Some(value), Some(expected)) => {
                // The value to as many places as the row shows.
                let places = row["expected"].split('.').nth(1).map_or(0, str::len);
                (value - expected).abs() <= 0.51 * 10f64.powi(-i32::try_from(places).unwrap())
            }
            _ => answer["value"] == expected,
        };
        assert!(close && answer.get("error").is_none(), "{} {quantity}: {answer}, expected {expected}", row["id"]);
    }
    assert!(known.values().sum::<usize>() >= 35, "{known:?}");
}

/// phreeqpython with vitens.dat, redox-uncoupled ammonia, 25 °C, 2 L of gas for each litre of water, then opened to 600
/// µatm: packing alkalinity, TAN, mmol CO2; sealed pH, CO2; opened pH, NH3-N where there is any.
#[test]
fn a_fouled_bag_comes_out_as_phreeqc_has_it() {
    let rows = [
        (50.0, 15.0, 12.65, 6.107, 152.4, 8.298, Some(1.456)),
        (50.0, 0.0, 12.65, 5.759, 166.4, 8.014, None),
        (20.0, 8.0, 8.0, 5.978, 97.5, 7.989, Some(0.407)),
        (150.0, 15.0, 12.65, 6.386, 154.5, 8.576, Some(2.499)),
    ];
    for (alkalinity, ammonia, millimoles, sealed, co2, opened, nh3) in rows {
        let bag = json!({
            "temp_c": 25, "packing_alk_mg_l_caco3": alkalinity, "tan_mg_l": ammonia, "co2_mmol_l": millimoles,
        });
        let with = |key: &str, value: f64| {
            let mut inputs = bag.clone();
            inputs[key] = json!(value);
            inputs
        };
        let value = |quantity: &str, inputs: Value| {
            let answer = one(quantity, inputs);
            answer["value"].as_f64().unwrap_or_else(|| panic!("{quantity}: {answer}"))
        };
        assert!((value("bag_ph_sealed", bag.clone()) - sealed).abs() < 0.012, "{bag}");
        assert!((value("bag_co2_mg_l", with("headspace_l_l", 2.0)) / co2 - 1.0).abs() < 0.02, "{bag}");
        assert!((value("bag_ph_opened", with("pco2_uatm", 600.0)) - opened).abs() < 0.012, "{bag}");
        if let Some(nh3) = nh3 {
            let found = value("bag_nh3_opened_mg_l", bag.clone());
            assert!((found / nh3 - 1.0).abs() < 0.03, "{bag}: {found}");
        }
    }
    // mg or mmol, and the load where neither is given: 100 g/L, 30 h at 25 °C make 21 mg/L and pH near 6.
    let milligrams = json!({"temp_c": 25, "packing_alk_mg_l_caco3": 50, "tan_mg_l": 15, "co2_mg_l": 12.65 * 44.0095});
    let moles = json!({"temp_c": 25, "packing_alk_mg_l_caco3": 50, "tan_mg_l": 15, "co2_mmol_l": 12.65});
    let same = |inputs| one("bag_ph_sealed", inputs)["value"].as_f64().unwrap();
    assert!((same(milligrams) - same(moles)).abs() < 1e-9);
    let load = json!({"load_g_l": 100, "hours": 30, "temp_c": 25});
    assert!((one("bag_tan_mg_l", load)["value"].as_f64().unwrap() - 21.0).abs() < 0.1);
    let load = json!({"load_g_l": 100, "hours": 30, "temp_c": 25, "packing_alk_mg_l_caco3": 50, "packing_ph": 7.5});
    assert!((same(load) - 6.1).abs() < 0.15);
    let nothing = one("bag_ph_sealed", json!({"temp_c": 25, "packing_alk_mg_l_caco3": 50}));
    assert_eq!(error(&nothing), "tan_mg_l is not given, and load_g_l: is missing");
}

#[test]
fn ways_over_are_compared_by_the_ammonia_that_fish_meet() {
    let bag = json!({
        "temp_c": 25, "ph": 6.11, "tan_mg_l": 15, "alk_mg_l_caco3": 103.6,
        "tank_temp_c": 25, "tank_ph": 7.6, "tank_alk_mg_l_caco3": 80,
    });
    let of = |quantity: &str, way: &str, gas: f64| {
        let mut inputs = bag.clone();
        inputs["way"] = json!(way);
        inputs["gas_exchange_per_h"] = json!(gas);
        let answer = one(quantity, inputs);
        answer["value"].as_f64().unwrap_or_else(|| panic!("{answer}"))
    };
    assert_eq!(one("plan_way", bag.clone())["value"], "direct");
    assert!(of("plan_nh3_minutes", "stepwise", 3.0) > 10.0 * of("plan_nh3_minutes", "direct", 3.0));
    // Without gas exchange and without steps it is the NH3 of the closed bag itself: 15 mg/L at pH 6.11, ion pairing of
    // charge included (Emerson's fraction 0.00073, 5 % less by activity).
    let closed = of("plan_nh3_peak_mg_l", "direct", 0.0);
    assert!((closed / (15.0 * 0.000730) - 1.0).abs() < 0.08, "{closed}");
    // With gas leaving at once the drip meets nearly all that opening can do: PHREEQC's 1.456 mg/L, diluted a little.
    let wild = of("plan_nh3_peak_mg_l", "drip", 1000.0);
    assert!((1.2..1.5).contains(&wild), "{wild}");
    let mut wrong = bag.clone();
    wrong["way"] = json!("fast");
    assert_eq!(error(&one("plan_nh3_minutes", wrong)), "way: \"fast\" is none of direct, stepwise and drip");
}

#[test]
fn an_unknown_quantity_and_bad_inputs_are_errors_that_name_them() {
    let cases = [
        (one("nh3", json!({})), "quantity: \"nh3\" is not known; see holdfast reckon --list"),
        (one("nh3_mg_l", json!({"tan_mg_l": 3, "ph": 7})), "temp_c: is missing"),
        (
            one("nh3_mg_l", json!({"tan_mg_l": -3, "ph": 7, "temp_c": 25})),
            "tan_mg_l: total ammonia must be from 0 to 1000 mg/L as N, not -3",
        ),
        (one("nh3_mg_l", json!({"tan_mg_l": "3", "ph": 7, "temp_c": 25})), "tan_mg_l: \"3\" is no number"),
        (
            one("nh3_fraction", json!({"temp_c": 25, "ph": 11})),
            "pH must be from 6 to 10 for ammonia in fresh water (Emerson 1975), not 11",
        ),
        (
            one("do_sat_mg_l", json!({"temp_c": 44})),
            "temperature must be from 0 to 40 °C for oxygen saturation (USGS 2011.03), not 44",
        ),
        (one("alk_mg_l_caco3", json!({"dkh": 3, "gh": 4})), "gh: is no input of this quantity, which takes dkh"),
        (one("ph_of_mix", json!({"waters": []})), "waters: must be a list of at least one"),
        (
            one("ph_of_mix", json!({"waters": [{"volume_l": 1, "temp_c": 25, "ph": 7}]})),
            "waters[0].alk_mg_l_caco3: is missing",
        ),
        (
            one("co2_mg_l", json!({"temp_c": 25, "ph": 11.5, "alk_mg_l_caco3": 20})),
            "pH 11.5 and alkalinity 20 mg/L as CaCO3 cannot be true of one water: measure both again",
        ),
    ];
    for (answer, expected) in cases {
        assert_eq!(error(&answer), expected);
        assert_eq!(answer["id"], 1);
        assert!(answer.get("value").is_none());
    }
}

#[test]
fn a_line_that_is_no_question_is_answered_and_the_next_is_read() {
    let long = format!("{{\"id\": \"{}\"}}", "x".repeat(3 << 20));
    let good = json!({"id": "b", "quantity": "unit_c_to_f", "inputs": {"x": 25}});
    let answers = asked(&format!("\u{feff}\nnonsense\n{long}\n[1]\n\n{good}\n"));
    assert_eq!(answers.len(), 4, "{answers:?}");
    assert!(error(&answers[0]).starts_with("no question: "));
    assert_eq!(error(&answers[1]), "the line is longer than 1 MiB");
    assert!(error(&answers[2]).starts_with("no question: "));
    assert_eq!(answers[3], json!({"id": "b", "value": 77.0, "unit": "°F"}));
}

#[test]
fn every_quantity_is_listed_once_with_its_inputs() {
    let mut output = Vec::new();
    reckon::list(&mut output).unwrap();
    let text = String::from_utf8(output).unwrap();
    let mut names: Vec<&str> = reckon::quantities().map(|quantity| quantity.name).collect();
    for name in &names {
        let lines = text.lines().filter(|line| line.starts_with(&format!("{name} (")));
        assert_eq!(lines.count(), 1, "{name}");
    }
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), reckon::quantities().count());
}

/// Swallows what is written, and counts its lines.
struct Counter(usize);

impl Write for Counter {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.0 += bytes.iter().filter(|byte| **byte == b'\n').count();
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

/// Gives one question again and again, a piece at a time, and never holds more than one.
struct Questions {
    text: Vec<u8>,
    left: usize,
    at: usize,
}

impl std::io::Read for Questions {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        if self.at == self.text.len() {
            (self.at, self.left) = (0, self.left - 1);
        }
        let piece = if self.left == 0 { &[] } else { &self.text[self.at..] };
        let count = piece.len().min(buffer.len());
        buffer[..count].copy_from_slice(&piece[..count]);
        self.at += count;
        Ok(count)
    }
}

#[test]
fn questions_are_answered_as_they_come() {
    let text = json!({"id": 7, "quantity": "nh3_mg_l", "inputs": {"tan_mg_l": 3, "ph": 7, "temp_c": 25}});
    let input = Questions { text: format!("{text}\n").into_bytes(), left: 20_000, at: 0 };
    let mut counter = Counter(0);
    reckon::run(std::io::BufReader::with_capacity(256, input), &mut counter).unwrap();
    assert_eq!(counter.0, 20_000);
}
