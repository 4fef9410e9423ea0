//! Which box next, by what is expected in it and by what was found in its sisters.

use rust_decimal::Decimal;

use super::night::{Night, Row, has, packing_list};
use crate::consignment::PackingList;
use crate::desk::What;
use crate::quantity::Finite;

/// Three boxes of small fish in bags alike, one of them delicate, one crowded; a marine box and a box of shrimp.
const ROWS: [Row; 5] = [
    (1, None, Some(4), "zebra danio", 200),
    (2, None, Some(4), "zebra danio", 3200),
    (3, None, Some(4), "otocinclus", 200),
    (4, None, Some(4), "cherry shrimp", 100),
    (5, None, Some(4), "clownfish", 40),
];

fn list() -> PackingList {
    let mut list = packing_list("Rio Claro", &ROWS);
    list.packed_at = Some("2026-03-02T16:00".into());
    for line in &mut list.lines {
        line.size = Some("3cm".into());
    }
    list
}

fn night_of(list: PackingList) -> Night {
    let mut night = Night::staffed();
    night.take(Some("lea"), What::List(Box::new(list)));
    night.says("lea", "import");
    night
}

/// The numbers of the boxes named, in order.
fn named(order: &str) -> Vec<u32> {
    let number = |line: &str| line.strip_prefix("box ")?.split(' ').next()?.parse().ok();
    order.lines().filter_map(number).collect()
}

#[test]
fn the_crowded_box_comes_before_the_others_and_says_its_forecast() {
    let mut night = night_of(list());
    let order = night.says("ana", "which box next?");
    assert_eq!(named(&order)[0], 2, "{order}");
    has(
        &order,
        &["forecast NH3", "mg/L as N once aired (", "30 h in the bag", "Assumed, so the bands are wide: litres"],
    );
}

#[test]
fn delicate_fish_come_before_others_in_the_same_water() {
    let mut rows = list();
    rows.lines.retain(|line| line.number != Some(2));
    let order = night_of(rows).says("ana", "which box next?");
    assert_eq!(named(&order)[0], 3, "{order}");
    has(&order, &["delicate fish"]);
}

#[test]
fn deaths_in_a_sister_box_put_a_box_forward() {
    let mut rows = list();
    rows.lines[1].qty = 200;
    let mut night = night_of(rows);
    night.says("ana", "box 1 alive 120, 80 dead");
    let order = night.says("ana", "which box next?");
    assert_eq!(named(&order)[0], 2, "{order}");
    has(&order, &["40 % DOA of the same fish so far"]);
}

#[test]
fn a_lead_can_put_a_box_first() {
    let mut night = night_of(list());
    night.says("lea", "box 4 first");
    assert_eq!(named(&night.says("ana", "which box next?"))[0], 4);
}

#[test]
fn an_opened_box_teaches_of_those_still_closed() {
    let mid = |order: &str| -> f64 {
        let words = order.split("forecast NH3 ").nth(1).unwrap_or_else(|| panic!("{order}"));
        words.split(' ').next().unwrap().parse().unwrap()
    };
    let mut night = night_of(list());
    night.says("lea", "box 2 first");
    let before = mid(&night.says("ana", "which box next?"));
    night.says("ana", "1.1 ammonia 60 24C");
    let after = mid(&night.says("ana", "which box next?"));
    assert!(after > before * 1.5, "{before} {after}");
}

#[test]
fn where_nothing_is_known_nothing_is_forecast() {
    let mut rows = packing_list("Rio Claro", &ROWS);
    rows.packed_at = None;
    let mut night = night_of(rows);
    let order = night.says("ana", "which box next?");
    assert!(!order.contains("forecast") && !order.contains("Assumed"), "{order}");
    assert!(!night.says("ana", "opening 2").contains("forecast"));
}

#[test]
fn shrimp_and_marine_fish_have_no_forecast_of_fresh_water_fish() {
    let mut rows = list();
    rows.lines.retain(|line| line.number > Some(3));
    let order = night_of(rows).says("ana", "which box next?");
    assert_eq!(named(&order).len(), 2, "{order}");
    assert!(!order.contains("forecast"), "{order}");
}

#[test]
fn the_first_box_of_a_consignment_says_what_to_expect_and_the_next_does_not() {
    let mut night = night_of(list());
    has(&night.says("ana", "opening 1"), &["forecast NH3", "bags shut until"]);
    assert!(!night.says("ana", "opening 3").contains("forecast"));
}

#[test]
fn what_the_settings_tell_is_not_assumed() {
    let mut night = night_of(list());
    let told = |value| Finite::new(value);
    night.settings.bags.litres_bag = told(3.0);
    night.settings.bags.temperature = told(24.0);
    night.settings.bags.alkalinity = told(60.0);
    assert!(!night.says("ana", "which box next?").contains("Assumed"));
}

#[test]
fn the_dearest_box_is_named_and_its_value_said_to_those_who_may_know_it() {
    let mut rows = list();
    rows.currency = Some("USD".into());
    for line in &mut rows.lines {
        line.unit_price = Some(Decimal::new(25, 2));
    }
    let mut night = night_of(rows);
    has(&night.says("lea", "which box next?"), &["dearest box, 800.00 USD"]);
    let order = night.says("ana", "which box next?");
    assert!(order.contains("dearest box") && !order.contains("USD"), "{order}");
}
