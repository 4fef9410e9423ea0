//! Crashes at every single call to the disk: nothing acknowledged is lost, nothing is applied twice.

mod store_support;

use holdfast_bot::house::{NextWake, Step};
use holdfast_bot::store::Options;
use store_support::{Night, Round, at, crash_everywhere, says, small_desk, small_wake};

fn small() -> (Step, NextWake) {
    (Box::new(small_desk), Box::new(small_wake))
}

fn rounds() -> Vec<Round> {
    vec![
        Round { now: at(0), inputs: vec![says("m1", "good evening", 0), says("m2", "count 40", 0)] },
        // The platform hands an update in twice, once in the same breath.
        Round {
            now: at(1),
            inputs: vec![says("m2", "count 40", 0), says("m3", "count 3", 1), says("m3", "count 3", 1)],
        },
        Round { now: at(2), inputs: vec![says("m4", "look A7 5", 2), says("m5", "mumble", 2)] },
        Round { now: at(8), inputs: vec![] },
        Round { now: at(9), inputs: vec![says("m6", "look A7 90", 9), says("m7", "count 1", 9)] },
    ]
}

#[test]
fn a_night_crashed_at_any_call_to_the_disk_ends_as_the_calm_night() {
    let rounds = rounds();
    let night = Night { desk: &small, rounds: &rounds, options: Options::default() };
    assert!(crash_everywhere(&night, 1) > 100);
}

#[test]
fn snapshots_change_nothing_about_crashes() {
    let rounds = rounds();
    // Snapshots all the time, so that crashes hit what comes before and after one.
    let night = Night { desk: &small, rounds: &rounds, options: Options { snapshot_floor: 1 } };
    assert!(crash_everywhere(&night, 1) > 100);
}
