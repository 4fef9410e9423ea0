//! How to bring fish over: at most six short lines, the reason in one, and one warning at most.

use super::place;
use crate::message::Place;
use crate::settings::Temperature;
use crate::water::plan::{Need, Plan, Reason, Recommendation, Step, Warning, Way};

/// What is not known and was taken for granted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Assumed {
    /// The water the fish were packed in.
    PackingWater,
    /// Nothing of ammonia in the tank.
    NoAmmoniaInTank,
    /// The alkalinity of the tank, from its pH at rest with the room's air.
    TankAlkalinity,
}

/// Which of the bag's values come of the forecast.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// All were read.
    Read,
    /// All are expected by the list: nothing was read.
    Forecast,
    /// Its ammonia is expected, the rest was read.
    ForecastAmmonia,
    /// Its pH is expected, the rest was read.
    ForecastPh,
}

/// A plan with what it is for.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanLine<'a> {
    /// The bag, as a person writes it.
    pub from: String,
    /// Whether it is a closed bag; a tray is open already, and air in it is right.
    pub closed: bool,
    /// The tank.
    pub into: String,
    /// The ways over.
    pub plan: &'a Plan,
    /// Where the bag's values come from.
    pub basis: Basis,
    /// What was taken for granted.
    pub assumed: Vec<Assumed>,
    /// The tank's temperature, °C.
    pub tank_celsius: f64,
    /// The difference that is to be reached by floating, °C.
    pub near: f64,
    /// Litres in the bag, where somebody told.
    pub litres: Option<f64>,
    /// What the fish are called.
    pub fish: Option<String>,
    /// The scale of temperatures.
    pub scale: Temperature,
}

/// A plan: what to do in order, why, and what to mind.
pub fn plan(line: &PlanLine<'_>) -> String {
    let Recommendation { way, reason, warning, oxygen_first, stop_at_ph } = &line.plan.recommendation;
    let mut lines = vec![heading(line, *way)];
    let mut steps = Vec::new();
    let plain = line.plan.best().steps == [Step::Net];
    let tub = line.plan.best().steps.iter().any(|step| matches!(step, Step::MatchTemperature { .. }));
    if *oxygen_first && !tub {
        steps.push(format!("Oxygen or an air stone into {} now.", line.into));
    }
    if plain {
        let near = difference(line.near, line.scale);
        steps.push(format!("Read both temperatures: within {near} there is no need to float."));
    }
    for step in &line.plan.best().steps {
        steps.extend(step_words(line, *step, *stop_at_ph));
    }
    if *way == Way::Direct && steps.len() < 4 {
        steps.push(measure(line));
    }
    lines.extend(steps.iter().enumerate().map(|(nth, step)| format!("{}. {step}", nth + 1)));
    lines.push(why(line, reason));
    let open_bag = |warning: &&Warning| matches!(warning, Warning::OpenBag { .. });
    let warning = warning.as_ref().filter(|warning| line.closed || !open_bag(warning));
    lines.extend(warning.map(|warning| careful(line, warning)));
    lines.join("\n")
}

fn heading(line: &PlanLine<'_>, way: Way) -> String {
    let way = match way {
        Way::Direct => "straight over",
        Way::Stepwise => "in steps",
        Way::Drip => "slow drip",
    };
    let basis = match line.basis {
        Basis::Read => "",
        Basis::Forecast => " A forecast from the list, nothing was read: read pH and ammonia to be sure.",
        Basis::ForecastAmmonia => " Its ammonia is a forecast from the list: read it to be sure.",
        Basis::ForecastPh => " Its pH is a forecast from the list: read it to be sure.",
    };
    format!("{} into {}: {way}.{basis}", line.from, line.into)
}

fn step_words(line: &PlanLine<'_>, step: Step, stop_at_ph: Option<f64>) -> Vec<String> {
    let PlanLine { from, into, scale, .. } = line;
    let open = |words: &str| match line.closed {
        true => format!("Open{}", words),
        false => super::capital(words.trim_start_matches([',', '.', ' '])),
    };
    match step {
        Step::Float { minutes } if !line.closed => vec![format!(
            "Bring {from} within {} of {} first: tank water around it, about {} min.",
            difference(line.near, *scale),
            temperature(line.tank_celsius, *scale),
            minutes.div_ceil(5) * 5,
        )],
        Step::Float { minutes } => vec![format!(
            "Float {from} closed, lights low, about {} min, until within {} of {}.",
            minutes.div_ceil(5) * 5,
            difference(line.near, *scale),
            temperature(line.tank_celsius, *scale),
        )],
        Step::MatchTemperature { to } => vec![format!(
            "No time to float: set up a tub of {into} water at {}, air stone in it.",
            temperature(to.get(), *scale)
        )],
        Step::Net => vec![match line.plan.best().way {
            Way::Direct if line.plan.best().steps.iter().any(|step| matches!(step, Step::MatchTemperature { .. })) => {
                let net = open(", net the fish into the tub.");
                let to = temperature(line.tank_celsius, *scale);
                format!("{net} Let it drift to {to}, then into {into}. Old water to the drain.")
            }
            Way::Direct => {
                let net = open(&format!(", net the fish into {into} within minutes."));
                format!("{net} Old water to the drain, never into {into}.")
            }
            Way::Stepwise | Way::Drip => format!("Then net the fish into {into}. Old water to the drain."),
        }],
        Step::Pour { part, times, every } => vec![
            open(&format!(
                ". Pour off {}, top up from {into}. Again every {every} min, {times} times in all.",
                amount(part, line.litres)
            )),
            stop(stop_at_ph, "before each pour"),
        ],
        Step::Drip { parts, minutes } => {
            let how_much = match line.litres {
                Some(litres) => format!("{} L", number(parts * litres)),
                None => format!("{} parts to 1 of the old", number(parts)),
            };
            let tub = if line.closed { "Open into a tub. " } else { "" };
            vec![
                format!("{tub}Drip in {into} water, {how_much}, over {minutes} min."),
                stop(stop_at_ph, "every 15 min"),
            ]
        }
    }
}

/// What to measure on a slow way, and when to stop.
fn stop(at_ph: Option<f64>, when: &str) -> String {
    match at_ph {
        Some(ph) => format!("Read pH {when}. Over {ph:.1}, or fish gasping: net them out at once."),
        None => format!("Read temperature and pH {when}. Fish gasping: net them out at once."),
    }
}

/// What to look at after the straight way, or what to measure where the plan rests on a forecast.
fn measure(line: &PlanLine<'_>) -> String {
    match line.basis {
        Basis::Read => format!("Look at {} in 15 min. Gasping or on their side: tell the lead.", line.into),
        _ => "Read pH and ammonia as you open: they correct this plan.".to_owned(),
    }
}

fn why(line: &PlanLine<'_>, reason: &Reason) -> String {
    let reason = match *reason {
        Reason::Oxygen { read } => format!("its oxygen is {}, too little for anything slow", mg(read, "mg/L")),
        Reason::Ammonia { direct, slow, limit, .. } if slow <= 1.05 * direct => format!(
            "its water holds NH3 already, {}; the limit is {}: each minute in it counts",
            sig(direct),
            mg(limit, "mg/L as N")
        ),
        Reason::Ammonia { direct, slow, times, limit } => {
            let times = if times >= 1.5 { format!(" ({times:.0} times as much over the time)") } else { String::new() };
            format!(
                "slowly, NH3 would reach {}{times}, straight over {}; the limit is {}",
                sig(slow),
                sig(direct),
                mg(limit, "mg/L as N")
            )
        }
        Reason::Opened { nh3, limit, times } => {
            let times =
                if times >= 1.5 { format!("; a slow way costs {times:.0} times the NH3") } else { String::new() };
            format!("left open, its NH3 climbs to {}, the limit is {}{times}", sig(nh3), mg(limit, "mg/L as N"))
        }
        Reason::Alike { ph } => format!("pH differs by {ph:.1} only, so slowness gains nothing"),
        Reason::Differ { need, slow, limit } => {
            let need = match need {
                Need::Ph(gap) => format!("pH differs by {gap:.1}"),
                Need::Salinity(gap) => format!("salinity differs by {} ppt", number(gap)),
            };
            let nh3 = if slow < 0.001 {
                "next to no NH3".to_owned()
            } else {
                format!("NH3 up to {}, limit {}", sig(slow), mg(limit, "mg/L as N"))
            };
            format!("{need} and the water is clean enough to take time: {nh3}")
        }
    };
    let salt = if line.plan.by_higher_ph { " Salt water: reckoned at the higher pH, the worst case." } else { "" };
    let assumed: Vec<&str> = line
        .assumed
        .iter()
        .map(|assumed| match assumed {
            Assumed::PackingWater => "soft packing water",
            Assumed::NoAmmoniaInTank => "no ammonia in the tank",
            Assumed::TankAlkalinity => "tank at rest with the air",
        })
        .collect();
    let assumed =
        if assumed.is_empty() { String::new() } else { format!(" Taken for granted: {}.", assumed.join(", ")) };
    format!("Why: {reason}.{salt}{assumed}")
}

fn careful(line: &PlanLine<'_>, warning: &Warning) -> String {
    let fish = || line.fish.clone().unwrap_or_else(|| "these fish".to_owned());
    match *warning {
        Warning::OpenBag { ph, nh3, poured } => {
            let climbs = format!("pH climbs to {ph:.1}, NH3 to {}", mg(nh3, "mg/L as N"));
            if matches!(line.plan.recommendation.reason, Reason::Oxygen { .. }) {
                return format!("Careful: give oxygen in the new water, for if you bubble the bag's its {climbs}.");
            }
            let poured = poured.map(|_| " and no tank water into it").unwrap_or_default();
            let climbs = match line.plan.recommendation.reason {
                Reason::Opened { .. } => format!(": pH climbs to {ph:.1}"),
                _ => format!(": {climbs}"),
            };
            format!("Careful: no air stone in the bag{poured}{climbs}. Air belongs into {}.", line.into)
        }
        Warning::TankAmmonia(nh3) => format!("Careful: {} itself holds {} NH3.", line.into, mg(nh3, "mg/L as N")),
        Warning::TankTemperature { is, usual } => format!(
            "Careful: {} has {}, {} live at {} to {}. Ask the lead.",
            line.into,
            temperature(is, line.scale),
            fish(),
            temperature(usual.0, line.scale).trim_end_matches(" °C").trim_end_matches(" °F"),
            temperature(usual.1, line.scale)
        ),
        Warning::TankPh { is, usual } => format!(
            "Careful: {} has pH {is:.1}, {} live at {:.1} to {:.1}. Ask the lead.",
            line.into,
            fish(),
            usual.0,
            usual.1
        ),
    }
}

/// "a third", or its litres.
fn amount(part: f64, litres: Option<f64>) -> String {
    if let Some(litres) = litres {
        return format!("{} L", number(part * litres));
    }
    [(0.25, "a quarter"), (1.0 / 3.0, "a third"), (0.5, "half")]
        .into_iter()
        .find(|(of, _)| (of - part).abs() < 0.02)
        .map_or_else(|| format!("{:.0} %", 100.0 * part), |(_, word)| word.to_owned())
}

/// Two figures are all that kits and meters support.
fn sig(value: f64) -> String {
    match value {
        ..0.001 => "0".to_owned(),
        ..0.01 => format!("{value:.3}"),
        ..1.0 => {
            let places = if value < 0.1 { 3 } else { 2 };
            number_of(value, places)
        }
        _ => number_of(value, 1),
    }
}

fn number_of(value: f64, places: usize) -> String {
    format!("{value:.places$}").trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn mg(value: f64, unit: &str) -> String {
    format!("{} {unit}", sig(value))
}

fn number(value: f64) -> String {
    number_of(value, if value < 10.0 { 1 } else { 0 })
}

fn temperature(celsius: f64, scale: Temperature) -> String {
    match scale {
        Temperature::Celsius => format!("{} °C", number_of(celsius, 1)),
        Temperature::Fahrenheit => format!("{:.0} °F", 1.8 * celsius + 32.0),
    }
}

fn difference(celsius: f64, scale: Temperature) -> String {
    match scale {
        Temperature::Celsius => format!("{} °C", number_of(celsius, 1)),
        Temperature::Fahrenheit => format!("{} °F", number_of(1.8 * celsius, 1)),
    }
}

/// What still has to be known for a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Lacking {
    /// Temperature.
    Temperature,
    /// pH.
    Ph,
    /// Total ammonia.
    Ammonia,
    /// Salinity.
    Salinity,
}

/// A plan cannot be made yet: what to measure, and how to say it.
pub fn measure_first((from, closed): (&str, bool), bag: &[Lacking], into: &str, tank: &[Lacking]) -> String {
    let word = |lacking: &Lacking| match lacking {
        Lacking::Temperature => "temperature",
        Lacking::Ph => "pH",
        Lacking::Ammonia => "ammonia",
        Lacking::Salinity => "salinity",
    };
    let of = |name: &str, lacking: &[Lacking]| {
        let words: Vec<String> = lacking.iter().map(|lacking| word(lacking).to_owned()).collect();
        (!words.is_empty()).then(|| format!("{} of {name}", super::names(&words)))
    };
    let wanted: Vec<String> = [of(from, bag), of(into, tank)].into_iter().flatten().collect();
    let meanwhile = if closed { format!(" Keep {from} closed and float it meanwhile.") } else { String::new() };
    format!("To plan {from} into {into} I need {}.{meanwhile}", wanted.join(", and "))
}

/// Nobody said into which tank, and none follows from the books.
pub fn into_which(from: &str) -> String {
    format!("{} into which tank? Say \"plan for {from} into A3\".", place::leading(from))
}

/// Nobody said which bag.
pub fn which_bag(into: Option<&str>) -> String {
    match into {
        Some(into) => format!("Which bag goes into {into}? Say \"plan for 7.2 into {into}\"."),
        None => "A plan for which bag? Say \"plan 7.2\".".to_owned(),
    }
}

/// The readings cannot be true of one water, or lie out of the range of the chemistry.
pub fn unsound(from: &str, why: &str) -> String {
    format!("No plan for {from}: {why}.")
}

/// Fish that lie still in sour water rich in carbon dioxide may come round.
pub fn look_again(at: &Place, minutes: u32) -> String {
    format!(
        "{} was sour and full of CO2: fish may come round, look again in {minutes} min before it is final",
        place::name(at)
    )
}

#[cfg(test)]
mod tests {
    use insta::assert_snapshot;

    use super::*;
    use crate::quantity::{AlkalinityCaCO3, Celsius, OxygenMgL, Ph, SalinityPpt, TotalAmmoniaN};
    use crate::water::FreshWater;
    use crate::water::plan::{Bag, PlanLimits, SaltWater, Tolerance, Water};

    fn fresh(celsius: f64, ph: f64, alkalinity: f64, ammonia: f64) -> Water {
        let (celsius, ph) = (Celsius::new(celsius).unwrap(), Ph::new(ph).unwrap());
        let (alkalinity, ammonia) = (AlkalinityCaCO3::new(alkalinity).unwrap(), TotalAmmoniaN::new(ammonia).unwrap());
        Water::Fresh(FreshWater::new(celsius, ph, alkalinity, ammonia).unwrap())
    }

    fn planned(bag: Water, oxygen: Option<f64>, tank: Water, fish: Option<Tolerance>) -> Plan {
        let bag = Bag { water: bag, oxygen: oxygen.map(|read| OxygenMgL::new(read).unwrap()) };
        crate::water::plan::plan(&bag, &tank, fish.as_ref(), &PlanLimits::default()).unwrap()
    }

    fn line(plan: &Plan, tank_celsius: f64) -> PlanLine<'_> {
        PlanLine {
            from: "7.2".into(),
            closed: true,
            into: "A3".into(),
            plan,
            basis: Basis::Read,
            assumed: Vec::new(),
            tank_celsius,
            near: 2.0,
            litres: None,
            fish: Some("cardinal tetra".into()),
            scale: Temperature::Celsius,
        }
    }

    #[test]
    fn a_fouled_bag_goes_straight_over() {
        let plan = planned(fresh(21.5, 6.1, 103.0, 15.0), None, fresh(26.0, 7.6, 80.0, 0.0), None);
        assert_snapshot!(super::plan(&line(&plan, 26.0)), @r"
    7.2 into A3: straight over.
    1. Float 7.2 closed, lights low, about 35 min, until within 2 °C of 26 °C.
    2. Open, net the fish into A3 within minutes. Old water to the drain, never into A3.
    3. Look at A3 in 15 min. Gasping or on their side: tell the lead.
    Why: left open, its NH3 climbs to 1.1, the limit is 0.11 mg/L as N; a slow way costs 8 times the NH3.
    Careful: no air stone in the bag and no tank water into it: pH climbs to 8.3. Air belongs into A3.
    ");
        let warm = PlanLine { scale: Temperature::Fahrenheit, basis: Basis::Forecast, ..line(&plan, 26.0) };
        assert_snapshot!(super::plan(&PlanLine { assumed: vec![Assumed::PackingWater, Assumed::NoAmmoniaInTank], ..warm }), @r"
    7.2 into A3: straight over. A forecast from the list, nothing was read: read pH and ammonia to be sure.
    1. Float 7.2 closed, lights low, about 35 min, until within 3.6 °F of 79 °F.
    2. Open, net the fish into A3 within minutes. Old water to the drain, never into A3.
    3. Read pH and ammonia as you open: they correct this plan.
    Why: left open, its NH3 climbs to 1.1, the limit is 0.11 mg/L as N; a slow way costs 8 times the NH3. Taken for granted: soft packing water, no ammonia in the tank.
    Careful: no air stone in the bag and no tank water into it: pH climbs to 8.3. Air belongs into A3.
    ");
    }

    #[test]
    fn a_slow_way_that_meets_more_than_may_be_says_so() {
        let plan = planned(fresh(25.0, 6.6, 120.0, 20.0), None, fresh(26.0, 8.4, 250.0, 0.0), None);
        assert_snapshot!(super::plan(&line(&plan, 26.0)), @r"
    7.2 into A3: straight over.
    1. Read both temperatures: within 2 °C there is no need to float.
    2. Open, net the fish into A3 within minutes. Old water to the drain, never into A3.
    3. Look at A3 in 15 min. Gasping or on their side: tell the lead.
    Why: slowly, NH3 would reach 0.52 (134 times as much over the time), straight over 0.051; the limit is 0.11 mg/L as N.
    Careful: no air stone in the bag and no tank water into it: pH climbs to 8.4, NH3 to 2.2 mg/L as N. Air belongs into A3.
    ");
        let plan = planned(fresh(25.0, 7.8, 120.0, 8.0), None, fresh(26.0, 7.0, 60.0, 0.0), None);
        assert_snapshot!(super::plan(&line(&plan, 26.0)), @r"
    7.2 into A3: straight over.
    1. Read both temperatures: within 2 °C there is no need to float.
    2. Open, net the fish into A3 within minutes. Old water to the drain, never into A3.
    3. Look at A3 in 15 min. Gasping or on their side: tell the lead.
    Why: its water holds NH3 already, 0.31; the limit is 0.11 mg/L as N: each minute in it counts.
    Careful: no air stone in the bag and no tank water into it: pH climbs to 8.4, NH3 to 0.9 mg/L as N. Air belongs into A3.
    ");
    }

    #[test]
    fn a_clean_bag_takes_its_time() {
        let plan = planned(fresh(25.0, 6.4, 40.0, 0.1), None, fresh(25.5, 7.4, 60.0, 0.0), None);
        assert_snapshot!(super::plan(&line(&plan, 25.5)), @r"
    7.2 into A3: slow drip.
    1. Open into a tub. Drip in A3 water, 3 parts to 1 of the old, over 60 min.
    2. Read temperature and pH every 15 min. Fish gasping: net them out at once.
    3. Then net the fish into A3. Old water to the drain.
    Why: pH differs by 1.0 and the water is clean enough to take time: next to no NH3.
    ");
        assert_snapshot!(super::plan(&PlanLine { litres: Some(2.5), ..line(&plan, 25.5) }), @r"
    7.2 into A3: slow drip.
    1. Open into a tub. Drip in A3 water, 7.5 L, over 60 min.
    2. Read temperature and pH every 15 min. Fish gasping: net them out at once.
    3. Then net the fish into A3. Old water to the drain.
    Why: pH differs by 1.0 and the water is clean enough to take time: next to no NH3.
    ");
        let fish = Tolerance { celsius: (23.0, 29.0), ph: (4.0, 6.5), delicate: true };
        let plan = planned(fresh(25.0, 6.4, 40.0, 0.1), None, fresh(25.5, 7.4, 60.0, 0.0), Some(fish));
        assert_snapshot!(super::plan(&line(&plan, 25.5)), @r"
    7.2 into A3: in steps.
    1. Open. Pour off a third, top up from A3. Again every 10 min, 6 times in all.
    2. Read temperature and pH before each pour. Fish gasping: net them out at once.
    3. Then net the fish into A3. Old water to the drain.
    Why: pH differs by 1.0 and the water is clean enough to take time: next to no NH3.
    Careful: A3 has pH 7.4, cardinal tetra live at 4.0 to 6.5. Ask the lead.
    ");
    }

    #[test]
    fn a_tray_is_open_already_and_air_in_it_is_right() {
        let plan = planned(fresh(22.0, 6.4, 60.0, 4.0), None, fresh(26.0, 7.6, 80.0, 0.0), None);
        let tray = PlanLine { from: "tray 3".into(), closed: false, ..line(&plan, 26.0) };
        assert_snapshot!(super::plan(&tray), @r"
    tray 3 into A3: straight over.
    1. Bring tray 3 within 2 °C of 26 °C first: tank water around it, about 30 min.
    2. Net the fish into A3 within minutes. Old water to the drain, never into A3.
    3. Look at A3 in 15 min. Gasping or on their side: tell the lead.
    Why: left open, its NH3 climbs to 0.2, the limit is 0.11 mg/L as N; a slow way costs 7 times the NH3.
    ");
        assert_snapshot!(measure_first(("tray 3", false), &[Lacking::Ph], "A3", &[]), @"To plan tray 3 into A3 I need pH of tray 3.");
        let plan = planned(fresh(25.0, 6.4, 40.0, 0.1), None, fresh(25.5, 7.4, 60.0, 0.0), None);
        let tray = PlanLine { from: "tray 3".into(), closed: false, ..line(&plan, 25.5) };
        assert_snapshot!(super::plan(&tray), @r"
    tray 3 into A3: slow drip.
    1. Drip in A3 water, 3 parts to 1 of the old, over 60 min.
    2. Read temperature and pH every 15 min. Fish gasping: net them out at once.
    3. Then net the fish into A3. Old water to the drain.
    Why: pH differs by 1.0 and the water is clean enough to take time: next to no NH3.
    ");
    }

    #[test]
    fn a_bag_without_oxygen_gets_it_first() {
        let plan = planned(fresh(21.0, 6.2, 90.0, 8.0), Some(2.0), fresh(26.0, 7.6, 80.0, 0.0), None);
        assert_snapshot!(super::plan(&line(&plan, 26.0)), @r"
    7.2 into A3: straight over.
    1. No time to float: set up a tub of A3 water at 21 °C, air stone in it.
    2. Open, net the fish into the tub. Let it drift to 26 °C, then into A3. Old water to the drain.
    3. Look at A3 in 15 min. Gasping or on their side: tell the lead.
    Why: its oxygen is 2 mg/L, too little for anything slow.
    Careful: give oxygen in the new water, for if you bubble the bag's its pH climbs to 8.2, NH3 to 0.52 mg/L as N.
    ");
    }

    #[test]
    fn alike_waters_and_salt_water() {
        let plan = planned(fresh(24.0, 7.2, 60.0, 0.0), None, fresh(25.0, 7.4, 60.0, 0.0), None);
        assert_snapshot!(super::plan(&line(&plan, 25.0)), @r"
    7.2 into A3: straight over.
    1. Read both temperatures: within 2 °C there is no need to float.
    2. Open, net the fish into A3 within minutes. Old water to the drain, never into A3.
    3. Look at A3 in 15 min. Gasping or on their side: tell the lead.
    Why: pH differs by 0.2 only, so slowness gains nothing.
    ");
        let salt = |ph: f64, ammonia: f64, salinity: f64| {
            Water::Salt(SaltWater {
                temperature: Celsius::new(25.0).unwrap(),
                ph: Ph::new(ph).unwrap(),
                ammonia: TotalAmmoniaN::new(ammonia).unwrap(),
                salinity: SalinityPpt::new(salinity).unwrap(),
            })
        };
        let plan = planned(salt(7.2, 3.0, 33.0), None, salt(8.2, 0.0, 35.0), None);
        assert_snapshot!(super::plan(&line(&plan, 25.0)), @r"
    7.2 into A3: straight over.
    1. Read both temperatures: within 2 °C there is no need to float.
    2. Open, net the fish into A3 within minutes. Old water to the drain, never into A3.
    3. Look at A3 in 15 min. Gasping or on their side: tell the lead.
    Why: slowly, NH3 would reach 0.14 (58 times as much over the time), straight over 0.022; the limit is 0.11 mg/L as N. Salt water: reckoned at the higher pH, the worst case.
    Careful: no air stone in the bag and no tank water into it: pH climbs to 8.2, NH3 to 0.21 mg/L as N. Air belongs into A3.
    ");
        let plan = planned(salt(8.0, 0.05, 28.0), None, salt(8.2, 0.0, 35.0), None);
        assert_snapshot!(super::plan(&line(&plan, 25.0)), @r"
    7.2 into A3: slow drip.
    1. Open into a tub. Drip in A3 water, 3 parts to 1 of the old, over 60 min.
    2. Read temperature and pH every 15 min. Fish gasping: net them out at once.
    3. Then net the fish into A3. Old water to the drain.
    Why: salinity differs by 7 ppt and the water is clean enough to take time: NH3 up to 0.003, limit 0.021 mg/L as N. Salt water: reckoned at the higher pH, the worst case.
    ");
    }

    #[test]
    fn no_plan_has_more_than_six_lines_of_doing_and_two_of_why_and_care() {
        for oxygen in [None, Some(2.0), Some(4.0)] {
            for ph in [5.8, 6.4, 7.4] {
                for ammonia in [0.0, 1.0, 15.0] {
                    let bag = fresh(21.0, ph, 60.0 + 3.573 * ammonia, ammonia);
                    let plan = planned(bag, oxygen, fresh(26.0, 7.8, 90.0, 0.0), None);
                    let text = super::plan(&line(&plan, 26.0));
                    let (doing, rest): (Vec<&str>, Vec<&str>) =
                        text.lines().partition(|line| !line.starts_with("Why: ") && !line.starts_with("Careful: "));
                    assert!(doing.len() <= 6 && rest.len() <= 2, "{text}");
                    assert!(text.lines().all(|line| line.chars().count() < 180), "{text}");
                }
            }
        }
    }

    #[test]
    fn what_is_lacking_is_asked_for() {
        use Lacking::{Ammonia, Ph, Temperature};
        assert_snapshot!(measure_first(("7.2", true), &[Temperature, Ph, Ammonia], "A3", &[Ph]), @"To plan 7.2 into A3 I need temperature, pH and ammonia of 7.2, and pH of A3. Keep 7.2 closed and float it meanwhile.");
        assert_snapshot!(measure_first(("7.2", true), &[], "A3", &[Temperature, Ph]), @"To plan 7.2 into A3 I need temperature and pH of A3. Keep 7.2 closed and float it meanwhile.");
        assert_snapshot!(into_which("box 7"), @r#"Box 7 into which tank? Say "plan for box 7 into A3"."#);
        assert_snapshot!(which_bag(Some("A3")), @r#"Which bag goes into A3? Say "plan for 7.2 into A3"."#);
        assert_snapshot!(which_bag(None), @r#"A plan for which bag? Say "plan 7.2"."#);
        assert_snapshot!(look_again(&Place::Bag { number: 7, bag: 2 }, 10), @"7.2 was sour and full of CO2: fish may come round, look again in 10 min before it is final");
    }
}
