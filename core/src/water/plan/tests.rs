use proptest::prelude::*;

use super::*;
use crate::quantity::{AlkalinityCaCO3, Litres};

fn fresh(celsius: f64, ph: f64, alkalinity: f64, ammonia: f64) -> Water {
    let made = FreshWater::new(
        Celsius::new(celsius).unwrap(),
        Ph::new(ph).unwrap(),
        AlkalinityCaCO3::new(alkalinity).unwrap(),
        TotalAmmoniaN::new(ammonia).unwrap(),
    );
    Water::Fresh(made.unwrap())
}

fn salt(celsius: f64, ph: f64, ammonia: f64, salinity: f64) -> Water {
    Water::Salt(SaltWater {
        temperature: Celsius::new(celsius).unwrap(),
        ph: Ph::new(ph).unwrap(),
        ammonia: TotalAmmoniaN::new(ammonia).unwrap(),
        salinity: SalinityPpt::new(salinity).unwrap(),
    })
}

fn bag(water: Water) -> Bag {
    Bag { water, oxygen: None }
}

fn planned(from: Water, into: Water) -> Plan {
    plan(&bag(from), &into, None, &PlanLimits::default()).unwrap()
}

fn in_fresh(water: &Water) -> FreshWater {
    let Water::Fresh(water) = water else { panic!("salt") };
    *water
}

#[test]
fn a_fouled_bag_is_netted_out_at_once_and_not_mixed_nor_aerated() {
    let plan = planned(fresh(25.0, 6.11, 103.6, 15.0), fresh(26.0, 7.6, 80.0, 0.0));
    assert_eq!(plan.recommendation.way, Way::Direct);
    // The row of PHREEQC of the same bag: opened, pH 8.298 and 1.456 mg/L.
    assert!((plan.opened_ph - 8.298).abs() < 0.02 && (plan.opened_nh3 - 1.456).abs() < 0.05, "{plan:?}");
    let Reason::Opened { nh3, limit, times } = plan.recommendation.reason else { panic!("{plan:?}") };
    assert!(nh3 > 10.0 * limit && times > 10.0, "{plan:?}");
    let Some(Warning::OpenBag { poured: Some(poured), .. }) = plan.recommendation.warning else { panic!("{plan:?}") };
    assert!(poured > 0.02, "the alkaline water alone does it: {poured}");
    for slow in [Way::Stepwise, Way::Drip] {
        assert!(plan.course(slow).nh3_minutes > 10.0 * plan.course(Way::Direct).nh3_minutes);
        assert!(plan.course(slow).ph_jump < plan.course(Way::Direct).ph_jump);
    }
    // Left at that pH, its NH3 is that of the limit.
    let at = plan.recommendation.stop_at_ph.unwrap();
    let nh3 = 15.0 / (1.0 + 10f64.powf(0.09018 + 2729.92 / 298.15 - at));
    assert!((nh3 - 0.107).abs() < 1e-6, "{at}");
}

#[test]
fn a_slow_way_that_meets_more_than_may_be_says_so() {
    let plan = planned(fresh(25.0, 6.6, 120.0, 20.0), fresh(26.0, 8.4, 250.0, 0.0));
    let Reason::Ammonia { direct, slow, times, limit } = plan.recommendation.reason else { panic!("{plan:?}") };
    assert!(direct < slow && slow > limit && limit == PlanLimits::default().acute_nh3 && times > 5.0, "{plan:?}");
}

#[test]
fn a_clean_bag_of_another_ph_takes_its_time_and_delicate_fish_go_the_gentlest_way() {
    let (from, into) = (fresh(25.0, 6.4, 40.0, 0.1), fresh(25.5, 7.4, 60.0, 0.0));
    let plan_for = |delicate| {
        let fish = Tolerance { celsius: (22.0, 28.0), ph: (6.0, 7.5), delicate };
        plan(&bag(from), &into, Some(&fish), &PlanLimits::default()).unwrap()
    };
    let plan = plan_for(true);
    assert!(
        matches!(plan.recommendation.reason, Reason::Differ { need: Need::Ph(gap), .. } if (gap - 1.0).abs() < 1e-6)
    );
    assert_ne!(plan.recommendation.way, Way::Direct);
    let gentlest = plan.courses.iter().map(|course| course.ph_jump).fold(f64::INFINITY, f64::min);
    assert_eq!(plan.best().ph_jump, gentlest);
    let plan = plan_for(false);
    let least = plan.courses[1..].iter().map(|course| course.hands).min();
    assert_eq!(Some(plan.best().hands), least);
    assert_eq!(plan.recommendation.stop_at_ph, None, "there is nothing to fear");
}

#[test]
fn a_bag_that_turns_toxic_when_it_is_open_has_no_time_however_slowly_gas_is_held_to_leave() {
    let limits = PlanLimits { gas_exchange: 0.0, ..PlanLimits::default() };
    let plan = plan(&bag(fresh(25.0, 5.9, 60.0, 12.0)), &fresh(25.0, 6.8, 5.0, 0.0), None, &limits).unwrap();
    assert_eq!(plan.recommendation.way, Way::Direct);
    assert!(plan.courses.iter().all(|course| course.nh3_peak < limits.long_term_nh3));
    assert!(matches!(plan.recommendation.reason, Reason::Opened { nh3, limit, .. } if nh3 > limit));
}

#[test]
fn between_waters_that_are_alike_slowness_gains_nothing() {
    let plan = planned(fresh(24.0, 7.2, 60.0, 0.2), fresh(25.0, 7.4, 60.0, 0.0));
    assert!(matches!(plan.recommendation.reason, Reason::Alike { ph } if (ph - 0.2).abs() < 1e-6), "{plan:?}");
    assert_eq!(plan.best().steps, [Step::Net], "no floating for one degree");
}

#[test]
fn floating_takes_about_half_an_hour_for_four_and_a_half_degrees() {
    let plan = planned(fresh(21.5, 7.2, 60.0, 0.2), fresh(26.0, 7.4, 60.0, 0.0));
    let Step::Float { minutes } = plan.best().steps[0] else { panic!("{plan:?}") };
    assert!((29..=32).contains(&minutes), "{minutes}");
    assert!(plan.best().temperature_jump < 2.0);
}

#[test]
fn a_bag_without_oxygen_is_not_floated_but_met_at_its_temperature_with_oxygen() {
    let bag = Bag { oxygen: Some(OxygenMgL::new(2.0).unwrap()), ..bag(fresh(21.0, 6.2, 90.0, 8.0)) };
    let plan = plan(&bag, &fresh(26.0, 7.6, 80.0, 0.0), None, &PlanLimits::default()).unwrap();
    let recommendation = &plan.recommendation;
    assert_eq!((recommendation.way, recommendation.oxygen_first), (Way::Direct, true));
    assert_eq!(recommendation.reason, Reason::Oxygen { read: 2.0 });
    assert!(matches!(plan.best().steps[..], [Step::MatchTemperature { to }, Step::Net] if to.get() == 21.0));
    assert!(plan.best().temperature_jump < 1.0, "{}", plan.best().temperature_jump);
    let last = plan.best().points.last().unwrap();
    assert!((last.celsius - 26.0).abs() < 0.11, "the water goes over to the tank's: {last:?}");
    assert!(matches!(recommendation.warning, Some(Warning::OpenBag { .. })), "{recommendation:?}");
}

#[test]
fn waters_are_brought_together_closed_and_lose_their_gas_afterwards() {
    let (from, into) = (fresh(25.0, 6.0, 60.0, 5.0), fresh(25.0, 8.0, 150.0, 0.0));
    let plan = planned(from, into);
    let points = &plan.course(Way::Stepwise).points;
    let share = |part: f64| Litres::new(part).unwrap();
    let mixed = FreshWater::mix(&[(share(2.0 / 3.0), in_fresh(&from)), (share(1.0 / 3.0), in_fresh(&into))]).unwrap();
    let expected = mixed.unionised().unwrap().get();
    assert!(points[0].nh3 < expected && (points[1].nh3 - expected).abs() < 1e-9, "{points:?}");
    assert_eq!((points[0].minute, points[1].minute, points[2].minute), (0, 0, 1));
    assert!(points[2].ph > points[1].ph, "gas leaves");
    assert!(plan.course(Way::Stepwise).closed_mix_nh3.unwrap() >= expected);
    assert_eq!(plan.course(Way::Direct).closed_mix_nh3, None);
}

#[test]
fn how_fast_gas_leaves_is_a_setting() {
    let (from, into) = (fresh(25.0, 6.1, 100.0, 10.0), fresh(25.0, 7.4, 60.0, 0.0));
    let peak = |gas_exchange: f64| {
        let limits = PlanLimits { gas_exchange, ..PlanLimits::default() };
        plan(&bag(from), &into, None, &limits).unwrap().course(Way::Drip).nh3_peak
    };
    let peaks = [0.0, 0.5, 3.0, 20.0, 1000.0].map(peak);
    assert!(peaks.is_sorted() && peaks[4] > 10.0 * peaks[0], "{peaks:?}");
}

#[test]
fn salt_water_is_compared_by_the_higher_ph() {
    let plan = planned(salt(25.0, 7.2, 2.0, 33.0), salt(25.0, 8.2, 0.0, 35.0));
    assert!(plan.by_higher_ph);
    let worst = salt_nh3(2.0, 25.0, 33.0, 8.2).unwrap();
    assert!((plan.opened_nh3 - worst).abs() < 1e-12 && plan.opened_ph == 8.2);
    assert_eq!(plan.recommendation.way, Way::Direct, "{:?}", plan.recommendation);
    let clean = planned(salt(25.0, 8.0, 0.05, 28.0), salt(25.0, 8.2, 0.0, 35.0));
    assert!(matches!(clean.recommendation.reason, Reason::Differ { need: Need::Salinity(gap), .. } if gap == 7.0));
    assert_eq!(clean.recommendation.way, Way::Drip);
}

#[test]
fn a_tank_that_does_not_suit_the_fish_or_is_foul_itself_is_warned_of() {
    let fish = Tolerance { celsius: (23.0, 29.0), ph: (4.0, 6.5), delicate: false };
    let warned = |into: Water| {
        plan(&bag(fresh(25.0, 7.6, 60.0, 0.0)), &into, Some(&fish), &PlanLimits::default())
            .unwrap()
            .recommendation
            .warning
    };
    assert_eq!(warned(fresh(25.0, 6.8, 20.0, 0.0)), None, "a meter is no better");
    assert!(matches!(warned(fresh(25.0, 7.8, 60.0, 0.0)), Some(Warning::TankPh { usual: (4.0, 6.5), .. })));
    assert!(matches!(warned(fresh(20.0, 7.8, 60.0, 0.0)), Some(Warning::TankTemperature { .. })));
    assert!(matches!(warned(fresh(25.0, 8.0, 60.0, 4.0)), Some(Warning::TankAmmonia(nh3)) if nh3 > 0.1));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn every_course_runs_forward_and_ends_in_the_tank(
        celsius in 15.0..31.0, ph in 5.5..8.2, alkalinity in 30.0..200.0, ammonia in 0.0..25.0,
        tank_celsius in 20.0..30.0, tank_ph in 6.5..8.4, tank_alkalinity in 20.0..250.0, oxygen in 0.5..20.0,
    ) {
        let bag = Bag {
            water: fresh(celsius, ph, alkalinity + 3.573 * ammonia, ammonia),
            oxygen: Some(OxygenMgL::new(oxygen).unwrap()),
        };
        let into = fresh(tank_celsius, tank_ph, tank_alkalinity, 0.0);
        let plan = plan(&bag, &into, None, &PlanLimits::default()).unwrap();
        let horizon = plan.courses[0].minutes();
        for course in &plan.courses {
            prop_assert!(course.points.is_sorted_by_key(|point| point.minute));
            prop_assert_eq!(course.minutes(), horizon, "they are compared over the same time");
            prop_assert!(course.nh3_minutes <= course.nh3_peak * f64::from(horizon) + 1e-12);
            let last = course.points.last().unwrap();
            prop_assert!((last.ph - tank_ph).abs() < 0.02 && last.nh3.abs() < 1e-9, "{last:?}");
            prop_assert!(course.steps.contains(&Step::Net));
            let floated = course.steps.iter().any(|step| matches!(step, Step::Float { minutes: 1.. }));
            prop_assert!(course.temperature_jump < 2.0 || !floated, "{}", course.temperature_jump);
        }
        // Never slow where slowness holds the fish in more than may be and the straight way does not.
        let best = plan.best();
        prop_assert!(best.way == Way::Direct || best.nh3_peak <= PlanLimits::default().acute_nh3);
    }

    #[test]
    fn more_ammonia_is_never_better(ammonia in 0.1..20.0, ph in 5.8..7.5) {
        let (into, alkalinity) = (fresh(25.0, 7.6, 80.0, 0.0), 150.0);
        let less = planned(fresh(24.0, ph, alkalinity, ammonia), into);
        let more = planned(fresh(24.0, ph, alkalinity, 1.2 * ammonia), into);
        for way in Way::ALL {
            prop_assert!(more.course(way).nh3_minutes > less.course(way).nh3_minutes);
            prop_assert!(more.course(way).nh3_peak > less.course(way).nh3_peak);
        }
    }
}
