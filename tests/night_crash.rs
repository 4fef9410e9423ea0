//! The sample night, crashed: nothing acknowledged is lost, nothing is applied twice, nothing is said again.
//!
//! A short real night, with a list, a correction and a missed look, is crashed at every single call to the disk and played
//! from its beginning to its end each time. The sample night is crashed at every single call too, each round on a copy of
//! the disk.

mod night_support;
mod store_support;

use std::path::Path;
use std::sync::Arc;

use holdfast_bot::house::{NextWake, Step};
use holdfast_bot::rehearse::SAMPLE_NIGHT;
use holdfast_bot::store::{INDEX, MemoryDisk, Options, RealDisk, Store, check};
use holdfast_core::desk;
use holdfast_core::settings::Settings;
use night_support::{Left, play_on};
use store_support::{Night, Round, calm_night, crash_each_round, crash_everywhere};

fn sample() -> Left {
    play_on(SAMPLE_NIGHT, Arc::new(MemoryDisk::new()), Path::new("/house")).1
}

fn rounds(left: &Left) -> Vec<Round> {
    left.taken.iter().map(|taken| Round { now: taken.now, inputs: taken.inputs.clone() }).collect()
}

/// The real desk under the settings of the script.
fn desk_with(settings: &Settings) -> impl Fn() -> (Step, NextWake) {
    let settings = settings.clone();
    move || {
        let settings = settings.clone();
        let step: Step = Box::new(move |state, _, input, now| desk::step(state, &settings, input, now));
        (step, Box::new(desk::next_wake))
    }
}

#[test]
fn the_calm_night_of_the_harness_is_the_night_that_was_rehearsed() {
    let left = sample();
    let rounds = rounds(&left);
    let desk = desk_with(&left.settings);
    let calm = calm_night(&Night { desk: &desk, rounds: &rounds, options: Options::default() });
    assert_eq!(calm.state.books, left.state.books);
    assert_eq!(calm.state.looks, left.state.looks);
    assert_eq!(calm.state.reservations, left.state.reservations);
    assert_eq!(calm.state.books.faults(), []);
}

#[test]
fn a_short_night_crashed_at_every_call_to_the_disk_ends_as_the_calm_one() {
    let short = include_str!("nights/short.night");
    let left = play_on(short, Arc::new(MemoryDisk::new()), Path::new("/house")).1;
    let rounds = rounds(&left);
    let desk = desk_with(&left.settings);
    let night = Night { desk: &desk, rounds: &rounds, options: Options::default() };
    assert!(crash_everywhere(&night, 1) > 100);
}

#[test]
fn the_sample_night_crashed_at_every_call_to_the_disk_goes_on_as_the_calm_one() {
    let left = sample();
    let rounds = rounds(&left);
    let settings = &left.settings;
    let shares = std::thread::available_parallelism().map_or(1, usize::from);
    let crashes: u64 = std::thread::scope(|scope| {
        let share = |share| {
            let rounds = &rounds;
            scope.spawn(move || {
                let desk = desk_with(settings);
                crash_each_round(&Night { desk: &desk, rounds, options: Options::default() }, share, shares)
            })
        };
        let threads: Vec<_> = (0..shares).map(share).collect();
        threads.into_iter().map(|thread| thread.join().expect("no crash changed the night")).sum()
    });
    assert!(crashes > 3_000, "a long night, crashed in three ways at each call: {crashes}");
}

#[test]
fn a_house_whose_index_was_deleted_is_the_same_and_says_nothing_again() {
    let folder = tempfile::tempdir().expect("a folder");
    let (_, left) = play_on(SAMPLE_NIGHT, Arc::new(RealDisk), folder.path());
    std::fs::remove_dir_all(folder.path().join(INDEX)).expect("the index was there");
    let (store, state, report) = Store::open(folder.path()).expect("it opens without its index");
    assert!(report.frames > 300, "{report:?}");
    assert_eq!(state, left.state);
    // What was said before the night, to the people who were enrolled, was never sent in it.
    let waiting: Vec<_> = store.undelivered().into_iter().map(|waiting| waiting.outgoing.body).collect();
    assert_eq!(waiting.len(), 1, "{waiting:?}");
    drop(store);
    assert_eq!(check(&RealDisk, folder.path()).expect("it can be checked").problems, []);
}
