//! What a buyer hears: cleared stock and its own reservations, nothing else of the house.

use rust_decimal::Decimal;

/// A lot as a buyer may know it.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// The lot's number.
    pub lot: u32,
    /// The fish.
    pub species: String,
    /// Their size, as listed.
    pub size: Option<String>,
    /// How many are free.
    pub fish: u32,
    /// Price of one.
    pub price: Option<(Decimal, String)>,
}

/// One line of an offer: "36 clown loach 2\", lot 43, 2.50 EUR each".
pub fn offer(offer: &Offer) -> String {
    let size = offer.size.as_ref().map(|size| format!(" {size}")).unwrap_or_default();
    let price = offer.price.as_ref().map(|(price, currency)| format!(", {price} {currency} each")).unwrap_or_default();
    format!("{} {}{size}, lot {}{price}", offer.fish, offer.species, offer.lot)
}

/// Fish were cleared.
pub fn cleared(cleared: &Offer) -> String {
    format!("Now for sale: {}. Say how many you want.", offer(cleared))
}

/// What is for sale.
pub fn for_sale(offers: &[Offer]) -> String {
    if offers.is_empty() {
        return "Nothing is cleared for sale right now.".to_owned();
    }
    let lines: Vec<String> = offers.iter().map(offer).collect();
    format!("For sale:\n{}", lines.join("\n"))
}

/// Fish were reserved for the buyer.
pub fn reserved(species: &str, count: u32) -> String {
    format!("Reserved for you: {count} {species}.")
}

/// A reservation was cut: fish died, or are not there.
pub fn cut(species: &str, lost: u32, left: u32) -> String {
    let left = match left {
        0 => "None is left for you.".to_owned(),
        1 => "1 is still reserved for you.".to_owned(),
        left => format!("{left} are still reserved for you."),
    };
    format!("Sorry, we lost {lost} of your {species}. {left}")
}

/// An offer was taken back.
pub fn not_for_sale(offer: &Offer) -> String {
    format!("Correction: the {} of lot {} are not for sale yet.", offer.species, offer.lot)
}

/// A shipment was taken back.
pub fn not_shipped(species: &str, count: u32) -> String {
    format!("Correction: {count} {species} are not on the way to you yet.")
}

/// A reservation was changed back.
pub fn corrected(reservations: &[(String, u32)]) -> String {
    format!("Correction. {}", own(reservations))
}

/// Fish are on their way.
pub fn shipped(species: &str, count: u32) -> String {
    format!("On the way to you: {count} {species}.")
}

/// The buyer's own reservations.
pub fn own(reservations: &[(String, u32)]) -> String {
    if reservations.is_empty() {
        return "You have nothing reserved.".to_owned();
    }
    let parts: Vec<String> = reservations.iter().map(|(species, count)| format!("{count} {species}")).collect();
    format!("Reserved for you: {}.", parts.join(", "))
}

/// A buyer asked for what only the house may know.
pub fn only_stock() -> String {
    "I can tell you what is for sale and what is reserved for you.".to_owned()
}
