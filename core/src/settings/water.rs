//! How fish are brought from a bag into a tank.

use crate::quantity::Finite;

/// How a site brings fish over. Published guidance disagrees: each is a setting, and each default names its source or says
/// that it is a choice.
#[derive(Debug, Clone, PartialEq)]
pub struct Water {
    /// How fast carbon dioxide leaves an opened bag: rate of an exponential, 1/h. A choice: no published value for opened
    /// bags was found; 3 halves the excess in 14 minutes. Still water 10 cm deep has about 0.2 (Cole & Caraco 1998, of
    /// lakes; from memory), water with an air stone 10 and more.
    pub gas_exchange: Finite,
    /// Carbon dioxide of the room's air, µatm. Outdoors 420; rooms with people 600 to 1500.
    pub room_air: Finite,
    /// Bag and tank differ by less than this before fish change waters, °C. Lim, Dhert & Sorgeloos 2003, Aquaculture
    /// Research 34:923-935: under 2.
    pub temperature_step: Finite,
    /// Minutes in which floating halves the difference. The same source: about 30 min for 4 to 5 °C, down to 2.
    pub float_half_minutes: u32,
    /// From which difference of pH on a gradual way is looked for. A choice: no published limit was found.
    pub ph_step: Finite,
    /// From which difference of salinity on a gradual way is looked for, ppt. A choice.
    pub salinity_step: Finite,
    /// Below how much oxygen in the bag fish come out before anything else, mg/L. A choice.
    pub oxygen_first: Finite,
    /// The part of the bag's water that each pouring replaces, %. Sellers' guides: some each few minutes, for about an
    /// hour; the division is a choice.
    pub pour_percent: u32,
    /// Minutes from one pouring to the next.
    pub pour_minutes: u32,
    /// How many pourings.
    pub pours: u32,
    /// How many parts of tank water drip into one of the bag's.
    pub drip_parts: Finite,
    /// Minutes of dripping.
    pub drip_minutes: u32,
    /// Minutes until fish that lie still in sour water rich in carbon dioxide are looked at again before their count of
    /// dead is final: such fish may come round, for carbon dioxide anaesthetises (Post 1979). The minutes are a choice.
    pub look_again: u32,
}

impl Default for Water {
    fn default() -> Self {
        // Each of these is finite.
        let number = |value: f64| Finite::new(value).unwrap_or(Finite::ONE);
        Water {
            gas_exchange: number(3.0),
            room_air: number(600.0),
            temperature_step: number(2.0),
            float_half_minutes: 26,
            ph_step: number(0.5),
            salinity_step: number(3.0),
            oxygen_first: number(3.0),
            pour_percent: 33,
            pour_minutes: 10,
            pours: 6,
            drip_parts: number(3.0),
            drip_minutes: 60,
            look_again: 10,
        }
    }
}
