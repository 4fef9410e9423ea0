//! Acts: claims about the world in normal form, as a message states them.
//!
//! The serialised form of [`Said`] is the reader's contract: what `holdfast read` prints and what a frame keeps.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize, Serializer};

use super::{Place, Sign};
use crate::quantity::{Finite, Measure};

/// One act, with the local clock time ("HH:MM") at which the sender says it happened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Said {
    /// What is claimed.
    #[serde(flatten)]
    pub act: Act,
    /// "HH:MM", local, where a time was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub when: Option<String>,
}

impl From<Act> for Said {
    fn from(act: Act) -> Self {
        Said { act, when: None }
    }
}

/// A claim about the world, or a request, in normal form.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "act", rename_all = "snake_case")]
pub enum Act {
    /// A stage of the consignment's way to the house, or its delay.
    Arrive {
        /// The stage reached.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        stage: Option<Stage>,
        /// Delay in minutes.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        delay_min: Option<u32>,
    },
    /// A box or bag is opened.
    Open {
        /// Box or bag.
        at: Place,
    },
    /// A box is finished.
    Done {
        /// The box.
        at: Place,
    },
    /// Fish counted.
    Count(Count),
    /// Water measured.
    Reading(Reading),
    /// Water poured off and replaced.
    Swap {
        /// Where.
        at: Place,
        /// Per cent of the water replaced.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        percent: Option<Finite>,
        /// Litres replaced.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        litres: Option<Finite>,
        /// Corrects an earlier act.
        #[serde(default, skip_serializing_if = "is_false")]
        fix: bool,
    },
    /// Something dosed into the water.
    Dose {
        /// Where.
        at: Place,
        /// Generic product name, lower case.
        product: String,
        /// How much, in `unit`; absent only in a correction of something else.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        amount: Option<Finite>,
        /// Its unit.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        unit: Option<DoseUnit>,
        /// Corrects an earlier act.
        #[serde(default, skip_serializing_if = "is_false")]
        fix: bool,
    },
    /// Fish moved.
    Move {
        /// The destination.
        to: Place,
        /// Where they were, if said or carried.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Place>,
        /// How many; all of them where absent.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        count: Option<u32>,
        /// Which fish, where said.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        species: Option<String>,
        /// Corrects an earlier act.
        #[serde(default, skip_serializing_if = "is_false")]
        fix: bool,
    },
    /// Signs seen.
    Observe {
        /// Where.
        at: Place,
        /// The signs, sorted.
        signs: BTreeSet<Sign>,
    },
    /// Look again.
    Recheck {
        /// Where.
        at: Place,
        /// In so many minutes.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        in_min: Option<u32>,
        /// At this local clock time, "HH:MM".
        #[serde(default, skip_serializing_if = "Option::is_none")]
        clock: Option<String>,
    },
    /// Keep from sale.
    Hold {
        /// Where.
        at: Place,
        /// For so many hours.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        hours: Option<Finite>,
        /// Until this local date or date and time (`YYYY-MM-DD` or `YYYY-MM-DDTHH:MM`).
        #[serde(default, skip_serializing_if = "Option::is_none")]
        until: Option<String>,
        /// The sender's reason.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        why: Option<String>,
    },
    /// Free for sale.
    Clear {
        /// Tank or lot.
        at: Place,
        /// Only so many.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        count: Option<u32>,
        /// The reason for clearing against the policy.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        anyway: Option<String>,
    },
    /// Promise fish to a buyer.
    Reserve {
        /// How many; absent only in a correction of something else.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        count: Option<u32>,
        /// From where.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at: Option<Place>,
        /// Which fish.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        species: Option<String>,
        /// For whom.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        buyer: Option<String>,
        /// Corrects an earlier act.
        #[serde(default, skip_serializing_if = "is_false")]
        fix: bool,
    },
    /// Fish left the house.
    Ship {
        /// From where: tank, lot, or a box passed on unopened.
        at: Place,
        /// How many; all that may go where absent.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        count: Option<u32>,
        /// To whom.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        buyer: Option<String>,
        /// Corrects an earlier act.
        #[serde(default, skip_serializing_if = "is_false")]
        fix: bool,
    },
    /// Put the reminder off.
    Later {
        /// By so many minutes.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        in_min: Option<u32>,
    },
    /// Words to keep.
    Note {
        /// The words.
        text: String,
        /// About where.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at: Option<Place>,
    },
    /// A question the assistant can answer.
    Ask {
        /// About what.
        about: About,
        /// About which place.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at: Option<Place>,
        /// About which fish.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        species: Option<String>,
    },
    /// Take back the sender's last report.
    Undo,
    /// Tanks, trays and the like are declared.
    Vessels {
        /// Their names, ranges written out.
        names: Vec<String>,
        /// What they are.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        kind: Option<VesselKind>,
        /// Litres of each.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        litres: Option<Finite>,
        /// The water system they share.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        system: Option<String>,
    },
}

impl Act {
    /// Whether it corrects an earlier act.
    pub fn is_fix(&self) -> bool {
        match self {
            Act::Count(count) => count.fix,
            Act::Reading(water) => water.fix,
            Act::Swap { fix, .. }
            | Act::Dose { fix, .. }
            | Act::Move { fix, .. }
            | Act::Reserve { fix, .. }
            | Act::Ship { fix, .. } => *fix,
            _ => false,
        }
    }

    /// Names the fish of an act that can be of some fish; other acts stay as they are.
    pub fn set_species(&mut self, fish: &str) {
        match self {
            Act::Count(Count { species, .. }) | Act::Move { species, .. } | Act::Reserve { species, .. } => {
                *species = Some(fish.to_owned());
            }
            _ => {}
        }
    }
}

/// A census (box, bag), newly found deaths or a stock-take (tray, tank, lot). Whole fish.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Count {
    /// Where.
    pub at: Place,
    /// Living fish that are not weak.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sound: Option<u32>,
    /// Every living fish, weak ones included.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub alive: Option<u32>,
    /// Living fish that are weak.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weak: Option<u32>,
    /// Dead fish.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dead: Option<u32>,
    /// Fish that are not there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub missing: Option<u32>,
    /// Fish more than listed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub extra: Option<u32>,
    /// Out of how many.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub of: Option<u32>,
    /// Every fish there is in this state.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub all: Option<State>,
    /// The number adds to an earlier one.
    #[serde(default, skip_serializing_if = "is_false")]
    pub more: bool,
    /// Fish counted dead that came round.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub revived: Option<u32>,
    /// Fish killed by the crew.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub culled: Option<u32>,
    /// The fish that came instead of the listed ones.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub got: Option<String>,
    /// Which fish, where said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub species: Option<String>,
    /// Corrects an earlier act.
    #[serde(default, skip_serializing_if = "is_false")]
    pub fix: bool,
}

impl Count {
    /// A count that says nothing yet about a place.
    pub fn at(at: Place) -> Self {
        Count {
            at,
            sound: None,
            alive: None,
            weak: None,
            dead: None,
            missing: None,
            extra: None,
            of: None,
            all: None,
            more: false,
            revived: None,
            culled: None,
            got: None,
            species: None,
            fix: false,
        }
    }
}

/// Measured water at a place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// Where.
    pub at: Place,
    /// Values in the unit of their measure.
    #[serde(flatten)]
    pub values: BTreeMap<Measure, Finite>,
    /// Measures whose value is a lower bound.
    #[serde(default, skip_serializing_if = "BTreeSet::is_empty", serialize_with = "by_name")]
    pub over: BTreeSet<Measure>,
    /// Corrects an earlier act.
    #[serde(default, skip_serializing_if = "is_false")]
    pub fix: bool,
}

/// Measures in the order of their names, as the contract writes them.
fn by_name<S: Serializer>(measures: &BTreeSet<Measure>, serializer: S) -> Result<S::Ok, S::Error> {
    let mut names: Vec<&str> = measures.iter().map(|measure| measure.key()).collect();
    names.sort_unstable();
    names.serialize(serializer)
}

/// What "all" fish of a place are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum State {
    /// All living.
    Alive,
    /// All weak.
    Weak,
    /// All dead.
    Dead,
}

/// The stages of a consignment's way to the house.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stage {
    /// The flight is down.
    Landed,
    /// Customs released it. Never "cleared", which is ours and means free for sale.
    CustomsCleared,
    /// Collected from the carrier.
    Collected,
    /// In the fish house.
    InHouse,
}

/// Units of a dose, as said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DoseUnit {
    /// Millilitre.
    Ml,
    /// Litre.
    L,
    /// Gram.
    G,
    /// Kilogram.
    Kg,
    /// Milligram.
    Mg,
    /// Drop.
    Drop,
    /// Teaspoon.
    Tsp,
    /// Tablespoon.
    Tbsp,
    /// Bottle cap.
    Cap,
    /// Scoop.
    Scoop,
    /// Pinch.
    Pinch,
    /// Pump stroke.
    Pump,
    /// Ounce by weight.
    Oz,
    /// Fluid ounce.
    FlOz,
    /// Cup.
    Cup,
}

/// What an [`Act::Ask`] is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum About {
    /// What must be looked at and when.
    Due,
    /// The whole night.
    Board,
    /// One place.
    Place,
    /// What is for sale or in the house.
    Stock,
    /// How many died.
    Deaths,
    /// Which box next.
    Order,
    /// How to bring a bag over.
    Plan,
    /// Claims and their dates.
    Claim,
    /// Who wants or has reserved what.
    Buyers,
    /// How to use the assistant.
    Help,
}

/// What a vessel is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum VesselKind {
    /// A tank.
    Tank,
    /// An acclimation tray.
    Tray,
    /// A tub.
    Tub,
    /// A sump.
    Sump,
    /// A tap: a source of water.
    Tap,
}

fn is_false(value: &bool) -> bool {
    !*value
}
