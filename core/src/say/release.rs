//! The conditions of the release policy, each with its fact.

use chrono::{DateTime, Utc};
use chrono_tz::Tz;

use super::time::moment;
use crate::message::Sign;
use crate::watch::policy::{Asked, Requirement, Which};

/// One condition with its fact: "in the house 51 h of 48".
pub fn requirement(requirement: &Requirement, now: DateTime<Utc>, zone: Tz) -> String {
    match &requirement.which {
        Which::Held { hours, since, from } => {
            let so_far = (now - *since).num_hours();
            match from {
                Some(from) if *from > now => {
                    format!("{so_far} h of {} h rest, over {}", hours.get(), moment(*from, now, zone))
                }
                _ => format!("rested {so_far} h of {} h", hours.get()),
            }
        }
        Which::AskedHold { asked } => match asked {
            Asked::No => "nobody asked for a longer hold".to_owned(),
            Asked::Until(until) if *until > now => format!("held until {}", moment(*until, now, zone)),
            Asked::Until(until) => format!("hold ended {}", moment(*until, now, zone)),
            Asked::WithoutEnd => "held without an end".to_owned(),
        },
        Which::SharedWater { last_in, from } => match from {
            Some(from) if *from > now => {
                format!(
                    "newest lot in the same water came {}, wait until {}",
                    moment(*last_in, now, zone),
                    moment(*from, now, zone)
                )
            }
            _ => "nothing new in the same water".to_owned(),
        },
        Which::Counted { living, counted } => {
            if *counted {
                format!("{living} counted")
            } else {
                format!("{living} in the books, not all counted")
            }
        }
        Which::Deaths { dead, of, window, most } => {
            let window = window.get();
            if requirement.met {
                format!("{dead} of {of} died in {window} h")
            } else {
                format!("{dead} of {of} died in {window} h, at most {} % may", most.get())
            }
        }
        Which::Feeding { seen, off } => match (seen, off) {
            (None, None) => "not seen feeding yet".to_owned(),
            (None, Some(off)) => format!("off feed {}", moment(*off, now, zone)),
            (Some(seen), Some(off)) if off > seen => {
                format!("fed {}, off feed {}", moment(*seen, now, zone), moment(*off, now, zone))
            }
            (Some(seen), _) => format!("seen feeding {}", moment(*seen, now, zone)),
        },
        Which::Looked { last, fresh } => match last {
            Some(last) if requirement.met => format!("looked at {}", moment(*last, now, zone)),
            Some(last) => format!("last look {}, older than {} h", moment(*last, now, zone), fresh.get()),
            None => "nobody has looked yet".to_owned(),
        },
        Which::NoBadSign { bad } => {
            if bad.is_empty() {
                "no bad sign at the last look".to_owned()
            } else {
                let words: Vec<&str> = bad.iter().map(|sign| sign_words(*sign)).collect();
                format!("last look: {}", words.join(", "))
            }
        }
    }
}

/// A sign in plain words.
pub fn sign_words(sign: Sign) -> &'static str {
    match sign {
        Sign::BellyUp => "belly up",
        Sign::Bloated => "bloated",
        Sign::BrownGills => "brown gills",
        Sign::ClampedFins => "clamped fins",
        Sign::ClearWater => "clear water",
        Sign::CloudyEye => "cloudy eye",
        Sign::CloudyWater => "cloudy water",
        Sign::Cold => "cold",
        Sign::Dark => "dark",
        Sign::ExcessMucus => "excess mucus",
        Sign::Fed => "fed",
        Sign::Feeding => "feeding",
        Sign::Fighting => "fighting",
        Sign::FinDamage => "fin damage",
        Sign::FlatBag => "flat bag",
        Sign::Flashing => "flashing",
        Sign::FoulSmell => "foul smell",
        Sign::Fungus => "fungus",
        Sign::Gasping => "gasping",
        Sign::Huddled => "huddled",
        Sign::Leaking => "leaking",
        Sign::Listless => "listless",
        Sign::Lively => "lively",
        Sign::OffFeed => "off feed",
        Sign::OnSide => "on side",
        Sign::Pale => "pale",
        Sign::Poorly => "poorly",
        Sign::Popeye => "popeye",
        Sign::RedStreaks => "red streaks",
        Sign::Spinning => "spinning",
        Sign::Thin => "thin",
        Sign::Warm => "warm",
        Sign::Well => "well",
        Sign::WhiteSpot => "white spot",
    }
}
