use rust_decimal::Decimal;

use super::lines;
use crate::say::buyer::*;
use crate::say::notice;

fn loach(size: Option<&str>, price: Option<i64>) -> Offer {
    Offer {
        lot: 43,
        species: "clown loach".into(),
        size: size.map(str::to_owned),
        fish: 36,
        price: price.map(|cents| (Decimal::new(cents, 2), "EUR".to_owned())),
    }
}

#[test]
fn an_offer_names_fish_size_lot_and_price_where_they_are_known() {
    insta::assert_snapshot!(lines([
        offer(&loach(None, None)),
        offer(&loach(Some("5 cm"), None)),
        offer(&loach(Some("5 cm"), Some(250))),
        cleared(&loach(None, Some(250))),
        for_sale(&[]),
        for_sale(&[loach(None, None), loach(Some("7 cm"), Some(300))]),
    ]), @r"
    36 clown loach, lot 43
    36 clown loach 5 cm, lot 43
    36 clown loach 5 cm, lot 43, 2.50 EUR each
    Now for sale: 36 clown loach, lot 43, 2.50 EUR each. Say how many you want.
    Nothing is cleared for sale right now.
    For sale:
    36 clown loach, lot 43
    36 clown loach 7 cm, lot 43, 3.00 EUR each
    ");
}

#[test]
fn a_buyer_hears_of_its_own_fish() {
    insta::assert_snapshot!(lines([
        reserved("clown loach", 12),
        cut("clown loach", 2, 10),
        cut("clown loach", 1, 1),
        cut("clown loach", 12, 0),
        shipped("clown loach", 12),
        own(&[]),
        own(&[("clown loach".into(), 12), ("neon tetra".into(), 100)]),
        only_stock(),
    ]), @r"
    Reserved for you: 12 clown loach.
    Sorry, we lost 2 of your clown loach. 10 are still reserved for you.
    Sorry, we lost 1 of your clown loach. 1 is still reserved for you.
    Sorry, we lost 12 of your clown loach. None is left for you.
    On the way to you: 12 clown loach.
    You have nothing reserved.
    Reserved for you: 12 clown loach, 100 neon tetra.
    I can tell you what is for sale and what is reserved for you.
    ");
}

#[test]
fn a_lead_hears_of_reservations_without_asking() {
    insta::assert_snapshot!(lines([
        notice::reserved_by("Reef & River", "clown loach", 12),
        notice::reservation_cut("Reef & River", "clown loach", 10, 12),
        notice::reservation_cut("Reef & River", "clown loach", 0, 12),
        notice::taken_back("lea", "A12 2 dead"),
    ]), @r"
    Reef & River reserved 12 clown loach.
    Reef & River: deaths leave 10 of 12 clown loach reserved.
    Reef & River: deaths leave 0 of 12 clown loach reserved.
    lea took back what you said: A12 2 dead
    ");
}
