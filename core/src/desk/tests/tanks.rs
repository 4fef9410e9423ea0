//! Tanks and trays: deaths, stock-takes, old stock.

use super::night::Night;
use crate::desk::Refusal;
use crate::stock::Account;

fn has(reply: &str, parts: &[&str]) {
    for part in parts {
        assert!(reply.contains(part), "no \"{part}\" in: {reply}");
    }
}

/// Two lots in A2: 100 neon tetra (counted) and 30 kuhli loach.
fn two_lots() -> Night {
    let mut night = Night::with_a_list();
    for text in ["8 100 ok", "8 into A2", "12 30 ok", "12 into A2"] {
        night.says("ana", text);
    }
    night
}

#[test]
fn deaths_in_a_tank_add_up() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 100 ok");
    night.says("ana", "8 into A2");
    night.says("ana", "A2 2 dead");
    has(&night.says("ana", "A2 3 dead"), &["95 neon tetra (lot 1, 5 DAA)"]);
    assert_eq!((night.line(2).daa, night.line(2).doa), (5, 0));
}

#[test]
fn deaths_in_a_tank_of_two_lots_ask_which_or_stay_undetermined_and_out_of_claims() {
    let mut night = two_lots();
    has(&night.says("ana", "A2 2 dead"), &["which fish, neon tetra or kuhli loach?"]);
    has(&night.says("ana", "kuhlis"), &["28 kuhli loach (lot 2, 2 DAA)"]);
    night.says("ana", "A2 3 dead");
    has(&night.says("ana", "can't tell"), &["3 dead, not known of which fish, in no claim"]);
    assert_eq!(night.state.books.total_in(&Account::DaaUndetermined("A2".into())).total(), 3);
    has(&night.says("olga", "claims?"), &["Nothing to claim"]);
    has(&night.says("ana", "A2 1 neon dead"), &["1 neon tetra dead"]);
    night.says("ana", "lot 2 1 dead");
    assert_eq!(night.books().daa, 7);
}

#[test]
fn a_stock_take_below_the_books_asks_and_is_unaccounted_never_daa_or_short() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 100 ok");
    night.says("ana", "8 into A2");
    has(&night.says("ana", "A2 97 alive"), &["97 neon tetra, the books say 100. Book 3 as unaccounted?"]);
    assert_eq!(night.books().unaccounted, 0);
    has(&night.says("ana", "yes"), &["3 booked as unaccounted", "97 neon tetra"]);
    let books = night.books();
    assert_eq!((books.unaccounted, books.daa, books.short), (3, 0, 0));
    has(&night.says("ana", "A2 95 alive"), &["unaccounted?"]);
    has(&night.says("ana", "no"), &["The books stand"]);
    has(&night.says("ana", "A2 99 alive"), &["2 more neon tetra than in the books. Extra?"]);
    night.says("ana", "yes");
    assert_eq!((night.books().unaccounted, night.books().extra), (3, 2));
}

#[test]
fn a_stock_take_answered_late_books_no_more_than_is_there() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 100 ok");
    night.says("ana", "8 into A2");
    night.says("ana", "A2 40 alive");
    night.says("bo", "A2 70 dead");
    let reply = night.says("ana", "yes");
    has(&reply, &["30 booked as unaccounted", "A2 is empty"]);
}

#[test]
fn dead_in_a_tank_of_which_the_books_have_none_living_are_kept_in_the_log_only() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 100 ok");
    night.says("ana", "8 into A2");
    night.says("ana", "A2 all dead");
    assert_eq!(night.books().daa, 100);
    assert!(night.state.looks.is_empty());
    has(&night.says("ana", "A2 1 dead"), &["kept in the log: the books have no fish in A2"]);
}

#[test]
fn old_stock_is_booked_where_the_books_have_no_fish_and_never_claimed() {
    let mut night = Night::with_a_list();
    has(&night.says("ana", "A12 has 40 yoyos"), &["booked as old stock, lot 1"]);
    has(&night.says("ana", "A11 has 25 tiger barbs"), &["booked as old stock, lot 2"]);
    night.says("ana", "A12 4 dead");
    has(&night.says("olga", "claims?"), &["Nothing to claim"]);
    night.says("ana", "A10 40 alive");
    assert!(matches!(night.refused(), Refusal::WhichFish { .. }));
}

#[test]
fn fish_that_came_round_in_a_tank_are_taken_back_from_its_dead() {
    let mut night = Night::with_a_list();
    night.says("ana", "8 100 ok");
    night.says("ana", "8 into A2");
    night.says("ana", "A2 4 dead");
    has(&night.says("ana", "A2 3 came round"), &["99 neon tetra (lot 1, 1 DAA)"]);
    night.says("ana", "A2 3 came round");
    assert!(matches!(night.refused(), Refusal::FewerDead { .. }));
    night.says("ana", "A2 culled 9");
    assert_eq!((night.books().culled, night.books().held), (9, 90));
}

#[test]
fn a_house_that_declared_no_tank_uses_any_and_keeps_them_when_it_declares_some() {
    let mut night = Night::new();
    night.imports("Rio Claro", &super::night::RIO);
    has(&night.says("lea", "8 into A7"), &["100 from box 8 into A7"]);
    has(&night.says("lea", "box 12 into A9"), &["30 from box 12 into A9"]);
    night.says("lea", "tanks A1-A4 200 L");
    has(&night.says("lea", "A7 2 dead"), &["A7 2 dead", "98 neon tetra"]);
}

#[test]
fn a_part_of_mixed_fish_asks_which() {
    let mut night = two_lots();
    has(&night.says("ana", "10 from A2 into A3"), &["which fish"]);
    has(&night.says("ana", "neons"), &["10 neon tetra from A2 into A3", "A3 holds 10 neon tetra"]);
    has(&night.says("ana", "5 kuhlis from A2 to A3"), &["5 kuhli loach"]);
    night.says("ana", "A3 into A3");
    assert!(matches!(night.refused(), Refusal::AlreadyThere { .. }));
}
