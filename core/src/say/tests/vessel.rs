use super::lines;
use crate::message::Sign;
use crate::quantity::{Finite, Measure};
use crate::say::vessel::*;
use crate::settings::{AmmoniaBasis, Kit, OxideBasis, Temperature};
use crate::watch::Condition;

fn tank() -> VesselStands {
    let value = |number| Finite::new(number).unwrap();
    VesselStands {
        fish: "A2 holds 36 clown loach (lot 3, 2 DAA)".into(),
        condition: Some(Condition::Weak),
        looked: Some(Looked { at: "02:10".into(), by: "ana".into(), signs: vec![Sign::Gasping] }),
        next: Some(NextLook { at: "02:25".into(), overdue: None }),
        water: vec![
            ("02:12".into(), vec![(Measure::Ph, value(6.9), false), (Measure::TanMgL, value(8.0), true)]),
            (
                "23:40".into(),
                vec![
                    (Measure::TempC, value(26.0), false),
                    (Measure::No2MgL, value(0.5), false),
                    (Measure::AlkMgL, value(90.0), false),
                ],
            ),
        ],
        kit: Kit::default(),
        scale: Temperature::Celsius,
        dead: 2,
        dead_hours: 24,
        lots: vec![LotLine { lot: 3, sale: Sale::HeldUntil("Fri 02:10".into()) }],
    }
}

#[test]
fn a_tank_is_told_in_six_lines_from_its_fish_to_its_hold() {
    insta::assert_snapshot!(stands(&tank()), @r"
    A2 holds 36 clown loach (lot 3, 2 DAA)
    Last look 02:10 by ana: weak, gasping
    Next look 02:25
    Water: pH 6.9, total ammonia over 8 mg/L taken as N at 02:12; 26.0 °C, nitrite 0.5 mg/L taken as N, alkalinity 90 mg/L as CaCO3 at 23:40
    2 found dead in the last 24 h
    Lot 3 on hold until Fri 02:10
    ");
}

#[test]
fn what_is_not_known_of_a_tank_has_no_line() {
    let nothing = VesselStands {
        fish: "A2 is empty".into(),
        condition: None,
        looked: None,
        next: None,
        water: Vec::new(),
        dead: 0,
        lots: Vec::new(),
        ..tank()
    };
    let unseen = VesselStands { fish: "A2 holds 5 fish".into(), condition: Some(Condition::Strong), ..nothing.clone() };
    insta::assert_snapshot!(lines([stands(&nothing), stands(&unseen)]), @r"
    A2 is empty
    A2 holds 5 fish
    Nobody has looked yet, strong by the counts
    ");
}

#[test]
fn a_tank_says_the_basis_of_its_kits_the_scale_and_how_late_its_look_is() {
    let set = VesselStands {
        kit: Kit { ammonia: Some(AmmoniaBasis::Ammonia), nitrite: Some(OxideBasis::Ion), ..Kit::default() },
        scale: Temperature::Fahrenheit,
        next: Some(NextLook { at: "02:25".into(), overdue: Some(75) }),
        looked: Some(Looked { at: "02:10".into(), by: "ana".into(), signs: Vec::new() }),
        dead: 0,
        lots: vec![
            LotLine { lot: 3, sale: Sale::Cleared },
            LotLine { lot: 4, sale: Sale::Partly { cleared: 10, of: 30 } },
            LotLine { lot: 5, sale: Sale::HoldOver("01:10".into()) },
            LotLine { lot: 6, sale: Sale::Held },
        ],
        ..tank()
    };
    insta::assert_snapshot!(stands(&set), @r"
    A2 holds 36 clown loach (lot 3, 2 DAA)
    Last look 02:10 by ana: weak
    Next look 02:25, 1 h 15 min overdue
    Water: pH 6.9, total ammonia over 8 mg/L as NH3 at 02:12; 78.8 °F, nitrite 0.5 mg/L as NO2, alkalinity 90 mg/L as CaCO3 at 23:40
    Lot 3 cleared for sale; lot 4: 10 of 30 cleared for sale, the rest on hold; lot 5 hold over since 01:10, not cleared yet; lot 6 on hold until a lead clears it
    ");
}
