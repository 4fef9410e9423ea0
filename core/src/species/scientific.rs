//! From a scientific name as lists write it to rows of the table.

use std::sync::LazyLock;

use super::letters::fold;
use super::names::distinct;
use super::{Species, table};

/// What a text is as a scientific name.
pub(super) enum Scientific {
    /// Rows that bear the name.
    Known(Vec<&'static Species>),
    /// Two words that may be a scientific name, of which the table knows nothing.
    Unknown,
    /// No scientific name at all.
    NotOne,
}

struct Binomial {
    genus: String,
    /// `None` where the row stands for the whole genus.
    epithet: Option<String>,
    species: &'static Species,
}

static BINOMIALS: LazyLock<Vec<Binomial>> = LazyLock::new(|| {
    let binomial = |species, name: &String| {
        let mut parts = latin(name).into_iter();
        Some(Binomial { genus: parts.next()?, epithet: parts.next(), species })
    };
    table()
        .iter()
        .flat_map(|species| species.binomials.iter().filter_map(move |name| binomial(species, name)))
        .collect()
});

/// The name itself, then with another ending, then with a slip of the finger, then a row that stands for the genus.
pub(super) fn by_scientific(text: &str) -> Scientific {
    let parts = latin(text);
    let Some(genus) = parts.first() else { return Scientific::NotOne };
    let rows = |fits: &dyn Fn(&Binomial) -> bool| distinct(BINOMIALS.iter().filter(|it| fits(it)).map(|it| it.species));
    let epithet = match parts.get(1).map(String::as_str) {
        None | Some("sp" | "spp" | "species") if genus.len() > 2 => {
            return match rows(&|it| it.genus == *genus) {
                found if !found.is_empty() => Scientific::Known(found),
                _ if parts.len() > 1 => Scientific::Unknown,
                _ => Scientific::NotOne,
            };
        }
        Some(epithet) if epithet.len() > 2 => epithet,
        _ => return Scientific::NotOne,
    };
    let exact = |a: [&str; 2], b: [&str; 2]| genus_fits(a[0], b[0]) && a[1] == b[1];
    for close in [exact, same_stem, one_slip] {
        let bears =
            |it: &Binomial| it.epithet.as_ref().is_some_and(|known| close([&it.genus, known], [genus, epithet]));
        let found = rows(&bears);
        if !found.is_empty() {
            return Scientific::Known(found);
        }
    }
    match rows(&|it| it.epithet.is_none() && it.genus == *genus) {
        found if !found.is_empty() => Scientific::Known(found),
        _ => Scientific::Unknown,
    }
}

/// The genus itself, or its first letter as in "P. innesi".
fn genus_fits(known: &str, typed: &str) -> bool {
    known == typed || (typed.len() == 1 && known.starts_with(typed))
}

/// The epithet's ending follows the gender of the genus: macracantha, macracanthus, macracanthum.
fn same_stem(known: [&str; 2], typed: [&str; 2]) -> bool {
    genus_fits(known[0], typed[0]) && stem(known[1]) == stem(typed[1])
}

/// One slip of a finger, in a long genus or a long epithet.
fn one_slip(known: [&str; 2], typed: [&str; 2]) -> bool {
    let slip = |known: &str, typed: &str| known.len() > 6 && strsim::osa_distance(known, typed) == 1;
    (genus_fits(known[0], typed[0]) && slip(known[1], typed[1])) || (slip(known[0], typed[0]) && known[1] == typed[1])
}

/// Genus and epithet in lower-case letters; "cf." and "aff." and what is in brackets are passed over.
pub(super) fn latin(text: &str) -> Vec<String> {
    let plain = text.split(['(', '[', ',']).next().unwrap_or_default();
    fold(plain)
        .split(|c: char| !c.is_ascii_alphabetic())
        .filter(|word| !word.is_empty() && !matches!(*word, "cf" | "aff"))
        .take(2)
        .map(str::to_owned)
        .collect()
}

/// An epithet without its ending.
pub(super) fn stem(epithet: &str) -> &str {
    ["us", "um", "is", "ii", "a", "e", "i"].iter().find_map(|ending| epithet.strip_suffix(ending)).unwrap_or(epithet)
}
