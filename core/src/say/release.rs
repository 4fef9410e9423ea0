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
            let so_far = (now - *since).num_hours().max(0);
            match from {
                Some(from) if *from > now => {
                    format!("rested {so_far} h of {} h, until {}", hours.get(), moment(*from, now, zone))
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
            _ if requirement.met => "nothing new in the same water".to_owned(),
            Some(from) => format!(
                "newest lot in the same water came {}, wait until {}",
                moment(*last_in, now, zone),
                moment(*from, now, zone)
            ),
            None => format!("newest lot in the same water came {}", moment(*last_in, now, zone)),
        },
        Which::Counted { living, counted } => match (living, counted) {
            (0, _) => "no living fish in the books".to_owned(),
            (living, true) => format!("{living} fish counted"),
            (living, false) => format!("{living} fish in the books, not all counted"),
        },
        Which::Deaths { dead, of, window, most } => {
            let window = window.get();
            if requirement.met {
                format!("{dead} of {of} fish died in {window} h")
            } else {
                format!("{dead} of {of} fish died in {window} h, at most {} % may", most.get())
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
                "no bad sign seen".to_owned()
            } else {
                let words: Vec<&str> = bad.iter().map(|sign| sign_words(*sign)).collect();
                format!("seen at the last look: {}", words.join(", "))
            }
        }
    }
}

/// A sign in the words of the read-back, so that one sign has one name.
pub fn sign_words(sign: Sign) -> &'static str {
    super::recorded::sign(sign)
}
