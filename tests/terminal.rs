//! The program as a person calls it: a chat from a pipe, ended and opened again, and the other calls on its folder.

use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

/// Calls the program in `folder` with `input` on its standard input.
fn holdfast(folder: &Path, arguments: &[&str], input: &str) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_holdfast"))
        .args(arguments)
        .current_dir(folder)
        .env("USER", "dee")
        .env_remove("RUST_LOG")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program was built");
    child.stdin.take().expect("it is piped").write_all(input.as_bytes()).expect("it reads");
    child.wait_with_output().expect("it ends")
}

fn answers(output: &Output) -> String {
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    assert_eq!(String::from_utf8_lossy(&output.stderr), "", "quiet where all is well");
    String::from_utf8(output.stdout.clone()).expect("text")
}

#[test]
fn a_house_is_the_same_after_it_was_closed_and_opened() {
    let folder = tempfile::tempdir().expect("a folder");
    let first = answers(&holdfast(folder.path(), &[], "enrol ana as crew\ntanks A1-A4 200 L\n/as\n"));
    assert!(first.ends_with("ana (crew), dee (lead)\n"), "{first}");
    let second = answers(&holdfast(folder.path(), &[], "/as\n/as ana\nA2 all good\n"));
    assert!(second.starts_with("ana (crew), dee (lead)\nYou are ana (crew).\n"), "{second}");
    assert!(second.contains("\nA2 "), "the tanks are still known: {second}");
}

#[test]
fn the_three_lines_to_try_are_answered() {
    let folder = tempfile::tempdir().expect("a folder");
    let printed = answers(&holdfast(folder.path(), &[], "sample\n1\n7.2 36 ok 4 doa\nwhat's due?\n"));
    assert!(printed.contains("155 fish"), "{printed}");
    assert!(printed.contains("36 sound, 4 dead"), "{printed}");
    assert!(printed.ends_with("No look is due.\n"), "{printed}");
}

#[test]
fn an_export_becomes_the_same_house_elsewhere() {
    let folder = tempfile::tempdir().expect("a folder");
    answers(&holdfast(folder.path(), &[], "sample\n1\n7.2 36 ok 4 doa\n"));
    answers(&holdfast(folder.path(), &["export", "journal.jsonl"], ""));
    answers(&holdfast(folder.path(), &["import", "journal.jsonl", "--data", "other"], ""));
    let export = answers(&holdfast(folder.path(), &["export", "--data", "other"], ""));
    assert_eq!(export, std::fs::read_to_string(folder.path().join("journal.jsonl")).expect("it was made"));
    answers(&holdfast(folder.path(), &["check", "--data", "other"], ""));
}

#[test]
fn a_settings_file_that_is_refused_opens_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("holdfast.toml"), "[release]\nhold_hour = 48\n").expect("written");
    let output = holdfast(folder.path(), &[], "hi\n");
    assert_eq!(output.status.code(), Some(1));
    let errors = String::from_utf8(output.stderr).expect("text");
    assert_eq!(
        errors,
        "holdfast: the settings holdfast.toml are refused: line 2: there is no setting `release.hold_hour`; did you mean \
         `release.hold_hours`?\n"
    );
    assert!(!folder.path().join("holdfast-data").exists());
}

#[test]
fn the_sample_night_passes() {
    let folder = tempfile::tempdir().expect("a folder");
    answers(&holdfast(folder.path(), &["rehearse"], ""));
}
