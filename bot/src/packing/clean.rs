//! Text as people see it, and text as it is compared.

/// The visible text: trimmed, inner white space one blank, control and invisible characters dropped.
pub fn clean(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut blank = false;
    for character in text.chars() {
        if character.is_whitespace() {
            blank = !out.is_empty();
        } else if !is_invisible(character) {
            if blank {
                out.push(' ');
                blank = false;
            }
            out.push(character);
        }
    }
    out
}

/// Control characters and the format characters that leave no mark on paper.
fn is_invisible(character: char) -> bool {
    character.is_control()
        || matches!(character,
            '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{115f}' | '\u{1160}' | '\u{17b4}' | '\u{17b5}'
            | '\u{180b}'..='\u{180f}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{3164}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}'
            | '\u{ffa0}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e0fff}')
}

/// The text for comparison: clean, lower case, without accents, with plain dashes and quotes.
pub fn fold(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for character in clean(text).chars().flat_map(char::to_lowercase) {
        match character {
            'á' | 'à' | 'â' | 'ä' | 'ã' | 'å' | 'ā' | 'ă' | 'ą' | 'ª' => out.push('a'),
            'ç' | 'č' | 'ć' => out.push('c'),
            'ď' | 'đ' => out.push('d'),
            'é' | 'è' | 'ê' | 'ë' | 'ě' | 'ē' | 'ę' => out.push('e'),
            'í' | 'ì' | 'î' | 'ï' | 'ī' | 'ı' => out.push('i'),
            'ľ' | 'ĺ' | 'ł' => out.push('l'),
            'ñ' | 'ň' | 'ń' => out.push('n'),
            'ó' | 'ò' | 'ô' | 'ö' | 'õ' | 'ő' | 'ō' | 'ø' | 'º' | '°' => out.push('o'),
            'ř' | 'ŕ' => out.push('r'),
            'š' | 'ś' | 'ş' => out.push('s'),
            'ß' => out.push_str("ss"),
            'ť' | 'ţ' => out.push('t'),
            'ú' | 'ù' | 'û' | 'ü' | 'ů' | 'ű' | 'ū' => out.push('u'),
            'ý' | 'ÿ' => out.push('y'),
            'ž' | 'ź' | 'ż' => out.push('z'),
            'æ' => out.push_str("ae"),
            'œ' => out.push_str("oe"),
            '№' => out.push_str("no"),
            '–' | '—' | '‒' | '―' | '−' | '‐' | '‑' | '～' | '~' => out.push('-'),
            '’' | '‘' | '´' | '`' | 'ʼ' => out.push('\''),
            '“' | '”' | '„' | '″' | '〃' | '«' | '»' => out.push('"'),
            '×' | '✕' | '✖' => out.push('x'),
            '\u{300}'..='\u{36f}' => {}
            other => out.push(other),
        }
    }
    out
}

/// The words of a folded text: runs of letters and digits; `/` and `#` stand alone, all else parts words.
pub fn words(folded: &str) -> Vec<String> {
    let mut words = Vec::new();
    let mut word = String::new();
    for character in folded.chars() {
        if character.is_alphanumeric() {
            word.push(character);
            continue;
        }
        if !word.is_empty() {
            words.push(std::mem::take(&mut word));
        }
        if matches!(character, '/' | '#') {
            words.push(character.to_string());
        }
    }
    if !word.is_empty() {
        words.push(word);
    }
    words
}

/// The first `length` characters, with an ellipsis where something was cut off.
pub fn shorten(text: &str, length: usize) -> String {
    match text.char_indices().nth(length) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn white_space_becomes_one_blank_and_invisible_characters_vanish() {
        assert_eq!(clean(" Neon\u{a0}\u{a0}\n te\u{200b}tra\u{feff}\u{7} "), "Neon tetra");
    }

    #[test]
    fn folding_drops_case_and_accents_composed_or_not() {
        assert_eq!(fold("SÁČKY Größe Nº n\u{303}"), "sacky grosse no n");
    }

    #[test]
    fn words_are_parted_by_all_but_letters_and_digits() {
        assert_eq!(words("c/no. bag #"), ["c", "/", "no", "bag", "#"]);
    }

    #[test]
    fn shortening_counts_characters_not_bytes() {
        assert_eq!(shorten("ěščř", 2), "ěš…");
        assert_eq!(shorten("ěš", 2), "ěš");
    }
}
