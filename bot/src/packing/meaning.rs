//! What the heading of a column means.

pub use holdfast_core::consignment::ColumnUse as Meaning;

use super::words::{Role, Roles, phrase, roles};

/// A heading with what it says beside its meaning.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Heading {
    /// The meaning.
    pub meaning: Meaning,
    /// Fish that each count stands for: 2 under `pairs`, 3 under `trios`, else 1.
    pub fish_each: u64,
    /// Whether a weak word (`name` alone) gave the meaning; a stronger column takes its place.
    pub weak: bool,
    /// Whether the heading says that it is a total, or a common name: it wins over a plain one.
    pub strong: bool,
    /// Whether cells name the box and the bag in it: `Box/Bag`.
    pub with_bag: bool,
}

impl Heading {
    fn plain(meaning: Meaning) -> Self {
        Self { meaning, fish_each: 1, weak: false, strong: false, with_bag: false }
    }
}

const BAG: [Role; 3] = [Role::Bag, Role::Bags, Role::BagAny];
const BOX: [Role; 2] = [Role::Box, Role::Boxes];
const FISH_WORDS: [Role; 5] = [Role::Piece, Role::Fish, Role::Contents, Role::Pair, Role::Trio];

/// The meaning of a heading in one or two rows; `None` where both are blank.
pub fn heading(upper: &str, lower: &str) -> Option<Heading> {
    let (above, below) = (phrase(upper), phrase(lower));
    if below.is_empty() || above.is_empty() {
        let text = if below.is_empty() { upper } else { lower };
        let words = if below.is_empty() { above } else { below };
        return (!words.is_empty()).then(|| classify(text, &words)).or_else(|| {
            // A heading of signs alone, such as `$`, is a heading that says nothing.
            (!text.trim().is_empty()).then_some(Heading::plain(Meaning::Unknown))
        });
    }
    let alone = classify(lower, &below);
    let upper_roles = union(&above);
    let mut both = above.clone();
    both.extend(below.iter().cloned());
    let together = classify(&format!("{upper} {lower}"), &both);
    Some(match alone.meaning {
        Meaning::Quantity if !says_total(&below) && upper_roles.any(&BAG) => {
            Heading { meaning: Meaning::PerBag, ..alone }
        }
        Meaning::Quantity if !says_total(&below) && upper_roles.any(&BOX) && !says_total(&above) => {
            Heading { meaning: Meaning::PerBox, ..alone }
        }
        Meaning::Quantity | Meaning::Total | Meaning::Unknown if together.meaning.is_used() => together,
        // `No.` under `Box` is the box's number; alone it would be the number of the row.
        Meaning::Unused if union(&below).has(Role::Number) && together.meaning.is_used() => together,
        Meaning::Species if alone.weak && together.meaning.is_used() => together,
        _ => alone,
    })
}

/// `Jumlah` is a total and a plain count; only a word that is nothing but a total says so.
fn says_total(words: &[String]) -> bool {
    words.iter().map(|word| roles(word)).any(|roles| is_total(roles) && !roles.has(Role::Count))
}

fn is_total(roles: Roles) -> bool {
    roles.any(&[Role::Total, Role::Grand])
}

fn union(words: &[String]) -> Roles {
    words.iter().fold(Roles::default(), |all, word| all.with(roles(word)))
}

/// What one of something is counted in: `pcs/bag`, `per box`, `v sáčku`, with what stands before it.
fn per(words: &[String]) -> Option<(Roles, Meaning)> {
    words.windows(2).enumerate().find_map(|(at, pair)| {
        let before = union(&words[..at]);
        let vessel = roles(&pair[1]);
        let counts = before.any(&FISH_WORDS)
            || before.any(&[
                Role::Count,
                Role::Number,
                Role::Total,
                Role::Price,
                Role::Amount,
                Role::Weight,
                Role::Unit,
            ]);
        let is_per = match pair[0].as_str() {
            "/" => counts || at == 0 || (before.any(&BAG) && vessel.any(&BOX)),
            word => roles(word).has(Role::Per),
        };
        match (is_per, vessel.any(&BAG), vessel.any(&BOX)) {
            (true, true, _) => Some((before, Meaning::PerBag)),
            (true, false, true) => Some((before, Meaning::PerBox)),
            _ => None,
        }
    })
}

fn classify(text: &str, words: &[String]) -> Heading {
    let all = union(words);
    let fish_each = if all.has(Role::Trio) {
        3
    } else if all.has(Role::Pair) {
        2
    } else {
        1
    };
    let fish = |meaning| Heading { fish_each, strong: is_total(all), ..Heading::plain(meaning) };
    let currency = !super::currency::codes(text).is_empty();
    if let Some((before, meaning)) = per(words) {
        if all.any(&[Role::Price, Role::Amount, Role::Weight]) {
            return Heading::plain(Meaning::Unused);
        }
        if meaning == Meaning::PerBox && before.any(&BAG) {
            return Heading::plain(Meaning::BagsPerBox);
        }
        return Heading { strong: false, ..fish(meaning) };
    }
    if all.any(&[Role::Price, Role::Amount]) || (currency && all.has(Role::Unit)) {
        let is_price = all.has(Role::Unit) || (all.has(Role::Price) && !all.any(&[Role::Amount, Role::Total]));
        return Heading::plain(if is_price { Meaning::Price } else { Meaning::Unused });
    }
    if all.has(Role::Weight) {
        return Heading::plain(if all.has(Role::Gross) { Meaning::GrossWeight } else { Meaning::Unused });
    }
    if all.has(Role::Scientific) {
        return Heading::plain(if all.has(Role::Common) { Meaning::Species } else { Meaning::Scientific });
    }
    if all.has(Role::Size) {
        return Heading::plain(if all.any(&BAG) || all.any(&BOX) { Meaning::Unused } else { Meaning::Size });
    }
    if all.any(&[Role::Known, Role::Remark, Role::Code]) {
        return Heading::plain(Meaning::Unused);
    }
    if is_box_and_bag(words) {
        return Heading { with_bag: true, ..Heading::plain(Meaning::Box) };
    }
    if all.any(&BAG) {
        return bag(words, all, fish(Meaning::PerBag));
    }
    if all.any(&BOX) {
        return boxes(words, all, fish(Meaning::PerBox));
    }
    if all.any(&[Role::Species, Role::Common, Role::Fish]) {
        return species(words, all, fish(Meaning::Quantity));
    }
    if all.any(&[Role::Count, Role::Piece, Role::Pair, Role::Trio]) {
        return fish(Meaning::Quantity);
    }
    if all.any(&[Role::Total, Role::Subtotal, Role::Grand]) {
        return Heading::plain(if currency { Meaning::Unused } else { Meaning::Total });
    }
    if all.has(Role::Name) {
        return Heading { weak: true, ..Heading::plain(Meaning::Species) };
    }
    if all.any(&[Role::Number, Role::Item, Role::Gross]) {
        return Heading::plain(Meaning::Unused);
    }
    Heading::plain(Meaning::Unknown)
}

/// `Box/Bag`, `Caja - Bolsa`, `Box & Bag No.`: the box first, then one bag. `bags/box` is a count.
fn is_box_and_bag(words: &[String]) -> bool {
    let named = |word: &&String| {
        let roles = roles(word);
        !roles.any(&[Role::Number, Role::And]) && !word.chars().all(|c| !c.is_alphanumeric())
    };
    match words.iter().filter(named).map(|word| roles(word)).collect::<Vec<_>>().as_slice() {
        [vessel, inner] => {
            vessel.has(Role::Box)
                && !vessel.any(&BAG)
                && inner.any(&[Role::Bag, Role::BagAny])
                && !inner.any(&[Role::Bags, Role::Box])
        }
        _ => false,
    }
}

/// `bags` is a count and `bag` a number; where the plural does not show, the bare word is a count.
fn bag(words: &[String], all: Roles, per_bag: Heading) -> Heading {
    let plural = all.has(Role::Bags);
    let bare = all.has(Role::BagAny) && !plural && !all.has(Role::Bag);
    let counts_fish = all.any(&FISH_WORDS);
    if all.any(&BOX) {
        return Heading::plain(Meaning::BagsPerBox);
    }
    if counts_fish || all.has(Role::Count) {
        let is_count = plural || (bare && !counts_fish);
        return if is_count { Heading::plain(Meaning::Bags) } else { per_bag };
    }
    if plural || is_total(all) {
        return Heading::plain(Meaning::Bags);
    }
    if all.has(Role::Number) {
        let of = words.iter().any(|word| roles(word).has(Role::Of));
        return Heading::plain(if of { Meaning::Bags } else { Meaning::BagNumber });
    }
    Heading::plain(if bare { Meaning::Bags } else { Meaning::BagNumber })
}

/// `box no.` is the label; `no. of boxes` is a count that is not needed.
fn boxes(words: &[String], all: Roles, per_box: Heading) -> Heading {
    let plural = all.has(Role::Boxes) && !all.has(Role::Box);
    let number_first = words.first().is_some_and(|word| roles(word).has(Role::Number));
    let of = words.iter().any(|word| roles(word).has(Role::Of));
    if plural && (number_first || of || all.any(&[Role::Count, Role::Piece]) || is_total(all)) {
        return Heading::plain(Meaning::Unused);
    }
    if all.any(&FISH_WORDS) || (all.has(Role::Count) && !of) {
        return per_box;
    }
    if is_total(all) || (of && number_first) || all.has(Role::Count) {
        return Heading::plain(Meaning::Unused);
    }
    Heading::plain(Meaning::Box)
}

fn species(words: &[String], all: Roles, quantity: Heading) -> Heading {
    let names = all.any(&[Role::Name, Role::Species, Role::Common]);
    let counted = all.any(&[Role::Count, Role::Piece]) || is_total(all);
    let number_first = words.first().is_some_and(|word| roles(word).has(Role::Number));
    if all.has(Role::Fish) && !names && (counted || number_first) {
        return quantity;
    }
    if all.has(Role::Number) {
        return Heading::plain(Meaning::Unused);
    }
    if counted && !all.any(&[Role::Name, Role::Common]) {
        return quantity;
    }
    Heading { strong: all.any(&[Role::Common, Role::Name, Role::Fish]), ..Heading::plain(Meaning::Species) }
}

/// Whether a text may stand in the lower of two heading rows: a heading, or a unit under one.
pub fn is_heading_word(text: &str) -> bool {
    let words = phrase(text);
    let unit = |word: &String| {
        matches!(word.as_str(), "cm" | "mm" | "inch" | "inches" | "in") || !super::currency::codes(word).is_empty()
    };
    match heading("", text) {
        Some(heading) if heading.meaning != Meaning::Unknown => true,
        _ => words.iter().any(unit) || (!words.is_empty() && words.iter().all(|word| !roles(word).is_empty())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(text: &str) -> Meaning {
        heading("", text).unwrap().meaning
    }

    #[test]
    fn every_word_of_the_contract_is_told() {
        use Meaning::*;
        for (meaning, headings) in [
            (
                Box,
                "box|carton|ctn|c/no|C/No.|caja|cartón|caixa|cx|boks|dus|koli|krabice|Karton|Kiste|Box No.|Ctn #|Caja Nº|No. Dus|Krabice č.|Kiste Nr.|Box/Caja",
            ),
            (
                BagNumber,
                "bag|bag no|bag #|Bag No.|inner|bolsa|funda|saco|sáček|pytel|Beutel Nr.|Beutel-Nr.|No. kantong|Sáček č.",
            ),
            (
                Bags,
                "bags|no. of bags|# bags|bolsas|fundas|sacos|sáčky|pytle|Beutel|kantong|Anzahl Beutel|Jumlah kantong|Počet sáčků|Qty bags|total bags",
            ),
            (BagsPerBox, "bags/box|Bags per box|bolsas/caja|bolsas por caja|Beutel/Karton|Bags\nper box"),
            (
                Species,
                "species|description|fish|common name|especie|descripción|nombre común|espécie|nome comum|jenis|nama ikan|druh|název|Art|Bezeichnung|Artikelbezeichnung|Fischname|Item description",
            ),
            (
                Scientific,
                "scientific|latin|Scientific name|científico|Nombre científico|ilmiah|latin|Nama latin|vědecký název|latinsky|wissenschaftlicher Name|lateinisch|Latin name",
            ),
            (Size, "size|talla|tamaño|tamanho|ukuran|velikost|Größe|Size (cm)|Groesse"),
            (
                Quantity,
                "qty|quantity|pcs|total pcs|heads|cantidad|cant.|pzs|total peces|quantidade|qtd.|un|jumlah|ekor|počet|ks|kusů|Menge|Stück|Stk.|Anzahl|Qty (pcs)|Total fish|No. of fish|Jumlah ikan|Celkem ks|Gesamt Stück|Fish qty",
            ),
            (
                PerBag,
                "pcs/bag|Qty per bag|Per bag|/bag|por bolsa|cant. por bolsa|por saco|per kantong|Isi per kantong|v sáčku|Ks v sáčku|ks/sáček|je Beutel|Stk/Beutel|Stück je Beutel|Fish/bag|qty/inner",
            ),
            (PerBox, "pcs/box|Qty per box|por caja|Fish per box|Stück je Karton|ks v krabici|ekor per dus"),
            (
                Price,
                "price|unit price|u/price|U/Price (USD)|precio|Precio US$|preço|harga|cena|Cena EUR|Preis|Einzelpreis|Price/pc|Unit USD|valor unitario|Stückpreis",
            ),
            (
                Unused,
                "no|item|code|ref|remarks|notes|amount|value|net weight|temp|origin|source|sex|grade|tank|order|mark|HS code|CITES|Art.-Nr.|Item No.|Importe|Pozn.|Observaciones|Keterangan|Jenis kelamin|Total price|Gesamtpreis|Total USD|No. of boxes|Box size|Weight (kg)|Order qty",
            ),
            (GrossWeight, "gross weight|G.W. (kg)|peso bruto|berat kotor|hrubá hmotnost|Bruttogewicht"),
            (Total, "total|suma|celkem|Summe|Gesamt|Grand total|Subtotal"),
            (Unknown, "Kd|foo|Variety|Length"),
        ] {
            for text in headings.split('|') {
                assert_eq!(of(text), meaning, "{text}");
            }
        }
    }

    #[test]
    fn two_rows_are_read_together() {
        use Meaning::*;
        for (upper, lower, meaning) in [
            ("Quantity", "bags", Bags),
            ("Quantity", "pcs/bag", PerBag),
            ("Quantity", "Total", Quantity),
            ("Beutel", "Nr.", BagNumber),
            ("Beutel", "Stück", PerBag),
            ("Kantong", "Jumlah", PerBag),
            ("Bags", "pcs", PerBag),
            ("Box", "No.", Box),
            ("Per box", "qty", PerBox),
            ("Total", "pcs", Quantity),
            ("Price", "USD", Price),
            ("Name", "Scientific", Scientific),
            ("Quantity", "Remarks", Unused),
            ("Size", "cm", Size),
            ("No. of", "bags", Bags),
            ("Price", "per pc", Price),
        ] {
            assert_eq!(heading(upper, lower).unwrap().meaning, meaning, "{upper} over {lower}");
        }
    }

    #[test]
    fn pairs_in_a_heading_count_two_fish_each() {
        assert_eq!(heading("", "Qty (pairs)").unwrap().fish_each, 2);
        assert_eq!(heading("", "Paar").unwrap().fish_each, 2);
        assert_eq!(heading("", "Qty").unwrap().fish_each, 1);
    }
}
