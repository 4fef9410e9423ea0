use rust_decimal::Decimal;

use crate::say::order::{Why, assumed, on_opening, why};
use crate::water::{Band, Missing};

fn nothing() -> Why {
    Why {
        pinned: false,
        nh3: None,
        oxygen_spent: false,
        doa_share: 0.0,
        delicate: false,
        hours: None,
        dearest: None,
        dear: false,
        money: false,
    }
}

const NH3: Band = Band { low: 0.31, mid: 0.8, high: 1.94 };

#[test]
fn each_ground_is_a_few_words() {
    let all = Why {
        pinned: true,
        nh3: Some(NH3),
        oxygen_spent: true,
        doa_share: 0.1,
        delicate: true,
        hours: Some(31),
        dearest: Some((Decimal::new(34000, 2), "USD".into())),
        dear: true,
        money: true,
    };
    insta::assert_snapshot!(why(&all).join(", "), @"a lead wants it first, 10 % DOA of the same fish so far, forecast NH3 0.8 mg/L as N once aired (0.31 to 1.9), oxygen may be spent, delicate fish, 31 h in the bag, dearest box, 340.00 USD");
    insta::assert_snapshot!(why(&Why { doa_share: 0.004, ..nothing() }).join(", "), @"under 1 % DOA of the same fish so far");
    insta::assert_snapshot!(why(&Why { dear: true, ..nothing() }).join(", "), @"dear fish");
    assert!(why(&nothing()).is_empty());
}

#[test]
fn what_is_worth_a_word_on_opening_says_what_to_do() {
    insta::assert_snapshot!(on_opening(Some(NH3), false), @"forecast NH3 0.8 mg/L as N once aired (0.31 to 1.9): bags shut until the fish can leave");
    insta::assert_snapshot!(on_opening(Some(NH3), true), @"forecast NH3 0.8 mg/L as N once aired (0.31 to 1.9): bags shut until the fish can leave, oxygen may be spent: this one now");
    assert!(on_opening(None, false).is_empty());
}

#[test]
fn what_was_assumed_is_said_once() {
    insta::assert_snapshot!(assumed(&[Missing::Size, Missing::Litres, Missing::PackingWater]), @"Assumed, so the bands are wide: fish sizes, litres and alkalinity of the packing water.");
    assert!(assumed(&[]).is_empty());
}
