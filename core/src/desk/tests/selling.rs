//! Holding, clearing, promising, shipping, and what buyers hear.

use super::night::Night;
use crate::desk::Refusal;

fn has(reply: &str, parts: &[&str]) {
    for part in parts {
        assert!(reply.contains(part), "no \"{part}\" in: {reply}");
    }
}

/// 100 neon tetra counted into A2, rested, fed and looked at for the policy's time.
fn rested() -> Night {
    let mut night = Night::with_a_list();
    night.says("ana", "8 100 ok");
    night.says("ana", "8 into A2");
    for _ in 0..10 {
        night.wait(300);
        night.says("ana", "A2 all good, eating");
    }
    night
}

fn cleared() -> Night {
    let mut night = rested();
    has(&night.says("lea", "clear A2"), &["cleared for sale", "rested"]);
    night
}

#[test]
fn clearing_before_the_policy_is_met_is_refused_with_each_reason() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 into A2");
    let reply = night.says("lea", "clear A2");
    has(&reply, &["A2 is not ready", "rest", "not all counted", "not seen feeding yet", "nobody has looked yet"]);
    assert!(matches!(night.refused(), Refusal::NotReady { .. }));
    night.says("ana", "clear A2");
    assert!(matches!(night.refused(), Refusal::MayNot { .. }));
}

#[test]
fn clearing_is_granted_when_the_policy_is_met_and_every_buyer_is_told() {
    let night = cleared();
    assert_eq!(night.books().cleared, 100);
    has(&night.told("rita")[0], &["Now for sale: 100 neon tetra, lot 1"]);
    assert_eq!(night.told("tom").len(), 1);
}

#[test]
fn a_lead_clears_past_the_policy_with_a_reason_which_is_kept() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 into A2");
    has(
        &night.says("lea", "clear A2 anyway regular customer waits"),
        &["past the policy, your reason is kept", "not met"],
    );
    assert_eq!(night.books().cleared, 100);
    let kept = night.state.entries.values().any(|entry| format!("{:?}", entry.what).contains("regular customer waits"));
    assert!(kept);
}

#[test]
fn fish_into_a_cleared_tank_stop_its_offers() {
    let mut night = cleared();
    night.says("ana", "12 30 ok");
    has(&night.says("ana", "12 into A2"), &["100 cleared there are on hold again"]);
    assert_eq!((night.books().cleared, night.books().held), (0, 130));
    has(&night.says("rita", "what's for sale?"), &["Nothing is cleared"]);
}

#[test]
fn a_reservation_is_cut_by_deaths_and_the_buyer_and_the_lead_are_told() {
    let mut night = cleared();
    has(&night.says("rita", "can we get 60 neons"), &["reserved", "40 neon tetra still free"]);
    has(&night.told("lea")[0], &["Reef & River reserved 60 neon tetra"]);
    night.says("tom", "30 neons please, put me down");
    let told = ["A2 45 dead", "Tank Town: deaths leave 0 of 30", "Reef & River: deaths leave 55 of 60"];
    has(&night.says("ana", "A2 45 dead"), &told);
    assert_eq!(night.told("rita").len(), 1);
    has(&night.told("rita")[0], &["5 of your neon tetra", "55"]);
    has(&night.told("tom")[0], &["30 of your neon tetra", "None is left for you"]);
    // The lead sits in the crew's chat and has read it in the answer.
    assert!(night.told("lea").is_empty());
    has(&night.says("rita", "what have I reserved?"), &["55 neon tetra"]);
}

#[test]
fn no_fish_is_promised_twice() {
    let mut night = cleared();
    night.says("rita", "can we get 60 neons");
    let reply = night.says("tom", "can we get 60 neons");
    has(&reply, &["60 neon tetra asked, 40 are free for sale"]);
    assert!(matches!(night.refused(), Refusal::TooFewCleared { free: 40, asked: 60, .. }));
    night.says("ana", "70 from A2 to A3");
    assert!(matches!(night.refused(), Refusal::NotThere { promised: 60, .. }));
    night.says("ana", "A2 50 shipped to Tank Town");
    assert!(matches!(night.refused(), Refusal::NotCleared { cleared: 40, asked: 50, .. }));
}

#[test]
fn shipping_takes_the_promised_first_and_tells_the_buyer() {
    let mut night = cleared();
    night.says("rita", "can we get 60 neons");
    has(&night.says("ana", "A2 60 shipped to Reef & River"), &["60 fish gone to Reef & River"]);
    has(&night.told("rita")[0], &["On the way to you: 60 neon tetra"]);
    assert_eq!((night.books().shipped, night.books().reserved, night.books().cleared), (60, 0, 40));
    night.says("ana", "A2 10 shipped to Nobody & Co");
    assert_eq!(night.books().shipped, 60);
    night.says("ana", "tray 3 shipped to Reef & River");
    assert!(matches!(night.refused(), Refusal::WrongKindOfPlace { .. }));
}

#[test]
fn a_hold_stops_offers_and_only_a_lead_shortens_it() {
    let mut night = cleared();
    has(&night.says("lea", "hold A2 48h, looks off"), &["on hold until", "100 no longer for sale"]);
    let long = night.state.lots.values().next().unwrap().hold.clone();
    night.says("ana", "hold A2 2h");
    assert_eq!(night.state.lots.values().next().unwrap().hold, long);
    night.says("lea", "hold A2 2h");
    assert_ne!(night.state.lots.values().next().unwrap().hold, long);
    night.says("lea", "hold A7 2h");
    assert!(matches!(night.refused(), Refusal::NotThere { .. }));
}

#[test]
fn what_buyers_were_told_is_corrected_when_it_is_taken_back() {
    let mut night = cleared();
    night.says("lea", "undo");
    has(&night.told("rita")[0], &["Correction: the neon tetra of lot 1 are not for sale yet"]);
    let mut night = cleared();
    night.says("ana", "12 neons for Reef & River");
    has(&night.told("rita")[0], &["Reserved for you: 12 neon tetra"]);
    night.says("ana", "undo");
    has(&night.told("rita")[0], &["Correction. You have nothing reserved"]);
}

#[test]
fn a_buyer_takes_back_its_own_reservation_and_learns_nothing_of_what_stands_in_the_way() {
    let mut night = cleared();
    night.says("rita", "can we get 60 neons");
    has(&night.says("rita", "undo"), &["taken back"]);
    assert_eq!((night.books().reserved, night.books().cleared), (0, 100));
    night.says("rita", "can we get 60 neons");
    night.says("ana", "A2 2 dead");
    let reply = night.says("rita", "undo");
    assert!(matches!(night.refused(), Refusal::OnlyTheHouse), "{reply}");
    assert!(!reply.contains("A2") && !reply.contains("ana") && !reply.contains("dead"), "{reply}");
}

#[test]
fn a_price_is_shown_to_buyers() {
    let mut night = cleared();
    night.says("ana", "price lot 1 2.50 EUR");
    assert!(matches!(night.refused(), Refusal::MayNot { .. }));
    has(&night.says("olga", "price lot 1 2.50 EUR"), &["2.50 EUR each"]);
    has(&night.says("rita", "what's for sale?"), &["100 neon tetra, lot 1, 2.50 EUR each"]);
    night.says("olga", "price lot 9 2.50 EUR");
    assert!(matches!(night.refused(), Refusal::NoSuchLot { number: 9 }));
}
