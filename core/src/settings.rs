//! What a site decides once. `desk::step` reads it and writes the result into events, so that a changed setting never
//! rewrites history.

use chrono_tz::Tz;

use crate::message::Gallon;

/// The site's settings. Every one has a default.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// The site's zone; clock times are local to it.
    pub zone: Tz,
    /// What "gallon" means.
    pub gallon: Gallon,
}

impl Default for Settings {
    fn default() -> Self {
        Settings { zone: Tz::UTC, gallon: Gallon::Us }
    }
}
