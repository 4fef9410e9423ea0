//! Species: names, aliases, needs, cautions, and the CITES listings.
//!
//! The table is `facts.csv` beside this file; each row says where it comes from. It helps to read lists and to warn.
//! It never decides what a fish is: where a name fits several, all are given back and somebody is asked.

mod caution;
mod cites;
mod kinds;
mod letters;
mod names;
mod rows;
mod scientific;

pub use caution::{Caution, Cautioned, Mark};
pub use cites::{Appendix, Fit, Listing, Since, cites, listings};
pub use kinds::{group_words, kind_named, kind_of};
pub use names::{Match, named, resolve};
pub use rows::{RowError, table};

/// One row of the table.
#[derive(Debug, Clone, PartialEq)]
pub struct Species {
    /// Common names, lower case; the first is the canonical one.
    pub common: Vec<String>,
    /// The scientific name as the source writes it, remarks such as "spp." included.
    pub scientific: String,
    /// Scientific names that mean this row: plain binomials, and `Genus *` where the row stands for a whole genus.
    pub binomials: Vec<String>,
    /// Adult size in centimetres: total length, or disc width for rays.
    pub adult_size_cm: f64,
    /// The family.
    pub family: String,
    /// The water it lives in.
    pub water: Water,
    /// Usual temperature range, °C.
    pub temp_c: Span,
    /// Usual pH range.
    pub ph: Span,
    /// Fish, invertebrate or plant.
    pub kind: Kind,
    /// What to mind with it.
    pub cautions: Vec<Cautioned>,
    /// How it takes transport, where the notes support a word.
    pub sensitivity: Sensitivity,
    /// Remarks, as the source has them.
    pub notes: String,
    /// Where the row comes from and how far it was verified.
    pub source: String,
}

impl Species {
    /// The canonical common name, lower case.
    pub fn name(&self) -> &str {
        // The parser refuses a row without a name.
        &self.common[0]
    }

    /// Whether the row carries this caution.
    pub fn has(&self, caution: Caution) -> bool {
        self.cautions.iter().any(|cautioned| cautioned.caution == caution)
    }

    /// Cautions for the hands and eyes of the crew, before those for the fish.
    pub fn harms_people(&self) -> impl Iterator<Item = Cautioned> + '_ {
        self.cautions.iter().copied().filter(|cautioned| cautioned.caution.harms_people())
    }
}

/// The water a species lives in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Water {
    /// Fresh water.
    Fresh,
    /// Brackish water, or fresh to brackish.
    Brackish,
    /// Sea water.
    Marine,
}

/// What a row, or a line of a list, is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Kind {
    /// A fish.
    #[default]
    Fish,
    /// Any other animal: shrimp, snail, coral, clam.
    Invertebrate,
    /// A plant or moss.
    Plant,
}

/// How a species takes transport and new water. Only rows whose notes say so leave the middle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sensitivity {
    /// Known for losses after transport: open early, look often.
    Delicate,
    /// Nothing particular is noted.
    Ordinary,
    /// Known to bear poor water.
    Hardy,
}

/// A range, both ends included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// The lower end.
    pub low: f64,
    /// The upper end, not below the lower.
    pub high: f64,
}

impl Span {
    /// Whether the value lies in the range.
    pub fn holds(self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }
}

#[cfg(test)]
mod tests;
