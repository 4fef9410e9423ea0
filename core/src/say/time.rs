//! How moments are said: local, and no longer than needed.

use chrono::{DateTime, Utc};
use chrono_tz::Tz;

/// "02:10" within 18 hours, "Fri 02:10" within six days, "6 Mar 02:10" beyond, before and after alike.
pub fn moment(at: DateTime<Utc>, now: DateTime<Utc>, zone: Tz) -> String {
    let local = at.with_timezone(&zone);
    let far = (at - now).num_hours().abs();
    let pattern = match far {
        0..18 => "%H:%M",
        18..144 => "%a %H:%M",
        _ => "%-d %b %H:%M",
    };
    local.format(pattern).to_string()
}

/// "14 min", "2 h 05 min", "3 days"; from two days on in whole days. Less than nothing is said as nothing.
pub fn length(minutes: i64) -> String {
    match minutes {
        ..60 => format!("{} min", minutes.max(0)),
        60..2880 if minutes % 60 == 0 => format!("{} h", minutes / 60),
        60..2880 => format!("{} h {:02} min", minutes / 60, minutes % 60),
        _ => format!("{} days", minutes / 1440),
    }
}
