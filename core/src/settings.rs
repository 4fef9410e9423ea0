//! What a site decides once. `desk::step` reads it and writes the result into events, so that a changed setting never
//! rewrites history.
//!
//! Plain data: the file it is read from, its keys and their ranges are the shell's.

mod water;

use chrono::NaiveTime;
use chrono_tz::Tz;

use crate::message::{Gallon, Stage};
use crate::quantity::Finite;
pub use water::Water;

/// The site's settings. Every one has a default.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// The site's zone; clock times are local to it.
    pub zone: Tz,
    /// What "gallon" means.
    pub gallon: Gallon,
    /// The scale in which temperatures are shown. They are kept in °C.
    pub temperature: Temperature,
    /// When fish are looked at.
    pub looks: Looks,
    /// From when on fish count as fair, weak or very weak.
    pub condition: Condition,
    /// When a lot is ready to be cleared.
    pub release: Release,
    /// What the numbers of the site's test kits mean.
    pub kit: Kit,
    /// How fish are brought from a bag into a tank.
    pub water: Water,
    /// What suppliers grant where their own terms are not known.
    pub claims: Claims,
    /// When a reading is answered with an alarm.
    pub alarm: Alarm,
    /// What is known of bags before they are opened.
    pub bags: Bags,
    /// What is taken from a chat at most.
    pub limits: Limits,
}

impl Default for Settings {
    fn default() -> Self {
        Settings {
            zone: Tz::UTC,
            gallon: Gallon::Us,
            temperature: Temperature::Celsius,
            looks: Looks::default(),
            condition: Condition::default(),
            release: Release::default(),
            kit: Kit::default(),
            water: Water::default(),
            claims: Claims::default(),
            alarm: Alarm::default(),
            bags: Bags::default(),
            limits: Limits::default(),
        }
    }
}

/// A temperature scale.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Temperature {
    /// °C.
    #[default]
    Celsius,
    /// °F.
    Fahrenheit,
}

/// When fish are looked at. The trade's habit is every 30 to 60 minutes in trays, every hour or two in the first night,
/// then three or four times a day; none of it is a rule, so all of it is a setting.
#[derive(Debug, Clone, PartialEq)]
pub struct Looks {
    /// How long a lot's first night lasts, hours from its coming into the tank.
    pub first_night_hours: u32,
    /// Minutes between looks in the first night.
    pub first_night: Pace,
    /// Minutes between looks after it.
    pub later: Pace,
    /// Minutes between looks at a tray.
    pub tray: u32,
    /// Minutes until the next look, at most, after a grave sign was seen: gasping, on the side, spinning, belly up, brown
    /// gills. Common practice without a published source.
    pub grave: u32,
    /// Minutes before the time at which a look that a person asked for may be given and still be that look; at most a third
    /// of the wait. Common practice.
    pub early: u32,
    /// Minutes after a look was due until the crew is reminded again.
    pub nudge_after: u32,
    /// Minutes after a look was due until the lead is woken.
    pub wake_after: u32,
    /// Minutes after a lead wrote in which the lead is taken to be awake: told, not woken. Common practice.
    pub awake: u32,
    /// Local times between which what can wait is kept back: from, until. It may run past midnight. What can wait is the
    /// routine look at strong fish in a tank or tub after their first night; never trays, the first night, fish in doubt,
    /// or a look that a person asked for.
    pub quiet: Option<(NaiveTime, NaiveTime)>,
}

impl Default for Looks {
    fn default() -> Self {
        Looks {
            first_night_hours: 12,
            first_night: Pace { strong: 120, fair: 90, weak: 60, very_weak: 30 },
            later: Pace { strong: 480, fair: 360, weak: 180, very_weak: 90 },
            tray: 30,
            grave: 15,
            early: 10,
            nudge_after: 15,
            wake_after: 30,
            awake: 2,
            quiet: None,
        }
    }
}

/// Minutes between looks, by the condition of the fish.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pace {
    /// Strong fish.
    pub strong: u32,
    /// Fair fish.
    pub fair: u32,
    /// Weak fish.
    pub weak: u32,
    /// Very weak fish.
    pub very_weak: u32,
}

/// From which shares of weak and lately dead fish on the others count as fair, weak or very weak.
///
/// Common practice without a published source: a site should set its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Condition {
    /// Hours back over which deaths are counted.
    pub deaths_window_hours: u32,
    /// Per cent from which on they are no better than fair.
    pub fair_percent: u32,
    /// Per cent from which on they are no better than weak.
    pub weak_percent: u32,
    /// Per cent from which on they are very weak.
    pub very_weak_percent: u32,
}

impl Default for Condition {
    fn default() -> Self {
        Condition { deaths_window_hours: 24, fair_percent: 2, weak_percent: 10, very_weak_percent: 25 }
    }
}

/// When a lot is ready to be cleared.
#[derive(Debug, Clone, PartialEq)]
pub struct Release {
    /// Hours that a lot is held at least. A trade association's code asks for 48 h or until the fish behave and feed
    /// normally, whichever is longer.
    pub hold_hours: u32,
    /// Hours back over which deaths are counted.
    pub deaths_window_hours: u32,
    /// The share of the lot, %, that may have died in that window.
    pub deaths_percent: Finite,
    /// Whether the fish must have been seen feeding.
    pub feeding_required: bool,
    /// Hours that the last look may be old.
    pub look_fresh_hours: u32,
    /// Whether lots that share recirculating water wait for the last one in. Law in some countries, no rule in others.
    pub shared_water_waits: bool,
}

impl Default for Release {
    fn default() -> Self {
        Release {
            hold_hours: 48,
            deaths_window_hours: 24,
            deaths_percent: Finite::ONE,
            feeding_required: true,
            look_fresh_hours: 12,
            shared_water_waits: false,
        }
    }
}

/// What the numbers of the site's test kits mean. `None` until a site has looked it up on its kit.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Kit {
    /// Basis of total ammonia; asked once while not set, and taken as N until then.
    pub ammonia: Option<AmmoniaBasis>,
    /// Basis of nitrite.
    pub nitrite: Option<OxideBasis>,
    /// Basis of nitrate.
    pub nitrate: Option<OxideBasis>,
    /// Unit of hardness and alkalinity where none is typed.
    pub hardness: Option<HardnessUnit>,
}

/// As what a kit states ammonia. mg/L as NH3 are 1.216 times mg/L as N.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AmmoniaBasis {
    /// As nitrogen.
    Nitrogen,
    /// As NH3.
    Ammonia,
}

/// As what a kit states nitrite or nitrate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OxideBasis {
    /// As nitrogen.
    Nitrogen,
    /// As the ion: NO2, NO3.
    Ion,
}

/// In what a kit states hardness and alkalinity.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HardnessUnit {
    /// mg/L as CaCO3.
    MgL,
    /// German degrees, 17.848 mg/L as CaCO3.
    Degrees,
}

/// What suppliers grant where their own terms are not known. Published terms run from 60 minutes to 24 hours.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Claims {
    /// Hours in which a claim is to be made.
    pub window_hours: u32,
    /// From when they run.
    pub from: Stage,
}

impl Default for Claims {
    fn default() -> Self {
        Claims { window_hours: 24, from: Stage::Landed }
    }
}

/// When a reading is answered with an alarm. Published guidance disagrees: each limit is a setting, each default names its
/// source or says that it is a choice.
#[derive(Debug, Clone, PartialEq)]
pub struct Alarm {
    /// NH3 for fish that stay, mg/L as N. 0.025 mg/L as NH3, the long-term limit of EIFAC Technical Paper 11, 1970.
    pub nh3_long_term: Finite,
    /// NH3 for hours, mg/L as N. 0.13 mg/L as NH3 for 6 h took stamina from trout: Piper et al. 1982, Fish Hatchery
    /// Management, p. 357.
    pub nh3_acute: Finite,
    /// Lowest oxygen, mg/L. US EPA 1986 (440/5-86-003), warm-water fish, mean of the daily lowest; from memory.
    pub oxygen: Finite,
    /// Highest carbon dioxide where fish stay, mg/L. What hauling of warm-water fish aims at: Jensen and Piper, quoted in
    /// World Aquaculture 2007.
    pub carbon_dioxide: Finite,
    /// Highest carbon dioxide in a bag, mg/L. First deaths of trout in 24 h: J. Fish Wildl. Manage. 11(2):463, 2020.
    pub carbon_dioxide_bag: Finite,
    /// Highest total chlorine, mg/L as Cl2: none.
    pub chlorine: Finite,
    /// By how much a swap of half may change the temperature, °C. Lim, Dhert & Sorgeloos 2003, Aquaculture Research
    /// 34:923: float until they differ by less than 2 °C.
    pub swap_temperature: Finite,
    /// By how much the pH of new water may differ. A choice: no published number was found.
    pub swap_ph: Finite,
    /// How far outside of a species' usual range the temperature may be, °C. A choice.
    pub needs_temperature: Finite,
    /// How far outside of a species' usual range the pH may be. A choice.
    pub needs_ph: Finite,
}

impl Default for Alarm {
    fn default() -> Self {
        Alarm {
            nh3_long_term: number(0.0206),
            nh3_acute: number(0.107),
            oxygen: number(4.0),
            carbon_dioxide: number(20.0),
            carbon_dioxide_bag: number(150.0),
            chlorine: number(0.0),
            swap_temperature: number(2.0),
            swap_ph: number(1.0),
            needs_temperature: number(4.0),
            needs_ph: number(1.5),
        }
    }
}

/// A number written here, which is finite.
fn number(value: f64) -> Finite {
    Finite::new(value).unwrap_or(Finite::ONE)
}

/// What is known of bags before they are opened, for the forecast. What is `None` was never told, is assumed, and makes the
/// forecast wider.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Bags {
    /// Litres of water in a box, all its bags together.
    pub litres_box: Option<Finite>,
    /// Litres of water in one bag; comes before the litres of a box where the number of bags is known.
    pub litres_bag: Option<Finite>,
    /// Litres of gas above each litre of water.
    pub headspace: Option<Finite>,
    /// Temperature on the way, °C.
    pub temperature: Option<Finite>,
    /// Alkalinity of the water that fish are packed in, mg/L as CaCO3.
    pub alkalinity: Option<Finite>,
}

/// What is taken from a chat at most.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Limits {
    /// Characters of one message.
    pub message_chars: u32,
    /// Megabytes of one file.
    pub file_mb: u32,
}

impl Default for Limits {
    fn default() -> Self {
        Limits { message_chars: 4000, file_mb: 20 }
    }
}
