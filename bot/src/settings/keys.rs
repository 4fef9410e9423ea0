//! One table of all keys: its path in the file, what it may be, where it goes.

use chrono::NaiveTime;
use chrono_tz::Tz;
use holdfast_core::message::{Gallon, Stage};
use holdfast_core::quantity::Finite;
use holdfast_core::settings::{AmmoniaBasis, HardnessUnit, OxideBasis, Settings, Temperature};
use toml::de::DeValue;

/// A key of the settings file.
pub(super) struct Key {
    /// Its section and name, joined by dots.
    pub path: &'static str,
    /// What it may be and where it goes.
    pub kind: Kind,
}

/// What a key may be and where it goes.
pub(super) enum Kind {
    /// The name of a time zone.
    Zone,
    /// A whole number from `low` to `high`.
    Whole { low: u32, high: u32, unit: &'static str, at: fn(&mut Settings) -> &mut u32 },
    /// A number from `low` to `high`.
    Number { low: f64, high: f64, unit: &'static str, at: fn(&mut Settings) -> &mut Finite },
    /// A number from `low` to `high`, or "unset".
    Told { low: f64, high: f64, unit: &'static str, at: fn(&mut Settings) -> &mut Option<Finite> },
    /// true or false.
    Flag { at: fn(&mut Settings) -> &mut bool },
    /// One of these words.
    Word { words: &'static [&'static str], get: fn(&Settings) -> usize, set: fn(&mut Settings, usize) },
    /// Local times "from-until", or "none".
    Quiet,
}

const MINUTES: (u32, u32) = (1, 10_080);
const HOURS: (u32, u32) = (0, 8_760);

const fn minutes(path: &'static str, at: fn(&mut Settings) -> &mut u32) -> Key {
    Key { path, kind: Kind::Whole { low: MINUTES.0, high: MINUTES.1, unit: "minutes", at } }
}

const fn hours(path: &'static str, at: fn(&mut Settings) -> &mut u32) -> Key {
    Key { path, kind: Kind::Whole { low: HOURS.0, high: HOURS.1, unit: "hours", at } }
}

const fn percent(path: &'static str, at: fn(&mut Settings) -> &mut u32) -> Key {
    Key { path, kind: Kind::Whole { low: 0, high: 100, unit: "per cent", at } }
}

const fn amount(
    path: &'static str,
    (low, high): (f64, f64),
    unit: &'static str,
    at: fn(&mut Settings) -> &mut Finite,
) -> Key {
    Key { path, kind: Kind::Number { low, high, unit, at } }
}

const fn told(
    path: &'static str,
    (low, high): (f64, f64),
    unit: &'static str,
    at: fn(&mut Settings) -> &mut Option<Finite>,
) -> Key {
    Key { path, kind: Kind::Told { low, high, unit, at } }
}

const STAGES: [Stage; 4] = [Stage::Landed, Stage::CustomsCleared, Stage::Collected, Stage::InHouse];
const AMMONIA: [Option<AmmoniaBasis>; 3] = [None, Some(AmmoniaBasis::Nitrogen), Some(AmmoniaBasis::Ammonia)];
const OXIDE: [Option<OxideBasis>; 3] = [None, Some(OxideBasis::Nitrogen), Some(OxideBasis::Ion)];
const HARDNESS: [Option<HardnessUnit>; 3] = [None, Some(HardnessUnit::MgL), Some(HardnessUnit::Degrees)];

/// All keys, in the order of the example file.
pub(super) const KEYS: &[Key] = &[
    Key { path: "zone", kind: Kind::Zone },
    Key {
        path: "gallon",
        kind: Kind::Word {
            words: &["us", "imperial"],
            get: |settings| usize::from(settings.gallon == Gallon::Imperial),
            set: |settings, nth| settings.gallon = [Gallon::Us, Gallon::Imperial][nth],
        },
    },
    Key {
        path: "temperature",
        kind: Kind::Word {
            words: &["celsius", "fahrenheit"],
            get: |settings| usize::from(settings.temperature == Temperature::Fahrenheit),
            set: |settings, nth| settings.temperature = [Temperature::Celsius, Temperature::Fahrenheit][nth],
        },
    },
    hours("looks.first_night_hours", |settings| &mut settings.looks.first_night_hours),
    minutes("looks.tray", |settings| &mut settings.looks.tray),
    minutes("looks.grave", |settings| &mut settings.looks.grave),
    minutes("looks.early", |settings| &mut settings.looks.early),
    minutes("looks.nudge_after", |settings| &mut settings.looks.nudge_after),
    minutes("looks.wake_after", |settings| &mut settings.looks.wake_after),
    minutes("looks.awake", |settings| &mut settings.looks.awake),
    Key { path: "looks.quiet", kind: Kind::Quiet },
    minutes("looks.first_night.strong", |settings| &mut settings.looks.first_night.strong),
    minutes("looks.first_night.fair", |settings| &mut settings.looks.first_night.fair),
    minutes("looks.first_night.weak", |settings| &mut settings.looks.first_night.weak),
    minutes("looks.first_night.very_weak", |settings| &mut settings.looks.first_night.very_weak),
    minutes("looks.later.strong", |settings| &mut settings.looks.later.strong),
    minutes("looks.later.fair", |settings| &mut settings.looks.later.fair),
    minutes("looks.later.weak", |settings| &mut settings.looks.later.weak),
    minutes("looks.later.very_weak", |settings| &mut settings.looks.later.very_weak),
    hours("condition.deaths_window_hours", |settings| &mut settings.condition.deaths_window_hours),
    percent("condition.fair_percent", |settings| &mut settings.condition.fair_percent),
    percent("condition.weak_percent", |settings| &mut settings.condition.weak_percent),
    percent("condition.very_weak_percent", |settings| &mut settings.condition.very_weak_percent),
    hours("release.hold_hours", |settings| &mut settings.release.hold_hours),
    hours("release.deaths_window_hours", |settings| &mut settings.release.deaths_window_hours),
    Key {
        path: "release.deaths_percent",
        kind: Kind::Number {
            low: 0.0,
            high: 100.0,
            unit: "per cent",
            at: |settings| &mut settings.release.deaths_percent,
        },
    },
    Key {
        path: "release.feeding_required",
        kind: Kind::Flag { at: |settings| &mut settings.release.feeding_required },
    },
    hours("release.look_fresh_hours", |settings| &mut settings.release.look_fresh_hours),
    Key {
        path: "release.shared_water_waits",
        kind: Kind::Flag { at: |settings| &mut settings.release.shared_water_waits },
    },
    Key {
        path: "kit.ammonia",
        kind: Kind::Word {
            words: &["unset", "n", "nh3"],
            get: |settings| place(&AMMONIA, &settings.kit.ammonia),
            set: |settings, nth| settings.kit.ammonia = AMMONIA[nth],
        },
    },
    Key {
        path: "kit.nitrite",
        kind: Kind::Word {
            words: &["unset", "n", "no2"],
            get: |settings| place(&OXIDE, &settings.kit.nitrite),
            set: |settings, nth| settings.kit.nitrite = OXIDE[nth],
        },
    },
    Key {
        path: "kit.nitrate",
        kind: Kind::Word {
            words: &["unset", "n", "no3"],
            get: |settings| place(&OXIDE, &settings.kit.nitrate),
            set: |settings, nth| settings.kit.nitrate = OXIDE[nth],
        },
    },
    Key {
        path: "kit.hardness",
        kind: Kind::Word {
            words: &["unset", "mg/l", "degrees"],
            get: |settings| place(&HARDNESS, &settings.kit.hardness),
            set: |settings, nth| settings.kit.hardness = HARDNESS[nth],
        },
    },
    amount("water.gas_exchange", (0.0, 100.0), "an hour", |settings| &mut settings.water.gas_exchange),
    amount("water.room_air", (300.0, 10_000.0), "µatm", |settings| &mut settings.water.room_air),
    amount("water.temperature_step", (0.5, 10.0), "°C", |settings| &mut settings.water.temperature_step),
    minutes("water.float_half_minutes", |settings| &mut settings.water.float_half_minutes),
    amount("water.ph_step", (0.1, 5.0), "pH", |settings| &mut settings.water.ph_step),
    amount("water.salinity_step", (0.5, 40.0), "ppt", |settings| &mut settings.water.salinity_step),
    amount("water.oxygen_first", (0.0, 20.0), "mg/L", |settings| &mut settings.water.oxygen_first),
    Key {
        path: "water.pour_percent",
        kind: Kind::Whole { low: 5, high: 90, unit: "per cent", at: |settings| &mut settings.water.pour_percent },
    },
    Key {
        path: "water.pour_minutes",
        kind: Kind::Whole { low: 1, high: 60, unit: "minutes", at: |settings| &mut settings.water.pour_minutes },
    },
    Key {
        path: "water.pours",
        kind: Kind::Whole { low: 1, high: 20, unit: "pourings", at: |settings| &mut settings.water.pours },
    },
    amount("water.drip_parts", (0.5, 20.0), "parts", |settings| &mut settings.water.drip_parts),
    Key {
        path: "water.drip_minutes",
        kind: Kind::Whole { low: 10, high: 240, unit: "minutes", at: |settings| &mut settings.water.drip_minutes },
    },
    minutes("water.look_again", |settings| &mut settings.water.look_again),
    hours("claims.window_hours", |settings| &mut settings.claims.window_hours),
    Key {
        path: "claims.from",
        kind: Kind::Word {
            words: &["landed", "customs_cleared", "collected", "in_house"],
            get: |settings| place(&STAGES, &settings.claims.from),
            set: |settings, nth| settings.claims.from = STAGES[nth],
        },
    },
    amount("alarm.nh3_long_term", (0.001, 5.0), "mg/L as N", |settings| &mut settings.alarm.nh3_long_term),
    amount("alarm.nh3_acute", (0.001, 5.0), "mg/L as N", |settings| &mut settings.alarm.nh3_acute),
    amount("alarm.oxygen", (0.0, 10.0), "mg/L", |settings| &mut settings.alarm.oxygen),
    amount("alarm.carbon_dioxide", (5.0, 500.0), "mg/L", |settings| &mut settings.alarm.carbon_dioxide),
    amount("alarm.carbon_dioxide_bag", (5.0, 500.0), "mg/L", |settings| &mut settings.alarm.carbon_dioxide_bag),
    amount("alarm.chlorine", (0.0, 5.0), "mg/L", |settings| &mut settings.alarm.chlorine),
    amount("alarm.swap_temperature", (0.1, 20.0), "°C", |settings| &mut settings.alarm.swap_temperature),
    amount("alarm.swap_ph", (0.1, 5.0), "pH", |settings| &mut settings.alarm.swap_ph),
    amount("alarm.needs_temperature", (0.0, 20.0), "°C", |settings| &mut settings.alarm.needs_temperature),
    amount("alarm.needs_ph", (0.0, 5.0), "pH", |settings| &mut settings.alarm.needs_ph),
    told("bags.litres_box", (0.1, 200.0), "litres", |settings| &mut settings.bags.litres_box),
    told("bags.litres_bag", (0.05, 100.0), "litres", |settings| &mut settings.bags.litres_bag),
    told("bags.headspace", (0.0, 20.0), "litres of gas for each of water", |settings| &mut settings.bags.headspace),
    told("bags.temperature", (5.0, 35.0), "°C", |settings| &mut settings.bags.temperature),
    told("bags.alkalinity", (1.0, 500.0), "mg/L as CaCO3", |settings| &mut settings.bags.alkalinity),
    Key {
        path: "limits.message_chars",
        kind: Kind::Whole {
            low: 100,
            high: 100_000,
            unit: "characters",
            at: |settings| &mut settings.limits.message_chars,
        },
    },
    Key {
        path: "limits.file_mb",
        kind: Kind::Whole { low: 1, high: 200, unit: "megabytes", at: |settings| &mut settings.limits.file_mb },
    },
];

fn place<T: PartialEq>(among: &[T], value: &T) -> usize {
    among.iter().position(|candidate| candidate == value).unwrap_or_default()
}

impl Kind {
    /// Sets the value, or gives `None` where it is none that the key may be.
    pub(super) fn set(&self, value: &DeValue<'_>, settings: &mut Settings) -> Option<()> {
        match self {
            Kind::Zone => settings.zone = value.as_str()?.parse::<Tz>().ok()?,
            Kind::Whole { low, high, at, .. } => {
                *at(settings) = whole(value).filter(|number| (low..=high).contains(&number))?;
            }
            Kind::Number { low, high, at, .. } => {
                *at(settings) = number(value).filter(|number| (low..=high).contains(&&number.get()))?;
            }
            Kind::Told { at, .. } if value.as_str() == Some("unset") => *at(settings) = None,
            Kind::Told { low, high, at, .. } => {
                *at(settings) = Some(number(value).filter(|number| (low..=high).contains(&&number.get()))?);
            }
            Kind::Flag { at } => *at(settings) = value.as_bool()?,
            Kind::Word { words, set, .. } => {
                let word = value.as_str()?;
                set(settings, words.iter().position(|known| known.eq_ignore_ascii_case(word))?);
            }
            Kind::Quiet => settings.looks.quiet = quiet(value.as_str()?)?,
        }
        Some(())
    }

    /// What the key may be, in words.
    pub(super) fn allowed(&self) -> String {
        match self {
            Kind::Zone => "the name of a time zone, like \"Europe/London\"".to_string(),
            Kind::Whole { low, high, unit, .. } => format!("a whole number from {low} to {high} ({unit})"),
            Kind::Number { low, high, unit, .. } => format!("a number from {low} to {high} ({unit})"),
            Kind::Told { low, high, unit, .. } => format!("a number from {low} to {high} ({unit}) or \"unset\""),
            Kind::Flag { .. } => "true or false".to_string(),
            Kind::Word { words, .. } => words.iter().map(|word| format!("\"{word}\"")).collect::<Vec<_>>().join(" or "),
            Kind::Quiet => "two local times, like \"23:00-06:00\", or \"none\"".to_string(),
        }
    }

    /// The value that the settings have, as the file would state it.
    pub(super) fn show(&self, settings: &Settings) -> String {
        let mut copy = settings.clone();
        match self {
            Kind::Zone => format!("\"{}\"", settings.zone.name()),
            Kind::Whole { at, .. } => at(&mut copy).to_string(),
            Kind::Number { at, .. } => at(&mut copy).get().to_string(),
            Kind::Told { at, .. } => {
                at(&mut copy).map_or_else(|| "\"unset\"".to_string(), |number| number.get().to_string())
            }
            Kind::Flag { at } => at(&mut copy).to_string(),
            Kind::Word { words, get, .. } => format!("\"{}\"", words[get(settings)]),
            Kind::Quiet => match settings.looks.quiet {
                None => "\"none\"".to_string(),
                Some((from, until)) => format!("\"{}-{}\"", from.format("%H:%M"), until.format("%H:%M")),
            },
        }
    }
}

fn number(value: &DeValue<'_>) -> Option<Finite> {
    let number = value.as_float().and_then(|float| float.as_str().parse::<f64>().ok());
    Finite::new(number.or_else(|| whole(value).map(f64::from))?)
}

fn whole(value: &DeValue<'_>) -> Option<u32> {
    let number = value.as_integer()?;
    u32::from_str_radix(number.as_str().trim_start_matches('+'), number.radix()).ok()
}

fn quiet(text: &str) -> Option<Option<(NaiveTime, NaiveTime)>> {
    if text == "none" {
        return Some(None);
    }
    let (from, until) = text.split_once('-')?;
    let time = |text: &str| NaiveTime::parse_from_str(text.trim(), "%H:%M").ok();
    let (from, until) = (time(from)?, time(until)?);
    (from != until).then_some(Some((from, until)))
}
