//! When to look again.

use chrono::{DateTime, Utc};

use super::{Condition, Hours, Minutes, Quiet};
use crate::message::VesselKind;
use crate::settings::{Looks, Pace};

/// Minutes between looks by how the fish are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Intervals {
    /// While very weak.
    pub very_weak: Minutes,
    /// While weak.
    pub weak: Minutes,
    /// While fair.
    pub fair: Minutes,
    /// While strong.
    pub strong: Minutes,
}

impl From<Pace> for Intervals {
    fn from(pace: Pace) -> Self {
        Intervals {
            very_weak: Minutes::nearest(pace.very_weak),
            weak: Minutes::nearest(pace.weak),
            fair: Minutes::nearest(pace.fair),
            strong: Minutes::nearest(pace.strong),
        }
    }
}

impl Intervals {
    fn at(&self, condition: Condition) -> Minutes {
        match condition {
            Condition::VeryWeak => self.very_weak,
            Condition::Weak => self.weak,
            Condition::Fair => self.fair,
            Condition::Strong => self.strong,
        }
    }
}

/// The rule, made of the site's settings, which hold the defaults and say where they come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LookRule {
    /// In trays, however long they are there and however they are.
    pub tray: Minutes,
    /// Anywhere, at most, while the last look saw a grave sign.
    pub grave: Minutes,
    /// In tanks and tubs, for `first_night` from the arrival.
    pub night: Intervals,
    /// In tanks and tubs, later.
    pub later: Intervals,
    /// How long the first night lasts.
    pub first_night: Hours,
}

impl From<&Looks> for LookRule {
    fn from(looks: &Looks) -> Self {
        LookRule {
            tray: Minutes::nearest(looks.tray),
            grave: Minutes::nearest(looks.grave),
            night: looks.first_night.into(),
            later: looks.later.into(),
            first_night: Hours::nearest(looks.first_night_hours),
        }
    }
}

/// What a look saw, and where.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Seen {
    /// In what the fish are.
    pub kind: VesselKind,
    /// How they are.
    pub condition: Condition,
    /// Whether a grave sign was seen at the last look that named any.
    pub grave: bool,
    /// When they came into the vessel.
    pub arrived: DateTime<Utc>,
    /// When somebody looked.
    pub looked: DateTime<Utc>,
}

impl Seen {
    fn first_night(&self, rule: &LookRule) -> bool {
        self.looked - self.arrived < rule.first_night.delta()
    }
}

/// Minutes until the next look at fish in a vessel, counted from the last one; `None` where no fish are kept (sump, tap).
///
/// Where the arrival is later than the look (an hour said wrongly), the first night counts.
pub fn interval(rule: &LookRule, seen: &Seen) -> Option<Minutes> {
    let minutes = match seen.kind {
        VesselKind::Tray => rule.tray,
        VesselKind::Tank | VesselKind::Tub if seen.first_night(rule) => rule.night.at(seen.condition),
        VesselKind::Tank | VesselKind::Tub => rule.later.at(seen.condition),
        VesselKind::Sump | VesselKind::Tap => return None,
    };
    Some(if seen.grave { minutes.min(rule.grave) } else { minutes })
}

/// When to look next; `None` where no fish are kept. What can wait is put off to the end of the quiet hours.
pub fn next_look(rule: &LookRule, seen: &Seen, quiet: &Quiet) -> Option<DateTime<Utc>> {
    let due = seen.looked.checked_add_signed(interval(rule, seen)?.delta())?;
    if can_wait(rule, seen) { Some(quiet.ends(due).unwrap_or(due)) } else { Some(due) }
}

/// Whether a look may be kept back in the quiet hours: a routine one at strong fish in a tank or tub, after their first night.
pub fn can_wait(rule: &LookRule, seen: &Seen) -> bool {
    let kept = matches!(seen.kind, VesselKind::Tank | VesselKind::Tub);
    kept && seen.condition == Condition::Strong && !seen.grave && !seen.first_night(rule)
}

/// Whether a look at `given`, before `due`, is that look: within `early`, and within a third of the wait where that is known.
pub fn is_that_look(early: Minutes, wait: Option<Minutes>, due: DateTime<Utc>, given: DateTime<Utc>) -> bool {
    let early = wait.map_or(early.delta(), |wait| early.delta().min(wait.delta() / 3));
    due - given <= early
}

#[cfg(test)]
mod tests {
    use chrono::TimeDelta;
    use proptest::prelude::*;

    use super::*;

    fn at(hours: i64) -> DateTime<Utc> {
        "2026-03-02T22:00:00Z".parse::<DateTime<Utc>>().unwrap() + TimeDelta::hours(hours)
    }

    fn minutes(kind: VesselKind, condition: Condition, age_hours: i64) -> Option<u32> {
        interval(&rule(), &seen(kind, condition, age_hours)).map(Minutes::get)
    }

    fn rule() -> LookRule {
        LookRule::from(&Looks::default())
    }

    fn seen(kind: VesselKind, condition: Condition, age_hours: i64) -> Seen {
        Seen { kind, condition, grave: false, arrived: at(0), looked: at(age_hours) }
    }

    fn quiet(from: &str, until: &str) -> Quiet {
        let time = |text: &str| crate::watch::clock::clock_time(text).unwrap();
        Quiet::new(Some((time(from), time(until))), chrono_tz::Tz::UTC)
    }

    #[test]
    fn trays_are_looked_at_within_the_hour_however_old() {
        assert_eq!(minutes(VesselKind::Tray, Condition::Strong, 0), Some(30));
        assert_eq!(minutes(VesselKind::Tray, Condition::Weak, 30), Some(30));
    }

    #[test]
    fn tanks_are_looked_at_every_one_to_two_hours_in_the_first_night_and_less_often_later() {
        assert_eq!(minutes(VesselKind::Tank, Condition::Strong, 11), Some(120));
        assert_eq!(minutes(VesselKind::Tank, Condition::Weak, 11), Some(60));
        assert_eq!(minutes(VesselKind::Tank, Condition::Strong, 12), Some(480));
        assert_eq!(minutes(VesselKind::Tub, Condition::VeryWeak, 12), Some(90));
    }

    #[test]
    fn a_sump_or_tap_has_no_fish_to_look_at() {
        assert_eq!(minutes(VesselKind::Sump, Condition::Strong, 0), None);
        assert_eq!(minutes(VesselKind::Tap, Condition::Strong, 0), None);
    }

    #[test]
    fn an_arrival_said_to_be_after_the_look_counts_as_the_first_night() {
        assert_eq!(minutes(VesselKind::Tank, Condition::Fair, -3), Some(90));
    }

    #[test]
    fn the_next_look_is_counted_from_the_last() {
        let next = next_look(&rule(), &seen(VesselKind::Tray, Condition::Fair, 1), &Quiet::default());
        assert_eq!(next, Some(at(1) + TimeDelta::minutes(30)));
    }

    #[test]
    fn fish_with_a_grave_sign_are_seen_again_within_a_quarter_of_an_hour_wherever_they_are() {
        for kind in [VesselKind::Tray, VesselKind::Tank, VesselKind::Tub] {
            let gasping = Seen { grave: true, ..seen(kind, Condition::Weak, 40) };
            assert_eq!(interval(&rule(), &gasping).map(Minutes::get), Some(15));
        }
        let often = LookRule { grave: Minutes::nearest(45), ..rule() };
        let tray = Seen { grave: true, ..seen(VesselKind::Tray, Condition::Weak, 0) };
        assert_eq!(interval(&often, &tray).map(Minutes::get), Some(30), "it never makes a look later");
    }

    #[test]
    fn in_the_quiet_hours_only_the_routine_look_at_strong_fish_waits() {
        use Condition::*;
        let quiet = quiet("04:00", "09:00");
        let hours = |seen: Seen| next_look(&rule(), &seen, &quiet).map(|due| (due - at(0)).num_minutes());
        // 22:00 is hour 0: a look at hour 24 + 0 is due eight hours later, at 06:00, and waits until 09:00.
        assert_eq!(hours(seen(VesselKind::Tank, Strong, 24)), Some(35 * 60));
        assert_eq!(hours(seen(VesselKind::Tub, Strong, 24)), Some(35 * 60));
        assert_eq!(hours(seen(VesselKind::Tank, Fair, 24)), Some(30 * 60));
        assert_eq!(hours(seen(VesselKind::Tank, Strong, 5)), Some(7 * 60), "the first night does not wait");
        assert_eq!(hours(seen(VesselKind::Tray, Strong, 30)), Some(30 * 60 + 30));
        let gasping = Seen { grave: true, ..seen(VesselKind::Tank, Strong, 30) };
        assert_eq!(hours(gasping), Some(30 * 60 + 15));
    }

    #[test]
    fn a_look_a_little_early_is_that_look_and_one_long_before_is_not() {
        let early = Minutes::nearest(10);
        let counts = |wait: Option<u32>, minutes: i64| {
            is_that_look(early, wait.map(Minutes::nearest), at(0), at(0) - TimeDelta::minutes(minutes))
        };
        assert!(counts(Some(60), 10) && !counts(Some(60), 11));
        assert!(counts(Some(15), 5) && !counts(Some(15), 6), "a third of a short wait");
        assert!(counts(None, 10) && counts(None, -30));
    }

    proptest! {
        #[test]
        fn worse_fish_younger_lots_and_trays_are_never_looked_at_later(age in -5i64..500, older in 0i64..100) {
            use Condition::*;
            for pair in [VeryWeak, Weak, Fair, Strong].windows(2) {
                for kind in [VesselKind::Tray, VesselKind::Tank, VesselKind::Tub] {
                    prop_assert!(minutes(kind, pair[0], age) <= minutes(kind, pair[1], age));
                    prop_assert!(minutes(kind, pair[0], age) <= minutes(kind, pair[0], age + older));
                }
                prop_assert!(minutes(VesselKind::Tray, pair[1], age) <= minutes(VesselKind::Tank, pair[1], age));
            }
        }
    }
}
