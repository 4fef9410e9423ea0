//! When to look again.

use chrono::{DateTime, Utc};

use super::{Condition, Hours, Minutes};
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
            night: looks.first_night.into(),
            later: looks.later.into(),
            first_night: Hours::nearest(looks.first_night_hours),
        }
    }
}

/// Minutes until the next look at fish in a vessel, counted from a look at `looked`; `None` where no fish are kept (sump, tap).
///
/// `arrived` is when the fish came into the house. Where that is later than the look (an hour said wrongly), the first night counts.
pub fn interval(
    rule: &LookRule,
    kind: VesselKind,
    condition: Condition,
    arrived: DateTime<Utc>,
    looked: DateTime<Utc>,
) -> Option<Minutes> {
    match kind {
        VesselKind::Tray => Some(rule.tray),
        VesselKind::Tank | VesselKind::Tub if looked - arrived < rule.first_night.delta() => {
            Some(rule.night.at(condition))
        }
        VesselKind::Tank | VesselKind::Tub => Some(rule.later.at(condition)),
        VesselKind::Sump | VesselKind::Tap => None,
    }
}

/// When to look next, after a look at `looked`; `None` where no fish are kept.
pub fn next_look(
    rule: &LookRule,
    kind: VesselKind,
    condition: Condition,
    arrived: DateTime<Utc>,
    looked: DateTime<Utc>,
) -> Option<DateTime<Utc>> {
    looked.checked_add_signed(interval(rule, kind, condition, arrived, looked)?.delta())
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
        interval(&LookRule::from(&Looks::default()), kind, condition, at(0), at(age_hours)).map(Minutes::get)
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
        let next = next_look(&LookRule::from(&Looks::default()), VesselKind::Tray, Condition::Fair, at(0), at(1));
        assert_eq!(next, Some(at(1) + TimeDelta::minutes(30)));
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
