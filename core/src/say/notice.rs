//! What leads hear without asking.

/// A buyer reserved fish.
pub fn reserved_by(buyer: &str, species: &str, count: u32) -> String {
    format!("{buyer} reserved {count} {species}.")
}

/// Deaths cut a reservation.
pub fn reservation_cut(buyer: &str, species: &str, left: u32, promised: u32) -> String {
    format!("{buyer}: deaths leave {left} of {promised} {species} reserved.")
}

/// What a person said elsewhere was taken back by somebody else.
pub fn taken_back(by: &str, what: &str) -> String {
    format!("{by} took back what you said: {what}")
}
