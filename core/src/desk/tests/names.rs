//! Names of a list, resolved once for a supplier, and found again by the crew's own words.

use rust_decimal::Decimal;

use super::night::{Night, has, packing_list};
use crate::consignment::PackingList;
use crate::desk::What;

/// A list of boxes of one bag each: the common name and, where the list has it, the scientific one; 20 fish in each.
fn listed(supplier: &str, names: &[(&'static str, Option<&str>)]) -> PackingList {
    let rows: Vec<_> = (1..).zip(names).map(|(number, (name, _))| (number, None, Some(1), *name, 20)).collect();
    let mut list = packing_list(supplier, &rows);
    for (line, (_, scientific)) in list.lines.iter_mut().zip(names) {
        line.scientific = scientific.map(str::to_owned);
    }
    list
}

fn imported(names: &[(&'static str, Option<&str>)]) -> Night {
    let mut night = Night::staffed();
    night.take(Some("lea"), What::List(Box::new(listed("Far Rivers", names))));
    night.says("lea", "yes");
    night
}

fn species(night: &Night) -> Vec<&str> {
    night.state.consignments.values().flat_map(|it| &it.lines).map(|line| line.species.as_str()).collect()
}

#[test]
fn names_in_all_languages_of_the_lists_become_the_crews() {
    let night = imported(&[
        ("Clown Loach 5-6cm M", None),
        ("Pez payaso ocellaris L", None),
        ("Cascudo zebra macho", None),
        ("Cupang jantan ASST", None),
        ("Sekavka nádherná, směs", None),
        ("Schmetterlingsbuntbarsch Paar", None),
        ("Red Fire Garnele 2cm", None),
    ]);
    assert_eq!(
        species(&night),
        ["clown loach", "ocellaris clownfish", "zebra pleco", "siamese fighter", "clown loach", "ram", "cherry shrimp"]
    );
}

#[test]
fn the_crews_short_names_plurals_and_the_lists_own_name_find_the_bag() {
    for said in ["loaches", "clowns", "clown loach", "botias payaso", "botia payaso", "chromobotia"] {
        let mut night = imported(&[("Botia payaso 5-6cm", None), ("Neon tetra", None)]);
        let reply = night.says("ana", &format!("2 {said} dead in box 1"));
        assert_eq!(night.line(1).doa, 2, "{said}: {reply}");
    }
}

#[test]
fn a_local_name_known_by_its_scientific_name_is_found_by_the_local_word_too() {
    for said in ["bolinhas", "bolinha", "bolinha azul", "neons", "neon tetra", "innesi"] {
        let mut night = imported(&[("Bolinha azul M", Some("Paracheirodon innesi")), ("Guppy", None)]);
        assert_eq!(species(&night), ["neon tetra", "guppy"]);
        let reply = night.says("ana", &format!("2 {said} dead in box 1"));
        assert_eq!(night.line(1).doa, 2, "{said}: {reply}");
    }
}

#[test]
fn a_doubt_is_asked_once_for_a_supplier_and_not_of_another_list_of_his() {
    let mut night = Night::staffed();
    let list = |supplier: &str, invoice: &str| {
        let mut list = listed(supplier, &[("Arowana 20cm", None), ("Arowana 20cm", None), ("Neon tetra", None)]);
        list.invoice = Some(invoice.to_owned());
        What::List(Box::new(list))
    };
    night.take(Some("lea"), list("Far Rivers", "1"));
    has(&night.says("lea", "yes"), &["Far Rivers lists \"Arowana 20cm\""]);
    let reply = night.presses("lea", "silver arowana");
    assert!(!reply.contains("lists"), "asked once: {reply}");
    night.take(Some("lea"), list("Far Rivers", "2"));
    assert!(!night.says("lea", "yes").contains("lists \""));
    assert_eq!(species(&night), ["silver arowana", "neon tetra", "silver arowana", "neon tetra"]);
    night.take(Some("lea"), list("Near Rivers", "3"));
    has(&night.says("lea", "yes"), &["Near Rivers lists \"Arowana 20cm\""]);
}

#[test]
fn one_local_name_for_two_fish_means_the_one_in_the_place() {
    let mut night =
        imported(&[("Bolinha", Some("Paracheirodon innesi")), ("Bolinha", Some("Danio rerio")), ("Guppy", None)]);
    night.says("ana", "2 bolinhas dead in box 1");
    night.says("ana", "3 bolinhas dead in box 2");
    assert_eq!((night.line(1).doa, night.line(2).doa), (2, 3));
    has(&night.says("bo", "4 bolinhas dead"), &["Which fish: neon tetra or zebra danio?"]);
}

#[test]
fn what_a_list_says_of_prices_weight_and_packing_is_kept() {
    let mut list = packing_list("Far Rivers", &[(1, Some(2), Some(3), "Neon tetra", 110)]);
    list.lines[0].unit_price = Some(Decimal::new(8, 2));
    list.lines[0].size = Some("M".into());
    list.lines[0].bonus = 10;
    list.currency = Some("USD".into());
    list.gross_kg = Some(Decimal::new(4125, 1));
    list.packed_at = Some("2026-03-03T14:30".into());
    list.awb = Some("900-12345675".into());
    let mut night = Night::staffed();
    night.take(Some("lea"), What::List(Box::new(list.clone())));
    night.says("lea", "yes");
    let kept = night.state.consignments.values().next().unwrap();
    assert_eq!(
        (&kept.currency, kept.gross_kg, &kept.packed_at, &kept.awb, &kept.invoice),
        (&list.currency, list.gross_kg, &list.packed_at, &list.awb, &list.invoice)
    );
    assert_eq!((kept.lines[0].unit_price, &kept.lines[0].size), (list.lines[0].unit_price, &list.lines[0].size));
    let content = &night.state.boxes.values().next().unwrap().contents[0];
    assert_eq!((content.fish, content.free, content.bag, content.bags), (110, 10, Some(2), Some(3)));
}
