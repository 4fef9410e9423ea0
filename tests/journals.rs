//! Journals of earlier days: each must always open, fold, balance, and come out as it went in.
//!
//! `HOLDFAST_WRITE_JOURNAL=NAME cargo test -p holdfast-bot --test journals` writes `tests/journals/NAME.jsonl` from
//! `tests/nights/NAME.night`; `spine` is the sample night. A journal that is kept is not written anew once a release has
//! written journals of its format.

mod night_support;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use holdfast_bot::rehearse::SAMPLE_NIGHT;
use holdfast_bot::store::{Disk, MemoryDisk, Options, Store, check, export, import};
use night_support::{play_on, tests_folder};

const HOUSE: &str = "/house";

fn journal_of(night: &str) -> Vec<u8> {
    let disk: Arc<dyn Disk> = Arc::new(MemoryDisk::new());
    play_on(night, disk.clone(), Path::new(HOUSE));
    let mut lines = Vec::new();
    export(disk.as_ref(), Path::new(HOUSE), &mut lines).expect("it is exported");
    lines
}

fn journals() -> Vec<PathBuf> {
    let files = std::fs::read_dir(tests_folder().join("journals")).expect("the folder of journals");
    let mut paths: Vec<_> = files.map(|file| file.expect("a file").path()).collect();
    paths.retain(|path| path.extension().is_some_and(|end| end == "jsonl"));
    paths.sort();
    paths
}

#[test]
fn a_night_played_again_writes_the_same_journal() {
    assert!(journal_of(SAMPLE_NIGHT) == journal_of(SAMPLE_NIGHT), "times and hashes come from the script alone");
}

#[test]
fn every_journal_kept_opens_balances_and_comes_out_as_it_went_in() {
    if let Ok(name) = std::env::var("HOLDFAST_WRITE_JOURNAL") {
        let script = tests_folder().join(format!("nights/{name}.night"));
        let night = match name.as_str() {
            "spine" => SAMPLE_NIGHT.to_owned(),
            _ => std::fs::read_to_string(script).expect("a night of this name"),
        };
        let kept = tests_folder().join(format!("journals/{name}.jsonl"));
        std::fs::write(kept, journal_of(&night)).expect("it can be written");
    }
    let journals = journals();
    assert!(!journals.is_empty());
    for path in journals {
        let name = path.display();
        let kept = std::fs::read(&path).expect("a journal");
        let disk: Arc<dyn Disk> = Arc::new(MemoryDisk::new());
        let imported =
            import(&disk, Path::new(HOUSE), &mut kept.as_slice()).unwrap_or_else(|wrong| panic!("{name}: {wrong}"));
        assert_eq!(imported.frames as usize, kept.split_inclusive(|byte| *byte == b'\n').count(), "{name}");
        let (store, state, _) = Store::open_on(disk.clone(), Path::new(HOUSE), Options::default())
            .unwrap_or_else(|wrong| panic!("{name}: {wrong}"));
        assert_eq!(state.seq, imported.frames, "{name}");
        assert!(state.books.all().count() > 0, "{name}: fish were booked");
        assert_eq!(state.books.faults(), [], "{name}");
        assert_eq!(store.undelivered(), [], "{name}: nothing is sent from an import");
        drop(store);
        assert_eq!(check(disk.as_ref(), Path::new(HOUSE)).expect("it can be checked").problems, [], "{name}");
        let mut out = Vec::new();
        export(disk.as_ref(), Path::new(HOUSE), &mut out).expect("it is exported");
        assert!(out == kept, "{name}: the export differs from what was imported");
    }
}
