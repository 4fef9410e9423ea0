//! The quiet hours of a site, in which what can wait is kept back.

use chrono::{DateTime, NaiveTime, Utc};
use chrono_tz::Tz;

use super::clock;
use crate::settings::Settings;

/// Local times between which what can wait is kept back; none of them where the site has set none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Quiet {
    between: Option<(NaiveTime, NaiveTime)>,
    zone: Tz,
}

impl Default for Quiet {
    fn default() -> Self {
        Quiet::new(None, Tz::UTC)
    }
}

impl From<&Settings> for Quiet {
    fn from(settings: &Settings) -> Self {
        Quiet::new(settings.looks.quiet, settings.zone)
    }
}

impl Quiet {
    /// From the first local time, included, until the second, which may be on the next day.
    pub fn new(between: Option<(NaiveTime, NaiveTime)>, zone: Tz) -> Self {
        Quiet { between, zone }
    }

    /// When the quiet hours end in which this moment lies; `None` where it lies in none.
    pub fn ends(&self, at: DateTime<Utc>) -> Option<DateTime<Utc>> {
        let (from, until) = self.between?;
        let local = at.with_timezone(&self.zone).time();
        let inside = if from < until { from <= local && local < until } else { local >= from || local < until };
        if !inside {
            return None;
        }
        clock::next_local(at, self.zone, &until.format("%H:%M").to_string())
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn ends(from: &str, until: &str, zone: Tz, at: &str) -> Option<String> {
        let quiet = Quiet::new(Some((clock::clock_time(from).unwrap(), clock::clock_time(until).unwrap())), zone);
        let end = quiet.ends(at.parse().unwrap())?;
        Some(end.to_rfc3339_opts(chrono::SecondsFormat::Secs, true))
    }

    #[test]
    fn quiet_hours_run_past_midnight_and_end_on_the_minute() {
        let in_utc = |at| ends("23:00", "06:00", Tz::UTC, at);
        assert_eq!(in_utc("2026-03-02T22:59:59Z"), None);
        assert_eq!(in_utc("2026-03-02T23:00:00Z").as_deref(), Some("2026-03-03T06:00:00Z"));
        assert_eq!(in_utc("2026-03-03T05:59:59Z").as_deref(), Some("2026-03-03T06:00:00Z"));
        assert_eq!(in_utc("2026-03-03T06:00:00Z"), None);
    }

    #[test]
    fn quiet_hours_within_a_day_are_local() {
        let kathmandu = |at| ends("01:00", "05:00", chrono_tz::Asia::Kathmandu, at);
        assert_eq!(kathmandu("2026-03-02T20:15:00Z").as_deref(), Some("2026-03-02T23:15:00Z"));
        assert_eq!(kathmandu("2026-03-02T12:00:00Z"), None);
    }

    #[test]
    fn in_the_night_of_a_summer_time_change_they_end_by_the_new_clock() {
        // London goes forward at 01:00 UTC on 29 March 2026 (IANA time zone database).
        let london = chrono_tz::Europe::London;
        assert_eq!(ends("23:00", "06:00", london, "2026-03-29T00:30:00Z").as_deref(), Some("2026-03-29T05:00:00Z"));
    }

    proptest! {
        #[test]
        fn they_end_later_within_a_day_or_so_and_the_end_is_not_quiet_in_a_zone_without_changes(
            seconds in 0i64..4_000_000_000, from in 0u32..1440, until in 0u32..1440,
        ) {
            let clock = |minute: u32| NaiveTime::from_hms_opt(minute / 60, minute % 60, 0).unwrap();
            prop_assume!(from != until);
            let quiet = Quiet::new(Some((clock(from), clock(until))), Tz::UTC);
            let at = DateTime::from_timestamp(seconds, 0).unwrap();
            if let Some(end) = quiet.ends(at) {
                prop_assert!(end > at && end - at <= chrono::TimeDelta::hours(24));
                prop_assert_eq!(quiet.ends(end), None);
            }
        }
    }
}
