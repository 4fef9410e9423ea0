//! Wire types of consignments, boxes and bags.

use chrono::{DateTime, Utc};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::mirror::mirror;
use crate::consignment;
use crate::message::Stage;

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Consignment {
    supplier: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    awb: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    invoice: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    packed_at: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    currency: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    gross_kg: Option<Decimal>,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    unlisted: bool,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    announced: Option<u32>,
    lines: Vec<Line>,
    stages: Vec<(Stage, DateTime<Utc>)>,
    #[serde(skip_serializing_if = "Option::is_none")]
    delay_min: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    finished: Option<DateTime<Utc>>,
}

mirror!(struct Consignment, consignment::Consignment {
    supplier,
    awb,
    invoice,
    packed_at,
    currency,
    gross_kg,
    unlisted,
    announced,
    lines: list,
    stages: pairs,
    delay_min,
    finished,
});

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Line {
    listed_as: String,
    species: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    scientific: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    size: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit_price: Option<Decimal>,
    #[serde(skip_serializing_if = "Option::is_none")]
    instead_of: Option<u32>,
    // Came later: a line without it is taken for fish.
    #[serde(default, skip_serializing_if = "is_fish")]
    kind: Kind,
}

mirror!(struct Line, consignment::Line { listed_as, species, kind, scientific, size, unit_price, instead_of });

#[derive(Serialize, Deserialize, Default, PartialEq)]
#[serde(rename_all = "snake_case")]
pub(super) enum Kind {
    #[default]
    Fish,
    Invertebrate,
    Plant,
}

mirror!(enum Kind, crate::species::Kind { Fish, Invertebrate, Plant });

fn is_fish(kind: &Kind) -> bool {
    *kind == Kind::Fish
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct BoxRecord {
    contents: Vec<Content>,
    #[serde(skip_serializing_if = "Option::is_none")]
    opened: Option<DateTime<Utc>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    finished: Option<DateTime<Utc>>,
    standing: Standing,
    pinned: bool,
}

mirror!(struct BoxRecord, consignment::BoxRecord { contents: list, opened, finished, standing, pinned });

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(super) enum Standing {
    Expected,
    Late,
    Lost,
    PassedOn(String),
}

mirror!(enum Standing, consignment::Standing { Expected, Late, Lost, PassedOn(buyer) });

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Content {
    line: u32,
    #[serde(skip_serializing_if = "Option::is_none")]
    bag: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    bags: Option<u32>,
    fish: u32,
    // Came later: a content without it has no free fish that anybody knows of.
    #[serde(default, skip_serializing_if = "is_nothing")]
    free: u32,
}

mirror!(struct Content, consignment::Content { line, bag, bags, fish, free });

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct BagRecord {
    #[serde(skip_serializing_if = "Option::is_none")]
    opened: Option<DateTime<Utc>>,
    census: Vec<(u32, Census)>,
}

mirror!(struct BagRecord, consignment::BagRecord { opened, census: pairs });

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Census {
    expected: u32,
    #[serde(skip_serializing_if = "Option::is_none")]
    sound: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    alive: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    weak: Option<u32>,
    dead: u32,
    culled: u32,
    missing: u32,
    extra: u32,
    wrong: u32,
    // Came later: a bag without it has just its share.
    #[serde(default, skip_serializing_if = "is_nothing")]
    uneven: u32,
}

fn is_nothing(count: &u32) -> bool {
    *count == 0
}

mirror!(struct Census, consignment::Census { expected, sound, alive, weak, dead, culled, missing, extra, wrong, uneven });

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct PackingList {
    file: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    awb: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    invoice: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    supplier: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    packed_at: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    currency: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    gross_kg: Option<Decimal>,
    lines: Vec<ListLine>,
    total_qty: u64,
    #[serde(skip_serializing_if = "Option::is_none")]
    stated_total: Option<u64>,
    questions: Vec<String>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    doubts: Vec<ListDoubt>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    columns: Vec<ListColumn>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    kept: Option<KeptFile>,
    /// The shell has kept it by the time a frame is written.
    #[serde(skip)]
    original: Option<consignment::Original>,
}

mirror!(struct PackingList, consignment::PackingList {
    file,
    awb,
    invoice,
    supplier,
    packed_at,
    currency,
    gross_kg,
    lines: list,
    total_qty,
    stated_total,
    questions,
    doubts: list,
    columns: list,
    kept: maybe,
    original,
});

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ListDoubt {
    text: String,
    lines: Vec<u32>,
    asks: Asks,
}

mirror!(struct ListDoubt, consignment::ListDoubt { text, lines, asks });

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub(super) enum Asks {
    Fish { choices: Vec<u32>, each: bool },
    LeftOut { line: Box<ListLine>, boxes: Vec<u32> },
    Box,
    Split { boxes: Vec<u32> },
    Size,
    Price { choices: Vec<Decimal> },
    Currency { choices: Vec<String> },
}

mirror!(enum Asks, consignment::Asks {
    Fish { choices, each },
    LeftOut { line: boxed, boxes },
    Box,
    Split { boxes },
    Size,
    Price { choices },
    Currency { choices },
});

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(super) enum ColumnUse {
    Box,
    BagNumber,
    Bags,
    BagsPerBox,
    Species,
    Scientific,
    Size,
    PerBag,
    PerBox,
    Quantity,
    Total,
    Price,
    GrossWeight,
    Unused,
    Unknown,
}

mirror!(enum ColumnUse, consignment::ColumnUse {
    Box,
    BagNumber,
    Bags,
    BagsPerBox,
    Species,
    Scientific,
    Size,
    PerBag,
    PerBox,
    Quantity,
    Total,
    Price,
    GrossWeight,
    Unused,
    Unknown,
});

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ListColumn {
    #[serde(skip_serializing_if = "Option::is_none")]
    sheet: Option<String>,
    column: String,
    heading: String,
    meaning: ColumnUse,
}

mirror!(struct ListColumn, consignment::ListColumn { sheet, column, heading, meaning });

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ColumnSaid {
    column: String,
    meaning: ColumnUse,
}

mirror!(struct ColumnSaid, consignment::ColumnSaid { column, meaning });

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct KeptFile {
    sha256: String,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pasted: bool,
}

mirror!(struct KeptFile, consignment::KeptFile { sha256, pasted });

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ListLine {
    #[serde(rename = "box", skip_serializing_if = "Option::is_none")]
    number: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    bag: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    bags: Option<u32>,
    species: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    scientific: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    size: Option<String>,
    qty: u32,
    bonus: u32,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit_price: Option<Decimal>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    under: Option<Kind>,
}

mirror!(struct ListLine, consignment::ListLine {
    number,
    bag,
    bags,
    species,
    scientific,
    size,
    qty,
    bonus,
    unit_price,
    under: maybe,
});
