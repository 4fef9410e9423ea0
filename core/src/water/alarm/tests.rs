use proptest::prelude::*;

use super::*;

fn known() -> Known {
    Known::default()
}

/// pH, temperature, total ammonia as N.
fn read(ph: f64, celsius: f64, ammonia: f64) -> Known {
    Known {
        ph: Ph::new(ph).ok(),
        temperature: Celsius::new(celsius).ok(),
        ammonia: TotalAmmoniaN::new(ammonia).ok(),
        ..known()
    }
}

fn limits() -> Limits {
    Limits::from(&settings::Alarm::default())
}

fn all() -> BTreeSet<Measure> {
    Measure::ALL.into_iter().collect()
}

fn judge(body: Body, known: &Known, fresh: &BTreeSet<Measure>) -> Vec<Reason> {
    let judged = Judged { body, known, fresh, fish: true, animals: true, needs: &[], swapped_into: &[] };
    reasons(&judged, &limits())
}

#[test]
fn ammonia_over_the_long_term_limit_is_an_alarm_where_fish_stay_and_none_in_a_bag() {
    // 1 mg/L as N at pH 7.8 and 25 °C: 3.5 % is NH3.
    let water = read(7.8, 25.0, 1.0);
    let [Reason::Ammonia { nh3, over: Over::LongTerm, limit, .. }] = judge(Body::Tank, &water, &all())[..] else {
        panic!("{:?}", judge(Body::Tank, &water, &all()))
    };
    assert!((nh3 - 0.0346).abs() < 0.0005 && limit == 0.0206, "{nh3}");
    assert_eq!(judge(Body::Bag, &water, &all()), [], "fish leave a bag soon");
    assert!(matches!(judge(Body::Bag, &read(8.2, 26.0, 3.0), &all())[..], [Reason::Ammonia { over: Over::Acute, .. }]));
}

#[test]
fn much_ammonia_in_a_sour_bag_is_none() {
    assert_eq!(judge(Body::Bag, &read(6.2, 25.0, 20.0), &all()), []);
    assert_eq!(judge(Body::Bag, &read(5.6, 25.0, 20.0), &all()), []);
}

#[test]
fn ammonia_without_a_ph_implies_nothing() {
    let water = Known { ph: None, ..read(7.0, 25.0, 3.0) };
    assert_eq!(judge(Body::Tank, &water, &all()), []);
}

#[test]
fn what_was_said_of_earlier_readings_is_not_said_again() {
    let water = Known { oxygen: OxygenMgL::new(6.0).ok(), ..read(8.2, 26.0, 3.0) };
    assert_eq!(judge(Body::Tank, &water, &BTreeSet::from([Measure::DoMgL])), []);
    assert_eq!(judge(Body::Tank, &water, &BTreeSet::from([Measure::Ph])).len(), 1);
}

#[test]
fn oxygen_under_the_limit_is_an_alarm_as_mg_or_as_a_share() {
    let low = Known { oxygen: OxygenMgL::new(2.0).ok(), ..known() };
    assert_eq!(judge(Body::Bag, &low, &all()), [Reason::Oxygen { oxygen: 2.0, limit: 4.0 }]);
    // Half of 8.26 mg/L at 25 °C.
    let half = |percent| Known { oxygen_percent: OxygenPercent::new(percent).ok(), ..known() };
    assert_eq!(judge(Body::Tank, &half(50.0), &all()), []);
    assert!(matches!(judge(Body::Tank, &half(40.0), &all())[..], [Reason::Oxygen { .. }]));
    let bound = Known { over: BTreeSet::from([Measure::DoMgL]), ..low };
    assert_eq!(judge(Body::Bag, &bound, &all()), [], "over 2 mg/L may be plenty");
}

#[test]
fn readings_that_cannot_be_true_together_are_found() {
    let gas = |ph, alkalinity: Option<f64>, co2| Known {
        ph: Ph::new(ph).ok(),
        temperature: Celsius::new(25.0).ok(),
        alkalinity: alkalinity.and_then(|value| AlkalinityCaCO3::new(value).ok()),
        carbon_dioxide: CarbonDioxideMgL::new(co2).ok(),
        ..known()
    };
    for alkalinity in [Some(80.0), None] {
        let found = judge(Body::Bag, &gas(8.5, alkalinity, 100.0), &all());
        assert!(matches!(found[..], [Reason::CarbonDioxideContradiction { .. }]), "{found:?}");
    }
    // pH 6 and 50 mg/L as CaCO3 make 95 mg/L.
    assert_eq!(judge(Body::Bag, &gas(6.0, Some(50.0), 100.0), &all()), []);
    assert_eq!(judge(Body::Bag, &gas(6.0, None, 100.0), &all()), []);
    // A kit's step is no contradiction.
    assert_eq!(judge(Body::Tank, &gas(8.0, Some(80.0), 5.0), &all()), []);
    // Without alkalinity no water has a pH of 10.
    let bare = Known { carbon_dioxide: None, ..gas(10.0, Some(1.0), 0.0) };
    assert!(matches!(judge(Body::Tap, &bare, &all())[..], [Reason::Contradiction { .. }]));
}

#[test]
fn sea_water_is_not_judged_by_fresh_water() {
    let sea = Known {
        salinity: SalinityPpt::new(34.0).ok(),
        alkalinity: AlkalinityCaCO3::new(125.0).ok(),
        carbon_dioxide: CarbonDioxideMgL::new(40.0).ok(),
        ..read(8.2, 25.0, 0.0)
    };
    assert_eq!(judge(Body::Bag, &sea, &all()), []);
}

#[test]
fn a_tap_is_compared_with_the_waters_it_would_go_into() {
    let tap = read(8.6, 15.0, 0.0);
    let tanks = [("A1".to_owned(), read(8.0, 20.0, 0.0)), ("A3".to_owned(), read(7.0, 26.0, 0.0))];
    let fresh = all();
    let judged = Judged {
        body: Body::Tap,
        known: &tap,
        fresh: &fresh,
        fish: true,
        animals: true,
        needs: &[],
        swapped_into: &tanks,
    };
    let found = reasons(&judged, &limits());
    let [Reason::Swap { measure: Measure::TempC, place, .. }, Reason::Swap { measure: Measure::Ph, there, .. }] =
        &found[..]
    else {
        panic!("{found:?}")
    };
    assert!(place == "A3" && *there == 7.0);
    let near = [("A1".to_owned(), read(8.0, 18.0, 0.0))];
    assert_eq!(reasons(&Judged { swapped_into: &near, ..judged }, &limits()), []);
}

#[test]
fn far_from_what_a_fish_needs_is_an_alarm_where_it_stays() {
    let discus = Needs {
        species: "discus".into(),
        temperature: Span { low: 26.0, high: 30.0 },
        ph: Span { low: 5.5, high: 7.0 },
    };
    let needs = [discus];
    let fresh = all();
    let with = |body, water: &Known| {
        let judged =
            Judged { body, known: water, fresh: &fresh, fish: true, animals: true, needs: &needs, swapped_into: &[] };
        reasons(&judged, &limits()).len()
    };
    assert_eq!(with(Body::Tank, &read(6.5, 20.0, 0.0)), 1);
    assert_eq!(with(Body::Tank, &read(8.6, 24.0, 0.0)), 0, "a house knows its own pH");
    assert_eq!(with(Body::Tap, &read(8.6, 24.0, 0.0)), 1);
    assert_eq!(with(Body::Tank, &read(8.0, 23.0, 0.0)), 0, "not far");
    assert_eq!(with(Body::Bag, &read(6.5, 18.0, 0.0)), 0, "bags come cold");
    assert_eq!(with(Body::Tap, &read(7.0, 12.0, 0.0)), 1);
}

#[test]
fn where_no_fish_live_the_limits_of_fish_are_off() {
    let bad = Known {
        oxygen: OxygenMgL::new(1.0).ok(),
        carbon_dioxide: CarbonDioxideMgL::new(300.0).ok(),
        ..read(8.5, 26.0, 3.0)
    };
    let fresh = BTreeSet::from([Measure::TanMgL, Measure::DoMgL]);
    let judged = Judged {
        body: Body::Tank,
        known: &bad,
        fresh: &fresh,
        fish: false,
        animals: true,
        needs: &[],
        swapped_into: &[],
    };
    assert_eq!(reasons(&judged, &limits()), []);
}

proptest! {
    #[test]
    fn more_ammonia_and_a_higher_ph_never_silence_an_alarm(ph in 6.0..9.4, t in 15.0..32.0, n in 0.0..30.0) {
        let rank = |ph, n| match judge(Body::Tank, &read(ph, t, n), &all())[..] {
            [Reason::Ammonia { over: Over::Acute, .. }] => 2,
            [Reason::Ammonia { .. }] => 1,
            _ => 0,
        };
        prop_assert!(rank(ph, n + 1.0) >= rank(ph, n));
        prop_assert!(rank(ph + 0.2, n) >= rank(ph, n));
    }
}
