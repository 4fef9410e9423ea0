//! When a lot is ready to be cleared. The verdict is data: each requirement with whether it is met and the facts it was judged by.
//!
//! A verdict clears nothing. A lead does, and may go past an unmet requirement with a reason.

use std::collections::BTreeSet;

use chrono::{DateTime, Utc};

use super::condition::{no_better_than, tells_of};
use super::{Condition, Hours};
use crate::message::Sign;
use crate::quantity::Finite;
use crate::settings::Release;
use crate::species::{Kind, Species};

/// The site's release policy, made of its settings, which hold the defaults.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Policy {
    /// Hours in the house at least. The default of 48 is the Ornamental Aquatic Trade Association's code of conduct, retail part on direct imports, as
    /// read in an older web text ("at least 48 hours, or until normal behaviour and feeding pattern, whichever is longer").
    pub hold: Hours,
    /// Deaths that count. Common practice.
    pub deaths_window: Hours,
    /// The most that may have died in that window, % of the living and those dead together. Common practice.
    pub deaths_share_max: Finite,
    /// Whether they must have been seen feeding. The same code.
    pub feeding_required: bool,
    /// How old the last look may be. Common practice.
    pub look_fresh: Hours,
    /// Whether lots that share recirculating water wait for the last one in. Law in some countries, no rule in others.
    pub shared_water_waits: bool,
}

impl From<&Release> for Policy {
    fn from(release: &Release) -> Self {
        Policy {
            hold: Hours::nearest(release.hold_hours),
            deaths_window: Hours::nearest(release.deaths_window_hours),
            deaths_share_max: release.deaths_percent,
            feeding_required: release.feeding_required,
            look_fresh: Hours::nearest(release.look_fresh_hours),
            shared_water_waits: release.shared_water_waits,
        }
    }
}

/// Until when a person asked to hold a lot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
    /// Nobody asked.
    No,
    /// Until this moment.
    Until(DateTime<Utc>),
    /// Without an end: only a lead lifts it.
    WithoutEnd,
}

/// What is known of a lot.
#[derive(Debug, Clone, PartialEq)]
pub struct Facts {
    /// Since when it is in the house.
    pub hold_since: DateTime<Utc>,
    /// Whether a person asked to hold it.
    pub hold_asked: Asked,
    /// Living fish by the books.
    pub living: u32,
    /// Whether they were counted; else the number is presumed.
    pub counted: bool,
    /// Deaths found within [`Policy::deaths_window`], counted.
    pub deaths_lately: u32,
    /// When they were last seen feeding.
    pub feeding_seen: Option<DateTime<Utc>>,
    /// When they were last seen off their feed.
    pub off_feed_seen: Option<DateTime<Utc>>,
    /// When somebody last looked.
    pub last_look: Option<DateTime<Utc>>,
    /// Signs seen at the last look.
    pub signs: BTreeSet<Sign>,
    /// The species, where known: what is a habit of it is no bad sign.
    pub species: Option<&'static Species>,
    /// Whether they are fish at all: what is none is not asked to feed or to show no sign of fish.
    pub kind: Kind,
    /// When the last lot came into the water that this one shares, this one included.
    pub shared_water_since: Option<DateTime<Utc>>,
}

/// One requirement of the policy with the facts it was judged by.
#[derive(Debug, Clone, PartialEq)]
pub struct Requirement {
    /// What is required.
    pub which: Which,
    /// Whether it is met.
    pub met: bool,
}

/// What is required, and what is known of it.
#[derive(Debug, Clone, PartialEq)]
pub enum Which {
    /// Long enough in the house.
    Held {
        /// The hours required.
        hours: Hours,
        /// Since when.
        since: DateTime<Utc>,
        /// From when it is met, whatever else; `None` where no date can say it.
        from: Option<DateTime<Utc>>,
    },
    /// The hold that a person asked for is over.
    AskedHold {
        /// What was asked.
        asked: Asked,
    },
    /// The last lot into the same water has done its time.
    SharedWater {
        /// When the last lot came in.
        last_in: DateTime<Utc>,
        /// From when it is met; `None` where no date can say it.
        from: Option<DateTime<Utc>>,
    },
    /// There are living fish, and they were counted.
    Counted {
        /// Living fish by the books.
        living: u32,
        /// Whether they were counted.
        counted: bool,
    },
    /// Few enough died lately.
    Deaths {
        /// How many died.
        dead: u32,
        /// Of how many: the living and those dead.
        of: u32,
        /// Within how long.
        window: Hours,
        /// The most allowed, %.
        most: Finite,
    },
    /// They were seen feeding since they came, and not off their feed after that.
    Feeding {
        /// When they were seen feeding, since they came.
        seen: Option<DateTime<Utc>>,
        /// When they were seen off their feed.
        off: Option<DateTime<Utc>>,
    },
    /// Somebody looked lately.
    Looked {
        /// When.
        last: Option<DateTime<Utc>>,
        /// How old it may be.
        fresh: Hours,
    },
    /// No bad sign at the last look.
    NoBadSign {
        /// The bad signs.
        bad: BTreeSet<Sign>,
    },
}

/// Every requirement, in a fixed order, those that are met too.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// The requirements.
    pub requirements: Vec<Requirement>,
}

impl Verdict {
    /// Whether every requirement is met.
    pub fn ready(&self) -> bool {
        self.requirements.iter().all(|requirement| requirement.met)
    }

    /// The requirements not met.
    pub fn unmet(&self) -> impl Iterator<Item = &Which> {
        self.requirements.iter().filter(|requirement| !requirement.met).map(|requirement| &requirement.which)
    }

    /// From when the requirements that only time meets are met, at the earliest; `None` where all of those are met, or one of them has no end.
    pub fn earliest(&self) -> Option<DateTime<Utc>> {
        let mut latest = None;
        for which in self.unmet() {
            let from = match which {
                Which::Held { from, .. } | Which::SharedWater { from, .. } => *from,
                Which::AskedHold { asked: Asked::Until(until) } => Some(*until),
                Which::AskedHold { .. } => None,
                _ => continue,
            };
            latest = latest.max(Some(from?));
        }
        latest
    }
}

/// Judges a lot.
pub fn verdict(facts: &Facts, policy: &Policy, now: DateTime<Utc>) -> Verdict {
    let mut requirements = Vec::new();
    let mut require = |which, met| requirements.push(Requirement { which, met });
    let reached = |from: Option<DateTime<Utc>>| from.is_some_and(|from| from <= now);

    let from = facts.hold_since.checked_add_signed(policy.hold.delta());
    require(Which::Held { hours: policy.hold, since: facts.hold_since, from }, reached(from));
    match facts.hold_asked {
        Asked::No => {}
        Asked::Until(until) => require(Which::AskedHold { asked: facts.hold_asked }, until <= now),
        Asked::WithoutEnd => require(Which::AskedHold { asked: facts.hold_asked }, false),
    }
    if let Some(last_in) = facts.shared_water_since.filter(|_| policy.shared_water_waits) {
        let from = last_in.checked_add_signed(policy.hold.delta());
        require(Which::SharedWater { last_in, from }, reached(from));
    }
    require(Which::Counted { living: facts.living, counted: facts.counted }, facts.counted && facts.living > 0);
    let of = facts.living.saturating_add(facts.deaths_lately);
    require(
        Which::Deaths { dead: facts.deaths_lately, of, window: policy.deaths_window, most: policy.deaths_share_max },
        f64::from(facts.deaths_lately) * 100.0 <= policy.deaths_share_max.get() * f64::from(of),
    );
    if policy.feeding_required && facts.kind == Kind::Fish {
        let seen = facts.feeding_seen.filter(|seen| *seen >= facts.hold_since);
        let since = seen.is_some_and(|seen| facts.off_feed_seen.is_none_or(|off| off < seen));
        require(Which::Feeding { seen, off: facts.off_feed_seen }, since);
    }
    if facts.kind != Kind::Plant {
        require(
            Which::Looked { last: facts.last_look, fresh: policy.look_fresh },
            facts.last_look.is_some_and(|last| now - last <= policy.look_fresh.delta()),
        );
    }
    let bad = |sign: &Sign| tells_of(*sign, facts.kind) && is_bad(*sign, facts.species);
    let bad: BTreeSet<Sign> = facts.signs.iter().copied().filter(bad).collect();
    let none = bad.is_empty();
    require(Which::NoBadSign { bad }, none);
    Verdict { requirements }
}

/// A sign that speaks against clearing: any that is worth a second look, except packing long gone and a habit of the species.
fn is_bad(sign: Sign, species: Option<&Species>) -> bool {
    use Sign::*;
    let packing = matches!(sign, Leaking | FlatBag);
    // A habit turns a grave sign into a mild one, which is how it is told.
    let habit = no_better_than(sign, None) == Condition::Weak && no_better_than(sign, species) == Condition::Fair;
    !packing && !habit && no_better_than(sign, species) < Condition::Strong
}

#[cfg(test)]
mod tests {
    use chrono::TimeDelta;
    use proptest::prelude::*;

    use super::*;
    use crate::watch::condition::tests::SIGNS;

    fn at(hours: i64) -> DateTime<Utc> {
        "2026-03-02T22:00:00Z".parse::<DateTime<Utc>>().unwrap() + TimeDelta::hours(hours)
    }

    /// A lot that the default policy finds ready at hour 50.
    fn good() -> Facts {
        Facts {
            hold_since: at(0),
            hold_asked: Asked::No,
            living: 100,
            counted: true,
            deaths_lately: 0,
            feeding_seen: Some(at(40)),
            off_feed_seen: None,
            last_look: Some(at(45)),
            signs: BTreeSet::from([Sign::Well, Sign::Feeding]),
            species: None,
            kind: Kind::Fish,
            shared_water_since: None,
        }
    }

    fn judged(facts: &Facts) -> Verdict {
        verdict(facts, &standard(), at(50))
    }

    fn standard() -> Policy {
        Policy::from(&Release::default())
    }

    #[track_caller]
    fn holds_for(facts: &Facts, unmet: Which) {
        assert_eq!(judged(facts).unmet().collect::<Vec<_>>(), [&unmet]);
    }

    #[test]
    fn a_lot_that_did_its_time_feeds_and_looks_well_is_ready() {
        let verdict = judged(&good());
        assert!(verdict.ready());
        assert_eq!(verdict.requirements.len(), 6);
        assert_eq!(verdict.earliest(), None);
    }

    #[test]
    fn forty_eight_hours_are_required_to_the_minute() {
        let facts = Facts { hold_since: at(2), ..good() };
        assert!(judged(&facts).ready());
        let facts = Facts { hold_since: at(2) + TimeDelta::minutes(1), ..good() };
        let from = Some(at(50) + TimeDelta::minutes(1));
        holds_for(&facts, Which::Held { hours: standard().hold, since: facts.hold_since, from });
        assert_eq!(judged(&facts).earliest(), from);
    }

    #[test]
    fn a_hold_that_a_person_asked_for_counts_too() {
        let until = |asked| judged(&Facts { hold_asked: asked, ..good() });
        assert!(until(Asked::Until(at(50))).ready());
        assert_eq!(until(Asked::Until(at(60))).earliest(), Some(at(60)));
        assert!(!until(Asked::WithoutEnd).ready());
        assert_eq!(until(Asked::WithoutEnd).earliest(), None);
    }

    #[test]
    fn presumed_fish_are_not_ready_and_neither_is_an_empty_tank() {
        holds_for(&Facts { counted: false, ..good() }, Which::Counted { living: 100, counted: false });
        holds_for(&Facts { living: 0, ..good() }, Which::Counted { living: 0, counted: true });
    }

    #[test]
    fn deaths_count_as_a_share_of_the_living_and_the_dead() {
        let Policy { deaths_window: window, deaths_share_max: most, .. } = standard();
        assert!(judged(&Facts { living: 198, deaths_lately: 2, ..good() }).ready());
        let facts = Facts { living: 197, deaths_lately: 2, ..good() };
        holds_for(&facts, Which::Deaths { dead: 2, of: 199, window, most });
    }

    #[test]
    fn feeding_must_be_seen_since_they_came_and_after_they_were_off_their_feed() {
        holds_for(&Facts { feeding_seen: None, ..good() }, Which::Feeding { seen: None, off: None });
        holds_for(&Facts { feeding_seen: Some(at(-1)), ..good() }, Which::Feeding { seen: None, off: None });
        let off = Some(at(41));
        holds_for(&Facts { off_feed_seen: off, ..good() }, Which::Feeding { seen: Some(at(40)), off });
        assert!(judged(&Facts { off_feed_seen: Some(at(39)), ..good() }).ready());
        let policy = Policy { feeding_required: false, ..standard() };
        assert!(verdict(&Facts { feeding_seen: None, ..good() }, &policy, at(50)).ready());
    }

    #[test]
    fn an_old_look_is_no_look() {
        let fresh = standard().look_fresh;
        holds_for(&Facts { last_look: None, ..good() }, Which::Looked { last: None, fresh });
        holds_for(&Facts { last_look: Some(at(37)), ..good() }, Which::Looked { last: Some(at(37)), fresh });
        assert!(judged(&Facts { last_look: Some(at(38)), ..good() }).ready());
    }

    #[test]
    fn a_bad_sign_speaks_against_it_and_a_habit_does_not() {
        let signs = BTreeSet::from([Sign::OnSide, Sign::Well]);
        let facts = Facts { signs, ..good() };
        holds_for(&facts, Which::NoBadSign { bad: BTreeSet::from([Sign::OnSide]) });
        let species = crate::species::named("clown loach").first().copied();
        assert!(judged(&Facts { species, ..facts }).ready());
    }

    #[test]
    fn lots_in_shared_water_wait_for_the_last_one_in_where_the_site_says_so() {
        let facts = Facts { shared_water_since: Some(at(10)), ..good() };
        assert!(judged(&facts).ready());
        let policy = Policy { shared_water_waits: true, ..standard() };
        let waiting = verdict(&facts, &policy, at(50));
        assert_eq!(waiting.earliest(), Some(at(58)));
        assert!(verdict(&Facts { last_look: Some(at(57)), ..facts }, &policy, at(58)).ready());
    }

    fn any_facts() -> impl Strategy<Value = Facts> {
        let asked =
            prop_oneof![Just(Asked::No), (0i64..70).prop_map(|hour| Asked::Until(at(hour))), Just(Asked::WithoutEnd)];
        let hour = || proptest::option::weighted(0.8, (0i64..50).prop_map(at));
        (
            (0i64..5, asked, 0u32..120, any::<bool>(), 0u32..4),
            (hour(), hour(), hour(), proptest::option::of((0i64..50).prop_map(at))),
            proptest::collection::btree_set((0usize..34).prop_map(|sign| SIGNS[sign]), 0..2),
        )
            .prop_map(
                |((since, hold_asked, living, counted, deaths_lately), (fed, off, looked, shared), signs)| Facts {
                    hold_since: at(since),
                    hold_asked,
                    living,
                    counted,
                    deaths_lately,
                    feeding_seen: fed,
                    off_feed_seen: off,
                    last_look: looked,
                    signs,
                    species: None,
                    kind: Kind::Fish,
                    shared_water_since: shared,
                },
            )
    }

    fn any_policy() -> impl Strategy<Value = Policy> {
        (0u32..60, 0u32..=100, any::<bool>(), 1u32..60, any::<bool>()).prop_map(
            |(hold, most, feeding, fresh, shared)| Policy {
                hold: Hours::new(hold).unwrap(),
                deaths_share_max: Finite::new(f64::from(most) / 4.0).unwrap(),
                feeding_required: feeding,
                look_fresh: Hours::new(fresh).unwrap(),
                shared_water_waits: shared,
                ..standard()
            },
        )
    }

    /// The same facts with one bad thing more.
    fn worse(facts: &Facts, which: usize, hour: i64, sign: usize) -> Facts {
        let mut worse = facts.clone();
        match which {
            0 => worse.hold_since += TimeDelta::hours(hour),
            1 => worse.hold_asked = Asked::WithoutEnd,
            2 if worse.hold_asked == Asked::No => worse.hold_asked = Asked::Until(at(hour)),
            3 => worse.counted = false,
            4 => worse.deaths_lately += 1,
            5 if worse.living > 0 => (worse.living, worse.deaths_lately) = (worse.living - 1, worse.deaths_lately + 1),
            6 => worse.living = 0,
            7 => worse.feeding_seen = None,
            8 => worse.off_feed_seen = worse.off_feed_seen.max(Some(at(hour))),
            9 => worse.last_look = worse.last_look.map(|look| look - TimeDelta::hours(hour)),
            10 => worse.last_look = None,
            11 => worse.shared_water_since = worse.shared_water_since.max(Some(at(hour))),
            _ => {
                worse.signs.insert(SIGNS[sign]);
            }
        }
        worse
    }

    proptest! {
        #[test]
        fn a_bad_fact_more_never_turns_hold_into_ready(
            facts in any_facts(), policy in any_policy(), which in 0usize..13, hour in 0i64..60, sign in 0usize..34,
        ) {
            let before = verdict(&facts, &policy, at(50));
            let after = verdict(&worse(&facts, which, hour, sign), &policy, at(50));
            prop_assert!(before.ready() || !after.ready(), "{:?}", after);
            prop_assert!(after.unmet().count() >= before.unmet().count());
        }

        #[test]
        fn a_stricter_policy_never_turns_hold_into_ready(facts in any_facts(), policy in any_policy(), more in 0u32..50) {
            let stricter = Policy {
                hold: Hours::new(policy.hold.get() + more).unwrap(),
                deaths_share_max: Finite::new(policy.deaths_share_max.get() - f64::from(more)).unwrap(),
                feeding_required: true,
                look_fresh: Hours::new(policy.look_fresh.get().saturating_sub(more)).unwrap(),
                shared_water_waits: true,
                ..policy
            };
            prop_assert!(verdict(&facts, &policy, at(50)).ready() || !verdict(&facts, &stricter, at(50)).ready());
        }

        #[test]
        fn the_earliest_time_told_is_met_then_and_not_before(facts in any_facts(), policy in any_policy()) {
            if let Some(earliest) = verdict(&facts, &policy, at(50)).earliest() {
                prop_assert!(earliest > at(50));
                prop_assert_eq!(verdict(&facts, &policy, earliest).earliest(), None);
                prop_assert!(verdict(&facts, &policy, earliest - TimeDelta::seconds(1)).earliest().is_some());
            }
        }
    }
}
