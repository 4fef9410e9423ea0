//! Quantities of a bag before and after it is opened, and of the ways to bring its fish over.

use super::Quantity;

pub(super) const QUANTITIES: &[Quantity] = &[];
