//! The label that a text around the lines begins with.

use super::clean::fold;
use super::words::{self, Label, Role, phrase, roles};

/// Splits at the first colon that is not part of a time of day.
fn split_at_colon(text: &str) -> Option<(&str, &str)> {
    let is_digit = |character: Option<char>| character.is_some_and(|character| character.is_ascii_digit());
    text.match_indices([':', '='])
        .map(|(at, _)| (&text[..at], &text[at + 1..]))
        .find(|(left, right)| !(is_digit(left.chars().next_back()) && is_digit(right.chars().next())))
}

/// The label a text begins with, and the value behind it in the same text.
pub(super) fn label_of(text: &str) -> Option<(Label, String)> {
    let (left, right) = split_at_colon(text).map_or((text, None), |(left, right)| (left, Some(right)));
    let words = phrase(left);
    if words.is_empty() || words.len() > 9 {
        return None;
    }
    let label = kind_of(&words)?;
    if label == Label::House {
        // A cell may name both bills; the master's is wanted.
        let folded = fold(text);
        return Some(match folded.find("mawb").or_else(|| folded.find("master")) {
            Some(at) => (Label::Awb, folded[at..].to_owned()),
            None => (Label::House, String::new()),
        });
    }
    let inline = match right {
        Some(right) => right.trim().to_owned(),
        None if label == Label::Supplier => String::new(),
        // Without a colon the value begins with the first word that has a digit.
        None => {
            let from =
                left.split_whitespace().position(|word| word.chars().any(|character| character.is_ascii_digit()));
            from.map(|from| left.split_whitespace().skip(from).collect::<Vec<_>>().join(" ")).unwrap_or_default()
        }
    };
    // The words of an unlabelled sentence that happen to hold a label's word say nothing: `fish packed in oxygen`.
    let known = |word: &String| {
        let all = [Label::Awb, Label::Invoice, Label::Packed, Label::Gross, Label::Supplier, Label::Title];
        all.iter().any(|&label| words::names(std::slice::from_ref(word), label))
            || !roles(word).is_empty()
            || word == "/"
            || word.chars().any(|c| c.is_ascii_digit())
    };
    let strange = words.iter().filter(|word| !known(word)).count();
    if label != Label::Title && right.is_none() && inline.is_empty() && strange > 3 {
        return None;
    }
    Some((label, inline.trim_matches(['-', '#', '.', ' ', ':']).to_owned()))
}

fn kind_of(words: &[String]) -> Option<Label> {
    let names = |label| words::names(words, label);
    if names(Label::House) {
        return Some(Label::House);
    }
    if names(Label::Awb) {
        return Some(Label::Awb);
    }
    if names(Label::Invoice) && !names(Label::Elsewhere) {
        let with_number = words.iter().any(|word| roles(word).has(Role::Number)) || !names(Label::Title);
        return Some(if with_number { Label::Invoice } else { Label::Title });
    }
    if names(Label::Title) {
        return Some(Label::Title);
    }
    let supplier = |word: &String| words::names(std::slice::from_ref(word), Label::Supplier);
    if words.iter().any(supplier)
        && words.iter().all(|word| {
            supplier(word) || word == "/" || roles(word).any(&[Role::Filler, Role::Name, Role::And, Role::Of])
        })
    {
        return Some(Label::Supplier);
    }
    let by_someone = words.iter().any(|word| matches!(word.as_str(), "by" | "por" | "oleh" | "von"));
    if names(Label::Packed) && !by_someone {
        return Some(Label::Packed);
    }
    names(Label::Gross).then_some(Label::Gross)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_are_told_with_their_values() {
        for (text, label, value) in [
            ("AWB No.: 900-44712080", Label::Awb, "900-44712080"),
            ("AWB 930 6120 0370", Label::Awb, "930 6120 0370"),
            ("Letecký nákladní list (AWB)", Label::Awb, ""),
            ("Guía aérea (AWB)", Label::Awb, ""),
            ("Factura N°", Label::Invoice, ""),
            ("Invoice No STF-2611/088", Label::Invoice, "STF-2611/088"),
            ("FACTURA COMERCIAL", Label::Invoice, ""),
            ("Rechnungs-Nr.: R-26-311", Label::Invoice, "R-26-311"),
            ("Peso bruto", Label::Gross, ""),
            ("G.W.: 112 kg", Label::Gross, "112 kg"),
            ("Packed: 24/11/2026 21:30", Label::Packed, "24/11/2026 21:30"),
            ("Tanggal kemas", Label::Packed, ""),
            ("Shipper / Exporter:", Label::Supplier, ""),
            ("PACKING LIST", Label::Title, ""),
            ("LISTA DE EMPAQUE", Label::Title, ""),
        ] {
            assert_eq!(label_of(text), Some((label, value.to_owned())), "{text}");
        }
        for text in ["Invoice date: 24/11/2026", "Packed by: Ana", "Invoice value: 900", "Consignee:", "Neon tetra"] {
            assert_eq!(label_of(text), None, "{text}");
        }
        assert_eq!(label_of("HAWB: 12345678 MAWB: 900-44712080").map(|(label, _)| label), Some(Label::Awb));
        assert_eq!(label_of("HAWB: 900-44712080").map(|(label, _)| label), Some(Label::House));
    }
}
