//! Places as a message names them.

use serde::{Deserialize, Serialize};

/// A place as said: the consignment a box belongs to is found out by the desk, not by the reader.
///
/// Its serialised form is the contract's: `{"box":7,"bag":2}`, `{"tray":"3"}`, `{"tank":"A12"}`, `{"lot":43}`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Place {
    /// One bag of a box.
    Bag {
        /// The box's number.
        #[serde(rename = "box")]
        number: u32,
        /// The bag's number in that box, from 1.
        bag: u32,
    },
    /// A whole box.
    Box {
        /// The box's number.
        #[serde(rename = "box")]
        number: u32,
    },
    /// An acclimation tray.
    Tray {
        /// The tray's name.
        tray: String,
    },
    /// A tank, tub or sump, spelled as it was declared.
    Tank {
        /// The tank's name.
        tank: String,
    },
    /// A lot, by its number.
    Lot {
        /// The lot's number.
        lot: u32,
    },
}
