use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Europe;
use proptest::prelude::*;

use super::{fault, lines};
use crate::say::time::*;

fn now() -> DateTime<Utc> {
    "2026-03-02T22:00:00Z".parse().unwrap()
}

#[test]
fn a_moment_is_said_no_longer_than_needed() {
    let said = [0, 17, 18, 143, 144, -17, -18, -144, 24 * 40]
        .map(|hours| moment(now() + TimeDelta::hours(hours), now(), Europe::London));
    insta::assert_snapshot!(lines(said), @r"
    22:00
    15:00
    Tue 16:00
    Sun 21:00
    8 Mar 22:00
    05:00
    Mon 04:00
    24 Feb 22:00
    11 Apr 23:00
    ");
}

#[test]
fn summer_time_is_said_as_the_clock_on_the_wall_shows_it() {
    let at = "2026-03-29T02:30:00Z".parse().unwrap();
    insta::assert_snapshot!(lines([moment(at, at, Europe::London)]), @"03:30");
}

#[test]
fn a_length_is_said_in_minutes_hours_or_days() {
    let said = [-5, 0, 1, 59, 60, 61, 125, 1440, 2879, 2880, 4400].map(length);
    insta::assert_snapshot!(lines(said), @r"
    0 min
    0 min
    1 min
    59 min
    1 h
    1 h 01 min
    2 h 05 min
    24 h
    47 h 59 min
    2 days
    3 days
    ");
}

proptest! {
    #[test]
    fn no_length_is_faulty(minutes in any::<i64>()) {
        prop_assert_eq!(fault(&length(minutes)), None);
    }
}
