//! Looks: when they are due, what answers them, and whom the clock wakes.

use super::night::{Night, has, stocked};
use crate::desk::Refusal;
use crate::journal::Class;

#[test]
fn a_look_that_nobody_answers_is_announced_nudged_and_wakes_the_lead() {
    let mut night = stocked();
    let said = night.wait(6 * 60);
    let classes: Vec<Class> = said.iter().map(|message| message.class).collect();
    assert_eq!(classes, [Class::Look, Class::Look, Class::Alarm], "{said:?}");
    assert!(said.iter().all(|message| message.body.contains("A2")));
    assert!(night.wait(60).is_empty(), "the lead is woken once");
}

#[test]
fn only_a_word_or_number_about_the_fish_answers_a_look() {
    for (text, answers) in [
        ("A2 ph 7.1", false),
        ("A2 wc 30%", false),
        ("A2 cloudy water", false),
        ("A2 fed", false),
        ("A2 all good", true),
        ("A2 no losses", true),
        ("A2 2 dead", true),
        ("A2 6 weak", true),
        ("A2 flashing", true),
    ] {
        let mut night = stocked();
        let due = night.state.looks["A2"].due;
        night.wait((due - night.now).num_minutes() + 5);
        night.says("ana", text);
        let look = &night.state.looks["A2"];
        assert_eq!(look.told.is_none() && look.due > due, answers, "{text}");
    }
}

#[test]
fn a_look_is_put_off_and_comes_again() {
    let mut night = stocked();
    night.says("ana", "later");
    assert!(matches!(night.refused(), Refusal::NothingToPutOff));
    let due = night.state.looks["A2"].due;
    night.wait((due - night.now).num_minutes() + 1);
    has(&night.says("ana", "give me 30 min"), &["A2", "I'll ask at"]);
    let said = night.wait(31);
    assert_eq!(said.len(), 1);
    has(&said[0].body, &["A2"]);
}

#[test]
fn a_recheck_that_somebody_asked_for_is_announced_with_the_name() {
    let mut night = stocked();
    has(&night.says("ana", "look at A2 again in 20 min"), &["I'll ask at"]);
    let said = night.wait(21);
    has(&said[0].body, &["A2", "ana"]);
    has(&night.says("ana", "A2 all good"), &["next look"]);
    night.says("ana", "check A2 at 25:99");
    assert!(night.state.looks["A2"].asked_by.is_none());
}

#[test]
fn a_recheck_of_a_bag_is_answered_by_its_count() {
    let mut night = Night::with_a_list();
    night.says("ana", "opening 8");
    has(&night.says("ana", "recheck 8 in 20 min"), &["I'll ask at"]);
    let said = night.wait(21);
    has(&said[0].body, &["box 8"]);
    assert_eq!(said[0].about, [crate::message::Place::Box { number: 8 }]);
    night.says("ana", "8 100 ok");
    assert!(night.state.looks.is_empty());
}

#[test]
fn an_answer_that_comes_late_is_said_to_be_late() {
    let mut night = stocked();
    let due = night.state.looks["A2"].due;
    night.wait((due - night.now).num_minutes() + 45);
    has(&night.says("ana", "A2 all good"), &["late", "next look"]);
}

#[test]
fn an_emptied_tank_needs_no_look() {
    let mut night = stocked();
    night.says("ana", "A2 into A3");
    assert_eq!(night.state.looks.keys().collect::<Vec<_>>(), ["A3"]);
    night.says("ana", "A3 all dead");
    assert!(night.state.looks.is_empty());
}

#[test]
fn a_reply_to_a_reminder_answers_the_look_it_asks_for() {
    let mut night = stocked();
    let due = night.state.looks["A2"].due;
    let said = night.wait((due - night.now).num_minutes() + 1);
    has(&night.replies("bo", &said[0].about.clone(), "all good"), &["A2 all well", "next look"]);
    assert!(night.state.looks["A2"].told.is_none());
}
