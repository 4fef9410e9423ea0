//! Text into tokens: words, numbers, clock times, dates and marks, each with its place in the text.

/// What a token is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Kind {
    Word,
    /// A number; the two parts of "7.2", "7,2" are kept because they may be a box and its bag.
    Number {
        value: f64,
        parts: Option<(u32, u32)>,
    },
    /// "04:30".
    Clock(u32, u32),
    /// "2026-03-09".
    Date(i32, u32, u32),
    Mark(char),
    /// End of a line.
    Line,
}

/// One token: its text in lower case without accents, and the bytes of the message it stands for.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Token {
    pub kind: Kind,
    pub text: String,
    /// "plane" of "plane's".
    pub base: Option<String>,
    pub start: usize,
    pub end: usize,
    /// Whether a space or the start of the text stands before it.
    pub spaced: bool,
}

/// The plain lower-case letter of a letter with an accent; others as they are.
fn plain(c: char) -> char {
    match c {
        'à'..='å' | 'À'..='Å' => 'a',
        'è'..='ë' | 'È'..='Ë' => 'e',
        'ì'..='ï' | 'Ì'..='Ï' => 'i',
        'ò'..='ö' | 'Ò'..='Ö' => 'o',
        'ù'..='ü' | 'Ù'..='Ü' => 'u',
        'ç' | 'Ç' => 'c',
        'ñ' | 'Ñ' => 'n',
        'µ' | 'μ' => 'u',
        '’' | '‘' | '´' | '`' | 'ʼ' => '\'',
        '“' | '”' | '″' => '"',
        '–' | '—' | '−' | '‑' | '‐' => '-',
        'º' | '˚' => '°',
        '≥' => '>',
        '≈' => '~',
        '→' | '➔' | '➜' | '➡' | '⇒' => '>',
        _ => c.to_lowercase().next().unwrap_or(c),
    }
}

fn fraction(c: char) -> Option<f64> {
    match c {
        '½' => Some(0.5),
        '¼' => Some(0.25),
        '¾' => Some(0.75),
        '⅓' => Some(1.0 / 3.0),
        '⅔' => Some(2.0 / 3.0),
        _ => None,
    }
}

fn is_combining(c: char) -> bool {
    matches!(c, '\u{300}'..='\u{36f}')
}

/// Splits a text. `is_word` tells which runs of letters and digits ("nh3") are one word.
pub(crate) fn tokens(text: &str, is_word: impl Fn(&str) -> bool) -> Vec<Token> {
    let chars: Vec<(usize, char)> =
        text.char_indices().filter(|(_, c)| !is_combining(*c)).map(|(at, c)| (at, plain(c))).collect();
    let end_of = |i: usize| chars.get(i).map_or(text.len(), |(at, _)| *at);
    let get = |i: usize| chars.get(i).map(|(_, c)| *c);
    let digit = |i: usize| get(i).is_some_and(|c| c.is_ascii_digit());
    let alpha = |i: usize| get(i).is_some_and(char::is_alphabetic);
    let mut out: Vec<Token> = Vec::with_capacity(chars.len() / 3 + 1);
    let mut i = 0;
    let mut spaced = true;
    while let Some(c) = get(i) {
        let start = end_of(i);
        if c == '\n' {
            out.push(Token { kind: Kind::Line, text: "\n".into(), base: None, start, end: start + 1, spaced: true });
            i += 1;
            spaced = true;
        } else if let Some(value) = fraction(c) {
            i += 1;
            // "1½" is one number.
            match out.last_mut() {
                Some(Token { kind: Kind::Number { value: whole, parts: None }, end, .. }) if !spaced => {
                    *whole += value;
                    *end = end_of(i);
                }
                _ => out.push(Token {
                    kind: Kind::Number { value, parts: None },
                    text: c.to_string(),
                    base: None,
                    start,
                    end: end_of(i),
                    spaced,
                }),
            }
            spaced = false;
        } else if c.is_ascii_digit() || (c == '.' && digit(i + 1) && (spaced || !prior_alnum(&out))) {
            let (kind, next) = number(&get, &digit, i);
            let run: String = (i..next).filter_map(&get).collect();
            out.push(Token { kind, text: run, base: None, start, end: end_of(next), spaced });
            i = next;
            spaced = false;
        } else if c == '\'' && get(i + 1) == Some('s') && !alpha(i + 2) && !spaced && prior_number(&out) {
            // "12's empty"
            i += 2;
        } else if c.is_alphabetic() {
            i = word(&mut out, &get, &alpha, &digit, &end_of, i, spaced, &is_word);
            spaced = false;
        } else if c.is_whitespace() || c.is_control() || !is_mark(c) {
            i += 1;
            spaced = true;
        } else {
            i += 1;
            out.push(Token { kind: Kind::Mark(c), text: c.to_string(), base: None, start, end: end_of(i), spaced });
            spaced = false;
        }
    }
    out
}

fn prior_number(out: &[Token]) -> bool {
    out.last().is_some_and(|t| matches!(t.kind, Kind::Number { .. }))
}

fn prior_alnum(out: &[Token]) -> bool {
    out.last().is_some_and(|t| !matches!(t.kind, Kind::Mark(_) | Kind::Line))
}

/// Marks that carry meaning; emoji and the rest count as spaces.
fn is_mark(c: char) -> bool {
    c.is_ascii_punctuation() || matches!(c, '°' | '…' | '£' | '€' | '¿' | '¡')
}

/// Reads a number, clock time or date that starts at `i`; returns it and the index behind it.
fn number(get: &dyn Fn(usize) -> Option<char>, digit: &dyn Fn(usize) -> bool, i: usize) -> (Kind, usize) {
    let digits = |mut j: usize| {
        while digit(j) {
            j += 1;
        }
        j
    };
    let text = |from: usize, to: usize| (from..to).filter_map(get).collect::<String>();
    let int = |from: usize, to: usize| text(from, to).parse::<u32>().ok();
    let first = digits(i);
    if first - i == 4 && get(first) == Some('-') {
        let month = digits(first + 1);
        let day = digits(month + 1);
        if month == first + 3
            && get(month) == Some('-')
            && day == month + 3
            && let (Some(y), Some(m), Some(d)) = (int(i, first), int(first + 1, month), int(month + 1, day))
        {
            return (Kind::Date(y as i32, m, d), day);
        }
    }
    if first > i && first - i <= 2 && get(first) == Some(':') {
        let minute = digits(first + 1);
        if minute == first + 3
            && let (Some(h), Some(m)) = (int(i, first), int(first + 1, minute))
            && h <= 24
            && m < 60
        {
            return (Kind::Clock(h % 24, m), minute);
        }
    }
    if matches!(get(first), Some('.' | ',')) && digit(first + 1) {
        let second = digits(first + 1);
        let thousands = get(first) == Some(',') && second == first + 4 && first > i && get(i) != Some('0');
        if thousands {
            let value = format!("{}{}", text(i, first), text(first + 1, second)).parse().unwrap_or(f64::MAX);
            return (Kind::Number { value, parts: None }, second);
        }
        let value = format!("0{}.{}", text(i, first), text(first + 1, second)).parse().unwrap_or(f64::MAX);
        let parts = int(i, first).zip(int(first + 1, second)).filter(|_| get(first + 1) != Some('0'));
        return (Kind::Number { value, parts }, second);
    }
    (Kind::Number { value: text(i, first).parse().unwrap_or(f64::MAX), parts: None }, first)
}

/// Reads a run of letters, apostrophes and digits; returns the index behind what was taken.
#[allow(clippy::too_many_arguments, reason = "the cursor's closures would otherwise need a type of their own")]
fn word(
    out: &mut Vec<Token>,
    get: &dyn Fn(usize) -> Option<char>,
    alpha: &dyn Fn(usize) -> bool,
    digit: &dyn Fn(usize) -> bool,
    end_of: &dyn Fn(usize) -> usize,
    i: usize,
    spaced: bool,
    is_word: &dyn Fn(&str) -> bool,
) -> usize {
    let mut run = i;
    while alpha(run) || digit(run) {
        run += 1;
    }
    let letters_end = {
        let mut j = i;
        while alpha(j) || (get(j) == Some('\'') && j > i && alpha(j + 1)) {
            j += 1;
        }
        j
    };
    let mut push = |from: usize, to: usize, text: String, base: Option<String>, spaced: bool| {
        out.push(Token { kind: Kind::Word, text, base, start: end_of(from), end: end_of(to), spaced });
    };
    if run > letters_end {
        let whole: String = (i..run).filter_map(get).collect();
        // Names of substances are short; a long run is never looked up.
        if run - i <= 8 && is_word(&whole) {
            push(i, run, whole, None, spaced);
            return run;
        }
    }
    let text: String = (i..letters_end).filter_map(get).collect();
    match text.rsplit_once('\'') {
        Some((before, end)) if !before.is_empty() => {
            let split = i + before.chars().count();
            let second = match end {
                "ll" => Some("will"),
                "d" => Some("would"),
                "re" => Some("are"),
                "m" => Some("am"),
                "ve" => Some("have"),
                _ => None,
            };
            match second {
                Some(second) => {
                    push(i, split, before.replace('\'', ""), None, spaced);
                    push(split, letters_end, second.into(), None, false);
                }
                None => {
                    let base = (end == "s").then(|| before.replace('\'', ""));
                    push(i, letters_end, text.replace('\'', ""), base, spaced);
                }
            }
        }
        _ => push(i, letters_end, text, None, spaced),
    }
    letters_end
}
