//! Marks that stand for the cell above.

use super::clean::fold;

/// Marks that repeat the cell above.
pub fn is_ditto(text: &str) -> bool {
    let folded = fold(text);
    let bare: String = folded.chars().filter(|character| !character.is_whitespace()).collect();
    matches!(
        bare.as_str(),
        "\"" | "''"
            | "do."
            | "do"
            | "-\"-"
            | "--\"--"
            | "-''-"
            | "-//-"
            | "-||-"
            | "ditto"
            | "idem"
            | "id."
            | "sda"
            | "sda."
            | "s.d.a."
            | "dto"
            | "dto."
            | "dtto"
            | "dtto."
            | "\"\""
    )
}
