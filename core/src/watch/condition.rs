//! How the fish in a vessel are, from what was counted and seen.

use std::collections::BTreeSet;

use super::{Hours, Percent};
use crate::message::Sign;
use crate::settings;
use crate::species::{Caution, Kind, Sensitivity, Species};

/// How fish are. The order is from worst to best.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Condition {
    /// Many are weak or dying.
    VeryWeak,
    /// Some are weak or dying, or a grave sign was seen.
    Weak,
    /// A few are weak, or a sign was seen.
    Fair,
    /// Nothing is noted against them.
    Strong,
}

/// What is known of the fish in a vessel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Facts<'a> {
    /// Living fish, weak ones included.
    pub living: u32,
    /// Weak ones among the living.
    pub weak: u32,
    /// Fish found dead within [`ConditionRule::deaths_window`].
    pub dead_lately: u32,
    /// Signs seen at the last look.
    pub signs: &'a BTreeSet<Sign>,
    /// The species, where known and the only one: some lie on their side or gulp air as a habit.
    pub species: Option<&'static Species>,
}

/// The rule: shares of weak and lately dead among the living and lately dead. Made of the site's settings, which hold the defaults.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ConditionRule {
    /// Deaths that count.
    pub deaths_window: Hours,
    /// From this share on they are no better than fair.
    pub fair_from: Percent,
    /// From this share on they are no better than weak.
    pub weak_from: Percent,
    /// From this share on they are very weak.
    pub very_weak_from: Percent,
}

impl From<&settings::Condition> for ConditionRule {
    fn from(condition: &settings::Condition) -> Self {
        ConditionRule {
            deaths_window: Hours::nearest(condition.deaths_window_hours),
            fair_from: Percent::nearest(condition.fair_percent),
            weak_from: Percent::nearest(condition.weak_percent),
            very_weak_from: Percent::nearest(condition.very_weak_percent),
        }
    }
}

impl Default for ConditionRule {
    fn default() -> Self {
        (&settings::Condition::default()).into()
    }
}

/// How the fish are; `None` where none is alive.
///
/// The worst of two findings counts: the share of weak and lately dead fish, and the signs. A grave sign
/// (gasping, spinning, belly up, on the side, brown gills) is never better than weak, any other bad sign never better than fair.
pub fn condition(facts: Facts<'_>, rule: &ConditionRule) -> Option<Condition> {
    if facts.living == 0 {
        return None;
    }
    let whole = facts.living.saturating_add(facts.dead_lately);
    let bad = facts.weak.min(facts.living).saturating_add(facts.dead_lately);
    let by_count = if bad > 0 && rule.very_weak_from.reached_by(bad, whole) {
        Condition::VeryWeak
    } else if bad > 0 && rule.weak_from.reached_by(bad, whole) {
        Condition::Weak
    } else if bad > 0 && rule.fair_from.reached_by(bad, whole) {
        Condition::Fair
    } else {
        Condition::Strong
    };
    let by_signs =
        facts.signs.iter().map(|&sign| no_better_than(sign, facts.species)).min().unwrap_or(Condition::Strong);
    Some(by_count.min(by_signs))
}

/// The best condition that a sign leaves possible. Signs point at no cause; a habit of the species is only worth a second look.
pub fn no_better_than(sign: Sign, species: Option<&Species>) -> Condition {
    use Sign::*;
    let habit = |caution| species.is_some_and(|species| species.has(caution));
    match sign {
        OnSide if habit(Caution::LiesOnSide) => Condition::Fair,
        Gasping if habit(Caution::GulpsAir) => Condition::Fair,
        BellyUp | BrownGills | Gasping | OnSide | Spinning => Condition::Weak,
        Bloated | ClampedFins | CloudyEye | Dark | ExcessMucus | Fighting | FinDamage | Flashing | Fungus | Huddled
        | Listless | OffFeed | Pale | Poorly | Popeye | RedStreaks | Thin | WhiteSpot => Condition::Fair,
        CloudyWater | FoulSmell | Leaking | FlatBag | Warm | Cold => Condition::Fair,
        ClearWater | Fed | Feeding | Lively | Well => Condition::Strong,
    }
}

/// Whether a sign tells anything of this kind. Gills, fins, skin and the way to swim are those of fish: a shrimp on its side
/// may be moulting, a plant does not feed. What is said of water and packing holds for all.
pub fn tells_of(sign: Sign, kind: Kind) -> bool {
    use Sign::*;
    match sign {
        CloudyWater | ClearWater | FoulSmell | Leaking | FlatBag | Warm | Cold | Fed => true,
        Well | Poorly | Pale | Dark => true,
        Lively | Listless | Feeding | OffFeed | Fighting => kind != Kind::Plant,
        BellyUp | Bloated | BrownGills | ClampedFins | CloudyEye | ExcessMucus | FinDamage | Flashing | Fungus
        | Gasping | Huddled | OnSide | Popeye | RedStreaks | Spinning | Thin | WhiteSpot => kind == Kind::Fish,
    }
}

/// Whether fish that show this sign must be seen again very soon, unless it is a habit of theirs.
pub fn is_grave(sign: Sign, species: Option<&Species>) -> bool {
    no_better_than(sign, species) <= Condition::Weak
}

/// The condition by which looks are planned: delicate species are watched as if they were one step worse.
pub fn watched_as(condition: Condition, sensitivity: Sensitivity) -> Condition {
    match (sensitivity, condition) {
        (Sensitivity::Ordinary | Sensitivity::Hardy, condition) => condition,
        (Sensitivity::Delicate, Condition::Strong) => Condition::Fair,
        (Sensitivity::Delicate, Condition::Fair) => Condition::Weak,
        (Sensitivity::Delicate, Condition::Weak | Condition::VeryWeak) => Condition::VeryWeak,
    }
}

#[cfg(test)]
pub(super) mod tests {
    use proptest::prelude::*;

    use super::*;

    pub(in crate::watch) const SIGNS: [Sign; 34] = {
        use Sign::*;
        [
            BellyUp,
            Bloated,
            BrownGills,
            ClampedFins,
            ClearWater,
            CloudyEye,
            CloudyWater,
            Cold,
            Dark,
            ExcessMucus,
            Fed,
            Feeding,
            Fighting,
            FinDamage,
            FlatBag,
            Flashing,
            FoulSmell,
            Fungus,
            Gasping,
            Huddled,
            Leaking,
            Listless,
            Lively,
            OffFeed,
            OnSide,
            Pale,
            Poorly,
            Popeye,
            RedStreaks,
            Spinning,
            Thin,
            Warm,
            Well,
            WhiteSpot,
        ]
    };

    fn of(living: u32, weak: u32, dead_lately: u32, signs: &[Sign]) -> Option<Condition> {
        let signs = signs.iter().copied().collect();
        condition(Facts { living, weak, dead_lately, signs: &signs, species: None }, &ConditionRule::default())
    }

    #[test]
    fn fish_with_nothing_against_them_are_strong() {
        assert_eq!(of(40, 0, 0, &[]), Some(Condition::Strong));
        assert_eq!(of(40, 0, 0, &[Sign::Well, Sign::Feeding]), Some(Condition::Strong));
        assert_eq!(of(100, 1, 0, &[]), Some(Condition::Strong));
    }

    #[test]
    fn weak_and_lately_dead_count_together() {
        assert_eq!(of(50, 1, 0, &[]), Some(Condition::Fair));
        assert_eq!(of(36, 2, 2, &[]), Some(Condition::Weak));
        assert_eq!(of(36, 6, 4, &[]), Some(Condition::VeryWeak));
        assert_eq!(of(4, 4, 0, &[]), Some(Condition::VeryWeak));
    }

    #[test]
    fn where_none_is_alive_there_is_no_condition() {
        assert_eq!(of(0, 0, 40, &[Sign::BellyUp]), None);
    }

    #[test]
    fn a_grave_sign_is_never_better_than_weak() {
        assert_eq!(of(40, 0, 0, &[Sign::Gasping, Sign::Well]), Some(Condition::Weak));
        assert_eq!(of(40, 0, 0, &[Sign::Pale]), Some(Condition::Fair));
        assert_eq!(of(36, 6, 4, &[Sign::Pale]), Some(Condition::VeryWeak));
    }

    #[test]
    fn a_loach_on_its_side_is_not_weak_for_that() {
        let signs = BTreeSet::from([Sign::OnSide]);
        let species = crate::species::named("clown loach").first().copied();
        let facts = Facts { living: 40, weak: 0, dead_lately: 0, signs: &signs, species };
        assert_eq!(condition(facts, &ConditionRule::default()), Some(Condition::Fair));
    }

    #[test]
    fn delicate_fish_are_watched_one_step_closer() {
        assert_eq!(watched_as(Condition::Strong, Sensitivity::Delicate), Condition::Fair);
        assert_eq!(watched_as(Condition::VeryWeak, Sensitivity::Delicate), Condition::VeryWeak);
        assert_eq!(watched_as(Condition::Strong, Sensitivity::Ordinary), Condition::Strong);
    }

    proptest! {
        #[test]
        fn a_weak_fish_a_death_or_a_bad_sign_more_never_makes_them_look_better(
            living in 1u32..200, weak in 0u32..200, dead in 0u32..200, sign in 0usize..34, more in 0usize..34,
        ) {
            let (first, second) = (SIGNS[sign], SIGNS[more]);
            let before = of(living, weak.min(living), dead, &[first]).unwrap();
            prop_assert!(of(living, (weak + 1).min(living), dead, &[first]).unwrap() <= before);
            prop_assert!(of(living, weak.min(living), dead + 1, &[first]).unwrap() <= before);
            prop_assert!(of(living, weak.min(living), dead, &[first, second]).unwrap() <= before);
            // A fish that dies where it was living, and one that turns weak.
            if living > 1 {
                prop_assert!(of(living - 1, weak.min(living - 1), dead + 1, &[first]).unwrap() <= before);
            }
        }
    }
}
