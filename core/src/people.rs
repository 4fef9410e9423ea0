//! Roles and what each may do: one table.

/// What a person is to the house.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// Opens boxes, counts, moves, looks.
    Crew,
    /// Decides, clears.
    Lead,
    /// Claims, registers, prices.
    Office,
    /// The retailer downstream.
    Buyer,
}
