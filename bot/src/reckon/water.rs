//! Quantities of water chemistry. The models and their sources are in `holdfast_core::water`.

use holdfast_core::quantity::{
    AlkalinityCaCO3, CarbonDioxideMicroatm, Celsius, ChlorineMgL, ConductivityUsCm, Kilopascals, Litres, OxygenMgL, Ph,
    SalinityPpt, TotalAmmoniaN,
};
use holdfast_core::water;
use serde_json::Value;

use super::{Inputs, Quantity};

/// A number as a value.
pub(super) fn number(value: f64) -> Result<Value, String> {
    serde_json::Number::from_f64(value).map(Value::Number).ok_or_else(|| format!("the value {value} is no number"))
}

pub(super) fn words(error: impl std::fmt::Display) -> String {
    error.to_string()
}

pub(super) const QUANTITIES: &[Quantity] = &[
    Quantity {
        name: "nh3_fraction",
        unit: "fraction",
        inputs: &["temp_c", "ph", "sal_ppt?"],
        about: "The share of total ammonia that is NH3 (Emerson 1975; with salt Clegg & Whitfield 1995, free scale).",
        reckon: |inputs| {
            let salinity = inputs.maybe("sal_ppt", SalinityPpt::new)?;
            let (temperature, ph) = (inputs.of("temp_c", Celsius::new)?, inputs.of("ph", Ph::new)?);
            number(water::unionised_share(temperature, ph, salinity).map_err(words)?)
        },
    },
    Quantity {
        name: "nh3_mg_l",
        unit: "mg/L as N",
        inputs: &["tan_mg_l", "temp_c", "ph", "sal_ppt?"],
        about: "Un-ionised ammonia, as N, in water with this total ammonia as N.",
        reckon: |inputs| nh3(inputs, "tan_mg_l"),
    },
    Quantity {
        name: "nh3_n_mg_l",
        unit: "mg/L as N",
        inputs: &["tan_n_mg_l", "temp_c", "ph", "sal_ppt?"],
        about: "The same as nh3_mg_l, by the trade's name for it.",
        reckon: |inputs| nh3(inputs, "tan_n_mg_l"),
    },
    Quantity {
        name: "do_sat_mg_l",
        unit: "mg/L",
        inputs: &["temp_c", "sal_ppt?", "pressure_kpa?"],
        about: "Oxygen of water at rest with air (USGS 2011.03). The pressure is that of the place, 101.325 where not given.",
        reckon: |inputs| {
            let (temperature, salinity, pressure) = air(inputs)?;
            number(water::oxygen_saturation(temperature, salinity, pressure).map_err(words)?.get())
        },
    },
    Quantity {
        name: "do_percent",
        unit: "% saturation",
        inputs: &["do_mg_l", "temp_c", "sal_ppt?", "pressure_kpa?"],
        about: "Oxygen as a share of what air would give this water.",
        reckon: |inputs| {
            let (temperature, salinity, pressure) = air(inputs)?;
            let oxygen = inputs.of("do_mg_l", OxygenMgL::new)?;
            number(water::oxygen_percent(oxygen, temperature, salinity, pressure).map_err(words)?.get())
        },
    },
    Quantity {
        name: "co2_mg_l",
        unit: "mg/L CO2",
        inputs: &["temp_c", "ph", "alk_mg_l_caco3"],
        about: "Carbon dioxide with its acid in fresh water (Plummer & Busenberg 1982, activities by Davies).",
        reckon: |inputs| {
            let (temperature, ph, alkalinity) = fresh(inputs)?;
            number(water::carbon_dioxide(temperature, ph, alkalinity).map_err(words)?.get())
        },
    },
    Quantity {
        name: "ph_of_mix",
        unit: "pH",
        inputs: &["waters"],
        about: "Fresh waters brought together without gas exchange; each of volume_l, temp_c, ph, alk_mg_l_caco3.",
        reckon: |inputs| {
            let waters = inputs.each("waters", &["volume_l", "temp_c", "ph", "alk_mg_l_caco3"], |one| {
                let (temperature, ph, alkalinity) = fresh(one)?;
                Ok((one.of("volume_l", Litres::new)?, temperature, ph, alkalinity))
            })?;
            number(water::ph_of_mix(&waters).map_err(words)?.get())
        },
    },
    Quantity {
        name: "ph_after_degas",
        unit: "pH",
        inputs: &["temp_c", "alk_mg_l_caco3", "ph?", "pco2_uatm"],
        about: "Fresh water that came to rest with air of this much CO2. The pH that it had does not matter.",
        reckon: |inputs| {
            inputs.maybe("ph", Ph::new)?;
            let alkalinity = inputs.of("alk_mg_l_caco3", AlkalinityCaCO3::new)?;
            let air = inputs.of("pco2_uatm", CarbonDioxideMicroatm::new)?;
            number(water::ph_under_air(inputs.of("temp_c", Celsius::new)?, alkalinity, air).map_err(words)?.get())
        },
    },
    Quantity {
        name: "tan_after_swap",
        unit: "mg/L as N",
        inputs: &["tan_mg_l", "percent", "new_tan_mg_l?"],
        about: "Total ammonia after this part of the water was poured off and replaced.",
        reckon: |inputs| {
            let now = inputs.of("tan_mg_l", TotalAmmoniaN::new)?.get();
            let new = inputs.maybe("new_tan_mg_l", TotalAmmoniaN::new)?.map_or(0.0, TotalAmmoniaN::get);
            number(water::after_exchange(now, inputs.of("percent", water::Part::percent)?, new))
        },
    },
    Quantity {
        name: "temp_after_mix",
        unit: "°C",
        inputs: &["waters"],
        about: "Waters brought together; each of volume_l, temp_c.",
        reckon: |inputs| {
            let waters = inputs.each("waters", &["volume_l", "temp_c"], |one| {
                Ok((one.of("volume_l", Litres::new)?, one.of("temp_c", Celsius::new)?))
            })?;
            number(water::temperature_of_mix(&waters).map_err(words)?.get())
        },
    },
    Quantity {
        name: "alk_mg_l_caco3",
        unit: "mg/L as CaCO3",
        inputs: &["dkh"],
        about: "Alkalinity from German degrees: 17.848 mg/L a degree.",
        reckon: |inputs| number(inputs.of("dkh", AlkalinityCaCO3::from_dkh)?.get()),
    },
    Quantity {
        name: "thiosulfate_mg",
        unit: "mg Na2S2O3·5H2O",
        inputs: &["volume_l", "chlorine_mg_l"],
        about: "Sodium thiosulfate pentahydrate for this chlorine, 7.000 mg for each mg, without excess. Gloves and eyes.",
        reckon: |inputs| {
            let water = inputs.of("volume_l", Litres::new)?;
            number(water::thiosulfate_mg(water, inputs.of("chlorine_mg_l", ChlorineMgL::new)?))
        },
    },
    Quantity {
        name: "sal_from_ec",
        unit: "PSU",
        inputs: &["ec_ms_cm", "temp_c"],
        about: "Salinity from conductivity at the water's temperature, not compensated (PSS-78; below 2 USGS 2011.03).",
        reckon: |inputs| {
            let conductivity = inputs.of("ec_ms_cm", |value| ConductivityUsCm::new(1000.0 * value))?;
            let temperature = inputs.of("temp_c", Celsius::new)?;
            number(water::salinity_from_conductivity(conductivity, temperature).map_err(words)?.get())
        },
    },
    Quantity {
        name: "sg_25",
        unit: "",
        inputs: &["sal_ppt"],
        about: "Specific gravity at 25 °C against fresh water of 25 °C (EOS-80).",
        reckon: |inputs| {
            let temperature = Celsius::new(25.0).map_err(words)?;
            number(water::specific_gravity(temperature, inputs.of("sal_ppt", SalinityPpt::new)?).map_err(words)?)
        },
    },
    Quantity {
        name: "chloramine_tan_mg_l",
        unit: "mg/L as N",
        inputs: &["chlorine_mg_l"],
        about: "Total ammonia left in water whose chlorine, as Cl2, was all chloramine, once it is dechlorinated.",
        reckon: |inputs| {
            let chlorine = inputs.of("chlorine_mg_l", ChlorineMgL::new)?;
            number(water::ammonia_from_chloramine(chlorine).map_err(words)?.get())
        },
    },
];

fn nh3(inputs: &Inputs, ammonia: &str) -> Result<Value, String> {
    let total = inputs.of(ammonia, TotalAmmoniaN::new)?;
    let salinity = inputs.maybe("sal_ppt", SalinityPpt::new)?;
    let (temperature, ph) = (inputs.of("temp_c", Celsius::new)?, inputs.of("ph", Ph::new)?);
    number(water::unionised_ammonia(total, temperature, ph, salinity).map_err(words)?.get())
}

fn air(inputs: &Inputs) -> Result<(Celsius, Option<SalinityPpt>, Option<Kilopascals>), String> {
    let salinity = inputs.maybe("sal_ppt", SalinityPpt::new)?;
    Ok((inputs.of("temp_c", Celsius::new)?, salinity, inputs.maybe("pressure_kpa", Kilopascals::new)?))
}

fn fresh(inputs: &Inputs) -> Result<(Celsius, Ph, AlkalinityCaCO3), String> {
    let alkalinity = inputs.of("alk_mg_l_caco3", AlkalinityCaCO3::new)?;
    Ok((inputs.of("temp_c", Celsius::new)?, inputs.of("ph", Ph::new)?, alkalinity))
}
