//! Letters and endings: what does not matter in a name.

/// The words of a name in the singular, without accents, hyphens and apostrophes.
pub(super) fn words(text: &str) -> Vec<String> {
    fold(text)
        .replace(['\'', '’', '`'], "")
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(singular)
        .collect()
}

fn singular(word: &str) -> String {
    if word.len() < 4 {
        return word.to_owned();
    }
    if let Some(rest) = word.strip_suffix("ies") {
        return format!("{rest}y");
    }
    for ending in ["shes", "ches", "xes", "oes", "sses"] {
        if word.ends_with(ending) {
            return word[..word.len() - 2].to_owned();
        }
    }
    match word.strip_suffix('s') {
        Some(rest) if !rest.ends_with(['s', 'u', 'i']) => rest.to_owned(),
        _ => word.to_owned(),
    }
}

/// Lower case without the accents of the languages of the trade.
pub(super) fn fold(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for c in text.chars().flat_map(char::to_lowercase) {
        match c {
            'á' | 'à' | 'â' | 'ã' | 'ä' | 'å' | 'ą' => plain.push('a'),
            'ç' | 'č' | 'ć' => plain.push('c'),
            'ď' => plain.push('d'),
            'é' | 'è' | 'ê' | 'ë' | 'ě' | 'ę' => plain.push('e'),
            'í' | 'ì' | 'î' | 'ï' => plain.push('i'),
            'ł' => plain.push('l'),
            'ñ' | 'ň' | 'ń' => plain.push('n'),
            'ó' | 'ò' | 'ô' | 'õ' | 'ö' | 'ø' => plain.push('o'),
            'ř' => plain.push('r'),
            'š' | 'ś' => plain.push('s'),
            'ť' => plain.push('t'),
            'ú' | 'ù' | 'û' | 'ü' | 'ů' => plain.push('u'),
            'ý' | 'ÿ' => plain.push('y'),
            'ž' | 'ź' | 'ż' => plain.push('z'),
            'ß' => plain.push_str("ss"),
            // Marks that stand after their letter, as some keyboards send them.
            '\u{300}'..='\u{36f}' => {}
            other => plain.push(other),
        }
    }
    plain
}
