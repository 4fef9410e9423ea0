//! Arithmetic of the trade.

use chrono::NaiveDate;
use holdfast_core::quantity::{Celsius, CelsiusDifference, HardnessCaCO3, Litres};
use holdfast_core::species;
use holdfast_core::water;
use serde_json::{Value, json};

use super::water::number;
use super::{Inputs, Quantity};

/// Kilograms in an avoirdupois pound, by definition.
const KG_PER_POUND: f64 = 0.453_592_37;

const fn unit(
    name: &'static str,
    unit: &'static str,
    about: &'static str,
    reckon: fn(&Inputs) -> Result<Value, String>,
) -> Quantity {
    Quantity { name, unit, inputs: &["x"], about, reckon }
}

pub(super) const QUANTITIES: &[Quantity] = &[
    Quantity {
        name: "after_exchanges",
        unit: "as given",
        inputs: &["start", "replacement", "fraction", "times"],
        about: "A concentration after several equal exchanges of this fraction, 0 to 1, for water with the replacement's.",
        reckon: |inputs| {
            let part = inputs.of("fraction", water::Part::new)?;
            let (start, new) = (inputs.number("start")?, inputs.number("replacement")?);
            number(water::after_exchanges(start, part, inputs.whole("times")?, new))
        },
    },
    Quantity {
        name: "may_open_for_temperature",
        unit: "",
        inputs: &["bag_c", "tank_c", "under_c"],
        about: "Whether bag and tank differ by less than this (Lim, Dhert & Sorgeloos 2003 float to under 2 °C).",
        reckon: |inputs| {
            let apart = (inputs.of("tank_c", Celsius::new)? - inputs.of("bag_c", Celsius::new)?).size();
            Ok(json!(apart < inputs.of("under_c", CelsiusDifference::new)?))
        },
    },
    Quantity {
        name: "bag_load",
        unit: "g/L and mL/g",
        inputs: &["fish", "g_each", "litres"],
        about: "Fish in the water of a bag, to 0.01.",
        reckon: |inputs| {
            let (fish, each) = (inputs.whole("fish")?, inputs.number("g_each")?);
            let grams = f64::from(fish) * each;
            if grams.is_nan() || grams <= 0.0 {
                return Err("fish, g_each: must be more than nothing".into());
            }
            let litres = inputs.of("litres", Litres::new)?.get();
            let hundredths = |value: f64| (value * 100.0).round() / 100.0;
            Ok(json!({"g_per_l": hundredths(grams / litres), "ml_per_g": hundredths(1000.0 * litres / grams)}))
        },
    },
    Quantity {
        name: "cites_appendix",
        unit: "",
        inputs: &["taxon", "on"],
        about: "The appendix in which a species stood on that day (YYYY-MM-DD), null where in none. Not legal advice.",
        reckon: |inputs| {
            let day = inputs.text("on")?;
            let day: NaiveDate = day.parse().map_err(|_| format!("on: \"{day}\" is no day, as 2026-02-11"))?;
            let listing = species::cites(inputs.text("taxon")?, day);
            Ok(json!(listing.map(|listing| listing.appendix.to_string())))
        },
    },
    unit("unit_f_to_c", "°C", "°F as °C.", |inputs| number(inputs.of("x", Celsius::from_fahrenheit)?.get())),
    unit("unit_c_to_f", "°F", "°C as °F.", |inputs| number(inputs.of("x", Celsius::new)?.to_fahrenheit())),
    unit("unit_f_difference_to_c", "°C", "A difference in °F as one in °C: no offset.", |inputs| {
        number(inputs.of("x", CelsiusDifference::from_fahrenheit_difference)?.get())
    }),
    unit("unit_us_gal_to_l", "L", "US gallons as litres.", |inputs| {
        number(inputs.of("x", Litres::from_us_gallons)?.get())
    }),
    unit("unit_uk_gal_to_l", "L", "Imperial gallons as litres.", |inputs| {
        number(inputs.of("x", Litres::from_imperial_gallons)?.get())
    }),
    unit("unit_dgh_to_mg_l_caco3", "mg/L as CaCO3", "German degrees of hardness.", |inputs| {
        number(inputs.of("x", HardnessCaCO3::from_dgh)?.get())
    }),
    unit("unit_in_to_cm", "cm", "Inches as centimetres.", |inputs| number(2.54 * inputs.number("x")?)),
    unit("unit_lb_to_kg", "kg", "Pounds as kilograms.", |inputs| number(KG_PER_POUND * inputs.number("x")?)),
    unit("unit_lb_per_us_gal_to_g_per_l", "g/L", "Pounds in a US gallon as grams in a litre.", |inputs| {
        let gallon = Litres::from_us_gallons(1.0).map_err(|error| error.to_string())?;
        number(1000.0 * KG_PER_POUND * inputs.number("x")? / gallon.get())
    }),
];
