//! The store from outside: starts, damage, what it refuses, export and import, checks.

mod store_support;

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use holdfast_bot::house::House;
use holdfast_bot::store::{
    Change, Disk, INDEX, JOURNAL, Kept, LineFault, MemoryDisk, Options, Problem, RealDisk, Report, Start, Store,
    StoreError, Tree, Waiting, check, export, import,
};
use holdfast_core::desk::{Input, What};
use holdfast_core::journal::{Class, Delivery, OutgoingId, State};
use holdfast_core::message::Place;
use store_support::{at, delivered, says, small_house};
use tempfile::TempDir;

const HOUSE: &str = "/house";

fn open_memory(disk: &MemoryDisk) -> Result<(Store, State, Report), StoreError> {
    Store::open_on(Arc::new(disk.clone()), Path::new(HOUSE), Options::default())
}

fn refusal<T>(result: Result<T, StoreError>) -> StoreError {
    match result {
        Ok(_) => panic!("it should have been refused"),
        Err(error) => error,
    }
}

fn house(folder: &Path) -> House {
    let (store, state, _) = Store::open(folder).expect("the store opens");
    small_house(store, state)
}

/// An evening of seven frames: two of the crew's six answers are delivered, a look is due.
fn spend_an_evening(house: &mut House) {
    house.take(vec![says("m1", "good evening", 0), says("m2", "count 40", 0)], at(0)).unwrap();
    let sent = [delivered(id(1, 0), "night/11", at(1)), delivered(id(2, 1), "night/12", at(1))];
    house.take(sent.to_vec(), at(1)).unwrap();
    house.take(vec![says("m3", "look A7 5", 2), says("m4", "count 3", 2), says("m5", "wet hands", 2)], at(2)).unwrap();
}

fn id(frame: u64, nth: u32) -> OutgoingId {
    OutgoingId { frame, nth }
}

fn ids(waiting: &[Waiting]) -> Vec<OutgoingId> {
    waiting.iter().map(|waiting| waiting.outgoing.id).collect()
}

/// A folder with an evening in it, closed.
fn evening() -> (TempDir, State, Vec<Waiting>) {
    let folder = tempfile::tempdir().unwrap();
    let mut house = house(folder.path());
    spend_an_evening(&mut house);
    let (state, waiting) = (house.state().clone(), house.store().undelivered());
    drop(house);
    (folder, state, waiting)
}

fn memory_evening() -> (MemoryDisk, State) {
    let disk = MemoryDisk::new();
    let (store, state, _) = open_memory(&disk).unwrap();
    let mut house = small_house(store, state);
    spend_an_evening(&mut house);
    let state = house.state().clone();
    drop(house);
    (disk, state)
}

fn journal_lines(disk: &MemoryDisk) -> Vec<String> {
    let text = String::from_utf8(disk.contents(&journal()).unwrap()).unwrap();
    text.lines().map(str::to_owned).collect()
}

fn put_journal(disk: &MemoryDisk, lines: &[String]) {
    disk.put(&journal(), (lines.join("\n") + "\n").as_bytes());
}

fn journal() -> PathBuf {
    Path::new(HOUSE).join(JOURNAL)
}

fn index() -> PathBuf {
    Path::new(HOUSE).join(INDEX)
}

fn copy_folder(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy_folder(&entry.path(), &target);
        } else {
            fs::copy(entry.path(), target).unwrap();
        }
    }
}

fn files_below(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let entry = entry.unwrap();
        if entry.file_type().unwrap().is_dir() {
            files.extend(files_below(&entry.path()));
        } else {
            files.push(entry.path());
        }
    }
    files
}

// Starts.

#[test]
fn a_new_store_is_empty_and_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let (store, state, report) = Store::open(&folder.path().join("new")).unwrap();
    assert_eq!((store.last().seq, state), (0, State::default()));
    assert_eq!(report, Report { frames: 0, start: Start::New, torn: None });
}

#[test]
fn a_store_opened_again_is_as_it_was_left() {
    let (folder, state, waiting) = evening();
    let (store, found, report) = Store::open(folder.path()).unwrap();
    assert_eq!(found, state);
    assert_eq!(store.undelivered(), waiting);
    assert_eq!(report, Report { frames: 7, start: Start::Kept { caught_up: 0 }, torn: None });
}

#[test]
fn a_start_with_good_trees_reads_no_line_before_the_last_one_applied() {
    let (disk, state) = memory_evening();
    let last = journal_lines(&disk).pop().unwrap();
    let begins = disk.contents(&journal()).unwrap().len() - last.len() - 1;
    disk.take_lowest_read(&journal());
    let (_, found, _) = open_memory(&disk).unwrap();
    assert_eq!(found, state);
    assert_eq!(disk.take_lowest_read(&journal()), Some(begins as u64));
}

#[test]
fn without_its_trees_a_store_is_the_same_and_sends_nothing_again() {
    let (folder, state, waiting) = evening();
    fs::remove_dir_all(folder.path().join(INDEX)).unwrap();
    let (store, found, report) = Store::open(folder.path()).unwrap();
    assert_eq!(found, state);
    assert_eq!(store.undelivered(), waiting);
    assert_eq!(ids(&waiting), [id(6, 1), id(2, 0), id(5, 0), id(6, 0), id(7, 0)]);
    assert_eq!(report.start, Start::Rebuilt { why: "missing".to_owned(), set_aside: None });
    drop(store);
    assert_eq!(check(&RealDisk, folder.path()).unwrap().problems, []);
}

#[test]
fn trees_that_are_behind_catch_up_from_the_journal() {
    let (folder, ..) = evening();
    let copy = tempfile::tempdir().unwrap();
    copy_folder(&folder.path().join(INDEX), copy.path());
    let mut house = house(folder.path());
    house.take(vec![says("m8", "later", 9), says("m9", "look B2 30", 9)], at(9)).unwrap();
    let state = house.state().clone();
    drop(house);
    fs::remove_dir_all(folder.path().join(INDEX)).unwrap();
    copy_folder(copy.path(), &folder.path().join(INDEX));
    let (store, found, report) = Store::open(folder.path()).unwrap();
    assert_eq!(found, state);
    assert_eq!(report.start, Start::Kept { caught_up: 2 });
    assert_eq!(store.seen("m9").unwrap(), Some(9));
    drop(store);
    assert_eq!(check(&RealDisk, folder.path()).unwrap().problems, []);
}

#[test]
fn snapshots_however_often_give_the_same_state() {
    for snapshot_floor in [1, 700, 2_000, 1_000_000] {
        let disk = MemoryDisk::new();
        let options = Options { snapshot_floor };
        let open = || Store::open_on(Arc::new(disk.clone()), Path::new(HOUSE), options).unwrap();
        let (store, state, _) = open();
        let mut house = small_house(store, state);
        spend_an_evening(&mut house);
        for nth in 0..20 {
            house
                .take(
                    vec![says(&format!("n{nth}"), "count 1", nth), says(&format!("l{nth}"), "look C3 9", nth)],
                    at(nth),
                )
                .unwrap();
        }
        let state = house.state().clone();
        drop(house);
        let (store, found, report) = open();
        assert_eq!(found, state, "snapshots from {snapshot_floor} bytes on");
        assert_eq!(report.start, Start::Kept { caught_up: 0 });
        drop(store);
        assert_eq!(check(&disk, Path::new(HOUSE)).unwrap().problems, []);
    }
}

// Damage.

#[test]
fn trees_damaged_in_any_file_change_nothing_but_time() {
    let (folder, state, waiting) = evening();
    let original = tempfile::tempdir().unwrap();
    copy_folder(folder.path(), original.path());
    let files = files_below(&original.path().join(INDEX));
    assert!(!files.is_empty());
    let mut rebuilt = 0;
    for file in files {
        let size = fs::metadata(&file).unwrap().len();
        let cuts = [0, 1, size / 3, size / 2, size.saturating_sub(1)];
        for (cut, garbage) in cuts.iter().flat_map(|cut| [(*cut, false), (*cut, true)]) {
            let broken = tempfile::tempdir().unwrap();
            copy_folder(original.path(), broken.path());
            let victim = broken.path().join(file.strip_prefix(original.path()).unwrap());
            let mut bytes = fs::read(&victim).unwrap();
            if garbage {
                let end = (cut as usize + 512).min(bytes.len());
                bytes[cut as usize..end].fill(0xa5);
            } else {
                bytes.truncate(cut as usize);
            }
            fs::write(&victim, bytes).unwrap();
            let case = format!("{} at {cut}, garbage: {garbage}", victim.display());
            let (store, found, report) = Store::open(broken.path()).unwrap_or_else(|error| panic!("{case}: {error}"));
            assert!(found == state, "{case}");
            assert_eq!(store.undelivered(), waiting, "{case}");
            assert_eq!(store.seen("m4").unwrap(), Some(6), "{case}");
            if let Start::Rebuilt { set_aside, .. } = report.start {
                assert!(set_aside.unwrap().is_dir(), "{case}");
                rebuilt += 1;
            }
        }
    }
    assert!(rebuilt > 0, "no damage was noticed at all");
}

#[test]
fn trees_that_lost_a_key_without_a_word_are_made_anew() {
    for (tree, key) in [
        (Tree::Seen, b"m2".to_vec()),
        (Tree::Frames, 3_u64.to_be_bytes().to_vec()),
        (Tree::Tail, 2_u64.to_be_bytes().to_vec()),
        (Tree::Meta, b"counts".to_vec()),
        (Tree::Meta, b"applied".to_vec()),
    ] {
        let (disk, state) = memory_evening();
        disk.meddle(&index(), vec![Change::Delete(tree, key)]);
        let (store, found, report) = open_memory(&disk).unwrap();
        assert_eq!(found, state);
        assert_eq!(store.seen("m2").unwrap(), Some(2));
        assert!(matches!(report.start, Start::Rebuilt { set_aside: Some(_), .. }), "{tree:?}");
    }
}

#[test]
fn a_torn_last_line_is_set_aside_and_reported() {
    let (disk, state) = memory_evening();
    let mut bytes = disk.contents(&journal()).unwrap();
    let whole = bytes.len();
    bytes.extend_from_slice(b"{\"seq\":8,\"prev\":\"12");
    disk.put(&journal(), &bytes);
    let (store, found, report) = open_memory(&disk).unwrap();
    assert_eq!(found, state);
    let aside = report.torn.expect("it is reported");
    assert_eq!(disk.contents(&aside).unwrap(), b"{\"seq\":8,\"prev\":\"12");
    assert_eq!(disk.contents(&journal()).unwrap().len(), whole);
    let mut house = small_house(store, found);
    house.take(vec![says("m8", "and on", 9)], at(9)).unwrap();
    drop(house);
    assert_eq!(open_memory(&disk).unwrap().2.torn, None);
    assert_eq!(check(&disk, Path::new(HOUSE)).unwrap().problems, []);
}

#[test]
fn a_last_line_that_lacks_only_its_end_is_kept() {
    let (disk, state) = memory_evening();
    disk.remove_trees(&index());
    let mut bytes = disk.contents(&journal()).unwrap();
    bytes.pop();
    disk.put(&journal(), &bytes);
    let (store, found, report) = open_memory(&disk).unwrap();
    assert_eq!((found.clone(), report.torn), (state, None));
    let mut house = small_house(store, found);
    house.take(vec![says("m8", "and on", 9)], at(9)).unwrap();
    drop(house);
    assert_eq!(check(&disk, Path::new(HOUSE)).unwrap().problems, []);
}

#[test]
fn a_line_changed_after_it_was_written_stops_with_its_number_and_changes_nothing() {
    let (disk, _) = memory_evening();
    disk.remove_trees(&index());
    let mut lines = journal_lines(&disk);
    lines[2] = lines[2].replace("night/11", "night/13");
    put_journal(&disk, &lines);
    let before = disk.contents(&journal());
    let StoreError::Journal(bad) = refusal(open_memory(&disk)) else { panic!("a wrong line") };
    assert_eq!((bad.line, &bad.fault), (3, &LineFault::WrongHash));
    assert!(bad.to_string().starts_with("line 3 of the journal: its hash does not fit"), "{bad}");
    assert_eq!(disk.contents(&journal()), before);
}

#[test]
fn a_missing_or_repeated_line_stops_with_its_number() {
    for (change, line, found) in [("missing", 3, 4), ("repeated", 4, 3)] {
        let (disk, _) = memory_evening();
        disk.remove_trees(&index());
        let mut lines = journal_lines(&disk);
        match change {
            "missing" => drop(lines.remove(2)),
            _ => lines.insert(2, lines[2].clone()),
        }
        put_journal(&disk, &lines);
        let StoreError::Journal(bad) = refusal(open_memory(&disk)) else { panic!("a wrong line") };
        assert_eq!((bad.line, bad.fault), (line, LineFault::WrongNumber { found }), "{change}");
    }
}

#[test]
fn a_line_of_another_journal_stops_with_its_number() {
    let (disk, _) = memory_evening();
    let other = MemoryDisk::new();
    let (store, state, _) = open_memory(&other).unwrap();
    let mut house = small_house(store, state);
    house.take(vec![says("x1", "another house", 0), says("x2", "another night", 0)], at(0)).unwrap();
    drop(house);
    let mut lines = journal_lines(&disk);
    lines[1] = journal_lines(&other)[1].clone();
    put_journal(&disk, &lines);
    disk.remove_trees(&index());
    let StoreError::Journal(bad) = refusal(open_memory(&disk)) else { panic!("a wrong line") };
    assert_eq!((bad.line, bad.fault), (2, LineFault::NotChained));
}

#[test]
fn a_wrong_line_leaves_doubtful_trees_where_they_are() {
    let (disk, _) = memory_evening();
    let mut lines = journal_lines(&disk);
    lines[2] = lines[2].replace("night/11", "night/13");
    put_journal(&disk, &lines);
    disk.meddle(&index(), vec![Change::Clear(Tree::Seen)]);
    assert!(matches!(refusal(open_memory(&disk)), StoreError::Journal(_)));
    assert!(disk.exists(&index()).unwrap());
}

#[test]
fn trees_that_have_seen_more_than_the_journal_stop_the_start() {
    let (folder, ..) = evening();
    let path = folder.path().join(JOURNAL);
    let text = fs::read_to_string(&path).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    // Cut at a line's end, inside a line, and altogether.
    for cut in [lines[..5].join("\n") + "\n", text[..text.len() - 30].to_owned(), String::new()] {
        fs::write(&path, &cut).unwrap();
        let error = refusal(Store::open(folder.path()));
        assert!(matches!(error, StoreError::IndexAhead { index: 7, journal } if journal < 7), "{error}");
        assert_eq!(fs::read_to_string(&path).unwrap(), cut, "nothing may be changed");
    }
    fs::remove_file(&path).unwrap();
    assert!(matches!(refusal(Store::open(folder.path())), StoreError::IndexAhead { index: 7, journal: 0 }));
    assert!(!path.exists());
    fs::write(&path, &text).unwrap();
    Store::open(folder.path()).expect("with the whole journal back it opens");
}

#[test]
fn trees_that_have_seen_another_frame_of_the_same_number_stop_the_start() {
    let (disk, _) = memory_evening();
    let other = MemoryDisk::new();
    let (store, state, _) = open_memory(&other).unwrap();
    let mut house = small_house(store, state);
    for nth in 0..8 {
        house.take(vec![says(&format!("x{nth}"), "another house", nth)], at(nth)).unwrap();
    }
    drop(house);
    disk.put(&journal(), &other.contents(&journal()).unwrap());
    assert!(matches!(refusal(open_memory(&disk)), StoreError::IndexDiffers { seq: 7 }));
}

// Failing while it runs.

#[test]
fn a_disk_that_fails_once_releases_nothing_and_stops_the_store() {
    // The calls of one commit: append, sync, trees.
    for call in 1..=3 {
        let (disk, _) = memory_evening();
        let (store, state, _) = open_memory(&disk).unwrap();
        let mut house = small_house(store, state);
        // The look-up of the key comes before the commit.
        disk.fail_at(1 + call);
        assert!(house.take(vec![says("m8", "count 5", 9)], at(9)).is_err(), "call {call}");
        let again = refusal(house.take(vec![says("m9", "count 6", 9)], at(9)));
        assert!(matches!(again, StoreError::Failed), "call {call}: {again}");
        drop(house);
        // Where the process ends and the machine does not, what was written is there to be read.
        let (store, state, _) = open_memory(&disk).unwrap();
        assert_eq!(state.seq, 8, "call {call}");
        assert!(ids(&store.undelivered()).contains(&id(8, 0)), "call {call}: it is said after the next start");
    }
}

#[test]
fn one_store_serves_one_process() {
    let folder = tempfile::tempdir().unwrap();
    let _first = Store::open(folder.path()).unwrap();
    assert!(matches!(refusal(Store::open(folder.path())), StoreError::InUse(_)));
    assert!(matches!(refusal(check(&RealDisk, folder.path())), StoreError::InUse(_)));
}

// Look-ups.

#[test]
fn an_input_taken_in_before_is_known_by_its_key_after_any_number_of_starts() {
    let (folder, state, _) = evening();
    let mut house = house(folder.path());
    assert_eq!(house.store().seen("m4").unwrap(), Some(6));
    assert_eq!(house.store().seen("m6").unwrap(), None);
    let again = vec![says("m4", "count 3", 2), says("m2", "count 40", 0)];
    assert_eq!(house.take(again, at(20)).unwrap(), []);
    assert_eq!(*house.state(), state);
}

#[test]
fn a_platform_message_leads_back_to_what_was_said_and_where() {
    let (folder, ..) = evening();
    let (store, ..) = Store::open(folder.path()).unwrap();
    let sent = store.sent("night/12").unwrap().unwrap();
    assert_eq!((sent.outgoing, sent.about), (vec![id(2, 1)], vec![Place::Box { number: 8 }]));
    assert_eq!(store.sent("night/1").unwrap(), None, "the beginning of an id is not the id");
    assert_eq!(store.sent_as(id(2, 1)).unwrap().as_deref(), Some("night/12"));
    assert_eq!(store.sent_as(id(2, 0)).unwrap(), None);
}

#[test]
fn messages_that_went_out_as_one_are_found_together() {
    let (folder, ..) = evening();
    let mut house = house(folder.path());
    let both = [delivered(id(6, 0), "night/20", at(3)), delivered(id(6, 1), "night/20", at(3))];
    house.take(both.to_vec(), at(3)).unwrap();
    let sent = house.store().sent("night/20").unwrap().unwrap();
    assert_eq!(sent.outgoing, [id(6, 0), id(6, 1)]);
    assert_eq!(sent.about, [Place::Box { number: 7 }, Place::Box { number: 8 }]);
}

#[test]
fn what_waits_goes_out_by_class_and_then_in_order() {
    let (_folder, _, waiting) = evening();
    assert_eq!(ids(&waiting), [id(6, 1), id(2, 0), id(5, 0), id(6, 0), id(7, 0)]);
    assert_eq!(waiting[0].outgoing.class, Class::Alarm);
}

#[test]
fn a_message_in_flight_is_known_to_be_after_a_start() {
    let (folder, ..) = evening();
    let mut house = house(folder.path());
    assert_eq!(house.store_mut().mark_in_flight(id(2, 0)).unwrap(), Some(1));
    assert_eq!(house.store_mut().mark_in_flight(id(2, 0)).unwrap(), Some(2));
    assert_eq!(house.store_mut().mark_in_flight(id(5, 0)).unwrap(), Some(1));
    assert_eq!(house.store_mut().mark_not_taken(id(5, 0)).unwrap(), Some(1));
    assert_eq!(house.store_mut().mark_in_flight(id(1, 0)).unwrap(), None, "it was delivered");
    drop(house);
    let (store, ..) = Store::open(folder.path()).unwrap();
    let tried: Vec<_> = store
        .undelivered()
        .into_iter()
        .filter(|waiting| waiting.attempts > 0)
        .map(|waiting| (waiting.outgoing.id, waiting.attempts, waiting.in_flight))
        .collect();
    assert_eq!(tried, [(id(2, 0), 2, true), (id(5, 0), 1, false)]);
}

#[test]
fn a_message_given_up_waits_no_more_and_was_never_sent() {
    let (folder, ..) = evening();
    let mut house = house(folder.path());
    let what = What::Delivered { outgoing: id(2, 0), outcome: Delivery::Parked("the chat is gone".to_owned()) };
    let gone = Input { key: "gone".to_owned(), said_at: at(3), heard_at: at(3), actor: None, what };
    house.take(vec![gone], at(3)).unwrap();
    assert!(!ids(&house.store().undelivered()).contains(&id(2, 0)));
    assert_eq!(house.store().sent_as(id(2, 0)).unwrap(), None);
}

// Export and import.

fn exported(disk: &dyn Disk, folder: &Path) -> Vec<u8> {
    let mut bytes = Vec::new();
    export(disk, folder, &mut bytes).unwrap();
    bytes
}

#[test]
fn the_import_of_an_export_gives_the_same_export_and_the_same_state() {
    let (folder, state, waiting) = evening();
    let bytes = exported(&RealDisk, folder.path());
    let real: Arc<dyn Disk> = Arc::new(RealDisk);
    let other = tempfile::tempdir().unwrap();
    let imported = import(&real, other.path(), &mut bytes.as_slice()).unwrap();
    assert_eq!(imported.frames, 7);
    assert_eq!(imported.parked.len(), waiting.len());
    assert_eq!(exported(&RealDisk, other.path()), bytes);
    let (_, found, _) = Store::open(other.path()).unwrap();
    assert_eq!(found, state);
}

#[test]
fn what_was_undelivered_before_an_import_is_listed_and_never_sent() {
    let (disk, _) = memory_evening();
    let bytes = exported(&disk, Path::new(HOUSE));
    let other = MemoryDisk::new();
    let imported =
        import(&(Arc::new(other.clone()) as Arc<dyn Disk>), Path::new(HOUSE), &mut bytes.as_slice()).unwrap();
    let parked: Vec<_> = imported.parked.iter().map(|outgoing| outgoing.id).collect();
    assert_eq!(parked, [id(2, 0), id(5, 0), id(6, 0), id(6, 1), id(7, 0)]);
    // With its trees and without, and what is said from then on is sent.
    for start in 0..2 {
        let (store, state, _) = open_memory(&other).unwrap();
        assert_eq!(ids(&store.parked()), parked);
        let before = store.undelivered().len();
        let mut house = small_house(store, state);
        house.take(vec![says(&format!("new{start}"), "here we are", 30)], at(30)).unwrap();
        assert_eq!(house.store().undelivered().len(), before + 1);
        assert!(house.store().undelivered().iter().all(|waiting| waiting.outgoing.id.frame > 7));
        drop(house);
        other.remove_trees(&index());
    }
}

#[test]
fn an_export_leaves_out_a_line_that_is_still_being_written() {
    let (disk, _) = memory_evening();
    let whole = disk.contents(&journal()).unwrap();
    let mut bytes = whole.clone();
    bytes.extend_from_slice(b"{\"seq\":8");
    disk.put(&journal(), &bytes);
    assert_eq!(exported(&disk, Path::new(HOUSE)), whole);
}

#[test]
fn an_import_that_is_cut_wrong_or_not_into_an_empty_folder_makes_no_store() {
    let (disk, _) = memory_evening();
    let bytes = exported(&disk, Path::new(HOUSE));
    let shared: Arc<dyn Disk> = Arc::new(disk.clone());
    let full = refusal(import(&shared, Path::new(HOUSE), &mut bytes.as_slice()));
    assert!(matches!(full, StoreError::NotEmpty(_)), "{full}");

    let other = MemoryDisk::new();
    let shared: Arc<dyn Disk> = Arc::new(other.clone());
    let cut = refusal(import(&shared, Path::new(HOUSE), &mut &bytes[..bytes.len() - 9]));
    assert!(matches!(cut, StoreError::CutImport(7)), "{cut}");
    let changed = String::from_utf8(bytes.clone()).unwrap().replace("night/12", "night/99");
    let wrong = refusal(import(&shared, Path::new(HOUSE), &mut changed.as_bytes()));
    assert!(matches!(&wrong, StoreError::Journal(bad) if bad.line == 4), "{wrong}");
    assert!(!other.exists(&journal()).unwrap());
    import(&shared, Path::new(HOUSE), &mut bytes.as_slice()).expect("a broken-off import can be done again");
}

#[test]
fn an_import_crashed_at_any_call_leaves_no_store_or_the_whole_one() {
    let (source, state) = memory_evening();
    let bytes = exported(&source, Path::new(HOUSE));
    let calm = MemoryDisk::new();
    import(&(Arc::new(calm.clone()) as Arc<dyn Disk>), Path::new(HOUSE), &mut bytes.as_slice()).unwrap();
    for nth in 1..=calm.calls() {
        let disk = MemoryDisk::new();
        let shared: Arc<dyn Disk> = Arc::new(disk.clone());
        disk.crash_at(nth);
        assert!(import(&shared, Path::new(HOUSE), &mut bytes.as_slice()).is_err());
        disk.restart(Kept::Half);
        let (store, found, _) = open_memory(&disk).unwrap();
        assert!(found == State::default() || found == state, "call {nth}");
        assert_eq!(store.undelivered(), [], "call {nth}");
        let is_new = found.seq == 0;
        let mut house = small_house(store, found);
        house.take(vec![says("new", "here we are", 30)], at(30)).unwrap();
        let sent = ids(&house.store().undelivered());
        assert_eq!(sent, [id(if is_new { 1 } else { 8 }, 0)], "call {nth}");
    }
}

// Checks.

#[test]
fn a_sound_store_is_found_sound() {
    let (folder, ..) = evening();
    let findings = check(&RealDisk, folder.path()).unwrap();
    assert!(findings.is_sound());
    assert_eq!(findings.frames, 7);
}

#[test]
fn a_check_names_a_wrong_line() {
    let (disk, _) = memory_evening();
    let mut lines = journal_lines(&disk);
    lines[4] = lines[4].replace("A7", "A8");
    put_journal(&disk, &lines);
    let problems = check(&disk, Path::new(HOUSE)).unwrap().problems;
    assert!(matches!(problems.as_slice(), [Problem::Journal(bad)] if bad.line == 5), "{problems:?}");
}

#[test]
fn a_check_finds_any_key_of_the_trees_that_differs() {
    for change in [
        Change::Put(Tree::Frames, 3_u64.to_be_bytes().to_vec(), 1_u64.to_be_bytes().to_vec()),
        Change::Put(Tree::Seen, b"m2".to_vec(), 5_u64.to_be_bytes().to_vec()),
        Change::Put(Tree::Told, b"x".to_vec(), b"y".to_vec()),
        Change::Clear(Tree::Due),
        Change::Clear(Tree::Outbox),
        Change::Clear(Tree::Tail),
        Change::Put(Tree::State, b"snapshot".to_vec(), b"{}".to_vec()),
        Change::Clear(Tree::Meta),
    ] {
        let (disk, _) = memory_evening();
        disk.meddle(&index(), vec![change.clone()]);
        let problems = check(&disk, Path::new(HOUSE)).unwrap().problems;
        assert!(matches!(problems.as_slice(), [Problem::Trees(_), ..]), "{change:?}: {problems:?}");
    }
}

#[test]
fn a_check_finds_missing_trees_and_a_torn_line_and_changes_neither() {
    let (disk, _) = memory_evening();
    disk.remove_trees(&index());
    let mut bytes = disk.contents(&journal()).unwrap();
    bytes.extend_from_slice(b"{\"seq\":8");
    disk.put(&journal(), &bytes);
    let problems = check(&disk, Path::new(HOUSE)).unwrap().problems;
    assert!(matches!(problems.as_slice(), [Problem::Torn, Problem::Trees(_)]), "{problems:?}");
    assert_eq!(disk.contents(&journal()).unwrap(), bytes);
    assert!(!disk.exists(&index()).unwrap());
}

#[test]
fn a_check_finds_books_below_nothing() {
    let disk = MemoryDisk::new();
    let (mut store, _, _) = open_memory(&disk).unwrap();
    let frame = store_support::taking_fish_that_are_not_there();
    let mut state = State::default();
    state.apply(&frame);
    store.commit(&[frame], &state).unwrap();
    drop(store);
    let problems = check(&disk, Path::new(HOUSE)).unwrap().problems;
    assert!(matches!(problems.as_slice(), [Problem::Books(_)]), "{problems:?}");
}

#[test]
fn a_frame_out_of_its_turn_is_not_written() {
    let disk = MemoryDisk::new();
    let (mut store, state, _) = open_memory(&disk).unwrap();
    let mut frame = store_support::taking_fish_that_are_not_there();
    frame.seq = 2;
    assert!(matches!(store.commit(&[frame], &state), Err(StoreError::NotNext { found: 2, expected: 1 })));
    assert_eq!(disk.contents(&journal()).unwrap(), b"");
}
