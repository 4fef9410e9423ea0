//! Looks: what shortens the wait, what may be put off, what counts as a look, and what is said of them.

use chrono::{DateTime, NaiveTime, Utc};

use super::night::{Night, has, stocked};
use crate::journal::{Class, Logged};
use crate::message::{Act, Said};
use crate::quantity::{Finite, Measure};
use crate::settings::Temperature;

/// A house past its first nights, quiet between two local times; the tanks A2 and A3 are stocked some minutes apart.
fn quiet(from: (u32, u32), until: (u32, u32)) -> Night {
    let time = |(hour, minute)| NaiveTime::from_hms_opt(hour, minute, 0).unwrap();
    let mut night = Night::with_a_list();
    night.settings.looks.first_night_hours = 0;
    night.settings.looks.quiet = Some((time(from), time(until)));
    night.says("ana", "8 100 ok");
    night.says("ana", "40 from 8 into A2");
    night.pause(7);
    night.says("ana", "60 from 8 into A3");
    night
}

fn due(night: &Night, vessel: &str) -> DateTime<Utc> {
    night.state.looks[vessel].due
}

fn minutes_to(night: &Night, vessel: &str) -> i64 {
    (due(night, vessel) - night.now).num_minutes()
}

fn clock(at: DateTime<Utc>) -> String {
    at.format("%H:%M").to_string()
}

#[test]
fn routine_looks_in_the_quiet_hours_come_together_when_they_end() {
    let mut night = quiet((23, 0), (9, 0));
    assert_eq!([clock(due(&night, "A2")), clock(due(&night, "A3"))], ["09:00", "09:00"]);
    let to = minutes_to(&night, "A2");
    let said = night.wait(to + 1);
    assert_eq!(said.len(), 1, "{said:?}");
    has(&said[0].body, &["A2 and A3"]);
}

#[test]
fn fish_in_doubt_and_fish_in_their_first_night_do_not_wait_for_the_end_of_the_quiet_hours() {
    let mut night = quiet((23, 0), (9, 0));
    night.says("ana", "A2 6 weak");
    assert!(minutes_to(&night, "A2") <= 180, "fish in doubt");
    night.settings.looks.first_night_hours = 12;
    night.says("ana", "A3 all good");
    assert_eq!(minutes_to(&night, "A3"), 120, "the first night");
}

#[test]
fn a_look_that_somebody_asked_for_is_not_kept_back() {
    let mut night = quiet((23, 0), (9, 0));
    night.says("ana", "look at A2 again in 3h");
    let said = night.wait(181);
    assert_eq!(said.len(), 1, "{said:?}");
    has(&said[0].body, &["A2", "as ana asked"]);
}

#[test]
fn reminders_of_a_routine_look_wait_in_the_quiet_hours_and_those_of_fish_in_doubt_do_not() {
    let mut night = quiet((6, 12), (9, 0));
    let to = minutes_to(&night, "A2");
    let said = night.wait(to + 60);
    let classes: Vec<Class> = said.iter().map(|message| message.class).collect();
    assert_eq!(classes, [Class::Look], "A2 is asked for once, A3 later: {said:?}");
    let said = night.wait(180);
    assert!(said.iter().any(|message| message.class == Class::Alarm), "not forgotten: {said:?}");

    let mut night = quiet((1, 0), (9, 0));
    night.says("ana", "A2 gasping");
    let said = night.wait(120);
    assert!(said.iter().any(|message| message.class == Class::Alarm && message.body.contains("A2")), "{said:?}");
}

#[test]
fn fish_that_gasp_lie_on_their_side_or_spin_are_seen_again_within_a_quarter_of_an_hour() {
    for sign in ["gasping", "on their side", "spinning", "belly up but breathing", "brown gills"] {
        let mut night = stocked();
        night.says("ana", &format!("A2 {sign}"));
        assert_eq!(minutes_to(&night, "A2"), 15, "{sign}");
        night.says("ana", "A2 1 dead");
        assert_eq!(minutes_to(&night, "A2"), 15, "{sign}: a number does not say that they are better");
        night.says("ana", "A2 all good");
        assert!(minutes_to(&night, "A2") > 15, "{sign}");
    }
}

#[test]
fn the_wait_after_a_grave_sign_is_the_sites_own() {
    let mut night = stocked();
    night.settings.looks.grave = 5;
    night.says("ana", "A2 gasping");
    assert_eq!(minutes_to(&night, "A2"), 5);
}

#[test]
fn the_shares_from_which_fish_are_in_doubt_are_the_sites_own() {
    for (fair, weak, minutes) in [(2, 10, 90), (2, 5, 60), (10, 20, 120)] {
        let mut night = stocked();
        night.settings.condition.fair_percent = fair;
        night.settings.condition.weak_percent = weak;
        night.says("ana", "A2 6 weak");
        assert_eq!(minutes_to(&night, "A2"), minutes, "fair from {fair} %, weak from {weak} %");
    }
}

#[test]
fn a_look_a_little_before_its_time_is_that_look() {
    for (after, counts) in [(10, false), (21, true), (31, true)] {
        let mut night = stocked();
        night.says("ana", "look at A2 again in 30 min");
        night.wait(after);
        night.says("ana", "A2 all good");
        let look = &night.state.looks["A2"];
        assert_eq!(look.asked_by.is_none() && minutes_to(&night, "A2") > 60, counts, "after {after} min");
    }
}

#[test]
fn a_word_about_a_bag_long_before_its_time_leaves_the_look_that_was_asked_for() {
    for (after, left) in [(2, true), (15, false)] {
        let mut night = Night::with_a_list();
        night.says("ana", "opening 8");
        night.says("ana", "recheck 8 in 20 min");
        night.wait(after);
        night.says("ana", "8 100 ok");
        assert_eq!(night.state.looks.contains_key("box 8"), left, "after {after} min");
    }
}

#[test]
fn a_lead_who_wrote_just_now_is_told_and_nobody_is_woken() {
    for (quiet_for, class) in [(1, Class::Look), (2, Class::Look), (4, Class::Alarm)] {
        let mut night = stocked();
        let to = minutes_to(&night, "A2");
        night.wait(to + 20);
        let look = &night.state.looks["A2"];
        assert!(look.nudged.is_some() && look.woken.is_none());
        night.now = look.next.unwrap() - chrono::Duration::minutes(quiet_for);
        night.says("lea", "what a night");
        let said = night.wait(quiet_for + 1);
        assert_eq!(said.len(), 1, "{said:?}");
        assert_eq!((said[0].class, said[0].chat.as_str()), (class, super::night::chat_of("lea").as_str()));
        assert_eq!(said[0].body.contains("wake you"), class == Class::Alarm, "{}", said[0].body);
        assert!(night.wait(60).is_empty(), "the lead knows");
    }
}

#[test]
fn one_message_names_one_next_look_of_a_tank() {
    for text in [
        "A2 all ok, 1 dead",
        "A2 1 dead, 2 weak, gasping",
        "A2 all good\nA2 2 dead\nA2 flashing",
        "A2 gasping, rest ok",
    ] {
        let mut night = stocked();
        let reply = night.says("ana", text);
        assert_eq!(reply.matches("next look").count(), 1, "{text}: {reply}");
        has(&reply, &[&format!("next look {}", clock(due(&night, "A2")))]);
    }
}

#[test]
fn a_late_answer_in_two_acts_is_said_to_be_late_once_beside_the_next_look() {
    let mut night = stocked();
    let to = minutes_to(&night, "A2");
    night.wait(to + 25);
    let reply = night.says("ana", "A2 all ok, 1 dead");
    assert_eq!(reply.matches("25 min late, next look").count(), 1, "{reply}");
}

#[test]
fn a_look_asked_for_in_the_same_message_is_the_next_one() {
    let mut night = stocked();
    let reply = night.says("ana", "A2 all good\nlook at A2 again in 3h");
    has(&reply, &[&format!("I'll ask at {}", clock(due(&night, "A2")))]);
    assert_eq!(minutes_to(&night, "A2"), 180);
    assert!(!reply.contains("next look"), "{reply}");
    let mut night = stocked();
    let reply = night.says("ana", "look at A2 again in 3h\nA2 all good");
    assert_eq!(minutes_to(&night, "A2"), 180);
    assert!(!reply.contains("next look"), "{reply}");
}

#[test]
fn how_a_tank_is_has_its_fish_looks_water_deaths_and_hold_in_six_lines() {
    let mut night = stocked();
    night.says("ana", "A2 temp 26 ph 7.1");
    night.pause(30);
    night.says("bo", "A2 ph 6.9 ammonia 0.5");
    night.pause(30);
    night.says("bo", "A2 2 dead, flashing");
    let reply = night.says("ana", "how's A2");
    assert_eq!(reply.lines().count(), 6, "{reply}");
    insta::assert_snapshot!(reply, @r"
    A2 holds 98 neon tetra (lot 1, 2 DAA)
    Last look 23:07 by bo: fair, flashing
    Next look 00:37
    Water: pH 6.9, total ammonia 0.5 mg/L taken as N at 22:36; 26.0 °C at 22:06
    2 found dead in the last 24 h
    Lot 1 on hold until Thu 22:06
    ");
    let empty = night.says("ana", "how's A5");
    insta::assert_snapshot!(empty, @"A5 is empty");
}

fn last_temperature(night: &Night) -> Finite {
    let readings = night.state.entries.values().rev().filter_map(|entry| match &entry.what {
        Logged::Act(Said { act: Act::Reading(water), .. }) => water.values.get(&Measure::TempC).copied(),
        _ => None,
    });
    readings.into_iter().next().unwrap()
}

#[test]
fn a_site_in_fahrenheit_is_shown_fahrenheit_everywhere_and_keeps_celsius() {
    let mut night = stocked();
    night.settings.temperature = Temperature::Fahrenheit;
    for (text, parts) in [
        ("A2 temp 26", ["A2", "78.8 °F"]),
        ("how's A2", ["Water", "78.8 °F"]),
        ("A2 temp 77.9", ["A2", "77.9 °F"]),
        ("undo", ["taken back", "77.9 °F"]),
    ] {
        let reply = night.says("ana", text);
        has(&reply, &parts);
        assert!(!reply.contains("°C"), "{text}: {reply}");
    }
    assert_eq!(last_temperature(&night).get(), 26.0);
    for text in ["A3 temp 79 ph 7.2", "7 temp 72 ph 6.2 ammonia 12"] {
        night.says("ana", text);
    }
    let plan = night.says("ana", "plan for 7 into A3");
    has(&plan, &["3.6 °F", "79 °F"]);
    assert!(!plan.contains("°C"), "{plan}");
}

#[test]
fn a_temperature_read_back_in_fahrenheit_can_be_typed_again() {
    let mut night = stocked();
    night.settings.temperature = Temperature::Fahrenheit;
    for tenths in (20..360).step_by(9) {
        let celsius = f64::from(tenths) / 10.0;
        let reply = night.says("ana", &format!("A2 temp {celsius:.1} C"));
        let said = last_temperature(&night);
        night.says("ana", &reply);
        assert_eq!(last_temperature(&night), said, "{reply}");
    }
}

#[test]
fn lots_in_shared_water_wait_for_the_last_one_in_where_the_site_says_so() {
    for waits in [false, true] {
        let mut night = stocked();
        let vessel = night.state.vessels.get_mut("A2").unwrap();
        vessel.system = Some("rack".into());
        night.settings.release.shared_water_waits = waits;
        let reply = night.says("lea", "clear A2");
        assert_eq!(reply.contains("same water"), waits, "{reply}");
    }
}
