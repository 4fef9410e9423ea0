//! Signs: what a crew sees on fish, in water and on packing. Never a diagnosis.

use serde::{Deserialize, Serialize};

/// One sign, in the contract's spelling.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "each variant is the plain English word for the sign")]
pub enum Sign {
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
}
