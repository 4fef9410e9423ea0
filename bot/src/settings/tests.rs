use super::keys::Kind;
use super::*;
use holdfast_core::message::Stage;
use holdfast_core::settings::{AmmoniaBasis, Condition, Temperature};
use insta::assert_snapshot;
use proptest::prelude::*;

const EXAMPLE: &str = include_str!("../../../deploy/settings.toml");

/// The example with every key taken in: a "#" without a blank stands before a key.
fn uncommented() -> String {
    EXAMPLE
        .lines()
        .map(|line| match line.strip_prefix('#') {
            Some(key) if !key.is_empty() && !key.starts_with(' ') => key,
            _ => line,
        })
        .collect::<Vec<_>>()
        .join("\n")
}

fn refusal(text: &str) -> String {
    read(text).expect_err("the text is wrong").to_string()
}

#[test]
fn an_empty_file_gives_the_defaults() {
    assert_eq!(read(""), Ok(Settings::default()));
}

#[test]
fn the_example_is_the_defaults_with_and_without_its_comment_signs() {
    assert_eq!(read(EXAMPLE), Ok(Settings::default()));
    assert_eq!(read(&uncommented()), Ok(Settings::default()));
}

#[test]
fn the_example_names_every_key_with_its_default() {
    let text = uncommented();
    let table = DeTable::parse(&text).expect("the example is TOML");
    for key in KEYS {
        let mut parts = key.path.split('.');
        let first = parts.next().expect("a path has a first part");
        let mut value = table.get_ref().get(first).map(|value| value.get_ref());
        for part in parts {
            value = value.and_then(|value| value.get(part)).map(|value| value.get_ref());
        }
        let value = value.unwrap_or_else(|| panic!("the example leaves out {}", key.path));
        assert_eq!(as_written(value), key.kind.show(&Settings::default()), "{}", key.path);
    }
}

#[test]
fn what_is_set_arrives_in_its_field_and_the_rest_stays() {
    let settings = read(
        "zone = \"Europe/Prague\"\ngallon = \"imperial\"\n[looks]\nquiet = \"23:00-06:00\"\n[looks.later]\nweak = 45\n\
         [release]\ndeaths_percent = 2.5\nfeeding_required = false\n[kit]\nammonia = \"NH3\"\n[claims]\nfrom = \"collected\"\n",
    )
    .expect("all of it is allowed");
    assert_eq!(settings.zone, chrono_tz::Europe::Prague);
    assert_eq!(settings.looks.later.weak, 45);
    assert_eq!(settings.looks.first_night, Settings::default().looks.first_night);
    assert_eq!(settings.release.deaths_percent.get(), 2.5);
    assert!(!settings.release.feeding_required);
    assert_eq!(settings.kit.ammonia, Some(AmmoniaBasis::Ammonia));
    assert_eq!(settings.claims.from, Stage::Collected);
    assert_eq!(settings.looks.quiet.map(|(from, _)| from.to_string()), Some("23:00:00".to_string()));
}

#[test]
fn the_watch_is_set_in_the_file() {
    let settings = read(
        "temperature = \"fahrenheit\"\n[looks]\ngrave = 10\nearly = 5\nawake = 3\n[condition]\nfair_percent = 1\nweak_percent = 5\n\
         very_weak_percent = 20\ndeaths_window_hours = 12\n[release]\nshared_water_waits = true\n",
    )
    .expect("all of it is allowed");
    assert_eq!(settings.temperature, Temperature::Fahrenheit);
    assert_eq!((settings.looks.grave, settings.looks.early, settings.looks.awake), (10, 5, 3));
    let condition = Condition { deaths_window_hours: 12, fair_percent: 1, weak_percent: 5, very_weak_percent: 20 };
    assert_eq!(settings.condition, condition);
    assert!(settings.release.shared_water_waits);
    assert_snapshot!(refusal("[condition]\nweak_precent = 5"), @"line 2: there is no setting `condition.weak_precent`; did you mean `condition.weak_percent`?");
    assert_snapshot!(refusal("[condition]\nweak_percent = 101"), @"line 2: condition.weak_percent = 101: it may be a whole number from 0 to 100 (per cent); left out it is 10");
    assert_snapshot!(refusal("[release]\nshared_water_waits = 1"), @"line 2: release.shared_water_waits = 1: it may be true or false; left out it is false");
}

#[test]
fn an_unknown_key_is_refused_with_its_line_and_the_nearest_known_one() {
    assert_snapshot!(refusal("\n[release]\nhold_hour = 48\n"), @"line 3: there is no setting `release.hold_hour`; did you mean `release.hold_hours`?");
    assert_snapshot!(refusal("hold_hours = 48\n"), @"line 1: there is no setting `hold_hours`; did you mean `release.hold_hours`?");
    assert_snapshot!(refusal("colour = \"red\"\n"), @"line 1: there is no setting `colour`");
    assert_snapshot!(refusal("[kits]\n"), @"line 1: there is no section `[kits]`; did you mean `kit`?");
    assert_snapshot!(refusal("zone = \"UTC\"\n[looks.first_nigth]\n"), @"line 2: there is no section `[looks.first_nigth]`; did you mean `looks.first_night`?");
}

#[test]
fn a_wrong_value_is_refused_with_what_is_allowed() {
    assert_snapshot!(refusal("zone = \"London\""), @r#"line 1: zone = "London": it may be the name of a time zone, like "Europe/London"; left out it is "UTC""#);
    assert_snapshot!(refusal("[release]\nhold_hours = -1"), @"line 2: release.hold_hours = -1: it may be a whole number from 0 to 8760 (hours); left out it is 48");
    assert_snapshot!(refusal("[release]\nhold_hours = \"48\""), @r#"line 2: release.hold_hours = "48": it may be a whole number from 0 to 8760 (hours); left out it is 48"#);
    assert_snapshot!(refusal("[release]\ndeaths_percent = nan"), @"line 2: release.deaths_percent = nan: it may be a number from 0 to 100 (per cent); left out it is 1");
    assert_snapshot!(refusal("gallon = \"uk\""), @r#"line 1: gallon = "uk": it may be "us" or "imperial"; left out it is "us""#);
    assert_snapshot!(refusal("[looks]\nquiet = \"at night\""), @r#"line 2: looks.quiet = "at night": it may be two local times, like "23:00-06:00", or "none"; left out it is "none""#);
    assert_snapshot!(refusal("looks = 5"), @"line 1: there is no setting `looks`");
}

#[test]
fn what_is_no_toml_is_refused_with_its_line() {
    assert!(refusal("zone = \"UTC\"\ngallon = us\n").starts_with("line 2: "));
    assert!(refusal("zone = \"UTC\"\nzone = \"UTC\"\n").starts_with("line 2: "));
}

proptest! {
    #[test]
    fn no_text_makes_the_reader_panic(text in "[a-z_.\\[\\]=\" 0-9\né#-]{0,60}") {
        let _ = read(&text);
    }

    #[test]
    fn every_whole_number_in_range_is_kept_and_every_other_refused(nth in 0..KEYS.len(), number in 0_u32..200_000) {
        let key = &KEYS[nth];
        if let Kind::Whole { low, high, at, .. } = &key.kind {
            let read = read(&format!("{} = {number}", key.path));
            if (low..=high).contains(&&number) {
                prop_assert_eq!(*at(&mut read.expect("in range")), number);
            } else {
                prop_assert!(read.is_err());
            }
        }
    }
}
