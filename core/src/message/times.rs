//! Lengths of time, clock times and dates as they are said.

use chrono::{DateTime, Datelike, Duration, NaiveDate, NaiveDateTime, Timelike, Utc, Weekday};
use chrono_tz::Tz;

use super::item::What;
use super::message_text::Message;

/// A clock time as said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Clock {
    hour: u32,
    minute: u32,
    /// Whether am, pm, a leading zero or an hour above 12 fixes the half of the day.
    fixed: bool,
}

impl Clock {
    fn new(hour: u32, minute: u32, fixed: bool) -> Option<Self> {
        (hour <= 24 && minute < 60).then_some(Clock { hour: hour % 24, minute, fixed: fixed || hour > 12 || hour == 0 })
    }

    fn candidates(self, now: NaiveDateTime, days: [i64; 3]) -> Vec<NaiveDateTime> {
        let hours = if self.fixed { vec![self.hour] } else { vec![self.hour % 12, self.hour % 12 + 12] };
        days.iter()
            .flat_map(|day| {
                hours
                    .iter()
                    .filter_map(move |hour| (now.date() + Duration::days(*day)).and_hms_opt(*hour, self.minute, 0))
            })
            .collect()
    }

    /// The next such time to come.
    pub(crate) fn next(self, now: NaiveDateTime) -> Option<NaiveDateTime> {
        self.candidates(now, [0, 1, 2]).into_iter().filter(|time| *time > now).min()
    }

    /// The last such time gone by.
    pub(crate) fn last(self, now: NaiveDateTime) -> Option<NaiveDateTime> {
        self.candidates(now, [-1, 0, 1]).into_iter().filter(|time| *time <= now).max()
    }

    /// The time on a named day, where its half is known or is the morning by custom.
    fn on(self, day: NaiveDate) -> Option<NaiveDateTime> {
        day.and_hms_opt(self.hour, self.minute, 0)
    }
}

/// "HH:MM".
pub(crate) fn hh_mm(time: NaiveDateTime) -> String {
    format!("{:02}:{:02}", time.hour(), time.minute())
}

/// The moment as the house's clock shows it.
pub(crate) fn local(at: DateTime<Utc>, tz: Tz) -> NaiveDateTime {
    at.with_timezone(&tz).naive_local()
}

/// The end of a hold as said.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Until {
    /// In the contract's form.
    At(String),
    /// "tomorrow" said before dawn: which day is in doubt.
    Doubtful,
    /// "until further notice".
    Open,
}

impl Message<'_> {
    /// A length in minutes that starts at `at`, and the index behind it.
    pub(crate) fn minutes(&self, at: usize) -> Option<(f64, usize)> {
        let item = self.item(at)?;
        let fixed = match item.value("time") {
            Some("inhour") => Some(60.0),
            Some("halfhour") => Some(30.0),
            Some("hourandhalf") => Some(90.0),
            Some("quarterhour") => Some(15.0),
            Some("threequarterhour") => Some(45.0),
            Some("couplehours") => Some(120.0),
            Some("minute") => Some(1.0),
            Some("day1") => Some(1440.0),
            Some("week1") => Some(10_080.0),
            _ => None,
        };
        if let Some(minutes) = fixed {
            return Some((minutes, at + 1));
        }
        // "another hour"
        if self.key(at, "another")
            && let Some((scale, next)) = self.time_unit(at + 1)
        {
            return Some((scale, next));
        }
        if let What::Clock(hours, minutes) = item.what
            && self.text_at(at).contains(['h', 'H'])
        {
            return Some((f64::from(hours * 60 + minutes), at + 1));
        }
        let half = item.value("fraction").is_some() && item.value("half").is_none();
        let (value, unit_at) = match item.what {
            What::Number { value, .. } => self.mixed_number(at, value),
            _ if half => (item.value("fraction")?.parse().ok()?, at + 1),
            // "a couple of hours" is a number; "hour" by itself is one behind "an".
            _ => return None,
        };
        // "2 and a half hours"
        let (value, unit_at) = if self.key(unit_at, "and")
            && self.text_at(unit_at + 1) == "a"
            && self.text_at(unit_at + 2) == "half"
        {
            (value + 0.5, unit_at + 3)
        } else if self.key(unit_at, "and") && self.item(unit_at + 1).and_then(|i| i.value("fraction")) == Some("0.5") {
            (value + 0.5, unit_at + 2)
        } else {
            (value, unit_at)
        };
        let unit_at = unit_at + usize::from(self.key(unit_at, "more"));
        let (scale, next) = self.time_unit(unit_at)?;
        let mut minutes = value * scale;
        let mut end = next;
        // "6h30", "1 hour 20 min", "2 hours and a half"
        if scale == 60.0 {
            let skip = next + usize::from(self.key(next, "and"));
            if let Some(more) = self.item(skip).and_then(|item| item.number()).filter(|n| *n < 60.0) {
                match self.time_unit(skip + 1) {
                    Some((1.0, after)) => {
                        minutes += more;
                        end = after;
                    }
                    _ if self.glued(skip) => {
                        minutes += more;
                        end = skip + 1;
                    }
                    _ => {}
                }
            } else if skip > next && self.item(skip).is_some_and(|item| item.value("fraction") == Some("0.5")) {
                minutes += 30.0;
                end = skip + 1;
            } else if skip > next && self.text_at(skip) == "a" && self.text_at(skip + 1) == "half" {
                minutes += 30.0;
                end = skip + 2;
            }
        }
        (minutes.is_finite() && minutes <= 5_000_000.0).then_some((minutes, end))
    }

    /// "1 1/2".
    fn mixed_number(&self, at: usize, value: f64) -> (f64, usize) {
        if let (Some(a), true, Some(b)) = (
            self.item(at + 1).and_then(|item| item.number()),
            self.mark(at + 2, '/'),
            self.item(at + 3).and_then(|item| item.number()),
        ) && a == 1.0
            && b > 0.0
            && self.glued(at + 2)
        {
            return (value + a / b, at + 4);
        }
        (value, at + 1)
    }

    /// Minutes of a unit of time at `at`, and the index behind it.
    pub(crate) fn time_unit(&self, at: usize) -> Option<(f64, usize)> {
        let scale = match self.item(at)?.value("unit")? {
            "minute" => 1.0,
            "hour" => 60.0,
            "day" => 1440.0,
            "week" => 10_080.0,
            "second" => 1.0 / 60.0,
            _ => return None,
        };
        Some((scale, at + 1))
    }

    /// A clock time that starts at `at`. A bare number counts only where `bare` says that an hour is meant.
    pub(crate) fn clock(&self, at: usize, bare: bool) -> Option<(Clock, usize)> {
        let item = self.item(at)?;
        match item.value("time") {
            Some("noon") => return Some((Clock::new(12, 0, true)?, at + 1)),
            Some("midnight") => return Some((Clock::new(0, 0, true)?, at + 1)),
            _ => {}
        }
        // "half six", "half past six", "quarter past two", "quarter to five"
        if let Some(fraction) = item.value("fraction")
            && let Some(minutes) = match fraction {
                "0.5" => Some(30),
                "0.25" => Some(15),
                _ => None,
            }
        {
            let past = self.item(at + 1).is_some_and(|item| item.value("past").is_some());
            let to = self.key(at + 1, "to");
            let hour_at = at + 1 + usize::from(past || to);
            let hour = self.item(hour_at).and_then(|item| item.whole()).filter(|hour| (1..=12).contains(hour))?;
            if minutes == 15 && !past && !to {
                return None;
            }
            let (hour, minute) = if to { ((hour + 11) % 12, 60 - minutes) } else { (hour, minutes) };
            return Some(self.halved(if hour == 0 { 12 } else { hour }, minute, false, hour_at + 1));
        }
        if let What::Clock(hour, minute) = item.what {
            let text = self.text_at(at);
            // "1h40 late" is a length of time, "at 22h30" an hour of the day.
            let told = at > 0
                && (self.key(at - 1, "at")
                    || matches!(self.text_at(at - 1), "by" | "around" | "about" | "until" | "till"));
            if text.contains(['h', 'H']) && !told {
                return None;
            }
            let fixed = text.starts_with('0');
            return Some(self.halved(hour, minute, fixed, at + 1));
        }
        let hour = item.whole()?;
        let text = self.text_at(at);
        // "0515", "1430"
        if text.len() == 4 && text.chars().all(|c| c.is_ascii_digit()) && (bare || text.starts_with('0')) {
            let clock = Clock::new(hour / 100, hour % 100, true)?;
            let hours = self.item(at + 1).and_then(|item| item.value("unit")) == Some("hour");
            return Some((clock, at + 1 + usize::from(hours)));
        }
        let half = self.item(at + 1).and_then(|item| item.value("half"));
        if let Some(half) = half.filter(|_| (1..=12).contains(&hour)) {
            let hour = hour % 12 + if half == "pm" { 12 } else { 0 };
            return Some((Clock::new(hour, 0, true)?, at + 2));
        }
        if self.item(at + 1).is_some_and(|item| item.value("oclock").is_some()) && hour <= 24 {
            return Some(self.halved(hour, 0, false, at + 2));
        }
        // "ten past three", "20 to 6"
        let past = self.item(at + 1).is_some_and(|item| item.value("past").is_some());
        if (past || (self.key(at + 1, "to") && bare))
            && (1..60).contains(&hour)
            && let Some(of) = self.item(at + 2).and_then(|item| item.whole()).filter(|of| (1..=12).contains(of))
        {
            let (of, minute) = if past { (of, hour) } else { (if of == 1 { 12 } else { of - 1 }, 60 - hour) };
            return Some(self.halved(of, minute, false, at + 3));
        }
        let unit = self.item(at + 1).is_some_and(|item| item.value("unit").is_some()) || self.mark(at + 1, '%');
        // "6.30" and "4.15" behind "at" are clock times too.
        (bare && hour <= 24 && !unit).then(|| Some((Clock::new(hour, 0, text.starts_with('0'))?, at + 1)))?
    }

    /// The clock time with the "am" or "pm" that may follow.
    fn halved(&self, hour: u32, minute: u32, fixed: bool, next: usize) -> (Clock, usize) {
        let half = self.item(next).and_then(|item| item.value("half"));
        match half {
            Some(half) if hour <= 12 => {
                let hour = hour % 12 + if half == "pm" { 12 } else { 0 };
                (Clock { hour, minute, fixed: true }, next + 1)
            }
            _ => (Clock { hour: hour % 24, minute, fixed: fixed || hour > 12 || hour == 0 }, next),
        }
    }

    /// The end of a hold behind "until".
    pub(crate) fn until(&self, at: usize) -> Option<(Until, usize)> {
        let now = self.now;
        let at = at + usize::from(matches!(self.text_at(at), "the" | "next" | "this" | "on"));
        let item = self.item(at)?;
        let date = |day: NaiveDate, next: usize| -> (Until, usize) {
            let mut skip = next;
            while matches!(self.text_at(skip), "at" | "t" | "," | "@") {
                skip += 1;
            }
            let clock = self.clock(skip, skip > next).filter(|_| skip > next || self.is_clock(next));
            match clock.and_then(|(clock, end)| Some((clock.on(day)?, end))) {
                Some((time, end)) => (Until::At(time.format("%Y-%m-%dT%H:%M").to_string()), end),
                None => {
                    let morning = self.item(next).is_some_and(|item| item.value("time") == Some("morning"));
                    (Until::At(day.format("%Y-%m-%d").to_string()), next + usize::from(morning))
                }
            }
        };
        if let What::Date(y, m, d) = item.what {
            return Some(date(NaiveDate::from_ymd_opt(y, m, d)?, at + 1));
        }
        if let Some(day) = item.value("weekday") {
            let day: Weekday = day.parse().ok()?;
            let ahead =
                (7 + i64::from(day.num_days_from_monday()) - i64::from(now.weekday().num_days_from_monday())) % 7;
            let ahead = if ahead == 0 { 7 } else { ahead };
            return Some(date(now.date() + Duration::days(ahead), at + 1));
        }
        match item.value("time") {
            Some("tomorrow") if now.hour() < 5 => return Some((Until::Doubtful, at + 1)),
            Some("tomorrow") => return Some(date(now.date() + Duration::days(1), at + 1)),
            Some("furthernotice") => return Some((Until::Open, at + 1)),
            Some("vaguetime" | "morning" | "today") => return Some((Until::Doubtful, at + 1)),
            _ => {}
        }
        // "10 march", "10th of march", "march 10"
        if let Some(month) = item.value("month").and_then(|month| month.parse().ok())
            && let Some(day) = self.item(at + 1).and_then(|item| item.whole())
        {
            let end = at + 2 + usize::from(matches!(self.text_at(at + 2), "st" | "nd" | "rd" | "th"));
            return Some(date(self.coming(day, month)?, end));
        }
        if let Some(day) = item.whole() {
            let mut month_at = at + 1 + usize::from(matches!(self.text_at(at + 1), "st" | "nd" | "rd" | "th"));
            month_at += usize::from(self.key(month_at, "of"));
            if let Some(month) = self.item(month_at).and_then(|item| item.value("month")).and_then(|m| m.parse().ok()) {
                return Some(date(self.coming(day, month)?, month_at + 1));
            }
            // "10/3": the day first.
            if self.mark(at + 1, '/')
                && let Some(month) = self.item(at + 2).and_then(|item| item.whole())
                && (day > 12 || month > 12 || day == month)
            {
                let (day, month) = if month > 12 { (month, day) } else { (day, month) };
                return Some(date(self.coming(day, month)?, at + 3));
            }
            if self.mark(at + 1, '/') {
                return Some((Until::Doubtful, at + 3));
            }
            if matches!(self.text_at(at + 1), "st" | "nd" | "rd" | "th") {
                let this = now.date().with_day(day).filter(|date| *date > now.date());
                let next_month =
                    now.date().checked_add_months(chrono::Months::new(1)).and_then(|date| date.with_day(day));
                return Some(date(this.or(next_month)?, at + 2));
            }
        }
        let (clock, next) = self.clock(at, true)?;
        if self.value(next, "time") == Some("tomorrow") && now.hour() < 5 {
            return Some((Until::Doubtful, next + 1));
        }
        // "6am monday", "6am tomorrow"
        if let Some((Until::At(day), end)) = self
            .item(next)
            .filter(|i| i.value("weekday").is_some() || i.value("time") == Some("tomorrow"))
            .and_then(|_| self.until(next))
            && let Ok(day) = NaiveDate::parse_from_str(&day, "%Y-%m-%d")
        {
            return Some((Until::At(clock.on(day)?.format("%Y-%m-%dT%H:%M").to_string()), end));
        }
        Some((Until::At(clock.next(now)?.format("%Y-%m-%dT%H:%M").to_string()), next))
    }

    /// Whether a clock time stands at `at` that needs no word before it.
    pub(crate) fn is_clock(&self, at: usize) -> bool {
        self.clock(at, false).is_some()
    }

    /// The next such day to come, today included.
    fn coming(&self, day: u32, month: u32) -> Option<NaiveDate> {
        let today = self.now.date();
        (0..9).filter_map(|year| NaiveDate::from_ymd_opt(today.year() + year, month, day)).find(|date| *date >= today)
    }
}
