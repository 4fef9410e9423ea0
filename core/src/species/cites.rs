//! CITES listings of taxa that may be in a box of ornamental fish, by date.
//!
//! A listing is for a date: ask for the day of import. The current Appendices rule; this table only says that somebody must look.
//! Each row says how far it was checked. Where only a year is known, it counts from 1 January, so that it warns early rather than late.

use std::fmt;

use chrono::NaiveDate;

use super::Mark;
use super::scientific::{latin, stem};

/// A CITES appendix; for III with the party that asked for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Appendix {
    /// Trade only in exceptional circumstances.
    I,
    /// Trade with an export permit.
    II,
    /// Protected in the country named.
    III(&'static str),
}

impl fmt::Display for Appendix {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Appendix::I => f.write_str("I"),
            Appendix::II => f.write_str("II"),
            Appendix::III(party) => write!(f, "III ({party})"),
        }
    }
}

/// From when a listing holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Since {
    /// From this day: year, month, day.
    Day(i32, u32, u32),
    /// Some day of this year.
    Year(i32),
}

impl Since {
    /// The first day on which the listing is taken to hold.
    pub fn first_day(self) -> NaiveDate {
        let (year, month, day) = match self {
            Since::Day(year, month, day) => (year, month, day),
            Since::Year(year) => (year, 1, 1),
        };
        NaiveDate::from_ymd_opt(year, month, day).expect("a test reads every row's date")
    }
}

/// What a row covers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Taxon {
    /// One species: genus and epithet, lower case.
    Species(&'static str, &'static str),
    /// Every species of these genera; for a family or an order, its genera that are traded.
    Genera(&'static [&'static str]),
}

/// One row of the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Row {
    taxon: Taxon,
    /// The name under which it is listed.
    listed_as: &'static str,
    appendix: Appendix,
    since: Since,
    mark: Mark,
    source: &'static str,
}

/// Whether the name given is the listed taxon or only may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Fit {
    /// The name given is covered.
    Certain,
    /// Only the genus was given ("Potamotrygon sp."), and a species of it is listed.
    Possible,
}

/// A listing that covers a name on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Listing {
    /// The name under which it is listed: the species, genus, family or order.
    pub listed_as: &'static str,
    /// The appendix.
    pub appendix: Appendix,
    /// From when.
    pub since: Since,
    /// How far it was checked.
    pub mark: Mark,
    /// Where it was read.
    pub source: &'static str,
    /// Whether the name is covered or only may be.
    pub fit: Fit,
}

const M: Mark = Mark::FromMemory;
const V: Mark = Mark::Verified;
const COP19: Since = Since::Day(2023, 2, 23);
const JAN_2017: Since = Since::Day(2017, 1, 3);
const LIST: &str = "CITES Appendices; day of entry from memory";
const READ: &str = "CITES Appendices, listing and date read on a public page";
const MEMORY: &str = "from memory";

const fn species(
    genus: &'static str,
    epithet: &'static str,
    listed_as: &'static str,
    appendix: Appendix,
    since: Since,
    mark: Mark,
    source: &'static str,
) -> Row {
    Row { taxon: Taxon::Species(genus, epithet), listed_as, appendix, since, mark, source }
}

const fn genera(
    names: &'static [&'static str],
    listed_as: &'static str,
    appendix: Appendix,
    since: Since,
    mark: Mark,
    source: &'static str,
) -> Row {
    Row { taxon: Taxon::Genera(names), listed_as, appendix, since, mark, source }
}

const BRAZIL: Appendix = Appendix::III("Brazil");
const COLOMBIA: Appendix = Appendix::III("Colombia");
use Appendix::{I, II};

#[rustfmt::skip]
const ROWS: &[Row] = &[
    species("scleropages", "formosus", "Scleropages formosus", I, Since::Year(1975), V, READ),
    species("scleropages", "inscriptus", "Scleropages formosus (with S. inscriptus)", I, Since::Year(1975), M, MEMORY),
    species("arapaima", "gigas", "Arapaima gigas", II, Since::Year(1975), V, LIST),
    species("probarbus", "jullieni", "Probarbus jullieni", I, Since::Year(1975), V, LIST),
    species("pangasianodon", "gigas", "Pangasianodon gigas", I, Since::Year(1975), V, LIST),
    genera(&["acipenser", "huso", "scaphirhynchus", "pseudoscaphirhynchus", "polyodon", "psephurus", "sinosturio"], "Acipenseriformes spp.", II, Since::Year(1998), V, READ),
    species("acipenser", "sturio", "Acipenser sturio", I, Since::Year(1983), V, LIST),
    species("acipenser", "brevirostrum", "Acipenser brevirostrum", I, Since::Year(1975), V, LIST),
    genera(&["hippocampus"], "Hippocampus spp.", II, Since::Day(2004, 5, 15), V, READ),
    species("cheilinus", "undulatus", "Cheilinus undulatus", II, Since::Day(2005, 1, 12), V, LIST),
    species("holacanthus", "clarionensis", "Holacanthus clarionensis", II, Since::Year(2017), V, LIST),
    species("hypancistrus", "zebra", "Hypancistrus zebra", BRAZIL, JAN_2017, V, READ),
    species("hypancistrus", "zebra", "Hypancistrus zebra, zero quota for wild commercial export", II, COP19, V, LIST),
    species("potamotrygon", "albimaculata", "Potamotrygon albimaculata", II, COP19, V, READ),
    species("potamotrygon", "henlei", "Potamotrygon henlei", II, COP19, V, READ),
    species("potamotrygon", "jabuti", "Potamotrygon jabuti", II, COP19, V, READ),
    species("potamotrygon", "leopoldi", "Potamotrygon leopoldi", II, COP19, V, READ),
    species("potamotrygon", "marquesi", "Potamotrygon marquesi", II, COP19, V, READ),
    species("potamotrygon", "signata", "Potamotrygon signata", II, COP19, V, READ),
    species("potamotrygon", "wallacei", "Potamotrygon wallacei", II, COP19, V, READ),
    genera(&["potamotrygon"], "Potamotrygon spp., Brazilian populations", BRAZIL, JAN_2017, V, READ),
    species("potamotrygon", "constellata", "Potamotrygon constellata", COLOMBIA, JAN_2017, V, READ),
    species("potamotrygon", "magdalenae", "Potamotrygon magdalenae", COLOMBIA, JAN_2017, V, READ),
    species("potamotrygon", "motoro", "Potamotrygon motoro", COLOMBIA, JAN_2017, V, READ),
    species("potamotrygon", "orbignyi", "Potamotrygon orbignyi", COLOMBIA, JAN_2017, V, READ),
    species("potamotrygon", "schroederi", "Potamotrygon schroederi", COLOMBIA, JAN_2017, V, READ),
    species("potamotrygon", "scobina", "Potamotrygon scobina", COLOMBIA, JAN_2017, V, READ),
    species("potamotrygon", "yepezi", "Potamotrygon yepezi", COLOMBIA, JAN_2017, V, READ),
    species("paratrygon", "aiereba", "Paratrygon aiereba", COLOMBIA, JAN_2017, V, READ),
    species("anguilla", "anguilla", "Anguilla anguilla", II, Since::Day(2009, 3, 13), V, LIST),
    species("caecobarbus", "geertsii", "Caecobarbus geertsii", II, Since::Year(1981), V, LIST),
    species("chasmistes", "cujus", "Chasmistes cujus", I, Since::Year(1975), V, LIST),
    species("totoaba", "macdonaldi", "Totoaba macdonaldi", I, Since::Year(1977), V, LIST),
    species("neoceratodus", "forsteri", "Neoceratodus forsteri", II, Since::Year(1975), M, MEMORY),
    genera(&["latimeria"], "Latimeria spp.", I, Since::Year(2000), M, MEMORY),
    genera(&["pristis", "anoxypristis"], "Pristidae", I, Since::Year(2007), V, LIST),
    genera(&["rhinobatos", "acroteriobatus", "pseudobatos"], "Rhinobatidae", II, Since::Year(2023), V, LIST),
    genera(&["rhina", "rhynchobatus", "rhynchorhina"], "Rhinidae", II, Since::Day(2019, 11, 26), M, MEMORY),
    genera(&["glaucostegus"], "Glaucostegidae", II, Since::Day(2019, 11, 26), M, MEMORY),
    genera(&["carcharhinus", "negaprion", "prionace", "triaenodon", "rhizoprionodon", "loxodon", "scoliodon", "lamiopsis", "isogomphodon", "nasolamia", "glyphis"], "Carcharhinidae", II, Since::Day(2023, 11, 25), M, MEMORY),
    species("rhincodon", "typus", "Rhincodon typus", II, Since::Year(2003), M, MEMORY),
    species("rhincodon", "typus", "Rhincodon typus", I, Since::Day(2026, 3, 5), M, MEMORY),
    genera(&["mobula", "manta"], "Mobulidae", II, Since::Year(2017), M, MEMORY),
    genera(&["sphyrna", "eusphyra"], "Sphyrnidae", II, Since::Year(2023), M, MEMORY),
    genera(&["acropora", "montipora", "pocillopora", "seriatopora", "stylophora", "euphyllia", "fimbriaphyllia", "catalaphyllia", "duncanopsammia", "turbinaria",
        "goniopora", "alveopora", "porites", "galaxea", "favia", "favites", "dipsastraea", "caulastraea", "trachyphyllia", "lobophyllia", "acanthastrea", "homophyllia",
        "micromussa", "scolymia", "cynarina", "plerogyra", "fungia", "heliofungia", "tubastraea", "pavona", "blastomussa", "echinopora", "hydnophora", "merulina"],
        "Scleractinia", II, Since::Year(1990), M, MEMORY),
    genera(&["tridacna", "hippopus"], "Tridacninae", II, Since::Year(1985), M, MEMORY),
    genera(&["nautilus", "allonautilus"], "Nautilidae", II, Since::Year(2017), M, MEMORY),
];

/// The listing that rules a scientific name on a day; `None` where the table has none.
///
/// A listing of the species goes before one of its genus or family, a later one before an earlier. A name that gives only the genus takes the strictest
/// listing in it, marked [`Fit::Possible`] unless the whole genus is listed at least so strictly.
pub fn cites(scientific: &str, on: NaiveDate) -> Option<Listing> {
    listings(scientific, on).into_iter().next()
}

/// Every listing that covers a name on a day, the ruling one first: a ray may be listed by Colombia and, with its genus, by Brazil.
pub fn listings(scientific: &str, on: NaiveDate) -> Vec<Listing> {
    let parts = latin(scientific);
    let Some(genus) = parts.first() else { return Vec::new() };
    let epithet = parts.get(1).map(String::as_str).filter(|word| !matches!(*word, "sp" | "spp" | "species"));
    let in_force = ROWS.iter().filter(|row| row.since.first_day() <= on).filter(|row| !superseded(row, on));
    let mut found: Vec<(bool, Listing)> = in_force
        .filter_map(|row| {
            let (own, fit) = match (row.taxon, epithet) {
                (Taxon::Genera(names), _) => (false, names.contains(&genus.as_str()).then_some(Fit::Certain)),
                (Taxon::Species(g, e), Some(epithet)) => {
                    (true, (g == genus && (e == epithet || stem(e) == stem(epithet))).then_some(Fit::Certain))
                }
                (Taxon::Species(g, _), None) => (false, (g == genus).then_some(Fit::Possible)),
            };
            let Row { listed_as, appendix, since, mark, source, .. } = *row;
            fit.map(|fit| (own, Listing { listed_as, appendix, since, mark, source, fit }))
        })
        .collect();
    found.sort_by_key(|(own, listing)| (!own, listing.appendix, listing.fit == Fit::Possible));
    found.into_iter().map(|(_, listing)| listing).collect()
}

/// Whether the name is or ever was in the table, on any day.
pub(super) fn ever(scientific: &str) -> bool {
    !listings(scientific, NaiveDate::MAX).is_empty()
}

/// A later row of the same taxon takes the place of an earlier one.
fn superseded(row: &Row, on: NaiveDate) -> bool {
    ROWS.iter().any(|later| {
        later.taxon == row.taxon && later.since.first_day() <= on && later.since.first_day() > row.since.first_day()
    })
}
