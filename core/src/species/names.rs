//! From the words on a list or in a chat to a row of the table.

use std::collections::BTreeSet;
use std::sync::LazyLock;

use super::letters::words;
use super::scientific::{Scientific, by_scientific};
use super::{Species, cites, table};

/// What a name on a list fits.
#[derive(Debug, Clone, PartialEq)]
pub enum Match {
    /// One species.
    One(&'static Species),
    /// Several: somebody has to be asked.
    Several(Vec<&'static Species>),
    /// None that the table knows.
    None,
}

/// Short names that are also names of colour forms or of other fish ("koi angelfish", "neon swordtail"): they give way to any other name beside them.
const GIVES_WAY: [&str; 13] = [
    "neon",
    "koi",
    "cardinal",
    "comet",
    "goldfish",
    "mandarin",
    "mono",
    "sword",
    "anthias",
    "percula",
    "telescope",
    "harlequin",
    "leopoldi",
];

/// Names that a list uses for one fish and a chat for many: alone they ask.
const ASKS_ALONE: [&str; 1] = ["neon"];

/// Names of a group: an unknown word beside one may make another species of it ("asfur angelfish").
const GROUPS: [&str; 6] = ["angelfish", "anthias", "piranha", "snakehead", "seahorse", "lionfish"];

/// Words that say size, sex, colour, form or grade, never species. With one of these alone nothing is named.
const TRADE_WORDS: &[&str] = &[
    "a",
    "aa",
    "aaa",
    "adult",
    "albino",
    "assorted",
    "asst",
    "ass",
    "b",
    "balloon",
    "black",
    "blue",
    "bred",
    "brown",
    "cb",
    "cm",
    "calico",
    "captive",
    "color",
    "colour",
    "common",
    "crowntail",
    "dumbo",
    "dwarf",
    "f",
    "f0",
    "f1",
    "female",
    "fancy",
    "fish",
    "form",
    "giant",
    "gold",
    "golden",
    "grade",
    "green",
    "half",
    "halfmoon",
    "in",
    "inch",
    "is",
    "jumbo",
    "juv",
    "juvenile",
    "l",
    "large",
    "lemon",
    "leopard",
    "lg",
    "longfin",
    "long",
    "fin",
    "lyretail",
    "m",
    "male",
    "marble",
    "marbled",
    "mature",
    "md",
    "medium",
    "mix",
    "mixed",
    "ml",
    "moon",
    "new",
    "of",
    "orange",
    "pair",
    "pc",
    "pcs",
    "pearl",
    "pearlscale",
    "pink",
    "pinoy",
    "platinum",
    "pr",
    "purple",
    "quality",
    "red",
    "regular",
    "reg",
    "royal",
    "s",
    "sexed",
    "show",
    "silver",
    "sm",
    "small",
    "smoky",
    "spotted",
    "striped",
    "super",
    "tail",
    "tank",
    "raised",
    "tb",
    "tr",
    "trio",
    "tuxedo",
    "unsexed",
    "veil",
    "veiltail",
    "violet",
    "water",
    "wc",
    "white",
    "wild",
    "caught",
    "xl",
    "xs",
    "xxl",
    "yellow",
    "zebra",
    "koi",
    "ghost",
    "leucistic",
    "snow",
    "chocolate",
    "philippine",
    "ph",
];

/// The same in the other languages of the lists, and places of origin that are no part of a fish's name; as [`words`] writes them.
const TRADE_WORDS_ELSEWHERE: &str = "w c t r wf nz dnz ex from origin farm farmed cultured breeding \
    macho hembra femea jantan betina samec samice samci mannchen weibchen \
    salvaje silvestre selvagem liar alam divoky odchyt wildfang criado cultivo criadero cativeiro budidaya ternak odchov nachzucht \
    surtido mixto mixta sortido campur campuran sme gemischt sortiert par pasang paar pary \
    grande mediano mediana medio pequeno pequena chico besar sedang kecil velky velka stredni maly mala gross mittel klein \
    peru brazil brasil colombia guyana venezuela ecuador paraguay sri lanka singapore singapura indonesia thailand malaysia \
    vietnam india china taiwan philippine filipina kenya nigeria cameroon tanzania florida hawaii maldive fiji australia israel \
    sumatera jawa kalimantan rio xingu orinoco";

struct Name {
    words: Vec<String>,
    /// The words run together, so that "rummynose" is "rummy nose".
    joined: String,
    species: &'static Species,
}

/// Names in other languages of the trade, from memory: language, name, canonical name here.
pub(super) const ELSEWHERE: &str = include_str!("elsewhere.csv");

static NAMES: LazyLock<Vec<Name>> = LazyLock::new(|| {
    let name = |text: &str, species| {
        let words = words(text);
        Name { joined: words.concat(), words, species }
    };
    let here = table().iter().flat_map(|species| species.common.iter().map(move |common| (common.as_str(), species)));
    let elsewhere = ELSEWHERE.lines().skip(1).filter_map(|line| {
        let mut cells = line.split(',').skip(1);
        let (foreign, canonical) = (cells.next()?, cells.next()?);
        Some((foreign, table().iter().find(|species| species.name() == canonical)?))
    });
    here.chain(elsewhere).map(|(text, species)| name(text, species)).collect()
});

/// All species that a name typed by hand fits; nothing where it fits none.
///
/// Case, accents, hyphens, apostrophes, plural endings and blanks inside a name do not matter. A scientific name counts, also with its genus
/// cut to a letter. A whole alias comes first; then names of which the words are a part ("arowana", "clown"), which are
/// usually several. "ram cichlid" is the ram: a group word is dropped where the family bears it out.
pub fn named(text: &str) -> Vec<&'static Species> {
    let wanted = words(text);
    if wanted.is_empty() || wanted.iter().all(|word| is_trade_word(word)) {
        return exact(&wanted);
    }
    if let Scientific::Known(species) = by_scientific(text) {
        return species;
    }
    let found = exact(&wanted);
    if !found.is_empty() && !ASKS_ALONE.contains(&wanted.concat().as_str()) {
        return found;
    }
    let by_group = without_group_word(&wanted);
    if !by_group.is_empty() {
        return by_group;
    }
    partial(&wanted)
}

/// What a line of a packing list means: the scientific name first, then the common one with sizes, sexes, colours and forms around it.
///
/// A scientific name that the table does not know is never overruled by a common name: the line is then of no known species.
pub fn resolve(common: &str, scientific: Option<&str>) -> Match {
    let by_common = from_trade_name(common);
    match scientific.map(by_scientific) {
        None | Some(Scientific::NotOne) => matched(by_common),
        Some(Scientific::Known(species)) => {
            let agreed: Vec<_> = species.iter().copied().filter(|one| by_common.contains(one)).collect();
            if !agreed.is_empty() {
                return matched(agreed);
            }
            // Rows that share a binomial differ in form only (goldfish): the first is the plain one.
            let same = species.len() > 1 && species.iter().all(|one| one.binomials == species[0].binomials);
            matched(if same { vec![species[0]] } else { species })
        }
        Some(Scientific::Unknown) => Match::None,
    }
}

fn matched(mut species: Vec<&'static Species>) -> Match {
    match species.len() {
        0 => Match::None,
        1 => Match::One(species.remove(0)),
        _ => Match::Several(species),
    }
}

// --- common names ---

/// The name itself; failing that, the name without "fish" at its end ("betta fish", "hatchetfish").
fn exact(wanted: &[String]) -> Vec<&'static Species> {
    let joined = wanted.concat();
    let of = |key: &str| distinct(NAMES.iter().filter(|name| name.joined == key).map(|name| name.species));
    match joined.strip_suffix("fish") {
        Some(shorter) if of(&joined).is_empty() => of(shorter),
        _ => of(&joined),
    }
}

/// Names of which the words are a part. A word that is only the beginning of a "…fish" counts: "angel" is in "flame angelfish".
fn partial(wanted: &[String]) -> Vec<&'static Species> {
    let fits = |have: &String, want: &String| have == want || have.strip_suffix("fish") == Some(want);
    distinct(
        NAMES
            .iter()
            .filter(|name| {
                name.words
                    .windows(wanted.len().max(1))
                    .any(|part| part.iter().zip(wanted).all(|(have, want)| fits(have, want)))
            })
            .map(|name| name.species),
    )
}

/// "ram cichlid", "betta fish": the name without the word for its group, where the family is of that group.
fn without_group_word(wanted: &[String]) -> Vec<&'static Species> {
    let Some((group, rest)) = wanted.split_last() else { return Vec::new() };
    let families: &[&str] = match group.as_str() {
        "tetra" => &["Characidae", "Alestidae"],
        "cichlid" => &["Cichlidae"],
        "loach" => &["Botiidae", "Cobitidae", "Gastromyzontidae"],
        "catfish" => &[
            "Callichthyidae",
            "Loricariidae",
            "Mochokidae",
            "Pimelodidae",
            "Siluridae",
            "Doradidae",
            "Clariidae",
            "Plotosidae",
        ],
        "pleco" => &["Loricariidae"],
        "gourami" => &["Osphronemidae", "Helostomatidae"],
        "shrimp" => &["Atyidae", "Lysmatidae"],
        "fish" => &[],
        _ => return Vec::new(),
    };
    let mut found = exact(rest);
    found.retain(|one| families.is_empty() || families.contains(&one.family.as_str()));
    found
}

struct Hit {
    places: BTreeSet<usize>,
    gives_way: bool,
    group: bool,
    species: &'static Species,
}

/// The longest aliases in a trade name, as whole words standing together in any order ("Rainbow Boesemani").
fn from_trade_name(text: &str) -> Vec<&'static Species> {
    let wanted = words(text);
    let together = wanted.concat();
    let mut hits: Vec<Hit> = NAMES.iter().flat_map(|name| hits_of(name, &wanted, &together)).collect();
    let longer: Vec<BTreeSet<usize>> = hits.iter().map(|hit| hit.places.clone()).collect();
    hits.retain(|hit| !longer.iter().any(|other| other.len() > hit.places.len() && other.is_superset(&hit.places)));
    if hits.iter().any(|hit| !hit.gives_way) {
        hits.retain(|hit| !hit.gives_way);
    }
    let rest: Vec<String> = wanted.iter().filter(|word| !is_trade_word(word)).cloned().collect();
    if let Some(hit) = hits.iter().find(|hit| hit.group || hits.iter().all(|hit| hit.gives_way)) {
        let named: BTreeSet<&String> = hits.iter().flat_map(|hit| &hit.places).map(|&place| &wanted[place]).collect();
        let unknown = rest.iter().any(|word| !named.contains(word));
        let alone = ASKS_ALONE.contains(&rest.concat().as_str());
        // With an unknown word beside it such a name may be another fish ("asfur angelfish", "roter neon").
        if unknown || alone {
            let words: Vec<String> = hit.places.iter().map(|&place| wanted[place].clone()).collect();
            return partial(&words);
        }
    }
    if !hits.is_empty() {
        return distinct(hits.into_iter().map(|hit| hit.species));
    }
    let found = named(&rest.join(" "));
    if !found.is_empty() {
        return found;
    }
    // A word of a group with a listed species is asked about even beside unknown words: a permit may hang on it.
    let listed = |one: &&'static Species| one.binomials.iter().any(|name| cites::ever(name));
    rest.iter()
        .map(|word| partial(std::slice::from_ref(word)))
        .find(|found| found.len() > 1 && found.iter().any(listed))
        .unwrap_or_default()
}

fn hits_of(name: &'static Name, wanted: &[String], together: &str) -> Option<Hit> {
    // Most names have nothing of the text: they cost no sorting.
    if !together.contains(&name.joined) && !name.words.iter().all(|word| wanted.contains(word)) {
        return None;
    }
    let sorted = |words: &[String]| {
        let mut words = words.to_vec();
        words.sort();
        words
    };
    let alias = sorted(&name.words);
    let in_any_order =
        |length: usize| (0..=wanted.len().checked_sub(length)?).find(|&at| sorted(&wanted[at..at + length]) == alias);
    let run_together = |length: usize| {
        (0..=wanted.len().checked_sub(length)?).find(|&at| wanted[at..at + length].concat() == name.joined)
    };
    let (at, length) = in_any_order(alias.len())
        .map(|at| (at, alias.len()))
        .or_else(|| (1..=alias.len() + 1).find_map(|length| Some((run_together(length)?, length))))?;
    Some(Hit {
        places: (at..at + length).collect(),
        gives_way: GIVES_WAY.contains(&name.joined.as_str()),
        group: GROUPS.contains(&name.joined.as_str()),
        species: name.species,
    })
}

fn is_trade_word(word: &str) -> bool {
    // "3", "2cm", "3in", but not "l046".
    let measure = word.trim_start_matches(|c: char| c.is_ascii_digit());
    TRADE_WORDS.contains(&word)
        || TRADE_WORDS_ELSEWHERE.split_whitespace().any(|known| known == word)
        || is_article_code(word)
        || (measure.len() < word.len() && matches!(measure, "" | "cm" | "mm" | "in" | "inch" | "pc" | "pcs"))
}

/// "fw012", "tr1024": an exporter's own number. One letter, or the letters of the catfish codes, may name a fish: "l046", "cw010".
fn is_article_code(word: &str) -> bool {
    let digits = word.trim_start_matches(|c: char| c.is_ascii_alphabetic());
    let letters = &word[..word.len() - digits.len()];
    letters.len() > 1
        && !matches!(letters, "cw" | "lda")
        && digits.len() > 1
        && digits.chars().all(|c| c.is_ascii_digit())
}

pub(super) fn distinct(species: impl Iterator<Item = &'static Species>) -> Vec<&'static Species> {
    let mut seen: Vec<&'static Species> = Vec::new();
    for one in species {
        if !seen.iter().any(|known| std::ptr::eq(*known, one)) {
            seen.push(one);
        }
    }
    seen
}
