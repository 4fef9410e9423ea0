//! Why a message asks.

use super::Place;
use crate::quantity::Measure;

/// Why a message cannot be read without guessing.
#[derive(Debug, Clone, PartialEq)]
pub enum Doubt {
    /// No place is named or carried, or the one named does not exist here.
    WhichPlace,
    /// A place was named in full that is not here; the places of its kind that are.
    NotHere {
        /// As said.
        said: Place,
        /// What is here of that kind, in the house's order.
        there: Vec<Place>,
    },
    /// The box of a bag is not known, or there is no such bag.
    WhichBag,
    /// One number of fish, several places.
    WhichOf(Vec<Place>),
    /// Fish were moved, it is not said where to.
    WhereTo,
    /// A number of fish is vague or missing; the field of the act.
    HowMany(String),
    /// A reading is a range or only a bound.
    WhichValue(Measure),
    /// A reading that water cannot show.
    Implausible(Measure),
    /// A number without a unit where two units are possible.
    WhichUnit,
    /// A dose without its product.
    WhichProduct,
    /// A dose or a share of water without an amount.
    HowMuch,
    /// A name that fits several fish.
    WhichSpecies(Vec<String>),
    /// A reservation that does not say of which fish.
    WhichFish,
    /// A name that fits several buyers.
    WhichBuyer,
    /// A time that is not certain.
    WhenExactly,
    /// A bare number with no question open.
    WhatNumber,
    /// A correction that does not say of what.
    WhatCorrected,
    /// A place corrected after it was recorded.
    WhichPlaceCorrected,
    /// "cleared out": emptied, or free for sale?
    ClearedOut,
}
