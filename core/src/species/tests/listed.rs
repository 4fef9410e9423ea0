//! Names as lists write them: every name of the table and of the other languages, with what stands around it.

use super::super::names::ELSEWHERE;
use super::*;

/// Every name with the row it means, those that ask by themselves apart.
fn every_name() -> Vec<(String, &'static str)> {
    let here = table().iter().flat_map(|one| one.common.iter().map(|name| (name.clone(), one.name())));
    let elsewhere = ELSEWHERE.lines().skip(1).filter_map(|line| {
        let mut cells = line.split(',').skip(1);
        Some((cells.next()?.to_owned(), cells.next()?))
    });
    here.chain(elsewhere)
        .filter(|(name, _)| resolved(name, None) != "-" && !resolved(name, None).starts_with('?'))
        .collect()
}

/// Names that mean another fish, or several, with this beside them. Those that give way to others are tried with each, of
/// the rest every seventh, another set each time.
fn spoilt(names: &[(String, &'static str)], nth: usize, around: &str) -> Vec<String> {
    const WEAK: [&str; 6] = ["cardinal", "goldfish", "sword", "angelfish", "anthias", "seahorse"];
    let written = |name: &str| around.replace("{}", name);
    let tried = |(at, (name, _)): &(usize, &(String, &str))| at % 7 == nth % 7 || WEAK.contains(&name.as_str());
    names
        .iter()
        .enumerate()
        .filter(tried)
        .map(|(_, named)| named)
        .filter(|(name, row)| resolved(&written(name), None) != *row)
        .map(|(name, _)| format!("{} is {}", written(name), resolved(&written(name), None)))
        .collect()
}

#[test]
fn sizes_sexes_grades_and_places_around_a_name_do_not_change_what_it_means() {
    let mut all = Vec::new();
    let names = every_name();
    for (nth, around) in [
        "{} L",
        "{} M/F pair",
        "{} wild",
        "Wild {}",
        "{} W/C",
        "{} tank bred",
        "{} 5-6cm",
        "{} 2.5\"",
        "{} 1.5-2 inch",
        "{} ASST",
        "Assorted {}",
        "{} (asst colours)",
        "Albino {}",
        "{} albino",
        "{} #2",
        "{} ♂",
        "{} males",
        "FW012 {}",
        "{} TR1024",
        "{} - Peru",
        "{} (Brazil)",
        "{} Sri Lanka",
        "{} Rio Xingu",
        "{} ex Indonesia",
        "{} Singapore",
        "{} farm bred",
        "{} grade A",
        "{} jumbo",
        "{} S/M",
        "{} pr.",
        "{} macho",
        "{} hembra",
        "{} selvagem",
        "{} jantan",
        "{} samec",
        "{} Männchen",
        "{} Wildfang",
        "{} Nachzucht",
        "{} salvaje",
        "{} criado",
        "{} par",
        "{} pasang",
        "{} pár",
        "{} Paar",
        "{} surtido",
        "{} campur",
        "{} směs",
        "{} gemischt",
        "{} sortido",
        "{} grande",
        "{} besar",
        "{} velký",
        "{} groß",
    ]
    .into_iter()
    .enumerate()
    {
        all.extend(spoilt(&names, nth, around));
    }
    assert_eq!(all, [""; 0]);
}

#[test]
fn the_scientific_name_of_another_column_names_the_fish_whatever_a_local_name_says() {
    for (local, scientific, name) in [
        ("Bolinha azul", "Paracheirodon innesi", "neon tetra"),
        ("Rode neon", "Paracheirodon axelrodi", "cardinal tetra"),
        ("Ikan hantu L", "Apteronotus albifrons", "black ghost knifefish"),
        ("Červené oko M/F", "Moenkhausia sanctaefilomenae", "red eye tetra"),
        ("Cardinal", "Paracheirodon innesi", "neon tetra"),
    ] {
        assert_eq!(resolved(local, Some(scientific)), name, "{local}");
    }
}

#[test]
fn a_code_of_an_exporter_is_no_fish_and_a_code_of_a_catfish_may_be_one() {
    assert_eq!(resolved("FW012", None), "-");
    assert_eq!(resolved("L046", None), "zebra pleco");
    assert_eq!(resolved("TR1024 L046 5-6cm", None), "zebra pleco");
}
