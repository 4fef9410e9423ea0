//! Local clock times to moments, across summer-time changes.
//!
//! A local time that the clocks skip is read with the offset before the change, as RFC 5545 section 3.3.5 has it: 01:30 in a night that goes from
//! 01:00 to 02:00 is 02:30. A time that the clocks show twice is taken on the careful side: to look, the first of the two that is still to come;
//! to say when something happened, the last of the two that has gone by; to hold fish, the second.

use chrono::{DateTime, MappedLocalTime, NaiveDate, NaiveDateTime, NaiveTime, Offset, TimeDelta, TimeZone, Utc};
use chrono_tz::Tz;

/// A clock time written "HH:MM", 24 hours; `None` for anything else.
pub fn clock_time(text: &str) -> Option<NaiveTime> {
    let (hours, minutes) = text.split_once(':')?;
    let number =
        |part: &str| (part.len() == 2 && part.bytes().all(|b| b.is_ascii_digit())).then(|| part.parse().ok()).flatten();
    NaiveTime::from_hms_opt(number(hours)?, number(minutes)?, 0)
}

/// The next moment, after `now`, at which the clocks of `tz` show `clock` ("HH:MM"); `None` where that is no clock time.
pub fn next_local(now: DateTime<Utc>, tz: Tz, clock: &str) -> Option<DateTime<Utc>> {
    around(now, tz, clock)?.into_iter().filter(|moment| *moment > now).min()
}

/// The last moment, not after `now`, at which the clocks of `tz` showed `clock` ("HH:MM"); `None` where that is no clock time.
pub fn last_local(now: DateTime<Utc>, tz: Tz, clock: &str) -> Option<DateTime<Utc>> {
    around(now, tz, clock)?.into_iter().filter(|moment| *moment <= now).max()
}

/// The end of a hold said as a local date (`YYYY-MM-DD`: when that day begins) or date and time (`YYYY-MM-DDTHH:MM`); `None` where it is neither.
pub fn until_local(text: &str, tz: Tz) -> Option<DateTime<Utc>> {
    let local = match text.split_once('T') {
        Some((date, clock)) => date.parse::<NaiveDate>().ok()?.and_time(clock_time(clock)?),
        None => text.parse::<NaiveDate>().ok()?.and_time(NaiveTime::MIN),
    };
    moments(local, tz)?.into_iter().max()
}

/// The moments with this clock time from two days before to two days after: a zone may skip a whole day.
fn around(now: DateTime<Utc>, tz: Tz, clock: &str) -> Option<Vec<DateTime<Utc>>> {
    let time = clock_time(clock)?;
    let today = now.with_timezone(&tz).date_naive();
    let days = (-2..=2).filter_map(|days| today.checked_add_signed(TimeDelta::days(days)));
    Some(days.filter_map(|day| moments(day.and_time(time), tz)).flatten().collect())
}

/// The one or two moments at which the clocks show this, or the one meant where they skip it.
fn moments(local: NaiveDateTime, tz: Tz) -> Option<Vec<DateTime<Utc>>> {
    match tz.from_local_datetime(&local) {
        MappedLocalTime::Single(moment) => Some(vec![moment.to_utc()]),
        MappedLocalTime::Ambiguous(first, second) => Some(vec![first.to_utc(), second.to_utc()]),
        MappedLocalTime::None => {
            // A day before, whatever the offset, the clocks had not changed yet.
            let before = tz.offset_from_utc_datetime(&local.checked_sub_signed(TimeDelta::days(1))?);
            Some(vec![local.checked_sub_offset(before.fix())?.and_utc()])
        }
    }
}

#[cfg(test)]
mod tests {
    use chrono_tz::{America::New_York, Asia::Kathmandu, Europe::London, Pacific::Apia, Tz};
    use proptest::prelude::*;

    use super::*;

    fn utc(text: &str) -> DateTime<Utc> {
        text.parse().unwrap()
    }

    fn next(now: &str, tz: Tz, clock: &str) -> String {
        next_local(utc(now), tz, clock).unwrap().to_rfc3339_opts(chrono::SecondsFormat::Secs, true)
    }

    fn last(now: &str, tz: Tz, clock: &str) -> String {
        last_local(utc(now), tz, clock).unwrap().to_rfc3339_opts(chrono::SecondsFormat::Secs, true)
    }

    fn until(text: &str, tz: Tz) -> String {
        until_local(text, tz).unwrap().to_rfc3339_opts(chrono::SecondsFormat::Secs, true)
    }

    #[test]
    fn the_next_six_in_the_morning_is_today_or_tomorrow() {
        assert_eq!(next("2026-03-02T22:10:00Z", London, "06:00"), "2026-03-03T06:00:00Z");
        assert_eq!(next("2026-03-02T05:59:00Z", London, "06:00"), "2026-03-02T06:00:00Z");
        assert_eq!(next("2026-03-02T06:00:00Z", London, "06:00"), "2026-03-03T06:00:00Z");
        assert_eq!(next("2026-03-02T22:10:00Z", New_York, "06:00"), "2026-03-03T11:00:00Z");
        assert_eq!(next("2026-03-02T22:10:00Z", Kathmandu, "06:00"), "2026-03-03T00:15:00Z");
    }

    #[test]
    fn the_last_clock_time_is_the_one_gone_by() {
        assert_eq!(last("2026-03-03T02:40:00Z", London, "02:10"), "2026-03-03T02:10:00Z");
        assert_eq!(last("2026-03-03T02:40:00Z", London, "23:50"), "2026-03-02T23:50:00Z");
        assert_eq!(last("2026-03-03T02:10:00Z", London, "02:10"), "2026-03-03T02:10:00Z");
    }

    // London: forward at 01:00 UTC on 29 March 2026, back at 01:00 UTC on 25 October 2026 (IANA time zone database).
    #[test]
    fn london_in_spring_a_skipped_time_is_an_hour_later_on_the_new_clock() {
        assert_eq!(next("2026-03-28T22:00:00Z", London, "01:30"), "2026-03-29T01:30:00Z");
        assert_eq!(next("2026-03-28T22:00:00Z", London, "02:00"), "2026-03-29T01:00:00Z");
        assert_eq!(next("2026-03-28T22:00:00Z", London, "06:00"), "2026-03-29T05:00:00Z");
        assert_eq!(last("2026-03-29T06:00:00Z", London, "01:30"), "2026-03-29T01:30:00Z");
        assert_eq!(until("2026-03-29T01:30", London), "2026-03-29T01:30:00Z");
    }

    #[test]
    fn london_in_autumn_a_doubled_time_is_the_first_to_come_and_the_last_gone_by() {
        assert_eq!(next("2026-10-24T22:00:00Z", London, "01:30"), "2026-10-25T00:30:00Z");
        assert_eq!(next("2026-10-25T00:30:00Z", London, "01:30"), "2026-10-25T01:30:00Z");
        assert_eq!(last("2026-10-25T00:45:00Z", London, "01:30"), "2026-10-25T00:30:00Z");
        assert_eq!(last("2026-10-25T01:45:00Z", London, "01:30"), "2026-10-25T01:30:00Z");
        assert_eq!(until("2026-10-25T01:30", London), "2026-10-25T01:30:00Z");
    }

    // New York: forward at 07:00 UTC on 8 March 2026, back at 06:00 UTC on 1 November 2026 (IANA time zone database).
    #[test]
    fn new_york_in_spring_and_autumn() {
        assert_eq!(next("2026-03-08T05:00:00Z", New_York, "02:30"), "2026-03-08T07:30:00Z");
        assert_eq!(next("2026-03-08T05:00:00Z", New_York, "03:00"), "2026-03-08T07:00:00Z");
        assert_eq!(next("2026-11-01T04:00:00Z", New_York, "01:30"), "2026-11-01T05:30:00Z");
        assert_eq!(next("2026-11-01T05:30:00Z", New_York, "01:30"), "2026-11-01T06:30:00Z");
        assert_eq!(until("2026-11-01T01:30", New_York), "2026-11-01T06:30:00Z");
    }

    #[test]
    fn a_day_that_a_zone_skips_is_passed_over() {
        // Apia went from the end of 29 December 2011 to the beginning of the 31st.
        assert_eq!(next("2011-12-30T00:00:00Z", Apia, "09:00"), "2011-12-30T19:00:00Z");
        assert_eq!(next("2011-12-30T19:00:00Z", Apia, "09:00"), "2011-12-31T19:00:00Z");
    }

    #[test]
    fn a_hold_until_a_day_ends_when_the_day_begins() {
        assert_eq!(until("2026-03-06", London), "2026-03-06T00:00:00Z");
        assert_eq!(until("2026-07-06", London), "2026-07-05T23:00:00Z");
        assert_eq!(until("2026-07-06T08:30", New_York), "2026-07-06T12:30:00Z");
    }

    #[test]
    fn what_is_no_clock_time_or_date_is_refused() {
        for text in ["", "6", "6:00", "24:00", "12:60", "1200", "ab:cd", "+1:00", "12:00:00"] {
            assert_eq!(clock_time(text), None, "{text}");
        }
        for text in ["", "friday", "2026-02-30", "2026-03-06T25:00", "2026-03-06T"] {
            assert_eq!(until_local(text, London), None, "{text}");
        }
    }

    proptest! {
        #[test]
        fn next_is_to_come_within_two_days_and_last_has_gone_by(
            seconds in 0i64..4_000_000_000, minute in 0u32..1440, zone in 0usize..chrono_tz::TZ_VARIANTS.len(),
        ) {
            let (now, tz) = (DateTime::from_timestamp(seconds, 0).unwrap(), chrono_tz::TZ_VARIANTS[zone]);
            let clock = format!("{:02}:{:02}", minute / 60, minute % 60);
            let (next, last) = (next_local(now, tz, &clock).unwrap(), last_local(now, tz, &clock).unwrap());
            prop_assert!(next > now && next - now <= TimeDelta::hours(50), "{next}");
            prop_assert!(last <= now && now - last <= TimeDelta::hours(50), "{last}");
            prop_assert_eq!(last_local(next, tz, &clock), Some(next));
        }
    }
}
