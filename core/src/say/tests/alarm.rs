use crate::quantity::Measure;
use crate::say::alarm::{Alarm, figures, line, spinning};
use crate::settings::{self, Temperature};
use crate::species::Span;
use crate::water::alarm::{Body, Over, Reason};

fn said(place: &str, body: Body, reason: Reason) -> String {
    let alarm = Alarm { place: place.into(), body, litres: Some(100.0), reason, gloves: true };
    line(&alarm, &settings::Alarm::default(), Temperature::Celsius)
}

fn ammonia(over: Over, nh3: f64, limit: f64) -> Reason {
    Reason::Ammonia { nh3, at_least: false, over, limit, ph: Some(8.2), celsius: Some((26.0, true)) }
}

#[test]
fn ammonia_is_said_with_its_basis_its_limit_and_the_next_step() {
    insta::assert_snapshot!(said("A3", Body::Tank, ammonia(Over::Acute, 0.9, 0.107)), @"Alarm: NH3 0.9 mg/L as N in A3 (pH 8.2, 26 °C), limit 0.11 (for hours, Piper 1982): swap half now with water just as warm and no higher in pH, oxygen on, no food; read again");
    insta::assert_snapshot!(said("A3", Body::Tank, ammonia(Over::LongTerm, 0.0251, 0.0206)), @"Alarm: NH3 0.025 mg/L as N in A3 (pH 8.2, 26 °C), limit 0.021 (for fish that stay, EIFAC 1970): swap a third now with water just as warm and no higher in pH, oxygen on, no food; read again");
    insta::assert_snapshot!(said("7.1", Body::Bag, ammonia(Over::Acute, 0.26, 0.107)), @"Alarm: NH3 0.26 mg/L as N in 7.1 (pH 8.2, 26 °C), limit 0.11 (for hours, Piper 1982): net the fish out now into clean water just as warm, oxygen on; no air stone in the bag, no bag water along");
    insta::assert_snapshot!(said("tray 2", Body::Tray, ammonia(Over::Acute, 0.26, 0.107)), @"Alarm: NH3 0.26 mg/L as N in tray 2 (pH 8.2, 26 °C), limit 0.11 (for hours, Piper 1982): net the fish into clean water just as warm, or swap half now; oxygen on, no food");
    insta::assert_snapshot!(said("A9", Body::EmptyTank, ammonia(Over::LongTerm, 0.04, 0.0206)), @"Alarm: NH3 0.04 mg/L as N in A9 (pH 8.2, 26 °C), limit 0.021 (for fish that stay, EIFAC 1970): no fish in yet; swap water, read again");
    let guessed = Reason::Ammonia {
        nh3: 0.3,
        at_least: true,
        over: Over::Acute,
        limit: 0.107,
        ph: Some(8.0),
        celsius: Some((25.0, false)),
    };
    insta::assert_snapshot!(said("A3", Body::Tank, guessed), @"Alarm: NH3 at least 0.3 mg/L as N in A3 (pH 8, taken as 25 °C), limit 0.11 (for hours, Piper 1982): swap half now with water just as warm and no higher in pH, oxygen on, no food; read again");
}

#[test]
fn a_limit_that_the_house_set_is_said_to_be_its_own() {
    let house = settings::Alarm { nh3_acute: crate::quantity::Finite::new(0.05).unwrap(), ..Default::default() };
    let reason = ammonia(Over::Acute, 0.3, 0.05);
    let alarm = Alarm { place: "7.1".into(), body: Body::Bag, litres: None, reason, gloves: false };
    insta::assert_snapshot!(line(&alarm, &house, Temperature::Fahrenheit), @"Alarm: NH3 0.3 mg/L as N in 7.1 (pH 8.2, 78.8 °F), limit 0.05 (the house's limit): net the fish out now into clean water just as warm, oxygen on; no air stone in the bag, no bag water along");
}

#[test]
fn oxygen_is_never_argued_against() {
    let low = |place, body| said(place, body, Reason::Oxygen { oxygen: 2.0, limit: 4.0 });
    insta::assert_snapshot!(low("7.1", Body::Bag), @"Alarm: oxygen 2 mg/L in 7.1, limit 4 (US EPA 1986): net the fish out now into clean water just as warm, oxygen on; no air stone in the bag, no bag water along");
    insta::assert_snapshot!(low("tray 2", Body::Tray), @"Alarm: oxygen 2 mg/L in tray 2, limit 4 (US EPA 1986): oxygen into the tray now, or net the fish into water with oxygen; read again in 10 min");
    insta::assert_snapshot!(low("A3", Body::Tank), @"Alarm: oxygen 2 mg/L in A3, limit 4 (US EPA 1986): oxygen or air on now, no food, fewer fish to the water; read again in 10 min");
    insta::assert_snapshot!(low("A9", Body::EmptyTank), @"Alarm: oxygen 2 mg/L in A9, limit 4 (US EPA 1986): oxygen or air on before fish go in");
}

#[test]
fn carbon_dioxide_in_a_bag_and_in_a_tank() {
    insta::assert_snapshot!(said("7.1", Body::Bag, Reason::CarbonDioxide { read: 210.0, limit: 150.0 }), @"Alarm: CO2 210 mg/L in 7.1, limit 150 (first deaths in 24 h, J. Fish Wildl. Manage. 2020): net the fish out now into clean water just as warm, oxygen on; no air stone in the bag, no bag water along");
    insta::assert_snapshot!(said("tray 2", Body::Tray, Reason::CarbonDioxide { read: 45.0, limit: 20.0 }), @"Alarm: CO2 45 mg/L in tray 2, limit 20 (hauling, World Aquaculture 2007): read ammonia and pH; oxygen on, new water in, as air drives pH and NH3 up");
    insta::assert_snapshot!(said("A3", Body::Tank, Reason::CarbonDioxide { read: 45.0, limit: 20.0 }), @"Alarm: CO2 45 mg/L in A3, limit 20 (hauling, World Aquaculture 2007): more air and surface movement; read ammonia and pH, as pH climbs");
}

#[test]
fn chlorine_is_said_with_what_takes_it_away_and_what_chloramine_leaves() {
    let reason = || Reason::Chlorine { chlorine: 1.5, limit: 0.0 };
    insta::assert_snapshot!(said("tap", Body::Tap, reason()), @"Alarm: chlorine 1.5 mg/L in tap, limit 0: no swap before it is gone: 1.05 g sodium thiosulfate pentahydrate for 100 L, read again. If the mains has chloramine, 0.3 mg/L ammonia as N stays: read it. Gloves and goggles");
    insta::assert_snapshot!(said("A3", Body::Tank, reason()), @"Alarm: chlorine 1.5 mg/L in A3, limit 0: 1.05 g sodium thiosulfate pentahydrate for 100 L now, oxygen on, read again. If the mains has chloramine, 0.3 mg/L ammonia as N stays: read it. Gloves and goggles");
    insta::assert_snapshot!(said("7.1", Body::Bag, reason()), @"Alarm: chlorine 1.5 mg/L in 7.1, limit 0: net the fish out now into clean water just as warm, oxygen on; no air stone in the bag, no bag water along; or 1.05 g sodium thiosulfate pentahydrate for 100 L. If the mains has chloramine, 0.3 mg/L ammonia as N stays: read it. Gloves and goggles");
    let unknown = Alarm { place: "A3".into(), body: Body::Tank, litres: None, reason: reason(), gloves: false };
    insta::assert_snapshot!(line(&unknown, &settings::Alarm::default(), Temperature::Celsius), @"Alarm: chlorine 1.5 mg/L in A3, limit 0: 10.5 mg sodium thiosulfate pentahydrate for each litre now, oxygen on, read again. If the mains has chloramine, 0.3 mg/L ammonia as N stays: read it");
}

#[test]
fn new_water_far_from_the_old_is_said_with_both() {
    let swap = |measure, found, there| Reason::Swap { measure, found, place: "A3".into(), there };
    insta::assert_snapshot!(said("tap", Body::Tap, swap(Measure::TempC, 15.0, 26.0)), @"Alarm: tap 15 °C, A3 26 °C: swapping half would move A3 by 5.5 °C, limit 2 °C (Aquaculture Research 34:923); warm it before the next swap");
    insta::assert_snapshot!(said("tap", Body::Tap, swap(Measure::Ph, 8.4, 6.8)), @"Alarm: tap pH 8.4, A3 pH 6.8: limit 1 apart (the house's choice); small swaps only: as pH climbs, ammonia turns toxic; read it first");
    insta::assert_snapshot!(said("tap", Body::Tap, swap(Measure::Ph, 5.9, 7.4)), @"Alarm: tap pH 5.9, A3 pH 7.4: limit 1 apart (the house's choice); small swaps only, read pH between them");
}

#[test]
fn far_from_what_a_fish_needs_is_said_with_its_range() {
    let needs = |measure, found, low, high| Reason::Needs {
        measure,
        found,
        species: "discus".into(),
        span: Span { low, high },
    };
    insta::assert_snapshot!(said("A3", Body::Tank, needs(Measure::TempC, 20.0, 26.0, 30.0)), @"Alarm: A3 20 °C, discus live at 26 °C to 30 °C: read again, check heater and chiller with dry hands; bring it back slowly");
    insta::assert_snapshot!(said("tap", Body::Tap, needs(Measure::Ph, 8.6, 5.5, 7.0)), @"Alarm: tap pH 8.6, discus live at pH 5.5 to 7: bring it nearer before the next swap");
    insta::assert_snapshot!(said("tap", Body::Tap, needs(Measure::TempC, 12.0, 26.0, 30.0)), @"Alarm: tap 12 °C, discus live at 26 °C to 30 °C: bring it nearer before the next swap");
}

#[test]
fn what_cannot_be_true_together_is_measured_again() {
    let gas = |implied| Reason::CarbonDioxideContradiction { read: 100.0, ph: 8.5, implied };
    insta::assert_snapshot!(said("7.1", Body::Bag, gas(Some((80.0, 0.474)))), @"Alarm: 7.1 CO2 100 mg/L cannot be true with pH 8.5 and alkalinity 80 mg/L as CaCO3, they make 0.47: measure them again");
    insta::assert_snapshot!(said("7.1", Body::Bag, gas(None)), @"Alarm: 7.1 CO2 100 mg/L cannot be true with pH 8.5: measure both again");
    insta::assert_snapshot!(said("A3", Body::Tank, Reason::Contradiction { ph: 10.2, alkalinity: 1.0 }), @"Alarm: A3 pH 10.2 and alkalinity 1 mg/L as CaCO3 cannot be true together: measure both again");
}

#[test]
fn fish_that_spin_call_for_numbers() {
    insta::assert_snapshot!(spinning("A3", Body::Tank, false), @"Alarm: A3 spinning: read ammonia, pH and chlorine now. Oxygen on, no food, no more tap water until read; tell the lead");
    insta::assert_snapshot!(spinning("A3", Body::Tank, true), @"Alarm: A3 spinning: read ammonia, pH and chlorine now, chlorine first as water was changed. Oxygen on, no food, no more tap water until read; tell the lead");
    insta::assert_snapshot!(spinning("7.1", Body::Bag, false), @"Alarm: 7.1 spinning: read ammonia, pH and chlorine now. Net them out into clean water with oxygen on; tell the lead");
}

#[test]
fn two_figures_are_shown() {
    let shown: Vec<String> = [0.0206, 0.107, 0.9, 1.25, 4.0, 20.0, 151.2, 0.0].map(figures).to_vec();
    assert_eq!(shown, ["0.021", "0.11", "0.9", "1.2", "4", "20", "151", "0"]);
}
