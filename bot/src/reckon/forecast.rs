//! Quantities of a bag before and after it is opened, and of the ways to bring its fish over.

use holdfast_core::quantity::{
    AlkalinityCaCO3, CarbonDioxideMgL, CarbonDioxideMicroatm, Celsius, OxygenMgL, Ph, SalinityPpt, TotalAmmoniaN,
};
use holdfast_core::water::plan::{Bag, Course, Plan, PlanLimits, SaltWater, Water, Way, plan};
use holdfast_core::water::{FASTED, FreshWater, SealedBag};
use serde_json::json;

use super::water::{number, words};
use super::{Inputs, Quantity};

/// mg of CO2 in a millimole.
const CO2_MG_PER_MMOL: f64 = 44.0095;
/// pH of packing water where none is given. It hardly matters: what the fish give off decides.
const PACKING_PH: f64 = 7.3;
/// Litres of gas for each litre of water where none is given: a third of the bag is water.
const HEADSPACE: f64 = 2.0;
/// Carbon dioxide of the room's air where none is given, µatm.
const ROOM_AIR: f64 = 600.0;

const OF_SEALED: &[&str] = &[
    "temp_c",
    "packing_alk_mg_l_caco3",
    "packing_ph?",
    "tan_mg_l?",
    "co2_mmol_l?",
    "co2_mg_l?",
    "load_g_l?",
    "hours?",
    "headspace_l_l?",
];
const OF_OPENED: &[&str] = &[
    "temp_c",
    "packing_alk_mg_l_caco3",
    "packing_ph?",
    "tan_mg_l?",
    "co2_mmol_l?",
    "co2_mg_l?",
    "load_g_l?",
    "hours?",
    "headspace_l_l?",
    "pco2_uatm?",
];
const OF_PLAN: &[&str] = &[
    "temp_c",
    "ph",
    "tan_mg_l",
    "alk_mg_l_caco3?",
    "sal_ppt?",
    "do_mg_l?",
    "tank_temp_c",
    "tank_ph",
    "tank_tan_mg_l?",
    "tank_alk_mg_l_caco3?",
    "tank_sal_ppt?",
    "gas_exchange_per_h?",
    "pco2_uatm?",
];
const OF_COURSE: &[&str] = &[
    "way",
    "temp_c",
    "ph",
    "tan_mg_l",
    "alk_mg_l_caco3?",
    "sal_ppt?",
    "do_mg_l?",
    "tank_temp_c",
    "tank_ph",
    "tank_tan_mg_l?",
    "tank_alk_mg_l_caco3?",
    "tank_sal_ppt?",
    "gas_exchange_per_h?",
    "pco2_uatm?",
];

pub(super) const QUANTITIES: &[Quantity] = &[
    Quantity {
        name: "bag_tan_mg_l",
        unit: "mg/L as N",
        inputs: &["load_g_l", "hours", "temp_c"],
        about: "Total ammonia that small fasted tropical fish make in a closed bag: the middle, twice or half is as likely.",
        reckon: |inputs| {
            let water = packing_water(inputs, 50.0)?;
            number(sealed(inputs, water)?.ammonia_made(FASTED))
        },
    },
    Quantity {
        name: "bag_co2_mg_l",
        unit: "mg/L",
        inputs: OF_SEALED,
        about: "Carbon dioxide dissolved in a closed bag. Inputs as of bag_ph_sealed.",
        reckon: |inputs| number(closed(inputs)?.carbon_dioxide().map_err(words)?.get()),
    },
    Quantity {
        name: "bag_ph_sealed",
        unit: "pH",
        inputs: OF_SEALED,
        about: "pH of a closed bag. The CO2 is what the fish made for each litre, gas space included, mmol or mg; the TAN \
                is as N. Left out, either is the middle of the forecast for the load and hours. Packing pH 7.3, headspace \
                2 L of gas for each litre, where not given.",
        reckon: |inputs| number(closed(inputs)?.ph().map_err(words)?.get()),
    },
    Quantity {
        name: "bag_ph_opened",
        unit: "pH",
        inputs: OF_OPENED,
        about: "pH of the bag's water when it has come to rest with air of this CO2, 600 µatm where not given. Ammonia's \
                own alkalinity is in it.",
        reckon: |inputs| number(opened(inputs)?.ph().map_err(words)?.get()),
    },
    Quantity {
        name: "bag_nh3_opened_mg_l",
        unit: "mg/L as N",
        inputs: OF_OPENED,
        about: "NH3 of that water, as N.",
        reckon: |inputs| number(opened(inputs)?.unionised().map_err(words)?.get()),
    },
    Quantity {
        name: "plan_nh3_peak_mg_l",
        unit: "mg/L as N",
        inputs: OF_COURSE,
        about: "The highest NH3 that fish meet on this way (direct, stepwise or drip) from the bag into the tank. Bag \
                alkalinity is as measured, 50 + 3.573 TAN where not given; the tank's, where not given, that of water at \
                rest with the room's air. Gas exchange 3 an hour, air 600 µatm, tank TAN 0, where not given.",
        reckon: |inputs| number(course(inputs)?.nh3_peak),
    },
    Quantity {
        name: "plan_nh3_minutes",
        unit: "mg/L as N × min",
        inputs: OF_COURSE,
        about: "NH3 by time on this way, until the longest of the ways is over. Inputs as of plan_nh3_peak_mg_l.",
        reckon: |inputs| number(course(inputs)?.nh3_minutes),
    },
    Quantity {
        name: "plan_temperature_jump_c",
        unit: "°C",
        inputs: OF_COURSE,
        about: "The largest change of temperature within a minute on this way.",
        reckon: |inputs| number(course(inputs)?.temperature_jump),
    },
    Quantity {
        name: "plan_ph_jump",
        unit: "pH",
        inputs: OF_COURSE,
        about: "The largest change of pH within a minute on this way.",
        reckon: |inputs| number(course(inputs)?.ph_jump),
    },
    Quantity {
        name: "plan_way",
        unit: "",
        inputs: OF_PLAN,
        about: "The way that is recommended: direct, stepwise or drip.",
        reckon: |inputs| Ok(json!(name(planned(inputs)?.recommendation.way))),
    },
];

fn name(way: Way) -> &'static str {
    match way {
        Way::Direct => "direct",
        Way::Stepwise => "stepwise",
        Way::Drip => "drip",
    }
}

fn packing_water(inputs: &Inputs, alkalinity: f64) -> Result<FreshWater, String> {
    let none = TotalAmmoniaN::new(0.0).map_err(words)?;
    let ph = inputs.maybe("packing_ph", Ph::new)?.map_or_else(|| Ph::new(PACKING_PH), Ok).map_err(words)?;
    let alkalinity = AlkalinityCaCO3::new(alkalinity).map_err(words)?;
    FreshWater::new(inputs.of("temp_c", Celsius::new)?, ph, alkalinity, none).map_err(words)
}

/// The bag as it was sealed, where its load and hours are given.
fn sealed(inputs: &Inputs, packed_in: FreshWater) -> Result<SealedBag, String> {
    Ok(SealedBag {
        load: inputs.number("load_g_l")?,
        headspace: inputs.optional("headspace_l_l")?.unwrap_or(HEADSPACE),
        oxygen_share: 1.0,
        hours: inputs.number("hours")?,
        temperature: inputs.of("temp_c", Celsius::new)?,
        packed_in,
    })
}

fn closed(inputs: &Inputs) -> Result<FreshWater, String> {
    let packed_in = packing_water(inputs, inputs.of("packing_alk_mg_l_caco3", AlkalinityCaCO3::new)?.get())?;
    let ammonia = match inputs.maybe("tan_mg_l", TotalAmmoniaN::new)? {
        Some(given) => given,
        None => {
            let made = sealed(inputs, packed_in).map_err(|error| format!("tan_mg_l is not given, and {error}"))?;
            TotalAmmoniaN::new(made.ammonia_made(FASTED)).map_err(words)?
        }
    };
    let carbon_dioxide = match (inputs.optional("co2_mmol_l")?, inputs.optional("co2_mg_l")?) {
        (Some(_), Some(_)) => return Err("co2_mmol_l: is given beside co2_mg_l".to_owned()),
        (Some(millimoles), None) => {
            CarbonDioxideMgL::new(millimoles * CO2_MG_PER_MMOL).map_err(|error| format!("co2_mmol_l: {error}"))?
        }
        (None, Some(_)) => inputs.of("co2_mg_l", CarbonDioxideMgL::new)?,
        (None, None) => {
            let made = sealed(inputs, packed_in).map_err(|error| format!("no CO2 is given, and {error}"))?;
            CarbonDioxideMgL::new(made.carbon_dioxide_made(FASTED)).map_err(words)?
        }
    };
    let headspace = inputs.optional("headspace_l_l")?.unwrap_or(HEADSPACE);
    packed_in.fouled(ammonia, carbon_dioxide).sealed(headspace).map_err(words)
}

fn air(inputs: &Inputs) -> Result<CarbonDioxideMicroatm, String> {
    let given = inputs.maybe("pco2_uatm", CarbonDioxideMicroatm::new)?;
    given.map_or_else(|| CarbonDioxideMicroatm::new(ROOM_AIR), Ok).map_err(words)
}

fn opened(inputs: &Inputs) -> Result<FreshWater, String> {
    closed(inputs)?.under(air(inputs)?).map_err(words)
}

fn planned(inputs: &Inputs) -> Result<Plan, String> {
    let room = air(inputs)?;
    let rate = inputs.optional("gas_exchange_per_h")?.unwrap_or(PlanLimits::default().gas_exchange);
    if !(0.0..=1000.0).contains(&rate) {
        return Err(format!("gas_exchange_per_h: must be from 0 to 1000, not {rate}"));
    }
    let limits = PlanLimits { room_air: room.get(), gas_exchange: rate, ..PlanLimits::default() };
    let (celsius, ph) = (inputs.of("temp_c", Celsius::new)?, inputs.of("ph", Ph::new)?);
    let ammonia = inputs.of("tan_mg_l", TotalAmmoniaN::new)?;
    let alkalinity = inputs.maybe("alk_mg_l_caco3", AlkalinityCaCO3::new)?;
    let salt = inputs.maybe("sal_ppt", SalinityPpt::new)?.filter(|salinity| salinity.get() > 0.0);
    let bag = match salt {
        Some(salinity) => Water::Salt(SaltWater { temperature: celsius, ph, ammonia, salinity }),
        None => {
            let alkalinity = alkalinity.map_or_else(|| AlkalinityCaCO3::new(50.0 + 3.573 * ammonia.get()), Ok);
            Water::Fresh(FreshWater::new(celsius, ph, alkalinity.map_err(words)?, ammonia).map_err(words)?)
        }
    };
    let (celsius, ph) = (inputs.of("tank_temp_c", Celsius::new)?, inputs.of("tank_ph", Ph::new)?);
    let ammonia = inputs.maybe("tank_tan_mg_l", TotalAmmoniaN::new)?;
    let ammonia = ammonia.map_or_else(|| TotalAmmoniaN::new(0.0), Ok).map_err(words)?;
    let salt = inputs.maybe("tank_sal_ppt", SalinityPpt::new)?.filter(|salinity| salinity.get() > 0.0);
    let tank = match (salt, inputs.maybe("tank_alk_mg_l_caco3", AlkalinityCaCO3::new)?) {
        (Some(salinity), _) => Water::Salt(SaltWater { temperature: celsius, ph, ammonia, salinity }),
        (None, Some(alkalinity)) => Water::Fresh(FreshWater::new(celsius, ph, alkalinity, ammonia).map_err(words)?),
        (None, None) => Water::Fresh(FreshWater::at_rest(celsius, ph, ammonia, room).map_err(words)?),
    };
    let oxygen = inputs.maybe("do_mg_l", OxygenMgL::new)?;
    plan(&Bag { water: bag, oxygen }, &tank, None, &limits).map_err(words)
}

fn course(inputs: &Inputs) -> Result<Course, String> {
    let wanted = inputs.text("way")?;
    let way = Way::ALL.into_iter().find(|way| name(*way) == wanted);
    let way = way.ok_or_else(|| format!("way: {wanted:?} is none of direct, stepwise and drip"))?;
    Ok(planned(inputs)?.course(way).clone())
}
