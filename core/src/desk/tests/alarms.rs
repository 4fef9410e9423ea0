//! What cannot wait is said in the same answer.

use super::night::{Night, Row, has};
use crate::journal::Class;

const FISH: [Row; 3] = [
    (7, None, Some(3), "cardinal tetra", 120),
    (8, None, Some(1), "discus", 6),
    (9, None, Some(1), "cherry shrimp", 40),
];

/// Cardinals in A1, discus in A2, shrimp in A3; 7.2 and 7.3 are still closed.
fn night() -> Night {
    let mut night = Night::staffed();
    night.imports("Rio Claro", &FISH);
    for text in ["7.1 40 ok", "7.1 into A1", "8 6 ok", "8 into A2", "9 40 ok", "9 into A3"] {
        night.says("ana", text);
    }
    night
}

fn alarmed(night: &Night) -> bool {
    night.last.outgoing.iter().any(|message| message.class == Class::Alarm)
}

#[test]
fn a_reading_over_the_limit_is_answered_at_once_as_an_alarm() {
    let mut night = night();
    let reply = night.says("ana", "A1 ammonia 3, ph 8.2, 26C");
    has(&reply, &["Alarm: NH3", "mg/L as N in A1", "limit", "oxygen on"]);
    assert!(alarmed(&night));
    night.says("ana", "A2 ammonia 0.2, ph 6.8, 28C");
    assert!(!alarmed(&night));
}

#[test]
fn a_reading_completes_earlier_ones_of_the_hour_and_no_others() {
    let mut night = night();
    night.says("ana", "A1 ammonia 3");
    assert!(!alarmed(&night), "no pH, no NH3");
    night.pause(10);
    has(&night.says("bo", "A1 ph 8.2 26C"), &["Alarm: NH3"]);
    night.pause(5);
    night.says("bo", "A1 do 7");
    assert!(!alarmed(&night), "it was said");
    night.pause(70);
    night.says("bo", "A1 ph 8.2");
    assert!(!alarmed(&night), "the ammonia is of another hour");
}

#[test]
fn water_that_was_changed_is_other_water() {
    let mut night = night();
    night.says("ana", "A1 ammonia 3");
    night.says("ana", "A1 50% water change");
    night.says("ana", "A1 ph 8.2 26C");
    assert!(!alarmed(&night));
}

#[test]
fn a_bag_is_left_not_aired() {
    let mut night = night();
    let reply = night.says("ana", "7.2 ammonia 6, ph 7.9, 25C");
    has(&reply, &["Alarm: NH3", "in 7.2", "net the fish out", "no air stone in the bag"]);
    has(&night.says("ana", "7.3 do 2"), &["Alarm: oxygen 2 mg/L in 7.3", "oxygen on"]);
    night.says("ana", "7.3 ammonia 12, ph 6.1");
    assert!(!alarmed(&night), "sour water keeps it harmless");
}

#[test]
fn spinning_fish_without_a_number_call_for_numbers_and_with_one_do_not() {
    let mut night = night();
    has(&night.says("ana", "A1 spinning"), &["Alarm: A1 spinning: read ammonia, pH and chlorine now"]);
    assert!(alarmed(&night));
    has(&night.says("bo", "A1 spinning"), &["read the water now"]);
    assert!(!alarmed(&night), "it was said");
    night.says("ana", "A1 ammonia 0.1 ph 7");
    let reply = night.says("ana", "A1 spinning");
    assert!(!alarmed(&night) && reply.contains("read the water now"), "{reply}");
    night.says("ana", "A2 swap 30%");
    has(&night.says("ana", "A2 spinning"), &["chlorine first as water was changed"]);
}

#[test]
fn a_tap_with_chlorine_says_what_takes_it_away_and_gloves_once() {
    let mut night = night();
    let reply = night.says("ana", "tap chlorine 1.5");
    has(
        &reply,
        &[
            "Alarm: chlorine 1.5 mg/L in tap",
            "1.05 g sodium thiosulfate pentahydrate for 100 L",
            "chloramine",
            "Gloves",
        ],
    );
    let again = night.says("ana", "tap chlorine 0.5");
    assert!(again.contains("Alarm: chlorine") && !again.contains("Gloves"), "{again}");
    night.says("ana", "tap chlorine 0");
    assert!(!alarmed(&night));
}

#[test]
fn a_tap_far_from_a_tank_that_was_just_read_is_said_before_the_swap() {
    let mut night = night();
    night.says("ana", "A2 ph 6.4 28C");
    let reply = night.says("ana", "tap ph 8.1 16C");
    has(&reply, &["tap 16 °C, A2 28 °C", "warm it", "tap pH 8.1, A2 pH 6.4", "small swaps"]);
    night.says("ana", "tap ph 7 26C");
    assert!(!alarmed(&night));
}

#[test]
fn a_tank_far_from_what_its_fish_need_is_said() {
    let mut night = night();
    has(&night.says("ana", "A2 20C"), &["A2 20 °C, discus live at"]);
    night.says("ana", "A1 24C ph 6.9");
    assert!(!alarmed(&night));
}

#[test]
fn readings_that_cannot_be_true_together_are_measured_again() {
    let mut night = night();
    night.says("ana", "7.2 alkalinity 80");
    has(&night.says("ana", "7.2 ph 8.5 co2 100"), &["cannot be true", "measure them again"]);
}

#[test]
fn where_no_fish_live_the_limits_of_fish_are_off() {
    let mut night = night();
    for text in ["A3 ammonia 3 ph 8.4", "A3 do 1", "A3 33C"] {
        night.says("ana", text);
        assert!(!alarmed(&night), "{text}");
    }
}

#[test]
fn an_alarm_of_a_reading_that_was_taken_back_is_none() {
    let mut night = night();
    night.says("ana", "A1 ammonia 3 ph 8.2");
    assert!(alarmed(&night));
    night.says("ana", "sorry ph 6.2");
    assert!(!alarmed(&night));
    let mut night = self::night();
    night.says("ana", "A1 ammonia 3 ph 8.2");
    night.says("ana", "undo");
    night.says("ana", "A1 ph 8.3");
    assert!(!alarmed(&night));
}
