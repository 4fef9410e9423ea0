use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Europe;

use super::lines;
use crate::message::Sign;
use crate::quantity::Finite;
use crate::say::release::*;
use crate::watch::Hours;
use crate::watch::policy::{Asked, Requirement, Which};

fn at(hours: i64) -> DateTime<Utc> {
    "2026-03-02T22:00:00Z".parse::<DateTime<Utc>>().unwrap() + TimeDelta::hours(hours)
}

/// Each requirement judged at hour 50, met or not.
fn said(requirements: impl IntoIterator<Item = (bool, Which)>) -> String {
    lines(requirements.into_iter().map(|(met, which)| {
        let words = requirement(&Requirement { which, met }, at(50), Europe::London);
        format!("{}: {words}", if met { "met" } else { "not met" })
    }))
}

#[test]
fn rest_and_holds_are_said_with_their_hours() {
    let hours = Hours::nearest(48);
    insta::assert_snapshot!(said([
        (true, Which::Held { hours, since: at(0), from: Some(at(48)) }),
        (false, Which::Held { hours, since: at(38), from: Some(at(86)) }),
        (false, Which::Held { hours, since: at(51), from: Some(at(99)) }),
        (false, Which::Held { hours, since: at(38), from: None }),
        (true, Which::AskedHold { asked: Asked::No }),
        (false, Which::AskedHold { asked: Asked::Until(at(60)) }),
        (true, Which::AskedHold { asked: Asked::Until(at(49)) }),
        (false, Which::AskedHold { asked: Asked::WithoutEnd }),
        (false, Which::SharedWater { last_in: at(20), from: Some(at(68)) }),
        (true, Which::SharedWater { last_in: at(0), from: Some(at(48)) }),
        (false, Which::SharedWater { last_in: at(0), from: None }),
    ]), @r"
    met: rested 50 h of 48 h
    not met: rested 12 h of 48 h, until Fri 12:00
    not met: rested 0 h of 48 h, until Sat 01:00
    not met: rested 12 h of 48 h
    met: nobody asked for a longer hold
    not met: held until 10:00
    met: hold ended 23:00
    not met: held without an end
    not met: newest lot in the same water came Tue 18:00, wait until Thu 18:00
    met: nothing new in the same water
    not met: newest lot in the same water came Mon 22:00
    ");
}

#[test]
fn counts_and_deaths_are_said_with_their_numbers() {
    let deaths = |dead| Which::Deaths { dead, of: 100, window: Hours::nearest(48), most: Finite::new(1.5).unwrap() };
    insta::assert_snapshot!(said([
        (true, Which::Counted { living: 36, counted: true }),
        (false, Which::Counted { living: 36, counted: false }),
        (false, Which::Counted { living: 0, counted: true }),
        (false, Which::Counted { living: 0, counted: false }),
        (true, deaths(1)),
        (false, deaths(2)),
    ]), @r"
    met: 36 fish counted
    not met: 36 fish in the books, not all counted
    not met: no living fish in the books
    not met: no living fish in the books
    met: 1 of 100 fish died in 48 h
    not met: 2 of 100 fish died in 48 h, at most 1.5 % may
    ");
}

#[test]
fn feeding_looks_and_signs_are_said_with_their_time() {
    let fresh = Hours::nearest(12);
    insta::assert_snapshot!(said([
        (false, Which::Feeding { seen: None, off: None }),
        (false, Which::Feeding { seen: None, off: Some(at(40)) }),
        (false, Which::Feeding { seen: Some(at(30)), off: Some(at(40)) }),
        (true, Which::Feeding { seen: Some(at(40)), off: Some(at(30)) }),
        (true, Which::Feeding { seen: Some(at(40)), off: None }),
        (true, Which::Looked { last: Some(at(45)), fresh }),
        (false, Which::Looked { last: Some(at(20)), fresh }),
        (false, Which::Looked { last: None, fresh }),
        (true, Which::NoBadSign { bad: [].into() }),
        (false, Which::NoBadSign { bad: [Sign::Gasping, Sign::OnSide].into() }),
    ]), @r"
    not met: not seen feeding yet
    not met: off feed 14:00
    not met: fed Wed 04:00, off feed 14:00
    met: seen feeding 14:00
    met: seen feeding 14:00
    met: looked at 19:00
    not met: last look Tue 18:00, older than 12 h
    not met: nobody has looked yet
    met: no bad sign seen
    not met: seen at the last look: gasping, on their side
    ");
}

#[test]
fn every_sign_has_its_words() {
    // Every sign in the spelling of the contract of acts.
    let signs: Vec<Sign> = "well lively feeding off_feed poorly listless on_side belly_up gasping pale dark clamped_fins flashing huddled \
        fed spinning brown_gills thin bloated white_spot fungus red_streaks excess_mucus popeye cloudy_eye fin_damage fighting \
        foul_smell cloudy_water clear_water leaking flat_bag warm cold"
        .split_whitespace()
        .map(|word| serde_json::from_value(word.into()).unwrap())
        .collect();
    assert_eq!(signs.len(), 34);
    insta::assert_snapshot!(lines(signs.into_iter().map(sign_words)), @r"
    all well
    lively
    feeding
    off feed
    poorly
    listless
    on their side
    belly up
    gasping
    pale
    dark
    clamped fins
    flashing
    huddled
    fed
    spinning
    brown gills
    thin
    bloated
    white spots
    fungus
    red streaks
    excess mucus
    popeye
    cloudy eyes
    torn fins
    fighting
    foul smell
    cloudy water
    clear water
    leaking
    flat bag
    warm
    cold
    ");
}
