//! Scientific names in brackets, told from trade words such as `(tank bred)`.

use std::sync::LazyLock;

use regex::Regex;

use super::clean::clean;

/// Words of the trade that look like a genus or an epithet.
const TRADE: [&str; 53] = [
    "red", "blue", "green", "black", "white", "gold", "golden", "yellow", "orange", "silver", "albino", "super",
    "extra", "ultra", "new", "wild", "tank", "pond", "male", "female", "males", "females", "mixed", "assorted",
    "large", "small", "medium", "long", "short", "show", "grade", "import", "export", "farm", "captive", "koi", "fin",
    "fins", "tail", "size", "only", "pairs", "pair", "bonus", "is", "as", "us", "juvenis", "extras", "colours",
    "colors", "bags", "boxes",
];

/// Endings that names in scientific Latin and Greek have.
const ENDINGS: [&str; 31] = [
    "us", "a", "um", "is", "i", "ae", "ens", "ans", "x", "os", "on", "or", "er", "es", "ys", "as", "ops", "are",
    "ense", "ale", "ile", "io", "ax", "ix", "ma", "ia", "oma", "cephala", "ana", "ina", "ore",
];

static NAME: LazyLock<Regex> = LazyLock::new(|| {
    Regex::new(r"^([A-Z][a-z]{2,}|[A-Z]\.)\s+(?:\([A-Z][a-z]+\)\s+)?(?:(?:cf|aff)\.\s*)?(sp|spp|[a-z][a-z-]{2,})\b\.?")
        .expect("a fixed pattern")
});
static BRACKETS: LazyLock<Regex> = LazyLock::new(|| Regex::new(r"[(\[]([^()\[\]]+)[)\]]").expect("a fixed pattern"));

/// Whether a text begins with a genus and an epithet.
pub fn is_name(text: &str) -> bool {
    let text = clean(text);
    let Some(found) = NAME.captures(&text) else { return false };
    let (genus, epithet) = (found[1].to_lowercase(), &found[2]);
    let is_latin = |word: &str| !TRADE.contains(&word) && ENDINGS.iter().any(|ending| word.ends_with(ending));
    let genus_fits =
        genus.ends_with('.') || (is_latin(&genus) || genus.ends_with('o')) && !TRADE.contains(&genus.as_str());
    genus_fits && (matches!(epithet, "sp" | "spp") || is_latin(epithet))
}

/// The scientific name in brackets in a species cell.
pub fn in_brackets(species: &str) -> Option<String> {
    BRACKETS.captures_iter(species).map(|found| clean(&found[1])).find(|inner| is_name(inner))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_in_brackets_are_found() {
        for (cell, name) in [
            ("Neon Tetra (Paracheirodon innesi)", "Paracheirodon innesi"),
            ("Cory (wild) (Corydoras sp.)", "Corydoras sp."),
            ("Dwarf cichlid [Apistogramma cf. agassizii]", "Apistogramma cf. agassizii"),
            ("Angel (P. scalare)", "P. scalare"),
            ("Fighter (Betta splendens)", "Betta splendens"),
            ("Zebra (Danio rerio)", "Danio rerio"),
            ("Panda Garra (Garra flavatra)", "Garra flavatra"),
        ] {
            assert_eq!(in_brackets(cell).as_deref(), Some(name), "{cell}");
        }
    }

    #[test]
    fn trade_words_in_brackets_are_not_names() {
        for cell in [
            "Discus (Red turquoise)",
            "Neon (tank bred)",
            "Guppy (Males only)",
            "Koi (Albino koi)",
            "Cory (Wild caught)",
            "Betta (Extra large)",
            "Tetra (M)",
            "Neon",
        ] {
            assert_eq!(in_brackets(cell), None, "{cell}");
        }
    }
}
