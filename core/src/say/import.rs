//! What is said when a packing list comes.

use std::cmp::Ordering;

use rust_decimal::Decimal;

use crate::consignment::{Answer, Asks, ColumnUse, ListColumn, Unfit};
use crate::message::Choice;
use crate::species::{Fit, Listing};

/// How many notes of a list, and how many of its changes, are told; the rest is counted.
const MOST_LINES: usize = 10;

/// What a list says, in numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Summary {
    /// The supplier, where named.
    pub supplier: Option<String>,
    /// The airway bill.
    pub awb: Option<String>,
    /// Boxes.
    pub boxes: usize,
    /// Bags, a line without a number of bags counted as one.
    pub bags: u32,
    /// Fish, the sum of the lines.
    pub fish: u64,
    /// Kinds of fish.
    pub species: usize,
    /// Fish as the list's own total says.
    pub stated: Option<u64>,
    /// Lines without a box number.
    pub no_box: usize,
    /// The columns as understood.
    pub columns: Vec<ListColumn>,
    /// The currency of the prices.
    pub currency: Option<String>,
    /// What is doubtful and no answer changes.
    pub notes: Vec<String>,
}

/// "31 boxes, 74 bags, 2,114 fish, 19 species; list says 2,114", then the columns and what is doubtful.
pub fn read_back(summary: &Summary) -> String {
    let head = match (&summary.supplier, &summary.awb) {
        (Some(supplier), Some(awb)) => format!("{supplier}, AWB {awb}: "),
        (Some(supplier), None) => format!("{supplier}: "),
        (None, Some(awb)) => format!("AWB {awb}: "),
        (None, None) => String::new(),
    };
    let stated = match summary.stated {
        Some(stated) => {
            let apart = thousands(stated.abs_diff(summary.fish));
            let apart = match stated.cmp(&summary.fish) {
                Ordering::Less => format!(", {apart} fewer"),
                Ordering::Equal => String::new(),
                Ordering::Greater => format!(", {apart} more"),
            };
            format!("; list says {}{apart}", thousands(stated))
        }
        None => "; the list states no total".to_owned(),
    };
    let mut lines = vec![format!(
        "{head}{}, {}, {} fish, {} species{stated}.",
        super::in_boxes(summary.boxes),
        super::counted(summary.bags.into(), "bag", "bags"),
        thousands(summary.fish),
        summary.species
    )];
    lines.extend(columns(&summary.columns, summary.currency.as_deref()));
    lines.extend(summary.notes.iter().take(MOST_LINES).map(|note| format!("? {note}")));
    if summary.notes.len() > MOST_LINES {
        lines.push(format!("? and {} more", summary.notes.len() - MOST_LINES));
    }
    if summary.no_box > 0 {
        lines.push(match summary.no_box {
            1 => "1 line has no box number: it stands under box 0.".to_owned(),
            count => format!("{count} lines have no box number: they stand under box 0."),
        });
    }
    lines.join("\n")
}

/// The question behind [`read_back`].
pub fn import_it() -> &'static str {
    "Import it?"
}

/// One line a sheet: "A box · C species · D bags · F total pieces · G price USD".
fn columns(columns: &[ListColumn], currency: Option<&str>) -> Vec<String> {
    let mut sheets: Vec<Option<&str>> = columns.iter().map(|column| column.sheet.as_deref()).collect();
    sheets.dedup();
    let line = |sheet: &Option<&str>| {
        let used: Vec<String> = columns
            .iter()
            .filter(|column| column.sheet.as_deref() == *sheet)
            .filter(|column| !matches!(column.meaning, ColumnUse::Unused | ColumnUse::Unknown))
            .map(|column| match (column.meaning, currency) {
                (ColumnUse::Price, Some(currency)) => format!("{} price {currency}", column.column),
                (meaning, _) => format!("{} {}", column.column, column_use(meaning)),
            })
            .collect();
        let name = sheet.filter(|_| sheets.len() > 1).map(|name| format!("{name}: ")).unwrap_or_default();
        (!used.is_empty()).then(|| format!("Columns: {name}{}", used.join(" · ")))
    };
    sheets.iter().filter_map(line).collect()
}

/// What a column is, in plain words; each can be typed back.
pub fn column_use(meaning: ColumnUse) -> &'static str {
    match meaning {
        ColumnUse::Box => "box",
        ColumnUse::BagNumber => "bag number",
        ColumnUse::Bags => "bags",
        ColumnUse::BagsPerBox => "bags per box",
        ColumnUse::Species => "species",
        ColumnUse::Scientific => "scientific name",
        ColumnUse::Size => "size",
        ColumnUse::PerBag => "pieces per bag",
        ColumnUse::PerBox => "pieces per box",
        ColumnUse::Quantity => "total pieces",
        ColumnUse::Total => "total",
        ColumnUse::Price => "price",
        ColumnUse::GrossWeight => "gross weight",
        ColumnUse::Unused => "ignored",
        ColumnUse::Unknown => "not understood",
    }
}

/// What a column is taken for from now on. `kept` is the supplier for whose lists it is remembered.
pub fn column_is(column: &str, meaning: ColumnUse, kept: Option<&str>) -> String {
    let kept = kept.map(|supplier| format!(", kept for {supplier}")).unwrap_or_default();
    format!("column {column} is {}{kept}", column_use(meaning))
}

/// A doubt of a list, the nth of so many.
pub fn doubt(nth: u32, of: usize, text: &str) -> String {
    if of < 2 && nth < 2 { text.to_owned() } else { format!("{nth} of {of}: {text}") }
}

/// The ways to answer a doubt by button. `more` says whether other doubts follow.
pub fn doubt_choices(asks: &Asks, more: bool) -> Vec<Choice> {
    let labels: Vec<String> = match asks {
        Asks::Fish { choices, .. } => choices.iter().map(u32::to_string).collect(),
        Asks::Price { choices } => choices.iter().map(Decimal::to_string).collect(),
        Asks::Currency { choices } => choices.clone(),
        Asks::LeftOut { .. } | Asks::Box | Asks::Split { .. } | Asks::Size => Vec::new(),
    };
    let mut choices: Vec<Choice> = labels.iter().map(|label| words(label, &[])).collect();
    choices.push(words(
        "leave it",
        &["as read", "as it is", "leave", "skip", "skip it", "keep it", "don't know", "dont know"],
    ));
    if more {
        choices
            .push(words("rest as read", &["skip all", "all as read", "skip the rest", "skip rest", "leave the rest"]));
    }
    choices
}

/// A doubt was answered. `place` is the sheet and row.
pub fn settled(place: &str, asks: &Asks, answer: &Answer) -> String {
    let said = match (asks, answer) {
        (Asks::LeftOut { .. }, Answer::AsRead) => "left out".to_owned(),
        (_, Answer::AsRead) => "as read".to_owned(),
        (_, Answer::Fish(fish)) => {
            let parts: Vec<String> = fish.iter().map(u32::to_string).collect();
            format!("{} fish", parts.join(", "))
        }
        (_, Answer::Box(number)) => format!("box {number}"),
        (_, Answer::Price(price)) => format!("{price} each"),
        (_, Answer::Words(words)) => words.clone(),
    };
    if place.is_empty() { said } else { format!("{place}: {said}") }
}

/// All doubts that were left are as read.
pub fn rest_as_read(count: usize) -> String {
    format!("{} left as read", super::counted(u64::try_from(count).unwrap_or(u64::MAX), "question", "questions"))
}

/// An answer that does not fit what was asked.
pub fn unfit(unfit: &Unfit) -> String {
    match unfit {
        Unfit::NotAsked => "That does not answer it.".to_owned(),
        Unfit::NotDivisible { fish: 0, .. } => "No fish at all is \"leave it\".".to_owned(),
        Unfit::NotDivisible { fish, boxes } => format!("{fish} do not divide over {boxes} boxes."),
        Unfit::NotForEachBox { boxes } => {
            let boxes: Vec<String> = boxes.iter().map(u32::to_string).collect();
            format!("Say one number for each of boxes {}, or one box.", boxes.join(", "))
        }
    }
}

/// What a corrected list changes in the books.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Change {
    /// Fish of one kind in one box.
    Fish {
        /// The box.
        number: u32,
        /// The fish.
        species: String,
        /// How many were listed.
        was: u32,
        /// How many are now.
        is: u32,
    },
    /// The same fish, in other bags.
    Bags {
        /// The box.
        number: u32,
    },
    /// A box that was not listed.
    New {
        /// The box.
        number: u32,
        /// Fish in it.
        fish: u32,
    },
    /// A box that is listed no more.
    Gone {
        /// The box.
        number: u32,
        /// Whether it was opened, and stays as it was listed.
        kept: bool,
    },
    /// Prices of so many kinds of fish.
    Prices(usize),
    /// A paper's number or date.
    Paper {
        /// What it is.
        what: &'static str,
        /// What it says now.
        is: String,
    },
}

fn change(change: &Change) -> String {
    match change {
        Change::Fish { number, species, was: 0, is } => format!("box {number}: {is} {species} new"),
        Change::Fish { number, species, was, is: 0 } => format!("box {number}: {was} {species} gone"),
        Change::Fish { number, species, was, is } => format!("box {number}: {was} → {is} {species}"),
        Change::Bags { number } => format!("box {number}: the same fish in other bags"),
        Change::New { number, fish } => format!("box {number} new, {fish} fish"),
        Change::Gone { number, kept: true } => format!("box {number} gone, but opened: stays as it was listed"),
        Change::Gone { number, kept: false } => format!("box {number} gone"),
        Change::Prices(1) => "1 price".to_owned(),
        Change::Prices(count) => format!("{count} prices"),
        Change::Paper { what, is } => format!("{what} {is}"),
    }
}

/// What a corrected list changes, and whether to.
pub fn changes(supplier: &str, changes: &[Change]) -> String {
    let mut lines = vec![format!("This changes the list of {supplier}:")];
    lines.extend(changes.iter().take(MOST_LINES).map(change));
    if changes.len() > MOST_LINES {
        let more = u64::try_from(changes.len() - MOST_LINES).unwrap_or(u64::MAX);
        lines.push(format!("and {}", super::counted(more, "more change", "more changes")));
    }
    lines.push("What was counted stays counted. Change it?".to_owned());
    lines.join("\n")
}

/// A corrected list was booked.
pub fn corrected(supplier: &str, boxes: usize, fish: u32, notes: &[String]) -> String {
    let head = format!("Corrected {supplier}: {}, {} fish listed.", super::in_boxes(boxes), thousands(fish.into()));
    std::iter::once(head).chain(notes.iter().cloned()).collect::<Vec<_>>().join("\n")
}

/// What a corrected list made of the fish short and extra in a box: as it was, and as it is now.
pub fn found_against_list(number: u32, was: (u32, u32), is: (u32, u32)) -> String {
    let words = |(short, extra): (u32, u32)| match (short, extra) {
        (0, 0) => "balanced".to_owned(),
        (short, 0) => format!("{short} short"),
        (0, extra) => format!("{extra} extra"),
        (short, extra) => format!("{short} short, {extra} extra"),
    };
    format!("box {number}: {} now, was {}", words(is), words(was))
}

/// An opened box that a corrected list does not have.
pub fn gone_box(number: u32, found: u32) -> String {
    format!(
        "Box {number} is not on the new list, but it was opened: {found} fish found in it. Keep it as listed, or are they extra?"
    )
}

/// The ways to answer [`gone_box`].
pub fn gone_choices() -> Vec<Choice> {
    vec![
        words("keep it", &["keep", "as listed", "leave it", "stays", "k"]),
        words("extra", &["they are extra", "not listed", "all extra"]),
    ]
}

/// The ways to answer [`changes`].
pub fn change_choices() -> Vec<Choice> {
    vec![
        words("change it", &["yes", "y", "ok", "yep", "yeah", "change", "go", "import", "import it"]),
        words("leave it", &["no", "n", "leave", "don't", "dont"]),
        words("another consignment", &["another", "other consignment", "new consignment", "it is another"]),
    ]
}

/// The ways to answer a list that was read back. `replaces` is the supplier whose open list it may take the place of.
pub fn import_choices(replaces: Option<&str>) -> Vec<Choice> {
    let mut choices = vec![
        words("import", &["yes", "y", "ok", "yep", "yeah", "import it", "go"]),
        words("leave it", &["no", "n", "leave", "don't", "dont"]),
    ];
    if let Some(supplier) = replaces {
        let label = format!("replaces the {supplier} list");
        choices.push(words(&label, &["replaces", "replace", "it replaces", "it replaces the list", "replace it"]));
    }
    choices
}

fn words(label: &str, others: &[&str]) -> Choice {
    let mut words = vec![label.to_owned()];
    words.extend(others.iter().map(|word| (*word).to_owned()));
    Choice { label: label.to_owned(), words }
}

/// A list was booked.
pub fn imported(supplier: &str, boxes: usize, fish: u64, notes: &[String]) -> String {
    let head = format!("Imported {supplier}: {}, {} fish.", super::in_boxes(boxes), thousands(fish));
    std::iter::once(head).chain(notes.iter().cloned()).collect::<Vec<_>>().join("\n")
}

/// The name of a supplier whose list does not name it.
pub fn unnamed_supplier(no: u32) -> String {
    format!("consignment {no}")
}

/// A name was matched.
pub fn matched(listed_as: &str, name: &str) -> String {
    format!("\"{listed_as}\" is {name}, kept for this supplier")
}

/// What was taken for no fish, so that a wrong guess is seen before the yes.
pub fn not_fish(invertebrates: &[String], plants: &[String]) -> String {
    let named = |what: &str, names: &[String]| {
        let more = names.len().saturating_sub(MOST_LINES);
        let shown = names[..names.len() - more].join(", ");
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        (!names.is_empty()).then(|| format!("{what} {shown}{more}"))
    };
    let kinds: Vec<String> =
        [named("invertebrates", invertebrates), named("plants", plants)].into_iter().flatten().collect();
    format!("Not fish: {}.", kinds.join("; "))
}

/// Listed species are on the list: "CITES: seahorse, Appendix II (Hippocampus spp.). Check its papers …".
pub fn listed_species(listed: &[(String, Listing)]) -> String {
    let one = |(species, listing): &(String, Listing)| {
        let maybe = if listing.fit == Fit::Certain { "" } else { " maybe" };
        format!("{species}{maybe}, Appendix {} ({})", listing.appendix, listing.listed_as)
    };
    let papers = if listed.len() == 1 { "Check its papers" } else { "Check their papers" };
    let listed: Vec<String> = listed.iter().map(one).collect();
    format!("CITES: {}. {papers}. This is not legal advice.", listed.join("; "))
}

/// A number with its thousands apart, as in "2,114".
pub fn thousands(number: u64) -> String {
    let digits = number.to_string();
    let mut out = String::new();
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out
}
