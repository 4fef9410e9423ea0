//! The samples with their gold. Firms in them are invented.

use std::path::{Path, PathBuf};

use holdfast_bot::packing;
use serde_json::Value;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/packing")
}

fn gold(folder: &Path) -> Vec<Value> {
    let text = std::fs::read_to_string(folder.join("expected.jsonl")).unwrap();
    text.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

/// Numbers equal by value, questions by how many there are.
fn comparable(mut list: Value) -> Value {
    fn numbers(value: &mut Value) {
        match value {
            Value::Number(number) => *value = number.as_f64().unwrap().to_string().into(),
            Value::Array(items) => items.iter_mut().for_each(numbers),
            Value::Object(fields) => fields.values_mut().for_each(numbers),
            _ => {}
        }
    }
    list["questions"] = list["questions"].as_array().unwrap().len().into();
    numbers(&mut list);
    list
}

#[test]
fn every_sample_reads_as_its_gold() {
    read_as_gold(&folder(), 7);
}

/// Lists by somebody who had not seen the reader; their README says where the contract leaves room.
#[test]
fn every_list_unlike_the_samples_reads_as_its_gold() {
    read_as_gold(&folder().join("unlike"), 12);
}

#[track_caller]
fn read_as_gold(folder: &Path, count: usize) {
    let gold = gold(folder);
    assert_eq!(gold.len(), count);
    for expected in gold {
        let name = expected["file"].as_str().unwrap().to_owned();
        let bytes = std::fs::read(folder.join(&name)).unwrap();
        let list = packing::read(&name, &bytes).unwrap();
        let questions = list.questions.clone();
        let read = comparable(serde_json::to_value(&list).unwrap());
        let expected = comparable(expected);
        for key in expected.as_object().unwrap().keys() {
            assert_eq!(read[key], expected[key], "{name}: {key} {questions:?}");
        }
        assert_eq!(read, expected, "{name}");
    }
}

#[test]
fn every_key_is_there_in_the_order_of_the_contract() {
    let gold = std::fs::read_to_string(folder().join("expected.jsonl")).unwrap();
    let keys = |json: &str| -> Vec<String> {
        // Keys in the order of the text; the values here hold no colons after quotes.
        json.match_indices("\": ").map(|(at, _)| json[..at].rsplit('"').next().unwrap().to_owned()).collect()
    };
    let first = gold.lines().next().unwrap();
    let bytes = std::fs::read(folder().join("seventeen-rivers.xlsx")).unwrap();
    let ours =
        serde_json::to_string(&packing::read("seventeen-rivers.xlsx", &bytes).unwrap()).unwrap().replace("\":", "\": ");
    assert_eq!(keys(&ours), keys(first));
}

#[test]
fn files_come_out_one_a_line_in_the_order_of_the_arguments() {
    let dir = tempfile::tempdir().unwrap();
    let damaged = dir.path().join("damaged.xlsx");
    std::fs::write(&damaged, b"PK\x03\x04 and nothing more").unwrap();
    let files =
        [folder().join("trpyt.csv"), dir.path().join("not-there.xlsx"), damaged, folder().join("pasted-night.txt")];
    let mut out = Vec::new();
    assert_eq!(packing::run(&files, &mut out).unwrap(), 1);
    let lists: Vec<Value> =
        String::from_utf8(out).unwrap().lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let names: Vec<&str> = lists.iter().map(|list| list["file"].as_str().unwrap()).collect();
    assert_eq!(names, ["trpyt.csv", "not-there.xlsx", "damaged.xlsx", "pasted-night.txt"]);
    for unread in &lists[1..3] {
        assert_eq!(unread["lines"].as_array().unwrap().len(), 0);
        assert_eq!(unread["questions"].as_array().unwrap().len(), 1);
    }
    let mut out = Vec::new();
    assert_eq!(packing::run(&files[..1], &mut out).unwrap(), 0, "questions alone are no failure");
}

#[test]
fn the_columns_as_understood_come_with_the_list() {
    let bytes = std::fs::read(folder().join("seventeen-rivers.xlsx")).unwrap();
    let understanding = packing::understand("seventeen-rivers.xlsx", &bytes, &[]).unwrap();
    let columns: Vec<String> = understanding
        .columns
        .iter()
        .map(|column| {
            format!(
                "{} {} {} {:?}",
                column.sheet.as_deref().unwrap_or("-"),
                column.column,
                column.heading,
                column.meaning
            )
        })
        .collect();
    assert_eq!(
        columns,
        [
            "PL A C/No. Box",
            "PL B Description Species",
            "PL C Scientific name Scientific",
            "PL D Size Size",
            "PL E Bags/box BagsPerBox",
            "PL F Pcs/bag PerBag",
            "PL G Total pcs Quantity",
            "PL H U/Price (USD) Price",
        ]
    );
}
