//! When a look is missed: announced when due, nudged once, then the lead is woken once.

use chrono::{DateTime, Utc};

use super::Minutes;
use crate::settings::Looks;

/// The rule, made of the site's settings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NudgeRule {
    /// Minutes from the announcement to the nudge.
    pub nudge_after: Minutes,
    /// Minutes from the nudge to waking the lead.
    pub wake_after: Minutes,
}

impl From<&Looks> for NudgeRule {
    /// The settings count both from the due time; the lead is woken after the nudge, never with it.
    fn from(looks: &Looks) -> Self {
        NudgeRule {
            nudge_after: Minutes::nearest(looks.nudge_after),
            wake_after: Minutes::nearest(looks.wake_after.saturating_sub(looks.nudge_after)),
        }
    }
}

/// How far a look has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// When it is due.
    pub due: DateTime<Utc>,
    /// When it was announced.
    pub announced: Option<DateTime<Utc>>,
    /// When it was nudged.
    pub nudged: Option<DateTime<Utc>>,
    /// When the lead was woken.
    pub woken: Option<DateTime<Utc>>,
}

/// What to do about a look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NextStep {
    /// Nothing before this moment, which is to come.
    At(DateTime<Utc>),
    /// Announce it.
    Announce,
    /// Nudge the crew.
    Nudge,
    /// Wake the lead.
    Wake,
    /// Nothing more: the lead knows.
    Nothing,
}

/// The step that is due now, or when the next one will be.
///
/// Each step counts from when the one before was really taken, not from the due time: after an outage people get the same time to answer.
pub fn stage(progress: &Progress, now: DateTime<Utc>, rule: &NudgeRule) -> NextStep {
    let Progress { due, announced, nudged, woken } = *progress;
    let (at, step) = match (announced, nudged, woken) {
        (_, _, Some(_)) => return NextStep::Nothing,
        (_, Some(nudged), None) => (nudged.checked_add_signed(rule.wake_after.delta()), NextStep::Wake),
        (Some(announced), None, None) => (announced.checked_add_signed(rule.nudge_after.delta()), NextStep::Nudge),
        (None, None, None) => (Some(due), NextStep::Announce),
    };
    match at {
        Some(at) if at > now => NextStep::At(at),
        Some(_) => step,
        None => NextStep::Nothing,
    }
}

#[cfg(test)]
mod tests {
    use chrono::TimeDelta;
    use proptest::prelude::*;

    use super::*;

    fn at(minutes: i64) -> DateTime<Utc> {
        "2026-03-02T22:00:00Z".parse::<DateTime<Utc>>().unwrap() + TimeDelta::minutes(minutes)
    }

    fn look(announced: Option<i64>, nudged: Option<i64>, woken: Option<i64>) -> Progress {
        Progress { due: at(0), announced: announced.map(at), nudged: nudged.map(at), woken: woken.map(at) }
    }

    fn step(look: Progress, minutes: i64) -> NextStep {
        stage(&look, at(minutes), &NudgeRule::from(&Looks::default()))
    }

    #[test]
    fn a_look_is_announced_when_due_nudged_once_and_the_lead_woken_once() {
        assert_eq!(step(look(None, None, None), -1), NextStep::At(at(0)));
        assert_eq!(step(look(None, None, None), 0), NextStep::Announce);
        assert_eq!(step(look(Some(0), None, None), 14), NextStep::At(at(15)));
        assert_eq!(step(look(Some(0), None, None), 15), NextStep::Nudge);
        assert_eq!(step(look(Some(0), Some(15), None), 20), NextStep::At(at(30)));
        assert_eq!(step(look(Some(0), Some(15), None), 30), NextStep::Wake);
        assert_eq!(step(look(Some(0), Some(15), Some(30)), 9_000), NextStep::Nothing);
    }

    #[test]
    fn after_an_outage_nobody_is_woken_before_the_crew_had_time_to_answer() {
        assert_eq!(step(look(None, None, None), 300), NextStep::Announce);
        assert_eq!(step(look(Some(300), None, None), 301), NextStep::At(at(315)));
    }

    proptest! {
        #[test]
        fn polled_at_any_times_each_step_is_taken_at_most_once_and_in_order(
            mut moments in proptest::collection::vec(-100i64..500, 0..40), nudge in 1u32..100, wake in 1u32..100,
        ) {
            moments.sort_unstable();
            let rule = NudgeRule { nudge_after: Minutes::new(nudge).unwrap(), wake_after: Minutes::new(wake).unwrap() };
            let mut progress = look(None, None, None);
            let mut taken = Vec::new();
            for moment in moments {
                let now = at(moment);
                match stage(&progress, now, &rule) {
                    NextStep::Announce => { taken.push(0); progress.announced = Some(now); }
                    NextStep::Nudge => { taken.push(1); progress.nudged = Some(now); }
                    NextStep::Wake => { taken.push(2); progress.woken = Some(now); }
                    NextStep::At(next) => prop_assert!(next > now),
                    NextStep::Nothing => prop_assert_eq!(taken.len(), 3),
                }
            }
            prop_assert_eq!(&taken[..], &[0, 1, 2][..taken.len()]);
        }

        #[test]
        fn a_step_that_is_due_stays_due_and_the_moment_foretold_is_kept(
            announced in proptest::option::of(-50i64..50), nudged in proptest::option::of(0i64..100), now in -100i64..200, wait in 0i64..200,
        ) {
            let look = look(announced, nudged, None);
            match step(look, now) {
                NextStep::At(next) => {
                    prop_assert!(!matches!(stage(&look, next, &NudgeRule::from(&Looks::default())), NextStep::At(_) | NextStep::Nothing));
                    if at(now + wait) < next {
                        prop_assert_eq!(step(look, now + wait), NextStep::At(next));
                    }
                }
                due => prop_assert_eq!(step(look, now + wait), due),
            }
        }
    }
}
