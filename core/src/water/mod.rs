//! The chemistry of the water fish come in, and of the water they go to.
//!
//! Every formula names its source and its range. Outside of the range it refuses with [`Unsound`]; it never clamps.
//! pH is that of the activity of the hydrogen ion, as a meter calibrated in NIST/NBS buffers shows it. One litre of
//! fresh water is taken as one kilogram (error below 0.4 %).

pub mod alarm;
mod ammonia;
mod bag;
mod carbonate;
mod dosing;
mod error;
mod exchange;
mod forecast;
mod oxygen;
pub mod plan;
mod salinity;

pub use ammonia::{acid_constant, unionised_ammonia, unionised_share};
pub use bag::{BagWater, FASTED, Metabolism, SealedBag, mass_from_length};
pub use carbonate::{FreshWater, carbon_dioxide, ph_of_mix, ph_under_air};
pub use dosing::{
    Binder, CHLORAMINE_AMMONIA, Dechlorinator, Reaction, alkalinity_after_binding, ammonia_from_chloramine, binder_mg,
    dechlorinator_mg, thiosulfate_mg,
};
pub use error::Unsound;
pub use exchange::{Part, after_exchange, after_exchanges, new_water_for, temperature_of_mix};
pub use forecast::{Band, Forecast, Learned, Measured, Missing};
pub use oxygen::{oxygen_percent, oxygen_saturation, oxygen_under, pressure_at_altitude};
pub use salinity::{density, salinity_from_conductivity, specific_gravity};

/// Kelvin at 0 °C.
pub(crate) const KELVIN: f64 = 273.15;
