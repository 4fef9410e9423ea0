//! The plan for a bag, and the second look at fish that lie still in sour water.

use insta::assert_snapshot;

use super::night::{Night, Row, packing_list};
use crate::consignment::PackingList;
use crate::desk::What;
use crate::settings::Temperature;

const ROWS: [Row; 2] = [(7, None, Some(2), "cardinal tetra", 200), (8, None, Some(1), "corydoras paleatus", 40)];

fn night() -> Night {
    let mut night = Night::staffed();
    night.imports("Rio Claro", &ROWS);
    night
}

fn read(night: &mut Night, texts: &[&str]) {
    for text in texts {
        let answer = night.says("ana", text);
        assert!(!answer.is_empty(), "{text}");
    }
}

#[test]
fn a_plan_follows_from_the_readings_of_bag_and_tank() {
    let mut night = night();
    read(&mut night, &["7.1 temp 22 ph 6.1 ammonia 12", "A3 temp 26 ph 7.2 kh 3 ammonia 0"]);
    assert_snapshot!(night.says("ana", "plan for 7.1 into A3"), @r"
    7.1 into A3: straight over.
    1. Float 7.1 closed, lights low, about 30 min, until within 2 °C of 26 °C.
    2. Open, net the fish into A3 within minutes. Old water to the drain, never into A3.
    3. Look at A3 in 15 min. Gasping or on their side: tell the lead.
    Why: left open, its NH3 climbs to 0.86, the limit is 0.11 mg/L as N; a slow way costs 6 times the NH3. Taken for granted: soft packing water.
    Careful: no air stone in the bag: pH climbs to 8.2. Air belongs into A3.
    ");
    read(&mut night, &["7.1 ph 6.1"]);
    assert!(night.says("ana", "plan into A3").starts_with("7.1 into A3: straight over."), "the bag at hand");
    // Acts and books stay as they are: a question writes nothing.
    assert!(night.last.refusals.is_empty());
}

#[test]
fn the_tank_is_that_where_fish_of_the_kind_went_else_it_is_asked_for() {
    let mut night = night();
    read(&mut night, &["7.1 temp 22 ph 6.1 ammonia 12"]);
    assert_snapshot!(night.says("ana", "plan 7.1"), @r#"7.1 into which tank? Say "plan for 7.1 into A3"."#);
    read(&mut night, &["7.2 100 ok", "7.2 into A5"]);
    assert_snapshot!(night.says("ana", "plan 7.1"), @"To plan 7.1 into A5 I need temperature and pH of A5. Keep 7.1 closed and float it meanwhile.");
    read(&mut night, &["A5 temp 26 ph 7.2"]);
    assert_snapshot!(night.says("ana", "plan 7.1"), @r"
    7.1 into A5: straight over.
    1. Float 7.1 closed, lights low, about 30 min, until within 2 °C of 26 °C.
    2. Open, net the fish into A5 within minutes. Old water to the drain, never into A5.
    3. Look at A5 in 15 min. Gasping or on their side: tell the lead.
    Why: left open, its NH3 climbs to 0.86, the limit is 0.11 mg/L as N; a slow way costs 4 times the NH3. Taken for granted: soft packing water, no ammonia in the tank, tank at rest with the air.
    Careful: no air stone in the bag: pH climbs to 8.2. Air belongs into A5.
    ");
    night.pause(30);
    assert_snapshot!(night.says("ana", "plan"), @r#"A plan for which bag? Say "plan 7.2"."#);
    assert_snapshot!(night.says("ana", "plan for A5"), @r#"Which bag goes into A5? Say "plan for 7.2 into A5"."#);
}

#[test]
fn what_was_not_read_is_asked_for_and_a_forecast_says_that_it_is_one() {
    let mut night = night();
    read(&mut night, &["A3 temp 26 ph 7.2"]);
    assert_snapshot!(night.says("ana", "plan for 7.1 into A3"), @"To plan 7.1 into A3 I need temperature, pH and ammonia of 7.1. Keep 7.1 closed and float it meanwhile.");
    let mut night = Night::staffed();
    let packed_at = Some("2026-03-02T16:00".into());
    let list = PackingList { packed_at, ..packing_list("Rio Claro", &ROWS) };
    night.take(Some("lea"), What::List(Box::new(list)));
    night.says("lea", "import");
    read(&mut night, &["A3 temp 26 ph 7.2"]);
    assert_snapshot!(night.says("ana", "plan for 7.1 into A3"), @r"
    7.1 into A3: straight over. A forecast from the list, nothing was read: read pH and ammonia to be sure.
    1. Float 7.1 closed, lights low, about 5 min, until within 2 °C of 26 °C.
    2. Open, net the fish into A3 within minutes. Old water to the drain, never into A3.
    3. Read pH and ammonia as you open: they correct this plan.
    Why: left open, its NH3 climbs to 0.25, the limit is 0.11 mg/L as N; a slow way costs 16 times the NH3. Taken for granted: soft packing water, no ammonia in the tank, tank at rest with the air.
    Careful: no air stone in the bag: pH climbs to 8.1. Air belongs into A3.
    ");
    night.settings.temperature = Temperature::Fahrenheit;
    read(&mut night, &["7.1 temp 22 ph 6.2"]);
    assert_snapshot!(night.says("ana", "plan for 7.1 into A3"), @r"
    7.1 into A3: straight over. Its ammonia is a forecast from the list: read it to be sure.
    1. Float 7.1 closed, lights low, about 30 min, until within 3.6 °F of 79 °F.
    2. Open, net the fish into A3 within minutes. Old water to the drain, never into A3.
    3. Read pH and ammonia as you open: they correct this plan.
    Why: left open, its NH3 climbs to 0.18, the limit is 0.11 mg/L as N; a slow way costs 4 times the NH3. Taken for granted: soft packing water, no ammonia in the tank, tank at rest with the air.
    Careful: no air stone in the bag: pH climbs to 8.1. Air belongs into A3.
    ");
}

#[test]
fn what_was_read_before_a_water_change_holds_no_more() {
    let mut night = night();
    read(&mut night, &["8 into tray 1", "tray 1 temp 25 ph 6.4 ammonia 2", "A3 temp 25 ph 7.2", "tray 1 wc 30%"]);
    assert_snapshot!(night.says("ana", "plan for tray 1 into A3"), @"To plan tray 1 into A3 I need temperature, pH and ammonia of tray 1.");
    read(&mut night, &["tray 1 temp 25 ph 6.6 ammonia 1.5"]);
    assert!(night.says("ana", "plan for tray 1 into A3").starts_with("tray 1 into A3: "));
}

#[test]
fn a_bag_without_oxygen_gets_it_and_no_word_against_it() {
    let mut night = night();
    read(&mut night, &["7.1 temp 21 ph 6.3 ammonia 6 do 2", "A3 temp 26 ph 7.2"]);
    assert_snapshot!(night.says("ana", "plan for 7.1 into A3"), @r"
    7.1 into A3: straight over.
    1. No time to float: set up a tub of A3 water at 21 °C, air stone in it.
    2. Open, net the fish into the tub. Let it drift to 26 °C, then into A3. Old water to the drain.
    3. Look at A3 in 15 min. Gasping or on their side: tell the lead.
    Why: its oxygen is 2 mg/L, too little for anything slow. Taken for granted: soft packing water, no ammonia in the tank, tank at rest with the air.
    Careful: give oxygen in the new water, for if you bubble the bag's its pH climbs to 8.1, NH3 to 0.32 mg/L as N.
    ");
}

#[test]
fn readings_that_cannot_be_true_together_are_said_to_be_so() {
    let mut night = night();
    read(&mut night, &["7.1 temp 22 ph 9.4 ammonia 0 kh 0", "A3 temp 26 ph 7.2"]);
    assert_snapshot!(night.says("ana", "plan for 7.1 into A3"), @"No plan for 7.1: pH 9.4 and alkalinity 0 mg/L as CaCO3 cannot be true of one water: measure both again.");
}

#[test]
fn dead_fish_of_a_sour_bag_are_looked_at_again_before_their_count_is_final() {
    let mut night = night();
    read(&mut night, &["7.1 temp 24 ph 5.9 ammonia 10"]);
    assert_snapshot!(night.says("ana", "7.1 90 ok 10 dead"), @r"
    7.1 90 sound, 10 dead · 100 of 100, balanced, 10 DOA
    7.1 was sour and full of CO2: fish may come round, look again in 10 min before it is final
    ");
    assert_eq!(night.state.looks["7.1"].due, night.now + chrono::Duration::minutes(10));
    // Once: the look stands.
    assert!(!night.says("ana", "7.1 2 more dead").contains("come round"));
    let asked = night.wait(11);
    assert!(asked.iter().any(|said| said.body.contains("Look at 7.1")), "{asked:?}");
    assert_snapshot!(night.says("ana", "7.1 3 came round"), @"7.1 3 came round · 100 of 100, balanced, 9 DOA");
    assert!(!night.state.looks.contains_key("7.1"), "answered");
    // Clean water stuns nobody.
    read(&mut night, &["7.2 temp 24 ph 7.1 ammonia 1"]);
    assert!(!night.says("ana", "7.2 90 ok 10 dead").contains("come round"));
}
